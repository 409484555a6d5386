package machine_test

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
	"springcalc/tables"
)

// TestSetup: every value of a sheet arrives in its place, in SI.
func TestSetup(t *testing.T) {
	m := testsheet.Build(t, testsheet.Stated)
	if len(m.Defaults) > 0 {
		t.Errorf("defaults of a sheet that states all: %v", m.Defaults)
	}
	water := m.Setup.Water // looked up, see TestWater
	want := profile.Setup{
		Springs:  []spring.Linear{{Rate: 27e3, Preload: 700}, {Rate: 3e3, Preload: -20}},
		Cylinder: piston.Cylinder{Bore: 0.05, Stroke: 0.024, Port: 0.002, Weight: 0.6 * 9.80665, Seal: piston.Seal{Constant: 20, PerPa: 5e-5}},
		Chamber:  profile.Chamber{Headspace: 8e-6, Air: 1e-6},
		Basket:   profile.Basket{Diameter: 0.051, Depth: 0.024},
		Coffee: profile.Coffee{
			Dose: 0.014, BulkDensity: 400, Resistance: 4.5e11, AtPressure: 8e5, Loading: 1.1, Unloading: 0.7, Threshold: 2e5,
			Low: 0.6, Blocking: 0.35, BlockingBy: 0.4, SetBy: 0.4, Soaking: 0.05, Retained: 1.2, DryPerm: 2e-14, Suction: 0.2e5, Soluble: 0.25, SolubleBy: 0.7, SecondPull: 0.5,
		},
		Water:  profile.Water{Viscosity: water.Viscosity, Density: water.Density, Fill: 2.5e5, Atmosphere: water.Atmosphere},
		Handle: piston.Handle{-20},
		Pulls: []profile.Pull{
			{FillTime: 3, Preinfusion: 10, EndPressure: 2e5},
			{FillTime: 1, Preinfusion: 4, EndPressure: 1e5, EndCup: 0.04},
		},
	}
	if d := cmp.Diff(want, m.Setup, testsheet.Closely); d != "" {
		t.Error(d)
	}
}

// TestDefaults: what a sheet does not state comes from the tables, is listed
// once, and nothing else is.
func TestDefaults(t *testing.T) {
	m := testsheet.Build(t, testsheet.Minimal+"[[pull]]\n[[pull]]\n")
	listed := map[string]bool{}
	for _, d := range m.Defaults {
		if listed[d.Key] {
			t.Errorf("%s is listed twice", d.Key)
		}
		listed[d.Key] = true
		if want, ok := tables.DefaultFor(d.Key); ok && want != d {
			t.Errorf("%s: %+v, want %+v", d.Key, d, want)
		}
	}
	for _, key := range []string{
		"piston.port_travel", "piston.friction", "piston.friction_per_pressure", "piston.mass", "piston.handle_force", "chamber.headspace", "chamber.air",
		"coffee.permeability", "coffee.permeability_at", "coffee.bulk_density", "coffee.loading_exponent", "coffee.unloading_exponent",
		"coffee.threshold_pressure", "coffee.low_pressure_exponent", "coffee.blocking", "coffee.blocking_decay", "coffee.blocking_by_wetting", "coffee.soaking", "coffee.retained", "coffee.dry_permeability",
		"coffee.suction", "coffee.soluble", "coffee.soluble_decay", "coffee.second_pull_factor", "water.boiler_pressure",
		"water.brew_temperature", "water.altitude", "pull.fill_time", "pull.preinfusion", "pull.end_pressure",
	} {
		if !listed[key] {
			t.Errorf("%s is not listed", key)
		}
		delete(listed, key)
	}
	if len(listed) > 0 {
		t.Errorf("listed too: %v", listed)
	}

	// Two that follow from others.
	m = testsheet.Build(t, testsheet.Minimal, "coffee.loading_exponent=0.2", "basket.depth=24 mm")
	if u := m.Setup.Coffee.Unloading; u != 0.2 {
		t.Errorf("unloading exponent %v, want no more than the loading exponent, 0.2", u)
	}
	area := math.Pi / 4 * 0.051 * 0.051
	density, _ := tables.DefaultFor("coffee.bulk_density")
	if got, want := m.Setup.Chamber.Headspace, (0.024+0.001)*area-0.014/density.Value; !cmp.Equal(got, want, testsheet.Closely) {
		t.Errorf("headspace %v, want basket less bed and 1 mm to the piston, %v", got, want)
	}
	if m = testsheet.Build(t, testsheet.Minimal, "basket.depth=5 mm"); !cmp.Equal(m.Setup.Chamber.Headspace, 0.001*area, testsheet.Closely) {
		t.Errorf("headspace over a dose that is deeper than the basket: %v", m.Setup.Chamber.Headspace)
	}
}

// TestWater: the fill pressure is the boiler's saturation pressure less the
// atmosphere. At 120 °C and sea level: 198.67 kPa less 101.325 kPa (steam table,
// IAPWS-IF97).
func TestWater(t *testing.T) {
	w := testsheet.Build(t, testsheet.Minimal, "water.boiler_temperature=120 °C", "water.brew_temperature=93 °C").Setup.Water
	if got, want := fmt.Sprintf("%.2f", (w.Fill+w.Atmosphere)/1e3), "198.67"; got != want || w.Atmosphere != 101325 {
		t.Errorf("boiler %s kPa, want %s; atmosphere %v", got, want, w.Atmosphere)
	}
	density, err := tables.WaterDensity(366.15, w.Fill+w.Atmosphere)
	if err != nil {
		t.Fatal(err)
	}
	viscosity, err := tables.WaterViscosity(366.15, density)
	if err != nil || w.Density != density || w.Viscosity != viscosity {
		t.Errorf("%+v, want density %v, viscosity %v", w, density, viscosity)
	}
	if w := testsheet.Build(t, testsheet.Minimal, "water.boiler_pressure=0.8 bar", "water.altitude=2000 m").Setup.Water; w.Fill != 0.8e5 || w.Atmosphere > 8e4 {
		t.Errorf("%+v", w)
	}
}

// TestPermeability: R = μ m/(ρ κ A²).
func TestPermeability(t *testing.T) {
	s := testsheet.Build(t, testsheet.Minimal, "coffee.permeability=5e-15 m²", "coffee.permeability_at=6 bar", "coffee.bulk_density=0.5 g/cm³").Setup
	area := math.Pi / 4 * 0.051 * 0.051
	want := s.Water.Viscosity * 0.014 / (500 * 5e-15 * area * area)
	if !cmp.Equal(s.Coffee.Resistance, want, testsheet.Closely) || !cmp.Equal(s.Coffee.AtPressure, 6e5, testsheet.Closely) {
		t.Errorf("%v at %v, want %v at 6 bar", s.Coffee.Resistance, s.Coffee.AtPressure, want)
	}
}

// TestKnownShot: a known shot pulled on the machine comes out again; one held at
// a pressure on another basket carries over as dose over area squared.
func TestKnownShot(t *testing.T) {
	m := testsheet.Build(t, testsheet.Minimal, "coffee.known.yield=36 g", "coffee.known.time=45 s", "coffee.known.preinfusion=8 s", "pull.preinfusion=8 s")
	shot, err := profile.Run(&m.Setup)
	if err != nil {
		t.Fatal(err)
	}
	near := cmpopts.EquateApprox(1e-9, 0)
	if !cmp.Equal(shot.Yield, 0.036, near) || !cmp.Equal(shot.Total, 45.0, near) {
		t.Errorf("%v g in %v s, want 36 g in 45 s", shot.Yield*1e3, shot.Total)
	}
	for _, d := range m.Defaults {
		if d.Key == "coffee.permeability" || d.Key == "coffee.retained" {
			t.Errorf("%s is listed as assumed, but the shot told it", d.Key)
		}
	}

	known := []string{"coffee.known.yield=30 g", "coffee.known.time=30 s", "coffee.known.pressure=9 bar"}
	same := testsheet.Build(t, testsheet.Minimal, known...).Setup.Coffee.Resistance
	other := testsheet.Build(t, testsheet.Minimal, append(known, "coffee.dose=7 g", "coffee.known.dose=14 g", "basket.diameter=102 mm", "coffee.known.basket_diameter=51 mm")...).Setup.Coffee.Resistance
	if !cmp.Equal(same/other, 32.0, near) {
		t.Errorf("half the dose on four times the area: a resistance %v times less, want 32", same/other)
	}
}

// TestDimensions: R = G d⁴/(8 D³ n), by hand 79e9 · 4.096e-9/(8 · 7.4088e-5 · 20)
// = 27 297 N/m; preload R · 45 mm.
func TestDimensions(t *testing.T) {
	text := testsheet.Dimensions8mm + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):]
	rate := 79e9 * 4.096e-9 / (8 * 7.4088e-5 * 20)
	for _, c := range []struct {
		Name string
		sets []string
		Want float64
	}{
		{"mean diameter, active coils", nil, rate},
		{"outside diameter", []string{"spring.coil_diameter=", "spring.outside_diameter=50 mm"}, rate},
		{"inside diameter", []string{"spring.coil_diameter=", "spring.inside_diameter=34 mm"}, rate},
		{"total coils of closed ends", []string{"spring.active_coils=", "spring.total_coils=22"}, rate},
		{"total coils of plain ends", []string{"spring.active_coils=", "spring.total_coils=20", "spring.ends=plain"}, rate},
		{"warm: 40 K at 0.25 per 1000 K", []string{"spring.temperature=60 °C"}, 0.99 * rate},
	} {
		line := testsheet.Build(t, text, c.sets...).Setup.Springs
		if want := []spring.Linear{{Rate: c.Want, Preload: c.Want * 0.045}}; !cmp.Equal(line, want, cmpopts.EquateApprox(1e-9, 0)) {
			t.Errorf("%s: %+v, want %+v", c.Name, line, want)
		}
	}

	// The grade stands for its moduli, by designation or by name.
	wire, err := tables.WireByName("A228")
	if err != nil {
		t.Fatal(err)
	}
	moduli, err := wire.Moduli(6e-3)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"A228", "astm a228", "Music Wire"} {
		m := testsheet.Build(t, text, "spring.shear_modulus=", "spring.wire=6 mm", "spring.grade="+name)
		c, ok := m.Compression("spring")
		if !ok || c.G != moduli.G || c.E != moduli.E || c.Density != wire.Density || c.Mean != 0.042 || c.Total != 22 || c.Free != 0.25 {
			t.Errorf("%s: %+v", name, c)
		}
	}
	if _, ok := testsheet.Build(t, testsheet.Minimal).Compression("spring"); ok {
		t.Error("a spring with rate and preload has dimensions")
	}
}

// TestImpossibleDimensions: what contradicts itself in a spring is found, at its place.
func TestImpossibleDimensions(t *testing.T) {
	text := strings.TrimPrefix(testsheet.Dimensions8mm, "\n") + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):]
	for _, c := range []struct {
		sets []string
		Want []string
	}{
		{[]string{"spring.installed_length=195 mm"}, []string{
			`--set spring.installed_length: "195 mm": cocked, the spring would be 171.0 mm long, but its coils touch at 176.0 mm`}},
		{[]string{"spring.installed_length=175 mm"}, []string{
			`--set spring.installed_length: "175 mm": compressed past solid: length 175 mm, solid at 176 mm`}},
		{[]string{"spring.installed_length=300 mm"}, []string{
			`--set spring.installed_length: "300 mm": with this the spring is loose even when cocked`}},
		{[]string{"spring.coil_diameter=7 mm", "spring.active_coils=", "spring.total_coils=2"}, []string{
			`--set spring.coil_diameter: "7 mm": impossible input: mean coil diameter is 7 mm, want more than the wire diameter of 8 mm`,
			`--set spring.total_coils: "2": impossible input: number of active coils is 0, want 0.5 to 1000`,
			`--set spring.coil_diameter: "7 mm": this looks like cm (70 mm); usual is 12 mm to 90 mm`}},
		{[]string{"spring.shear_modulus=", "spring.grade=A229 class 2"}, []string{
			`--set spring.grade: "A229 class 2": unknown grade (did you mean "A229 class II"?); known are ` + allWires() + `, and names of the trade such as music wire, stainless, steel`}},
	} {
		if got := testsheet.FaultsOf(text, c.sets...); !cmp.Equal(got, c.Want) {
			t.Errorf("%v:\ngot:\n%s\nwant:\n%s", c.sets, strings.Join(got, "\n"), strings.Join(c.Want, "\n"))
		}
	}
}

func allWires() string {
	var all []string
	for _, w := range tables.Wires() {
		all = append(all, w.Name)
	}
	return words.AndList(all)
}

// TestGradeInWords: names of the trade stand for the wires of the standards, and
// what leaves open which wire it is widens the modulus and withholds strength alone.
func TestGradeInWords(t *testing.T) {
	text := testsheet.Dimensions8mm + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):]
	build := func(wire, grade string) *machine.Machine {
		return testsheet.Build(t, text, "spring.shear_modulus=", "spring.wire="+wire, "spring.grade="+grade)
	}
	ratio := func(m *machine.Machine) tables.Default {
		for _, d := range m.Defaults {
			if d.Key == "spring.modulus_ratio" {
				return d
			}
		}
		t.Fatal("no default of the modulus ratio")
		return tables.Default{}
	}
	known := build("6 mm", "A228")
	for word, remark := range map[string]string{
		"piano wire": `spring.grade: "piano wire" read as A228 (music wire)`, "MUSIC WIRE": `spring.grade: "MUSIC WIRE" read as A228 (music wire)`, "ASTM A228": "",
	} {
		m := build("6 mm", word)
		if !reflect.DeepEqual(m.Setup, known.Setup) || ratio(m) != ratio(known) {
			t.Errorf("%s: another spring", word)
		}
		if got := strings.Join(m.Remarks, "\n"); got != remark {
			t.Errorf("%s: %q, want %q", word, got, remark)
		}
		if _, why := m.WireStrength(); why != "" {
			t.Errorf("%s: %s", word, why)
		}
	}

	// 77.2 to 81.5 GPa at 6 mm, middle 79.35; each wire ± 3 %: two standard
	// deviations are √(0.03² + (2·2.15/79.35/√3)²) = 0.0433.
	for _, word := range []string{"steel", "spring steel"} {
		m := build("6 mm", word)
		c, _ := m.Compression("spring")
		if d := ratio(m); math.Abs(c.G-79.35e9) > 1 || fmt.Sprintf("%.4f", d.High-1) != "0.0433" || !cmp.Equal(d.High-1, 1-d.Low, testsheet.Closely) {
			t.Errorf("%s: G %v, %+v", word, c.G, d)
		}
		if w, why := m.WireStrength(); w != nil || !strings.Contains(why, "leaves open which wire it is") {
			t.Errorf("%s: %v, %q", word, w, why)
		}
		if len(m.Remarks) != 1 || !strings.Contains(m.Remarks[0], "may be any of") {
			t.Errorf("%s: %q", word, m.Remarks)
		}
	}
	if s := ratio(build("6 mm", "stainless")); !(s.High-s.Low > ratio(build("6 mm", "steel")).High-ratio(build("6 mm", "steel")).Low) {
		t.Errorf("stainless %+v is no wider than steel", s)
	}

	// Music wire has moduli up to 6.5 mm (0.256 in): beyond, the spring is still known.
	m := build("8 mm", "A228")
	if c, ok := m.Compression("spring"); !ok || math.Abs(c.G-79.35e9) > 1 {
		t.Errorf("8 mm: %+v, %v", c, ok)
	}
	if len(m.Doubts) == 0 || !strings.Contains(m.Doubts[0], "no source has the moduli of A228 wire of 8.00 mm") {
		t.Errorf("8 mm: %q", m.Doubts)
	}
	if w, why := m.WireStrength(); w != nil || !strings.Contains(why, "8 mm") {
		t.Errorf("8 mm: %v, %q", w, why)
	}
	if other, err := m.Vary(map[string]float64{"spring.modulus_ratio": 1.02}); err != nil || !cmp.Equal(other.Setup.Springs[0].Rate, 1.02*m.Setup.Springs[0].Rate, testsheet.Closely) {
		t.Errorf("varied: %v", err)
	}
}

// TestEveryKeyMatters: each number of a sheet changes the setup when it
// changes by a hundredth, so none is read and forgotten.
func TestEveryKeyMatters(t *testing.T) {
	ways := []string{
		testsheet.Stated,
		strings.Replace(testsheet.Stated, "resistance_at", "resistance_dose = \"15 g\"\nresistance_basket = \"52 mm\"\nresistance_at", 1),
		testsheet.Minimal + "permeability = \"4e-15 m²\"\npermeability_at = \"9 bar\"\n[water]\nboiler_temperature = \"116 °C\"\n",
		testsheet.Minimal + "[water]\nboiler_pressure = \"1 bar\"\n[coffee.known]\nyield = \"38 g\"\ntime = \"40 s\"\npreinfusion = \"9 s\"\npeak = \"6.3 bar\"\ndose = \"13 g\"\nbasket_diameter = \"52 mm\"\n",
		testsheet.Minimal + "[coffee.known]\nyield = \"30 g\"\ntime = \"40 s\"\npressure = \"9 bar\"\n",
		testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):] + "[lever]\nkind = \"rack and pinion\"\nhandle_length = \"260 mm\"\npinion_diameter = \"34 mm\"\n" +
			"[[lever.pull]]\nangle = \"20°\"\nforce = \"75 N\"\nreturning_force = \"60 N\"\n[[lever.pull]]\nangle = \"70°\"\nforce = \"110 N\"\n",
		testsheet.Dimensions8mm + "shim = \"2 mm\"\ntemperature = \"60 °C\"\n" + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):],
		strings.Replace(testsheet.Dimensions8mm, "shear_modulus = \"79 GPa\"", "grade = \"A229\"\nmodulus_ratio = \"1\"", 1) + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):],
		strings.NewReplacer("coil_diameter = \"42 mm\"", "outside_diameter = \"50 mm\"", "active", "total").Replace(testsheet.Dimensions8mm) + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):],
		strings.Replace(testsheet.Dimensions8mm, "coil_diameter = \"42 mm\"", "inside_diameter = \"34 mm\"", 1) + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):],
	}
	matters := map[string]bool{}
	for _, text := range ways {
		m := testsheet.Build(t, text)
		for path, e := range m.Entries {
			if e.Key.Dim == nil {
				continue
			}
			other, err := m.Vary(map[string]float64{path: 1.01 * e.Quantity.Value})
			if err != nil {
				t.Errorf("%s: %v", path, err)
			} else if !reflect.DeepEqual(m.Setup, other.Setup) {
				matters[sheet.Unnumbered(path)] = true
			}
		}
	}
	for _, table := range sheet.Schema {
		if testsheet.OfTheLever(table.Path) {
			continue // not in a setup; see TestEveryKeyOfALeverMatters
		}
		if table.Path == sheet.WishTable.Path || table.Path == sheet.SpaceTable.Path {
			continue // what is wanted, not what is; see TestEveryWishMatters
		}
		if table.Path == "new" || strings.HasPrefix(table.Path, "bench") {
			continue // of no use to a shot; see TestEveryBenchKeyMatters
		}
		if table.Path == sheet.VisitTable.Path {
			continue // what was read on a day, not what is; see TestEveryReadingMatters
		}
		for _, k := range table.Keys {
			if table.Path == "spring" && (k.Name == "tensile_strength" || k.Name == "allowable_stress") {
				continue // of no use to a shot; see TestOwnStrength, and TestEverySpringKeyMatters of answer
			}
			if path := table.Path + "." + k.Name; k.Dim != nil && !matters[path] && (table.Path != "spring.inner" || k.Name == "rate") {
				t.Errorf("%s changes nothing", path)
			}
		}
	}
}

// TestVary: a varied default counts as well, and the machine itself stays.
func TestVary(t *testing.T) {
	m := testsheet.Build(t, testsheet.Minimal+"[[pull]]\n[[pull]]\n")
	before := m.Setup
	other, err := m.Vary(map[string]float64{"coffee.retained": 1.3, "pull.preinfusion": 7, "coffee.dose": 0.015})
	if err != nil {
		t.Fatal(err)
	}
	if o := other.Setup; o.Coffee.Retained != 1.3 || o.Pulls[1].Preinfusion != 7 || o.Coffee.Dose != 0.015 {
		t.Errorf("%+v", o)
	}
	if !reflect.DeepEqual(before, m.Setup) {
		t.Error("the machine itself has changed")
	}
	if _, err := m.Vary(map[string]float64{"piston.port_travel": 1}); err == nil || !strings.Contains(err.Error(), "piston.port_travel: want less than the stroke, 24.0 mm") {
		t.Errorf("a port beyond the stroke: %v", err)
	}
}

// TestResistanceBelongsToItsDose: a stated resistance goes with the dose and the
// basket of the sheet, so that a dose tried by a flag and the same dose in the
// sheet of the other basket are one: R as dose over area squared.
func TestResistanceBelongsToItsDose(t *testing.T) {
	before := testsheet.Build(t, testsheet.Stated)
	after := testsheet.Build(t, testsheet.Stated, "coffee.dose=18 g", "basket.diameter=54 mm")
	want := before.Setup.InBasket(after.Setup.Basket, 18e-3).OwnResistance()
	if got := after.Setup.OwnResistance(); !cmp.Equal(got, want, testsheet.Closely) || got == before.Setup.OwnResistance() {
		t.Errorf("resistance %.6g, in another basket %.6g", got, want)
	}
}

// TestOwnStrength: a certificate counts in place of the published strength of the
// grade, and a stated allowable stress in place of the published ones.
func TestOwnStrength(t *testing.T) {
	text := strings.Replace(testsheet.Dimensions8mm, "shear_modulus = \"79 GPa\"", "grade = \"A229\"", 1) + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):]
	listed, _ := testsheet.Build(t, text).WireStrength()
	own, _ := testsheet.Build(t, text, "spring.tensile_strength=1500 MPa", "spring.allowable_stress=600 MPa", "spring.allowable_factor=Wahl").WireStrength()
	if own.Tensile != 1500e6 || listed.Tensile == own.Tensile || own.Fatigue.UltimateShear/own.Tensile != listed.Fatigue.UltimateShear/listed.Tensile {
		t.Errorf("strength %g, listed %g", own.Tensile, listed.Tensile)
	}
	if got := own.Criterion.Allowable(own.Tensile); !cmp.Equal(got, 600e6, testsheet.Closely) || own.Criterion.Factor() != spring.Wahl {
		t.Errorf("allowable %g, %v", got, own.Criterion.Factor())
	}
	for _, words := range sheet.SpringTable.Key("allowable_factor").Choices {
		if machine.FactorWord(machine.FactorOf(words)) != words {
			t.Errorf("%q is not read back", words)
		}
	}
	for _, half := range []string{"spring.allowable_stress=600 MPa", "spring.allowable_factor=Wahl"} {
		if got := testsheet.FaultsOf(text, half); len(got) != 1 || !strings.Contains(got[0], "stated without spring.allowable_") {
			t.Errorf("%s: %q", half, got)
		}
	}
}

// TestFrictionOfSoundSeals: the default of the friction is what a diagnosis presumes
// of a sound seal, holds the chart of the handbook for the rings of usual groups,
// one or two, and gives way to the rings that a sheet describes.
func TestFrictionOfSoundSeals(t *testing.T) {
	still, _ := tables.DefaultFor("piston.friction")
	slope, _ := tables.DefaultFor("piston.friction_per_pressure")
	prior := func(name string) float64 { d, _ := tables.DiagnosisPriorFor(name); return d.Value }
	if still.Value != prior("sound.seal") || slope.Value != prior("sound.seal_pressure") {
		t.Errorf("defaults %g N and %g, a diagnosis presumes %g and %g", still.Value, slope.Value, prior("sound.seal"), prior("sound.seal_pressure"))
	}
	if factor := math.Pow(prior("sound.seal_factor"), 1.96); math.Abs(still.High/still.Value/factor-1) > 0.05 || math.Abs(still.Value/still.Low/factor-1) > 0.05 {
		t.Errorf("from %g to %g N, two standard deviations are a factor %.3g", still.Low, still.High, factor)
	}
	for _, cord := range []float64{2.62e-3, 3.53e-3, 5.33e-3} {
		for _, bore := range []float64{45e-3, 60e-3} {
			for rings := 1; rings <= 2; rings++ {
				ring := piston.ORing{Bore: bore, Groove: bore - 1.8*cord, Squeeze: 0.1, Hardness: 70, Rings: rings}
				seal, err := ring.Seal(9e5)
				if err != nil || seal.Constant < still.Low || seal.Constant > still.High || rings == 1 && seal.PerPa > slope.High {
					t.Errorf("%d rings of %g mm in %g mm: %+v, %v", rings, cord*1e3, bore*1e3, seal, err)
				}
			}
		}
	}
	m := testsheet.Build(t, testsheet.Minimal+"[piston.o_ring]\ncord = \"5.33 mm\"\nsqueeze = 0.10\nhardness = 70\n")
	ring := piston.ORing{Bore: 0.05, Groove: 0.05 - 1.8*5.33e-3, Squeeze: 0.1, Hardness: 70, Rings: 1}
	if want, err := ring.Seal(9e5); err != nil || !cmp.Equal(m.Setup.Cylinder.Seal, want, testsheet.Closely) {
		t.Errorf("%+v, want %+v, %v", m.Setup.Cylinder.Seal, want, err)
	}
	for _, d := range m.Defaults {
		if d.Key == "piston.friction" && !(math.Abs(d.High/d.Value-1.5) < 1e-9 && math.Abs(d.Low/d.Value-0.5) < 1e-9) {
			t.Errorf("%+v", d)
		}
	}
}

// TestOdd: values that no usual machine has are doubted at their place, before all
// else, with the unit that they look like; a usual machine is not doubted.
func TestOdd(t *testing.T) {
	if d := testsheet.Build(t, testsheet.Minimal).Doubts; len(d) > 0 {
		t.Errorf("a usual machine: %q", d)
	}
	for _, c := range []struct{ set, want string }{
		{"new.peak=90 bar", `--set new.peak: "90 bar": this looks like psi (6.205 bar); usual is 1 bar to 16 bar`},
		{"new.peak=0.9 bar", `--set new.peak: "0.9 bar": this looks like MPa (9 bar); usual is 1 bar to 16 bar`},
		{"spring.rate=27 N/m", `--set spring.rate: "27 N/m": this looks like N/mm (27 N/mm); usual is 3 N/mm to 150 N/mm`},
		{"spring.preload=70 lbf", ""},
		{"coffee.dose=14 oz", `--set coffee.dose: "14 oz": this looks like g (14 g); usual is 4 g to 40 g`},
		{"water.brew_temperature=5 °C", `--set water.brew_temperature: "5 °C": usual is 60 °C to 100 °C`},
		{"basket.diameter=102 mm", `--set basket.diameter: "102 mm": usual is 30 mm to 80 mm`},
		{"piston.bore=25 mm", `test.toml:9:12: basket.diameter: a basket of 51.0 mm under a bore of 25.0 mm (piston.bore): is one of them a radius, or in another unit?`},
	} {
		d := testsheet.Build(t, testsheet.Minimal, c.set).Doubts
		if got := append(d, "")[0]; got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.set, got, c.want)
		}
	}
}

// TestUsualHoldsPractice: what the table of practice has as usual is doubted nowhere,
// nor is any basket of a common diameter.
func TestUsualHoldsPractice(t *testing.T) {
	doubted := func(key, value, unit string) {
		t.Helper()
		if d := testsheet.Build(t, testsheet.Minimal, key+"="+value+" "+unit, "piston.bore=40 mm").Doubts; strings.Contains(strings.Join(d, ""), "usual is") {
			t.Errorf("%s of %s %s: %q", key, value, unit, d)
		}
	}
	baskets, err := tables.Get("basket-diameters")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range baskets.Rows {
		doubted("basket.diameter", row[0], "mm")
	}
	practice, err := tables.Get("practice")
	if err != nil {
		t.Fatal(err)
	}
	keys := map[string]string{
		"dose, single": "coffee.dose", "dose, double": "coffee.dose", "basket, inner depth": "basket.depth",
		"boiler pressure of a lever machine, gauge": "water.boiler_pressure", "spring peak pressure, gauge": "bench.peak",
		"spring end pressure, gauge": "bench.end_pressure", "cup per pull": "bench.yield", "shot time, lever, with pre-infusion": "bench.shot_time",
		"water at the puck": "water.brew_temperature", "head space over the coffee": "bench.headspace_depth",
	}
	for _, row := range practice.Rows {
		if key, ok := keys[row[0]]; ok {
			delete(keys, row[0])
			doubted(key, row[1], row[3])
			doubted(key, row[2], row[3])
		}
	}
	if len(keys) > 0 {
		t.Errorf("the table has no %v", keys)
	}
}
