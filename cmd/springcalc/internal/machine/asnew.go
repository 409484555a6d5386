package machine

import (
	"fmt"
	"math"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/diagnose"
	"springcalc/spring"
)

// Where the puck is not known, the time of a shot scatters by what grinds do:
// the s.d. of coffee.permeability, a factor 1.8.
const UnknownGrind = 0.6

// AsNew returns the machine as it was when new: as the sheet has it now, but for
// what [new] states. Where nothing says how long the spring was, it is made as
// much longer as gives the peak when new [Pa], if that is known (not 0).
func (m *Machine) AsNew(peak float64) (*diagnose.Machine, []string, error) {
	peak = m.ValueOr("new.peak", peak)
	d := &diagnose.Machine{Setup: m.Setup, Fresh: peak, Spread: diagnose.UsualSpread()}
	if !m.KnowsPuck() {
		d.Spread[diagnose.ShotTime].Share = UnknownGrind
	}
	d.Setup.Springs = append([]spring.Linear(nil), m.Setup.Springs...)
	if c, ok := m.newSpring(); ok {
		line, err := c.Installed(m.Value("spring.installed_length"))
		m.FaultFrom("spring.installed_length", err)
		d.Setup.Springs[0], d.Spring = line, &c
	}
	if err := m.Faults.Err(); err != nil {
		return nil, nil, err
	}
	var notes []string
	if peak > 0 && !(d.Spring != nil && m.Has("new.free_length")) {
		longer, err := stretch(d, peak)
		if err != nil {
			return nil, nil, err
		}
		if math.Abs(longer) > 0.05e-3 {
			notes = append(notes, fmt.Sprintf("as new, the spring is taken to have been %s longer than the sheet has it, which gives the peak of %s at the same rate",
				quantity.InMM.Text(longer, 1), quantity.InBar.Text(peak, 2)))
		}
	}
	return d, notes, nil
}

// newSpring returns the dimensions of the spring when new, where the sheet has
// dimensions at all.
func (m *Machine) newSpring() (spring.Compression, bool) {
	c, ok := m.Compression("spring")
	if !ok {
		return c, false
	}
	c = m.made(c)
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
	Name string
	kind diagnose.Kind
	now  string // key of the sheet that says the same, where [new] has what it was
}{
	{"peak", diagnose.Peak, ""}, {"end_pressure", diagnose.EndPress, ""}, {"yield", diagnose.Yield, ""}, {"shot_time", diagnose.ShotTime, ""},
	{"long_fill_peak", diagnose.LongFill, ""}, {"piston_travel", diagnose.Travel, ""}, {"headspace_depth", diagnose.Headspace, ""},
	{"free_length", diagnose.FreeLength, "spring.free_length"}, {"wire", diagnose.WireSize, "spring.wire"}, {"active_coils", diagnose.Coils, "spring.active_coils"},
}

// Bench returns what was measured on the machine, as the sheet has it.
func (m *Machine) Bench() (data []diagnose.Measured) {
	for _, k := range benchKinds {
		path := "bench." + k.Name
		if !m.Has(path) && k.now != "" && m.Has("new."+k.Name) {
			path = k.now
		}
		if q, ok := m.Quantity(path); ok {
			data = append(data, Measured(k.kind, q.Value, q.Sigma()))
		}
	}
	if raise, lower, ok := m.pair("bench.force_raising", "bench.force_lowering"); ok {
		data = append(data, Measured(diagnose.Drag, max(0, raise.Value-lower.Value), math.Hypot(raise.Sigma(), lower.Sigma())))
	}
	if reading, known, ok := m.pair("bench.gauge_reading", "bench.gauge_true"); ok {
		ratio := reading.Value / known.Value
		data = append(data, Measured(diagnose.Gauge, ratio, ratio*math.Hypot(reading.Sigma()/reading.Value, known.Sigma()/known.Value)))
	}
	return append(data, m.benchLoads()...)
}

// Measured is a measurement with the uncertainty of usual tools, where the user
// stated none.
func Measured(k diagnose.Kind, value, u float64) diagnose.Measured {
	if u == 0 {
		u = diagnose.UsualU(k)
	}
	return diagnose.Measured{Kind: k, Measured: spring.Measured{Value: value, U: u}}
}

// pair returns two keys of which one is no use without the other.
func (m *Machine) pair(a, b string) (qa, qb quantity.Quantity, ok bool) {
	qa, oka := m.Quantity(a)
	qb, okb := m.Quantity(b)
	switch {
	case oka && !okb:
		m.FaultOf(a, "stated without "+b)
	case okb && !oka:
		m.FaultOf(b, "stated without "+a)
	}
	return qa, qb, oka && okb
}

// benchLoads turns loads on the bench into a load, or from two on into the rate
// that they show.
func (m *Machine) benchLoads() []diagnose.Measured {
	var points []spring.Point
	var first quantity.Quantity
	for i := range m.Several["bench.load"] {
		table := sheet.Indexed("bench.load", i+1)
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
		d := Measured(diagnose.BenchLoad, points[0].Load, first.Sigma())
		d.At = points[0].Length
		return []diagnose.Measured{d}
	}
	fit, err := spring.FitBench(points)
	m.FaultFrom(sheet.Indexed("bench.load", 1)+".force", err)
	if err != nil {
		return nil
	}
	return []diagnose.Measured{Measured(diagnose.BenchRate, fit.Rate, fit.RateSE)}
}
