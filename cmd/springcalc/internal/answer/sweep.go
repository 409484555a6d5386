package answer

import (
	"context"
	"fmt"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
)

// Ask is a question about a machine: it answers with values put in place of the
// sheet's, each as FLAG: KEY=VALUE. A quick answer need not say how far it may be off.
type Ask func(sets []string, quick bool) (*report.Report, error)

// Axis is a key of the sheet with the values that it takes one after the other.
type Axis struct {
	Path   string
	key    *sheet.Key
	Values []string // as typed: "650 N"
}

// mostPoints is how many times a sweep asks.
const mostPoints = 1000

// numericKey finds a key of the sheet that is a number.
func numericKey(flag, path string) (*sheet.Key, error) {
	k := sheet.FindKey(path)
	switch {
	case k == nil:
		return nil, sheet.Usef("%s: %s: %s", flag, path, sheet.UnknownKey(path))
	case k.Dim == nil:
		return nil, sheet.Usef("%s: %s is a text; want a key that is a number", flag, path)
	}
	return k, nil
}

// ParseAxes reads one or two KEY=FROM:TO:STEP.
func ParseAxes(typed []string) (axes []Axis, err error) {
	const most = 2
	if len(typed) > most {
		return nil, sheet.Usef("--sweep: %d keys; want %d at most", len(typed), most)
	}
	points := 1
	for _, text := range typed {
		path, values, _ := strings.Cut(text, "=")
		path = strings.TrimSpace(path)
		ends := strings.Split(values, ":")
		if len(ends) != 3 {
			return nil, sheet.Usef("--sweep %q: want KEY=FROM:TO:STEP, such as \"spring.preload=600 N:900 N:50 N\"", text)
		}
		a := Axis{Path: path}
		if a.key, err = numericKey("--sweep", path); err != nil {
			return nil, err
		}
		if len(axes) > 0 && axes[0].Path == path {
			return nil, sheet.Usef("--sweep: %s stands twice", path)
		}
		if a.Values, err = quantity.Steps(ends[0], ends[1], ends[2], a.key.Dim, mostPoints+1); err != nil {
			return nil, sheet.Usef("--sweep %s: %v", path, err)
		}
		points *= len(a.Values)
		axes = append(axes, a)
	}
	if points > mostPoints {
		return nil, sheet.Usef("--sweep: %d points; want %d at most", points, mostPoints)
	}
	return axes, nil
}

// sweepKey is the key of the table of a sweep.
const sweepKey = "sweep"

// Sweep asks at every point of one or two axes, of which the first changes slowest. It
// answers with a table of a line a point, of the rows that are numbers. A point without
// an answer says why on its line; where no point has one, that of the first is the error.
func Sweep(ctx context.Context, axes []Axis, ask Ask, progress func(done, total int)) (*report.Report, error) {
	type point struct {
		at   []float64 // by axis [SI]
		rows map[string]report.Row
		why  string
	}
	points := 1
	for _, a := range axes {
		points *= len(a.Values)
	}
	list := make([]point, points)
	var columns []report.Column
	var base *report.Report
	var first error
	known := map[string]bool{}
	for i := range list {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		progress(i, points)
		p := &list[i]
		p.rows = map[string]report.Row{}
		sets, rest := make([]string, len(axes)), i
		p.at = make([]float64, len(axes))
		for k := len(axes) - 1; k >= 0; k-- {
			a := axes[k]
			value := a.Values[rest%len(a.Values)]
			rest /= len(a.Values)
			q, err := quantity.Parse(value, a.key.Dim)
			if err != nil {
				return nil, err
			}
			p.at[k], sets[k] = q.Value, fmt.Sprintf("--sweep %s: %s=%s", a.Path, a.Path, value)
		}
		r, err := ask(sets, true)
		if err != nil {
			if first == nil {
				first = err
			}
			p.why = strings.ReplaceAll(err.Error(), "\n", "; ")
			continue
		}
		if base == nil {
			base = r
		}
		for _, row := range r.Rows {
			if row.Text != "" || row.DataOnly || !quantity.Finite(row.Value) {
				continue
			}
			if !known[row.Key] {
				known[row.Key] = true
				columns = append(columns, report.Column{Key: row.Key, Head: row.Name, Unit: row.Unit, Digits: row.Digits})
			}
			p.rows[row.Key] = row
		}
	}
	if base == nil {
		return nil, first
	}
	t := report.Table{Key: sweepKey, Title: "Answers by " + words.AndList(paths(axes)), Short: true}
	for _, a := range axes {
		t.Columns = append(t.Columns, report.Column{Key: a.Path, Head: a.Path, Unit: a.key.Dim.Display(), Digits: 3})
	}
	t.Columns = append(t.Columns, columns...)
	t.Columns = append(t.Columns, report.Column{Key: "error", Head: "no answer because"})
	for _, p := range list {
		var line []any
		for _, v := range p.at {
			line = append(line, v)
		}
		for _, c := range columns {
			if row, ok := p.rows[c.Key]; ok {
				line = append(line, row.Value)
			} else {
				line = append(line, nil)
			}
		}
		t.Data = append(t.Data, append(line, p.why))
	}
	return &report.Report{Command: base.Command, Title: base.Title, Tables: []report.Table{t}, Main: sweepKey, Cautions: base.Cautions}, nil
}

// paths are the keys of axes.
func paths(axes []Axis) (list []string) {
	for _, a := range axes {
		list = append(list, a.Path)
	}
	return list
}
