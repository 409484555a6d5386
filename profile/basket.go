package profile

import (
	"fmt"
	"math"
)

// Filling says how full a basket is.
type Filling string

// The fillings. The room that is usual above tamped coffee is 3 to 10 mm
// (common practice).
const (
	TooFull  Filling = "too full"
	Usual    Filling = "as usual"
	TooEmpty Filling = "too empty"
	Unknown  Filling = "not known"

	roomLow  = 3e-3  // [m]
	roomHigh = 10e-3 // [m]
)

// Room returns the room above the dry bed, basket depth less bed depth [m]
// (below 0 where the dose does not fit), and what it amounts to.
func (s *Setup) Room() (float64, Filling) {
	if s.Basket.Depth == 0 {
		return 0, Unknown
	}
	room := s.Basket.Depth - s.BedDepth()
	switch {
	case room < roomLow:
		return room, TooFull
	case room > roomHigh:
		return room, TooEmpty
	}
	return room, Usual
}

// found returns the dose [kg] and basket diameter [m] that the stated
// resistance belongs to.
func (s *Setup) found() (dose, diameter float64) {
	dose, diameter = s.Coffee.FoundDose, s.Coffee.FoundDiameter
	if dose == 0 {
		dose = s.Coffee.Dose
	}
	if diameter == 0 {
		diameter = s.Basket.Diameter
	}
	return dose, diameter
}

// OwnResistance returns the resistance [Pa·s/m³] of the bed as it lies in the
// setup's basket, at Coffee.AtPressure. A stated resistance belongs to the dose
// and basket with which it was found, and from there goes as
//
//	R ∝ dose / A_b²       ([Das], Darcy's law: length over area, length as dose over area)
//
// It is the one rule for another dose or basket: Run and InBasket follow it alike.
func (s *Setup) OwnResistance() float64 {
	dose, diameter := s.found()
	ratio := diameter / s.Basket.Diameter
	ratio *= ratio
	return s.Coffee.Resistance * s.Coffee.Dose / dose * ratio * ratio
}

// InBasket returns the setup with the same coffee, ground the same, in another
// basket or another dose [kg] of it. The bed's resistance follows OwnResistance,
// and the chamber's headspace changes with the room above the bed, where both
// depths are known.
func (s *Setup) InBasket(b Basket, dose float64) *Setup {
	n := *s
	n.Coffee.FoundDose, n.Coffee.FoundDiameter = s.found()
	n.Basket, n.Coffee.Dose = b, dose
	n.Coffee.Resistance, n.Coffee.FoundDose, n.Coffee.FoundDiameter = n.OwnResistance(), 0, 0
	if s.Basket.Depth > 0 && b.Depth > 0 {
		n.Chamber.Headspace = max(0, s.Chamber.Headspace-s.RoomVolume()) + n.RoomVolume()
	}
	return &n
}

// RoomVolume returns the volume above the bed in the basket [m³]; 0 where the
// basket is full, or its depth not known.
func (s *Setup) RoomVolume() float64 {
	room, _ := s.Room()
	return max(0, room) * s.Basket.Area()
}

// GrindFor returns the factor on the bed's resistance, 1 for the grind as it
// is, with which the shot takes a time [s] in all. It returns ErrKnown where
// no grind does.
func (s *Setup) GrindFor(total float64) (float64, error) {
	if err := s.Validate(); err != nil {
		return 0, err
	}
	n := *s
	n.fitTime(total)
	if got := follow(&n, nil); !(math.Abs(got.Total-total) <= 1e-6*got.Total) {
		return 0, fmt.Errorf("%w: no grind makes the shot %.3g s; the nearest is %.3g s (%s)", ErrKnown, total, got.Total, got.Outcome)
	}
	return n.Coffee.Resistance / s.Coffee.Resistance, nil
}

// DoseFor returns the dose [kg] with which the shot, ground as it is, takes a
// time [s] in all: the nearest to the setup's dose, between a third and three
// times of it. (A dose may be so large that the stroke ends before the bed is
// wet, and the shot is short again.) It returns ErrKnown where no dose does.
func (s *Setup) DoseFor(total float64) (float64, error) {
	if err := s.Validate(); err != nil {
		return 0, err
	}
	late := func(dose float64) float64 { return follow(s.InBasket(s.Basket, dose), nil).Total - total }
	const step = 1.03
	for near, far := 1.0, step; far < 3; near, far = far, far*step {
		for _, dose := range [][2]float64{{s.Coffee.Dose * near, s.Coffee.Dose * far}, {s.Coffee.Dose / far, s.Coffee.Dose / near}} {
			if late(dose[0]) <= 0 && late(dose[1]) >= 0 {
				return root(late, dose[0], dose[1]), nil
			}
		}
	}
	return 0, fmt.Errorf("%w: no dose makes the shot %.3g s", ErrKnown, total)
}

// Headspace is an estimate of the room between the piston at rest and the bed.
type Headspace struct {
	Value float64 // [m³]
	Low   float64 // [m³]
	High  float64 // [m³]; Low to High is a 95 % range by judgement, no source
}

// Densities of tamped beds, published 0.40 to 0.54 g/cm³, and how far a piston
// at rest may stand above the rim of the basket (common practice).
const (
	looseBed  = 380.0 // [kg/m³]
	denseBed  = 550.0 // [kg/m³]
	rimGap    = 1e-3  // [m]
	rimGapMax = 3e-3  // [m]
)

// EstimateHeadspace returns what to take for a headspace that nobody has
// measured, for the basket and the dose of the setup:
//
//	V = A_b (H - L + gap),  L = m/(ρ_b A_b)
//
// with the basket's depth H, and the bed loose to dense and the gap between rim
// and piston none to 3 mm for the range. Where the depth is not known, the room
// above the bed is the usual 3 to 10 mm (common practice).
func (s *Setup) EstimateHeadspace() Headspace {
	area := s.Basket.Area()
	if s.Basket.Depth == 0 {
		return Headspace{Value: area * (roomLow + roomHigh) / 2, Low: area * roomLow, High: area * (roomHigh + rimGapMax)}
	}
	room := func(density, gap float64) float64 {
		return max(0, s.Basket.Depth*area-s.Coffee.Dose/density) + gap*area
	}
	mid := room(s.Coffee.BulkDensity, rimGap)
	return Headspace{Value: mid, Low: min(mid, room(looseBed, 0)), High: max(mid, room(denseBed, rimGapMax))}
}
