package uncertain

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// TestIshigami holds Shares to the closed form of the function of T. Ishigami and
// T. Homma (1990), y = sin a + 7 sin² b + 0.1 c⁴ sin a on (-π, π): S = 0.3139,
// 0.4424, 0 with a = 7, b = 0.1 ([SA] 5.4; from the formula below). Neither
// influence of b and c is monotone.
func TestIshigami(t *testing.T) {
	const a, b = 7, 0.1
	pi4 := math.Pow(math.Pi, 4)
	v1 := math.Pow(1+b*pi4/5, 2) / 2
	v2 := a * a / 8.0
	v13 := b * b * pi4 * pi4 * (1.0/18 - 1.0/50)
	want := map[string]float64{"x1": v1 / (v1 + v2 + v13), "x2": v2 / (v1 + v2 + v13), "x3": 0}
	checkPrinted(t, []row{{"S1", want["x1"], "0.3139"}, {"S2", want["x2"], "0.4424"}})

	var p Problem
	p.Outputs = []string{"y"}
	for _, name := range []string{"x1", "x2", "x3"} {
		p.Inputs = append(p.Inputs, Limits(name, -math.Pi, math.Pi, Uniform))
	}
	r := mustMonteCarlo(t, p, func(x, y []float64) error {
		y[0] = math.Sin(x[0]) + a*math.Pow(math.Sin(x[1]), 2) + b*math.Pow(x[2], 4)*math.Sin(x[0])
		return nil
	}, Options{Seed: 1, Draws: 100_000})
	for _, s := range r.Shares(0) {
		if math.Abs(s.Index-want[s.Input]) > 3*s.Error {
			t.Errorf("S(%s) = %.4f ± %.4f, want %.4f", s.Input, s.Index, s.Error, want[s.Input])
		}
		if s.Error > 0.003 { // 2·0.65·0.58/√M at the most
			t.Errorf("S(%s): standard error %.4f", s.Input, s.Error)
		}
	}
	if y := r.Outputs[0]; math.Abs(y.Mean-a/2.0) > 4*y.Std/math.Sqrt(100_000) || !close(y.Std*y.Std, v1+v2+v13, 0.02) {
		t.Errorf("mean %g, variance %g; want %g, %g", y.Mean, y.Std*y.Std, a/2.0, v1+v2+v13)
	}
}

// TestSharesByQuadrature takes the flow time t = μ/(κ(p+1)) with κ lognormal, a
// bent monotone model: S from Gauss integrals of the conditional means. As t is a
// product, Var E(t|κ) = E(μ)²E(1/(p+1))² Var(1/κ), and so on.
func TestSharesByQuadrature(t *testing.T) {
	in := []Input{PlausibleRange("κ", 0.7, 1.4), Tolerance("μ", 1, 0.3, Uniform), {Name: "p", Value: 5, Std: 0.6}}
	factor := []func(x float64) float64{
		func(x float64) float64 { return 1 / x },
		func(x float64) float64 { return x },
		func(x float64) float64 { return 1 / (x + 1) },
	}
	var mean, square [3]float64
	for i, f := range factor {
		mean[i] = expect(in[i], f)
		square[i] = expect(in[i], func(x float64) float64 { return f(x) * f(x) })
	}
	total := square[0]*square[1]*square[2] - math.Pow(mean[0]*mean[1]*mean[2], 2)
	want := map[string]float64{}
	for i := range in {
		j, k := (i+1)%3, (i+2)%3
		want[in[i].Name] = (square[i] - mean[i]*mean[i]) * math.Pow(mean[j]*mean[k], 2) / total
	}

	r := mustMonteCarlo(t, Problem{Inputs: in, Outputs: []string{"t"}}, func(x, y []float64) error {
		y[0] = factor[0](x[0]) * factor[1](x[1]) * factor[2](x[2])
		return nil
	}, Options{Seed: 2, Draws: 50_000})
	for _, s := range r.Shares(0) {
		if math.Abs(s.Index-want[s.Input]) > 3*s.Error+0.01*s.Index {
			t.Errorf("S(%s) = %.4f ± %.4f, quadrature %.4f", s.Input, s.Index, s.Error, want[s.Input])
		}
	}
	// kurtosis of t is below 5: u is uncertain by less than u √(4/4M)
	y := r.Outputs[0]
	if m := mean[0] * mean[1] * mean[2]; math.Abs(y.Mean-m) > 4*y.Std/math.Sqrt(50_000) {
		t.Errorf("mean %g, quadrature %g", y.Mean, m)
	}
	if u := math.Sqrt(total); math.Abs(y.Std/u-1) > 4/math.Sqrt(50_000) {
		t.Errorf("u %g, quadrature %g", y.Std, u)
	}
}

// expect is E f(x) by Gauss quadrature over the normal deviate, independent of
// the way draws are made; for a uniform input over its limits.
func expect(in Input, f func(x float64) float64) float64 {
	if in.Shape == Uniform {
		half := in.Std * math.Sqrt(3)
		return quad.Fixed(f, in.Value-half, in.Value+half, 40, nil, 0) / (2 * half)
	}
	return quad.Fixed(func(s float64) float64 {
		z := math.Sqrt2 * s
		x := in.Value + in.Std*z
		if in.Shape == Lognormal {
			x = in.Value * math.Exp(z*math.Sqrt(math.Log((1+math.Sqrt(1+4*in.Std*in.Std/in.Value/in.Value))/2)))
		}
		return f(x)
	}, math.Inf(-1), math.Inf(1), 40, quad.Hermite{}, 0) / math.Sqrt(math.Pi)
}

// TestEndGaugeByDraws runs the end gauge of JCGM 100 H.1 by Monte Carlo, as JCGM
// 101, 9.5 does: the variance in closed form, with that of Student's t for the
// inputs of few readings and all products.
func TestEndGaugeByDraws(t *testing.T) {
	p, model := endGauge()
	var straight float64
	variance := make([]float64, len(p.Inputs))
	for i, in := range p.Inputs {
		variance[i] = in.Std * in.Std
		if in.Shape == Normal && in.Freedom != 0 {
			variance[i] *= in.Freedom / (in.Freedom - 2)
		}
		if i < 4 {
			straight += variance[i]
		}
	}
	ls, alpha := p.Inputs[0].Value, p.Inputs[4].Value
	theta2 := variance[7] + variance[8] + 0.1*0.1
	bent := ls * ls * (variance[5]*theta2 + variance[6]*(alpha*alpha+variance[4]))
	want := math.Sqrt(straight + bent)

	const draws = 200_000
	l := mustMonteCarlo(t, p, model, Options{Seed: 3, Draws: draws}).Outputs[0]
	if math.Abs(l.Mean-50_000_838) > 4*want/math.Sqrt(draws) {
		t.Errorf("mean %.3f nm, want 50000838", l.Mean)
	}
	if math.Abs(l.Std/want-1) > 4*math.Sqrt(5.0/(4*draws)) { // kurtosis below 6
		t.Errorf("u = %.3f nm, closed form %.3f", l.Std, want)
	}
}

// TestShapesAgainstDistributions compares draws with the distribution functions
// of the library by the largest distance (Kolmogorov and Smirnov): 1.95/√M is
// exceeded once in a thousand times.
func TestShapesAgainstDistributions(t *testing.T) {
	const m = 20_000
	for _, c := range []struct {
		in  Input
		cdf func(float64) float64
	}{
		{Input{Name: "normal", Value: 2, Std: 3}, distuv.Normal{Mu: 2, Sigma: 3}.CDF},
		{Input{Name: "readings", Value: 2, Std: 3, Freedom: 3}, distuv.StudentsT{Mu: 2, Sigma: 3, Nu: 3}.CDF},
		{Limits("uniform", 1, 4, Uniform), distuv.Uniform{Min: 1, Max: 4}.CDF},
		{Limits("triangular", 1, 4, Triangular), distuv.NewTriangle(1, 4, 2.5, nil).CDF},
		{Triangle("lopsided", 1, 2, 4), distuv.NewTriangle(1, 4, 2, nil).CDF},
		{Limits("arcsine", 1, 4, Arcsine), func(x float64) float64 { return distuv.Beta{Alpha: 0.5, Beta: 0.5}.CDF((x - 1) / 3) }},
		{PlausibleRange("lognormal", 1, 4), distuv.LogNormal{Mu: math.Log(2), Sigma: math.Log(4) / 2 / 1.959964}.CDF},
	} {
		r := mustMonteCarlo(t, Problem{Inputs: []Input{c.in}, Outputs: []string{"y"}}, sum, Options{Seed: 4, Draws: m})
		var distance float64
		for i, v := range sortedCopy(r.outputs[0]) {
			distance = max(distance, math.Abs(c.cdf(v)-(float64(i)+0.5)/m))
		}
		if distance > 1.95/math.Sqrt(m) {
			t.Errorf("%s: distance %.4f", c.in.Name, distance)
		}
	}
}

// TestDefaultsAndSample: the zero options are the usual draws at 95 %, and the sample
// is what the summary is of.
func TestDefaultsAndSample(t *testing.T) {
	r := mustMonteCarlo(t, four(Normal, 1), sum, Options{Seed: 5})
	y := r.outputs[0]
	if r.Draws != Usual || len(y) != Usual || r.Seed != 5 || r.Stable {
		t.Errorf("%d draws, %d answers, seed %d, stable %v", r.Draws, len(y), r.Seed, r.Stable)
	}
	mean, std := stat.MeanStdDev(y, nil)
	if s := r.Outputs[0]; s.Mean != mean || s.Std != std || !close(s.Low, quantile(sortedCopy(r.outputs[0]), 0.025), 1e-9) || !close(s.High, quantile(sortedCopy(r.outputs[0]), 0.975), 1e-9) {
		t.Errorf("summary %+v of a sample with %g ± %g", s, mean, std)
	}
}
