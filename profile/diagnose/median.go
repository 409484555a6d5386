package diagnose

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

// spread returns the robust standard deviation of residuals about zero.
func spread(r []float64) float64 {
	a := make([]float64, len(r))
	for i, v := range r {
		a[i] = math.Abs(v)
	}
	return normalMAD * median(a)
}
