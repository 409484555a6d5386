package uncertain

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
)

// Result is what MonteCarlo found.
type Result struct {
	Outputs  []Summary
	Seed     uint64    // of the random numbers
	Draws    int       // M: draws made [-]
	Failed   int       // draws without an answer [-]
	Failures []Failure // why, the most frequent reason first
	Stable   bool      // the digits asked for stand still; false for a fixed number of draws
	Doubts   []string  // plain sentences about what may be wrong with the numbers

	names   []string
	inputs  [][]float64 // by input, draws with an answer in the order drawn
	outputs [][]float64 // by output, likewise
	odd     []bool      // of the second of two independent halves, likewise
	sorted  [][]float64
	curves  [][]float64 // by kept draw
	binned  func() []bins
}

// Summary is the distribution of one output.
type Summary struct {
	Name     string
	Mean     float64  // y [y]
	Std      float64  // u(y) [y]
	Median   float64  // [y]
	Interval          // probabilistically symmetric: as much below it as above [y]
	Shortest Interval // the shortest that holds as much [y]
}

// Failure is a reason for which draws had no answer.
type Failure struct {
	Reason string
	Count  int // draws [-]
}

func (r *run) result(s *stability) (*Result, error) {
	res := &Result{
		Seed: r.Seed, Draws: r.drawn, Stable: s.stable, Failures: r.failures(),
		inputs: r.inputs, outputs: r.outputs, odd: r.odd, curves: r.curves,
	}
	answers := len(r.outputs[0])
	res.Failed = r.drawn - answers
	if answers < minDraws {
		return nil, fmt.Errorf("%w: %d of %d (most often: %s)", ErrNoAnswer, answers, r.drawn, res.Failures[0].Reason)
	}
	for _, in := range r.Inputs {
		res.names = append(res.names, in.Name)
	}
	res.sorted = onAll(r.outputs, sortedCopy)
	res.binned = sync.OnceValue(func() []bins { return onAll(r.inputs, binsOf) })
	for i, sorted := range res.sorted {
		sum := Summary{Name: r.Problem.Outputs[i], Median: quantile(sorted, 0.5)}
		sum.Mean, sum.Std = stat.MeanStdDev(r.outputs[i], nil)
		sum.Interval, sum.Shortest = symmetric(sorted, r.Coverage), shortest(sorted, r.Coverage)
		res.Outputs = append(res.Outputs, sum)
	}
	res.Doubts = r.doubts(res, answers)
	return res, nil
}

// failures adds up what the workers counted.
func (r *run) failures() []Failure {
	counts := map[string]int{}
	for _, w := range r.workers {
		for reason, n := range w.failures {
			counts[reason] += n
		}
	}
	var list []Failure
	for reason, n := range counts {
		list = append(list, Failure{reason, n})
	}
	slices.SortFunc(list, func(a, b Failure) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(a.Reason, b.Reason))
	})
	return list
}

func (r *run) doubts(res *Result, answers int) []string {
	var doubts []string
	if res.Failed > 0 {
		doubts = append(doubts, fmt.Sprintf("%.2g %% of the draws had no answer (most often: %s); the numbers are for the rest",
			100*float64(res.Failed)/float64(res.Draws), res.Failures[0].Reason))
	}
	if need := int(math.Round(100 / (1 - r.Coverage))); answers < need { // [MC] 7.9.2
		doubts = append(doubts, fmt.Sprintf("%d draws are few: the ends of the interval are rough under %d", answers, need))
	}
	if r.Digits != 0 && !res.Stable {
		doubts = append(doubts, fmt.Sprintf("the numbers still moved in %s of ± after %d draws", digitName(r.Digits), res.Draws))
	}
	for _, in := range r.Inputs {
		if in.Shape == Normal && in.Freedom != 0 && in.Freedom <= 2 && in.Std > 0 {
			doubts = append(doubts, fmt.Sprintf("%s rests on three readings or fewer: the standard deviation of the result means nothing, its interval does", in.Name))
		}
	}
	return doubts
}

// digitName is the digit that Options.Digits asks to stand still, in words.
func digitName(digits int) string {
	if digits == Printed {
		return "the last digit worth printing"
	}
	return fmt.Sprintf("significant digit %d", digits)
}

// Band returns quantiles of the curves point by point: one row for each p, from
// 0 to 1 [-], one value per point of Options.Points. At each point they are those
// of the curves that have a value there, and NaN where none has: a curve that has
// ended (NaN from there on) does not drag the band down. [Result.Running] tells of
// how many curves they are.
//
// Memory is bounded: only the curves of the first 4 096 draws are kept, as good a
// random sample as any other, which places the line of p = 0.05 within
// 0.05 ± 0.007 in 95 of 100 runs, less closely by √(1/share) where only a share runs.
func (r *Result) Band(p ...float64) [][]float64 {
	if len(r.curves) == 0 {
		return nil
	}
	points := len(r.curves[0])
	band := rows(len(p), points)
	column := make([]float64, 0, len(r.curves))
	for k := range points {
		column = column[:0]
		for _, curve := range r.curves {
			if !math.IsNaN(curve[k]) {
				column = append(column, curve[k])
			}
		}
		slices.Sort(column)
		for i, pi := range p {
			band[i][k] = math.NaN()
			if len(column) > 0 {
				band[i][k] = quantile(column, pi)
			}
		}
	}
	return band
}

// Running returns the share of the kept curves that have a value at each point,
// 0 to 1 [-].
func (r *Result) Running() []float64 {
	if len(r.curves) == 0 {
		return nil
	}
	share := make([]float64, len(r.curves[0]))
	for _, curve := range r.curves {
		for k, v := range curve {
			if !math.IsNaN(v) {
				share[k]++
			}
		}
	}
	floats.Scale(1/float64(len(r.curves)), share)
	return share
}

// onAll works out f of each column, on all processors.
func onAll[T any](columns [][]float64, f func(column []float64) T) []T {
	list := make([]T, len(columns))
	var wg sync.WaitGroup
	for i, column := range columns {
		wg.Go(func() { list[i] = f(column) })
	}
	wg.Wait()
	return list
}

func sortedCopy(column []float64) []float64 {
	sorted := slices.Clone(column)
	slices.Sort(sorted)
	return sorted
}

func quantile(sorted []float64, p float64) float64 {
	return stat.Quantile(p, stat.LinInterp, sorted, nil)
}

// symmetric is the interval that leaves (1-p)/2 on either side.
func symmetric(sorted []float64, p float64) Interval {
	return Interval{quantile(sorted, (1-p)/2), quantile(sorted, (1+p)/2)}
}

// shortest is the shortest interval that holds the share p ([MC] 5.3.4 and 7.7.4).
// With few draws it comes out a little too short: it seeks the luckiest gap.
func shortest(sorted []float64, p float64) Interval {
	q := min(int(p*float64(len(sorted))+0.5), len(sorted)-1)
	best := Interval{sorted[0], sorted[q]}
	for r := 1; r+q < len(sorted); r++ {
		if sorted[r+q]-sorted[r] < best.High-best.Low {
			best = Interval{sorted[r], sorted[r+q]}
		}
	}
	return best
}
