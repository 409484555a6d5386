package answer

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/piston"
	"springcalc/tables"
)

// LeverOptions are two forces measured at one place of the lever, without
// pressure; the zero value is none.
type LeverOptions struct {
	Raising  *quantity.Quantity // keeps the lever moving on slowly against the spring [N]
	Lowering *quantity.Quantity // lets it come back slowly [N]
	Turned   *quantity.Quantity // how far the handle was turned from rest there [rad]
	AtPiston bool               // both were measured at the piston, not at the handle
}

// Lever follows the handle from rest to cocked: its force both ways, what the
// filling takes of the peak pressure, and what a handle does that is let go.
func Lever(ctx context.Context, m *machine.Machine, o LeverOptions) (*report.Report, error) {
	if err := o.validate(); err != nil {
		return nil, err
	}
	m, err := o.inPlace(m)
	if err != nil {
		return nil, err
	}
	var a leverAnswer
	if err := a.follow(m, &o); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r := newReport("lever", m)
	r.Input = append(r.Input, o.stated()...)
	r.Main, r.Caution = "forces", cautionLever
	r.Rows = a.rows()
	r.Charts = []report.Chart{a.chart()}
	if r.Tables, err = a.tables(); err != nil {
		return nil, err
	}
	m.Defaults = slices.DeleteFunc(m.Defaults, ofTheCoffee)
	r.Assumed = assumed(m.Defaults)
	r.Doubts = append(a.doubts(), r.Doubts...)
	a.addNotes(r)
	spread.AddFirstOrder(r, m, a.question(), "handle force, energy and peak pressure")
	aboveZero(r)
	a.reachDoubt(r)
	r.Answer = slices.Concat(contradictions(m), a.pairSays(r), []report.Sentence{a.canCock(r), a.letGo(r)})
	r.Next = a.next(r)
	for i := range r.Rows { // the table of what to measure better says it, and a verdict needs the room
		r.Rows[i].Narrow = ""
	}
	return r, nil
}

// leverAnswer is everything that a report of a lever is made of.
type leverAnswer struct {
	leverResult
	machine  *machine.Machine
	options  *LeverOptions
	guidance piston.Guidance
	verdict  piston.Verdict
	recoil   recoil
	rings    []ringFriction // what a handbook says of the O-rings; nil where there are none
}

// finePoints are the positions of the chart and of the table for programs.
const finePoints = 91

// follow computes all of it for the machine of the sheet.
func (a *leverAnswer) follow(m *machine.Machine, o *LeverOptions) (err error) {
	a.machine, a.options = m, o
	if err = a.find(m, o, finePoints); err != nil {
		return err
	}
	if a.guidance, err = oneArm(); err != nil {
		return err
	}
	if a.verdict, err = a.guidance.Verdict(a.effort.Peak.Cocking); err != nil {
		return err
	}
	if a.recoil, err = recoilOf(m, a.lever, a.load); err != nil {
		return err
	}
	a.rings, err = ringsOf(m, a.left().Pressure)
	return err
}

// leverResult is what a lever does, by closed forms.
type leverResult struct {
	lever  piston.Lever
	load   piston.Load
	pair   *measuredPair // nil where no two forces were measured
	effort piston.Effort
	losses
	cold   float64 // peak force of the hand without boiler pressure [N]
	sealed float64 // over a wet puck that lets no air in [N]
	free   float64 // without friction of the seal [N]
}

// find computes the result of a machine that may be written to, with its table of
// forces at some points.
func (l *leverResult) find(m *machine.Machine, o *LeverOptions, points int) (err error) {
	if l.lever, err = m.Lever(); err != nil {
		return err
	}
	if l.pair, err = o.pair(m, l.lever); err != nil {
		return err
	}
	if l.pair != nil { // its friction takes the place of the sheet's
		m.Setup.Cylinder.Seal.Constant = max(0, l.pair.friction)
	}
	l.load = m.Load()
	if l.effort, err = l.lever.Effort(l.load, points); err != nil {
		return err
	}
	if l.losses, err = lossesOf(m); err != nil {
		return err
	}
	suction, err := deepestSuction(m)
	if err != nil {
		return err
	}
	for _, peak := range []struct {
		of     *float64
		change func(*piston.Load)
	}{
		{&l.cold, func(load *piston.Load) { load.OpenPressure = 0 }},
		{&l.sealed, func(load *piston.Load) { load.ClosedPressure = suction }},
		{&l.free, func(load *piston.Load) { load.Cylinder.Seal = piston.Seal{} }},
	} {
		load := l.load
		peak.change(&load)
		at, err := l.lever.Peak(load)
		if err != nil {
			return err
		}
		*peak.of = at.Cocking
	}
	return nil
}

// deepestSuction returns the lowest gauge pressure [Pa] that a piston can draw
// over water: where the water boils.
func deepestSuction(m *machine.Machine) (float64, error) {
	boils, err := tables.SaturationPressure(m.Value("water.brew_temperature"))
	return min(0, boils-m.Setup.Water.Atmosphere), err
}

// question asks for the rows of a lever that may be off: closed forms, for which
// first order is right.
func (a *leverAnswer) question() spread.Question {
	o := a.options
	q := spread.Of(a.asked(), func() spread.Finder[leverResult] {
		return func(m *machine.Machine, l *leverResult, _ []float64) error { return l.find(m, o, 2) }
	})
	q.Others = o.inputs()
	return q
}

// turned returns how far the handle is from rest [rad].
func (l *leverResult) turned(angle float64) float64 { return angle - l.lever.Linkage.Range().From }

// passes says whether the handle goes on beyond the dead centre.
func (l *leverResult) passes() bool {
	return l.effort.Latched && l.effort.Latch < l.lever.Linkage.Range().To
}

// holds returns the first position on the way back from which the handle does not
// come by itself; ok is false where it always does.
func (l *leverResult) holds() (at piston.Position, ok bool) {
	for _, p := range slices.Backward(l.effort.Points) {
		if p.Returning <= 0 {
			return p, true
		}
	}
	return at, false
}

// aboveZero cuts the intervals of frictions, which may reach zero and not go below.
func aboveZero(r *report.Report) {
	for i := range r.Rows {
		if row := &r.Rows[i]; strings.HasPrefix(row.Key, "seal_") && row.Band != nil {
			row.Band.Low = max(0, row.Band.Low)
		}
	}
}

// canCock says whether a hand can cock it.
func (a *leverAnswer) canCock(r *report.Report) report.Sentence {
	can, row := "One hand can cock it", r.Row("peak_effort")
	switch last := len(a.guidance.Bands) - 1; {
	case !(row.Value > 0):
		return report.Plain("No hand is needed to cock it: the pressure under the piston lifts it.")
	case a.verdict.Band > last:
		can = "One hand is not enough to cock it"
	case a.verdict.Band == last:
		can = "One strong hand can cock it"
	}
	return report.Say("%s: %s at most%s, %s from rest.", can, shown(row), between(row), report.Of(a.turned(a.effort.Peak.Angle), quantity.InDeg, 0))
}

// between is the interval of a row in brackets; empty where it is less than is printed.
func between(row *report.Row) report.Sentence {
	if row.Band == nil {
		return report.Sentence{}
	}
	low, high := shown(row), shown(row)
	low.Value, high.Value = row.Band.Low, row.Band.High
	if low.In(quantity.Metric) == high.In(quantity.Metric) {
		return report.Sentence{}
	}
	low.Bare = true
	return report.Say(" (%s to %s)", low, high)
}

// letGo says what the handle does that is let go.
func (a *leverAnswer) letGo(r *report.Report) report.Sentence {
	flies := report.Say("with no water and coffee under the piston it flies back at %s%s and strikes with %s",
		report.Of(a.recoil.StrikeSpeed, quantity.InMPerS, 0), a.recoil.between(), report.Of(a.recoil.Energy, quantity.InJ, 0))
	switch at, holds := a.holds(); {
	case a.passes() && a.effort.Back.Returning < 0:
		return report.Say("Let go beyond its dead centre, %s from rest, the handle stays; %s bring it back, and from there %s.",
			report.Of(a.turned(a.effort.Latch), quantity.InDeg, 0), shown(r.Row("pull_back")), flies)
	case a.effort.Latched:
		return report.Say("Cocked, the handle stands at its dead centre and stays when let go; moved from there, %s.", flies)
	case holds:
		return report.Say("Let go, the handle stays from %s on, held by pressure and friction; where they give way, %s.",
			report.Of(a.turned(at.Angle), quantity.InDeg, 0), flies)
	}
	return report.Say("Let go, the handle comes back by itself; %s.", flies)
}

// next says what to measure next.
func (a *leverAnswer) next(r *report.Report) []report.Sentence {
	if a.pair == nil && !a.machine.Has("piston.friction") {
		return []report.Sentence{report.Say("Measure the friction of the seal: without pressure, at one place, pull the handle slowly on and let it slowly back, " +
			"and give both forces with --raising, --lowering and --turned.")}
	}
	if row := r.Row("peak_effort"); !between(row).Empty() {
		return []report.Sentence{report.Say("To know the handle force more closely: %s.", row.Narrow)}
	}
	return nil
}

// doubts are what may be wrong with the answer, the weightiest first.
func (a *leverAnswer) doubts() []report.Sentence {
	all := slices.Concat(a.pairDoubts(), report.Tolds(a.effort.Doubts), report.Tolds(a.losses.doubts))
	if a.pair == nil && !a.machine.Has("piston.friction") {
		all = append(all, report.Plain("The friction of the seal is not stated; that of a sound one is assumed."))
	}
	all = append(all, a.ringDoubts()...)
	switch a.lever.Linkage.(type) {
	case piston.Rack, piston.LeverSlot: // whose losses the defaults are of
	default:
		if !a.machine.Has("lever.efficiency") {
			all = append(all, report.Plain("The efficiency assumed is that of a greased rack and pinion. A sliding pin or plain bearings may lose more: "+
				"84 % is printed for an eccentric (Bevan, The Theory of Machines, p. 198)."))
		}
	}
	return all
}

// addNotes says what to know about it.
func (a *leverAnswer) addNotes(r *report.Report) {
	weight := "its own weight is left out, as lever.handle_mass is not stated"
	if a.lever.Mass > 0 {
		weight = "its own weight is in them, by lever.handle_mass"
	}
	r.Note("forces are at right angles to the handle, which moves slowly; " + weight + ". They hold for a hot machine: " +
		"the boiler pushes the piston up once the inlet port is open. Over a wet puck no air comes in from below before that")
	r.Note("the verdict on the handle force is %s: %s", piston.GuidanceNote, a.guidance.Source)
	r.Note("EN 1005-3 has what 85 %% of adults reach, MIL-STD-1472 what 95 %% of men reach, from the weakest to the strongest of elbow angles and arms. " +
		"Standing, people use their weight and exceed this")
	r.Note("a handle that is let go is followed without friction; the range of its speed is that of the masses, stated or assumed")
	if a.pair != nil {
		r.Note("the friction of the seal without pressure is that of the two forces, in place of the sheet's")
	}
	if a.rings != nil {
		r.Note("the O-ring estimate is not used for the other rows: %s. A ring that has stood still starts with up to three times as much", piston.ORingSource)
	}
}

// ofTheCoffee says whether a default has no part in what a lever does. The bulk
// density has: it leaves the headspace.
func ofTheCoffee(d tables.Default) bool {
	return strings.HasPrefix(d.Key, "coffee.") && d.Key != "coffee.bulk_density"
}

// oneArm returns the bands of effort of one arm.
func oneArm() (g piston.Guidance, err error) {
	for over := 0.0; ; {
		band, err := tables.EffortOf(math.Nextafter(over, math.Inf(1)))
		if err != nil {
			return g, err
		}
		g.Source = fmt.Sprintf("%s (%s)", band.Source, band.Grade)
		if math.IsInf(band.To, 1) {
			g.Beyond = band.Words
			return g, nil
		}
		g.Bands = append(g.Bands, piston.Band{UpTo: band.To, Says: band.Words})
		over = band.To
	}
}

// reachDoubt says where the verdict is another one at the end of the interval.
func (a *leverAnswer) reachDoubt(r *report.Report) {
	row := r.Row("peak_effort")
	if row.Band == nil {
		return
	}
	if v, err := a.guidance.Verdict(row.Band.High); err == nil && v.Band > a.verdict.Band {
		r.Doubts = slices.Insert(r.Doubts, 0, report.Say("The interval of the handle force reaches the next band of the guidance: %s.", a.words(v)))
	}
}

// words are those of a verdict alone, without its source.
func (a *leverAnswer) words(v piston.Verdict) string {
	if v.Band < len(a.guidance.Bands) {
		return a.guidance.Bands[v.Band].Says
	}
	return a.guidance.Beyond
}
