package answer

import (
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/piston"
	"springcalc/tables"
)

// leverRows are the results of a lever that may be off.
var leverRows = []report.Def[leverResult]{
	{Key: "swing", Name: "handle turns", Unit: quantity.InDeg, Digits: 1,
		Of: func(l *leverResult) float64 { return l.turned(l.lever.Linkage.Range().To) }},
	{Key: "lift", Name: "piston lifts", Unit: quantity.InMM, Digits: 1,
		Of: func(l *leverResult) float64 { return l.lever.Linkage.Lift(l.lever.Linkage.Range().To) }},
	{Key: "peak_effort", Name: "peak handle force", Unit: quantity.InN, Head: "handle force", Short: true,
		Of: func(l *leverResult) float64 { return l.effort.Peak.Cocking }},
	{Key: "peak_cold", Name: "force, boiler cold", Unit: quantity.InN,
		Of: func(l *leverResult) float64 { return l.cold }},
	{Key: "peak_sealed", Name: "force over a wet puck", Unit: quantity.InN,
		Of: func(l *leverResult) float64 { return l.sealed }},
	{Key: "seal_effort", Name: "force by the seal", Unit: quantity.InN, Digits: 1,
		Of: func(l *leverResult) float64 { return l.effort.Peak.Cocking - l.free }},
	{Key: "energy_in", Name: "work of the hand", Unit: quantity.InJ, Digits: 2, Head: "work of the hand", Short: true,
		Of: func(l *leverResult) float64 { return l.effort.Energy.Hand }},
	{Key: "energy_back", Name: "energy back in the shot", Unit: quantity.InJ, Digits: 2,
		Of: func(l *leverResult) float64 { return l.effort.Energy.Recovered }},
	{Key: "lost_stroke", Name: "stroke lost in filling", Unit: quantity.InMM, Digits: 1,
		Of: func(l *leverResult) float64 { return l.load.Cylinder.Stroke - l.left().Stroke }},
	{Key: "peak", Name: "peak pressure", Unit: quantity.InBar, Digits: 2, Head: "peak pressure", Short: true,
		Of: func(l *leverResult) float64 { return l.left().Pressure }},
	{Key: "seal_friction", Name: "seal friction", Unit: quantity.InN, Digits: 1, Short: true,
		Of: func(l *leverResult) float64 { return l.load.Cylinder.Seal.Friction(0) }},
	{Key: "seal_friction_at_peak", Name: "seal friction at the peak", Unit: quantity.InN, Digits: 1,
		Of: func(l *leverResult) float64 { return l.load.Cylinder.Seal.Friction(l.left().Pressure) }},
}

// backRows are those of a handle that goes beyond its dead centre.
var backRows = []report.Def[leverResult]{
	{Key: "pull_back", Name: "force to bring it back", Unit: quantity.InN, Short: true,
		Of: func(l *leverResult) float64 { return max(0, -l.effort.Back.Returning) }},
}

// pairRows are those of two forces that were measured; the last one where it is
// known at which place.
var pairRows = []report.Def[leverResult]{
	{Key: "balance", Name: "spring and weight, measured", Unit: quantity.InN,
		Of: func(l *leverResult) float64 { return l.pair.balance }},
	{Key: "balance_sheet", Name: "the same by the sheet", Unit: quantity.InN,
		Of: func(l *leverResult) float64 { return l.balance() }},
}

// asked are the rows that may be off.
func (a *leverAnswer) asked() []report.Def[leverResult] {
	defs := slices.Clone(leverRows)
	if a.passes() {
		defs = append(defs, backRows...)
	}
	switch {
	case a.pair == nil:
	case math.IsNaN(a.pair.lift):
		defs = append(defs, pairRows[0])
	default:
		defs = append(defs, pairRows...)
	}
	return defs
}

// leverFacts are rows of a lever without a ±: words, and where its peak is.
var leverFacts = []report.Def[leverAnswer]{
	{Key: "kind", Name: "kind of lever", Text: func(a *leverAnswer) string { return a.machine.Text("lever.kind") }},
	{Key: "peak_at", Name: "peak is at, from rest", Unit: quantity.InDeg, Digits: 1,
		Of: func(a *leverAnswer) float64 { return a.turned(a.effort.Peak.Angle) }},
	{Key: "peak_hand_travel", Name: "travel, hand to piston", Digits: 1,
		Of: func(a *leverAnswer) float64 { return 1 / a.effort.Peak.Ratio }},
	{Key: "verdict", Name: "one arm, as guidance", DataOnly: true, Text: func(a *leverAnswer) string { return a.words(a.verdict) }},
	{Key: "over_guidance", Name: "beyond the bands of guidance", Unit: quantity.InN, DataOnly: true,
		Of: func(a *leverAnswer) float64 { return a.verdict.Over }},
}

// recoilRows are those of a handle that is let go.
var recoilRows = []report.Def[leverAnswer]{
	{Key: "recoil", Name: "energy when let go", Unit: quantity.InJ, Digits: 2,
		Of: func(a *leverAnswer) float64 { return a.recoil.Energy }},
	{Key: "recoil_handle_share", Name: "share in the handle", Unit: quantity.InPercent, Indent: true,
		Of: func(a *leverAnswer) float64 { return a.recoil.HandleShare }},
	{Key: "recoil_piston_share", Name: "share in the piston", Unit: quantity.InPercent, Indent: true,
		Of: func(a *leverAnswer) float64 { return a.recoil.PistonShare }},
	{Key: "recoil_hand", Name: "speed when let go", Unit: quantity.InMPerS, Digits: 1, Short: true,
		Of: func(a *leverAnswer) float64 { return a.recoil.StrikeSpeed }},
	{Key: "recoil_piston", Name: "of the piston", Unit: quantity.InMPerS, Digits: 1, Indent: true,
		Of: func(a *leverAnswer) float64 { return a.recoil.PistonSpeed }},
}

// latchRow is where the handle would stay by itself, or that it does not get there.
func (a *leverAnswer) latchRow() []report.Def[leverAnswer] {
	d := report.Def[leverAnswer]{Key: "dead_centre", Name: "dead centre", Text: func(*leverAnswer) string { return "not reached" }}
	if a.effort.Latched {
		d = report.Def[leverAnswer]{Key: "dead_centre", Name: "dead centre, from rest", Unit: quantity.InDeg, Digits: 1,
			Of: func(a *leverAnswer) float64 { return a.turned(a.effort.Latch) }}
	}
	return []report.Def[leverAnswer]{d}
}

// ringRows are the friction of the O-rings by a handbook.
var ringRows = []report.Def[leverAnswer]{
	{Key: "o_ring", Name: "O-rings, estimated", Unit: quantity.InN, Digits: 1,
		Of: func(a *leverAnswer) float64 { return a.rings[0].Value }},
	{Key: "o_ring_at_peak", Name: "O-rings at the peak", Unit: quantity.InN, Digits: 1,
		Of: func(a *leverAnswer) float64 { return a.rings[1].Value }},
}

// rows are the results, with the ranges that no draw or law gives.
func (a *leverAnswer) rows() []report.Row {
	r := report.Report{Rows: slices.Concat(report.Rows(leverFacts, a), report.Rows(a.latchRow(), a), report.Rows(a.asked(), &a.leverResult), report.Rows(recoilRows, a))}
	r.Row("peak_effort").Note = report.Plain(a.words(a.verdict))
	within := func(key string, low, high float64, note string) {
		if row := r.Row(key); low < high {
			row.Band, row.Note = &report.Band{Low: low, High: high, Known: row.Digits}, report.Plain(note)
		}
	}
	within("recoil_hand", a.recoil.slow, a.recoil.fast, "range by the masses")
	if a.rings != nil {
		r.Rows = append(r.Rows, report.Rows(ringRows, a)...)
		within("o_ring", a.rings[0].Low, a.rings[0].High, "range of the method")
		within("o_ring_at_peak", a.rings[1].Low, a.rings[1].High, "range of the method")
	}
	return r.Rows
}

// chart is the force at the handle both ways, and the two forces that were measured there.
func (a *leverAnswer) chart() report.Chart {
	n := len(a.effort.Points)
	up := report.Series{Name: "cocking", X: make([]float64, n), Y: make([]float64, n)}
	down := report.Series{Name: "returning", X: up.X, Y: make([]float64, n)}
	for i, p := range a.effort.Points {
		up.X[i], up.Y[i], down.Y[i] = a.turned(p.Angle), p.Cocking, p.Returning
	}
	c := report.Chart{Key: "force", Name: "force at the handle", Unit: quantity.InN, XName: "handle turned from rest", XUnit: quantity.InDeg,
		Series: []report.Series{up, down}, Zero: true}
	if o := a.options; a.pair != nil && !o.AtPiston {
		c.Series = append(c.Series, report.Series{Name: "measured", Points: true,
			X: []float64{o.Turned.Value, o.Turned.Value}, Y: []float64{o.Raising.Value, o.Lowering.Value}})
	}
	return c
}

// tables are the forces, the accounts and the guidance of a lever.
func (a *leverAnswer) tables() ([]report.Table, error) {
	places, err := a.roundPlaces()
	if err != nil {
		return nil, err
	}
	guidance, err := guidanceTable(a.effort.Peak.Cocking)
	if err != nil {
		return nil, err
	}
	return []report.Table{
		report.Fill(report.Table{Key: "positions", Title: "Force at the handle"}, placeCols, places),
		handEnergyTable(&a.effort.Energy),
		report.Fill(report.Table{Key: "losses", Title: "Stroke and peak pressure lost before the water moves"}, lossCols, a.list),
		guidance,
		report.Fill(report.Table{Key: "forces", Title: "Force at the handle, finely", DataOnly: true}, placeCols, a.places(a.effort.Points)),
	}, nil
}

// place is a position of the lever, its angle counted from rest.
type place struct {
	turned float64 // [rad]
	piston.Position
}

func (a *leverAnswer) places(points []piston.Position) []place {
	all := make([]place, len(points))
	for i, p := range points {
		all[i] = place{a.turned(p.Angle), p}
	}
	return all
}

// roundPlaces are positions at round angles, and the last one; not more of them than read well.
func (a *leverAnswer) roundPlaces() ([]place, error) {
	const most = 13
	degree := 1 / quantity.InDeg.Of(1)
	span, step := a.lever.Linkage.Range(), 0.0
	for _, degrees := range []float64{1, 2, 5, 10, 15, 30} {
		if step = degrees * degree; (span.To-span.From)/step <= most {
			break
		}
	}
	var points []piston.Position
	for i := 0; ; i++ {
		angle := span.From + float64(i)*step
		last := !(angle < span.To-step*1e-6)
		if last {
			angle = span.To
		}
		p, err := a.lever.At(a.load, angle)
		if err != nil {
			return nil, err
		}
		if points = append(points, p); last {
			return a.places(points), nil
		}
	}
}

var placeCols = []report.Col[place]{
	{Column: unitColumn("turned", "turned", quantity.InDeg, 1), Of: func(p *place) any { return p.turned }},
	{Column: unitColumn("lift", "lift", quantity.InMM, 2), Of: func(p *place) any { return p.Lift }},
	{Column: unitColumn("piston_per_hand", "piston's travel over hand's", quantity.Display{}, 4), Of: func(p *place) any { return p.Ratio }},
	{Column: unitColumn("cocking", "cocking", quantity.InN, 1), Of: func(p *place) any { return p.Cocking }},
	{Column: unitColumn("holding", "without friction", quantity.InN, 1), Of: func(p *place) any { return p.Holding }},
	{Column: unitColumn("returning", "returning", quantity.InN, 1), Of: func(p *place) any { return p.Returning }},
}

// handEnergyTable is the account of one cocking and of the shot after it.
func handEnergyTable(e *piston.Energy) report.Table {
	parts := []energyPart{
		{name: "in: work of the hand", energy: e.Hand},
		{name: "in: work of the pressure under the piston", energy: e.Fill},
		{name: "to spring and weight", energy: e.Stored},
		{name: "to friction of the seal", energy: e.Seal},
		{name: "to friction of the linkage", energy: e.Linkage},
		{name: "back in the shot, pushing water", energy: e.Recovered},
	}
	cols := slices.Clone(energyCols)
	cols[0].Head, cols[2].Head = "", "share of the hand's"
	if !(e.Hand > 0) { // there is nothing that parts could be shares of
		cols = cols[:2]
	}
	for i := range parts {
		parts[i].share = parts[i].energy / e.Hand
	}
	return report.Fill(report.Table{Key: "energy_parts", Title: "Energy of one cocking"}, cols, parts)
}

var lossCols = []report.Col[loss]{
	{Column: report.Column{Key: "name"}, Of: func(l *loss) any { return l.cause }},
	{Column: unitColumn("stroke", "stroke", quantity.InMM, 1), Of: func(l *loss) any { return l.Stroke }},
	{Column: unitColumn("pressure", "pressure", quantity.InBar, 2), Of: func(l *loss) any { return l.Pressure }},
}

// reach is what is published of the force of one arm.
type reach struct {
	what      string
	low, high float64 // [N]
	effort    float64 // that it is compared with [N]
	source    string
	basis     tables.Grade
}

var reachCols = []report.Col[reach]{
	{Column: report.Column{Key: "what"}, Of: func(f *reach) any { return f.what }},
	{Column: unitColumn("low", "from", quantity.InN, 0), Of: func(f *reach) any { return f.low }},
	{Column: unitColumn("high", "to", quantity.InN, 0), Of: func(f *reach) any { return f.high }},
	{Column: unitColumn("share", "handle force as share", quantity.InPercent, 0), Of: func(f *reach) any { return f.effort / f.low }},
	{Column: report.Column{Key: "source", Head: "source"}, Of: func(f *reach) any { return f.source }},
	{Column: report.Column{Key: "basis", Head: "basis"}, Of: func(f *reach) any { return string(f.basis) }},
}

// guidanceTable sets an effort [N] beside what is published of one arm.
func guidanceTable(effort float64) (report.Table, error) {
	var list []reach
	add := func(what string, low, high float64, source string, basis tables.Grade) {
		standard, _, _ := strings.Cut(source, ":") // the edition is in "springcalc tables"
		list = append(list, reach{what, low, high, math.Abs(effort), standard, basis})
	}
	for _, h := range tables.HandForces() {
		switch h.Action {
		case "one arm down, seated", "one arm pull, seated with trunk support", "whole body pull, standing":
			add(h.Action+", "+h.Use, h.Force, h.Force, h.Source, h.Grade)
		}
	}
	for _, action := range []string{"down", "pull"} {
		arm, err := tables.ArmForceOf(action)
		if err != nil {
			return report.Table{}, err
		}
		add("one arm "+action+", seated men", arm.Low, arm.High, arm.Source, arm.Grade)
	}
	return report.Fill(report.Table{Key: "guidance", Title: "Peak handle force beside published forces (guidance, not limits)"}, reachCols, list), nil
}
