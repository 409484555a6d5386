// Package report is what an answer is made of: sentences, rows, tables, charts,
// doubts and cautions, as pure data. Every number in it is in SI and knows the
// unit that it is printed in, so that one report serves terminal, JSON, CSV,
// Markdown, page and print, in metric and in inch units. It knows no physics, no
// sheet and no way of rendering.
package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
)

// Report is an answer.
type Report struct {
	Command  string     // the question: "shot"
	Title    string     // "Shot: left group of a small café"
	Answer   []Sentence // one or two sentences that answer the question, with numbers
	Next     []Sentence // what to do, or to measure next and what each outcome would mean
	Rows     []Row
	Head     string  // of the column of values; "" for the usual one
	Beside   string  // what the rows are set beside, as a heading and in keys: "today"; "" for nothing
	Charts   []Chart // the first one is that of the short answer
	Sketches []Sketch
	Tables   []Table
	Main     string     // key of the table that is the answer as CSV; "" for the rows
	Input    []Stated   // what was stated, by sheet and flags
	Assumed  []Assumed  // what was not stated, and what was taken for it
	Doubts   []Sentence // what may be wrong with the answer, the weightiest first
	Notes    []Sentence // what to know about it
	Caution  string     // the one line of caution that fits this answer
	Cautions []string   // all that can hurt
}

// Row is one named result: a number, or a text where Text is not empty. Rows are
// made by Rows from the definitions of an answer.
type Row struct {
	Key    string           // name in JSON without the unit: "peak"
	Name   string           // "peak pressure"
	Value  float64          // [SI]
	Unit   quantity.Display // to print in, in the metric family
	Digits int              // after the point, in that unit
	Band   *Band            // how far the value may be off; nil where nothing is known of that
	Text   string           // in place of a number
	Note   Sentence         // the verdict or remark that belongs to this row
	Narrow string           // what would narrow the interval most
	Beside *Row             // the same row of what this is set beside; nil for none

	Short    bool // stands in the short answer
	DataOnly bool // for programs: JSON and CSV
	Indent   bool // part of the row above
}

// Band is the 95 % interval of a value, or a range that is no interval of
// probability where Std is 0.
type Band struct {
	Low, High float64 // [SI]
	Std       float64 // standard uncertainty [SI]; 0 for a mere range
	Known     int     // digits after the point that the value is known to, in its metric unit
}

// Def defines a row of results once: for every form of output and for the draws
// that say how far it may be off.
type Def[T any] struct {
	Key, Name string
	Unit      quantity.Display
	Digits    int
	Of        func(*T) float64 // [SI]
	Text      func(*T) string  // in place of Of for a row of words
	Head      string           // what it is called among the shares of uncertainty; "" to leave it out there
	Short     bool
	DataOnly  bool
	Indent    bool
}

// Rows makes the rows of a result by their definitions.
func Rows[T any](defs []Def[T], result *T) []Row {
	rows := make([]Row, len(defs))
	for i, d := range defs {
		rows[i] = Row{Key: d.Key, Name: d.Name, Unit: d.Unit, Digits: d.Digits, Short: d.Short, DataOnly: d.DataOnly, Indent: d.Indent}
		if d.Text != nil {
			rows[i].Text = d.Text(result)
		} else {
			rows[i].Value = d.Of(result)
		}
	}
	return rows
}

// RowsBeside makes the rows of a result, each with the row of another beside it.
func RowsBeside[T any](defs []Def[T], result, beside *T) []Row {
	rows, other := Rows(defs, result), Rows(defs, beside)
	for i := range rows {
		rows[i].Beside = &other[i]
	}
	return rows
}

// Lift takes definitions, by key and in their order, to results of which theirs
// is a part.
func Lift[T, U any](defs []Def[U], part func(*T) *U, keys ...string) (lifted []Def[T]) {
	for _, d := range defs {
		if !slices.Contains(keys, d.Key) {
			continue
		}
		l := Def[T]{Key: d.Key, Name: d.Name, Unit: d.Unit, Digits: d.Digits, Head: d.Head, Short: d.Short, DataOnly: d.DataOnly, Indent: d.Indent}
		if d.Text != nil {
			l.Text = func(t *T) string { return d.Text(part(t)) }
		} else {
			l.Of = func(t *T) float64 { return d.Of(part(t)) }
		}
		lifted = append(lifted, l)
	}
	return lifted
}

// Row returns the row of a key; nil where there is none.
func (r *Report) Row(key string) *Row {
	for i := range r.Rows {
		if r.Rows[i].Key == key {
			return &r.Rows[i]
		}
	}
	return nil
}

// Chart returns the chart of a key; nil where there is none.
func (r *Report) Chart(key string) *Chart {
	for i := range r.Charts {
		if r.Charts[i].Key == key {
			return &r.Charts[i]
		}
	}
	return nil
}

// Table returns the table of a key; nil where there is none.
func (r *Report) Table(key string) *Table {
	for i := range r.Tables {
		if r.Tables[i].Key == key {
			return &r.Tables[i]
		}
	}
	return nil
}

// Doubt adds a doubt.
func (r *Report) Doubt(format string, args ...any) { r.Doubts = append(r.Doubts, Say(format, args...)) }

// Note adds a note.
func (r *Report) Note(format string, args ...any) { r.Notes = append(r.Notes, Say(format, args...)) }

// Table is a table of results.
type Table struct {
	Key      string // name in JSON: "samples"
	Title    string
	Columns  []Column
	Data     [][]any // a row a slice: float64 [SI], Shown, Symbol, Sentence, string, or nil for an empty cell
	DataOnly bool    // too long to read: for programs, and for CSV
	Short    bool    // stands in the short answer, in place of the rows
	Single   bool    // has one row, which programs get as an object
	Top      int     // how many of its rows the short answer shows; 0 for all
}

// Column is one column of a table.
type Column struct {
	Key    string           // name in JSON and CSV without the unit: "t"
	Head   string           // heading without the unit: "time"
	Unit   quantity.Display // of its numbers; the zero value for plain numbers and texts
	Digits int              // after the point
	Full   bool             // not in the short answer

	DataOnly bool // for programs
}

// Col defines a column of a table once, for every row that it is made from.
type Col[T any] struct {
	Column
	Of func(*T) any // float64 [SI], Shown, Symbol, Sentence, string or nil
}

// Fill makes the columns and data of a table from a list.
func Fill[T any](t Table, cols []Col[T], list []T) Table {
	for _, c := range cols {
		t.Columns = append(t.Columns, c.Column)
	}
	for i := range list {
		line := make([]any, len(cols))
		for j, c := range cols {
			line[j] = c.Of(&list[i])
		}
		t.Data = append(t.Data, line)
	}
	return t
}

// Shown is a number for programs that reads as a text to people: "> 99 %".
type Shown struct {
	Value float64          // [SI]
	Text  Sentence         // what a person reads
	Unit  quantity.Display // of the number, where its column has none
}

// In is the unit of its number in a family, that of its column unless it has one.
func (s Shown) In(column quantity.Display, f quantity.Family) quantity.Display {
	if s.Unit == (quantity.Display{}) {
		return column
	}
	unit, _ := s.Unit.In(f, 0)
	return unit
}

// Symbol is the unit of a number beside it, as a cell: "mm", or "in" in inch units.
type Symbol struct {
	Unit quantity.Display
}

// Chart is one or more curves over one axis.
type Chart struct {
	Key    string
	Name   string           // what goes up: "pressure above the puck"
	Unit   quantity.Display // of what goes up
	XName  string           // what goes right: "time"
	XUnit  quantity.Display
	Series []Series
	Band   *Area   // behind the first curve
	Marks  []Mark  // events on the x axis
	Ends   *Ending // when 95 % of the cases end, beside the band
	Zero   bool    // both axes begin at zero or below
	Top    float64 // where what goes up is cut off [SI]; 0 for nowhere
	Beyond string  // what goes beyond that: "more while the dry bed drinks"
}

// Sketch is a helical compression spring to be drawn to scale.
type Sketch struct {
	Key           string
	Name          string          // "inner spring"; "" for the only one
	Wire, Outside float64         // diameters of the wire and over the coils [m]
	Active, Total float64         // coils [-]
	Ground        bool            // ends ground flat
	Lengths       []SketchedState // the first without load
	Order         bool            // for a winder: the first state alone, at full size, with the other lengths beside it
}

// SketchedState is a spring at one length.
type SketchedState struct {
	Name   string  // "at rest"
	Symbol string  // of its length, by EN 13906-1: "L1"
	Length float64 // [m]
	Force  float64 // [N]
}

// Finite says whether every number of a sketch can be drawn.
func (s *Sketch) Finite() bool {
	all := []float64{s.Wire, s.Outside, s.Active, s.Total}
	for _, l := range s.Lengths {
		all = append(all, l.Length, l.Force)
	}
	for _, v := range all {
		if !quantity.Finite(v) {
			return false
		}
	}
	return true
}

// Series is one curve, or single points.
type Series struct {
	Name   string
	X, Y   []float64 // X must not fall [SI]
	Points bool      // readings: single points, not joined
	Dashed bool      // what is compared with
}

// Area is a band between two edges: at each X the 95 % interval of the cases
// that are still running there.
type Area struct {
	Name      string
	X         []float64 // [SI]
	Low, High []float64 // [SI]
}

// Mark is an event at a place of the x axis.
type Mark struct {
	Name  string
	X     float64 // [SI]
	Dated bool    // the name says where it is, as a date does
}

// Label names a mark with its place, with digits after the point, in the unit that
// it is printed in.
func (m Mark) Label(digits int) string {
	if m.Dated {
		return m.Name
	}
	return m.Name + " " + strconv.FormatFloat(m.X, 'f', digits, 64)
}

// Ending says when the cases of a band end.
type Ending struct {
	Low  float64 `json:"low"`  // of the 95 % interval of the end [SI of the x axis]
	High float64 `json:"high"` // [SI of the x axis]
}

// In returns a chart with its numbers in the units of a family, and the units
// of what goes right and up.
func (c Chart) In(f quantity.Family) (in Chart, x, y quantity.Display) {
	x, _ = c.XUnit.In(f, 0)
	y, _ = c.Unit.In(f, 0)
	of := func(unit quantity.Display, si []float64) []float64 {
		out := make([]float64, len(si))
		for i, v := range si {
			out[i] = unit.Of(v)
		}
		return out
	}
	in = c
	in.Series = make([]Series, len(c.Series))
	for i, s := range c.Series {
		s.X, s.Y = of(x, s.X), of(y, s.Y)
		in.Series[i] = s
	}
	if b := c.Band; b != nil {
		in.Band = &Area{Name: b.Name, X: of(x, b.X), Low: of(y, b.Low), High: of(y, b.High)}
	}
	in.Marks = make([]Mark, len(c.Marks))
	for i, m := range c.Marks {
		in.Marks[i] = Mark{m.Name, x.Of(m.X), m.Dated}
	}
	if c.Ends != nil {
		in.Ends = &Ending{x.Of(c.Ends.Low), x.Of(c.Ends.High)}
	}
	if c.Top > 0 {
		in.Top = y.Of(c.Top)
	}
	return in, x, y
}

// XValues are all places that a chart shows on its x axis.
func (c *Chart) XValues() (all []float64) {
	for _, s := range c.Series {
		all = append(all, s.X...)
	}
	if c.Band != nil {
		all = append(all, c.Band.X...)
	}
	return all
}

// Finite says whether every number of a chart can be drawn.
func (c *Chart) Finite() bool {
	all := [][]float64{{c.Top}}
	for _, s := range c.Series {
		all = append(all, s.X, s.Y)
	}
	if c.Band != nil {
		all = append(all, c.Band.X, c.Band.Low, c.Band.High)
	}
	for _, m := range c.Marks {
		all = append(all, []float64{m.X})
	}
	if c.Ends != nil {
		all = append(all, []float64{c.Ends.Low, c.Ends.High})
	}
	for _, list := range all {
		for _, v := range list {
			if !quantity.Finite(v) {
				return false
			}
		}
	}
	return true
}

// Assumed is a value that was not stated.
type Assumed struct {
	Key              string  // of the sheet: "coffee.retained"
	Value, Low, High float64 // [SI]
	Dim              *quantity.Dimension
	Basis            string // "published", "common practice", "judgement" …
	Source           string // where it is from
}

// Stated is a value that was stated.
type Stated struct {
	Key  string // of the sheet
	Text string // as typed, with its unit
	Flag string // the flag that stated it, "" for the sheet
}

// Amount is a number in a sentence.
type Amount struct {
	Value  float64 // [SI]
	Unit   quantity.Display
	Digits int  // after the point, in the metric unit
	Plus   bool // print the sign of a positive value too
	Step   bool // a difference: without the zero of a temperature scale
	Bare   bool // without the unit
}

// Of is an Amount: report.Of(p, quantity.InBar, 2) reads "6.55 bar".
func Of(si float64, unit quantity.Display, digits int) Amount {
	return Amount{Value: si, Unit: unit, Digits: digits}
}

// In prints an amount in a family of units.
func (a Amount) In(f quantity.Family) string {
	unit, digits := a.Unit.In(f, a.Digits)
	v := a.Value
	text := unit.Number(v, digits)
	if a.Step {
		text = unit.Number(v+unit.Zero(), digits)
	}
	if a.Plus && text[0] != '-' {
		text = "+" + text
	}
	if unit.Symbol == "" || a.Bare {
		return text
	}
	return text + " " + unit.Symbol
}

// Sentence is a text with amounts in it, which get their units when it is
// printed. The zero value says nothing.
type Sentence struct {
	Format string
	Args   []any
}

// Say makes a sentence: report.Say("peak %s", report.Of(p, quantity.InBar, 2)).
// Arguments may be amounts, sentences, or anything that fmt prints.
func Say(format string, args ...any) Sentence { return Sentence{format, args} }

// Plain makes a sentence of a finished text.
func Plain(text string) Sentence { return Sentence{"%s", []any{text}} }

// told is a number with a unit that has another in the inch family, or the two ends of
// a range, in a text of the packages behind.
var told = words.Lazy(`(?:^|[ (±])(?:(\d[\d.]*)(?: (?:to|and) ))?(-?\d[\d.]*) (N/mm|N/bar|mm|bar|MPa|N|°C)(?:$|[^\pL\pN²³/·])`)

// toldUnits are those units.
var toldUnits = map[string]quantity.Display{"N/mm": quantity.InNPerMM, "N/bar": quantity.InNPerBar, "mm": quantity.InMM, "bar": quantity.InBar,
	"MPa": quantity.InMPa, "N": quantity.InN, "°C": quantity.InC}

// Told makes a sentence of what a package behind tells in units of the trade. What it
// prints with a unit is an amount, with the digits that it has there.
func Told(text string) Sentence {
	var s Sentence
	at := 0
	amount := func(from, to int, unit quantity.Display, bare bool) {
		v, err := unit.Parse(text[from:to] + " " + unit.Symbol)
		if err != nil {
			return // no number: it stays in the text
		}
		_, decimals, _ := strings.Cut(text[from:to], ".")
		s.Format += strings.ReplaceAll(text[at:from], "%", "%%") + "%s"
		a := Of(v.Value, unit, len(decimals))
		a.Bare = bare
		s.Args = append(s.Args, a)
		if at = to; !bare {
			at += len(" " + unit.Symbol)
		}
	}
	for from := 0; from < len(text); {
		m := told().FindStringSubmatchIndex(text[from:])
		if m == nil {
			break
		}
		unit := toldUnits[text[from+m[6]:from+m[7]]]
		if m[2] >= 0 {
			amount(from+m[2], from+m[3], unit, true)
		}
		amount(from+m[4], from+m[5], unit, false)
		from += m[7]
	}
	s.Format += strings.ReplaceAll(text[at:], "%", "%%")
	return s
}

// Tolds is Told of some texts.
func Tolds(texts []string) []Sentence {
	all := make([]Sentence, len(texts))
	for i, t := range texts {
		all[i] = Told(t)
	}
	return all
}

// Plains makes sentences of finished texts.
func Plains(texts []string) []Sentence {
	all := make([]Sentence, len(texts))
	for i, t := range texts {
		all[i] = Plain(t)
	}
	return all
}

// In prints a sentence in a family of units.
func (s Sentence) In(f quantity.Family) string {
	if s.Format == "" {
		return ""
	}
	args := make([]any, len(s.Args))
	for i, a := range s.Args {
		switch a := a.(type) {
		case Amount:
			args[i] = a.In(f)
		case Sentence:
			args[i] = a.In(f)
		default:
			args[i] = a
		}
	}
	return fmt.Sprintf(s.Format, args...)
}

// Empty says whether a sentence says nothing.
func (s Sentence) Empty() bool { return s.Format == "" }

// String is the sentence in metric units, for messages and tests.
func (s Sentence) String() string { return s.In(quantity.Metric) }

// Finite says whether every amount in a sentence is a number that can be printed.
func (s Sentence) Finite() bool {
	for _, a := range s.Args {
		switch a := a.(type) {
		case Amount:
			if math.IsNaN(a.Value) || math.IsInf(a.Value, 0) {
				return false
			}
		case float64:
			if math.IsNaN(a) || math.IsInf(a, 0) {
				return false
			}
		case Sentence:
			if !a.Finite() {
				return false
			}
		}
	}
	return true
}

// ShortRows are the rows of the short answer.
func (r *Report) ShortRows() (rows []Row) {
	for _, row := range r.Rows {
		if row.Short && !row.DataOnly {
			rows = append(rows, row)
		}
	}
	return rows
}

// ShortTable is the table of the short answer; nil where it has none.
func (r *Report) ShortTable() *Table {
	for i := range r.Tables {
		if r.Tables[i].Short && len(r.Tables[i].Data) > 0 {
			return &r.Tables[i]
		}
	}
	return nil
}
