package main

import (
	_ "embed"
	"fmt"
	"strings"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
	"springcalc/tables"
)

// demoSheet is the machine that commands show where no sheet is given.
//
//go:embed demo.toml
var demoSheet []byte

// machine is a sheet with the defaults it needed, joined into what a shot needs.
type machine struct {
	*sheet
	Setup    profile.Setup
	Defaults []tables.Default // what the sheet did not state, in the order of use
	Doubts   []string

	varied map[string]float64 // values in place of the sheet's and the defaults' [SI]
	reads  map[string]string  // of a probe: by path, the default that was read there, "" for the sheet
	quiet  bool               // a draw, of which nobody reads the doubts
	start  profile.Coffee     // of a variant: the bed that the machine's own known shot tells of
}

// newMachine joins a sheet and defaults. Its error lists what contradicts
// itself in the sheet, with places.
func newMachine(s *sheet) (*machine, error) {
	m := &machine{sheet: s}
	return m, m.build()
}

// readMachine reads a sheet and the overrides KEY=VALUE of --set, and joins it
// with the defaults.
func readMachine(name string, data []byte, sets []string) (*machine, error) {
	s, err := readSheet(name, data, sets)
	if err != nil {
		return nil, err
	}
	return newMachine(s)
}

// name returns what to call the machine in a title.
func (m *machine) name() string {
	if name := m.text("machine.name"); name != "" {
		return name
	}
	return m.sheet.name
}

// variant returns the same machine to be built with other values by set.
func (m *machine) variant() *machine {
	s := *m.sheet
	return &machine{sheet: &s, start: m.Setup.Coffee}
}

// set builds a variant with other values [SI] by key, stated or default, in
// the memory of the last time. It is how an uncertain value is tried out.
func (m *machine) set(values map[string]float64) error {
	m.renew(values)
	return m.build()
}

// renew leaves nothing of a variant but other values [SI].
func (m *machine) renew(values map[string]float64) {
	m.faults, m.Defaults, m.Doubts = nil, m.Defaults[:0], m.Doubts[:0]
	m.varied = values
}

// vary returns a variant that is set.
func (m *machine) vary(values map[string]float64) (*machine, error) {
	other := m.variant()
	return other, other.set(values)
}

// value returns the value of a key [SI], as stated or by default; a default is
// listed then. A key with neither is a mistake of the program.
func (m *machine) value(path string) float64 {
	if v, ok := m.varied[path]; ok {
		return v
	}
	if q, ok := m.quantity(path); ok {
		m.noteRead(path, "")
		return q.Value
	}
	return m.byDefault(strings.Clone(path)) // a path that is joined for a draw stays off the heap
}

// byDefault is value for a key that the sheet does not state.
func (m *machine) byDefault(path string) float64 {
	key := unnumbered(path)
	m.noteRead(path, key)
	d, ok := tables.DefaultFor(key)
	if !ok {
		panic("machine: no default for " + key)
	}
	m.assume(d)
	if v, ok := m.varied[key]; ok {
		return v
	}
	return d.Value
}

// noteRead lets a probe know what a build depends on.
func (m *machine) noteRead(path, defaultKey string) {
	if m.reads != nil {
		m.reads[strings.Clone(path)] = defaultKey
	}
}

// assume lists a default, once.
func (m *machine) assume(d tables.Default) {
	for _, used := range m.Defaults {
		if used.Key == d.Key {
			return
		}
	}
	m.Defaults = append(m.Defaults, d)
}

// forgo takes a default off the list that something else has replaced.
func (m *machine) forgo(key string) {
	for i, d := range m.Defaults {
		if d.Key == key {
			m.Defaults = append(m.Defaults[:i:i], m.Defaults[i+1:]...)
			return
		}
	}
}

// build fills in the setup.
func (m *machine) build() error {
	m.Setup = profile.Setup{
		Springs:  m.springs(m.Setup.Springs[:0]),
		Cylinder: m.cylinder(),
		Basket:   profile.Basket{Diameter: m.value("basket.diameter"), Depth: m.valueOr("basket.depth", 0)},
		Coffee:   m.coffee(),
		Water:    m.water(),
		Pulls:    m.pulls(m.Setup.Pulls[:0]),
	}
	m.Setup.Chamber = m.chamber()
	m.crossCheck()
	if err := m.faults.err(); err != nil {
		return err
	}
	m.setResistance()
	if err := m.faults.err(); err != nil {
		return err
	}
	return m.Setup.Validate()
}

// springs appends the springs that have no fault.
func (m *machine) springs(springs []spring.Linear) []spring.Linear {
	for _, table := range []string{"spring", "spring.inner"} {
		switch {
		case m.has(table + ".rate"):
			springs = append(springs, spring.Linear{Rate: m.value(table + ".rate"), Preload: m.value(table + ".preload")})
		case m.has(table + ".wire"):
			if line, ok := m.springFromDimensions(table); ok {
				springs = append(springs, line)
			}
		}
	}
	return springs
}

func (m *machine) cylinder() piston.Cylinder {
	return piston.Cylinder{
		Bore:   m.value("piston.bore"),
		Stroke: m.value("piston.stroke"),
		Port:   m.value("piston.port_travel"),
		Weight: m.value("piston.mass") * profile.Gravity,
		Seal: piston.Seal{
			Constant: m.value("piston.friction"),
			PerPa:    m.value("piston.friction_per_pressure"),
		},
	}
}

// chamber needs basket and coffee to be set: without a stated headspace it is
// the room above the bed in the basket.
func (m *machine) chamber() profile.Chamber {
	c := profile.Chamber{Air: m.value("chamber.air")}
	switch s := &m.Setup; {
	case m.has("chamber.headspace"):
		c.Headspace = m.value("chamber.headspace")
	case s.Basket.Depth > 0:
		c.Headspace = s.RoomVolume()
		m.assume(tables.Default{Key: "chamber.headspace", Value: c.Headspace, Low: c.Headspace, High: c.Headspace,
			Source: "room above the bed in the basket", Grade: tables.Derived})
	default:
		m.assume(tables.Default{Key: "chamber.headspace", Source: "not stated: taken as none", Grade: tables.CommonPractice})
	}
	return c
}

// coffee leaves the resistance to setResistance.
func (m *machine) coffee() profile.Coffee {
	c := profile.Coffee{
		Dose:        m.value("coffee.dose"),
		BulkDensity: m.value("coffee.bulk_density"),
		Loading:     m.value("coffee.loading_exponent"),
		Unloading:   m.value("coffee.unloading_exponent"),
		Threshold:   m.value("coffee.threshold_pressure"),
		Low:         0.67,
		Blocking:    0.386,
		BlockingBy:  0.385,
		Retained:    m.value("coffee.retained"),
		DryPerm:     m.value("coffee.dry_permeability"),
		Suction:     m.value("coffee.suction"),
		Soluble:     m.value("coffee.soluble"),
		SolubleBy:   m.value("coffee.soluble_decay"),
		SecondPull:  1,
	}
	if !m.has("coffee.unloading_exponent") {
		c.Unloading = min(c.Unloading, c.Loading) // more than elastic it cannot be
	}
	if m.several["pull"] > 1 {
		c.SecondPull = m.value("coffee.second_pull_factor")
	}
	return c
}

// pulls appends the pulls.
func (m *machine) pulls(pulls []profile.Pull) []profile.Pull {
	for i := range max(1, m.several["pull"]) {
		table := indexed("pull", i+1)
		pulls = append(pulls, profile.Pull{
			FillTime:    m.value(table + ".fill_time"),
			Preinfusion: m.value(table + ".preinfusion"),
			EndPressure: m.value(table + ".end_pressure"),
			EndCup:      m.valueOr(table+".end_yield", 0),
		})
	}
	return pulls
}

// water works out the fill pressure, and the water at brewing temperature
// under it.
func (m *machine) water() profile.Water {
	var w profile.Water
	var err error
	w.Atmosphere, err = tables.Atmosphere(m.value("water.altitude"))
	m.faultFrom("water.altitude", err)
	switch {
	case m.has("water.boiler_temperature"):
		absolute, err := tables.SaturationPressure(m.value("water.boiler_temperature"))
		m.faultFrom("water.boiler_temperature", err)
		w.Fill = absolute - w.Atmosphere
		if err == nil && w.Fill < 0 {
			boils, _ := tables.SaturationTemperature(w.Atmosphere)
			m.faultOf("water.boiler_temperature", "a boiler that pushes is hotter than where water boils in the open, here "+inC.text(boils, 1))
		}
	case m.has("water.line_pressure"):
		w.Fill = m.value("water.line_pressure")
	default:
		w.Fill = m.value("water.boiler_pressure")
	}
	brew, absolute := m.value("water.brew_temperature"), w.Atmosphere+max(0, w.Fill)
	if boils, err := tables.SaturationTemperature(absolute); err == nil && brew > boils {
		m.faultOf("water.brew_temperature", "under the fill pressure water boils at "+inC.text(boils, 1))
		return w
	}
	if w.Density, err = tables.WaterDensity(brew, absolute); err == nil {
		w.Viscosity, err = tables.WaterViscosity(brew, w.Density)
	}
	m.faultFrom("water.brew_temperature", err)
	return w
}

// setResistance states what the bed does to the flow, in the one way that the
// sheet has, or by the default permeability.
func (m *machine) setResistance() {
	s := &m.Setup
	if m.has("coffee.resistance") {
		s.Coffee.Resistance = m.value("coffee.resistance")
		s.Coffee.AtPressure = m.value("coffee.resistance_at")
		return
	}
	s.Coffee.Resistance = s.ResistanceOf(m.value("coffee.permeability"))
	s.Coffee.AtPressure = m.value("coffee.permeability_at")
	if m.hasTable("coffee.known") {
		m.calibrate()
	}
}

// knowsPuck tells whether the sheet states what the bed does to the flow, in any
// of the ways that it has.
func (m *machine) knowsPuck() bool {
	return m.has("coffee.resistance") || m.has("coffee.permeability") || m.hasTable("coffee.known")
}

// calibrate replaces what is assumed of the bed by what the known shot tells.
func (m *machine) calibrate() {
	or := func(name string, other float64) float64 { return m.valueOr("coffee.known."+name, other) }
	s := &m.Setup
	known := profile.Known{
		Yield:       m.value("coffee.known.yield"),
		Time:        m.value("coffee.known.time"),
		Preinfusion: or("preinfusion", s.Pulls[0].Preinfusion),
		Pressure:    or("pressure", 0),
		Peak:        or("peak", 0),
		Dose:        or("dose", s.Coffee.Dose),
		Diameter:    or("basket_diameter", s.Basket.Diameter),
	}
	if known.Pressure == 0 && !(known.Preinfusion < known.Time) {
		m.faultOf("coffee.known.time", "want more than the pre-infusion in it, "+inS.text(known.Preinfusion, 1))
		return
	}
	if m.start.Resistance > 0 {
		s.Coffee.Resistance = m.start.Resistance
		if known.Pressure == 0 {
			s.Coffee.Retained = m.start.Retained
		}
	}
	fitted, doubts, err := profile.Calibrate(s, known)
	if err != nil {
		m.fault(m.tables["coffee.known"], "coffee.known", withoutPackage(err))
		return
	}
	m.Setup = *fitted
	m.Doubts = append(m.Doubts, doubts...)
	m.forgo("coffee.permeability")
	if known.Pressure == 0 {
		m.forgo("coffee.retained") // the yield told it
	}
}

// crossCheck finds values that are possible alone but not together.
func (m *machine) crossCheck() {
	s := &m.Setup
	if c := s.Cylinder; !(c.Port < c.Stroke) {
		m.faultOf("piston.port_travel", "want less than the stroke, "+inMM.text(c.Stroke, 1))
	}
	if len(s.Springs) > 0 && !(spring.ForceOf(s.Springs, s.Cylinder.Stroke) > 0) {
		path := "spring.preload"
		if !m.has(path) {
			path = "spring.installed_length"
		}
		m.faultOf(path, "with this the spring is loose even when cocked")
	}
	if room := s.ChamberVolume(); !(s.Chamber.Air <= room) {
		m.faultOf("chamber.air", "want no more than the chamber holds, "+inML.text(room, 1))
	}
	if c := s.Coffee; !(c.Unloading <= c.Loading) {
		m.faultOf("coffee.unloading_exponent", fmt.Sprintf("want no more than the loading exponent, %g", c.Loading))
	}
}

// faultFrom notes an error of another package at the key that it was for.
func (m *machine) faultFrom(path string, err error) {
	if err == nil {
		return
	}
	m.faultOf(strings.Clone(path), withoutPackage(err)) // so that a path joined for nothing stays off the heap
}

// withoutPackage takes the name of the package off an error, or off each line
// of several, which its reader has no use for.
func withoutPackage(err error) string {
	lines := strings.Split(err.Error(), "\n")
	for i, line := range lines {
		if name, rest, ok := strings.Cut(line, ": "); ok && !strings.Contains(name, " ") {
			lines[i] = rest
		}
	}
	return strings.Join(lines, "\n")
}

// addDefaults lists the defaults in a report: as text for reading, as a table for programs.
func (m *machine) addDefaults(r *report) {
	t := tableData{Key: "defaults", DataOnly: true, Columns: []column{
		{Key: "key"}, {Key: "value"}, {Key: "low"}, {Key: "high"}, {Key: "grade"}, {Key: "source"}}}
	for _, d := range m.Defaults {
		dim := findKey(d.Key).dim
		value, low, high := brief(d.Value, d.Value, dim), brief(d.Low, d.Value, dim), brief(d.High, d.Value, dim)
		t.Data = append(t.Data, []any{d.Key, value, low, high, string(d.Grade), d.Source})
		text := d.Key + " = " + value
		if d.Low != d.High {
			text += " (" + low + " to " + high + ")"
		}
		source := d.Source
		if !strings.HasSuffix(source, string(d.Grade)) {
			source += " (" + string(d.Grade) + ")"
		}
		r.Defaults = append(r.Defaults, text+": "+source)
	}
	r.Tables = append(r.Tables, t)
}
