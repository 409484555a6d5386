package spring

import "math"

// Shortened returns the spring after a set [m]: the free length is less, the
// rate is the same. To shim a spring is to give the length back at the seat.
func (s Compression) Shortened(set float64) (Compression, error) {
	if err := (quantity{"set", set, "m"}).within(0, s.Free-s.SolidLength(), ErrInput); err != nil {
		return Compression{}, err
	}
	s.Free -= set
	return s, nil
}

// SetEquivalent returns the loss of free length [m] that explains a loss of
// force [N] at the same length, s = ΔF/R: also the shim that gives it back.
func (s Compression) SetEquivalent(forceLost float64) (float64, error) {
	if err := (quantity{"force lost", forceLost, "N"}).within(0, s.SolidForce(), ErrInput); err != nil {
		return 0, err
	}
	return forceLost / s.Rate(), nil
}

// Worn returns the spring after the wire has lost a diameter [m], by rust or
// rubbing, all around and all along: the rate falls as d⁴. Length and mean
// diameter stay. A local pit weakens more than it softens.
func (s Compression) Worn(loss float64) (Compression, error) {
	if err := (quantity{"loss of wire diameter", loss, "m"}).within(0, 0.5*s.Wire, ErrInput); err != nil {
		return Compression{}, err
	}
	s.Wire -= loss
	s.WireMax = 0
	return s, nil
}

// WearEquivalent returns the loss of wire diameter [m] that explains a rate
// [N/m] measured now, d (1 - (R/R_new)^(1/4)). A rate above new has no such
// explanation: ErrInput.
func (s Compression) WearEquivalent(rateNow float64) (float64, error) {
	if err := (quantity{"rate now", rateNow, "N/m"}).within(s.Rate()/16, s.Rate()*(1+1e-9), ErrInput); err != nil {
		return 0, err
	}
	return s.Wire * max(0, 1-math.Sqrt(math.Sqrt(rateNow/s.Rate()))), nil
}
