// Package spread says how far an answer may be off: by random draws, or by the
// first-order law, from all that is stated with ± and from the ranges of the
// defaults. It is the only place that decides what varies, in which shape, and
// what errs together.
package spread

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"sync/atomic"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/uncertain"
)

// Usual is how many draws are made where nobody says.
const Usual = uncertain.Usual

// Options say how to draw. The zero value draws as usual.
type Options struct {
	Skip   bool   // no draws: nothing is known of how far the answer may be off
	Draws  int    // 0: Usual, or with Stable as many as it takes, a million at most
	Stable bool   // draw until the printed digits are stable
	Seed   uint32 // the same seed, the same draws

	Context context.Context // ends the draws before they are done; nil for never
	Made    *atomic.Int64   // counts the draws as they are made; nil where nobody asks
}

// Validate says what is wrong with the options.
func (o Options) Validate() error {
	if err := o.uncertain().Validate(); err != nil {
		_, fault, _ := strings.Cut(err.Error(), "input: ")
		return sheet.Usef("--draws: %s", fault)
	}
	return nil
}

// uncertain are the options in the terms of package uncertain.
func (o Options) uncertain() uncertain.Options {
	u := uncertain.Options{Seed: uint64(o.Seed), Draws: o.Draws}
	switch {
	case o.Stable:
		u.Digits = uncertain.Printed
	case o.Draws == 0:
		u.Draws = Usual
	}
	return u
}

// Finder finds the result of a machine, in memory used again and again, and
// writes the points of its curves [SI]; NaN where a curve has ended. It may keep
// memory of its own. An error says that this machine has no answer.
type Finder[T any] func(m *machine.Machine, result *T, points []float64) error

// finder writes outcomes [SI] in the order of the question, then the points.
type finder func(m *machine.Machine, y []float64) error

// outcome is a number of a report whose spread is wanted.
type outcome struct {
	key   string           // of its row
	unit  quantity.Display // of its row
	head  string           // what it is called in the table of shares, "" to leave it out there
	short bool             // its row stands in the short answer, with what would narrow it
}

// Question is what is asked of a machine whose values may be off.
type Question struct {
	Points int                          // of curves, for a band
	Build  func(*machine.Machine) error // builds what the answer needs; nil for the whole machine
	Others []Other                      // beside the sheet

	outcomes []outcome
	answer   func() finder // called once for each core
	ended    func() error  // says why the draws should end; nil for never
	made     *atomic.Int64 // draws so far; nil where nobody asks
}

// Other is an input that may be off and is not in the sheet: the ± of a flag, a scatter.
type Other struct {
	uncertain.Input        // [SI]; a machine gives its value by name
	Known           string // how well, for reading
}

// Stated is a quantity that was stated beside the sheet, as by a flag, by a name of its own.
func Stated(name string, q quantity.Quantity, dim *quantity.Dimension) Other {
	return Other{Input: statedInput(name, q, dim), Known: knownTo(q, dim)}
}

// knownTo is the ± of a quantity, for reading.
func knownTo(q quantity.Quantity, dim *quantity.Dimension) string {
	_, plus, _ := strings.Cut(quantity.Format(q, dim), "± ")
	return "± " + plus
}

// Of asks for all rows of numbers that are not for programs only. The answer is
// called once for each core.
func Of[T any](defs []report.Def[T], answer func() Finder[T]) Question {
	var q Question
	var of []func(*T) float64
	for _, d := range defs {
		if d.Of != nil && !d.DataOnly {
			of = append(of, d.Of)
			q.outcomes = append(q.outcomes, outcome{d.Key, d.Unit, d.Head, d.Short})
		}
	}
	q.answer = func() finder {
		find := answer()
		var result T // memory of one core
		return func(m *machine.Machine, y []float64) error {
			if err := find(m, &result, y[len(of):]); err != nil {
				return err
			}
			for i, f := range of {
				y[i] = f(&result)
			}
			return nil
		}
	}
	return q
}

// NoAnswer says in which way a draw has no answer; fixed texts are counted together.
type NoAnswer string

func (e NoAnswer) Error() string { return string(e) }

// rebuild gives a variant other values [SI].
func (q *Question) rebuild(m *machine.Machine, values map[string]float64) error {
	if q.Build == nil {
		return m.Set(values)
	}
	m.Renew(values)
	return q.Build(m)
}

// source is one value that may be off.
type source struct {
	uncertain.Input
	key       *sheet.Key // nil for one that is not in the sheet
	paths     []string   // where it is read
	known     string     // how well, for reading
	low, high float64    // what is possible [SI]
	assumed   bool       // a default
}

// doubtful is a machine with all that may be off in it.
type doubtful struct {
	*machine.Machine
	Question
	sources []source
	values  map[string]float64 // by path, all that the answer depends on [SI]
}

// newDoubtful finds what an answer depends on by asking once.
func newDoubtful(m *machine.Machine, q Question) (*doubtful, error) {
	probe := m.Variant()
	probe.Reads = map[string]string{}
	if err := q.rebuild(probe, m.Varied); err != nil {
		return nil, err
	}
	if probe.Varied = maps.Clone(m.Varied); probe.Varied == nil {
		probe.Varied = map[string]float64{}
	}
	for _, in := range q.Others {
		probe.Varied[in.Name] = in.Value
	}
	if err := q.answer()(probe, make([]float64, len(q.outcomes)+q.Points)); err != nil {
		return nil, err
	}
	d := &doubtful{Machine: m, Question: q, values: probe.Varied}
	assumed := slices.Clone(probe.Defaults) // without those that a known shot has replaced
	places := map[string][]string{}         // by key of a default
	for _, path := range slices.Sorted(maps.Keys(probe.Reads)) {
		d.values[path] = probe.Value(path)
		if key := probe.Reads[path]; key != "" {
			places[key] = append(places[key], path)
		} else if q, usual := m.Uncertain(path); q.Plus > 0 {
			k := sheet.FindKey(path)
			known := knownTo(q, k.Dim)
			if usual {
				known += " (usual)"
			}
			d.add(source{Input: statedInput(path, q, k.Dim), key: k, paths: []string{path}, known: known})
		}
	}
	for _, def := range assumed {
		if def.Low < def.High && len(places[def.Key]) > 0 {
			k := sheet.FindKey(def.Key)
			known := quantity.BriefRange(def.Low, def.High, def.Value, k.Dim) + " (default)"
			d.add(source{Input: DefaultInput(def), key: k, paths: places[def.Key], known: known, assumed: true})
		}
	}
	for _, in := range q.Others {
		d.add(source{Input: in.Input, paths: []string{in.Name}, known: in.Known})
	}
	return d, nil
}

// add keeps a source, with the limits that its key has.
func (d *doubtful) add(s source) {
	s.low, s.high = math.Inf(-1), math.Inf(1)
	if k := s.key; k != nil {
		s.low = max(k.Bound(k.Allowed.Above, s.low), k.Bound(k.Allowed.From, s.low))
		s.high = min(k.Bound(k.Allowed.Below, s.high), k.Bound(k.Allowed.UpTo, s.high))
	}
	d.sources = append(d.sources, s)
}

// statedInput is a quantity of the sheet as an input. A permeability is known
// to a factor, so its ± is that of a lognormal quantity.
func statedInput(path string, q quantity.Quantity, dim *quantity.Dimension) uncertain.Input {
	in := uncertain.Input{Name: path, Value: q.Value, Std: q.Sigma()}
	switch {
	case dim == quantity.DimPermeability:
		in.Shape = uncertain.Lognormal
	case q.Shape == quantity.Uniform:
		in.Shape = uncertain.Uniform
	case q.Shape == quantity.Triangular:
		in.Shape = uncertain.Triangular
	}
	return in
}

// problem names inputs, outputs and what errs together.
func (d *doubtful) problem() uncertain.Problem {
	p := uncertain.Problem{Correlated: d.sameInstrument()}
	drawn := map[string]bool{}
	for _, s := range d.sources {
		p.Inputs = append(p.Inputs, s.Input)
		drawn[s.Name] = true
	}
	for _, c := range d.Together {
		if drawn[c.A] && drawn[c.B] {
			p.Correlated = append(p.Correlated, c)
		}
	}
	for _, o := range d.outcomes {
		p.Outputs = append(p.Outputs, o.key)
	}
	return p
}

// SharedVariance is the part of the variance of two lengths that one instrument
// has in both: its zero and its scale; the rest is the reading. Half is an
// assumption, as instruments are not specified in parts.
const SharedVariance = 0.5

// sameInstrument correlates the lengths of one spring that are stated with the
// same ±: they were taken with the same instrument. Nothing else decides that.
func (d *doubtful) sameInstrument() (pairs []uncertain.Correlation) {
	for i, a := range d.sources {
		for _, b := range d.sources[:i] {
			tableA, _ := sheet.SplitPath(a.Name)
			tableB, _ := sheet.SplitPath(b.Name)
			lengths := a.key != nil && b.key != nil && a.key.Dim == quantity.DimLength && b.key.Dim == quantity.DimLength
			if lengths && tableA == tableB && sheet.FindTable(tableA).Key("free_length") != nil &&
				!a.assumed && !b.assumed && a.Std == b.Std && a.Shape == b.Shape {
				pairs = append(pairs, uncertain.Correlation{A: b.Name, B: a.Name, R: SharedVariance})
			}
		}
	}
	return pairs
}

// model answers for the values of a draw, in memory used again and again.
func (d *doubtful) model(find finder) uncertain.Model {
	m, values := d.Variant(), maps.Clone(d.values)
	m.Quiet = true
	return func(x, y []float64) error {
		if d.ended != nil {
			if err := d.ended(); err != nil {
				return err
			}
		}
		if d.made != nil {
			d.made.Add(1)
		}
		for i := range d.sources {
			s := &d.sources[i]
			v := s.fold(x[i])
			for _, path := range s.paths {
				values[path] = v
			}
		}
		if err := d.rebuild(m, values); err != nil {
			var all sheet.Faults
			if errors.As(err, &all) {
				return NoAnswer(all[0].Key + " cannot be, with the other values drawn")
			}
			return err
		}
		return find(m, y)
	}
}

// fold mirrors a value [SI] that cannot be at the limit that it is beyond: a
// friction of 0 N ± 10 N is one of 0 to 10 N.
func (s *source) fold(v float64) float64 {
	if v < s.low {
		v = 2*s.low - v
	}
	if v > s.high {
		v = 2*s.high - v
	}
	return max(s.low, v)
}

// Spread is how far the outcomes of a question may be off. A nil one adds
// nothing to a report and knows nothing.
type Spread struct {
	*doubtful
	draws   *uncertain.Result // nil for first order
	results []result          // by outcome
	notes   []string
	doubts  []string
	facts   []report.Row // how it was found, for programs
}

// result is the spread of one outcome.
type result struct {
	uncertain.Interval                    // [SI]
	std                float64            // standard uncertainty [SI]
	shares             map[string]float64 // of its variance, by source [-]
}

// newResult takes what is left of rounding for nothing: a peak that is known is
// the same in every draw but for its last digits.
func newResult(i uncertain.Interval, std float64) result {
	const rounding = 1e-9 // [-]
	if std <= rounding*max(math.Abs(i.Low), math.Abs(i.High)) {
		std = 0
	}
	return result{Interval: i, std: std, shares: map[string]float64{}}
}

// Draw draws. It returns nil where that is not wanted, or nothing may be off.
func Draw(m *machine.Machine, q Question, o Options) (*Spread, error) {
	if o.Skip {
		return nil, nil
	}
	if err := o.Validate(); err != nil {
		return nil, err
	}
	if o.Context != nil {
		q.ended = o.Context.Err
	}
	q.made = o.Made
	d, err := newDoubtful(m, q)
	if err != nil || len(d.sources) == 0 {
		return nil, err
	}
	options := o.uncertain()
	options.Points = q.Points
	draws, err := uncertain.MonteCarlo(d.problem(), func() uncertain.Model { return d.model(d.answer()) }, options)
	if q.ended != nil && q.ended() != nil {
		return nil, q.ended()
	}
	if errors.Is(err, uncertain.ErrNoAnswer) {
		return &Spread{doubtful: d, doubts: []string{"how far the numbers may be off is not known: " + machine.WithoutPackage(err)}}, nil
	}
	if err != nil {
		return nil, err
	}
	s := &Spread{doubtful: d, draws: draws, doubts: draws.Doubts}
	for i, out := range draws.Outputs {
		r := newResult(out.Interval, out.Std)
		if o := d.outcomes[i]; o.head != "" || o.short {
			for _, share := range draws.Shares(i) {
				r.shares[share.Input] = share.Index
			}
		}
		s.results = append(s.results, r)
	}
	s.notes = []string{fmt.Sprintf("the 95 %% interval holds that share of %d draws (seed %d) from all that is stated with ± and from the ranges of the defaults", draws.Draws, o.Seed)}
	s.facts = []report.Row{
		{Key: "draws", Name: "draws", Value: float64(draws.Draws), DataOnly: true},
		{Key: "draws_without_answer", Name: "draws without an answer", Value: float64(draws.Failed), DataOnly: true},
		{Key: "seed", Name: "seed of the draws", Value: float64(o.Seed), DataOnly: true},
	}
	return s, nil
}

// FirstOrder is for a closed form that is nearly straight within what may be
// off. It returns nil where nothing may.
func FirstOrder(m *machine.Machine, q Question) (*Spread, error) {
	q.Points = 0
	d, err := newDoubtful(m, q)
	if err != nil || len(d.sources) == 0 {
		return nil, err
	}
	estimate, err := uncertain.Linear(d.problem(), d.model(d.answer()), uncertain.LinearOptions{})
	if err != nil {
		return nil, err
	}
	s := &Spread{doubtful: d}
	for _, out := range estimate.Outputs {
		r := newResult(out.Interval, out.Std)
		for _, term := range out.Budget {
			r.shares[term.Input] = term.Share
		}
		s.results = append(s.results, r)
	}
	for _, doubt := range estimate.Doubts { // of inputs that matter
		if name, _, _ := strings.Cut(doubt, " "); s.largestShare(name) >= shown {
			s.doubts = append(s.doubts, doubt)
		}
	}
	s.notes = []string{"the 95 % interval holds the truth in 95 of 100 cases, by the first-order law of JCGM 100 from all that is stated with ± and from the ranges of the defaults"}
	return s, nil
}

// AddFirstOrder adds to a report how far it may be off to first order. The
// answer stands without that: why there is none is a doubt about it.
func AddFirstOrder(r *report.Report, m *machine.Machine, q Question, what string) {
	s, err := FirstOrder(m, q)
	if err != nil {
		r.Doubt("how far %s may be off is not known: %s", what, machine.WithoutPackage(err))
		return
	}
	s.AddTo(r)
}

// Edges returns the ends of the 95 % interval [SI] at each point, of the draws
// that have a value there: of the shots still running. They are NaN from where
// fewer than 2.5 % of the draws run on, and nil where nothing was drawn.
func (s *Spread) Edges() (low, high []float64) {
	if s == nil || s.draws == nil || s.Points == 0 {
		return nil, nil
	}
	const tail = 0.025 // [-]
	band := s.draws.Band(tail, 1-tail)
	for i, share := range s.draws.Running() {
		if share < tail {
			band[0][i], band[1][i] = math.NaN(), math.NaN()
		}
	}
	return band[0], band[1]
}

// find returns the result of an outcome; nil where it is not known or exact.
func (s *Spread) find(key string) *result {
	if s == nil || len(s.results) == 0 {
		return nil
	}
	i := slices.IndexFunc(s.outcomes, func(o outcome) bool { return o.key == key })
	if i < 0 || !(s.results[i].std > 0) {
		return nil
	}
	return &s.results[i]
}

// Interval returns the 95 % interval of a row [SI]; false where it is not known,
// or the row is exact.
func (s *Spread) Interval(key string) (low, high float64, ok bool) {
	r := s.find(key)
	if r == nil {
		return 0, 0, false
	}
	return r.Low, r.High, true
}

// Std returns the standard uncertainty of a row [SI], 0 where it is exact or not known.
func (s *Spread) Std(key string) float64 {
	if r := s.find(key); r != nil {
		return r.std
	}
	return 0
}

// Share returns the part of the variance of a row that comes from an input [-],
// by the path of its key or the name of an Other.
func (s *Spread) Share(key, input string) float64 {
	if r := s.find(key); r != nil {
		return r.shares[input]
	}
	return 0
}

// Largest returns the input that most of the variance of a row comes from, and
// its share [-]; "" where the row is exact or nothing is known.
func (s *Spread) Largest(key string) (input string, share float64) {
	r := s.find(key)
	if r == nil {
		return "", 0
	}
	for _, src := range s.sources {
		if v := r.shares[src.Name]; input == "" || v > share {
			input, share = src.Name, v
		}
	}
	return input, share
}
