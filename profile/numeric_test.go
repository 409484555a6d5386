package profile

import (
	"math"
	"testing"
)

// TestRoot holds root to known answers, steep, flat and straight.
func TestRoot(t *testing.T) {
	for _, c := range []struct {
		name   string
		f      func(float64) float64
		lo, hi float64
		want   float64
	}{
		{"straight", func(x float64) float64 { return 3*x - 1 }, 0, 1, 1. / 3},
		{"cosine", func(x float64) float64 { return -math.Cos(x) }, 0, 3, math.Pi / 2},
		{"flat", func(x float64) float64 { return math.Pow(x-0.3, 5) }, 0, 7, 0.3},
		{"steep", func(x float64) float64 { return math.Atan(1e6 * (x - 0.7)) }, 0, 1, 0.7},
		{"log", func(x float64) float64 { return math.Log(x) }, 1e-9, 1e3, 1},
		{"below the range", func(x float64) float64 { return x + 1 }, 0, 1, 0},
		{"above the range", func(x float64) float64 { return x - 2 }, 0, 1, 1},
	} {
		calls := 0
		got := root(func(x float64) float64 { calls++; return c.f(x) }, c.lo, c.hi)
		tol := 4e-16 * max(1, c.want)
		if c.name == "flat" {
			tol = 1e-3 // a fifth power is zero to rounding around its root
		}
		if math.Abs(got-c.want) > tol || calls > 120 {
			t.Errorf("%s: root %.17g in %d calls, want %.17g", c.name, got, calls, c.want)
		}
	}
}
