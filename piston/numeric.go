package piston

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// bisect returns the place in [lo, hi] where f changes its sign, to the last
// bits of a float64. f must have opposite signs at the ends.
func bisect(f func(float64) float64, lo, hi float64) float64 {
	rising := f(hi) > f(lo)
	for range 100 {
		mid := lo + (hi-lo)/2
		if mid == lo || mid == hi {
			break
		}
		if (f(mid) > 0) == rising {
			hi = mid
		} else {
			lo = mid
		}
	}
	return lo + (hi-lo)/2
}

// maximum returns the place in [lo, hi] where f is greatest: the best of evenly
// spaced points, refined by golden section between its neighbours. The place
// is good to about 1e-8 of the interval, the value to rounding.
func maximum(f func(float64) float64, lo, hi float64) float64 {
	const steps = 64
	step := (hi - lo) / steps
	best := lo
	for i := 1; i <= steps; i++ {
		if x := min(lo+float64(i)*step, hi); f(x) > f(best) {
			best = x
		}
	}
	if x := golden(f, max(lo, best-step), min(hi, best+step)); f(x) > f(best) {
		best = x
	}
	return best
}

// golden narrows [a, b] by golden section to where f has its greatest value.
func golden(f func(float64) float64, a, b float64) float64 {
	const ratio = math.Phi - 1
	x, y := b-ratio*(b-a), a+ratio*(b-a)
	fx, fy := f(x), f(y)
	for range 45 { // 0.618^45 = 4e-10
		if fx > fy {
			b, y, fy = y, x, fx
			x = b - ratio*(b-a)
			fx = f(x)
		} else {
			a, x, fx = x, y, fy
			y = a + ratio*(b-a)
			fy = f(y)
		}
	}
	return (a + b) / 2
}

// integral returns ∫f over [a, b]. It is exact to rounding for the smooth
// forces of springs. A corner, where a spring comes loose, costs at most what
// it would between the widest two of the 100 points, h = (b - a)π/200 apart:
// h²/8 times the change of slope, 3.1e-5 (b - a)².
func integral(f func(float64) float64, a, b float64) float64 {
	if !(b > a) {
		return 0
	}
	return quad.Fixed(f, a, b, 100, quad.Legendre{}, 0)
}
