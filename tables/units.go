package tables

import "fmt"

// Sizes of the printed units in SI base units.
const (
	mm  = 1e-3                // [m]
	in  = 25.4e-3             // [m]
	bar = 1e5                 // [Pa]
	mpa = 1e6                 // MPa [Pa]
	gpa = 1e9                 // GPa [Pa]
	ksi = 6.894757293168361e6 // 1000 lbf/in² [Pa]

	celsius = 273.15 // 0 °C [K]
)

// toSI converts a printed figure to SI base units. The units are those of the
// data files; another one is a programmer's mistake.
func toSI(x float64, unit string) float64 {
	switch unit {
	case "°C":
		return x + celsius
	case "-", "m", "m²", "s", "N", "kg", "g/g":
		return x
	case "mm":
		return x * mm
	case "bar":
		return x * bar
	case "g/cm³":
		return x * 1000
	case "mL":
		return x * 1e-6
	case "N/bar":
		return x / bar
	case "%":
		return x / 100
	}
	panic(fmt.Sprintf("tables: no unit %q", unit))
}
