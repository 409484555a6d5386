package logged

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// TestSame: one shot logged or copied in several ways is one; two shots of one
// machine, read in coarse steps, are two.
func TestSame(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 4))
	for i := range 20 {
		m, _, _ := sound(rng)
		m.every = between(rng, 0.05, 0.5)
		m.stepP, m.stepM = 0.1*bar, 0.1*gram
		l := m.log(rng)
		edit := func(f func(i int, r *Row) bool) Log {
			var out Log
			for i, r := range l {
				if f(i, &r) {
					out = append(out, r)
				}
			}
			return out
		}
		for name, other := range map[string]Log{
			"itself":      l,
			"part":        l[len(l)/4 : 3*len(l)/4],
			"every third": edit(func(i int, _ *Row) bool { return i%3 == 0 }),
			"shifted":     edit(func(_ int, r *Row) bool { r.Time += 17.35; return true }),
			"shifted and part": edit(func(i int, r *Row) bool {
				r.Time -= 3.1
				return i > len(l)/3
			}),
			"without the cup": edit(func(_ int, r *Row) bool { r.Cup = missing; return true }),
			"a few rows mended": edit(func(i int, r *Row) bool {
				if i%10 == 0 {
					r.Pressure += 1
				}
				return true
			}),
		} {
			if !Same(l, other) || !Same(other, l) {
				t.Errorf("machine %d: %s is not the same", i, name)
			}
		}
		again := m.log(rng)
		if Same(l, again) || Same(again, l) {
			t.Errorf("machine %d: two shots are one", i)
		}
		if got := Distinct([]Log{l[:len(l)/2], again, l, again, l[3:]}); !slices.Equal(got, []int{1, 2}) {
			t.Errorf("machine %d: distinct %v, want [1 2]", i, got)
		}
	}
	if Same(nil, nil) || len(Distinct(nil)) != 0 {
		t.Error("nothing is the same as nothing")
	}
}
