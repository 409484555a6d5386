package render

import (
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/words"
)

// View is a report as the texts that a page shows: every number of it in the unit
// and with the digits that the terminal prints.
type View struct {
	Command, Title string
	Answer, Next   []string
	Rows           []RowView // those for people, short ones first in the order of the report
	Tables         []TableView
	Short          *TableView // as the short answer has it; nil where it has none
	Head, Beside   string     // of the values, and of what they are set beside; "" for nothing
	Stated         []report.Stated
	Assumed        []string
	Doubts, Notes  []string
	Caution        string
	Cautions       []string
}

// RowView is a row as texts.
type RowView struct {
	Key, Name     string
	Number, Unit  string // of a row of a number; "" for a text
	Text          string // of a row of words
	Beside        string // what it is set beside, with its unit
	From, To      string // of its interval; "" where there is none
	Interval      bool   // of probability, not a mere range
	Note, Narrow  string
	Short, Indent bool
}

// TableView is a table as texts.
type TableView struct {
	Key, Title string
	Short      bool
	Heads      []CellView
	Rows       [][]CellView
}

// CellView is a cell; numbers line up on the right.
type CellView struct {
	Text    string
	Number  bool
	Percent *float64 // of a column of shares: reads as a bar too [%]
}

// Viewed is a report as texts; nil and an error where a number of it is not finite.
func Viewed(r *report.Report, o Options) (*View, error) {
	if err := finiteReport(r); err != nil {
		return nil, err
	}
	p := printer{Options: o, r: r}
	v := &View{Command: r.Command, Title: words.Clean(r.Title), Answer: p.said(r.Answer), Next: p.said(r.Next), Assumed: p.assumed(),
		Doubts: p.said(r.Doubts), Notes: p.said(r.Notes), Caution: r.Caution, Cautions: r.Cautions, Head: r.Head, Beside: r.Beside}
	if t := r.ShortTable(); t != nil && (t.Key != "sketch" || len(r.Sketches) == 0) {
		short := p.tableView(shortened(*t))
		v.Short = &short
	}
	for _, s := range r.Input {
		v.Stated = append(v.Stated, report.Stated{Key: s.Key, Text: words.Clean(s.Text), Flag: s.Flag})
	}
	for _, row := range r.Rows {
		if !row.DataOnly {
			v.Rows = append(v.Rows, p.rowView(row))
		}
	}
	for _, t := range r.Tables {
		if !t.DataOnly && len(t.Data) > 0 {
			v.Tables = append(v.Tables, p.tableView(readable(t)))
		}
	}
	return v, nil
}

// said are sentences as people read them.
func (p *printer) said(list []report.Sentence) (texts []string) {
	for _, s := range list {
		if text := p.say(s); text != "" {
			texts = append(texts, sentence(text))
		}
	}
	return texts
}

func (p *printer) rowView(r report.Row) RowView {
	v := RowView{Key: r.Key, Name: words.Clean(r.Name), Note: p.say(r.Note), Narrow: words.Clean(r.Narrow), Short: r.Short, Indent: r.Indent}
	if r.Beside != nil {
		v.Beside = strings.TrimSpace(p.value(*r.Beside, wholeDigits(*r.Beside, p.Family)))
	}
	if r.Text != "" {
		v.Text = words.Clean(r.Text)
		return v
	}
	unit, _ := r.Unit.In(p.Family, r.Digits)
	v.Number, v.Unit = number(r, p.Family, r.Value), unit.Symbol
	if interval(r, p.Family) != "" {
		v.From, v.To, v.Interval = number(r, p.Family, r.Band.Low), number(r, p.Family, r.Band.High), r.Band.Std > 0
	}
	return v
}

func (p *printer) tableView(t report.Table) TableView {
	g := p.table(t)
	v := TableView{Key: t.Key, Title: words.Clean(t.Title), Short: t.Short}
	keep := make([]int, 0, len(g.heads)) // columns that some row fills
	for i := range g.heads {
		if slices.ContainsFunc(g.rows, func(r []string) bool { return r[i] != "" }) {
			keep = append(keep, i)
			v.Heads = append(v.Heads, CellView{Text: g.heads[i], Number: !g.left[i]})
		}
	}
	for n, r := range g.rows {
		cells := make([]CellView, len(keep))
		for j, i := range keep {
			cells[j] = CellView{Text: strings.TrimSpace(r[i]), Number: !g.left[i]}
			if text := cells[j].Text; t.Columns[i].Unit == quantity.InPercent || strings.HasSuffix(text, " %") {
				cells[j].Percent = percentOf(t.Data[n][i])
			}
		}
		v.Rows = append(v.Rows, cells)
	}
	return v
}

// percentOf is a share as a number of a hundred; nil for what is none.
func percentOf(cell any) *float64 {
	share, ok := cell.(float64)
	if s, shown := cell.(report.Shown); shown {
		share, ok = s.Value, true
	}
	if !ok || !(share >= 0 && share <= 1) {
		return nil
	}
	share *= 100
	return &share
}

// Figures are the rows that are shown large: the first numbers of the short answer.
func (v *View) Figures() (rows []RowView) {
	const most = 4
	for _, r := range v.Rows {
		if r.Short && !r.Indent && r.Number != "" && len(rows) < most {
			rows = append(rows, r)
		}
	}
	return rows
}

// KeyRows are the rows of a printout beside those that are shown large: those of the
// short answer, and others as far as there is room.
func (v *View) KeyRows() (rows []RowView) {
	const most = 6
	for _, short := range []bool{true, false} {
		for _, r := range v.OtherRows() {
			if r.Short == short && len(rows) < most {
				rows = append(rows, r)
			}
		}
	}
	return rows
}

// OtherRows are the rows that are not shown large.
func (v *View) OtherRows() []RowView {
	large := v.Figures()
	return slices.DeleteFunc(slices.Clone(v.Rows), func(r RowView) bool {
		return slices.ContainsFunc(large, func(l RowView) bool { return l.Key == r.Key })
	})
}
