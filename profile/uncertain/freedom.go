package uncertain

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// WelchSatterthwaite returns the effective degrees of freedom [-] of a sum of
// independent contributions c·u(x), each with its own degrees of freedom (0 for
// infinite). The result is 0, for infinite, where no contribution has finite ones.
//
//	ν = u⁴ / Σ (uᵢ⁴/νᵢ),  u² = Σ uᵢ²        [GUM] eq. G.2b
func WelchSatterthwaite(contributions, freedoms []float64) float64 {
	var variance, sum float64
	for i, u := range contributions {
		variance += u * u
		if freedoms[i] != 0 {
			sum += u * u * u * u / freedoms[i]
		}
	}
	if sum == 0 {
		return 0
	}
	return variance * variance / sum
}

// CoverageFactor returns k [-]: value ± k·u holds the truth with the coverage
// probability p [-], for ν degrees of freedom (0 for infinite). As in [GUM] G.4.1,
// note 1, ν is rounded down to a whole number.
func CoverageFactor(p, freedom float64) float64 {
	if freedom == 0 {
		return distuv.UnitNormal.Quantile((1 + p) / 2)
	}
	whole := max(1, math.Floor(freedom*(1+1e-9))) // 5 must not fall to 4 by rounding
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: whole}.Quantile((1 + p) / 2)
}
