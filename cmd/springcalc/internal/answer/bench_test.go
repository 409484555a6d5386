package answer

import (
	"fmt"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
)

// BenchmarkShot is a shot with its draws, their curves, band and shares: of the
// demo, and with a known shot calibrated in every draw; as usual, and by 100 000.
func BenchmarkShot(b *testing.B) {
	for _, c := range []struct {
		name, more string
		sets       []string
	}{
		{"demo", "", nil},
		{"known", testsheet.KnownShot, []string{"piston.stroke=24 mm", "coffee.resistance=", "coffee.resistance_at="}},
	} {
		m := testsheet.Build(b, string(demo.Sheet)+c.more, c.sets...)
		for _, draws := range []int{spread.Usual, 100_000} {
			b.Run(fmt.Sprintf("%s/%d", c.name, draws), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					if _, err := Shot(b.Context(), m, ShotOptions{Spread: spread.Options{Draws: draws, Seed: 1}}); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
