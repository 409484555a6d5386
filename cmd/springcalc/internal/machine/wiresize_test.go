package machine

import (
	"errors"
	"math"
	"strings"
	"testing"

	"springcalc/spring"
	"springcalc/tables"
)

// Every field of a wire comes from the tables, by the rules of its source, and an
// allowable share with the stress factor that its source uses: Shigley, 10th ed.,
// Table 10-6, tempered wire 0.50 with Bergsträsser's, preset 0.65 with direct shear (from memory);
// EN 13906-1 0.50 cocked and 0.56 solid without correction (from memory).
func TestWireFor(t *testing.T) {
	for _, c := range []struct {
		grade         string
		options       WireOptions
		cocked, solid string
		safety        float64
		preset        bool
		factor        spring.Factor
		shares        [2]float64 // cocked, solid
	}{
		{"A401", WireOptions{Celsius: 70}, "Shigley, before presetting", "Shigley, before presetting", 1.2, false, spring.Bergstrasser, [2]float64{0.50, 0.50}},
		{"A401", WireOptions{Preset: true, Celsius: 70}, "Shigley, after presetting", "Shigley, after presetting", 1.2, true, spring.DirectShear, [2]float64{0.65, 0.65}},
		{"EN 10270-1 DH", WireOptions{Celsius: 70}, "EN 13906-1, static", "EN 13906-1, preset", 1, true, spring.NoCorrection, [2]float64{0.50, 0.56}},
	} {
		w, err := tables.WireByName(c.grade)
		if err != nil {
			t.Fatal(err)
		}
		got, err := WireFor(w, 8e-3, c.options)
		if err != nil {
			t.Fatal(err)
		}
		strength, err := w.Strength(8e-3)
		if err != nil {
			t.Fatal(err)
		}
		for i, criterion := range []spring.Criterion{got.Cocked.Criterion, got.Solid.Criterion} {
			if criterion.Factor() != c.factor || criterion.Allowable(1) != c.shares[i] {
				t.Errorf("%s: %.2f with %v, want %.2f with %v", criterion.Name(), criterion.Allowable(1), criterion.Factor(), c.shares[i], c.factor)
			}
		}
		if got.Cocked.Criterion.Name() != c.cocked || got.Solid.Criterion.Name() != c.solid || got.Preset != c.preset ||
			got.Cocked.Safety != c.safety || got.Solid.Safety != c.safety || got.Tensile != strength.Min ||
			math.Abs(got.Endurance.UltimateShear/(0.67*strength.Min)-1) > 1e-12 || got.Most != 8.045e-3 ||
			got.Softening != w.GTemp || got.Density != w.Density ||
			strings.Contains(got.Evidence, "before set") != (c.cocked == "Shigley, before presetting") || !strings.Contains(got.Evidence, "tensile strength") {
			t.Errorf("%+v: %+v", c, got)
		}
	}
	music, err := tables.WireByName("A228")
	if err != nil {
		t.Fatal(err)
	}
	cold, err := WireFor(music, 4e-3, WireOptions{Celsius: 70})
	if err != nil || len(cold.Life) != 3 || cold.Life[0].Share != 0.36 || cold.Relaxation.Stress == 0 || cold.Relaxation.Law.RefLoss != 0.05 {
		t.Errorf("%+v %v", cold, err)
	}
	hot, err := WireFor(music, 4e-3, WireOptions{Celsius: 200, Peened: true}) // past the screening limit of 250 °F
	if err != nil || hot.Relaxation.Stress != 0 || hot.Life[0].Share != 0.42 || !hot.Peened {
		t.Errorf("%+v %v", hot, err)
	}
	if _, err := WireFor(music, 40e-3, WireOptions{}); !errors.Is(err, tables.ErrRange) {
		t.Errorf("music wire of 40 mm: %v", err)
	}
}
