package tables_test

import (
	"fmt"

	"springcalc/tables"
)

// A wire of 4 mm in the standard's list and in two textbook fits: the fits may lie
// above the minimum that a mill must deliver.
func ExampleWire_Strengths() {
	w, err := tables.WireByName("A228")
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, s := range w.Strengths(4e-3) {
		fmt.Printf("%-12s %.0f MPa (%s)\n", s.Table, s.Min/1e6, s.Grade)
	}
	// Output:
	// astm-a228    1727 MPa (printed)
	// shigley-sut  1808 MPa (printed)
	// norton-sut   1719 MPa (printed)
}

// A boiler at 1 bar over the air of 500 m: how hot is its water?
func ExampleSaturationTemperature() {
	air, err := tables.Atmosphere(500)
	if err != nil {
		fmt.Println(err)
		return
	}
	t, err := tables.SaturationTemperature(air + 1e5)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f °C\n", t-273.15)
	// Output: 119.5 °C
}

// What is assumed when a machine sheet says nothing of retained water.
func ExampleDefaultFor() {
	d, ok := tables.DefaultFor("coffee.retained")
	fmt.Println(ok, d.Value, d.Low, d.High, d.Unit, d.Grade)
	// Output: true 1.1 0.8 1.5 g/g derived
}

// The head of a table says where its figures are from.
func ExampleGet() {
	t, err := tables.Get("astm-a228")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(t.Title)
	fmt.Println(t.Source)
	fmt.Println(t.Header, t.Rows[0], t.Grade)
	// Output:
	// Tensile strength of music spring wire, ASTM A228.
	// ASTM A228/A228M
	// [d_in min_ksi max_ksi] [0.004 439 485] printed
}
