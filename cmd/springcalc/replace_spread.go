package main

import (
	"fmt"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile"
	"springcalc/profile/diagnose"
	"springcalc/profile/replace"
	"springcalc/profile/uncertain"
	"springcalc/spring"
)

// newSpring is how far the spring that is made or bought may be off its loads.
const newSpring = "tolerance of the new spring"

// usualTolerance is what loads and rates of new springs usually are within, of
// themselves [-].
var usualTolerance = 2 * diagnose.UsualSpread()[diagnose.BenchLoad].Share

// made is a spring of a choice and what it may be off by when it is new.
type made struct {
	*replace.Part
	input otherInput                  // in tolerances, of which one holds 95 of 100 springs [-]
	Load  func(force float64) float64 // tolerance of a load [N]
	rate  float64                     // tolerance of the rate that goes with it [-]
}

// madeOf takes the tolerance of loads by EN 15800; where that does not cover a
// spring, or nothing but its rate is known, what new springs usually are off by.
// Loads at rest and cocked are off together.
func madeOf(p *replace.Part, name string, quality spring.Grade) made {
	s := made{Part: p, rate: usualTolerance, Load: func(force float64) float64 { return usualTolerance * force }}
	if t, err := p.Coil.Tolerance(quality); err == nil {
		s.rate, s.Load = t.Rate, t.Load
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
	p.Free = space.Installed + (line.Preload+tolerances*s.Load(line.Preload))/(line.Rate*stiffer)
	if p.Coil.Wire > 0 {
		p.Coil.G *= stiffer
		p.Coil.Free = p.Free
	}
	return p
}

// madeFrom is what a choice is made of, the tolerance of each part an input of its own.
func (t *task) madeFrom(c *replace.Choice, quality spring.Grade) (all []made) {
	for i := range c.Parts {
		name := newSpring
		if len(c.Parts) > 1 {
			name = sheet.Indexed(newSpring, i+1)
		}
		s := madeOf(&c.Parts[i], name, quality)
		rest := t.job.Space.Line(s.Part).Preload
		s.input.Known = "± " + quantity.InN.Text(s.Load(rest), 0) + " at rest"
		all = append(all, s)
	}
	return all
}

// addSpread says how far the needed forces may be off, and what a choice gives
// when it is made.
func (c *replaceCmd) addSpread(r *report, t *task, best *replace.Choice) error {
	s, err := c.Spread(t.m, t.question(best, spring.Grade(c.Quality)))
	s.addTo(r)
	if s != nil && len(s.Others) > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("of new springs, 95 of 100 are taken to keep the load tolerance of EN 15800 (from memory, quality %d), "+
			"or %s where that does not cover them, their loads at rest and cocked off together", c.Quality, quantity.InPercent.Text(usualTolerance, 0)))
	}
	if row := r.row("best_margin_percent"); row != nil && row.Band != nil && row.Value >= 0 && row.Band.Low < 0 {
		r.Doubts = append(r.Doubts, fmt.Sprintf("Made within its tolerance, no. 1 may break its limit of %s: have it made closer (--quality), or take one of more margin.", row.Note))
	}
	return err
}

// question asks what spring the wishes need and what a choice would give,
// made within its tolerance. The choice stays the same in every draw. It is
// nil where there is none; a shot with it that does not end has no numbers.
func (t *task) question(c *replace.Choice, quality spring.Grade) question {
	q := question{Outcomes: []outcome{
		{Key: "wished_end_bar", Unit: quantity.InBar},
		{Key: "required_rest_n", Unit: quantity.InN},
		{Key: "required_cocked_n", Unit: quantity.InN, Head: "force cocked"},
		{Key: "required_rate_n_per_mm", Unit: quantity.InNPerMM, Head: "rate"},
	}}
	var parts []made
	sound := false // whether anything is known of the choice but its pressures
	if c != nil {
		if shot, err := t.summary(c); err == nil && finished(shot.Outcome) {
			parts = t.madeFrom(c, quality)
			q.Outcomes = append(q.Outcomes, outcome{"best_peak_bar", quantity.InBar, "peak"}, outcome{"best_end_bar", quantity.InBar, "end"},
				outcome{"best_spring_s", quantity.InS, ""}, outcome{"best_yield_g", quantity.InG, ""})
			_, _, sound = c.Verdict.Sound()
		}
		if sound {
			q.Outcomes = append(q.Outcomes, outcome{"best_margin_percent", quantity.InPercent, "margin"})
		}
	}
	for i := range parts {
		q.Others = append(q.Others, parts[i].input)
	}
	q.Answer = func() finder {
		var lines []spring.Linear // memory of one core
		var drawn []replace.Part
		return func(m *machine.Machine, y []float64) error {
			w := t.wishes
			w.Peak = m.Value("wish.peak")
			w.End = m.WishedEnd(w.Peak)
			need, _, err := replace.Require(&m.Setup, w, nil)
			if err != nil {
				return err
			}
			if need.Rate == 0 {
				return errOutcome("no spring gives the wished pressures")
			}
			y[0], y[1], y[2], y[3] = w.End, need.Rest, need.Cocked(), need.Rate
			if parts == nil {
				return nil
			}
			job := t.jobFor(m, need)
			lines, drawn = lines[:0], drawn[:0]
			for i := range parts {
				p := parts[i].off(&job.Space, m.Value(parts[i].input.Name))
				lines, drawn = append(lines, job.Space.Line(&p)), append(drawn, p)
			}
			s := m.Setup
			s.Springs = lines
			shot, err := profile.Summarize(&s)
			y[4], y[5], y[6], y[7] = shot.Peak, shot.End, shot.Spring, shot.Yield
			if err != nil {
				return err
			}
			if sound {
				verdict, err := job.Judge(drawn)
				if err != nil {
					return err
				}
				y[8], _, _ = verdict.Sound()
			}
			return unfinished(shot.Outcome)
		}
	}
	return q
}
