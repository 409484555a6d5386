package piston

import "errors"

// Rack is a rack and pinion: the handle turns a pinion, which draws up a rack
// on the piston rod. The slope is the same at every angle.
//
//	y = (d/2)(θ - θ_0)
//
// The angle may be counted from anywhere. For a full-depth gear d is module
// times number of teeth. Efficiency is about 0.90 to 0.97 (from memory).
type Rack struct {
	PinionDiameter float64 // d: pitch diameter of the pinion [m]
	Span
}

// Lift returns the lift y [m].
func (r Rack) Lift(angle float64) float64 { return r.PinionDiameter / 2 * (r.clamp(angle) - r.From) }

// Slope returns dy/dθ [m/rad].
func (r Rack) Slope(float64) float64 { return r.PinionDiameter / 2 }

// Validate reports every fault of the dimensions.
func (r Rack) Validate() error {
	return errors.Join(length("pinion pitch diameter", r.PinionDiameter), r.Span.Validate())
}
