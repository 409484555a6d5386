package course

import "math"

// draw is a weighted point of the posterior.
type draw struct {
	theta  []float64
	s      float64 // scatter over the largest reading [-]
	noise  float64 // a number spread evenly over 0 to 1, for one more reading [-]
	weight float64
}

const spread = 1.15 // of the proposal over the Gaussian at the mode

// draws returns n points with the logarithm of their importance, and the log
// evidence of the model: the mean importance [Gew].
func (f *mode) draws(n int) ([]draw, float64) {
	if !f.ok {
		return nil, math.Inf(-1)
	}
	p := f.dim
	alpha := steps(p + 2)
	points := make([]draw, n)
	store := make([]float64, n*p)
	res := make([]float64, len(f.t))
	l, z := f.lower.RawTriangular(), make([]float64, p)
	top := math.Inf(-1)
	for i := range points {
		u := func(j int) float64 { return fraction(0.5 + float64(i+1)*alpha[j]) }
		theta := store[i*p : (i+1)*p]
		zs := quantileT4(u(0))
		lnS := f.lnS + spread*f.lnWidth*zs
		lnQ := lnDensityT4(zs) - math.Log(spread*f.lnWidth)
		wide := spread * min(max(math.Exp(lnS-f.lnS), 0.8), 2)
		lnP := lnNoise(lnS)
		for j := range theta {
			c := f.mean[j]
			for k := range j {
				c += l.Data[j*l.Stride+k] * z[k]
			}
			width := wide * l.Data[j*l.Stride+j]
			floor := 0.0
			if j < f.positive {
				floor = cdfT4(-c / width)
				lnP += math.Ln2
			}
			q := quantileT4(floor + u(j+1)*(1-floor))
			lnQ += lnDensityT4(q) - math.Log(width*(1-floor))
			theta[j] = c + width*q
			if j < f.positive {
				theta[j] = max(0, theta[j])
			}
			z[j] = (theta[j] - c) / l.Data[j*l.Stride+j]
			lnP -= theta[j]*theta[j]/2 + lnRoot2Pi
		}
		lnW := math.Inf(-1)
		if f.possible(theta) {
			for r := range res {
				res[r] = f.y[r] - f.value(f.x[r*p:(r+1)*p], theta)
			}
			lnW = f.lnLikelihood(res, math.Exp(lnS)) + lnP - lnQ
		}
		points[i] = draw{theta, math.Exp(lnS), u(p + 1), lnW}
		top = max(top, lnW)
	}
	if math.IsInf(top, -1) {
		return nil, top
	}
	sum := 0.0
	for i := range points {
		points[i].weight = math.Exp(points[i].weight - top)
		sum += points[i].weight
	}
	return points, top + math.Log(sum/float64(n))
}

// steps returns the steps of an additive low-discrepancy sequence in n
// dimensions: powers of the root of x^(n+1) = x + 1.
func steps(n int) []float64 {
	g := 1.5
	for range 40 {
		g = math.Pow(1+g, 1/float64(n+1))
	}
	a := make([]float64, n)
	for i := range a {
		a[i] = fraction(math.Pow(1/g, float64(i+1)))
	}
	return a
}

// fraction returns the fraction of x, kept off 0 and 1.
func fraction(x float64) float64 { return min(max(x-math.Floor(x), 1e-9), 1-1e-9) }

// cdfT4 returns the distribution function of Student's t, ν = 4.
func cdfT4(t float64) float64 {
	q := 1 + t*t/4
	if t < -1000 { // the difference below has no digits left: the series
		return 3 / (t * t * t * t)
	}
	return 0.5 + 0.375*t/math.Sqrt(q)*(1-t*t/(12*q))
}

// quantileT4 inverts cdfT4.
func quantileT4(p float64) float64 {
	p = min(max(p, 1e-12), 1-1e-12)
	a := math.Sqrt(4 * p * (1 - p))
	q := math.Cos(math.Acos(min(a, 1))/3) / a
	return math.Copysign(2*math.Sqrt(max(0, q-1)), p-0.5)
}

func lnDensityT4(t float64) float64 { return lnT4 - 2.5*math.Log1p(t*t/4) }

// noise turns a number spread evenly over 0 to 1 into the scatter of a reading
// with σ² = v.
func noise(u, v float64) float64 {
	if u < wildShare {
		return math.Sqrt(v+wildScale*wildScale) * quantileT4(u/wildShare)
	}
	return math.Sqrt(2*v) * math.Erfinv(2*fraction((u-wildShare)/(1-wildShare))-1)
}
