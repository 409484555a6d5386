package machine

import (
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/diagnose"
	"springcalc/spring"
)

// AsNew is a machine as it was when new.
type AsNew struct {
	diagnose.Machine
	Peak    float64 // as read when it was new [Pa]; 0 where nobody says
	Guessed bool    // nothing says how long the spring was: it is as long as the peak when new wants
}

// AsNew returns the machine as it was when new: as the sheet has it now, but for
// what [new] states. Where nothing says how long the spring was, the peak when
// new [Pa] does, 0 for one that is not known; what the sheet says of it then is
// what it is today.
func (m *Machine) AsNew(peak float64) (*AsNew, error) {
	n := &AsNew{Machine: diagnose.Machine{Setup: m.Setup}, Peak: m.ValueOr("new.peak", peak)}
	n.Setup.Springs = slices.Clone(m.Setup.Springs)
	if m.Told() && !m.unknownPreload() { // the readings are for the diagnosis to weigh
		m.stated.put(&n.Setup)
	}
	if c, ok := m.newSpring(); ok {
		line, err := c.Installed(m.Rest("spring"))
		m.FaultFrom(m.RestKey("spring"), err)
		n.Setup.Springs[0], n.Spring = line, &c
	}
	if err := m.Faults.Err(); err != nil {
		return nil, err
	}
	if n.Peak == 0 || n.Spring != nil && m.Has("new.free_length") {
		return n, nil
	}
	before := n.Setup.Springs[0]
	if err := n.Setup.FitPeak(n.Peak); err != nil {
		return nil, err
	}
	n.Guessed = true
	if n.Spring != nil {
		n.Spring.Free += (n.Setup.Springs[0].Preload - before.Preload) / before.Rate
	}
	return n, nil
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

// benchKinds are the keys of [bench] that are measurements as they stand.
var benchKinds = []struct {
	name string
	kind diagnose.Kind
	now  string // key of the sheet that says the same of today, where what it was when new is known beside
}{
	{"peak", diagnose.Peak, ""}, {"end_pressure", diagnose.EndPress, ""}, {"yield", diagnose.Yield, ""}, {"shot_time", diagnose.ShotTime, ""},
	{"long_fill_peak", diagnose.LongFill, ""}, {"piston_travel", diagnose.Travel, ""}, {"headspace_depth", diagnose.Headspace, ""},
	{"free_length", diagnose.FreeLength, "spring.free_length"}, {"wire", diagnose.WireSize, "spring.wire"}, {"active_coils", diagnose.Coils, "spring.active_coils"},
}

// Bench returns what was measured on the machine, as the sheet has it, with the
// standard uncertainty of usual tools where none is stated.
func (m *Machine) Bench(fresh *AsNew, usual func(diagnose.Kind) float64) (data []diagnose.Observation) {
	observe := func(path string, k diagnose.Kind, value, u float64) *diagnose.Observation {
		if u == 0 {
			u = usual(k)
		}
		o := diagnose.Observe(k, value, u)
		o.Name = path
		data = append(data, o)
		return &data[len(data)-1]
	}
	for _, k := range benchKinds {
		path := "bench." + k.name
		known := m.Has("new."+k.name) || k.kind == diagnose.FreeLength && fresh.Guessed && fresh.Spring != nil
		if !m.Has(path) && k.now != "" && known {
			path = k.now
		}
		if q, ok := m.Quantity(path); ok {
			observe(path, k.kind, q.Value, q.Sigma())
		}
	}
	if raise, lower, ok := m.pair("bench.force_raising", "bench.force_lowering"); ok {
		observe("bench.force_raising", diagnose.Drag, max(0, raise.Value-lower.Value), math.Hypot(raise.Sigma(), lower.Sigma()))
	}
	if reading, known, ok := m.pair("bench.gauge_reading", "bench.gauge_true"); ok {
		ratio := reading.Value / known.Value
		observe("bench.gauge_reading", diagnose.Gauge, ratio, ratio*math.Hypot(reading.Sigma()/reading.Value, known.Sigma()/known.Value))
	}
	if off, ok := m.Quantity("bench.gauge_error"); ok {
		at := m.ValueOr("bench.peak", fresh.Setup.PeakPressure()) - off.Value
		observe("bench.gauge_error", diagnose.Gauge, 1+off.Value/at, off.Sigma()/at)
	}
	switch points, first := m.benchLoads(); len(points) {
	case 0:
	case 1:
		observe("bench.load", diagnose.BenchLoad, points[0].Load, first.Sigma()).At = points[0].Length
	default:
		fit, err := spring.FitBench(points)
		m.FaultFrom(sheet.Indexed("bench.load", 1)+".force", err)
		if err == nil {
			observe("bench.load", diagnose.BenchRate, fit.Rate, fit.RateSE)
		}
	}
	return data
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

// benchLoads returns the loads on the bench, and the first as stated.
func (m *Machine) benchLoads() (points []spring.Point, first quantity.Quantity) {
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
	return points, first
}
