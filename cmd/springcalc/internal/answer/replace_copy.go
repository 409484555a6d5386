package answer

import (
	"fmt"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// copySpring describes the spring that was there as new, says what limits of today it
// is past, and orders it.
func copySpring(m *machine.Machine, o *ReplaceOptions) (*report.Report, error) {
	t, err := roomFor(m, o)
	if err != nil {
		return nil, err
	}
	parts, doubts, err := t.partsAsNew(o)
	if err != nil {
		return nil, err
	}
	if t.job.Requirement, err = t.tolerated(); err != nil {
		return nil, err
	}
	switch {
	case o.Copy == CopyAll:
	case len(parts) < 2:
		return nil, sheet.Usef("--only: the machine has one spring, and no %s one beside it", o.Copy)
	case o.Copy == CopyOuter:
		parts, t.job.Staying = parts[:1], parts[1:]
	case o.Copy == CopyInner:
		parts, t.job.Staying = parts[1:], parts[:1]
	default:
		return nil, sheet.Usef("--only: %q: want outer or inner", o.Copy)
	}
	if need := &t.job.Requirement; spring.ForceOf(t.job.Space.Lines(parts), need.Stroke-need.Begin) == 0 {
		m.FaultOf(t.installed, "want less: as new the spring is "+quantity.InMM.Text(parts[0].Free, 1)+" long without load, and does not push here")
		return nil, m.Faults.Err()
	}
	c, err := t.job.LikeForLike(parts)
	if err != nil {
		return nil, plainErr(err)
	}
	own := t.lines(&c)
	t.job.Rest = spring.ForceOf(own, 0)
	t.job.Rate = machine.Stiffness(own)
	var r *report.Report
	if o.Sheet {
		if r, err = t.orderSheet(&c, o.Quality); err != nil {
			return nil, err
		}
	} else if r, err = t.copyReport(&c); err != nil {
		return nil, err
	}
	if past := c.Verdict.Exceeded(); len(past) > 0 {
		var all []report.Sentence
		for _, e := range past {
			all = append(all, report.Say("%s (%s)", limitName(e.Of), exceeded(e)))
		}
		r.Doubts = append([]report.Sentence{report.Say("As new it is past limits of today: %s. A copy keeps that.", joinSentences(all))}, r.Doubts...)
	}
	r.Doubts = append(r.Doubts, doubts...)
	return r, nil
}

// tolerated is a requirement of no forces yet, over the stroke of the machine.
func (t *task) tolerated() (replace.Requirement, error) {
	s := &t.m.Setup
	within := t.m.Wished("wish.within")
	need := replace.Requirement{Stroke: s.Cylinder.Stroke, Begin: s.Cylinder.Port, Within: within * (s.Cylinder.Area() + s.Cylinder.Seal.PerPa)}
	if !(need.Begin < need.Stroke) {
		return need, fmt.Errorf("piston.port_travel: want less than the stroke, %s", quantity.InMM.Text(need.Stroke, 1))
	}
	return need, nil
}

// partsAsNew are the springs of the machine as they were made.
func (t *task) partsAsNew(o *ReplaceOptions) (parts []replace.Part, doubts []report.Sentence, err error) {
	m := t.m
	for i, table := range []string{"spring", "spring.inner"} {
		if i > 0 && !m.HasTable(table) {
			break
		}
		if !m.Has(table + ".wire") {
			line := m.Setup.Springs[i]
			parts = append(parts, replace.Part{Rate: line.Rate, Free: t.job.Space.Installed - m.ValueOr(table+".shim", 0) + line.Preload/line.Rate})
			doubts = append(doubts, report.Say("Of the %s only rate and preload are stated: a winder needs wire, diameter, coils, ends and grade.", table))
			continue
		}
		c, ok := m.CoilAsNew(table)
		if !ok {
			return nil, nil, m.Faults.Err()
		}
		if at := m.Seat(table); i > 0 && at != t.job.Space.Installed {
			return nil, nil, fmt.Errorf("%s.installed_length: %s beside %s of the other spring; a nest is copied where both stand on the same seats: order each by itself, with --set space.installed_length",
				table, quantity.InMM.Text(at, 1), quantity.InMM.Text(t.job.Space.Installed, 1))
		}
		if i == 0 && !m.Has("new.free_length") {
			doubts = append(doubts, report.Say("The free length of %s is that of today: if the spring has taken a set it was longer when new; state new.free_length, from a drawing or a second machine.", report.Of(c.Free, quantity.InMM, 1)))
		}
		var wire *replace.Wire
		if grade := m.Text(table + ".grade"); grade != "" {
			known, err := machine.WireOf(grade)
			if err != nil {
				return nil, nil, plainErr(err)
			}
			made := o.wire(t)
			made.Tensile = m.ValueOr(table+".tensile_strength", 0)
			w, err := machine.WireFor(known, c.Wire, made)
			if err != nil {
				return nil, nil, plainErr(err)
			}
			if own, ok := m.OwnAllowable(table, w.Tensile); ok {
				w.Cocked, w.Solid = replace.Allowed{Criterion: own, Safety: 1}, replace.Allowed{Criterion: own, Safety: 1}
			}
			c.WireMax, wire = w.Most, &w
		} else {
			doubts = append(doubts, report.Say("The grade of the wire of the %s is not stated, so its stresses are not judged and no order sheet can be drawn.", table))
		}
		parts = append(parts, replace.PartOf(c, wire))
	}
	return parts, doubts, nil
}

// asNewNames are the names of rows about a copy.
var asNewNames = strings.NewReplacer(" with no. 1", " as new", " of no. 1", " as new")

// copyReport describes a copy.
func (t *task) copyReport(c *replace.Choice) (*report.Report, error) {
	r := newReport("replace", t.m)
	r.Title, r.Main, r.Caution = "Spring like for like: "+t.m.Name(), "springs", cautionSpring
	today, err := t.shotWith(t.m.Setup.Springs)
	if err != nil {
		return nil, err
	}
	next, err := t.shotWith(t.lines(c))
	if err != nil {
		return nil, err
	}
	f := &replaceFrame{task: t, choices: &choices{best: replace.RowsOf([]replace.Choice{*c}, 1), tried: 1, fitting: 1}}
	own := t.lines(c)
	now := replaced{shot: today.Summary, rest: spring.ForceOf(t.m.Setup.Springs, 0), cocked: spring.ForceOf(t.m.Setup.Springs, t.job.Stroke), effort: t.job.Hand.Effort(t.m.Setup.Springs...)}
	f.now = now
	value := replaced{shot: next.Summary, rest: spring.ForceOf(own, 0), cocked: spring.ForceOf(own, t.job.Stroke), effort: t.job.Hand.Effort(own...)}
	burden := replace.BurdenOf(t.m.Setup.Springs, own, t.job.Stroke)
	f.burden = &burden
	r.Answer = []report.Sentence{
		report.Say("The spring that was there, as new: %s.", windersWords(c)),
		report.Say("As new it gives %s at the peak and %s at the end; today it gives %s and %s.", report.Of(next.Peak, quantity.InBar, 2), report.Of(next.End, quantity.InBar, 2),
			report.Of(today.Peak, quantity.InBar, 2), report.Of(today.End, quantity.InBar, 2)),
	}
	r.Next = []report.Sentence{report.Plain("To order it, hand a spring winder the order sheet: springcalc replace --copy --order. The old spring goes along as a sample.")}
	r.Rows = append(report.Rows(bestDefs, &value), report.Rows(frameDefs[6:], f)...)
	r.Rows = append(append(r.Rows, report.Rows(burdenDefs, f)...), marginRow(c)...)
	for i := range r.Rows {
		r.Rows[i].Name = asNewNames.Replace(r.Rows[i].Name)
		switch r.Rows[i].Key {
		case "best_peak", "best_end", "best_rest", "best_cocked", "best_rate", "best_effort", "best_margin":
			r.Rows[i].Short = true
		}
	}
	r.Charts = append(r.Charts, pressureChart("as new", next, today))
	tables, err := f.springTables()
	if err != nil {
		return nil, err
	}
	var past []brokenLimit
	for _, e := range c.Verdict.Exceeded() {
		past = append(past, brokenLimit{c, 0, e})
	}
	r.Tables = append(tables, report.Fill(report.Table{Key: "rejected", Title: "Limits of today that it is past"}, missCols[2:], past))
	r.Doubts = append(r.Doubts, t.springDoubts(c)...)
	t.addDoubts(r)
	return r, nil
}
