package words

import (
	"flag"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func init() { _ = flag.Set("rapid.seed", "1") }

// TestNatural: numbers in names count as numbers.
func TestNatural(t *testing.T) {
	want := []string{"", "1", "2", "10", "a", "a1b2", "a1b10", "a2b1", "group 9", "group 10", "m1", "m01", "m2", "m2x", "m10", "m99999999999999999999", "m100000000000000000000", "x"}
	got := slices.Clone(want)
	slices.Reverse(got)
	slices.SortFunc(got, Natural)
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestNaturalIsAnOrder: equal only to itself, the other way round the other way,
// and transitive.
func TestNaturalIsAnOrder(t *testing.T) {
	name := rapid.StringMatching(`[ab0-2é]{0,5}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := name.Draw(t, "a"), name.Draw(t, "b"), name.Draw(t, "c")
		if (Natural(a, b) == 0) != (a == b) || Natural(a, b) != -Natural(b, a) {
			t.Fatalf("%q, %q: %d and %d", a, b, Natural(a, b), Natural(b, a))
		}
		if Natural(a, b) < 0 && Natural(b, c) < 0 && Natural(a, c) >= 0 {
			t.Fatalf("%q < %q < %q", a, b, c)
		}
	})
}
