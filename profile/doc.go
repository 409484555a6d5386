// Package profile follows a shot: a spring drives a piston, the piston pushes
// water through a bed of coffee, and pressure, flow and cup mass follow in time.
//
// # The idea
//
// While the spring drives the piston nothing but the water displaced decides
// the pressure. So time is not a state to be stepped; it is a sum over volume,
//
//	t(V) = ∫ R(P(V), V) / P(V) dV
//
// with R the resistance of the bed. From the springs F, the piston's weight W,
// the handle's weight F_h as it acts through the linkage, and seal friction,
//
//	P = (F(z) + W + F_h(z) - F_f0)/(A + c)
//
// and what has left the chamber since the release, with Boyle's law for its air, is
//
//	A (z - s_p) - V_a + V_a (P_fill + P_atm)/(P + P_atm)
//
// Everything that happens (the wetting front reaches the bottom, the first drop,
// the end of the stroke, a pressure threshold) is a point in V known beforehand;
// between such points the integrand is smooth, and the shortest Gauss-Legendre
// rule that spans it is good to 1e-8 or better. The boiler that wets the bed
// beforehand is the same thing: a drive whose pressure does not fall.
//
// With constant R and no friction the integral is the falling-head law,
//
//	P(t) = P0 exp(-t/τ),  τ = R A²/k
//
// When the piston rests, trapped air pushes on: P(V) = (P_e + P_atm) V_e/(V_e + V) - P_atm
// is again a function of the volume that has left, and t = ∫ R/P dV again, until
// the water above the bed is spent, 0.1 bar is left or ten minutes have gone since
// the release. No more leaves than was filled: the chamber, less the air in it
// when the port is closed. What a short fill has not filled is gas that leaves by
// the port before water does.
//
// # Bed
//
// Pores that compaction and undissolved coffee both narrow, by Kozeny's cube,
//
//	R   = R_t g/f³,  f = f_P - b S
//	f_P = (R_∞/R_t)^(-1/3),  R_∞/R_t = (P_max/P_t)^n (P/P_max)^n_u   P, P_max not under P_t
//	S   = exp(-m/(c·dose))                                           m the mass in the cup
//	b   = b_t min(P_b/P_t, 1),  P_b = P_max + w (P_w - P_max)        P_w pressure as the front came through
//	g   = (P_t/P_max)^n_l where P_max < P_t, else 1
//
// with R_t such that R_∞ g is Coffee.Resistance at Coffee.AtPressure. A wetted
// bed that waits a time t for the release loses blocking coffee, b exp(-k_1 t);
// during the push the cup alone decides, so that time stays a sum over volume.
// w, n_u and k_1 are not in any published data: w and n_u are carried in the
// middle of their ranges by default, k_1 as a range. Closed form at constant
// pressure, y = f_P - b S, m_0 = c·dose:
//
//	t = (R_t g m_0/(ρP)) [G(1) - G(S)],  G = ln(S/y)/f_P³ + 1/(f_P² y) + 1/(2 f_P y²)
//
// The front in the dry bed ([GA]) has wetted a share x of it, V = x w_r·dose/ρ, and
// meets a resistance that grows above P_t with the exponent n/3,
//
//	dt/dV = x R_dry max(P/P_t, 1)^(n/3)/(P + ψ + x ρ g L),  R_dry = μ L/(κ_dry A_b)
//
// Density ρ is that of water at brewing temperature under the fill pressure.
//
// The decay time constant of a shot, (t_e - t_0)/ln(P_0/P_e), starts at t_0 and P_0
// where water first leaves the bed in the push of the springs, be that at the
// release or later, and ends with that push.
//
// # Units and symbols
//
// SI throughout: m, m³, N, Pa, s, kg. Pressures are gauge pressures except
// where a name says absolute.
//
//	z    travel of the piston from the cocked position   A  piston area
//	s_p  travel to the port, V_a air in the chamber then c  seal friction per pressure
//	V    water that has entered the bed                  k  spring rate
//	P    gauge pressure above the bed                    R  resistance P/(flow)
//
// # Sources
//
//	[W26]  R. Waszkiewicz et al., "Under pressure: Poroelastic regulation of
//	       flow in espresso brewing", Physics of Fluids 38, 063113 (2026), and
//	       its data, Zenodo 10.5281/zenodo.18046315.
//	[GA]   Green-Ampt infiltration: V. T. Chow, D. R. Maidment, L. W. Mays,
//	       Applied Hydrology, McGraw-Hill 1988, section 4.3.
//	[Das]  B. M. Das, Principles of Geotechnical Engineering, chapter 7 (Darcy,
//	       falling-head permeameter).
package profile
