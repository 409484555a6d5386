package profile

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// node is one point of a quadrature rule on [0, 1].
type node struct{ at, weight float64 }

// grid says how the travel between two events is cut into panels, and the rule
// used on each.
type grid struct {
	cuts  []float64 // ends of the panels, as shares of the travel [-]
	rule  []node
	reach float64 // length of a panel over its distance from where the pores would close [-]
	span  float64 // decays of the blocking coffee or the solubles that one panel may span [-]
	fall  float64 // a panel is split where the pressure falls below this share of its start [-]
}

// The grids: few long panels where only the sums are wanted, many short ones
// where each panel makes a row of the table. Both are good to 1e-8, mostly far better.
var (
	coarse = grid{cuts: []float64{1}, rule: legendre(10), reach: 1.8, span: 5, fall: 0.35}
	// Rows crowd towards the start, where the flow changes most.
	fine = grid{cuts: []float64{0.04, 0.12, 0.22, 0.35, 0.5, 0.66, 0.83, 1}, rule: legendre(6), reach: 0.7, span: 2, fall: 0.7}
)

// legendre returns the Gauss-Legendre rule of n points on [0, 1], exact for
// polynomials up to degree 2n-1.
func legendre(n int) []node {
	x, w := make([]float64, n), make([]float64, n)
	quad.Legendre{}.FixedLocations(x, w, 0, 1)
	rule := make([]node, n)
	for i := range rule {
		rule[i] = node{x[i], w[i]}
	}
	return rule
}

// root finds x in [lo, hi] with f(x) = 0 for an increasing f, to the last bits.
// Where f(lo) >= 0 it returns lo, where f(hi) <= 0 it returns hi.
//
// It is Chandrupatla's method (Advances in Engineering Software 28 (1997) 145):
// inverse quadratic interpolation where that is safe, else bisection. gonum
// has no scalar root finder.
func root(f func(float64) float64, lo, hi float64) float64 {
	a, b := hi, lo
	fa, fb := f(a), f(b)
	if fb >= 0 {
		return lo
	}
	if fa <= 0 {
		return hi
	}
	t := 0.5
	for range 200 {
		x := a + t*(b-a)
		fx := f(x)
		c, fc := a, fa
		if (fx > 0) == (fa > 0) {
			a, fa = x, fx
		} else {
			c, fc = b, fb
			b, a = a, x
			fb, fa = fa, fx
		}
		best := a
		if math.Abs(fb) < math.Abs(fa) {
			best = b
		}
		tol := 0x1p-53 * math.Abs(best) / math.Abs(b-a)
		if fa == 0 || fb == 0 || !(tol < 0.5) {
			return best
		}
		xi, phi := (a-b)/(c-b), (fa-fb)/(fc-fb)
		t = 0.5
		if phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			t = fa/(fb-fa)*fc/(fb-fc) + (c-a)/(b-a)*fa/(fc-fa)*fb/(fc-fb)
		}
		t = min(1-tol, max(tol, t))
	}
	return a
}
