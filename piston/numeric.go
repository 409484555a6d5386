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

// maximum returns the place in [lo, hi] where f is greatest, for an f that is
// smooth but for the corners, given in rising order: between two of these every
// hump of evenly spaced points is refined by golden section. The place is good
// to about 1e-10 of the interval, the value to rounding.
func maximum(f func(float64) float64, lo, hi float64, corners ...float64) float64 {
	best, most := lo, f(lo)
	take := func(x, fx float64) {
		if fx > most {
			best, most = x, fx
		}
	}
	steps := max(8, 64/(len(corners)+1))
	piece := func(from, to float64) {
		step := (to - from) / float64(steps)
		left, middle := from, f(from)
		rising := true // from the left of the middle point
		for i := 1; i <= steps; i++ {
			x := from + float64(i)*step
			if i == steps {
				x = to
			}
			fx := f(x)
			take(x, fx)
			if rising && fx <= middle {
				top := golden(f, left, x)
				take(top, f(top))
			}
			left, middle, rising = x-step, fx, fx > middle
		}
		if rising {
			top := golden(f, left, to)
			take(top, f(top))
		}
	}
	from := lo
	for _, to := range corners {
		if to > from && to < hi {
			piece(from, to)
			from = to
		}
	}
	piece(from, hi)
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
