package uncertain

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
)

// block is the number of draws that share one stream of random numbers, seeded
// by the seed of the run and the number of the block. Which worker takes a block
// does not matter, so neither does the number of workers. It divides sequence.
const block = 256

// run is a Monte Carlo run on its way.
type run struct {
	Problem
	Options
	workers []*worker
	table   batch

	drawn   int         // draws made so far
	inputs  [][]float64 // one column per input: draws with an answer, in order
	outputs [][]float64 // one column per output, likewise
	odd     []bool      // draws of odd number, likewise
	curves  [][]float64 // one row per kept draw with an answer
}

// batch holds one sequence of draws, one row per draw.
type batch struct {
	first    int // number of the first draw within the run
	x, y     [][]float64
	curve    [][]float64 // of the first draws of the run; nil rows are not kept
	ok       []bool
	lattices [2]lattice
	taken    atomic.Int64 // blocks taken by workers
}

// worker is one model with its scratch space.
type worker struct {
	sampler  *sampler
	model    Model
	names    []string
	pcg      *rand.PCG
	point    []float64      // of the unit cube
	z, full  []float64      // deviates; outputs and curves
	failures map[string]int // draws without an answer by reason
}

func newRun(p Problem, s *sampler, newModel func() Model, o Options) *run {
	r := &run{Problem: p, Options: o, inputs: columns(len(p.Inputs), o), outputs: columns(len(p.Outputs), o)}
	for range o.Workers {
		r.workers = append(r.workers, &worker{
			sampler: s, model: newModel(), names: p.Outputs, pcg: rand.NewPCG(0, 0),
			point: make([]float64, len(p.Inputs)), z: make([]float64, len(p.Inputs)), full: make([]float64, len(p.Outputs)+o.Points),
			failures: map[string]int{},
		})
	}
	n := min(sequence, o.Draws)
	r.table.x, r.table.y, r.table.ok = rows(n, len(p.Inputs)), rows(n, len(p.Outputs)), make([]bool, n)
	return r
}

// columns returns n empty columns with room for all draws of a run of fixed length.
func columns(n int, o Options) [][]float64 {
	table := make([][]float64, n)
	if o.Digits == 0 {
		for i := range table {
			table[i] = make([]float64, 0, o.Draws)
		}
	}
	return table
}

// sequence makes n draws on all workers, keeps those with an answer and returns
// the columns of outputs of this sequence alone.
func (r *run) sequence(n int) [][]float64 {
	b := &r.table
	b.first, b.ok = r.drawn, b.ok[:n]
	b.taken.Store(0)
	b.lattices = newLattices(len(r.Inputs), r.Seed, r.drawn)
	b.curve = make([][]float64, n)
	if r.drawn == 0 && r.Points > 0 {
		copy(b.curve, rows(min(n, curvesKept), r.Points))
	}
	var wg sync.WaitGroup
	for _, w := range r.workers {
		wg.Go(func() { w.work(b, r.Seed) })
	}
	wg.Wait()
	r.drawn += n
	return r.keep(b)
}

// keep moves the draws with an answer into the columns.
func (r *run) keep(b *batch) [][]float64 {
	before := len(r.outputs[0])
	for d, ok := range b.ok {
		if !ok {
			continue
		}
		for i, v := range b.x[d] {
			r.inputs[i] = append(r.inputs[i], v)
		}
		for i, v := range b.y[d] {
			r.outputs[i] = append(r.outputs[i], v)
		}
		r.odd = append(r.odd, d%2 == 1)
		if b.curve[d] != nil {
			r.curves = append(r.curves, b.curve[d])
		}
	}
	fresh := make([][]float64, len(r.outputs))
	for i, column := range r.outputs {
		fresh[i] = column[before:]
	}
	return fresh
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
func (w *worker) work(b *batch, seed uint64) {
	for {
		from := (int(b.taken.Add(1)) - 1) * block
		if from >= len(b.ok) {
			return
		}
		w.pcg.Seed(seed, uint64((b.first+from)/block))
		for d := from; d < min(from+block, len(b.ok)); d++ {
			b.lattices[d%2].at(d/2, w.pcg, w.point)
			b.ok[d] = w.one(b.x[d], b.y[d], b.curve[d])
		}
	}
}

// one makes one draw and reports whether the model had an answer.
func (w *worker) one(x, y, curve []float64) bool {
	w.sampler.draw(w.point, w.pcg, w.z, x)
	copy(w.z, x) // the model may not change the record of what was drawn
	full := w.full[:len(y)+len(curve)]
	clear(full)
	if err := answer(w.model, w.z, full, w.names); err != nil {
		w.failures[reason(err)]++
		return false
	}
	copy(curve, full[copy(y, full):])
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
