package tables

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
)

// Wire is one kind of spring wire.
type Wire struct {
	Name            string  // designation of its standard, as "A228" or "EN 10270-1 SH"
	Title           string  // common name
	Density         float64 // ρ: density [kg/m³]
	GTemp           float64 // r: loss of G with temperature, G(T) = G(293.15 K) (1 - r (T - 293.15 K)) [1/K]
	ServiceTemp     float64 // highest service temperature, most careful source [K]; 0 if not known
	ServiceTempHigh float64 // highest service temperature, least careful source [K]; 0 if not known
	ElasticLow      float64 // low end of the torsional elastic limit, share of the tensile strength [-]; 0 if not known
	ElasticHigh     float64 // high end of the torsional elastic limit, share of the tensile strength [-]; 0 if not known
	Source          string  // source of density, temperature and elastic limit
	Grade           Grade   // their grade of evidence

	class      string // class in allowable-shear
	life       string // wire in finite-life, empty if it has none
	relaxation string // material in relaxation-screening, empty if it has none
	enWire     string // wire in en-13906-moduli that it is or is like
	enState    string // state in en-13906-moduli; empty if its moduli are in shigley-moduli
}

// Moduli are the elastic constants of a wire at room temperature.
type Moduli struct {
	E      float64 // Young's modulus [Pa]
	G      float64 // shear modulus [Pa]
	Source string  // standard or book
	Grade  Grade   // grade of evidence
}

// Allowable is a static allowable shear stress. The share holds only for a
// stress computed with the named correction factor: never mix the two.
type Allowable struct {
	Condition  string  // "before set removal", "at solid, preset", ...
	Correction string  // stress-correction factor: "Wahl or Bergstraesser", "direct shear" or "none"
	Low        float64 // share of the tensile strength, careful [-]
	High       float64 // share of the tensile strength, upper end [-]
	Source     string  // standard or book
	Grade      Grade   // grade of evidence
}

// Wires returns all wires in the order of the file.
func Wires() []Wire { return slices.Clone(wires()) }

// WireByName returns the wire of that designation; capitals do not matter and
// "ASTM" before it may be written. An unknown name is [ErrName].
func WireByName(name string) (Wire, error) {
	short := strings.TrimPrefix(strings.ToUpper(strings.TrimSpace(name)), "ASTM ")
	for _, w := range wires() {
		if strings.EqualFold(w.Name, short) {
			return w, nil
		}
	}
	var known []string
	for _, w := range wires() {
		known = append(known, w.Name+" ("+w.Title+")")
	}
	return Wire{}, unknown("wire", name, known)
}

// Moduli returns E and G for wire of diameter d [m]. Only music wire and
// hard-drawn wire have moduli that depend on the diameter. Source:
// shigley-moduli for the ASTM wires, en-13906-moduli for the EN wires. The two
// differ by up to 7 % for carbon steel, and the rate of a spring with them.
func (w Wire) Moduli(d float64) (Moduli, error) {
	if !(d > 0) {
		return Moduli{}, fmt.Errorf("%w: wire diameter %.4g m, want more than 0", ErrRange, d)
	}
	low, high := math.Inf(1), 0.0
	rows := moduli()[w.Name]
	for i := range rows {
		m := &rows[i]
		if d >= m.over*(1-sameSize) && d <= m.to*(1+sameSize) {
			return m.Moduli, nil
		}
		low, high = min(low, m.over), max(high, m.to)
	}
	return Moduli{}, outside(w.Name+" wire, moduli: diameter", d/mm, "mm", low/mm, high/mm)
}

// modulusRow is the elastic constants of the diameters over..to [m].
type modulusRow struct {
	over, to float64
	Moduli
}

// moduli are the elastic constants of the wires by name, from either table.
var moduli = sync.OnceValue(func() map[string][]modulusRow {
	byName := map[string][]modulusRow{}
	for _, w := range wires() {
		byName[w.Name] = w.moduliRows()
	}
	return byName
})

func (w Wire) moduliRows() (list []modulusRow) {
	if w.enState != "" {
		t, row := w.enRow(w.enState)
		return []modulusRow{{0, math.Inf(1), t.moduli(row)}}
	}
	t := get("shigley-moduli")
	for row := range t.Rows {
		if t.text(row, "wire") != strings.TrimSuffix(w.Name, classII) {
			continue
		}
		r := modulusRow{t.si(row, "over_in"), t.si(row, "to_in"), t.moduli(row)}
		if r.to == 0 { // every diameter
			r.to = math.Inf(1)
		}
		list = append(list, r)
	}
	return list
}

func (t Table) moduli(row int) Moduli {
	return Moduli{E: t.si(row, "E_GPa"), G: t.si(row, "G_GPa"), Source: t.Source, Grade: t.grade(row)}
}

// classII marks the stronger class of a wire that has two; its other
// properties are those of class I.
const classII = " class II"

// enRow finds the wire in en-13906-moduli, in any state if state is empty.
func (w Wire) enRow(state string) (Table, int) {
	t := get("en-13906-moduli")
	for row := range t.Rows {
		if t.text(row, "wire") == w.enWire && (state == "" || t.text(row, "state") == state) {
			return t, row
		}
	}
	panic(fmt.Sprintf("tables: %s: %s %s is not in en-13906-moduli", w.Name, w.enWire, state))
}

// Cost is what wire costs by weight, over what hard-drawn wire does.
type Cost struct {
	Low    float64 // low end [-]
	High   float64 // high end [-]
	Source string  // book
	Grade  Grade   // grade of evidence
}

// Cost returns the relative cost of the wire and whether one is listed. Source:
// table shigley-sut; that of music wire is printed in Example 10-2 of the book.
func (w Wire) Cost() (Cost, bool) {
	t := get("shigley-sut")
	name := strings.TrimSuffix(w.Name, classII)
	for row := range t.Rows {
		if t.text(row, "wire") != name {
			continue
		}
		low, high, isRange := strings.Cut(t.text(row, "cost"), "-")
		if !isRange {
			high = low
		}
		c := Cost{Low: t.parse(row, "cost", low), High: t.parse(row, "cost", high), Source: t.Source, Grade: FromMemory}
		if name == "A228" {
			c.Grade = Printed
		}
		return c, true
	}
	return Cost{}, false
}

// Allowables returns the static allowable shear stresses of the wire's class.
func (w Wire) Allowables() []Allowable {
	t := get("allowable-shear")
	var list []Allowable
	for row := range t.Rows {
		if t.text(row, "class") != w.class {
			continue
		}
		list = append(list, Allowable{
			Condition:  t.text(row, "condition"),
			Correction: t.text(row, "correction"),
			Low:        t.si(row, "low_pct"),
			High:       t.si(row, "high_pct"),
			Source:     t.Source,
			Grade:      t.grade(row),
		})
	}
	return list
}

var wires = sync.OnceValue(func() []Wire {
	t := get("wires")
	list := make([]Wire, len(t.Rows))
	for row := range list {
		w := Wire{
			Name: t.text(row, "name"), Title: t.text(row, "title"),
			Source: t.Source, Grade: t.grade(row),
			class: t.text(row, "class"), life: t.text(row, "life"), relaxation: t.text(row, "relaxation"),
			enWire: t.text(row, "en_wire"), enState: t.text(row, "en_state"),
			ServiceTemp:     t.si(row, "service_low_C"),
			ServiceTempHigh: t.si(row, "service_high_C"),
			ElasticLow:      t.si(row, "elastic_low_pct"),
			ElasticHigh:     t.si(row, "elastic_high_pct"),
			Density:         t.si(row, "density_g_cm3"),
		}
		en, enRow := w.enRow(w.enState)
		w.GTemp = en.number(enRow, "r_1000_K") / 1000
		if w.Density == 0 {
			w.Density = en.si(enRow, "density_kg_dm3")
		}
		list[row] = w
	}
	return list
})
