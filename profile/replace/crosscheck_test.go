package replace

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/stat/combin"
	"pgregory.net/rapid"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// By hand, for 9 bar falling to 5 bar in the café's machine:
//
//	A      = π/4 · 50²               = 1963.495 mm²
//	A + c  = 1963.495 + 50           = 2013.495 mm²   (5 N/bar is 50 mm²)
//	F_1    = 0.5 N/mm² · 2013.495 + 20 - 6            = 1020.748 N
//	z_0    = 2 + 1000/1963.495 · (1 - (0.98+0.7)/(0.98+9)) = 2 + 0.509296 · 0.831663 = 2.423562 mm
//	R      = 0.4 N/mm² · 2013.495 / (24 - 2.423562)   = 805.398/21.576438 = 37.32767 N/mm
//	F at z_0 = 0.9 · 2013.495 + 14                    = 1826.146 N
//	F_2    = 1020.748 + 37.32767 · 24                 = 1916.612 N
func TestRequireByHand(t *testing.T) {
	s := cafe()
	r, conflicts, err := Require(&s, Wishes{Peak: 9 * bar, End: 5 * bar, Within: 0.2 * bar}, nil)
	if err != nil || conflicts != nil {
		t.Fatal(err, conflicts)
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"F_1, N", r.Rest, 1020.748},
		{"z_0, mm", r.Begin / mm, 2.423562},
		{"R, N/mm", r.Rate / 1e3, 37.32767},
		{"F at z_0, N", r.Start(), 1826.146},
		{"F_2, N", r.Cocked(), 1916.612},
		{"s, mm", r.Stroke / mm, 24},
		{"ΔF, N", r.Within, 40.2699}, // 0.02 N/mm² · 2013.495 mm²
	} {
		if !near(c.got, c.want, 5e-7) {
			t.Errorf("%s: got %.8g, by hand %.8g", c.what, c.got, c.want)
		}
	}
}

// brute judges the grid in one plain loop over gonum's combinations, with every
// free length near that of the wished force at rest, in full, and ranks by picking
// the best one after the other.
func brute(s *Search) *Found {
	g := &s.Grid
	f := &Found{}
	var fitting []Choice
	var nearest *Choice
	least := math.Inf(1)
	kinds := map[string]Choice{}
	for row, at := range combin.Cartesian([]int{len(g.Wires), len(g.Means), len(g.Ends), len(g.Coils)}) {
		f.Tried++
		w := &g.Wires[at[0]]
		if g.Means[at[1]] <= w.Diameter {
			f.Blocked[Index]++
			continue
		}
		coil := s.coil(w, g.Means[at[1]], g.Coils[at[3]], g.Ends[at[2]])
		hot := coil.Rate() * w.soft(s.Space.Celsius)
		exact := s.Space.Installed + s.Rest/hot
		frees := []float64{exact}
		if g.FreeStep > 0 {
			middle := math.Round(exact / g.FreeStep)
			frees = nil
			wide := math.Ceil(1.01*s.Within/hot/g.FreeStep) + 1
			for i := middle - wide; i <= middle+wide; i++ {
				if free := i * g.FreeStep; math.Abs(free-exact) < 1.01*s.Within/hot {
					coil.Free = free
					v := s.bench().judge([]Part{PartOf(coil, w)}, math.Inf(1))
					end, _ := v.Margin(EndPressure)
					peak, _ := v.Margin(PeakPressure)
					if end >= 0 && peak >= 0 {
						frees = append(frees, free)
					}
				}
			}
			if frees == nil {
				frees = []float64{middle * g.FreeStep}
			}
		}
		var fit []Choice
		var blocked Constraint
		off := math.Inf(1)
		for _, free := range frees {
			coil.Free = free
			c := Choice{Row: row + 1, Parts: []Part{PartOf(coil, w)}}
			b := s.bench()
			c.Verdict = b.judge(c.Parts, math.Inf(1))
			c.Effort = b.hand()
			if want := s.Hand.Effort(s.Space.Line(&c.Parts[0])); c.Effort != want {
				panic("another effort")
			}
			c.finish(b)
			broken := c.Verdict.Blocked()
			if broken == nil {
				fit = append(fit, c)
				continue
			}
			middle := exact
			if g.FreeStep > 0 {
				middle = math.Round(exact/g.FreeStep) * g.FreeStep
			}
			if math.Abs(free-middle) < off {
				off, blocked = math.Abs(free-middle), broken[0]
			}
			short := 0.0
			for _, k := range broken {
				m, _ := c.Verdict.Margin(k)
				short -= m
			}
			if short < least {
				nearest, least = &c, short
			}
		}
		if fit == nil {
			f.Blocked[blocked]++
			continue
		}
		best := 0
		for i := range fit {
			if s.Order.compare(&fit[i], &fit[best]) < 0 {
				best = i
			}
		}
		c := fit[best]
		c.Lengths, c.Free = len(fit), Span{fit[0].Parts[0].Free, fit[len(fit)-1].Parts[0].Free}
		f.Fitting++
		f.Lengths += len(fit)
		fitting = append(fitting, c)
		kind := fmt.Sprint(at[0], c.Parts[0].Coil.Ends)
		if old, ok := kinds[kind]; !ok || s.Order.compare(&c, &old) < 0 {
			kinds[kind] = c
		}
	}
	if fitting == nil {
		f.Nearest = nearest
	}
	for _, c := range kinds {
		f.Varied = append(f.Varied, c)
	}
	slices.SortFunc(f.Varied, func(a, b Choice) int { return s.Order.compare(&a, &b) })
	for len(f.Best) < s.Keep && len(fitting) > 0 {
		best := 0
		for i := range fitting {
			if s.Order.compare(&fitting[i], &fitting[best]) < 0 {
				best = i
			}
		}
		f.Best = append(f.Best, fitting[best])
		fitting = slices.Delete(fitting, best, best+1)
	}
	return f
}

var exact = cmp.AllowUnexported(Choice{}, Found{}, spring.Criterion{})

func TestSearchIsBruteForce(t *testing.T) {
	weighted, err := ParseOrder("stress=2,fatigue=1,clearance=0.5")
	if err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*Search){
		"as it is":        func(*Search) {},
		"weighted":        func(s *Search) { s.Order = weighted },
		"too tight":       func(s *Search) { s.Space.Bore = 30 * mm },
		"too thick a rod": func(s *Search) { s.Space.Rod = 45 * mm },
		"too weak a hand": func(s *Search) { s.Effort = 40 },
		"too little wire": func(s *Search) { s.Grid.Wires[1].Cocked.Safety, s.Grid.Wires[3].Cocked.Safety = 9, 9 },
		"never solid": func(s *Search) {
			for i := range s.Grid.Wires {
				s.Grid.Wires[i].Solid.Safety = 9
			}
		},
		"too long a life": func(s *Search) { s.Limits.Fatigue = 9 },
		"never less":      func(s *Search) { s.Limits.Relaxation = 1e-3 },
		"on one foot":     func(s *Search) { s.Space.Support.Seating, s.Limits.Buckling = spring.FixedFree, 9 },
		"thick wires":     func(s *Search) { s.Grid.Means = Steps(4*mm, 12*mm, 0.5*mm) },
		"all kept":        func(s *Search) { s.Keep = 0 },
		"many kept":       func(s *Search) { s.Keep = 1000 },
		"one kept":        func(s *Search) { s.Keep = 1 },
		"loose":           func(s *Search) { s.Within *= 8; s.Keep = 3 },
		"weighted, few": func(s *Search) {
			s.Grid.Wires = s.Grid.Wires[3:5]
			s.Within *= 8
			s.Keep, s.Order = 1, weighted
		},
		"any length": func(s *Search) { s.Grid.FreeStep = 0 },
		"ever nearer": func(s *Search) { // nothing is wrong but the peak, which gets better along the grid
			w := &s.Grid.Wires[3]
			w.Cocked.Safety, w.Solid.Safety, s.Effort = 0.5, 0.5, 0
			s.Grid.Wires, s.Grid.Means, s.Grid.Coils = s.Grid.Wires[3:4], []float64{44 * mm}, Quarters(10, 13)
		},
		"twice the same": func(s *Search) {
			s.Effort = 40
			s.Grid.Wires = append(s.Grid.Wires, s.Grid.Wires...)
			s.Grid.Ends = append(s.Grid.Ends, s.Grid.Ends...)
		},
		"coarse lengths": func(s *Search) { s.Grid.FreeStep = 10 * mm },
	} {
		t.Run(name, func(t *testing.T) {
			s := cafeSearch(t)
			change(s)
			full := *s
			if full.Keep == 0 {
				full.Keep = math.MaxInt
			}
			want := brute(&full)
			for _, workers := range []int{1, 3, 0} {
				s.Workers = workers
				got, err := s.Run()
				if err != nil {
					t.Fatal(err)
				}
				if diff := cmp.Diff(want, got, exact); diff != "" {
					t.Fatalf("with %d workers the search differs from brute force:\n%s", workers, diff)
				}
			}
			sum := want.Fitting
			for _, n := range want.Blocked {
				sum += n
			}
			if sum != s.Grid.Size() || want.Tried != sum {
				t.Errorf("%d springs are fitting or blocked, %d tried, %d in the grid", sum, want.Tried, s.Grid.Size())
			}
			t.Logf("%d tried, %d fit, blocked %v, nearest %v", want.Tried, want.Fitting, want.Blocked, want.Nearest != nil)
		})
	}
}

// What the search finds gives the wished pressures when it goes back through
// package spring and the engine.
func TestFoundGivesTheWishedPressures(t *testing.T) {
	s := cafeSearch(t)
	s.Keep = 0
	found, err := s.Run()
	if err != nil || found.Fitting == 0 {
		t.Fatal(err, found)
	}
	for _, c := range found.Best {
		hot, err := c.Parts[0].Coil.At(spring.Heat{Celsius: s.Space.Celsius, Softening: c.Parts[0].Wire.Softening})
		if err != nil {
			t.Fatal(err)
		}
		line, err := hot.Installed(s.Space.Installed)
		if err != nil {
			t.Fatal(err)
		}
		machine := cafe()
		machine.Springs = []spring.Linear{line}
		shot, err := profile.Summarize(&machine)
		if err != nil {
			t.Fatal(err)
		}
		// Air is compressed to the peak it gets, not to the wished one, which
		// moves where water begins by some micrometres: 1 % of the tolerance.
		if peak, end := math.Abs(shot.Peak-6.5*bar), math.Abs(shot.End-4*bar); peak > 0.25*bar*1.01 || end > 0.25*bar*(1+1e-9) {
			t.Errorf("row %d: peak is off by %.4f bar, end by %.4f bar", c.Row, peak/bar, end/bar)
		}
		if got := s.Space.Lines(c.Parts)[0]; !near(got.Rate, line.Rate, 1e-12) || !near(got.Preload, line.Preload, 1e-9) {
			t.Errorf("row %d: judged as %+v, package spring gives %+v", c.Row, got, line)
		}
	}
}

// Every check of one spring, worked by hand in N, mm and MPa.
func TestJudgeByHand(t *testing.T) {
	s := cafeSearch(t)
	s.Use.Years = 34 // 30 · 300 · 34 = 306 000 cycles
	p := cafePart(t)
	en, err := spring.Rule{Name: "EN 13906-1", Factor: spring.NoCorrection, Fraction: 0.56}.Criterion()
	if err != nil {
		t.Fatal(err)
	}
	p.Wire.Solid = Allowed{en, 1.1}
	v := s.bench().judge([]Part{p}, math.Inf(1))

	const (
		c    = 44 / 7.5
		a    = 201e3 * 0.006894757293168 // MPa at 1 in
		hot  = 1 - 0.25e-3*50
		rate = 80e3 * 7.5 * 7.5 * 7.5 * 7.5 / (8 * 44 * 44 * 44 * 16.75) // 22.1757 N/mm
		ls   = 18.75 * 7.5375
	)
	rm := a / math.Pow(7.5/25.4, 0.145)
	f1, f2, fs := hot*rate*37.5, hot*rate*61.5, rate*(237.5-ls) // solid: cold
	kb := (4*c + 2) / (4*c - 3)
	kw := (4*c-1)/(4*c-4) + 0.615/c
	tau := func(k, f float64) float64 { return k * 8 * f * 44 / (math.Pi * 7.5 * 7.5 * 7.5) }
	ssu := 0.67 * rm
	t1 := tau(kw, f1)
	// Goodman's line on the ray through the origin, never over Zimmerli's amplitude.
	ta, tm := tau(kb, (f2-f1)/2), tau(kb, (f2+f1)/2)
	sse := 35 * 6.894757293168 / (1 - 55*6.894757293168/ssu)
	allowed := math.Min(ta/(ta/sse+tm/ssu), 35*6.894757293168)
	lost := 0.05 * math.Log1p(34*365.25*24/0.1) / math.Log1p(48/0.1) // 5 % in 48 h
	x := t1 / (75 * 6.894757293168)
	m := (237.5-ls)/16.75 + 7.5 // pitch when the gaps are shared out
	growth := 0.1 * (m*m - 0.8*m*7.5 - 0.2*7.5*7.5) / 44
	peak := hot*rate*(37.5+(s.Stroke-s.Begin)/mm) - s.Start()
	for _, c := range []struct {
		of         Constraint
		have, need float64
		unit       float64
	}{
		{EndPressure, s.Within, math.Abs(f1 - s.Rest), 1},
		{PeakPressure, s.Within, math.Abs(peak), 1},
		{Index, c, 4, 1}, // nearer to 4 than to 12
		{InBore, 56 - 51.5 - growth - 0.8, 1, mm}, // with the tolerance of De used up
		{OverRod, 36.5 - 16 - 0.8, 1, mm},
		{Clearance, 176 - ls, 16.75 * (0.0015*44*44/7.5 + 0.75) * 1.5, mm}, // dynamic
		{StressCocked, 0.45 * rm, 1.2 * tau(kb, f2), 1e6},
		{StressSolid, 0.56 * rm, 1.1 * tau(1, fs), 1e6},
		{Fatigue, allowed, 1.2 * ta, 1e6},
		{Relaxation, 0.3, lost * x * x, 1},
		{Effort, 220, s.Hand.Effort(spring.Linear{Rate: hot * rate * 1e3, Preload: f1}), 1},
	} {
		got := v.Checks[c.of]
		if !got.Known || !near(got.Have/c.unit, c.have, 1e-9) || math.Abs(got.Need/c.unit-c.need) > 1e-6*math.Max(c.need, 1e-3) {
			t.Errorf("%v: have %.8g, need %.8g; by hand %.8g, %.8g", c.of, got.Have/c.unit, got.Need/c.unit, c.have, c.need)
		}
	}
	// It would bend only beyond solid, where the root still has a value.
	e, g := 196.5*hot, 80.0*hot
	root := 1 - 2*math.Pi*math.Pi*(e-g)/(2*g+e)*math.Pow(44/(0.5*237.5), 2)
	if b := v.Checks[Buckling]; !near(b.Have, 0.2375*e/(2*(e-g))*(1-math.Sqrt(root)), 1e-9) || !near(b.Need, 1.2*61.5*mm, 1e-9) {
		t.Errorf("buckling %+v", b)
	}
	if v.Checks[InNest].Known {
		t.Errorf("a nest of one spring: %+v", v.Checks[InNest])
	}
}

func TestIndexRange(t *testing.T) {
	s := cafeSearch(t)
	for mean, want := range map[float64]Check{20: {20 / 7.5, 4, true}, 44: {44 / 7.5, 4, true}, 80: {12, 80 / 7.5, true}, 120: {12, 16, true}} {
		p := cafePart(t)
		p.Coil.Mean = mean * mm
		got := s.bench().judge([]Part{PartOf(p.Coil, p.Wire)}, math.Inf(1)).Checks[Index]
		if !near(got.Have, want.Have, 1e-12) || !near(got.Need, want.Need, 1e-12) {
			t.Errorf("mean %g mm: %+v, want %+v", mean, got, want)
		}
	}
}

// Cubes beyond the reference stress, squares below: the worse of the two.
func TestRelaxationBeyondItsReference(t *testing.T) {
	s := cafeSearch(t)
	for _, ref := range []float64{1.25, 0.8} {
		p := cafePart(t)
		hot := s.Space.Line(&p)
		p.Wire.Relaxation.Stress = p.Coil.Stress(hot.Force(0), spring.Wahl) * ref
		p.Wire.Relaxation.Law.RefLoss = 0.01
		loss, err := p.Wire.Relaxation.Law.Loss(10 * 365.25 * 86400)
		if err != nil {
			t.Fatal(err)
		}
		power := 2.0
		if ref < 1 {
			power = 3
		}
		v := s.bench().judge([]Part{p}, math.Inf(1))
		if got, want := v.Checks[Relaxation].Need, loss*math.Pow(1/ref, power); !near(got, want, 1e-12) {
			t.Errorf("at %g of the reference stress: loss %g, want %g", 1/ref, got, want)
		}
	}
	p := cafePart(t)
	p.Wire.Relaxation.Law.RefLoss = 0.9 // more than all is lost in ten years
	if v := s.bench().judge([]Part{p}, math.Inf(1)); v.Checks[Relaxation].Need > 1 {
		t.Errorf("lost %g", v.Checks[Relaxation].Need)
	}
}

// The endurance limit decides on the ray through the origin, whatever the wire has
// of a curve and whatever the wished life: one scale for all.
func TestFatigueByEndurance(t *testing.T) {
	s := cafeSearch(t)
	p := cafePart(t)
	hot, err := p.Coil.At(spring.Heat{Celsius: s.Space.Celsius, Softening: p.Wire.Softening})
	if err != nil {
		t.Fatal(err)
	}
	f, err := hot.Fatigue(spring.Working{Rest: s.Space.Installed, Cocked: s.Space.Installed - s.Stroke}, p.Wire.Endurance)
	if err != nil {
		t.Fatal(err)
	}
	check := func(name string, j Job, p Part) {
		c := j.bench().judge([]Part{p}, math.Inf(1)).Checks[Fatigue]
		if !c.Known || !near(c.Have/c.Need*j.Limits.Fatigue, f.Safety, 1e-12) {
			t.Errorf("%s: %+v, want a safety of %g", name, c, f.Safety)
		}
	}
	long := s.Job
	long.Use = spring.Use{PullsPerDay: 1000, DaysPerYear: 365, Years: 40} // 14.6 million
	check("past the curve", long, p)
	w := *p.Wire
	w.Life = nil
	p.Wire = &w
	check("no curve", s.Job, p)
	// With a curve alone its swing from zero takes the place of the endurance.
	w.Endurance = spring.Strength{UltimateShear: w.Endurance.UltimateShear}
	w.Life = spring.LifeCurve{{Cycles: 1e5, Share: 0.36}, {Cycles: 1e6, Share: 0.33}}
	half := 0.36 * w.Tensile / 2
	want, err := hot.Fatigue(spring.Working{Rest: s.Space.Installed, Cocked: s.Space.Installed - s.Stroke},
		spring.Strength{Endurance: spring.Endurance{Amplitude: half, Mean: half}, UltimateShear: w.Endurance.UltimateShear, Line: spring.Goodman, Cautious: true})
	if err != nil {
		t.Fatal(err)
	}
	if c := s.bench().judge([]Part{p}, math.Inf(1)).Checks[Fatigue]; !near(c.Have, want.Allowed, 1e-9) {
		t.Errorf("by the curve: %+v, want %g", c, want.Allowed)
	}
	w.Life = nil
	w.Endurance = spring.Strength{}
	if v := s.bench().judge([]Part{p}, math.Inf(1)); v.Checks[Fatigue].Known {
		t.Errorf("judged from nothing: %+v", v.Checks[Fatigue])
	}
}

// A wire that breaks when cocked bears no cycle.
func TestFatigueOfWireThatBreaks(t *testing.T) {
	s := cafeSearch(t)
	p := cafePart(t)
	p.Wire.Tensile = 6e8
	p.Wire.Endurance.UltimateShear = 0.67 * 6e8
	v := s.bench().judge([]Part{p}, math.Inf(1))
	if m, _ := v.Margin(Fatigue); !(m < 0) || v.Fits() {
		t.Errorf("margin %g", m)
	}
}

func TestBuckling(t *testing.T) {
	s := cafeSearch(t)
	s.Space.Support.Seating = spring.FixedFree
	p := cafePart(t)
	b, err := p.Coil.Buckling(s.Space.Support)
	if err != nil || b.Never {
		t.Fatal(err, b)
	}
	c := s.bench().judge([]Part{p}, math.Inf(1)).Checks[Buckling]
	if !c.Known || c.Have != b.CriticalDeflection || !near(c.Need, 1.2*61.5*mm, 1e-12) {
		t.Errorf("%+v, want %g of %g", c, 1.2*61.5*mm, b.CriticalDeflection)
	}
	s.Space.Support.Guided = true
	if c := s.bench().judge([]Part{p}, math.Inf(1)).Checks[Buckling]; c.Known {
		t.Errorf("guided, but %+v", c)
	}
}

// Between two handle positions of the table hardly anything is missed.
func TestHandAgainstTheLever(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := cafe()
		s.Cylinder.Port = rapid.Float64Range(0, 5).Draw(rt, "port") * mm
		lever := toggle(t)
		if rapid.Bool().Draw(rt, "crank") {
			lever.Linkage = piston.CrossSlot{PinRadius: 30 * mm, Span: piston.Span{From: 0.2, To: 1.2}}
		}
		load := piston.Load{Cylinder: s.Cylinder, OpenPressure: 0.7e5, ClosedPressure: -0.1e5}
		hand, err := NewHand(lever, load)
		if err != nil {
			rt.Fatal(err)
		}
		line := spring.Linear{Rate: rapid.Float64Range(1e3, 1e5).Draw(rt, "rate"), Preload: rapid.Float64Range(100, 2000).Draw(rt, "preload")}
		load.Spring = line.Force
		e, err := lever.Effort(load, 2)
		if err != nil {
			rt.Fatal(err)
		}
		got, want := hand.Effort(line), e.Peak.Cocking
		if got > want*(1+1e-9) || got < want*(1-5e-3) {
			rt.Fatalf("got %g N, the lever says %g N", got, want)
		}
	})
}

func TestBurden(t *testing.T) {
	old := []spring.Linear{{Rate: 27e3, Preload: 500}}
	new := []spring.Linear{{Rate: 20e3, Preload: 600}, {Rate: 10e3, Preload: -60}} // the second engages at 6 mm
	b := BurdenOf(old, new, 24*mm)
	// By hand: 600 + 20 · 24 + 10 · 18 = 1260 N against 500 + 27 · 24 = 1148 N;
	// (600 + 1080)/2 · 0.024 + 180/2 · 0.018 = 21.78 J against (500 + 1148)/2 · 0.024 = 19.776 J.
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"cocked", b.Cocked, 1260.0 / 1148}, {"energy", b.Energy, 21.78}, {"stored", b.Stored, 21.78 / 19.776},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s: got %g, want %g", c.what, c.got, c.want)
		}
	}
	soft := BurdenOf([]spring.Linear{{Rate: 0, Preload: 2000}}, old, 24*mm)
	if !near(soft.Cocked, 1148.0/2000, 1e-12) || !near(soft.Stored, 19.776/48, 1e-12) {
		t.Errorf("a softer spring: %+v", soft)
	}
	if b := BurdenOf([]spring.Linear{{Rate: 1, Preload: -1}}, old, 24*mm); b.Cocked != 0 || b.Stored != 0 {
		t.Errorf("against a loose spring: %+v", b)
	}
}

func TestDraw(t *testing.T) {
	s := cafeSearch(t)
	p := cafePart(t)
	d, err := s.Draw(&p, 2)
	if err != nil {
		t.Fatal(err)
	}
	tol, err := p.Coil.Tolerance(2)
	if err != nil {
		t.Fatal(err)
	}
	rate := p.Coil.Rate()
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"outer", d.Outer, 51.5 * mm}, {"inner", d.Inner, 36.5 * mm}, {"rate", d.Rate, rate},
		{"L1", d.Rest.Length, 200 * mm}, {"F1", d.Rest.Force, rate * 37.5 * mm},
		{"L2", d.Cocked.Length, 176 * mm}, {"F2", d.Cocked.Force, rate * 61.5 * mm},
		{"A_F2", d.Cocked.Within, tol.Load(rate * 61.5 * mm)}, {"A_L0", d.Length, tol.Free}, {"A_R", d.RateBy, (tol.Load(rate*37.5*mm) + tol.Load(rate*61.5*mm)) / (rate * 24 * mm)},
		{"A_R by d and De", d.WireBy, (4/7.5+3/44.0)*0.0375 + 3/44.0*0.8}, {"A_De", d.OuterBy, 0.8 * mm},
		{"e1", d.Square, 0.05 * 237.5 * mm}, {"e2", d.Level, 0.03 * 51.5 * mm}, {"tip", d.Tip, 7.5 / 4 * mm},
		{"Ln", d.Least.Length, 18.75*7.5375*mm + 1.5*16.75*(0.0015*44*44/7.5+0.75)*mm}, {"N", d.Cycles, 90000},
		{"F1, hot", d.Rest.Hot, rate * 37.5 * mm * (1 - 0.25e-3*50)},

		{"Ls", d.Solid.Length, 18.75 * 7.5375 * mm}, {"A_Fs", d.Solid.Within, 0}, {"mass", d.Mass, p.Coil.Mass()},
		{"τ2", d.Cocked.Stress, 8 * d.Cocked.Force * 44 * mm / (math.Pi * 421.875e-9)},
		{"grown", d.Grown, d.Outer + p.Coil.Growth().FreeToTurn},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s: got %g, want %g", c.what, c.got, c.want)
		}
	}
	if d.Quality != 2 || d.Wire != p.Wire || d.Coil != p.Coil || len(d.Doubts) < 2 {
		t.Errorf("%+v", d)
	}
	// What binds can be made: never wire, outside diameter, free length, rate and both loads.
	bound := map[string]bool{}
	for _, i := range d.Items {
		bound[i.Symbol] = i.Standing == Binding
	}
	for symbol, want := range map[string]bool{"F1": true, "F2": true, "L1": true, "L2": true, "De": true, "e1": true, "e2": true,
		"d": false, "n": false, "nt": false, "L0": false, "R": false} {
		if got, ok := bound[symbol]; !ok || got != want {
			t.Errorf("%s: binding %v, on the sheet %v; want %v", symbol, got, ok, want)
		}
	}
	wider := s.Job
	wider.Within = 1e4
	if easy, err := wider.Draw(&p, 2); err != nil || len(easy.Doubts) != len(d.Doubts)-1 {
		t.Errorf("with a wide wish as many doubts: %q %v", easy.Doubts, err)
	}
	if _, err := s.Draw(&Part{Rate: 1, Free: 1}, 2); !errors.Is(err, ErrJob) {
		t.Errorf("drawing of a spring without dimensions: %v", err)
	}
	if _, err := s.Draw(&p, 7); err == nil {
		t.Error("quality 7 is taken")
	}
	// Beyond EN 15800 there is a drawing without tolerances, and it says so.
	big := p.Coil
	big.Wire, big.WireMax, big.Mean, big.Free = 17*mm, 0, 100*mm, 400*mm
	q := PartOf(big, p.Wire)
	if d, err := s.Draw(&q, 2); err != nil || d.Length != 0 || d.Cocked.Within != 0 || len(d.Doubts) == 0 {
		t.Errorf("beyond EN 15800: %+v %v", d, err)
	}
}
