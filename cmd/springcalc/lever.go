package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/piston"
	"springcalc/spring"
	"springcalc/tables"
)

// leverCmd follows the lever of a machine: what the hand feels and does.
type leverCmd struct {
	Sheet string `arg:"" optional:"" help:"Machine sheet; \"-\" for standard input; none for the demo machine."`
	sealFlags
	machineFlags
	output
}

// Help is printed below the summary of the flags.
func (leverCmd) Help() string {
	return "Follows the handle from rest to cocked: its force both ways, peak effort against published guidance, " +
		"energy in and back, stroke and pressure lost in filling, and what a lever does that is let go. " +
		"Two forces measured at one place, without pressure, tell the friction of the seal: one that keeps the lever " +
		"moving on against the spring, one that lets it come back slowly."
}

// Run answers with one lever.
func (c *leverCmd) Run(con *console) error {
	m, err := c.Load(con, c.Sheet)
	if err != nil {
		return err
	}
	lever, err := m.Lever()
	if err != nil {
		return err
	}
	pair, err := c.pair(m, lever)
	if err != nil {
		return err
	}
	if pair != nil { // its friction takes the place of the sheet's
		if m, err = m.Vary(map[string]float64{"piston.friction": pair.friction}); err != nil {
			return err
		}
		if lever, err = m.Lever(); err != nil {
			return err
		}
	}
	r, err := leverReport(m, lever, pair)
	if err != nil {
		return err
	}
	addFirstOrder(r, m, leverQuestion, "effort, energy and peak")
	return c.write(con.out, r)
}

const (
	finePoints   = 91 // positions of the chart and of --csv
	readableRows = 14 // positions of the table to read, at most
)

// leverAnswer is everything that a report of a lever is made of.
type leverAnswer struct {
	machine  *machine.Machine
	Lever    piston.Lever
	Load     piston.Load
	effort   piston.Effort
	guidance piston.Guidance
	losses   losses
	seal     sealAnswer
	recoil   recoilAnswer
}

// answer computes all of it; pair is what was measured of the seal, nil for nothing.
func (a *leverAnswer) answer(pair *measuredPair) (err error) {
	if a.effort, err = a.Lever.Effort(a.Load, finePoints); err != nil {
		return err
	}
	if a.losses, err = lossesOf(a.machine); err != nil {
		return err
	}
	if a.guidance, err = oneArm(); err != nil {
		return err
	}
	if a.recoil, err = recoil(a.machine, a.Lever, a.Load); err != nil {
		return err
	}
	a.seal, err = a.sealed(pair)
	return err
}

// leverReport describes a lever.
func leverReport(m *machine.Machine, lever piston.Lever, pair *measuredPair) (*report, error) {
	a := leverAnswer{machine: m, Lever: lever, Load: m.Load()}
	if err := a.answer(pair); err != nil {
		return nil, err
	}
	verdict, err := a.guidance.Verdict(a.effort.Peak.Cocking)
	if err != nil {
		return nil, err
	}
	rows, err := a.rows(verdict)
	if err != nil {
		return nil, err
	}
	positions, err := a.positionTable()
	if err != nil {
		return nil, err
	}
	guidance, err := guidanceTable(a.effort.Peak.Cocking)
	if err != nil {
		return nil, err
	}
	r := &report{
		Title:  "Lever of " + m.Name(),
		Rows:   rows,
		Charts: []chart{a.chart()},
		Tables: []tableData{
			positions, leverEnergyTable(&a.effort.Energy), a.losses.table(), guidance,
			forceTable("forces", "", lever, a.effort.Points),
		},
		Main:   "forces",
		Doubts: concat(m.Doubts, a.effort.Doubts, a.losses.doubts, a.seal.doubts, a.efficiencyDoubts()),
		Notes:  concat(leverNotes, []string{"Verdict: " + verdict.Says + "."}, a.seal.notes),
		Cautions: []string{piston.CautionCocked, a.recoil.caution(), piston.CautionPressure, piston.CautionHot,
			spring.CautionPreload, spring.CautionStiffer, spring.CautionLocal},
	}
	r.table("forces").DataOnly = true
	m.Defaults = slices.DeleteFunc(m.Defaults, ofTheCoffee)
	addDefaults(m, r)
	return r, nil
}

// ofTheCoffee says whether a default has no part in what a lever does. The bulk
// density has: it leaves the headspace.
func ofTheCoffee(d tables.Default) bool {
	return strings.HasPrefix(d.Key, "coffee.") && d.Key != "coffee.bulk_density"
}

// concat joins lists and leaves out what was said before.
func concat(lists ...[]string) (all []string) {
	said := map[string]bool{}
	for _, list := range lists {
		for _, text := range list {
			if !said[text] {
				all = append(all, text)
			}
			said[text] = true
		}
	}
	return all
}

var leverNotes = []string{
	"Forces are at right angles to the handle, which moves slowly; its own weight is left out. They hold for a hot machine: " +
		"the boiler pushes the piston up once the inlet port is open. Over a wet puck no air comes in from below before that.",
	"EN 1005-3 has what 85 % of adults reach, MIL-STD-1472 what 95 % of men reach, from the weakest to the strongest of elbow angles and arms. " +
		"Standing, people use their weight and exceed this.",
}

// efficiencyDoubts warns where the efficiency assumed is that of another linkage.
func (a *leverAnswer) efficiencyDoubts() []string {
	if _, rack := a.Lever.Linkage.(piston.Rack); rack || a.machine.Has("lever.efficiency") {
		return nil
	}
	return []string{"The efficiency assumed is that of a greased rack and pinion. A sliding pin or plain bearings may lose more: " +
		"84 % is printed for an eccentric (Bevan, The Theory of Machines, p. 198)."}
}

// turned returns how far the handle is from rest [rad].
func (a *leverAnswer) turned(angle float64) float64 { return angle - a.Lever.Linkage.Range().From }

// rows are the results of a lever.
func (a *leverAnswer) rows(verdict piston.Verdict) ([]row, error) {
	peak, span := a.effort.Peak, a.Lever.Linkage.Range()
	cold, err := a.peakWith(func(l *piston.Load) { l.OpenPressure = 0 })
	if err != nil {
		return nil, err
	}
	sealed, err := a.peakWith(func(l *piston.Load) { l.ClosedPressure = deepestSuction(a.machine) })
	if err != nil {
		return nil, err
	}
	e, left := a.effort.Energy, a.losses.left()
	rows := []row{
		{Key: "kind", Name: "kind of lever", Text: a.machine.Text("lever.kind")},
		measure("swing_deg", "handle turns", a.turned(span.To), quantity.InDeg, 1),
		measure("lift_mm", "piston lifts", a.Lever.Linkage.Lift(span.To), quantity.InMM, 1),
		a.deadCentre(),
		measure("peak_effort_n", "peak effort", peak.Cocking, quantity.InN, 0),
		measure("peak_at_deg", "peak effort at, from rest", a.turned(peak.Angle), quantity.InDeg, 1),
		{Key: "peak_hand_travel", Name: "hand's travel over piston's there", Value: 1 / peak.Ratio, Digits: 1},
		{Key: "verdict", Name: "one arm, as guidance", Text: a.words(verdict)},
		{Key: "over_guidance_n", Name: "beyond the bands of guidance", Value: verdict.Over, Unit: quantity.InN.Symbol, DataOnly: true},
		measure("peak_cold_n", "peak effort, no boiler pressure", cold, quantity.InN, 0),
		measure("peak_sealed_n", "peak effort over a wet puck", sealed, quantity.InN, 0),
		measure("energy_in_j", "energy in, by the hand", e.Hand, quantity.InJ, 2),
		measure("energy_back_j", "energy recovered in the shot", e.Recovered, quantity.InJ, 2),
		measure("lost_stroke_mm", "stroke lost before the peak", a.machine.Setup.Cylinder.Stroke-left.Stroke, quantity.InMM, 1),
		measure("peak_bar", "peak pressure that is left", left.Pressure, quantity.InBar, 2),
	}
	rows = append(rows, a.seal.rows...)
	return append(rows, a.recoil.rows()...), nil
}

// words are those of a verdict alone, without its source.
func (a *leverAnswer) words(v piston.Verdict) string {
	if v.Band < len(a.guidance.Bands) {
		return a.guidance.Bands[v.Band].Says
	}
	return a.guidance.Beyond
}

// deadCentre says where the lever would stay by itself.
func (a *leverAnswer) deadCentre() row {
	if !a.effort.Latched {
		return row{Key: "dead_centre", Name: "dead centre", Text: "not reached"}
	}
	return measure("dead_centre_deg", "dead centre, from rest", a.turned(a.effort.Latch), quantity.InDeg, 1)
}

// peakWith returns the peak effort [N] with something else about the load.
func (a *leverAnswer) peakWith(change func(*piston.Load)) (float64, error) {
	load := a.Load
	change(&load)
	e, err := a.Lever.Effort(load, 2)
	return e.Peak.Cocking, err
}

// deepestSuction returns the lowest gauge pressure [Pa] that a piston can draw
// over water: where the water boils.
func deepestSuction(m *machine.Machine) float64 {
	boils, err := tables.SaturationPressure(m.Value("water.brew_temperature"))
	if err != nil {
		panic(err) // the sheet was found sound
	}
	return min(0, boils-m.Setup.Water.Atmosphere)
}

// chart is the force at the handle both ways.
func (a *leverAnswer) chart() chart {
	n := len(a.effort.Points)
	up := series{Name: "cocking", X: make([]float64, n), Y: make([]float64, n)}
	down := series{Name: "returning", X: up.X, Y: make([]float64, n)}
	for i, p := range a.effort.Points {
		up.X[i], up.Y[i], down.Y[i] = quantity.InDeg.Of(a.turned(p.Angle)), quantity.InN.Of(p.Cocking), quantity.InN.Of(p.Returning)
	}
	return chart{Key: "force", Title: "force at the handle, N", XTitle: "handle turned from rest, °", Series: []series{up, down}}
}

// positionTable is the forces at round angles.
func (a *leverAnswer) positionTable() (tableData, error) {
	span := a.Lever.Linkage.Range()
	step := axisOver([]float64{quantity.InDeg.Of(span.To - span.From)}, readableRows-1).step / quantity.InDeg.Of(1)
	var points []piston.Position
	for i := 0; ; i++ {
		angle := span.From + float64(i)*step
		last := !(angle < span.To-step*1e-6)
		if last {
			angle = span.To
		}
		forces, err := a.Lever.Forces(a.Load, angle)
		if err != nil {
			return tableData{}, err
		}
		slope := a.Lever.Linkage.Slope(angle)
		points = append(points, piston.Position{
			Angle: angle, Lift: a.Lever.Linkage.Lift(angle), Slope: slope, Ratio: slope / a.Lever.Handle, Forces: forces})
		if last {
			return forceTable("positions", "Force at the handle", a.Lever, points), nil
		}
	}
}

// forceTable lists positions of a lever.
func forceTable(key, title string, lever piston.Lever, points []piston.Position) tableData {
	t := tableData{Key: key, Title: title, Columns: []column{
		{Key: "turned_deg", Head: "turned, °", Digits: 1}, {Key: "lift_mm", Head: "lift, mm", Digits: 2},
		{Key: "piston_per_hand", Head: "piston's travel over hand's", Digits: 4}, {Key: "cocking_n", Head: "cocking, N", Digits: 1},
		{Key: "holding_n", Head: "without friction, N", Digits: 1}, {Key: "returning_n", Head: "returning, N", Digits: 1}}}
	from := lever.Linkage.Range().From
	for _, p := range points {
		t.Data = append(t.Data, []any{quantity.InDeg.Of(p.Angle - from), quantity.InMM.Of(p.Lift), p.Ratio,
			quantity.InN.Of(p.Cocking), quantity.InN.Of(p.Holding), quantity.InN.Of(p.Returning)})
	}
	return t
}

// leverEnergyTable is the account of one cocking and of the shot after it.
func leverEnergyTable(e *piston.Energy) tableData {
	t := tableData{Key: "energy", Title: "Energy of one cocking", Columns: []column{
		{Key: "name", Head: ""}, {Key: "energy_j", Head: "energy, J", Digits: 2}, {Key: "share_percent", Head: "share of the hand's, %"}}}
	for _, part := range []struct {
		Name  string
		Value float64 // [J]
	}{
		{"in: work of the hand", e.Hand},
		{"in: work of the pressure under the piston", e.Fill},
		{"to spring and weight", e.Stored},
		{"to friction of the seal", e.Seal},
		{"to friction of the linkage", e.Linkage},
		{"back in the shot, pushing water", e.Recovered},
	} {
		var share any
		if e.Hand > 0 {
			share = quantity.InPercent.Of(part.Value / e.Hand)
		}
		t.Data = append(t.Data, []any{part.Name, quantity.InJ.Of(part.Value), share})
	}
	return t
}

// oneArm returns the bands of effort of one arm.
func oneArm() (g piston.Guidance, err error) {
	for over := 0.0; ; {
		band, err := tables.EffortOf(math.Nextafter(over, math.Inf(1)))
		if err != nil {
			return g, err
		}
		g.Source = fmt.Sprintf("%s, %s", band.Source, band.Grade)
		if math.IsInf(band.To, 1) {
			g.Beyond = band.Words
			return g, nil
		}
		g.Bands = append(g.Bands, piston.Band{UpTo: band.To, Says: band.Words})
		over = band.To
	}
}

// guidanceTable sets an effort [N] beside what is published of one arm.
func guidanceTable(effort float64) (tableData, error) {
	t := tableData{Key: "guidance", Title: "Peak effort beside published forces (guidance, not limits)", Columns: []column{
		{Key: "what", Head: ""}, {Key: "low_n", Head: "from, N"}, {Key: "high_n", Head: "to, N"},
		{Key: "share_percent", Head: "effort is, %"}, {Key: "source", Head: "source"}, {Key: "grade", Head: "evidence"}}}
	add := func(what string, low, high float64, source string, grade tables.Grade) {
		standard, _, _ := strings.Cut(source, ":") // the edition is in "springcalc tables"
		t.Data = append(t.Data, []any{what, low, high, 100 * math.Abs(effort) / low, standard, string(grade)})
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
			return t, err
		}
		add("one arm "+action+", seated men", arm.Low, arm.High, arm.Source, arm.Grade)
	}
	return t, nil
}
