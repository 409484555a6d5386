package profile

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
)

// node is one point of a quadrature rule on [0, 1].
type node struct{ at, weight float64 }

// The cuts of the travel between two events, as shares of it [-]: none where only
// the sums are wanted; and for a table, whose rows crowd towards the start, where
// the flow changes most.
var (
	whole = []float64{1}
	rows  = []float64{0.04, 0.12, 0.22, 0.35, 0.5, 0.66, 0.83, 1}
)

// rule is a Gauss-Legendre rule, with what one panel of it may span.
type rule struct {
	nodes []node
	reach float64 // length of the panel over its distance from the nearest point at which the integrand is infinite [-]
	span  float64 // and over that in which what decays along it falls by e [-]
}

// ladder is the rules to choose from, the shortest first. The error of n points falls
// as ρ^(-2n) with ρ of the largest ellipse about the panel, foci at its ends, that
// holds no singular point (Trefethen, SIAM Review 50 (2008) 67): a point at a
// distance d of the panel's length h gives ρ = c + √(c²-1), c = 1 + 2d/h.
//
// Digits are 1e-9 and room for a pole of third order.
var ladder = ladderFor(26)

// ruleFor returns the shortest rule that spans a panel, false where none does.
func ruleFor(near, decays float64) (*rule, bool) {
	for i := range ladder {
		if r := &ladder[i]; near <= r.reach && decays <= r.span {
			return r, true
		}
	}
	return &ladder[len(ladder)-1], false
}

// ladderFor returns the rules for an error of e^-digits.
func ladderFor(digits float64) (l []rule) {
	for _, n := range []int{3, 4, 5, 6, 8, 10, 12, 16, 20, 24} {
		c := math.Cosh(digits / (2 * float64(n)))
		l = append(l, rule{legendre(n), 2 / (c - 1), max(0.3, 1.6*float64(n-4))})
	}
	return l
}

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

// expSteps is the number of parts of an octave of which exp knows the powers.
const expSteps = 64

var expTable = func() (t [expSteps]uint64) {
	for i := range t {
		t[i] = math.Float64bits(math.Exp2(float64(i) / expSteps))
	}
	return t
}()

// exp is math.Exp in a third of the time, which is most of that of a shot, and the
// same to 5e-16:
//
//	e^x = 2^(k/64) e^r,   |r| < ln 2/128
//
// with the powers in a table and a series for e^r - 1.
func exp(x float64) float64 {
	if !(x > -700 && x < 700) {
		return math.Exp(x)
	}
	const (
		high  = 0x1.62e42fefa0000p-1 / expSteps // ln 2 in two parts, so that k·high is exact
		low   = 0x1.cf79abc9e3b3ap-40 / expSteps
		shift = 0x1.8p52 // adding it rounds to whole numbers
	)
	k := x*(expSteps/math.Ln2) + shift
	n := int64(math.Float64bits(k)) << 12 >> 12
	k -= shift
	r := x - k*high - k*low
	p := r + r*r*(1./2+r*(1./6+r*(1./24+r*(1./120))))
	scale := math.Float64frombits(expTable[n&(expSteps-1)] + uint64(n>>6<<52))
	return scale + scale*p
}
