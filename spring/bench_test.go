package spring

import "testing"

// BenchmarkForce is what a search over springs does most.
func BenchmarkForce(b *testing.B) {
	for b.Loop() {
		if _, err := valve.Force(35e-3); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkFitBench(b *testing.B) {
	points := []Point{{65e-3, 210}, {60e-3, 281}, {55e-3, 349}, {50e-3, 421}, {45e-3, 489}}
	for b.Loop() {
		if _, err := FitBench(points); err != nil {
			b.Fatal(err)
		}
	}
}
