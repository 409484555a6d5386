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

// InBasket returns the setup with the same coffee, ground the same, in another
// basket or another dose [kg] of it. The bed's resistance goes as
//
//	R ∝ dose / A_b²       ([Das], Darcy's law: length over area, length as dose over area)
//
// and the chamber's headspace changes with the room above the bed, where both
// depths are known.
func (s *Setup) InBasket(b Basket, dose float64) *Setup {
	n := *s
	n.Basket, n.Coffee.Dose = b, dose
	ratio := s.Basket.Area() / b.Area()
	n.Coffee.Resistance = s.Coffee.Resistance * dose / s.Coffee.Dose * ratio * ratio
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
