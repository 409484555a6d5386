package uncertain

import (
	"cmp"
	"errors"
	"fmt"
	"runtime"
)

const (
	// Usual is how many draws are made where nobody says.
	Usual = 8_192

	// sequence is the number of draws after which an adaptive run looks at its
	// numbers: no fewer than 10 000 and 100/(1-p) of [MC] 7.9.2, as p ≤ 0.99, and two lattices.
	sequence = 16_384

	minDraws     = 100
	maxDraws     = 10_000_000
	adaptiveMost = 1_000_000 // draws of an adaptive run if the options do not say
	curvesKept   = 1_024     // draws whose curves are kept
)

// ErrNoAnswer reports that the model had no answer for nearly all draws.
var ErrNoAnswer = errors.New("uncertain: too few draws with an answer")

// Options are the choices of MonteCarlo. The zero value serves.
type Options struct {
	Seed     uint64  // of the random numbers: the same seed, the same result to the last bit
	Draws    int     // M [-]; 0 for Usual; with Digits the most, 0 for 1 000 000
	Workers  int     // models that run at the same time [-]; 0 for one per processor; no effect on the result
	Digits   int     // 1 or 2: go on until so many significant digits of u(y) are stable [-], Printed for those of Decimals; 0 for a fixed number of draws
	Coverage float64 // p: coverage probability of the intervals [-]; 0 for 0.95
	Points   int     // values of curves that the model writes after its outputs in the first draws, y[len(Outputs):] where y is so long [-]; NaN where a curve has no value, as after its end
}

// Validate returns all faults of the options.
func (o Options) Validate() error {
	var errs []error
	fail := func(format string, a ...any) {
		errs = append(errs, fmt.Errorf("%w: %s", ErrInput, fmt.Sprintf(format, a...)))
	}
	if o.Draws != 0 && !(o.Draws >= minDraws && o.Draws <= maxDraws) {
		fail("%d draws; want %d to %d", o.Draws, minDraws, maxDraws)
	}
	if o.Digits < Printed || o.Digits > 2 {
		fail("%d stable digits; want 1 or 2, 0 for a fixed number of draws", o.Digits)
	}
	if o.Digits != 0 && o.Draws != 0 && o.Draws < 2*sequence {
		fail("at most %d draws; two rounds of %d are the least to see whether digits are stable", o.Draws, sequence)
	}
	if o.Workers < 0 {
		fail("%d workers; want 1 or more, 0 for one per processor", o.Workers)
	}
	if o.Points < 0 {
		fail("%d points of curves; want 0 or more", o.Points)
	}
	if o.Coverage != 0 {
		errs = append(errs, validateCoverage(o.Coverage))
	}
	return errors.Join(errs...)
}

// withDefaults fills in what was left 0.
func (o Options) withDefaults() Options {
	most := Usual
	if o.Digits != 0 {
		most = adaptiveMost
	}
	o.Draws = cmp.Or(o.Draws, most)
	o.Workers = cmp.Or(o.Workers, runtime.GOMAXPROCS(0))
	o.Coverage = cmp.Or(o.Coverage, 0.95)
	return o
}

// MonteCarlo propagates the distributions of the inputs through a model by
// draws ([MC] clause 7). newModel is called once per worker, so that each
// model can hold scratch space of its own; it must give the same answers each time.
//
// A draw for which the model returns an error, or a number that is not finite
// (but for a NaN among the points of curves, which have none there), has no answer: it is counted and reported with its reason, and the statistics
// are of the others.
//
// Draws are spread evenly over what the inputs can be, by lattices with random
// shifts. With M random draws the mean would be uncertain by u/√M, the standard
// deviation by about u/√(2M) and the ends of a 95 % interval by about 2.7 u/√M. Even
// ones do better the more a few inputs make most of u: at the usual 8 192 draws of a
// shot with 32 inputs the ends are uncertain by 1 to 2 % of u, by random ones by 3 %. With Digits the run
// goes on, in rounds of 16 384 draws with shifts of their own, until twice the standard deviation of the
// average of each of these numbers is below half a unit of the wanted digit of u(y)
// ([MC] 7.9.4).
func MonteCarlo(p Problem, newModel func() Model, o Options) (*Result, error) {
	if err := errors.Join(p.Validate(), o.Validate()); err != nil {
		return nil, err
	}
	o = o.withDefaults()
	sampler, err := newSampler(p)
	if err != nil {
		return nil, err
	}
	run := newRun(p, sampler, newModel, o)
	stop := newStability(o, len(p.Outputs))
	for run.drawn < o.Draws {
		answers := run.sequence(min(sequence, o.Draws-run.drawn))
		if o.Digits != 0 && stop.reached(answers, run.outputs) {
			break
		}
	}
	return run.result(stop)
}
