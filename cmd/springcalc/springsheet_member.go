package main

import (
	"errors"
	"fmt"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/spring"
	"springcalc/tables"
)

// member is one of the springs of a machine, at 20 °C.
type member struct {
	table string // of the sheet: "spring" or "spring.inner"
	Name  string // "outer" or "inner"; "" where it is the only one

	Line   spring.Linear // as the piston feels it
	stroke float64       // travel from rest to cocked [m]
	hot    float64       // temperature at work [K]; 0 where it is not stated
	dims   *coilSpring   // nil where the sheet has rate and preload only

	rateU, preloadU, cockedU float64 // standard uncertainties by the ± of the sheet: of the rate [N/m], of the loads at rest and cocked [N]

	Spread *spread // nil where nothing may be off

	rows          []row // what is said of it
	doubts, notes []string
}

// coilSpring is what the sheet says of a spring beyond rate and preload.
type coilSpring struct {
	us       spring.Compression  // with the solid length of US practice
	en       *spring.Compression // with that of EN 13906-1; nil for ends that it does not know, or if cocked it would be solid
	working  spring.Working
	rate     spring.MeasuredRate
	wire     *tables.Wire // nil where only the shear modulus is stated
	moduli   tables.Moduli
	tensile  tables.Strength // zero where no table has it
	softness float64         // r: fall of G per kelvin [1/K]
	freeU    float64         // standard uncertainty of the free length [m]
}

// members returns the springs that the sheet describes. What is impossible is
// noted in the machine.
func members(m *machine.Machine) []member {
	springs := []member{newMember(m, "spring", "")}
	if m.HasTable("spring.inner") {
		springs[0].Name = "outer"
		springs = append(springs, newMember(m, "spring.inner", "inner"))
	}
	return springs
}

func newMember(m *machine.Machine, table, name string) member {
	s := member{table: table, Name: name, stroke: m.Value("piston.stroke")}
	if m.Has(table + ".rate") {
		s.Line = spring.Linear{Rate: m.Value(table + ".rate"), Preload: m.Value(table + ".preload")}
		s.measure(m)
		return s
	}
	cold, softness, ok := m.AtRoom(table)
	if !ok {
		return s
	}
	before := len(m.Faults)
	s.Line = m.Installed(table, cold)
	s.dims = &coilSpring{us: cold, softness: softness, freeU: deviation(m, table+".free_length")}
	s.hot = m.ValueOr(table+".temperature", 0)
	s.dims.working.Rest = m.Value(table + ".installed_length")
	s.dims.working.Cocked = s.dims.working.Rest - s.stroke
	if len(m.Faults) > before {
		return s
	}
	if !(s.Line.Force(s.stroke) > 0) {
		m.FaultOf(table+".installed_length", "with this the spring is loose even when cocked")
		return s
	}
	var err error
	s.dims.rate, err = measurements(m, table, cold).Rate()
	m.FaultFrom(table+".wire", err)
	if len(m.Faults) == before {
		s.measure(m)
	}
	s.lookUp(m)
	s.countEN()
	s.doubts = append(s.doubts, cold.Doubts()...)
	return s
}

// measurements are what the rate follows from, with their ±.
func measurements(m *machine.Machine, table string, c spring.Compression) spring.Dimensions {
	measured := func(name string, value float64) spring.Measured {
		q, _ := m.Quantity(table + "." + name)
		return spring.Measured{Value: value, U: q.Sigma()}
	}
	d := spring.Dimensions{Wire: measured("wire", c.Wire), Active: measured("active_coils", c.Active), G: measured("shear_modulus", c.G)}
	if m.Has(table + ".grade") {
		ratio := table + ".modulus_ratio"
		d.G.U = c.G * deviation(m, ratio) / m.Value(ratio)
	}
	if m.Has(table + ".total_coils") {
		d.Active = measured("total_coils", c.Active)
	}
	switch {
	case m.Has(table + ".coil_diameter"):
		d.Coil, d.Across = measured("coil_diameter", c.Mean), spring.MeanDiameter
	case m.Has(table + ".outside_diameter"):
		d.Coil, d.Across = measured("outside_diameter", c.Outer()), spring.OuterDiameter
	default:
		d.Coil, d.Across = measured("inside_diameter", c.Inner()), spring.InnerDiameter
	}
	return d
}

// lookUp finds what the tables have of the wire.
func (s *member) lookUp(m *machine.Machine) {
	d := s.dims
	if !m.Has(s.table + ".grade") {
		s.doubt("The grade of the wire is not stated, so nothing is said of strength, fatigue and relaxation.")
		return
	}
	wire, err := machine.WireOf(m.Text(s.table + ".grade"))
	if errors.Is(err, machine.ErrSeveral) {
		s.doubt("The grade leaves open which wire it is, so nothing is said of strength, fatigue and relaxation.")
		return
	}
	if err == nil {
		d.wire = &wire
		d.moduli, err = wire.Moduli(d.us.Wire)
	}
	if errors.Is(err, tables.ErrRange) {
		d.wire, err = nil, nil
		s.doubt("Neither moduli nor strength of %s wire of this size are published, so nothing is said of stress, fatigue and relaxation.", wire.Name)
		return
	}
	m.FaultFrom(s.table+".grade", err)
	if err != nil {
		return
	}
	if d.tensile, err = wire.Strength(d.us.Wire); err != nil {
		s.doubt("No strength is known: %s.", machine.WithoutPackage(err))
	}
}

// countEN counts the ends as EN 13906-1 does, with the thickest wire that
// EN 10218-2 lets pass for this diameter.
func (s *member) countEN() {
	en := s.dims.us
	en.Convention = spring.EN
	if _, known := en.Convention.DeadCoils(en.Ends); !known {
		s.doubt("EN 13906-1 knows closed ends only, so its rules are left out.")
		return
	}
	if tolerance, err := tables.WireTolerance("EN 10218-2", en.Wire); err == nil {
		en.WireMax = en.Wire + tolerance.Value
	}
	if en.Validate() != nil || s.dims.working.Cocked < en.SolidLength() {
		s.doubt("By EN 13906-1 the coils touch at %s, before the spring is cocked, so its rules are left out.", quantity.InMM.Text(en.SolidLength(), 1))
		return
	}
	s.dims.en = &en
}

func (s *member) doubt(format string, args ...any) {
	s.doubts = append(s.doubts, fmt.Sprintf(format, args...))
}

// add adds rows to what is said of a spring.
func (s *member) add(rows ...row) { s.rows = append(s.rows, rows...) }

// warm returns the change of the rate at a temperature, as a factor [-].
func (d *coilSpring) warm(celsius, softness float64) (float64, error) {
	hot, err := d.us.At(spring.Heat{Celsius: celsius, Softening: softness})
	return hot.Rate() / d.us.Rate(), err
}

// plainName is the name of a stress factor, as books print it.
func plainName(f spring.Factor) string {
	return map[spring.Factor]string{
		spring.NoCorrection: "none", spring.DirectShear: "direct shear",
		spring.Wahl: "Wahl", spring.Bergstrasser: "Bergsträsser",
	}[f]
}

// likeWires pairs wires of US and EN standards that are of one kind, because a
// method knows the allowable stress of the wires of its own standards only.
var likeWires = []struct{ prefix, like string }{
	{"EN 10270-1", "A228"}, {"EN 10270-2 FDSiCr", "A401"}, {"EN 10270-2 VDSiCr", "A401"}, {"EN 10270-2", "A229"},
	{"EN 10270-3 1.4568", "A313-631"}, {"EN 10270-3", "A313-302"},
	{"A227", "EN 10270-1 SL"}, {"A228", "EN 10270-1 SH"}, {"A229", "EN 10270-2 FDC"}, {"A231", "EN 10270-2 FDC"},
	{"A232", "EN 10270-2 VDC"}, {"A401", "EN 10270-2 FDSiCr"}, {"A313-302", "EN 10270-3 1.4310"}, {"A313-631", "EN 10270-3 1.4568"},
}

// allowables returns the allowable stresses of a method for a wire, and the wire
// that they are published for. There are none where no like wire is known.
func allowables(wire tables.Wire, en bool) ([]tables.Allowable, string) {
	if strings.HasPrefix(wire.Name, "EN ") == en {
		return wire.Allowables(), wire.Name
	}
	for _, pair := range likeWires {
		if strings.HasPrefix(wire.Name, pair.prefix) {
			like, err := tables.WireByName(pair.like)
			if err != nil {
				panic(err) // the list above is wrong
			}
			return like.Allowables(), like.Name
		}
	}
	return nil, ""
}
