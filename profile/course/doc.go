// Package course reads the readings of a machine over the years: which law made
// them, what each repair brought, and where they go.
//
// # The idea
//
// A reading y at the time t is a level, less what was lost, plus scatter:
//
//	y = m − a (G(t) − G(t_1)) − b (t − t_1) + c H(t − τ) + Σ d_r H(t − r) + e
//	G = lg(1 + age/t0),   σ² = U² + s²,   e ~ 0.95 N(0, σ²) + 0.05 t_4 √(σ² + g²)
//
// a is set (log-time law), b wear (linear), c a step at an unknown time τ (a
// broken coil, another gauge), d_r what a repair that was noted at r brought. A
// new spring starts its age anew. One reading in twenty is expected to be wild, by
// Student's t with g 8 % of the largest reading. Student's t for all readings was
// tried: one wild reading of ten widened the band by two thirds. The eight laws are the combinations of set,
// wear and step; with none there is scatter only. All of them, with every place
// of the step, are fitted and weighed by their marginal likelihood; every answer
// is the average over the laws, and its interval is that of the average.
//
// # Priors
//
// Judgement, no data; as shares of the largest reading P. a is half-normal with
// 4 % of P a decade, b half-normal with 1.5 % of P a year, c and d normal with
// 20 % of P, m normal about the median with 50 % of P, τ uniform in time, s
// log-normal about 1.2 % of P (a factor of 2.2 each way is one standard
// deviation). How probable a law is beforehand is Prior. Where the age of the
// spring is not known it was a third of a year, three or twenty years old at the
// first reading, each as likely.
//
// # Algorithm
//
// For every law and place of the step the mode is found by reweighting (the EM
// algorithm of Student's t). Low-discrepancy points of a truncated Student's t
// about the mode carry weights by importance, so a poor mode costs precision,
// not truth; the points are fixed, so an answer repeats. A first pass of few
// points finds which combinations matter, a second spends many on those.
//
// # Units
//
// A time is in seconds from an epoch of the caller's choice, the same for all. A
// value is in any unit, such as Pa or N, the same for all. Intervals hold 95 %.
//
// # Sources
//
//	[KR]   R. E. Kass and A. E. Raftery, "Bayes factors", J. American Statistical
//	       Association 90 (1995) 773.
//	[LLT]  K. L. Lange, R. J. A. Little and J. M. G. Taylor, "Robust statistical
//	       modeling using the t distribution", J. American Statistical Association
//	       84 (1989) 881.
//	[Gew]  J. Geweke, "Bayesian inference in econometric models using Monte Carlo
//	       integration", Econometrica 57 (1989) 1317: importance by a Student's t.
//	[GHK]  J. Geweke, M. Keane and D. Runkle, Review of Economics and Statistics 76
//	       (1994) 609: truncated draws one coordinate after the other.
package course
