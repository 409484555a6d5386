package diagnose

import (
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
				hit(&rate, line.Rate, sp.Rate)
				hit(&cocked, line.Cocked, sp.Force(s.Cylinder.Stroke))
				hit(&rest, line.Rest, sp.Preload)
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
