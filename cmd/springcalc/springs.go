package main

import (
	"fmt"
	"strings"

	"springcalc/spring"
	"springcalc/tables"
)

// endsByName are the words of the sheet for the ends of a spring.
var endsByName = map[string]spring.Ends{
	"plain":             spring.Plain,
	"plain and ground":  spring.PlainGround,
	"closed":            spring.Closed,
	"closed and ground": spring.ClosedGround,
}

// What is taken of a wire of which only the shear modulus is stated. Neither
// touches the rate: one decides on buckling, the other on mass and surge.
const (
	youngPerShear = 2.6    // E/G of an isotropic metal, 2 (1 + ν) with ν = 0.3
	steelDensity  = 7850.0 // [kg/m³]
)

// springFromDimensions returns a spring as the piston feels it, from wire,
// coils and lengths.
func (m *machine) springFromDimensions(table string) (line spring.Linear, ok bool) {
	c, ok := m.compression(table)
	if !ok {
		return line, false
	}
	before := len(m.faults)
	line = m.installed(table, c)
	if !m.quiet {
		m.Doubts = append(m.Doubts, c.Doubts()...)
	}
	return line, len(m.faults) == before
}

// installed fits a spring at its installed length, and notes where its coils
// would touch.
func (m *machine) installed(table string, c spring.Compression) spring.Linear {
	installed := m.value(table + ".installed_length")
	line, err := c.Installed(installed)
	m.faultFrom(table+".installed_length", err)
	if cocked := installed - m.value("piston.stroke"); err == nil && !(cocked >= c.SolidLength()) {
		m.faultOf(table+".installed_length", fmt.Sprintf("cocked, the spring would be %s long, but its coils touch at %s",
			inMM.text(cocked, 1), inMM.text(c.SolidLength(), 1)))
	}
	return line
}

// compression returns the spring that a table describes by its dimensions, at
// the temperature that it states; ok is false where it does not describe one, or
// where that is impossible, which is noted.
func (m *machine) compression(table string) (c spring.Compression, ok bool) {
	c, softening, ok := m.atRoom(table)
	path := table + ".temperature"
	if !ok || !m.has(path) {
		return c, ok
	}
	c, err := c.At(spring.Heat{Celsius: inC.of(m.value(path)), Softening: softening})
	m.faultFrom(path, err)
	return c, err == nil
}

// atRoom returns the spring that a table describes, at 20 °C, and by how much its
// moduli fall with temperature [1/K].
func (m *machine) atRoom(table string) (c spring.Compression, softening float64, ok bool) {
	if !m.has(table + ".wire") {
		return c, 0, false
	}
	before := len(m.faults)
	c = coilOf(tableOf{m, table})
	softening = m.material(table, &c)
	if len(m.faults) == before {
		m.faultsFrom(table+".wire", c.Validate())
	}
	return c, softening, len(m.faults) == before
}

// statement is what a table of the sheet, or a row of a list, says of a spring.
type statement interface {
	has(name string) bool
	value(name string) float64 // [SI]
	text(name string) string
}

// tableOf is what a table of the sheet states.
type tableOf struct {
	m    *machine
	path string
}

func (t tableOf) has(name string) bool      { return t.m.has(t.path + "." + name) }
func (t tableOf) value(name string) float64 { return t.m.value(t.path + "." + name) }
func (t tableOf) text(name string) string   { return t.m.text(t.path + "." + name) }

// coilOf returns a spring without its material, by the one diameter that is
// stated. Coils are counted as in US practice, which knows all four ends. It is
// generic so that a draw leaves nothing on the heap.
func coilOf[S statement](s S) spring.Compression {
	c := spring.Compression{
		Wire: s.value("wire"), Free: s.value("free_length"), Ends: endsByName[s.text("ends")], Convention: spring.US,
	}
	switch {
	case s.has("coil_diameter"):
		c.Mean = s.value("coil_diameter")
	case s.has("outside_diameter"):
		c.Mean = s.value("outside_diameter") - c.Wire
	default:
		c.Mean = s.value("inside_diameter") + c.Wire
	}
	dead, _ := c.Convention.DeadCoils(c.Ends)
	switch active, total := s.has("active_coils"), s.has("total_coils"); {
	case active && total:
		c.Active, c.Total = s.value("active_coils"), s.value("total_coils")
	case active:
		c.Active = s.value("active_coils")
		c.Total = c.Active + dead
	default:
		c.Total = s.value("total_coils")
		c.Active = c.Total - dead
	}
	return c
}

// material sets the moduli and the density of a spring, and returns by how
// much the moduli fall with temperature [1/K].
func (m *machine) material(table string, c *spring.Compression) (softening float64) {
	if path := table + ".shear_modulus"; m.has(path) {
		c.G = m.value(path)
		c.E, c.Density = youngPerShear*c.G, steelDensity
		return spring.SofteningCarbonEN
	}
	path := table + ".grade"
	wire, err := wireOf(m.text(path))
	if err != nil {
		m.faultFrom(path, err)
		return 0
	}
	moduli, err := wire.Moduli(c.Wire)
	m.faultFrom(table+".wire", err)
	c.G, c.E, c.Density = moduli.G*m.value(table+".modulus_ratio"), moduli.E, wire.Density
	return wire.GTemp
}

// wireOf finds a wire by its designation, "A228", or common name, "music wire".
func wireOf(name string) (tables.Wire, error) {
	wire, err := tables.WireByName(name)
	if err == nil {
		return wire, nil
	}
	loose := func(s string) string { return strings.ToLower(strings.ReplaceAll(s, "-", " ")) }
	var all, like []string
	for _, w := range tables.Wires() {
		if loose(w.Title) == loose(name) {
			return w, nil
		}
		all = append(all, w.Name)
		if strings.Contains(loose(w.Title), loose(name)) {
			like = append(like, fmt.Sprintf("%s (%s)", w.Name, w.Title))
		}
	}
	if len(like) > 0 {
		return tables.Wire{}, fmt.Errorf("spring: several wires are called so: %s", strings.Join(like, ", "))
	}
	return tables.Wire{}, fmt.Errorf("spring: unknown grade; known are %s", andList(all))
}

// faultsFrom notes every one of joined errors at a key.
func (m *machine) faultsFrom(path string, err error) {
	joined, ok := err.(interface{ Unwrap() []error })
	if !ok {
		m.faultFrom(path, err)
		return
	}
	for _, e := range joined.Unwrap() {
		m.faultsFrom(path, e)
	}
}
