package diagnose

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"springcalc/profile"
	"springcalc/spring"
)

// TestNoiseInBoth: noise in the abscissa flattens an ordinary least-squares line
// by 1/(1 + u²/var x); with time as the instrument it does not.
func TestNoiseInBoth(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	const n = 200_000
	clock, x, y := make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range x {
		clock[i] = float64(i) / n
		truth := math.Sqrt(clock[i])
		x[i] = truth + 0.1*rng.NormFloat64()
		y[i] = 3 - 2*truth + 0.1*rng.NormFloat64()
	}
	const variance = 1.0/2 - 4.0/9 // of √t
	if plain := fitStraight(x, x, y).slope; !near(plain, -2/(1+0.01/variance), 0.01) {
		t.Errorf("plain slope is %.4f, want it flattened to %.4f", plain, -2/(1+0.01/variance))
	}
	if s := fitStraight(clock, x, y); !near(s.slope, -2, 0.005) || !near(s.intercept, 3, 0.005) {
		t.Errorf("with an instrument %.4f + %.4f x, want 3 - 2 x", s.intercept, s.slope)
	}
}

// TestWild: one row in eight that is nonsense does not move the line by more
// than its interval, and is counted.
func TestWild(t *testing.T) {
	s := cafe()
	rng := rand.New(rand.NewPCG(4, 2))
	l := logOf(t, s, usual, rng).without(false, true)
	for i := range l {
		switch i % 16 {
		case 3:
			l[i].Pressure = 15 * bar * rng.Float64()
		case 11:
			l[i].Cup += 0.05
		}
	}
	line := read(t, l, s)
	if k := s.Springs[0].Rate; !(line.Rate.Low < k && k < line.Rate.High) || line.Rate.U() > 0.02*k {
		t.Errorf("rate is %.5g (%.5g to %.5g), want %.5g", line.Rate.Value, line.Rate.Low, line.Rate.High, k)
	}
	if share := float64(line.Wild) / float64(line.Wild+line.Used); share < 0.08 || share > 0.14 {
		t.Errorf("%.1f %% are wild, want about 12 %%", 100*share)
	}
	if !strings.Contains(strings.Join(line.Doubts, "\n"), "lie wild") {
		t.Errorf("no doubt about wild rows in %q", line.Doubts)
	}
}

// TestIntervalOfMoments holds the bootstrap to the formula for independent
// noise, which shares no code with it. Over many logs the two agree but for the
// expansion for 31 groups, 1.08.
func TestIntervalOfMoments(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	const logs = 60
	ratio := 0.0
	for range logs {
		var s series
		for i := range 900 {
			at := float64(i) / 10
			s.add(at, 0.02*(1-math.Exp(-at/40))+1e-5*rng.NormFloat64(), 0)
			s.p[i] = 8*bar - 2e7*s.x[i] + 0.1*bar*rng.NormFloat64()
		}
		fit := fitStraight(s.t, s.x, s.p)
		l := robust{intercept: fit.intercept, slope: fit.slope, kept: s}
		var slopes []float64
		l.resample(rng, 1000, func(_, b float64) { slopes = append(slopes, b) })
		e := interval(fit.slope, slopes)
		ratio += e.U() / fit.slopeError / logs
	}
	if ratio < 1.08*0.95 || ratio > 1.08*1.05 {
		t.Errorf("u of the slope is %.3f of the formula's, want 1.08", ratio)
	}
}

// TestUnsure: what is not known of the machine widens the intervals by what the
// formulas say.
func TestUnsure(t *testing.T) {
	s := cafe()
	l := logOf(t, s, clean, rand.New(rand.NewPCG(1, 1))).without(false, true)
	k, area, c := s.Springs[0].Rate, s.Cylinder.Area(), s.Cylinder.Seal.PerPa
	force := s.Springs[0].Force(s.Cylinder.Stroke)
	for _, v := range []struct {
		what                 string
		unsure               Unsure
		rate, cocked, stroke float64 // standard uncertainties expected [N/m], [N], of the rest force [N]
	}{
		{"friction", Unsure{Friction: 7}, 0, 7, 7},
		{"gauge", Unsure{Gauge: 0.02}, 0.02 * k, 0.02 * (force + s.Cylinder.Weight - s.Cylinder.Seal.Constant), 0.02 * (s.Springs[0].Preload + s.Cylinder.Weight - s.Cylinder.Seal.Constant)},
		{"uptake", Unsure{Uptake: 1 * mL}, 0, k * 1 * mL / area, k * 1 * mL / area},
		{"bore", Unsure{Bore: 0.1 * mm}, k * (2*area + c) / (area + c) * 2 * 0.1 / 50, math.NaN(), math.NaN()},
		{"drag", Unsure{PerPa: 2 / bar}, k * (2 / bar) / (area + c), line0(s) * 2 / bar, math.NaN()},
	} {
		line, err := ReadLine(l, s, Options{Seed: 3, Replicates: 20000, Unsure: v.unsure})
		if err != nil {
			t.Fatal(err)
		}
		for what, u := range map[string][2]float64{"rate": {line.Rate.U(), v.rate}, "cocked": {line.Cocked.U(), v.cocked}, "rest": {line.Rest.U(), v.stroke}} {
			if !math.IsNaN(u[1]) && math.Abs(u[0]-u[1]) > 0.03*u[1]+5 {
				t.Errorf("%s: u of the %s force or rate is %.5g, want %.5g", v.what, what, u[0], u[1])
			}
		}
	}
}

// line0 is the pressure at no travel.
func line0(s *profile.Setup) float64 {
	return s.Cylinder.Pressure(s.Springs[0].Force(s.Cylinder.Stroke) + s.Cylinder.Weight)
}

// TestMemory: noise whose neighbours go along by a half makes a mean √3 times
// as unsure as independent noise, which is not touched.
func TestMemory(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for phi, want := range map[float64]float64{0: 1, 0.5: math.Sqrt(3)} {
		var l robust
		e := 0.0
		for i := range 40_000 {
			e = phi*e + math.Sqrt(1-phi*phi)*rng.NormFloat64()
			l.kept.add(float64(i), float64(i), e)
		}
		if got := l.memory(); !near(got, want, 0.03) {
			t.Errorf("correlation %g: %.3f, want %.3f", phi, got, want)
		}
	}
}

// TestWear: cycles, life and Miner's share by hand.
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
		m.Setup.Chamber.Headspace = 30 * mL // so that the water lasts with air in the chamber
		see, err := m.predict(c.cause, c.size)
		if err != nil {
			t.Fatal(err)
		}
		faulty := cafe()
		faulty.Chamber.Headspace = 30 * mL
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
			if c.cause == AirInFill && v.what == "yield" {
				continue // the log ends with the stroke; what the air pushes on after it comes on top
			}
			if !near(v.got, v.want, v.tol) {
				t.Errorf("%v: %s is %.5g off the log, %.5g expected", c.cause, v.what, v.got, v.want)
			}
		}
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

// telling is the measurement that tells each cause.
// Air and an empty headspace differ in two: a long fill puts both right, the
// headspace is deep in one.
var telling = map[Cause][]Kind{
	Set: {FreeLength}, ThinWire: {WireSize}, WrongCoils: {Coils}, SealDrag: {Drag}, AirInFill: {LongFill, Headspace},
	ShortCock: {Travel}, DryPuck: {Headspace}, GaugeLow: {Gauge}, OpenPuck: {ShotTime},
}

// measure makes measurements of a machine with a cause that takes 20 % of the
// peak, with the noise of usual tools and of the machine as new.
func measure(t *testing.T, m *Machine, g *grid, c Cause, want []Kind, rng *rand.Rand) []Measured {
	t.Helper()
	best := g.states[c][0]
	for _, s := range g.states[c] {
		if math.Abs(s.drop-0.2) < math.Abs(best.drop-0.2) {
			best = s
		}
	}
	if math.Abs(best.drop-0.2) > 0.02 {
		t.Fatalf("%v: no size takes 20 %% of the peak, nearest takes %.0f %%", c, 100*best.drop)
	}
	var data []Measured
	for _, k := range want {
		d := Measured{Kind: k}
		d.U = instrument[k]
		u := g.u(m, &d)
		v, _ := best.see.of(&d)
		d.Value = v + u*rng.NormFloat64()
		if k != LogBow {
			d.Value = max(0, d.Value)
		}
		data = append(data, d)
	}
	return data
}

// TestConfusion injects every cause many times, prints what is ranked first,
// and holds the ranking to its promise: first with the telling measurement,
// among the first three without it.
func TestConfusion(t *testing.T) {
	log := []Kind{Peak, EndPress, LogRate, LogBow, Yield, ShotTime}
	bench := []Kind{LongFill, FreeLength, WireSize, Coils, Drag, Gauge, Travel, Headspace}
	both := append(slices.Clone(log), bench...)
	m := cafeMachine()
	g, err := newGrid(m)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what   string
		kinds  func(Cause) []Kind
		lowest int // rank that the true cause may have
	}{
		{"log only", func(Cause) []Kind { return log }, 3},
		{"log and the telling measurement", func(c Cause) []Kind { return append(without(log, telling[c]), telling[c]...) }, 1},
		{"log and bench", func(Cause) []Kind { return both }, 1},
		{"log and bench, less the telling measurement", func(c Cause) []Kind { return without(both, telling[c]) }, 3},
	} {
		rng := rand.New(rand.NewPCG(3, 4))
		var b strings.Builder
		fmt.Fprintf(&b, "%s\n%-28s", c.what, "ranked first:")
		for _, cause := range Causes() {
			fmt.Fprintf(&b, "%7.6s", strings.ReplaceAll(cause.String(), " ", ""))
		}
		for _, truth := range Causes() {
			var first [causes]int
			worst := 0
			for range 5 {
				r, err := g.clone().rank(m, measure(t, m, g, truth, c.kinds(truth), rng), UsualPrior())
				if err != nil {
					t.Fatal(err)
				}
				first[r.Causes[0].Cause]++
				worst = max(worst, 1+slices.IndexFunc(r.Causes, func(k Ranked) bool { return k.Cause == truth }))
			}
			fmt.Fprintf(&b, "\n%-28s", truth)
			for _, k := range first {
				fmt.Fprintf(&b, "%7d", k)
			}
			fmt.Fprintf(&b, "   worst rank %d", worst)
			if worst > c.lowest {
				t.Errorf("%s: %v is ranked %d, want %d or better", c.what, truth, worst, c.lowest)
			}
		}
		t.Log(b.String())
	}
}

func (g *grid) clone() *grid {
	c := *g
	for i, s := range g.states {
		c.states[i] = slices.Clone(s)
	}
	return &c
}

func without(list, drop []Kind) []Kind {
	return slices.DeleteFunc(slices.Clone(list), func(k Kind) bool { return slices.Contains(drop, k) })
}

// TestCoverage reads logs of 500 random machines whose truth is known: the
// 95 % intervals must hold it 92 to 98 % of the time.
func TestCoverage(t *testing.T) {
	correlated := usual
	correlated.memory = 0.5
	for _, c := range []struct {
		what        string
		noise       noise
		cup, travel bool // taken away
		unsure      bool // the sheet and the gauge are not quite right
		low         float64
	}{
		{"cup", usual, false, true, false, 0.92},
		{"travel", usual, true, false, false, 0.92},
		{"cup, sheet not quite right", usual, false, true, true, 0.92},
		{"cup, correlated noise", correlated, false, true, false, 0.90},
	} {
		t.Run(c.what, func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(11, 7))
			const machines = 500
			var rate, cocked, rest, width, rows, offK, offF, failed float64
			for i := range machines {
				s := someMachine(rng)
				l := logOf(t, s, c.noise, rng).without(c.cup, c.travel)
				sheet, o := s, Options{Seed: uint64(i), Replicates: 400}
				if c.unsure {
					sheet, o.Unsure = unsure(s, rng)
					scale := 1 + o.Unsure.Gauge*rng.NormFloat64()
					for j := range l {
						l[j].Pressure *= scale
					}
				}
				line, err := ReadLine(l, sheet, o)
				if err != nil {
					failed++
					t.Logf("machine %d: %v", i, err)
					continue
				}
				sp := s.Springs[0]
				hit := func(n *float64, e Estimate, truth float64) {
					if e.Low <= truth && truth <= e.High {
						*n++
					}
				}
				hit(&rate, line.Rate.Estimate, sp.Rate)
				hit(&cocked, line.Cocked.Estimate, sp.Force(s.Cylinder.Stroke))
				hit(&rest, line.Rest.Estimate, sp.Preload)
				width += line.Rate.U() / sp.Rate
				offK += line.Rate.Value/sp.Rate - 1
				offF += line.Cocked.Value/sp.Force(s.Cylinder.Stroke) - 1
				rows += float64(len(l))
			}
			n := machines - failed
			t.Logf("covered: rate %.1f %%, cocked %.1f %%, rest %.1f %% of %.0f; u(rate) %.2f %%, mean error of rate %.3f %%, of force %.3f %%; %.0f rows",
				100*rate/n, 100*cocked/n, 100*rest/n, n, 100*width/n, 100*offK/n, 100*offF/n, rows/n)
			for _, got := range []float64{rate / n, cocked / n, rest / n} {
				if got < c.low || got > 0.98 {
					t.Errorf("coverage %.3f, want %.2f to 0.98", got, c.low)
				}
			}
			if failed > 5 {
				t.Errorf("%.0f logs were not read", failed)
			}
		})
	}
}

// TestCoverageTogether reads several logs of each of 200 random machines with one
// sheet and one gauge that are not quite right: the interval of their mean must
// hold the truth as often as it says. Had the whole uncertainty been divided by √n,
// it would hold in 65 to 73 of 100 cases, as the log of the test shows.
func TestCoverageTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 3))
	const machines, logs = 200, 4
	names := [3]string{"rate", "cocked", "rest"}
	var held, narrow [3]float64
	n := 0.0
	for i := range machines {
		s := someMachine(rng)
		sheet, u := unsure(s, rng)
		scale := 1 + u.Gauge*rng.NormFloat64()
		var all [3][]Reading
		for j := range logs {
			l := logOf(t, s, usual, rng).without(false, true)
			for k := range l {
				l[k].Pressure *= scale
			}
			line, err := ReadLine(l, sheet, Options{Seed: uint64(i*logs + j), Replicates: 400, Unsure: u})
			if err != nil {
				t.Logf("machine %d: %v", i, err)
				break
			}
			for k, r := range [3]Reading{line.Rate, line.Cocked, line.Rest} {
				all[k] = append(all[k], r)
			}
		}
		if len(all[0]) < logs {
			continue
		}
		n++
		sp := s.Springs[0]
		for k, truth := range [3]float64{sp.Rate, sp.Force(s.Cylinder.Stroke), sp.Preload} {
			r := Together(all[k])
			off := math.Abs(r.Value - truth)
			if r.Low <= truth && truth <= r.High {
				held[k]++
			}
			if off <= twoSided*all[k][0].U()/math.Sqrt(logs) {
				narrow[k]++
			}
		}
	}
	if n < machines-4 {
		t.Errorf("%.0f machines of %d were read", n, machines)
	}
	for k, name := range names {
		t.Logf("%s: held %.1f %%, with all of it divided %.1f %%", name, 100*held[k]/n, 100*narrow[k]/n)
		if got := held[k] / n; got < 0.91 || got > 0.99 {
			t.Errorf("%s: coverage %.3f, want 0.91 to 0.99", name, got)
		}
	}
}

// unsure is a machine that is not quite what its sheet says.
func unsure(s *profile.Setup, rng *rand.Rand) (sheet *profile.Setup, u Unsure) {
	u = Unsure{Bore: 0.2 * mm, Friction: 10, PerPa: 1 / bar, Gauge: 0.01}
	wrong := *s
	wrong.Cylinder.Bore += u.Bore * rng.NormFloat64()
	wrong.Cylinder.Seal.Constant = max(0, s.Cylinder.Seal.Constant+u.Friction*rng.NormFloat64())
	wrong.Cylinder.Seal.PerPa = max(0, s.Cylinder.Seal.PerPa+u.PerPa*rng.NormFloat64())
	taken := func(s profile.Setup, retained float64) float64 {
		s.Coffee.Retained = retained
		sum, _ := profile.Summarize(&s)
		d := newDisplacement(&s, sum.Wetted)
		return d.taken
	}
	const sd = 0.15
	wrong.Coffee.Retained += sd * rng.NormFloat64()
	u.Uptake = (taken(*s, s.Coffee.Retained+sd) - taken(*s, s.Coffee.Retained-sd)) / 2
	return &wrong, u
}
