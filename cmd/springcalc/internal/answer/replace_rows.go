package answer

import (
	"fmt"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/profile"
	"springcalc/profile/replace"
	"springcalc/profile/uncertain"
	"springcalc/spring"
)

// replaced is what a next spring is asked for, and what one gives.
type replaced struct {
	end    float64 // target of the end pressure [Pa]
	need   replace.Requirement
	shot   profile.Summary // with no. 1
	rest   float64         // force of no. 1 with the piston at rest, at work [N]
	cocked float64         // and cocked [N]
	effort float64         // greatest force of the hand with it [N]; 0 where the lever is not known
}

// needDefs are what the targets ask of a spring.
var needDefs = []report.Def[replaced]{
	{Key: "target_end", Name: "target end pressure", Unit: quantity.InBar, Digits: 2, Of: func(r *replaced) float64 { return r.end }},
	{Key: "needed_rest", Name: "force you need at rest", Unit: quantity.InN, Of: func(r *replaced) float64 { return r.need.Rest }},
	{Key: "needed_cocked", Name: "force you need when cocked", Unit: quantity.InN, Head: "force cocked", Of: func(r *replaced) float64 { return r.need.Cocked() }},
	{Key: "needed_rate", Name: "rate you need", Unit: quantity.InNPerMM, Digits: 2, Head: "rate", Of: func(r *replaced) float64 { return r.need.Rate }},
}

// bestDefs are what no. 1 gives, made within its tolerance.
var bestDefs = []report.Def[replaced]{
	{Key: "best_peak", Name: "peak pressure with no. 1", Unit: quantity.InBar, Digits: 2, Head: "peak", Of: func(r *replaced) float64 { return r.shot.Peak }},
	{Key: "best_end", Name: "end pressure with no. 1", Unit: quantity.InBar, Digits: 2, Head: "end", Of: func(r *replaced) float64 { return r.shot.End }},
	{Key: "best_flow_time", Name: "flow time with no. 1", Unit: quantity.InS, Of: func(r *replaced) float64 { return r.shot.Spring }},
	{Key: "best_yield", Name: "yield with no. 1", Unit: quantity.InG, Digits: 1, Of: func(r *replaced) float64 { return r.shot.Yield }},
	{Key: "best_rest", Name: "force of no. 1 at rest", Unit: quantity.InN, Of: func(r *replaced) float64 { return r.rest }},
	{Key: "best_cocked", Name: "force of no. 1 when cocked", Unit: quantity.InN, Of: func(r *replaced) float64 { return r.cocked }},
	{Key: "best_effort", Name: "handle force with no. 1", Unit: quantity.InN, Head: "handle", Of: func(r *replaced) float64 { return r.effort }},
}

// usualTolerance is what loads and rates of new springs usually are within, of
// themselves: judgement, about the second quality of EN 15800 [-].
const usualTolerance = 0.06

// made is a spring of a choice and what it may be off by when it is new.
type made struct {
	*replace.Part
	input spread.Other                // in tolerances, of which one holds 95 of 100 springs [-]
	load  func(force float64) float64 // tolerance of a load [N]
	rate  float64                     // tolerance of the rate that goes with it [-]
}

// madeOf takes the tolerance of loads that the maker prints, or that of EN 15800;
// where that does not cover a spring, or nothing but its rate is known, what new
// springs usually are off by. Loads at rest and cocked are off together.
func madeOf(p *replace.Part, name string, quality spring.Grade) made {
	share := usualTolerance
	if p.LoadBy > 0 {
		share = p.LoadBy
	}
	s := made{Part: p, rate: share, load: func(force float64) float64 { return share * force }}
	if t, err := p.Coil.Tolerance(quality); err == nil && p.LoadBy == 0 {
		s.rate, s.load = t.Rate, t.Load
	}
	s.input.Input = uncertain.HalfWidth95(name, 0, 1)
	return s
}

// off is the spring in a space, off by some tolerances [-]: of another free
// length and, as its wire differs, another rate.
func (s *made) off(space *replace.Space, tolerances float64) replace.Part {
	line := space.Line(s.Part)
	p, stiffer := *s.Part, 1+tolerances*s.rate
	p.Rate *= stiffer
	p.Free = space.Installed + (line.Preload+tolerances*s.load(line.Preload))/(line.Rate*stiffer)
	if p.Coil.Wire > 0 {
		p.Coil.G *= stiffer
		p.Coil.Free = p.Free
	}
	return p
}

// madeFrom is what a choice is made of, the tolerance of each part an input of its own.
func (t *task) madeFrom(c *replace.Choice, quality spring.Grade) (all []made) {
	for i := range c.Parts {
		name := spread.NewSpring
		if len(c.Parts) > 1 {
			name = fmt.Sprintf("%s[%d]", spread.NewSpring, i+1)
		}
		s := madeOf(&c.Parts[i], name, quality)
		s.input.Known = "± " + quantity.InN.Text(s.load(t.job.Space.Line(s.Part).Preload), 0) + " at rest"
		all = append(all, s)
	}
	return all
}

// question asks what spring the targets need, and what the first choice gives when
// it is made within its tolerance. The choice stays the same in every draw. Without
// a choice, or where a shot with it does not come to its end, only the need is asked.
func (t *task) question(c *replace.Choice, quality spring.Grade) ([]report.Def[replaced], spread.Question) {
	defs := needDefs
	var parts []made
	if c != nil {
		if s, err := t.summary(c); err == nil && finished(s.Outcome) {
			parts = t.madeFrom(c, quality)
			defs = append(append([]report.Def[replaced]{}, needDefs...), bestDefs...)
		}
	}
	q := spread.Of(defs, func() spread.Finder[replaced] { return t.finder(parts) })
	for i := range parts {
		q.Others = append(q.Others, parts[i].input)
	}
	return defs, q
}

// finder answers for a machine that is drawn, in memory of one core.
func (t *task) finder(parts []made) spread.Finder[replaced] {
	var lines []spring.Linear
	return func(m *machine.Machine, r *replaced, _ []float64) error {
		w := t.wishes
		w.Peak = m.Value("wish.peak")
		w.End = m.WishedEnd(w.Peak)
		need, _, err := replace.Require(&m.Setup, w, nil)
		if err != nil {
			return err
		}
		if need.Rate == 0 {
			return spread.NoAnswer("no spring gives the target pressures")
		}
		r.end, r.need = w.End, need
		if parts == nil {
			return nil
		}
		job := t.jobFor(m, need)
		lines = lines[:0]
		for i := range parts {
			p := parts[i].off(&job.Space, m.Value(parts[i].input.Name))
			lines = append(lines, job.Space.Line(&p))
		}
		s := m.Setup
		s.Springs = lines
		if r.shot, err = profile.Summarize(&s); err != nil {
			return err
		}
		if !finished(r.shot.Outcome) {
			return unfinished(r.shot.Outcome)
		}
		r.rest, r.cocked = spring.ForceOf(lines, 0), spring.ForceOf(lines, job.Stroke)
		r.effort = job.Hand.Effort(lines...)
		return nil
	}
}

// valueOf is what the machine of the sheet gives with a choice, as drawn.
func (t *task) valueOf(c *replace.Choice) (replaced, error) {
	r := replaced{end: t.wishes.End, need: t.job.Requirement}
	if c == nil {
		return r, nil
	}
	var err error
	if r.shot, err = t.summary(c); err != nil {
		return r, err
	}
	lines := t.lines(c)
	r.rest, r.cocked, r.effort = spring.ForceOf(lines, 0), spring.ForceOf(lines, t.job.Stroke), t.job.Hand.Effort(lines...)
	return r, nil
}

// replaceFrame is what is known of a task beside the numbers that are drawn.
type replaceFrame struct {
	*task
	*choices
	quality spring.Grade
	now     replaced        // with today's springs
	burden  *replace.Burden // of no. 1; nil where there is none
	cycles  float64         // load cycles in the life you want
}

// frameDefs are rows about the targets and the search.
var frameDefs = []report.Def[replaceFrame]{
	{Key: "target_peak", Name: "target peak pressure", Unit: quantity.InBar, Digits: 2, Of: func(f *replaceFrame) float64 { return f.wishes.Peak }},
	{Key: "tolerance", Name: "tolerance of both forces", Unit: quantity.InN, Of: func(f *replaceFrame) float64 { return f.job.Within }},
	{Key: "cycles", Name: "load cycles in the life you want", Of: func(f *replaceFrame) float64 { return f.cycles }},
	{Key: "tried", Name: "springs tried", Of: func(f *replaceFrame) float64 { return float64(f.tried) }},
	{Key: "fitting", Name: "springs that fit", Of: func(f *replaceFrame) float64 { return float64(f.fitting) }},
	{Key: "rank", Name: "ranked by", Text: func(f *replaceFrame) string { return strings.ReplaceAll(f.order.String(), ",", ", ") }},
	{Key: "today_peak", Name: "peak pressure today", Unit: quantity.InBar, Digits: 2, Of: func(f *replaceFrame) float64 { return f.now.shot.Peak }},
	{Key: "today_end", Name: "end pressure today", Unit: quantity.InBar, Digits: 2, Of: func(f *replaceFrame) float64 { return f.now.shot.End }},
	{Key: "today_flow_time", Name: "flow time today", Unit: quantity.InS, Of: func(f *replaceFrame) float64 { return f.now.shot.Spring }},
	{Key: "today_yield", Name: "yield today", Unit: quantity.InG, Digits: 1, Of: func(f *replaceFrame) float64 { return f.now.shot.Yield }},
	{Key: "today_rest", Name: "force at rest today", Unit: quantity.InN, Of: func(f *replaceFrame) float64 { return f.now.rest }},
	{Key: "today_cocked", Name: "force when cocked today", Unit: quantity.InN, Of: func(f *replaceFrame) float64 { return f.now.cocked }},
	{Key: "today_rate", Name: "rate today", Unit: quantity.InNPerMM, Digits: 2, Of: func(f *replaceFrame) float64 { return machine.Stiffness(f.m.Setup.Springs) }},
	{Key: "today_effort", Name: "handle force today", Unit: quantity.InN, Of: func(f *replaceFrame) float64 { return f.now.effort }},
}

// burdenDefs are rows about what no. 1 does to the machine.
var burdenDefs = []report.Def[replaceFrame]{
	{Key: "best_rate", Name: "rate of no. 1, at 20 °C", Unit: quantity.InNPerMM, Digits: 2, Of: func(f *replaceFrame) float64 { return rateOf(f.first()) }},
	{Key: "cocked_ratio", Name: "load on linkage, latch and pivots, new/old", Digits: 2, Of: func(f *replaceFrame) float64 { return f.burden.Cocked }},
	{Key: "stored", Name: "energy stored by cocking", Unit: quantity.InJ, Digits: 1, Of: func(f *replaceFrame) float64 { return f.burden.Energy }},
	{Key: "stored_ratio", Name: "energy stored, new/old", Digits: 2, Of: func(f *replaceFrame) float64 { return f.burden.Stored }},
}

// rateOf is the rate of a choice at 20 °C [N/m].
func rateOf(c *replace.Choice) (rate float64) {
	for i := range c.Parts {
		rate += c.Parts[i].Rate
	}
	return rate
}
