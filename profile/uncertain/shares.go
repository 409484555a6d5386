package uncertain

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// Share says how much of the variance of an output comes from one input.
type Share struct {
	Input string
	Index float64 // S: the part of the variance that would go if the input were known exactly [-]
	Error float64 // standard error of S from the number of draws [-]
}

// Shares tells which input matters for an output, the most important first, by
// first-order Sobol indices
//
//	Sᵢ = Var(E(y|xᵢ)) / Var(y)        [SA] eq. 1.25
//
// estimated from the draws already made: they are ordered by xᵢ and cut into √M
// bins of equal count, and S is the correlation ratio of y between the bins, less
// what noise alone would give (epsilon squared; T. L. Kelley, PNAS 21, 554, 1935):
//
//	S = 1 - [SSW/(M-K)] / [SST/(M-1)]
//
// with SSW and SST the sums of squares within the K bins and in total. It holds
// for any model, straight or bent. With independent inputs the shares of an
// additive model sum to 1; what is missing to 1 comes from inputs acting
// together. Correlated inputs share what they have in common, each in full, and
// their sum can exceed 1.
//
// At 10 000 draws the standard error is below 0.01, and below 0.0015 for an input
// without influence; what a bin smooths away makes S low by up to 1 % of itself.
func (r *Result) Shares(output int) []Share {
	shares := make([]Share, len(r.names))
	for i, name := range r.names {
		shares[i].Input = name
		shares[i].Index, shares[i].Error = correlationRatio(r.inputs[i], r.outputs[output])
	}
	slices.SortStableFunc(shares, func(a, b Share) int { return cmp.Compare(b.Index, a.Index) })
	return shares
}

// correlationRatio returns S and its standard error. The error is that of r² for
// a straight line with normal scatter, 2r(1-r²)/√M, joined with that of the bins
// where there is no influence, √(2K)/M.
func correlationRatio(x, y []float64) (s, stderr float64) {
	total := stat.Variance(y, nil)
	if total == 0 || slices.Min(x) == slices.Max(x) {
		return 0, 0
	}
	type point struct{ x, y float64 }
	points := make([]point, len(x))
	for i := range x {
		points[i] = point{x[i], y[i]}
	}
	slices.SortFunc(points, func(a, b point) int { return cmp.Compare(a.x, b.x) })
	ordered := make([]float64, len(y))
	for i, p := range points {
		ordered[i] = p.y
	}

	m := len(y)
	bins := int(math.Sqrt(float64(m)))
	var within float64
	for b := range bins {
		bin := ordered[b*m/bins : (b+1)*m/bins]
		within += stat.Variance(bin, nil) * float64(len(bin)-1)
	}
	s = 1 - within/float64(m-bins)/total
	s = min(1, max(0, s))
	return s, math.Hypot(2*math.Sqrt(s)*(1-s)/math.Sqrt(float64(m)), math.Sqrt(2*float64(bins))/float64(m))
}
