package tables

import (
	"fmt"
	"math"
)

// Endurance is a stress amplitude that a spring bears for ever around a mean
// stress. A spring that is wet and hot has no such limit.
type Endurance struct {
	Amplitude float64 // Ssa: amplitude of the shear stress [Pa]
	Mean      float64 // Ssm: mean shear stress [Pa]
	Source    string  // book
	Grade     Grade   // grade of evidence
}

// Zimmerli returns the endurance limit of steel spring wire in torsion, shot
// peened or not, for wire under 10 mm. Source: table zimmerli.
func Zimmerli(peened bool) Endurance {
	t := get("zimmerli")
	row := 0
	if peened {
		row = 1
	}
	return Endurance{Amplitude: t.si(row, "Ssa_kpsi"), Mean: t.si(row, "Ssm_kpsi"), Source: t.Source, Grade: t.grade(row)}
}

// FromZero is the highest stress of a swing from zero that a spring bears without end.
type FromZero struct {
	Range  float64 // S'ew: shear stress with Wahl's factor [Pa]
	Source string  // book
	Grade  Grade   // grade of evidence
}

// NortonEndurance returns Norton's endurance limit of steel spring wire in
// torsion, shot peened or not, for wire under 10 mm. Source: table norton-endurance.
func NortonEndurance(peened bool) FromZero {
	t := get("norton-endurance")
	row := 0
	if peened {
		row = 1
	}
	return FromZero{Range: t.si(row, "Sew_kpsi"), Source: t.Source, Grade: t.grade(row)}
}

// Pulsating is what a wire bears in a swing from zero, and yields at, as shares of its
// tensile strength.
type Pulsating struct {
	Endurance float64 // S'se over Sut [-]
	Yield     float64 // Ssy over Sut [-]
	Source    string  // book
	Grade     Grade   // grade of evidence
}

// Pulsating returns Bhandari's endurance of an unpeened steel wire, and whether there
// is one. Source: table bhandari-pulsating.
func (w Wire) Pulsating() (Pulsating, bool) {
	t := get("bhandari-pulsating")
	for row := range t.Rows {
		if t.text(row, "en_wire") == w.enWire {
			return Pulsating{t.si(row, "endurance_pct"), t.si(row, "yield_pct"), t.Source, t.grade(row)}, true
		}
	}
	return Pulsating{}, false
}

// Share is a stress as a share of the tensile strength.
type Share struct {
	Value  float64 // share of the tensile strength [-]
	Source string  // book
	Grade  Grade   // grade of evidence
}

// UltimateShear returns Ssu/Sut as the sources have it, the careful one first.
func UltimateShear() []Share {
	t := get("ultimate-shear")
	list := make([]Share, len(t.Rows))
	for row := range list {
		list[row] = Share{Value: t.number(row, "share"), Source: t.text(row, "source"), Grade: t.grade(row)}
	}
	return list
}

// Life is a load that comes and goes: from zero to a stress, so many times.
type Life struct {
	Cycles float64 // N: number of cycles [-]
	Peened bool    // shot peened
}

// FiniteLife returns the highest shear stress, with the Wahl factor, that the wire
// bears from zero for a number of cycles from 1e5 to 1e7, dry and at room
// temperature; interpolated in log N. Source: table finite-life. A wire
// that the source does not cover is [ErrName].
func (w Wire) FiniteLife(l Life) (Share, error) {
	if w.life == "" {
		return Share{}, fmt.Errorf("%w: no finite life is published for wire %s", ErrName, w.Name)
	}
	column := "unpeened_pct"
	if l.Peened {
		column = "peened_pct"
	}
	t := get("finite-life")
	var rows []int
	for row := range t.Rows {
		if t.text(row, "wire") == w.life {
			rows = append(rows, row)
		}
	}
	first, last := t.number(rows[0], "cycles"), t.number(rows[len(rows)-1], "cycles")
	if !(l.Cycles >= first && l.Cycles <= last) {
		return Share{}, outside("finite life: cycles", l.Cycles, "", first, last)
	}
	i := 1
	for l.Cycles > t.number(rows[i], "cycles") {
		i++
	}
	n0, n1 := t.number(rows[i-1], "cycles"), t.number(rows[i], "cycles")
	s0, s1 := t.si(rows[i-1], column), t.si(rows[i], column)
	value := s0 + (s1-s0)*math.Log(l.Cycles/n0)/math.Log(n1/n0)
	return Share{Value: value, Source: t.Source, Grade: t.grade(rows[i])}, nil
}

// Screen is a limit for a spring that is warm: under this stress and up to this
// temperature it loses less than 5 % of its load in 48 h. It says nothing
// of years; loss grows on about as the logarithm of time.
type Screen struct {
	Temp   float64 // T: temperature [K]
	Stress float64 // τ: shear stress [Pa]
	Source string  // book
	Grade  Grade   // grade of evidence
}

// Relaxation returns the screening limit of the wire and whether there is one.
// Source: table relaxation-screening.
func (w Wire) Relaxation() (Screen, bool) {
	t := get("relaxation-screening")
	for row := range t.Rows {
		if t.text(row, "material") == w.relaxation {
			return Screen{Temp: t.si(row, "temperature_F"), Stress: t.si(row, "stress_ksi"), Source: t.Source, Grade: t.grade(row)}, true
		}
	}
	return Screen{}, false
}
