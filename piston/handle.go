package piston

import (
	"errors"
	"fmt"
	"math"
)

const gravity = 9.80665 // standard acceleration of free fall, ISO 80000-3 [m/s²]

// Handle is the weight of a handle as a force on the piston, down and so with
// the spring where positive, as a polynomial of the lift y,
//
//	F(y) = Σ c_i y^i
//
// which is quick and whose energy is exact. The zero Handle weighs nothing.
type Handle [5]float64 // c_i [N/m^i]

// Force returns F(y) [N] at a lift [m].
func (h *Handle) Force(y float64) float64 {
	return h[0] + y*(h[1]+y*(h[2]+y*(h[3]+y*h[4])))
}

// Rate returns dF/dy [N/m] at a lift [m].
func (h *Handle) Rate(y float64) float64 {
	return h[1] + y*(2*h[2]+y*(3*h[3]+y*4*h[4]))
}

// Energy returns ∫F dy from rest to a lift [m], the energy that the handle gives back [J].
func (h *Handle) Energy(y float64) float64 {
	return y * (h[0] + y*(h[1]/2+y*(h[2]/3+y*(h[3]/4+y*h[4]/5))))
}

// Faults reports a handle that is no number, or whose force rises faster on the
// way to rest than a rate [N/m] of springs lets the rest of the force fall, over a stroke [m].
func (h *Handle) Faults(stroke, rate float64) []error {
	if *h == (Handle{}) {
		return nil
	}
	const samples = 16
	last := samples
	if *h == (Handle{h[0]}) {
		last = 0 // the same force all along
	}
	for i := range last + 1 {
		y := stroke * float64(i) / samples
		f, k := h.Force(y), h.Rate(y)
		if !(math.Abs(f) <= maxForce) {
			return []error{fmt.Errorf("%w: force of the handle's weight %.4g N at a lift of %.4g m, want within ±%.4g N", ErrValue, f, y, maxForce)}
		}
		if !(k+rate >= 0) {
			return []error{fmt.Errorf("%w: the force of the handle's weight changes by %.4g N/m at a lift of %.4g m, more than the %.4g N/m of the springs", ErrValue, k, y, rate)}
		}
	}
	return nil
}

// HandleWeight returns the force of the lever's handle on the piston over a
// stroke [m], by virtual work,
//
//	F(y) = -m_h g r_h sin(θ - θ_v) dθ/dy
//
// against the spring where cocking lowers the handle. It is the polynomial
// through the five Chebyshev points of the stroke: within 1 % of
// the force for racks and slots. Friction in the linkage is left out. It is ErrRange where
// the linkage does not give the stroke, or has its dead centre within it or
// close by, where no force on the piston balances the handle.
func (l Lever) HandleWeight(stroke float64) (Handle, error) {
	if err := errors.Join(l.Validate(), length("stroke", stroke)); err != nil {
		return Handle{}, err
	}
	if l.Mass == 0 {
		return Handle{}, nil
	}
	top, _, err := highest(l.Linkage)
	if err != nil {
		return Handle{}, err
	}
	if most := l.Linkage.Lift(top); !(stroke <= most*(1+1e-12)) {
		return Handle{}, fmt.Errorf("%w: stroke %.4g m, the linkage gives from 0 to %.4g m", ErrRange, stroke, most)
	}
	var x, f Handle
	for i := range x {
		x[i] = (1 - math.Cos(math.Pi*(2*float64(i)+1)/10)) / 2
		angle := angleOnRise(l.Linkage, x[i]*stroke, top)
		slope := l.Linkage.Slope(angle)
		if !(slope > 0.05*stroke) {
			return Handle{}, fmt.Errorf("%w: the linkage is near its dead centre at a lift of %.4g m", ErrRange, x[i]*stroke)
		}
		f[i] = -l.moment(angle) / slope
	}
	h := newton(x, f)
	scale := 1.0
	for i := range h {
		h[i] /= scale
		scale *= stroke
	}
	return h, nil
}

// moment returns the moment of the handle's weight towards cocked [N·m].
func (l Lever) moment(angle float64) float64 {
	return l.Mass * gravity * l.Centre * math.Sin(angle-l.Upright)
}

// fallen returns how far the handle's weight has fallen from rest to an angle, as work [J].
func (l Lever) fallen(angle float64) float64 {
	return l.Mass * gravity * l.Centre * (math.Cos(l.Linkage.Range().From-l.Upright) - math.Cos(angle-l.Upright))
}

// newton returns the powers of the polynomial through five points, by Newton's
// divided differences.
func newton(x, f Handle) (c Handle) {
	for k := 1; k < len(f); k++ {
		for i := len(f) - 1; i >= k; i-- {
			f[i] = (f[i] - f[i-1]) / (x[i] - x[i-k])
		}
	}
	for k := len(f) - 1; k >= 0; k-- { // c = c (y - x_k) + f_k
		var next Handle
		for i := range c {
			if i+1 < len(c) {
				next[i+1] += c[i]
			}
			next[i] -= c[i] * x[k]
		}
		c = next
		c[0] += f[k]
	}
	return c
}
