package diagnose

import (
	"errors"
	"flag"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"springcalc/profile"
	"springcalc/spring"
)

// The property tests draw the same in every run; DEVELOPERS.md says how to draw anew.
func init() { _ = flag.Set("rapid.seed", "1") }

func got(k Kind, value, u float64) Measured {
	return Measured{Kind: k, Measured: spring.Measured{Value: value, U: u}}
}

func rank(t testing.TB, m *Machine, p Prior, data ...Measured) *Ranking {
	t.Helper()
	r, err := Rank(m, data, p)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestSizesByHand: what each cause does to the peak, by hand.
func TestSizesByHand(t *testing.T) {
	m := cafeMachine()
	s := &m.Setup
	k, f0 := s.Springs[0].Rate, s.Springs[0].Force(s.Cylinder.Stroke)
	effect := s.Cylinder.Area() + s.Cylinder.Seal.PerPa
	at := func(f float64) float64 { return s.Cylinder.Pressure(f + s.Cylinder.Weight) }
	port := k * s.Cylinder.Port
	n, p := m.Spring.Active, m.Spring.Pitch()
	x := m.cockedDeflection()
	broken := k * n / (n - 1) * (x - p - s.Cylinder.Port)
	for _, c := range []struct {
		cause Cause
		size  float64
		want  float64
	}{
		{Set, 5 * mm, at(f0 - port - k*5*mm)},
		{ThinWire, 0.05, at((f0 - port) * math.Pow(0.95, 4))},
		{WrongCoils, 1, at(broken)},
		{WrongCoils, -2, at((f0 - port) * n / (n + 2))},
		{SealDrag, 100, at(f0-port) - 100/effect},
		{ShortCock, 0.5 * mm, at(f0 - port)}, // no travel is lost before the port
		{ShortCock, 3 * mm, at(f0 - k*3*mm)},
		{DryPuck, 10 * mL, at(f0 - port - k*10*mL/s.Cylinder.Area())},
		{GaugeLow, 0.1, 0.9 * at(f0-port)},
	} {
		see, err := m.predict(c.cause, c.size)
		if err != nil {
			t.Fatal(err)
		}
		if got := see.value[Peak]; math.Abs(got/c.want-1) > 0.06 || got > c.want*1.0001 { // the gauge lags by some per cent
			t.Errorf("%v %g: peak is %.4g, want %.4g less the lag", c.cause, c.size, got, c.want)
		}
		m.GaugeLag = 1e-9
		see, _ = m.predict(c.cause, c.size)
		if got := see.value[Peak]; !near(got, c.want, 1e-6) {
			t.Errorf("%v %g, no lag: peak is %.8g, want %.8g", c.cause, c.size, got, c.want)
		}
		m.GaugeLag = 0
	}
}

// TestSignatures: each cause changes what the trade says that it changes, and
// leaves the rest.
func TestSignatures(t *testing.T) {
	m := cafeMachine()
	g, err := newGrid(m)
	if err != nil {
		t.Fatal(err)
	}
	less, same, more := -1, 0, 1
	for _, c := range []struct {
		cause Cause
		size  float64
		want  map[Kind]int
	}{
		{Set, 8 * mm, map[Kind]int{Peak: less, EndPress: less, LogRate: same, FreeLength: less, Drag: same, BenchRate: same, Coils: same, WireSize: same, LongFill: less, Travel: same}},
		{ThinWire, 0.05, map[Kind]int{Peak: less, EndPress: less, LogRate: less, FreeLength: same, WireSize: less, BenchRate: less, Coils: same}},
		{WrongCoils, 1, map[Kind]int{Peak: less, LogRate: more, FreeLength: less, BenchRate: more, Coils: less}},
		{WrongCoils, -2, map[Kind]int{Peak: less, LogRate: less, FreeLength: same, BenchRate: less, Coils: more}},
		{SealDrag, 200, map[Kind]int{Peak: less, EndPress: less, LogRate: same, FreeLength: same, Drag: more}},
		{AirInFill, 25 * mL, map[Kind]int{Peak: less, EndPress: same, LogRate: less, LogBow: more, Yield: less, LongFill: same, Headspace: same}},
		{ShortCock, 8 * mm, map[Kind]int{Peak: less, EndPress: same, LogRate: same, Yield: less, Travel: less, LongFill: less}},
		{DryPuck, 20 * mL, map[Kind]int{Peak: less, EndPress: same, LogRate: same, Yield: less, LongFill: same, Headspace: more, Travel: same}},
		{GaugeLow, 0.2, map[Kind]int{Peak: less, EndPress: less, LogRate: less, Gauge: less, BenchRate: same, FreeLength: same, Drag: same}},
		{OpenPuck, 0.95, map[Kind]int{Peak: less, LogRate: same, ShotTime: less, EndPress: same}},
	} {
		see, err := m.predict(c.cause, c.size)
		if err != nil {
			t.Fatal(err)
		}
		if !see.known[LongFill] {
			see.set(LongFill, g.fresh.value[LongFill])
		}
		for k, want := range c.want {
			a, b := see.value[k], g.fresh.value[k]
			sign := 0
			if math.Abs(a-b) > 1e-9*math.Abs(b)+1e-12 {
				sign = int(math.Copysign(1, a-b))
			}
			if sign != want {
				t.Errorf("%v: %v goes from %.6g to %.6g, want %+d", c.cause, k, b, a, want)
			}
		}
	}
}

// TestAgainstLogs: what Rank expects of a log is what ReadLine, which knows
// nothing of the cause, reads off the log of a machine that has it.
func TestAgainstLogs(t *testing.T) {
	for _, c := range []struct {
		cause Cause
		size  float64
		apply func(*profile.Setup)
	}{
		{Set, 6 * mm, func(s *profile.Setup) { s.Springs[0].Preload -= 6 * mm * s.Springs[0].Rate }},
		{SealDrag, 250, func(s *profile.Setup) { s.Cylinder.Seal.Constant += 250 }},
		{ShortCock, 6 * mm, func(s *profile.Setup) { s.Cylinder.Stroke -= 6 * mm; s.Cylinder.Port = 0 }},
		{AirInFill, 25 * mL, func(s *profile.Setup) { s.Chamber.Air += 25 * mL }},
		{OpenPuck, 0.8, func(s *profile.Setup) { s.Coffee.Resistance *= 0.2 }},
	} {
		m := cafeMachine()
		m.GaugeLag = 1e-9
		see, err := m.predict(c.cause, c.size)
		if err != nil {
			t.Fatal(err)
		}
		faulty := cafe()
		c.apply(faulty)
		l := logOf(t, faulty, noise{every: 0.02}, rand.New(rand.NewPCG(1, 1))).without(false, true)
		line := read(t, l, cafe())
		for _, v := range []struct {
			what      string
			got, want float64
			tol       float64
		}{
			{"rate", line.Rate.Value, see.value[LogRate], 0.02},
			{"end pressure", line.End.Value, see.value[EndPress], 0.01},
			{"yield", line.Yield, see.value[Yield], 0.01},
			{"shot time", line.Duration, see.value[ShotTime], 0.03},
			{"peak", line.Peak.Value, see.value[Peak], 0.03},
		} {
			if !near(v.got, v.want, v.tol) {
				t.Errorf("%v: %s is %.5g off the log, %.5g expected", c.cause, v.what, v.got, v.want)
			}
		}
	}
}

// TestPeakAlone: a low peak alone does not tell the causes apart: what comes
// out is the prior, if every cause can make the drop.
func TestPeakAlone(t *testing.T) {
	r := rank(t, cafeMachine(), UsualPrior(), got(Peak, 7*bar, 0.2*bar))
	sum := 0.0
	for _, c := range r.Causes {
		sum += c.Likelihood
		if c.Likelihood < 0.6*c.Prior || c.Likelihood > 1.8*c.Prior {
			t.Errorf("%v: %.3f from a prior of %.3f", c.Cause, c.Likelihood, c.Prior)
		}
		if len(c.For)+len(c.Against) != 0 {
			t.Errorf("%v: a peak alone speaks for %v, against %v", c.Cause, c.For, c.Against)
		}
	}
	if !near(sum, 1, 1e-12) {
		t.Errorf("likelihoods add up to %.15g", sum)
	}
	if want := 1 - 7*bar/9.0e5; math.Abs(r.Drop-want) > 0.06 || !(r.DropU > 0) {
		t.Errorf("drop is %.3f ± %.3f", r.Drop, r.DropU)
	}
	if !strings.Contains(strings.Join(r.Doubts, "\n"), "hardly separate") {
		t.Errorf("doubts are %q", r.Doubts)
	}
}

// TestRankLaws: the order of the measurements does not matter; priors count by
// ratio only, and scale the odds; likelihoods add up to 1.
func TestRankLaws(t *testing.T) {
	m := cafeMachine()
	g, err := newGrid(m)
	if err != nil {
		t.Fatal(err)
	}
	use := func(t *rapid.T, p Prior, data []Measured) *Ranking {
		r, err := g.clone().rank(m, data, p)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	rapid.Check(t, func(t *rapid.T) {
		data := []Measured{
			got(Peak, rapid.Float64Range(4, 9).Draw(t, "peak")*bar, 0.2*bar),
			got(FreeLength, rapid.Float64Range(130, 150).Draw(t, "length")*mm, 0.5*mm),
			got(Drag, rapid.Float64Range(0, 300).Draw(t, "drag"), 10),
			got(Travel, rapid.Float64Range(15, 25).Draw(t, "travel")*mm, 0.5*mm),
		}
		r := use(t, UsualPrior(), data)
		sum := 0.0
		for _, c := range r.Causes {
			sum += c.Likelihood
		}
		if !near(sum, 1, 1e-12) || !slices.IsSortedFunc(r.Causes, func(a, b Ranked) int { return int(math.Copysign(1, b.Likelihood-a.Likelihood)) }) {
			t.Fatalf("likelihoods add up to %g, in order %v", sum, r.Causes)
		}
		for i, c := range r.Next {
			if c.Bits < 0 || c.Bits > math.Log2(float64(causes)) || i > 0 && c.Bits > r.Next[i-1].Bits {
				t.Fatalf("%v gives %g bit, after %g", c.Kind, c.Bits, r.Next[max(0, i-1)].Bits)
			}
		}
		back := slices.Clone(data)
		slices.Reverse(back)
		p := UsualPrior()
		for i := range p {
			p[i] *= 7
		}
		if d := cmp.Diff(r.likelihoods(), use(t, p, back).likelihoods(), cmpopts.EquateApprox(1e-9, 1e-12)); d != "" {
			t.Fatal(d)
		}
		p = UsualPrior()
		p[SealDrag] *= 3
		before, after := r.likelihoods(), use(t, p, data).likelihoods()
		if a, b := after[SealDrag]*before[Set], 3*before[SealDrag]*after[Set]; math.Abs(a-b) > 1e-9*(a+b) {
			t.Fatalf("three times the prior: odds of seal to set from %g/%g to %g/%g", before[SealDrag], before[Set], after[SealDrag], after[Set])
		}
	})
}

// TestEvidence: a short free length speaks for set and against the seal, with
// its figures; the raising force the other way round.
func TestEvidence(t *testing.T) {
	m := cafeMachine()
	r := rank(t, m, UsualPrior(), got(Peak, 7*bar, 0.2*bar), got(FreeLength, 140*mm, 0.3*mm), got(Drag, 42, 5))
	top := r.Causes[0]
	if top.Cause != Set || top.Likelihood < 0.95 || math.Abs(top.Size-10*mm) > 1.5*mm || !(top.SizeU > 0 && top.SizeU < 2*mm) {
		t.Errorf("%v %.3f of size %.4g ± %.4g, want set of 10 mm", top.Cause, top.Likelihood, top.Size, top.SizeU)
	}
	if len(top.For) == 0 || top.For[0].Measured.Kind != FreeLength || math.Abs(top.For[0].Z) > 2 || math.Abs(top.For[0].Expected-140*mm) > 1.5*mm {
		t.Errorf("for set: %+v", top.For)
	}
	for _, c := range r.Causes {
		if c.Cause == SealDrag {
			// So little drag leaves the peak unexplained.
			if len(c.Against) < 2 || c.Against[0].Measured.Kind != FreeLength || c.Against[1].Measured.Kind != Peak || c.Against[1].Z > -2 {
				t.Errorf("against the seal: %+v", c.Against)
			}
		}
	}
}

// TestSetOrShortCock: with a peak, a free length that fits neither, and no
// travel, the two are not told apart, and the ranking says so.
func TestSetOrShortCock(t *testing.T) {
	p := Prior{Set: 1, ShortCock: 1}
	r := rank(t, cafeMachine(), p, got(Peak, 7.2*bar, 0.2*bar))
	if a, b := r.Causes[0].Likelihood, r.Causes[1].Likelihood; a-b > 0.3 {
		t.Errorf("%v %.2f, %v %.2f", r.Causes[0].Cause, a, r.Causes[1].Cause, b)
	}
	if !strings.Contains(r.Doubts[0], "hardly separate") {
		t.Errorf("doubts: %q", r.Doubts)
	}
	// The travel, the yield, the end pressure or the free length tell.
	if best := r.Next[0]; best.Bits < 0.9 {
		t.Errorf("%v tells %.2f bit of the 1 there is", best.Kind, best.Bits)
	}
}

// TestInformation: no overlap tells all, full overlap nothing, and two normal
// densities two deviations apart 0.486 bit (their Jensen-Shannon divergence by
// a Monte Carlo of this test's own).
func TestInformation(t *testing.T) {
	p := [causes]float64{Set: 0.5, SealDrag: 0.5}
	two := func(d float64) []component {
		return []component{{Set, 0.5, 0, 1}, {SealDrag, 0.5, d, 1}}
	}
	if got := information(two(0), &p); got > 1e-12 {
		t.Errorf("same: %g bit", got)
	}
	if got := information(two(50), &p); !near(got, 1, 1e-6) {
		t.Errorf("apart: %g bit", got)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	sum := 0.0
	const n = 400_000
	for range n {
		y := rng.NormFloat64()
		a, b := math.Exp(-y*y/2), math.Exp(-(y-2)*(y-2)/2)
		sum += math.Log2(2 * a / (a + b))
	}
	if got := information(two(2), &p); math.Abs(got-sum/n) > 0.004 {
		t.Errorf("two deviations apart: %.4f bit, Monte Carlo %.4f", got, sum/n)
	}
}

// TestCandidate: the measurement that is named would be what it says: the
// expected value under each cause is what the machine with it shows.
func TestCandidate(t *testing.T) {
	m := cafeMachine()
	r := rank(t, m, UsualPrior(), got(Peak, 7*bar, 0.1*bar), got(EndPress, 2.9*bar, 0.1*bar), got(LogRate, 32e3, 300))
	for _, c := range r.Next {
		if c.Kind == FreeLength {
			if c.Expect[0].Cause != Set || !near(c.Expect[0].Value, m.Spring.Free-r.Causes[0].Size, 1e-4) || c.Expect[0].U < r.Causes[0].SizeU || c.Expect[0].U > 3*mm || !(c.U > 0) {
				t.Errorf("free length: %+v", c)
			}
		}
		if c.Kind == BenchLoad && !near(c.At, m.Spring.Free-m.cockedDeflection(), 1e-12) {
			t.Errorf("bench load at %g m", c.At)
		}
		if c.Kind == Peak || c.Kind == EndPress || c.Kind == LogRate {
			t.Errorf("%v was measured", c.Kind)
		}
	}
	if next := r.Next[0].Kind; next != FreeLength && next != BenchLoad && next != Drag {
		t.Errorf("set against seal: next is %v", next)
	}
}

// TestLag: a quick gauge shows all, a slow one little; the formula is the
// greatest value of the lagging response, sought on a fine grid.
func TestLag(t *testing.T) {
	for _, r := range []float64{0.01, 0.3, 0.999, 1, 1.001, 4} {
		best := 0.0
		for i := range 40000 {
			x := float64(i) / 1000
			y := (math.Exp(-x*r) - math.Exp(-x)) / (1 - r) // time in units of the gauge's constant
			if math.Abs(1-r) < 1e-9 {
				y = x * math.Exp(-x)
			}
			best = max(best, y)
		}
		if got := lag(r, 1); !near(got, best, 1e-5) {
			t.Errorf("ratio %g: %.6f, want %.6f", r, got, best)
		}
	}
	if lag(0.5, 0) != 1 || lag(0, 10) != 1 {
		t.Error("pressure that does not fall, or a quick gauge, is shown in full")
	}
}

// TestFresh: with the peak of the fresh machine given, drops count from it.
func TestFresh(t *testing.T) {
	m := cafeMachine()
	m.Fresh = 10 * bar
	r := rank(t, m, UsualPrior(), got(Peak, 8*bar, 0.2*bar))
	if !near(r.Drop, 0.2, 1e-9) {
		t.Errorf("drop is %.4f, want 0.2", r.Drop)
	}
}

// TestUnknownSpring: without dimensions the causes are still ranked, and what
// cannot be compared is refused.
func TestUnknownSpring(t *testing.T) {
	m := cafeMachine()
	m.Spring = nil
	r := rank(t, m, UsualPrior(), got(Peak, 7*bar, 0.2*bar), got(Drag, 300, 10))
	if r.Causes[0].Cause != SealDrag {
		t.Errorf("first is %v", r.Causes[0].Cause)
	}
	for _, c := range r.Next {
		if c.Kind == FreeLength || c.Kind == Coils || c.Kind == WireSize || c.Kind == BenchLoad {
			t.Errorf("%v cannot be compared", c.Kind)
		}
	}
	if _, err := Rank(m, []Measured{got(FreeLength, 0.1, 1e-3)}, UsualPrior()); !errors.Is(err, ErrInput) || !strings.Contains(err.Error(), "free length") {
		t.Errorf("free length: %v", err)
	}
}

func TestBadRank(t *testing.T) {
	m := cafeMachine()
	bad := *m
	bad.Fresh, bad.GaugeLag = -1, missing
	bad.Spread[Peak].Share = missing
	soft := *m
	soft.Setup.Springs = []spring.Linear{{Rate: 0, Preload: 500}}
	for _, c := range []struct {
		what string
		m    *Machine
		data []Measured
		p    Prior
		says []string
	}{
		{"machine", &bad, nil, UsualPrior(), []string{"Machine.Fresh is -1 Pa", "Machine.GaugeLag is NaN s", "spread of the peak pressure"}},
		{"weight for a spring", &soft, nil, UsualPrior(), []string{"rate of spring 1 is 0"}},
		{"data", m, []Measured{got(Peak, missing, 1), got(Drag, 5, 0), {Kind: 99}, got(BenchLoad, 5, 1)}, UsualPrior(), []string{"peak pressure is NaN", "uncertainty of the difference of raising and lowering force is 0", "unknown measurement 99", "length of the load"}},
		{"prior", m, nil, Prior{Set: missing, SealDrag: -1}, []string{"prior of set of the spring is NaN", "prior of seal drag is -1"}},
		{"no prior", m, nil, Prior{}, []string{"add up to 0"}},
	} {
		_, err := Rank(c.m, c.data, c.p)
		if !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		for _, s := range c.says {
			if !strings.Contains(err.Error(), s) {
				t.Errorf("%s: %v; want %q", c.what, err, s)
			}
		}
	}
	if Kind(-1).String() != "unknown measurement" || Cause(99).String() != "unknown cause" || Set.String() != "set of the spring" || Drag.String() != "difference of raising and lowering force" {
		t.Error("names")
	}
}

// TestSizeByOneMeasurement: with every drop as likely beforehand, a check of the
// gauge alone tells how low it reads, as unsure as the check and the machine are.
func TestSizeByOneMeasurement(t *testing.T) {
	r := rank(t, cafeMachine(), UsualPrior(), got(Gauge, 0.7, 0.03))
	for _, c := range r.Causes {
		if u := math.Hypot(0.03, UsualSpread()[Gauge].Fixed); c.Cause == GaugeLow && (!near(c.Size, 0.3, 0.005) || !near(c.SizeU, u, 0.02)) {
			t.Errorf("low by %.4f ± %.4f, want 0.3 ± %.4f", c.Size, c.SizeU, u)
		}
	}
}
