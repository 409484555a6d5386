package main

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"springcalc/profile/replace"
	"springcalc/spring"
	"springcalc/tables"
)

// exactTask is a task of which nothing that its forces follow from may be off.
func exactTask(t *testing.T, sets ...string) *task {
	return demoTask(t, append([]string{"wish.end=5.5 bar", "piston.bore=50 mm", "piston.stroke=20 mm", "piston.mass=0 g",
		"piston.friction=0 N", "piston.friction_per_pressure=0 N/bar", "chamber.air=0 mL", "spring.installed_length=139 mm"}, sets...)...)
}

// wound is a spring that could be no. 1.
func wound(t *task) *replace.Choice {
	coil := spring.Compression{Wire: 7e-3, Mean: 42e-3, Active: 12, Total: 14, Ends: spring.ClosedGround, Convention: spring.EN, G: 79.5e9, E: 206e9, Density: 7850, Free: 0.186}
	return &replace.Choice{Parts: []replace.Part{replace.PartOf(coil, nil)}}
}

const replaceDraws = 4000

func (t *task) mustSpread(tb testing.TB, c *replace.Choice, quality spring.Grade) *spread {
	tb.Helper()
	s, err := spreadFlags{Draws: replaceDraws, Seed: 1}.Spread(t.m, t.question(c, quality))
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

// within checks standard uncertainties by draws: four standard deviations.
func within(t *testing.T, s *spread, want []float64) {
	t.Helper()
	for i, u := range want {
		if got := s.results[i].std; math.Abs(got-u) > 4*u/math.Sqrt(2*replaceDraws) {
			t.Errorf("%s: u = %g, want %g", s.Outcomes[i].Key, got, u)
		}
	}
}

// Without a ± what is required is exact, and what a spring gives is off by its
// own tolerance alone, which is that of its load over the area; a finer quality
// takes its share off.
func TestReplaceExact(t *testing.T) {
	task := exactTask(t)
	best := wound(task)
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
	r := &report{Rows: task.requiredRows()}
	task.mustSpread(t, nil, 2).addTo(r)
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
	best := wound(task)
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
	if share := s.results[2].shares["piston.bore"]; math.Abs(share-1) > 0.01 {
		t.Errorf("share of the bore %g", share)
	}
}

// What the spring is fitted at moves what it gives, and today's rate what is
// required where no end is wished.
func TestReplaceOtherInputs(t *testing.T) {
	task := exactTask(t, "space.installed_length=139 mm ± 4 mm")
	best := wound(task)
	line := task.job.Space.Line(&best.Parts[0])
	area := task.m.Setup.Cylinder.Area()
	tolerance, err := best.Parts[0].Coil.Tolerance(2)
	if err != nil {
		t.Fatal(err)
	}
	u := math.Hypot(line.Rate*2e-3, tolerance.Load(line.Preload)/1.959964) / area
	within(t, task.mustSpread(t, best, 2), []float64{0, 0, 0, 0})
	if got := task.mustSpread(t, best, 2).results[5].std; math.Abs(got/u-1) > 0.04 {
		t.Errorf("u(end) = %g, want %g", got, u)
	}
	today := exactTask(t, "wish.end=", "spring=", "spring.rate=27 N/mm ± 1 N/mm", "spring.preload=700 N", "space.installed_length=139 mm")
	travel := today.job.Stroke - today.job.Begin
	within(t, today.mustSpread(t, nil, 2), []float64{500 * travel / area, 500 * travel, 500 * today.job.Begin, 500})
}

// The smallest margin is off as that of springs stiffer and softer by their
// tolerance, each worked out from its loads.
func TestReplaceMargin(t *testing.T) {
	task := exactTask(t)
	w, err := tables.WireByName("EN 10270-2 VDSiCr")
	if err != nil {
		t.Fatal(err)
	}
	wire, err := wireFor(w, 7e-3, wireOptions{Preset: true, Celsius: task.job.Space.Celsius})
	if err != nil {
		t.Fatal(err)
	}
	best := wound(task)
	best.Parts[0] = replace.PartOf(best.Parts[0].Coil, &wire)
	if best.Verdict, err = task.job.Judge(best.Parts); err != nil {
		t.Fatal(err)
	}
	tolerance, err := best.Parts[0].Coil.Tolerance(2)
	if err != nil {
		t.Fatal(err)
	}
	installed := task.job.Space.Installed
	margin := func(sigmas float64) float64 {
		coil := best.Parts[0].Coil
		hot := 1 - wire.Softening*(task.job.Space.Celsius-20)
		preload := coil.Rate() * hot * (coil.Free - installed)
		off := sigmas / 1.959964
		preload += off * tolerance.Load(preload)
		coil.G *= 1 + off*tolerance.Rate
		coil.Free = installed + preload/(coil.Rate()*hot)
		v, err := task.job.Judge([]replace.Part{replace.PartOf(coil, &wire)})
		if err != nil {
			t.Fatal(err)
		}
		least, _, _ := v.Sound()
		return least
	}
	s := task.mustSpread(t, best, 2)
	if len(s.results) != 9 {
		t.Fatalf("%d outcomes", len(s.results))
	}
	var weight, sum, square float64 // over the normal distribution, in steps
	for z := -5.0; z <= 5; z += 0.05 {
		w, m := math.Exp(-z*z/2), margin(z)
		weight, sum, square = weight+w, sum+w*m, square+w*m*m
	}
	within(t, s, []float64{0, 0, 0, 0, s.results[4].std, s.results[5].std, s.results[6].std, s.results[7].std, math.Sqrt(square/weight - sum*sum/weight/weight)})
	if r := s.results[8]; math.Abs(r.Low-margin(1.96)) > 0.02 || math.Abs(r.High-margin(-1.96)) > 0.02 {
		t.Errorf("margin from %g to %g, want %g to %g", r.Low, r.High, margin(1.96), margin(-1.96))
	}
	if share := s.results[8].shares[newSpring]; math.Abs(share-1) > 0.01 {
		t.Errorf("share of the tolerance %g", share)
	}
}

// The command draws once what its search has found: bands in JSON, another seed
// another interval, and none with --no-spread.
func TestReplaceSpreadFlags(t *testing.T) {
	type answer struct {
		Low     *float64 `json:"best_peak_bar_low"`
		High    *float64 `json:"best_peak_bar_high"`
		Peak    float64  `json:"best_peak_bar"`
		Cocked  *float64 `json:"required_cocked_n_low"`
		Draws   float64
		Improve []map[string]any
	}
	get := func(args ...string) (a answer) {
		if err := json.Unmarshal([]byte(runJSON(t, append([]string{"replace", "--candidates=testdata/springs.csv"}, args...)...)), &a); err != nil {
			t.Fatal(err)
		}
		return a
	}
	a, b, none := get("--draws=500"), get("--draws=500", "--seed=2"), get("--no-spread")
	if a.Low == nil || a.Cocked == nil || !(*a.Low < a.Peak && a.Peak < *a.High) || a.Draws != 500 || len(a.Improve) < 3 {
		t.Errorf("%+v", a)
	} else if *a.Low == *b.Low {
		t.Error("another seed gives the same draws")
	}
	const mayBreak = "may break its limit of hand effort"
	for limit, want := range map[string]bool{"160 N": false, "125 N": true} {
		text := string(runJSON(t, "replace", "--candidates=testdata/springs.csv", "--draws=500", "--set=wish.effort="+limit))
		if strings.Contains(text, mayBreak) != want {
			t.Errorf("with %s of effort, %q is said: %t", limit, mayBreak, !want)
		}
	}
	if none.Low != nil || none.Draws != 0 || none.Peak != a.Peak {
		t.Errorf("without: %+v", none)
	}
}
