package answer

import (
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/profile"
	"springcalc/spring"
)

// shotResult is what the rows of a shot are made from. A draw fills in the
// summary alone.
type shotResult struct {
	profile.Summary
	elastic, compacted profile.Summary // the same shot if the bed springs back as pressure falls, and if it stays compacted
	springs            []spring.Linear
	stroke             float64 // [m]
}

// shotRows are the results of a shot.
var shotRows = []report.Def[shotResult]{
	{Key: "outcome", Name: "ended by", Text: func(s *shotResult) string { return ending(s.Outcome) }},
	{Key: "peak", Name: "peak pressure", Unit: quantity.InBar, Digits: 2, Head: "peak", Short: true,
		Of: func(s *shotResult) float64 { return s.Peak }},
	{Key: "end", Name: "end pressure", Unit: quantity.InBar, Digits: 2, Short: true,
		Of: func(s *shotResult) float64 { return s.End }},
	{Key: "decay_time_constant", Name: "decay time constant", Unit: quantity.InS, Digits: 1,
		Of: func(s *shotResult) float64 { return s.TimeConstant }},
	{Key: "total_time", Name: "total time", Unit: quantity.InS, Digits: 1, Head: "total time", Short: true,
		Of: func(s *shotResult) float64 { return s.Total }},
	{Key: "preinfusion", Name: "pre-infusion", Unit: quantity.InS, Digits: 1, Short: true, Indent: true,
		Of: func(s *shotResult) float64 { return s.Preinfusion }},
	{Key: "flow_time", Name: "flow, to end", Unit: quantity.InS, Digits: 1, Short: true, Indent: true,
		Of: func(s *shotResult) float64 { return s.Spring }},
	{Key: "yield", Name: "yield", Unit: quantity.InG, Digits: 1, Head: "yield", Short: true,
		Of: func(s *shotResult) float64 { return s.Yield }},
	{Key: "brew_ratio", Name: "brew ratio", Unit: quantity.InRatio, Digits: 2,
		Of: func(s *shotResult) float64 { return s.Ratio }},
	{Key: "wetted", Name: "puck wetted at release", Unit: quantity.InPercent,
		Of: func(s *shotResult) float64 { return s.Wetted }},
	{Key: "energy", Name: "energy of spring and weight", Unit: quantity.InJ, Digits: 2,
		Of: func(s *shotResult) float64 { return s.Energy.Released }},

	{Key: "energy_residual", Name: "energy not accounted for, share", DataOnly: true,
		Of: func(s *shotResult) float64 { return s.Energy.Residual }},
	{Key: "mass_residual", Name: "water not accounted for, share", DataOnly: true,
		Of: func(s *shotResult) float64 { return s.Mass.Residual }},
	{Key: "decay_time_constant_elastic", Name: "decay time constant, bed springs back", Unit: quantity.InS, Digits: 1, DataOnly: true,
		Of: func(s *shotResult) float64 { return s.elastic.TimeConstant }},
	{Key: "flow_time_elastic", Name: "flow time, bed springs back", Unit: quantity.InS, Digits: 1, DataOnly: true,
		Of: func(s *shotResult) float64 { return s.elastic.Spring }},
	{Key: "total_time_elastic", Name: "total time, bed springs back", Unit: quantity.InS, Digits: 1, DataOnly: true,
		Of: func(s *shotResult) float64 { return s.elastic.Total }},
	{Key: "decay_time_constant_compacted", Name: "decay time constant, bed stays compacted", Unit: quantity.InS, Digits: 1, DataOnly: true,
		Of: func(s *shotResult) float64 { return s.compacted.TimeConstant }},
	{Key: "flow_time_compacted", Name: "flow time, bed stays compacted", Unit: quantity.InS, Digits: 1, DataOnly: true,
		Of: func(s *shotResult) float64 { return s.compacted.Spring }},
	{Key: "total_time_compacted", Name: "total time, bed stays compacted", Unit: quantity.InS, Digits: 1, DataOnly: true,
		Of: func(s *shotResult) float64 { return s.compacted.Total }},
}

// springRows are the springs of a shot, where readings tell them.
var springRows = []report.Def[shotResult]{
	{Key: "spring_force", Name: "force of the spring, cocked", Unit: quantity.InN,
		Of: func(s *shotResult) float64 { return spring.ForceOf(s.springs, s.stroke) }},
	{Key: "spring_force_at_rest", Name: "force of the spring, at rest", Unit: quantity.InN,
		Of: func(s *shotResult) float64 { return spring.ForceOf(s.springs, 0) }},
	{Key: "spring_rate", Name: "rate of the spring", Unit: quantity.InNPerMM, Digits: 2,
		Of: func(s *shotResult) float64 { return machine.Stiffness(s.springs) }},
}

// rowsOf are the rows of the shot of a machine.
func rowsOf(m *machine.Machine) []report.Def[shotResult] {
	if m.Told() {
		return slices.Concat(shotRows, springRows)
	}
	return shotRows
}

// energyPart is one of the ways that the energy of a shot went.
type energyPart struct {
	name          string
	energy, share float64 // [J], [-]
}

var energyCols = []report.Col[energyPart]{
	{Column: report.Column{Key: "name", Head: "to"}, Of: func(p *energyPart) any { return p.name }},
	{Column: report.Column{Key: "energy", Head: "energy", Unit: quantity.InJ, Digits: 2}, Of: func(p *energyPart) any { return p.energy }},
	{Column: report.Column{Key: "share", Head: "share", Unit: quantity.InPercent}, Of: func(p *energyPart) any { return p.share }},
}

// energyTable says where the energy of a shot went.
func energyTable(e *profile.Energy) report.Table {
	parts := []energyPart{
		{name: "pushing water into the puck", energy: e.Hydraulic},
		{name: "pushing water back through the port", energy: e.Returned},
		{name: "seal friction", energy: e.Friction},
		{name: "compressing air in the chamber", energy: e.Air},
		{name: "lost in the jolt at release", energy: e.Release},
	}
	for i := range parts {
		if e.Released > 0 {
			parts[i].share = parts[i].energy / e.Released
		}
	}
	return report.Fill(report.Table{Key: "energy_parts", Title: "Where the energy of spring and weight went"}, energyCols, parts)
}

var eventCols = []report.Col[profile.Event]{
	{Column: report.Column{Key: "name", Head: "what"}, Of: func(e *profile.Event) any { return e.Name }},
	{Column: report.Column{Key: "t", Head: "time", Unit: quantity.InS, Digits: 1}, Of: func(e *profile.Event) any { return e.Time }},
}

// sampled is a sample with what the 95 % interval is there; nil where no shot runs.
type sampled struct {
	profile.Sample
	low, high, cupLow, cupHigh any // [Pa], [kg]
}

var sampleCols = []report.Col[sampled]{
	{Column: report.Column{Key: "t", Head: "time", Unit: quantity.InS, Digits: 2}, Of: func(s *sampled) any { return s.Time }},
	{Column: report.Column{Key: "volume", Head: "into the puck", Unit: quantity.InML, Digits: 2}, Of: func(s *sampled) any { return s.Volume }},
	{Column: report.Column{Key: "travel", Head: "piston travel", Unit: quantity.InMM, Digits: 2}, Of: func(s *sampled) any { return s.Travel }},
	{Column: report.Column{Key: "pressure", Head: "pressure", Unit: quantity.InBar, Digits: 3}, Of: func(s *sampled) any { return s.Pressure }},
	{Column: report.Column{Key: "flow", Head: "flow", Unit: quantity.InMLPerS, Digits: 3}, Of: func(s *sampled) any { return s.Flow }},
	{Column: report.Column{Key: "cup", Head: "cup", Unit: quantity.InG, Digits: 2}, Of: func(s *sampled) any { return s.Cup }},
}

// sampleBandCols are the columns that draws add.
var sampleBandCols = []report.Col[sampled]{
	{Column: report.Column{Key: "pressure_low", Head: "2.5 %", Unit: quantity.InBar, Digits: 3}, Of: func(s *sampled) any { return s.low }},
	{Column: report.Column{Key: "pressure_high", Head: "97.5 %", Unit: quantity.InBar, Digits: 3}, Of: func(s *sampled) any { return s.high }},
	{Column: report.Column{Key: "cup_low", Head: "2.5 %", Unit: quantity.InG, Digits: 2}, Of: func(s *sampled) any { return s.cupLow }},
	{Column: report.Column{Key: "cup_high", Head: "97.5 %", Unit: quantity.InG, Digits: 2}, Of: func(s *sampled) any { return s.cupHigh }},
}
