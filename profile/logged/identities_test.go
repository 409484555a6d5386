package logged

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"springcalc/profile"
)

func near(a, b, relative float64) bool { return math.Abs(a-b) <= relative*math.Abs(b) }

// exactly is a machine that its sheet states exactly, and a logger without error.
func exactly(rng *rand.Rand) (*truth, *profile.Setup, Options) {
	m, s, _ := sound(rng)
	c := &s.Cylinder
	m.bore, m.friction, m.perPa, m.handle = c.Bore, c.Seal.Constant, c.Seal.PerPa, 0
	m.air, m.soluble = s.Chamber.Air, s.Coffee.Soluble
	m.lag, m.delay, m.gain, m.zero, m.noiseP, m.noiseM, m.noiseZ = 0, 0, 1, 0, 0, 0, 0
	m.stepP, m.stepM, m.wildEvery, m.slow, m.every, m.drips = 0, 0, 0, 0, 0.1, 0
	wet, err := profile.Summarize(s)
	if err != nil {
		panic(err)
	}
	m.drink = (1 - wet.Wetted) * s.Coffee.Retained * s.Coffee.Dose / s.Water.Density
	return m, s, Options{}
}

// TestExactLogs: without errors the truth comes out, from cup or travel.
func TestExactLogs(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for i := range 20 {
		m, s, o := exactly(rng)
		for _, byTravel := range []bool{false, true} {
			m.byTravel = byTravel
			line, err := ReadLine(m.log(rng), s, o)
			if err != nil || line.Withheld != "" {
				t.Errorf("machine %d: %v %+v", i, err, line)
				continue
			}
			tolerance := 2e-3
			for _, c := range []struct {
				name      string
				got, want float64
			}{
				{"rate", line.Rate.Value, m.rate}, {"cocked", line.Cocked.Value, m.cocked}, {"rest", line.Rest.Value, m.rest},
				{"slope", line.Raw.Slope.Value, -m.rate / (m.area() * (m.area() + m.perPa))},
				{"intercept", line.Raw.Intercept.Value, m.pressure(m.port, 1)},
			} {
				if !near(c.got, c.want, tolerance) {
					t.Errorf("machine %d, travel %v: %s %.6g, want %.6g", i, byTravel, c.name, c.got, c.want)
				}
			}
			if line.Wild > line.Used/20 {
				t.Errorf("machine %d: %d of %d rows wild", i, line.Wild, line.Used)
			}
		}
	}
}

// TestScaled: a gauge that reads in proportion scales every pressure of the
// line; a clock that starts elsewhere changes nothing.
func TestScaled(t *testing.T) {
	l, _, s, o := goodLog()
	a, err := ReadLine(l, s, o)
	if err != nil {
		t.Fatal(err)
	}
	s0 := *s
	s0.Chamber.Air = 0 // whose volume hangs on the pressure itself
	o0 := o
	o0.Unsure.Air, o0.Handle = 0, Handle{}
	base, err := ReadLine(l, &s0, o0)
	if err != nil {
		t.Fatal(err)
	}
	scaled, later := append(Log(nil), l...), append(Log(nil), l...)
	for i := range l {
		scaled[i].Pressure *= 0.9
		later[i].Time += 100
	}
	b, err := ReadLine(scaled, &s0, o0)
	if err != nil {
		t.Fatal(err)
	}
	if !near(b.Raw.Slope.Value, 0.9*base.Raw.Slope.Value, 1e-9) || !near(b.Raw.Intercept.Value, 0.9*base.Raw.Intercept.Value, 1e-9) || !near(b.Rate.Value, 0.9*base.Rate.Value, 1e-9) {
		t.Errorf("scaled: %v %v, want 0.9 of %v %v", b.Raw.Slope.Value, b.Raw.Intercept.Value, base.Raw.Slope.Value, base.Raw.Intercept.Value)
	}
	c, err := ReadLine(later, s, o)
	if err != nil {
		t.Fatal(err)
	}
	if !near(c.Rate.Value, a.Rate.Value, 1e-9) || !near(c.Release, a.Release+100, 1e-9) {
		t.Errorf("later: %v, want %v", c.Rate, a.Rate)
	}
}

// TestCovariance: the three forces hang together as F_c = F_1 + k s says, in
// value and covariance, and Wide is never narrower.
func TestCovariance(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 3))
	for i := range 20 {
		m, s, o := sound(rng)
		line, err := ReadLine(m.log(rng), s, o)
		if err != nil || line.Withheld != "" {
			continue
		}
		stroke := s.Cylinder.Stroke
		if !near(line.Cocked.Value, line.Rest.Value+line.Rate.Value*stroke, 1e-9) {
			t.Errorf("machine %d: %v is not %v + %v·%v", i, line.Cocked.Value, line.Rest.Value, line.Rate.Value, stroke)
		}
		v := [3]float64{stroke, -1, 1} // k s - F_c + F_1 = 0
		sum := 0.0
		for a := range 3 {
			for b := range 3 {
				sum += v[a] * line.Cov[a][b] * v[b]
			}
		}
		if math.Abs(sum) > 1e-6*line.Cov[1][1] {
			t.Errorf("machine %d: k s - F_c + F_1 scatters by %.3g N²", i, sum)
		}
		for j, r := range []Reading{line.Rate, line.Cocked, line.Rest} {
			if !near(r.U()*r.U(), line.Cov[j][j], 1e-9) || r.Own > r.U()*(1+1e-9) {
				t.Errorf("machine %d: u² %.6g of reading %d, covariance %.6g, own %.3g", i, r.U()*r.U(), j, line.Cov[j][j], r.Own)
			}
			if w := []Reading{line.Wide.Rate, line.Wide.Cocked, line.Wide.Rest}[j]; w.U() < r.U() {
				t.Errorf("machine %d: wide %.3g below %.3g", i, w.U(), r.U())
			}
		}
	}
}

// TestTogether: what is each log's own falls with their number, but not below
// how far they lie apart; what they have in common stays.
func TestTogether(t *testing.T) {
	one := func(v, own, common float64) Reading { return Reading{Around(v, math.Hypot(own, common)), own} }
	for _, c := range []struct {
		all    []Reading
		value  float64
		u, own float64
	}{
		{[]Reading{one(5, 3, 4)}, 5, 5, 3},
		{[]Reading{one(5, 3, 4), one(5, 3, 4), one(5, 3, 4), one(5, 3, 4)}, 5, math.Sqrt(16 + 9.0/4), 1.5},
		{[]Reading{one(0, 1, 4), one(8, 1, 4)}, 4, math.Sqrt(16 + 32.0/2), 4}, // s² = 32
	} {
		got := Together(c.all)
		if !near(got.Value, c.value, 1e-12) || !near(got.U(), c.u, 1e-12) || !near(got.Own, c.own, 1e-12) {
			t.Errorf("%+v: u %.4g, want %.4g", got, got.U(), c.u)
		}
	}
}

// TestBasis: the polynomials are orthonormal over uneven points, and give the
// slope of a polynomial exactly.
func TestBasis(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 4))
	x, y := make([]float64, 50), make([]float64, 50)
	at := 3.0
	for i := range x {
		at += rng.Float64()
		x[i] = at
		y[i] = 1 + 2*at - 0.1*at*at + 0.003*at*at*at
	}
	b := newBasis(x, 7)
	for i := range b.value {
		for j := range b.value {
			want := 0.0
			if i == j {
				want = 1
			}
			if got := dot(b.value[i], b.value[j]); math.Abs(got-want) > 1e-12 {
				t.Errorf("φ%d·φ%d = %g", i, j, got)
			}
		}
	}
	c := b.project(y)
	for i, x := range x {
		if !near(b.at(c, i), y[i], 1e-10) || math.Abs(b.slopeAt(c, i)-(2-0.2*x+0.009*x*x)) > 1e-8 {
			t.Errorf("at %g: %g %g", x, b.at(c, i), b.slopeAt(c, i))
		}
	}
}

// TestThinned: a log of very many rows tells what one of few tells, with less scatter.
func TestThinned(t *testing.T) {
	l, _, s, o := goodLog()
	many := stretchTo(l, 100_000, rand.New(rand.NewPCG(1, 2)))
	a, err := ReadLine(l, s, o)
	if err != nil {
		t.Fatal(err)
	}
	b, err := ReadLine(many, s, o)
	if err != nil {
		t.Fatal(err)
	}
	if b.Stretch != 25 || b.Used > mostRows || math.Abs(a.Rate.Value-b.Rate.Value) > a.Rate.U() {
		t.Errorf("stretch %d, used %d, rate %.5g, of few %.5g ± %.2g", b.Stretch, b.Used, b.Rate.Value, a.Rate.Value, a.Rate.U())
	}
}

// TestAgainst: a comparison is measured less computed, with the zero taken off.
func TestAgainst(t *testing.T) {
	l, _, s, o := goodLog()
	line, err := ReadLine(l, s, o)
	if err != nil {
		t.Fatal(err)
	}
	line.CutOff, line.Settled = false, true // whatever this log is
	got := line.Against(&profile.Summary{Peak: 5 * bar, End: 2 * bar, Spring: 20, Yield: 25 * gram}, o.Unsure)
	for _, c := range []struct {
		name           string
		p              Pair
		want, computed float64
	}{
		{"peak", got.Peak, line.Peak.Value - line.Zero.Value, 5 * bar},
		{"end", got.End, line.End.Value - line.Zero.Value, 2 * bar},
		{"time", got.Time, line.Duration, 20},
		{"yield", got.Yield, line.Yield, 25 * gram},
	} {
		if !c.p.Known || c.p.Measured.Value != c.want || c.p.Computed != c.computed || c.p.Difference != c.want-c.computed || !(c.p.Measured.U() > 0) {
			t.Errorf("%s: %+v", c.name, c.p)
		}
	}
}

// TestSensitivities: air and uptake that the sheet states otherwise shift the
// raw line as PerAir and PerUptake say.
func TestSensitivities(t *testing.T) {
	l, _, s, o := goodLog()
	s.Pulls = []profile.Pull{{Preinfusion: 2}} // so that the bed is dry in part
	read := func(change func(s *profile.Setup)) *Line {
		other := *s
		change(&other)
		line, err := ReadLine(l, &other, Options{From: 20, To: 40, Lag: o.Lag, Unsure: o.Unsure})
		if err != nil || line.Withheld != "" {
			t.Fatal(err, line)
		}
		return line
	}
	base := read(func(*profile.Setup) {})
	const more = 0.1 * mL
	air := read(func(s *profile.Setup) { s.Chamber.Air += more })
	density := s.Water.Density
	wet, err := profile.Summarize(s)
	if err != nil || wet.Wetted >= 1 {
		t.Fatal("the bed of this log should be dry in part", err)
	}
	uptake := read(func(s *profile.Setup) { s.Coffee.Retained += more * density / s.Coffee.Dose })
	got := func(line *Line) [2]float64 {
		return [2]float64{line.Raw.Intercept.Value - base.Raw.Intercept.Value, line.Raw.Slope.Value - base.Raw.Slope.Value}
	}
	for i, name := range []string{"intercept", "slope"} {
		if d, want := got(air)[i], -base.Raw.PerAir[i]*more; !near(d, want, 0.1) {
			t.Errorf("%s by air: %.5g, want %.5g", name, d, want)
		}
	}
	// a bed that keeps more is dry to a greater share at the release
	if d, least := got(uptake)[0], -base.Raw.PerUptake[0]*more*(1-wet.Wetted); !(d >= 0.9*least) || math.Abs(got(uptake)[1]) > 1e-6*math.Abs(base.Raw.Slope.Value) {
		t.Errorf("uptake shifts by %v, want %.5g or more, and no slope", got(uptake), least)
	}
}

// TestRises: a pressure that rises straight after the release crosses half its peak half
// way up, wherever the rows lie; one that rose before is placed at the release.
func TestRises(t *testing.T) {
	for _, every := range []float64{0.1, 0.37, 1} {
		var l Log
		for at := 0.0; at < 40; at += every {
			p := 1 * bar
			if at > 10 {
				p = min(9*bar, 1*bar+(at-10)*2*bar) // half of 9 bar after 1.75 s
			}
			l = append(l, Row{Time: at, Pressure: p, Cup: math.NaN(), Travel: math.NaN()})
		}
		at, step := l.rises(8)
		if math.Abs(at-11.75) > 0.02 || math.Abs(step-every) > 1e-9 {
			t.Errorf("rows every %g s: half the peak at %g s, a step of %g s", every, at, step)
		}
		if at, step := l.rises(100); at != 100 || step != 0 {
			t.Errorf("after the log: %g s, %g s", at, step)
		}
	}
}

// TestLagIsTaken: of an exact log by a slow gauge the line is that of the pressure where
// the lag is told, to what TestExactLogs allows; where it is not, it lies above that in
// the mean of its rows by the lag times the mean fall in time.
func TestLagIsTaken(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	const lag, tolerance = 2.0, 2e-3
	for i := range 20 {
		m, s, o := exactly(rng)
		m.byTravel = true
		quick, err := ReadLine(m.log(rng), s, o)
		if err != nil || quick.Withheld != "" {
			t.Fatal(err, quick)
		}
		m.lag = lag
		slow := m.log(rng)
		o.From, o.To = quick.Window.From+5*lag, quick.Window.To // where the gauge follows
		var in Log
		travel := 0.0
		for _, r := range slow {
			if r.Time >= o.From && r.Time <= o.To {
				in = append(in, r)
				travel += r.Travel
			}
		}
		travel /= float64(len(in))
		last := in[len(in)-1]
		late := lag * (in[0].Pressure - last.Pressure) / (last.Time - in[0].Time)
		want := m.pressure(travel, 1)
		for told, more := range map[float64]float64{lag: 0, 0: late} {
			o.Lag = told
			line, err := ReadLine(slow, s, o)
			if err != nil || line.Withheld != "" {
				t.Errorf("machine %d: %v %+v", i, err, line)
				continue
			}
			if got, _ := line.Raw.At((travel - m.port) * m.area()); !near(got, want+more, tolerance) || late < 2*tolerance*want {
				t.Errorf("machine %d, a lag of %g s told: %.6g Pa, want %.6g and %.4g more", i, told, got, want, more)
			}
		}
	}
}

// TestStraightByInstrument: the slope is a sum of the y, each times what a 1 there and 0
// elsewhere makes of it; so its standard error is the scatter times the root of the
// squares of these, with an instrument as without.
func TestStraightByInstrument(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 6))
	for range 20 {
		n := 3 + rng.IntN(20)
		x, y, own, other := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
		for i := range x {
			x[i], y[i] = 5+rng.NormFloat64(), 70+rng.NormFloat64()
			own[i], other[i] = x[i], x[i]+0.5*rng.NormFloat64()
		}
		for _, instrument := range [][]float64{own, other} {
			squares := 0.0
			for i := range y {
				one := make([]float64, n)
				one[i] = 1
				by := fitStraight(instrument, x, one).slope
				squares += by * by
			}
			s := fitStraight(instrument, x, y)
			if want := s.scatter * math.Sqrt(squares); !near(s.slopeError, want, 1e-9) {
				t.Errorf("%d points: standard error of the slope %g, want %g", n, s.slopeError, want)
			}
		}
	}
}

// TestZeroShifts: a gauge that stands off by more reads its zero off by as much, as well
// as before.
func TestZeroShifts(t *testing.T) {
	l, _, s, o := goodLog()
	s.Water.Fill = 1 * bar
	rng := rand.New(rand.NewPCG(1, 7))
	for i := 0; l[i].Pressure < 0.9*bar; i++ { // then the fill comes at once
		l[i].Pressure = 0.02 * bar * rng.NormFloat64()
	}
	read := func(more float64) Reading {
		shifted := append(Log(nil), l...)
		for i := range shifted {
			shifted[i].Pressure += more
		}
		line, err := ReadLine(shifted, s, o)
		if err != nil || !line.ZeroRead {
			t.Fatal(err, line)
		}
		return line.Zero
	}
	base := read(0)
	for _, more := range []float64{-0.1 * bar, 0.1 * bar, 0.2 * bar} {
		z := read(more)
		if math.Abs(z.Value-base.Value-more) > 1 || !near(z.Own, base.Own, 1e-6) || !near(z.U(), base.U(), 1e-6) {
			t.Errorf("off by %g bar more: zero %g, own %g, u %g; before %g, %g, %g", more/bar, z.Value, z.Own, z.U(), base.Value, base.Own, base.U())
		}
	}
}

// TestPresumesHandle: the forces rest on a handle without weight only where its pull is
// not told.
func TestPresumesHandle(t *testing.T) {
	l, m, s, o := goodLog()
	for _, handle := range []Handle{{}, UsualHandle(m.stroke)} {
		o.Handle = handle
		line, err := ReadLine(l, s, o)
		if err != nil || line.Withheld != "" {
			t.Fatal(err, line)
		}
		if got := slices.Contains(line.Presumes, "the handle weighs nothing"); got != (handle.Force == nil) {
			t.Errorf("pull told %t: presumes %q", handle.Force != nil, line.Presumes)
		}
	}
}

// TestScatterAmongLogs: what the logs' resistances scatter by over what they would as
// each of them is off, if anything, counts for one shot less than there are, what is
// usual for four.
func TestScatterAmongLogs(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 9))
	m, s, o := soundPuck(rng)
	b := UsualBed(s)
	const usual, logs, draws = 4, 5, 40000
	one := &drained{t: []float64{0, 1}, p: []float64{8 * bar, 7 * bar}, cup: []float64{0.01, 0.02}, slope: []float64{0, 0}, peak: 8 * bar, noise: 1}
	n := shared + logs*each
	f := &puckFit{setup: s, mean: make([]float64, n), sd: make([]float64, n), at: 9 * bar}
	x, cov := make([]float64, n), mat.NewSymDense(n, nil)
	for i := range n {
		cov.SetSym(i, i, 1e-6)
	}
	var own, common [logs]float64 // standard uncertainties: a log's own, and by what is common to all
	for j := range logs {
		f.logs = append(f.logs, one)
		x[shared+j*each+inResistance] = math.Log(m.bed.r9) + 0.2*rng.NormFloat64()
		own[j], common[j] = between(rng, 0.02, 0.2), between(rng, 0.05, 0.1)
	}
	var lnR []float64
	for j := range logs {
		lnR = append(lnR, x[shared+j*each+inResistance])
		for k := range j {
			cov.SetSym(shared+j*each+inResistance, shared+k*each+inResistance, common[j]*common[k])
		}
		cov.SetSym(shared+j*each+inResistance, shared+j*each+inResistance, own[j]*own[j]+common[j]*common[j])
	}
	expected, square := 0.0, 0.0 // variance among logs that are off as said, by draws
	for range draws {
		all := rng.NormFloat64()
		var off []float64
		for j := range logs {
			off = append(off, own[j]*rng.NormFloat64()+common[j]*all)
		}
		v := stat.Variance(off, nil)
		expected, square = expected+v/draws, square+v*v/draws
	}
	var p Taught
	p.read(f, x, cov, 100, o, b)
	among := (usual+logs-1)*p.Scatter*p.Scatter - usual*b.Scatter*b.Scatter
	seen := stat.Variance(lnR, nil) - expected
	if sure := math.Sqrt((square - expected*expected) / draws); math.Abs(among/(logs-1)-max(0, seen)) > 4*sure {
		t.Errorf("variance among the logs %.5f, by draws %.5f ± %.5f", among/(logs-1), seen, 2*sure)
	}
}

// TestKinkOfAnyGauge: whether a line breaks, and where, hangs neither on the zero of the
// gauge, nor on the units of pressure and volume.
func TestKinkOfAnyGauge(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 2))
	found := 0
	for range 200 {
		n := 10 + rng.IntN(50)
		at, steep, noise := between(rng, 0.3, 0.9), between(rng, 1, 8), between(rng, 0, 0.02)
		var s series
		for i := range n {
			v := float64(i) / float64(n-1)
			s.add(float64(i), v, 1-v*0.5-max(0, v-at)*0.5*(steep-1)+noise*rng.NormFloat64(), missing)
		}
		want, ok := s.kink()
		if ok {
			found++
		}
		zero, more := between(rng, -3, 30), between(rng, -2, 2)
		for name, change := range map[string]func(v, p float64) (float64, float64){
			"zero":     func(v, p float64) (float64, float64) { return v, p + zero },
			"volume":   func(v, p float64) (float64, float64) { return v + more, p },
			"pressure": func(v, p float64) (float64, float64) { return v, p * 1e5 },
			"litres":   func(v, p float64) (float64, float64) { return v * 1e-3, p },
		} {
			var other series
			for i := range n {
				v, p := change(s.v[i], s.p[i])
				other.add(s.t[i], v, p, missing)
			}
			if got, yes := other.kink(); got != want || yes != ok {
				t.Errorf("other %s: breaks %t at %d, want %t at %d", name, yes, got, ok, want)
			}
		}
	}
	if found < 20 || found > 180 {
		t.Errorf("%d of 200 break", found)
	}
}
