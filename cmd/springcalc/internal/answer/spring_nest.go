package answer

import (
	"strings"

	"springcalc/cmd/springcalc/internal/report"
)

// besideRow is a line of two springs side by side.
type besideRow struct {
	name               string
	outer, inner, both report.Sentence
}

var besideCols = []report.Col[besideRow]{
	{Column: report.Column{Key: "quantity", Head: ""}, Of: func(b *besideRow) any { return b.name }},
	{Column: report.Column{Key: "outer", Head: "outer"}, Of: func(b *besideRow) any { return b.outer }},
	{Column: report.Column{Key: "inner", Head: "inner"}, Of: func(b *besideRow) any { return b.inner }},
	{Column: report.Column{Key: "both", Head: "both"}, Of: func(b *besideRow) any { return b.both }},
}

// besideKeys are the rows of the short answer, and the names that they have there.
var besideKeys = []string{"rate", "load_rest", "load_cocked", "gap_cocked", "stress", "fatigue_safety", "life_used"}

// sideBySide sets the springs of a nest beside each other.
func (a *springAnswer) sideBySide() report.Table {
	cell := func(key string) (string, report.Sentence) {
		row := a.Row(key)
		if row == nil {
			return "", report.Sentence{}
		}
		s := report.Plain(row.Text)
		if row.Text == "" {
			s = report.Say("%s", shown(row))
		}
		if c := a.checkOn(key); c != nil && c.left() < 0 {
			s = report.Say("%s, exceeded", s)
		}
		_, name, _ := strings.Cut(row.Name, ": ")
		return name, s
	}
	var lines []besideRow
	for _, key := range besideKeys {
		var b besideRow
		outer, inner := a.tightest(a.parts[0], key), a.tightest(a.parts[1], key)
		b.name, b.outer = cell(outer)
		name, s := cell(inner)
		if b.inner = s; b.name == "" {
			b.name = name
		}
		if key == "stress" && b.name != "" {
			b.name = "stress safety cocked, least"
		}
		if row := a.Row(key + "_both"); row != nil {
			b.both = report.Say("%s", shown(row))
		}
		if b.name != "" {
			lines = append(lines, b)
		}
	}
	if row := a.Row("room_solid"); row != nil {
		room := report.Say("%s", shown(row))
		if row.Value <= 0 {
			room = row.Note
		}
		lines = append(lines, besideRow{name: "room on each side, solid", both: room})
	}
	return report.Fill(report.Table{Key: "springs", Title: "Both springs", Short: true}, besideCols, lines)
}

// tightest is the key of a row of a spring; of its stresses when cocked that of the
// tightest.
func (a *springAnswer) tightest(p *springResult, key string) string {
	if key != "stress" {
		return p.key(key)
	}
	var worst *check
	for i := range a.checks {
		if c := &a.checks[i]; c.of == p && c.name == "stress cocked" && (worst == nil || c.left() < worst.left()) {
			worst = c
		}
	}
	if worst == nil {
		return ""
	}
	return worst.row
}

// checkOn is the limit that stands on a row; nil where there is none.
func (a *springAnswer) checkOn(row string) *check {
	for i := range a.checks {
		if c := &a.checks[i]; c.row == row {
			return c
		}
	}
	return nil
}
