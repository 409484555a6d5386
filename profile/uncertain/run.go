package uncertain

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"sync/atomic"
)

// block is the number of draws that share one stream of random numbers, seeded
// by the seed of the run and the number of the block. Which worker takes a block
// does not matter, so neither does the number of workers. It divides sequence.
const block = 256

// run is a Monte Carlo run on its way. Its columns hold the draws with an answer, in order.
type run struct {
	Problem
	Options
	workers []*worker
	sampler *sampler
	batch

	drawn   int         // draws made so far
	levels  [][]uint16  // by input, where in its distribution a draw is [2^-16]
	outputs [][]float64 // by output
	odd     []bool      // draws of odd number
	curves  [][]float64 // by point of the curves, of the first draws
}

// batch is one sequence of draws, whose answers are written behind those of the last.
type batch struct {
	first    int // number of the first draw within the run
	at       int // its place in the columns
	curved   int // how many have curves
	ok       []bool
	lattices [2]lattice
	taken    atomic.Int64 // blocks taken by workers
}

// worker is one model with its scratch space.
type worker struct {
	*run
	model    Model
	pcg      *rand.PCG
	point    []float64      // of the unit cube
	z, x     []float64      // deviates, inputs
	y        []float64      // outputs and curves
	failures map[string]int // draws without an answer by reason
}

func newRun(p Problem, s *sampler, newModel func() Model, o Options) *run {
	n, room := len(p.Inputs), o.Draws
	if o.Digits != 0 {
		room = sequence
	}
	r := &run{Problem: p, Options: o, sampler: s, levels: make([][]uint16, n), outputs: make([][]float64, len(p.Outputs)), odd: make([]bool, 0, room)}
	for range o.Workers {
		r.workers = append(r.workers, &worker{
			run: r, model: newModel(), pcg: rand.NewPCG(0, 0),
			point: make([]float64, n), z: make([]float64, n), x: make([]float64, n), y: make([]float64, len(p.Outputs)+o.Points),
			failures: map[string]int{},
		})
	}
	for i := range r.levels {
		r.levels[i] = make([]uint16, 0, room)
	}
	for i := range r.outputs {
		r.outputs[i] = make([]float64, 0, room)
	}
	r.ok = make([]bool, min(sequence, o.Draws))
	return r
}

// sequence makes n draws on all workers, keeps those with an answer and returns
// the columns of outputs of this sequence alone.
func (r *run) sequence(n int) [][]float64 {
	r.first, r.at, r.curved, r.ok = r.drawn, len(r.odd), 0, r.ok[:n]
	r.taken.Store(0)
	r.lattices = newLattices(len(r.Inputs), r.Seed, r.drawn)
	if r.drawn == 0 && r.Points > 0 {
		r.curved = min(n, curvesKept)
		r.curves = rows(r.Points, r.curved)
	}
	lengthen(r.levels, n)
	lengthen(r.outputs, n)
	var wg sync.WaitGroup
	for _, w := range r.workers {
		wg.Go(w.work)
	}
	wg.Wait()
	r.drawn += n
	return r.keep()
}

// lengthen adds n places to every column.
func lengthen[T any](columns [][]T, n int) {
	for i, c := range columns {
		columns[i] = slices.Grow(c, n)[:len(c)+n]
	}
}

// keep takes the draws of the sequence that have no answer out of the columns.
func (r *run) keep() [][]float64 {
	for d, ok := range r.ok {
		if ok {
			r.odd = append(r.odd, d%2 == 1)
		}
	}
	if len(r.odd) < r.at+len(r.ok) {
		shorten(r.levels, r.at, r.ok)
		shorten(r.outputs, r.at, r.ok)
		if r.curved > 0 {
			shorten(r.curves, 0, r.ok[:r.curved])
		}
	}
	fresh := make([][]float64, len(r.outputs))
	for i, column := range r.outputs {
		fresh[i] = column[r.at:]
	}
	return fresh
}

// shorten leaves of every column, from a place on, what is ok.
func shorten[T any](columns [][]T, from int, ok []bool) {
	for i, c := range columns {
		kept := from
		for d, ok := range ok {
			if ok {
				c[kept] = c[from+d]
				kept++
			}
		}
		columns[i] = c[:kept]
	}
}

// rows returns n rows of the given width in one piece of memory.
func rows(n, width int) [][]float64 {
	all, table := make([]float64, n*width), make([][]float64, n)
	for i := range table {
		table[i] = all[i*width : (i+1)*width : (i+1)*width]
	}
	return table
}

// work takes blocks until none is left.
func (w *worker) work() {
	for {
		from := (int(w.taken.Add(1)) - 1) * block
		if from >= len(w.ok) {
			return
		}
		w.pcg.Seed(w.Seed, uint64((w.first+from)/block))
		for d := from; d < min(from+block, len(w.ok)); d++ {
			w.lattices[d%2].at(d/2, w.pcg, w.point)
			w.ok[d] = w.one(d)
		}
	}
}

// one makes one draw of the sequence and reports whether the model had an answer.
func (w *worker) one(d int) bool {
	w.sampler.draw(w.point, w.pcg, w.z, w.x)
	y := w.y[:len(w.outputs)]
	if d < w.curved {
		y = w.y
	}
	clear(y)
	if err := answer(w.model, w.x, y, w.Outputs); err != nil {
		w.failures[reason(err)]++
		return false
	}
	for i, p := range w.point {
		w.levels[i][w.at+d] = uint16(min(p*0x1p16, 0xffff))
	}
	for i, column := range w.outputs {
		column[w.at+d] = y[i]
	}
	for k, v := range y[len(w.outputs):] {
		w.curves[k][d] = v
	}
	return true
}

// reason is the innermost error: without the numbers of the single draw, so that
// like failures are counted together.
func reason(err error) string {
	for {
		inner := errors.Unwrap(err)
		if joined, ok := err.(interface{ Unwrap() []error }); ok && len(joined.Unwrap()) > 0 {
			inner = joined.Unwrap()[0]
		}
		if inner == nil {
			return err.Error()
		}
		err = inner
	}
}

// notFinite is the error for output i of a model, a curve if it is beyond the
// named ones.
func notFinite(outputs []string, i int) error {
	if i < len(outputs) {
		return fmt.Errorf("%s is not a finite number", outputs[i])
	}
	return errors.New("a curve is not a finite number")
}
