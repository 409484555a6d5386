package spread

import (
	"fmt"
	"os"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile/uncertain"
)

// BenchmarkShots draws 100 000 shots on all cores: B/op and allocs/op over
// 100 000 are those of a draw.
func BenchmarkShots(b *testing.B) {
	dimensions, err := os.ReadFile("../../testdata/dimensions.toml")
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		name, text string
		sets       []string
	}{
		{"demo", string(demo.Sheet), nil}, {"dimensions", string(dimensions), nil},
		{"known", string(demo.Sheet) + testsheet.KnownShot, []string{"piston.stroke=24 mm", "coffee.resistance=", "coffee.resistance_at="}},
	} {
		d := doubtfulShot(b, c.text, c.sets...)
		b.Run(fmt.Sprintf("%s/%d inputs", c.name, len(d.sources)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := uncertain.MonteCarlo(d.problem(), func() uncertain.Model { return d.model(d.answer()) }, uncertain.Options{Seed: 1, Draws: 100_000})
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
