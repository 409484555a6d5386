// Package testsheet holds the sheets that the tests of several packages share,
// and reads them into sheets and machines without fault or ends the test. Only
// tests import it.
package testsheet

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp/cmpopts"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/sheet"
)

// Minimal states no more than what every sheet must.
const Minimal = `
[spring]
rate = "27 N/mm"
preload = "700 N"
[piston]
bore = "50 mm"
stroke = "24 mm"
[basket]
diameter = "51 mm"
[coffee]
dose = "14 g"
`

// Lossless is Minimal without friction, weight of the piston or air, for tests
// against closed forms.
const Lossless = `
[spring]
rate = "27 N/mm"
preload = "700 N"
[piston]
bore = "50 mm"
stroke = "24 mm"
friction = "0 N"
friction_per_pressure = "0 N/bar"
mass = "0 g"
[chamber]
air = "0 mL"
[basket]
diameter = "51 mm"
[coffee]
dose = "14 g"
`

// Stated states all there is, in the ways of the first kind.
const Stated = `
[spring]
rate = "27 N/mm"
preload = "700 N"
[spring.inner]
rate = "3 N/mm"
preload = "-20 N"
[piston]
bore = "50 mm"
stroke = "24 mm"
port_travel = "2 mm"
friction = "20 N"
friction_per_pressure = "5 N/bar"
mass = "600 g"
handle_force = "20 N"
[chamber]
headspace = "8 mL"
air = "1 mL"
[basket]
diameter = "51 mm"
depth = "24 mm"
[coffee]
dose = "14 g"
resistance = "4.5 bar·s/mL"
resistance_at = "8 bar"
bulk_density = "0.4 g/cm³"
loading_exponent = 1.1
unloading_exponent = 0.7
threshold_pressure = "2 bar"
low_pressure_exponent = 0.6
blocking = 0.35
blocking_decay = "0.4 g/g"
blocking_by_wetting = 0.4
soaking = "3 /min"
retained = "1.2 g/g"
dry_permeability = "2e-14 m²"
suction = "0.2 bar"
soluble = "0.25 g/g"
soluble_decay = "0.7 g/g"
second_pull_factor = 0.5
[water]
line_pressure = "2.5 bar"
brew_temperature = "91 °C"
altitude = "300 m"
[[pull]]
fill_time = "3 s"
preinfusion = "10 s"
end_pressure = "2 bar"
[[pull]]
preinfusion = "4 s"
fill_time = "1 s"
end_pressure = "1 bar"
end_yield = "40 g"
`

const Dimensions8mm = `
[spring]
wire = "8 mm"
coil_diameter = "42 mm"
active_coils = 20
ends = "closed and ground"
shear_modulus = "79 GPa"
free_length = "250 mm"
installed_length = "205 mm"
`

// Random states a plausible machine, without what says how strong its spring is:
// rate [N/m] and preload [N] are drawn beside. It never states the key of a default
// whose name is left out.
func Random(r *rand.Rand, leaveOut ...string) (text string, rate, preload float64) {
	between := func(low, high float64) float64 { return low + (high-low)*r.Float64() }
	bore, stroke := between(40, 60), between(18, 36)
	area := math.Pi / 4 * bore * bore // [mm²]
	cocked := between(6, 10) * area / 10
	rate = between(10, 35) / 100 * cocked / stroke * 1e3 // a tenth to a third of the force falls over the stroke
	preload = cocked - rate*stroke/1e3
	var b strings.Builder
	state := func(table string, lines ...string) {
		fmt.Fprintf(&b, "[%s]\n", table)
		for _, line := range lines {
			name, _, _ := strings.Cut(line, " ")
			if !slices.Contains(leaveOut, table+"."+name) {
				b.WriteString(line + "\n")
			}
		}
	}
	sometimes := func(line string) []string {
		if r.IntN(2) == 0 {
			return nil
		}
		return []string{line}
	}
	state("piston", slices.Concat([]string{fmt.Sprintf("bore = \"%.1f mm\"", bore), fmt.Sprintf("stroke = \"%.1f mm\"", stroke)},
		sometimes("port_travel = \"2 mm\""), sometimes(fmt.Sprintf("friction = \"%.0f N ± 15 N\"", between(15, 60))),
		sometimes("friction_per_pressure = \"4 N/bar ± 2 N/bar\""), sometimes("mass = \"400 g\""))...)
	state("basket", slices.Concat([]string{fmt.Sprintf("diameter = \"%.1f mm\"", bore+between(-4, 8))}, sometimes("depth = \"26 mm\""))...)
	state("coffee", slices.Concat([]string{fmt.Sprintf("dose = \"%.1f g\"", between(11, 18))},
		sometimes(fmt.Sprintf("resistance = \"%.1f bar·s/mL ± 20 %%\"\nresistance_at = \"8 bar\"", between(3, 9))))...)
	state("water", sometimes("boiler_pressure = \"1.1 bar ± 0.1 bar\"")...)
	state("pull", sometimes(fmt.Sprintf("preinfusion = \"%.0f s\"", between(5, 12)))...)
	return b.String(), rate, preload
}

// Closely compares numbers to rounding.
var Closely = cmpopts.EquateApprox(1e-12, 0)

// KnownShot is a weighed and timed shot.
const KnownShot = "[coffee.known]\nyield = \"42 g ± 1 g\"\ntime = \"43 s ± 1 s\"\n"

// Read reads a sheet that has no fault.
func Read(t testing.TB, text string, sets ...string) *sheet.Sheet {
	t.Helper()
	s, err := sheet.Read("test.toml", []byte(text), sets)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// FaultsOf reads a sheet and builds its machine and returns all that is wrong, a line each.
func FaultsOf(text string, sets ...string) []string {
	s, err := sheet.Read("test.toml", []byte(text), sets)
	if err == nil {
		_, err = machine.New(s)
	}
	if err == nil {
		return nil
	}
	lines := strings.Split(err.Error(), "\n")
	if len(lines) > 1 {
		lines = lines[1:] // the count
	}
	return lines
}

// Build reads a sheet and joins it with the defaults.
func Build(t testing.TB, text string, sets ...string) *machine.Machine {
	t.Helper()
	m, err := machine.New(Read(t, text, sets...))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// OfTheLever says whether a table of the sheet is for the lever alone.
func OfTheLever(path string) bool {
	return strings.HasPrefix(path, "lever") && path != "lever.pull" || path == "piston.o_ring"
}

// AsPrinted compares a number with a printed one: half a unit of its last digit.
func AsPrinted(t testing.TB, what string, got float64, book string) {
	t.Helper()
	want, err := strconv.ParseFloat(book, 64)
	if err != nil {
		t.Fatal(err)
	}
	mantissa, exponent, _ := strings.Cut(book, "e")
	_, decimals, _ := strings.Cut(mantissa, ".")
	power, _ := strconv.Atoi(exponent)
	if half := 0.5 * math.Pow10(power-len(decimals)); !(math.Abs(got-want) <= half*(1+1e-9)) {
		t.Errorf("%s: got %.8g, the book prints %s", what, got, book)
	}
}
