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
	y := r.outputs[output]
	mean, variance := stat.MeanVariance(y, nil)
	shares, bins := make([]Share, len(r.inputs)), r.binned()
	for i, in := range r.inputs {
		shares[i].Input = in.Name
		if variance > 0 && in.Std > 0 {
			shares[i].Index, shares[i].Error = r.share(bins[i], y, mean, variance)
		}
	}
	slices.SortStableFunc(shares, func(a, b Share) int { return cmp.Compare(b.Index, a.Index) })
	return shares
}

// binCount is how many bins so many draws are cut into.
func binCount(draws int) int { return int(3 * math.Cbrt(float64(draws))) }

// share returns S of the input with these bins, and what its standard error is at
// most, that of random draws: for a straight line with normal scatter 2r(1-r²)/√M, joined with that of the bins where
// there is no influence, 2√K/M.
func (r *Result) share(bins []uint16, y []float64, mean, variance float64) (s, stderr float64) {
	type half struct{ sum, n float64 }
	halves := make([][2]half, binCount(len(y)))
	for d, i := range bins {
		h := &halves[i][0]
		if r.odd[d] {
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
	return s, math.Hypot(2*math.Sqrt(s)*(1-s)/math.Sqrt(m), 2*math.Sqrt(float64(len(halves)))/m)
}

// binsOf puts the bin of each draw in place of its level. The edges are levels of the
// first draws, to 1/4096 of all: these are spread as evenly as all draws, but not as regularly, as bins of
// one width would beat with a lattice.
func binsOf(levels []uint16) []uint16 {
	const perBin, coarse = 16, 4 // draws that place an edge; bits of a level that do not count
	count := binCount(len(levels))
	some := slices.Clone(levels[:min(len(levels), perBin*count)])
	slices.Sort(some)
	var bins [0x10000 >> coarse]uint16
	for i := 1; i < count; i++ {
		bins[some[len(some)*i/count]>>coarse]++
	}
	var bin uint16
	for i := range bins {
		bin, bins[i] = bin+bins[i], bin
	}
	for d, level := range levels {
		levels[d] = bins[level>>coarse]
	}
	return levels
}
