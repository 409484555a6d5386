package spring

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// straight is a straight line through points by least squares, kept about the mean
// of x, where height and slope are not correlated.
type straight struct {
	n       int     // points
	xMean   float64 // mean of x
	yMean   float64 // mean of y, the height of the line there
	slope   float64
	sxx     float64 // Σ (x - xMean)²
	scatter float64 // s: residual standard deviation, 0 for two points
	worst   float64 // largest residual, absolute
}

// fitLine fits y = yMean + slope (x - xMean). The points must be two or more
// with different x.
func fitLine(x, y []float64) straight {
	l := straight{n: len(x), xMean: stat.Mean(x, nil), yMean: stat.Mean(y, nil)}
	intercept, slope := stat.LinearRegression(x, y, nil, false)
	l.slope = slope
	var sse float64
	for i := range x {
		l.sxx += (x[i] - l.xMean) * (x[i] - l.xMean)
		r := y[i] - intercept - slope*x[i]
		sse += r * r
		l.worst = max(l.worst, math.Abs(r))
	}
	if l.n > 2 {
		l.scatter = math.Sqrt(sse / float64(l.n-2))
	}
	return l
}

// at returns the height of the line.
func (l straight) at(x float64) float64 { return l.yMean + l.slope*(x-l.xMean) }

// slopeSE returns the standard error of the slope.
func (l straight) slopeSE() float64 { return l.scatter / math.Sqrt(l.sxx) }

// leverage returns the variance of the height at x, over the variance of a point.
func (l straight) leverage(x float64) float64 {
	return 1/float64(l.n) + (x-l.xMean)*(x-l.xMean)/l.sxx
}

// twoSided returns Student's quantile that a share of the distribution lies
// within, on both sides of zero.
func twoSided(confidence float64, freedom int) float64 {
	return distuv.StudentsT{Sigma: 1, Nu: float64(freedom)}.Quantile((1 + confidence) / 2)
}

func confidenceFault(confidence float64) error {
	return quantity{"confidence", confidence, ""}.within(0.01, 0.9999, ErrInput)
}
