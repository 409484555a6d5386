// Package logged reads logged shots: what a log of pressure and cup mass (or
// travel of the piston) says of the spring and of the coffee.
//
// # The pressure-volume line
//
// While the spring drives the piston, the pressure is a straight line over the
// volume V that the piston has swept since it passed the port, whatever the
// coffee does:
//
//	P(V) = (F_c + W - F_f0 - k z)/(A + c),  z = s_p + V/A
//
// so a log reads the rate k and the force F_c with the lever cocked off a shot.
// ReadLine does that. The line itself (Raw) presumes nothing of seal, bore,
// gauge or handle; the forces (Line.Rate, Cocked, Rest) presume what
// Line.Presumes lists.
//
// # The model of the reading
//
// Pressure and volume of a window are projected on polynomials of time
// φ_0 ... φ_K, orthonormal over its rows, which are the instruments of [Wald]:
// both carry noise, the clock does not. What a straight line joins row by row it
// joins projection by projection,
//
//	p_j = a δ_j0 + b v_j - τ p'_j + h q_j + ΔV_a b g_j + ε b d_j + e_j
//
// with the line a + b V; the lag τ of a gauge that follows as
// τ dP_g/dt = P - P_g; the bow h of the line; air ΔV_a that the sheet does not
// know, g = 1 - (P_atm + P_fill)/(P_atm + P); the error ε of what has dissolved,
// d = -D/ρ; and, for the forces, the weight of the handle. Each of the last has a
// normal prior; a, b and the covariance come from one Gaussian elimination.
// The e_j have one variance, that of the rows about the line, times the sum of
// their autocorrelations.
//
// # Where the line ends
//
// The window ends where travel reaches the stroke, or where the pressure over
// the volume breaks into two lines that no parabola follows. Air that goes on
// pushing after the piston rests falls by Boyle's law,
//
//	(P + P_atm)(V_e + V - V_e0) = (P_e + P_atm) V_e
//
// much steeper than the spring. Where such a tail is long enough to read V_e,
// it tells the air in the chamber, and that the piston stood at the end of its
// stroke where it began.
//
// # The puck
//
// FitPuck holds the law of the bed (package profile) to a log, from 2 g in the
// cup to where the piston rests, with the pressure that was measured:
//
//	t(m) = t_0 + ∫ R(P(m), m)/(ρ P(m)) (1 + δ t) dm
//
// R at the peak, b_t, c and n_u are sought. t_0 and a drift δ come along, and so do
// zero, delay and smoothing of the gauge, the cup's zero, the peak, n and P_t, each
// with a normal prior; what is known of the coffee beforehand is Bed. The noise is
// that of the stretches about the fit, with its memory. What is narrowed to
// half counts as told.
//
// # Units and symbols
//
// SI throughout: m, m³, N, Pa, s, kg. Pressures are gauge pressures.
//
//	z    travel of the piston from cocked   A    piston area
//	k    spring rate                        c    seal friction per pressure
//	F_c  spring force cocked                F_f0 seal friction without pressure
//	W    weight that helps the spring       s_p  travel to the port
//	u    standard uncertainty               V_a  air at the fill pressure
//
// # Sources
//
//	[GUM]   JCGM 100:2008, Guide to the expression of uncertainty in measurement.
//	[Wald]  A. Wald, "The fitting of straight lines if both variables are subject
//	        to error", Annals of Mathematical Statistics 11 (1940) 284: an
//	        instrument that has no error of its own frees the slope of bias.
//	[Sarg]  J. D. Sargan, "The estimation of economic relationships using
//	        instrumental variables", Econometrica 26 (1958) 393: several
//	        instruments, and the test of whether they tell one story.
//	[Sen]   P. K. Sen, "Estimates of the regression coefficient based on
//	        Kendall's tau", J. American Statistical Association 63 (1968) 1379.
//	[Bart]  M. S. Bartlett, "On the theoretical specification and sampling
//	        properties of autocorrelated time-series", Supplement to the Journal of
//	        the Royal Statistical Society 8 (1946) 27: the variance of a mean.
package logged
