package uncertain

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sync"

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

	inputs  []Input
	outputs [][]float64       // by output, draws with an answer in the order drawn
	odd     []bool            // of the second of two independent halves, likewise
	binned  func() [][]uint16 // by input, the bin of each draw; worked out once
	curved  int               // kept curves
	points  [][]float64       // by point of the curves, the values of those that have one there, in ascending order
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
		inputs: r.Inputs, outputs: r.outputs, odd: r.odd,
	}
	answers := len(r.outputs[0])
	res.Failed = r.drawn - answers
	if answers < minDraws {
		return nil, fmt.Errorf("%w: %d of %d (most often: %s)", ErrNoAnswer, answers, r.drawn, res.Failures[0].Reason)
	}
	res.Outputs = onAll(r.outputs, func(column []float64) (sum Summary) {
		sorted := sortedCopy(column)
		sum.Median, sum.Interval, sum.Shortest = quantile(sorted, 0.5), symmetric(sorted, r.Coverage), shortest(sorted, r.Coverage)
		sum.Mean, sum.Std = stat.MeanStdDev(column, nil)
		return sum
	})
	for i := range res.Outputs {
		res.Outputs[i].Name = r.Problem.Outputs[i]
	}
	res.binned = sync.OnceValue(func() [][]uint16 { return onAll(r.levels, binsOf) })
	if len(r.curves) > 0 {
		res.curved = len(r.curves[0])
	}
	res.points = onAll(r.curves, func(column []float64) []float64 {
		slices.Sort(column) // NaN first
		from, _ := slices.BinarySearch(column, math.Inf(-1))
		return column[from:]
	})
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
// Memory is bounded: only the curves of the first 1 024 draws are kept, which places
// the line of p = 0.05 within 0.05 ± 0.01 in 95 of 100 runs, as they are spread
// evenly, less closely by √(1/share) where only a share runs.
func (r *Result) Band(p ...float64) [][]float64 {
	if r.curved == 0 {
		return nil
	}
	band := rows(len(p), len(r.points))
	for k, column := range r.points {
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
	if r.curved == 0 {
		return nil
	}
	share := make([]float64, len(r.points))
	for k, column := range r.points {
		share[k] = float64(len(column)) / float64(r.curved)
	}
	return share
}

// onAll works out f of each column, on all processors.
func onAll[E, T any](columns [][]E, f func(column []E) T) []T {
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
