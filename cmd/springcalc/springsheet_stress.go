package main

import (
	"fmt"
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/spring"
	"springcalc/tables"
)

// check is one allowable stress with what it is compared with.
type check struct {
	criterion spring.Criterion
	spring    spring.Compression // with the solid length of the method
	states    []string           // at which the allowable holds
}

// stresses lists stress and safety, each method by itself.
func (w *sheetWriter) stresses(s *member) {
	if d := s.dims; d.wire == nil || d.tensile.Min == 0 {
		w.stressAlone(s)
		return
	}
	t := s.dims.tensile
	w.source(s, "tensile strength", "at least "+quantity.InMPa.Text(t.Min, 0), t.Grade, t.Source)
	if t.Note != "" {
		s.doubt("Tensile strength: %s.", t.Note)
	}
	s.notes = append(s.notes, "\"Before set\" is for a spring as it was coiled; \"after set\" and \"set\" for one that its maker pressed solid until it got no shorter. "+
		"Where that is not known, the lower safety counts. A safety under 1 is past the limit.")
	loading := spring.Loading{Working: s.dims.working, Tensile: t.Min}
	for _, c := range w.checks(s) {
		m, err := c.spring.Check(c.criterion, loading)
		if err != nil {
			s.doubt("No safety by %s: %s.", c.criterion.Name(), machine.WithoutPackage(err))
			continue
		}
		for i, margin := range []spring.Margin{m.Rest, m.Cocked, m.Solid} {
			if slices.Contains(c.states, machine.AllStates[i]) {
				w.stressRow(s, c, machine.AllStates[i], margin)
			}
		}
	}
}

// stressRow adds one stress beside its allowable, and what that means.
func (w *sheetWriter) stressRow(s *member, c check, state string, m spring.Margin) {
	factor := c.criterion.Factor()
	safety := any(nil)
	if n, ok := m.Safety(); ok {
		safety = n
	}
	w.stress.Data = append(w.stress.Data, []any{s.Name, c.criterion.Name(), plainName(factor), factor.K(s.dims.us.Index()),
		state, quantity.InMPa.Of(m.Stress), quantity.InMPa.Of(m.Allowable), safety})
	if m.Used > 1 {
		s.doubt("By %s, the wire is past what it bears %s: %s.", c.criterion.Name(), state,
			map[bool]string{true: "it must not be pressed solid, or takes a set", false: "the spring gets shorter in use"}[state == "solid"])
	}
}

// stressAlone lists stresses with no allowable beside them.
func (w *sheetWriter) stressAlone(s *member) {
	c := s.dims.us
	for _, f := range []spring.Factor{spring.NoCorrection, spring.DirectShear, spring.Bergstrasser} {
		for i, force := range []float64{s.Line.Force(0), s.Line.Force(s.stroke), c.SolidForce()} {
			w.stress.Data = append(w.stress.Data, []any{s.Name, "no allowable known", plainName(f), f.K(c.Index()), machine.AllStates[i],
				quantity.InMPa.Of(c.Stress(force, f)), nil, nil})
		}
	}
}

// checks returns the criteria of the methods that are asked for.
func (w *sheetWriter) checks(s *member) []check {
	var list []check
	if w.use.Method != "EN 13906-1" {
		list = append(list, w.checksOf(s, "Shigley", s.dims.us)...)
	}
	if w.use.Method != "Shigley" && s.dims.en != nil {
		list = append(list, w.checksOf(s, "EN 13906-1", *s.dims.en)...)
	}
	return list
}

// checksOf returns the criteria of one method: each allowable that the tables
// have, with its own factor.
func (w *sheetWriter) checksOf(s *member, method string, c spring.Compression) []check {
	published, of := allowables(*s.dims.wire, method == "EN 13906-1")
	if len(published) == 0 {
		s.doubt("%s has no allowable stress for %s wire.", method, s.dims.wire.Name)
	}
	if of != s.dims.wire.Name && of != "" {
		s.doubt("%s has no allowable stress for %s wire: the share of its strength that %s wire bears is taken.", method, s.dims.wire.Name, of)
	}
	var list []check
	for _, a := range published {
		list = append(list, check{criterionOf(method, a), c, machine.StatesOf(a)})
		share := fmt.Sprintf("%.0f %%", quantity.InPercent.Of(a.Low))
		if a.High > a.Low {
			share += fmt.Sprintf(" (to %.0f %%)", quantity.InPercent.Of(a.High))
		}
		w.source(s, "allowed share of it, "+a.Condition, share, a.Grade, a.Source)
	}
	return list
}

func criterionOf(method string, a tables.Allowable) spring.Criterion {
	c, err := spring.Rule{Name: method + ", " + shortCondition[a.Condition], Factor: machine.FactorsByName[a.Correction], Fraction: a.Low}.Criterion()
	if err != nil {
		panic(err) // the table is wrong
	}
	return c
}

// shortCondition is the condition of an allowable, short enough for a table.
var shortCondition = map[string]string{
	"before set removal": "before set", "after set removal": "after set",
	"at solid, preset": "set", "working load, static": "static",
}

// fatigue says how many pulls the wire bears.
func (w *sheetWriter) fatigue(s *member) {
	d := s.dims
	if d.wire == nil || d.tensile.Min == 0 {
		return
	}
	z, share := tables.Zimmerli(w.use.Peened), tables.UltimateShear()[0]
	surface := map[bool]string{true: "peened", false: "unpeened"}[w.use.Peened]
	w.source(s, "Zimmerli's limit, "+surface, fmt.Sprintf("%s about %s", quantity.InMPa.Text(z.Amplitude, 0), quantity.InMPa.Text(z.Mean, 0)), z.Grade, z.Source)
	w.source(s, "ultimate shear over tensile strength", fmt.Sprintf("%.2f", share.Value), share.Grade, share.Source)
	strength := machine.EnduranceOf(d.tensile.Min, w.use.Peened)
	endless := true
	for _, line := range []spring.Line{spring.Goodman, spring.Gerber} {
		strength.Line = line
		f, err := d.us.Fatigue(d.working, strength)
		if err != nil {
			s.doubt("No fatigue limit: %s.", machine.WithoutPackage(err))
			return
		}
		if line == spring.Goodman {
			s.add(
				measure("stress_mean_mpa", "mean stress of a pull", f.Cycle.Mean, quantity.InMPa, 0).noted("Bergsträsser"),
				measure("stress_amplitude_mpa", "amplitude of that", f.Cycle.Amplitude, quantity.InMPa, 0))
			s.doubts = append(s.doubts, f.Doubts...)
		}
		endless = endless && f.Safety >= 1
		name := line.String()
		s.add(row{Key: map[spring.Line]string{spring.Goodman: "fatigue_goodman", spring.Gerber: "fatigue_gerber"}[line],
			Name: "fatigue safety, " + name, Value: f.Safety, Digits: 2}.noted("Zimmerli, %s", surface))
	}
	w.life(s, strength.UltimateShear, endless)
}

// life says after how many pulls the wire breaks, and what share of them the use
// has taken. By Zimmerli it may be endless.
func (w *sheetWriter) life(s *member, ultimateShear float64, endless bool) {
	d := s.dims
	curve, million, err := machine.LifeCurve(*d.wire, w.use.Peened)
	if err != nil {
		s.doubt("No finite life is published for %s wire.", d.wire.Name)
		return
	}
	w.source(s, "stress for 1e6 pulls from zero", fmt.Sprintf("%.0f %% of the tensile strength", quantity.InPercent.Of(million.Value)), million.Grade, million.Source)
	life, err := d.us.Life(d.working, spring.LifeWire{Tensile: d.tensile.Min, UltimateShear: ultimateShear, Curve: curve})
	if err != nil {
		s.doubt("No finite life: %s.", machine.WithoutPackage(err))
		return
	}
	bound := map[spring.Bound]string{spring.Fewer: "or fewer", spring.About: "about", spring.More: "or more"}[life.Bound]
	s.add(row{Key: "life_million_pulls", Name: "pulls to fracture", Value: life.Cycles / 1e6, Digits: 2, Unit: "million"}.noted("%s", bound))
	s.doubt(spring.LivesScatter)
	if endless && life.Bound != spring.More {
		s.doubt("By Zimmerli's limit the life is endless, by the table of finite lives it is not: the sources differ.")
	}
	if w.use.pulls == 0 {
		return
	}
	used, err := spring.Miner([]spring.Block{{Cycles: w.use.pulls, Life: life.Cycles}})
	if err != nil {
		s.doubt("No share of the life: %s.", machine.WithoutPackage(err))
		return
	}
	of := map[spring.Bound]string{spring.Fewer: "at least: ", spring.About: "", spring.More: "at most: "}[life.Bound]
	s.add(
		row{Key: "done_million_pulls", Name: "pulls done", Value: w.use.pulls / 1e6, Digits: 2, Unit: "million"},
		row{Key: "life_used_percent", Name: "life used, by Miner", Value: 100 * used, Digits: 1, Unit: "%"}.noted("%sdue at 30 to 300", of))
}
