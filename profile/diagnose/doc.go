// Package diagnose tells from measurements whether the spring of a lever group
// is tired, or whether something else keeps the pressure down.
//
// # All parts together
//
// Infer weighs sets of up to three parts at fault at once, with sound parts
// that scatter: a seal has friction, a gauge a gain and a zero, a fill some
// air. It tells for each part how likely it is worth repairing, how bad it
// is and what putting it right would bring back, and which step, a repair or a
// measurement, leads to a machine that is right with the least effort. What
// it presumes is in Priors; the package has no such figures of its own.
//
// # Units and symbols
//
// SI throughout: m, m³, N, Pa, s, kg. Pressures are gauge pressures.
//
//	z    travel of the piston from cocked   A    piston area
//	k    spring rate                        c    seal friction per pressure
//	F_c  spring force cocked                F_f0 seal friction without pressure
//	W    weight that helps the spring       u    standard uncertainty
//
// # Sources
//
//	[GUM]   JCGM 100:2008, Guide to the expression of uncertainty in measurement.
package diagnose
