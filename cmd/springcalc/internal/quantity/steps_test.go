package quantity

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestSteps(t *testing.T) {
	for _, c := range []struct {
		from, to, step string
		dim            *Dimension
		want           string
	}{
		{"600 N", "700 N", "50 N", DimForce, "600 N|650 N|700 N"},
		{"0.1 mm", "0.4 mm", "0.1 mm", DimLength, "0.1 mm|0.2 mm|0.3 mm|0.4 mm"},
		{"90 °C", "88 °C", "1 K", DimTemperature, "90 °C|89 °C|88 °C"},
		{"190 °F", "194 °F", "2 °F", DimTemperature, "190 °F|192 °F|194 °F"},
		{"-1", "1", "1", DimNumber, "-1|0|1"},
		{"14 g", "14 g", "1 g", DimMass, "14 g"},
		{"1 in", "26.4 mm", "0.5 mm", DimLength, "1 in|1.01968503937 in|1.03937007874 in"},
		{"-0.3 N", "0.3 N", "0.1 N", DimForce, "-0.3 N|-0.2 N|-0.1 N|0 N|0.1 N|0.2 N|0.3 N"},
	} {
		got, err := Steps(c.from, c.to, c.step, c.dim, 10)
		if err != nil || strings.Join(got, "|") != c.want {
			t.Errorf("%s:%s:%s: %q, %v; want %s", c.from, c.to, c.step, got, err, c.want)
		}
	}
	for want, args := range map[string][3]string{
		`"5": has no unit`: {"5", "6 g", "1 g"}, `step "0 g": want more than 0`: {"5 g", "6 g", "0 g"}, `step "-1 g": want more`: {"6 g", "5 g", "-1 g"},
		"1001 values; want 10 at most": {"0 g", "1 kg", "1 g"}, `"5 g ± 1 g": want no ±`: {"5 g ± 1 g", "6 g", "1 g"}, `"6 mm"`: {"5 g", "6 mm", "1 g"},
	} {
		if got, err := Steps(args[0], args[1], args[2], DimMass, 10); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v: %v, %v; want an error with %q", args, got, err, want)
		}
	}
}

// TestStepsReadBack: the values are evenly spaced, begin at the first, and stay within.
func TestStepsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom([]string{"mm", "in", "m"}).Draw(t, "unit")
		a, n := rapid.Float64Range(-5, 5).Draw(t, "a"), rapid.IntRange(0, 99).Draw(t, "n")
		step := rapid.Float64Range(0.01, 2).Draw(t, "step")
		text := func(v float64) string { return plain(v, 9) + " " + unit }
		list, err := Steps(text(a), text(a+(float64(n)+0.5)*step), text(step), DimLength, 100)
		if err != nil || len(list) != n+1 {
			t.Fatalf("%d values, %v; want %d", len(list), err, n+1)
		}
		var si []float64
		for _, s := range list {
			q, err := Parse(s, DimLength)
			if err != nil {
				t.Fatal(err)
			}
			si = append(si, q.Value)
		}
		if !slices.IsSorted(si) {
			t.Fatalf("not in order: %q", list)
		}
		one, _ := Parse(text(step), DimLength)
		for i, v := range si {
			if want := si[0] + float64(i)*one.Value; math.Abs(v-want) > 1e-9*math.Max(math.Abs(want), one.Value) {
				t.Fatalf("value %d is %v, want %v", i, v, want)
			}
		}
	})
}
