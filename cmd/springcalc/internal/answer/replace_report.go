package answer

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// ranking says what the targets need, what fits, and what no. 1 does.
func (t *task) ranking(found *choices, o *ReplaceOptions) (*report.Report, error) {
	r := newReport("replace", t.m)
	r.Main, r.Caution = "springs", cautionSpring
	first := found.first()
	f := replaceFrame{task: t, choices: found, quality: o.Quality}
	f.cycles, _ = t.job.Use.Cycles() // validated with the job
	today, err := t.shotWith(t.m.Setup.Springs)
	if err != nil {
		return nil, err
	}
	f.now = replaced{shot: today.Summary, rest: spring.ForceOf(t.m.Setup.Springs, 0), cocked: spring.ForceOf(t.m.Setup.Springs, t.job.Stroke), effort: t.job.Hand.Effort(t.m.Setup.Springs...)}
	if first == nil && o.Pick > 1 {
		return nil, NoRow(fmt.Sprintf("there is no row %d to draw: the ranking has none", o.Pick))
	}
	value, err := t.valueOf(first)
	if err != nil {
		return nil, err
	}
	defs, q := t.question(first, o.Quality)
	r.Rows = append(report.Rows(frameDefs, &f), report.Rows(defs, &value)...)
	if first != nil {
		burden := replace.BurdenOf(t.m.Setup.Springs, t.lines(first), t.job.Stroke)
		f.burden = &burden
		r.Rows = append(r.Rows, report.Rows(burdenDefs, &f)...)
		r.Rows = append(r.Rows, marginRow(first)...)
		if err := f.addChart(r, o.Pick, today); err != nil {
			return nil, err
		}
	}
	drawn, err := spread.Draw(t.m, q, o.Spread)
	if err != nil {
		return nil, err
	}
	if drawn != nil {
		drawn.AddTo(r)
		if len(q.Others) > 0 {
			r.Note("of new springs, 95 of 100 are taken to keep the load tolerance that their maker prints or that of EN 15800 (from memory, quality %d), "+
				"or %s where that does not cover them, their loads at rest and cocked off together", o.Quality, report.Of(usualTolerance, quantity.InPercent, 0))
		}
	}
	return r, f.finish(r, first)
}

// finish adds sentences and tables to the rows.
func (f *replaceFrame) finish(r *report.Report, first *replace.Choice) error {
	if len(f.best) > 0 {
		f.answerFit(r)
	} else {
		f.answerMiss(r)
		for i := range r.Rows {
			r.Rows[i].Name = strings.Replace(r.Rows[i].Name, "no. 1", "the nearest miss", 1)
		}
	}
	if first != nil {
		c := f.comparison(r, first)
		c.Short = !f.listed
		r.Tables = append(r.Tables, c)
	}
	tables, err := f.springTables()
	if err != nil {
		return err
	}
	r.Tables = append(r.Tables, tables...)
	r.Tables = append(r.Tables, f.blockedTable())
	if err := f.addMisses(r); err != nil {
		return err
	}
	read := r.Doubts
	r.Doubts = nil
	f.addDoubts(r)
	f.addLeftOut(r)
	r.Doubts = append(r.Doubts, read...)
	if first != nil {
		r.Doubts = append(r.Doubts, f.springDoubts(first)...)
	}
	if !f.m.Has("wish.end") && f.listed {
		r.Note("no end pressure was asked for, so no spring of the list is judged by it; a fresh spring of today's rate would end at %s", report.Of(f.wishes.End, quantity.InBar, 2))
	} else if !f.m.Has("wish.end") {
		r.Note("no end pressure was asked for: springs are designed for that of a fresh spring of today's rate, %s", report.Of(f.wishes.End, quantity.InBar, 2))
	}
	r.Note("a margin is what is left of what there is: 0 %% at the limit, below it the limit is broken; the tightest margin is the least lower end of the intervals of them all, the pressures aside, with wire, diameter, free length and shear modulus anywhere within their tolerances")
	r.Note("solid length and end coils are reckoned by EN 13906-1 for every spring; each grade is judged by the source of its own allowable stress, which springcalc replace --order names")
	return nil
}

// marginRow is the tightest margin of a choice with its interval; none where nothing was judged.
func marginRow(c *replace.Choice) []report.Row {
	m, of, known := tightest(c)
	if !known {
		return nil
	}
	row := report.Row{Key: "best_margin", Name: "tightest margin of no. 1", Value: m.value, Unit: quantity.InPercent, Note: report.Plain(of.String())}
	if m.low < m.high {
		row.Band = &report.Band{Low: m.low, High: m.high, Std: (m.high - m.low) / 2 / 1.959964}
	}
	return []report.Row{row}
}

// marginBand is a margin with its 95 % interval [-].
type marginBand struct{ value, low, high float64 }

// tightest is the margin that ranks a choice, and its limit: of those that could be
// judged, where the ranking takes one that could not for being at its limit.
func tightest(c *replace.Choice) (marginBand, replace.Constraint, bool) {
	k := c.WeakestOf
	m, known := c.Verdict.Margin(k)
	if !known {
		m, k, known = c.Verdict.Sound()
	}
	return marginBand{m, c.Bands[k].Low, c.Bands[k].High}, k, known
}

// in says a margin with its interval.
func (m marginBand) in() report.Sentence {
	value := report.Of(m.value, quantity.InPercent, 0)
	if !(m.low < m.high) {
		return report.Say("%s", value)
	}
	low := report.Of(m.low, quantity.InPercent, 0)
	low.Bare = true
	return report.Say("%s (%s to %s as made)", value, low, report.Of(m.high, quantity.InPercent, 0))
}

// windersWords is a choice in the words of a winder.
func windersWords(c *replace.Choice) report.Sentence {
	if len(c.Parts) == 2 {
		return report.Say("outer spring: %s; inner spring: %s", describedPart(&c.Parts[0]), describedPart(&c.Parts[1]))
	}
	s := describedPart(&c.Parts[0])
	for i := 1; i < len(c.Parts); i++ {
		s = report.Say("%s; and %s", s, describedPart(&c.Parts[i]))
	}
	return s
}

// describedPart is one spring in the words of a winder.
func describedPart(p *replace.Part) report.Sentence {
	length, rate := report.Of(p.Free, quantity.InMM, 1), report.Of(p.Rate, quantity.InNPerMM, 2)
	if p.Wire == nil {
		return report.Say("free length %s, rate %s", length, rate)
	}
	c := &p.Coil
	return report.Say("%s wire %s, %s outside, %s of %s coils active, %s, %s free, %s",
		p.Wire.Grade, report.Of(c.Wire, quantity.InMM, 2), report.Of(p.Outer, quantity.InMM, 1), coilCount(c.Active), coilCount(c.Total), inWords(c.Ends), length, rate)
}

// coilCount is a number of coils to a hundredth, without idle zeros.
func coilCount(n float64) string { return strconv.FormatFloat(math.Round(100*n)/100, 'f', -1, 64) }

// inWords are ends in the words of the sheet.
func inWords(e spring.Ends) string { return strings.ReplaceAll(e.String(), "-", " and ") }

// answerFit says what no. 1 is, and how to order it.
func (f *replaceFrame) answerFit(r *report.Report) {
	c := &f.best[0].Choice
	name := report.Plain("No. 1")
	if f.listed {
		name = report.Say("No. 1 is line %d of the list%s", c.Row, quotedName(c.Name))
	}
	r.Answer = append(r.Answer, report.Say("%s: %s.", name, windersWords(c)))
	of := report.Say("Best of %s that fit, of %s tried", thousands(f.fitting), thousands(f.tried))
	if m, k, known := tightest(c); known {
		r.Answer = append(r.Answer, report.Say("%s; tightest margin %s, %s.", of, limitName(k), m.in()))
	} else {
		r.Answer = append(r.Answer, report.Say("%s.", of))
	}
	if crosses := c.Crosses(); len(crosses) > 0 {
		help := "order a closer tolerance (--quality 1)"
		if f.quality == 1 {
			help = "measure its loads before you fit it"
		}
		r.Next = append(r.Next, report.Say("Within its tolerance it may miss %s: %s.", limitNames(crosses), help))
	}
	switch {
	case f.listed:
		r.Next = append(r.Next, report.Say("Before you buy: ask the seller for the load at %s, the length when cocked, and compare it with %s.",
			report.Of(f.job.Space.Installed-f.job.Stroke, quantity.InMM, 1), report.Of(f.job.Cocked(), quantity.InN, 0)))
	case len(c.Parts) > 1:
		r.Next = append(r.Next, report.Plain("To order a nest give the winder both springs of the table springs (--csv), wound in opposite hands."))
	default:
		r.Next = append(r.Next, report.Plain("The order sheet for a spring winder: springcalc replace --order (--pick N for another row)."))
	}
}

// quotedName is a name behind a comma.
func quotedName(name string) string {
	if name == "" {
		return ""
	}
	return fmt.Sprintf(", %q", name)
}

// thousands is a count with its thousands apart.
func thousands(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + words.NoBreak + s[i:]
	}
	return s
}

// limitName is a limit in the words of the answer.
func limitName(k replace.Constraint) string { return k.String() }

// limitNames joins the names of some limits.
func limitNames(all []replace.Constraint) string {
	names := make([]string, len(all))
	for i, k := range all {
		names[i] = limitName(k)
	}
	return words.AndList(names)
}

// answerMiss says what stands in the way, and what the nearest miss breaks.
func (f *replaceFrame) answerMiss(r *report.Report) {
	r.Answer = append(r.Answer, report.Say("No spring fits, of %s tried.", thousands(f.tried)))
	for i := len(f.blocked) - 1; i >= 0 && !f.listed; i-- {
		if n := f.blocked[i]; n > 0 {
			r.Answer = append(r.Answer, report.Say("Those that come farthest fail by %s: %s keep every limit judged before it.", limitName(replace.Constraint(i)), thousands(n)))
			break
		}
	}
	if len(f.misses) == 0 {
		return
	}
	c := &f.misses[0]
	var broken []report.Sentence
	for _, e := range c.Verdict.Exceeded() {
		broken = append(broken, report.Say("%s (%s)", limitName(e.Of), exceeded(e)))
	}
	r.Next = append(r.Next, report.Say("The nearest%s, %s, breaks: %s.", quotedName(c.Name), windersWords(c), joinSentences(broken)))
}

// joinSentences puts commas between sentences.
func joinSentences(all []report.Sentence) report.Sentence {
	args := make([]any, len(all))
	for i, s := range all {
		args[i] = s
	}
	return report.Say(strings.TrimSuffix(strings.Repeat("%s, ", len(all)), ", "), args...)
}

// limitUnits are the units in which limits are compared.
var limitUnits = map[replace.Constraint]quantity.Display{
	replace.EndPressure: quantity.InN, replace.PeakPressure: quantity.InN, replace.Effort: quantity.InN,
	replace.InBore: quantity.InMM, replace.OverRod: quantity.InMM, replace.InNest: quantity.InMM, replace.Clearance: quantity.InMM, replace.Buckling: quantity.InMM,
	replace.StressCocked: quantity.InMPa, replace.StressSolid: quantity.InMPa, replace.Fatigue: quantity.InMPa, replace.Relaxation: quantity.InPercent,
}

// limitAmount is what a limit has or needs.
func limitAmount(k replace.Constraint, v float64) any {
	unit, ok := limitUnits[k]
	switch {
	case !ok:
		return words.Number(v, 2)
	case unit == quantity.InMM || unit == quantity.InPercent:
		return report.Of(v, unit, 2)
	}
	return report.Of(v, unit, 0)
}

// exceeded says by how much a limit is passed.
func exceeded(e replace.Excess) report.Sentence {
	have, need := limitAmount(e.Of, e.Have), limitAmount(e.Of, e.Need)
	switch e.Of {
	case replace.EndPressure, replace.PeakPressure:
		return report.Say("its force is off by %s, allowed %s", need, have)
	case replace.InBore, replace.OverRod, replace.InNest, replace.Clearance, replace.Buckling:
		return report.Say("%s, needed %s", have, need)
	}
	return report.Say("%s, allowed %s: %s over", need, have, report.Of(e.Over, quantity.InPercent, 0))
}

// addChart compares the pressure with a row of the ranking and today's.
func (f *replaceFrame) addChart(r *report.Report, pick int, today *profile.Shot) error {
	c := f.row(pick)
	if c == nil {
		return NoRow(fmt.Sprintf("there is no row %d to draw: the ranking has %d", pick, cmp.Or(len(f.best), len(f.misses))))
	}
	next, err := f.shotWith(f.lines(c))
	if err != nil {
		return err
	}
	name := fmt.Sprintf("no. %d", pick)
	if len(f.best) == 0 {
		name = "nearest miss"
		if pick > 1 {
			name = fmt.Sprintf("miss %d", pick)
		}
	}
	r.Charts = append(r.Charts, pressureChart(name, next, today))
	r.Doubts = append(r.Doubts, report.Tolds(next.Doubts)...)
	return nil
}

// addLeftOut names the lines of a list that were left out: the first few for
// reading, all of them for a program.
func (f *replaceFrame) addLeftOut(r *report.Report) {
	const few = 10
	for i, b := range f.leftOut {
		if i < few {
			r.Doubt("Line %d of the list was left out: %s", b.Line, b.Why)
		}
	}
	if n := len(f.leftOut) - few; n > 0 {
		r.Doubt("%d more lines of the list were left out; --json names them all.", n)
	}
	r.Tables = append(r.Tables, report.Fill(report.Table{Key: "left_out", DataOnly: true}, leftOutCols, f.leftOut))
}

// springDoubts are what may be wrong with the judgement of a choice.
func (t *task) springDoubts(c *replace.Choice) (doubts []report.Sentence) {
	if open := t.job.Unjudged(c); len(open) > 0 {
		doubts = append(doubts, report.Say("Too little is known of the first spring to judge its %s.", limitNames(open)))
	}
	var nest spring.Nest
	for i := range c.Parts {
		if p := &c.Parts[i]; p.Coil.Wire > 0 {
			nest = append(nest, p.Coil)
			doubts = append(doubts, report.Tolds(p.Coil.Doubts())...)
		}
	}
	if len(c.Parts) > 1 {
		doubts = append(doubts, report.Tolds(nest.Doubts())...)
	}
	if _, known := c.Verdict.Margin(replace.Fatigue); known {
		doubts = append(doubts, report.Plain(spring.HotWet))
	}
	return doubts
}
