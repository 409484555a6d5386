package uncertain

import (
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// The property tests draw the same in every run; DEVELOPERS.md says how to draw anew.
func init() { _ = flag.Set("rapid.seed", "1") }

// TestStraightModels holds Linear to the closed form of a straight model with
// two outputs, u² = cᵀ V c, and its shares to their sum of 1, whatever the
// numbers.
func TestStraightModels(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.Float64Range(-10, 10)
		n := rapid.IntRange(2, 6).Draw(t, "n")
		p := Problem{Outputs: []string{"a", "b"}}
		c := [2][]float64{make([]float64, n), make([]float64, n)}
		for i := range n {
			c[0][i], c[1][i] = number.Draw(t, "c"), number.Draw(t, "c")
			p.Inputs = append(p.Inputs, Input{Name: fmt.Sprint(i), Value: number.Draw(t, "x"), Std: rapid.Float64Range(0.1, 3).Draw(t, "u")})
		}
		r := rapid.Float64Range(-1, 1).Draw(t, "r")
		p.Correlated = []Correlation{{A: "0", B: "1", R: r}}

		cov := func(a, b []float64) (v float64) {
			for i, in := range p.Inputs {
				v += a[i] * b[i] * in.Std * in.Std
			}
			return v + r*p.Inputs[0].Std*p.Inputs[1].Std*(a[0]*b[1]+a[1]*b[0])
		}
		e, err := Linear(p, func(x, y []float64) error {
			y[0], y[1] = floats.Dot(c[0], x), floats.Dot(c[1], x)
			return nil
		}, LinearOptions{})
		if err != nil {
			t.Fatal(err)
		}
		const tol = 1e-6 // of differences, on sums of up to 6 × (10·3)²
		for i, out := range e.Outputs {
			if want := cov(c[i], c[i]); math.Abs(out.Std*out.Std-want) > tol*(1+want) {
				t.Errorf("u² = %g, want %g", out.Std*out.Std, want)
			}
			var shares float64
			for _, term := range out.Budget {
				shares += term.Share
				if in := p.Inputs[p.index(term.Input)]; math.Abs(term.Sensitivity*in.Std-term.Contribution) > 1e-9*(1+math.Abs(term.Contribution)) {
					t.Errorf("contribution %g of %v with sensitivity %g", term.Contribution, in, term.Sensitivity)
				}
			}
			if out.Std > 0.1 && math.Abs(shares-1) > 1e-9 {
				t.Errorf("shares sum to %g", shares)
			}
			if got, want := out.High-out.Value, normal95*out.Std; !close(got, want, 1e-12) {
				t.Errorf("half-width %g, want 1.96 u = %g", got, want)
			}
		}
		if got, want := e.Covariance.At(0, 1), cov(c[0], c[1]); math.Abs(got-want) > tol*1e3 {
			t.Errorf("covariance %g, want %g", got, want)
		}
	})
}

// TestPowerLaw: relative uncertainties of a product of powers add in squares with
// their exponents, at any scale of the inputs.
func TestPowerLaw(t *testing.T) {
	for _, scale := range []float64{1e-14, 1, 1e11} {
		p := Problem{
			Inputs:  []Input{{Name: "a", Value: 3 * scale, Std: 0.02 * 3 * scale}, {Name: "b", Value: 5 / scale, Std: 0.01 * 5 / scale}},
			Outputs: []string{"y"},
		}
		e := mustLinear(t, p, func(x, y []float64) error {
			y[0] = math.Pow(x[0], 4) / math.Pow(x[1], 3)
			return nil
		}, LinearOptions{}).Outputs[0]
		if got, want := e.Std/e.Value, math.Hypot(4*0.02, 3*0.01); !close(got, want, 1e-6) {
			t.Errorf("scale %g: u/y = %g, want %g", scale, got, want)
		}
		if top := e.Budget[0]; top.Input != "a" || !close(top.Share, 64.0/73, 1e-6) {
			t.Errorf("scale %g: first of the budget %+v, want a with 64/73", scale, top)
		}
	}
}

// TestSecondOrder: for x³ with a normal x the variance is 9μ⁴u² + 36μ²u⁴ + 15u⁶;
// the Taylor series gives the first two. For a·b it is exact: b²u_a² + a²u_b² +
// u_a²u_b². An input of 0, known exactly, changes nothing.
func TestSecondOrder(t *testing.T) {
	const mu, u, ub = 2.0, 0.3, 0.5
	p := Problem{Inputs: []Input{{Name: "a", Value: mu, Std: u}, {Name: "b", Value: 1, Std: ub}, {Name: "zero"}}, Outputs: []string{"a³", "ab"}}
	e := mustLinear(t, p, func(x, y []float64) error {
		y[0], y[1] = x[0]*x[0]*x[0]+x[2], x[0]*x[1]+x[2]
		return nil
	}, LinearOptions{SecondOrder: true})
	for i, want := range []float64{36 * mu * mu * math.Pow(u, 4), u * u * ub * ub} {
		if got := e.Outputs[i].SecondOrder; !close(got, want, 1e-6) {
			t.Errorf("%s: second order %g, want %g", e.Outputs[i].Name, got, want)
		}
	}
	if got, want := e.Outputs[1].Std, math.Sqrt(u*u+mu*mu*ub*ub+u*u*ub*ub); !close(got, want, 1e-9) {
		t.Errorf("u(ab) = %g, want %g", got, want)
	}
}

// TestFreedom: one input keeps its own degrees of freedom, infinitely many stay
// infinite, and correlated ones give the smallest.
func TestFreedom(t *testing.T) {
	in := []Input{{Name: "a", Value: 1, Std: 1, Freedom: 5}, {Name: "b", Value: 1, Std: 2, Freedom: 9}}
	freedom := func(p Problem) float64 {
		p.Outputs = []string{"y"}
		return mustLinear(t, p, sum, LinearOptions{}).Outputs[0].Freedom
	}
	if got := freedom(Problem{Inputs: in[:1]}); !close(got, 5, 1e-9) {
		t.Errorf("one input: ν = %g, want 5", got)
	}
	if got := CoverageFactor(0.95, 5*(1-1e-15)); got != CoverageFactor(0.95, 5) {
		t.Errorf("5 degrees of freedom, less a rounding error, taken as 4")
	}
	if got, want := freedom(Problem{Inputs: in}), 25/(1.0/5+16.0/9); !close(got, want, 1e-9) {
		t.Errorf("two inputs: ν = %g, want %g", got, want)
	}
	if got := freedom(Problem{Inputs: in, Correlated: []Correlation{{"a", "b", 0.5}}}); got != 5 {
		t.Errorf("correlated: ν = %g, want 5", got)
	}
	if got := freedom(Problem{Inputs: []Input{{Name: "c", Value: 1, Std: 1}}}); got != 0 {
		t.Errorf("infinite: ν = %g, want 0", got)
	}
}

// TestShapes holds every constructor to the moments and limits of its shape, by
// draws: M = 200 000, so that the mean is within 4 u/√M and u within 4 u √(κ/4M)
// with κ below 5 for all of these.
func TestShapes(t *testing.T) {
	const m = 200_000
	sigma := math.Log(4) / (2 * 1.959964)
	for _, c := range []struct {
		in           Input
		value, std   float64 // of the input
		mean         float64 // of the draws
		low, high    float64 // at 2.5 and 97.5 % of the draws, in closed form
		bottom, most float64 // limits
	}{
		{HalfWidth95("normal", 5, 1.959964), 5, 1, 5, 3.040036, 6.959964, math.Inf(-1), math.Inf(1)},
		{Limits("uniform", 2, 8, Uniform), 5, math.Sqrt(3), 5, 2.15, 7.85, 2, 8},
		{Tolerance("triangular", 5, 3, Triangular), 5, 3 / math.Sqrt(6), 5, 2 + 3*math.Sqrt(0.05), 8 - 3*math.Sqrt(0.05), 2, 8},
		{Triangle("at its limit", 0, 0, 6), 2, math.Sqrt2, 2, 6 - 6*math.Sqrt(0.975), 6 - 6*math.Sqrt(0.025), 0, 6},
		{Triangle("lopsided", 1, 2, 7), 10. / 3, math.Sqrt(31. / 18), 10. / 3, 1 + math.Sqrt(0.025*6), 7 - math.Sqrt(0.025*30), 1, 7},
		{Tolerance("arcsine", 5, 3, Arcsine), 5, 3 / math.Sqrt2, 5, 5 - 3*math.Cos(0.025*math.Pi), 5 + 3*math.Cos(0.025*math.Pi), 2, 8},
		{PlausibleRange("lognormal", 1, 4), 2, 2 * math.Exp(sigma*sigma/2) * math.Sqrt(math.Expm1(sigma*sigma)), 2 * math.Exp(sigma*sigma/2), 1, 4, 0, math.Inf(1)},
	} {
		if !close(c.in.Value, c.value, 1e-9) || !close(c.in.Std, c.std, 1e-6) {
			t.Errorf("%s: %g ± %g, want %g ± %g", c.in.Name, c.in.Value, c.in.Std, c.value, c.std)
		}
		r := mustMonteCarlo(t, Problem{Inputs: []Input{c.in}, Outputs: []string{"y"}}, sum, Options{Seed: 3, Draws: m})
		y, tol := r.Outputs[0], 4*c.std/math.Sqrt(m)
		if math.Abs(y.Mean-c.mean) > tol || math.Abs(y.Std-c.std) > tol*math.Sqrt(5.0/4) {
			t.Errorf("%s: mean %g ± %g, want %g ± %g", c.in.Name, y.Mean, y.Std, c.mean, c.std)
		}
		sampler, err := newSampler(Problem{Inputs: []Input{c.in}})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range []struct{ p, want float64 }{{0.025, c.low}, {0.975, c.high}} {
			got := []float64{0}
			if sampler.draw([]float64{p.p}, nil, nil, got); !close(got[0], p.want, 1e-6) {
				t.Errorf("%s: quantile %g is %g, want %g", c.in.Name, p.p, got[0], p.want)
			}
			// the share of draws below it: even points are within a few of M, random ones within √(p(1-p)M)
			below := stat.CDF(p.want, stat.Empirical, sortedCopy(r.outputs[0]), nil)
			if math.Abs(below-p.p) > 12.0/m {
				t.Errorf("%s: %.4f of the draws below %g, want %g", c.in.Name, below, p.want, p.p)
			}
		}
		if lo, hi := quantile(sortedCopy(r.outputs[0]), 0), quantile(sortedCopy(r.outputs[0]), 1); lo < c.bottom || hi > c.most {
			t.Errorf("%s: draws from %g to %g, limits %g to %g", c.in.Name, lo, hi, c.bottom, c.most)
		}
	}
}

// TestReadingsDraw: readings are drawn from Student's t ([MC] 6.4.9), the
// variance of which is ν/(ν-2) u².
func TestReadingsDraw(t *testing.T) {
	const m = 100_000
	in := readings("x", []float64{9.1, 9.4, 8.9, 9.3, 9.0, 9.2, 9.5, 8.8, 9.15})
	if in.Freedom != 8 || !close(in.Value, 9.15, 1e-12) {
		t.Fatalf("readings: %+v", in)
	}
	y := mustMonteCarlo(t, Problem{Inputs: []Input{in}, Outputs: []string{"y"}}, sum, Options{Seed: 4, Draws: m}).Outputs[0]
	if want := in.Std * math.Sqrt(8.0/6); math.Abs(y.Std/want-1) > 4*math.Sqrt(3.5/(4*m)) { // t of 8: kurtosis 4.5
		t.Errorf("u = %g, want %g", y.Std, want)
	}
	// an end of the interval is uncertain by about 3.2 u/√M for this shape
	if got, want := (y.High-y.Low)/2, CoverageFactor(0.95, 8)*in.Std; math.Abs(got-want) > 4*3.2*in.Std/math.Sqrt(m) {
		t.Errorf("half-width %g, want %g", got, want)
	}
}

// TestCopula: normal inputs meet their correlation, uniform ones (6/π) asin(r/2),
// and r = -1 leaves a sum without spread.
func TestCopula(t *testing.T) {
	const m = 200_000
	for _, shape := range []Shape{Normal, Uniform} {
		for _, r := range []float64{0.7, -0.4} {
			p := four(shape, 1, 2, 3)
			p.Correlated = []Correlation{{"X1", "X3", r}}
			p.Outputs = []string{"X1", "X2", "X3"}
			res := mustMonteCarlo(t, p, func(x, y []float64) error { copy(y, x); return nil }, Options{Seed: 5, Draws: m})
			want := r
			if shape == Uniform {
				want = 6 / math.Pi * math.Asin(r/2)
			}
			if got := stat.Correlation(res.outputs[0], res.outputs[2], nil); math.Abs(got-want) > 4/math.Sqrt(m) {
				t.Errorf("%v: r = %g, want %g", shape, got, want)
			}
			if got := stat.Correlation(res.outputs[0], res.outputs[1], nil); math.Abs(got) > 4/math.Sqrt(m) {
				t.Errorf("%v: r = %g between independent inputs", shape, got)
			}
		}
	}
	p := four(Normal, 1, 1)
	p.Correlated = []Correlation{{"X1", "X2", -1}}
	if u := mustMonteCarlo(t, p, sum, Options{Seed: 6}).Outputs[0].Std; u > 1e-7 {
		t.Errorf("u of a sum of opposites = %g, want 0", u)
	}
	if u := mustLinear(t, p, sum, LinearOptions{}).Outputs[0].Std; u > 1e-7 {
		t.Errorf("first order: u of a sum of opposites = %g, want 0", u)
	}
}

// TestWorkers wants the same result to the last bit from any number of workers,
// with failures, curves and an adaptive end, and another one from another seed.
func TestWorkers(t *testing.T) {
	p := Problem{
		Inputs:     []Input{{Name: "a", Value: 1, Std: 0.3}, PlausibleRange("b", 1, 3), Limits("c", 0, 1, Triangular)},
		Correlated: []Correlation{{"a", "b", 0.3}},
		Outputs:    []string{"y", "z"},
	}
	model := func(x, y []float64) error {
		if x[0] < 0.5 {
			return errors.New("too short")
		}
		y[0], y[1] = x[0]*x[1], x[2]-x[0]
		for k := range y[2:] {
			y[2+k] = x[1] * float64(k)
		}
		return nil
	}
	for _, o := range []Options{{Draws: 12_345, Points: 4}, {Digits: 1, Points: 4}} {
		o.Seed, o.Workers = 7, 1
		want := mustMonteCarlo(t, p, model, o)
		print := func(r *Result) string {
			return fmt.Sprint(r.Outputs, r.Draws, r.Failures, r.Stable, r.Doubts, r.Shares(0), r.Shares(1), r.Band(0.05, 0.5, 0.95), r.outputs)
		}
		for _, o.Workers = range []int{2, 3, 7} {
			if got := mustMonteCarlo(t, p, model, o); print(got) != print(want) {
				t.Errorf("%d workers: another result than from one", o.Workers)
			}
		}
		o.Seed = 8
		if print(mustMonteCarlo(t, p, model, o)) == print(want) {
			t.Error("another seed: the same result")
		}
	}
}

// TestStreams wants blocks of random numbers, which an input of few readings takes,
// to be independent of each other and of other seeds: correlations of the χ² of 256
// draws within 4.5 standard errors.
func TestStreams(t *testing.T) {
	in := Input{Name: "x", Std: 1, Freedom: 3}
	chi := func(seed uint64) []float64 {
		r := mustMonteCarlo(t, Problem{Inputs: []Input{in}, Outputs: []string{"y"}}, sum, Options{Seed: seed})
		both, list := newLattices(1, seed, 0), make([]float64, 0, Usual)
		for d, x := range r.outputs[0] {
			point := []float64{0}
			both[d%2].at(d/2, nil, point)
			list = append(list, math.Log(math.Abs(x/distuv.UnitNormal.Quantile(point[0]))))
		}
		return list
	}
	a, b := chi(1), chi(2)
	for from := 0; from+2*block <= len(a); from += block {
		for _, other := range [][]float64{a[from+block : from+2*block], b[from : from+block]} {
			if r := stat.Correlation(a[from:from+block], other, nil); math.Abs(r) > 4.5/math.Sqrt(block) {
				t.Errorf("draws from %d: correlation %g with another block", from, r)
			}
		}
	}
}

// TestShifts: two halves of a round, two rounds and two seeds have shifts of their own.
func TestShifts(t *testing.T) {
	seen := map[uint32]bool{}
	for _, seed := range []uint64{1, 2} {
		for _, first := range []int{0, sequence} {
			for _, l := range newLattices(40, seed, first) {
				for _, input := range l {
					if seen[input.shift] {
						t.Errorf("seed %d, draw %d: a shift that another lattice has", seed, first)
					}
					seen[input.shift] = true
				}
			}
		}
	}
}

// TestCoverage makes 1000 measurements of a known truth and wants the 95 %
// interval to hold it in 92 to 98 % of them, by both methods: k = c d⁴ from a
// length with a normal error and c read five times.
func TestCoverage(t *testing.T) {
	const trials = 1000
	const d, c, ud, uc = 2.0, 3.0, 0.02, 0.1
	rng := rand.New(rand.NewPCG(9, 9))
	model := func(x, y []float64) error { y[0] = x[1] * math.Pow(x[0], 4); return nil }
	var linear, drawn, shortest int
	for trial := range trials {
		read := make([]float64, 5)
		for i := range read {
			read[i] = c + uc*rng.NormFloat64()
		}
		p := Problem{
			Inputs:  []Input{HalfWidth95("d", d+ud*rng.NormFloat64(), normal95*ud), readings("c", read)},
			Outputs: []string{"k"},
		}
		truth := c * math.Pow(d, 4)
		holds := func(i Interval) int {
			if i.Low <= truth && truth <= i.High {
				return 1
			}
			return 0
		}
		linear += holds(mustLinear(t, p, model, LinearOptions{}).Outputs[0].Interval)
		y := mustMonteCarlo(t, p, model, Options{Seed: uint64(trial), Draws: 2000}).Outputs[0]
		drawn += holds(y.Interval)
		shortest += holds(y.Shortest)
	}
	for name, n := range map[string]int{"first order": linear, "Monte Carlo": drawn, "Monte Carlo, shortest": shortest} {
		if share := float64(n) / trials; share < 0.92 || share > 0.98 {
			t.Errorf("%s: the interval holds the truth in %.1f %% of the trials", name, 100*share)
		}
	}
}

// TestIntervals: of an exponential distribution (a lognormal would do as well, but
// has no closed form), the shortest 95 % interval starts at 0 and ends at ln 20,
// the symmetric one goes from -ln 0.975 to -ln 0.025. 200 000 draws place the ends
// within √(p(1-p)/M)/f of 0.0098 (upper) and 0.0003 (lower).
func TestIntervals(t *testing.T) {
	p := Problem{Inputs: []Input{Limits("u", 0, 1, Uniform)}, Outputs: []string{"y"}}
	y := mustMonteCarlo(t, p, func(x, y []float64) error { y[0] = -math.Log(1 - x[0]); return nil }, Options{Seed: 10, Draws: 200_000}).Outputs[0]
	for _, c := range []struct{ got, want, tol float64 }{
		{y.Shortest.Low, 0, 0.003}, {y.Shortest.High, math.Log(20), 0.04},
		{y.Low, -math.Log(0.975), 0.0015}, {y.High, -math.Log(0.025), 0.06}, {y.Median, math.Ln2, 0.01},
	} {
		if math.Abs(c.got-c.want) > c.tol {
			t.Errorf("got %g, want %g", c.got, c.want)
		}
	}
	r := mustMonteCarlo(t, p, sum, Options{Seed: 10, Draws: 200_000, Coverage: 0.8})
	if y := r.Outputs[0]; math.Abs(y.Low-0.1) > 0.003 || math.Abs(y.High-0.9) > 0.003 || math.Abs(y.Shortest.High-y.Shortest.Low-0.8) > 0.005 {
		t.Errorf("80 %% interval of 0..1: %v, shortest %v", y.Interval, y.Shortest)
	}
}

// TestSharesSum: the shares of an additive model are those of the variances and
// sum to 1, within 1 % for the smoothing of the bins and three standard errors.
func TestSharesSum(t *testing.T) {
	p := four(Normal, 3, 1, 2, 0)
	p.Inputs[1].Shape, p.Inputs[2].Shape = Triangular, Uniform
	r := mustMonteCarlo(t, p, sum, Options{Seed: 11})
	want := map[string]float64{"X1": 9.0 / 14, "X3": 4.0 / 14, "X2": 1.0 / 14, "X4": 0}
	var total float64
	var order []string
	for _, s := range r.Shares(0) {
		total += s.Index
		order = append(order, s.Input)
		if math.Abs(s.Index-want[s.Input]) > 3*s.Error+0.01*s.Index {
			t.Errorf("S(%s) = %.4f ± %.4f, want %.4f", s.Input, s.Index, s.Error, want[s.Input])
		}
	}
	if !slices.Equal(order, []string{"X1", "X3", "X2", "X4"}) {
		t.Errorf("order %v", order)
	}
	if math.Abs(total-1) > 0.02 {
		t.Errorf("shares sum to %.4f, want 1", total)
	}
}

// TestSharesDoc holds the comment of Shares to its word at the usual draws: standard
// error below 0.01, below 0.003 without influence, no more than Share.Error, and S low by at most 1 %.
func TestSharesDoc(t *testing.T) {
	const seeds = 60
	for _, s := range []float64{0, 0.1, 0.3, 0.6, 0.9} {
		p := four(Normal, math.Sqrt(s), math.Sqrt(1-s))
		p.Inputs[0].Std = max(p.Inputs[0].Std, 1e-9)
		var got, claimed []float64
		for seed := range seeds {
			x, y := new(float64), new(float64)
			for _, share := range mustMonteCarlo(t, p, sum, Options{Seed: uint64(seed)}).Shares(0) {
				if share.Input == "X1" {
					*x, *y = share.Index, share.Error
				}
			}
			got, claimed = append(got, *x), append(claimed, *y)
		}
		mean, std := stat.MeanStdDev(got, nil)
		limit := 0.01
		if s == 0 {
			limit = 0.003
		}
		if std > limit {
			t.Errorf("S = %g: standard deviation %.4f over seeds, documented below %g", s, std, limit)
		}
		if bias := mean - s; bias < -0.01*s-3*std/math.Sqrt(seeds) || bias > 0.001+3*std/math.Sqrt(seeds) {
			t.Errorf("S = %g: mean %.4f over seeds", s, mean)
		}
		if c := stat.Mean(claimed, nil); c < 0.8*std {
			t.Errorf("S = %g: Share.Error says %.4f, seeds say %.4f", s, c, std)
		}
	}
}

// TestSharesOfMany: of 40 inputs one makes nearly all of u and the others a little. No
// order in the lattice makes another look as if it did.
func TestSharesOfMany(t *testing.T) {
	stds := []float64{6}
	for range 39 {
		stds = append(stds, 0.3)
	}
	p := four(Normal, stds...)
	for seed := range uint64(20) {
		for _, s := range mustMonteCarlo(t, p, sum, Options{Seed: seed}).Shares(0) {
			want := 0.09 / (36 + 39*0.09)
			if s.Input == "X1" {
				want = 36 / (36 + 39*0.09)
			}
			if math.Abs(s.Index-want) > 0.015 {
				t.Errorf("seed %d: S(%s) = %.4f, want %.4f", seed, s.Input, s.Index, want)
			}
		}
	}
}

// TestAdaptive: the stop keeps its promise. Over seeds, the numbers of an adaptive
// run lie within the tolerance δ of the truth in nearly all cases, one digit
// takes fewer draws than two, and an impossible wish is a doubt.
func TestAdaptive(t *testing.T) {
	p := four(Normal, 1.2, 1.6) // u = 2: δ = 0.5 and 0.05
	var bad int
	for seed := range uint64(20) {
		r := mustMonteCarlo(t, p, sum, Options{Seed: seed, Digits: 2, Draws: 500_000})
		if !r.Stable || r.Draws < 2*sequence || r.Draws == 500_000 {
			t.Errorf("seed %d: stable %v after %d draws", seed, r.Stable, r.Draws)
		}
		y := r.Outputs[0]
		for _, d := range []float64{y.Mean, y.Std - 2, y.Low + normal95*2, y.High - normal95*2} {
			if math.Abs(d) > 0.05 {
				bad++
			}
		}
	}
	if bad > 8 { // of 80: two standard deviations are exceeded in one of twenty, and a look too early costs as much again
		t.Errorf("%d of 80 numbers beyond the tolerance", bad)
	}
	one := mustMonteCarlo(t, p, sum, Options{Seed: 1, Digits: 1})
	if one.Draws != 2*sequence || !one.Stable {
		t.Errorf("one digit: %d draws, stable %v", one.Draws, one.Stable)
	}
	// two digits of 0.8: δ = 0.005 takes (2·2.7·0.8/0.005)² = 750 000 random draws or so, as readings are drawn
	rough := Problem{Inputs: []Input{{Name: "x", Std: 0.7, Freedom: 9}}, Outputs: []string{"y"}}
	long := mustMonteCarlo(t, rough, sum, Options{Seed: 1, Digits: 2})
	if !long.Stable || long.Draws < 100_000 {
		t.Errorf("two digits of 0.8: %d draws, stable %v", long.Draws, long.Stable)
	}
	short := mustMonteCarlo(t, rough, sum, Options{Seed: 1, Digits: 2, Draws: 2 * sequence})
	if short.Stable || !strings.Contains(strings.Join(short.Doubts, " "), "still moved") {
		t.Errorf("two digits of 0.8 after two rounds: stable %v, doubts %q", short.Stable, short.Doubts)
	}
	constant := mustMonteCarlo(t, Problem{Inputs: []Input{{Name: "x", Value: 3}}, Outputs: []string{"y"}}, sum, Options{Digits: 2})
	if !constant.Stable || constant.Outputs[0].Std != 0 || constant.Shares(0)[0] != (Share{Input: "x"}) {
		t.Errorf("exact input: %+v, shares %v", constant.Outputs, constant.Shares(0))
	}
}

// TestTolerance is the definition of JCGM 101:2008, 7.9.2 with its examples:
// 0.35 g is 35 × 10⁻² with two digits, δ = 0.005 g; with one digit 4 × 10⁻¹, 0.05 g.
func TestTolerance(t *testing.T) {
	for _, c := range []struct {
		u      float64
		digits int
		want   float64
	}{{0.35, 2, 0.005}, {0.35, 1, 0.05}, {0.00002, 1, 0.000005}, {0.00002, 2, 0.0000005}, {996, 1, 500}, {996, 2, 50}, {94, 1, 5}} {
		if got := tolerance(c.u, c.digits); !close(got, c.want, 1e-12) {
			t.Errorf("tolerance(%g, %d) = %g, want %g", c.u, c.digits, got, c.want)
		}
	}
}

// errLong stands for a limit of the physics.
var errLong = errors.New("compressed past solid")

// TestFailures: draws without an answer are counted by their innermost reason,
// numbers that are not finite too, and the rest is what the model gives.
func TestFailures(t *testing.T) {
	p := Problem{Inputs: []Input{Limits("x", 0, 1, Uniform)}, Outputs: []string{"y"}}
	r := mustMonteCarlo(t, p, func(x, y []float64) error {
		switch {
		case x[0] > 0.8:
			return fmt.Errorf("shot at %g: %w", x[0], errors.Join(errLong, errors.New("second")))
		case x[0] > 0.75:
			y[0] = math.NaN()
		default:
			y[0] = x[0]
		}
		for k := range y[1:] {
			if y[1+k] = 1; x[0] < 0.01 {
				y[1+k] = math.Inf(1)
			}
		}
		return nil
	}, Options{Seed: 12, Points: 1})
	if r.Draws != Usual || r.Failed+len(r.outputs[0]) != r.Draws || math.Abs(float64(r.Failed)-(0.25*Usual+0.01*curvesKept)) > 8 {
		t.Errorf("%d of %d failed, want a quarter, and a hundredth where there are curves", r.Failed, r.Draws)
	}
	var reasons []string
	for _, f := range r.Failures {
		reasons = append(reasons, f.Reason)
	}
	want := []string{"compressed past solid", "y is not a finite number", "a curve is not a finite number"}
	if !slices.Equal(reasons, want) || math.Abs(float64(r.Failures[0].Count)-0.2*Usual) > 8 {
		t.Errorf("failures %v, want %q", r.Failures, want)
	}
	if len(r.Doubts) != 1 || !strings.HasPrefix(r.Doubts[0], "25 % of the draws had no answer (most often: compressed past solid)") {
		t.Errorf("doubts %q", r.Doubts)
	}
	if q := quantile(sortedCopy(r.outputs[0]), 1); q > 0.75 {
		t.Errorf("largest answer %g, want 0.75 at most", q)
	}

	_, err := MonteCarlo(p, perWorker(func(x, y []float64) error { return errLong }), Options{})
	if !errors.Is(err, ErrNoAnswer) || !strings.Contains(err.Error(), "0 of 8192 (most often: compressed past solid)") {
		t.Errorf("no answers at all: %v", err)
	}
	if _, err := Linear(p, func(x, y []float64) error { return errLong }, LinearOptions{}); !errors.Is(err, errLong) {
		t.Errorf("first order without an answer: %v", err)
	}
	edge := func(x, y []float64) error {
		if x[0] > 0.5 {
			return errLong
		}
		y[0] = x[0]
		return nil
	}
	for _, o := range []LinearOptions{{}, {SecondOrder: true}} {
		if _, err := Linear(p, edge, o); !errors.Is(err, errLong) || !strings.Contains(err.Error(), "close to the estimates") {
			t.Errorf("first order at the edge: %v", err)
		}
	}
}

// TestBandOfEnded: curves that have ended do not drag the band down. A curve
// stands at a until its end, uniform from 0 to 10: of those that run at a time the
// band is that of a, the share that runs is 1 - t/10, and none runs after 10.
func TestBandOfEnded(t *testing.T) {
	p := Problem{Inputs: []Input{{Name: "a", Value: 5, Std: 1}, Limits("end", 0, 10, Uniform)}, Outputs: []string{"end"}}
	const points = 12
	r := mustMonteCarlo(t, p, func(x, y []float64) error {
		y[0] = x[1]
		for k := range y[1:] {
			if y[1+k] = x[0]; float64(k) > x[1] {
				y[1+k] = math.NaN()
			}
		}
		return nil
	}, Options{Seed: 5, Points: points})
	band, running := r.Band(0.05, 0.95), r.Running()
	for k := range points - 3 {
		share := 1 - float64(k)/10
		if math.Abs(running[k]-share) > 4*math.Sqrt(share*(1-share)/curvesKept) {
			t.Errorf("point %d: a share of %g runs, want %g", k, running[k], share)
		}
		for i, z := range []float64{-1.644854, 1.644854} {
			if got := band[i][k]; math.Abs(got-5-z) > 4*0.033/math.Sqrt(share) {
				t.Errorf("point %d, line %d: %g, want %g", k, i, got, 5+z)
			}
		}
	}
	if k := points - 1; running[k] != 0 || !math.IsNaN(band[0][k]) || !math.IsNaN(band[1][k]) {
		t.Errorf("after the last end: a share of %g, band %g to %g", running[k], band[0][k], band[1][k])
	}
	wrong := func(x, y []float64) error { y[0], y[1] = math.NaN(), 1; return nil }
	if _, err := MonteCarlo(p, func() Model { return wrong }, Options{Draws: 200, Points: 1}); !errors.Is(err, ErrNoAnswer) {
		t.Errorf("an output that is NaN: %v", err)
	}
}

// TestBandCloseness: of normal curves that hang on twelve inputs, differently
// at every point, the line of p = 0.05 lies at 0.05 ± 0.01 in 95 of 100 runs.
func TestBandCloseness(t *testing.T) {
	const inputs, points, runs = 12, 8, 60
	var p Problem
	p.Outputs = []string{"end"}
	for i := range inputs {
		p.Inputs = append(p.Inputs, Input{Name: string(rune('a' + i)), Value: 0, Std: 1})
	}
	weight := func(i, k int) float64 { return 1 + math.Sin(float64(1+i*(k+2))) }
	sum := func(x []float64, k int) (y float64) {
		for i, v := range x {
			y += v * weight(i, k)
		}
		return y
	}
	close, all := 0, 0
	for seed := range uint64(runs) {
		r := mustMonteCarlo(t, p, func(x, y []float64) error {
			y[0] = sum(x, 0)
			for k := range y[1:] {
				y[1+k] = sum(x, k)
			}
			return nil
		}, Options{Seed: 1 + seed, Draws: 2048, Points: points})
		band := r.Band(0.05, 0.95)
		for k := range points {
			u := 0.0
			for i := range inputs {
				u = math.Hypot(u, weight(i, k))
			}
			for i, want := range []float64{0.05, 0.95} {
				all++
				if math.Abs(distuv.UnitNormal.CDF(band[i][k]/u)-want) <= 0.01 {
					close++
				}
			}
		}
	}
	t.Logf("%d of %d", close, all)
	if float64(close) < 0.95*float64(all) {
		t.Errorf("%d of %d lines lie where they should", close, all)
	}
}

// TestBand: the band of the line y = a + b t is normal at every t, its memory is
// bounded, and a point that never moves has no width.
func TestBand(t *testing.T) {
	p := Problem{Inputs: []Input{{Name: "a", Value: 5, Std: 1}, {Name: "b", Value: 0.5, Std: 0.2}}, Outputs: []string{"end"}}
	const points = 11
	r := mustMonteCarlo(t, p, func(x, y []float64) error {
		for k := range y[1:] {
			y[1+k] = x[0] + x[1]*float64(k)
		}
		if len(y) > points {
			y[points] = 7
		}
		y[0] = x[0] + x[1]*(points-2)
		return nil
	}, Options{Seed: 13, Draws: 30_000, Points: points})
	if r.curved != curvesKept {
		t.Errorf("%d curves kept, want %d", r.curved, curvesKept)
	}
	band := r.Band(0.05, 0.5, 0.95)
	for k := range points - 1 {
		mean, u := 5+0.5*float64(k), math.Hypot(1, 0.2*float64(k))
		for i, z := range []float64{-1.644854, 0, 1.644854} {
			// √(0.05·0.95/4000)/0.103 = 0.033 u, times 4
			if got := band[i][k]; math.Abs(got-mean-z*u) > 4*0.033*u {
				t.Errorf("point %d, line %d: %g, want %g", k, i, got, mean+z*u)
			}
		}
	}
	if band[0][points-1] != 7 || band[2][points-1] != 7 {
		t.Errorf("a fixed point moves: %g to %g", band[0][points-1], band[2][points-1])
	}
	if r := mustMonteCarlo(t, p, sum, Options{}); r.Band(0.5) != nil {
		t.Error("a band without curves")
	}
}

// TestFaults wants every fault named, and all at once.
func TestFaults(t *testing.T) {
	nan := math.NaN()
	good := Input{Name: "x", Value: 1, Std: 1}
	for _, c := range []struct {
		p    Problem
		want []string
	}{
		{Problem{}, []string{"no inputs", "no outputs"}},
		{Problem{Inputs: []Input{{}, {Name: "a", Value: nan, Std: -1, Freedom: 0.5, Shape: 9}}},
			[]string{"without a name", "a: value NaN", "a: standard uncertainty -1", "a: 0.5 degrees", "a: shape 9 is unknown"}},
		{Problem{Inputs: []Input{good, good}}, []string{`two inputs are named "x"`}},
		{Problem{Inputs: []Input{{Name: "b", Value: math.Inf(1), Std: nan, Freedom: nan}}}, []string{"b: value +Inf", "b: standard uncertainty NaN", "b: NaN degrees"}},
		{Problem{Inputs: []Input{{Name: "κ", Value: -1, Std: 1, Shape: Lognormal}}}, []string{"κ: value -1; a lognormal"}},
		{Problem{Inputs: []Input{Tolerance("t", 1, 1, Normal)}}, []string{"t: normal has no limits"}},
		{Problem{Inputs: []Input{Limits("l", 2, 1, Uniform)}}, []string{"l: limits from 2 to 1"}},
		{Problem{Inputs: []Input{Triangle("d", 1, 3, 2)}}, []string{"d: peak 3 in limits from 1 to 2"}},
		{Problem{Inputs: []Input{{Name: "e", Value: 1, Std: 1, Shape: Triangular, Low: 2, High: 4}, {Name: "f", Shape: Uniform, High: 1}}},
			[]string{"e: value 1 in limits from 2 to 4", "f: uniform with limits of its own"}},
		{Problem{Inputs: []Input{PlausibleRange("r", 0, 1)}}, []string{"r: range from 0 to 1"}},
		{Problem{Inputs: []Input{good}, Correlated: []Correlation{{"x", "y", 0}, {"x", "x", 0}}}, []string{`"x" with "y"`, `"x" with "x"`}},
		{Problem{Inputs: []Input{good, {Name: "y"}}, Correlated: []Correlation{{"x", "y", nan}, {"y", "x", 0}}}, []string{"is NaN; want -1 to 1", "given twice"}},
		{Problem{Inputs: four(Normal, 1, 1, 1).Inputs, Correlated: []Correlation{{"X1", "X2", 0.9}, {"X2", "X3", 0.9}, {"X1", "X3", -0.9}}}, []string{"contradict each other"}},
	} {
		_, err := Linear(c.p, sum, LinearOptions{})
		_, err2 := MonteCarlo(c.p, perWorker(sum), Options{})
		checkFaults(t, err, c.want)
		checkFaults(t, err2, c.want)
	}

	p := four(Normal, 1, 1)
	_, err := MonteCarlo(p, perWorker(sum), Options{Digits: -2})
	checkFaults(t, err, []string{"-2 stable digits"})
	_, err = MonteCarlo(p, perWorker(sum), Options{Draws: 10, Digits: 3, Workers: -1, Coverage: nan, Points: -1})
	checkFaults(t, err, []string{"10 draws", "3 stable digits", "two rounds", "-1 workers", "probability NaN", "-1 points"})
	p.Correlated = []Correlation{{"X1", "X2", nan}}
	_, err = Linear(p, sum, LinearOptions{Coverage: 1, SecondOrder: true})
	checkFaults(t, err, []string{"probability 1;", "is NaN"})
	p.Correlated[0].R = 0.5
	_, err = Linear(p, sum, LinearOptions{SecondOrder: true})
	checkFaults(t, err, []string{"independent inputs only"})
}

func checkFaults(t *testing.T, err error, want []string) {
	t.Helper()
	if !errors.Is(err, ErrInput) {
		t.Errorf("error %v, want ErrInput", err)
		return
	}
	for _, w := range want {
		if !strings.Contains(err.Error(), w) {
			t.Errorf("error %q does not name %q", err, w)
		}
	}
}

// TestDoubts: what weakens a result is said with it.
func TestDoubts(t *testing.T) {
	wide := Problem{Inputs: []Input{PlausibleRange("κ", 1, 10), {Name: "few", Value: 1, Std: 1, Freedom: 2}}, Outputs: []string{"y"}}
	r := mustMonteCarlo(t, wide, sum, Options{Draws: 500})
	for i, want := range []string{"500 draws are few", "few rests on three readings"} {
		if len(r.Doubts) != 2 || !strings.Contains(r.Doubts[i], want) {
			t.Errorf("doubts %q, want %q", r.Doubts, want)
		}
	}
	e := mustLinear(t, wide, sum, LinearOptions{})
	if len(e.Doubts) != 1 || !strings.HasPrefix(e.Doubts[0], "κ is known only to within a factor") {
		t.Errorf("doubts %q", e.Doubts)
	}
	wide.Inputs = []Input{{Name: "many", Value: 1, Std: 1, Freedom: 3}}
	if r := mustMonteCarlo(t, wide, sum, Options{}); len(r.Doubts) != 0 {
		t.Errorf("four readings, the usual draws: doubts %q", r.Doubts)
	}
	bent := mustLinear(t, four(Normal, 1), func(x, y []float64) error { y[0] = x[0] * x[0]; return nil }, LinearOptions{SecondOrder: true})
	if len(bent.Doubts) != 1 || !strings.Contains(bent.Doubts[0], "straight line") || !close(bent.Outputs[0].Std, math.Sqrt2, 1e-9) {
		t.Errorf("x² at 0: u = %g, want √2; doubts %q", bent.Outputs[0].Std, bent.Doubts)
	}
}

// TestDecimals: two digits of u from 10 to 29, else one, and nothing printed is
// moved by more than u/5.9: 0.295 is the least that rounds to 0.30, and is
// printed to 0.1.
func TestDecimals(t *testing.T) {
	for _, c := range []struct {
		u    float64
		want int
	}{{0.1, 2}, {0.149, 2}, {0.294, 2}, {0.296, 1}, {0.35, 1}, {0.94, 1}, {0.96, 1}, {0.996, 1}, {1, 1}, {9.6, 0}, {28, 0}, {46, -1}, {200, -1}, {310, -2}} {
		if got := Decimals(c.u); got != c.want {
			t.Errorf("%g: %d, want %d", c.u, got, c.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		u := math.Exp(rapid.Float64Range(-20, 20).Draw(t, "ln u"))
		if half := tolerance(u, Printed); half > u/5.9*(1+1e-9) || half < u/60 {
			t.Errorf("%g rounds to ±%g", u, half)
		}
	})
}
