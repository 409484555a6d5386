package replace

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"springcalc/spring"
)

// Whatever two of rate, free length and loads a list prints, the spring is the same.
func TestSoldIsOneSpring(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.Float64Range(1e3, 1e5).Draw(t, "rate")
		free := rapid.Float64Range(50, 300).Draw(t, "free") * mm
		at := func(share float64) spring.Point {
			return spring.Point{Length: free * share, Load: rate * free * (1 - share)}
		}
		d, outer := 4*mm, 40*mm
		for name, s := range map[string]Sold{
			"rate, free":    {Rate: rate, Free: free, Outer: outer, Wire: d},
			"rate, load":    {Rate: rate, Loads: []spring.Point{at(0.7)}, Inner: outer - 2*d, Wire: d},
			"free, load":    {Free: free, Loads: []spring.Point{at(0.7)}, Outer: outer, Inner: outer - 2*d},
			"two loads":     {Loads: []spring.Point{at(0.6), at(0.8)}, Outer: outer, Wire: d},
			"all, reversed": {Rate: rate, Free: free, Loads: []spring.Point{at(0.8), at(0.6)}, Outer: outer, Inner: outer - 2*d, Wire: d},
		} {
			p, err := s.Part()
			if err != nil || !near(p.Rate, rate, 1e-9) || !near(p.Free, free, 1e-9) || !near(p.Outer, outer, 1e-12) || !near(p.Inner, outer-2*d, 1e-12) {
				t.Fatalf("%s: %+v, %v; want %g N/m and %g m", name, p, err, rate, free)
			}
		}
	})
}

func TestSoldFaults(t *testing.T) {
	load := func(l, f float64) spring.Point { return spring.Point{Length: l, Load: f} }
	for name, c := range map[string]struct {
		s     Sold
		words []string
	}{
		"nothing":        {Sold{}, []string{"rate is 0", "free length is 0"}},
		"no numbers":     {Sold{Rate: math.NaN(), Free: -1, Loads: []spring.Point{load(-1, math.Inf(1))}}, []string{"rate is", "free length is", "length of load 1", "load 1 is"}},
		"falling":        {Sold{Loads: []spring.Point{load(0.1, 100), load(0.2, 200)}}, []string{"rise as the length falls"}},
		"another wire":   {Sold{Rate: 1e4, Free: 0.1, Outer: 0.04, Inner: 0.03, Wire: 0.004}, []string{"wire diameter is 0.004 m, want 0.005"}},
		"contradiction":  {Sold{Rate: 1e4, Free: 0.1, Loads: []spring.Point{load(0.05, 700)}}, []string{"load 1 is 700 N, want about 500"}},
		"solid too long": {Sold{Rate: 1e4, Free: 0.1, Solid: 0.2}, []string{"solid length"}},
	} {
		_, err := c.s.Part()
		if !errors.Is(err, ErrJob) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for _, w := range c.words {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %q is not in %v", name, w, err)
			}
		}
	}
}

// Where nobody asked for an end pressure none rejects a spring.
func TestNoEndPressureAskedFor(t *testing.T) {
	s := cafeSearch(t)
	line := s.Start()
	lift := s.Stroke - s.Begin
	soft := 0.6 * s.Rate / cafePart(t).Wire.soft(s.Space.Celsius)
	p := Part{Rate: soft, Free: s.Space.Installed - lift + line/(0.6*s.Rate)}
	list := []Candidate{{Parts: []Part{p}}}
	r, err := s.Rank(list, s.Order)
	if err != nil || len(r.Missing) != 1 || !slices.Equal(r.Missing[0].Verdict.Blocked(), []Constraint{EndPressure}) {
		t.Fatalf("%v %+v", err, r)
	}
	over := r.Missing[0].Verdict.Exceeded()
	if len(over) != 1 || over[0].Of != EndPressure || !near(over[0].Over, over[0].Need/over[0].Have-1, 1e-12) {
		t.Errorf("%+v", over)
	}
	s.AnyEnd = true
	if r, err = s.Rank(list, s.Order); err != nil || len(r.Fitting) != 1 || slices.Contains(s.Unjudged(&r.Fitting[0]), EndPressure) {
		t.Errorf("%v %+v", err, r)
	}
	found, err := s.Run()
	if err != nil || found.Fitting == 0 {
		t.Fatal(err)
	}
	s.AnyEnd = false
	less, err := s.Run()
	if err != nil || less.Fitting > found.Fitting {
		t.Errorf("%d fit with an end pressure, %d without", less.Fitting, found.Fitting)
	}
}

// Each change makes the spring fit, and a tenth of a millimetre less does not.
func TestRemedies(t *testing.T) {
	s := cafeSearch(t)
	for name, c := range map[string]struct {
		change func(*Part)
		want   Change
	}{
		"short": {func(p *Part) { p.Coil.Free -= 6 * mm }, Shim},
		"long":  {func(p *Part) { p.Coil.Free += 5 * mm }, LongerSpace},
	} {
		p := cafePart(t)
		c.change(&p)
		p = PartOf(p.Coil, p.Wire)
		got, err := s.Remedies([]Part{p})
		if err != nil || len(got) == 0 || got[0].Change != c.want {
			t.Errorf("%s: %v %+v", name, err, got)
			continue
		}
		for _, r := range got {
			if !r.Choice.Verdict.Fits() {
				t.Errorf("%s: with a %v of %g m it does not fit", name, r.Change, r.By)
			}
			less := s.changed(r.Change, r.By-remedyStep)
			if v, err := less.Judge([]Part{p}); err != nil || v.Fits() {
				t.Errorf("%s: it fits with less than a %v of %g m", name, r.Change, r.By)
			}
		}
	}
	s.Within *= 4 // a shorter stroke costs peak pressure
	p := cafePart(t)
	p.Solid, p.Coil = 0, spring.Compression{} // one that goes solid before the lever is cocked
	p.Printed = s.bench().cocked() + 1*mm
	got, err := s.Remedies([]Part{p})
	if err != nil || !slices.ContainsFunc(got, func(r Remedy) bool { return r.Change == ShorterStroke && r.By >= 1*mm }) {
		t.Errorf("%v %+v", err, got)
	}
	if got, err := s.Remedies([]Part{cafePart(t)}); err != nil || got != nil {
		t.Errorf("what fits needs %+v, %v", got, err)
	}
}

// Rows: neighbours are one, kinds come first, the order stays and nothing is lost.
func TestRows(t *testing.T) {
	s, best := everything(t)
	all := RowsOf(best, len(best))
	n := 0
	for i, r := range all {
		n += 1 + r.Alike
		if r.Mean.Low > r.Parts[0].Coil.Mean || r.Mean.High < r.Parts[0].Coil.Mean || r.Active.Low > r.Active.High || r.Free.Low > r.Parts[0].Free {
			t.Errorf("row %d: %+v", i, r)
		}
		for k := range i {
			if alike(&all[k].Choice, &r.Choice) {
				t.Errorf("rows %d and %d differ in rounding only", k, i)
			}
		}
	}
	if n != len(best) || len(all) >= len(best) {
		t.Errorf("%d rows of %d springs for %d", len(all), n, len(best))
	}
	kinds := map[kind]bool{}
	for _, r := range all {
		kinds[r.Parts[0].kind()] = true
	}
	few := RowsOf(best, len(kinds))
	shown := map[kind]bool{}
	for _, r := range few {
		shown[r.Parts[0].kind()] = true
	}
	if len(shown) != len(kinds) || few[0].Choice.Row != best[0].Row {
		t.Errorf("%d kinds shown of %d", len(shown), len(kinds))
	}
	s.Keep = 3
	found, err := s.Run()
	if err != nil {
		t.Fatal(err)
	}
	if rows := s.Rows(found, 10); len(rows) <= 3 || rows[0].Choice.Row != best[0].Row {
		t.Errorf("of three kept and the best of each kind: %d rows", len(rows))
	}
}

// A listed spring of which wire and ends are known is the spring it was, coils and all.
func TestWound(t *testing.T) {
	p := cafePart(t)
	s := Sold{Rate: p.Rate, Free: p.Free, Outer: p.Outer, Wire: p.Coil.Wire, Solid: p.Solid + mm, LoadBy: 0.1}
	got, err := s.Wound(p.Wire, spring.ClosedGround, spring.EN)
	if err != nil || !near(got.Coil.Active, p.Coil.Active, 1e-9) || !near(got.Coil.Total, p.Coil.Total, 1e-9) || got.Printed != s.Solid || !near(got.Inner, p.Inner, 1e-9) {
		t.Errorf("%v %+v", err, got)
	}
	c := cafeSearch(t)
	r, err := c.Rank([]Candidate{{Parts: []Part{got}}}, c.Order)
	if err != nil || len(r.Fitting)+len(r.Missing) != 1 {
		t.Fatal(err)
	}
	all := slices.Concat(r.Fitting, r.Missing)
	if b := all[0].Bands[StressCocked]; !(b.Low < b.High) {
		t.Errorf("loads off by 10 %% leave a band of %+v", b)
	}
	if _, err := s.Wound(p.Wire, spring.Plain, spring.EN); !errors.Is(err, ErrJob) {
		t.Error(err)
	}
	s.Wire = 7 * mm
	if _, err := s.Wound(p.Wire, spring.ClosedGround, spring.EN); !errors.Is(err, ErrJob) {
		t.Error(err)
	}
}

// A wish without an end pressure asks for the same peak force, whatever the end.
func TestRequireAnyEnd(t *testing.T) {
	m := cafe()
	w := Wishes{Peak: 8 * bar, End: 4 * bar, Within: 0.25 * bar}
	want, _, err := Require(&m, w, nil)
	if err != nil {
		t.Fatal(err)
	}
	w.End, w.AnyEnd = 0, true
	got, conflicts, err := Require(&m, w, nil)
	if err != nil || conflicts != nil || !got.AnyEnd || !near(got.Start(), want.Start(), 1e-9) || got.Begin != want.Begin {
		t.Errorf("%v %v %+v, want a peak force of %g", err, conflicts, got, want.Start())
	}
}

// TestStatedDiametersStay: of the diameters only one that the list leaves out follows
// from the other and the wire, Di = De - 2 d; both stated, both stay as rounded.
func TestStatedDiametersStay(t *testing.T) {
	for _, c := range []struct{ outer, inner, wantOuter, wantInner float64 }{
		{49e-3, 0, 49e-3, 35e-3}, {0, 35e-3, 49e-3, 35e-3}, {49e-3, 35.2e-3, 49e-3, 35.2e-3}, {0, 0, 0, 0},
	} {
		s := Sold{Rate: 27e3, Free: 0.18, Wire: 7e-3, Outer: c.outer, Inner: c.inner}
		p, err := s.Part()
		if err != nil || math.Abs(p.Outer-c.wantOuter) > 1e-12 || math.Abs(p.Inner-c.wantInner) > 1e-12 {
			t.Errorf("%+v: %g and %g m outside and inside (%v)", c, p.Outer, p.Inner, err)
		}
	}
}

// TestNoPushNoPlace: where no place of the table asks the hand to push there is none.
func TestNoPushNoPlace(t *testing.T) {
	springs := []spring.Linear{{Rate: 1e3, Preload: 100}}
	falls := Hand{{Gain: 0.1, Offset: -200}, {Gain: 0.1, Lift: 0.01, Offset: -200}}
	if most, at := falls.hardest(springs); most != 0 || at != -1 {
		t.Errorf("%g N at place %d", most, at)
	}
	if most, at := append(falls, Grip{Gain: 0.5}).hardest(springs); most != 50 || at != 2 {
		t.Errorf("%g N at place %d, want 50 N at 2", most, at)
	}
}
