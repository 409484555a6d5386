package tables

import (
	"math"
	"testing"
)

// Evidence grade A: check values and tables as their sources print them.

const (
	molarMass = 0.018015268 // of water [kg/mol], IAPWS R6-95
	microPas  = 1e-6        // [Pa·s]
)

// printed fails unless got, rounded to as many digits as the book has, is the
// number of the book.
func printed(t *testing.T, what string, got float64, book string) {
	t.Helper()
	if err := sameDigits(got, book); err != nil {
		t.Errorf("%s: %v", what, err)
	}
}

// must turns an unexpected error into a failed test.
func must(t *testing.T) func(float64, error) float64 {
	return func(x float64, err error) float64 {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
}

// saturationRows is IAPWS R7-97(2012) Table 35.
var saturationRows = []struct {
	kelvin float64
	book   string // [MPa]
}{{300, "0.353658941e-2"}, {500, "0.263889776e1"}, {600, "0.123443146e2"}}

// liquidRows is IAPWS R7-97(2012) Table 5: specific volume [m³/kg], enthalpy
// [kJ/kg] and isobaric heat capacity [kJ/(kg K)].
var liquidRows = []struct {
	kelvin, pressure               float64
	volume, enthalpy, heatCapacity string
}{
	{300, 3e6, "0.100215168e-2", "0.115331273e3", "0.417301218e1"},
	{300, 80e6, "0.971180894e-3", "0.184142828e3", "0.401008987e1"},
	{500, 3e6, "0.120241800e-2", "0.975542239e3", "0.465580682e1"},
}

// TestIF97Saturation holds region 4 to IAPWS R7-97(2012) Tables 35 and 36.
func TestIF97Saturation(t *testing.T) {
	for _, c := range saturationRows {
		printed(t, "p_s(T), MPa", must(t)(SaturationPressure(c.kelvin))/1e6, c.book)
	}
	for _, c := range []struct {
		pressure float64 // [Pa]
		book     string  // [K]
	}{{0.1e6, "0.372755919e3"}, {1e6, "0.453035632e3"}, {10e6, "0.584149488e3"}} {
		printed(t, "T_s(p), K", must(t)(SaturationTemperature(c.pressure)), c.book)
	}
}

// TestIF97Liquid holds region 1 to IAPWS R7-97(2012) Table 5.
func TestIF97Liquid(t *testing.T) {
	for _, c := range liquidRows {
		printed(t, "v, m³/kg", 1/must(t)(WaterDensity(c.kelvin, c.pressure)), c.volume)
	}
}

// viscosityRows is IAPWS R12-08 Table 4.
var viscosityRows = []struct {
	kelvin, density float64
	book            string // [µPa·s]
}{
	{298.15, 998, "889.735100"},
	{298.15, 1200, "1437.649467"},
	{373.15, 1000, "307.883622"},
	{433.15, 1, "14.538324"},
	{433.15, 1000, "217.685358"},
	{873.15, 1, "32.619287"},
	{873.15, 100, "35.802262"},
	{873.15, 600, "77.430195"},
	{1173.15, 1, "44.217245"},
	{1173.15, 100, "47.640433"},
	{1173.15, 400, "64.154608"},
}

// TestR12Viscosity holds the viscosity to IAPWS R12-08 Table 4, all eleven rows.
func TestR12Viscosity(t *testing.T) {
	for _, c := range viscosityRows {
		printed(t, "µ, µPa·s", must(t)(WaterViscosity(c.kelvin, c.density))/microPas, c.book)
	}
}

// TestSteamTable compares with the saturated liquid of Perry's Chemical
// Engineers' Handbook, 9th ed., Table 2-135. Its row of 370 K and its viscosities
// come from other formulations and are compared in crosscheck_test.go.
func TestSteamTable(t *testing.T) {
	for _, c := range []struct {
		kelvin            float64
		pressure, density string // [MPa], [mol/dm³]
	}{
		{380, "0.12885", "52.918"},
		{390, "0.17964", "52.490"},
	} {
		p := must(t)(SaturationPressure(c.kelvin))
		printed(t, "p, MPa", p/1e6, c.pressure)
		printed(t, "ρ, mol/dm³", must(t)(WaterDensity(c.kelvin, p))/molarMass/1000, c.density)
	}
}

// TestStandardAtmosphere holds the pressure to the U.S. Standard Atmosphere 1976.
func TestStandardAtmosphere(t *testing.T) {
	for _, c := range []struct {
		altitude float64
		book     string // [Pa]
	}{
		{0, "101325"}, {1000, "89874.6"}, {2000, "79495.2"},
		{4000, "61640.2"}, {5000, "54019.9"}, {11000, "22632.1"},
	} {
		printed(t, "p, Pa", must(t)(Atmosphere(c.altitude)), c.book)
	}
	// 5000 m measured with a tape is 4996.07 m of geopotential.
	const earth = 6356766.0
	printed(t, "p, Pa", must(t)(Atmosphere(earth*5000/(earth+5000))), "54048.286")
}

// TestExtractionDefaults: the pair soluble, soluble_decay gives the strengths
// from which it was chosen, Waszkiewicz et al. 2026: 25 % in the first drops,
// extraction 15 % and 19 % at cup ratios 1:1 and 1:2. At 1:3 the law gives
// 19.8 %, between the 19.5 % of the rounded strength in the cup (6.5 %) and the
// 19.9 % measured.
func TestExtractionDefaults(t *testing.T) {
	soluble, _ := DefaultFor("coffee.soluble")
	decay, _ := DefaultFor("coffee.soluble_decay")
	dissolved := func(water float64) float64 { // both per mass of dose
		return soluble.Value * (1 - math.Exp(-water/decay.Value))
	}
	// extraction at a cup ratio: water + dissolved = ratio, by bisection.
	extraction := func(ratio float64) float64 {
		low, high := 0.0, ratio
		for range 60 {
			if mid := (low + high) / 2; mid+dissolved(mid) < ratio {
				low = mid
			} else {
				high = mid
			}
		}
		return dissolved(low)
	}
	const drop = 1e-6
	printed(t, "first drops, %", 100*dissolved(drop)/(drop+dissolved(drop)), "25")
	printed(t, "extraction at 1:1, %", 100*extraction(1), "15")
	printed(t, "extraction at 1:2, %", 100*extraction(2), "19")
	if e := 100 * extraction(3); !(e >= 19.5 && e <= 19.9) {
		t.Errorf("extraction at 1:3: %.2f %%, want 19.5 to 19.9 %%", e)
	}
}
