package diagnose

import "math"

const (
	starters = 60  // medians that the first line goes through
	wild     = 3.5 // standard deviations from which a row is left out [-]
	exact    = 1e-9
)

// robust is the pressure-travel line P = a + b z of a window.
type robust struct {
	intercept, slope float64 // a [Pa], b [Pa/m]
	scatter          float64 // standard deviation of the rows about the line [Pa]
	fall             float64 // pressure lost along the window [Pa]
	kept             series  // rows that the line goes through
}

func (l robust) residual(s *series, i int) float64 {
	return s.p[i] - l.intercept - l.slope*s.x[i]
}

// fitRobust starts with the Theil-Sen line of a few medians, leaves out the
// rows that lie wild, and fits the rest with time as the instrument: pressure
// and mass both carry noise, the clock does not.
func fitRobust(s *series) robust {
	few := s.thin(starters)
	var l robust
	l.intercept, l.slope = theilSen(few.x, few.p)
	r := make([]float64, len(s.t))
	for range 3 {
		top := 0.0
		for i := range r {
			r[i] = l.residual(s, i)
			top = max(top, math.Abs(s.p[i]))
		}
		limit := wild * max(spread(r), exact*top)
		var kept series
		for i := range r {
			if math.Abs(r[i]) <= limit {
				kept.add(s.t[i], s.x[i], s.p[i])
			}
		}
		fit := fitStraight(kept.t, kept.x, kept.p)
		l = robust{intercept: fit.intercept, slope: fit.slope, scatter: fit.scatter, kept: kept}
	}
	n := len(l.kept.x)
	l.fall = -l.slope * (l.kept.x[n-1] - l.kept.x[0])
	return l
}
