package replace

import (
	"math"

	"springcalc/piston"
	"springcalc/spring"
)

// Hand is what cocking asks of the hand, as a table over the way of the
// handle. Springs differ in nothing but their force at each lift, so a search
// need not go through the linkage for each of them.
type Hand []Grip

// Grip is one position of the handle.
type Grip struct {
	Lift   float64 // y: lift of the piston from rest [m]
	Gain   float64 // force of the hand per force of the spring [-]
	Offset float64 // force of the hand without a spring: weight, seal friction, pressure under the piston [N]
}

// grips is how many positions a Hand has. The peak between two of them is
// missed by a part of its square: under 1 in 10 000 for a smooth linkage.
const grips = 241

// NewHand returns the table for a lever. The spring of the load is not used.
func NewHand(l piston.Lever, load piston.Load) (Hand, error) {
	// Cocking force is a straight line in the force of the spring wherever the
	// hand has to push, so two forces show it. They are large, so that the hand does.
	const low, high = 1e4, 2e4
	table := func(force float64) (piston.Effort, error) {
		load.Spring = func(float64) float64 { return force }
		return l.Effort(load, grips)
	}
	a, err := table(low)
	if err != nil {
		return nil, err
	}
	b, err := table(high)
	if err != nil {
		return nil, err
	}
	h := make(Hand, grips)
	for i := range h {
		gain := (b.Points[i].Cocking - a.Points[i].Cocking) / (high - low)
		h[i] = Grip{Lift: a.Points[i].Lift, Gain: gain, Offset: a.Points[i].Cocking - gain*low}
	}
	return h, nil
}

// Effort returns the greatest force of the hand [N] while springs are cocked,
// and 0 where the lever is not known or falls by itself.
func (h Hand) Effort(springs ...spring.Linear) float64 {
	most := 0.0
	for _, g := range h {
		f := 0.0
		for _, s := range springs {
			f += s.Force(g.Lift)
		}
		most = math.Max(most, g.Gain*f+g.Offset)
	}
	return most
}
