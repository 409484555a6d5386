package spring

import (
	"errors"
	"fmt"
	"math"
)

// CoilsFor returns the active coils [-] that give a spring of this wire, mean
// diameter and G a rate [N/m]: the reverse of Rate.
func (s Compression) CoilsFor(rate float64) (float64, error) {
	if err := (quantity{"rate", rate, "N/m"}).within(1e-3, 1e9, ErrInput); err != nil {
		return 0, err
	}
	s.Active = 1
	return s.Rate() / rate, nil
}

// FreeFor returns the free length [m] that gives the spring a load [N] at a
// length [m], the reverse of Force: L0 = L + F/R.
func (s Compression) FreeFor(load, length float64) (float64, error) {
	if err := errors.Join(
		s.rateFaults(),
		quantity{"load", load, "N"}.within(0, 1e7, ErrInput),
		quantity{"length", length, "m"}.within(1e-5, 10, ErrInput),
	); err != nil {
		return 0, err
	}
	free := length + load/s.Rate()
	return free, quantity{"free length", free, "m"}.within(1e-5, 10, ErrRange)
}

// WireForRate returns the wire diameter [m] that gives the spring a rate [N/m]
// with its mean diameter, coils and G, the reverse of Rate:
//
//	d = (8 D³ n_a R/G)^(1/4)
func (s Compression) WireForRate(rate float64) (float64, error) {
	if err := errors.Join(
		quantity{"rate", rate, "N/m"}.within(1e-3, 1e9, ErrInput),
		quantity{"mean coil diameter", s.Mean, "m"}.within(1e-5, 1, ErrInput),
		quantity{"number of active coils", s.Active, ""}.within(0.5, 1000, ErrInput),
		quantity{"shear modulus", s.G, "Pa"}.within(1e9, 2e11, ErrInput),
	); err != nil {
		return 0, err
	}
	d := math.Sqrt(math.Sqrt(8 * s.Mean * s.Mean * s.Mean * s.Active * rate / s.G))
	if !(d < s.Mean) {
		return 0, fmt.Errorf("%w: a rate of %.6g N/m needs wire of %.6g m, more than the mean diameter of %.6g m", ErrRange, rate, d, s.Mean)
	}
	return d, nil
}

// MeanForRate returns the mean coil diameter [m] that gives the spring a rate
// [N/m] with its wire, coils and G:
//
//	D = (G d⁴/(8 n_a R))^(1/3)
func (s Compression) MeanForRate(rate float64) (float64, error) {
	if err := errors.Join(
		quantity{"rate", rate, "N/m"}.within(1e-3, 1e9, ErrInput),
		quantity{"wire diameter", s.Wire, "m"}.within(1e-5, 0.1, ErrInput),
		quantity{"number of active coils", s.Active, ""}.within(0.5, 1000, ErrInput),
		quantity{"shear modulus", s.G, "Pa"}.within(1e9, 2e11, ErrInput),
	); err != nil {
		return 0, err
	}
	mean := math.Cbrt(s.G * math.Pow(s.Wire, 4) / (8 * s.Active * rate))
	if !(mean > s.Wire) {
		return 0, fmt.Errorf("%w: a rate of %.6g N/m needs a mean diameter of %.6g m, less than the wire of %.6g m", ErrRange, rate, mean, s.Wire)
	}
	return mean, nil
}

// WireForStress returns the least wire diameter [m] of a coil of the spring's mean
// diameter that keeps the stress of a factor under a force [N] within an
// allowable one [Pa] that belongs to the factor. The stress falls without end
// as the wire grows towards an index of 1.5, past which nothing is coiled.
func (s Compression) WireForStress(force, allowable float64, f Factor) (float64, error) {
	if err := errors.Join(
		quantity{"force", force, "N"}.within(1e-6, 1e7, ErrInput),
		quantity{"allowable stress", allowable, "Pa"}.within(1e6, 1e10, ErrInput),
		quantity{"mean coil diameter", s.Mean, "m"}.within(1e-5, 1, ErrInput),
		known("stress factor", factorNames, f),
	); err != nil {
		return 0, err
	}
	over := func(d float64) bool {
		s.Wire = d
		return s.Stress(force, f) > allowable
	}
	lo, hi := s.Mean/1000, s.Mean/1.5
	if over(hi) {
		return 0, fmt.Errorf("%w: no wire that can be coiled to a mean diameter of %.6g m bears %.6g N at %.6g Pa", ErrRange, s.Mean, force, allowable)
	}
	if !over(lo) {
		return 0, fmt.Errorf("%w: wire of less than a thousandth of the mean diameter bears %.6g N at %.6g Pa", ErrRange, force, allowable)
	}
	for range 60 {
		if mid := lo + (hi-lo)/2; over(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi, nil
}
