package course

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// A reading is sound or, now and then, wild: sound readings scatter normally by σ,
// wild ones by Student's t, ν = 4, of a scale that σ does not govern: what misread
// the gauge once says nothing of how well it is read otherwise.
const (
	freedom   = 4.0
	wildShare = 0.05 // ε: of readings beforehand [-]
	wildScale = 0.08 // g, over the largest reading [-]; the variance is σ² + g²
)

// lnT4 is the logarithm of the constant of the density of Student's t, ν = 4: 3/8.
var lnT4 = math.Log(3.0 / 8)

// densities returns those of a sound and of a wild reading for a squared residual
// and σ² = v, times σ.
func densities(r2, v float64) (sound, wild float64) {
	const root2Pi = 2.5066282746310002
	g2 := v + wildScale*wildScale
	q := 1 + r2/(freedom*g2)
	return (1 - wildShare) / root2Pi * math.Exp(-r2/(2*v)), wildShare * 0.375 * math.Sqrt(v/(g2*q)) / (q * q)
}

// lnLikelihood returns the log-likelihood of residuals for a scatter s.
func (d *data) lnLikelihood(res []float64, s float64) float64 {
	product, sum := 1.0, 0.0
	for i, r := range res {
		v := d.u[i]*d.u[i] + s*s
		sound, wild := densities(r*r, v)
		sum += math.Log(v) / 2
		product *= sound + wild
		if product < 1e-200 {
			sum -= math.Log(product)
			product = 1
		}
	}
	return math.Log(product) - sum
}

// weight returns the weight of a reading in the normal equations: the curvature
// that it has, sound or wild, by how probable either is.
func weight(r, v float64) float64 {
	sound, wild := densities(r*r, v)
	return (sound/v + wild*(freedom+1)/(freedom*(v+wildScale*wildScale)+r*r)) / (sound + wild)
}

// lnNoise returns the log prior of x = ln s.
func lnNoise(x float64) float64 {
	z := (x - math.Log(noiseScale)) / noiseWidth
	return -z*z/2 - math.Log(noiseWidth) - lnRoot2Pi
}

var lnRoot2Pi = math.Log(2*math.Pi) / 2

// mode is a Gaussian about the best parameters of a model: where the draws go.
type mode struct {
	*model
	x       []float64 // rows
	mean    []float64
	lower   *mat.TriDense // Cholesky factor of the covariance
	lnS     float64
	lnWidth float64
	ok      bool
}

// fit finds the mode: reweighted least squares [LLT] with the priors as ridge and
// negative losses held at 0, in turn with Newton steps for ln s. The mean and
// covariance that it leaves are those without the bound; the draws obey it.
func (m *model) fit() *mode {
	n, p := len(m.t), m.dim
	f := &mode{model: m, x: m.rows(), mean: make([]float64, p), lnS: math.Log(2 * noiseScale)}
	theta, res, w := make([]float64, p), make([]float64, n), make([]float64, n)
	var free [2]bool
	free[0], free[1] = true, true
	a, rhs, sol := mat.NewSymDense(p, nil), mat.NewVecDense(p, nil), mat.NewVecDense(p, nil)
	var chol mat.Cholesky
	normal := func(bound bool) bool {
		f.normal(a, rhs, w)
		if bound {
			for j := range m.positive {
				if !free[j] {
					hold(a, rhs, j)
				}
			}
		}
		return chol.Factorize(a) && chol.SolveVecTo(sol, rhs) == nil
	}
	residuals := func() {
		for i := range res {
			res[i] = m.y[i] - m.value(f.x[i*p:(i+1)*p], theta)
		}
	}
	weigh := func(gently bool) {
		s := math.Exp(f.lnS)
		for i, r := range res {
			v := m.u[i]*m.u[i] + s*s
			if gently { // Student's t by itself has fewer false modes to be caught in
				w[i] = (freedom + 1) / (freedom*v + r*r)
			} else {
				w[i] = weight(r, v)
			}
		}
	}
	for i := range w { // flat at first
		s := math.Exp(f.lnS)
		w[i] = 1 / (m.u[i]*m.u[i] + s*s)
	}
	const gentle = 4
	k := float64(min(p, n-1))
	target := func(x float64) float64 {
		s := math.Exp(x)
		return m.lnLikelihood(res, s) + lnNoise(x) + k/2*math.Log(m.typicalU*m.typicalU+s*s)
	}
	for round := range 16 {
		free[0], free[1] = true, true
		for range m.positive + 1 {
			if !normal(true) {
				return f
			}
			held := false
			for j := range m.positive {
				if free[j] && sol.AtVec(j) < 0 {
					free[j], held = false, true
				}
			}
			if !held {
				break
			}
		}
		moved := 0.0
		for j := range theta {
			moved = max(moved, math.Abs(theta[j]-sol.AtVec(j)))
			theta[j] = sol.AtVec(j)
		}
		residuals()
		const h = 0.2
		lo, at, hi := target(f.lnS-h), target(f.lnS), target(f.lnS+h)
		slope, bend := (hi-lo)/(2*h), (hi-2*at+lo)/(h*h)
		step := slope / max(-bend, 1)
		f.lnS += min(max(step, -0.7), 0.7)
		f.lnWidth = 1 / math.Sqrt(max(-bend, 1/(noiseWidth*noiseWidth)))
		weigh(round < gentle)
		if round > gentle && moved < 0.01 && math.Abs(step) < 0.02 {
			break
		}
	}
	if !normal(false) {
		return f
	}
	copy(f.mean, sol.RawVector().Data)
	var cov mat.SymDense
	var outer mat.Cholesky
	if chol.InverseTo(&cov) != nil || !outer.Factorize(&cov) {
		return f
	}
	f.lower = mat.NewTriDense(p, mat.Lower, nil)
	outer.LTo(f.lower)
	f.ok = true
	return f
}

// normal sets up the normal equations with the unit ridge of the priors.
func (f *mode) normal(a *mat.SymDense, rhs *mat.VecDense, w []float64) {
	p := f.dim
	raw, r := a.RawSymmetric().Data, rhs.RawVector().Data
	clear(raw)
	clear(r)
	for j := range p {
		raw[j*p+j] = 1
	}
	for i, wi := range w {
		row := f.x[i*p : (i+1)*p]
		y := f.y[i] - f.middle
		for j, xj := range row {
			if xj == 0 {
				continue
			}
			r[j] += wi * xj * y
			for k := j; k < p; k++ {
				raw[j*p+k] += wi * xj * row[k]
			}
		}
	}
}

// hold takes parameter j out of the normal equations, at 0.
func hold(a *mat.SymDense, rhs *mat.VecDense, j int) {
	for k := range a.SymmetricDim() {
		a.SetSym(j, k, 0)
	}
	a.SetSym(j, j, 1)
	rhs.SetVec(j, 0)
}
