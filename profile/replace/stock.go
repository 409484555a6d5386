package replace

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"springcalc/spring"
)

// Sold is a spring as the list of its maker describes it, at 20 °C: some of its
// rate, lengths, loads and diameters. What the list does not say is 0.
type Sold struct {
	Rate   float64        // R: rate [N/m]
	Free   float64        // L0: free length [m]
	Solid  float64        // L_c: solid length [m]
	Outer  float64        // D_e: outside diameter [m]
	Inner  float64        // D_i: inside diameter [m]
	Wire   float64        // d: wire diameter [m]
	Loads  []spring.Point // F1, F2, Fn at L1, L2, Ln
	LoadBy float64        // ±: what its maker grants himself of the loads, over the load [-]
}

// agree is how far the numbers of one list may be apart, over the larger [-]:
// makers round, and print tolerances of about as much (common practice).
const agree = 0.1

// Part returns the spring with what follows from what is said: the rate from two
// loads at two lengths, or from a load and the free length; the free length from
// rate and load; a diameter from the other and the wire. It reports every fault,
// and numbers that contradict each other by more than a tenth.
func (s *Sold) Part() (Part, error) {
	var f faults
	for _, q := range []struct {
		name  string
		value float64
		unit  string
	}{
		{"rate", s.Rate, "N/m"}, {"free length", s.Free, "m"}, {"solid length", s.Solid, "m"},
		{"outside diameter", s.Outer, "m"}, {"inside diameter", s.Inner, "m"}, {"wire diameter", s.Wire, "m"},
	} {
		f.notNegative(q.name, q.value, q.unit)
	}
	for i, l := range s.Loads {
		f.positive(fmt.Sprintf("length of load %d", i+1), l.Length, "m")
		f.positive(fmt.Sprintf("load %d", i+1), l.Load, "N")
	}
	if err := errors.Join(f...); err != nil {
		return Part{}, err
	}
	p := Part{Rate: s.Rate, Free: s.Free, Solid: s.Solid, Outer: s.Outer, Inner: s.Inner, LoadBy: s.LoadBy}
	if p.Rate == 0 {
		p.Rate = s.rate()
	}
	f.that(p.Rate > 0 && !math.IsInf(p.Rate, 1), "rate", p.Rate, "N/m", "a rate above 0, two loads that rise as the length falls, or a load with the free length")
	if p.Free == 0 && len(s.Loads) > 0 {
		l := s.Loads[0]
		p.Free = l.Length + l.Load/p.Rate
	}
	f.that(p.Free > 0 && !math.IsInf(p.Free, 1), "free length", p.Free, "m", "a length above 0, or a load at a length")
	if s.Wire > 0 {
		if p.Inner == 0 && p.Outer > 0 {
			p.Inner = p.Outer - 2*s.Wire
		} else if p.Outer == 0 && p.Inner > 0 {
			p.Outer = p.Inner + 2*s.Wire
		}
		if s.Inner > 0 && s.Outer > 0 {
			between := (s.Outer - s.Inner) / 2
			f.that(math.Abs(between-s.Wire) <= agree*s.Wire, "wire diameter", s.Wire, "m", fmt.Sprintf("%.6g m as outside and inside diameter say", between))
		}
	}
	if len(f) == 0 || errors.Join(f...) == nil {
		for i, l := range s.Loads {
			want := p.Rate * (p.Free - l.Length)
			f.that(math.Abs(want-l.Load) <= agree*max(l.Load, want), fmt.Sprintf("load %d", i+1), l.Load, "N", fmt.Sprintf("about %.4g N as rate and free length say", want))
		}
	}
	if err := errors.Join(f...); err != nil {
		return Part{}, err
	}
	return p, p.validate()
}

// Wound returns the spring with the dimensions that its list leaves out, for a wire
// of the listed diameter and given ends: as many coils as the rate needs,
//
//	n_a = G d⁴/(8 D³ R)
//
// so that stress, buckling and fatigue can be judged too. Grade and ends are the
// caller's guess where the list does not name them.
func (s *Sold) Wound(w *Wire, ends spring.Ends, convention spring.Convention) (Part, error) {
	p, err := s.Part()
	if err != nil {
		return Part{}, err
	}
	dead, ok := convention.DeadCoils(ends)
	if !ok {
		return Part{}, fmt.Errorf("%w: convention %v does not know ends %v", ErrJob, convention, ends)
	}
	var f faults
	f.that(math.Abs(s.Wire-w.Diameter) <= 1e-9*w.Diameter, "wire diameter", s.Wire, "m", fmt.Sprintf("that of the wire, %g", w.Diameter))
	f.that(p.Outer > s.Wire, "outside diameter", p.Outer, "m", "more than the wire diameter")
	if err := errors.Join(f...); err != nil {
		return Part{}, err
	}
	c := spring.Compression{
		Wire: w.Diameter, WireMax: w.Most, Mean: p.Outer - w.Diameter, Free: p.Free,
		Ends: ends, Convention: convention, G: w.G, E: w.E, Density: w.Density,
	}
	if c.Active, err = c.CoilsFor(p.Rate); err != nil {
		return Part{}, err
	}
	c.Total = c.Active + dead
	if err := c.Validate(); err != nil {
		return Part{}, err
	}
	wound := PartOf(c, w)
	wound.Printed, wound.LoadBy = p.Solid, p.LoadBy
	return wound, wound.validate()
}

// rate returns the rate [N/m] that the loads tell, 0 where they do not.
func (s *Sold) rate() float64 {
	if len(s.Loads) == 0 {
		return 0
	}
	byLength := func(a, b spring.Point) int { return cmp.Compare(a.Length, b.Length) }
	short, long := slices.MinFunc(s.Loads, byLength), slices.MaxFunc(s.Loads, byLength)
	switch {
	case long.Length > short.Length:
		return (short.Load - long.Load) / (long.Length - short.Length)
	case s.Free > short.Length:
		return short.Load / (s.Free - short.Length)
	}
	return 0
}

// Change is something at the machine that may make a spring fit.
type Change int

// The changes.
const (
	Shim          Change = iota + 1 // a shim or spacer under the spring: it is fitted shorter
	LongerSpace                     // a seat cut back, or an old shim taken out: it is fitted longer
	ShorterStroke                   // a stop that ends the stroke before the lever is cocked in full
)

func (c Change) String() string {
	switch c {
	case Shim:
		return "shim"
	case LongerSpace:
		return "longer space"
	case ShorterStroke:
		return "shorter stroke"
	}
	return fmt.Sprintf("Change(%d)", int(c))
}

// Remedy is a change with which a spring that does not fit would.
type Remedy struct {
	Change Change
	By     float64 // by how much: the least tenth of a millimetre that does [m]
	Choice Choice  // the spring judged with that change
}

// remedyStep is how finely a change is tried [m]: a shim is no finer.
const remedyStep = 0.1e-3

// Remedies returns what would make a spring or nest fit, each change by itself and by
// the least that does: a shim or a longer space of up to a quarter of the
// installed length, a stroke shorter by up to half. It is empty where none does, and
// where the spring fits as it is. With a shorter stroke the wished pressures stay, over
// less water; the spring is compressed less, so the tolerance must bear the lower peak.
func (j *Job) Remedies(parts []Part) ([]Remedy, error) {
	if v, err := j.Judge(parts); err != nil || v.Fits() {
		return nil, err
	}
	var found []Remedy
	for _, c := range []struct {
		change Change
		most   float64
	}{{Shim, (j.Space.Installed - j.Stroke) / 4}, {LongerSpace, j.Space.Installed / 4}, {ShorterStroke, j.Stroke / 2}} {
		for i := 1; float64(i)*remedyStep <= c.most; i++ {
			by := float64(i) * remedyStep
			changed := j.changed(c.change, by)
			if changed.Validate() != nil {
				break
			}
			b := changed.bench()
			if v := b.judge(changed.settle(parts), 0); v.Fits() {
				found = append(found, Remedy{c.change, by, changed.choose(b, 0, changed.settle(parts))})
				break
			}
		}
	}
	return found, nil
}

// changed returns the task with a change at the machine by a length [m].
func (j *Job) changed(c Change, by float64) *Job {
	k := *j
	switch c {
	case Shim:
		k.Space.Installed -= by
	case LongerSpace:
		k.Space.Installed += by
	case ShorterStroke:
		start := j.Start()
		k.Stroke -= by
		k.Rate = (start - j.Rest) / (k.Stroke - k.Begin)
	}
	return &k
}
