package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"

	"springcalc/profile"
)

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

// TestTogether: what is each log's own falls with their number, but not below how far they
// stand apart; what they have in common does not.
func TestTogether(t *testing.T) {
	reading := func(value, own, common float64) Reading { return Reading{Around(value, math.Hypot(own, common)), own} }
	for _, c := range []struct {
		all           []Reading
		value, own, u float64
	}{
		{[]Reading{reading(27, 3, 4)}, 27, 3, 5},
		{[]Reading{reading(27, 4, 0), reading(27, 4, 0), reading(27, 4, 0), reading(27, 4, 0)}, 27, 2, 2},
		{[]Reading{reading(27, 0, 4), reading(27, 0, 4), reading(27, 0, 4), reading(27, 0, 4)}, 27, 0, 4},
		{[]Reading{reading(27, 6, 4), reading(27, 6, 4), reading(27, 6, 4), reading(27, 6, 4)}, 27, 3, 5},
		{[]Reading{reading(24, 1, 4), reading(30, 1, 4)}, 27, 3, 5}, // s = 6/√2, s/√2 = 3
	} {
		got := Together(c.all)
		if math.Abs(got.Value-c.value) > 1e-12 || math.Abs(got.Own-c.own) > 1e-12 || math.Abs(got.U()-c.u) > 1e-12 {
			t.Errorf("%d readings: %g, own %g, u %g, want %g, %g, %g", len(c.all), got.Value, got.Own, got.U(), c.value, c.own, c.u)
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
