package diagnose

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"

	"springcalc/profile"
)

// TestForwardByEngine: what a state is expected to show is what the shot's own engine makes
// of the same machine.
func TestForwardByEngine(t *testing.T) {
	p := judged(t)
	m := cafeMachine()
	m.GaugeLag = 1e-6
	f := forwardOf(t, m, &p)
	for _, x := range []sizesOf{
		{},
		{PartSet: 8 * mm},
		{PartWire: 0.05},
		{PartCoil: 1},
		{PartSpring: 3},
		{PartSeal: 250},
		{PartFill: 12 * mL},
		{PartLever: 8 * mm},
		{PartHeadspace: 10 * mL},
		{PartPuck: 0.6},
		{PartSet: 6 * mm, PartSeal: 150},
		{PartSeal: 200, PartFill: 15 * mL},
		{PartSet: 5 * mm, PartFill: 8 * mL, PartHeadspace: 6 * mL},
		{PartLever: 5 * mm, PartPuck: 0.5, PartSeal: 100},
	} {
		var v seen
		f.see(&x, &offsets{}, &v)
		peak, end, yield, time := shotOf(t, sick(x, f.friction, p.Sound.SealPressure, p.Sound.Air))
		for _, c := range []struct {
			what      string
			got, want float64
			tol       float64
		}{{"peak", v.peak, peak, 1e-6}, {"end", v.end, end, 1e-6}, {"yield", v.value[Yield], yield, 0.02}, {"time", v.value[ShotTime], time, 0.15}} {
			if !near(c.got, c.want, c.tol) {
				t.Errorf("%v: %s is %.6g, the engine's %.6g", x, c.what, c.got, c.want)
			}
		}
	}
}

// TestYieldOfAir: with air in the chamber the cup at the end of the stroke and
// the cup after the air has pushed on are what the shot's own engine makes of them,
// where its pressure goes first, where the water lasts and where that is spent before
// the piston comes to rest: what the air pushes to half of what a scale shows, 0.1 g.
func TestYieldOfAir(t *testing.T) {
	p := judged(t)
	m := cafeMachine()
	f := forwardOf(t, m, &p)
	r := number{kind: Yield, whole: true}
	for _, air := range []float64{0, 1 * mL, 4 * mL, 9 * mL, 16 * mL, 25 * mL} {
		var v scene
		x := sizesOf{PartFill: air}
		f.see(&x, &offsets{}, &v.at[0])
		sum, err := profile.Summarize(sick(x, f.friction, p.Sound.SealPressure, p.Sound.Air))
		if err != nil {
			t.Fatal(err)
		}
		atEnd := v.at[0].value[Yield]
		if !near(atEnd, sum.Yield-sum.AirYield, 0.03) || math.Abs(r.of(&v)-atEnd-sum.AirYield) > 0.05*gram || !(r.of(&v) > atEnd) {
			t.Errorf("%.0f mL of air: %.2f g at the end, %.2f g in all; the engine's %.2f and %.2f g", air/mL, atEnd/gram, r.of(&v)/gram, (sum.Yield-sum.AirYield)/gram, sum.Yield/gram)
		}
	}
}

// TestSizesByShare: a fault of the size for a share takes that share of the peak alone.
func TestSizesByShare(t *testing.T) {
	p := judged(t)
	f := forwardOf(t, cafeMachine(), &p)
	var sound, v seen
	f.see(&sizesOf{}, &offsets{}, &sound)
	for part := range numParts {
		for _, u := range []float64{0.03, 0.1, 0.3, 0.6} {
			var x sizesOf
			x[part] = f.sizeAt(part, u)
			f.see(&x, &offsets{}, &v)
			want, tol := u*f.reach[part], 0.003
			if part == PartPuck {
				tol = 0.05 // sizes of 99.9 % and more lie close together
			}
			if got := 1 - v.value[Peak]/sound.value[Peak]; math.Abs(got-want) > tol {
				t.Errorf("%v: a size of %.4g takes %.4f of the peak, want %.4f", part, x[part], got, want)
			}
		}
	}
}

// TestReach: the most of the peak that a fault alone can take is what its greatest size
// takes, or what the prior allows at most.
func TestReach(t *testing.T) {
	p := judged(t)
	f := forwardOf(t, cafeMachine(), &p)
	for part := range numParts {
		most := 0.0
		for n := range 4001 { // of all sizes, as some give no shot
			var x sizesOf
			var v, sound seen
			f.see(&sizesOf{}, &offsets{}, &sound)
			if x[part] = f.mostSize(part) * float64(n) / 4000; !f.see(&x, &offsets{}, &v) {
				break
			}
			if s := 1 - v.value[Peak]/sound.value[Peak]; s <= p.ShareMost {
				most = max(most, s)
			}
		}
		tol := 0.01 // sizes are tried in steps
		if part == PartPuck {
			tol = 0.05
		}
		if got := f.reach[part] * p.ShareMost; math.Abs(got-most) > tol {
			t.Errorf("%v: reaches to %.4f of the peak, want %.4f", part, got, most)
		}
	}
}

// TestGaugedByStepping: the highest reading of a lagging gauge and the one at the end of the
// stroke are those of a gauge stepped finely through the engine's shot, long or short for its lag.
func TestGaugedByStepping(t *testing.T) {
	for _, open := range []float64{1, 0.2, 0.05, 0.01} {
		for _, lag := range []float64{0.2, 0.5, 2} {
			m := cafeMachine()
			m.Setup.Coffee.Resistance *= open
			var shot profile.Shot
			if err := profile.Trace(&m.Setup, &shot); err != nil {
				t.Fatal(err)
			}
			from := 0 // the release: the first row under full pressure
			for shot.Samples[from].Pressure < 0.999*shot.Peak {
				from++
			}
			reading, highest, at := shot.Samples[from-1].Pressure, 0.0, from
			start, end := shot.Samples[from].Time, shot.Samples[from].Time+shot.Spring
			pressure, dt := shot.Peak, shot.Spring/400_000
			for now := start; now < end-dt/2; now += dt {
				for at+1 < len(shot.Samples)-1 && shot.Samples[at+1].Time < now {
					at++
				}
				a, b := shot.Samples[at], shot.Samples[at+1]
				pressure = a.Pressure + (b.Pressure-a.Pressure)*(now-a.Time)/(b.Time-a.Time)
				reading += (pressure - reading) * dt / lag
				highest = max(highest, reading)
			}
			most, behind := gauged(&shot, lag)
			if want := (reading - pressure) / (shot.Peak - pressure); !near(most, highest/shot.Peak, 1e-3) || math.Abs(behind-want) > 1e-3 {
				t.Errorf("resistance × %g, lag %g s: %.5f of the peak and %.5f behind, stepped %.5f and %.5f", open, lag, most, behind, highest/shot.Peak, want)
			}
		}
	}
}

// TestGaugeLag: a gauge shows less of a peak the slower it is, and one of which
// nothing is known as much as one of half a second.
func TestGaugeLag(t *testing.T) {
	p := judged(t)
	shows := func(lag float64) float64 {
		m := cafeMachine()
		m.GaugeLag = lag
		f := forwardOf(t, m, &p)
		var v seen
		f.see(&sizesOf{}, &offsets{}, &v)
		return v.value[Peak]
	}
	if a, b := shows(0), shows(0.5); a != b {
		t.Errorf("%g Pa by a gauge of which nothing is known, %g by one of half a second", a, b)
	}
	for _, lag := range []float64{0.05, 0.2, 0.5, 1, 3} {
		if fast, slow := shows(lag), shows(1.5*lag); !(slow < fast) {
			t.Errorf("a gauge of %g s shows %g Pa, a slower one %g", lag, fast, slow)
		}
	}
}

// TestGaugeBesideAnother: what a gauge shows of a sound machine's peak over what a sound
// sensor shows is what it shows beside the workshop's gauge, though its zero is off.
func TestGaugeBesideAnother(t *testing.T) {
	p := judged(t)
	m := cafeMachine()
	m.GaugeLag = 1e-6
	f := forwardOf(t, m, &p)
	for _, zero := range []float64{-0.3 * bar, 0, 0.2 * bar} {
		var o offsets
		o[offZero] = zero
		var v seen
		f.see(&sizesOf{}, &o, &v)
		if got, want := v.value[Gauge], v.value[Peak]/v.other[Peak]; math.Abs(got-want) > 1e-3 {
			t.Errorf("a zero off by %g bar: %.4f beside another, %.4f of a peak", zero/bar, got, want)
		}
	}
}

// TestResistsBetween: under any peak and on the way down from it the bed resists as the
// engine has it, between the rows of the table as on them.
func TestResistsBetween(t *testing.T) {
	p := judged(t)
	f := forwardOf(t, cafeMachine(), &p)
	for _, share := range []float64{0.23, 0.41, 0.66, 0.87, 1, 1.31, 1.7} {
		for _, down := range []float64{1, 0.93, 0.78, 0.61, 0.44, 0.29} {
			peak := share * f.peak
			want := math.Log(f.base.BedResistance(profile.Sample{Pressure: down * peak, Cup: f.yield / 2}, peak))
			// The law bends by a power of 2 or less, in the middle of a step at worst.
			const step = midSpan / (midSteps - 1)
			if got := f.resists(peak, down*peak); math.Abs(got-want) > 2*step/4 {
				t.Errorf("at %.2f of a peak of %.2f: ln R is %.4f, want %.4f", down, share, got, want)
			}
		}
	}
}

// byGrid is the evidence of a set by the midpoint rule on a grid of shares and
// of the friction's logarithm, with gonum's linear algebra: no point, stratum
// or factor of the method's.
func byGrid(q *inquiry, h *hypothesis, steps int) float64 {
	d, n := len(h.list), q.n
	c := mat.NewSymDense(n, nil)
	for r := range n {
		for s := range r + 1 {
			c.SetSym(r, s, h.at.covariance(r, s, false)+q.own[r*n+s])
		}
	}
	var chol mat.Cholesky
	chol.Factorize(c)
	jf := mat.NewVecDense(n, h.at.jac[offFriction][:n])
	var cj mat.VecDense
	_ = chol.SolveVecTo(&cj, jf)
	a := mat.Dot(jf, &cj)
	const quantiles = 210
	var off, weight [quantiles]float64
	sigma := math.Log(q.p.Sound.SealFactor)
	for i := range off {
		z := -5 + 10.5*(float64(i)+0.5)/quantiles
		weight[i] = distuv.UnitNormal.Prob(z) * 10.5 / quantiles
		f := q.p.Sound.Seal * math.Exp(sigma*z)
		off[i] = (f - q.f.friction) / q.f.frictionU
	}
	var inv mat.SymDense
	_ = chol.InverseTo(&inv)
	widest := [mostFaults]float64{}
	var pr mat.SymDense
	pm := mat.NewSymDense(d, nil)
	for i := range d {
		for j := range i + 1 {
			pm.SetSym(i, j, h.precision[i*d+j])
		}
	}
	var pc mat.Cholesky
	pc.Factorize(pm)
	_ = pc.InverseTo(&pr)
	cell := 1.0
	low := [mostFaults]float64{}
	for i := range d {
		sd := math.Sqrt(pr.At(i, i))
		low[i] = max(0, h.best[i]-7*sd)
		widest[i] = min(q.p.ShareMost, h.best[i]+9*sd) - low[i]
		cell *= widest[i] / float64(steps)
	}
	// Normalization of the prior: exponentials up to ShareMost.
	norm := math.Pow(q.p.ShareScale*(1-math.Exp(-q.p.ShareMost/q.p.ShareScale)), float64(d))
	total := 0.0
	const shift = 20 // keeps the sum in range
	var u [mostFaults]float64
	for i := range int(math.Pow(float64(steps), float64(d))) {
		sum := 0.0
		for j, k := 0, i; j < d; j, k = j+1, k/steps {
			u[j] = low[j] + widest[j]*(float64(k%steps)+0.5)/float64(steps)
			sum += u[j]
		}
		x := q.sizes(h, &u)
		var v scene
		if !q.look(&x, allKinds, &v) {
			continue
		}
		r := mat.NewVecDense(n, nil)
		for j := range n {
			r.SetVec(j, q.y[j]-q.rows[j].of(&v))
		}
		q0 := mat.Inner(r, &inv, r)
		b := mat.Dot(r, &cj)
		if q0-b*b/a > 80 {
			continue
		}
		l := 0.0
		for k, f := range off {
			l += math.Exp(-(q0-2*f*b+f*f*a)/2+shift) * weight[k]
		}
		total += cell * math.Exp(-sum/q.p.ShareScale) / norm * l
	}
	return math.Log(total) - shift - chol.LogDet()/2
}

// TestEvidenceByGrid: the evidence of one, two and three faults comes out
// within 0.1 in ln of a fine grid.
func TestEvidenceByGrid(t *testing.T) {
	p := judged(t)
	f := forwardOf(t, cafeMachine(), &p)
	truth := sick(sizesOf{PartSet: 5 * mm, PartSeal: 120, PartFill: 8 * mL}, 30, 3/bar, 1*mL)
	peak, end, yield, _ := shotOf(t, truth)
	used := []Observation{asNew(Observe(Peak, 8.5*bar, 0.15*bar)), Observe(Peak, peak, 0.15*bar), Observe(EndPress, end, 0.15*bar), Observe(Yield, yield, 0.5*gram)}
	worst := [mostFaults + 1]float64{}
	for _, more := range [][]Observation{nil, {Observe(Drag, 310, 8), Observe(FreeLength, 145*mm, 0.2*mm)}} {
		list := append(used[:4:4], more...)
		rows, y, own := rowsOf(list, -1)
		q := newInquiry(f, &p, 0, rows, y, own)
		for _, set := range []partSet{setOf(PartSet), setOf(PartSeal), setOf(PartFill), setOf(PartWire), setOf(PartLever),
			setOf(PartSet, PartSeal), setOf(PartSet, PartFill), setOf(PartSeal, PartFill), setOf(PartSeal, PartGauge), setOf(PartWire, PartHeadspace),
			setOf(PartSet, PartSeal, PartFill), setOf(PartSet, PartSeal, PartLever), setOf(PartSeal, PartFill, PartGauge), setOf(PartSet, PartGauge, PartHeadspace)} {
			h := &hypothesis{set: set, list: set.list()}
			q.locate(h)
			q.integrate(h, 1)
			steps := []int{0, 2000, 160, 44}[len(h.list)]
			want := byGrid(q, h, steps)
			if math.IsInf(want, -1) || h.evidence < q.zero.likelihood(make([]float64, q.n))-60 {
				continue // so far from the readings that neither counts
			}
			off := math.Abs(h.evidence - want)
			worst[len(h.list)] = max(worst[len(h.list)], off)
			if off > 0.1 {
				t.Errorf("%v with %d readings: ln evidence is %.3f, by a grid %.3f", h.list, len(y), h.evidence, want)
			}
		}
	}
	t.Logf("off by at most %.3f for one, %.3f for two, %.3f for three faults", worst[1], worst[2], worst[3])
}
