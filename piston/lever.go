package piston

import (
	"errors"
	"fmt"
	"math"
)

// Lever is a handle with its linkage.
type Lever struct {
	Linkage    Linkage
	Handle     float64 // L_h: from the pivot to the middle of the hand [m]
	Efficiency float64 // η: share of the work that gets through the linkage, either way [-], above 0 to 1
	Mass       float64 // m_h: of all that turns with the handle [kg]; 0 leaves its weight out
	Centre     float64 // r_h: from the pivot to the centre of that mass [m]
	Upright    float64 // θ_v: handle angle at which the centre stands straight above the pivot [rad]
}

// Load is what acts on the piston besides the lever.
//
// While the lever is being cocked there is no brewing pressure; nothing acts
// above the piston but the air. Under it acts OpenPressure once the piston has
// uncovered the inlet port, which helps the hand by pressure times area, and
// before that ClosedPressure, which is below zero and hinders the hand where
// the piston draws on a wet bed. Both are 0 for an empty, vented chamber.
type Load struct {
	Cylinder       Cylinder
	Spring         func(lift float64) float64 // force of all springs, down [N], at a lift of the piston [m]
	OpenPressure   float64                    // gauge pressure under the piston with the port open [Pa]
	ClosedPressure float64                    // gauge pressure under the piston before the port opens [Pa]
}

// Forces are the forces of the hand, at right angles to the handle, positive
// against the spring. Below zero the hand has to hold the handle back from
// being cocked by itself, or, returning, to push it towards rest.
type Forces struct {
	Cocking   float64 // the hand moves on against spring, weight, seal friction and linkage [N]
	Holding   float64 // balance without any friction [N]; friction keeps the handle still from Returning to Cocking
	Returning float64 // the hand lets the lever go back slowly, nothing but the spring pushing [N]
}

// Forces returns the hand's forces at a handle angle by virtual work,
//
//	cocking    F_h = (F_s + W - p A + F_f) (dy/dθ) / (L_h η)
//	holding    F_h = (F_s + W - p A) (dy/dθ) / L_h
//	returning  F_h = (F_s + W - p A - F_f) (dy/dθ) η / L_h
//
// with the spring F_s, the piston's weight W, which helps the spring and
// loads the hand, the pressure p under the piston and the seal friction F_f.
// Where the load drives the hand instead (pressure above the spring's, or
// beyond a dead centre) η changes sides. From each goes the handle's own weight,
// m_h g r_h sin(θ - θ_v)/L_h, which helps the hand where cocking lowers the handle.
func (l Lever) Forces(load Load, angle float64) (Forces, error) {
	p, err := l.At(load, angle)
	return p.Forces, err
}

// At returns the position of the lever at a handle angle, with the hand's forces there.
func (l Lever) At(load Load, angle float64) (Position, error) {
	if err := errors.Join(l.Validate(), load.Validate()); err != nil {
		return Position{}, err
	}
	if err := l.Linkage.Range().contains(angle); err != nil {
		return Position{}, err
	}
	if err := checkSpring(load.Spring, l.Linkage.Lift(angle)); err != nil {
		return Position{}, err
	}
	return drive{lever: l, load: load}.position(angle), nil
}

// Validate reports every fault of the lever.
func (l Lever) Validate() error {
	linkage := fmt.Errorf("%w: a lever without a linkage", ErrValue)
	if l.Linkage != nil {
		linkage = l.Linkage.Validate()
	}
	return errors.Join(
		linkage,
		length("handle length", l.Handle),
		between("efficiency of the linkage", l.Efficiency, 0.01, 1, "[-]"),
		between("mass of the handle", l.Mass, 0, 100, "kg"),
		between("centre of the handle's mass", l.Centre, 0, maxLength, "m"),
		between("angle of the handle upright", l.Upright, -4*math.Pi, 4*math.Pi, "rad"),
	)
}

// Validate reports every fault of the load.
func (l Load) Validate() error {
	const vacuum = -1.1e5 // no air on the ground is heavier
	return errors.Join(
		checkSpring(l.Spring, 0),
		l.Cylinder.Validate(),
		between("pressure with the port open", l.OpenPressure, vacuum, maxGauge, "Pa"),
		between("pressure with the port closed", l.ClosedPressure, vacuum, maxGauge, "Pa"),
	)
}

// portLift returns the lift above which the inlet port is open [m].
func (l Load) portLift() float64 { return l.Cylinder.Stroke - l.Cylinder.Port }

// down returns the force of spring and weight on the piston [N].
func (l Load) down(lift float64) float64 { return l.Spring(lift) + l.Cylinder.Weight }

// pressure returns the gauge pressure under the piston while it is cocked [Pa].
func (l Load) pressure(lift float64) float64 {
	if lift > l.portLift() {
		return l.OpenPressure
	}
	return l.ClosedPressure
}

// friction returns the seal friction while the piston is cocked [N].
func (l Load) friction(lift float64) float64 {
	return l.Cylinder.Seal.Friction(max(l.pressure(lift), -l.pressure(lift)))
}

// net returns the force down on the piston, without friction [N].
func (l Load) net(lift float64) float64 {
	return l.down(lift) - l.pressure(lift)*l.Cylinder.Area()
}

// drive is a lever with its load, both found sound.
type drive struct {
	lever   Lever
	load    Load
	top     float64 // angle of the greatest lift [rad]
	latched bool    // the slope is zero there
}

func (l Lever) drive(load Load) (drive, error) {
	if err := errors.Join(l.Validate(), load.Validate()); err != nil {
		return drive{}, err
	}
	top, latched, err := highest(l.Linkage)
	if err != nil {
		return drive{}, err
	}
	d := drive{lever: l, load: load, top: top, latched: latched}
	return d, checkSpring(load.Spring, d.travel())
}

// checkSpring samples the spring's force from rest up to a lift [m].
func checkSpring(spring func(float64) float64, lift float64) error {
	if spring == nil {
		return fmt.Errorf("%w: a load without a spring force", ErrValue)
	}
	const samples = 16
	for i := range samples + 1 {
		y := lift * float64(i) / samples
		if force := spring(y); !(force >= 0 && force <= maxForce) {
			return fmt.Errorf("%w: spring force %.4g N at a lift of %.4g m, want from 0 N to %.4g N", ErrValue, force, y, maxForce)
		}
	}
	return nil
}

// travel returns the greatest lift [m].
func (d drive) travel() float64 { return d.lever.Linkage.Lift(d.top) }

// port returns the lift at which the port opens, or the greatest lift if it never does [m].
func (d drive) port() float64 { return min(d.load.portLift(), d.travel()) }

func (d drive) forces(angle float64) Forces {
	lift, slope := d.lever.Linkage.Lift(angle), d.lever.Linkage.Slope(angle)
	net, friction := d.load.net(lift)*slope, d.load.friction(lift)*max(slope, -slope)
	weight, efficiency := d.lever.moment(angle), d.lever.efficiencyAt(angle)
	return Forces{
		Cocking:   (handWork(net+friction, efficiency) - weight) / d.lever.Handle,
		Holding:   (net - weight) / d.lever.Handle,
		Returning: (-handWork(friction-net, efficiency) - weight) / d.lever.Handle,
	}
}

// lossy is a linkage that loses by the angle, beside the lever's own efficiency.
type lossy interface{ EfficiencyAt(angle float64) float64 }

// efficiencyAt returns the share of the work that gets through at a handle angle [-].
func (l Lever) efficiencyAt(angle float64) float64 {
	if loses, ok := l.Linkage.(lossy); ok {
		return l.Efficiency * loses.EfficiencyAt(angle)
	}
	return l.Efficiency
}

// efficiencyAtLift is efficiencyAt by the lift on the way up; the angle is searched only for a linkage that loses by it.
func (d drive) efficiencyAtLift(lift float64) float64 {
	if _, ok := d.lever.Linkage.(lossy); !ok {
		return d.lever.Efficiency
	}
	return d.lever.efficiencyAt(angleOnRise(d.lever.Linkage, lift, d.top))
}

// handWork returns the work of the hand for a work that the piston asks for:
// more where the hand drives, and less to take where the piston drives.
func handWork(wanted, efficiency float64) float64 {
	if wanted > 0 {
		return wanted / efficiency
	}
	return wanted * efficiency
}
