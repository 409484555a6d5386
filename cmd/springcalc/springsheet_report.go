package main

import (
	"fmt"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/profile"
	"springcalc/spring"
	"springcalc/tables"
)

// springReport is the spring sheet.
func springReport(m *machine.Machine, springs []member, use springUse) *report {
	r := &report{Title: "Spring of " + m.Name(), Cautions: profile.RemovalCautions()}
	w := sheetWriter{report: r, use: use}
	w.begin()
	for i := range springs {
		w.member(&springs[i])
	}
	r.Tables = []tableData{w.loads, w.stress, w.buckling, w.tolerance, w.relaxation, w.sources}
	if len(springs) > 1 {
		r.nest(&springs[0], &springs[1])
		return r
	}
	for i := range r.Tables {
		r.Tables[i].dropFirst()
	}
	r.Rows, r.Doubts, r.Notes = springs[0].rows, springs[0].doubts, springs[0].notes
	springs[0].Spread.addShares(r)
	return r
}

// sheetWriter collects what is said of each spring. Every table begins with
// the name of the spring.
type sheetWriter struct {
	*report
	use springUse

	loads, stress, buckling, tolerance, relaxation, sources tableData
}

func (w *sheetWriter) member(s *member) {
	if s.dims != nil {
		w.geometry(s)
	}
	w.rate(s)
	w.Load(s)
	if s.dims == nil {
		w.unknown(s)
	} else {
		w.room(s)
		w.stresses(s)
		w.straight(s)
		w.fatigue(s)
		w.heat(s)
		w.newSpring(s)
	}
	w.evidence(s)
}

// begin gives the tables their columns.
func (w *sheetWriter) begin() {
	name := column{Key: "spring", Head: "spring"}
	w.loads = tableData{Key: "loads", Title: "Loads, cold", Columns: []column{name,
		{Key: "state", Head: "where"}, {Key: "length_mm", Head: "length, mm", Digits: 1}, {Key: "deflection_mm", Head: "deflection, mm", Digits: 1},
		{Key: "load_n", Head: "load, N", Digits: 0}, {Key: "load_plus_n", Head: "± N", Digits: 0}, {Key: "energy_j", Head: "energy held, J", Digits: 1}}}
	w.stress = tableData{Key: "stress", Title: "Stress in MPa, each beside the limit of its own method", Columns: []column{name,
		{Key: "method", Head: "by"}, {Key: "factor", Head: "factor"}, {Key: "k", Head: "K", Digits: 3}, {Key: "state", Head: "where"},
		{Key: "stress_mpa", Head: "stress", Digits: 0}, {Key: "allowable_mpa", Head: "limit", Digits: 0}, {Key: "safety", Head: "safety", Digits: 2}}}
	w.buckling = tableData{Key: "buckling", Title: "Buckling, by deflection", Columns: []column{name,
		{Key: "seats", Head: "seats"}, {Key: "deflection_mm", Head: "buckles at, mm", Digits: 1}, {Key: "cocked_mm", Head: "cocked at, mm", Digits: 1}, {Key: "verdict", Head: "so it"}}}
	w.tolerance = tableData{Key: "tolerances", Title: "What a new spring may differ by, EN 15800", Columns: []column{name,
		{Key: "grade", Head: "grade", Digits: 0}, {Key: "free_mm", Head: "free, ± mm", Digits: 1}, {Key: "rest_n", Head: "at rest, ± N", Digits: 0},
		{Key: "cocked_n", Head: "cocked, ± N", Digits: 0}, {Key: "rate_percent", Head: "rate, ± %", Digits: 1}, {Key: "outside_mm", Head: "outside, ± mm", Digits: 2}}}
	w.relaxation = tableData{Key: "relaxation", Title: "Loss of load by relaxation (indicative, see notes)", Columns: []column{name,
		{Key: "after", Head: "held for"}, {Key: "loss_percent", Head: "loss up to, %", Digits: 1}, {Key: "low_percent", Head: "band, low", Digits: 1}, {Key: "high_percent", Head: "high", Digits: 1}, {Key: "rest_n", Head: "of the load at rest, N", Digits: 0}}}
	w.sources = tableData{Key: "sources", DataOnly: true, Columns: []column{name,
		{Key: "what", Head: "what"}, {Key: "value", Head: "value"}, {Key: "grade", Head: "evidence"}, {Key: "source", Head: "source"}}}
}

// dropFirst takes the name of the spring out of a table where there is only one.
func (t *tableData) dropFirst() {
	t.Columns = t.Columns[1:]
	for i := range t.Data {
		t.Data[i] = t.Data[i][1:]
	}
}

// source lists a figure from a table.
func (w *sheetWriter) source(s *member, what, value string, grade tables.Grade, source string) {
	w.sources.Data = append(w.sources.Data, []any{s.Name, what, value, string(grade), source})
}

// evidence names the figures from tables that were not read in their source.
func (w *sheetWriter) evidence(s *member) {
	var names []string
	for _, line := range w.sources.Data {
		if grade := line[3].(string); line[0] == s.Name && grade != string(tables.Printed) {
			names = append(names, fmt.Sprintf("%s %s (%s)", line[1], line[2], grade))
		}
	}
	if len(names) > 0 {
		s.doubt("Figures from tables that were not read in print: %s. With --json, each has its source.", strings.Join(names, "; "))
	}
}

func (w *sheetWriter) geometry(s *member) {
	c := s.dims.us
	growth := c.Growth()
	s.add(
		measure("wire_mm", "wire diameter", c.Wire, quantity.InMM, 2),
		measure("mean_diameter_mm", "mean coil diameter", c.Mean, quantity.InMM, 2),
		row{Key: "index", Name: "index D/d", Value: c.Index(), Digits: 2},
		row{Key: "active_coils", Name: "active coils", Value: c.Active, Digits: 2},
		row{Key: "total_coils", Name: "total coils", Value: c.Total, Digits: 2},
		measure("pitch_mm", "pitch, free", c.Pitch(), quantity.InMM, 2),
		measure("free_length_mm", "free length", c.Free, quantity.InMM, 1),
		measure("solid_length_us_mm", "solid, US practice", c.SolidLength(), quantity.InMM, 1))
	if s.dims.en != nil {
		s.add(measure("solid_length_en_mm", "solid, EN 13906-1", s.dims.en.SolidLength(), quantity.InMM, 1).
			noted("with wire of %s", quantity.InMM.Text(s.dims.en.WireMax, 3)))
	}
	s.add(
		measure("growth_mm", "growth to solid, ends free", growth.FreeToTurn, quantity.InMM, 2).
			noted("outside %s", quantity.InMM.Text(c.Outer()+growth.FreeToTurn, 2)),
		measure("growth_held_mm", "growth to solid, held", growth.Held, quantity.InMM, 2),
		measure("mass_g", "mass", c.Mass(), quantity.InG, 0),
		measure("wire_length_mm", "length of wire", c.WireLength(), quantity.InMM, 0))
	s.doubts = append(s.doubts, growth.Doubts...)
}

// rate says how stiff the spring is.
func (w *sheetWriter) rate(s *member) {
	name := "rate at 20 °C"
	if s.dims == nil {
		name = "rate"
	}
	rate := measure("rate_n_per_mm", name, s.Line.Rate, quantity.InNPerMM, 2)
	if s.rateU > 0 {
		rate = rate.within(s.Line.Rate-2*s.rateU, s.Line.Rate+2*s.rateU, quantity.InNPerMM)
		if s.dims != nil {
			rate = rate.noted("mostly %s", s.dims.rate.Largest)
		}
	}
	s.add(rate)
	if s.dims == nil {
		return
	}
	d := s.dims
	surge := d.us.Surge()
	s.add(
		measure("rate_with_shear_n_per_mm", "with direct shear", d.us.RateWithShear(), quantity.InNPerMM, 2),
		measure("surge_hz", "surge frequency", surge.BothSeated, quantity.InHz, 0).noted("both ends seated"))
	const wireCounts = "1 %% of the wire is 4 %% of the rate."
	switch {
	case s.rateU == 0:
		s.doubt("No ± is stated of the dimensions, so none is given of rate and loads: " + wireCounts)
	case !s.Spread.anyStated(0):
		s.doubt("No ± is stated of the dimensions, so that of the rate is of the shear modulus alone: " + wireCounts)
	}
	if d.wire != nil {
		w.source(s, "shear modulus G", quantity.InMPa.Text(d.moduli.G, 0), d.moduli.Grade, d.moduli.Source)
		w.source(s, "density", quantity.InGPerCM3.Text(d.us.Density, 2), d.wire.Grade, d.wire.Source)
	}
}

// load says what the spring bears, from free to solid.
func (w *sheetWriter) Load(s *member) {
	cockedLoad := s.Line.Force(s.stroke)
	restLoad := s.Line.Force(0)
	line := func(state string, length any, load float64, plus any) {
		deflection := load / s.Line.Rate
		w.loads.Data = append(w.loads.Data, []any{s.Name, state, length, quantity.InMM.Of(deflection), quantity.InN.Of(load), plus, quantity.InJ.Of(load * deflection / 2)})
	}
	length := func(l float64) any {
		if s.dims == nil {
			return nil
		}
		return quantity.InMM.Of(l)
	}
	var working spring.Working
	if s.dims != nil {
		working = s.dims.working
	}
	line("at rest", length(working.Rest), restLoad, plusOf(s.preloadU))
	line("cocked", length(working.Cocked), cockedLoad, plusOf(s.cockedU))
	if s.dims != nil {
		us, en := s.dims.us, s.dims.en
		line("solid (US)", length(us.SolidLength()), us.SolidForce(), nil)
		if en != nil {
			line("solid (EN)", length(en.SolidLength()), en.SolidForce(), nil)
		}
	}
	if s.Line.Preload < 0 { // it engages on the way
		s.doubt("The spring is loose at rest: it engages after %s of the stroke.", quantity.InMM.Text(-s.Line.Preload/s.Line.Rate, 1))
	}
	s.add(
		row{Key: "load_rest_n", Name: "load at rest", Value: quantity.InN.Of(restLoad), Unit: quantity.InN.Symbol, DataOnly: true},
		row{Key: "load_cocked_n", Name: "load cocked", Value: quantity.InN.Of(cockedLoad), Unit: quantity.InN.Symbol, DataOnly: true},
		measure("energy_stroke_j", "energy of one stroke", s.Line.Energy(s.stroke), quantity.InJ, 1))
}

// unknown says what a sheet without dimensions does not tell.
func (w *sheetWriter) unknown(s *member) {
	if s.Line.Preload > 0 {
		s.add(measure("deflection_rest_mm", "compressed at rest by", s.Line.Preload/s.Line.Rate, quantity.InMM, 1))
	}
	s.notes = append(s.notes,
		"Only rate and preload are stated. Wire and coil diameter, coils, ends and free length would give solid length and clearance, mass, buckling and stress; "+
			"the grade of the wire, what stress it bears, fatigue and relaxation; the installed length, what of all that the machine uses.")
}

// room says how far the coils stay apart.
func (w *sheetWriter) room(s *member) {
	us, en := s.dims.us, s.dims.en
	if left, err := us.Clearance(s.dims.working.Cocked, spring.Static); err == nil {
		s.add(row{Key: "clash_percent", Name: "travel left to solid", Value: 100 * left.Clash, Digits: 0, Unit: "%"}.
			noted("Shigley: 15 or more"))
		if left.Clash < 0.15 {
			s.doubt("Less than 15 %% of the travel is left to solid, which Shigley asks for.")
		}
	}
	if en == nil {
		return
	}
	c, err := en.Clearance(s.dims.working.Cocked, w.use.duty())
	if err != nil {
		s.doubt("No clearance by EN 13906-1: %s.", machine.WithoutPackage(err))
		return
	}
	s.add(
		measure("gap_cocked_mm", "sum of gaps when cocked", c.Gap, quantity.InMM, 1).noted("EN 13906-1"),
		measure("gap_required_mm", "least sum of gaps, S_a", c.Required, quantity.InMM, 1).noted("EN, %v duty", w.use.duty()),
		measure("shortest_mm", "shortest at work", c.Shortest, quantity.InMM, 1).noted("EN 13906-1"))
	if c.Gap < c.Required {
		s.doubt("Cocked, the gaps between the coils are %s less than EN 13906-1 (from memory) asks of %v duty: some coils may touch.", quantity.InMM.Text(c.Required-c.Gap, 1), w.use.duty())
	}
}

// duty is dynamic but for a spring that is known to be pulled rarely.
func (u springUse) duty() spring.Duty {
	if u.pulls > 0 && u.pulls <= 1e4 {
		return spring.Static
	}
	return spring.Dynamic
}

// straight says whether the spring buckles.
func (w *sheetWriter) straight(s *member) {
	c := s.dims.us
	cocked := c.Free - s.dims.working.Cocked
	for _, seats := range []struct {
		seating spring.Seating
		Name    string
	}{
		{spring.FixedFixed, "both flat"}, {spring.FixedHinged, "flat and tilting"}, {spring.HingedHinged, "both tilting"},
	} {
		b, err := c.Buckling(spring.Support{Seating: seats.seating, Guided: w.use.Guided})
		if err != nil {
			panic(err) // the list above is wrong
		}
		at, verdict := any(nil), "never buckles"
		if !b.Never {
			at, verdict = quantity.InMM.Of(b.CriticalDeflection), "stays straight"
			switch {
			case b.CriticalDeflection < cocked && w.use.Guided:
				verdict = "leans on its guide"
			case b.CriticalDeflection < cocked:
				verdict = "buckles unguided"
			}
		}
		w.buckling.Data = append(w.buckling.Data, []any{s.Name, seats.Name, at, quantity.InMM.Of(cocked), verdict})
	}
}

// newSpring says what EN 15800 lets a new spring differ by.
func (w *sheetWriter) newSpring(s *member) {
	c := s.dims.us
	for grade := 1; grade <= 3; grade++ {
		t, err := c.Tolerance(spring.Grade(grade))
		if err != nil {
			s.doubt("No tolerances: %s.", machine.WithoutPackage(err))
			return
		}
		outside := any(nil)
		if coil, err := tables.CoilTolerance(tables.Coil{Class: grade, Diameter: c.Outer(), Index: c.Index()}); err == nil {
			outside = quantity.InMM.Of(coil.Value)
		}
		w.tolerance.Data = append(w.tolerance.Data, []any{s.Name, float64(grade), quantity.InMM.Of(t.Free),
			quantity.InN.Of(t.Load(s.Line.Force(0))), quantity.InN.Of(t.Load(s.Line.Force(s.stroke))), quantity.InPercent.Of(t.Rate), outside})
		if grade == 3 {
			s.doubts = append(s.doubts, t.Doubts...)
		}
	}
}
