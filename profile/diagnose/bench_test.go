package diagnose

import (
	"math/rand/v2"
	"testing"

	"springcalc/spring"
)

// BenchmarkReadLine reads logs of 400 and of a million rows.
func BenchmarkReadLine(b *testing.B) {
	for _, c := range []struct {
		name  string
		every float64
	}{{"400 rows", 0.1}, {"1e6 rows", 4.6e-5}} {
		n := usual
		n.every = c.every
		s := cafe()
		l := logOf(b, s, n, rand.New(rand.NewPCG(1, 1))).without(false, true)
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ReadLine(l, s, Options{Seed: 1}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(l))*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
		})
	}
}

func BenchmarkRank(b *testing.B) {
	m := cafeMachine()
	data := []Measured{{Kind: Peak, Measured: spring.Measured{Value: 6.5 * bar, U: 0.2 * bar}}}
	for b.Loop() {
		if _, err := Rank(m, data, UsualPrior()); err != nil {
			b.Fatal(err)
		}
	}
}
