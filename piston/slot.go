package piston

import (
	"errors"
	"fmt"
	"math"
)

// CrossSlot is a pin on the handle that runs in a slot of the piston rod, cut
// across the piston's axis.
//
//	y = a (cos θ_0 - cos θ),  dy/dθ = a sin θ
//
// The angle is counted from where the pin is lowest, a dead centre; the other,
// where the lever latches, is at π. A round eccentric under a flat plate moves
// the same way, with its eccentricity as the pin radius.
type CrossSlot struct {
	PinRadius float64 // a: from the pivot to the pin [m]
	Span
}

// Lift returns the lift y [m].
func (c CrossSlot) Lift(angle float64) float64 {
	return c.PinRadius * (math.Cos(c.From) - math.Cos(c.clamp(angle)))
}

// Slope returns dy/dθ [m/rad].
func (c CrossSlot) Slope(angle float64) float64 { return c.PinRadius * math.Sin(c.clamp(angle)) }

// Validate reports every fault of the dimensions.
func (c CrossSlot) Validate() error {
	return errors.Join(length("pin radius", c.PinRadius), c.Span.Validate())
}

// LeverSlot is a pin on the piston rod that runs in a slot along the lever.
//
//	y = b (tan θ - tan θ_0),  dy/dθ = b / cos²θ
//
// The angle is counted from where the lever stands square to the piston's
// axis, so it is negative below that. The lever may turn up to 80° either way.
type LeverSlot struct {
	PinDistance float64 // b: from the pivot to the piston's axis [m]
	Friction    float64 // μ: coefficient of friction of pin and rod guide [-]; 0 leaves their loss to the lever's efficiency
	Span
}

// EfficiencyAt returns the share of the work that gets through pin and guide at
// an angle [rad],
//
//	η = 1 - μ² - 2 μ |tan θ|
//
// not less than 0.01. The slot pushes the pin square to the lever with N and drags it along the
// lever with μN; the guide takes the side force N sin θ + μN cos θ and rubs by μ
// of it; what is left along the axis, over N cos θ, is η. With μ = 0.1 it is 0.87 at
// 30° and 0.79 at 45°.
func (s LeverSlot) EfficiencyAt(angle float64) float64 {
	return max(0.01, 1-s.Friction*(s.Friction+2*math.Abs(math.Tan(s.clamp(angle)))))
}

// Lift returns the lift y [m].
func (s LeverSlot) Lift(angle float64) float64 {
	return s.PinDistance * (math.Tan(s.clamp(angle)) - math.Tan(s.From))
}

// Slope returns dy/dθ [m/rad].
func (s LeverSlot) Slope(angle float64) float64 {
	c := math.Cos(s.clamp(angle))
	return s.PinDistance / (c * c)
}

// Validate reports every fault of the dimensions.
func (s LeverSlot) Validate() error {
	err := errors.Join(length("pin distance", s.PinDistance), between("friction of the slot", s.Friction, 0, 0.5, "[-]"), s.Span.Validate())
	const most = 80 * math.Pi / 180
	if err == nil && !(s.From >= -most && s.To <= most) {
		return fmt.Errorf("%w: lever in a slot from %.4g to %.4g rad, want within ±%.4g rad of square", ErrValue, s.From, s.To, most)
	}
	return err
}
