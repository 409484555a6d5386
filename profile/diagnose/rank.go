package diagnose

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Prior is how likely each cause is before anything was measured, in any
// measure: only ratios count.
type Prior [causes]float64

// UsualPrior is a judgement from common practice: old springs have set, old
// seals drag, and hands and fills vary more than wires and gauges.
func UsualPrior() Prior {
	return Prior{
		Set: 0.34, ThinWire: 0.04, WrongCoils: 0.04, SealDrag: 0.16, AirInFill: 0.12,
		ShortCock: 0.07, DryPuck: 0.08, GaugeLow: 0.09, OpenPuck: 0.06,
	}
}

const (
	mostDrop = 0.6 // share of the peak that a cause may take [-]
	sizes    = 150 // steps of size of each cause
)

// Ranking is the causes by likelihood.
type Ranking struct {
	Causes []Ranked    // all of them, the likeliest first
	Next   []Candidate // measurements not yet made, the most telling first
	Drop   float64     // share of the peak lost, where a peak was measured [-]
	DropU  float64     // its standard uncertainty, with that of the machine as new [-]
	Doubts []string
}

// Ranked is a cause and what the measurements say of it.
type Ranked struct {
	Cause      Cause
	Likelihood float64    // posterior probability [-]
	Prior      float64    // before the measurements [-]
	Size       float64    // size that explains the measurements best [unit of the cause]
	SizeU      float64    // standard uncertainty of the size [unit of the cause]
	For        []Evidence // measurements that speak for it, the strongest first
	Against    []Evidence // measurements that speak against it
}

// Evidence is a measurement beside what a cause predicts.
type Evidence struct {
	Measured Measured
	Expected float64 // under the cause, at its size [unit of the kind]
	Z        float64 // measured less expected, over the uncertainty of both [-]
	Weight   float64 // ln of how much better the cause explains it than the other causes do [-]
}

// speaks is the weight from which a measurement is said to speak for or
// against a cause: a factor of 1.5 [-].
const speaks = 0.4

// state is one cause of one size.
type state struct {
	size   float64
	drop   float64 // share of the peak that it takes [-]
	weight float64 // probability within its cause [-]
	see    *predicted
}

// grid holds all states of a machine.
type grid struct {
	fresh  *predicted
	states [causes][]state
}

// Rank weighs the causes of a low peak.
//
// Each cause is a machine as new with one thing changed. Beforehand every drop
// of the peak up to 60 % that the cause can make is held equally likely. The
// likelihood of a measurement is normal with its own uncertainty and that of
// the machine as new; the sizes are summed out; the prior of the causes is the
// caller's. Two causes at once are not modelled.
func Rank(m *Machine, data []Measured, prior Prior) (*Ranking, error) {
	if err := m.Validate(); err != nil {
		return nil, err
	}
	g, err := newGrid(m)
	if err != nil {
		return nil, err
	}
	return g.rank(m, data, prior)
}

// rank is Rank with the states of the machine at hand; it uses them up.
func (g *grid) rank(m *Machine, data []Measured, prior Prior) (*Ranking, error) {
	if err := errors.Join(validData(data), prior.validate()); err != nil {
		return nil, err
	}
	for _, d := range data {
		if _, ok := g.fresh.of(&d); !ok {
			return nil, fmt.Errorf("%w: the %v cannot be compared: the spring's dimensions as new are not known", ErrInput, d.Kind)
		}
	}
	r := &Ranking{}
	total := floats.Sum(prior[:])
	logs := make([]float64, causes)
	for c := range causes {
		logs[c] = math.Log(prior[c]/total) + g.weigh(m, c, data)
	}
	sum := floats.LogSumExp(logs)
	var posterior [causes]float64
	for c := range causes {
		posterior[c] = math.Exp(logs[c] - sum)
	}
	for c := range causes {
		k := Ranked{Cause: c, Likelihood: posterior[c], Prior: prior[c] / total}
		k.Size, k.SizeU = g.size(c)
		r.Causes = append(r.Causes, k)
	}
	g.evidence(m, r.Causes, data)
	slices.SortStableFunc(r.Causes, func(a, b Ranked) int { return cmp.Compare(b.Likelihood, a.Likelihood) })
	r.Next = g.candidates(m, posterior, data)
	r.drop(m, g, data)
	r.doubt(m, data)
	return r, nil
}

func validData(data []Measured) error {
	var faults []error
	for _, d := range data {
		if d.Kind < 0 || d.Kind >= kinds {
			faults = append(faults, fmt.Errorf("%w: unknown measurement %d", ErrInput, d.Kind))
			continue
		}
		if math.IsNaN(d.Value) || math.IsInf(d.Value, 0) || (d.Value < 0 && d.Kind != LogBow) {
			faults = append(faults, fmt.Errorf("%w: %v is %g, want 0 or more", ErrInput, d.Kind, d.Value))
		}
		if !(d.U > 0) || math.IsInf(d.U, 1) {
			faults = append(faults, fmt.Errorf("%w: uncertainty of the %v is %g, want more than 0", ErrInput, d.Kind, d.U))
		}
		if d.Kind == BenchLoad && !(d.At > 0) {
			faults = append(faults, fmt.Errorf("%w: length of the %v is %g m, want more than 0", ErrInput, d.Kind, d.At))
		}
	}
	return errors.Join(faults...)
}

func (p *Prior) validate() error {
	var faults []error
	sum := 0.0
	for c, v := range p {
		if !(v >= 0) || math.IsInf(v, 1) {
			faults = append(faults, fmt.Errorf("%w: prior of %v is %g, want 0 or more", ErrInput, Cause(c), v))
		}
		sum += v
	}
	if !(sum > 0) {
		faults = append(faults, fmt.Errorf("%w: the priors add up to %g, want more than 0", ErrInput, sum))
	}
	return errors.Join(faults...)
}

// newGrid works out every cause at every size.
func newGrid(m *Machine) (*grid, error) {
	g := &grid{}
	var err error
	if g.fresh, err = m.predict(Set, 0); err != nil {
		return nil, fmt.Errorf("%w: the machine as new gives no shot", ErrInput)
	}
	scale := 1.0 // from the model's peak to what the gauge showed when new
	if m.Fresh > 0 {
		scale = m.Fresh / g.fresh.value[Peak]
	}
	g.fresh.scalePeak(scale)
	for c := range causes {
		least, most := m.sizes(c)
		for i := range sizes {
			x := least + (most-least)*(float64(i)+0.5)/sizes
			see, err := m.predict(c, x)
			if err != nil {
				continue // so bad that nothing is brewed: not what is asked about
			}
			see.scalePeak(scale)
			if !see.known[LongFill] {
				see.set(LongFill, g.fresh.value[LongFill])
			}
			drop := 1 - see.value[Peak]/g.fresh.value[Peak]
			if drop > mostDrop {
				continue
			}
			g.states[c] = append(g.states[c], state{size: x, drop: drop, see: see})
		}
		even(g.states[c])
	}
	return g, nil
}

// even weighs states so that every drop of the peak is equally likely.
func even(s []state) {
	n := len(s)
	sum := 0.0
	for i := range s {
		a, b := max(0, i-1), min(n-1, i+1)
		s[i].weight = math.Abs(s[b].drop-s[a].drop) / float64(max(1, b-a))
		sum += s[i].weight
	}
	for i := range s {
		if sum > 0 {
			s[i].weight /= sum
		} else { // one size, or none that moves the peak
			s[i].weight = 1 / float64(n)
		}
	}
}

// sizes returns the range of sizes of a cause: up to what takes about 60 % of
// the peak, or what there is.
func (m *Machine) sizes(c Cause) (least, most float64) {
	s := &m.Setup
	k, f := rateOf(s), s.Cylinder.Weight
	for _, l := range s.Springs {
		f += l.Force(s.Cylinder.Stroke)
	}
	travel := min(mostDrop*f/k, 0.9*(s.Cylinder.Stroke-s.Cylinder.Port))
	coils := usualCoils
	if m.Spring != nil {
		coils = m.Spring.Active
	}
	switch c {
	case Set:
		return 0, mostDrop * f / k
	case ThinWire:
		return 0, 1 - math.Pow(1-mostDrop, 0.25)
	case WrongCoils:
		return -1.5 * coils, 0.7 * coils
	case SealDrag:
		return 0, mostDrop * f
	case AirInFill:
		return 0, 0.9 * (s.ChamberVolume() - s.Chamber.Air)
	case ShortCock:
		return 0, travel
	case DryPuck:
		return 0, travel * s.Cylinder.Area()
	case GaugeLow:
		return 0, mostDrop
	default: // OpenPuck
		return 0, 0.99
	}
}

// u returns the standard uncertainty of a measurement and of the machine as new
// together [unit of the kind].
func (g *grid) u(m *Machine, d *Measured) float64 {
	fresh, _ := g.fresh.of(d)
	return math.Hypot(d.U, math.Hypot(m.Spread[d.Kind].Share*fresh, m.Spread[d.Kind].Fixed))
}

// off returns how far a measurement lies off a prediction, over their
// uncertainty u [-].
func (p *predicted) off(d *Measured, u float64) float64 {
	want, _ := p.of(d)
	return (d.Value - want) / u
}

// weigh turns the weights of a cause's states into their posterior, and returns
// the logarithm of the marginal likelihood.
func (g *grid) weigh(m *Machine, c Cause, data []Measured) float64 {
	s := g.states[c]
	logs := make([]float64, len(s))
	for i := range s {
		logs[i] = math.Log(s[i].weight)
		for j := range data {
			u := g.u(m, &data[j])
			z := s[i].see.off(&data[j], u)
			logs[i] -= z*z/2 + math.Log(u)
		}
	}
	if len(s) == 0 {
		return math.Inf(-1)
	}
	sum := floats.LogSumExp(logs)
	for i := range s {
		s[i].weight = math.Exp(logs[i] - sum)
	}
	return sum
}

// size returns the mean size of a cause and its standard deviation. Where a
// size may be above or below 0, it is that of the likelier side: a mean of coils
// too few and coils too many says nothing.
func (g *grid) size(c Cause) (mean, sd float64) {
	var sides [2]struct{ weight, first, second float64 }
	for _, s := range g.states[c] {
		side := &sides[0]
		if s.size < 0 {
			side = &sides[1]
		}
		side.weight += s.weight
		side.first += s.weight * s.size
		side.second += s.weight * s.size * s.size
	}
	side := sides[0]
	if sides[1].weight > side.weight {
		side = sides[1]
	}
	if side.weight == 0 {
		return 0, 0
	}
	mean = side.first / side.weight
	return mean, math.Sqrt(max(0, side.second/side.weight-mean*mean))
}

// evidence fills in what speaks for and against each cause.
func (g *grid) evidence(m *Machine, ranked []Ranked, data []Measured) {
	fit := make([][]float64, len(data)) // probability density of each measurement under each cause
	for j := range data {
		fit[j] = make([]float64, causes)
		u := g.u(m, &data[j])
		for c := range causes {
			for _, s := range g.states[c] {
				z := s.see.off(&data[j], u)
				fit[j][c] += s.weight * math.Exp(-z*z/2) / u
			}
		}
	}
	for i := range ranked {
		r := &ranked[i]
		for j := range data {
			var others, share float64
			for c := range causes {
				if c != r.Cause {
					others += ranked[c].Prior * fit[j][c]
					share += ranked[c].Prior
				}
			}
			e := Evidence{Measured: data[j], Weight: math.Log((fit[j][r.Cause] + tiny) / (others/share + tiny))}
			for _, s := range g.states[r.Cause] {
				want, _ := s.see.of(&data[j])
				e.Expected += s.weight * want
			}
			e.Z = (data[j].Value - e.Expected) / g.u(m, &data[j])
			switch {
			case e.Weight > speaks:
				r.For = append(r.For, e)
			case e.Weight < -speaks:
				r.Against = append(r.Against, e)
			}
		}
		strongest := func(a, b Evidence) int { return cmp.Compare(math.Abs(b.Weight), math.Abs(a.Weight)) }
		slices.SortStableFunc(r.For, strongest)
		slices.SortStableFunc(r.Against, strongest)
	}
}

// tiny keeps the weight of hopeless evidence finite.
const tiny = 1e-300
