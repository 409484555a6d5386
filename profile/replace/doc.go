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
// Temperature, wear and the scatter of a made spring are not in these lines;
// they are margins and tolerances of the result.
package replace
