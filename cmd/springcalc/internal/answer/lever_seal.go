package answer

import (
	"fmt"
	"maps"
	"math"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/piston"
)

// validate reports wrong use.
func (o *LeverOptions) validate() error {
	switch {
	case o.Raising == nil && o.Lowering == nil && (o.Turned != nil || o.AtPiston):
		return sheet.Usef("--turned and --at-piston say where --raising and --lowering were measured")
	case o.Raising == nil && o.Lowering == nil:
		return nil
	case o.Raising == nil || o.Lowering == nil:
		return sheet.Usef("--raising and --lowering go together: two forces at the same place")
	case o.Turned == nil && !o.AtPiston:
		return sheet.Usef("forces at the handle need --turned, the place where they were measured; forces at the piston need --at-piston")
	}
	return nil
}

// measurement is one of the values that the options state.
type measurement struct {
	flag string
	name string // among the inputs that may be off
	dim  *quantity.Dimension
	*quantity.Quantity
}

// measurements are those that are stated.
func (o *LeverOptions) measurements() (all []measurement) {
	for _, x := range []measurement{
		{"--raising", spread.ForceRaising, quantity.DimForce, o.Raising},
		{"--lowering", spread.ForceLowering, quantity.DimForce, o.Lowering},
		{"--turned", spread.ForcesAt, quantity.DimAngle, o.Turned},
	} {
		if x.Quantity != nil {
			all = append(all, x)
		}
	}
	return all
}

// stated lists them as what was stated beside the sheet.
func (o *LeverOptions) stated() (list []report.Stated) {
	for _, x := range o.measurements() {
		list = append(list, report.Stated{Key: x.name, Text: quantity.Format(*x.Quantity, x.dim), Flag: x.flag})
	}
	return list
}

// inputs are those that may be off.
func (o *LeverOptions) inputs() (list []spread.Other) {
	for _, x := range o.measurements() {
		if x.Plus > 0 {
			list = append(list, spread.Stated(x.name, *x.Quantity, x.dim))
		}
	}
	return list
}

// inPlace is the machine with the friction that two forces tell in place of the
// sheet's; without them it is a copy of the machine.
func (o *LeverOptions) inPlace(m *machine.Machine) (*machine.Machine, error) {
	values := maps.Clone(m.Varied)
	lever, err := m.Lever()
	if err != nil {
		return nil, err
	}
	p, err := o.pair(m, lever)
	if err != nil {
		return nil, err
	}
	if p != nil {
		if values == nil {
			values = map[string]float64{}
		}
		values["piston.friction"] = p.friction
	}
	return m.Vary(values)
}

// measuredPair is what two forces tell.
type measuredPair struct {
	friction float64 // of the seal [N]
	balance  float64 // force of spring and weight there [N]
	lift     float64 // where [m]; NaN where that is not said
}

// pair returns what the two forces tell; nil where none were measured. A draw has
// other forces, and another efficiency.
func (o *LeverOptions) pair(m *machine.Machine, lever piston.Lever) (*measuredPair, error) {
	if o.Raising == nil {
		return nil, nil
	}
	p := &measuredPair{lift: math.NaN()}
	angle := math.NaN()
	if o.Turned != nil {
		span, turned := lever.Linkage.Range(), m.ValueOr(spread.ForcesAt, o.Turned.Value)
		if turns := span.To - span.From; !(turned >= 0 && turned <= turns) {
			return nil, fmt.Errorf("--turned: %s: want from 0 to %s", quantity.InDeg.Text(turned, 1), quantity.InDeg.Text(turns, 1))
		}
		angle = span.From + turned
		p.lift = lever.Linkage.Lift(angle)
	}
	at := piston.Pair{Raise: m.ValueOr(spread.ForceRaising, o.Raising.Value), Lower: m.ValueOr(spread.ForceLowering, o.Lowering.Value)}
	err := at.Validate()
	if !o.AtPiston {
		at, err = lever.AtPiston(at, angle)
	}
	if err != nil {
		return nil, fmt.Errorf("--raising, --lowering: %s", machine.WithoutPackage(err))
	}
	p.friction, p.balance = at.Friction(), at.Balance()
	return p, nil
}

// balance returns the force of spring and weight by the sheet [N] where the two
// forces were measured.
func (l *leverResult) balance() float64 { return l.load.Spring(l.pair.lift) + l.load.Cylinder.Weight }

// pairSays says what two forces tell; nothing where none were measured.
func (a *leverAnswer) pairSays(r *report.Report) []report.Sentence {
	if a.pair == nil {
		return nil
	}
	friction, balance := r.Row("seal_friction"), r.Row("balance")
	sheet := report.Sentence{}
	if row := r.Row("balance_sheet"); row != nil {
		sheet = report.Say("; by the sheet it is %s%s", shown(row), between(row))
	}
	return []report.Sentence{report.Say("By the two forces the seal rubs with %s%s, and spring and weight press with %s%s%s.",
		shown(friction), between(friction), shown(balance), between(balance), sheet)}
}

// pairDoubts sets the spring that two forces show beside the spring of the sheet.
func (a *leverAnswer) pairDoubts() []report.Sentence {
	if a.pair == nil || math.IsNaN(a.pair.lift) {
		return nil
	}
	const odd = 0.1 // share by which two careful measurements may differ
	byForces, bySheet := a.pair.balance, a.balance()
	off := byForces/bySheet - 1
	if !(math.Abs(off) > odd) {
		return nil
	}
	return []report.Sentence{report.Say("The two forces show spring and weight at %s, %s off the %s of the sheet: "+
		"the spring is another than stated, or a length of the lever is.", report.Of(byForces, quantity.InN, 0),
		report.Amount{Value: off, Unit: quantity.InPercent, Plus: true}, report.Of(bySheet, quantity.InN, 0))}
}

// ringFriction is the friction that a handbook estimates of the O-rings, beside
// the friction in use.
type ringFriction struct {
	piston.Estimate
	pressure float64 // on the rings [Pa]
	used     float64 // [N]
}

// ringsOf estimates the friction of the O-rings without pressure and at the peak
// pressure [Pa]; nil where the sheet has none.
func ringsOf(m *machine.Machine, peak float64) ([]ringFriction, error) {
	ring, ok := m.ORing()
	if !ok {
		return nil, m.Faults.Err()
	}
	rings := make([]ringFriction, 2)
	for i, pressure := range [...]float64{0, peak} {
		e, err := ring.Friction(pressure)
		if err != nil {
			return nil, err
		}
		rings[i] = ringFriction{e, pressure, m.Setup.Cylinder.Seal.Friction(pressure)}
	}
	return rings, nil
}

// ringDoubts say where the friction in use is not that of the rings.
func (a *leverAnswer) ringDoubts() (doubts []report.Sentence) {
	for _, e := range a.rings {
		if e.used < e.Low || e.used > e.High {
			low := report.Of(e.Low, quantity.InN, 0)
			low.Bare = true
			doubts = append(doubts, report.Say("At %s the friction of the seal, %s, is outside the O-ring estimate, %s to %s.",
				report.Of(e.pressure, quantity.InBar, 1), report.Of(e.used, quantity.InN, 0), low, report.Of(e.High, quantity.InN, 0)))
		}
	}
	return doubts
}
