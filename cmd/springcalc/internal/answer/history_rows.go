package answer

import (
	"cmp"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/course"
	"springcalc/profile/uncertain"
)

// historyRow is a row of a history with its interval.
type historyRow struct {
	report.Def[lived]
	interval func(*lived) course.Estimate // nil for none
	known    func(*lived) bool            // nil for always
	note     func(*lived) report.Sentence
}

// historyRows are the results of a history.
var historyRows = []historyRow{
	{Def: report.Def[lived]{Key: "last_reading", Name: "last reading", Unit: quantity.InBar, Digits: 2,
		Of: func(h *lived) float64 { return h.last.Value }},
		note: func(h *lived) report.Sentence { return report.Say("%s", h.last.Date) }},
	{Def: report.Def[lived]{Key: "peak_now", Name: "peak by the laws", Unit: quantity.InBar, Digits: 2, Short: true,
		Of: func(h *lived) float64 { return h.peak.Value }},
		interval: func(h *lived) course.Estimate { return h.peak }},
	{Def: report.Def[lived]{Key: "share_of_new", Name: "share of the peak as new", Unit: quantity.InPercent, Digits: 0,
		Of: func(h *lived) float64 { return h.peak.Value / h.life.Fresh }},
		known: func(h *lived) bool { return h.life.Fresh > 0 },
		interval: func(h *lived) course.Estimate {
			return course.Estimate{Low: h.peak.Low / h.life.Fresh, High: h.peak.High / h.life.Fresh}
		}},
	{Def: report.Def[lived]{Key: "change", Name: "last change", Unit: quantity.InBar, Digits: 2,
		Of: func(h *lived) float64 { return h.change.Change.Value }},
		known:    func(h *lived) bool { return h.before != nil },
		interval: func(h *lived) course.Estimate { return h.change.Change },
		note:     func(h *lived) report.Sentence { return report.Say("%s", h.before.Date) }},
	{Def: report.Def[lived]{Key: "trend", Name: "in the next year", Unit: quantity.InBar, Digits: 2, Short: true,
		Of: func(h *lived) float64 { return h.trend.Value }},
		interval: func(h *lived) course.Estimate { return h.trend }},
	{Def: report.Def[lived]{Key: "limit", Name: "still wanted", Unit: quantity.InBar, Digits: 2,
		Of: func(h *lived) float64 { return h.limit }},
		note: func(h *lived) report.Sentence { return h.why }},
	{Def: report.Def[lived]{Key: "below_now", Name: "chance of being below", Unit: quantity.InPercent,
		Of: func(h *lived) float64 { return h.passing.Already }}},
	{Def: report.Def[lived]{Key: "below_in_30_years", Name: "within 30 years", Unit: quantity.InPercent, Indent: true,
		Of: func(h *lived) float64 { return h.passing.Probability }}},
	{Def: report.Def[lived]{Key: "passes", Name: "passes it", Short: true, Text: (*lived).passes},
		note: func(h *lived) report.Sentence { return report.Plain(h.passRange()) }},
	{Def: report.Def[lived]{Key: "lost_to_set", Name: "lost to set", Unit: quantity.InBar, Digits: 2,
		Of: func(h *lived) float64 { return h.course.Lost.Set.Value }},
		interval: func(h *lived) course.Estimate { return h.course.Lost.Set },
		note: func(h *lived) report.Sentence {
			if h.course.Lost.Extrapolated {
				return report.Say("rests on the law, not on readings")
			}
			return report.Sentence{}
		}},
	{Def: report.Def[lived]{Key: "scatter", Name: "scatter, one s.d.", Unit: quantity.InBar, Digits: 2,
		Of: func(h *lived) float64 { return h.course.Scatter.Value }},
		interval: func(h *lived) course.Estimate { return h.course.Scatter }},
	{Def: report.Def[lived]{Key: "law", Name: "law", Text: (*lived).laws}},
	{Def: report.Def[lived]{Key: "look_again", Name: "look again", Text: func(h *lived) string {
		if h.look.now {
			return "now"
		}
		return h.when(h.look.at).String()
	}}},
	{Def: report.Def[lived]{Key: "set_ln_factor", Name: "ln of the Bayes factor for set", DataOnly: true, Digits: 2,
		Of: func(h *lived) float64 { return h.course.LnBF.Set }}},
	{Def: report.Def[lived]{Key: "wear_ln_factor", Name: "ln of the Bayes factor for wear", DataOnly: true, Digits: 2,
		Of: func(h *lived) float64 { return h.course.LnBF.Wear }}},
	{Def: report.Def[lived]{Key: "step_ln_factor", Name: "ln of the Bayes factor for a step", DataOnly: true, Digits: 2,
		Of: func(h *lived) float64 { return h.course.LnBF.Step }}},
}

// addRows adds the rows that are known, with their intervals.
func (h *lived) addRows(r *report.Report) {
	for _, row := range historyRows {
		if row.known != nil && !row.known(h) {
			continue
		}
		made := report.Rows([]report.Def[lived]{row.Def}, h)[0]
		if row.interval != nil {
			made.Band = estimateBand(row.interval(h), made.Unit, made.Digits)
		}
		if row.note != nil {
			made.Note = row.note(h)
		}
		r.Rows = append(r.Rows, made)
	}
}

// estimateBand is an interval as the band of a row; nil where there is none.
func estimateBand(e course.Estimate, unit quantity.Display, digits int) *report.Band {
	const halves = 2 * 1.959963985 // standard deviations in a 95 % interval
	std := (e.High - e.Low) / halves
	if !(std > 0) {
		return nil
	}
	return &report.Band{Low: e.Low, High: e.High, Std: std, Known: max(0, min(digits, uncertain.Decimals(unit.Step(std))))}
}

// expected is the forecast for a time.
type expected struct {
	date string
	in   float64 // years from now [s]
	course.Forecast
}

var forecastCols = []report.Col[expected]{
	{Column: report.Column{Key: "date", Head: "date"}, Of: func(e *expected) any { return e.date }},
	{Column: report.Column{Key: "in", Head: "in", Unit: quantity.InYears, Digits: 0}, Of: func(e *expected) any { return e.in }},
	{Column: report.Column{Key: "peak", Head: "peak", Unit: quantity.InBar, Digits: 2}, Of: func(e *expected) any { return e.Course.Value }},
	{Column: report.Column{Key: "peak_low", Head: "2.5 %", Unit: quantity.InBar, Digits: 2}, Of: func(e *expected) any { return e.Course.Low }},
	{Column: report.Column{Key: "peak_high", Head: "97.5 %", Unit: quantity.InBar, Digits: 2}, Of: func(e *expected) any { return e.Course.High }},
	{Column: report.Column{Key: "reading_low", Head: "a reading from", Unit: quantity.InBar, Digits: 2}, Of: func(e *expected) any { return e.Reading.Low }},
	{Column: report.Column{Key: "reading_high", Head: "to", Unit: quantity.InBar, Digits: 2}, Of: func(e *expected) any { return e.Reading.High }},
	{Column: report.Column{Key: "basis", Head: "rests on"}, Of: func(e *expected) any {
		if e.Extrapolated {
			return "the laws"
		}
		return "readings"
	}},
}

// addForecast adds the chart over the years and the table of what is to come.
func (h *lived) addForecast(r *report.Report) error {
	var list []expected
	var times []float64
	for _, years := range []float64{1, 2, 3, 5, 10, 15, 20} {
		list = append(list, expected{in: years * course.Year})
		times = append(times, h.now+years*course.Year)
	}
	at, err := h.course.At(times...)
	if err != nil {
		return err
	}
	for i := range list {
		list[i].Forecast, list[i].date = at[i], h.when(times[i]).String()
	}
	r.Tables = append(r.Tables, report.Fill(report.Table{Key: "forecast", Title: "Forecast, averaged over the laws"}, forecastCols, list))
	chart, err := h.chart()
	r.Charts = append(r.Charts, chart)
	return err
}

// chart is the readings with the course, from the last of them on as a forecast, its
// band, and the repairs.
func (h *lived) chart() (report.Chart, error) {
	const points = 60
	from := h.life.Points[0].Time
	to := max(h.now, h.last.Time+min(max((h.last.Time-from)/3, 5*course.Year), 15*course.Year))
	times := []float64{h.last.Time}
	for i := range points + 1 {
		times = append(times, from+(to-from)*float64(i)/points)
	}
	c := report.Chart{Key: "years", Name: "peak pressure", Unit: quantity.InBar, XName: "date", XUnit: quantity.InYears}
	for _, w := range h.life.Works {
		if w.Time > from {
			times = append(times, w.Time-1, w.Time)
		}
		c.Marks = append(c.Marks, report.Mark{Name: w.Date.String() + " " + w.What, X: w.Time, Dated: true})
	}
	slices.Sort(times)
	at, err := h.course.At(times...)
	if err != nil {
		return c, err
	}
	band := &report.Area{Name: "95 % interval of a reading"}
	line, forecast := report.Series{Name: "by the laws"}, report.Series{Name: "forecast"}
	for i, f := range at {
		for _, s := range []struct {
			*report.Series
			here bool
		}{{&line, times[i] <= h.last.Time}, {&forecast, times[i] >= h.last.Time}} {
			if s.here {
				s.X, s.Y = append(s.X, times[i]), append(s.Y, f.Course.Value)
			}
		}
		band.X, band.Low, band.High = append(band.X, times[i]), append(band.Low, f.Reading.Low), append(band.High, f.Reading.High)
	}
	readings := report.Series{Name: "readings", Points: true}
	for _, p := range h.life.Points {
		readings.X, readings.Y = append(readings.X, p.Time), append(readings.Y, p.Value)
	}
	c.Series, c.Band = []report.Series{line, readings}, band
	if len(forecast.X) > 1 {
		c.Series = append(c.Series, forecast)
	}
	return c, nil
}

// brought is a repair with what it brought.
type brought struct {
	n          int
	date, what string
	*course.Brought
}

var repairCols = []report.Col[brought]{
	{Column: report.Column{Key: "repair", Head: "no."}, Of: func(b *brought) any { return float64(b.n) }},
	{Column: report.Column{Key: "date", Head: "date"}, Of: func(b *brought) any { return b.date }},
	{Column: report.Column{Key: "done", Head: "done"}, Of: func(b *brought) any { return b.what }},
	{Column: report.Column{Key: "before", Head: "before", Unit: quantity.InBar, Digits: 2}, Of: func(b *brought) any { return b.Before.Value }},
	{Column: report.Column{Key: "after", Head: "after", Unit: quantity.InBar, Digits: 2}, Of: func(b *brought) any {
		if !b.Read {
			return nil
		}
		return b.After.Value
	}},
	{Column: report.Column{Key: "brought", Head: "brought", Unit: quantity.InBar, Digits: 2}, Of: func(b *brought) any {
		if !b.Read {
			return nil
		}
		return report.Shown{Value: b.Change.Value, Text: report.Say("%s", report.Amount{Value: b.Change.Value, Unit: quantity.InBar, Digits: 2, Plus: true, Bare: true})}
	}},
	{Column: report.Column{Key: "brought_low", Head: "2.5 %", Unit: quantity.InBar, Digits: 2}, Of: func(b *brought) any { return b.when(b.Change.Low) }},
	{Column: report.Column{Key: "brought_high", Head: "97.5 %", Unit: quantity.InBar, Digits: 2}, Of: func(b *brought) any { return b.when(b.Change.High) }},
	{Column: report.Column{Key: "ln_factor", Head: "ln of the factor for a change", Digits: 1, Full: true}, Of: func(b *brought) any { return b.when(b.LnBF) }},
}

// when is a value of what a repair brought, where readings tell it.
func (b *brought) when(v float64) any {
	if !b.Read {
		return nil
	}
	return v
}

// repairTable says what each repair brought.
func (h *lived) repairTable() report.Table {
	var list []brought
	for i := range h.course.Repairs {
		b := &h.course.Repairs[i]
		w := h.life.Works[b.Repair]
		list = append(list, brought{b.Repair + 1, w.Date.String(), w.What, b})
	}
	slices.Reverse(list) // the short answer shows the last ones
	return report.Fill(report.Table{Key: "repairs", Title: "What each repair brought", Short: true, Top: 3}, repairCols, list)
}

// visited is a line of the table of visits.
type visited struct {
	h *lived
	v *sheet.Visit // nil for a reading of a list
	p *float64     // its peak [Pa]
	d sheet.Date
}

// read is a column of readings by the name of their key.
func read(name, head string, unit quantity.Display, digits int) report.Col[visited] {
	return report.Col[visited]{Column: report.Column{Key: name, Head: head, Unit: unit, Digits: digits}, Of: func(v *visited) any {
		if v.v == nil {
			return nil
		}
		if q, ok := v.h.m.Reading(v.v, name); ok {
			return q.Value
		}
		return nil
	}}
}

// text is a column of texts of visits.
func text(key, head string, of func(*sheet.Visit) string) report.Col[visited] {
	return report.Col[visited]{Column: report.Column{Key: key, Head: head}, Of: func(v *visited) any {
		if v.v == nil || of(v.v) == "" {
			return nil
		}
		return of(v.v)
	}}
}

var visitCols = []report.Col[visited]{
	{Column: report.Column{Key: "date", Head: "date"}, Of: func(v *visited) any { return v.d.String() }},
	{Column: report.Column{Key: "peak", Head: "peak", Unit: quantity.InBar, Digits: 2}, Of: func(v *visited) any {
		if v.p == nil {
			return nil
		}
		return *v.p
	}},
	read("end_pressure", "end", quantity.InBar, 2),
	read("yield", "yield", quantity.InG, 1),
	read("time", "time", quantity.InS, 1),
	read("handle_force", "handle force", quantity.InN, 0),
	read("free_length", "free length", quantity.InMM, 1),
	read("gauge_reading", "gauge showed", quantity.InBar, 2),
	read("gauge_true", "beside", quantity.InBar, 2),
	read("dose", "dose", quantity.InG, 1),
	read("brew_temperature", "water", quantity.InC, 0),
	read("boiler_pressure", "boiler", quantity.InBar, 2),
	text("done", "done", func(v *sheet.Visit) string { return sheet.FormatDone(v.Done) }),
	text("read", "read", func(v *sheet.Visit) string {
		if len(v.Done) == 0 {
			return ""
		}
		return map[bool]string{true: "before", false: "after"}[v.Before]
	}),
	text("note", "note", func(v *sheet.Visit) string { return v.Note }),
	text("log", "log", func(v *sheet.Visit) string { return v.Log }),
}

// visitTable lists all visits and the readings of a list, by date, without the
// columns that nobody filled.
func (h *lived) visitTable() report.Table {
	var lines []visited
	for i := range h.life.Visits {
		v := &h.life.Visits[i]
		lines = append(lines, visited{h: h, v: v, d: v.Date})
	}
	for i := range h.life.Points {
		p := &h.life.Points[i]
		if at := slices.IndexFunc(lines, func(l visited) bool { return l.v != nil && l.v.Table == p.Visit }); at >= 0 {
			lines[at].p = &p.Value
			continue
		}
		lines = append(lines, visited{h: h, p: &p.Value, d: p.Date})
	}
	slices.SortStableFunc(lines, func(a, b visited) int { return cmp.Compare(a.d.Time(), b.d.Time()) })
	cols := slices.DeleteFunc(slices.Clone(visitCols), func(c report.Col[visited]) bool {
		return !slices.ContainsFunc(lines, func(l visited) bool { return c.Of(&l) != nil })
	})
	return report.Fill(report.Table{Key: "visits", Title: "Visits"}, cols, lines)
}

var lawCols = []report.Col[course.Fit]{
	{Column: report.Column{Key: "law", Head: "law"}, Of: func(f *course.Fit) any { return f.Law.String() }},
	{Column: report.Column{Key: "weight", Head: "weight", Unit: quantity.InPercent, Digits: 1}, Of: func(f *course.Fit) any { return f.Weight }},
	{Column: report.Column{Key: "set", Head: "lost a tenfold of age", Unit: quantity.InBar, Digits: 2}, Of: func(f *course.Fit) any { return part(f, course.Set, f.Set) }},
	{Column: report.Column{Key: "wear", Head: "lost a year", Unit: quantity.InBar, Digits: 3}, Of: func(f *course.Fit) any { return part(f, course.Wear, f.Wear) }},
	{Column: report.Column{Key: "step", Head: "step", Unit: quantity.InBar, Digits: 2}, Of: func(f *course.Fit) any { return part(f, course.Step, f.Step) }},
	{Column: report.Column{Key: "step_at", Head: "when"}, Of: func(f *course.Fit) any {
		if f.Law&course.Step == 0 || f.StepAt == (course.Estimate{}) {
			return nil
		}
		d := sheet.DateAt(f.StepAt.Value)
		return sheet.Date{Year: d.Year, Month: d.Month}.String()
	}},
}

// part is what a part of a law takes, where the law has it.
func part(f *course.Fit, p course.Law, e course.Estimate) any {
	if f.Law&p == 0 || e == (course.Estimate{}) {
		return nil
	}
	return e.Value
}

// lawTable lists the laws with their weights.
func (h *lived) lawTable() report.Table {
	return report.Fill(report.Table{Key: "laws", Title: "Laws, by how probable the readings make them"}, lawCols, h.course.Fits)
}

// off is a reading that stands off.
type off struct {
	date  string
	value float64 // [Pa]
	course.StandsOff
}

var offCols = []report.Col[off]{
	{Column: report.Column{Key: "date", Head: "date"}, Of: func(o *off) any { return o.date }},
	{Column: report.Column{Key: "peak", Head: "peak", Unit: quantity.InBar, Digits: 2}, Of: func(o *off) any { return o.value }},
	{Column: report.Column{Key: "off", Head: "off by", Unit: quantity.InBar, Digits: 2}, Of: func(o *off) any { return o.Off.Value }},
	{Column: report.Column{Key: "probability", Head: "misread, probability", Unit: quantity.InPercent}, Of: func(o *off) any { return o.Probability }},
}

// offTable lists the readings that no law follows.
func (h *lived) offTable() report.Table {
	var list []off
	for i, p := range h.standsOff() {
		list = append(list, off{p.Date.String(), p.Value, h.course.StandsOff[i]})
	}
	return report.Fill(report.Table{Key: "stands_off", Title: "Readings that stand off"}, offCols, list)
}

// notes say what the numbers of a history are.
func (h *lived) notes(r *report.Report) {
	r.Note("the peak and its forecast are averages over eight laws (set by log-time, wear, a step, and what combines them), each with the weight that the readings give it; no further repair or break is foreseen")
	r.Note("how probable a law is beforehand, and the sizes that it may have, are judgement: set %s, wear %s, a step %s",
		report.Of(course.DefaultPrior.Set, quantity.InPercent, 0), report.Of(course.DefaultPrior.Wear, quantity.InPercent, 0), report.Of(course.DefaultPrior.Step, quantity.InPercent, 0))
	r.Note("pressures are as the machine's gauge showed them; two readings of one gauge are onTwoDates without what is common to both, its gain and zero")
	r.Note("when to look again is judgement: when the low end of the forecast meets what is still wanted, but within %s of the last reading, or %s where there are fewer than three",
		lookTimes[latest], lookTimes[latestFew])
}
