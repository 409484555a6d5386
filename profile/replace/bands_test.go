package replace

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"springcalc/spring"
)

// everything returns all springs that fit the café's machine, in order.
func everything(t *testing.T) (*Search, []Choice) {
	t.Helper()
	s := cafeSearch(t)
	s.Keep = 0
	for _, w := range s.Grid.Wires { // the same in a weaker grade: dominated wherever they fit
		w.Grade, w.Tensile = "weak", 0.99*w.Tensile
		w.Endurance.UltimateShear *= 0.99
		s.Grid.Wires = append(s.Grid.Wires, w)
	}
	found, err := s.Run()
	if err != nil || len(found.Best) < 20 {
		t.Fatal(err, found)
	}
	return s, found.Best
}

// TestCrosses: a limit that a spring may break as made is one that it keeps as drawn,
// and no other: none that is broken, none that is not judged, none that holds for all
// that are made.
func TestCrosses(t *testing.T) {
	s, best := everything(t)
	var list []Candidate
	for i := range best {
		p := best[i].Parts[0]
		for _, longer := range []float64{0.97, 0.99, 1, 1.01, 1.03} {
			coil := p.Coil
			coil.Free *= longer
			list = append(list, Candidate{Parts: []Part{PartOf(coil, p.Wire)}})
		}
	}
	r, err := s.Rank(list, s.Order)
	if err != nil {
		t.Fatal(err)
	}
	kept, broken := 0, 0
	for _, c := range slices.Concat(r.Fitting, r.Missing) {
		crosses := c.Crosses()
		for k := range constraints {
			m, known := c.Verdict.Margin(k)
			want := known && !(m < 0) && c.Bands[k].Low < 0
			if slices.Contains(crosses, k) != want {
				t.Errorf("margin %g (%t), band %v: crosses %t", m, known, c.Bands[k], !want)
			}
			if want {
				kept++
			}
			if known && m < 0 {
				broken++
			}
		}
	}
	if kept == 0 || broken == 0 {
		t.Errorf("%d limits are crossed and %d broken: nothing was tested", kept, broken)
	}
}

// A dominated spring never stands above the one that dominates it; and the first
// has the greatest weakest margin but for the step within which effort decides.
func TestRankingKeepsDominance(t *testing.T) {
	s, best := everything(t)
	pairs := 0
	for i := range best {
		for k := range i {
			if best[i].Dominates(&best[k]) {
				t.Errorf("row %d dominates row %d, which stands above it", best[i].Row, best[k].Row)
			}
			if best[k].Dominates(&best[i]) {
				pairs++
			}
		}
		if step := func(c *Choice) float64 { return math.Floor(c.Weakest / s.Order.Step) }; i > 0 && step(&best[i]) == step(&best[i-1]) && best[i].Effort < best[i-1].Effort-s.Order.Step*s.Effort {
			t.Errorf("row %d asks less of the hand than row %d above it, and has as much margin", best[i].Row, best[i-1].Row)
		}
		if best[i].Weakest > best[0].Weakest+s.Order.Step {
			t.Errorf("row %d has a weakest margin of %g, the first %g", best[i].Row, best[i].Weakest, best[0].Weakest)
		}
	}
	if pairs == 0 {
		t.Fatal("no spring dominates another: nothing was tested")
	}
	rapid.Check(t, func(t *rapid.T) { // and of made up springs, many of them equal
		o := DefaultOrder()
		draw := func(name string) Choice {
			c := Choice{Row: rapid.IntRange(1, 100).Draw(t, name), Weakest: math.Inf(1)}
			for _, k := range sound {
				m := float64(rapid.IntRange(0, 3).Draw(t, "margin")) * 0.006
				c.Verdict.Checks[k].Known, c.Bands[k] = true, Band{m, m}
				c.Weakest = min(c.Weakest, m)
			}
			c.Effort = float64(rapid.IntRange(1, 3).Draw(t, "effort"))
			c.scores[ByMargin], c.scores[ByEffort] = c.Weakest, -c.Effort
			return c
		}
		a, b := draw("a"), draw("b")
		if a.Dominates(&b) && o.compare(&a, &b) >= 0 || b.Dominates(&a) && o.compare(&b, &a) >= 0 {
			t.Fatalf("%+v and %+v", a, b)
		}
		if o.compare(&a, &b) != -o.compare(&b, &a) {
			t.Fatal("the order depends on who is asked")
		}
	})
}

// Every free length of a small grid that fits is found, by trying each multiple of the
// step there is: coils, how many lengths, their range, and the best of them. Of the
// lengths nearest to the force at rest alone fewer coils would fit.
func TestEveryFreeLength(t *testing.T) {
	for name, anyEnd := range map[string]bool{"both pressures": false, "any end": true} {
		s := cafeSearch(t)
		s.Keep, s.AnyEnd = 0, anyEnd
		s.Grid.Wires, s.Grid.Means, s.Grid.Coils = s.Grid.Wires[2:], Steps(42*mm, 46*mm, 1*mm), Quarters(13, 18)
		s.Grid.FreeStep = 1 * mm
		found, err := s.Run()
		if err != nil {
			t.Fatal(err)
		}
		b := s.bench()
		nearest, coils, lengths := 0, 0, 0
		for i := range s.Grid.Wires {
			w := &s.Grid.Wires[i]
			for _, mean := range s.Grid.Means {
				for _, n := range s.Grid.Coils {
					for _, ends := range s.Grid.Ends {
						coil := s.coil(w, mean, n, ends)
						var fit []Choice
						for step := 1; step <= 600; step++ {
							if coil.Free = float64(step) * s.Grid.FreeStep; coil.Free > coil.SolidLength() {
								if v := b.judge([]Part{PartOf(coil, w)}, 0); v.Fits() {
									fit = append(fit, s.choose(b, 0, []Part{PartOf(coil, w)}))
								}
							}
						}
						if len(fit) == 0 {
							continue
						}
						coils++
						lengths += len(fit)
						middle := s.Space.Installed + s.Rest/(coil.Rate()*w.soft(s.Space.Celsius))
						best := fit[0]
						for _, c := range fit {
							if math.Abs(c.Parts[0].Free-middle) <= s.Grid.FreeStep/2 {
								nearest++
							}
							if s.Order.compare(&c, &best) < 0 {
								best = c
							}
						}
						k := slices.IndexFunc(found.Best, func(c Choice) bool { return c.Parts[0].Wire == w && c.Parts[0].Coil == best.Parts[0].Coil })
						if k < 0 {
							t.Fatalf("%s: not found: wire %g, D %g, n %g, L0 %g", name, w.Diameter, mean, n, best.Parts[0].Free)
						}
						if got := found.Best[k]; got.Lengths != len(fit) || got.Free != (Span{fit[0].Parts[0].Free, fit[len(fit)-1].Parts[0].Free}) || got.Weakest != best.Weakest {
							t.Errorf("%s: found %d lengths, %v, %g; want %d, %g", name, got.Lengths, got.Free, got.Weakest, len(fit), best.Weakest)
						}
					}
				}
			}
		}
		if found.Fitting != coils || found.Lengths != lengths || coils == 0 || !anyEnd && nearest >= coils {
			t.Errorf("%s: %d coils with %d lengths, want %d with %d; %d by the nearest length", name, found.Fitting, found.Lengths, coils, lengths, nearest)
		}
		t.Logf("%s: %d coils fit with %d lengths, %d with the nearest one", name, coils, lengths, nearest)
	}
}

// A shuffled list has the same order, row numbers and all.
func TestRankOfShuffledLists(t *testing.T) {
	s, best := everything(t)
	var list []Candidate
	for i, c := range best[:20] {
		list = append(list, Candidate{Row: i, Parts: c.Parts}, Candidate{Name: "short", Row: 100 + i, Parts: []Part{{Rate: c.Parts[0].Rate, Free: c.Parts[0].Free - 10*mm}}})
	}
	want, err := s.Rank(list, s.Order)
	if err != nil {
		t.Fatal(err)
	}
	names := func(r *Ranking) (rows []int) {
		for _, c := range slices.Concat(r.Fitting, r.Missing) {
			rows = append(rows, c.Row)
		}
		return rows
	}
	random := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		random.Shuffle(len(list), func(i, k int) { list[i], list[k] = list[k], list[i] })
		got, err := s.Rank(list, s.Order)
		if err != nil || cmp.Diff(names(want), names(got)) != "" {
			t.Fatal(err, cmp.Diff(names(want), names(got)))
		}
	}
}

// The lower end of a band is met by springs made at random within the tolerances: 95
// of 100 margins lie in it, give or take, by whole springs judged one by one.
func TestBandsAgainstMadeSprings(t *testing.T) {
	s := cafeSearch(t)
	p := cafePart(t)
	c, err := s.LikeForLike([]Part{p})
	if err != nil {
		t.Fatal(err)
	}
	tol, err := p.Coil.Tolerance(2)
	if err != nil {
		t.Fatal(err)
	}
	const made = 4000
	random := rand.New(rand.NewPCG(3, 4))
	within := func(by float64) float64 { return by * (2*random.Float64() - 1) }
	own := s.Job
	line := s.Space.Line(&p)
	own.Rest, own.Rate = line.Preload, line.Rate
	var in [constraints]int
	for range made {
		coil := p.Coil
		d := within(0.0375 * mm)
		coil.Wire += d
		coil.Mean += within(0.8*mm) - d
		coil.Free += within(tol.Free)
		g := 1 + within(0.01)
		coil.G, coil.E = coil.G*g, coil.E*g
		v := own.bench().judge([]Part{PartOf(coil, p.Wire)}, math.Inf(1))
		for _, k := range []Constraint{Clearance, StressCocked, StressSolid, Fatigue, Effort} {
			if m, known := v.Margin(k); known && m >= c.Bands[k].Low && m <= c.Bands[k].High {
				in[k]++
			}
		}
	}
	for _, k := range []Constraint{Clearance, StressCocked, StressSolid, Fatigue, Effort} {
		share := float64(in[k]) / made
		t.Logf("%v: %.1f %% of the made springs within %.4f to %.4f", k, 100*share, c.Bands[k].Low, c.Bands[k].High)
		if share < 0.93 {
			t.Errorf("%v: only %.1f %% of the springs made lie in the band", k, 100*share)
		}
	}
}

// Like for like is judged against its own force: nothing is said of pressures, and
// a spring past a limit is described with by how much.
func TestLikeForLike(t *testing.T) {
	s := cafeSearch(t)
	p := cafePart(t)
	w := *p.Wire
	w.Solid.Safety = 1.4
	p.Coil.Free += 20 * mm // far from the wished pressures
	p = PartOf(p.Coil, &w)
	c, err := s.LikeForLike([]Part{p})
	if err != nil {
		t.Fatal(err)
	}
	if m, _ := c.Verdict.Margin(EndPressure); m != 1 {
		t.Errorf("against its own force a margin of %g", m)
	}
	over := c.Verdict.Exceeded()
	k := c.Verdict.Checks[StressSolid]
	if len(over) == 0 || !slices.ContainsFunc(over, func(e Excess) bool {
		return e.Of == StressSolid && near(e.Over, k.Need/k.Have-1, 1e-12) && e.Over > 0
	}) {
		t.Errorf("%+v", over)
	}
	if _, err := s.Draw(&c.Parts[0], 2); err != nil {
		t.Error(err)
	}
	// One of a nest, the other staying: pressures are those of both, the limits its own.
	stay := Part{Rate: 5e3, Free: 240 * mm, Outer: 30 * mm, Inner: 22 * mm}
	nest := s.Job
	nest.Staying = []Part{stay}
	both, err := nest.LikeForLike([]Part{p})
	if err != nil {
		t.Fatal(err)
	}
	if both.Verdict.Checks[StressSolid] != k || !both.Verdict.Checks[InNest].Known || both.Effort <= c.Effort {
		t.Errorf("beside one that stays: %+v", both.Verdict)
	}
	if _, err := s.LikeForLike([]Part{{Rate: math.NaN()}}); err == nil {
		t.Error("no spring is taken")
	}
}

// The search for one spring of a nest finds the one that was there, the other staying.
func TestSearchBesideOneThatStays(t *testing.T) {
	s := cafeSearch(t)
	stay := Part{Rate: 4e3, Free: 240 * mm, Outer: 28 * mm, Inner: 20 * mm}
	s.Staying = []Part{stay}
	found, err := s.Run()
	if err != nil || found.Fitting == 0 {
		t.Fatal(err, found)
	}
	for _, c := range found.Best {
		whole := s.Job
		whole.Staying = nil
		v, err := whole.Judge(append(slices.Clone(c.Parts), stay))
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range []Constraint{EndPressure, PeakPressure, Effort, InNest} {
			a, b := v.Checks[k], c.Verdict.Checks[k]
			if !near(a.Have, b.Have, 1e-9) || math.Abs(a.Need-b.Need) > 1e-6 {
				t.Errorf("row %d, %v: %+v as a nest, %+v beside one that stays", c.Row, k, a, b)
			}
		}
	}
}

// One convention for all: a spring named by US practice is as long solid as one by EN.
func TestOneConvention(t *testing.T) {
	s := cafeSearch(t)
	s.Job.Convention = spring.EN
	p := cafePart(t)
	p.Coil.Ends = spring.Closed
	us := p.Coil
	us.Convention = spring.US
	a, err := s.Judge([]Part{PartOf(p.Coil, p.Wire)})
	if err != nil {
		t.Fatal(err)
	}
	b, err := s.Judge([]Part{PartOf(us, p.Wire)})
	if err != nil || a != b {
		t.Errorf("%v: by EN %+v, by US practice %+v", err, a, b)
	}
	s.Job.Convention = spring.US
	if _, err := s.Run(); err == nil {
		t.Error("two conventions in one search are taken")
	}
	// What a maker prints counts where it is longer.
	q := PartOf(p.Coil, p.Wire)
	q.Printed = q.Solid + 5*mm
	c, err := s.Judge([]Part{q})
	if err != nil || c.Checks[Clearance].Have != s.bench().cocked()-q.Printed {
		t.Errorf("%v: %+v", err, c.Checks[Clearance])
	}
}
