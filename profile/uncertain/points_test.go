package uncertain

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// pairs returns how evenly the first n points of a generating vector lie in each
// pair of coordinates, the worst pair first: by the error of the worst function of
// the class of I. H. Sloan and S. Joe (Lattice Methods for Multiple Integration, 1994)
// with α = 2, for which Σ B₂(x)B₂(y) over the lattice is the sum.
func pairs(generator []uint32, n int) (worst []float64) {
	b2 := func(k uint64) float64 { x := float64(k) / float64(n); return x*x - x + 1./6 }
	for i, g := range generator {
		for _, h := range generator[:i] {
			var sum float64
			for k := range uint64(n) {
				sum += b2(k*uint64(g)%uint64(n)) * b2(k*uint64(h)%uint64(n))
			}
			worst = append(worst, 4*math.Pow(math.Pi, 4)*sum/float64(n))
		}
	}
	slices.Sort(worst)
	slices.Reverse(worst)
	return worst
}

// TestGenerator: along each input the first 2^m points are a shifted grid, and in
// pairs of the first inputs the vector is better than odd numbers by chance are: its worst pair
// than nine of ten, at each number of draws in use.
func TestGenerator(t *testing.T) {
	own := newLattices(len(generator), 1, 0)[0]
	for _, m := range []int{10, 12, 13, 14} {
		n := 1 << m
		filled := make([][]bool, len(generator))
		for j := range filled {
			filled[j] = make([]bool, n)
		}
		point := make([]float64, len(generator))
		for i := range n {
			own.at(i, nil, point)
			for j, p := range point {
				if !(p > 0 && p < 1) {
					t.Fatalf("point %d, input %d: %g", i, j, p)
				}
				at := uint32(int64(p*0x1p32)) - own[j].shift
				filled[j][at>>(32-m)] = true
			}
		}
		for j, f := range filled {
			if slices.Contains(f, false) {
				t.Errorf("input %d: the first %d points leave part of the range out", j, n)
			}
		}
	}
	const first, vectors = 12, 40
	for _, n := range []int{1024, 4096} {
		own, better := pairs(generator[:first], n)[0], 0
		rng := rand.New(rand.NewPCG(1, 2))
		for range vectors {
			other := make([]uint32, first)
			for j := range other {
				other[j] = rng.Uint32() | 1
			}
			if pairs(other, n)[0] < own {
				better++
			}
		}
		if better > vectors/10 {
			t.Errorf("%d points: the worst pair has %.2g; of %d vectors by chance %d are better", n, own, vectors, better)
		}
	}
}

// TestEven: the mean of a smooth function of 30 inputs, which is known, is met ten
// times as closely as by random draws.
func TestEven(t *testing.T) {
	p := Problem{Outputs: []string{"y"}}
	for i := range 30 {
		p.Inputs = append(p.Inputs, Limits(string(rune('A'+i)), -1, 1, Uniform))
	}
	variance := 1.0 // of Π (1 + x/(1+i²)), mean 1
	for i := range p.Inputs {
		f := 1 / (1 + float64(i*i))
		variance *= 1 + f*f/3
	}
	variance--
	var square float64
	const seeds = 30
	for seed := range uint64(seeds) {
		y := mustMonteCarlo(t, p, func(x, y []float64) error {
			y[0] = 1
			for i, v := range x {
				y[0] *= 1 + v/(1+float64(i*i))
			}
			return nil
		}, Options{Seed: seed}).Outputs[0]
		square += (y.Mean - 1) * (y.Mean - 1) / seeds
	}
	if plain := math.Sqrt(variance / Usual); math.Sqrt(square) > plain/10 {
		t.Errorf("the mean is off by %.2g, by random draws %.2g", math.Sqrt(square), plain)
	}
}
