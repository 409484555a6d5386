package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
)

// report describes an answer once, for the terminal, JSON, CSV and Markdown alike.
// Numbers in it are in the units that they are printed in.
type report struct {
	Title    string
	Rows     []row
	BandHead string     // what the bands of the rows are, "" for just that
	Summary  *tableData // in place of the rows, where they are those of several
	Charts   []chart
	Tables   []tableData
	Main     string   // key of the table that --csv prints; "" for rows or summary
	Defaults []string // what was assumed, with source; a program finds them as a table
	Doubts   []string // what may be wrong with the answer
	Notes    []string // what to know about it
	Cautions []string // what can hurt
}

// row is one named result. It is a number, or a text where Text is not empty.
type row struct {
	Key    string  // name in JSON, unit included: "peak_bar"
	Name   string  // "peak pressure"
	Value  float64 // [Unit]
	Digits int     // after the point
	Unit   string  // "bar"
	Band   *band   // where the value is not known better than that
	Text   string
	Note   string

	DataOnly bool // for JSON and CSV only
}

// band is a low and a high end. Where they are those of a spread, the row has
// no more digits than it is known to.
type band struct {
	Low, High float64 // [Unit of the row]
	Std       float64 // standard uncertainty, 0 where it has none [Unit of the row]
	Coarser   int     // by how many digits the row has too many for reading
}

// measure makes a row of a value in SI, in a unit to print in. The key gets
// what the unit is called in JSON by the caller: measure("peak_bar", …, inBar, 2).
func measure(key, name string, si float64, unit quantity.Display, digits int) row {
	return row{Key: key, Name: name, Value: unit.Of(si), Digits: digits, Unit: unit.Symbol}
}

// within adds the ends of a band in SI to a row that measure made in the same unit.
func (r row) within(low, high float64, unit quantity.Display) row {
	r.Band = &band{Low: unit.Of(low), High: unit.Of(high)}
	return r
}

// noted adds a note to a row.
func (r row) noted(format string, args ...any) row {
	r.Note = fmt.Sprintf(format, args...)
	return r
}

// tableData is a table of results.
type tableData struct {
	Key      string // name in JSON: "samples"
	Title    string
	Columns  []column
	Data     [][]any // float64, figure, string, or nil for an empty cell
	DataOnly bool    // for JSON and CSV only: too long to read
}

// column is one column of a table.
type column struct {
	Key    string // name in JSON and CSV, unit included: "t_s"
	Head   string // "time, s"
	Digits int    // of its numbers, after the point
}

// table returns the table of a key.
func (r *report) table(key string) *tableData {
	for i := range r.Tables {
		if r.Tables[i].Key == key {
			return &r.Tables[i]
		}
	}
	return nil
}

// row returns the row of a key.
func (r *report) row(key string) *row {
	for i := range r.Rows {
		if r.Rows[i].Key == key {
			return &r.Rows[i]
		}
	}
	return nil
}

// value formats the value of a row.
func (r row) shownValue() string {
	if r.Text != "" {
		return r.Text
	}
	return words.Number(r.Value, r.Digits)
}

// known formats the value of a row with the digits that it is known to, and
// with a ± that makes the band where that is in the middle.
func (r row) Known() string {
	if r.Text != "" || r.Band == nil {
		return r.shownValue()
	}
	text := words.Number(r.Value, r.digits())
	if half := (r.Band.High - r.Band.Low) / 2; r.Band.Std > 0 && math.Abs(r.Value-r.Band.Low-half) < lopsided*half {
		text += " ± " + words.Number(half, r.digits())
	}
	return text
}

// lopsided is the part of a band's half-width by which a value may be off the
// middle of it and still be said with a ± [-].
const lopsided = 0.2

// digits counts those after the point that are known.
func (r row) digits() int {
	if r.Band == nil {
		return r.Digits
	}
	return max(0, r.Digits-r.Band.Coarser)
}

// band formats the band of a row.
func (r row) band() string {
	if r.Band == nil {
		return ""
	}
	low, high := words.Number(r.Band.Low, r.digits()), words.Number(r.Band.High, r.digits())
	if low == high { // less than is printed
		return ""
	}
	return low + " to " + high
}

// figure is a cell of a table that reads as a text but is a number to a program.
type figure struct {
	Value float64 // [of the row]
	Text  string
}

// rowGrid lays rows out for reading, their decimal points one below the other.
func (r *report) rowGrid() grid {
	g := grid{left: []bool{true, true, true, true}, heads: []string{"", "value", cmp.Or(r.BandHead, "band"), "note"}}
	whole := 0
	shown := slices.DeleteFunc(slices.Clone(r.Rows), func(r row) bool { return r.DataOnly })
	for _, row := range shown {
		whole = max(whole, row.wholeDigits())
	}
	for _, row := range shown {
		value := row.Known()
		if row.Text == "" {
			value = strings.Repeat(" ", whole-row.wholeDigits()) + strings.TrimSpace(value+" "+row.Unit)
		}
		g.rows = append(g.rows, []string{row.Name, value, row.band(), row.Note})
	}
	return g.withoutEmpty()
}

// wholeDigits counts what stands before the decimal point of a number.
func (r row) wholeDigits() int {
	if r.Text != "" {
		return 0
	}
	whole, _, _ := strings.Cut(words.Number(r.Value, r.digits()), ".")
	return len(whole)
}

// grid lays a table out for reading: a column of numbers to the right, one
// of texts to the left.
func (t *tableData) grid() grid {
	g := grid{heads: make([]string, len(t.Columns)), left: make([]bool, len(t.Columns))}
	figures := make([]bool, len(t.Columns))
	for i, c := range t.Columns {
		g.heads[i] = c.Head
	}
	for _, data := range t.Data {
		cells := make([]string, len(data))
		for i, d := range data {
			switch v := d.(type) {
			case float64:
				cells[i] = words.Number(v, t.Columns[i].Digits)
			case figure:
				cells[i], figures[i] = v.Text, true
			case string:
				cells[i], g.left[i] = v, true
			}
			g.left[i] = g.left[i] && !figures[i]
		}
		g.rows = append(g.rows, cells)
	}
	return g
}

// compare sets the rows of reports of the same kind side by side, with the
// change where there are two.
func compare(names []string, reports []*report) *report {
	t := tableData{Key: "comparison", Columns: []column{{Key: "quantity"}, {Key: "unit", Head: "unit"}}}
	for _, name := range names {
		t.Columns = append(t.Columns, column{Key: name, Head: name})
	}
	if len(names) == 2 {
		t.Columns = append(t.Columns, column{Key: "change", Head: "change"})
	}
	for i, row := range reports[0].Rows {
		if row.DataOnly {
			continue
		}
		line := []any{row.Name, row.Unit}
		for _, r := range reports {
			line = append(line, r.Rows[i].Cell())
		}
		if len(reports) == 2 {
			line = append(line, change(row, reports[1].Rows[i]))
		}
		t.Data = append(t.Data, line)
	}
	all := &report{Title: "side by side", Summary: &t, Charts: overlay(names, reports), Cautions: reports[0].Cautions}
	ofAll := func(text string) bool {
		return !slices.ContainsFunc(reports, func(r *report) bool { return !slices.Contains(r.Defaults, text) })
	}
	for i, r := range reports {
		for _, d := range r.Defaults {
			if !ofAll(d) {
				all.Defaults = append(all.Defaults, names[i]+": "+d)
			} else if i == 0 {
				all.Defaults = append(all.Defaults, d)
			}
		}
		all.Doubts = append(all.Doubts, labelled(names[i], r.Doubts)...)
		all.Notes = append(all.Notes, labelled(names[i], r.Notes)...)
	}
	return all
}

// cell is the value of a row as a cell of a table.
func (r row) Cell() any {
	if r.Text != "" {
		return r.Text
	}
	return figure{r.Value, r.shownValue()}
}

// labelled puts a name before each text.
func labelled(name string, texts []string) []string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = name + ": " + t
	}
	return out
}

// change is the step from one row to another, as a cell of a table.
func change(from, to row) any {
	if from.Text != "" || to.Text != "" {
		if from.Text == to.Text {
			return "same"
		}
		return "differs"
	}
	step := to.Value - from.Value
	text := words.Number(step, to.Digits)
	if !strings.HasPrefix(text, "-") {
		text = "+" + text
	}
	if from.Value > 0 {
		text = fmt.Sprintf("%s (%+.0f %%)", text, 100*step/from.Value)
	}
	return figure{step, text}
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
