package piston

import (
	"fmt"
	"math"
)

// Effort is what cocking a lever asks of the hand.
type Effort struct {
	Points  []Position // evenly over the angle, from rest to cocked
	Peak    Position   // where the hand has to push hardest while cocking
	Latched bool       // the linkage reaches its dead centre within its range
	Latch   float64    // angle of the dead centre [rad], if Latched
	Back    Position   // beyond the dead centre, where the hand has to pull hardest to bring the lever back over it; zero where it does not go there
	Energy  Energy     // from rest to the greatest lift
	Doubts  []string   // what makes the answer uncertain
}

// Position is one position of the lever.
type Position struct {
	Angle float64 // θ: handle angle [rad]
	Lift  float64 // y: lift of the piston [m]
	Slope float64 // dy/dθ [m/rad]
	Ratio float64 // travel of the piston per travel of the hand, (dy/dθ)/L_h [-]
	Forces
}

// Energy is the account of one cocking and the shot after it.
//
//	Hand + Weight + Fill = Stored + Seal + Linkage
type Energy struct {
	Hand      float64 // ∫F_h L_h dθ: work of the hand while cocking [J]
	Weight    float64 // work of the handle's weight while cocking [J], below 0 where it hinders
	Fill      float64 // work of the pressure under the piston while cocking [J], below 0 where it hinders
	Stored    float64 // taken up by spring and weight [J]
	Seal      float64 // lost to the seal while cocking [J]
	Linkage   float64 // lost in the linkage while cocking [J]
	Recovered float64 // given to the water by the piston from the closed port to rest, less its seal friction under pressure [J]
}

// Effort returns the table of the hand's forces at evenly spaced angles, its
// peak and the account of energy. It panics for fewer than two points.
func (l Lever) Effort(load Load, points int) (Effort, error) {
	if points < 2 {
		panic("piston: a table of effort needs two points or more")
	}
	d, err := l.drive(load)
	if err != nil {
		return Effort{}, err
	}
	e := Effort{Peak: d.peak(), Latched: d.latched, Energy: d.energy(), Doubts: d.doubts()}
	if d.latched {
		e.Latch = d.top
	}
	if d.top < l.Linkage.Range().To {
		e.Back = d.beyond(holdingBack)
	}
	for i := range points {
		e.Points = append(e.Points, d.position(l.Linkage.Range().at(float64(i)/float64(points-1))))
	}
	return e, nil
}

// Peak returns where the hand has to push hardest while cocking.
func (l Lever) Peak(load Load) (Position, error) {
	d, err := l.drive(load)
	if err != nil {
		return Position{}, err
	}
	return d.peak(), nil
}

func (d drive) position(angle float64) Position {
	slope := d.lever.Linkage.Slope(angle)
	return Position{
		Angle:  angle,
		Lift:   d.lever.Linkage.Lift(angle),
		Slope:  slope,
		Ratio:  slope / d.lever.Handle,
		Forces: d.forces(angle),
	}
}

// cocking is the force that loads the hand on the way up, holdingBack the one with
// which it brings a latched lever back.
func cocking(f Forces) float64     { return f.Cocking }
func holdingBack(f Forces) float64 { return -f.Returning }

// peak searches the greatest cocking force on each side of the opening port,
// where the force jumps: each side is searched with its own pressure up to the
// jump itself, so that a peak right there is not taken from the wrong side.
func (d drive) peak() Position {
	port := angleOnRise(d.lever.Linkage, d.port(), d.top)
	closed, open := d, d
	closed.load.OpenPressure = d.load.ClosedPressure
	open.load.ClosedPressure = d.load.OpenPressure
	peak := closed.hardest(cocking, d.lever.Linkage.Range().From, port)
	if port < d.top {
		peak = harder(cocking, peak, open.hardest(cocking, port, d.top))
	}
	if d.top < d.lever.Linkage.Range().To {
		peak = harder(cocking, peak, d.beyond(cocking))
	}
	return peak
}

// beyond searches a greatest force beyond the dead centre, where the port may shut
// again and the force jump.
func (d drive) beyond(force func(Forces) float64) Position {
	shut, end, port := d.top, d.lever.Linkage.Range().To, d.load.portLift()
	if port >= d.travel() || d.lever.Linkage.Lift(end) > port {
		return d.hardest(force, shut, end)
	}
	shut = bisect(func(a float64) float64 { return d.lever.Linkage.Lift(a) - port }, d.top, end)
	open := d
	open.load.ClosedPressure = d.load.OpenPressure
	return harder(force, open.hardest(force, d.top, shut), d.hardest(force, shut, end))
}

// hardest returns the position of the greatest force between two angles.
func (d drive) hardest(force func(Forces) float64, from, to float64) Position {
	return d.position(maximum(func(angle float64) float64 { return force(d.forces(angle)) }, from, to, corners(d.lever.Linkage)...))
}

// harder returns the position with the greater force.
func harder(force func(Forces) float64, a, b Position) Position {
	if force(b.Forces) > force(a.Forces) {
		return b
	}
	return a
}

func (d drive) energy() Energy {
	load := d.load
	e := Energy{
		Hand: d.overLift(func(y float64) float64 {
			return handWork(load.net(y)+load.friction(y), d.efficiencyAtLift(y))
		}),
		Fill:   d.overLift(func(y float64) float64 { return load.pressure(y) * load.Cylinder.Area() }),
		Stored: d.overLift(load.down),
		Seal:   d.overLift(load.friction),
		Recovered: integral(func(y float64) float64 {
			return load.Cylinder.Pressure(load.down(y)) * load.Cylinder.Area()
		}, 0, d.port()),
	}
	e.Weight = d.lever.fallen(d.top)
	e.Linkage = e.Hand + e.Fill - e.Stored - e.Seal
	e.Hand -= e.Weight
	return e
}

// overLift returns ∫f dy from rest to the greatest lift, in two pieces because
// the pressure jumps where the port opens.
func (d drive) overLift(f func(lift float64) float64) float64 {
	return integral(f, 0, d.port()) + integral(f, d.port(), d.travel())
}

func (d drive) doubts() []string {
	var doubts []string
	say := func(format string, a ...any) { doubts = append(doubts, fmt.Sprintf(format, a...)) }
	stroke := d.load.Cylinder.Stroke
	if off := d.travel()/stroke - 1; math.Abs(off) > 0.02 {
		say("The lift of the linkage differs from the stroke of the piston by %+.0f %%: one of the two is measured wrong.", 100*off)
	}
	if port := d.load.portLift(); port < stroke && port >= d.travel() {
		say("The linkage does not lift the piston as far as the inlet port: no water would come in.")
	}
	if d.lever.Efficiency < 0.5 {
		say("With less than half of the work getting through the linkage, the lever may not come back by itself.")
	}
	if d.load.down(0) <= d.load.Cylinder.Seal.Constant {
		say("Near rest the friction of the seal holds the piston against spring and weight: it would stop short of its rest.")
	}
	if l, ok := d.lever.Linkage.(interface{ Doubts() []string }); ok {
		doubts = append(doubts, l.Doubts()...)
	}
	return doubts
}
