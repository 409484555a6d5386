package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// shotCmd follows a shot of one machine, or compares the shots of several.
type shotCmd struct {
	Sheets []string `arg:"" optional:"" name:"sheet" help:"Machine sheet, or several to compare; \"-\" for standard input; none for the demo machine."`
	machineFlags
	spreadFlags
	output
}

// Help is printed below the summary of the flags.
func (shotCmd) Help() string {
	return "Follows the water from opening the inlet port to the end of the stroke: " +
		"pressure, flow and cup mass over time, peak and end pressure, shot length and yield. " +
		"How far they may be off follows from each ± of the sheet and from the ranges of the defaults."
}

// Run answers with one shot, or with several side by side.
func (c *shotCmd) Run(con *console) error {
	sheets := c.Sheets
	if len(sheets) == 0 {
		sheets = []string{""}
	}
	reports, faults := make([]*report, len(sheets)), make([]error, len(sheets))
	for i, path := range sheets {
		m, err := c.Load(con, path)
		if err == nil {
			reports[i], err = c.report(m, len(sheets) > 1 && !c.JSON)
		}
		faults[i] = err
	}
	if err := errors.Join(faults...); err != nil {
		return err
	}
	if len(reports) == 1 {
		return c.write(con.out, reports[0])
	}
	return c.writeSeveral(con.out, shortNames(sheets), reports)
}

// report answers for one machine; a plain answer leaves out how far it may be off.
func (c *shotCmd) report(m *machine.Machine, plain bool) (*report, error) {
	shot, err := profile.Run(&m.Setup)
	if err != nil {
		return nil, err
	}
	r := shotReport(m, shot)
	if plain || c.NoSpread || !finished(shot.Outcome) {
		r.Notes = append(r.Notes, "the band is from a bed that springs back with falling pressure to one that stays compacted")
		return r, nil
	}
	times := bandTimes(shot.Samples)
	s, err := c.Spread(m, shotQuestion(times))
	s.addTo(r)
	s.addBand(r, times)
	return r, err
}

// shortNames returns the names of sheets without folders and endings, where
// they then still differ.
func shortNames(paths []string) []string {
	short, seen := make([]string, len(paths)), map[string]bool{}
	for i, p := range paths {
		short[i] = strings.TrimSuffix(filepath.Base(p), ".toml")
		if seen[short[i]] {
			return paths
		}
		seen[short[i]] = true
	}
	return short
}

// shotCautions go with what is computed of a lever at work.
var shotCautions = []string{piston.CautionCocked, piston.CautionUnloaded, piston.CautionPressure, piston.CautionHot, spring.CautionLocal}

// shotReport describes a shot.
func shotReport(m *machine.Machine, shot *profile.Shot) *report {
	r := &report{
		Title:    "Shot of " + m.Name(),
		Rows:     shotRows(shot),
		Charts:   shotCharts(shot),
		Tables:   []tableData{eventTable(shot, len(m.Setup.Pulls)), energyTable(&shot.Energy), sampleTable(shot)},
		Main:     "samples",
		Doubts:   append(append([]string{}, m.Doubts...), shot.Doubts...),
		Cautions: shotCautions,
	}
	addDefaults(m, r)
	return r
}

// shotRows are the results of a shot.
func shotRows(shot *profile.Shot) []row {
	s := &shot.Summary
	perS := func(key, name string, value, low, high float64) row {
		return measure(key, name, value, quantity.InS, 1).within(min(low, high), max(low, high), quantity.InS)
	}
	rows := []row{
		{Key: "outcome", Name: "outcome", Text: string(s.Outcome)},
		measure("peak_bar", "peak pressure", s.Peak, quantity.InBar, 2),
		measure("end_bar", "pressure at the end", s.End, quantity.InBar, 2),
		perS("time_constant_s", "time constant of the decline", s.TimeConstant, shot.Elastic.TimeConstant, shot.Set.TimeConstant),
		measure("preinfusion_s", "pre-infusion", s.Preinfusion, quantity.InS, 1),
		perS("spring_s", "release to end", s.Spring, shot.Elastic.Spring, shot.Set.Spring),
		perS("shot_s", "shot in all", s.Total, shot.Elastic.Total, shot.Set.Total),
		measure("yield_g", "yield", s.Yield, quantity.InG, 1),
		measure("ratio", "ratio of yield to dose", s.Ratio, quantity.InRatio, 2),
		measure("wetted_percent", "puck wetted at release", s.Wetted, quantity.InPercent, 0),
		measure("energy_j", "energy of spring and weight", s.Energy.Released, quantity.InJ, 2),
		{Key: "energy_residual", Name: "energy not accounted for, share", Value: s.Energy.Residual, DataOnly: true},
		{Key: "mass_residual", Name: "water not accounted for, share", Value: s.Mass.Residual, DataOnly: true},
	}
	if s.TimeConstant == 0 {
		rows[3] = measure("time_constant_s", "time constant of the decline", 0, quantity.InS, 1).noted("the pressure does not fall")
	} else if s.TimeConstant > 100*s.Spring {
		rows[3] = rows[3].noted("the pressure hardly falls")
	}
	for _, end := range []struct {
		Name string
		*profile.Summary
	}{{"elastic", &shot.Elastic}, {"set", &shot.Set}} {
		for _, r := range []row{
			measure("time_constant_s_"+end.Name, "", end.TimeConstant, quantity.InS, 1),
			measure("spring_s_"+end.Name, "", end.Spring, quantity.InS, 1),
			measure("shot_s_"+end.Name, "", end.Total, quantity.InS, 1),
		} {
			r.DataOnly = true
			rows = append(rows, r)
		}
	}
	return rows
}

// shotCharts are pressure and cup mass over time, one above the other.
func shotCharts(shot *profile.Shot) []chart {
	n := len(shot.Samples)
	pressure := series{Name: "pressure", X: make([]float64, n), Y: make([]float64, n)}
	cup := series{Name: "cup", X: make([]float64, n), Y: make([]float64, n)}
	for i, row := range shot.Samples {
		pressure.X[i], cup.X[i] = quantity.InS.Of(row.Time), quantity.InS.Of(row.Time)
		pressure.Y[i], cup.Y[i] = quantity.InBar.Of(row.Pressure), quantity.InG.Of(row.Cup)
	}
	return []chart{
		{Key: "pressure", Title: "pressure above the puck, bar", XTitle: "time, s", Series: []series{pressure}},
		{Key: "cup", Title: "mass in the cup, g", XTitle: "time, s", Series: []series{cup}},
	}
}

// eventTable lists the events of a shot, each with its pull where there are several.
func eventTable(shot *profile.Shot, pulls int) tableData {
	t := tableData{Key: "events", Title: "Events", Columns: []column{{Key: "name", Head: "what"}, {Key: "t_s", Head: "time, s", Digits: 1}}}
	pull := 0
	for _, e := range shot.Events {
		if e.Name == "port opened" {
			pull++
		}
		name := e.Name
		if pulls > 1 {
			name = fmt.Sprintf("pull %d: %s", pull, e.Name)
		}
		t.Data = append(t.Data, []any{name, quantity.InS.Of(e.Time)})
	}
	return t
}

func energyTable(e *profile.Energy) tableData {
	t := tableData{Key: "energy", Title: "Where the energy of spring and weight went", Columns: []column{
		{Key: "name", Head: "to"}, {Key: "energy_j", Head: "energy, J", Digits: 2}, {Key: "share_percent", Head: "share, %", Digits: 0}}}
	for _, part := range []struct {
		Name  string
		Value float64 // [J]
	}{
		{"pushing water into the puck", e.Hydraulic},
		{"pushing water back through the port", e.Returned},
		{"seal friction", e.Friction},
		{"compressing air in the chamber", e.Air},
		{"the jerk at release", e.Release},
	} {
		share := 0.0
		if e.Released > 0 {
			share = part.Value / e.Released
		}
		t.Data = append(t.Data, []any{part.Name, quantity.InJ.Of(part.Value), quantity.InPercent.Of(share)})
	}
	return t
}

func sampleTable(shot *profile.Shot) tableData {
	t := tableData{Key: "samples", Title: "Course of the shot", DataOnly: true, Columns: []column{
		{Key: "t_s", Head: "time, s", Digits: 2}, {Key: "volume_ml", Head: "into the puck, mL", Digits: 2},
		{Key: "travel_mm", Head: "piston travel, mm", Digits: 2}, {Key: "pressure_bar", Head: "pressure, bar", Digits: 3},
		{Key: "flow_ml_s", Head: "flow, mL/s", Digits: 3}, {Key: "cup_g", Head: "cup, g", Digits: 2}}}
	for _, s := range shot.Samples {
		t.Data = append(t.Data, []any{quantity.InS.Of(s.Time), quantity.InML.Of(s.Volume), quantity.InMM.Of(s.Travel),
			quantity.InBar.Of(s.Pressure), quantity.InMLPerS.Of(s.Flow), quantity.InG.Of(s.Cup)})
	}
	return t
}
