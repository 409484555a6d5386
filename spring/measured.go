package spring

import (
	"errors"
	"math"
)

// Measured is a value with its standard uncertainty. For an instrument with a
// limit of error a, the standard uncertainty is a/√3.
type Measured struct {
	Value float64 // the value [its own unit]
	U     float64 // u: standard uncertainty [same unit]
}

// Diameter is which diameter of the coil was measured. It matters, because the
// mean diameter then shares the error of the wire diameter.
type Diameter int

// The diameters.
const (
	OuterDiameter Diameter = iota + 1 // over the coils: D = OD - d
	InnerDiameter                     // inside the coils: D = ID + d
	MeanDiameter                      // known by itself, as half of OD + ID
)

var diameterNames = []string{"outer", "inner", "mean"}

func (d Diameter) String() string { return nameOf("Diameter", diameterNames, d) }
func (d Diameter) MarshalText() ([]byte, error) {
	return []byte(d.String()), known("diameter", diameterNames, d)
}
func (d *Diameter) UnmarshalText(text []byte) (err error) {
	*d, err = named[Diameter]("diameter", diameterNames, text)
	return err
}

// wireShare is ∂D/∂d, by Diameter - 1.
var wireShare = []float64{-1, 1, 0}

// Dimensions are the measurements that give a rate.
type Dimensions struct {
	Wire   Measured // d: wire diameter [m]
	Coil   Measured // OD, ID or D: coil diameter [m]
	Across Diameter // which of them Coil is
	Active Measured // n_a: active coils [-]
	G      Measured // G: shear modulus [Pa]
}

// MeasuredRate is a rate with its uncertainty and where that comes from.
type MeasuredRate struct {
	Rate    float64 // R: spring rate [N/m]
	U       float64 // u(R): standard uncertainty [N/m]
	Wire    float64 // part of u(R)/R from the wire diameter [-]
	Coil    float64 // part of u(R)/R from the coil diameter [-]
	Active  float64 // part of u(R)/R from the coil count [-]
	G       float64 // part of u(R)/R from the shear modulus [-]
	Largest string  // name of the measurement that matters most
}

// Rate returns G d⁴/(8 D³ n_a) with its uncertainty to first order,
//
//	(u(R)/R)² = ((4/d - 3 ∂D/∂d /D) u(d))² + (3 u(D)/D)² + (u(n)/n)² + (u(G)/G)²
//
// where u(D) is that of the diameter measured. With D = OD - d the error of the
// wire counts more, 4/d + 3/D; with D = ID + d less. A rate from loads (FitBench)
// is better than any of this.
func (m Dimensions) Rate() (MeasuredRate, error) {
	if err := known("diameter", diameterNames, m.Across); err != nil {
		return MeasuredRate{}, err
	}
	slope := wireShare[m.Across-1]
	d, mean := m.Wire.Value, m.Coil.Value+slope*m.Wire.Value
	s := Compression{Wire: d, Mean: mean, Active: m.Active.Value, G: m.G.Value}
	if err := errors.Join(
		s.rateFaults(),
		quantity{"uncertainty of the wire diameter", m.Wire.U, "m"}.within(0, 0.2*math.Abs(d), ErrInput),
		quantity{"uncertainty of the coil diameter", m.Coil.U, "m"}.within(0, 0.2*math.Abs(mean), ErrInput),
		quantity{"uncertainty of the coil count", m.Active.U, ""}.within(0, 0.2*math.Abs(m.Active.Value), ErrInput),
		quantity{"uncertainty of the shear modulus", m.G.U, "Pa"}.within(0, 0.2*math.Abs(m.G.Value), ErrInput),
	); err != nil {
		return MeasuredRate{}, err
	}
	r := MeasuredRate{
		Rate:   s.Rate(),
		Wire:   math.Abs(4/d-3*slope/mean) * m.Wire.U,
		Coil:   3 / mean * m.Coil.U,
		Active: m.Active.U / m.Active.Value,
		G:      m.G.U / m.G.Value,
	}
	r.U = r.Rate * math.Hypot(math.Hypot(r.Wire, r.Coil), math.Hypot(r.Active, r.G))
	r.Largest = largest(r)
	return r, nil
}

func largest(r MeasuredRate) string {
	name, most := "wire diameter", r.Wire
	for _, p := range []struct {
		name string
		part float64
	}{{"coil diameter", r.Coil}, {"coil count", r.Active}, {"shear modulus", r.G}} {
		if p.part > most {
			name, most = p.name, p.part
		}
	}
	return name
}
