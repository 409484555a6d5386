package main

import (
	"io"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	answers "springcalc/cmd/springcalc/internal/report"
)

// What the answers that are still in this package share with those that are not.
const newSpring = "tolerance of the new spring"

var screenLaw = machine.ScreenLaw

// writeReport prints an answer.
func (o output) writeReport(w io.Writer, r *answers.Report) error { return o.write(w, printable(r)) }

// printable is an answer in the units that it is printed in.
func printable(r *answers.Report) *report {
	out := &report{Title: r.Title, BandHead: "95 % interval", Main: r.Main, Cautions: r.Cautions}
	for _, w := range r.Rows {
		row := row{Key: suffixed(w.Key, w.Unit), Name: w.Name, Text: w.Text, Digits: w.Digits, Unit: w.Unit.Symbol, Note: w.Note.String(), DataOnly: w.DataOnly}
		in := plainly(w.Unit)
		row.Value = in(w.Value)
		if b := w.Band; b != nil {
			row.Band = &band{Low: in(b.Low), High: in(b.High), Std: in(b.Std)}
		}
		out.Rows = append(out.Rows, row)
	}
	for _, c := range r.Charts {
		drawn := chart{Key: c.Key, Title: c.Name + ", " + c.Unit.Symbol, XTitle: c.XName + ", " + c.XUnit.Symbol}
		for _, s := range c.Series {
			line := series{Name: s.Name}
			for i := range s.X {
				line.X, line.Y = append(line.X, c.XUnit.Of(s.X[i])), append(line.Y, c.Unit.Of(s.Y[i]))
			}
			drawn.Series = append(drawn.Series, line)
		}
		out.Charts = append(out.Charts, drawn)
	}
	for i := range r.Tables {
		out.Tables = append(out.Tables, printableTable(&r.Tables[i]))
	}
	for _, s := range append(append([]answers.Sentence{}, r.Answer...), r.Next...) {
		out.Notes = append(out.Notes, s.String())
	}
	for _, s := range r.Notes {
		out.Notes = append(out.Notes, s.String())
	}
	for _, s := range r.Doubts {
		out.Doubts = append(out.Doubts, s.String())
	}
	return out
}

func printableTable(t *answers.Table) tableData {
	table := tableData{Key: t.Key, Title: t.Title, DataOnly: t.DataOnly}
	for _, c := range t.Columns {
		head := c.Head
		if c.Unit.Symbol != "" && head != "" {
			head += ", " + c.Unit.Symbol
		}
		table.Columns = append(table.Columns, column{Key: suffixed(c.Key, c.Unit), Head: head, Digits: c.Digits})
	}
	for _, data := range t.Data {
		line := make([]any, len(data))
		for j, cell := range data {
			switch v := cell.(type) {
			case float64:
				line[j] = plainly(t.Columns[j].Unit)(v)
			case answers.Shown:
				line[j] = v.Text.String()
			case answers.Sentence:
				line[j] = v.String()
			default:
				line[j] = v
			}
		}
		table.Data = append(table.Data, line)
	}
	return table
}

// plainly is what a unit makes of a value [SI]; the zero unit leaves a plain number.
func plainly(d quantity.Display) func(float64) float64 {
	if d.Symbol == "" {
		return func(v float64) float64 { return v }
	}
	return d.Of
}

func suffixed(key string, d quantity.Display) string {
	if s := d.Suffix(); s != "" {
		return key + "_" + s
	}
	return key
}
