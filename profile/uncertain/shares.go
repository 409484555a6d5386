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
// estimated from the draws already made: they are cut into 3∛M bins by xᵢ, of about
// equal count, and S is what the means of a bin in two independent halves of the
// draws have in common,
//
//	S = Σ w (m' - m)(m" - m) / Var(y)
//
// with w the share of draws in the bin, m' and m" its means in the halves and m the
// mean of all. What either half has of chance does not last in the product. It holds
// for any model, straight or bent. With independent inputs the shares of an
// additive model sum to 1; what is missing to 1 comes from inputs acting
// together. Correlated inputs share what they have in common, each in full, and
// their sum can exceed 1.
//
// At 8 192 draws the standard error is below 0.01, and below 0.003 for an input
// without influence; what a bin smooths away makes S low by up to 1 % of itself.
func (r *Result) Shares(output int) []Share {
	shares := make([]Share, len(r.names))
	bins := r.binned()
	for i, name := range r.names {
		shares[i].Input = name
		shares[i].Index, shares[i].Error = bins[i].share(r.outputs[output], r.odd)
	}
	slices.SortStableFunc(shares, func(a, b Share) int { return cmp.Compare(b.Index, a.Index) })
	return shares
}

// bins is the bin of each draw by one input, and how many bins there are.
type bins struct {
	of    []uint16
	count int
}

// share returns S and what its standard error is at most, that of random draws: for a
// straight line with normal scatter 2r(1-r²)/√M, joined with that of the bins where
// there is no influence, 2√K/M.
func (b bins) share(y []float64, odd []bool) (s, stderr float64) {
	mean, variance := stat.MeanVariance(y, nil)
	if variance == 0 || b.count < 2 {
		return 0, 0
	}
	type half struct{ sum, n float64 }
	halves := make([][2]half, b.count)
	for d, i := range b.of {
		h := &halves[i][0]
		if odd[d] {
			h = &halves[i][1]
		}
		h.sum += y[d] - mean
		h.n++
	}
	m, common := float64(len(y)), 0.0
	for _, h := range halves {
		if a, b := h[0], h[1]; a.n > 0 && b.n > 0 {
			common += (a.n + b.n) / m * (a.sum / a.n) * (b.sum / b.n)
		}
	}
	s = min(1, max(0, common/variance))
	return s, math.Hypot(2*math.Sqrt(s)*(1-s)/math.Sqrt(m), 2*math.Sqrt(float64(b.count))/m)
}

// binsOf cuts draws into bins by x. The edges are those of the first draws, which are
// spread as evenly as all, as to order all takes longer than many a model. What is
// exact has one bin.
func binsOf(x []float64) bins {
	const perBin = 16 // draws that place an edge [-]
	b := bins{make([]uint16, len(x)), int(3 * math.Cbrt(float64(len(x))))}
	some := sortedCopy(x[:min(len(x), perBin*b.count)])
	if some[0] == some[len(some)-1] {
		return bins{b.of, 1}
	}
	edges := make([]float64, b.count-1)
	for i := range edges {
		edges[i] = some[len(some)*(i+1)/b.count]
	}
	for d, v := range x {
		i, _ := slices.BinarySearch(edges, v)
		b.of[d] = uint16(i)
	}
	return b
}
