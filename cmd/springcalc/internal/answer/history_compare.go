package answer

import (
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/course"
)

// onTwoDates is a kind of reading on two dates.
type onTwoDates struct {
	name   string // of its key
	head   string
	unit   quantity.Display
	digits int
	gauge  bool // read off the machine's gauge, whose gain and zero both have
	like   bool // of a shot, so that dose and water should be the same

	before, after machine.Told
	course.Difference
}

var comparable = []onTwoDates{
	{name: "peak", head: "peak pressure", unit: quantity.InBar, digits: 2, gauge: true},
	{name: "end_pressure", head: "end pressure", unit: quantity.InBar, digits: 2, gauge: true},
	{name: "yield", head: "yield", unit: quantity.InG, digits: 1, like: true},
	{name: "time", head: "total time", unit: quantity.InS, digits: 1, like: true},
	{name: "handle_force", head: "handle force", unit: quantity.InN, digits: 0},
	{name: "free_length", head: "free length", unit: quantity.InMM, digits: 1},
}

// comparisonCols are those of a table of mixed units, as render.Compare has them.
var comparisonCols = []report.Col[onTwoDates]{
	{Column: report.Column{Key: "quantity"}, Of: func(c *onTwoDates) any { return c.head }},
	{Column: report.Column{Key: "before", Head: "before"}, Of: func(c *onTwoDates) any { return c.cell(c.before.Value) }},
	{Column: report.Column{Key: "after", Head: "after"}, Of: func(c *onTwoDates) any { return c.cell(c.after.Value) }},
	{Column: report.Column{Key: "change", Head: "change"}, Of: func(c *onTwoDates) any {
		return report.Say("%s", report.Amount{Value: c.Change.Value, Unit: c.unit, Digits: c.digits, Plus: true, Step: true})
	}},
	{Column: report.Column{Key: "interval", Head: "95 % interval"}, Of: func(c *onTwoDates) any {
		return report.Say("%s to %s", c.amount(c.Change.Low), c.amount(c.Change.High))
	}},
	{Column: report.Column{Key: "alone", Head: "± if nothing were common"}, Of: func(c *onTwoDates) any {
		return report.Say("%s", report.Amount{Value: 1.959963985 * c.Separate, Unit: c.unit, Digits: c.digits, Step: true})
	}},
	{Column: report.Column{Key: "verdict", Head: ""}, Of: func(c *onTwoDates) any {
		if c.Different {
			return "differs"
		}
		return "within the ±"
	}},
	{Column: report.Column{Key: "before_date", Head: "read", Full: true}, Of: func(c *onTwoDates) any { return c.before.Visit.Date.String() }},
	{Column: report.Column{Key: "after_date", Head: "and", Full: true}, Of: func(c *onTwoDates) any { return c.after.Visit.Date.String() }},
}

func (c *onTwoDates) cell(v float64) any { return report.Say("%s", report.Of(v, c.unit, c.digits)) }

func (c *onTwoDates) amount(v float64) report.Amount {
	return report.Amount{Value: v, Unit: c.unit, Digits: c.digits, Plus: true, Step: true, Bare: true}
}

// addComparison sets what was read up to a date beside what was read since. Where
// all was read on that one date, its first visit stands beside its last.
func (h *lived) addComparison(r *report.Report, date sheet.Date) error {
	visits := h.life.Visits
	split := len(visits) - len(slices.DeleteFunc(slices.Clone(visits), func(v sheet.Visit) bool { return !v.Date.After(date) }))
	if split == len(visits) {
		split = slices.IndexFunc(visits, func(v sheet.Visit) bool { return !date.After(v.Date) }) + 1
	}
	if split <= 0 || split >= len(visits) {
		return sheet.Usef("--compare %s: want a date that has visits up to it and others after it, or several of its own", date)
	}
	var list []onTwoDates
	unlike := false
	for _, c := range comparable {
		var ok, ok2 bool
		c.before, ok = h.newestOf(visits[:split], c.name)
		c.after, ok2 = h.newestOf(visits[split:], c.name)
		if !ok || !ok2 {
			continue
		}
		if err := h.compare(&c); err != nil {
			return err
		}
		for _, name := range []string{"dose", "brew_temperature", "boiler_pressure"} {
			a, _ := h.m.Reading(&c.before.Visit, name)
			b, _ := h.m.Reading(&c.after.Visit, name)
			unlike = unlike || c.like && a.Value != b.Value
		}
		list = append(list, c)
	}
	if len(list) == 0 {
		return sheet.Usef("--compare %s: no kind of reading was taken both up to then and after it", date)
	}
	r.Tables = append(r.Tables, report.Fill(report.Table{Key: "comparison", Title: "Before and after", Short: true}, comparisonCols, list))
	for _, c := range list {
		row := func(key, name string, v float64, band *report.Band) {
			r.Rows = append(r.Rows, report.Row{Key: c.name + "_" + key, Name: c.head + ", " + name, Value: v, Unit: c.unit, Digits: c.digits, Band: band, DataOnly: true})
		}
		row("before", "before", c.before.Value, nil)
		row("after", "after", c.after.Value, nil)
		row("change", "change", c.Change.Value, estimateBand(c.Change, c.unit, c.digits))
	}
	var done []string
	for _, v := range visits[split:] {
		if len(v.Done) > 0 {
			done = append(done, sheet.FormatDone(v.Done)+" ("+v.Date.String()+")")
		}
	}
	first := &list[0]
	said := report.Say("From %s to %s the %s changed by %s (%s to %s)", first.before.Visit.Date, first.after.Visit.Date, first.head,
		report.Amount{Value: first.Change.Value, Unit: first.unit, Digits: first.digits, Plus: true, Step: true}, first.amount(first.Change.Low), first.amount(first.Change.High))
	if len(done) > 0 {
		said = report.Say("%s; done: %s", said, strings.Join(done, ", "))
	}
	r.Answer = append(r.Answer, report.Say("%s.", said))
	if unlike {
		r.Doubt("dose or water were not the same on both dates: yield and time differ by that too")
	}
	r.Note("of a difference what is common to both readings cancels: zero and gain of a gauge that stayed, the bore, the scale; without a stated ± the readings have that of usual tools, and the time that of like shots")
	return nil
}

// newestOf returns the last reading of a kind, whatever was done since.
func (h *lived) newestOf(visits []sheet.Visit, name string) (machine.Told, bool) {
	for _, v := range slices.Backward(visits) {
		if q, ok := h.m.Reading(&v, name); ok {
			return machine.Told{Name: name, Path: v.Table + "." + name, Visit: v, Quantity: q}, true
		}
	}
	return machine.Told{}, false
}

// compare works out a difference and its ±.
func (h *lived) compare(c *onTwoDates) (err error) {
	side := func(t machine.Told) course.Side {
		u := t.Sigma()
		if u == 0 {
			u = machine.ToolU(t.Name)
		}
		if c.name == "time" {
			u = math.Hypot(u, shotScatter().Std*t.Value)
		}
		return course.Side{Value: t.Value, U: u}
	}
	a, b := side(c.before), side(c.after)
	if c.gauge {
		c.Difference, err = compareByGauge(a, b, machine.GaugeChanged(h.life.Visits, c.before.Visit, c.after.Visit))
		return err
	}
	c.Difference, err = course.Compare(a, b, course.Common{})
	return err
}
