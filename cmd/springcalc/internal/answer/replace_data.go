package answer

import (
	"strconv"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/profile/replace"
)

// onePart is a spring of a row of the ranking. Its columns are those of a list of
// springs, so that what is printed is read again, and what was found out about it.
type onePart struct {
	*rankedRow
	*replace.Part
	first bool // of its nest
}

// partsOf are the springs of rows, one after the other.
func partsOf(rows []rankedRow) (all []onePart) {
	for i := range rows {
		for k := range rows[i].Parts {
			all = append(all, onePart{&rows[i], &rows[i].Parts[k], k == 0})
		}
	}
	return all
}

// stated is a cell of a spring by its dimensions; nil for one by rate and lengths.
func (p *onePart) stated(v any) any {
	if p.Wire == nil {
		return nil
	}
	return v
}

// only is a cell of one whole row, beside the first of its springs.
func (p *onePart) only(v any) any {
	if !p.first {
		return nil
	}
	return v
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

var partCols = append(append([]report.Col[onePart]{
	{Column: report.Column{Key: "place"}, Of: func(p *onePart) any { return float64(p.place) }},
	{Column: report.Column{Key: "name"}, Of: func(p *onePart) any { return p.Name }},
	{Column: report.Column{Key: "line"}, Of: func(p *onePart) any { return p.listLine() }},
	{Column: report.Column{Key: "price"}, Of: func(p *onePart) any { return p.only(unlessZero(p.Price)) }},
	{Column: report.Column{Key: "nest"}, Of: func(p *onePart) any { return p.nestName() }},
	{Column: report.Column{Key: "grade"}, Of: func(p *onePart) any { return partGrade(p.Part) }},
	{Column: report.Column{Key: "wire", Unit: quantity.InMM}, Of: func(p *onePart) any { return unlessZero(p.Coil.Wire) }},
	{Column: report.Column{Key: "coil_diameter", Unit: quantity.InMM}, Of: func(p *onePart) any { return unlessZero(p.Coil.Mean) }},
	{Column: report.Column{Key: "outside_diameter", Unit: quantity.InMM}, Of: func(p *onePart) any { return unlessZero(p.Outer) }},
	{Column: report.Column{Key: "inside_diameter", Unit: quantity.InMM}, Of: func(p *onePart) any { return unlessZero(p.Inner) }},
	{Column: report.Column{Key: "active_coils"}, Of: func(p *onePart) any { return unlessZero(p.Coil.Active) }},
	{Column: report.Column{Key: "total_coils"}, Of: func(p *onePart) any { return unlessZero(p.Coil.Total) }},
	{Column: report.Column{Key: "ends"}, Of: func(p *onePart) any { return endsText(p.Part) }},
	{Column: report.Column{Key: "free_length", Unit: quantity.InMM}, Of: func(p *onePart) any { return p.Part.Free }},
	{Column: report.Column{Key: "solid_length", Unit: quantity.InMM}, Of: func(p *onePart) any { return unlessZero(max(p.Solid, p.Printed)) }},
	{Column: report.Column{Key: "rate", Unit: quantity.InNPerMM}, Of: func(p *onePart) any { return p.Rate }},
	{Column: report.Column{Key: "load_tolerance", Unit: quantity.InPercent}, Of: func(p *onePart) any { return unlessZero(p.LoadBy) }},
	{Column: report.Column{Key: "preset"}, Of: func(p *onePart) any { return p.stated(yesNo(p.Wire != nil && p.Wire.Preset)) }},
	{Column: report.Column{Key: "peened"}, Of: func(p *onePart) any { return p.stated(yesNo(p.Wire != nil && p.Wire.Peened)) }},
	{Column: report.Column{Key: "rest", Unit: quantity.InN}, Of: func(p *onePart) any { return p.force(0) }},
	{Column: report.Column{Key: "cocked", Unit: quantity.InN}, Of: func(p *onePart) any { return p.force(p.job.Stroke) }},
	{Column: report.Column{Key: "effort", Unit: quantity.InN}, Of: func(p *onePart) any { return p.only(unlessZero(p.Effort)) }},
	{Column: report.Column{Key: "peak", Unit: quantity.InBar}, Of: func(p *onePart) any { return p.only(p.shot.Peak) }},
	{Column: report.Column{Key: "end", Unit: quantity.InBar}, Of: func(p *onePart) any { return p.only(p.shot.End) }},
	{Column: report.Column{Key: "flow_time", Unit: quantity.InS}, Of: func(p *onePart) any { return p.only(p.shot.Spring) }},
	{Column: report.Column{Key: "yield", Unit: quantity.InG}, Of: func(p *onePart) any { return p.only(p.shot.Yield) }},
}, limitCols()...), []report.Col[onePart]{
	{Column: report.Column{Key: "weakest", Unit: quantity.InPercent}, Of: func(p *onePart) any { return p.only(p.weakest()) }},
	{Column: report.Column{Key: "weakest_of"}, Of: func(p *onePart) any { return p.only(p.weakestOf()) }},
	{Column: report.Column{Key: "binding"}, Of: func(p *onePart) any { return p.only(p.Verdict.Binding.String()) }},
	{Column: report.Column{Key: "least_margin", Unit: quantity.InPercent}, Of: func(p *onePart) any { return p.only(p.Verdict.Least) }},
}...)

// limitCols are the margins of all limits.
func limitCols() (cols []report.Col[onePart]) {
	for _, k := range replace.Constraints() {
		cols = append(cols, report.Col[onePart]{
			Column: report.Column{Key: strings.ReplaceAll(k.String(), " ", "_") + "_margin", Unit: quantity.InPercent},
			Of:     func(p *onePart) any { return p.only(leastMargin(&p.Verdict, k)) },
		})
	}
	return cols
}

// listLine is the line of the list that a spring stands in.
func (p *onePart) listLine() any {
	if !p.listed {
		return nil
	}
	return float64(p.Choice.Row)
}

// nestName is the same for springs that go inside each other.
func (p *onePart) nestName() any {
	if len(p.Parts) < 2 {
		return nil
	}
	return strconv.Itoa(p.place)
}

// force is that of one spring at a lift, at work [N].
func (p *onePart) force(lift float64) any {
	line := p.job.Space.Line(p.Part)
	return line.Force(lift)
}
