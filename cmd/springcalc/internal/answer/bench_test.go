package answer

import (
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
)

// BenchmarkShot is a shot with its 10 000 draws, their curves, band and shares.
func BenchmarkShot(b *testing.B) {
	m := testsheet.Build(b, string(demo.Sheet))
	for b.Loop() {
		if _, err := Shot(b.Context(), m, ShotOptions{Spread: spread.Options{Seed: 1}}); err != nil {
			b.Fatal(err)
		}
	}
}
