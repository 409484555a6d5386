package answer

import (
	"fmt"
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/profile/course"
	"springcalc/profile/diagnose"
)

// percentText never says that anything is certain.
func percentText(p float64) string {
	switch {
	case p < 0.01:
		return "< 1 %"
	case p > 0.99:
		return "> 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// sentences say how the machine stands: what contradicts itself first, then
// whether the readings go together, then what is probably wrong.
func (d *diagnosis) sentences() (list []report.Sentence) {
	s := d.state
	for _, c := range s.Against {
		in := kindsIn[c.Kind]
		list = append(list, report.Say("The %s is stated twice, as %s and as %s, which cannot both be right.", c.Kind.String(), in.of(c.Values[0]), in.of(c.Values[1])))
	}
	if first, ok := d.sheetAgainst(); ok {
		list = append(list, first)
	}
	if s.Withheld {
		list = append(list, report.Say("These readings do not go together, whatever is wrong (p = %.2g), so no repair is advised.", s.Explains))
		if w := s.Worst; w != nil {
			in := kindsIn[w.Kind]
			list = append(list, report.Say("Least with the rest goes the %s: %s was read, the rest want %s.", w.Kind.String(), in.of(w.Measured), in.of(w.Expected)))
		}
		return list
	}
	bar := func(v float64) report.Amount { return report.Of(v, quantity.InBar, 2) }
	list = append(list, report.Say("The peak is now %s (%s to %s); with every part right it would be %s.", bar(s.Now.Value), bare(bar(s.Now.Low)), bare(bar(s.Now.High)), bar(s.Sound.Value)))
	switch first := s.Parts[0]; {
	case s.NothingWrong >= 0.5:
		list = append(list, report.Say("Probably nothing is worth repairing (%s).", percentText(s.NothingWrong)))
	case first.Probability < 0.5:
		list = append(list, report.Say("Which part it is cannot be told yet; likeliest is: %s (%s).", first.Part.String(), percentText(first.Probability)))
	default:
		list = append(list, d.accuse(&first))
		for _, p := range s.Parts[1:] {
			if p.Probability >= 0.5 {
				list = append(list, report.Say("Beside it: %s (%s).", p.Part.String(), percentText(p.Probability)))
			}
		}
	}
	return list
}

// accuse names a part with what putting it right would bring back.
func (d *diagnosis) accuse(p *diagnose.PartState) report.Sentence {
	gain := func(v float64) report.Amount { return report.Of(v, quantity.InBar, 1) }
	brings := "putting it right alone would bring back"
	if p.Part == diagnose.PartGauge {
		brings = "put right, it would show more by"
	}
	in := sizes[p.Part]
	return report.Say("Probably it is: %s (%s), by %s; %s %s (%s to %s).", p.Part.String(), percentText(p.Probability), in.of(p.Size.Value), brings,
		gain(p.Gain.Value), bare(gain(p.Gain.Low)), bare(gain(p.Gain.High)))
}

// bare is an amount without its unit.
func bare(a report.Amount) report.Amount {
	a.Bare = true
	return a
}

// sheetAgainst says where the sheet, with what it states of the new machine,
// does not give the peak that it had.
func (d *diagnosis) sheetAgainst() (report.Sentence, bool) {
	if d.fresh.Peak == 0 || d.fresh.Guessed {
		return report.Sentence{}, false
	}
	s := &d.fresh.Setup
	peak, err := peakOf(s)
	if err != nil {
		return report.Sentence{}, false
	}
	length := 0.0
	if c := d.fresh.Spring; c != nil {
		length = d.priors.Sound.FreeLength * c.Free * s.Springs[0].Rate / s.Cylinder.Area()
	}
	u := math.Hypot(d.tool(diagnose.Peak), math.Hypot(length, 0.02*peak))
	if math.Abs(peak-d.fresh.Peak) < 3*u {
		return report.Sentence{}, false
	}
	bar := func(v float64) report.Amount { return report.Of(v, quantity.InBar, 1) }
	return report.Say("The sheet contradicts itself: by its spring and piston the machine gave %s when new, but new.peak is %s.", bar(peak), bar(d.fresh.Peak)), true
}

// next says what to do next, and what each outcome would lead to.
func (d *diagnosis) next() []report.Sentence {
	x := d.state.Next
	effort := report.Of(x.Effort, quantity.InMin, 0)
	switch x.Is {
	case diagnose.StepLeave:
		if d.state.Withheld {
			return nil
		}
		return []report.Sentence{report.Say("Leave it as it is: no repair is worth its effort by what is known.")}
	case diagnose.StepRepair:
		list := []report.Sentence{report.Say("Next: %s (about %s; needed with %s).", x.Repair.String(), effort, percentText(x.Sure))}
		if x.Repair == diagnose.RepairShim && d.state.Shim != nil {
			list = append(list, report.Say("The shim: %s, %s.", report.Of(d.state.Shim.Thickness, quantity.InMM, 1), shimVerdict(d.state.Shim)))
		}
		return list
	}
	if x.Again {
		return []report.Sentence{report.Say("Read the %s again, and check what the sheet says of it (about %s).", x.Measure.String(), effort)}
	}
	what := report.Say("Measure next the %s (about %s)", x.Measure.String(), effort)
	if x.At > 0 {
		what = report.Say("Measure next the %s, at %s (about %s)", x.Measure.String(), report.Of(x.At, quantity.InMM, 1), effort)
	}
	if outcomes := leads(x); !outcomes.Empty() {
		what = report.Say("%s: %s.", what, outcomes)
	} else {
		what = report.Say("%s.", what)
	}
	if x.Rules != nil {
		return []report.Sentence{what, report.Say("It may show that you need not %s.", x.Rules.String())}
	}
	return []report.Sentence{what}
}

// leads says what each outcome of a measurement would lead to.
func leads(x diagnose.Step) (all report.Sentence) {
	in := kindsIn[x.Measure]
	for i, o := range x.Outcomes {
		then := "leave it"
		switch o.Is {
		case diagnose.StepRepair:
			then = o.Repair.String()
		case diagnose.StepMeasure:
			then = "then the " + o.Measure.String()
		}
		one := report.Say("about %s: %s", in.of(o.Value), then)
		if i > 0 {
			one = report.Say("%s; %s", all, one)
		}
		all = one
	}
	return all
}

// shimVerdict says whether a shim may be fitted.
func shimVerdict(s *diagnose.Shim) report.Sentence {
	mm := func(v float64) report.Amount { return report.Of(v, quantity.InMM, 1) }
	switch {
	case !s.Known:
		return report.Say("if the coils leave room for it, which is not known")
	case s.Binds:
		return report.Say("not allowed: the coils touch with %s", mm(math.Max(0, s.Most)))
	case s.Clearance.Gap < s.Clearance.Required:
		return report.Say("not allowed: it leaves %s between the coils together, %s are needed", mm(s.Clearance.Gap), mm(s.Clearance.Required))
	case s.Strong && s.Static.Cocked.Used > 1:
		return report.Say("not allowed: the stress is %.0f %% of what is permitted", 100*s.Static.Cocked.Used)
	case s.Strong:
		return report.Say("fits, with %.0f %% of the permitted stress", 100*s.Static.Cocked.Used)
	}
	return report.Say("fits; the strength of the wire is not known")
}

// springOut says whether the next step, or a likely repair, has the spring out.
func (d *diagnosis) springOut() bool {
	x := d.state.Next
	out := append(slices.Clone(comparedWithNew), diagnose.BenchRate)
	return x.Is == diagnose.StepMeasure && slices.Contains(out, x.Measure) ||
		x.Is == diagnose.StepRepair && (x.Repair == diagnose.RepairShim || x.Repair == diagnose.RepairReplace || x.Repair == diagnose.RepairSeal) ||
		slices.ContainsFunc(x.Outcomes, func(o diagnose.Outcome) bool {
			return o.Is == diagnose.StepRepair && (o.Repair == diagnose.RepairShim || o.Repair == diagnose.RepairReplace || o.Repair == diagnose.RepairSeal)
		})
}

// courseSentence says how the peak fell over the years, and what is to come.
func (d *diagnosis) courseSentences() (list []report.Sentence) {
	if d.course == nil {
		return nil
	}
	best := d.course.Fits[0]
	list = append(list, report.Say("Over the years the peak follows %s best (%s).", lawText(best.Law), percentText(best.Weight)))
	if d.Keep > 0 {
		p, err := d.course.Passes(d.Keep, 50*course.Year)
		if err != nil {
			return list
		}
		keep, ahead := report.Of(d.Keep, quantity.InBar, 1), func(t float64) report.Amount {
			last := d.life.Readings[len(d.life.Readings)-1].Time
			return report.Of(t-last, quantity.InYears, 0)
		}
		switch {
		case p.Already > 0.5:
			list = append(list, report.Say("It is below %s already.", keep))
		case p.Never:
			list = append(list, report.Say("It stays above %s for 50 years, as far as can be told.", keep))
		case p.Late > 0:
			list = append(list, report.Say("It passes %s in about %s (%s to %s).", keep, ahead(p.Time), bare(ahead(p.Early)), ahead(p.Late)))
		default:
			list = append(list, report.Say("It passes %s in about %s (not before %s).", keep, ahead(p.Time), ahead(p.Early)))
		}
	}
	return list
}

// lawText is a law of the years in words.
func lawText(l course.Law) string {
	if l == course.Scatter {
		return "no fall at all"
	}
	return l.String()
}
