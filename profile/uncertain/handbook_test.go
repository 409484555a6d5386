package uncertain

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// endGauge is the end gauge of JCGM 100:2008, H.1, with the difference d of the
// comparator in its three parts (H.1.3.2) and θ = mean + swing (H.1.3.4). Lengths
// in nm, temperatures in K. The book carries u(δα) = 0.58e-6 and u(δθ) = 0.029.
func endGauge() (Problem, Model) {
	p := Problem{
		Inputs: []Input{
			{Name: "standard", Value: 50_000_623, Std: 25, Freedom: 18},
			{Name: "d observed", Value: 215, Std: 5.8, Freedom: 24},
			{Name: "d random", Std: 3.9, Freedom: 5},
			{Name: "d systematic", Std: 6.7, Freedom: 8},
			Limits("α", 9.5e-6, 13.5e-6, Uniform),
			Tolerance("δα", 0, 1e-6, Uniform),
			Tolerance("δθ", 0, 0.05, Uniform),
			{Name: "θ mean", Value: -0.1, Std: 0.2},
			Tolerance("θ swing", 0, 0.5, Arcsine),
		},
		Outputs: []string{"l"},
	}
	p.Inputs[5].Freedom, p.Inputs[6].Freedom = 50, 2
	return p, func(x, y []float64) error {
		ls, d, alpha, dAlpha, dTheta, theta := x[0], x[1]+x[2]+x[3], x[4], x[5], x[6], x[7]+x[8]
		y[0] = ls + d - ls*(dAlpha*theta+alpha*dTheta)
		return nil
	}
}

// TestGUM_H1 is the end-gauge calibration of JCGM 100:2008, H.1.
func TestGUM_H1(t *testing.T) {
	p, model := endGauge()
	e := mustLinear(t, p, model, LinearOptions{Coverage: 0.99})
	l := e.Outputs[0]
	checkPrinted(t, []row{
		{"l, nm (H.1.7)", l.Value, "50000838"},
		{"u(l), nm (eq. H.6c)", l.Std, "32"},
		{"k = t99(16) (H.1.6)", l.Factor, "2.92"},
		{"U99, nm (H.1.6)", (l.High - l.Low) / 2 / l.Std * 32, "93"}, // the book: 2.92 × 32; unrounded 92.5
	})
	if math.Floor(l.Freedom) != 16 {
		t.Errorf("ν = %.4g, the book has 16 (H.1.6)", l.Freedom)
	}

	second := mustLinear(t, p, model, LinearOptions{SecondOrder: true})
	checkPrinted(t, []row{
		{"u(l) with second-order terms, nm (H.1.7)", second.Outputs[0].Std, "34"},
	})
	// The two terms of second order (H.1.7, from memory): lₛ u(δα) u(θ) = 11.7 nm
	// and lₛ u(α) u(δθ) = 1.7 nm.
	checkPrinted(t, []row{
		{"both terms, nm", math.Sqrt(second.Outputs[0].SecondOrder), "11.8"},
	})
}

// TestGUM_H1_Difference is the mean of the five readings, H.1.3.2: u(d) = 9.7 nm
// with 25.6 degrees of freedom.
func TestGUM_H1_Difference(t *testing.T) {
	p, _ := endGauge()
	p.Inputs = p.Inputs[1:4]
	d := mustLinear(t, p, sum, LinearOptions{}).Outputs[0]
	checkPrinted(t, []row{
		{"d, nm", d.Value, "215"},
		{"u(d), nm", d.Std, "9.7"},
		{"ν(d)", d.Freedom * math.Pow(9.7/d.Std, 4), "25.6"}, // the book puts in the rounded 9.7; unrounded 25.4
	})
}

// impedance is the example of JCGM 100:2008, H.2: five simultaneous readings of
// voltage [V], current [A] and phase [rad] (Table H.2; the readings from memory,
// confirmed by the printed means and correlations).
func impedance() (Problem, Model) {
	read := [][]float64{
		{5.007, 4.994, 5.005, 4.990, 4.999},
		{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3},
		{1.0456, 1.0438, 1.0468, 1.0428, 1.0433},
	}
	p := Problem{Outputs: []string{"R", "X", "Z"}}
	for i, name := range []string{"V", "I", "φ"} {
		p.Inputs = append(p.Inputs, readings(name, read[i]))
	}
	for _, ij := range [][2]int{{0, 1}, {0, 2}, {1, 2}} {
		i, j := ij[0], ij[1]
		r := stat.Correlation(read[i], read[j], nil) // of readings taken at the same times ([GUM] 5.2.3)
		p.Correlated = append(p.Correlated, Correlation{A: p.Inputs[i].Name, B: p.Inputs[j].Name, R: r})
	}
	return p, func(x, y []float64) error {
		z := x[0] / x[1]
		y[0], y[1], y[2] = z*math.Cos(x[2]), z*math.Sin(x[2]), z
		return nil
	}
}

func TestGUM_H2(t *testing.T) {
	p, model := impedance()
	in, r := p.Inputs, p.Correlated
	checkPrinted(t, []row{ // Table H.2
		{"V, V", in[0].Value, "4.9990"},
		{"u(V), V", in[0].Std, "0.0032"},
		{"I, mA", in[1].Value * 1e3, "19.6610"},
		{"u(I), mA", in[1].Std * 1e3, "0.0095"},
		{"φ, rad", in[2].Value, "1.04446"},
		{"u(φ), rad", in[2].Std, "0.00075"},
		{"r(V,I)", r[0].R, "-0.36"},
		{"r(V,φ)", r[1].R, "0.86"},
		{"r(I,φ)", r[2].R, "-0.65"},
		{"ν", in[0].Freedom, "4"},
	})

	e := mustLinear(t, p, model, LinearOptions{})
	checkPrinted(t, []row{ // Table H.3
		{"R, Ω", e.Outputs[0].Value, "127.732"},
		{"u(R), Ω", e.Outputs[0].Std, "0.071"},
		{"X, Ω", e.Outputs[1].Value, "219.847"},
		{"u(X), Ω", e.Outputs[1].Std, "0.296"}, // the book prints 0.295: 0.29558 cut off, not rounded
		{"Z, Ω", e.Outputs[2].Value, "254.260"},
		{"u(Z), Ω", e.Outputs[2].Std, "0.236"},
		{"r(R,X)", correlationOf(e, 0, 1), "-0.588"},
		{"r(R,Z)", correlationOf(e, 0, 2), "-0.485"},
		{"r(X,Z)", correlationOf(e, 1, 2), "0.993"},
		{"ν", e.Outputs[0].Freedom, "4"},
	})
	if len(e.Doubts) != 3 {
		t.Errorf("doubts %q, want one for each of the three correlated series", e.Doubts)
	}
}

// TestGUM_H3 is the calibration of a thermometer, JCGM 100:2008, H.3 (Table H.6;
// the readings from memory, confirmed by the printed results): the least-squares
// line b = y1 + y2 (t - 20 °C) as a function of the eleven readings of b, each
// with the standard deviation s of the fit.
func TestGUM_H3(t *testing.T) {
	temperature := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	correction := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	above := make([]float64, len(temperature))
	for i, t := range temperature {
		above[i] = t - 20
	}
	line := func(x, y []float64) error {
		y[0], y[1] = stat.LinearRegression(above, x, nil, false)
		y[2] = y[0] + 10*y[1]
		return nil
	}
	fit := make([]float64, 3)
	if err := line(correction, fit); err != nil {
		t.Fatal(err)
	}
	var squares float64
	for i, b := range correction {
		d := b - fit[0] - fit[1]*above[i]
		squares += d * d
	}
	s := math.Sqrt(squares / float64(len(correction)-2))

	p := Problem{Outputs: []string{"y1", "y2", "b(30 °C)"}}
	for i, b := range correction {
		p.Inputs = append(p.Inputs, Input{Name: fmt.Sprintf("b%d", i+1), Value: b, Std: s})
	}
	e := mustLinear(t, p, line, LinearOptions{})
	checkPrinted(t, []row{ // H.3.3 and H.3.4
		{"s, °C", s, "0.0035"},
		{"y1, °C", e.Outputs[0].Value, "-0.1712"},
		{"s(y1), °C", e.Outputs[0].Std, "0.0029"},
		{"y2", e.Outputs[1].Value, "0.00218"},
		{"s(y2)", e.Outputs[1].Std, "0.00067"},
		{"r(y1,y2)", correlationOf(e, 0, 1), "-0.930"},
		{"b(30 °C), °C", e.Outputs[2].Value, "-0.1494"},
		{"u(b(30 °C)), °C", e.Outputs[2].Std, "0.0041"},
	})
}

// four returns the sum of four inputs of the given shape and deviations.
func four(shape Shape, std ...float64) Problem {
	p := Problem{Outputs: []string{"Y"}}
	for i, s := range std {
		p.Inputs = append(p.Inputs, Input{Name: fmt.Sprintf("X%d", i+1), Std: s, Shape: shape})
	}
	return p
}

// TestJCGM101_9_2 are the additive models of JCGM 101:2008, 9.2.2 to 9.2.4. With
// M = 500 000 draws the standard error is u/√(2M) for u, and √(p(1-p)/M)/f for a
// quantile, f the density there. For Y normal with u = 2, f(3.92) = 0.0292 and
// the error 0.0076; for four rectangles, f is near 0.034 at 3.88: 0.0065. With
// one rectangle ten times as wide f is near 1/34.6 at 17: 0.0076.
func TestJCGM101_9_2(t *testing.T) {
	const draws = 500_000
	for _, c := range []struct {
		clause         string
		problem        Problem
		u, half, first string  // printed: u, half-width of the interval, that of the first-order method
		quantileError  float64 // of one end
	}{
		{"9.2.2", four(Normal, 1, 1, 1, 1), "2.00", "3.92", "3.92", 0.0076},
		{"9.2.3", four(Uniform, 1, 1, 1, 1), "2.00", "3.88", "3.92", 0.0065},
		{"9.2.4", four(Uniform, 1, 1, 1, 10), "10.1", "17.0", "19.9", 0.0076}, // numbers from memory
	} {
		r := mustMonteCarlo(t, c.problem, sum, Options{Seed: 1, Draws: draws})
		y := r.Outputs[0]
		checkDrawn(t, c.clause+" mean", y.Mean, "0.00", y.Std/math.Sqrt(draws))
		checkDrawn(t, c.clause+" u", y.Std, c.u, y.Std/math.Sqrt(2*draws))
		checkDrawn(t, c.clause+" low", y.Low, "-"+c.half, c.quantileError)
		checkDrawn(t, c.clause+" high", y.High, c.half, c.quantileError)

		e := mustLinear(t, c.problem, sum, LinearOptions{}).Outputs[0]
		checkPrinted(t, []row{{c.clause + " u, first order", e.Std, c.u}, {c.clause + " first order", e.High, c.first}})
	}
}

// TestDoebelin3_2 is the power measurement of E. O. Doebelin, Measurement
// Systems, Example 3.2, in newtons and metres. As the book does, the limits of
// error are combined as they stand, once by squares and once in the worst case.
func TestDoebelin3_2(t *testing.T) {
	p := Problem{
		Inputs: []Input{
			{Name: "revolutions", Value: 1202, Std: 1},
			{Name: "force", Value: 45, Std: 0.18},
			{Name: "arm", Value: 0.397, Std: 0.00127},
			{Name: "time", Value: 60, Std: 0.5},
		},
		Outputs: []string{"power"},
	}
	power := func(x, y []float64) error {
		y[0] = 2 * math.Pi * x[0] * x[1] * x[2] / x[3]
		return nil
	}
	e := mustLinear(t, p, power, LinearOptions{}).Outputs[0]
	var worst float64
	for _, term := range e.Budget {
		worst += math.Abs(term.Contribution)
	}
	checkPrinted(t, []row{
		{"by squares, W", e.Std, "22.0753"},
		{"worst case, W", worst, "36.7987"},
	})
}

// TestNIST_TN1900_E13 is the thermal expansion of NIST Technical Note 1900,
// Example E13, with its sensitivities given in closed form too.
func TestNIST_TN1900_E13(t *testing.T) {
	p := Problem{
		Inputs: []Input{
			{Name: "T0", Value: 288.15, Std: 0.02},
			{Name: "L0", Value: 1.4999, Std: 0.0001},
			{Name: "T1", Value: 373.10, Std: 0.05},
			{Name: "L1", Value: 1.5021, Std: 0.0002},
		},
		Outputs: []string{"α"},
	}
	expansion := func(x, y []float64) error {
		y[0] = (x[3] - x[1]) / (x[1] * (x[2] - x[0]))
		return nil
	}
	slopes := func(c *mat.Dense, x []float64) error {
		warm, grown := x[2]-x[0], x[3]-x[1]
		c.SetRow(0, []float64{
			grown / (x[1] * warm * warm), -x[3] / (x[1] * x[1] * warm),
			-grown / (x[1] * warm * warm), 1 / (x[1] * warm),
		})
		return nil
	}
	for _, o := range []LinearOptions{{}, {Jacobian: slopes}} {
		e := mustLinear(t, p, expansion, o).Outputs[0]
		checkPrinted(t, []row{
			{"α, 1/K", e.Value, "1.7266e-5"},
			{"u(α), 1/K", e.Std, "1.76e-6"},
		})
	}
}

// TestWelchSatterthwaite is the sum of 0.57 with 9 degrees of freedom and 0.25
// with infinitely many, as calibration laboratories print it: 12.8.
func TestWelchSatterthwaite(t *testing.T) {
	checkPrinted(t, []row{
		{"ν", WelchSatterthwaite([]float64{0.57, 0.25}, []float64{9, 0}), "12.8"},
		// JCGM 100:2008, G.4.1, example: 0.25 %, 0.57 %, 0.82 % with 9, 4, 14
		// give 19.0 (from memory).
		{"ν, G.4.1", WelchSatterthwaite([]float64{0.25, 0.57, 0.82}, []float64{9, 4, 14}), "19.0"},
	})
	checkPrinted(t, []row{ // JCGM 100:2008, Table G.2
		{"t95(1)", CoverageFactor(0.95, 1), "12.71"},
		{"t95(4)", CoverageFactor(0.95, 4), "2.78"},
		{"t95(12.8), as 12", CoverageFactor(0.95, 12.8), "2.18"},
		{"t95(19)", CoverageFactor(0.95, 19), "2.09"},
		{"t95(∞)", CoverageFactor(0.95, 0), "1.960"},
		{"t99(16)", CoverageFactor(0.99, 16), "2.92"},
		{"t99(∞)", CoverageFactor(0.99, 0), "2.576"},
	})
}

// springTools are three sets of tools: their limits of error of wire and coil
// diameter [m] by DIN 863 (micrometer 4 µm) and DIN 862 (caliper 20 and 30 µm,
// vernier 50 µm), and u(k)/k in percent: where both diameters are measured, and
// where the mean diameter is found as outside less wire.
var springTools = []struct {
	tools              string
	wire, coil         float64
	measured, outerOff string
}{
	{"micrometer and caliper", 4e-6, 30e-6, "2.42", "2.42"},
	{"caliper for both", 20e-6, 20e-6, "2.67", "2.71"},
	{"vernier for both", 50e-6, 50e-6, "3.76", "3.95"},
}

// springInputs are d = 4 mm, another diameter of the coil, n = 7.5 with u = 0.1
// and G = 70 GPa with u = 2 %; u = limit/√3 for the diameters.
func springInputs(wire float64, coil Input) Problem {
	return Problem{
		Inputs: []Input{
			Tolerance("d", 4e-3, wire, Uniform),
			coil,
			{Name: "n", Value: 7.5, Std: 0.1},
			{Name: "G", Value: 70e9, Std: 0.02 * 70e9},
		},
		Outputs: []string{"k"},
	}
}

// rateByMean is k = G d⁴/(8 D³ n) of d, D, n, G.
func rateByMean(x, y []float64) error {
	y[0] = x[3] * math.Pow(x[0], 4) / (8 * math.Pow(x[1], 3) * x[2])
	return nil
}

// rateByOutside is the same of d, OD, n, G with D = OD - d.
func rateByOutside(x, y []float64) error {
	return rateByMean([]float64{x[0], x[1] - x[0], x[2], x[3]}, y)
}

// TestSpringRateBudget wants the percentages worked by hand from
//
//	(u/k)² = (4 u_d/d)² + (3 u_D/D)² + (u_n/n)² + (u_G/G)²
//
// for d and D measured, and for D = OD - d, where d acts twice, from
//
//	(u/k)² = (4/d + 3/D)² u_d² + (3/D)² u_OD² + (u_n/n)² + (u_G/G)²
func TestSpringRateBudget(t *testing.T) {
	for _, c := range springTools {
		measured := springInputs(c.wire, Tolerance("D", 36e-3, c.coil, Uniform))
		outside := springInputs(c.wire, Tolerance("OD", 40e-3, c.coil, Uniform))

		// D = OD - d once more, as an input that errs against d.
		d, od := outside.Inputs[0], outside.Inputs[1]
		mean := Input{Name: "D", Value: 36e-3, Std: math.Hypot(d.Std, od.Std)}
		correlated := springInputs(c.wire, mean)
		correlated.Correlated = []Correlation{{"d", "D", -d.Std / mean.Std}}

		a := mustLinear(t, measured, rateByMean, LinearOptions{}).Outputs[0]
		b := mustLinear(t, outside, rateByOutside, LinearOptions{}).Outputs[0]
		e := mustLinear(t, correlated, rateByMean, LinearOptions{}).Outputs[0]
		checkPrinted(t, []row{
			{c.tools + ": k, N/m", a.Value, "6401"},
			{c.tools + ", both measured: u(k)/k, %", 100 * a.Std / a.Value, c.measured},
			{c.tools + ", D = OD - d", 100 * b.Std / b.Value, c.outerOff},
			{c.tools + ", D correlated", 100 * e.Std / e.Value, c.outerOff},
		})
	}
}

// TestSpringRateByDraws is the caliper for both d and D by Monte Carlo: 2.671 %
// and 6073 to 6741 N/m. With 500 000 draws u/k is uncertain by 2.67/√10⁶ =
// 0.0027 %, an end by 2.7 × 171/√500 000 = 0.65 N/m; the printed ends carry the noise
// of their own draws, taken as no more than that.
func TestSpringRateByDraws(t *testing.T) {
	p := springInputs(20e-6, Tolerance("D", 36e-3, 20e-6, Uniform))
	k := mustMonteCarlo(t, p, rateByMean, Options{Seed: 2, Draws: 500_000}).Outputs[0]
	checkDrawn(t, "u(k)/k, %", 100*k.Std/6401, "2.671", math.Sqrt2*0.0027)
	checkDrawn(t, "low, N/m", k.Low, "6073", math.Sqrt2*0.65)
	checkDrawn(t, "high, N/m", k.High, "6741", math.Sqrt2*0.65)
}
