package machine

import (
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/piston"
	"springcalc/tables"
)

// ORing returns the O-rings of the sheet; ok is false where it has none, or they
// cannot be, which is noted.
func (m *Machine) ORing() (ring piston.ORing, ok bool) {
	if !m.HasTable("piston.o_ring") {
		return ring, false
	}
	cord, squeeze, bore := m.Value("piston.o_ring.cord"), m.Value("piston.o_ring.squeeze"), m.Value("piston.bore")
	ring = piston.ORing{
		Bore: bore, Groove: bore - 2*cord*(1-squeeze), Squeeze: squeeze,
		Hardness: m.Value("piston.o_ring.hardness"), Rings: int(m.ValueOr("piston.o_ring.rings", 1)),
	}
	if !(ring.Groove > 0) {
		m.FaultOf("piston.o_ring.cord", "too thick for the bore, "+quantity.InMM.Text(bore, 1))
		return ring, false
	}
	return ring, true
}

// sealPressure is the gauge pressure at which the friction of rings is taken [Pa].
const sealPressure = 9e5

// ringFriction is the default of the friction of a seal where the sheet describes
// its O-rings: that of the chart, with its scatter.
func (m *Machine) ringFriction(key string, d tables.Default) tables.Default {
	ring, ok := m.ORing()
	if !ok {
		return d
	}
	seal, err := ring.Seal(sealPressure)
	if err != nil {
		return d
	}
	d.Value = seal.Constant
	if key == "piston.friction_per_pressure" {
		d.Value = seal.PerPa
	}
	d.Low, d.High, d.Shape = d.Value*(1-piston.ORingScatter), d.Value*(1+piston.ORingScatter), "normal"
	d.Source = "the O-rings of the sheet by the chart of the Parker handbook (regression of 2005), ± 50 %"
	return d
}
