package answer

import (
	"errors"
	"fmt"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// orderSheet is what a winder needs of a choice.
func (t *task) orderSheet(c *replace.Choice, quality spring.Grade) (*report.Report, error) {
	if len(c.Parts) > 1 {
		return nil, fmt.Errorf("an order sheet is for one spring, and this is a nest of %d: order each by its own sheet (of the springs that are there, --copy --only outer and --copy --only inner)", len(c.Parts))
	}
	if p := &c.Parts[0]; p.Coil.Wire == 0 || p.Wire == nil {
		return nil, errors.New("an order sheet needs wire, a coil diameter, coils, ends, grade and free length of the spring, and only rate and lengths are known: state them under [spring], or in the list of --candidates")
	}
	d, err := t.job.Draw(&c.Parts[0], quality)
	if err != nil {
		return nil, plainErr(err)
	}
	r := newReport("replace", t.m)
	r.Title, r.Main = "Compression spring, order sheet: "+t.m.Name(), "order"
	r.Caution = cautionSpring
	r.Answer = []report.Sentence{report.Say("Cold coiled compression spring of round wire: %s.", windersWords(c))}
	r.Rows = report.Rows(orderDefs, d)
	r.Tables = []report.Table{t.orderTable(d), sketch(d)}
	r.Sketches = []report.Sketch{scaled(d)}
	r.Next = t.orderNotes(d)
	r.Doubts = append(report.Tolds(d.Doubts), r.Doubts...)
	r.Doubt("The buyer answers for what the spring is fitted to: check latch, pivots and housing for its load.")
	t.addDoubts(r)
	return r, nil
}

// orderDefs are the spring of an order sheet as the machine sheet describes one, so
// that springcalc spring reads what is ordered here.
var orderDefs = []report.Def[replace.Drawing]{
	{Key: "grade", Name: "grade of the wire", Text: func(d *replace.Drawing) string { return d.Wire.Grade }},
	{Key: "ends", Name: "ends", Text: func(d *replace.Drawing) string { return inWords(d.Coil.Ends) }},
	{Key: "wire", Name: "wire diameter", Unit: quantity.InMM, Digits: 3, Of: func(d *replace.Drawing) float64 { return d.Coil.Wire }},
	{Key: "outside_diameter", Name: "outside diameter", Unit: quantity.InMM, Digits: 2, Of: func(d *replace.Drawing) float64 { return d.Outer }},
	{Key: "active_coils", Name: "active coils", Digits: 2, Of: func(d *replace.Drawing) float64 { return d.Coil.Active }},
	{Key: "total_coils", Name: "total coils", Digits: 2, Of: func(d *replace.Drawing) float64 { return d.Coil.Total }},
	{Key: "free_length", Name: "free length", Unit: quantity.InMM, Digits: 1, Of: func(d *replace.Drawing) float64 { return d.Coil.Free }},
	{Key: "installed_length", Name: "length at rest", Unit: quantity.InMM, Digits: 1, Of: func(d *replace.Drawing) float64 { return d.Rest.Length }},
	{Key: "cocked_length", Name: "length when cocked", Unit: quantity.InMM, Digits: 1, Of: func(d *replace.Drawing) float64 { return d.Cocked.Length }},
	{Key: "rate", Name: "rate", Unit: quantity.InNPerMM, Digits: 2, Of: func(d *replace.Drawing) float64 { return d.Rate }},
	{Key: "rest", Name: "load at rest, at 20 °C", Unit: quantity.InN, Of: func(d *replace.Drawing) float64 { return d.Rest.Force }},
	{Key: "cocked", Name: "load when cocked, at 20 °C", Unit: quantity.InN, Of: func(d *replace.Drawing) float64 { return d.Cocked.Force }},
	{Key: "tensile", Name: "tensile strength of the wire, at least", Unit: quantity.InMPa, Of: func(d *replace.Drawing) float64 { return d.Wire.Tensile }},
	{Key: "rest_stress", Name: "stress at L1, uncorrected", Unit: quantity.InMPa, Of: func(d *replace.Drawing) float64 { return d.Rest.Stress }},
	{Key: "cocked_stress", Name: "stress at L2, uncorrected", Unit: quantity.InMPa, Of: func(d *replace.Drawing) float64 { return d.Cocked.Stress }},
	{Key: "solid_stress", Name: "stress pressed solid, uncorrected", Unit: quantity.InMPa, Of: func(d *replace.Drawing) float64 { return d.Solid.Stress }},
	{Key: "grown", Name: "outside diameter when solid, to allow for", Unit: quantity.InMM, Digits: 2, Of: func(d *replace.Drawing) float64 { return d.Grown }},
	{Key: "quality", Name: "quality of EN 15800", Of: func(d *replace.Drawing) float64 { return float64(d.Quality) }},
}

// orderLine is a line of an order sheet.
type orderLine struct {
	symbol, term string
	value, by    report.Sentence
	standing     string
}

var orderedCols = []report.Col[orderLine]{
	{Column: report.Column{Key: "symbol", Head: ""}, Of: func(o *orderLine) any { return o.symbol }},
	{Column: report.Column{Key: "term", Head: "EN 13906-1, EN 15800"}, Of: func(o *orderLine) any { return o.term }},
	{Column: report.Column{Key: "value", Head: "value"}, Of: func(o *orderLine) any { return o.value }},
	{Column: report.Column{Key: "tolerance", Head: "tolerance"}, Of: func(o *orderLine) any { return o.by }},
	{Column: report.Column{Key: "standing", Head: "standing"}, Of: func(o *orderLine) any { return o.standing }},
}

// itemUnits are the units that an item of a drawing is printed in, and the digits.
var itemUnits = map[string]struct {
	unit   quantity.Display
	digits int
}{"m": {quantity.InMM, 1}, "N": {quantity.InN, 0}, "N/m": {quantity.InNPerMM, 2}, "Pa": {quantity.InMPa, 0}, "kg": {quantity.InG, 0}}

// finer are the items that are known to a hundredth of a millimetre.
var finer = map[string]bool{"d": true, "De": true, "Di": true, "D": true, "e1": true, "e2": true}

// toFillIn is a line to fill in by hand.
const toFillIn = "____________"

// orderTable is all that binds, is for reference, or follows.
func (t *task) orderTable(d *replace.Drawing) report.Table {
	text := func(symbol, term, value string, standing replace.Standing) orderLine {
		return orderLine{symbol: symbol, term: term, value: report.Plain(value), standing: standing.String()}
	}
	lines := []orderLine{
		text("", "wire", d.Wire.Grade, replace.Binding),
		text("", "ends", inWords(d.Coil.Ends), replace.Binding),
		text("", "hand of winding", "either", replace.Reference),
		text("", "preset", yesNo(d.Wire.Preset), replace.Binding),
		text("", "shot peened", yesNo(d.Wire.Peened), replace.Binding),
		text("", "tolerances by EN 15800", fmt.Sprintf("quality %d", d.Quality), replace.Binding),
	}
	for _, i := range d.Items {
		lines = append(lines, orderedItem(i))
	}
	if d.Cycles > 0 {
		lines = append(lines, text("N", "load cycles between L1 and L2", fmt.Sprintf("%.2g", d.Cycles), replace.Binding))
	}
	lines = append(lines,
		orderLine{"T", "working temperature", report.Say("%s", report.Of(d.Hottest+273.15, quantity.InC, 0)), report.Sentence{}, replace.Binding.String()},
		text("", "medium", "air, steam, hot water", replace.Binding),
		orderLine{term: "quantity, pieces", value: report.Plain(toFillIn)},
		orderLine{term: "date", value: report.Plain(toFillIn)},
		orderLine{term: "ordered by", value: report.Plain(toFillIn)},
		orderLine{term: "winder", value: report.Plain(toFillIn)},
	)
	return report.Fill(report.Table{Key: "order", Title: "For: " + t.m.Name(), Short: true}, orderedCols, lines)
}

// orderedItem is a number of the drawing with its tolerance.
func orderedItem(i replace.Item) orderLine {
	o := orderLine{symbol: i.Symbol, term: i.Term, standing: i.Standing.String()}
	u, ok := itemUnits[i.Unit]
	if !ok {
		o.value = report.Plain(coilCount(i.Value))
		return o
	}
	if finer[i.Symbol] {
		u.digits = 2
	}
	o.value = report.Say("%s", report.Of(i.Value, u.unit, u.digits))
	if i.By > 0 && i.Symbol != "R" { // the rate has none of its own: see the notes
		digits := u.digits
		if i.Symbol == "d" {
			digits = 3
		}
		o.by = report.Say("± %s", report.Of(i.By, u.unit, digits))
	}
	return o
}

// orderNotes are what the numbers do not say.
func (t *task) orderNotes(d *replace.Drawing) []report.Sentence {
	mm := func(v float64) report.Amount { return report.Of(v, quantity.InMM, 1) }
	n := func(v float64) report.Amount { return report.Of(v, quantity.InN, 0) }
	hot := report.Of(d.Hottest+273.15, quantity.InC, 0)
	w := d.Wire
	notes := []report.Sentence{
		report.Plain("Binding: both loads at their lengths, the ends, and the fit in bore and over rod. Free length, coils and wire within its tolerance are for reference: adjust them to meet the loads."),
		report.Say("Loads are at %s: %s at L1. At work, at %s, they are %s lower, %s at L1; the design allows for that.",
			report.Of(293.15, quantity.InC, 0), n(d.Rest.Force), hot, report.Of(1-d.Rest.Hot/d.Rest.Force, quantity.InPercent, 1), n(d.Rest.Hot)),
	}
	if s := &t.job.Space; s.Rod > 0 {
		notes = append(notes, report.Say("Works in a bore of %s over a rod of %s.", mm(s.Bore), mm(s.Rod)))
	} else {
		notes = append(notes, report.Say("Works in a bore of %s.", mm(s.Bore)))
	}
	if d.RateBy > 0 {
		loads, wire := report.Of(d.RateBy, quantity.InPercent, 0), report.Of(d.WireBy, quantity.InPercent, 0)
		s := report.Say("d and De within theirs hold it to ± %s with the coils as drawn, closer than the two loads do (± %s).", wire, loads)
		if d.WireBy > d.RateBy {
			s = report.Say("The two loads hold it to ± %s, closer than d and De within theirs (± %s with the coils as drawn): make up for that with coils and free length.", loads, wire)
		}
		notes = append(notes, report.Say("The rate has no tolerance of its own. %s", s))
	}
	notes = append(notes, report.Say("Load test of every piece: press once to %s, then measure both loads while pressing.", mm(max(d.Least.Length, d.Solid.Length))))
	if d.Tip > 0 {
		notes = append(notes, report.Say("Ends ground flat over three quarters of a turn or more, the tip about %s thick (common practice).", mm(d.Tip)))
	}
	if w.Peened {
		notes = append(notes, report.Plain("Shot peen all over, coverage 98 % or more (common practice), before any presetting."))
	}
	if w.Preset {
		notes = append(notes, report.Plain("Preset: press solid until it shortens no further. The free length is that after presetting."))
	}
	return append(notes,
		report.Say("Strength judged by: %s; pressed solid, cold, by: %s.", w.Cocked.Criterion.Name(), w.Solid.Criterion.Name()),
		report.Plain("Deburr the ends; protection against corrosion, finish and lubricant fit for hot water and food."))
}

// sketch draws a spring with the symbols of its dimensions; it is not to scale.
func sketch(d *replace.Drawing) report.Table {
	type line struct{ text report.Sentence }
	coils := strings.Repeat("/\\", 10)
	mm := func(v float64, digits int) report.Amount { return report.Of(v, quantity.InMM, digits) }
	lines := []line{
		{report.Plain("┌─" + coils + "─┐ ┬")},
		{report.Say("│ %s │ │ De %s, wire d %s", coils, mm(d.Outer, 2), mm(d.Coil.Wire, 2))},
		{report.Plain("└─" + coils + "─┘ ┴")},
		{report.Say("├──────────────────────┤ L0 %s, no load", mm(d.Coil.Free, 1))},
		{report.Say("├──────────────────┤ L1 %s under F1 %s", mm(d.Rest.Length, 1), report.Of(d.Rest.Force, quantity.InN, 0))},
		{report.Say("├───────────────┤ L2 %s under F2 %s", mm(d.Cocked.Length, 1), report.Of(d.Cocked.Force, quantity.InN, 0))},
		{report.Say("├───────────┤ Lc at most %s, solid", mm(d.Solid.Length, 1))},
	}
	return report.Fill(report.Table{Key: "sketch", Title: "Sketch, not to scale", Short: true}, []report.Col[line]{
		{Column: report.Column{Key: "line"}, Of: func(l *line) any { return l.text }},
	}, lines)
}

// scaled is the spring of an order sheet, to be drawn to scale.
func scaled(d *replace.Drawing) report.Sketch {
	s := sketchOf(&d.Coil)
	s.Order = true
	s.Lengths = []report.SketchedState{
		{Name: "free", Symbol: "L0", Length: d.Coil.Free},
		{Name: "at rest", Symbol: "L1", Length: d.Rest.Length, Force: d.Rest.Force},
		{Name: "cocked", Symbol: "L2", Length: d.Cocked.Length, Force: d.Cocked.Force},
		{Name: "solid", Symbol: "Lc", Length: d.Solid.Length, Force: d.Solid.Force},
	}
	return s
}
