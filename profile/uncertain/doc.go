// Package uncertain carries the uncertainty of measured inputs through a
// calculation, and says which input is worth measuring better. It knows no
// physics: a calculation is a function from numbers to numbers.
//
// There are two ways. Linear is the first-order law of propagation [GUM]: for
// closed formulas, exact where they are straight within the spread of their
// inputs. MonteCarlo draws the inputs at random and runs the calculation for
// each draw [MC]: for anything that bends, ends or fails.
//
// # Units and symbols
//
// Values carry the unit of the quantity they stand for; [x] is the unit of an
// input, [y] that of an output, [-] a pure number.
//
//	x, u(x)   estimate of an input and its standard uncertainty
//	y, u(y)   estimate of an output and its (combined) standard uncertainty
//	c         sensitivity ∂y/∂x
//	r         correlation coefficient
//	ν         degrees of freedom, written 0 where they are infinite
//	p, k      coverage probability and coverage factor
//	M         number of Monte Carlo draws
//	S         first-order share of the variance of y (Sobol index)
//
// # Sources
//
//	[GUM]  JCGM 100:2008, Guide to the expression of uncertainty in measurement.
//	[MC]   JCGM 101:2008, Supplement 1: propagation of distributions using a
//	       Monte Carlo method.
//	[SA]   A. Saltelli et al., Global Sensitivity Analysis: The Primer, Wiley 2008.
package uncertain
