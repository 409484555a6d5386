package answer

import (
	"fmt"
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/spring"
)

// springSet is what the rows of an answer are made from: the springs of a machine.
type springSet struct{ parts []springResult }

// lineDefs are the rows of every spring. Names carry the symbols of EN 13906-1.
var lineDefs = []report.Def[springResult]{
	{Key: "rate", Name: "rate R", Unit: quantity.InNPerMM, Digits: 2, Head: "rate", Short: true,
		Of: func(s *springResult) float64 { return s.line.Rate }},
	{Key: "load_rest", Name: "load at rest F1", Unit: quantity.InN, Head: "load at rest", Short: true,
		Of: func(s *springResult) float64 { return s.line.Force(0) }},
	{Key: "load_cocked", Name: "load cocked F2", Unit: quantity.InN, Head: "load cocked", Short: true,
		Of: func(s *springResult) float64 { return s.line.Force(s.stroke) }},
	{Key: "energy_stroke", Name: "energy of one stroke W", Unit: quantity.InJ, Digits: 1,
		Of: func(s *springResult) float64 { return s.line.Energy(s.stroke) }},
}

// bareDefs are those of a spring of which only rate and preload are stated.
var bareDefs = []report.Def[springResult]{
	{Key: "deflection_rest", Name: "deflection at rest s1", Unit: quantity.InMM, Digits: 1,
		Of: func(s *springResult) float64 { return s.line.Preload / s.line.Rate }},
}

// coilDefs are those of a spring that is described by its dimensions.
var coilDefs = []report.Def[springResult]{
	{Key: "wire", Name: "wire diameter d", Unit: quantity.InMM, Digits: 2, Of: func(s *springResult) float64 { return s.us.Wire }},
	{Key: "outside_diameter", Name: "outside diameter De", Unit: quantity.InMM, Digits: 2, Of: func(s *springResult) float64 { return s.us.Outer() }},
	{Key: "mean_diameter", Name: "mean coil diameter D", Unit: quantity.InMM, Digits: 2, Of: func(s *springResult) float64 { return s.us.Mean }},
	{Key: "inside_diameter", Name: "inside diameter Di", Unit: quantity.InMM, Digits: 2, Of: func(s *springResult) float64 { return s.us.Inner() }},
	{Key: "outside_cocked", Name: "De cocked, ends free to turn", Unit: quantity.InMM, Digits: 2,
		Of: func(s *springResult) float64 { return s.us.Outer() + s.us.GrowthAt(s.working.Cocked).FreeToTurn }},
	{Key: "inside_cocked", Name: "Di cocked, ends held", Unit: quantity.InMM, Digits: 2,
		Of: func(s *springResult) float64 { return s.us.Inner() + s.us.GrowthAt(s.working.Cocked).Held }},
	{Key: "outside_solid", Name: "De solid, ends free to turn", Unit: quantity.InMM, Digits: 2,
		Of: func(s *springResult) float64 { return s.us.Outer() + s.us.Growth().FreeToTurn }},
	{Key: "growth", Name: "growth to solid, ends free to turn", Unit: quantity.InMM, Digits: 2, Of: func(s *springResult) float64 { return s.us.Growth().FreeToTurn }},
	{Key: "growth_held", Name: "growth to solid, ends held", Unit: quantity.InMM, Digits: 2, Of: func(s *springResult) float64 { return s.us.Growth().Held }},
	{Key: "index", Name: "spring index D/d", Digits: 2, Of: func(s *springResult) float64 { return s.us.Index() }},
	{Key: "active_coils", Name: "active coils n", Digits: 2, Of: func(s *springResult) float64 { return s.us.Active }},
	{Key: "total_coils", Name: "total coils nt", Digits: 2, Of: func(s *springResult) float64 { return s.us.Total }},
	{Key: "pitch", Name: "pitch, free p", Unit: quantity.InMM, Digits: 2, Of: func(s *springResult) float64 { return s.us.Pitch() }},
	{Key: "free_length", Name: "free length L0", Unit: quantity.InMM, Digits: 1, Of: func(s *springResult) float64 { return s.us.Free }},
	{Key: "length_rest", Name: "length at rest L1", Unit: quantity.InMM, Digits: 1, Of: func(s *springResult) float64 { return s.working.Rest }},
	{Key: "length_cocked", Name: "length cocked L2", Unit: quantity.InMM, Digits: 1, Of: func(s *springResult) float64 { return s.working.Cocked }},
	{Key: "solid_length_us", Name: "solid length Lc, US practice", Unit: quantity.InMM, Digits: 1, Of: func(s *springResult) float64 { return s.us.SolidLength() }},
	{Key: "left_cocked", Name: "left to solid, cocked", Unit: quantity.InMM, Digits: 1, Of: func(s *springResult) float64 { return s.left() }},
	{Key: "mass", Name: "mass", Unit: quantity.InG, Of: func(s *springResult) float64 { return s.us.Mass() }},
	{Key: "wire_length", Name: "length of wire l", Unit: quantity.InMM, Of: func(s *springResult) float64 { return s.us.WireLength() }},
	{Key: "rate_with_shear", Name: "rate, direct shear counted", Unit: quantity.InNPerMM, Digits: 2, Of: func(s *springResult) float64 { return s.us.RateWithShear() }},
	{Key: "surge", Name: "surge frequency fe", Unit: quantity.InHz, Of: func(s *springResult) float64 { return s.us.Surge().BothSeated }},
	{Key: "critical_free_length", Name: "critical free length, flat seats", Unit: quantity.InMM, Digits: 1,
		Of: func(s *springResult) float64 { return s.straight[spring.FixedFixed].CriticalFree }},
	{Key: "rate_per_10_k", Name: "rate for 10 K more", Unit: quantity.InPercent, Digits: 2, Of: func(s *springResult) float64 { return -10 * s.soft }},
}

var clashDefs = []report.Def[springResult]{
	{Key: "clash", Name: "clash allowance ξ", Unit: quantity.InPercent, Of: func(s *springResult) float64 { return s.clash.Clash }},
}

var gapDefs = []report.Def[springResult]{
	{Key: "solid_length_en", Name: "solid length Lc, EN 13906-1", Unit: quantity.InMM, Digits: 1, Of: func(s *springResult) float64 { return s.en.SolidLength() }},
	{Key: "gap_cocked", Name: "coil gap, cocked", Unit: quantity.InMM, Digits: 1, Short: true, Of: func(s *springResult) float64 { return s.gaps.Gap }},
	{Key: "gap_required", Name: "least sum of coil gaps Sa", Unit: quantity.InMM, Digits: 1, Of: func(s *springResult) float64 { return s.gaps.Required }},
	{Key: "shortest", Name: "shortest length at work Ln", Unit: quantity.InMM, Digits: 1, Of: func(s *springResult) float64 { return s.gaps.Shortest }},
}

var boreDefs = []report.Def[springResult]{
	{Key: "play_bore", Name: "play in the bore, solid", Unit: quantity.InMM, Digits: 2,
		Of: func(s *springResult) float64 { return s.bore - s.us.Outer() - s.us.Growth().FreeToTurn }},
}

var rodDefs = []report.Def[springResult]{
	{Key: "play_rod", Name: "play over the rod, free", Unit: quantity.InMM, Digits: 2, Of: func(s *springResult) float64 { return s.us.Inner() - s.rod }},
}

var bucklingDefs = []report.Def[springResult]{
	{Key: "buckling", Name: "buckles at a deflection of sK", Unit: quantity.InMM, Digits: 1,
		Of: func(s *springResult) float64 { return s.straight[spring.FixedFixed].CriticalDeflection }},
}

var tensileDefs = []report.Def[springResult]{
	{Key: "tensile_strength", Name: "tensile strength Rm", Unit: quantity.InMPa, Of: func(s *springResult) float64 { return s.sut }},
}

var fatigueDefs = []report.Def[springResult]{
	{Key: "stress_mean", Name: "mean stress of a pull τm", Unit: quantity.InMPa, Of: func(s *springResult) float64 { return s.fatigue[spring.Goodman].Cycle.Mean }},
	{Key: "stress_amplitude", Name: "stress amplitude of a pull τa", Unit: quantity.InMPa, Of: func(s *springResult) float64 { return s.fatigue[spring.Goodman].Cycle.Amplitude }},
	{Key: "fatigue_safety", Name: "fatigue safety", Digits: 2, Short: true, Of: func(s *springResult) float64 { return s.cautious }},
	{Key: "fatigue_goodman", Name: "by Goodman", Digits: 2, Indent: true, Of: func(s *springResult) float64 { return s.fatigue[spring.Goodman].Safety }},
	{Key: "fatigue_gerber", Name: "by Gerber", Digits: 2, Indent: true, Of: func(s *springResult) float64 { return s.fatigue[spring.Gerber].Safety }},
	{Key: "fatigue_sines", Name: "by Sines", Digits: 2, Indent: true, Of: func(s *springResult) float64 { return s.fatigue[spring.Sines].Safety }},
}

var nortonDefs = []report.Def[springResult]{
	{Key: "fatigue_norton", Name: "by Norton", Digits: 2, Indent: true, Of: func(s *springResult) float64 { return s.norton }},
}

var bhandariDefs = []report.Def[springResult]{
	{Key: "fatigue_bhandari", Name: "by Bhandari", Digits: 2, Indent: true, Of: func(s *springResult) float64 { return s.bhandari }},
}

var lifeDefs = []report.Def[springResult]{
	{Key: "life", Name: "fatigue life, pulls", Text: func(s *springResult) string { return pullsText(s.life) }},
	{Key: "life_pulls", Name: "fatigue life, number of pulls", DataOnly: true, Of: func(s *springResult) float64 { return s.life.Cycles }},
}

var usedDefs = []report.Def[springResult]{
	{Key: "done_pulls", Name: "pulls done", Of: func(s *springResult) float64 { return s.by.pulls }},
	{Key: "life_used", Name: "fatigue life used, by Miner", Unit: quantity.InPercent, Digits: 1, Short: true, Of: func(s *springResult) float64 { return s.used }},
}

var hotDefs = []report.Def[springResult]{
	{Key: "rate_hot", Name: "rate at work R", Unit: quantity.InNPerMM, Digits: 2, Of: func(s *springResult) float64 { return s.line.Rate * s.warm }},
	{Key: "load_rest_hot", Name: "load at rest F1, at work", Unit: quantity.InN, Of: func(s *springResult) float64 { return s.line.Force(0) * s.warm }},
	{Key: "load_cocked_hot", Name: "load cocked F2, at work", Unit: quantity.InN, Of: func(s *springResult) float64 { return s.line.Force(s.stroke) * s.warm }},
}

// left is the travel from cocked until the coils touch, by US practice [m].
func (s *springResult) left() float64 { return s.working.Cocked - s.us.SolidLength() }

// pullsText is a fatigue life in words; outside its table it is a bound.
func pullsText(l spring.Life) string {
	n := fmt.Sprintf("%.2g million", l.Cycles/1e6)
	return map[spring.Bound]string{spring.Fewer: "under ", spring.About: "about ", spring.More: "over "}[l.Bound] + n
}

// safetyDefs are the safeties against a limit of the stress.
func (s *member) safetyDefs() (defs []report.Def[springResult]) {
	for i, l := range s.limits {
		if s.lacks[l.key] || l.en && s.lacks["en"] {
			continue
		}
		for _, at := range []struct {
			state string
			ask   bool
			of    func(spring.Margins) spring.Margin
		}{
			{"cocked", l.cocked, func(m spring.Margins) spring.Margin { return m.Cocked }},
			{"solid", l.solid, func(m spring.Margins) spring.Margin { return m.Solid }},
		} {
			if !at.ask {
				continue
			}
			defs = append(defs, report.Def[springResult]{Key: "safety_" + at.state + "_" + l.key, Name: "stress safety, " + at.state, Digits: 2,
				Of: func(s *springResult) float64 { n, _ := at.of(s.margins[i]).Safety(); return n }})
		}
	}
	return defs
}

// defs are the rows that can be said of a spring.
func (s *springResult) defs() []report.Def[springResult] {
	if !s.coiled {
		if s.line.Preload > 0 {
			return slices.Concat(lineDefs, bareDefs)
		}
		return lineDefs
	}
	all := slices.Clone(lineDefs)
	add := func(known bool, defs []report.Def[springResult]) {
		if known {
			all = append(all, defs...)
		}
	}
	add(s.by.Method != machine.EN && !s.lacks["clash"], clashDefs)
	add(s.by.Method != machine.Shigley && !s.lacks["en"], gapDefs)
	add(true, s.safetyDefs())
	add(s.rm.Min > 0 && !s.lacks["fatigue"], fatigueDefs)
	add(s.rm.Min > 0 && !s.lacks["fatigue"] && !s.lacks["norton"], nortonDefs)
	add(s.pulsates && !s.lacks["fatigue"] && !s.lacks["bhandari"], bhandariDefs)
	finite := s.curve != nil && !s.lacks["fatigue"] && !s.lacks["norton"] && !s.lacks["life"]
	add(finite, lifeDefs)
	add(finite && s.by.pulls > 0, usedDefs)
	add(!s.straight[spring.FixedFixed].Never, bucklingDefs)
	add(s.bore > 0, boreDefs)
	add(s.rod > 0, rodDefs)
	add(s.hot > 0 && !s.lacks["hot"], hotDefs)
	add(s.rm.Min > 0, tensileDefs)
	add(true, coilDefs)
	return all
}

// setDefs are the rows of all springs: those of one of a nest have its name in key
// and name, and those of both together come first.
func setDefs(parts []*springResult) (all []report.Def[springSet]) {
	if len(parts) > 1 {
		all = slices.Clone(sumDefs)
	}
	for i, p := range parts {
		var keys []string
		defs := p.defs()
		for _, d := range defs {
			keys = append(keys, d.Key)
		}
		lifted := report.Lift(defs, func(s *springSet) *springResult { return &s.parts[i] }, keys...)
		for j := range lifted {
			if d := &lifted[j]; p.name != "" {
				d.Key, d.Name, d.Short = p.name+"_"+d.Key, p.name+": "+d.Name, false
				if d.Head != "" && d.Head != "rate" {
					d.Head = ""
				} else if d.Head != "" {
					d.Head = p.name + " " + d.Head
				}
			}
		}
		all = append(all, lifted...)
	}
	return all
}

// lines are the springs as the piston feels them.
func (s *springSet) lines() (lines []spring.Linear) {
	for i := range s.parts {
		lines = append(lines, s.parts[i].line)
	}
	return lines
}

// sumDefs are the rows of two springs together.
var sumDefs = []report.Def[springSet]{
	{Key: "rate_both", Name: "rate R of both, cocked", Unit: quantity.InNPerMM, Digits: 2,
		Of: func(s *springSet) float64 { return spring.RateOf(s.lines(), s.parts[0].stroke) }},
	{Key: "load_rest_both", Name: "load at rest F1 of both", Unit: quantity.InN, Head: "load at rest",
		Of: func(s *springSet) float64 { return spring.ForceOf(s.lines(), 0) }},
	{Key: "load_cocked_both", Name: "load cocked F2 of both", Unit: quantity.InN, Head: "load cocked",
		Of: func(s *springSet) float64 { return spring.ForceOf(s.lines(), s.parts[0].stroke) }},
}

// roomDefs are the rows of two springs inside each other.
var roomDefs = []report.Def[springSet]{
	{Key: "room_free", Name: "room between them on each side, free", Unit: quantity.InMM, Digits: 2, Of: func(s *springSet) float64 { return s.room().Free }},
	{Key: "room_solid", Name: "room between them on each side, solid", Unit: quantity.InMM, Digits: 2, Of: func(s *springSet) float64 { return s.room().Solid }},
}

// room is that between the springs of a nest.
func (s *springSet) room() spring.Room {
	return spring.Nest{s.parts[0].us, s.parts[1].us}.Rooms()[0]
}
