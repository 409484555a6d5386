package main

import (
	"fmt"
	"math"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/spring"
)

// benchConfidence is that of the intervals of what readings tell.
const benchConfidence = 0.95

// comparison sets a spring on the bench beside what the sheet says of it.
type comparison struct {
	Sheet *member
	Bench spring.Bench
	table tableData
	rows  []row
	words []string
}

// addBench says how far a spring is from what the sheet says. The readings are
// those of the outer spring by itself.
func addBench(r *report, springs []member, b spring.Bench) {
	c := comparison{Sheet: &springs[0], Bench: b, table: tableData{Key: "bench", Title: "On the bench, beside the sheet", Columns: []column{
		{Key: "what", Head: "what"}, {Key: "unit", Head: "unit"}, {Key: "sheet", Head: "sheet"}, {Key: "bench", Head: "bench"},
		{Key: "standard_error", Head: "std. error"}, {Key: "low", Head: "95 %, low"}, {Key: "high", Head: "high"}, {Key: "difference", Head: "difference"}}}}
	c.rate()
	c.free()
	c.loads()
	r.Tables = append([]tableData{c.table}, r.Tables...)
	r.Rows = append(append(r.Rows,
		row{Key: "bench_readings", Name: "readings on the bench", Value: float64(b.Readings)},
		measure("bench_scatter_n", "scatter of the readings", b.Scatter, quantity.InN, 1)), c.rows...)
	r.Notes = append(c.words, r.Notes...)
	r.Doubts = append(b.Doubts, r.Doubts...)
	if len(springs) > 1 {
		r.Doubts = append(r.Doubts, "The bench readings are taken as those of the outer spring by itself.")
	}
}

func (c *comparison) say(format string, args ...any) {
	c.words = append(c.words, fmt.Sprintf(format, args...))
}

// line adds one quantity. The sheet may say nothing of it.
func (c *comparison) Line(key, what string, unit quantity.Display, digits int, sheet *float64, e spring.Estimate, difference any) {
	cell := func(si float64) any { return figure{unit.Of(si), words.Number(unit.Of(si), digits)} }
	result := measure("bench_"+key, what+" on the bench", e.Value, unit, digits)
	result.DataOnly = true
	c.rows = append(c.rows, result.within(e.Low, e.High, unit))
	said, se, low, high := any(nil), any(nil), any(nil), any(nil)
	if sheet != nil {
		said = cell(*sheet)
	}
	if c.Bench.Readings > 2 {
		se, low, high = figure{unit.Of(e.SE), words.Number(unit.Of(e.SE), digits+1)}, cell(e.Low), cell(e.High)
	}
	c.table.Data = append(c.table.Data, []any{what, unit.Symbol, said, cell(e.Value), se, low, high, difference})
}

// percent is a change as a cell.
func percent(change float64) figure {
	return figure{100 * change, fmt.Sprintf("%+.1f %%", 100*change)}
}

func (c *comparison) rate() {
	s := c.Sheet
	e, err := c.Bench.RateInterval(benchConfidence)
	if err != nil {
		panic(err) // the confidence is a constant
	}
	change := e.Value/s.Line.Rate - 1
	c.Line("rate_n_per_mm", "rate", quantity.InNPerMM, 2, &s.Line.Rate, e, percent(change))
	off := 2 * math.Hypot(s.rateU, e.SE) / s.Line.Rate
	switch {
	case math.Abs(change) <= off:
		c.say("The rate is %s what the sheet says, within the ± %.1f %% that sheet and readings leave open. Set does not change the rate; wear would.", aboveBelow(change), 100*off)
	case change < 0:
		c.say("The rate is %.1f %% lower than the sheet says%s. Set does not do that.%s", -100*change, leftOpen(off), c.worn())
	default:
		c.say("The rate is %.1f %% higher than the sheet says%s. Age does not do that: fewer coils move than were counted, coils touch, the wire is thicker or of another grade, or the scale reads high.", 100*change, leftOpen(off))
	}
}

// leftOpen says how a change compares with what is uncertain, as a share.
func leftOpen(off float64) string {
	if off == 0 {
		return "; no ± is known of either"
	}
	return fmt.Sprintf(", more than the ± %.1f %% that sheet and readings leave open", 100*off)
}

// aboveBelow words a small change.
func aboveBelow(change float64) string {
	if change < 0 {
		return fmt.Sprintf("%.1f %% under", -100*change)
	}
	return fmt.Sprintf("%.1f %% over", 100*change)
}

// mostWear is the share of its diameter that a wire may lose and still be told as
// worn; one that has lost more would have broken. It is a judgement.
const mostWear = 0.15

// worn says what loss of wire explains a low rate, which goes as d⁴.
func (c *comparison) worn() string {
	share := 1 - math.Pow(c.Bench.Rate/c.Sheet.Line.Rate, 0.25)
	if share > mostWear {
		return " It is too low for worn wire: a coil is broken, or this is another spring."
	}
	loss := ""
	if c.Sheet.dims != nil {
		loss = quantity.InMM.Text(share*c.Sheet.dims.us.Wire, 2) + ", "
	}
	return fmt.Sprintf(" As wear or rust it would be %s%.1f %% of the wire's diameter; or more coils move than were counted, or the wire is of another grade.",
		loss, 100*share)
}

func (c *comparison) free() {
	e, err := c.Bench.FreeInterval(benchConfidence)
	if err != nil {
		panic(err) // the confidence is a constant
	}
	if c.Sheet.dims == nil {
		c.Line("free_length_mm", "free length", quantity.InMM, 1, nil, e, nil)
		return
	}
	free := c.Sheet.dims.us.Free
	set := free - e.Value
	c.Line("free_length_mm", "free length", quantity.InMM, 1, &free, e, figure{-quantity.InMM.Of(set), fmt.Sprintf("%+.1f mm", -quantity.InMM.Of(set))})
	off := 2 * math.Hypot(c.Sheet.dims.freeU, e.SE)
	switch {
	case math.Abs(set) <= off:
		c.say("The free length is that of the sheet within ± %s: no set to speak of.", quantity.InMM.Text(off, 1))
	case set < 0:
		c.say("The spring is %s longer than the sheet says: the sheet is of another spring, or a length is read from the wrong place.", quantity.InMM.Text(-set, 1))
	default:
		c.rows = append(c.rows, measure("set_mm", "set", set, quantity.InMM, 1).within(set-off, set+off, quantity.InMM))
		c.say("The spring has set by %s (± %s).%s", quantity.InMM.Text(set, 1), quantity.InMM.Text(off, 1), c.shim(set))
	}
}

// shim says whether what has set can be given back at the seat.
func (c *comparison) shim(set float64) string {
	d := c.Sheet.dims
	text := fmt.Sprintf(" A shim of that height gives the load back and leaves %s between the coils when cocked", quantity.InMM.Text(d.working.Cocked-set-d.us.SolidLength(), 1))
	switch {
	case d.working.Cocked-set <= d.us.SolidLength():
		return " A shim of that height would let the coils touch before the lever is cocked."
	case d.en == nil:
		return text + "."
	}
	needed, err := d.en.Clearance(d.working.Cocked, spring.Dynamic)
	if err != nil {
		return text + "."
	}
	if d.working.Cocked-set < needed.Shortest {
		return text + fmt.Sprintf(", less than the %s that EN 13906-1 asks: some coils may touch.", quantity.InMM.Text(needed.Required, 1))
	}
	return text + fmt.Sprintf("; EN 13906-1 asks for %s.", quantity.InMM.Text(needed.Required, 1))
}

// loads compares the loads at rest and cocked, for which the installed length
// must be known.
func (c *comparison) loads() {
	s := c.Sheet
	if s.dims == nil {
		at := c.Bench.Free - s.Line.Preload/c.Bench.Rate
		c.say("The sheet has no installed length, so the load at rest is not compared. This spring bears the %s of the sheet at a length of %s.", quantity.InN.Text(s.Line.Preload, 0), quantity.InMM.Text(at, 1))
		return
	}
	for _, at := range []struct {
		Key, Name    string
		length, Load float64 // [m], [N] by the sheet
	}{
		{"load_rest_n", "load at rest", s.dims.working.Rest, s.Line.Force(0)},
		{"load_cocked_n", "load cocked", s.dims.working.Cocked, s.Line.Force(s.stroke)},
	} {
		e, err := c.Bench.Preload(at.length, benchConfidence)
		if err != nil || at.Load == 0 {
			continue
		}
		change := e.Value/at.Load - 1
		c.Line(at.Key, at.Name, quantity.InN, 0, &at.Load, e, percent(change))
		if at.Name == "load cocked" {
			c.say("Cocked, the load is %s what the sheet says: %s against %s.", aboveBelow(change), quantity.InN.Text(e.Value, 0), quantity.InN.Text(at.Load, 0))
		}
	}
}
