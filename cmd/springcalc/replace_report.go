package main

import (
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// replaceReport describes what the wishes need, what fits, and the shot to expect.
func replaceReport(t *task, c *choices, top int) (*report, error) {
	best := c.best[:min(top, len(c.best))]
	r := &report{Title: "Next spring for " + t.m.Name(), Rows: t.requiredRows(), Main: "springs"}
	r.Rows = append(r.Rows,
		row{Key: "tried", Name: "springs judged", Value: float64(c.tried)},
		row{Key: "fitting", Name: "of them fit", Value: float64(c.fitting)},
		row{Key: "rank", Name: "ranked by", Text: strings.ReplaceAll(c.order.String(), ",", ", ")})
	shown := best
	if len(best) == 0 {
		shown = c.misses[:min(top, len(c.misses))]
		r.Doubts = append(r.Doubts, nothingFits(c)...)
	}
	today, err := profile.Run(&t.m.Setup)
	if err != nil {
		return nil, err
	}
	springs, err := t.springTables(c, shown)
	if err != nil {
		return nil, err
	}
	r.Tables = append(r.Tables, springs...)
	r.Tables = append(r.Tables, blockedTable(c))
	if len(shown) > 0 {
		if err := t.describe(r, &shown[0], today); err != nil {
			return nil, err
		}
	}
	r.addBadRows(c.bad)
	for _, conflict := range t.conflicts {
		r.Doubts = append(r.Doubts, conflictText(conflict))
	}
	r.Doubts = append(append(r.Doubts, t.doubts...), t.m.Doubts...)
	r.Notes = append(r.Notes,
		"A margin is what is left of what there is: 0 % at the limit, below it the limit is broken. The smallest binds. "+
			"Cocked and solid are stresses, life is fatigue, set relaxation, gaps those between the coils, bend buckling.",
		"Each grade is judged by the source of its own allowable stress; springcalc replace --order names it.")
	addDefaults(t.m, r)
	return r, nil
}

// addBadRows names the lines of a list that were left out: the first few for
// reading, all of them for a program.
func (r *report) addBadRows(bad []badRow) {
	const few = 10
	t := tableData{Key: "left_out", DataOnly: true, Columns: []column{{Key: "line"}, {Key: "why"}}}
	for i, b := range bad {
		t.Data = append(t.Data, []any{float64(b.Line), b.why})
		if i < few {
			r.Doubts = append(r.Doubts, fmt.Sprintf("Line %d of the list was left out: %s", b.Line, b.why))
		}
	}
	if n := len(bad) - few; n > 0 {
		r.Doubts = append(r.Doubts, fmt.Sprintf("%d more lines of the list were left out; --json names them all.", n))
	}
	r.Tables = append(r.Tables, t)
}

// requiredRows are the spring line that the wishes need, beside today's.
func (t *task) requiredRows() []row {
	j := &t.job
	now := func(lift float64) float64 { return spring.ForceOf(t.m.Setup.Springs, lift) }
	today := func(r row, si float64, unit quantity.Display, digits int) row {
		return r.noted("today %s", unit.Text(si, digits))
	}
	cycles, _ := j.Use.Cycles() // validated with the job
	return []row{
		measure("wished_peak_bar", "wished peak pressure", t.wishes.Peak, quantity.InBar, 2),
		measure("wished_end_bar", "wished end pressure", t.wishes.End, quantity.InBar, 2),
		today(measure("required_rest_n", "force needed at rest", j.Rest, quantity.InN, 0), now(0), quantity.InN, 0),
		today(measure("required_cocked_n", "force needed when cocked", j.Cocked(), quantity.InN, 0), now(j.Stroke), quantity.InN, 0),
		today(measure("required_rate_n_per_mm", "rate needed", j.Rate, quantity.InNPerMM, 2), machine.Stiffness(t.m.Setup.Springs), quantity.InNPerMM, 2),
		measure("tolerance_n", "tolerance of both forces", j.Within, quantity.InN, 0),
		{Key: "cycles", Name: "cycles in the wished life", Value: cycles},
	}
}

// nothingFits says what stands in the way: the limit that the springs break
// which come farthest, and the nearest miss.
func nothingFits(c *choices) []string {
	var texts []string
	for i := len(c.blocked) - 1; i >= 0 && texts == nil; i-- {
		if n := c.blocked[i]; n > 0 {
			texts = append(texts, fmt.Sprintf("No spring keeps every limit. What blocks those that come farthest is the %v: %d keep all the limits judged before it.", replace.Constraint(i), n))
		}
	}
	if len(c.misses) > 0 {
		v := &c.misses[0].Verdict
		var broken []string
		for _, k := range v.Blocked() {
			m, _ := v.Margin(k)
			broken = append(broken, fmt.Sprintf("%v (%.0f %%)", k, quantity.InPercent.Of(m)))
		}
		texts = append(texts, "The nearest miss, in the table, breaks: "+words.AndList(broken)+".")
	}
	return texts
}

// springTables are the ranking for reading, its margins, and both with all
// digits and constraints for programs.
func (t *task) springTables(c *choices, shown []replace.Choice) ([]tableData, error) {
	title := "Springs that fit, the best first"
	if len(c.best) == 0 {
		title = "Nearest misses"
	}
	ranking := tableData{Key: "ranking", Title: title, Columns: []column{
		{Key: "place", Head: "#"}, {Key: "grade", Head: "wire"}, {Key: "wire_mm", Head: "d, mm", Digits: 2},
		{Key: "mean_mm", Head: "D, mm", Digits: 1}, {Key: "active_coils", Head: "active", Digits: 2}, {Key: "ends", Head: "ends"},
		{Key: "free_mm", Head: "L0, mm", Digits: 1}, {Key: "rate_n_per_mm", Head: "N/mm", Digits: 2}, {Key: "cocked_n", Head: "cocked, N"}}}
	if c.listed {
		ranking.Columns = []column{{Key: "place", Head: "#"}, {Key: "name", Head: "name"}, {Key: "line", Head: "line"}, {Key: "price", Head: "price", Digits: 2},
			{Key: "free_mm", Head: "L0, mm", Digits: 1}, {Key: "rate_n_per_mm", Head: "N/mm", Digits: 2}, {Key: "cocked_n", Head: "cocked, N"}}
	}
	margins := tableData{Key: "margins", Title: "What they give, in bar, and their margins, in %", Columns: []column{
		{Key: "place", Head: "#"}, {Key: "peak_bar", Head: "peak", Digits: 2}, {Key: "end_bar", Head: "end", Digits: 2}}}
	for _, m := range marginColumns {
		margins.Columns = append(margins.Columns, column{Key: m.Key + "_percent", Head: m.head})
	}
	margins.Columns = append(margins.Columns, column{Key: "binding", Head: "binds"})
	all := tableData{Key: "springs", DataOnly: true, Columns: allColumns()}
	for i := range shown {
		choice := &shown[i]
		shot, err := t.summary(choice)
		if err != nil {
			return nil, err
		}
		place := float64(i + 1)
		ranking.Data = append(ranking.Data, append([]any{place}, t.rankingCells(c, choice)...))
		line := []any{place, quantity.InBar.Of(shot.Peak), quantity.InBar.Of(shot.End)}
		for _, m := range marginColumns {
			line = append(line, leastMargin(&choice.Verdict, m.Of...))
		}
		margins.Data = append(margins.Data, append(line, choice.Verdict.Binding.String()))
		all.Data = append(all.Data, append(append([]any{place}, listCells(c, choice)...), t.allCells(choice, shot)...))
	}
	return []tableData{ranking, margins, all}, nil
}

// marginColumns are the constraints of the table of margins.
var marginColumns = []struct {
	Key, head string
	Of        []replace.Constraint
}{
	{"cocked", "cocked", []replace.Constraint{replace.StressCocked}},
	{"solid", "solid", []replace.Constraint{replace.StressSolid}},
	{"fatigue", "life", []replace.Constraint{replace.Fatigue}},
	{"relaxation", "set", []replace.Constraint{replace.Relaxation}},
	{"clearance", "gaps", []replace.Constraint{replace.Clearance}},
	{"buckling", "bend", []replace.Constraint{replace.Buckling}},
	{"fit", "fit", []replace.Constraint{replace.InBore, replace.OverRod, replace.InNest}},
	{"effort", "hand", []replace.Constraint{replace.Effort}},
}

// leastMargin is the smallest of some margins in %, as a cell; empty where none was judged.
func leastMargin(v *replace.Verdict, of ...replace.Constraint) any {
	least, _, known := v.Smallest(of...)
	if !known {
		return nil
	}
	return quantity.InPercent.Of(least)
}

func (t *task) summary(c *replace.Choice) (profile.Summary, error) {
	s := t.m.Setup
	s.Springs = t.job.Space.Lines(c.Parts)
	return profile.Summarize(&s)
}

// cockedForce is the force of a choice when cocked, warm as at work.
func (t *task) cockedForce(c *replace.Choice) float64 {
	return spring.ForceOf(t.job.Space.Lines(c.Parts), t.job.Stroke)
}

// rateOf is the rate of a choice at 20 °C [N/m].
func rateOf(c *replace.Choice) (rate float64) {
	for i := range c.Parts {
		rate += c.Parts[i].Rate
	}
	return rate
}

// rankingCells are the cells behind the place.
func (t *task) rankingCells(c *choices, choice *replace.Choice) []any {
	p := &choice.Parts[0]
	tail := []any{quantity.InMM.Of(p.Free), quantity.InNPerMM.Of(rateOf(choice)), quantity.InN.Of(t.cockedForce(choice))}
	if c.listed {
		return append(listCells(c, choice), tail...)
	}
	coil := &p.Coil
	return append([]any{p.Wire.Grade, quantity.InMM.Of(coil.Wire), quantity.InMM.Of(coil.Mean), coil.Active, coil.Ends.String()}, tail...)
}

// listCells are what a list says of a choice: name, line and price.
func listCells(c *choices, choice *replace.Choice) []any {
	if !c.listed {
		return []any{nil, nil, nil}
	}
	cells := []any{choice.Name, float64(choice.Row), nil}
	if choice.Price > 0 {
		cells[2] = choice.Price
	}
	return cells
}

// allColumns are the columns for programs.
func allColumns() []column {
	var columns []column
	for _, key := range []string{"place", "name", "line", "price", "springs", "grade", "wire_mm", "mean_mm", "outside_mm", "inside_mm",
		"active_coils", "total_coils", "ends", "free_mm", "solid_mm", "rate_n_per_mm", "rest_n", "cocked_n", "peak_bar", "end_bar", "spring_s", "yield_g"} {
		columns = append(columns, column{Key: key})
	}
	for _, k := range replace.Constraints() {
		columns = append(columns, column{Key: marginKey(k)})
	}
	return append(columns, column{Key: "binding"}, column{Key: "least_margin_percent"})
}

func marginKey(k replace.Constraint) string {
	return strings.ReplaceAll(k.String(), " ", "_") + "_margin_percent"
}

// allCells are the cells for programs; of a nest the dimensions are those of its first spring.
func (t *task) allCells(c *replace.Choice, shot profile.Summary) []any {
	p := &c.Parts[0]
	lines := t.job.Space.Lines(c.Parts)
	known := func(v float64, unit quantity.Display) any {
		if v == 0 {
			return nil
		}
		return unit.Of(v)
	}
	cells := []any{float64(len(c.Parts))}
	if coil := &p.Coil; coil.Wire > 0 {
		cells = append(cells, p.Wire.Grade, quantity.InMM.Of(coil.Wire), quantity.InMM.Of(coil.Mean), quantity.InMM.Of(p.Outer), quantity.InMM.Of(p.Inner),
			coil.Active, coil.Total, coil.Ends.String())
	} else {
		cells = append(cells, nil, nil, nil, known(p.Outer, quantity.InMM), known(p.Inner, quantity.InMM), nil, nil, nil)
	}
	cells = append(cells, quantity.InMM.Of(p.Free), known(p.Solid, quantity.InMM), quantity.InNPerMM.Of(rateOf(c)), quantity.InN.Of(spring.ForceOf(lines, 0)), quantity.InN.Of(spring.ForceOf(lines, t.job.Stroke)),
		quantity.InBar.Of(shot.Peak), quantity.InBar.Of(shot.End), quantity.InS.Of(shot.Spring), quantity.InG.Of(shot.Yield))
	for _, k := range replace.Constraints() {
		cells = append(cells, leastMargin(&c.Verdict, k))
	}
	return append(cells, c.Verdict.Binding.String(), quantity.InPercent.Of(c.Verdict.Least))
}

// blockedTable counts the springs by what blocks them.
func blockedTable(c *choices) tableData {
	t := tableData{Key: "blocked", Title: "Springs that do not do, by the first limit that they break", Columns: []column{
		{Key: "limit", Head: "limit"}, {Key: "springs", Head: "springs"}}}
	for i, n := range c.blocked {
		if n > 0 {
			t.Data = append(t.Data, []any{replace.Constraint(i).String(), float64(n)})
		}
	}
	return t
}

// describe adds to a report what the best choice does to machine and coffee.
func (t *task) describe(r *report, best *replace.Choice, today *profile.Shot) error {
	lines := t.job.Space.Lines(best.Parts)
	shot, err := t.shotWith(lines)
	if err != nil {
		return err
	}
	burden := replace.BurdenOf(t.m.Setup.Springs, lines, t.job.Stroke, t.job.Hand)
	r.Rows = append(r.Rows,
		measure("best_peak_bar", "peak pressure with no. 1 below", shot.Peak, quantity.InBar, 2).noted("today %s", quantity.InBar.Text(today.Peak, 2)),
		measure("best_end_bar", "its pressure at the end", shot.End, quantity.InBar, 2).noted("today %s", quantity.InBar.Text(today.End, 2)),
		measure("best_spring_s", "release to end", shot.Spring, quantity.InS, 1).noted("today %s", quantity.InS.Text(today.Spring, 1)),
		measure("best_yield_g", "yield", shot.Yield, quantity.InG, 1).noted("today %s", quantity.InG.Text(today.Yield, 1)),
		row{Key: "cocked_ratio", Name: "load on latch and pivots, new/old", Value: burden.Cocked, Digits: 2},
		measure("stored_j", "energy stored by cocking", burden.Energy, quantity.InJ, 1).noted("%.2f times today's", burden.Stored))
	if margin, binding, known := best.Verdict.Sound(); known {
		r.Rows = append(r.Rows, measure("best_margin_percent", "its smallest margin beside the pressures", margin, quantity.InPercent, 0).noted("%s", binding))
	}
	if burden.HandNew > 0 {
		r.Rows = append(r.Rows, measure("effort_n", "force of the hand", burden.HandNew, quantity.InN, 0).noted("today %s", quantity.InN.Text(burden.HandOld, 0)))
	}
	r.Charts = append(r.Charts, overlay([]string{"no. 1 below", "today"}, []*report{{Charts: shotCharts(shot)[:1]}, {Charts: shotCharts(today)}})...)
	r.Doubts = append(r.Doubts, shot.Doubts...)
	r.Doubts = append(r.Doubts, t.springDoubts(best)...)
	r.Cautions = slices.Concat(burden.Cautions, profile.RemovalCautions())
	return nil
}

// springDoubts are what may be wrong with the judgement of a choice.
func (t *task) springDoubts(c *replace.Choice) []string {
	var doubts []string
	if open := t.job.Unjudged(c); len(open) > 0 {
		names := make([]string, len(open))
		for i, k := range open {
			names[i] = k.String()
		}
		doubts = append(doubts, "Too little is known of the first spring to judge its "+words.AndList(names)+".")
	}
	var nest spring.Nest
	for i := range c.Parts {
		if p := &c.Parts[i]; p.Coil.Wire > 0 {
			nest = append(nest, p.Coil)
			doubts = append(doubts, p.Coil.Doubts()...)
		}
	}
	if len(c.Parts) > 1 {
		doubts = append(doubts, nest.Doubts()...)
	}
	if _, known := c.Verdict.Margin(replace.Fatigue); known {
		doubts = append(doubts, spring.HotWet)
	}
	if check := c.Verdict.Checks[replace.Relaxation]; check.Known {
		doubts = append(doubts, fmt.Sprintf("Relaxation is indicative: about %.1f %% of the force at rest may be lost over the wished life, from a screening limit of the wire and the log-time law.", 100*check.Need))
	}
	return doubts
}
