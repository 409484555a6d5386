package main

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/uncertain"
)

// spreadFlags are the flags of a command that draws.
type spreadFlags struct {
	NoSpread bool   `name:"no-spread" help:"Do not work out how far the answer may be off."`
	Draws    int    `name:"draws" placeholder:"N" default:"10000" help:"Random draws from what is stated with ± and from the ranges of the defaults (${default})."`
	Stable   bool   `name:"stable" help:"Draw on until no digit that is printed moves any more, but not beyond --draws or a million, which takes up to a minute."`
	Seed     uint32 `name:"seed" placeholder:"N" default:"1" help:"Seed of the draws (${default}): the same seed, the same answer."`
}

// outcome is a number of a report whose spread is wanted.
type outcome struct {
	Key  string           // of its row
	Unit quantity.Display // of its row
	Head string           // what it is called in the table of shares, "" to leave it out there
}

// finder writes the outcomes [SI] of a machine, in the order of the question,
// and after them the points of its curves. It may keep memory of its own; an error says that this machine has no answer.
type finder func(m *machine.Machine, y []float64) error

// otherInput may be off and is not in the sheet: the ± of a flag, a scatter.
type otherInput struct {
	uncertain.Input        // [SI]; a machine gives its value by name
	Known           string // how well, for reading
}

// question is what is asked of a machine whose values may be off.
type question struct {
	Outcomes []outcome
	Points   int                          // of curves, for a band
	Answer   func() finder                // called once for each core
	Build    func(*machine.Machine) error // builds what the answer needs; nil for the whole machine
	Others   []otherInput                 // beside the sheet
}

// rebuild gives a variant other values [SI].
func (q *question) rebuild(m *machine.Machine, values map[string]float64) error {
	if q.Build == nil {
		return m.Set(values)
	}
	m.Renew(values)
	return q.Build(m)
}

// errOutcome says in which way a draw has no answer; fixed texts are counted together.
type errOutcome string

func (e errOutcome) Error() string { return string(e) }

// source is one value that may be off.
type source struct {
	uncertain.Input
	Key       *sheet.Key // nil for one that is not in the sheet
	paths     []string   // where it is read
	Known     string     // how well, for reading
	low, high float64    // what is possible [SI]
	assumed   bool       // a default
}

// doubtful is a machine with all that may be off in it.
type doubtful struct {
	*machine.Machine
	question
	sources []source
	values  map[string]float64 // by path, all that the answer depends on [SI]
}

// newDoubtful finds what an answer depends on by asking once.
func newDoubtful(m *machine.Machine, q question) (*doubtful, error) {
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
	if err := q.Answer()(probe, make([]float64, len(q.Outcomes)+q.Points)); err != nil {
		return nil, err
	}
	d := &doubtful{Machine: m, question: q, values: probe.Varied}
	assumed := slices.Clone(probe.Defaults) // without those that a known shot has replaced
	places := map[string][]string{}         // by key of a default
	for _, path := range slices.Sorted(maps.Keys(probe.Reads)) {
		d.values[path] = probe.Value(path)
		if key := probe.Reads[path]; key != "" {
			places[key] = append(places[key], path)
		} else if q, _ := m.Quantity(path); q.Plus > 0 {
			k := sheet.FindKey(path)
			_, plus, _ := strings.Cut(quantity.FormatQuantity(q, k.Dim), "± ")
			d.add(source{Input: statedInput(path, q, k.Dim), Key: k, paths: []string{path}, Known: "± " + plus})
		}
	}
	for _, def := range assumed {
		if def.Low < def.High && len(places[def.Key]) > 0 {
			k := sheet.FindKey(def.Key)
			known := quantity.BriefRange(def.Low, def.High, def.Value, k.Dim) + " (default)"
			d.add(source{Input: defaultInput(def), Key: k, paths: places[def.Key], Known: known, assumed: true})
		}
	}
	for _, in := range q.Others {
		d.add(source{Input: in.Input, paths: []string{in.Name}, Known: in.Known})
	}
	return d, nil
}

// add keeps a source, with the limits that its key has.
func (d *doubtful) add(s source) {
	s.low, s.high = math.Inf(-1), math.Inf(1)
	if k := s.Key; k != nil {
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
	for _, s := range d.sources {
		p.Inputs = append(p.Inputs, s.Input)
	}
	for _, o := range d.Outcomes {
		p.Outputs = append(p.Outputs, o.Key)
	}
	return p
}

// sharedVariance is the part of the variance of two lengths that one instrument
// has in both: its zero and its scale; the rest is the reading. Half is an
// assumption, as instruments are not specified in parts.
const sharedVariance = 0.5

// sameInstrument correlates the lengths of one spring that are stated with the
// same ±: they were taken with the same instrument.
func (d *doubtful) sameInstrument() (pairs []uncertain.Correlation) {
	for i, a := range d.sources {
		for _, b := range d.sources[:i] {
			tableA, _ := sheet.SplitPath(a.Name)
			tableB, _ := sheet.SplitPath(b.Name)
			lengths := a.Key != nil && b.Key != nil && a.Key.Dim == quantity.DimLength && b.Key.Dim == quantity.DimLength
			if lengths && tableA == tableB && sheet.FindTable(tableA).Key("free_length") != nil &&
				!a.assumed && !b.assumed && a.Std == b.Std && a.Shape == b.Shape {
				pairs = append(pairs, uncertain.Correlation{A: b.Name, B: a.Name, R: sharedVariance})
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
				return errOutcome(all[0].Key + " cannot be, with the other values drawn")
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

// spread is how far the outcomes of a question may be off.
type spread struct {
	*doubtful
	draws   *uncertain.Result // nil for first order
	results []result          // by outcome
	notes   []string
	doubts  []string
	facts   []row // how it was found, for programs
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

// spread draws. It returns nil where it is not wanted, or nothing may be off.
func (f spreadFlags) Spread(m *machine.Machine, q question) (*spread, error) {
	if f.NoSpread {
		return nil, nil
	}
	options, err := f.options()
	if err != nil {
		return nil, err
	}
	d, err := newDoubtful(m, q)
	if err != nil || len(d.sources) == 0 {
		return nil, err
	}
	options.Points = q.Points
	draws, err := uncertain.MonteCarlo(d.problem(), func() uncertain.Model { return d.model(d.Answer()) }, options)
	if errors.Is(err, uncertain.ErrNoAnswer) {
		return &spread{doubtful: d, doubts: []string{"how far the numbers may be off is not known: " + machine.WithoutPackage(err)}}, nil
	}
	if err != nil {
		return nil, err
	}
	s := &spread{doubtful: d, draws: draws, doubts: draws.Doubts}
	for i, out := range draws.Outputs {
		r := newResult(out.Interval, out.Std)
		if d.Outcomes[i].Head != "" {
			for _, share := range draws.Shares(i) {
				r.shares[share.Input] = share.Index
			}
		}
		s.results = append(s.results, r)
	}
	s.notes = []string{fmt.Sprintf("the 95 %% interval holds that share of %d draws (--seed %d) from all that is stated with ± and from the ranges of the defaults; --no-spread leaves it out", draws.Draws, f.Seed)}
	s.facts = []row{
		{Key: "draws", Value: float64(draws.Draws), DataOnly: true},
		{Key: "draws_without_answer", Value: float64(draws.Failed), DataOnly: true},
		{Key: "seed", Value: float64(f.Seed), DataOnly: true},
	}
	return s, nil
}

// options are the flags in the terms of package uncertain.
func (f spreadFlags) options() (uncertain.Options, error) {
	o := uncertain.Options{Seed: uint64(f.Seed), Draws: f.Draws}
	if f.Stable {
		o.Digits = uncertain.Printed
		if f.Draws == defaultDraws {
			o.Draws = 0
		}
	}
	if err := o.Validate(); err != nil {
		_, fault, _ := strings.Cut(err.Error(), "input: ")
		return o, sheet.Usef("--draws: %s", fault)
	}
	return o, nil
}

const defaultDraws = 10_000

// firstOrder is for a closed form that is nearly straight within what may be
// off. It returns nil where nothing may.
func firstOrder(m *machine.Machine, q question) (*spread, error) {
	d, err := newDoubtful(m, q)
	if err != nil || len(d.sources) == 0 {
		return nil, err
	}
	estimate, err := uncertain.Linear(d.problem(), d.model(d.Answer()), uncertain.LinearOptions{})
	if err != nil {
		return nil, err
	}
	s := &spread{doubtful: d}
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

// addFirstOrder adds to a report how far it may be off to first order. The
// answer stands without that: why there is none is a doubt about it.
func addFirstOrder(r *report, m *machine.Machine, q question, what string) {
	s, err := firstOrder(m, q)
	if err != nil {
		r.Doubts = append(r.Doubts, "how far "+what+" may be off by the sheet is not known: "+machine.WithoutPackage(err))
		return
	}
	s.addTo(r)
}
