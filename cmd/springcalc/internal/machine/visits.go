package machine

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile"
	"springcalc/profile/course"
	"springcalc/profile/diagnose"
	"springcalc/tables"
)

// Told is a reading of a visit that tells of the machine as it is.
type Told struct {
	Name  string // of its key: "peak"
	Path  string // in the sheet: "visit[3].peak"
	Visit sheet.Visit
	quantity.Quantity
}

// outdates are the kinds of work after which a reading, by the name of its key,
// tells nothing of the machine any more. A gauge that was changed leaves pressures
// as they were.
var outdates = func() map[string][]course.Kind {
	shot := []course.Kind{course.Seal, course.Spring, course.Shim, course.Descale, course.Other}
	gauge := []course.Kind{course.Gauge}
	return map[string][]course.Kind{
		"peak": shot, "end_pressure": shot, "yield": shot, "time": shot,
		"handle_force": {course.Seal, course.Spring, course.Shim, course.Other},
		"free_length":  {course.Spring}, "gauge_reading": gauge, "gauge_true": gauge,
	}
}()

// VisitsUntil are the visits up to a date, by date.
func (m *Machine) VisitsUntil(date sheet.Date) []sheet.Visit {
	return slices.DeleteFunc(m.Visits(), func(v sheet.Visit) bool { return v.Date.After(date) })
}

// Newest returns the reading of a kind that the last of visits tells. Where work
// since has made it out of date, ok is false and stale names that work; where
// there is none, both are zero.
func (m *Machine) Newest(visits []sheet.Visit, name string) (told Told, ok bool, stale *sheet.Visit) {
	for i, v := range slices.Backward(visits) {
		q, has := m.Reading(&v, name)
		if !has {
			continue
		}
		told = Told{name, v.Table + "." + name, v, q}
		for j := len(visits) - 1; j >= i; j-- {
			if (j > i || v.Before) && worked(&visits[j], outdates[name]) {
				return told, false, &visits[j]
			}
		}
		return told, true, nil
	}
	return told, false, nil
}

// worked says whether work of a kind was done on a visit.
func worked(v *sheet.Visit, kinds []course.Kind) bool {
	return slices.ContainsFunc(v.Done, func(w sheet.Work) bool { return slices.Contains(kinds, w.Kind) })
}

// gaugeFactor returns what a pressure is over what the machine's gauge shows of it
// on a visit [-], by the check of this gauge next to that visit; 1 where there is none.
func (m *Machine) gaugeFactor(visits []sheet.Visit, on sheet.Visit) (factor float64, check *sheet.Visit) {
	factor = 1
	for i := range visits {
		v := &visits[i]
		reading, has := m.Reading(v, "gauge_reading")
		known, _ := m.Reading(v, "gauge_true")
		if !has || GaugeChanged(visits, *v, on) {
			continue
		}
		if check == nil || math.Abs(v.Date.Time()-on.Date.Time()) <= math.Abs(check.Date.Time()-on.Date.Time()) {
			factor, check = known.Value/reading.Value, v
		}
	}
	return factor, check
}

// AsOf returns the machine with what the visits up to a date tell of it in place
// of the sheet's values: the peak sets the force of the spring, yield and time of
// one visit the puck, the free length that of the spring. Taken lists it, and
// what does not go with the rest of the sheet and so was not taken.
func (m *Machine) AsOf(date sheet.Date) (*Machine, error) {
	visits := m.VisitsUntil(date)
	impossible := map[string]string{} // why, by the name of a reading
	for {
		other := m.asOf(date, visits, impossible)
		err := other.Build()
		if err == nil {
			return other, nil
		}
		last := len(other.Taken.Told) - 1
		if last < 0 {
			return nil, err
		}
		t := other.Taken.Told[last]
		impossible[t.Name] = fmt.Sprintf("%s of %s is not used: %s", strings.ReplaceAll(t.Name, "_", " "), t.Visit.Date, withoutPlace(err))
	}
}

// withoutPlace says what is wrong without where that stands.
func withoutPlace(err error) string {
	var faults sheet.Faults
	if errors.As(err, &faults) {
		return faults[0].Text
	}
	return WithoutPackage(err)
}

// asOf is a machine to be built with the newest readings of visits, but for those
// that are impossible.
func (m *Machine) asOf(date sheet.Date, visits []sheet.Visit, impossible map[string]string) *Machine {
	other := m.Variant()
	other.start = profile.Coffee{}
	other.Taken = &Taken{AsOf: date, Left: m.Several[sheet.VisitTable.Path] - len(visits)}
	for _, name := range slices.Sorted(maps.Keys(impossible)) {
		other.Taken.Doubts = append(other.Taken.Doubts, impossible[name])
	}
	other.Entries = maps.Clone(m.Entries)
	newest := func(name string) (t Told, ok bool, stale *sheet.Visit) {
		if impossible[name] != "" {
			return t, false, nil
		}
		return m.Newest(visits, name)
	}
	if length, ok, _ := newest("free_length"); ok && m.Has("spring.free_length") {
		other.take(length, "spring.free_length")
	}
	peak, ok, stale := newest("peak")
	if ok {
		other.take(peak, peak.Path)
		other.peak = peak.Path
		other.trueOver, other.Taken.Check = m.gaugeFactor(visits, peak.Visit)
	} else if stale != nil {
		other.Taken.Doubts = append(other.Taken.Doubts, fmt.Sprintf("no peak was read since the work of %s (%s): the spring is that of the sheet", stale.Date, sheet.FormatDone(stale.Done)))
	}
	if yield, ok, _ := newest("yield"); ok && m.Has(yield.Visit.Table+".time") && impossible["time"] == "" {
		other.takeShot(m, visits, yield)
	}
	return other
}

// take puts a reading in the place of a value, with the ± of usual tools where it
// states none.
func (m *Machine) take(t Told, path string) {
	if t.Plus == 0 {
		t.Plus = 2 * ToolU(t.Name)
	}
	e := m.Entries[t.Path]
	e.Quantity = t.Quantity
	m.Entries[path] = e
	m.Taken.Told = append(m.Taken.Told, t)
}

// takeShot takes a shot that was weighed and timed on a visit for the known one.
func (m *Machine) takeShot(from *Machine, visits []sheet.Visit, yield Told) {
	maps.DeleteFunc(m.Entries, func(path string, _ sheet.Entry) bool {
		return strings.HasPrefix(path, "coffee.known.") || strings.HasPrefix(path, "coffee.resistance") || strings.HasPrefix(path, "coffee.permeability")
	})
	table := yield.Visit.Table
	time, _ := from.Reading(&yield.Visit, "time")
	m.take(Told{"time", table + ".time", yield.Visit, time}, "coffee.known.time")
	m.take(yield, "coffee.known.yield")
	if e, ok := from.Entries[table+".peak"]; ok {
		factor, _ := from.gaugeFactor(visits, yield.Visit)
		e.Quantity.Value *= factor
		e.Quantity.Plus *= factor
		m.Entries["coffee.known.peak"] = e
	}
	if e, ok := m.Entries[table+".dose"]; ok {
		m.Entries["coffee.known.dose"] = e
	} else if typed, tried := m.Typed["coffee.dose"]; tried { // a flag tries another dose; that shot had the sheet's
		e := m.Entries["coffee.dose"]
		e.Quantity = quantity.Quantity{Value: typed}
		m.Entries["coffee.known.dose"] = e
	}
}

// Taken is what a machine has from its visits.
type Taken struct {
	AsOf   sheet.Date
	Told   []Told       // readings that took the place of the sheet's values
	Check  *sheet.Visit // the check of the gauge that the peak was put right by; nil for none
	Left   int          // visits after the date
	Doubts []string
}

// fitPeak moves the preload of the first spring until the shot has the peak that a
// visit tells, as a sound gauge would show it.
func (m *Machine) fitPeak() error {
	if m.peak == "" {
		return nil
	}
	if err := m.Setup.Validate(); err != nil {
		return err
	}
	m.FaultFrom(m.peak, m.Setup.FitPeak(m.Value(m.peak)*m.trueOver))
	return m.Faults.Err()
}

// observed are the readings of a visit that are measurements as they stand; the
// peak counts with the course of the peaks.
var observed = []struct {
	name string
	kind diagnose.Kind
}{
	{"end_pressure", diagnose.EndPress}, {"yield", diagnose.Yield}, {"time", diagnose.ShotTime}, {"free_length", diagnose.FreeLength}, {"gauge_reading", diagnose.Gauge},
}

// Observed returns what the last of visits tell of the machine beside its peak,
// with the standard uncertainty of usual tools where they state none.
func (m *Machine) Observed(visits []sheet.Visit, usual func(diagnose.Kind) float64) (list []diagnose.Observation) {
	for _, o := range observed {
		t, ok, _ := m.Newest(visits, o.name)
		if !ok {
			continue
		}
		value, u := t.Value, t.Sigma()
		switch o.kind {
		case diagnose.ShotTime: // counts from the release
			value -= m.Setup.Pulls[0].Preinfusion
		case diagnose.Gauge:
			known, _ := m.Reading(&t.Visit, "gauge_true")
			u = value / known.Value * math.Hypot(u/value, known.Sigma()/known.Value)
			value /= known.Value
		}
		if u == 0 {
			u = usual(o.kind)
		}
		if value > 0 {
			read := diagnose.Observe(o.kind, value, u)
			read.Name = t.Path
			list = append(list, read)
		}
	}
	return list
}

// tools are the names, among what a diagnosis presumes, of the tools that visits
// are read with, by the name of the key.
var tools = map[string]string{
	"peak": "tool.peak", "end_pressure": "tool.end", "yield": "tool.yield", "time": "tool.time", "handle_force": "tool.load",
	"free_length": "tool.length", "gauge_reading": "tool.end", "gauge_true": "tool.end",
}

// ToolU is the standard uncertainty of a reading of a visit with usual tools [SI],
// by the name of its key; 0 for what is no reading.
func ToolU(name string) float64 {
	p, _ := tables.DiagnosisPriorFor(tools[name])
	return p.Value
}

// GaugeChanged says whether the machine's gauge was changed between the readings
// of two visits of a list that is in order.
func GaugeChanged(visits []sheet.Visit, a, b sheet.Visit) bool {
	place := func(of sheet.Visit) int {
		return slices.IndexFunc(visits, func(v sheet.Visit) bool { return v.Table == of.Table })
	}
	from, to := place(a), place(b)
	if from > to {
		from, to = to, from
	}
	for i := from; i <= to && from != to; i++ {
		// The work of the first counts where it was read before it, that of the last where it was read after it.
		between := (i > from || visits[i].Before) && (i < to || !visits[i].Before)
		if between && worked(&visits[i], outdates["gauge_true"]) {
			return true
		}
	}
	return false
}
