package tables

import (
	"errors"
	"math"
	"testing"
)

// TestWiresCalled: names of the trade come to the designations of the standards.
func TestWiresCalled(t *testing.T) {
	for name, want := range map[string]string{
		"A228": "A228", "astm a228": "A228", "ASTM A 228": "A228", "Music Wire": "A228", "music": "A228", "piano wire": "A228", "Piano-Wire": "A228",
		"SH": "EN 10270-1 SH", "sh": "EN 10270-1 SH", "EN10270-1-SH": "EN 10270-1 SH", "10270-1 SH": "EN 10270-1 SH", "DIN 17223-D": "EN 10270-1 DH",
		"1.4310": "EN 10270-3 1.4310", "1.4310 HS": "EN 10270-3 1.4310 HS", "EN 10270-3 1.4310 NS": "EN 10270-3 1.4310", "X10CrNi18-8": "EN 10270-3 1.4310",
		"302": "A313-302", "AISI 302": "A313-302", "A313": "A313-302", "ASTM A313 type 302": "A313-302", "A313/302": "A313-302", "17/7 PH": "A313-631",
		"VDSiCr": "EN 10270-2 VDSiCr", "chrome silicon": "A401", "phosphor bronze wire": "B159",
	} {
		got, err := WiresCalled(name)
		if err != nil || len(got) != 1 || got[0].Name != want {
			t.Errorf("%s: %v, %v, want %s", name, got, err, want)
		}
	}
	for name, most := range map[string]int{"steel": 20, "spring steel": 20, "stainless": 10, "hard drawn": 2, "oil-tempered": 2, "EN 10270-1": 5, "SiCr": 2} {
		if got, err := WiresCalled(name); err != nil || len(got) < 2 || len(got) > most {
			t.Errorf("%s: %d wires, %v", name, len(got), err)
		}
	}
	for _, name := range []string{"", "wire", "gold", "A999"} {
		if got, err := WiresCalled(name); !errors.Is(err, ErrName) {
			t.Errorf("%q: %v, %v", name, got, err)
		}
	}
}

// TestNamesAreOneEach: no name of the table takes a designation away.
func TestNamesAreOneEach(t *testing.T) {
	for _, w := range Wires() {
		for _, name := range []string{w.Name, w.Title} {
			if got, err := WiresCalled(name); err != nil || len(got) != 1 || got[0].Name != w.Name {
				t.Errorf("%s: %v, %v", name, got, err)
			}
		}
	}
	seen := map[string]bool{}
	table := get("wire-names")
	for row := range table.Rows {
		plain := plainName(table.text(row, "name"))
		if plain == "" || seen[plain] {
			t.Errorf("%s twice", table.text(row, "name"))
		}
		seen[plain] = true
	}
}

// TestModuliAmong: the range is that of the wires that may be meant; outside the
// sizes of a grade that of its kind, never of the grade itself.
func TestModuliAmong(t *testing.T) {
	steel, err := WiresCalled("steel")
	if err != nil {
		t.Fatal(err)
	}
	r, err := ModuliAmong(steel, 5*mm)
	// At 5 mm: 77.2 GPa (A229), 81.5 GPa (EN 10270-1).
	if err != nil || math.Abs(r.Low-77.2e9) > 1 || math.Abs(r.High-81.5e9) > 1 || r.Beyond || r.G != (r.Low+r.High)/2 {
		t.Errorf("%+v, %v", r, err)
	}
	for _, w := range Wires() {
		m, err := w.Moduli(5 * mm)
		one, err2 := ModuliAmong([]Wire{w}, 5*mm)
		if err != nil || err2 != nil || one.Low != m.G || one.High != m.G || math.Abs(one.G-m.G) > 1e-3 || one.Beyond {
			t.Errorf("%s: %+v, %v", w.Name, one, err2)
		}
	}
	music := []Wire{wire(t, "A228")}
	if r, err := ModuliAmong(music, 8*mm); err != nil || !r.Beyond || r.Low != 77.2e9 || r.High != 81.5e9 {
		t.Errorf("beyond: %+v, %v", r, err)
	}
	for _, d := range []float64{0, -1, math.NaN()} {
		if r, err := ModuliAmong(music, d); err == nil {
			t.Errorf("%g: %+v", d, r)
		}
	}
}
