// Package diagnose tells from measurements whether the spring of a lever group
// is tired, or whether something else keeps the pressure down.
//
// # The pressure-volume line
//
// While the spring drives the piston, pressure falls in a straight line with
// the travel z of the piston, whatever the coffee does:
//
//	P(z) = (F_c + W - F_f0 - k z) / (A + c)
//
// so a log of pressure and cup mass (or travel) reads the rate k and the force
// F_c with the lever cocked off a shot. ReadLine does that. Dividing pressure
// by flow gives the resistance of the coffee as a by-product.
//
// # Causes
//
// Each cause of a low peak is a machine as new with one thing changed by one
// size (mm of set, N of drag, mL of air). Rank computes what the measurements
// would be for every size, and weighs the causes by Bayes' rule with the
// uncertainty of each measurement. It also computes how much each measurement
// not yet made would be expected to tell.
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
//	[Wald]  A. Wald, "The fitting of straight lines if both variables are subject
//	        to error", Annals of Mathematical Statistics 11 (1940) 284: an
//	        instrument that has no error of its own frees the slope of bias.
//	[Sen]   P. K. Sen, "Estimates of the regression coefficient based on
//	        Kendall's tau", J. American Statistical Association 63 (1968) 1379.
//	[Hest]  T. C. Hesterberg, "What teachers should know about the bootstrap",
//	        The American Statistician 69 (2015) 371: expanded percentiles.
//	[Kuen]  H. R. Künsch, "The jackknife and the bootstrap for general stationary
//	        observations", Annals of Statistics 17 (1989) 1217: blocks of rows.
//	[Lind]  D. V. Lindley, "On a measure of the information provided by an
//	        experiment", Annals of Mathematical Statistics 27 (1956) 986.
package diagnose
