package diagnose

import (
	"errors"
	"fmt"
	"math"
	"math/bits"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Observation is one reading, or several that were read off one shot and err
// together, such as what a log shows.
type Observation struct {
	Name   string      // how to name it to the user; may be empty
	Kinds  []Kind      // what was read
	Values []float64   // their values [unit of the kind]
	Cov    [][]float64 // covariance of their own errors [units of both kinds]
	At     float64     // length of a BenchLoad [m]; else 0
	New    bool        // read when the machine was new, nothing being at fault; a Peak only
	Before []Part      // parts that have been put right since it was read
	Other  bool        // its pressures were read with a sensor other than the machine's gauge
	Whole  bool        // of a Yield: read when no more came, what trapped air pushed through after the stroke with it
	Date   float64     // when it was read, by any clock [s]: readings of one kind and date are of one thing
}

// Observe returns a scalar reading with its standard uncertainty [unit of the kind].
func Observe(k Kind, value, u float64) Observation {
	return Observation{Kinds: []Kind{k}, Values: []float64{value}, Cov: [][]float64{{u * u}}}
}

// validate reports every fault of an observation.
func (o *Observation) validate(known bool) error {
	n := len(o.Kinds)
	if n == 0 || len(o.Values) != n || len(o.Cov) != n {
		return fmt.Errorf("%w: a reading has %d kinds, %d values and %d rows of covariance, want as many of each and 1 or more", ErrInput, n, len(o.Values), len(o.Cov))
	}
	var faults []error
	add := func(format string, a ...any) {
		faults = append(faults, fmt.Errorf("%w: "+format, append([]any{ErrInput}, a...)...))
	}
	for i, k := range o.Kinds {
		switch v := o.Values[i]; {
		case k < 0 || k >= kinds:
			add("unknown measurement %d", k)
		case math.IsNaN(v) || math.IsInf(v, 0) || (v < 0 && k != LogBow):
			add("%v is %g, want 0 or more", k, v)
		case len(o.Cov[i]) != n:
			add("covariance of the %v has %d columns, want %d", k, len(o.Cov[i]), n)
		case !(o.Cov[i][i] > 0) || math.IsInf(o.Cov[i][i], 1):
			add("uncertainty of the %v is %g, want more than 0", k, math.Sqrt(max(0, o.Cov[i][i])))
		case k == BenchLoad && !(o.At > 0):
			add("length of the %v is %g m, want more than 0", k, o.At)
		case o.New && k != Peak:
			add("the %v was read when new: only a peak can be", k)
		case !known && ofSpring(k):
			add("the %v cannot be compared: the spring's dimensions as new are not known", k)
		}
	}
	if len(faults) == 0 {
		c := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range i + 1 {
				if o.Cov[i][j] != o.Cov[j][i] {
					add("covariance of %v and %v is %g one way, %g the other", o.Kinds[i], o.Kinds[j], o.Cov[i][j], o.Cov[j][i])
				}
				c.SetSym(i, j, o.Cov[i][j])
			}
		}
		var chol mat.Cholesky
		if !chol.Factorize(c) {
			add("the covariance of the readings with the %v is not positive definite", o.Kinds[0])
		}
	}
	return errors.Join(faults...)
}

// ofSpring reports whether a kind compares with the dimensions of the spring as new.
func ofSpring(k Kind) bool {
	return k == FreeLength || k == WireSize || k == Coils || k == BenchLoad
}

// Contradiction is two statements of one thing that do not go together.
type Contradiction struct {
	Kind   Kind
	Values [2]float64 // what was stated [unit of the kind]
	U      float64    // standard uncertainty of their difference [unit of the kind]
}

// apart is from how many standard uncertainties on two statements contradict each other [-].
const apart = 3

// merge makes one reading of statements of one thing: the same kind (a bench
// load at the same length) at the same date by the same gauge. They were made with the
// same tool, whose error they share, so a second statement does not halve the
// variance: the mean of n with the least u has
//
//	u² = u_least² + s²/n, s their scatter
//
// and two equal ones count as one. A scalar that repeats a row of a log is
// left out, the log having it; a log given twice is one.
func merge(list []Observation) (kept []Observation, against []Contradiction) {
	for _, o := range list {
		i := sameThing(kept, &o)
		if i < 0 {
			kept = append(kept, o)
			continue
		}
		a := &kept[i]
		for r, k := range a.Kinds {
			for q, l := range o.Kinds {
				if k == l {
					if d := math.Abs(a.Values[r] - o.Values[q]); d > apart*math.Sqrt(a.Cov[r][r]+o.Cov[q][q]) {
						against = append(against, Contradiction{k, [2]float64{a.Values[r], o.Values[q]}, math.Sqrt(a.Cov[r][r] + o.Cov[q][q])})
					}
				}
			}
		}
		switch {
		case len(a.Kinds) == 1 && len(o.Kinds) == 1:
			*a = a.with(&o)
		case len(o.Kinds) > len(a.Kinds):
			kept[i] = o
		}
	}
	return kept, against
}

// sameThing returns which of a list states the same thing; -1 for none.
func sameThing(list []Observation, o *Observation) int {
	for i := range list {
		a := &list[i]
		if a.Date != o.Date || a.At != o.At || a.New != o.New || a.Other != o.Other || a.Whole != o.Whole || setOf(a.Before...) != setOf(o.Before...) {
			continue
		}
		if len(a.Kinds) > 1 && len(o.Kinds) > 1 {
			if sameRows(a, o) {
				return i
			}
			continue
		}
		small, large := a, o
		if len(a.Kinds) > len(o.Kinds) {
			small, large = o, a
		}
		for _, k := range large.Kinds {
			if k == small.Kinds[0] {
				return i
			}
		}
	}
	return -1
}

// sameRows reports whether two logs give the same numbers.
func sameRows(a, b *Observation) bool {
	if len(a.Kinds) != len(b.Kinds) {
		return false
	}
	for i := range a.Kinds {
		if a.Kinds[i] != b.Kinds[i] || math.Abs(a.Values[i]-b.Values[i]) > 0.1*math.Sqrt(a.Cov[i][i]) {
			return false // a log read again differs by the seed of its intervals only
		}
	}
	return true
}

// with joins two scalars of one thing.
func (o *Observation) with(b *Observation) Observation {
	va, vb := o.Cov[0][0], b.Cov[0][0]
	mean := (o.Values[0]/va + b.Values[0]/vb) / (1/va + 1/vb)
	d := o.Values[0] - b.Values[0]
	if d == 0 {
		mean = o.Values[0]
	}
	m := *o
	m.Values = []float64{mean}
	m.Cov = [][]float64{{min(va, vb) + d*d/4}}
	return m
}

// number is one number that was read, or could be.
type number struct {
	kind   Kind
	at     float64 // length of a BenchLoad [m]
	new    bool
	before partSet // parts put right since it was read
	stage  int     // of the scene that it was read in; 0 for now
	other  bool
	whole  bool
	bare   bool // the peak that a sound gauge would show, with no error of its own
	from   int  // which observation
}

// scene is a machine in its state now, as it was before each of the last
// repairs, and without faults.
type scene struct {
	at    [mostStages]seen // 0 is now
	sound seen
}

// mostStages is how many states between repairs are told apart; readings from
// before that are left out.
const mostStages = 5

// recent leaves out readings from before more repairs than states are told apart
// for: those before which the fewest parts were put right stay.
func recent(list []Observation) (kept []Observation, out int) {
	stages := []partSet{0}
	for i := range list {
		if b := setOf(list[i].Before...); !slices.Contains(stages, b) {
			stages = append(stages, b)
		}
	}
	if len(stages) <= mostStages {
		return list, 0
	}
	slices.SortStableFunc(stages, func(a, b partSet) int {
		return bits.OnesCount16(uint16(a)) - bits.OnesCount16(uint16(b))
	})
	for i := range list {
		if slices.Contains(stages[:mostStages], setOf(list[i].Before...)) {
			kept = append(kept, list[i])
		}
	}
	return kept, len(list) - len(kept)
}

// in returns the state that the row was read in.
func (r *number) in(c *scene) *seen {
	if r.new {
		return &c.sound
	}
	return &c.at[r.stage]
}

// of returns what the row would show.
func (r *number) of(c *scene) float64 {
	v := r.in(c)
	switch {
	case r.bare:
		return v.shown
	case r.whole && r.kind == Yield:
		return v.whole
	case r.kind == BenchLoad:
		return max(0, v.rate*(v.free-r.at))
	case r.other && ofPressure(r.kind):
		return v.other[r.kind]
	}
	return v.value[r.kind]
}

// by returns by how much the row changes with a nuisance of the reading, where
// all nuisances are at their means and the gauge shows a sound machine's peak as given [Pa].
func (r *number) by(i nuisance, c *scene, peak float64) float64 {
	own, shift := i == offGain || i == offZero, i == offZero || i == offOtherZero
	switch {
	case r.bare:
		return 0
	case r.kind == Gauge && own:
		if shift {
			return 1 / peak
		}
		return 1
	case !ofPressure(r.kind) || own == r.other:
		return 0
	case !shift:
		return r.in(c).other[r.kind]
	case r.kind == LogRate || r.kind == LogBow:
		return 0
	}
	return 1
}

// ofPressure reports whether a kind is read on a gauge or sensor.
func ofPressure(k Kind) bool {
	switch k {
	case Peak, EndPress, LongFill, LogRate, LogBow, LogStart:
		return true
	}
	return false
}

// nearStall is the end pressure, as a share of the peak, from which down a shot
// counts as near its stall: its time, its yield and its line then hang on
// what no closed form tells.
const nearStall = 0.15

// leastPart is the share of the usual water that a shot counts as having at
// least, for how well its time is known [-].
const leastPart = 0.1

// own returns the variance of the model's own error of a row that would show v.
// Near a stall it grows, to the whole of what hangs on the end of the shot.
func (m *ModelError) own(k Kind, v float64, in *seen) float64 {
	u := 0.0
	stall := max(0, 1-in.end/(nearStall*in.peak+1))
	switch k {
	case Peak, LongFill:
		u = math.Hypot(m.Peak*v, m.Short*(in.peak-in.shown))
	case EndPress:
		u = math.Hypot(math.Hypot(m.End*v, m.EndFixed), m.Late*in.late) + stall*nearStall/2*in.peak
	case LogStart:
		u = math.Hypot(m.End*v, m.EndFixed) + stall*nearStall*v
	case BenchRate, BenchLoad:
		u = m.Rate * v
	case LogRate:
		u = (m.Rate + stall*nearStall) * v
	case LogBow:
		u = m.Bow + stall*nearStall/2*in.peak
	case Yield:
		u = math.Hypot((m.Yield+stall*nearStall)*v, m.YieldFixed)
	case ShotTime:
		// The less water goes through, the more of the time is the bed's beginning, which differs most.
		u = math.Hypot((m.Time/max(in.part, leastPart)+stall)*v, m.TimeFixed)
	case Drag:
		u = m.Drag * v
	case Headspace:
		u = m.Headspace
	}
	return u * u
}
