// Package replace chooses the spring that a machine should get next.
//
// # The idea
//
// The pressure law of a shot can be read backwards. At the wished peak P_p and
// the pressure P_e at the end of the stroke the balance on the piston gives the
// force of the spring, hence a straight line,
//
//	z_0 = s_p + (V_a/A) (1 - (P_atm + P_fill)/(P_atm + P_p))   where water begins to move
//	F_1 = P_e (A + c) + F_f0 - W_p                             force at rest
//	R   = (P_p - P_e) (A + c) / (s - z_0)                      rate
//
// Every spring is then judged by margins. A margin compares what there is with
// what is needed; it is 0 at the limit, towards 1 where there is plenty, below 0
// where the limit is broken. The smallest margin is what binds a spring. The
// search judges every combination of preferred sizes, so that what it calls the
// best is the best of them, not the best near a guess.
//
// # Rules
//
// One standard at a time, the same for every spring of a ranking:
//
//	solid length   by the convention of the task: (n_t + 1) d of US practice or
//	               (n_t + 1.5) d_max of EN 13906-1 for closed ends, not both; or what
//	               a maker prints, where that is more
//	fatigue        Goodman's line on the ray through the origin, for every wire;
//	               never over the amplitude of the source under its mean stress.
//	               A safety of 1.2 is asked for
//	stress         cocked at work; pressed solid at 20 °C, where presetting is done;
//	               each with the safety of its source (1.2 for Shigley, 1 for EN)
//	buckling       1.2 times the deflection; α of 0.5, 0.707, 1 or 2; where the
//	               formula has no value its last one counts, so that no margin jumps
//	play           in bore, over rod and in a nest with the growth of the coils and
//	               the tolerance of the outside diameter used up
//	index          4 to 12
//	relaxation     judged only where a limit is set to it, and never ranked by: there
//	               are not enough published points for a law in stress and temperature
//	free length    every multiple of the step that gives both pressures is tried
//
// [DefaultOrder] puts first the spring whose weakest margin, at the lower end of its
// 95 % band, is the largest; margins in the same 1 % count as equal, and then less
// effort is better. The two pressures are wishes, not limits that could harm, and are
// left out of the weakest margin. The band holds what the maker may be off by in wire,
// outside diameter, free length and shear modulus; it is to first order.
//
// # Units and symbols
//
// SI throughout: m, N, Pa, s, kg. Pressures are gauge pressures.
//
//	P_p, P_e  wished peak and end pressure    F_1, F_2  force at rest, cocked
//	s, s_p    stroke, travel to the port      L_1, L_2  length at rest, cocked
//	A, c      piston area, seal friction per pressure
//	F_f0      seal friction without pressure  W_p  weight that helps the spring
//	V_a       air in the filled chamber       z_0  travel where water begins to move
//
// Wear is not in these lines. The rate is that at work; the dimensions, the loads of
// a drawing and the stress pressed solid are those at 20 °C.
package replace
