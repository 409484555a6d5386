package profile_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"

	"springcalc/profile"
)

// measured is what Waszkiewicz et al. 2026 measured at one pressure over the bed:
// 18.5 g in 56 mm at 90 °C, means of 3 to 10 shots, times from pressure on.
type measured struct {
	bar            float64     // pressure over the bed [bar]
	first, firstSD float64     // time to 0.3 g in the cup, and its scatter from shot to shot [s]
	gram           float64     // time to 1 g [s]
	full, fullSD   float64     // time to 37 g [s]; 0 where it was not reached
	flow           [6]float64  // after flowAt [g/s]
	plateau, error float64     // flow from 90 to 100 s, and the standard error of that mean [g/s]
	ratio          [10]float64 // R over its plateau at ratioAt; 0 where not worked out [-]
	cup            [7]float64  // mass in the cup at cupAt [g]; 0 where not worked out
}

var (
	flowAt  = [6]float64{15, 20, 25, 30, 40, 50}                 // [s]
	ratioAt = [10]float64{0.5, 1, 2, 4, 8, 12, 18.5, 27, 37, 55} // [g]
	cupAt   = [7]float64{15, 20, 25, 30, 40, 60, 100}            // [s]
)

// beds are computed from their released data (Zenodo 10.5281/zenodo.18046315). No scatter
// is stated for "about 120 s": 15 % is a reading.
var beds = []measured{
	{0.76, 20.7, 4.1, 27.7, 0, 0, [6]float64{0.02, 0.07, 0.10, 0.13, 0.13, 0.12}, 0.109, 0.01, [10]float64{}, [7]float64{}},
	{1.48, 14, 4, 18, 120, 18, [6]float64{0.26, 0.29, 0.34, 0.34, 0.28, 0.28}, 0.360, 0.02, [10]float64{}, [7]float64{}},
	{3.04, 10.1, 1.1, 12.5, 43.7, 4.0, [6]float64{0.57, 0.95, 1.26, 1.38, 1.37, 1.29}, 1.002, 0.06, [10]float64{3.7, 2.8, 1.9, 1.4, 0.92, 0.82, 0.73, 0.74, 0.75, 0.84}, [7]float64{}},
	{3.69, 11.6, 1.5, 14.0, 41.2, 2.6, [6]float64{0.47, 0.90, 1.38, 1.67, 1.67, 1.52}, 1.640, 0.07, [10]float64{}, [7]float64{}},
	{4.51, 11.8, 1.4, 14.3, 40.0, 2.0, [6]float64{0.43, 0.84, 1.41, 1.84, 1.93, 1.89}, 2.027, 0.04, [10]float64{}, [7]float64{}},
	{5.60, 11.7, 1.7, 14.3, 39.0, 3.6, [6]float64{0.42, 0.90, 1.45, 1.88, 2.16, 2.17}, 2.065, 0.05, [10]float64{9.4, 6.3, 4.0, 2.6, 1.68, 1.37, 1.12, 1.01, 0.96, 0.96}, [7]float64{1.4, 4.6, 10.5, 19.0, 39.9, 0, 0}},
	{6.72, 13.7, 1.4, 17.1, 44.6, 3.1, [6]float64{0.20, 0.45, 0.85, 1.32, 2.01, 2.12}, 1.945, 0.03, [10]float64{}, [7]float64{}},
	{7.57, 13.1, 3.2, 16.7, 46.4, 3.6, [6]float64{0.21, 0.43, 0.76, 1.14, 1.83, 1.97}, 1.819, 0.05, [10]float64{}, [7]float64{}},
	{8.71, 15.7, 2.2, 19.1, 48.5, 4.0, [6]float64{0.14, 0.34, 0.61, 0.94, 1.74, 1.99}, 1.863, 0.04, [10]float64{10.9, 7.0, 4.9, 3.0, 1.96, 1.46, 1.15, 1.01, 0.96, 0.95}, [7]float64{0.3, 1.5, 3.7, 7.6, 21.6, 60.4, 136}},
	{10.42, 14.6, 1.3, 18.9, 50.7, 2.6, [6]float64{0.12, 0.32, 0.53, 0.87, 1.49, 1.85}, 1.815, 0.02, [10]float64{11.2, 7.0, 4.8, 3.1, 1.98, 1.54, 1.26, 1.06, 0.98, 0.97}, [7]float64{}},
	{12.39, 16.8, 2.3, 20.6, 55.5, 3.3, [6]float64{0.09, 0.23, 0.39, 0.61, 1.22, 1.60}, 1.610, 0.02, [10]float64{8.9, 7.0, 4.7, 3.1, 1.96, 1.51, 1.18, 1.04, 0.98, 0.97}, [7]float64{}},
}

// fitted are the six numbers of the law that the rows of beds fix.
type fitted struct {
	r    float64 // R at 9 bar [Pa·s/m³]
	n    float64 // loading exponent [-]
	b    float64 // blocking [-]
	c    float64 // decay of the blocking, cup over dose [-]
	low  float64 // low-pressure exponent [-]
	wets float64 // T_0: time in which that rig and bed fill and wet below the threshold [s]
}

func (f fitted) array() [6]float64 { return [6]float64{f.r, f.n, f.b, f.c, f.low, f.wets} }

func fittedOf(x [6]float64) fitted { return fitted{x[0], x[1], x[2], x[3], x[4], x[5]} }

// shippedFit is the middle of the shipped parameters.
var shippedFit = fitted{4.78e11, 1.10, 0.386, 0.385, 0.67, 10.8}

// predicted is a shot at constant pressure by the engine.
type predicted struct {
	first, gram, full float64 // as measured has them
	flow              [6]float64
	plateau           float64
	ratio             [10]float64
	cup               [7]float64
}

// predict runs the engine at a constant pressure [bar]. The rig's filling is its
// own, so the time of the front is that of the fit.
func (f fitted) predict(t *testing.T, pressure float64) (p predicted) {
	s := constant(t, pressure*bar)
	c := &s.Coffee
	c.Resistance, c.Loading, c.Blocking, c.BlockingBy, c.Low = f.r, f.n, f.b, f.c, f.low
	c.Unloading = 0 // the pressure does not fall
	s.Pulls[0].EndCup = 160 * g
	shot, err := profile.Run(s)
	if err != nil {
		t.Fatal(err)
	}
	shift := f.wets*math.Pow(max(1, pressure/4), f.n/3) - shot.FrontThrough
	at := func(seconds float64) float64 { return shot.At(seconds - shift).Cup }
	flow := func(cup float64) float64 {
		return s.Water.Density * pressure * bar / s.BedResistance(profile.Sample{Pressure: pressure * bar, Cup: cup}, pressure*bar) / g
	}
	reaches := func(cup float64) float64 { // by bisection over the table
		low, high := shot.FrontThrough, shot.Total
		if shot.Yield < cup {
			return math.Inf(1)
		}
		for range 50 {
			if mid := (low + high) / 2; shot.At(mid).Cup < cup {
				low = mid
			} else {
				high = mid
			}
		}
		return high + shift
	}
	p.first, p.gram, p.full = reaches(0.3*g), reaches(1*g), reaches(37*g)
	running := func(seconds float64) float64 {
		if seconds-shift <= shot.FrontThrough {
			return 0
		}
		return flow(at(seconds))
	}
	for i, seconds := range flowAt {
		p.flow[i] = running(seconds)
	}
	p.plateau = running(95)
	for i, cup := range ratioAt {
		p.ratio[i] = flow(1) / flow(cup*g)
	}
	for i, seconds := range cupAt {
		p.cup[i] = at(seconds) / g
	}
	return p
}

// residuals appends predicted less measured over what a row may scatter by: times
// by their scatter (1 g by that of the first drop), flows by 8 %, by what the scatter of the first
// drop makes of them and by 0.02 g/s, the plateau by 2.2 standard errors or
// 3 %, R over its plateau by 15 % (35 % under 2 g), the cup by 7 %.
func (m *measured) residuals(p predicted, out []float64) []float64 {
	add := func(got, want, scatter float64) { out = append(out, (got-want)/scatter) }
	add(p.first, m.first, m.firstSD)
	add(p.gram, m.gram, m.firstSD)
	if m.full > 0 {
		add(min(p.full, 1e3), m.full, m.fullSD)
	}
	for i, q := range m.flow {
		add(p.flow[i], q, math.Hypot(math.Hypot(0.08*q, rise(flowAt[:], m.flow[:], i)*m.firstSD), 0.02))
	}
	add(p.plateau, m.plateau, max(2.2*m.error, 0.03*m.plateau))
	for i, r := range m.ratio {
		share := 0.15
		if ratioAt[i] < 2 {
			share = 0.35
		}
		if r > 0 {
			add(p.ratio[i], r, share*r)
		}
	}
	for i, cup := range m.cup {
		if cup > 0 {
			add(p.cup[i], cup, math.Hypot(0.07*cup, rise(cupAt[:], m.cup[:], i)*m.firstSD))
		}
	}
	return out
}

// rise returns the slope of a measured column about row i, by its neighbours.
func rise(at, v []float64, i int) float64 {
	low, high := max(0, i-1), min(len(v)-1, i+1)
	if v[high] == 0 {
		high = i
	}
	return (v[high] - v[low]) / (at[high] - at[low])
}

// fitBeds fits the six numbers to rows by least squares (Levenberg and
// Marquardt, slopes by differences), and returns the sum of squares and the number of rows.
func fitBeds(t *testing.T, rows []measured, start fitted) (best fitted, squares float64, count int) {
	all := func(x [6]float64) []float64 {
		var out []float64
		for i := range rows {
			out = rows[i].residuals(fittedOf(x).predict(t, rows[i].bar), out)
		}
		return out
	}
	sum := func(r []float64) (s float64) {
		for _, v := range r {
			s += v * v
		}
		return s
	}
	x := start.array()
	r := all(x)
	squares, damp := sum(r), 1e-3
	for range 30 {
		slope := mat.NewDense(len(r), len(x), nil)
		for j := range x {
			y := x
			step := 1e-4 * x[j]
			y[j] += step
			for i, v := range all(y) {
				slope.Set(i, j, (v-r[i])/step*x[j])
			}
		}
		var normal mat.Dense
		normal.Mul(slope.T(), slope)
		var right mat.VecDense
		right.MulVec(slope.T(), mat.NewVecDense(len(r), r))
		before := squares
		for ; damp < 1e6; damp *= 10 {
			damped := mat.DenseCopyOf(&normal)
			for j := range x {
				damped.Set(j, j, normal.At(j, j)*(1+damp)+1e-9)
			}
			var by mat.VecDense
			if by.SolveVec(damped, &right) != nil {
				continue
			}
			y := x
			for j := range y {
				y[j] *= 1 - max(-0.5, min(0.5, by.AtVec(j)))
			}
			if trial := all(y); sum(trial) < squares {
				x, r, squares, damp = y, trial, sum(trial), damp/10
				break
			}
		}
		if before-squares < 1e-5*squares {
			break
		}
	}
	return fittedOf(x), squares, len(r)
}

// TestBedsFitted: the six shipped numbers are those that the 171 rows of all
// pressures fix, found again here. The threshold of 4 bar, Kozeny's power of 3, the blocking in
// proportion to the pressure below it and the front's n/3 were chosen on these rows too, so what a fit
// shows is that they can be described, not that anything is predicted.
func TestBedsFitted(t *testing.T) {
	best, squares, rows := fitBeds(t, beds, fitted{r: 4e11, n: 0.9, b: 0.3, c: 0.3, low: 0.5, wets: 9})
	t.Logf("%+v; %d rows, χ² %.2f per degree of freedom", best, rows, squares/float64(rows-6))
	for i, name := range [6]string{"R at 9 bar", "n", "b_t", "c", "n_l", "T_0"} {
		near(t, name, shippedFit.array()[i], best.array()[i], 0.015) // rounded, to 1 %
	}
}

// What the law claims for a mean at a pressure that it has not seen, as a standard deviation [-].
const (
	ofFull     = 0.05 // of the time to 37 g
	ofBetween  = 0.07 // of the time from the first drop to 37 g, above 3 bar
	ofFirst    = 0.15 // of the time to the first drop; 0.11 above 3 bar
	ofFirstTop = 0.11
	ofPlateau  = 0.10 // of the flow after 90 to 100 s
)

// TestBedsPredicted predicts each pressure from a fit to the ten others: both
// intervals, pressure on to 37 g and first drop (0.3 g) to 37 g, with first drop and plateau.
// The rms errors are those claimed, to a half of their last digit, and no mean, but for
// one first drop, lies further off than two standard deviations of claim and mean together. The stated scatter is that of
// shots; of 3 to 10 shots a mean was taken, for which 3 are reckoned here.
//
// For that coffee, grind, dose and rig only. Of the ten mean times to 37 g two lie
// beyond two standard errors of a mean of three shots, and three of ten shots: the
// law is near to them, not true to them. Shots at falling pressure it does not touch.
func TestBedsPredicted(t *testing.T) {
	var squares, count [5]float64
	add := func(which int, off float64) { squares[which] += off * off; count[which]++ }
	var means, ofThree, ofTen int
	for i, row := range beds {
		others := append(append([]measured(nil), beds[:i]...), beds[i+1:]...)
		fit, _, _ := fitBeds(t, others, shippedFit)
		p := fit.predict(t, row.bar)
		t.Logf("%5.2f bar: 37 g %5.1f (%.1f ± %.1f) s, from first drop %5.1f (%.1f) s, first drop %4.1f (%.1f ± %.1f) s, plateau %.2f (%.2f ± %.2f) g/s",
			row.bar, p.full, row.full, row.fullSD, p.full-p.first, row.full-row.first, p.first, row.first, row.firstSD, p.plateau, row.plateau, row.error)
		within := func(what string, got, want, claim, error float64) {
			if off := math.Abs(got - want); off > 2*math.Hypot(claim*got, error) {
				t.Errorf("%g bar: %s %.3g, measured %.3g ± %.2g", row.bar, what, got, want, error)
			}
		}
		three := math.Sqrt(3)
		add(2, p.first/row.first-1)
		add(4, p.plateau/row.plateau-1)
		if row.bar > 1 { // at 0.76 bar it comes a third too early: the law has no pressure in the wetting below 4 bar
			within("first drop", p.first, row.first, ofFirst, row.firstSD/three)
		}
		within("plateau", p.plateau, row.plateau, ofPlateau, row.error)
		if row.bar > 3 {
			add(3, p.first/row.first-1)
		}
		if row.full == 0 {
			continue
		}
		add(0, p.full/row.full-1)
		within("time to 37 g", p.full, row.full, ofFull, row.fullSD/three)
		within("first drop to 37 g", p.full-p.first, row.full-row.first, ofBetween, row.fullSD/three)
		if row.bar > 3 {
			add(1, (p.full-p.first)/(row.full-row.first)-1)
		}
		means++
		off := math.Abs(p.full - row.full)
		if off <= 2*row.fullSD/three {
			ofThree++
		}
		if off <= 2*row.fullSD/math.Sqrt(10) {
			ofTen++
		}
	}
	for i, name := range [5]string{"time to 37 g", "first drop to 37 g", "first drop", "first drop above 3 bar", "plateau"} {
		claim := [5]float64{ofFull, ofBetween, ofFirst, ofFirstTop, ofPlateau}[i]
		rms := math.Sqrt(squares[i] / count[i])
		t.Logf("%s: %.1f %% rms of %.0f", name, 100*rms, count[i])
		if rms > claim+0.005 {
			t.Errorf("%s: %.1f %% rms, claimed %.0f %%", name, 100*rms, 100*claim)
		}
	}
	t.Logf("%d mean times to 37 g: %d within two standard errors of three shots, %d of ten", means, ofThree, ofTen)
}
