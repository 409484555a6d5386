package diagnose

import "testing"

// BenchmarkInfer diagnoses from a peak alone, where every set of faults must be
// weighed, and from five readings.
func BenchmarkInfer(b *testing.B) {
	m, p := cafeMachine(), judged(b)
	fresh := Observe(Peak, 8.6*bar, 0.15*bar)
	fresh.New = true
	for _, c := range []struct {
		name string
		list []Observation
	}{
		{"peak alone", []Observation{fresh, Observe(Peak, 6.5*bar, 0.15*bar)}},
		{"five readings", []Observation{fresh, Observe(Peak, 6.5*bar, 0.15*bar), Observe(EndPress, 3.2*bar, 0.15*bar), Observe(FreeLength, 0.143, 0.2*mm), Observe(Drag, 200, 10)}},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Infer(&Case{Machine: m, Readings: c.list, Priors: p}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
