package main

import (
	"fmt"
	"math"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/piston"
)

// sealFlags are a pair of forces measured at one place.
type sealFlags struct {
	Raising  *quantity.ForceFlag `placeholder:"FORCE" help:"Force that keeps the lever moving on slowly against the spring, without pressure."`
	Lowering *quantity.ForceFlag `placeholder:"FORCE" help:"Force that lets it come back slowly, at the same place."`
	Turned   *quantity.AngleFlag `placeholder:"ANGLE" help:"Place of the two forces: how far the handle was turned from rest."`
	AtPiston bool                `help:"The two forces were measured at the piston, not at the handle."`
}

// measuredPair is what a pair of forces tells.
type measuredPair struct {
	friction, low, high float64 // of the seal, and its band by the efficiency [N]
	balance             float64 // force of spring and weight there [N]
	lift                float64 // where [m]; NaN if not said
}

// pair returns what the two forces tell; nil where none were given.
func (f sealFlags) pair(m *machine.Machine, lever piston.Lever) (*measuredPair, error) {
	switch {
	case f.Raising == nil && f.Lowering == nil && (f.Turned != nil || f.AtPiston):
		return nil, sheet.Usef("--turned and --at-piston say where --raising and --lowering were measured")
	case f.Raising == nil && f.Lowering == nil:
		return nil, nil
	case f.Raising == nil || f.Lowering == nil:
		return nil, sheet.Usef("--raising and --lowering go together: two forces at the same place")
	case f.Turned == nil && !f.AtPiston:
		return nil, sheet.Usef("forces at the handle need --turned, the place where they were measured; forces at the piston need --at-piston")
	}
	p, err := f.evaluate(m, lever, piston.Pair{Raise: f.Raising.Value, Lower: f.Lowering.Value})
	if err != nil {
		return nil, fmt.Errorf("--raising, --lowering: %s", machine.WithoutPackage(err))
	}
	return p, nil
}

// evaluate turns a pair into the friction of the seal.
func (f sealFlags) evaluate(m *machine.Machine, lever piston.Lever, forces piston.Pair) (*measuredPair, error) {
	p := &measuredPair{lift: math.NaN()}
	angle := math.NaN()
	if f.Turned != nil {
		span := lever.Linkage.Range()
		angle = span.From + f.Turned.Value
		if turns := span.To - span.From; !(f.Turned.Value >= 0 && f.Turned.Value <= turns) {
			return nil, fmt.Errorf("the handle was turned by %s, want from 0 to %s",
				quantity.InDeg.Text(f.Turned.Value, 1), quantity.InDeg.Text(turns, 1))
		}
		p.lift = lever.Linkage.Lift(angle)
	}
	if f.AtPiston {
		if err := forces.Validate(); err != nil {
			return nil, err
		}
		p.friction, p.balance = forces.Friction(), forces.Balance()
		p.low, p.high = p.friction, p.friction
		return p, nil
	}
	at, err := lever.AtPiston(forces, angle)
	if err != nil {
		return nil, err
	}
	p.friction, p.balance = at.Friction(), at.Balance()
	// The less efficient the linkage, the more of the difference is its own.
	worst, _, best := m.Spread("lever.efficiency")
	p.high = p.friction
	lever.Efficiency = min(1, best)
	if at, err := lever.AtPiston(forces, angle); err == nil {
		p.high = at.Friction()
	}
	lever.Efficiency = worst
	if at, err := lever.AtPiston(forces, angle); err == nil {
		p.low = at.Friction()
	}
	return p, nil
}

// sealAnswer is what is known of the seal and what it does.
type sealAnswer struct {
	rows   []row
	notes  []string
	doubts []string
}

// sealed tells the friction of the seal, where it is from and what it takes.
func (a *leverAnswer) sealed(pair *measuredPair) (s sealAnswer, err error) {
	m, peak := a.machine, a.losses.left().Pressure
	c := m.Setup.Cylinder
	dry := measure("seal_friction_n", "seal friction, no pressure", c.Seal.Friction(0), quantity.InN, 1)
	switch {
	case pair != nil:
		s.notes = append(s.notes, "The friction of the seal without pressure is that of the two forces, in place of the sheet's; "+
			"at the handle, its band is what the efficiency leaves open.")
		if pair.low < pair.high {
			dry = dry.within(pair.low, pair.high, quantity.InN)
		}
	case !m.Has("piston.friction"):
		s.doubts = append(s.doubts, "The friction of the seal is not known and taken as none: measure it with --raising and --lowering.")
	}
	free, err := a.peakWith(func(l *piston.Load) { l.Cylinder.Seal = piston.Seal{} })
	if err != nil {
		return s, err
	}
	s.rows = []row{
		dry,
		measure("seal_friction_at_peak_n", "seal friction at the peak", c.Seal.Friction(peak), quantity.InN, 1),
		measure("seal_effort_n", "part of the seal in the effort", a.effort.Peak.Cocking-free, quantity.InN, 1),
	}
	if pair != nil {
		s.compare(a, pair)
	}
	if m.HasTable("piston.o_ring") {
		err = s.estimate(m, peak)
	}
	return s, err
}

// compare sets the spring that a pair shows beside the spring of the sheet.
func (s *sealAnswer) compare(a *leverAnswer, pair *measuredPair) {
	s.rows = append(s.rows, measure("balance_n", "spring and weight, by the forces", pair.balance, quantity.InN, 0))
	if math.IsNaN(pair.lift) {
		return
	}
	sheet := a.Load.Spring(pair.lift) + a.Load.Cylinder.Weight
	s.rows = append(s.rows, measure("balance_sheet_n", "the same, by the sheet", sheet, quantity.InN, 0))
	const odd = 0.1 // share by which two careful measurements may differ
	if off := pair.balance/sheet - 1; math.Abs(off) > odd {
		s.doubts = append(s.doubts, fmt.Sprintf("The two forces show spring and weight at %s, %+.0f %% off the %s of the sheet: "+
			"the spring is another than stated, or a length of the lever is.", quantity.InN.Text(pair.balance, 0), 100*off, quantity.InN.Text(sheet, 0)))
	}
}

// oRing returns the rings of the sheet.
func oRing(m *machine.Machine) piston.ORing {
	cord, squeeze := m.Value("piston.o_ring.cord"), m.Value("piston.o_ring.squeeze")
	bore := m.Setup.Cylinder.Bore
	return piston.ORing{
		Bore: bore, Groove: bore - 2*cord*(1-squeeze), Squeeze: squeeze,
		Hardness: m.Value("piston.o_ring.hardness"), Rings: int(m.ValueOr("piston.o_ring.rings", 1)),
	}
}

// estimate sets the handbook's friction of the O-rings beside the other.
func (s *sealAnswer) estimate(m *machine.Machine, peak float64) error {
	ring := oRing(m)
	if !(ring.Groove > 0) {
		m.FaultOf("piston.o_ring.cord", "too thick for the bore, "+quantity.InMM.Text(ring.Bore, 1))
		return m.Faults.Err()
	}
	for _, at := range []struct {
		Key, Name string
		pressure  float64
	}{
		{"o_ring_n", "O-ring estimate, no pressure", 0},
		{"o_ring_at_peak_n", "O-ring estimate at the peak", peak},
	} {
		e, err := ring.Friction(at.pressure)
		if err != nil {
			return err
		}
		s.rows = append(s.rows, measure(at.Key, at.Name, e.Value, quantity.InN, 1).within(e.Low, e.High, quantity.InN))
		used := m.Setup.Cylinder.Seal.Friction(at.pressure)
		if used < e.Low || used > e.High {
			s.doubts = append(s.doubts, fmt.Sprintf("At %s the friction of the seal, %s, is outside the O-ring estimate, %.0f to %s.",
				quantity.InBar.Text(at.pressure, 1), quantity.InN.Text(used, 0), quantity.InN.Of(e.Low), quantity.InN.Text(e.High, 0)))
		}
	}
	s.notes = append(s.notes, "The O-ring estimate stands beside and is not used: "+piston.ORingSource+". A ring that has stood still starts with up to three times as much.")
	return nil
}
