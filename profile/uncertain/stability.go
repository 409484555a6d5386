package uncertain

import (
	"math"

	"gonum.org/v1/gonum/stat"
)

// stability decides when the digits of an adaptive run stand still ([MC] 7.9.4).
type stability struct {
	digits   int
	coverage float64
	numbers  [][4][]float64 // by output: mean, u, low and high of each sequence
	stable   bool
}

func newStability(o Options, outputs int) *stability {
	return &stability{digits: o.Digits, coverage: o.Coverage, numbers: make([][4][]float64, outputs)}
}

// reached takes the outputs of the last sequence and of all draws so far.
func (s *stability) reached(last, all [][]float64) bool {
	s.stable = true
	for i, column := range last {
		if len(column) < minDraws { // hardly any answers: wait for more
			s.stable = false
			return false
		}
		mean, std := stat.MeanStdDev(column, nil)
		around := symmetric(sortedCopy(column), s.coverage)
		for k, v := range [4]float64{mean, std, around.Low, around.High} {
			s.numbers[i][k] = append(s.numbers[i][k], v)
		}
		s.stable = s.stable && s.stands(i, stat.StdDev(all[i], nil))
	}
	return s.stable
}

// stands tells whether all four numbers of output i are known well enough, where
// u is the standard deviation of all draws.
func (s *stability) stands(i int, u float64) bool {
	if u == 0 {
		return true
	}
	h := float64(len(s.numbers[i][0]))
	if h < 2 {
		return false
	}
	for _, v := range s.numbers[i] {
		if !(2*stat.StdDev(v, nil)/math.Sqrt(h) < tolerance(u, s.digits)) {
			return false
		}
	}
	return true
}

// tolerance is half a unit of the last of the significant digits of u [y].
//
//	u = c·10^l with c of n digits:  δ = ½·10^l        [MC] 7.9.2
func tolerance(u float64, digits int) float64 {
	if digits == Printed {
		return 0.5 * math.Pow10(-Decimals(u))
	}
	return 0.5 * math.Pow10(exponent(u, digits)-digits+1)
}
