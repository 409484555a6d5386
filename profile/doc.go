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
// with R the resistance of the bed. Everything that happens (the wetting front
// reaches the bottom, the first drop, the end of the stroke, a pressure
// threshold) is a point in V known beforehand; between such points the
// integrand is smooth and a fixed Gauss-Legendre rule is good to 1e-8 or better.
// The boiler that wets the bed beforehand is the same thing: a drive whose
// pressure does not fall.
//
// With constant R and no friction the integral is the falling-head law,
//
//	P(t) = P0 exp(-t/τ),  τ = R A²/k
//
// # Units and symbols
//
// SI throughout: m, m³, N, Pa, s, kg. Pressures are gauge pressures except
// where a name says absolute.
//
//	z    travel of the piston from the cocked position   A  piston area
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
