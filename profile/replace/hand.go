package replace

import (
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

// grips is how many positions a Hand has, besides the one at which the inlet
// port opens and the force jumps. The peak between two of them is missed by a
// part of its square: under 1 in 10 000 for a smooth linkage.
const grips = 241

// NewHand returns the table for a lever. The spring of the load is not used.
func NewHand(l piston.Lever, load piston.Load) (Hand, error) {
	// Cocking force is a straight line in the force of the spring wherever the
	// hand has to push, so two forces show it. They are large, so that the hand does.
	const low, high = 1e4, 2e4
	pulledBy := func(force float64) piston.Load {
		load.Spring = func(float64) float64 { return force }
		return load
	}
	a, err := l.Effort(pulledBy(low), grips)
	if err != nil {
		return nil, err
	}
	b, err := l.Effort(pulledBy(high), grips)
	if err != nil {
		return nil, err
	}
	grip := func(lift, weak, strong float64) Grip {
		gain := (strong - weak) / (high - low)
		return Grip{Lift: lift, Gain: gain, Offset: weak - gain*low}
	}
	h := make(Hand, grips, grips+1)
	for i := range h {
		h[i] = grip(a.Points[i].Lift, a.Points[i].Cocking, b.Points[i].Cocking)
	}
	port := (load.Cylinder.Stroke - load.Cylinder.Port) * (1 - 1e-9) // before the boiler helps
	angle, err := piston.AngleFor(l.Linkage, port)
	if err != nil {
		return h, nil // the lever does not come as far
	}
	weak, err := l.Forces(pulledBy(low), angle)
	if err != nil {
		return nil, err
	}
	strong, err := l.Forces(pulledBy(high), angle)
	if err != nil {
		return nil, err
	}
	return append(h, grip(port, weak.Cocking, strong.Cocking)), nil
}

// Effort returns the greatest force of the hand [N] while springs are cocked,
// and 0 where the lever is not known or falls by itself.
func (h Hand) Effort(springs ...spring.Linear) float64 {
	most, _ := h.hardest(springs)
	return most
}

// hardest returns the greatest force of the hand [N], and the place in the table where
// it is met; -1 where the hand need not push.
func (h Hand) hardest(springs []spring.Linear) (most float64, at int) {
	at = -1
	for i := range h {
		if f := h[i].force(springs); f > most {
			most, at = f, i
		}
	}
	return most, at
}

func (g *Grip) force(springs []spring.Linear) float64 {
	return g.Gain*spring.ForceOf(springs, g.Lift) + g.Offset
}
