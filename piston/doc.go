// Package piston computes what a spring drives and what cocks it: the cylinder
// with its seal, the linkage from the handle to the piston, the hand's effort,
// the filling of the chamber, and what a lever does that is let go.
//
// # Units and symbols
//
// Every quantity is a float64 in SI base units: lengths in metres, angles in
// radians, forces in newtons, pressures in pascals, volumes in cubic metres.
// A pressure is a gauge pressure, above the air of the place, unless its comment says absolute.
//
//	θ   handle angle, growing as the hand cocks the lever [rad]
//	y   lift of the piston above its rest, 0 at rest, growing as the spring is loaded [m]
//	L_h handle length from the pivot to the middle of the hand [m]
//	η   efficiency of the linkage [-]
//
// The spring and the weight of the piston push down, towards rest; pressure
// under the piston pushes it up. A handle force is positive where the hand has
// to push or hold against the spring.
//
// # Sources
//
//	[Khurmi TM]  R. S. Khurmi, J. K. Gupta, Theory of Machines, chapter 15.
//	[Khurmi EM]  R. S. Khurmi, A Textbook of Engineering Mechanics, chapter 10.
//	[Bevan]      T. Bevan, The Theory of Machines, p. 198.
//	[Hibbeler]   R. C. Hibbeler, Engineering Mechanics: Statics, chapter 11.
//	[Schaum]     Schaum's Outline of Engineering Mechanics, chapter 11.
//	[Esposito]   A. Esposito, Fluid Power with Applications, chapter 13.
//	[Sarkar]     B. K. Sarkar, Strength of Materials, chapter 8.
//	[ORD 5700]   Parker O-Ring Handbook ORD 5700, section 5.11.
//	[Al-Ghathian] F. M. M. Al-Ghathian, M. S. Tarawneh, Friction forces in
//	             O-ring sealing, Am. J. Appl. Sci. 2(3) (2005) 626-632.
package piston
