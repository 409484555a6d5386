package logged

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// straight is a line y = a + b x fitted to points.
type straight struct {
	intercept, slope float64 // a [y], b [y/x]
	middle           float64 // mean of the x [x]
	slopeError       float64 // standard error of b [y/x]
	scatter          float64 // standard deviation of the points about the line [y]
	count            int     // points
}

// fitStraight fits a line through three or more points with an instrument:
//
//	b = Σ (t - t̄) y / Σ (t - t̄) x,  a = ȳ - b x̄
//
// An instrument t that goes along with x but has no part in its error keeps
// that error from flattening the slope ([Wald]). With t = x it is the ordinary
// least squares of [GUM] H.3. The points need not be in order.
func fitStraight(t, x, y []float64) straight {
	tm, xm, ym := stat.Mean(t, nil), stat.Mean(x, nil), stat.Mean(y, nil)
	var tt, tx, ty float64
	for i := range t {
		d := t[i] - tm
		tt += d * d
		tx += d * (x[i] - xm)
		ty += d * (y[i] - ym)
	}
	s := straight{slope: ty / tx, count: len(t)}
	s.intercept = ym - s.slope*xm
	sum := 0.0
	for i := range x {
		r := y[i] - ym - s.slope*(x[i]-xm)
		sum += r * r
	}
	n := float64(len(t))
	s.scatter = math.Sqrt(sum / (n - 2))
	s.slopeError = s.scatter * math.Sqrt(tt) / math.Abs(tx)
	s.middle = xm
	return s
}

// at returns the line at x and its standard error there [y].
func (s straight) at(x float64) (y, u float64) {
	return s.intercept + s.slope*x, math.Hypot(s.scatter/math.Sqrt(float64(s.count)), (x-s.middle)*s.slopeError)
}

// theilSen returns the line of the median slope over all pairs of points
// ([Sen]); points that are wild, up to some 29 % of them, do not move it. Its
// time goes as the square of the number of points.
func theilSen(x, y []float64) (intercept, slope float64) {
	slopes := make([]float64, 0, len(x)*(len(x)-1)/2)
	for i := range x {
		for j := range i {
			if x[i] != x[j] {
				slopes = append(slopes, (y[i]-y[j])/(x[i]-x[j]))
			}
		}
	}
	if len(slopes) == 0 {
		return median(y), 0
	}
	slope = median(slopes)
	rest := make([]float64, len(x))
	for i := range x {
		rest[i] = y[i] - slope*x[i]
	}
	return median(rest), slope
}
