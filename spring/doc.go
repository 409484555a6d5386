// Package spring computes helical compression springs of round wire: from the
// dimensions to what a spring does, and from bench readings back to the spring.
//
// # Units
//
// Every quantity is a float64 in SI units: lengths in metres, forces in newtons,
// stresses in pascals, rates in newtons per metre, times in seconds. Temperatures
// are in °C and say so.
//
// # Symbols
//
//	d   wire diameter            L0  free length        F   force
//	D   mean coil diameter       Ls  solid length       R   rate
//	C   index D/d                L   length             τ   shear stress
//	n_a active coils             p   pitch              K   stress correction factor
//	n_t total coils              ρ   density            G, E  moduli
//
// # Sources
//
//	[Shigley]   R. G. Budynas, J. K. Nisbett, Shigley's Mechanical Engineering
//	            Design, 8th to 10th ed., McGraw-Hill, chapter 10, and its problem
//	            solutions.
//	[MH]        Machinery's Handbook, 31st ed., Industrial Press 2020, "Springs".
//	[Norton]    R. L. Norton, Machine Design, chapter 14.
//	[Mott]      R. L. Mott, Machine Elements in Mechanical Design, 4th ed., chapter 19.
//	[Bhandari]  V. B. Bhandari, Design of Machine Elements, chapter 10.
//	[EN 13906]  EN 13906-1:2013, cylindrical helical springs, part 1: compression.
//	[EN 15800]  EN 15800:2008, quality specifications for cold coiled springs.
//	[Wahl]      A. M. Wahl, Mechanical Springs, 2nd ed., McGraw-Hill 1963.
//	[Haringx]   J. A. Haringx, On highly compressible helical springs, Philips
//	            Research Reports 3 (1948), 4 (1949).
//
// Formulas of the two EN standards are given from memory, and a judgement that
// rests on such a formula alone says so in its doubts.
//
// # Where the sources disagree
//
// Stress correction: EN uses none for a static load, Shigley Bergsträsser,
// Machinery's Handbook, Mott and Faires Wahl. Each goes with its own allowable
// stress, so a [Criterion] binds the two.
//
// Ultimate shear strength is an input: Shigley takes 0.67 of the tensile
// strength, Juvinall 0.80, which is 19 % bolder.
//
// Fatigue stresses carry Bergsträsser on mean and amplitude (Shigley), except in
// [Compression.FatiguePulsating], which follows Bhandari, and
// [Compression.FatigueNorton]: direct shear on the mean, Wahl on the amplitude. Zimmerli's limits are
// amplitudes at a mean; Norton's, which are ranges, must not be put in their place.
//
// Solid length of closed, unground ends is (n_t + 1) d in US practice and
// (n_t + 1.5) d in EN; a spring names its [Convention].
//
// Coil growth differs by how the ends are held, not by error: see [Compression.Growth].
//
// Buckling of steel is often quoted as "2.63 D/α"; the constant is computed from
// E and G instead, 2.52 to 2.72 for the usual wires.
//
// Change of G with temperature is 0.25e-3 per kelvin by EN and 0.36e-3 by US
// maker's texts for the same steel: the coefficient is the caller's to choose.
//
// Coil clearance follows EN; Shigley's clash allowance, at least 15 % of the travel
// used, is reported beside it.
//
// The fatigue diagrams of EN 13906-1 (figures 11 to 22) are not encoded, because
// no trustworthy reading of them was at hand.
package spring
