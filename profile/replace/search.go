package replace

import (
	"errors"
	"fmt"
	"iter"
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
	FreeStep   float64           // free lengths are multiples of this, every one of them tried [m]; 0 for the one that gives the force at rest
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
		f.that(d > 0 && d <= 1, "Grid.Means", d, "m", "more than 0, up to 1 m")
	}
	for _, n := range g.Coils {
		f.that(n >= 0.5 && n <= 1000, "Grid.Coils", n, "", "from 0.5 to 1000")
	}
	for _, e := range g.Ends {
		if _, ok := g.Convention.DeadCoils(e); !ok {
			f = append(f, fmt.Errorf("%w: Grid.Ends: convention %v does not know ends %v", ErrJob, g.Convention, e))
		}
	}
	f.that(g.FreeStep >= 0 && g.FreeStep <= 0.1, "Grid.FreeStep", g.FreeStep, "m", "from 0 to 0.1 m")
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
	Tried   int              // coils of the grid, each tried with every free length that gives the pressures
	Fitting int              // those that fit with one free length or more
	Lengths int              // free lengths with which they fit, of all of them together
	Best    []Choice         // the best of them in order, each with the best of its free lengths
	Varied  []Choice         // the best of each kind: of every wire with every kind of ends, in order
	Blocked [constraints]int // those that do not fit, by the first constraint that they break with the length that falls short by the least
	Nearest *Choice          // where none fits: the one that falls short by the least

	floor *Choice // the last that is kept, while the search runs
}

// Run judges every coil of the grid, with every free length that gives the wished
// pressures. The solid length goes by the convention of the grid.
//
// A spring is left half judged only where that cannot change the result: it has
// broken a constraint, and is worse than a miss that is known already, or no
// miss is asked for because another spring fits. Each wire is one piece of work;
// the pieces are put together in the order of the grid.
func (s *Search) Run() (*Found, error) {
	if err := errors.Join(s.Job.Validate(), s.Grid.Validate(), s.Order.validate()); err != nil {
		return nil, err
	}
	if s.Job.Convention != 0 && s.Job.Convention != s.Grid.Convention {
		return nil, fmt.Errorf("%w: the task reckons by convention %v, the grid by %v: want one for both", ErrJob, s.Job.Convention, s.Grid.Convention)
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
				if s.frees(b, rate/coils).few() && s.farOff(b, rate/coils, limit.get()) {
					f.Blocked[PeakPressure]++
					continue
				}
				coil := s.coil(w, mean, coils, ends)
				s.lengths(b, &f, limit, design{row, coil, w, s.frees(b, coil.Rate()*w.soft(s.Space.Celsius))})
			}
		}
		report(len(g.Ends) * len(g.Coils))
	}
	s.trim(&f, s.Keep)
	f.floor = nil
	return f
}

// frees are the free lengths to try with a coil: those that give both pressures
// within their tolerance, and where there are none the one nearest to them.
type frees struct {
	nearest     float64 // free length that gives the force at rest, to the step [m]
	first, last int     // those that give both pressures, in steps; last is less than first where there are none
}

// few reports whether no free length of the grid gives both pressures.
func (f frees) few() bool { return f.last < f.first }

// all yields the lengths [m].
func (f frees) all(step float64) iter.Seq[float64] {
	return func(yield func(float64) bool) {
		if f.few() {
			yield(f.nearest)
			return
		}
		for i := f.first; i <= f.last; i++ {
			if !yield(float64(i) * step) {
				return
			}
		}
	}
}

// need returns what a new spring has to push at rest and where the water begins to
// move [N], those that stay having done their share, and the lift of the latter [m].
func (b *bench) need() (rest, start, lift float64) {
	lift = b.Stroke - b.Begin
	return b.Rest - spring.ForceOf(b.stay, 0), b.Start() - spring.ForceOf(b.stay, lift), lift
}

// longest is a free length that no spring of a lever has [m]: a soft one would be
// tried with millions of lengths.
const longest = 1.0

// frees returns the free lengths to try with a spring of a rate at work [N/m]:
//
//	L0 = L_1 + (F_1 ± ΔF)/R and L0 = L_1 - y + (F_y ± ΔF)/R, y = s - z_0
func (s *Search) frees(b *bench, rate float64) frees {
	rest, start, lift := b.need()
	at, by := s.Space.Installed, s.Within/rate
	middle, low, high := at+rest/rate, at+rest/rate-by, at+rest/rate+by
	if s.AnyEnd {
		middle, low, high = at-lift+start/rate, math.Inf(-1), math.Inf(1)
	}
	low, high = max(low, at-lift+start/rate-by), min(high, at-lift+start/rate+by, longest)
	step := s.Grid.FreeStep
	if step == 0 {
		return frees{nearest: middle, last: -1}
	}
	const slip = 1e-9
	return frees{
		nearest: step * math.Round(middle/step),
		first:   int(math.Ceil(low/step - slip)), last: int(math.Floor(high/step + slip)),
	}
}

// design is a coil of the grid that is to be tried with some free lengths.
type design struct {
	row   int
	coil  spring.Compression
	wire  *Wire
	frees frees
}

// lengths judges a coil with every free length, and enters the best that fits.
func (s *Search) lengths(b *bench, f *Found, limit *limit, d design) {
	var (
		best  Choice
		fit   Span
		n     int
		first = Constraint(-1)
		least = math.Inf(1)
		parts [1]Part
	)
	for free := range d.frees.all(s.Grid.FreeStep) {
		d.coil.Free = free
		parts[0] = PartOf(d.coil, d.wire)
		v := b.judge(parts[:], limit.get())
		if !v.Fits() {
			if off := math.Abs(free - d.frees.nearest); off < least {
				least, first = off, v.first()
			}
			if f.Nearest == nil || v.Short < f.Nearest.Verdict.Short {
				limit.lower(v.Short)
				f.Nearest = &Choice{Row: d.row, Parts: slices.Clone(parts[:]), Verdict: v} // join does the rest for the one that counts
			}
			continue
		}
		limit.lower(0) // no miss is asked for any more
		if n == 0 {
			fit.Low = free
		}
		fit.High = free
		n++
		if s.hopeless(f, &v, &best, d.coil.Ends) {
			continue
		}
		c := Choice{Row: d.row, Parts: slices.Clone(parts[:]), Verdict: v, Effort: b.hand()}
		c.finish(b)
		if best.Parts == nil || s.Order.compare(&c, &best) < 0 {
			best = c
		}
	}
	if n == 0 {
		f.Blocked[first]++
		return
	}
	f.Fitting++
	f.Lengths += n
	if best.Parts == nil {
		return
	}
	best.Free, best.Lengths = fit, n
	f.Best = append(f.Best, best)
	f.vary(&s.Order, &best)
	s.trim(f, 4*s.Keep)
}

// hopeless reports whether a spring that fits can neither be among the best that
// are kept, nor be the best of its kind, nor beat the best of its own lengths. That
// can be told before its bands are known, because as made its weakest margin is no
// more than as drawn; where the order does not begin with that margin it never can.
func (s *Search) hopeless(f *Found, v *Verdict, best *Choice, ends spring.Ends) bool {
	if s.Keep == 0 || s.Order.Keys[0] != (Key{By: ByMargin}) || f.floor == nil {
		return false
	}
	most, _, _ := v.Sound()
	behind := func(c *Choice) bool {
		return math.Floor(most/s.Order.Step) < math.Floor(c.Weakest/s.Order.Step)
	}
	if best.Parts != nil && !behind(best) || !behind(f.floor) {
		return false
	}
	for i := range f.Varied {
		if k := &f.Varied[i]; k.Parts[0].Coil.Ends == ends {
			return behind(k)
		}
	}
	return false
}

// vary keeps the best choice of each kind of ends; all are of one wire.
func (f *Found) vary(o *Order, c *Choice) {
	for i := range f.Varied {
		if old := &f.Varied[i]; old.Parts[0].Coil.Ends == c.Parts[0].Coil.Ends {
			if o.compare(c, old) < 0 {
				*old = *c
			}
			return
		}
	}
	f.Varied = append(f.Varied, *c)
}

// farOff reports whether a spring of a rate at work [N/m] misses the peak pressure,
// keeps the end pressure and, by the peak alone, falls short by more than most: to
// judge it further would change nothing. It leans to judging: by what rounding
// of the free length can do, and by far more than the rounding of a float.
func (s *Search) farOff(b *bench, rate, most float64) bool {
	if s.AnyEnd {
		return false
	}
	const slip = 1e-9
	rest, start, lift := b.need()
	rounding := rate * s.Grid.FreeStep / 2
	off := math.Abs(rate*lift-(start-rest)) - rounding
	if !(rounding < s.Within*(1-slip) && off > s.Within*(1+slip)) {
		return false
	}
	return -Check{Have: s.Within, Need: off}.Margin() > most+slip
}

// coil returns the spring of a wire without its free length.
func (s *Search) coil(w *Wire, mean, coils float64, ends spring.Ends) spring.Compression {
	dead, _ := s.Grid.Convention.DeadCoils(ends)
	return spring.Compression{
		Wire: w.Diameter, WireMax: w.Most, Mean: mean, Active: coils, Total: coils + dead,
		Ends: ends, Convention: s.Grid.Convention, G: w.G, E: w.E, Density: w.Density,
	}
}

// trim sorts the best and keeps some, where there are more than most.
func (s *Search) trim(f *Found, most int) {
	if s.Keep > 0 && len(f.Best) > most {
		s.sort(f.Best)
		f.Best = f.Best[:min(s.Keep, len(f.Best))]
		if len(f.Best) == s.Keep {
			last := f.Best[s.Keep-1]
			f.floor = &last
		}
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
		f.Lengths += p.Lengths
		f.Best = append(f.Best, p.Best...)
		f.Varied = append(f.Varied, p.Varied...)
		for c, n := range p.Blocked {
			f.Blocked[c] += n
		}
		if n := p.Nearest; n != nil && (f.Nearest == nil || n.Verdict.Short < f.Nearest.Verdict.Short) {
			f.Nearest = n
		}
	}
	s.sort(f.Best)
	s.sort(f.Varied)
	if s.Keep > 0 && len(f.Best) > s.Keep {
		f.Best = f.Best[:s.Keep]
	}
	if f.Fitting > 0 {
		f.Nearest = nil
	}
	if n := f.Nearest; n != nil {
		*n = s.choose(s.bench(), n.Row, n.Parts)
	}
	return &f
}
