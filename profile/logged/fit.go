package logged

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

const (
	starters   = 60   // medians that the first line goes through
	wild       = 4.0  // standard deviations from which a row is left out [-]
	wildParts  = 40   // stretches about whose medians that is counted
	wildLeast  = 5e-4 // of the pressure, below which no row is wild [-]
	exact      = 1e-9 // of the pressure, below which scatter is rounding [-]
	flawless   = 2e-3 // of the fall: no line is truer than that, however little its rows scatter
	mostDegree = 7    // of the polynomials in time
	rowsEach   = 5    // rows, at least, to one polynomial
	bowShare   = 0.01 // standard uncertainty of the bow before it is seen, as a share of the fall [-]
)

// nuisance is one thing that moves a reading besides the line: what one standard
// uncertainty of it does to the projected pressures.
type nuisance struct {
	name   string
	column []float64 // [Pa]
}

// window is the rows of a log that a line is fitted to, projected on
// polynomials of time.
type window struct {
	rows          series
	base          *basis
	p, v          []float64 // projections of pressure [Pa] and volume [m³]
	middle, half  float64   // of the smoothed volume over the window [m³]
	smooth        []float64 // volume at each row, smoothed [m³]
	scatter       float64   // standard deviation of a row about the line [Pa]
	noise         float64   // of a projection: scatter with the memory of the rows [Pa]
	fall          float64   // pressure lost along the window [Pa]
	slope         float64   // dP/dV of the first, rough line [Pa/m³]
	wild          int       // rows left out
	ownMultiplier float64   // square of Student's t over the normal quantile [-]
}

// newWindow leaves out the rows that lie wild and projects the others. The
// second result is false where no line falls.
func newWindow(s *series) (*window, bool) {
	few := s.thin(starters)
	_, b := theilSen(few.v, few.p)
	if !(b < 0) || math.IsInf(b, 0) {
		return nil, false
	}
	kept := s.tame(b)
	n := len(kept.t)
	if n < minRows || !(kept.t[n-1] > kept.t[0]) {
		return nil, false
	}
	w := &window{rows: kept, wild: len(s.t) - n, slope: b}
	w.base = newBasis(kept.t, min(mostDegree, max(2, n/rowsEach)))
	w.p, w.v = w.base.project(kept.p), w.base.project(kept.v)
	w.smooth = make([]float64, n)
	low, high := math.Inf(1), math.Inf(-1)
	for i := range w.smooth {
		w.smooth[i] = w.base.at(w.v, i)
		low, high = min(low, w.smooth[i]), max(high, w.smooth[i])
	}
	if !(high > low) {
		return nil, false
	}
	w.middle, w.half = (high+low)/2, (high-low)/2
	w.fall = -b * (high - low)
	w.measureNoise()
	return w, true
}

// tame returns the rows whose pressure lies about a line of a slope [Pa/m³] as
// near as those around them do.
func (s *series) tame(slope float64) series {
	n := len(s.t)
	r := make([]float64, n)
	top := 0.0
	for i := range r {
		r[i] = s.p[i] - slope*s.v[i]
		top = max(top, math.Abs(s.p[i]))
	}
	count := max(1, min(wildParts, n/rowsEach))
	var some []float64
	for b := range count {
		i, j := b*n/count, (b+1)*n/count
		some = append(some[:0], r[i:j]...)
		m := median(some)
		for k := i; k < j; k++ {
			r[k] -= m
		}
	}
	limit := wild * max(spread(r), wildLeast*top)
	var kept series
	for i := range r {
		if math.Abs(r[i]) <= limit {
			kept.add(s.t[i], s.v[i], s.p[i], s.cup[i])
		}
	}
	return kept
}

// measureNoise works out what the rows scatter by, and what that amounts to in
// a projection, where neighbours hang together ([Bart]):
//
//	noise² = scatter² (1 + 2 Σ r_k), r_k to the first that is not above 0
func (w *window) measureNoise() {
	n := len(w.rows.t)
	r := make([]float64, n)
	top := 0.0
	for i := range r {
		r[i] = w.rows.p[i] - w.base.at(w.p, i) - w.slope*(w.rows.v[i]-w.smooth[i])
		top = max(top, math.Abs(w.rows.p[i]))
	}
	squares := dot(r, r)
	free := float64(max(1, n-len(w.p)))
	w.scatter = math.Sqrt(squares / free)
	sum := 1.0
	for k := 1; k < n/4; k++ {
		rho := 0.0
		for i := k; i < n; i++ {
			rho += r[i] * r[i-k]
		}
		if !(rho > 0.02*squares) {
			break
		}
		sum += 2 * rho / squares
	}
	w.noise = max(w.scatter*math.Sqrt(sum), exact*top, flawless*w.fall)
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(2, free/sum)}.Quantile((1+coverage)/2) / twoSided
	w.ownMultiplier = t * t
}

// column projects a function of the rows.
func (w *window) column(f func(i int) float64) []float64 {
	y := make([]float64, len(w.rows.t))
	for i := range y {
		y[i] = f(i)
	}
	return w.base.project(y)
}

// lag returns the projections of the lag's effect, -dP/dt, for 1 s [Pa/s].
func (w *window) lag() []float64 {
	return w.column(func(i int) float64 { return -w.base.slopeAt(w.p, i) })
}

// bow returns the projections of (3u² - 1)/2, u from -1 to 1 over the volume.
func (w *window) bow() []float64 {
	return w.column(func(i int) float64 {
		u := (w.smooth[i] - w.middle) / w.half
		return (3*u*u - 1) / 2
	})
}

// fitted is the line of a window.
type fitted struct {
	a, b        float64       // P = a + b V [Pa], [Pa/m³]
	cov, own    [2][2]float64 // covariance of a and b: all, and by the rows alone
	nuisance    []float64     // what was found of each, in its standard uncertainties [-]
	uncertainty []float64     // and the standard uncertainty left of each [-]
	gain        [2][]float64  // da and db to each projection
	misfit      float64       // rms of what is left, over the rows [Pa]
	squares     float64       // of what is left and of the nuisances, in standard uncertainties [-]
	free        int           // degrees of freedom of that
}

// fit solves for the line a + b V and the nuisances, with y the projected
// pressures: the posterior of a normal linear model, θ ~ N(0, 1) a priori,
//
//	(XᵀX/σ² + Λ) θ = Xᵀy/σ²
func (w *window) fit(y []float64, extra []nuisance) (fitted, bool) {
	m, n := len(y), 2+len(extra)
	x := mat.NewDense(m, n, nil)
	one := w.column(func(int) float64 { return w.fall })
	for j := range m {
		x.Set(j, 0, one[j])
		x.Set(j, 1, (w.v[j]-w.middle*one[j]/w.fall)/w.half*w.fall)
		for k := range extra {
			x.Set(j, 2+k, extra[k].column[j])
		}
	}
	s2 := w.noise * w.noise
	var normal mat.SymDense
	normal.SymOuterK(1/s2, x.T())
	for k := range extra {
		normal.SetSym(2+k, 2+k, normal.At(2+k, 2+k)+1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(&normal) {
		return fitted{}, false
	}
	var inverse mat.SymDense
	if err := chol.InverseTo(&inverse); err != nil && inverse.IsEmpty() {
		return fitted{}, false
	}
	var gain mat.Dense // θ = gain y
	gain.Mul(&inverse, x.T())
	gain.Scale(1/s2, &gain)
	theta := make([]float64, n)
	for i := range theta {
		for j := range y {
			theta[i] += gain.At(i, j) * y[j]
		}
	}
	var own mat.Dense
	own.Mul(&gain, gain.T())
	own.Scale(s2*w.ownMultiplier, &own)

	// a = fall (θ0 - θ1 middle/half), b = fall θ1/half
	to := [2][2]float64{{w.fall, -w.fall * w.middle / w.half}, {0, w.fall / w.half}}
	var f fitted
	f.a = to[0][0]*theta[0] + to[0][1]*theta[1]
	f.b = to[1][1] * theta[1]
	for i := range 2 {
		f.gain[i] = make([]float64, m)
		for j := range m {
			f.gain[i][j] = to[i][0]*gain.At(0, j) + to[i][1]*gain.At(1, j)
		}
		for j := range 2 {
			for k := range 2 {
				for l := range 2 {
					f.own[i][j] += to[i][k] * own.At(k, l) * to[j][l]
					f.cov[i][j] += to[i][k] * (inverse.At(k, l) + own.At(k, l)*(1-1/w.ownMultiplier)) * to[j][l]
				}
			}
		}
	}
	left := 0.0
	for j := range y {
		r := y[j]
		for i := range theta {
			r -= x.At(j, i) * theta[i]
		}
		left += r * r
	}
	f.misfit = math.Sqrt(left / float64(len(w.rows.t)))
	f.squares = left / s2
	for k := range extra {
		f.nuisance = append(f.nuisance, theta[2+k])
		f.uncertainty = append(f.uncertainty, math.Sqrt(inverse.At(2+k, 2+k)))
		f.squares += theta[2+k] * theta[2+k]
	}
	f.free = m - 2
	return f, !math.IsNaN(f.a+f.b) && f.b < 0
}

// scaled returns a column times a factor.
func scaled(c []float64, by float64) []float64 {
	out := make([]float64, len(c))
	for i := range c {
		out[i] = c[i] * by
	}
	return out
}
