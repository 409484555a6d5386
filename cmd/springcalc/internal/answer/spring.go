package answer

import (
	"context"
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/spring"
)

// SpringOptions are what may be asked of a spring.
type SpringOptions struct {
	Method      string  // machine.EN or machine.Shigley; "" for both, each by itself
	Preset      bool    // pressed solid by its maker until it set no further; else that is not known
	Peened      bool    // shot peened by its maker
	Guided      bool    // a rod or bore guides it over its whole length
	PullsPerDay float64 // [1/day]
	Years       float64 // of use [years]
	Bench       []spring.Point
	Find        Find

	pulls float64 // how often the spring was cocked, 0 where that is not stated [-]
}

// daysPerYear is how often a lever in daily use is used.
const daysPerYear = 365

// count counts the pulls.
func (o *SpringOptions) count() (err error) {
	if (o.PullsPerDay == 0) != (o.Years == 0) {
		return sheet.Usef("--pulls-per-day and --years are given together")
	}
	o.pulls, err = spring.Use{PullsPerDay: o.PullsPerDay, DaysPerYear: daysPerYear, Years: o.Years}.Cycles()
	if err != nil {
		return sheet.Usef("%s", machine.WithoutPackage(err))
	}
	return nil
}

// duty is dynamic but for a spring that is known to be pulled rarely.
func (o *SpringOptions) duty() spring.Duty {
	if o.pulls > 0 && o.pulls <= 1e4 {
		return spring.Static
	}
	return spring.Dynamic
}

// springAnswer is an answer about the springs of a machine as it is made.
type springAnswer struct {
	*report.Report
	*SpringOptions
	m       *machine.Machine
	parts   []*springResult
	defs    []report.Def[springSet]
	spread  *spread.Spread // of the rows; nil where nothing may be off, or is known of that
	checks  []check
	verdict []report.Sentence // whether they are good as they are used, and how much is left
}

// Spring describes the springs of a machine, of which the rest need not be stated:
// what they are, whether they are good as they are used, and how much is left; and how
// far the spring on a bench is from what the sheet says.
func Spring(ctx context.Context, m *machine.Machine, o SpringOptions) (*report.Report, error) {
	if err := o.count(); err != nil {
		return nil, err
	}
	m, err := o.Find.in(m)
	if err != nil {
		return nil, err
	}
	a := springAnswer{SpringOptions: &o, m: m}
	if m.HasTable("spring.inner") {
		a.parts = []*springResult{newMember(m, &o, "spring", "outer"), newMember(m, &o, "spring.inner", "inner")}
	} else {
		a.parts = []*springResult{newMember(m, &o, "spring", "")}
	}
	if err := m.Faults.Err(); err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	a.Report = newReport("spring", m)
	a.Input = o.Find.stated(a.Input)
	a.Caution = cautionSpring
	a.rows()
	a.judge()
	a.verdict = a.judged()
	a.Charts, a.Sketches = a.charts(), a.sketches()
	a.Answer = a.sentences()
	a.tables()
	a.remarks()
	if len(o.Bench) > 0 {
		if err := a.bench(); err != nil {
			return nil, err
		}
	} else {
		a.Next = append(a.Next, a.next()...)
	}
	return a.Report, nil
}

// set is the springs as the sheet has them.
func (a *springAnswer) set() *springSet {
	s := &springSet{}
	for _, p := range a.parts {
		s.parts = append(s.parts, *p)
	}
	return s
}

// nested says whether there are two springs of which the dimensions are known.
func (a *springAnswer) nested() bool {
	return len(a.parts) > 1 && a.parts[0].coiled && a.parts[1].coiled
}

// rows makes the rows and says how far they may be off. They are closed forms, so
// first order is right for them.
func (a *springAnswer) rows() {
	a.defs = setDefs(a.parts)
	if a.nested() {
		a.defs = append(a.defs, roomDefs...)
	}
	a.Rows = report.Rows(a.defs, a.set())
	var err error
	if a.spread, err = spread.FirstOrder(a.m, a.question()); err != nil {
		a.Doubt("how far rate and loads may be off is not known: %s", machine.WithoutPackage(err))
		return
	}
	a.spread.AddTo(a.Report)
	for i := range a.Rows {
		a.Rows[i].Narrow = "" // one thing narrows them all: the bench, of which next tells
	}
}

// question asks for the rows of the springs.
func (a *springAnswer) question() spread.Question {
	q := spread.Of(a.defs, func() spread.Finder[springSet] {
		return func(m *machine.Machine, s *springSet, _ []float64) error {
			if s.parts == nil {
				for _, p := range a.parts {
					s.parts = append(s.parts, springResult{member: p.member})
				}
			}
			for i := range s.parts {
				if err := s.parts[i].fill(m); err != nil {
					return err
				}
			}
			return m.Faults.Err()
		}
	})
	q.Build = a.Find.solve
	return q
}

// sentences say what the springs are, whether they are good as they are used, and
// how much is left.
func (a *springAnswer) sentences() (all []report.Sentence) {
	all = append(all, a.Find.sentence(a.Report)...)
	switch {
	case len(all) > 0:
	case len(a.parts) == 1:
		all = append(all, a.parts[0].described())
	default:
		all = append(all, report.Say("%s outside, %s inside: together %s at rest and %s cocked.", a.parts[0].brief(), a.parts[1].brief(),
			shown(a.Row("load_rest_both")), shown(a.Row("load_cocked_both"))))
	}
	return append(all, a.verdict...)
}

// brief is a spring in a few words.
func (p *springResult) brief() report.Sentence {
	switch {
	case !p.coiled:
		return report.Say("A spring of %s", report.Of(p.line.Rate, quantity.InNPerMM, 2))
	case p.wire == nil:
		return report.Say("Wire of %s", report.Of(p.us.Wire, quantity.InMM, 2))
	}
	return report.Say("%s wire %s", p.wire.Name, report.Of(p.us.Wire, quantity.InMM, 2))
}

// described is a spring in words.
func (p *springResult) described() report.Sentence {
	rest, cocked := report.Of(p.line.Force(0), quantity.InN, 0), report.Of(p.line.Force(p.stroke), quantity.InN, 0)
	if !p.coiled {
		return report.Say("%s, %s at rest and %s cocked.", p.brief(), rest, cocked)
	}
	mm := func(v float64) report.Amount { return report.Of(v, quantity.InMM, 1) }
	strength := report.Sentence{}
	if p.rm.Min > 0 {
		strength = report.Say(" (Rm %s)", report.Of(p.rm.Min, quantity.InMPa, 0))
	}
	return report.Say("%s%s, %s outside, %s of %s coils active, %s, %s free: %s at rest (%s), %s cocked (%s).", p.brief(), strength, mm(p.us.Outer()),
		coilCount(p.us.Active), coilCount(p.us.Total), inWords(p.us.Ends), mm(p.us.Free), rest, mm(p.working.Rest), cocked, mm(p.working.Cocked))
}

// next says what to measure, and what each outcome would mean.
func (a *springAnswer) next() []report.Sentence {
	p := a.parts[0]
	if len(a.parts) == 1 && slices.ContainsFunc(a.checks, func(c check) bool { return !c.idle && c.left() < 0 }) {
		return []report.Sentence{report.Plain("springcalc replace finds one that keeps its limits; a shorter stroke may do too.")}
	}
	if !p.coiled {
		return []report.Sentence{report.Say("State wire, coil diameter, coils, ends, lengths and grade in place of rate and preload: then stress, coil gap, buckling and fatigue are judged too.")}
	}
	mm := func(v float64) report.Amount { return report.Of(v, quantity.InMM, 0) }
	bears := func(length float64) report.Amount {
		return report.Of(p.line.Force(p.working.Rest-length), quantity.InN, 0)
	}
	travel := p.us.Free - p.us.SolidLength()
	low, high := p.us.Free-0.3*travel, p.us.Free-0.7*travel
	return []report.Sentence{report.Say("Bench test (--bench): by the sheet %s at %s and %s at %s. Less by the same at both is set; a smaller step is wear or another wire.",
		bears(low), mm(low), bears(high), mm(high))}
}

// charts is the force over the length, or over the travel where a length is not known
// or is not that of both springs.
func (a *springAnswer) charts() []report.Chart {
	c := report.Chart{Key: "load", Name: "load", Unit: quantity.InN, XName: "length", XUnit: quantity.InMM}
	p := a.parts[0]
	line := report.Series{Name: "by the sheet"}
	if !p.coiled || len(a.parts) > 1 && (!a.parts[1].coiled || a.parts[1].working.Rest != p.working.Rest) {
		c.XName = "travel from rest"
		lines := a.set().lines()
		travels := []float64{0, p.stroke}
		for _, l := range lines {
			travels = append(travels, min(max(0, -l.Preload/l.Rate), p.stroke)) // where it engages
		}
		slices.Sort(travels)
		for _, x := range slices.Compact(travels) {
			line.X, line.Y = append(line.X, x), append(line.Y, spring.ForceOf(lines, x))
		}
		c.Series = []report.Series{line}
		return []report.Chart{c}
	}
	var nest spring.Nest
	for _, q := range a.parts {
		nest = append(nest, q.us)
	}
	lengths := []float64{nest.SolidLength(), nest.Free()}
	for _, s := range nest {
		lengths = append(lengths, s.Free)
	}
	slices.Sort(lengths)
	for _, l := range slices.Compact(lengths) {
		if f, err := nest.Force(l); err == nil {
			line.X, line.Y = append(line.X, l), append(line.Y, f)
		}
	}
	c.Series = []report.Series{line}
	c.Marks = []report.Mark{{Name: "cocked", X: p.working.Cocked}, {Name: "at rest", X: p.working.Rest}}
	return []report.Chart{c}
}
