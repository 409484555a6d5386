package answer

import (
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile"
	"springcalc/profile/replace"
)

// comparedRow is a line of the comparison of target, no. 1 and today.
type comparedRow struct {
	name                                   string
	target, best, interval, today, verdict report.Sentence
}

var comparedCols = []report.Col[comparedRow]{
	{Column: report.Column{Key: "what", Head: ""}, Of: func(c *comparedRow) any { return c.name }},
	{Column: report.Column{Key: "target", Head: "target"}, Of: func(c *comparedRow) any { return c.target }},
	{Column: report.Column{Key: "best", Head: "no. 1"}, Of: func(c *comparedRow) any { return c.best }},
	{Column: report.Column{Key: "interval", Head: "95 % interval"}, Of: func(c *comparedRow) any { return c.interval }},
	{Column: report.Column{Key: "today", Head: "today"}, Of: func(c *comparedRow) any { return c.today }},
	{Column: report.Column{Key: "verdict", Head: "verdict"}, Of: func(c *comparedRow) any { return c.verdict }},
}

// comparison puts target, no. 1 with its interval, and today beside each other.
func (f *replaceFrame) comparison(r *report.Report, c *replace.Choice) report.Table {
	value := func(key string) report.Sentence {
		row := r.Row(key)
		if row == nil || strings.HasSuffix(key, "_effort") && row.Value == 0 {
			return report.Sentence{}
		}
		return report.Say("%s", report.Of(row.Value, row.Unit, row.Digits))
	}
	target := func(p float64) report.Sentence { return report.Say("%s", report.Of(p, quantity.InBar, 2)) }
	ok, missed := report.Plain("ok"), report.Plain("missed")
	effort := report.Sentence{}
	if f.job.Effort > 0 {
		effort = report.Say("≤ %s", report.Of(f.job.Effort, quantity.InN, 0))
	}
	end := target(f.wishes.End)
	if f.wishes.AnyEnd {
		end = report.Plain("any")
	}
	var lines []comparedRow
	for _, l := range []struct {
		name, best, today string
		target, verdict   report.Sentence
	}{
		{"peak pressure", "best_peak", "today_peak", target(f.wishes.Peak), verdictOf(c, replace.PeakPressure, ok, missed)},
		{"end pressure", "best_end", "today_end", end, verdictOf(c, replace.EndPressure, ok, missed)},
		{"flow time", "best_flow_time", "today_flow_time", report.Sentence{}, report.Sentence{}},
		{"force at rest", "best_rest", "today_rest", value("needed_rest"), report.Sentence{}},
		{"force cocked", "best_cocked", "today_cocked", value("needed_cocked"), report.Sentence{}},
		{"handle force", "best_effort", "today_effort", effort, verdictOf(c, replace.Effort, ok, report.Plain("too heavy"))},
		{marginName(c), "best_margin", "", report.Plain("> 0 %"), marginVerdict(c)},
	} {
		line := comparedRow{name: l.name, target: l.target, best: value(l.best), today: value(l.today), verdict: l.verdict}
		if row := r.Row(l.best); row != nil && row.Band != nil {
			low := report.Of(row.Band.Low, row.Unit, row.Digits)
			high := report.Of(row.Band.High, row.Unit, row.Digits)
			low.Bare, high.Bare = true, true
			line.interval = report.Say("%s to %s", low, high)
		}
		if !line.best.Empty() {
			lines = append(lines, line)
		}
	}
	t := report.Fill(report.Table{Key: "comparison", Title: "No. 1 beside target and today"}, comparedCols, lines)
	if len(f.best) == 0 {
		t.Title, t.Columns[2].Head = "The nearest miss beside target and today", "nearest"
	}
	return t
}

// verdictOf says on a row whether a limit is kept, may be missed, or is broken.
func verdictOf(c *replace.Choice, k replace.Constraint, kept, broken report.Sentence) report.Sentence {
	m, known := c.Verdict.Margin(k)
	switch {
	case !known:
		return report.Sentence{}
	case m < 0:
		return broken
	case c.Bands[k].Low < 0:
		return report.Plain("may miss")
	}
	return kept
}

// marginName names the row of the tightest margin by its limit.
func marginName(c *replace.Choice) string {
	_, k, _ := tightest(c)
	return limitName(k) + " margin"
}

func marginVerdict(c *replace.Choice) report.Sentence {
	_, k, _ := tightest(c)
	return verdictOf(c, k, report.Plain("ok"), report.Plain("broken"))
}

// rankedRow is a row of the ranking: of the best, or of the misses where nothing fits.
type rankedRow struct {
	*replaceFrame
	replace.Row
	place int
	shot  profile.Summary
}

// shownRows are the rows of the ranking.
func (f *replaceFrame) shownRows() ([]rankedRow, error) {
	rows := f.best
	if len(rows) == 0 {
		const nearest = 5
		rows = nil
		for _, c := range f.misses[:min(nearest, len(f.misses))] {
			rows = append(rows, replace.RowsOf([]replace.Choice{c}, 1)...)
		}
	}
	all := make([]rankedRow, len(rows))
	for i := range rows {
		shot, err := f.summary(&rows[i].Choice)
		if err != nil {
			return nil, err
		}
		all[i] = rankedRow{f, rows[i], i + 1, shot}
	}
	return all, nil
}

// spanText is a range of lengths or coils, in one number where its ends are the same.
func spanText(s replace.Span, unit *quantity.Display, digits int) report.Sentence {
	if s.Low == 0 {
		return report.Sentence{}
	}
	one := func(v float64) any {
		if unit == nil {
			return coilCount(v)
		}
		a := report.Of(v, *unit, digits)
		a.Bare = true
		return a
	}
	if !(s.Low < s.High) {
		return report.Say("%s", one(s.Low))
	}
	return report.Say("%s–%s", one(s.Low), one(s.High))
}

func unitColumn(key, head string, unit quantity.Display, digits int) report.Column {
	return report.Column{Key: key, Head: head, Unit: unit, Digits: digits}
}

// unlessZero is a value that is unknown where it is zero.
func unlessZero(v float64) any {
	if v == 0 {
		return nil
	}
	return v
}

var rankingCols = []report.Col[rankedRow]{
	{Column: unitColumn("place", "#", quantity.Display{}, 0), Of: func(s *rankedRow) any { return float64(s.place) }},
	{Column: report.Column{Key: "grade", Head: "wire"}, Of: func(s *rankedRow) any { return partGrade(&s.Parts[0]) }},
	{Column: unitColumn("wire", "d", quantity.InMM, 2), Of: func(s *rankedRow) any { return unlessZero(s.Parts[0].Coil.Wire) }},
	{Column: report.Column{Key: "mean", Head: "D, mm"}, Of: func(s *rankedRow) any { return spanText(s.Mean, &quantity.InMM, 1) }},
	{Column: report.Column{Key: "active", Head: "n"}, Of: func(s *rankedRow) any { return spanText(s.Active, nil, 0) }},
	{Column: report.Column{Key: "ends", Head: "ends"}, Of: func(s *rankedRow) any { return endsText(&s.Parts[0]) }},
	{Column: report.Column{Key: "free", Head: "L0, mm"}, Of: func(s *rankedRow) any { return spanText(s.Free, &quantity.InMM, 1) }},
	{Column: unitColumn("rate", "R", quantity.InNPerMM, 2), Of: func(s *rankedRow) any { return rateOf(&s.Choice) }},
	{Column: unitColumn("weakest", "tightest margin", quantity.InPercent, 0), Of: func(s *rankedRow) any { return s.shownWeakest() }},
	{Column: report.Column{Key: "weakest_of", Head: "of"}, Of: func(s *rankedRow) any { return s.weakestOf() }},
}

var listCols = []report.Col[rankedRow]{
	{Column: unitColumn("place", "#", quantity.Display{}, 0), Of: func(s *rankedRow) any { return float64(s.place) }},
	{Column: report.Column{Key: "name", Head: "name"}, Of: func(s *rankedRow) any { return s.Name }},
	{Column: unitColumn("line", "line", quantity.Display{}, 0), Of: func(s *rankedRow) any { return float64(s.Choice.Row) }},
	{Column: unitColumn("price", "price", quantity.Display{}, 2), Of: func(s *rankedRow) any { return unlessZero(s.Price) }},
	{Column: unitColumn("peak", "peak", quantity.InBar, 2), Of: func(s *rankedRow) any { return s.shot.Peak }},
	{Column: unitColumn("end", "end", quantity.InBar, 2), Of: func(s *rankedRow) any { return s.shot.End }},
	{Column: unitColumn("weakest", "margin", quantity.InPercent, 0), Of: func(s *rankedRow) any { return s.shownWeakest() }},
	{Column: report.Column{Key: "weakest_of", Full: true, Head: "of"}, Of: func(s *rankedRow) any { return s.weakestOf() }},
	{Column: report.Column{Key: "verdict", Head: "verdict"}, Of: func(s *rankedRow) any { return s.verdict() }},
}

// weakest is the lower end of the tightest margin; nil where nothing was judged.
func (s *rankedRow) weakest() any {
	if m, _, known := tightest(&s.Choice); known && m.low < m.high {
		return m.low
	} else if known {
		return m.value
	}
	return nil
}

// shownWeakest is the same for reading: how far below nothing tells nothing.
func (s *rankedRow) shownWeakest() any {
	if m, ok := s.weakest().(float64); ok && m < -1 {
		return report.Shown{Value: m, Text: report.Plain("< -100")}
	}
	return s.weakest()
}

func (s *rankedRow) weakestOf() any {
	if _, k, known := tightest(&s.Choice); known {
		return limitName(k)
	}
	return nil
}

// verdict says of a row of a list whether it fits.
func (s *rankedRow) verdict() any {
	if broken := s.Verdict.Blocked(); len(broken) > 0 {
		return "breaks " + limitNames(broken)
	}
	if crosses := s.Crosses(); len(crosses) > 0 {
		return "fits, may miss " + limitNames(crosses)
	}
	if len(s.job.Unjudged(&s.Choice)) > 0 {
		return "fits as far as known"
	}
	return "fits"
}

func partGrade(p *replace.Part) any {
	if p.Wire == nil {
		return nil
	}
	return p.Wire.Grade
}

func endsText(p *replace.Part) any {
	if p.Coil.Wire == 0 {
		return nil
	}
	return p.Coil.Ends.String()
}

// marginHeads are the limits of the table of margins.
var marginHeads = []struct {
	key, head string
	of        []replace.Constraint
}{
	{"stress_cocked", "stress cocked", []replace.Constraint{replace.StressCocked}},
	{"stress_solid", "stress solid", []replace.Constraint{replace.StressSolid}},
	{"fatigue", "fatigue", []replace.Constraint{replace.Fatigue}},
	{"clearance", "coil gap", []replace.Constraint{replace.Clearance}},
	{"buckling", "buckling", []replace.Constraint{replace.Buckling}},
	{"fit", "fit", []replace.Constraint{replace.InBore, replace.OverRod, replace.InNest}},
	{"effort", "effort", []replace.Constraint{replace.Effort}},
}

// marginCols are the pressures that a spring gives and its margins, each with its
// interval.
func marginCols() []report.Col[rankedRow] {
	cols := []report.Col[rankedRow]{
		rankingCols[0],
		{Column: unitColumn("peak", "peak", quantity.InBar, 2), Of: func(s *rankedRow) any { return s.shot.Peak }},
		{Column: unitColumn("end", "end", quantity.InBar, 2), Of: func(s *rankedRow) any { return s.shot.End }},
	}
	for _, m := range marginHeads {
		cols = append(cols, report.Col[rankedRow]{Column: unitColumn(m.key+"_margin", m.head, quantity.InPercent, 0), Of: func(s *rankedRow) any {
			return leastMargin(&s.Verdict, m.of...)
		}})
	}
	return append(cols, report.Col[rankedRow]{Column: report.Column{Key: "governed", Head: "governed by"}, Of: func(s *rankedRow) any { return s.weakestOf() }})
}

// leastMargin is the smallest of some margins, as a cell; empty where none was judged.
func leastMargin(v *replace.Verdict, of ...replace.Constraint) any {
	least, _, known := v.Smallest(of...)
	if !known {
		return nil
	}
	return least
}

// springTables are the ranking for reading, its margins, and the springs with all
// digits and limits for programs, one line a spring of a nest.
func (f *replaceFrame) springTables() ([]report.Table, error) {
	rows, err := f.shownRows()
	if err != nil {
		return nil, err
	}
	title := "Springs that fit, ranked by " + strings.ReplaceAll(f.order.String(), ",", ", ") + "; a range spans springs that differ only in rounding"
	switch {
	case len(f.best) == 0:
		title = "Nearest misses"
	case f.order.Keys == nil:
		title = "The spring as new"
	}
	ranking := report.Fill(report.Table{Key: "ranking", Title: title}, rankingCols, rows)
	if f.listed {
		ranking = report.Fill(report.Table{Key: "ranking", Title: strings.Split(title, ";")[0], Short: true, Top: 8}, listCols, rows)
	}
	margins := report.Fill(report.Table{Key: "margins", Title: "What they give, and their margins"}, marginCols(), rows)
	return []report.Table{ranking, margins, report.Fill(report.Table{Key: "springs", DataOnly: true}, partCols, partsOf(rows))}, nil
}

// blockedTable counts the springs by what blocks them.
func (f *replaceFrame) blockedTable() report.Table {
	type blocked struct {
		k replace.Constraint
		n int
	}
	var list []blocked
	for i, n := range f.blocked {
		if n > 0 {
			list = append(list, blocked{replace.Constraint(i), n})
		}
	}
	return report.Fill(report.Table{Key: "rejected_by", Title: "Rejected springs, by first limit exceeded"}, []report.Col[blocked]{
		{Column: report.Column{Key: "limit", Head: "limit"}, Of: func(b *blocked) any { return limitName(b.k) }},
		{Column: report.Column{Key: "springs", Head: "springs"}, Of: func(b *blocked) any { return float64(b.n) }},
	}, list)
}

// brokenLimit is a limit that a spring breaks.
type brokenLimit struct {
	*replace.Choice
	line int // of the list; 0 for a spring that is made up
	replace.Excess
}

var missCols = []report.Col[brokenLimit]{
	{Column: report.Column{Key: "line", Head: "line"}, Of: func(m *brokenLimit) any { return unlessZero(float64(m.line)) }},
	{Column: report.Column{Key: "name", Head: "name"}, Of: func(m *brokenLimit) any { return m.Name }},
	{Column: report.Column{Key: "limit", Head: "limit"}, Of: func(m *brokenLimit) any { return limitName(m.Excess.Of) }},
	{Column: report.Column{Key: "has", Head: "there is or allowed"}, Of: func(m *brokenLimit) any { return report.Say("%s", limitAmount(m.Excess.Of, m.Have)) }},
	{Column: report.Column{Key: "needs", Head: "needed"}, Of: func(m *brokenLimit) any { return report.Say("%s", limitAmount(m.Excess.Of, m.Need)) }},
	{Column: unitColumn("over", "over by", quantity.InPercent, 0), Of: func(m *brokenLimit) any {
		if !quantity.Finite(m.Over) {
			return nil
		}
		return m.Over
	}},
}

// cure is a change with which a spring that does not fit would.
type cure struct {
	of   *replace.Choice
	line int // of the list; 0 for a spring that is made up
	replace.Remedy
}

var cureCols = []report.Col[cure]{
	{Column: report.Column{Key: "line", Head: "line"}, Of: func(c *cure) any { return unlessZero(float64(c.line)) }},
	{Column: report.Column{Key: "name", Head: "name"}, Of: func(c *cure) any { return c.of.Name }},
	{Column: report.Column{Key: "change", Head: "would fit with a"}, Of: func(c *cure) any { return c.Change.String() }},
	{Column: unitColumn("by", "of", quantity.InMM, 1), Of: func(c *cure) any { return c.By }},
	{Column: report.Column{Key: "margin", Head: "tightest margin then"}, Of: func(c *cure) any {
		m, k, known := tightest(&c.Choice)
		if !known {
			return nil
		}
		return report.Say("%s, %s", limitName(k), m.in())
	}},
}

// addMisses names for each spring that does not fit the limits that it breaks and by
// how much, and for the nearest what would make them fit.
func (f *replaceFrame) addMisses(r *report.Report) error {
	const nearest = 10
	var broken []brokenLimit
	var cures []cure
	for i := range f.misses {
		c, line := &f.misses[i], 0
		if f.listed {
			line = c.Row
		}
		for _, e := range c.Verdict.Exceeded() {
			broken = append(broken, brokenLimit{c, line, e})
		}
		if i >= nearest {
			continue
		}
		remedies, err := f.job.Remedies(c.Parts)
		if err != nil {
			return err
		}
		for _, m := range remedies {
			cures = append(cures, cure{c, line, m})
		}
	}
	if len(f.best) == 0 && len(cures) > 0 {
		c := &cures[0]
		r.Next = append(r.Next, report.Say("It would fit with a %s of %s.", c.Change, report.Of(c.By, quantity.InMM, 1)))
	}
	r.Tables = append(r.Tables, report.Fill(report.Table{Key: "rejected", Title: "Rejected springs: each limit that they exceed"}, missCols, broken),
		report.Fill(report.Table{Key: "remedies", Title: "What would make the nearest of them fit"}, cureCols, cures))
	return nil
}

var leftOutCols = []report.Col[sheet.LeftOut]{
	{Column: report.Column{Key: "line", Head: "line"}, Of: func(l *sheet.LeftOut) any { return float64(l.Line) }},
	{Column: report.Column{Key: "why", Head: "why"}, Of: func(l *sheet.LeftOut) any { return l.Why }},
}
