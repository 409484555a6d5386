package main

import (
	"fmt"
	"math"
	"slices"

	"springcalc/profile/diagnose"
	"springcalc/spring"
	"springcalc/tables"
)

// Where the puck is not known, the time of a shot scatters by what grinds do:
// the s.d. of coffee.permeability, a factor 1.8.
const unknownGrind = 0.6

// asNew returns the machine as it was when new: as the sheet has it now, but for
// what [new] states. Where nothing says how long the spring was, it is made as
// much longer as gives the peak when new [Pa], if that is known (not 0).
func (m *machine) asNew(peak float64) (*diagnose.Machine, []string, error) {
	peak = m.valueOr("new.peak", peak)
	d := &diagnose.Machine{Setup: m.Setup, Fresh: peak, Spread: diagnose.UsualSpread()}
	if !m.knowsPuck() {
		d.Spread[diagnose.ShotTime].Share = unknownGrind
	}
	d.Setup.Springs = append([]spring.Linear(nil), m.Setup.Springs...)
	if c, ok := m.newSpring(); ok {
		line, err := c.Installed(m.value("spring.installed_length"))
		m.faultFrom("spring.installed_length", err)
		d.Setup.Springs[0], d.Spring = line, &c
	}
	if err := m.faults.err(); err != nil {
		return nil, nil, err
	}
	var notes []string
	if peak > 0 && !(d.Spring != nil && m.has("new.free_length")) {
		longer, err := stretch(d, peak)
		if err != nil {
			return nil, nil, err
		}
		if math.Abs(longer) > 0.05e-3 {
			notes = append(notes, fmt.Sprintf("as new, the spring is taken to have been %s longer than the sheet has it, which gives the peak of %s at the same rate",
				inMM.text(longer, 1), inBar.text(peak, 2)))
		}
	}
	return d, notes, nil
}

// newSpring returns the dimensions of the spring when new, where the sheet has
// dimensions at all.
func (m *machine) newSpring() (spring.Compression, bool) {
	c, ok := m.compression("spring")
	if !ok {
		return c, false
	}
	c.Free, c.Wire = m.valueOr("new.free_length", c.Free), m.valueOr("new.wire", c.Wire)
	if m.has("new.active_coils") {
		dead := c.Total - c.Active
		c.Active = m.value("new.active_coils")
		c.Total = c.Active + dead
	}
	m.faultsFrom("new.free_length", c.Validate())
	return c, true
}

// stretch makes the first spring longer until the machine gives a peak [Pa],
// and returns by how much [m].
func stretch(d *diagnose.Machine, peak float64) (float64, error) {
	before := d.Setup.Springs[0]
	if err := d.Setup.FitPeak(peak); err != nil {
		return 0, err
	}
	longer := (d.Setup.Springs[0].Preload - before.Preload) / before.Rate
	if d.Spring != nil {
		d.Spring.Free += longer
	}
	return longer, nil
}

// benchKinds are the keys of [bench] that are measurements as they stand.
var benchKinds = []struct {
	name string
	kind diagnose.Kind
	now  string // key of the sheet that says the same, where [new] has what it was
}{
	{"peak", diagnose.Peak, ""}, {"end_pressure", diagnose.EndPress, ""}, {"yield", diagnose.Yield, ""}, {"shot_time", diagnose.ShotTime, ""},
	{"long_fill_peak", diagnose.LongFill, ""}, {"piston_travel", diagnose.Travel, ""}, {"headspace_depth", diagnose.Headspace, ""},
	{"free_length", diagnose.FreeLength, "spring.free_length"}, {"wire", diagnose.WireSize, "spring.wire"}, {"active_coils", diagnose.Coils, "spring.active_coils"},
}

// bench returns what was measured on the machine, as the sheet has it.
func (m *machine) bench() (data []diagnose.Measured) {
	for _, k := range benchKinds {
		path := "bench." + k.name
		if !m.has(path) && k.now != "" && m.has("new."+k.name) {
			path = k.now
		}
		if q, ok := m.quantity(path); ok {
			data = append(data, measured(k.kind, q.Value, q.sigma()))
		}
	}
	if raise, lower, ok := m.pair("bench.force_raising", "bench.force_lowering"); ok {
		data = append(data, measured(diagnose.Drag, max(0, raise.Value-lower.Value), math.Hypot(raise.sigma(), lower.sigma())))
	}
	if reading, known, ok := m.pair("bench.gauge_reading", "bench.gauge_true"); ok {
		ratio := reading.Value / known.Value
		data = append(data, measured(diagnose.Gauge, ratio, ratio*math.Hypot(reading.sigma()/reading.Value, known.sigma()/known.Value)))
	}
	return append(data, m.benchLoads()...)
}

// measured is a measurement with the uncertainty of usual tools, where the user
// stated none.
func measured(k diagnose.Kind, value, u float64) diagnose.Measured {
	if u == 0 {
		u = diagnose.UsualU(k)
	}
	return diagnose.Measured{Kind: k, Measured: spring.Measured{Value: value, U: u}}
}

// pair returns two keys of which one is no use without the other.
func (m *machine) pair(a, b string) (qa, qb quantity, ok bool) {
	qa, oka := m.quantity(a)
	qb, okb := m.quantity(b)
	switch {
	case oka && !okb:
		m.faultOf(a, "stated without "+b)
	case okb && !oka:
		m.faultOf(b, "stated without "+a)
	}
	return qa, qb, oka && okb
}

// benchLoads turns loads on the bench into a load, or from two on into the rate
// that they show.
func (m *machine) benchLoads() []diagnose.Measured {
	var points []spring.Point
	var first quantity
	for i := range m.several["bench.load"] {
		table := indexed("bench.load", i+1)
		length, force, ok := m.pair(table+".length", table+".force")
		if !ok {
			continue
		}
		if len(points) == 0 {
			first = force
		}
		points = append(points, spring.Point{Length: length.Value, Load: force.Value})
	}
	switch len(points) {
	case 0:
		return nil
	case 1:
		d := measured(diagnose.BenchLoad, points[0].Load, first.sigma())
		d.At = points[0].Length
		return []diagnose.Measured{d}
	}
	fit, err := spring.FitBench(points)
	m.faultFrom(indexed("bench.load", 1)+".force", err)
	if err != nil {
		return nil
	}
	return []diagnose.Measured{measured(diagnose.BenchRate, fit.Rate, fit.RateSE)}
}

// wireStrength returns the strength of the spring's wire, where the sheet names
// its grade and the published data cover it; why is what is missing.
func (m *machine) wireStrength() (w *diagnose.Wire, why string) {
	if !m.has("spring.grade") {
		return nil, "the sheet does not name the grade of the wire, so stress and fatigue are left out"
	}
	wire, err := wireOf(m.text("spring.grade"))
	if err != nil {
		return nil, withoutPackage(err)
	}
	strength, err := wire.Strength(m.value("spring.wire"))
	if err != nil {
		return nil, withoutPackage(err)
	}
	static, err := staticCriterion(wire)
	if err != nil {
		return nil, withoutPackage(err)
	}
	w = &diagnose.Wire{Tensile: strength.Min, Criterion: static, Fatigue: enduranceOf(strength.Min, false)}
	if w.Curve, _, err = lifeCurve(wire, false); err != nil {
		return w, "no finite life is published for this wire, so the cycles used are not weighed"
	}
	return w, ""
}

// staticCriterion takes the first allowable stress of a wire that holds for a
// cocked spring, with the stress factor that belongs to it.
func staticCriterion(wire tables.Wire) (spring.Criterion, error) {
	for _, a := range wire.Allowables() {
		if slices.Contains(statesOf(a), "cocked") {
			return spring.Rule{Name: a.Condition, Factor: factorsByName[a.Correction], Fraction: a.Low}.Criterion()
		}
	}
	return spring.Criterion{}, fmt.Errorf("no allowable stress is published for %s", wire.Name)
}
