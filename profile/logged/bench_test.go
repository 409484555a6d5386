package logged

import (
	"math/rand/v2"
	"testing"
)

// BenchmarkReadLine reads logs of some hundred rows and of a million.
func BenchmarkReadLine(b *testing.B) {
	for _, c := range []struct {
		name string
		rows int
	}{{"400 rows", 400}, {"1e6 rows", 1_000_000}} {
		rng := rand.New(rand.NewPCG(1, 1))
		m, s, o := sound(rng)
		m.every, m.stepP, m.wildEvery = 0.1, 0, 0
		l := stretchTo(m.log(rng), c.rows, rng)
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ReadLine(l, s, o); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(len(l))*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
		})
	}
}

// BenchmarkFitPuck fits one log of a thousand rows.
func BenchmarkFitPuck(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	m, s, o := soundPuck(rng)
	m.every, m.stepP, m.wildEvery = 0.1, 0, 0
	l := stretchTo(m.log(rng), 1000, rng)
	for b.Loop() {
		if _, err := FitPuck([]Log{l}, s, o, UsualBed(s)); err != nil {
			b.Fatal(err)
		}
	}
}

// stretchTo returns a log with a number of rows, by straight lines between
// those there are, with noise of its own.
func stretchTo(l Log, rows int, rng *rand.Rand) Log {
	out := make(Log, rows)
	for i := range out {
		x := float64(i) / float64(rows) * float64(len(l)-1)
		j := int(x)
		x -= float64(j)
		a, b := l[j], l[j+1]
		out[i] = Row{a.Time + x*(b.Time-a.Time), a.Pressure + x*(b.Pressure-a.Pressure) + 0.02*bar*rng.NormFloat64(), a.Cup + x*(b.Cup-a.Cup), missing}
	}
	return out
}

func BenchmarkSame(b *testing.B) {
	rng := rand.New(rand.NewPCG(1, 1))
	m, _, _ := sound(rng)
	m.every = 0.1
	l := m.log(rng)
	other := m.log(rng)
	for b.Loop() {
		if Same(l, other) || !Same(l, l) {
			b.Fatal("taken for another")
		}
	}
}
