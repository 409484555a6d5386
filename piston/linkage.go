package piston

import (
	"errors"
	"fmt"
	"math"
)

// Linkage ties the lift of the piston to the angle of the handle. Each type
// says where its angle is counted from. Stops hold the handle within the
// range: an angle outside it means the nearer stop.
type Linkage interface {
	Lift(angle float64) float64  // y(θ): lift of the piston above its rest [m] at a handle angle [rad]
	Slope(angle float64) float64 // dy/dθ [m/rad]
	Range() Span                 // from rest to cocked
	Validate() error             // every fault of the dimensions
}

// Span is the way of the handle between its stops.
type Span struct {
	From float64 // θ_0: handle angle with the piston at rest [rad]
	To   float64 // θ_1: handle angle with the lever cocked [rad], above From
}

// Range returns the span itself: a type that embeds it has the range of a Linkage.
func (s Span) Range() Span { return s }

// Validate reports every fault of the span.
func (s Span) Validate() error {
	const turns = 4 * math.Pi
	err := errors.Join(
		between("angle at rest", s.From, -turns, turns, "rad"),
		between("angle when cocked", s.To, -turns, turns, "rad"),
	)
	if err == nil && !(s.To-s.From >= 1e-3) {
		return fmt.Errorf("%w: angle when cocked %.4g rad, want above the angle at rest %.4g rad", ErrValue, s.To, s.From)
	}
	return err
}

func (s Span) clamp(angle float64) float64 { return min(max(angle, s.From), s.To) }

// contains returns an error unless the angle is within the span; NaN fails.
func (s Span) contains(angle float64) error {
	if angle >= s.From && angle <= s.To {
		return nil
	}
	return fmt.Errorf("%w: handle angle %.4g rad, the linkage goes from %.4g to %.4g rad", ErrRange, angle, s.From, s.To)
}

// corners returns the angles at which the slope of a linkage has a corner, rising.
func corners(l Linkage) []float64 {
	if l, ok := l.(interface{ corners() []float64 }); ok {
		return l.corners()
	}
	return nil
}

// at returns the angle at a share of the way from rest to cocked.
func (s Span) at(share float64) float64 { return s.clamp(s.From + share*(s.To-s.From)) }

// AngleFor returns the handle angle [rad] that gives a lift [m]: the inverse
// of Lift, on the way up from rest to the greatest lift. It is ErrRange for a lift
// that the linkage does not reach.
func AngleFor(l Linkage, lift float64) (float64, error) {
	if err := l.Validate(); err != nil {
		return 0, err
	}
	top, _, err := highest(l)
	if err != nil {
		return 0, err
	}
	most := l.Lift(top)
	if !(lift >= 0 && lift <= most*(1+1e-12)) { // a rounding error of the caller's arithmetic is not beyond it
		return 0, fmt.Errorf("%w: lift %.4g m, the linkage gives from 0 to %.4g m", ErrRange, lift, most)
	}
	return angleOnRise(l, min(lift, most), top), nil
}

// angleOnRise is AngleFor where the greatest lift is known and not exceeded.
func angleOnRise(l Linkage, lift, top float64) float64 {
	switch lift {
	case 0:
		return l.Range().From
	case l.Lift(top):
		return top
	}
	return bisect(func(a float64) float64 { return l.Lift(a) - lift }, l.Range().From, top)
}

// Latch returns the handle angle [rad] at which the slope dy/dθ falls to zero,
// the dead centre. There the spring has no hold on the handle; beyond it the
// spring pulls the handle on instead of back, and the lever stays cocked by
// itself. ok is false if the linkage has no such place in its range.
func Latch(l Linkage) (angle float64, ok bool, err error) {
	if err := l.Validate(); err != nil {
		return 0, false, err
	}
	top, latched, err := highest(l)
	if err != nil || !latched {
		return 0, false, err
	}
	return top, true, nil
}

// highest returns the angle of the first greatest lift after rest, and whether
// the slope is zero there rather than the stop reached.
func highest(l Linkage) (angle float64, latched bool, err error) {
	span := l.Range()
	if _, even := l.(Rack); even {
		return span.To, false, nil
	}
	const steps = 720
	var angles, slopes [steps + 1]float64
	steepest := 0.0
	for i := range angles {
		angles[i] = span.at(float64(i) / steps)
		slopes[i] = l.Slope(angles[i])
		steepest = max(steepest, math.Abs(slopes[i]))
	}
	flat := 1e-9 * steepest // sin π is not quite zero either
	first := 0
	for first < steps && math.Abs(slopes[first]) <= flat {
		first++
	}
	if !(slopes[first] > flat) {
		return 0, false, fmt.Errorf("%w: the piston does not rise as the handle leaves its rest at %.4g rad", ErrValue, span.From)
	}
	for i := first + 1; i <= steps; i++ {
		if slopes[i] > flat {
			continue
		}
		if slopes[i] > 0 {
			return angles[i], true, nil
		}
		return bisect(l.Slope, angles[i-1], angles[i]), true, nil
	}
	return span.To, false, nil
}
