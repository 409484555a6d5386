package answer

import (
	"fmt"
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/spring"
)

// benchConfidence is that of the intervals of what readings tell.
const benchConfidence = 0.95

// mostWear is the share of its diameter that a wire may lose and still be told as
// worn; one that has lost more would have broken. It is a judgement.
const mostWear = 0.15

// compared is a spring on the bench beside the one of the sheet.
type compared struct {
	*springAnswer
	p     *springResult
	b     spring.Bench
	lines []benchLine
}

// benchLine is a quantity by the sheet and on the bench.
type benchLine struct {
	name         string
	sheet, bench report.Sentence
	interval     report.Sentence
	difference   report.Sentence
}

var benchCols = []report.Col[benchLine]{
	{Column: report.Column{Key: "what", Head: ""}, Of: func(l *benchLine) any { return l.name }},
	{Column: report.Column{Key: "sheet", Head: "sheet"}, Of: func(l *benchLine) any { return l.sheet }},
	{Column: report.Column{Key: "bench", Head: "bench"}, Of: func(l *benchLine) any { return l.bench }},
	{Column: report.Column{Key: "interval", Head: "95 % interval"}, Of: func(l *benchLine) any { return l.interval }},
	{Column: report.Column{Key: "difference", Head: "difference"}, Of: func(l *benchLine) any { return l.difference }},
}

// bench says how far a spring is from what the sheet says. The readings are those
// of the outer spring by itself.
func (a *springAnswer) bench() error {
	b, err := spring.FitBench(a.Bench)
	if err != nil {
		return fmt.Errorf("--bench: %s", machine.WithoutPackage(err))
	}
	c := compared{springAnswer: a, p: a.parts[0], b: b}
	for i := range a.Rows { // the short answer is the comparison
		a.Rows[i].Short = false
	}
	for i := range a.Tables {
		a.Tables[i].Short = false
	}
	rate := c.rate()
	free, next := c.free()
	loads := c.loads()
	a.Answer = slices.Concat(a.Find.sentence(a.Report), []report.Sentence{free, rate, loads}, a.verdict)
	a.Next = append(next, a.Next...)
	a.Rows = append(a.Rows,
		report.Row{Key: "bench_readings", Name: "readings on the bench", Value: float64(b.Readings)},
		report.Row{Key: "bench_scatter", Name: "scatter of the readings", Value: b.Scatter, Unit: quantity.InN, Digits: 1})
	a.Tables = append([]report.Table{report.Fill(report.Table{Key: "bench", Title: "On the bench, beside the sheet", Short: true}, benchCols, c.lines)}, a.Tables...)
	readings := report.Series{Name: "bench", Points: true}
	for _, p := range a.Bench {
		readings.X, readings.Y = append(readings.X, p.Length), append(readings.Y, p.Load)
	}
	if chart := &a.Charts[0]; chart.XName == "length" {
		chart.Series = append(chart.Series, readings)
	} else {
		a.Charts = nil // without lengths there is no line to compare with
	}
	c.doubts()
	return nil
}

// doubts are those of the readings; they come first.
func (c *compared) doubts() {
	var all []report.Sentence
	if c.b.Readings == 2 {
		all = append(all, report.Plain("Two readings make a line but cannot show how good it is: take three or more."))
	}
	if c.b.Outlier > 0 {
		all = append(all, report.Say("A reading lies %s off the line, over 2 %% of the highest load: misread, an end coil closing, coils touching, or friction.", report.Of(c.b.Outlier, quantity.InN, 0)))
	}
	if len(c.parts) > 1 {
		all = append(all, report.Plain("The bench readings are taken as those of the outer spring by itself."))
	}
	c.Doubts = append(all, c.Doubts...)
}

// line adds what the readings tell of one quantity, of which the sheet may say nothing.
func (c *compared) line(key, name string, unit quantity.Display, digits int, sheet *float64, e spring.Estimate, difference report.Sentence) {
	of := func(v float64) report.Amount { return report.Of(v, unit, digits) }
	row := report.Row{Key: "bench_" + key, Name: name + " on the bench", Value: e.Value, Unit: unit, Digits: digits}
	l := benchLine{name: name, bench: report.Say("%s", of(e.Value)), difference: difference}
	if sheet != nil {
		l.sheet = report.Say("%s", of(*sheet))
	}
	if c.b.Readings > 2 {
		row.Band = &report.Band{Low: e.Low, High: e.High, Std: e.SE, Known: digits}
		low, high := of(e.Low), of(e.High)
		low.Bare, high.Bare = true, true
		l.interval = report.Say("%s to %s", low, high)
	}
	c.Rows, c.lines = append(c.Rows, row), append(c.lines, l)
}

// changed is a change as a share, with its sign.
func changed(change float64) report.Sentence {
	a := report.Of(change, quantity.InPercent, 1)
	a.Plus = true
	return report.Say("%s", a)
}

// std is the standard uncertainty of a row of the sheet [SI].
func (c *compared) std(key string) float64 { return c.spread.Std(c.p.key(key)) }

// rate compares the rates.
func (c *compared) rate() report.Sentence {
	e, err := c.b.RateInterval(benchConfidence)
	if err != nil {
		panic(err) // the confidence is a constant
	}
	was := c.p.line.Rate
	change := e.Value/was - 1
	off := 2 * math.Hypot(c.std("rate"), e.SE) / was
	c.line("rate", "rate R", quantity.InNPerMM, 2, &was, e, changed(change))
	switch {
	case math.Abs(change) <= off:
		return report.Say("Its rate is %sthe sheet's, within the ± %s that sheet and readings leave open: not worn.", aboveBelow(change), report.Of(off, quantity.InPercent, 1))
	case change < 0:
		return report.Say("Its rate is %sthe sheet's%s: set does not do that. %s", aboveBelow(change), leftOpen(off), c.worn())
	}
	return report.Say("Its rate is %sthe sheet's%s; age does not do that: fewer coils move than were counted, coils touch, the wire is thicker or of another grade, or the scale reads high.", aboveBelow(change), leftOpen(off))
}

// leftOpen says how a change compares with what is uncertain, as a share.
func leftOpen(off float64) report.Sentence {
	if off == 0 {
		return report.Say("; no ± is known of either")
	}
	return report.Say(", more than the ± %s that sheet and readings leave open", report.Of(off, quantity.InPercent, 1))
}

// aboveBelow words a small change, before what it is a change of.
func aboveBelow(change float64) report.Sentence {
	word := "over"
	switch {
	case math.Abs(change) < 0.0005:
		return report.Sentence{}
	case change < 0:
		word = "under"
	}
	return report.Say("%s %s ", report.Of(math.Abs(change), quantity.InPercent, 1), word)
}

// worn says what loss of wire explains a low rate, which goes as d⁴.
func (c *compared) worn() report.Sentence {
	share := 1 - math.Pow(c.b.Rate/c.p.line.Rate, 0.25)
	if share > mostWear {
		return report.Say("It is too low for worn wire: a coil is broken, or this is another spring.")
	}
	loss := report.Say("%s of the wire's diameter", report.Of(share, quantity.InPercent, 1))
	if c.p.coiled {
		loss = report.Say("%s, %s", report.Of(share*c.p.us.Wire, quantity.InMM, 2), loss)
	}
	return report.Say("As wear or rust it would be %s; or more coils move than were counted, or the wire is of another grade.", loss)
}

// free compares the free lengths, and says whether the difference can be shimmed.
func (c *compared) free() (told report.Sentence, next []report.Sentence) {
	e, err := c.b.FreeInterval(benchConfidence)
	if err != nil {
		panic(err) // the confidence is a constant
	}
	if !c.p.coiled {
		c.line("free_length", "free length L0", quantity.InMM, 1, nil, e, report.Sentence{})
		return report.Say("On the bench the spring is %s long when free.", report.Of(e.Value, quantity.InMM, 1)), nil
	}
	set := c.p.us.Free - e.Value
	off := 2 * math.Hypot(c.std("free_length"), e.SE)
	mm := func(v float64) report.Amount { return report.Of(v, quantity.InMM, 1) }
	difference := mm(-set)
	difference.Plus = true
	c.line("free_length", "free length L0", quantity.InMM, 1, &c.p.us.Free, e, report.Say("%s", difference))
	switch {
	case math.Abs(set) <= off:
		return report.Say("On the bench the free length is that of the sheet within ± %s: it has not set.", mm(off)), nil
	case set < 0:
		return report.Say("On the bench the spring is %s longer than its sheet says: the sheet is of another spring, or a length is read from the wrong place.", mm(-set)), nil
	}
	row := report.Row{Key: "set", Name: "set", Value: set, Unit: quantity.InMM, Digits: 1, Band: &report.Band{Low: set - off, High: set + off, Std: off / 2, Known: 1}}
	c.Rows = append(c.Rows, row)
	return report.Say("On the bench the spring is %s shorter than by its sheet (± %s): it has set.", mm(set), mm(off)), []report.Sentence{c.shim(set)}
}

// shim says whether what has set can be given back at the seat.
func (c *compared) shim(set float64) report.Sentence {
	p := c.p
	mm := func(v float64) report.Amount { return report.Of(v, quantity.InMM, 1) }
	shimmed := p.working.Cocked - set
	if shimmed <= p.us.SolidLength() {
		return report.Say("A shim of that height is not allowed: the coils would touch before the lever is cocked.")
	}
	left := report.Say("a shim of %s would restore the force and leave %s between the coils when cocked", mm(set), mm(shimmed-p.us.SolidLength()))
	switch {
	case c.Row(p.key("gap_cocked")) == nil:
		return report.Say("%s.", left)
	case shimmed < p.gaps.Shortest:
		most := p.working.Cocked - p.gaps.Shortest
		if most <= 0 {
			return report.Say("%s, less than the %s that EN 13906-1 asks: no shim is allowed, replace the spring.", left, mm(p.gaps.Required))
		}
		return report.Say("%s, less than the %s that EN 13906-1 asks: allowed are %s at most.", left, mm(p.gaps.Required), mm(most))
	}
	return report.Say("%s, where EN 13906-1 asks for %s: allowed.", left, mm(p.gaps.Required))
}

// loads compares the loads at rest and cocked, for which the installed length must
// be known.
func (c *compared) loads() report.Sentence {
	p := c.p
	newtons := func(v float64) report.Amount { return report.Of(v, quantity.InN, 0) }
	if !p.coiled {
		at := c.b.Free - p.line.Preload/c.b.Rate
		return report.Say("The sheet has no installed length, so loads are not compared: on the bench it bears the %s of the sheet at a length of %s.", newtons(p.line.Preload), report.Of(at, quantity.InMM, 1))
	}
	var told report.Sentence
	for _, at := range []struct {
		key, name    string
		length, load float64 // [m], [N] by the sheet
	}{
		{"load_rest", "load at rest F1", p.working.Rest, p.line.Force(0)},
		{"load_cocked", "load cocked F2", p.working.Cocked, p.line.Force(p.stroke)},
	} {
		e, err := c.b.Preload(at.length, benchConfidence)
		if err != nil || at.load == 0 {
			continue
		}
		change := e.Value/at.load - 1
		c.line(at.key, at.name, quantity.InN, 0, &at.load, e, changed(change))
		told = report.Say("Cocked it bears %s, %sthe sheet's %s.", newtons(e.Value), aboveBelow(change), newtons(at.load))
	}
	return told
}
