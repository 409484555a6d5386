package course

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"springcalc/spring"
)

// ErrInput marks input that cannot be used.
var ErrInput = errors.New("course: bad input")

// Year is a Julian year [s].
const Year = 365.25 * 86400

const (
	maxReadings = 500
	maxRepairs  = 12
	maxTime     = 1e4 * Year
)

// Reading is a value read off the machine.
type Reading struct {
	Time   float64 // t: from the epoch [s]
	Value  float64 // y: more than 0 [unit of the value]
	U      float64 // U: its own standard uncertainty; 0 for none known [unit of the value]
	Before bool    // read before a repair of the same time; otherwise after it
	Note   string
}

// Kind is what a repair renewed.
type Kind int

// The kinds of repair. Only a new spring starts the log-time law anew; each
// brings a change of level.
const (
	Other Kind = iota
	Seal
	Spring
	Shim
	Gauge // what it brought is a change of the reading, not of the pressure
	Descale
)

var kindNames = [...]string{"other", "seal", "spring", "shim", "gauge", "descaled"}

func (k Kind) String() string {
	if k < 0 || int(k) >= len(kindNames) {
		return fmt.Sprintf("Kind(%d)", int(k))
	}
	return kindNames[k]
}

// Kinds returns all kinds, Other last.
func Kinds() []Kind {
	all := make([]Kind, len(kindNames))
	for i := range all {
		all[i] = Kind((i + 1) % len(all))
	}
	return all
}

// ParseKind reads what String prints.
func ParseKind(s string) (Kind, error) {
	if i := slices.Index(kindNames[:], s); i >= 0 {
		return Kind(i), nil
	}
	return Other, fmt.Errorf("%w: kind of repair is %q, want one of %v", ErrInput, s, kindNames)
}

// Repair is work that was noted.
type Repair struct {
	Time float64 // from the epoch [s]
	Kind Kind
	What string
}

// Prior is how probable each part of a law is before a reading is seen [-], in
// (0, 1), each by itself. It is judgement.
type Prior struct {
	Set  float64 // a fall by log-time [-]
	Wear float64 // a linear fall [-]
	Step float64 // a step [-]
}

// DefaultPrior is used for a Prior of zeros.
var DefaultPrior = Prior{Set: 0.5, Wear: 0.4, Step: 0.2}

// Life is what is known of a machine.
type Life struct {
	Readings []Reading
	Repairs  []Repair
	NewKnown bool    // New is known
	New      float64 // when the spring was new, from the epoch, not after the first reading [s]
	T0       float64 // t0: time constant of the log-time law [s]; 0 for spring.DefaultT0
	Most     float64 // the most that set can take in all [unit of the value]; 0 for the value when new
	Prior    Prior
}

func bounded(name string, v, low, high float64, unit string) error {
	if v >= low && v <= high {
		return nil
	}
	return fmt.Errorf("%w: %s is %g %s, want %g to %g %s", ErrInput, name, v, unit, low, high, unit)
}

// Validate returns every fault.
func (l *Life) Validate() error {
	var faults []error
	if n := len(l.Readings); n < 1 || n > maxReadings {
		faults = append(faults, fmt.Errorf("%w: %d readings, want 1 to %d", ErrInput, n, maxReadings))
	}
	if n := len(l.Repairs); n > maxRepairs {
		faults = append(faults, fmt.Errorf("%w: %d repairs, want %d at most", ErrInput, n, maxRepairs))
	}
	first := math.Inf(1)
	for i, r := range l.Readings {
		name := fmt.Sprintf("reading %d: ", i+1)
		faults = append(faults, bounded(name+"Time", r.Time, -maxTime, maxTime, "s"),
			bounded(name+"Value", r.Value, 1e-9, 1e12, "in its unit"),
			bounded(name+"U", r.U, 0, 1e12, "in its unit"))
		first = math.Min(first, r.Time)
	}
	for i, r := range l.Repairs {
		name := fmt.Sprintf("repair %d: ", i+1)
		faults = append(faults, bounded(name+"Time", r.Time, -maxTime, maxTime, "s"))
		if r.Kind < 0 || int(r.Kind) >= len(kindNames) {
			faults = append(faults, fmt.Errorf("%w: %sKind is %d, want 0 to %d", ErrInput, name, int(r.Kind), len(kindNames)-1))
		}
	}
	if l.NewKnown {
		faults = append(faults, bounded("New", l.New, -maxTime, math.Min(first, maxTime), "s"))
	}
	if l.T0 != 0 {
		faults = append(faults, bounded("T0", l.T0, 1, 1e6, "s"))
	}
	faults = append(faults, bounded("Most", l.Most, 0, 1e12, "in the unit of the value"))
	if l.Prior != (Prior{}) {
		for _, p := range [...]struct {
			name string
			v    float64
		}{{"Prior.Set", l.Prior.Set}, {"Prior.Wear", l.Prior.Wear}, {"Prior.Step", l.Prior.Step}} {
			if !(p.v > 0 && p.v < 1) {
				faults = append(faults, fmt.Errorf("%w: %s is %g, want between 0 and 1", ErrInput, p.name, p.v))
			}
		}
	}
	return errors.Join(faults...)
}

// Law is a combination of the parts that take pressure.
type Law int

// The parts; a law is any of them joined by |. Scatter is none of them.
const (
	Scatter Law = 0
	Set     Law = 1 << (iota - 1)
	Wear
	Step
	laws = 8
)

func (w Law) String() string {
	if w == Scatter {
		return "scatter only"
	}
	s := ""
	for i, name := range [...]string{"set", "wear", "step"} {
		if w&(1<<i) != 0 {
			if s != "" {
				s += " and "
			}
			s += name
		}
	}
	return s
}

func (p Prior) of(w Law) float64 {
	q := 1.0
	for i, v := range [...]float64{p.Set, p.Wear, p.Step} {
		if w&(1<<i) != 0 {
			q *= v
		} else {
			q *= 1 - v
		}
	}
	return q
}

// data is a life made ready: readings in order, values over their largest.
type data struct {
	t, y, u  []float64
	index    []int // of the reading as given
	rank     []int // repairs done before a reading
	repairs  []Repair
	given    []int // index of the repair as given
	start    int   // repairs before the first reading: their level is the level
	scale    float64
	middle   float64
	t0, most float64
	typicalU float64
	newKnown bool
	born     float64
	prior    Prior
}

func prepare(l *Life) *data {
	d := &data{t0: l.T0, prior: l.Prior, newKnown: l.NewKnown, born: l.New}
	if d.t0 == 0 {
		d.t0 = spring.DefaultT0
	}
	if d.prior == (Prior{}) {
		d.prior = DefaultPrior
	}
	for i := range l.Readings {
		d.index = append(d.index, i)
		d.scale = max(d.scale, l.Readings[i].Value)
	}
	slices.SortStableFunc(d.index, func(a, b int) int {
		x, y := l.Readings[a], l.Readings[b]
		switch {
		case x.Time != y.Time:
			return sign(x.Time - y.Time)
		case x.Before != y.Before && x.Before:
			return -1
		case x.Before != y.Before:
			return 1
		}
		return 0
	})
	for i := range l.Repairs {
		d.given = append(d.given, i)
	}
	slices.SortStableFunc(d.given, func(a, b int) int { return sign(l.Repairs[a].Time - l.Repairs[b].Time) })
	for _, i := range d.given {
		d.repairs = append(d.repairs, l.Repairs[i])
	}
	for _, i := range d.index {
		r := l.Readings[i]
		d.t, d.y, d.u = append(d.t, r.Time), append(d.y, r.Value/d.scale), append(d.u, r.U/d.scale)
		d.rank = append(d.rank, d.done(r.Time, r.Before))
	}
	d.start = d.rank[0]
	d.most = l.Most / d.scale
	d.middle, d.typicalU = median(d.y), median(d.u)
	return d
}

func sign(x float64) int {
	if x < 0 {
		return -1
	} else if x > 0 {
		return 1
	}
	return 0
}

func median(x []float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// done returns how many repairs were done by a time.
func (d *data) done(t float64, before bool) int {
	n := 0
	for _, r := range d.repairs {
		if r.Time < t || r.Time == t && !before {
			n++
		}
	}
	return n
}

// last returns the time of the last reading [s].
func (d *data) last() float64 { return d.t[len(d.t)-1] }
