package logged

import (
	"math"
	"slices"
)

// normalMAD makes the median absolute deviation of normal noise its standard
// deviation: 1/Φ⁻¹(3/4) [-].
const normalMAD = 1.482602218505602

// median returns the median of one or more values; it sorts them.
func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	if n%2 == 1 {
		return v[n/2]
	}
	return (v[n/2-1] + v[n/2]) / 2
}

// spread returns the robust standard deviation of residuals about zero: the
// greater of what their median and their four-fifths quantile tell, as a gauge
// that reads in steps has a median near 0.
func spread(r []float64) float64 {
	a := make([]float64, len(r))
	for i, v := range r {
		a[i] = math.Abs(v)
	}
	slices.Sort(a)
	n := len(a)
	return max(normalMAD*a[n/2], a[min(n-1, 4*n/5)]/1.2815515655446004) // Φ⁻¹(0.9)
}
