package uncertain

import (
	"math/bits"
	"math/rand/v2"
)

// generator is a generating vector of rank-1 lattices of 2^m points, the first ones
// in order of bits reversed being a lattice for each m from 10 to 20: the first
// numbers of lattice-32001-1024-1048576.3600 of F. Y. Kuo, made by the construction of
// R. Cools, F. Y. Kuo and D. Nuyens (SIAM J. Sci. Comput. 28 (2006) 2162). From memory;
// any odd numbers make a lattice, and tests hold these to be good ones.
var generator = [...]uint32{
	1, 182667, 469891, 498753, 110745, 446247, 250185, 118627, 245333, 283199, 408519, 391023, 246327, 126539, 399185, 461527,
	300343, 69681, 516695, 436179, 106383, 238523, 413283, 70841, 47719, 300129, 113029, 123925, 410745, 211325, 17489, 511893,
	40767, 186077, 519471, 255369, 101819, 243573, 66189, 152143, 503455, 113217, 132603, 463967, 297717, 157383, 224015, 502917,
	36237, 94049, 170665, 79397, 123963, 223451, 323871, 303633, 98567, 318855, 494245, 477137, 177975, 64483, 26695, 88779,
}

// lattice is points spread more evenly in the unit cube than random ones: by input, a
// number of the vector, and a random shift modulo 1 in units of 2^-32 (R. Cranley and
// T. N. L. Patterson, SIAM J. Numer. Anal. 13 (1976) 904). A mean over the points has the
// expectation of one over random points, and with another shift an error of its own.
type lattice []struct{ step, shift uint32 }

// newLattices returns the lattices of the even and of the odd draws of the round that
// begins with a draw. The odd one has the numbers in random order, so that two inputs
// that the vector does not tell well apart seldom are the same ones in both.
func newLattices(inputs int, seed uint64, first int) (both [2]lattice) {
	rng := rand.New(rand.NewPCG(seed, ^uint64(first))) // a stream that no block has
	for i := range both {
		both[i] = make(lattice, min(inputs, len(generator)))
		order := rng.Perm(len(both[i]))
		for j := range both[i] {
			both[i][j].step, both[i][j].shift = generator[j], rng.Uint32()
			if i == 1 {
				both[i][j].step = generator[order[j]]
			}
		}
	}
	return both
}

// at fills in point i:
//
//	frac(r(i) step + shift),   r(i) the bits of i reversed behind the binary point
//
// Inputs beyond the vector are random.
func (l lattice) at(i int, src rand.Source, point []float64) {
	r := bits.Reverse32(uint32(i))
	for j := range point {
		var v uint32
		if j < len(l) {
			v = r*l[j].step + l[j].shift
		} else {
			v = uint32(src.Uint64())
		}
		point[j] = (float64(v) + 0.5) * 0x1p-32
	}
}
