package replace

import (
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"

	"springcalc/spring"
)

// Grid is what springs the search may make up: every combination.
type Grid struct {
	Wires      []Wire            // sizes of the grades to be had
	Means      []float64         // D: mean coil diameters [m]
	Coils      []float64         // n_a: active coils [-]
	Ends       []spring.Ends     // kinds of ends
	Convention spring.Convention // whose rules count the end coils
	FreeStep   float64           // free lengths are multiples of this [m]; 0 for any length
}

// Steps returns the multiples of a step from lo to hi, such as mean diameters
// in half millimetres or coils in quarters.
func Steps(lo, hi, step float64) []float64 {
	const slip = 1e-9 // so that rounding does not lose an end
	first, last := math.Ceil(lo/step-slip), math.Floor(hi/step+slip)
	var all []float64
	for i := first; i <= last; i++ {
		all = append(all, i*step)
	}
	return all
}

// Quarters returns the usual counts of active coils from lo to hi.
func Quarters(lo, hi float64) []float64 { return Steps(lo, hi, 0.25) }

// MeansBetween returns mean diameters for the space, whatever the wire: from
// those over the rod to those in the bore, both touching.
func (s *Space) MeansBetween(step float64) []float64 {
	return Steps(max(s.Rod, step), s.Bore, step)
}

// Size returns the number of springs in the grid [-].
func (g *Grid) Size() int { return len(g.Wires) * len(g.Means) * len(g.Coils) * len(g.Ends) }

// Validate reports every impossible value of the grid at once.
func (g *Grid) Validate() error {
	var f faults
	f.that(g.Size() > 0, "Grid.Size", float64(g.Size()), "springs", "one wire, mean diameter, number of coils and kind of ends or more")
	for i := range g.Wires {
		f = append(f, g.Wires[i].validate())
	}
	for _, d := range g.Means {
		f.that(d > 0 && d <= 1, "Grid.Means", d, "m", "more than 0, up to 1")
	}
	for _, n := range g.Coils {
		f.that(n >= 0.5 && n <= 1000, "Grid.Coils", n, "", "from 0.5 to 1000")
	}
	for _, e := range g.Ends {
		if _, ok := g.Convention.DeadCoils(e); !ok {
			f = append(f, fmt.Errorf("%w: Grid.Ends: convention %v does not know ends %v", ErrJob, g.Convention, e))
		}
	}
	f.that(g.FreeStep >= 0 && g.FreeStep <= 0.1, "Grid.FreeStep", g.FreeStep, "m", "from 0 to 0.1")
	return errors.Join(f...)
}

// Search is how to go through a grid.
type Search struct {
	Job
	Grid     Grid
	Order    Order
	Keep     int                   // how many of the best to keep; 0 for all
	Workers  int                   // how many to judge at once; 0 for as many as there are cores. The result is the same
	Progress func(done, total int) // called now and then with the springs done, one call at a time; may be nil
}

// Found is what a search found.
type Found struct {
	Tried   int              // springs of the grid
	Fitting int              // those that fit
	Best    []Choice         // the best of them, in order
	Blocked [constraints]int // those that do not, by the first constraint that they break
	Nearest *Choice          // where none fits: the one that falls short by the least
}

// Run judges every spring of the grid.
//
// A spring is left half judged only where that cannot change the result: it has
// broken a constraint, and is worse than a miss that is known already, or no
// miss is asked for because another spring fits. Each wire is one piece of work;
// the pieces are put together in the order of the grid.
func (s *Search) Run() (*Found, error) {
	if err := errors.Join(s.Job.Validate(), s.Grid.Validate(), s.Order.validate()); err != nil {
		return nil, err
	}
	workers := s.Workers
	if workers == 0 {
		workers = runtime.GOMAXPROCS(0)
	}
	var (
		pieces = make([]Found, len(s.Grid.Wires))
		report = s.reporter()
		limit  = newLimit()
		next   atomic.Int64
		all    sync.WaitGroup
	)
	for range workers {
		all.Go(func() {
			for i := int(next.Add(1)) - 1; i < len(pieces); i = int(next.Add(1)) - 1 {
				pieces[i] = s.wire(i, limit, report)
			}
		})
	}
	all.Wait()
	return s.join(pieces), nil
}

// reporter returns what tells the caller how far the search is.
func (s *Search) reporter() func(springs int) {
	var mu sync.Mutex
	done := 0
	return func(springs int) {
		if s.Progress != nil {
			mu.Lock()
			defer mu.Unlock()
			done += springs
			s.Progress(done, s.Grid.Size())
		}
	}
}

// limit is how much a miss may fall short and still be of interest [-]. It only sinks.
type limit struct{ bits atomic.Uint64 }

func newLimit() *limit {
	l := &limit{}
	l.bits.Store(math.Float64bits(math.Inf(1)))
	return l
}

func (l *limit) get() float64 { return math.Float64frombits(l.bits.Load()) }

func (l *limit) lower(to float64) {
	for {
		old := l.bits.Load()
		if math.Float64frombits(old) <= to || l.bits.CompareAndSwap(old, math.Float64bits(to)) {
			return
		}
	}
}

// wire judges all springs of one wire.
func (s *Search) wire(i int, limit *limit, report func(springs int)) Found {
	g, w := &s.Grid, &s.Grid.Wires[i]
	b := s.bench()
	var f Found
	row := i * (g.Size() / len(g.Wires))
	parts := make([]Part, 1)
	for _, mean := range g.Means {
		rate := s.coil(w, mean, 1, g.Ends[0]).Rate() * w.soft(s.Space.Celsius) // of one active coil
		for _, ends := range g.Ends {
			for _, coils := range g.Coils {
				f.Tried++
				row++
				if !(mean > w.Diameter) { // the wire does not go round
					f.Blocked[Index]++
					continue
				}
				if s.farOff(rate/coils, limit.get()) {
					f.Blocked[PeakPressure]++
					continue
				}
				parts[0] = PartOf(s.coil(w, mean, coils, ends), w)
				v := b.judge(parts, limit.get())
				if v.Fits() {
					limit.lower(0) // no miss is asked for any more
					f.Fitting++
					f.Best = append(f.Best, s.choice(row, parts, v))
					s.trim(&f, 4*s.Keep)
					continue
				}
				f.Blocked[v.first()]++
				if f.Nearest == nil || v.Short < f.Nearest.Verdict.Short {
					limit.lower(v.Short)
					c := s.choice(row, parts, v)
					f.Nearest = &c
				}
			}
		}
		report(len(g.Ends) * len(g.Coils))
	}
	s.trim(&f, s.Keep)
	return f
}

// farOff reports whether a spring of a rate [N/m] misses the peak pressure, keeps
// the end pressure and, by the peak alone, falls short by more than most: to
// judge it further would change nothing. It leans to judging: by what rounding
// of the free length can do, and by far more than the rounding of a float.
func (s *Search) farOff(rate, most float64) bool {
	const slip = 1e-9
	rounding := rate * s.Grid.FreeStep / 2
	off := math.Abs(rate-s.Rate)*(s.Stroke-s.Begin) - rounding
	if !(rounding < s.Within*(1-slip) && off > s.Within*(1+slip)) {
		return false
	}
	return -Check{Have: s.Within, Need: off}.Margin() > most+slip
}

// coil returns the spring of a wire whose free length gives the force at rest.
func (s *Search) coil(w *Wire, mean, coils float64, ends spring.Ends) spring.Compression {
	dead, _ := s.Grid.Convention.DeadCoils(ends)
	c := spring.Compression{
		Wire: w.Diameter, WireMax: w.Most, Mean: mean, Active: coils, Total: coils + dead,
		Ends: ends, Convention: s.Grid.Convention, G: w.G, E: w.E, Density: w.Density,
	}
	c.Free = s.Space.Installed + s.Rest/(c.Rate()*w.soft(s.Space.Celsius))
	if step := s.Grid.FreeStep; step > 0 {
		c.Free = step * math.Round(c.Free/step)
	}
	return c
}

func (s *Search) choice(row int, parts []Part, v Verdict) Choice {
	c := Choice{Row: row, Parts: slices.Clone(parts), Verdict: v}
	c.score(0)
	return c
}

// trim sorts the best and keeps some, where there are more than most.
func (s *Search) trim(f *Found, most int) {
	if s.Keep > 0 && len(f.Best) > most {
		s.sort(f.Best)
		f.Best = f.Best[:min(s.Keep, len(f.Best))]
	}
}

func (s *Search) sort(all []Choice) {
	slices.SortFunc(all, func(a, b Choice) int { return s.Order.compare(&a, &b) })
}

// join puts the pieces together.
func (s *Search) join(pieces []Found) *Found {
	var f Found
	for i := range pieces {
		p := &pieces[i]
		f.Tried += p.Tried
		f.Fitting += p.Fitting
		f.Best = append(f.Best, p.Best...)
		for c, n := range p.Blocked {
			f.Blocked[c] += n
		}
		if n := p.Nearest; n != nil && (f.Nearest == nil || n.Verdict.Short < f.Nearest.Verdict.Short) {
			f.Nearest = n
		}
	}
	s.sort(f.Best)
	if s.Keep > 0 && len(f.Best) > s.Keep {
		f.Best = f.Best[:s.Keep]
	}
	if f.Fitting > 0 {
		f.Nearest = nil
	}
	return &f
}
