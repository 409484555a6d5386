package tables

import "testing"

func BenchmarkWaterDensity(b *testing.B) {
	for b.Loop() {
		if _, err := WaterDensity(363.15, 10e5); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWaterViscosity(b *testing.B) {
	for b.Loop() {
		if _, err := WaterViscosity(363.15, 965.7); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkStrength(b *testing.B) {
	w, err := WireByName("EN 10270-1 SH")
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := w.Strength(4.1 * mm); err != nil {
			b.Fatal(err)
		}
	}
}
