// Package tables holds what a calculation looks up: spring wire, water, the
// standard atmosphere, the limits of hands, seals and instruments, and the
// defaults of a machine sheet. Every number comes with its source and a grade
// of evidence.
//
// # Files
//
// Each source is one file under data: comma-separated values, figures exactly as
// the source prints them, with a head comment that says where they come from,
// in which units, over which range, how they were obtained and how far they can
// be trusted. Conversion to SI is code. [List] and [Get] give the files as they
// stand; the other functions are typed lookups in SI base units.
//
// # Units
//
// Every float64 is in SI base units unless its comment says otherwise: m, kg, s,
// N, Pa, K, m². Pressures are absolute unless a comment says gauge.
//
// # Range
//
// Nothing is extrapolated. Outside the range of its source a lookup returns an
// error that wraps [ErrRange] and names the range; an unknown name returns one
// that wraps [ErrName] and lists the known names.
//
// # Left out
//
// What is not known well enough, or contradicts itself, is not here: the SI
// constants of A/d^m in the older FE handbook (3 to 17 % off its own US column);
// further sizes of FDC and FDSiCr wire of EN 10270-2; A313-302 over 0.080 in and
// A232 as lists (both have fits); the fatigue diagrams and the relaxation curves of
// EN 13906-1. Relaxation is a screening limit only: the constants of a forecast are
// the readings of the user.
package tables
