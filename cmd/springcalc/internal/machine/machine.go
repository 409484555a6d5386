// Package machine joins a sheet, the published tables and the defaults into what
// the physics needs: the setup of a shot, the lever, the wire, the wishes. A
// machine can be had with other values, which is how an uncertain value is tried
// out. It asks no question and prints nothing.
package machine

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/piston"
	"springcalc/profile"
	"springcalc/profile/uncertain"
	"springcalc/spring"
	"springcalc/tables"
)

// ValueOr returns the value of a key [SI] that may be missing without being a default.
func (m *Machine) ValueOr(path string, other float64) float64 {
	if v, varied := m.Varied[path]; varied {
		return v
	}
	if m.Has(path) {
		return m.Value(path)
	}
	return other
}

// Spread returns a value above zero [SI] with the ends of what it may be: by
// its ±, or by the range of its default.
func (m *Machine) Spread(path string) (low, value, high float64) {
	value = m.Value(path)
	if q, ok := m.Quantity(path); ok {
		return max(value-q.Plus, value/20), value, value + q.Plus
	}
	d, _ := m.DefaultFor(path)
	return d.Low, value, d.High
}

// Machine is a sheet with the defaults it needed, joined into what a shot needs.
type Machine struct {
	*sheet.Sheet
	Setup    profile.Setup
	Defaults []tables.Default // what the sheet did not state, in the order of use
	Doubts   []string
	Remarks  []string // how words and units of the sheet were read

	Together []uncertain.Correlation // values that err together, by key, as one log told them

	Varied map[string]float64       // values in place of the sheet's and the defaults' [SI]
	Reads  map[string]string        // of a probe: by path, the default that was read there, "" for the sheet
	Quiet  bool                     // a draw, of which nobody reads the doubts
	start  profile.Coffee           // of a variant: the bed that the machine's own known shot tells of
	called map[string][]tables.Wire // by grade, the wires that it may mean

	tells  *tells             // what readings are to the springs
	usual  map[string]float64 // ± of usual tools, by the path of a reading that states none [SI]
	stated force              // of springs and seal as the sheet has them, before readings moved them

	Taken    *Taken  // what visits tell in place of the sheet's values; nil where nobody asked
	peak     string  // path of the reading that the spring's force is set by; "" for none
	trueOver float64 // a pressure over what the gauge showed of it then [-]
}

// New joins a sheet and defaults. Its error lists what contradicts
// itself in the sheet, with places.
func New(s *sheet.Sheet) (*Machine, error) {
	m := &Machine{Sheet: s}
	if s.Has(knownLog) {
		m.FaultOf(knownLog, "is not read here; state coffee.known.yield and coffee.known.time instead")
		return m, m.Faults.Err()
	}
	if err := m.Build(); err != nil {
		for _, odd := range s.Odd() {
			if strings.Contains(odd, "looks like") { // which may be why
				err = fmt.Errorf("%w\n%s", err, odd)
			}
		}
		return m, err
	}
	m.Remarks = slices.Concat(s.Remarks(), m.grades(), m.toldBy())
	m.Doubts = slices.Concat(m.Overridden(), s.Odd(), m.odd(), m.Doubts)
	return m, nil
}

// SpringsOf is the machine of a sheet of which only the springs and the stroke need be
// stated. It is not built.
func SpringsOf(s *sheet.Sheet) *Machine {
	m := &Machine{Sheet: s}
	m.Remarks = append(s.Remarks(), m.grades()...)
	m.Doubts = m.Overridden()
	return m
}

// Read reads a sheet and the overrides KEY=VALUE of --set, and joins it
// with the defaults.
func Read(name string, data []byte, sets []string) (*Machine, error) {
	s, err := sheet.Read(name, data, sets)
	if err != nil {
		return nil, err
	}
	return New(s)
}

// Name returns what to call the machine in a title.
func (m *Machine) Name() string {
	if name := m.Text("machine.name"); name != "" {
		return name
	}
	return m.Sheet.Name
}

// Variant returns the same machine to be built with other values by set.
func (m *Machine) Variant() *Machine {
	s := *m.Sheet
	return &Machine{Sheet: &s, start: m.Setup.Coffee, tells: m.tells, usual: m.usual, called: m.called, Taken: m.Taken, peak: m.peak, trueOver: m.trueOver}
}

// Set builds a variant with other values [SI] by key, stated or default, in
// the memory of the last time. It is how an uncertain value is tried out.
func (m *Machine) Set(values map[string]float64) error {
	m.Renew(values)
	return m.Build()
}

// Renew leaves nothing of a variant but other values [SI].
func (m *Machine) Renew(values map[string]float64) {
	m.Faults, m.Defaults, m.Doubts = nil, m.Defaults[:0], m.Doubts[:0]
	m.Varied = values
}

// Vary returns a variant that is set.
func (m *Machine) Vary(values map[string]float64) (*Machine, error) {
	other := m.Variant()
	return other, other.Set(values)
}

// Value returns the value of a key [SI], as stated or by default; a default is
// listed then. A key with neither is a mistake of the program.
func (m *Machine) Value(path string) float64 {
	if v, ok := m.Varied[path]; ok {
		return v
	}
	if q, ok := m.Quantity(path); ok {
		m.noteRead(path, "")
		return q.Value
	}
	return m.byDefault(strings.Clone(path)) // a path that is joined for a draw stays off the heap
}

// byDefault is value for a key that the sheet does not state.
func (m *Machine) byDefault(path string) float64 {
	key := sheet.Unnumbered(path)
	m.noteRead(path, key)
	d, ok := m.DefaultFor(key)
	if !ok {
		panic("machine: no default for " + key)
	}
	m.Assume(d)
	if v, ok := m.Varied[key]; ok {
		return v
	}
	return d.Value
}

// noteRead lets a probe know what a build depends on.
func (m *Machine) noteRead(path, defaultKey string) {
	if m.Reads != nil {
		m.Reads[strings.Clone(path)] = defaultKey
	}
}

// Assume lists a default, once.
func (m *Machine) Assume(d tables.Default) {
	for _, used := range m.Defaults {
		if used.Key == d.Key {
			return
		}
	}
	m.Defaults = append(m.Defaults, d)
}

// forgo takes a default off the list that something else has replaced.
func (m *Machine) forgo(key string) {
	for i, d := range m.Defaults {
		if d.Key == key {
			m.Defaults = append(m.Defaults[:i:i], m.Defaults[i+1:]...)
			return
		}
	}
}

// assemble fills in the setup as the sheet has it, but for what tells of the bed.
func (m *Machine) assemble() error {
	m.Setup = profile.Setup{
		Springs:  m.springs(m.Setup.Springs[:0]),
		Cylinder: m.cylinder(),
		Basket:   profile.Basket{Diameter: m.Value("basket.diameter"), Depth: m.ValueOr("basket.depth", 0)},
		Coffee:   m.coffee(),
		Water:    m.water(),
		Pulls:    m.pulls(m.Setup.Pulls[:0]),
	}
	m.Setup.Chamber = m.chamber()
	m.Setup.Handle = m.handle()
	m.crossCheck()
	m.tryShim(-1)
	return m.Faults.Err()
}

// Build fills in the setup.
func (m *Machine) Build() error {
	if err := m.assemble(); err != nil {
		return err
	}
	if err := m.applyReadings(); err != nil {
		return err
	}
	m.tryShim(1)
	if err := m.checkLoose(); err != nil {
		return err
	}
	m.setResistance()
	if err := m.Faults.Err(); err != nil {
		return err
	}
	if err := m.fitPeak(); err != nil {
		return err
	}
	m.setupFaults(m.Setup.Validate())
	return m.Faults.Err()
}

// springs appends the springs that have no fault.
func (m *Machine) springs(springs []spring.Linear) []spring.Linear {
	for _, table := range []string{"spring", "spring.inner"} {
		switch {
		case m.Has(table + ".wire"):
			if line, ok := m.springFromDimensions(table); ok {
				springs = append(springs, line)
			}
		case m.Has(table + ".rate"):
			springs = append(springs, m.Measured(table))
		case table == "spring":
			springs = append(springs, spring.Linear{}) // for readings to tell
		}
	}
	return springs
}

func (m *Machine) cylinder() piston.Cylinder {
	return piston.Cylinder{
		Bore:   m.Value("piston.bore"),
		Stroke: m.Value("piston.stroke"),
		Port:   m.Value("piston.port_travel"),
		Weight: m.Value("piston.mass") * profile.Gravity,
		Seal: piston.Seal{
			Constant: m.Value("piston.friction"),
			PerPa:    m.Value("piston.friction_per_pressure"),
		},
	}
}

// chamber needs basket and coffee to be set: a headspace that is not stated is
// estimated from them.
func (m *Machine) chamber() profile.Chamber {
	return profile.Chamber{Air: m.Value("chamber.air"), Headspace: m.Value("chamber.headspace")}
}

// DefaultFor returns what is taken for a key that is not stated: of the table of
// defaults, or with its range what the rest of the sheet tells: the headspace that
// basket and coffee leave, the friction of O-rings, the modulus of a wire.
func (m *Machine) DefaultFor(key string) (tables.Default, bool) {
	switch key {
	case "lever.handle_centre":
		long := m.Value("lever.handle_length")
		return tables.Default{Key: key, Value: 0.5 * long, Low: 0.35 * long, High: 0.7 * long, Shape: "triangular",
			Source: "centre of mass of the handle: an even bar with a grip, estimate", Grade: tables.Weak}, true
	case "chamber.headspace":
		e := m.Setup.EstimateHeadspace()
		return tables.Default{Key: key, Value: e.Value, Low: e.Low, High: e.High, Shape: "triangular",
			Source: "room above the bed, by dose and basket", Grade: tables.Derived}, true
	default:
		d, ok := tables.DefaultFor(key)
		switch {
		case strings.HasSuffix(key, ".modulus_ratio"):
			d = m.modulusRatio(key, d)
		case key == "lever.efficiency" && m.Text("lever.kind") == sheet.SlotInLever:
			d.Value, d.Low, d.High, d.Grade = 0.98, 0.95, 1, tables.Weak
			d.Source = "pivot alone, 1 - μ·r/b of a pin of 4 to 8 mm, estimate; pin and guide lose by lever.slot_friction"
		case key == "bench.gauge_error":
			d = m.gaugeError(d)
		case key == "piston.friction" || key == "piston.friction_per_pressure":
			d = m.ringFriction(key, d)
		}
		return d, ok
	}
}

// coffee leaves the resistance to setResistance.
func (m *Machine) coffee() profile.Coffee {
	c := profile.Coffee{
		Dose:        m.Value("coffee.dose"),
		BulkDensity: m.Value("coffee.bulk_density"),
		Loading:     m.Value("coffee.loading_exponent"),
		Unloading:   m.Value("coffee.unloading_exponent"),
		Threshold:   m.Value("coffee.threshold_pressure"),
		Low:         m.Value("coffee.low_pressure_exponent"),
		Blocking:    m.Value("coffee.blocking"),
		BlockingBy:  m.Value("coffee.blocking_decay"),
		SetBy:       m.Value("coffee.blocking_by_wetting"),
		Soaking:     m.Value("coffee.soaking"),
		Retained:    m.Value("coffee.retained"),
		DryPerm:     m.Value("coffee.dry_permeability"),
		Suction:     m.Value("coffee.suction"),
		Soluble:     m.Value("coffee.soluble"),
		SolubleBy:   m.Value("coffee.soluble_decay"),
		SecondPull:  1,
	}
	if !m.Has("coffee.unloading_exponent") {
		c.Unloading = min(c.Unloading, c.Loading) // more than elastic it cannot be
	}
	if m.Several["pull"] > 1 {
		c.SecondPull = m.Value("coffee.second_pull_factor")
	}
	return c
}

// pulls appends the pulls.
func (m *Machine) pulls(pulls []profile.Pull) []profile.Pull {
	for i := range max(1, m.Several["pull"]) {
		table := sheet.Indexed("pull", i+1)
		pulls = append(pulls, profile.Pull{
			FillTime:    m.Value(table + ".fill_time"),
			Preinfusion: m.Value(table + ".preinfusion"),
			EndPressure: m.Value(table + ".end_pressure"),
			EndCup:      m.ValueOr(table+".end_yield", 0),
		})
	}
	return pulls
}

// water works out the fill pressure, and the water at brewing temperature
// under it.
func (m *Machine) water() profile.Water {
	var w profile.Water
	var err error
	w.Atmosphere, err = tables.Atmosphere(m.Value("water.altitude"))
	m.FaultFrom("water.altitude", err)
	switch {
	case m.Has("water.boiler_temperature"):
		absolute, err := tables.SaturationPressure(m.Value("water.boiler_temperature"))
		m.FaultFrom("water.boiler_temperature", err)
		w.Fill = absolute - w.Atmosphere
		if err == nil && w.Fill < 0 {
			boils, _ := tables.SaturationTemperature(w.Atmosphere)
			m.FaultOf("water.boiler_temperature", "a boiler that pushes is hotter than where water boils in the open, here "+quantity.InC.Text(boils, 1))
		}
	case m.Has("water.line_pressure"):
		w.Fill = m.Value("water.line_pressure")
	default:
		w.Fill = m.Value("water.boiler_pressure")
	}
	brew, absolute := m.Value("water.brew_temperature"), w.Atmosphere+max(0, w.Fill)
	if boils, err := tables.SaturationTemperature(absolute); err == nil && brew > boils {
		m.FaultOf("water.brew_temperature", "under the fill pressure water boils at "+quantity.InC.Text(boils, 1))
		return w
	}
	if w.Density, err = tables.WaterDensity(brew, absolute); err == nil {
		w.Viscosity, err = tables.WaterViscosity(brew, w.Density)
	}
	m.FaultFrom("water.brew_temperature", err)
	return w
}

// setResistance states what the bed does to the flow, in the one way that the
// sheet has, or by the default permeability.
func (m *Machine) setResistance() {
	s := &m.Setup
	if m.Has("coffee.resistance") {
		s.Coffee.Resistance = m.Value("coffee.resistance")
		s.Coffee.AtPressure = m.Value("coffee.resistance_at")
		s.Coffee.FoundDose = m.foundWith("coffee.resistance_dose", "coffee.dose")
		s.Coffee.FoundDiameter = m.foundWith("coffee.resistance_basket", "basket.diameter")
		return
	}
	s.Coffee.Resistance = s.ResistanceOf(m.Value("coffee.permeability"))
	s.Coffee.AtPressure = m.Value("coffee.permeability_at")
	if m.HasTable("coffee.known") {
		m.calibrate()
	}
}

// foundWith returns what a stated resistance was found with [SI]: as stated, or
// as the sheet has it even where a flag tries another; 0 for that of the machine.
func (m *Machine) foundWith(stated, key string) float64 {
	if m.Has(stated) {
		return m.Value(stated)
	}
	return m.Typed[key]
}

// KnowsPuck tells whether the sheet states what the bed does to the flow, in any
// of the ways that it has.
func (m *Machine) KnowsPuck() bool {
	return m.Has("coffee.resistance") || m.Has("coffee.permeability") || m.HasTable("coffee.known")
}

// calibrate replaces what is assumed of the bed by what the known shot tells.
func (m *Machine) calibrate() {
	or := func(name string, other float64) float64 { return m.ValueOr("coffee.known."+name, other) }
	s := &m.Setup
	known := profile.Known{
		Yield:       m.Value("coffee.known.yield"),
		Time:        m.Value("coffee.known.time"),
		Preinfusion: or("preinfusion", s.Pulls[0].Preinfusion),
		Pressure:    or("pressure", 0),
		Peak:        or("peak", 0),
		Dose:        or("dose", s.Coffee.Dose),
		Diameter:    or("basket_diameter", s.Basket.Diameter),
	}
	if m.reads("coffee.known.peak") {
		known.Peak = 0 // the springs have it
	}
	if known.Pressure == 0 && !(known.Preinfusion < known.Time) {
		m.FaultOf("coffee.known.time", "want more than the pre-infusion in it, "+quantity.InS.Text(known.Preinfusion, 1))
		return
	}
	if m.start.Resistance > 0 {
		s.Coffee.Resistance, s.Coffee.Slopes = m.start.Resistance, m.start.Slopes
		if known.Pressure == 0 {
			s.Coffee.Retained = m.start.Retained
		}
	}
	fitted, doubts, err := profile.Calibrate(s, known)
	if err != nil {
		m.Fault(m.Tables["coffee.known"], "coffee.known", WithoutPackage(err))
		return
	}
	m.Setup = *fitted
	m.Doubts = append(m.Doubts, doubts...)
	m.forgo("coffee.permeability")
	if known.Pressure == 0 {
		m.forgo("coffee.retained") // the yield told it
	}
}

// checkLoose finds springs that do not push.
func (m *Machine) checkLoose() error {
	if s := &m.Setup; len(s.Springs) > 0 && !(spring.ForceOf(s.Springs, s.Cylinder.Stroke) > 0) {
		m.FaultOf(m.RestKey("spring"), "with this the spring is loose even when cocked")
	}
	return m.Faults.Err()
}

// crossCheck finds values that are possible alone but not together.
func (m *Machine) crossCheck() {
	s := &m.Setup
	if c := s.Cylinder; !(c.Port < c.Stroke) {
		m.FaultOf("piston.port_travel", "want less than the stroke, "+quantity.InMM.Text(c.Stroke, 1))
	}
	if room := s.ChamberVolume(); !(s.Chamber.Air <= room) {
		m.FaultOf("chamber.air", "want no more than the chamber holds, "+quantity.InML.Text(room, 1))
	}
	if c := s.Coffee; !(c.Unloading <= c.Loading) {
		m.FaultOf("coffee.unloading_exponent", fmt.Sprintf("want no more than the loading exponent, %g", c.Loading))
	}
}

// Heard takes up what the reading of lists and logs has to say.
func (m *Machine) Heard(r *sheet.Reading) {
	m.Remarks = append(m.Remarks, r.Notes...)
	m.Doubts = append(slices.Clone(r.Doubts), m.Doubts...)
}

// odd names values that hardly go together, each with its place.
func (m *Machine) odd() (doubts []string) {
	bore, basket := m.Setup.Cylinder.Bore, m.Setup.Basket.Diameter
	const wide = 1.6 // basket over bore, or the other way
	if basket > wide*bore || bore > wide*basket {
		doubts = append(doubts, fmt.Sprintf("%s: a basket of %s under a bore of %s (piston.bore): is one of them a radius, or in another unit?",
			m.Place("basket.diameter"), quantity.InMM.Text(basket, 1), quantity.InMM.Text(bore, 1)))
	}
	return doubts
}

// fieldKeys are the keys of the sheet by the field of a setup that its validation
// speaks of.
var fieldKeys = map[string]string{
	"Springs.Rate": "spring.rate", "Springs.Preload": "spring.preload",
	"Cylinder.Bore": "piston.bore", "Cylinder.Stroke": "piston.stroke", "Cylinder.Port": "piston.port_travel", "Cylinder.Weight": "piston.mass",
	"Cylinder.Seal.Constant": "piston.friction", "Cylinder.Seal.PerPa": "piston.friction_per_pressure",
	"Chamber.Headspace": "chamber.headspace", "Chamber.Air": "chamber.air", "Basket.Diameter": "basket.diameter", "Basket.Depth": "basket.depth",
	"Coffee.Dose": "coffee.dose", "Coffee.BulkDensity": "coffee.bulk_density", "Coffee.Resistance": "coffee.resistance", "Coffee.AtPressure": "coffee.resistance_at",
	"Coffee.Loading": "coffee.loading_exponent", "Coffee.Unloading": "coffee.unloading_exponent", "Coffee.Threshold": "coffee.threshold_pressure",
	"Coffee.Low": "coffee.low_pressure_exponent", "Coffee.Blocking": "coffee.blocking", "Coffee.BlockingBy": "coffee.blocking_decay", "Coffee.SetBy": "coffee.blocking_by_wetting",
	"Coffee.Soaking": "coffee.soaking", "Coffee.FoundDose": "coffee.resistance_dose", "Coffee.FoundDiameter": "coffee.resistance_basket",
	"Coffee.Retained": "coffee.retained", "Coffee.DryPerm": "coffee.dry_permeability", "Coffee.Suction": "coffee.suction",
	"Coffee.Soluble": "coffee.soluble", "Coffee.SolubleBy": "coffee.soluble_decay", "Coffee.SecondPull": "coffee.second_pull_factor",
	"Water.Viscosity": "water.brew_temperature", "Water.Density": "water.brew_temperature", "Water.Fill": "water.boiler_pressure", "Water.Atmosphere": "water.altitude",
	"Pulls.FillTime": "pull[1].fill_time", "Pulls.Preinfusion": "pull[1].preinfusion", "Pulls.EndPressure": "pull[1].end_pressure", "Pulls.EndCup": "pull[1].end_yield",
}

// ofField is what a validation says of a field.
var ofField = words.Lazy(`^impossible setup: ([A-Z]\w+(?:\.\w+)*) is (.*), want (.*)$`)

// setupFaults notes what is impossible in a setup at the keys that it comes from.
func (m *Machine) setupFaults(err error) {
	if err == nil {
		return
	}
	for _, line := range strings.Split(WithoutPackage(err), "\n") {
		said := ofField().FindStringSubmatch(line)
		if said == nil {
			m.Fault(m.Tables["piston"], "piston", line)
			continue
		}
		key, is := fieldKeys[said[1]], said[2]
		if m.Has(key) {
			m.FaultOf(key, "want "+said[3])
		} else {
			m.FaultOf(key, fmt.Sprintf("is %s here, want %s", is, said[3]))
		}
	}
}

// FaultFrom notes an error of another package at the key that it was for.
func (m *Machine) FaultFrom(path string, err error) {
	if err == nil {
		return
	}
	m.FaultOf(strings.Clone(path), WithoutPackage(err)) // so that a path joined for nothing stays off the heap
}

// WithoutPackage takes the name of the package off an error, or off each line
// of several, which its reader has no use for, and says its values in units of the
// trade.
func WithoutPackage(err error) string {
	lines := strings.Split(err.Error(), "\n")
	for i, line := range lines {
		if name, rest, ok := strings.Cut(line, ": "); ok && !strings.Contains(name, " ") {
			lines[i] = rest
		}
	}
	return quantity.Readable(strings.Join(lines, "\n"))
}
