package piston

import (
	"errors"
	"fmt"
	"math"
)

// Link is a slider-crank: a pin on the handle draws up the piston through a
// link. With x the distance of the piston's pin from the pivot along the axis,
//
//	x(θ) = r cos θ + √(l² - (r sin θ - e)²)
//	y = x(θ_0) - x(θ),  dy/dθ = r sin(θ + φ) / cos φ,  sin φ = (r sin θ - e)/l
//
// exact, not the series r(sin θ + r sin 2θ/2l) of the textbooks, whose
// greatest slope is 0.3 % low at l/r = 10/3 ([Khurmi TM] Example 15.3).
//
// The angle is counted from where the pin on the handle points along the axis
// to the piston, so that the piston rises towards π. A round eccentric under a
// roller moves the same way: r is the eccentricity, l the radius of the
// eccentric and of the roller together.
type Link struct {
	PinRadius float64 // r: from the pivot to the link's pin on the handle [m]
	Length    float64 // l: between the pins of the link [m]
	Offset    float64 // e: of the piston's axis from the pivot, to the side where the pin goes [m]; mostly 0
	Span
}

// Lift returns the lift y [m].
func (l Link) Lift(angle float64) float64 { return l.distance(l.From) - l.distance(l.clamp(angle)) }

// Slope returns dy/dθ [m/rad].
func (l Link) Slope(angle float64) float64 {
	angle = l.clamp(angle)
	phi := l.Obliquity(angle)
	return l.PinRadius * math.Sin(angle+phi) / math.Cos(phi)
}

// Obliquity returns the angle φ [rad] between the link and the piston's axis.
// A load F on the piston makes a force F/cos φ in the link and presses the
// piston sideways with F tan φ.
func (l Link) Obliquity(angle float64) float64 {
	return math.Asin((l.PinRadius*math.Sin(l.clamp(angle)) - l.Offset) / l.Length)
}

// distance returns the distance x of the piston's pin from the pivot [m].
func (l Link) distance(angle float64) float64 {
	return l.PinRadius*math.Cos(angle) + l.Length*math.Cos(l.Obliquity(angle))
}

// Validate reports every fault of the dimensions.
func (l Link) Validate() error {
	err := errors.Join(
		length("pin radius", l.PinRadius),
		length("link length", l.Length),
		between("offset of the piston's axis", l.Offset, -maxLength, maxLength, "m"),
		l.Span.Validate(),
	)
	if most := l.widest(); err == nil && !(most <= 0.99*l.Length) {
		return fmt.Errorf("%w: link length %.4g m, want well above the %.4g m that the pin swings out from the piston's axis",
			ErrValue, l.Length, most)
	}
	return err
}

// widest returns the greatest |r sin θ - e| in the range [m].
func (l Link) widest() float64 {
	swing := func(angle float64) float64 { return math.Abs(l.PinRadius*math.Sin(angle) - l.Offset) }
	most := max(swing(l.From), swing(l.To))
	for _, quarter := range [...]float64{math.Pi / 2, -math.Pi / 2} { // sin θ is ±1 once a turn
		turns := math.Ceil((l.From - quarter) / (2 * math.Pi))
		if at := quarter + 2*math.Pi*turns; at <= l.To {
			most = max(most, swing(at))
		}
	}
	return most
}

// Doubts returns what makes a force from this link uncertain.
func (l Link) Doubts() []string {
	sin := l.widest() / l.Length
	if side := sin / math.Sqrt(1-sin*sin); side > 0.36 { // l below 3r without offset; common practice is 3r or more
		return []string{fmt.Sprintf("The link leans so far that it presses the piston sideways with %.0f %% of its load: "+
			"expect more friction than the seal alone gives, and wear on one side.", 100*side)}
	}
	return nil
}

// Joints are the plain bearings of a Link.
type Joints struct {
	Pivot    float64 // radius of the handle's pivot [m]
	Pin      float64 // radius of the bearing between handle and link [m]
	Piston   float64 // radius of the bearing between link and piston [m]
	Friction float64 // μ: coefficient of friction in the bearings [-]
}

// Efficiency returns the share of the work that gets through the joints at a
// handle angle: up, while the hand cocks the lever, and down, while the spring
// drives the handle back. The torque on the handle is, with + for up,
//
//	T = F (r sin(θ + φ') ± μ(r_pin + r_pivot)) / cos φ',  sin(φ' - φ) = ±μ(r_pin + r_piston)/l
//
// by the friction circles of radius μr that the line of force touches
// ([Bevan] p. 198); r_piston changes its sign past θ = π/2, where the link
// turns back. An efficiency is 0 where friction holds the load, and at a dead
// centre, where no work is done. It counts the joints only, not a piston pressed sideways.
func (l Link) Efficiency(j Joints, angle float64) (up, down float64, err error) {
	if err := errors.Join(l.Validate(), j.validate()); err != nil {
		return 0, 0, err
	}
	if err := l.contains(angle); err != nil {
		return 0, 0, err
	}
	slope := l.Slope(angle)
	if !(slope > 0) {
		return 0, 0, nil
	}
	if raise, free := l.armWithFriction(j, angle); free {
		up = slope / raise
	}
	j.Friction = -j.Friction
	if hold, free := l.armWithFriction(j, angle); free {
		down = max(0, hold/slope)
	}
	return up, down, nil
}

// armWithFriction returns the torque on the handle per force on the piston
// [m], above the slope for a friction above zero. free is false where
// friction jams the link.
func (l Link) armWithFriction(j Joints, angle float64) (arm float64, free bool) {
	phi := l.Obliquity(angle)
	turn := l.PinRadius * math.Cos(angle) / (l.Length * math.Cos(phi)) // dφ/dθ
	pin := math.Copysign(j.Pin, 1+turn)
	phi += math.Asin(j.Friction * (pin + math.Copysign(j.Piston, turn)) / l.Length)
	if !(math.Abs(phi) < 1.5) {
		return 0, false
	}
	return (l.PinRadius*math.Sin(angle+phi) + j.Friction*(pin+j.Pivot)) / math.Cos(phi), true
}

func (j Joints) validate() error {
	return errors.Join(
		between("radius of the pivot", j.Pivot, 0, maxLength, "m"),
		between("radius of the pin", j.Pin, 0, maxLength, "m"),
		between("radius of the piston's pin", j.Piston, 0, maxLength, "m"),
		between("coefficient of friction", j.Friction, 0, 1, "[-]"),
	)
}
