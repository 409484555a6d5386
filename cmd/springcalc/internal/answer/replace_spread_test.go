package answer

import (
	"math"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// exactTask is a task of which nothing that its forces follow from may be off.
func exactTask(t *testing.T, sets ...string) *task {
	return demoTask(t, append([]string{"wish.end=5.5 bar", "piston.bore=50 mm", "piston.stroke=20 mm", "piston.mass=0 g",
		"piston.friction=0 N", "piston.handle_force=0 N", "piston.friction_per_pressure=0 N/bar", "chamber.air=0 mL", "spring.installed_length=139 mm"}, sets...)...)
}

// madeUp is a spring that could be no. 1.
func madeUp(t *task) *replace.Choice {
	coil := spring.Compression{Wire: 7e-3, Mean: 42e-3, Active: 12, Total: 14, Ends: spring.ClosedGround, Convention: spring.EN, G: 79.5e9, E: 206e9, Density: 7850, Free: 0.186}
	return &replace.Choice{Parts: []replace.Part{replace.PartOf(coil, nil)}}
}

const replaceDraws = 4000

func (t *task) mustSpread(tb testing.TB, c *replace.Choice, quality spring.Grade) *spread.Spread {
	tb.Helper()
	_, q := t.question(c, quality)
	s, err := spread.Draw(t.m, q, spread.Options{Draws: replaceDraws, Seed: 1})
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

// drawnKeys are the rows of which a test knows the standard uncertainty.
var drawnKeys = []string{"target_end", "needed_rest", "needed_cocked", "needed_rate", "best_peak", "best_end"}

// within checks standard uncertainties by draws: four standard deviations.
func within(t *testing.T, s *spread.Spread, want []float64) {
	t.Helper()
	for i, u := range want {
		if got := s.Std(drawnKeys[i]); math.Abs(got-u) > 4*u/math.Sqrt(2*replaceDraws) {
			t.Errorf("%s: u = %g, want %g", drawnKeys[i], got, u)
		}
	}
}

// Without a ± what is required is exact, and what a spring gives is off by its
// own tolerance alone, which is that of its load over the area; a finer quality
// takes its share off.
func TestReplaceExact(t *testing.T) {
	task := exactTask(t)
	best := madeUp(task)
	line := task.job.Space.Line(&best.Parts[0])
	c := task.m.Setup.Cylinder
	for _, quality := range []spring.Grade{1, 2, 3} {
		tolerance, err := best.Parts[0].Coil.Tolerance(quality)
		if err != nil {
			t.Fatal(err)
		}
		u := func(lift float64) float64 { return tolerance.Load(line.Force(lift)) / 1.959964 / c.Area() }
		within(t, task.mustSpread(t, best, quality), []float64{0, 0, 0, 0, u(c.Stroke - c.Port), u(0)})
	}
	value, err := task.valueOf(nil)
	if err != nil {
		t.Fatal(err)
	}
	r := &report.Report{Rows: report.Rows(needDefs, &value)}
	if s := task.mustSpread(t, nil, 2); s != nil {
		s.AddTo(r)
	}
	for _, row := range r.Rows {
		if row.Band != nil {
			t.Errorf("%s has a band", row.Key)
		}
	}
}

// A ± of the bore is in what is required as F = P A has it, u(F)/F = 2 u(D)/D,
// and in what a spring gives as P = F/A.
func TestReplaceBore(t *testing.T) {
	task := exactTask(t, "piston.bore=50 mm ± 0.5 mm")
	best := madeUp(task)
	best.Parts[0].Coil = spring.Compression{} // known by rate and length alone
	const rel = 2 * 0.25 / 50
	j := &task.job
	line := j.Space.Line(&best.Parts[0])
	c := task.m.Setup.Cylinder
	p := func(lift float64) float64 {
		return line.Force(lift) / c.Area() * math.Hypot(rel, usualTolerance/1.959964)
	}
	s := task.mustSpread(t, best, 2)
	within(t, s, []float64{0, rel * j.Rest, rel * j.Cocked(), rel * j.Rate, p(c.Stroke - c.Port), p(0)})
	if share := s.Share("needed_cocked", "piston.bore"); math.Abs(share-1) > 0.01 {
		t.Errorf("share of the bore %g", share)
	}
}

// What the spring is fitted at moves what it gives, and today's rate what is
// required where no end is wished.
func TestReplaceOtherInputs(t *testing.T) {
	task := exactTask(t, "space.installed_length=139 mm ± 4 mm")
	best := madeUp(task)
	line := task.job.Space.Line(&best.Parts[0])
	area := task.m.Setup.Cylinder.Area()
	tolerance, err := best.Parts[0].Coil.Tolerance(2)
	if err != nil {
		t.Fatal(err)
	}
	u := math.Hypot(line.Rate*2e-3, tolerance.Load(line.Preload)/1.959964) / area
	within(t, task.mustSpread(t, best, 2), []float64{0, 0, 0, 0})
	if got := task.mustSpread(t, best, 2).Std("best_end"); math.Abs(got/u-1) > 0.04 {
		t.Errorf("u(end) = %g, want %g", got, u)
	}
	today := exactTask(t, "wish.end=", "spring=", "spring.rate=27 N/mm ± 1 N/mm", "spring.preload=700 N", "space.installed_length=139 mm")
	travel := today.job.Stroke - today.job.Begin
	within(t, today.mustSpread(t, nil, 2), []float64{500 * travel / area, 500 * travel, 500 * today.job.Begin, 500})
}

// The answer draws once what its search has found: intervals on its rows and on the
// comparison, another seed another interval, and none where they are not wanted. The
// tightest margin has that of its making, and may break its limit by it.
func TestReplaceSpread(t *testing.T) {
	get := func(o spread.Options, sets ...string) *report.Report {
		return ask(t, ReplaceOptions{Candidates: springsCSV(t), Spread: o}, sets...)
	}
	a, b, none := get(spread.Options{Draws: 500, Seed: 1}), get(spread.Options{Draws: 500, Seed: 2}), get(spread.Options{Skip: true})
	peak, cocked := a.Row("best_peak"), a.Row("needed_cocked")
	if peak.Band == nil || cocked.Band == nil || !(peak.Band.Low < peak.Value && peak.Value < peak.Band.High) {
		t.Fatalf("%+v %+v", peak, cocked)
	}
	if peak.Band.Low == b.Row("best_peak").Band.Low {
		t.Error("another seed gives the same draws")
	}
	if none.Row("best_peak").Band != nil || none.Row("best_peak").Value != peak.Value {
		t.Errorf("without: %+v", none.Row("best_peak"))
	}
	if interval := a.Table("comparison").Data[0][3].(report.Sentence); interval.Empty() {
		t.Error("no interval beside the peak pressure")
	}
	const mayMiss = "it may miss"
	for limit, want := range map[string]bool{"5 %": false, "10 %": true} {
		r := ask(t, ReplaceOptions{Candidates: oneSpring(t, limit), Spread: spread.Options{Skip: true}}, "wish.effort=135 N", "wish.within=1.5 bar")
		said := false
		for _, s := range r.Next {
			said = said || strings.Contains(s.String(), mayMiss)
		}
		if said != want {
			t.Errorf("loads within %s: %q is said: %t; %v", limit, mayMiss, said, r.Next)
		}
	}
}

// oneSpring is a list of one spring whose loads its maker keeps within a share.
func oneSpring(t *testing.T, within string) *sheet.SpringList {
	t.Helper()
	list, err := sheet.ReadSprings("one.csv", []byte("name,rate [N/mm],free_length [mm],load_tolerance\none,27.5,188,"+within+"\n"))
	if err != nil {
		t.Fatal(err)
	}
	return list
}
