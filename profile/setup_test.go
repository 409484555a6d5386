package profile_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
	"springcalc/tables"
)

// Units, so that a book's figure stays readable.
const (
	mm  = 1e-3
	cm  = 1e-2
	mL  = 1e-6
	g   = 1e-3
	bar = 1e5
	kN  = 1e3
	ft  = 0.3048
)

// shipped returns the shipped default of a key of the machine sheet.
func shipped(key string) float64 {
	d, ok := tables.DefaultFor(key)
	if !ok {
		panic("no default for " + key)
	}
	return d.Value
}

// shippedCoffee returns a bed with the middle of every parameter: those of the
// law fitted to the data of Waszkiewicz et al. 2026, the rest as shipped.
func shippedCoffee(dose float64) profile.Coffee {
	return profile.Coffee{
		Dose: dose, BulkDensity: shipped("coffee.bulk_density"), AtPressure: 9 * bar,
		Loading: 1.10, Unloading: 0.55, Threshold: 4 * bar, Low: 0.67, Blocking: 0.386, BlockingBy: 0.385, SetBy: 0.5, Soaking: 0.05,
		Retained: shipped("coffee.retained"), DryPerm: shipped("coffee.dry_permeability"), Suction: shipped("coffee.suction"),
		Soluble: shipped("coffee.soluble"), SolubleBy: shipped("coffee.soluble_decay"),
		SecondPull: shipped("coffee.second_pull_factor"),
	}
}

// plateau is the permeability of the fitted bed at 9 bar, 4.78 bar·s/mL for
// 18.5 g in 56 mm [m²].
const plateau = 4.49e-15

// shippedWater returns water at a temperature [K] with a fill pressure [Pa].
func shippedWater(t *testing.T, temperature, fill float64) profile.Water {
	t.Helper()
	rho, err := tables.WaterDensity(temperature, 101325+fill)
	if err != nil {
		t.Fatal(err)
	}
	mu, err := tables.WaterViscosity(temperature, rho)
	if err != nil {
		t.Fatal(err)
	}
	return profile.Water{Viscosity: mu, Density: rho, Fill: fill, Atmosphere: 101325}
}

// withPermeability states the bed's resistance by the fitted permeability.
func withPermeability(s *profile.Setup) *profile.Setup {
	s.Coffee.Resistance = 1
	s.Coffee.Resistance = s.ResistanceOf(plateau)
	return s
}

// plain returns a setup without any of the bed's habits: constant resistance,
// no wetting, nothing dissolved, no friction. It is a spring against a
// permeameter. The bed itself does not matter then.
func plain(area, rate, pressure, resistance float64) *profile.Setup {
	bore := math.Sqrt(4 * area / math.Pi)
	stroke := 0.999 * pressure * area / rate
	return &profile.Setup{
		Springs:  []spring.Linear{{Rate: rate, Preload: pressure*area - rate*stroke}},
		Cylinder: piston.Cylinder{Bore: bore, Stroke: stroke},
		Basket:   profile.Basket{Diameter: 50 * mm},
		Coffee:   profile.Coffee{Dose: 15 * g, BulkDensity: 450, Resistance: resistance, AtPressure: 9 * bar},
		Water:    profile.Water{Viscosity: 3e-4, Density: 965, Atmosphere: 101325},
		Pulls:    []profile.Pull{{}},
	}
}

func mustRun(t *testing.T, s *profile.Setup) *profile.Shot {
	t.Helper()
	shot, err := profile.Run(s)
	if err != nil {
		t.Fatal(err)
	}
	return shot
}

// printed compares a value with a figure as its source prints it: rounded to
// as many digits it must be the same number.
func printed(t *testing.T, what string, got float64, want string) {
	t.Helper()
	digits := 0
	if i := strings.IndexByte(want, '.'); i >= 0 {
		digits = len(want) - i - 1
	}
	if s := strconv.FormatFloat(got, 'f', digits, 64); s != want {
		t.Errorf("%s: got %s (%.10g), printed %s", what, s, got, want)
	}
}

// near compares within a relative tolerance.
func near(t interface{ Errorf(string, ...any) }, what string, got, want, tol float64) {
	if !(math.Abs(got-want) <= tol*math.Max(math.Abs(want), math.SmallestNonzeroFloat64)) {
		t.Errorf("%s: got %.15g, want %.15g: off by %.2g, allowed %.2g", what, got, want, got/want-1, tol)
	}
}
