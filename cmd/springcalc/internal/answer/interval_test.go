package answer

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
)

// TestWithinItsInterval: no value of a shot lies outside its own interval, whatever
// of a machine is stated and whatever is left to the defaults.
func TestWithinItsInterval(t *testing.T) {
	rng := rand.New(rand.NewPCG(14, 3))
	for i := range 40 {
		text, rate, preload := testsheet.Random(rng)
		m := testsheet.Build(t, fmt.Sprintf("[spring]\nrate = \"%.2f N/mm\"\npreload = \"%.0f N\"\n", rate/1e3, preload)+text)
		r, err := Shot(context.Background(), m, ShotOptions{Spread: spread.Options{Draws: 1000, Seed: 1}})
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		for _, row := range r.Rows {
			if b := row.Band; b != nil && b.Std > 0 && !(row.Value >= b.Low && row.Value <= b.High) {
				t.Errorf("machine %d: %s %g, 95 %% interval %g to %g\n%s", i, row.Name, row.Value, b.Low, b.High, text)
			}
		}
	}
}
