package machine

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
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

// EndsOf are the ends that a word of the sheet means.
func EndsOf(word string) spring.Ends { return endsByName[word] }

// What is taken of a wire of which only the shear modulus is stated. Neither
// touches the rate: one decides on buckling, the other on mass and surge.
const (
	youngPerShear = 2.6    // E/G of an isotropic metal, 2 (1 + ν) with ν = 0.3
	steelDensity  = 7850.0 // [kg/m³]
)

// springFromDimensions returns a spring as the piston feels it, from wire,
// coils and lengths.
func (m *Machine) springFromDimensions(table string) (line spring.Linear, ok bool) {
	c, ok := m.Compression(table)
	if !ok {
		return line, false
	}
	before := len(m.Faults)
	if m.Has(table+".installed_length") || m.Has(table+".preload") {
		line = m.Installed(table, c)
	} else {
		line.Rate = c.Rate()
	}
	if !m.Quiet {
		m.Doubts = append(m.Doubts, c.Doubts()...)
	}
	return line, len(m.Faults) == before
}

// Measured is a spring of which rate and preload are stated, with its shim.
func (m *Machine) Measured(table string) spring.Linear {
	rate := m.Value(table + ".rate")
	return spring.Linear{Rate: rate, Preload: m.ValueOr(table+".preload", 0) + rate*m.ValueOr(table+".shim", 0)}
}

// Seat is how far apart the seats of a spring with dimensions are when the piston is at
// rest [m]: as stated, or as an override of its preload wants it.
func (m *Machine) Seat(table string) float64 {
	if m.Has(table + ".preload") {
		if c, ok := m.Compression(table); ok {
			return c.Free - m.Value(table+".preload")/c.Rate()
		}
	}
	return m.Value(table + ".installed_length")
}

// Rest is how long a spring with dimensions is when the piston is at rest [m]: a shim
// takes its thickness off.
func (m *Machine) Rest(table string) float64 { return m.Seat(table) - m.ValueOr(table+".shim", 0) }

// RestKey is the key that decides how long a spring is at rest.
func (m *Machine) RestKey(table string) string {
	for _, name := range []string{".shim", ".preload"} {
		if m.Has(table + name) {
			return table + name
		}
	}
	return table + ".installed_length"
}

// Overridden says what overrides of rate and preload do to springs with dimensions.
func (m *Machine) Overridden() (said []string) {
	for _, table := range []string{"spring", "spring.inner"} {
		if !m.Has(table + ".wire") {
			continue
		}
		if path := table + ".rate"; m.Has(path) {
			said = append(said, fmt.Sprintf("%s: %s goes over the rate that the dimensions give: the moduli of the wire are taken for what gives it", m.Entries[path].At.Flag, path))
		}
		if path := table + ".preload"; m.Has(path) {
			text := fmt.Sprintf("%s: %s goes over %s.installed_length", m.Entries[path].At.Flag, path, table)
			if seat := m.Seat(table); quantity.Finite(seat) {
				text += fmt.Sprintf(", which would have to be %s", quantity.InMM.Text(seat, 1))
			}
			said = append(said, text)
		}
	}
	return said
}

// Installed fits a spring at its length at rest, and notes where its coils would touch.
func (m *Machine) Installed(table string, c spring.Compression) spring.Linear {
	rest := m.Rest(table)
	line, err := c.Installed(rest)
	if err != nil {
		m.FaultFrom(m.RestKey(table), err)
	} else if cocked := rest - m.Value("piston.stroke"); !(cocked >= c.SolidLength()) {
		m.FaultOf(m.RestKey(table), fmt.Sprintf("cocked, the spring would be %s long, but its coils touch at %s",
			quantity.InMM.Text(cocked, 1), quantity.InMM.Text(c.SolidLength(), 1)))
	}
	return line
}

// Compression returns the spring that a table describes by its dimensions, at
// the temperature that it states; ok is false where it does not describe one, or
// where that is impossible, which is noted.
func (m *Machine) Compression(table string) (c spring.Compression, ok bool) {
	c, softening, ok := m.AtRoom(table)
	path := table + ".temperature"
	if !ok || !m.Has(path) {
		return c, ok
	}
	c, err := c.At(spring.Heat{Celsius: quantity.InC.Of(m.Value(path)), Softening: softening})
	m.FaultFrom(path, err)
	return c, err == nil
}

// AtRoom returns the spring that a table describes, at 20 °C, and by how much its
// moduli fall with temperature [1/K].
func (m *Machine) AtRoom(table string) (c spring.Compression, softening float64, ok bool) {
	if c, softening, ok = m.Coil(table); !ok {
		return c, softening, false
	}
	before := len(m.Faults)
	m.faultsFrom(table+".wire", c.Validate())
	return c, softening, len(m.Faults) == before
}

// Coil is AtRoom for a spring that need not be possible yet.
func (m *Machine) Coil(table string) (c spring.Compression, softening float64, ok bool) {
	if !m.Has(table + ".wire") {
		return c, 0, false
	}
	before := len(m.Faults)
	c = CoilOf(tableOf{m, table})
	softening = m.material(table, &c)
	if path := table + ".rate"; m.Has(path) && len(m.Faults) == before && c.Rate() > 0 {
		stiffer := m.Value(path) / c.Rate()
		c.G, c.E = c.G*stiffer, c.E*stiffer
	}
	return c, softening, len(m.Faults) == before
}

// statement is what a table of the sheet, or a row of a list, says of a spring.
type statement interface {
	Has(name string) bool
	Value(name string) float64 // [SI]
	Text(name string) string
}

// tableOf is what a table of the sheet states.
type tableOf struct {
	m    *Machine
	Path string
}

func (t tableOf) Has(name string) bool { return t.m.Has(t.Path + "." + name) }

// Value is what the table states; of a free length that it leaves out, what was
// measured lately or what it was when new.
func (t tableOf) Value(name string) float64 {
	path := t.Path + "." + name
	if name == "free_length" && t.Path == "spring" && !t.m.Has(path) {
		if path = "bench.free_length"; !t.m.Has(path) {
			path = "new.free_length"
		}
	}
	return t.m.Value(path)
}

func (t tableOf) Text(name string) string { return t.m.Text(t.Path + "." + name) }

// CoilOf returns a spring without its material, by the one diameter that is
// stated. Coils are counted as in US practice, which knows all four ends. It is
// generic so that a draw leaves nothing on the heap.
func CoilOf[S statement](s S) spring.Compression {
	c := spring.Compression{
		Wire: s.Value("wire"), Free: s.Value("free_length"), Ends: endsByName[s.Text("ends")], Convention: spring.US,
	}
	switch {
	case s.Has("coil_diameter"):
		c.Mean = s.Value("coil_diameter")
	case s.Has("outside_diameter"):
		c.Mean = s.Value("outside_diameter") - c.Wire
	default:
		c.Mean = s.Value("inside_diameter") + c.Wire
	}
	dead, _ := c.Convention.DeadCoils(c.Ends)
	switch active, total := s.Has("active_coils"), s.Has("total_coils"); {
	case active && total:
		c.Active, c.Total = s.Value("active_coils"), s.Value("total_coils")
	case active:
		c.Active = s.Value("active_coils")
		c.Total = c.Active + dead
	default:
		c.Total = s.Value("total_coils")
		c.Active = c.Total - dead
	}
	return c
}

// material sets the moduli and the density of a spring, and returns by how
// much the moduli fall with temperature [1/K].
func (m *Machine) material(table string, c *spring.Compression) (softening float64) {
	if path := table + ".shear_modulus"; m.Has(path) {
		c.G = m.Value(path)
		c.E, c.Density = youngPerShear*c.G, steelDensity
		return spring.SofteningCarbonEN
	}
	wires, err := m.wires(table)
	if err != nil {
		m.FaultFrom(table+".grade", err)
		return 0
	}
	among, err := tables.ModuliAmong(wires, c.Wire)
	m.FaultFrom(table+".wire", err)
	c.G, c.E, c.Density = among.G*m.Value(table+".modulus_ratio"), among.E, wires[0].Density
	if among.Beyond && !m.Quiet {
		m.Doubts = append(m.Doubts, fmt.Sprintf("no source has the moduli of %s wire of %s: its shear modulus is taken as that of any %s spring wire of this size, %s",
			wires[0].Name, quantity.InMM.Text(c.Wire, 2), wires[0].Kind(), gigapascals(among)))
	}
	return wires[0].GTemp
}

// gigapascals prints a range of shear moduli.
func gigapascals(r tables.ModuliRange) string {
	return fmt.Sprintf("%.1f to %.1f GPa", r.Low/1e9, r.High/1e9)
}

// wires are the wires that the grade of a table may mean, looked up once.
func (m *Machine) wires(table string) ([]tables.Wire, error) {
	grade := m.Text(table + ".grade")
	if list, ok := m.called[grade]; ok {
		return list, nil
	}
	list, err := wiresCalled(grade)
	if err == nil {
		m.called = map[string][]tables.Wire{grade: list}
	}
	return list, err
}

// modulusRatio is the default of the ratio of a shear modulus to the one that the
// tables have: wider where the grade leaves open which wire it is, or no source
// covers its size.
func (m *Machine) modulusRatio(key string, d tables.Default) tables.Default {
	table, _ := sheet.SplitPath(key)
	wires, err := m.wires(table)
	if err != nil {
		return d
	}
	among, err := tables.ModuliAmong(wires, m.Value(table+".wire"))
	if err != nil || among.Low == among.High {
		return d
	}
	// Two standard deviations of one kind of wire, and of a uniform range of kinds.
	plus := math.Hypot((d.High-d.Low)/2, 2*(among.High-among.Low)/2/among.G/math.Sqrt(3))
	d.Low, d.High = 1-plus, 1+plus
	d.Source = fmt.Sprintf("shear modulus from %s by the wires that may be meant, each ± 3 %%", gigapascals(among))
	return d
}

// ErrSeveral marks the name of a grade that stands for several wires.
var ErrSeveral = errors.New("several wires are called so")

// WireOf finds a wire by its designation, "A228", or a name of the trade, "piano
// wire". Where the name stands for several it returns ErrSeveral.
func WireOf(name string) (tables.Wire, error) {
	wires, err := wiresCalled(name)
	if err != nil || len(wires) == 1 {
		return append(wires, tables.Wire{})[0], err
	}
	var all []string
	for _, w := range wires[:min(len(wires), 6)] {
		all = append(all, fmt.Sprintf("%s (%s)", w.Name, w.Title))
	}
	return tables.Wire{}, fmt.Errorf("%w: %s", ErrSeveral, strings.Join(all, ", "))
}

// wiresCalled are the wires that a name may mean.
func wiresCalled(name string) ([]tables.Wire, error) {
	wires, err := tables.WiresCalled(name)
	if err != nil {
		var all []string
		for _, w := range tables.Wires() {
			all = append(all, w.Name)
		}
		return nil, fmt.Errorf("unknown grade%s; known are %s, and names of the trade such as music wire, stainless, steel",
			words.DidYouMean(name, all), words.AndList(all))
	}
	return wires, nil
}

// faultsFrom notes every one of joined errors, at the key of the same table that it
// speaks of, or else at a key.
func (m *Machine) faultsFrom(path string, err error) {
	joined, ok := err.(interface{ Unwrap() []error })
	if !ok {
		if err != nil {
			path = m.spokenOf(path, err)
		}
		m.FaultFrom(path, err)
		return
	}
	for _, e := range joined.Unwrap() {
		m.faultsFrom(path, e)
	}
}

// dimensionKeys are the keys of what package spring speaks of by name.
var dimensionKeys = map[string][]string{
	"mean coil diameter": {"coil_diameter", "outside_diameter", "inside_diameter"}, "free length": {"free_length"},
	"number of active coils": {"active_coils", "total_coils"}, "number of total coils": {"total_coils", "active_coils"},
}

// spokenOf is the key, of those that the table of a path states, that an error of
// package spring speaks of; the path where there is none.
func (m *Machine) spokenOf(path string, err error) string {
	table, _ := sheet.SplitPath(path)
	for what, names := range dimensionKeys {
		if !strings.Contains(err.Error(), ": "+what+" is ") {
			continue
		}
		for _, name := range names {
			if key := table + "." + name; m.Has(key) {
				return key
			}
		}
	}
	return path
}
