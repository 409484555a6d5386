package tables

import (
	"fmt"
	"math"
	"strings"
)

// Sizes of the printed units in SI base units.
const (
	mm  = 1e-3                // [m]
	in  = 25.4e-3             // [m]
	bar = 1e5                 // [Pa]
	mpa = 1e6                 // MPa [Pa]
	ksi = 6.894757293168361e6 // 1000 lbf/in² [Pa]

	celsius = 273.15 // 0 °C [K]
)

// toSI converts a printed figure to SI base units. The units are those of the
// data files; another one is a programmer's mistake.
func toSI(x float64, unit string) float64 {
	switch unit {
	case "-", "m", "m²", "s", "1/s", "N", "kg", "g/g":
		return x
	case "°C", "C":
		return x + celsius
	case "F":
		return (x-32)/1.8 + celsius
	case "mm":
		return x * mm
	case "um":
		return x * 1e-6
	case "in":
		return x * in
	case "bar":
		return x * bar
	case "MPa":
		return x * mpa
	case "GPa":
		return x * 1000 * mpa
	case "ksi", "kpsi":
		return x * ksi
	case "g/cm³", "cm3", "dm3": // g/cm³ and kg/dm³
		return x * 1000
	case "mL":
		return x * 1e-6
	case "N/bar":
		return x / bar
	case "N/mm":
		return x / mm
	case "g":
		return x * 1e-3
	case "min":
		return x * 60
	case "°":
		return x * math.Pi / 180
	case "%", "pct":
		return x / 100
	}
	panic(fmt.Sprintf("tables: no unit %q", unit))
}

// unitOf returns the unit of a column, the last word of its name: "min_ksi".
func unitOf(column string) string {
	return column[strings.LastIndex(column, "_")+1:]
}
