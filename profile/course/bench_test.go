package course

import (
	"math/rand/v2"
	"testing"
)

func benchmark(b *testing.B, n int) {
	_, l := simulate(rand.New(rand.NewPCG(9, 9)), simOptions{law: Set, n: n, span: 12, wild: 0.03})
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Weigh(l); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTwoReadings(b *testing.B)     { benchmark(b, 2) }
func BenchmarkTenReadings(b *testing.B)     { benchmark(b, 10) }
func BenchmarkHundredReadings(b *testing.B) { benchmark(b, 100) }

// BenchmarkWorkshop weighs a life of ten readings with all processors at work: the
// time of one machine among many.
func BenchmarkWorkshop(b *testing.B) {
	_, l := simulate(rand.New(rand.NewPCG(9, 9)), simOptions{law: Wear, n: 10, span: 12, wild: 0.03})
	b.RunParallel(func(pb *testing.PB) {
		for pb.Next() {
			if _, err := Weigh(l); err != nil {
				b.Error(err)
			}
		}
	})
}
