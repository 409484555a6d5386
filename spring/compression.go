package spring

import (
	"errors"
	"fmt"
	"slices"
)

// Compression is a helical compression spring of round wire with constant
// diameter and pitch. Its methods presume that Validate has found no fault.
type Compression struct {
	Wire    float64 // d: wire diameter [m]
	WireMax float64 // d_max: largest wire diameter of the tolerance, for the solid length [m]; 0 for d
	Mean    float64 // D: mean coil diameter, outside diameter less one wire [m]
	Active  float64 // n_a: coils that work [-]
	Total   float64 // n_t: all coils, tip to tip [-]
	Free    float64 // L0: free length [m]

	Ends       Ends       // how the last coils are made
	Convention Convention // whose rules count the end coils

	G       float64 // G: shear modulus of the wire [Pa]
	E       float64 // E: Young's modulus of the wire [Pa]
	Density float64 // ρ: density of the wire [kg/m³]
}

// Validate returns every fault of the description. The limits are wide: they
// catch impossible shapes and values in a wrong unit, not poor designs, which
// are left to Doubts.
func (s Compression) Validate() error {
	total := quantity{"number of total coils", s.Total, ""}
	free := quantity{"free length", s.Free, "m"}
	shear := quantity{"shear modulus", s.G, "Pa"}
	young := quantity{"Young's modulus", s.E, "Pa"}
	faults := [...]error{
		s.rateFaults(),
		total.within(0.5, 1000, ErrInput),
		free.within(1e-5, 10, ErrInput),
		young.within(1e9, 1e12, ErrInput),
		quantity{"density", s.Density, "kg/m³"}.within(500, 25000, ErrInput),
		known("ends", endNames, s.Ends),
		known("convention", conventionNames, s.Convention),
		young.above(shear),
		s.wireMaxFault(),
		s.totalFault(),
	}
	for _, fault := range faults {
		if fault != nil {
			return errors.Join(slices.Clone(faults[:])...) // a copy, so that what has no fault stays off the heap
		}
	}
	if _, ok := s.Convention.DeadCoils(s.Ends); !ok {
		return fmt.Errorf("%w: convention %v does not know ends %v", ErrInput, s.Convention, s.Ends)
	}
	return free.above(quantity{"solid length", s.SolidLength(), "m"})
}

// wireMaxFault returns the fault of the largest diameter of a wire, where one is stated.
func (s Compression) wireMaxFault() error {
	if s.WireMax == 0 {
		return nil
	}
	return quantity{"largest wire diameter", s.WireMax, "m"}.within(s.Wire, 1.1*s.Wire, ErrInput)
}

// totalFault returns the fault of fewer coils than active ones.
func (s Compression) totalFault() error {
	if !(s.Total < s.Active) {
		return nil
	}
	return fmt.Errorf("%w: %v, want at least the %.6g active ones", ErrInput, quantity{"number of total coils", s.Total, ""}, s.Active)
}

// rateFaults returns the faults of what the rate is computed from.
func (s Compression) rateFaults() error {
	wire := quantity{"wire diameter", s.Wire, "m"}
	mean := quantity{"mean coil diameter", s.Mean, "m"}
	return errors.Join(
		wire.within(1e-5, 0.1, ErrInput),
		mean.within(1e-5, 1, ErrInput),
		quantity{"number of active coils", s.Active, ""}.within(0.5, 1000, ErrInput),
		quantity{"shear modulus", s.G, "Pa"}.within(1e9, 2e11, ErrInput),
		mean.above(wire),
	)
}

// Rate returns the spring rate [N/m],
//
//	R = G d⁴ / (8 D³ n_a)        [Shigley] eq. 10-9, [MH] Table 4
//
// It counts the torsion of the wire only. The direct shear it leaves out makes
// a real spring softer by 1 + 1/(2C²): 0.5 % at C = 10, 3 % at C = 4; see
// RateWithShear. A measured rate is better than either.
func (s Compression) Rate() float64 {
	d2 := s.Wire * s.Wire
	return s.G * d2 * d2 / (8 * s.Mean * s.Mean * s.Mean * s.Active)
}

// RateWithShear returns the spring rate with direct shear counted [N/m],
//
//	R = G d⁴ / (8 D³ n_a) / (1 + 1/(2C²))        [Shigley] eq. 10-8
func (s Compression) RateWithShear() float64 {
	c := s.Index()
	return s.Rate() / (1 + 1/(2*c*c))
}

// Force returns the force [N] that holds the spring at a length [m],
// F = R (L0 - L), zero above the free length. Below the solid length, and for
// a length that is not a number, it is ErrSolid.
func (s Compression) Force(length float64) (float64, error) {
	if err := s.notSolid(length); err != nil {
		return 0, err
	}
	return s.Rate() * max(0, s.Free-length), nil
}

// below reports whether a length is below solid, or not a number. A rounding
// error of the caller's arithmetic is not an overload, hence the 1e-9.
func below(length, solid float64) bool { return !(length >= solid*(1-1e-9)) }

// notSolid returns ErrSolid below the solid length.
func (s Compression) notSolid(length float64) error {
	if solid := s.SolidLength(); below(length, solid) {
		return fmt.Errorf("%w: length %.6g m, solid at %.6g m", ErrSolid, length, solid)
	}
	return nil
}

// SolidForce returns the force that closes the coils [N], R (L0 - Ls).
func (s Compression) SolidForce() float64 { return s.Rate() * (s.Free - s.SolidLength()) }

// Length returns the length [m] at a force [N] from 0 to the solid force; above
// that it is ErrSolid, below zero ErrInput: a compression spring cannot pull.
func (s Compression) Length(force float64) (float64, error) {
	if !(force >= 0) {
		return 0, fmt.Errorf("%w: force is %.6g N, want 0 or more", ErrInput, force)
	}
	length := s.Free - force/s.Rate()
	return length, s.notSolid(length)
}

// Working names two lengths between which a spring works.
type Working struct {
	Rest   float64 // L1: length with the piston at rest [m]; above the free length the spring is loose
	Cocked float64 // L2: length with the lever cocked [m]
}

// forces returns the forces at rest and cocked [N], or why there are none.
func (s Compression) forces(w Working) (rest, cocked float64, err error) {
	if !(w.Rest > w.Cocked) {
		return 0, 0, fmt.Errorf("%w: length at rest is %.6g m, want more than the cocked length of %.6g m", ErrInput, w.Rest, w.Cocked)
	}
	if cocked, err = s.Force(w.Cocked); err != nil {
		return 0, 0, err
	}
	rest, err = s.Force(w.Rest)
	return rest, cocked, err
}

// Energy returns the work [J] that cocking stores, which comes back in the
// stroke or, with nothing to push against, in the handle:
//
//	W = (F2² - F1²) / (2R)        = (F1 + F2)(s2 - s1)/2, [EN 13906] 9.1
//
// With a rest at the free length it is all that the spring holds.
func (s Compression) Energy(w Working) (float64, error) {
	rest, cocked, err := s.forces(w)
	if err != nil {
		return 0, err
	}
	return (cocked - rest) * (cocked + rest) / (2 * s.Rate()), nil
}

// Installed returns the spring as a piston feels it, fitted at a length [m] at
// rest. The preload is negative where that is more than the free length: the
// spring is loose at rest and engages later. The line holds down to the solid
// length; that the stroke ends above it is the caller's to check.
func (s Compression) Installed(length float64) (Linear, error) {
	if err := s.notSolid(length); err != nil {
		return Linear{}, err
	}
	if err := (quantity{"installed length", length, "m"}).within(0, 10, ErrInput); err != nil {
		return Linear{}, err
	}
	return Linear{Rate: s.Rate(), Preload: s.Rate() * (s.Free - length)}, nil
}
