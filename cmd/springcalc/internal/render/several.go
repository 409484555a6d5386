package render

import (
	"bytes"
	"fmt"
	"io"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
)

// SeveralJSON prints reports of one kind as an array, each with its name.
func SeveralJSON(w io.Writer, names []string, reports []*report.Report, o Options) error {
	objects := make([][]byte, len(reports))
	for i, r := range reports {
		var err error
		if objects[i], err = jsonObject(r, o, names[i]); err != nil {
			return fmt.Errorf("%s: %w", names[i], err)
		}
	}
	_, err := fmt.Fprintf(w, "[\n%s\n]\n", bytes.Join(objects, []byte(",\n")))
	return err
}

// Compare sets the rows of reports of one kind side by side, with the change
// where there are two, and lays their charts over each other.
func Compare(names []string, reports []*report.Report, f quantity.Family) *report.Report {
	t := report.Table{Key: "comparison", Short: true, Columns: []report.Column{{Key: "quantity"}, {Key: "unit", Head: "unit"}}}
	for _, name := range names {
		t.Columns = append(t.Columns, report.Column{Key: name, Head: name})
	}
	if len(names) == 2 {
		t.Columns = append(t.Columns, report.Column{Key: "change", Head: "change"})
	}
	for _, row := range reports[0].Rows {
		if row.DataOnly {
			continue
		}
		unit, _ := row.Unit.In(f, row.Digits)
		line := []any{row.Name, unit.Symbol}
		for _, r := range reports {
			line = append(line, sideCell(r.Row(row.Key), f))
		}
		if len(reports) == 2 {
			line = append(line, change(row, reports[1].Row(row.Key), f))
		}
		t.Data = append(t.Data, line)
	}
	first := reports[0]
	all := &report.Report{Command: first.Command, Title: "Side by side: " + strings.Join(names, ", "), Tables: []report.Table{t}, Main: t.Key,
		Charts: overlay(names, reports), Caution: first.Caution, Cautions: first.Cautions}
	common := func(a report.Assumed) bool {
		return !slices.ContainsFunc(reports, func(r *report.Report) bool { return !slices.Contains(r.Assumed, a) })
	}
	for i, r := range reports {
		for _, a := range r.Assumed {
			if !common(a) {
				a.Key = names[i] + ": " + a.Key
			} else if i > 0 {
				continue
			}
			all.Assumed = append(all.Assumed, a)
		}
		for _, d := range r.Doubts {
			all.Doubt("%s: %s", names[i], d)
		}
		for _, n := range r.Notes {
			all.Note("%s: %s", names[i], n)
		}
	}
	return all
}

// sideCell is the value of a row as a cell of a table of mixed units.
func sideCell(other *report.Row, f quantity.Family) any {
	if other == nil {
		return nil
	}
	r := *other
	if r.Text != "" {
		return r.Text
	}
	unit, _ := r.Unit.In(f, r.Digits)
	return report.Shown{Value: unit.Of(r.Value), Text: report.Plain(number(r, f, r.Value))}
}

// change is the step from one row to another, as a cell of a table.
func change(from report.Row, other *report.Row, f quantity.Family) any {
	if other == nil {
		return nil
	}
	to := *other
	if from.Text != "" || to.Text != "" {
		if from.Text == to.Text {
			return "same"
		}
		return "differs"
	}
	unit, _ := to.Unit.In(f, to.Digits)
	step := unit.Step(to.Value - from.Value)
	amount := report.Amount{Value: to.Value - from.Value, Unit: to.Unit, Digits: to.Digits, Step: true, Plus: true, Bare: true}
	text := report.Say("%s", amount)
	if from.Value > 0 && unit.Zero() == 0 {
		text = report.Say("%s (%+.0f %%)", amount, 100*(to.Value-from.Value)/from.Value)
	}
	return report.Shown{Value: step, Text: text}
}

// overlay lays the charts of several reports over each other.
func overlay(names []string, reports []*report.Report) []report.Chart {
	charts := make([]report.Chart, len(reports[0].Charts))
	for i, first := range reports[0].Charts {
		charts[i] = first
		charts[i].Series, charts[i].Band, charts[i].Marks, charts[i].Ends = nil, nil, nil, nil
		for j, r := range reports {
			for _, c := range r.Charts {
				if c.Key == first.Key && len(c.Series) > 0 {
					s := c.Series[0]
					s.Name = names[j]
					charts[i].Series = append(charts[i].Series, s)
				}
			}
		}
	}
	return charts
}
