package diagnose

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"springcalc/profile"
	"springcalc/spring"
	"springcalc/tables"
)

// TestBayesByHand: where only the gauge can be at fault and only it was
// checked, the answer is Bayes' rule with one normal and one integral.
func TestBayesByHand(t *testing.T) {
	p := judged(t)
	for part := range numParts {
		if part != PartGauge {
			p.Fault[part] = 0
		}
	}
	m := cafeMachine()
	f := forwardOf(t, m, &p)
	const u = 0.02
	for _, y := range []float64{1, 0.95, 0.8, 0.6} {
		s := infer(t, &Case{Machine: m, Readings: []Observation{Observe(Gauge, y, u)}, Priors: p})
		sd := math.Sqrt(u*u + p.Sound.Gain*p.Sound.Gain + math.Pow(p.Sound.Zero/f.peak, 2))
		density := func(x float64) float64 {
			z := (y - (1 - x)) / sd
			return math.Exp(-z*z/2) / sd
		}
		const steps = 200000
		with, worth := 0.0, 0.0
		norm := p.ShareScale * -math.Expm1(-p.ShareMost/p.ShareScale)
		for i := range steps {
			x := p.ShareMost * (float64(i) + 0.5) / steps
			d := p.ShareMost / steps * math.Exp(-x/p.ShareScale) / norm * density(x)
			with += d
			if x >= p.Worth {
				worth += d
			}
		}
		prior := p.Fault[PartGauge]
		all := prior*with + (1-prior)*density(0)
		got := s.of(PartGauge)
		if math.Abs(got.AtFault-prior*with/all) > 0.005 || math.Abs(got.Probability-prior*worth/all) > 0.015 {
			t.Errorf("reads %g: at fault %.4f, worth it %.4f; by hand %.4f and %.4f", y, got.AtFault, got.Probability, prior*with/all, prior*worth/all)
		}
		if want := math.Log(all / math.Sqrt(2*math.Pi)); math.Abs(s.Evidence-want) > 0.02 {
			t.Errorf("reads %g: ln evidence %.4f, by hand %.4f", y, s.Evidence, want)
		}
	}
}

// TestNoReading: with nothing read the answer is the prior, of sets up to three,
// and with a course of peaks the prior with its odds tempered.
func TestNoReading(t *testing.T) {
	p := judged(t)
	course := Course{SetOdds: 2, WearOdds: -1, StepOdds: 0.5}
	for _, c := range []Course{{}, course} {
		odds := p.Fault
		for part, ln := range map[Part]float64{PartSet: c.SetOdds, PartSeal: c.WearOdds, PartWire: c.WearOdds, PartCoil: c.StepOdds, PartGauge: c.StepOdds} {
			o := odds[part] / (1 - odds[part]) * math.Exp(p.CoursePower*ln)
			odds[part] = o / (1 + o)
		}
		var at [numParts]float64
		total := 0.0
		for s := range 1 << numParts {
			n, w := 0, 1.0
			for part := range numParts {
				if s>>part&1 == 1 {
					n++
					w *= odds[part]
				} else {
					w *= 1 - odds[part]
				}
			}
			if n > 3 || s>>PartCoil&1 == 1 && s>>PartSpring&1 == 1 {
				continue
			}
			total += w
			for part := range numParts {
				if s>>part&1 == 1 {
					at[part] += w
				}
			}
		}
		state := infer(t, &Case{Machine: cafeMachine(), Priors: p, Course: c})
		for _, ps := range state.Parts {
			if math.Abs(ps.AtFault-at[ps.Part]/total) > 0.003 {
				t.Errorf("%v: at fault %.4f, the prior is %.4f", ps.Part, ps.AtFault, at[ps.Part]/total)
			}
		}
		if state.Explains != 1 || state.Withheld {
			t.Errorf("nothing read, yet p = %g", state.Explains)
		}
	}
}

// TestBenchLoads: a spring of a known rate and free length shows k (L0 - L) on
// the bench; set takes the shortening times the rate, a thinner wire its
// fourth power, a lost coil makes it stiffer.
func TestBenchLoads(t *testing.T) {
	p := judged(t)
	m := cafeMachine()
	f := forwardOf(t, m, &p)
	k, free, n := m.Setup.Springs[0].Rate, m.Spring.Free, m.Spring.Active
	const at = 110 * mm
	for _, c := range []struct {
		x    sizesOf
		want float64
	}{
		{sizesOf{}, k * (free - at)},
		{sizesOf{PartSet: 7 * mm}, k * (free - 7*mm - at)},
		{sizesOf{PartWire: 0.04}, k * math.Pow(0.96, 4) * (free - at)},
		{sizesOf{PartCoil: 1}, k * n / (n - 1) * (free - m.Spring.Pitch() - at)},
		{sizesOf{PartSpring: 2}, k * n / (n + 2) * (free - at)},
		{sizesOf{PartSet: 90 * mm}, 0},
	} {
		var v scene
		f.see(&c.x, &offsets{}, &v.at[0])
		r := number{kind: BenchLoad, at: at}
		if got := r.of(&v); !near(got, c.want, 1e-12) && math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v: %.8g N, by hand %.8g", c.x, got, c.want)
		}
	}
}

// TestStrata: the parts of the log-normal friction make up its mean and variance.
func TestStrata(t *testing.T) {
	for _, sigma := range []float64{0.3, 0.67, 1} {
		mean, second, all := 0.0, 0.0, 0.0
		for _, s := range strataOf(sigma) {
			w := math.Exp(s.lnShare)
			all += w
			mean += w * s.off
			second += w * (s.off*s.off + s.sd*s.sd)
		}
		if math.Abs(all-1) > 1e-9 || math.Abs(mean) > 1e-9 || math.Abs(second-1) > 1e-9 {
			t.Errorf("sigma %g: shares %.9f, mean %.3g, variance %.9f", sigma, all, mean, second)
		}
	}
}

// TestPriorTable: the table has a figure for every name and no other.
func TestPriorTable(t *testing.T) {
	var have, want []string
	for _, d := range tables.DiagnosisPriors() {
		have = append(have, d.Name)
	}
	for _, f := range new(Priors).fields() {
		want = append(want, f.name)
	}
	slices.Sort(have)
	slices.Sort(want)
	if want = slices.Compact(want); !slices.Equal(have, want) {
		t.Errorf("table has %q\nwant %q", have, want)
	}
	p := judged(t)
	if err := p.Set("fault.seal", 0.5); err != nil || p.Fault[PartSeal] != 0.5 {
		t.Errorf("fault.seal is %g, %v", p.Fault[PartSeal], err)
	}
	// 0, 1, 2 and 3 faults: 26, 41, 25 and 8 % of machines, as the judgement says.
	p = judged(t)
	var n [numParts + 1]float64
	n[0] = 1
	for _, f := range p.Fault {
		for i := numParts; i > 0; i-- {
			n[i] = n[i]*(1-f) + n[i-1]*f
		}
		n[0] *= 1 - f
	}
	for i, want := range []float64{0.26, 0.41, 0.25, 0.08} {
		if math.Abs(n[i]-want) > 0.015 {
			t.Errorf("%d faults in %.3f of machines, want about %.2f", i, n[i], want)
		}
	}
}

// someReadings are those of a spring that has set, with a log.
func someReadings(t testing.TB) []Observation {
	peak, end, yield, _ := shotOf(t, sick(sizesOf{PartSet: 7 * mm}, 30, 3/bar, 1*mL))
	return []Observation{
		asNew(Observe(Peak, 8.6*bar, 0.15*bar)), Observe(Peak, peak, 0.15*bar), Observe(EndPress, end, 0.15*bar), Observe(Yield, yield, 0.5*gram), Observe(FreeLength, 143*mm, 0.2*mm),
		{Kinds: []Kind{LogRate, LogBow}, Values: []float64{32e3, 0.01 * bar}, Cov: [][]float64{{9e4, 0}, {0, 9e6}}},
	}
}

// TestSaidTwice: a thing said twice, or a log given twice, is one.
func TestSaidTwice(t *testing.T) {
	p := judged(t)
	list := someReadings(t)
	once := infer(t, &Case{Machine: cafeMachine(), Readings: list, Priors: p})
	twice := infer(t, &Case{Machine: cafeMachine(), Readings: append(slices.Clone(list), list[1], list[3], list[4], list[5]), Priors: p})
	if !reflect.DeepEqual(once.Parts, twice.Parts) || len(twice.Used) != len(list) {
		t.Error("what was said twice counts twice")
	}
	again := infer(t, &Case{Machine: cafeMachine(), Readings: list, Priors: p})
	if !reflect.DeepEqual(once, again) {
		t.Error("the answer differs from one time to the next")
	}
	// Two that differ: the mean, no surer than one of them.
	two, against := merge([]Observation{Observe(Drag, 60, 8), Observe(Drag, 80, 8)})
	if len(two) != 1 || two[0].Values[0] != 70 || two[0].Cov[0][0] != 64+100 || len(against) != 0 {
		t.Errorf("merged to %+v, %+v", two, against)
	}
	// Two that contradict each other are said.
	if _, against = merge([]Observation{Observe(FreeLength, 150*mm, 0.2*mm), Observe(FreeLength, 143*mm, 0.2*mm)}); len(against) != 1 || against[0].Kind != FreeLength {
		t.Errorf("contradictions %+v", against)
	}
	// Another day is another reading.
	later := Observe(Drag, 60, 8)
	later.Date = 86400
	if two, _ = merge([]Observation{Observe(Drag, 60, 8), later}); len(two) != 2 {
		t.Errorf("two days merged to %+v", two)
	}
	// A scalar that a log has too is left to the log.
	if two, _ = merge([]Observation{list[5], Observe(LogRate, 32e3, 500)}); len(two) != 1 || len(two[0].Kinds) != 2 {
		t.Errorf("log and scalar merged to %+v", two)
	}
}

// TestVagueReading: a reading that tells nothing changes nothing.
func TestVagueReading(t *testing.T) {
	p := judged(t)
	list := someReadings(t)
	a := infer(t, &Case{Machine: cafeMachine(), Readings: list, Priors: p})
	b := infer(t, &Case{Machine: cafeMachine(), Readings: append(slices.Clone(list), Observe(Headspace, 0.1, 10)), Priors: p})
	for _, x := range a.Parts {
		if y := b.of(x.Part); math.Abs(x.Probability-y.Probability) > 0.01 {
			t.Errorf("%v: %.4f, with a reading that tells nothing %.4f", x.Part, x.Probability, y.Probability)
		}
	}
}

// TestStateLaws: probabilities, intervals and steps keep their order, on machines of the study.
func TestStateLaws(t *testing.T) {
	p := judged(t)
	each(12, 606, func(i int, rng *rand.Rand) {
		o := drawOld(anySheet(rng), rng, harshness{1, 1, 1})
		s, err := Infer(&Case{Machine: &Machine{Setup: *o.sheet, Spring: o.coil}, Readings: o.firstReadings(), Priors: p, Outcomes: true})
		if err != nil {
			t.Error(err)
			return
		}
		for k, x := range s.Parts {
			if !(x.Probability >= 0 && x.Probability <= x.AtFault+1e-9 && x.AtFault <= 1) || k > 0 && x.Probability > s.Parts[k-1].Probability {
				t.Errorf("%v: %.3f worth it, %.3f at fault", x.Part, x.Probability, x.AtFault)
			}
			for _, r := range []Range{x.Size, x.Gain, s.Now, s.Sound} {
				if !(r.Low <= r.Value && r.Value <= r.High) || r.Low < 0 {
					t.Errorf("%v: range %+v", x.Part, r)
				}
			}
			if x.Probability > 1-s.NothingWrong+1e-6 {
				t.Errorf("%v is worth it with %.3f, though nothing is with %.3f", x.Part, x.Probability, s.NothingWrong)
			}
		}
		for k := 1; k < len(s.Steps); k++ {
			if s.Steps[k].Expected < s.Steps[k-1].Expected {
				t.Error("steps out of order")
			}
		}
		n := &s.Next
		sum := 0.0
		for k, c := range n.Outcomes {
			sum += c.Probability
			if !(c.Low <= c.Value && c.Value <= c.High) || k > 0 && c.Low < n.Outcomes[k-1].High {
				t.Errorf("outcomes %+v", n.Outcomes)
			}
		}
		if n.Is == StepMeasure && !n.Again && math.Abs(sum-1) > 1e-9 {
			t.Errorf("outcomes add up to %g", sum)
		}
		if n.Is == StepRepair && (s.Withheld || n.Repair.ofSpring() && n.Sure < p.RepairSure) {
			t.Errorf("advises %v, sure %.2f, withheld %v", n.Repair, n.Sure, s.Withheld)
		}
	})
}

// TestDragIsTwiceFriction: by Coulomb's law a seal's friction F opposes raising
// and lowering alike, so the forces differ by 2 F; and F takes F/(A + c) of the
// peak.
func TestDragIsTwiceFriction(t *testing.T) {
	p := judged(t)
	f := forwardOf(t, cafeMachine(), &p)
	var sound, drags seen
	f.see(&sizesOf{}, &offsets{}, &sound)
	const more = 120.0 // [N]
	x := sizesOf{}
	x[PartSeal] = more
	f.see(&x, &offsets{}, &drags)
	if got := drags.value[Drag] - sound.value[Drag]; !near(got, 2*more, 1e-12) {
		t.Errorf("%g N more drag, want %g N", got, 2*more)
	}
	c := &f.base.Cylinder
	c2 := c.Area() + c.Seal.PerPa
	if got, want := sound.peak-drags.peak, more/c2; !near(got, want, 0.02) { // what the air in the chamber takes changes a little
		t.Errorf("the peak falls by %g Pa, want %g Pa", got, want)
	}
}

// TestBowOfAir: air bends the line of pressure against the water that has left.
// The bow is that of the parabola h (3u² - 1)/2 which least squares fits to the
// exact curve: water = A z + the volume that the air has given back, by Boyle.
func TestBowOfAir(t *testing.T) {
	p := judged(t)
	m := cafeMachine()
	f := forwardOf(t, m, &p)
	var b body
	x := sizesOf{}
	x[PartFill] = 12e-6
	f.body(&x, &offsets{}, &b)
	b.shoot()
	var water, pressure []float64
	const n = 400
	for i := range n + 1 {
		z := b.from + (b.to-b.from)*float64(i)/n
		q := b.peak + (b.end-b.peak)*float64(i)/n
		water, pressure = append(water, b.area*(z-b.from)+b.air.VolumeAt(q)-b.air.VolumeAt(b.peak)), append(pressure, q)
	}
	// Projection on the second Legendre polynomial of u over the water, by the
	// trapezoid: h = (5/2) ∫ P (3u² - 1)/2 du over -1 to 1.
	half := water[n] / 2
	h := 0.0
	for i := range n {
		u0, u1 := water[i]/half-1, water[i+1]/half-1
		g := func(p, u float64) float64 { return p * (3*u*u - 1) / 2 }
		h += 2.5 * (g(pressure[i], u0) + g(pressure[i+1], u1)) / 2 * (u1 - u0)
	}
	if got := b.bow(); !near(got, h, 0.1) || !(h > 0) {
		t.Errorf("bow %g Pa, by projection %g Pa", got, h)
	}
}

// TestShimGivesPeakBack: a shim as thick as the set gives back the forces that a
// spring of the new length has; its lengths are those of plain geometry.
func TestShimGivesPeakBack(t *testing.T) {
	m, w := cafeMachine(), cafeWire(t)
	k := m.Setup.Springs[0].Rate
	const set = 4 * mm
	s := m.Setup
	peak := func(preload float64) float64 {
		s.Springs = []spring.Linear{{Rate: k, Preload: preload}}
		shot, err := profile.Summarize(&s)
		if err != nil {
			t.Fatal(err)
		}
		return shot.Peak
	}
	now, wanted := peak(m.Setup.Springs[0].Preload-set*k), peak(m.Setup.Springs[0].Preload)
	a, err := shimFor(m, set, now, wanted, w)
	if err != nil {
		t.Fatal(err)
	}
	solid, rest := m.Spring.SolidLength(), m.Spring.Free-m.Setup.Springs[0].Preload/k
	lifted := func(set float64) float64 { // what the hand lifts of a spring that has set: spring, friction and piston
		return m.Setup.Springs[0].Force(s.Cylinder.Stroke) - k*set + s.Cylinder.Seal.Constant + s.Cylinder.Weight
	}
	for _, v := range []struct {
		what      string
		got, want float64
	}{
		{"thickness", a.Thickness, set}, {"peak", a.Peak, wanted}, {"force at rest", a.Rest, m.Setup.Springs[0].Preload},
		{"force cocked", a.Cocked, m.Setup.Springs[0].Force(s.Cylinder.Stroke)}, {"solid length", a.SolidLength, solid},
		{"cocked length", a.CockedLength, rest - s.Cylinder.Stroke - set}, {"most", a.Most, rest - s.Cylinder.Stroke - solid},
		{"gap of the coils", a.Clearance.Gap, rest - s.Cylinder.Stroke - set - solid},
		{"pull of the hand", a.Effort, lifted(0) / lifted(set)},
	} {
		if !near(v.got, v.want, 1e-6) {
			t.Errorf("%s is %.6g, want %.6g", v.what, v.got, v.want)
		}
	}
	if !a.Strong || !(a.Safety[1] < a.Safety[0]) || !(a.Effort > 1) {
		t.Errorf("%+v", a)
	}
	m.Spring.Total += 4
	if a, err = shimFor(m, set, now, wanted, w); err != nil || !a.Binds {
		t.Errorf("four more coils leave room: %+v, %v", a, err)
	}
	if _, err := shimFor(m, set, wanted, now, w); !errors.Is(err, ErrInput) {
		t.Errorf("a lower peak: %v", err)
	}
}

// TestWear: Miner's share is cycles over life at the stress as new.
func TestWear(t *testing.T) {
	m, w := cafeMachine(), cafeWire(t)
	w.Curve = spring.LifeCurve{{Cycles: 1e5, Share: 0.9}, {Cycles: 1e7, Share: 0.1}}
	use := spring.Use{PullsPerDay: 100, DaysPerYear: 300, Years: 20}
	got, err := WearOf(m, w, use)
	if err != nil {
		t.Fatal(err)
	}
	if got.Cycles != 600_000 || !near(got.Share, got.Cycles/got.Life.Cycles, 1e-12) || got.Bound != spring.About || !(got.Life.Cycles > 1e5 && got.Life.Cycles < 1e7) {
		t.Errorf("%+v", got)
	}
	if _, err := WearOf(m, nil, use); !errors.Is(err, ErrInput) {
		t.Errorf("no wire: %v", err)
	}
}

// TestOnwardIsCheapest: of machines with one fault each, repaired one part after the
// other until right, no order costs less on the average than that of chance over
// effort, as a walk through all orders finds.
func TestOnwardIsCheapest(t *testing.T) {
	parts := []Part{PartFill, PartLever, PartPuck, PartGauge, PartSeal}
	by := []Repair{RepairFill, RepairLever, RepairPuck, RepairGauge, RepairSeal}
	rng := rand.New(rand.NewPCG(18, 5))
	for range 200 {
		p := &Priors{}
		p.Effort.Left = 1e9 // nobody leaves it
		d := &decision{p: p}
		var list []int
		cost, count := make([]float64, len(by)), make([]int, len(by))
		for i, r := range by {
			cost[i] = 300 + 8700*rng.Float64() // [s]
			p.Effort.Repair[r] = cost[i]
			count[i] = rng.IntN(10)
			for range count[i] {
				s := drawnState{set: setOf(parts[i]), list: parts[i : i+1], worth: setOf(parts[i]), helped: 1 << r}
				s.right[1], s.cured[r] = true, 1
				list = append(list, len(d.states))
				d.states = append(d.states, s)
			}
		}
		for i, r := range by {
			if got, want := d.chance(list, r), float64(count[i])/float64(max(1, len(list))); got != want || r.String() == "unknown repair" || parts[i].String() == "unknown part" {
				t.Errorf("%v puts %v right in %g of the machines, want %g", r, parts[i], got, want)
			}
		}
		least := math.Inf(1)
		var walk func(left []int, spent, all float64)
		walk = func(left []int, spent, all float64) {
			if len(left) == 0 {
				least = min(least, all)
			}
			for k, i := range left {
				rest := append(append([]int{}, left[:k]...), left[k+1:]...)
				walk(rest, spent+cost[i], all+float64(count[i])*(spent+cost[i]))
			}
		}
		walk([]int{0, 1, 2, 3, 4}, 0, 0)
		const second = 1.0 // that a repair without effort counts, each machine
		if len(list) == 0 {
			continue
		}
		if got, _, leave := d.onward(list, onWay{}); leave || !(got >= least-1e-6 && got <= least+second*float64(len(list)*len(by))) {
			t.Errorf("effort %g s, at best %g s; left: %v", got, least, leave)
		}
	}
}

// TestSharePoints: the points of the prior of one share are spread as an exponential
// that is cut off, whatever of it is cut.
func TestSharePoints(t *testing.T) {
	for _, most := range []float64{0.1, 0.3, 0.9} { // of a scale of 0.2: 39 %, 78 % and 99 % of it
		p := Priors{ShareScale: 0.2, ShareMost: most}
		const n = 2000
		below := func(x float64) float64 { return math.Expm1(-x/p.ShareScale) / math.Expm1(-most/p.ShareScale) }
		points := p.sharePoints(1, n)
		for _, x := range []float64{0.1 * most, 0.3 * most, 0.5 * most, 0.8 * most} {
			under := 0
			for _, at := range points {
				if at[0] < x {
					under++
				}
			}
			if got := float64(under) / n; !near(got, below(x), 0.01) {
				t.Errorf("most %g: %.4f below %g, want %.4f", most, got, x, below(x))
			}
		}
	}
}

// TestKeysOfParts: every part has a key of its own, and what is none has none.
func TestKeysOfParts(t *testing.T) {
	seen := map[string]Part{}
	for p := range numParts {
		other, twice := seen[p.Key()]
		if p.Key() == "" || twice {
			t.Errorf("part %d has the key %q, as has %d", p, p.Key(), other)
		}
		seen[p.Key()] = p
	}
	if Part(-1).Key() != "" || numParts.Key() != "" {
		t.Error("what is no part has a key")
	}
}

// TestVainRepairTellsNothing: a repair of a part that is worth it in no state costs its
// effort and leaves all as it was, also where the machine is right already.
func TestVainRepairTellsNothing(t *testing.T) {
	p := judged(t)
	d := &decision{p: &p, c: &Case{}}
	right := drawnState{right: [1 << mostFaults]bool{true, true}}
	worn := drawnState{set: setOf(PartSeal), list: []Part{PartSeal}, worth: setOf(PartSeal)}
	worn.right[1] = true // once the seal is new
	for r := range repairs {
		right.cured[r], worn.cured[r] = right.mask(cures[r]), worn.mask(cures[r])
	}
	var all []int
	for i := range 10 {
		s := worn
		if i >= 4 {
			s = right
		}
		d.states, all = append(d.states, s), append(all, i)
	}
	for r := range repairs {
		if r == RepairSeal {
			continue
		}
		rest, _ := d.ahead(all, onWay{fixed: cures[r]})
		if s := d.repair(all, r, onWay{}); !near(s.Expected, s.Effort+rest/float64(len(all)), 1e-12) || s.Effort <= 0 || rest <= 0 || s.Sure != 0 {
			t.Errorf("%v: expected %g, want %g and %g", r, s.Expected, s.Effort, rest/float64(len(all)))
		}
	}
	// of the seal itself the shot shows whether it was the fault: the others stay as they are
	if s := d.repair(all, RepairSeal, onWay{}); !near(s.Expected, s.Effort, 1e-12) || !near(s.Sure, 0.4, 1e-12) {
		t.Errorf("%v: expected %g, want %g; sure %g", RepairSeal, s.Expected, s.Effort, s.Sure)
	}
}

// TestOneReadingIsNotTheOdd: a reading that goes with nothing is the odd one only where
// there is another.
func TestOneReadingIsNotTheOdd(t *testing.T) {
	far := Observe(Peak, 16*bar, 0.1*bar)
	s := infer(t, &Case{Machine: cafeMachine(), Priors: judged(t), Readings: []Observation{far}})
	if !s.Withheld || s.Worst != nil {
		t.Errorf("alone: withheld %t, odd %+v", s.Withheld, s.Worst)
	}
	s = infer(t, &Case{Machine: cafeMachine(), Priors: judged(t), Readings: []Observation{Observe(FreeLength, 170*mm, 10*mm), far}})
	if !s.Withheld || s.Worst == nil || s.Worst.Kind != Peak {
		t.Errorf("beside another: withheld %t, odd %+v", s.Withheld, s.Worst)
	}
}

// TestOddByHand: of a gauge that was checked, nothing being at fault, how odd the reading
// is follows from one normal; of several readings it hangs on neither their order nor
// their units.
func TestOddByHand(t *testing.T) {
	p := judged(t)
	odd := func(p *Priors, readings ...Observation) []float64 {
		f := forwardOf(t, cafeMachine(), p)
		rows, y, own := rowsOf(readings, -1)
		q := newInquiry(f, p, 0, rows, y, own)
		hyps, _ := q.weigh()
		b := newBelief(q, hyps)
		b.weights()
		return b.odd
	}
	sound := p
	sound.Fault = [numParts]float64{}
	f := forwardOf(t, cafeMachine(), &sound)
	const u = 0.02
	sd := math.Sqrt(u*u + p.Sound.Gain*p.Sound.Gain + math.Pow(p.Sound.Zero/f.peak, 2))
	for _, y := range []float64{1, 1.02, 0.95, 0.9} {
		want := math.Erfc(math.Abs(y-1) / sd / math.Sqrt2)
		if got := odd(&sound, Observe(Gauge, y, u)); len(got) != 1 || math.Abs(got[0]-want) > 1e-6 {
			t.Errorf("reads %g: odd to %v, by hand %g", y, got, want)
		}
	}
	readings := []Observation{Observe(Peak, 7.6*bar, 0.1*bar), Observe(Yield, 40*gram, 0.3*gram), Observe(FreeLength, 150*mm, 1*mm)}
	first := odd(&p, readings...)
	for _, order := range [][]int{{0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
		var other []Observation
		for _, i := range order {
			other = append(other, readings[i])
		}
		for j, got := range odd(&p, other...) {
			if want := first[order[j]]; !near(got, want, idle) || want <= 0 || want >= 1 {
				t.Errorf("in order %v: %v is odd to %g, first %g", order, readings[order[j]].Kinds[0], got, want)
			}
		}
	}
}
