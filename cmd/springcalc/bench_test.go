package main

import (
	answers "springcalc/cmd/springcalc/internal/answer"
	spreads "springcalc/cmd/springcalc/internal/spread"

	"fmt"
	"os"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile/uncertain"
)

// doubtfulShot is a shot whose machine is that of a sheet.
func doubtfulShot(t testing.TB, text string, sets ...string) *doubtful {
	t.Helper()
	d, err := newDoubtful(testsheet.Build(t, text, sets...), shotQuestion())
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// draw makes draws of a doubtful shot.
func (d *doubtful) draw(t testing.TB, o uncertain.Options) *uncertain.Result {
	t.Helper()
	r, err := uncertain.MonteCarlo(d.problem(), func() uncertain.Model { return d.model(d.Answer()) }, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

const knownShot = "[coffee.known]\nyield = \"42 g ± 1 g\"\ntime = \"45 s ± 1 s\"\n"

// BenchmarkShots draws 100 000 shots on all cores: B/op and allocs/op over
// 100 000 are those of a draw.
func BenchmarkShots(b *testing.B) {
	dimensions, err := os.ReadFile("testdata/dimensions.toml")
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		Name, Text string
		sets       []string
	}{
		{"demo", string(demo.Sheet), nil}, {"dimensions", string(dimensions), nil},
		{"known", string(demo.Sheet) + knownShot, []string{"piston.stroke=24 mm", "coffee.resistance=", "coffee.resistance_at="}},
	} {
		d := doubtfulShot(b, c.Text, c.sets...)
		b.Run(fmt.Sprintf("%s/%d inputs", c.Name, len(d.sources)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				d.draw(b, uncertain.Options{Seed: 1, Draws: 100_000})
			}
		})
	}
}

// BenchmarkSpread is all that --no-spread leaves out of a report: 10 000 draws
// with their curves, band and shares.
func BenchmarkSpread(b *testing.B) {
	m := testsheet.Build(b, string(demo.Sheet))
	for b.Loop() {
		if _, err := answers.Shot(b.Context(), m, answers.ShotOptions{Spread: spreads.Options{Seed: 1}}); err != nil {
			b.Fatal(err)
		}
	}
}
