package spring

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// TestCastigliano: the rate from the strain energy along the wire. Under an axial
// force F the moment at a point of the wire is r × F; its part along the wire
// twists, the rest bends, the force across the wire shears it. With a flat
// helix only torsion and shear are left, and the rate is RateWithShear.
func TestCastigliano(t *testing.T) {
	compliance := func(s Compression, rise float64) float64 {
		r := s.Mean / 2
		long := math.Hypot(r, rise) // length of wire per radian
		i := math.Pi * math.Pow(s.Wire, 4) / 64
		return quad.Fixed(func(phi float64) float64 {
			tangent := [3]float64{-r * math.Sin(phi) / long, r * math.Cos(phi) / long, rise / long}
			moment := [3]float64{r * math.Sin(phi), -r * math.Cos(phi), 0} // (x, y, z) × (0, 0, 1)
			var twist, all float64
			for k := range tangent {
				twist += moment[k] * tangent[k]
				all += moment[k] * moment[k]
			}
			bend := all - twist*twist
			across := 1 - tangent[2]*tangent[2]
			return long * (twist*twist/(s.G*2*i) + bend/(s.E*i) + across/(s.G*s.wireArea()))
		}, 0, 2*math.Pi*s.Active, 40, nil, 0)
	}
	s := valve
	if got := 1 / compliance(s, 0); !near(got, s.RateWithShear(), 1e-12) {
		t.Errorf("rate by Castigliano %g, want %g", got, s.RateWithShear())
	}
	// The comment of Rate: at a usual pitch what is left out is the shear.
	pitched := 1 / compliance(s, s.Pitch()/(2*math.Pi))
	if off := 100 * (pitched/s.Rate() - 1); math.Abs(off) > 1 {
		t.Errorf("with pitch the rate is off by %.2f %%", off)
	}
}

// TestWireLength: the wire is as long as the arc of its helix, which exceeds π D n by 1/cos of the
// pitch angle, 0.4 % at 5° and 1.5 % at 10°, as the comment says.
func TestWireLength(t *testing.T) {
	for angle, percent := range map[float64]float64{5: 0.4, 10: 1.5} {
		s := valve
		rise := math.Tan(angle*math.Pi/180) * s.Mean / 2
		arc := quad.Fixed(func(phi float64) float64 {
			x, y := -s.Mean/2*math.Sin(phi), s.Mean/2*math.Cos(phi)
			return math.Sqrt(x*x + y*y + rise*rise)
		}, 0, 2*math.Pi*s.Total, 20, nil, 0)
		s.Ends, s.Convention, s.WireMax, s.Total = Plain, US, 0, s.Active // a helix from end to end
		s.Free = 2*math.Pi*rise*s.Active + s.Wire
		arc *= s.Active / valve.Total
		if !near(s.WireLength(), arc, 1e-9) {
			t.Errorf("%g°: %g m of wire, the arc is %g m", angle, s.WireLength(), arc)
		}
		if got := 100 * (arc/s.FlatLength() - 1); math.Abs(got-percent) > 0.05 {
			t.Errorf("%g°: %.3f %% longer, comment says %g", angle, got, percent)
		}
	}
}

// TestGrowthHeld: winding the wire of one turn flat, its length kept, gives the
// growth with held ends; with ends free to turn it is more.
func TestGrowthHeld(t *testing.T) {
	s := valve
	turn := math.Hypot(math.Pi*s.Mean, s.Pitch())
	want := math.Sqrt(turn*turn-s.Wire*s.Wire)/math.Pi - s.Mean
	g := s.Growth()
	if !near(g.Held, want, 1e-9) {
		t.Errorf("held %g, want %g", g.Held, want)
	}
	if ratio := g.FreeToTurn / g.Held; math.Abs(ratio-1.6) > 0.05 {
		t.Errorf("free to turn over held %.3f, the comment says about 1.6", ratio)
	}
	s.Ends = Closed
	if wider := s.Growth().FreeToTurn; !(wider > 0) || wider == g.FreeToTurn {
		t.Errorf("unground ends %g", wider)
	}
}

// bisect returns the place between 0 and high up to which below holds.
func bisect(high float64, below func(x float64) bool) (low float64) {
	for range 60 {
		if x := (low + high) / 2; below(x) {
			low = x
		} else {
			high = x
		}
	}
	return low
}

// TestHaringx: the critical deflection from Haringx's column: flexural rigidity
// B = 2EIL/(π n D (1 + E/2G)), shear rigidity S = 8EIL/(π n D³), length L = L0 - P/R,
// P (1 + P/S) = π² B/(νL)², solved by bisection.
func TestHaringx(t *testing.T) {
	for seating, nu := range map[Seating]float64{FixedFixed: 0.5, HingedHinged: 1, FixedFree: 2} {
		s := valve
		s.Free = 150e-3
		i := math.Pi * math.Pow(s.Wire, 4) / 64
		excess := func(y float64) float64 {
			l, p := s.Free-y, s.Rate()*y
			b := 2 * s.E * i * l / (math.Pi * s.Active * s.Mean * (1 + s.E/(2*s.G)))
			sh := 8 * s.E * i * l / (math.Pi * s.Active * math.Pow(s.Mean, 3))
			return p*(1+p/sh) - math.Pi*math.Pi*b/(nu*l*nu*l)
		}
		low := bisect(0.6*s.Free, func(y float64) bool { return excess(y) < 0 })
		b := must(s.Buckling(Support{Seating: seating}))
		if b.Never || !near(b.CriticalDeflection, low, 1e-9) {
			t.Errorf("%v: %g, Haringx %g", seating, b.CriticalDeflection, low)
		}
	}
}

// TestSurge: the lowest frequency of a chain of masses and springs, by eigenvalues.
func TestSurge(t *testing.T) {
	s := valve
	const n = 200
	mass, stiffness := s.activeMass()/n, s.Rate()*n
	chain := func(lastFree bool) float64 {
		// n links; masses between them, and half a mass on a free end.
		size := n - 1
		if lastFree {
			size = n
		}
		k := mat.NewSymDense(size, nil)
		for i := range size {
			k.SetSym(i, i, 2)
			if i > 0 {
				k.SetSym(i-1, i, -1)
			}
		}
		if lastFree { // half the mass: divide row and column by its root
			k.SetSym(n-1, n-1, 2)
			k.SetSym(n-2, n-1, -math.Sqrt2)
		}
		var eig mat.EigenSym
		eig.Factorize(k, false)
		return math.Sqrt(slices.Min(eig.Values(nil))*stiffness/mass) / (2 * math.Pi)
	}
	f := s.Surge()
	if got := chain(false); !near(got, f.BothSeated, 1e-4) {
		t.Errorf("both seated %g, chain %g", f.BothSeated, got)
	}
	if got := chain(true); !near(got, f.OneFree, 1e-4) {
		t.Errorf("one free %g, chain %g", f.OneFree, got)
	}
}

// TestImpactStress: behind the wave of a struck end, the wire's kinetic energy
// ρv²/2 equals the strain energy τ²/(4G) per volume.
func TestImpactStress(t *testing.T) {
	s := valve
	const v = 3.0
	tau := s.ImpactStress(-v)
	if !near(tau*tau/(4*s.G), s.Density*v*v/2, 1e-13) {
		t.Errorf("stress %g Pa", tau)
	}
}

// TestENSpring: a spring worked through EN 13906-1 and EN 15800 in a separate
// script, from the same formulas from memory: it guards against slips of the
// hand, not against a wrong memory.
func TestENSpring(t *testing.T) {
	s := valve
	w := Working{Rest: must(s.Length(25)), Cocked: must(s.Length(60))}
	clear := must(s.Clearance(w.Cocked, Static))
	tol := must(s.Tolerance(2))
	fixed := tol.Load(0)
	printed(t, []row{
		{"k", Bergstrasser.K(s.Index()), "1.135135"},
		{"R, N/mm", s.Rate() / 1e3, "2.397059"},
		{"Lc, mm", s.SolidLength() / mm, "21.2625"},
		{"Sa, mm", clear.Required / mm, "4.25"},
		{"Ln, mm", clear.Shortest / mm, "25.5125"},
		{"s_c, mm", (s.Free - s.SolidLength()) / mm, "38.7375"},
		{"F_c, N", s.SolidForce(), "92.8561"},
		{"s1, mm", (s.Free - w.Rest) / mm, "10.42945"},
		{"L2, mm", w.Cocked / mm, "34.96933"},
		{"τ1, MPa", s.Stress(25, NoCorrection) / mpa, "159.1549"},
		{"τk2, MPa", s.Stress(60, Bergstrasser) / mpa, "433.5897"},
		{"τc, MPa", s.Stress(s.SolidForce(), NoCorrection) / mpa, "591.1401"},
		{"m, mm", s.Pitch() / mm, "6.557353"},
		{"ΔDe, mm", s.Growth().FreeToTurn / mm, "0.158536"},
		{"f, Hz", s.Surge().BothSeated, "213.305"},
		{"a_F k_f, N", fixed, "5.1539"},
		{"A_F grade 2 at 60 N", tol.Load(60), "6.05"},
		{"A_L0 grade 2, mm", tol.Free / mm, "2.15"},
		{"mass, g, of the books' π D n_t", s.Density * s.wireArea() * s.FlatLength() * 1e3, "16.270"},
		{"W12, J", must(s.Energy(w)), "0.6206"},
	})
	b := must(s.Buckling(Support{Seating: HingedHinged}))
	printed(t, []row{{"s_K, mm", b.CriticalDeflection / mm, "24.32763"}})
	hot, unground := s, s
	hot.Convention = ENHot
	unground.Ends = Closed
	printed(t, []row{
		{"unground: ΔDe, mm, by hand", unground.Growth().FreeToTurn / mm, "0.158282"},
		{"hot: Lc, mm, (nt - 0.3) d_max", hot.SolidLength() / mm, "20.655"},
		{"hot: Sa dynamic, mm, 2 · 0.02 n (D + d)", must(hot.Clearance(w.Cocked, Dynamic)).Required / mm, "7.48"},
		{"cold: Sa dynamic, mm", must(s.Clearance(w.Cocked, Dynamic)).Required / mm, "6.375"},
	})
}

// TestBenchMonteCarlo: standard errors, covariance and the intervals' coverage
// against 4000 bench tests of a known spring with a scale that scatters by 3 N.
func TestBenchMonteCarlo(t *testing.T) {
	const rate, free, sd, runs = 14e3, 80e-3, 3.0, 4000
	rng := rand.New(rand.NewPCG(3, 4))
	var rates, frees []float64
	var varRate, varFree, cov float64
	inside, insideRate, insideFree := 0, 0, 0
	for range runs {
		var points []Point
		for i := range 6 {
			l := 65e-3 - 5e-3*float64(i)
			points = append(points, Point{l, rate*(free-l) + sd*rng.NormFloat64()})
		}
		b := must(FitBench(points))
		rates, frees = append(rates, b.Rate), append(frees, b.Free)
		varRate += b.RateSE * b.RateSE / runs
		varFree += b.FreeSE * b.FreeSE / runs
		cov += b.Cov / runs
		if p := must(b.Preload(70e-3, 0.95)); p.Low < rate*10e-3 && rate*10e-3 < p.High {
			inside++
		}
		if p := must(b.RateInterval(0.95)); p.Low < rate && rate < p.High {
			insideRate++
		}
		if p := must(b.FreeInterval(0.95)); p.Low < free && free < p.High {
			insideFree++
		}
	}
	for what, pair := range map[string][2]float64{
		"variance of the rate":        {varRate, stat.Variance(rates, nil)},
		"variance of the free length": {varFree, stat.Variance(frees, nil)},
		"covariance":                  {cov, stat.Covariance(rates, frees, nil)},
	} {
		if !near(pair[0], pair[1], 0.06) { // 2.7 standard deviations of a variance of 4000 draws
			t.Errorf("%s: %g, Monte Carlo %g", what, pair[0], pair[1])
		}
	}
	// 3 standard deviations of a share of 4000: 1 %.
	for what, n := range map[string]int{"preload": inside, "rate": insideRate, "free length": insideFree} {
		if share := float64(n) / runs; math.Abs(share-0.95) > 0.0105 {
			t.Errorf("%s: the 95 %% interval holds %.1f %%", what, 100*share)
		}
	}
}

// TestLoadLine: the allowed amplitude is where the load line meets Goodman's and
// Gerber's lines, found by bisection on the lines themselves.
func TestLoadLine(t *testing.T) {
	e := Endurance{Amplitude: 241e6, Mean: 379e6}
	const ssu, r = 1180e6, 0.6
	for line, height := range map[Line]func(m float64) float64{
		Goodman: func(m float64) float64 { return e.Amplitude * (ssu - m) / (ssu - e.Mean) },
		Gerber:  func(m float64) float64 { return e.Amplitude * (ssu*ssu - m*m) / (ssu*ssu - e.Mean*e.Mean) },
	} {
		low := bisect(ssu, func(m float64) bool { return r*m < height(m) })
		if got := must(e.Allowed(line, Cycle{Amplitude: r, Mean: 1}, ssu)); !near(got, r*low, 1e-9) {
			t.Errorf("%v: %g, bisection %g", line, got, r*low)
		}
	}
}

// TestLifeIsGoodman: the equivalent swing from zero lies on one Goodman line with
// the swing itself, found by bisection.
func TestLifeIsGoodman(t *testing.T) {
	s := valve
	w := Working{Rest: 52e-3, Cocked: 30e-3}
	wire := LifeWire{Tensile: 1500e6, UltimateShear: 1005e6, Curve: music}
	c := must(s.cycle(w, Wahl, Wahl))
	low := bisect(wire.UltimateShear, func(top float64) bool {
		// Amplitude of the line through (top/2, top/2) and (Ssu, 0) at the mean of c.
		return top/2*(wire.UltimateShear-c.Mean)/(wire.UltimateShear-top/2) < c.Amplitude
	})
	if got := must(s.Life(w, wire)).FromZero; !near(got, low, 1e-9) {
		t.Errorf("equivalent stress %g, bisection %g", got, low)
	}
}
