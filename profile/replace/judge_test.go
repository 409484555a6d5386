package replace

import (
	"errors"
	"math"
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"springcalc/piston"
	"springcalc/spring"
)

// cafePart is a spring that fits cafeSearch.
func cafePart(t testing.TB) Part {
	t.Helper()
	w := musicWire(t, 7.5*mm)
	return PartOf(spring.Compression{
		Wire: 7.5 * mm, WireMax: 7.5375 * mm, Mean: 44 * mm, Active: 16.75, Total: 18.75, Free: 237.5 * mm,
		Ends: spring.ClosedGround, Convention: spring.EN, G: 80e9, E: 196.5e9, Density: 7850,
	}, &w)
}

// Every check of one spring, worked by hand in N, mm and MPa.
func TestJudgeByHand(t *testing.T) {
	s := cafeSearch(t)
	s.Use.Years = 34 // 30 · 300 · 34 = 306 000 cycles
	p := cafePart(t)
	en, err := spring.SolidEN(0.56)
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
	f1, f2, fs := hot*rate*37.5, hot*rate*61.5, hot*rate*(237.5-ls)
	kb := (4*c + 2) / (4*c - 3)
	kw := (4*c-1)/(4*c-4) + 0.615/c
	tau := func(k, f float64) float64 { return k * 8 * f * 44 / (math.Pi * 7.5 * 7.5 * 7.5) }
	ssu := 0.67 * rm
	t1, t2 := tau(kw, f1), tau(kw, f2)
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
		{InBore, 56 - 51.5 - growth, 1, mm},
		{OverRod, 36.5 - 16, 1, mm},
		{Clearance, 176 - ls, 16.75 * (0.0015*44*44/7.5 + 0.75) * 1.5, mm}, // dynamic
		{StressCocked, 0.45 * rm, 1.2 * tau(kb, f2), 1e6},
		{StressSolid, 0.56 * rm, 1.1 * tau(1, fs), 1e6},
		{Fatigue, (0.36 - 0.03*math.Log10(3.06)) * rm, 1.2 * (t2 - t1) * ssu / (ssu - t1), 1e6},
		{Relaxation, 0.3, lost * x * x, 1},
		{Effort, 220, s.Hand.Effort(spring.Linear{Rate: hot * rate * 1e3, Preload: f1}), 1},
	} {
		got := v.Checks[c.of]
		if !got.Known || !near(got.Have/c.unit, c.have, 1e-9) || math.Abs(got.Need/c.unit-c.need) > 1e-6*math.Max(c.need, 1e-3) {
			t.Errorf("%v: have %.8g, need %.8g; by hand %.8g, %.8g", c.of, got.Have/c.unit, got.Need/c.unit, c.have, c.need)
		}
	}
	if b := v.Checks[Buckling]; b.Margin() != 1 { // it would bend only beyond solid
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

// Without a curve, or past its end, the endurance limit decides.
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
	w.Endurance = spring.Strength{}
	if v := s.bench().judge([]Part{p}, math.Inf(1)); v.Checks[Fatigue].Known {
		t.Errorf("judged from nothing: %+v", v.Checks[Fatigue])
	}
}

// A wire that breaks when cocked bears no cycle.
func TestFatigueOfWireThatBreaks(t *testing.T) {
	s := cafeSearch(t)
	p := cafePart(t)
	p.Wire.Tensile = 5e8
	p.Wire.Endurance.UltimateShear = 0.67 * 5e8
	v := s.bench().judge([]Part{p}, math.Inf(1))
	if m, _ := v.Margin(Fatigue); m != -1 || v.Fits() {
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

func TestMargin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		have := rapid.Float64Range(-10, 1e6).Draw(t, "have")
		need := rapid.Float64Range(1e-6, 1e6).Draw(t, "need")
		m := Check{have, need, true}.Margin()
		if (m >= 0) != (have >= need) || m > 1 {
			t.Fatalf("have %g, need %g: margin %g", have, need, m)
		}
		if more := (Check{have + 1, need, true}).Margin(); more < m {
			t.Fatalf("more to have is less margin: %g, %g", m, more)
		}
		if less := (Check{have, need * 1.1, true}).Margin(); have > 0 && less > m {
			t.Fatalf("more need is more margin: %g, %g", m, less)
		}
	})
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

// Candidates are judged as designs are, and the other way round.
func TestRankAgreesWithTheSearch(t *testing.T) {
	s := cafeSearch(t)
	found, err := s.Run()
	if err != nil || len(found.Best) < 10 {
		t.Fatal(err, found)
	}
	var list []Candidate
	for _, c := range found.Best {
		list = append(list, Candidate{Row: c.Row, Parts: c.Parts})
	}
	slices.Reverse(list)
	r, err := s.Rank(list, s.Order)
	if err != nil || r.Missing != nil || r.Bad != nil {
		t.Fatal(err, r)
	}
	if diff := cmp.Diff(found.Best, r.Fitting, exact); diff != "" {
		t.Error(diff)
	}
}

func TestRankSortsMissesAndBadRows(t *testing.T) {
	s := cafeSearch(t)
	good := cafePart(t)
	plain := Part{Rate: good.Rate, Free: good.Free} // all that a shop may say
	heavy, short, solid := plain, plain, plain
	heavy.Rate *= 1.3
	short.Free -= 3 * mm
	solid.Solid = 172 * mm
	bad := plain
	bad.Rate, bad.Free = math.NaN(), -1
	liar := good
	liar.Rate *= 1.01 // not what its dimensions say
	r, err := s.Rank([]Candidate{
		{Name: "heavy", Row: 2, Price: 10, Parts: []Part{heavy}},
		{Name: "bad", Row: 3, Parts: []Part{bad}},
		{Name: "good", Row: 4, Price: 20, Parts: []Part{good}},
		{Name: "short", Row: 5, Parts: []Part{short}},
		{Name: "plain", Row: 6, Price: 15, Parts: []Part{plain}},
		{Name: "solid", Row: 7, Parts: []Part{solid}},
		{Name: "none", Row: 8, Price: -1},
		{Name: "liar", Row: 9, Parts: []Part{liar}},
	}, Order{Keys: []Key{{By: ByPrice}}, Step: 0.05})
	if err != nil {
		t.Fatal(err)
	}
	names := func(all []Choice) (n []string) {
		for _, c := range all {
			n = append(n, c.Name)
		}
		return n
	}
	if got := names(r.Fitting); !slices.Equal(got, []string{"plain", "good", "solid"}) {
		t.Errorf("fitting %v", got)
	}
	if got := names(r.Missing); !slices.Equal(got, []string{"short", "heavy"}) {
		t.Errorf("missing %v", got)
	}
	if len(r.Bad) != 3 || r.Bad[0].Row != 3 || r.Bad[1].Row != 8 || r.Bad[2].Row != 9 || !errors.Is(r.Bad[0].Err, ErrJob) {
		t.Errorf("bad rows %v", r.Bad)
	}
	// Nothing is known of the plain one but rate and length.
	open := s.Unjudged(&r.Fitting[0])
	if !slices.Equal(open, []Constraint{Index, InBore, OverRod, Clearance, StressCocked, StressSolid, Buckling, Fatigue, Relaxation}) {
		t.Errorf("unjudged %v", open)
	}
	free := s.Job
	free.Space.Rod, free.Space.Support.Guided, free.Use, free.Effort = 0, true, spring.Use{}, 0
	if open := free.Unjudged(&Choice{Parts: []Part{plain, plain}}); slices.Contains(open, OverRod) || slices.Contains(open, Buckling) ||
		slices.Contains(open, Fatigue) || slices.Contains(open, Relaxation) || slices.Contains(open, Effort) || !slices.Contains(open, InNest) {
		t.Errorf("not asked for and yet unjudged: %v", open)
	}
	if open := s.Unjudged(&r.Fitting[1]); open != nil {
		t.Errorf("unjudged of the good one: %v", open)
	}
}

// A nest that shares the force of one spring is the same to the piston; each
// part is judged by itself, and the two by the room between them.
func TestNest(t *testing.T) {
	s := cafeSearch(t)
	outer := cafePart(t)
	outer.Coil.G /= 2 // half the force each
	outer = PartOf(outer.Coil, outer.Wire)
	inner := Part{Rate: outer.Rate, Free: outer.Free, Outer: 34 * mm, Inner: 22 * mm, Solid: 160 * mm}
	v := s.bench().judge([]Part{outer, inner}, math.Inf(1))
	whole := cafePart(t)
	single := s.bench().judge([]Part{whole}, math.Inf(1))
	for _, c := range []Constraint{EndPressure, PeakPressure, Effort} {
		if a, b := v.Checks[c], single.Checks[c]; !near(a.Have, b.Have, 1e-12) || math.Abs(a.Need-b.Need) > 1e-9 {
			t.Errorf("%v: %+v in a nest, %+v alone", c, a, b)
		}
	}
	if c := v.Checks[InNest]; c.Have != outer.Inner-inner.Outer || c.Need != s.Space.Slack {
		t.Errorf("room in the nest %+v", c)
	}
	if c := v.Checks[OverRod]; c.Have != inner.Inner-s.Space.Rod {
		t.Errorf("over the rod %+v", c)
	}
	if c := v.Checks[InBore]; !(c.Have < s.Space.Bore-outer.Outer) {
		t.Errorf("in the bore %+v", c)
	}
	// Of one limit that both break, only the worse counts.
	tight := s.Job
	tight.Space.Bore = 20 * mm
	for _, parts := range [][]Part{{outer, inner}, {inner, outer}} {
		wide := tight.bench().judge(parts, math.Inf(1))
		if m, _ := wide.Margin(InBore); !near(wide.Short, -m, 1e-12) || wide.Least != m {
			t.Errorf("in a bore of 20 mm: short by %g, margin %g", wide.Short, m)
		}
	}
	inner.Outer = 36.5 * mm // touches
	if v := s.bench().judge([]Part{outer, inner}, math.Inf(1)); v.Binding != InNest || v.Least != -1 {
		t.Errorf("touching: %v %g", v.Binding, v.Least)
	}
}

// At its limit a spring still fits.
func TestAtTheLimit(t *testing.T) {
	s := cafeSearch(t)
	p := cafePart(t)
	s.Effort = s.Hand.Effort(s.Space.Line(&p))
	v := s.bench().judge([]Part{p}, math.Inf(1))
	if !v.Fits() || v.Least != 0 || v.Binding != Effort || v.Blocked() != nil {
		t.Errorf("%v binds with %g, short by %g", v.Binding, v.Least, v.Short)
	}
	s.Effort *= 1 - 1e-12
	if v := s.bench().judge([]Part{p}, math.Inf(1)); v.Fits() || v.first() != Effort {
		t.Errorf("just past it: %+v", v)
	}
}

func TestJobValidate(t *testing.T) {
	nan := math.NaN()
	bad := Job{
		Requirement: Requirement{Rest: -1, Rate: nan, Stroke: 0, Begin: -1, Within: 0},
		Space:       Space{Bore: 0, Rod: 1, Slack: 0, Installed: nan, Solid: -1, Celsius: 1000},
		Limits:      Limits{IndexMin: 1, IndexMax: 0.5, Buckling: 0, Fatigue: -1, Relaxation: 2},
		Effort:      -1,
		Use:         spring.Use{PullsPerDay: -1},
	}
	if n := len(bad.Validate().(interface{ Unwrap() []error }).Unwrap()); n != 19 {
		t.Errorf("%d faults:\n%v", n, bad.Validate())
	}
	s := cafeSearch(t)
	s.Grid.Wires[0] = Wire{Most: -1, Softening: 1, Density: -1, Relaxation: Held{Stress: 1}, Life: spring.LifeCurve{}}
	s.Grid.Means[1], s.Grid.Coils[2], s.Grid.Ends[0], s.Grid.FreeStep = -1, nan, spring.Plain, -1
	s.Order = Order{}
	_, err := s.Run()
	for _, want := range []error{ErrJob, ErrOrder, spring.ErrInput} {
		if !errors.Is(err, want) {
			t.Errorf("%v is not in\n%v", want, err)
		}
	}
	if _, err := s.Rank(nil, Order{Keys: []Key{{By: ByStress}}}); !errors.Is(err, ErrOrder) {
		t.Errorf("an order without step: %v", err)
	}
}

func TestBurden(t *testing.T) {
	old := []spring.Linear{{Rate: 27e3, Preload: 500}}
	new := []spring.Linear{{Rate: 20e3, Preload: 600}, {Rate: 10e3, Preload: -60}} // the second engages at 6 mm
	s := cafe()
	hand := handOf(t, &s)
	b := BurdenOf(old, new, 24*mm, hand)
	// By hand: 600 + 20 · 24 + 10 · 18 = 1260 N against 500 + 27 · 24 = 1148 N;
	// (600 + 1080)/2 · 0.024 + 180/2 · 0.018 = 21.78 J against (500 + 1148)/2 · 0.024 = 19.776 J.
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"cocked", b.Cocked, 1260.0 / 1148}, {"rest", b.Rest, 600.0 / 500},
		{"energy", b.Energy, 21.78}, {"stored", b.Stored, 21.78 / 19.776},
		{"hand, old", b.HandOld, hand.Effort(old...)}, {"hand, new", b.HandNew, hand.Effort(new...)},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s: got %g, want %g", c.what, c.got, c.want)
		}
	}
	if !slices.Contains(b.Cautions, spring.CautionStiffer) {
		t.Errorf("cautions %q", b.Cautions)
	}
	soft := BurdenOf([]spring.Linear{{Rate: 0, Preload: 2000}}, old, 24*mm, nil)
	if slices.Contains(soft.Cautions, spring.CautionStiffer) || soft.HandNew != 0 || !near(soft.Stored, 19.776/48, 1e-12) {
		t.Errorf("a softer spring: %+v", soft)
	}
	if b := BurdenOf([]spring.Linear{{Rate: 1, Preload: -1}}, old, 24*mm, nil); b.Rest != 0 || b.Cocked != 0 || b.Stored != 0 {
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
		{"A_F2", d.Cocked.Within, tol.Load(rate * 61.5 * mm)}, {"A_L0", d.Length, tol.Free}, {"A_R", d.RateBy, tol.Rate},
		{"Ls", d.Solid.Length, 18.75 * 7.5375 * mm}, {"A_Fs", d.Solid.Within, 0}, {"mass", d.Mass, p.Coil.Mass()},
		{"τ2", d.Cocked.Stress, 8 * d.Cocked.Force * 44 * mm / (math.Pi * 421.875e-9)},
		{"grown", d.Grown, d.Outer + p.Coil.Growth().FreeToTurn},
	} {
		if !near(c.got, c.want, 1e-12) {
			t.Errorf("%s: got %g, want %g", c.what, c.got, c.want)
		}
	}
	if d.Quality != 2 || d.Wire != p.Wire || d.Coil != p.Coil || len(d.Notes) < 4 || len(d.Doubts) < 2 {
		t.Errorf("%+v", d)
	}
	wider := s.Job
	wider.Within = 1e4
	if easy, err := wider.Draw(&p, 2); err != nil || len(easy.Doubts) != len(d.Doubts)-1 {
		t.Errorf("with a wide wish as many doubts: %q %v", easy.Doubts, err)
	}
	before := len(d.Notes)
	p.Wire.Preset, p.Wire.Peened = true, true
	if d, err := s.Draw(&p, 2); err != nil || len(d.Notes) != before+2 {
		t.Errorf("preset and peened: %v %v", d, err)
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

func TestParseOrder(t *testing.T) {
	for _, text := range []string{"stress", "effort,price", "stress=3,effort=1.5,clearance=0.25", DefaultOrder().String(), "pressure=1"} {
		o, err := ParseOrder(text)
		if err != nil || o.String() != text {
			t.Errorf("%q reads as %q, %v", text, o, err)
		}
	}
	if o, err := ParseOrder(" stress = 2 , fatigue=1 "); err != nil || o.String() != "stress=2,fatigue=1" {
		t.Errorf("with spaces: %q, %v", o, err)
	}
	for _, text := range []string{"", "stress,", "beauty", "stress,stress", "stress=1,effort", "stress=x", "stress=-1", "stress=NaN", "stress=0", "stress=1e9"} {
		if o, err := ParseOrder(text); !errors.Is(err, ErrOrder) {
			t.Errorf("%q is taken for %q", text, o)
		}
	}
}

// The order is what it says: by steps, then by the finer difference, then by row.
func TestOrder(t *testing.T) {
	choice := func(row int, stress, effort float64) Choice {
		c := Choice{Row: row}
		c.scores[ByStress], c.scores[ByEffort] = stress, effort
		return c
	}
	for _, c := range []struct {
		name  string
		order Order
		a, b  Choice
		want  int
	}{
		{"first key", Order{Keys: []Key{{By: ByStress}, {By: ByEffort}}, Step: 0.1}, choice(1, 0.25, 0), choice(2, 0.15, 9), -1},
		{"second key", Order{Keys: []Key{{By: ByStress}, {By: ByEffort}}, Step: 0.1}, choice(1, 0.19, 0), choice(2, 0.11, 0.5), 1},
		{"finer", Order{Keys: []Key{{By: ByStress}, {By: ByEffort}}, Step: 0.1}, choice(1, 0.11, 0), choice(2, 0.12, 0), 1},
		{"row", Order{Keys: []Key{{By: ByStress}}, Step: 0.1}, choice(1, 0.1, 0), choice(2, 0.1, 9), -1},
		{"weights", Order{Keys: []Key{{ByStress, 1}, {ByEffort, 3}}}, choice(1, 0.4, 0.1), choice(2, 0.1, 0.25), 1},
		{"weights, row", Order{Keys: []Key{{ByStress, 1}}}, choice(2, 0.4, 0.1), choice(1, 0.4, 0.25), 1},
	} {
		if got := c.order.compare(&c.a, &c.b); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
		if got := c.order.compare(&c.b, &c.a); got != -c.want {
			t.Errorf("%s, the other way round: %d, want %d", c.name, got, -c.want)
		}
	}
}

func TestStepsHoldTheirEnds(t *testing.T) {
	if got := Quarters(3, 4.25); !slices.Equal(got, []float64{3, 3.25, 3.5, 3.75, 4, 4.25}) {
		t.Error(got)
	}
	got := (&Space{Bore: 21 * mm, Rod: 19.3 * mm}).MeansBetween(0.5 * mm)
	want := []float64{19.5 * mm, 20 * mm, 20.5 * mm, 21 * mm}
	if len(got) != len(want) {
		t.Fatal(got)
	}
	for i := range got {
		if !near(got[i], want[i], 1e-12) {
			t.Error(got)
		}
	}
}
