package tables

import (
	"bytes"
	"errors"
	"flag"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The property tests draw the same in every run; DEVELOPERS.md says how to draw anew.
func init() { _ = flag.Set("rapid.seed", "1") }

// Evidence grade B: laws that hold whatever any book says.

func TestSaturationRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kelvin := rapid.Float64Range(273.16, 647).Draw(t, "T")
		p, err := SaturationPressure(kelvin)
		if err != nil {
			t.Fatal(err)
		}
		back, err := SaturationTemperature(p)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(back/kelvin-1) > 1e-10 {
			t.Errorf("%g K boils at %g Pa, which boils at %g K", kelvin, p, back)
		}
		if _, err := WaterDensity(min(kelvin, region1Tmax), must(SaturationPressure(min(kelvin, region1Tmax)))); err != nil {
			t.Errorf("liquid on its own saturation line: %v", err)
		}
	})
}

// TestWaterSense: liquid gets thinner and lighter as it warms, denser under
// pressure; air gets thinner with altitude.
func TestWaterSense(t *testing.T) {
	value := must[float64]
	for c := 5.0; c < 120; c++ {
		kelvin, warmer := c+273.15, c+274.15
		rho, warm := value(WaterDensity(kelvin, 10e5)), value(WaterDensity(warmer, 10e5))
		if !(warm < rho) {
			t.Errorf("density rises at %g °C", c)
		}
		if !(value(WaterDensity(kelvin, 11e5)) > rho) {
			t.Errorf("density falls under pressure at %g °C", c)
		}
		if !(value(WaterViscosity(warmer, warm)) < value(WaterViscosity(kelvin, rho))) {
			t.Errorf("viscosity rises at %g °C", c)
		}
	}
	for h := -2000.0; h < 11000; h += 100 {
		if !(value(Atmosphere(h+100)) < value(Atmosphere(h))) {
			t.Errorf("pressure rises above %g m", h)
		}
	}
}

// TestOutsideTheRange: never a number, always the range.
func TestOutsideTheRange(t *testing.T) {
	for _, c := range []struct {
		what string
		f    func(float64) (float64, error)
		bad  []float64
		says string
	}{
		{"SaturationPressure", SaturationPressure, []float64{273.1, 647.1}, "273.15 to 647.096 K"},
		{"SaturationTemperature", SaturationTemperature, []float64{611, 22.1e6}, "611.213 to 2.2064e+07 Pa"},
		{"WaterDensity, T", func(x float64) (float64, error) { return WaterDensity(x, 20e6) }, []float64{273.1, 623.2}, "273.15 to 623.15 K"},
		{"WaterDensity, p", func(x float64) (float64, error) { return WaterDensity(400, x) }, []float64{2.4e5, 100.1e6}, "1e+08 Pa"},
		{"WaterViscosity, T", func(x float64) (float64, error) { return WaterViscosity(x, 900) }, []float64{273.1, 1173.2}, "273.15 to 1173.15 K"},
		{"WaterViscosity, ρ", func(x float64) (float64, error) { return WaterViscosity(400, x) }, []float64{0, 1201}, "0 to 1200 kg/m³"},
		{"WaterViscosity, critical", func(x float64) (float64, error) { return WaterViscosity(647.1, x) }, []float64{246, 322, 405}, "critical point"},
		{"Atmosphere", Atmosphere, []float64{-2001, 11001}, "-2000 to 11000 m"},
	} {
		for _, x := range append(c.bad, math.Inf(1), math.Inf(-1), math.NaN()) {
			got, err := c.f(x)
			if !errors.Is(err, ErrRange) || got != 0 {
				t.Errorf("%s(%g) = %g, %v; want ErrRange", c.what, x, got, err)
			} else if slices.Contains(c.bad, x) && !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s(%g): %q does not say %q", c.what, x, err, c.says)
			}
		}
	}
}

// TestDefaultsInRange: every default lies inside its own range, has a source and
// a shape that fits the range.
func TestDefaultsInRange(t *testing.T) {
	seen := map[string]bool{}
	for _, d := range defaults() {
		if !(d.Low <= d.Value && d.Value <= d.High) {
			t.Errorf("%s: %g outside %g to %g", d.Key, d.Value, d.Low, d.High)
		}
		switch d.Shape {
		case "uniform", "triangular":
		case "normal":
			if !(d.Low < d.Value && d.Value < d.High) {
				t.Errorf("%s: normal without a width", d.Key)
			}
		case "lognormal": // the median is the geometric mean of the ends, within their scatter
			if middle := math.Sqrt(d.Low * d.High); !(math.Abs(d.Value/middle-1) < 0.1) {
				t.Errorf("%s: lognormal, %g far from the middle %g", d.Key, d.Value, middle)
			}
		default:
			t.Errorf("%s: no shape %q", d.Key, d.Shape)
		}
		if d.Source == "" || !slices.Contains(Grades(), d.Grade) || d.Unit == "" || seen[d.Key] {
			t.Errorf("%s: source %q, grade %q, unit %q, listed before: %t", d.Key, d.Source, d.Grade, d.Unit, seen[d.Key])
		}
		seen[d.Key] = true
	}
	if _, ok := DefaultFor("coffee.none"); ok {
		t.Error("a default that nobody gave")
	}
}

// TestDefaultsInSI reads one default of each printed unit.
func TestDefaultsInSI(t *testing.T) {
	for key, want := range map[string]float64{
		"coffee.permeability": 4.49e-15, "coffee.permeability_at": 9e5, "coffee.bulk_density": 450,
		"coffee.retained": 1.1, "coffee.shot_scatter": 0.07, "water.brew_temperature": 363.15,
		"pull.preinfusion": 10, "coffee.blocking": 0.386, "coffee.soaking": 0.05,
	} {
		d, ok := DefaultFor(key)
		if !ok || math.Abs(d.Value/want-1) > 1e-12 {
			t.Errorf("%s = %g, want %g", key, d.Value, want)
		}
	}
	for key, want := range map[string]float64{
		"chamber.air": 3e-6, "piston.friction": 110, "piston.friction_per_pressure": 8e-5, "piston.mass": 0.6,
	} {
		if d, _ := DefaultFor(key); math.Abs(d.High/want-1) > 1e-12 {
			t.Errorf("%s up to %g, want %g", key, d.High, want)
		}
	}
}

// TestEveryFileHasItsHead: every file states where its figures are from, every
// row is full, and no file holds what a reader cannot use.
func TestEveryFileHasItsHead(t *testing.T) {
	for _, info := range List() {
		table, err := Get(info.Name)
		if err != nil {
			t.Fatal(err)
		}
		for field, text := range map[string]string{
			"title": info.Title, "source": info.Source, "units": info.Units, "valid": info.Valid,
			"obtained": info.Obtained, "errata": info.Errata, "grade": string(info.Grade),
		} {
			if text == "" || strings.Contains(text, "://") || strings.Contains(text, "../") {
				t.Errorf("%s: %s is %q", info.Name, field, text)
			}
		}
		for i, row := range table.Rows {
			for j, cell := range row {
				if strings.TrimSpace(cell) != cell {
					t.Errorf("%s, row %d: space around %q", info.Name, i+1, cell)
				}
				if strings.TrimSpace(table.Header[j]) == "" {
					t.Errorf("%s: column %d has no name", info.Name, j+1)
				}
			}
		}
	}
}

// TestTablesObeyTheirLaws holds every table to the laws of checks_test.go.
func TestTablesObeyTheirLaws(t *testing.T) {
	for name, law := range checks {
		if err := law(get(name)); err != nil {
			t.Error(err)
		}
	}
}

// TestMalformedFiles: each way in which a data file can be wrong is refused.
func TestMalformedFiles(t *testing.T) {
	good, err := files.ReadFile("data/defaults.csv")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := parse("defaults", good); err != nil {
		t.Fatal(err)
	}
	for _, field := range []string{"source", "units", "valid", "obtained", "errata", "grade"} {
		if _, err := parse("x", bytes.Replace(good, []byte("# "+field+":"), []byte("# remark:"), 1)); err == nil {
			t.Errorf("accepted without %s", field)
		}
	}
	for what, change := range map[string][2]string{
		"grade of a row":  {",derived,", ",certain,"},
		"grade of all":    {"# grade:    by row", "# grade:    sure"},
		"no grade column": {"shape,grade,source", "shape,trust,source"},
		"ragged row":      {"coffee.retained,1.1,", "coffee.retained,1.1,,"},
	} {
		if _, err := parse("x", bytes.Replace(good, []byte(change[0]), []byte(change[1]), 1)); err == nil {
			t.Errorf("accepted: %s", what)
		}
	}
	if _, err := parse("x", good[:bytes.Index(good, []byte("\nkey,"))+1]); err == nil {
		t.Error("accepted a file without rows")
	}
}

func TestGet(t *testing.T) {
	_, err := Get("if97-region9")
	if !errors.Is(err, ErrName) || !strings.Contains(err.Error(), "near: if97-region1, if97-region4") {
		t.Errorf("got %v", err)
	}
	table, err := Get("defaults")
	if err != nil {
		t.Fatal(err)
	}
	table.Rows[0][1] = "changed"
	table.Header[0] = "changed"
	if again := get("defaults"); again.Rows[0][1] == "changed" || again.Header[0] == "changed" {
		t.Error("a caller can change the data")
	}
}

// TestStrengthSense: every wire has a strength at every size of its range, it
// does not rise with the diameter, and no spring wire is under 800 MPa. The
// exception is phosphor bronze, which the standard lists down to 105 ksi (724 MPa).
func TestStrengthSense(t *testing.T) {
	for _, w := range Wires() {
		least := 800e6
		if w.Name == "B159" {
			least = 720e6
		}
		low, high := w.Sizes()
		low = max(low, 0.1*mm)
		before := Strength{Min: math.Inf(1)}
		const steps = 400
		for i := range steps + 1 {
			d := low * math.Pow(high/low, float64(i)/steps)
			s, err := w.Strength(min(d, high))
			if err != nil {
				t.Errorf("%s at %.4g mm: %v", w.Name, d/mm, err)
				continue
			}
			if !(s.Min >= least) || s.Max != 0 && !(s.Max > s.Min) {
				t.Errorf("%s at %.4g mm: %.0f to %.0f MPa", w.Name, d/mm, s.Min/mpa, s.Max/mpa)
			}
			if s.Table == before.Table && !(s.Min <= before.Min*(1+1e-12)) {
				t.Errorf("%s: strength rises at %.4g mm", w.Name, d/mm)
			}
			if s.Source == "" || !slices.Contains(Grades(), s.Grade) {
				t.Errorf("%s at %.4g mm: source %q, grade %q", w.Name, d/mm, s.Source, s.Grade)
			}
			before = s
		}
		for _, d := range []float64{0, -1 * mm, high * 1.01, math.NaN(), math.Inf(1)} {
			if s, err := w.Strength(d); !errors.Is(err, ErrRange) || s != (Strength{}) {
				t.Errorf("%s at %g mm: %v, %v; want ErrRange", w.Name, d/mm, s, err)
			}
		}
	}
}

// TestInterpolation: between two listed sizes the strength lies on the line in
// log d; in bands it is the band's, with its grade.
func TestInterpolation(t *testing.T) {
	w := wire(t, "A228")
	a, b, d := 0.225*in, 0.250*in, math.Sqrt(0.225*0.250)*in
	got, err := w.Strength(d)
	if err != nil {
		t.Fatal(err)
	}
	if want := (235 + 230) / 2.0 * ksi; math.Abs(got.Min/want-1) > 1e-12 {
		t.Errorf("half way in log d: %.3f ksi, want %.3f", got.Min/ksi, want/ksi)
	}
	if want := (260 + 255) / 2.0 * ksi; math.Abs(got.Max/want-1) > 1e-12 {
		t.Errorf("half way in log d: at most %.3f ksi, want %.3f", got.Max/ksi, want/ksi)
	}
	for _, d := range []float64{a, b} {
		if s, _ := w.Strength(d); s.Note != "" {
			t.Errorf("listed size %g mm: %s", d/mm, s.Note)
		}
	}
	if got.Note != "interpolated in log d between 5.715 and 6.35 mm" {
		t.Error(got.Note)
	}
	// Rows of 1.20, 1.25 (weak) and 1.30 mm of EN 10270-1.
	s, _ := wire(t, "EN 10270-1 SH").Strength(1.21 * mm)
	if s.Grade != Weak || math.Abs(s.Min/2140e6-1) > 1e-12 || s.Note != "band over 1.2 to 1.25 mm" {
		t.Errorf("%+v", s)
	}
}

// TestStrengths: the list comes first, the fits follow, and both are there to
// compare.
func TestStrengths(t *testing.T) {
	var names []string
	for _, s := range wire(t, "A228").Strengths(2 * mm) {
		names = append(names, s.Table)
	}
	if want := []string{"astm-a228", "shigley-sut", "norton-sut"}; !slices.Equal(names, want) {
		t.Errorf("got %v, want %v", names, want)
	}
	s, err := wire(t, "A232").Strength(4 * mm)
	if err != nil || s.Table != "shigley-sut" || s.Note == "" || s.Grade != FromMemory {
		t.Errorf("%+v, %v", s, err)
	}
	s, err = wire(t, "A313-631").Strength(4 * mm)
	if err != nil || s.Table != "fit-17-7ph-sut" || s.Grade != Derived {
		t.Errorf("%+v, %v", s, err)
	}
}

// TestWiresComplete: what each wire must have, and in which limits.
func TestWiresComplete(t *testing.T) {
	within := func(w Wire, what string, x, low, high float64) {
		t.Helper()
		if !(x >= low && x <= high) {
			t.Errorf("%s: %s %g, want %g to %g", w.Name, what, x, low, high)
		}
	}
	for _, w := range Wires() {
		within(w, "density", w.Density, 7700, 8900)
		within(w, "GTemp", w.GTemp, 0.2e-3, 0.5e-3)
		if w.ServiceTemp != 0 {
			within(w, "service temperature", w.ServiceTemp, 370, 620)
			within(w, "service temperature, high", w.ServiceTempHigh, w.ServiceTemp, 640)
		}
		if w.ElasticLow != 0 {
			within(w, "elastic limit", w.ElasticLow, 0.4, 0.7)
			within(w, "elastic limit, high", w.ElasticHigh, w.ElasticLow, 0.8)
		}
		low, high := w.Sizes()
		m, err := w.Moduli(math.Sqrt(max(low, 0.2*mm) * high))
		if err != nil {
			t.Error(err)
			continue
		}
		within(w, "E", m.E, 100e9, 210e9)
		within(w, "Poisson's ratio", m.E/(2*m.G)-1, 0.2, 0.4)
		allowed := w.Allowables()
		if len(allowed) != 2 {
			t.Errorf("%s: %d allowables", w.Name, len(allowed))
		}
		for _, a := range allowed {
			within(w, a.Condition, a.Low, 0.3, 0.7)
			within(w, a.Condition, a.High, a.Low, 0.75)
			if a.Correction == "" || a.Source == "" || a.Grade == "" {
				t.Errorf("%s: %+v", w.Name, a)
			}
		}
		if w.Title == "" || w.Source == "" || !slices.Contains(Grades(), w.Grade) || m.Source == "" {
			t.Errorf("%s: title %q, source %q, grade %q", w.Name, w.Title, w.Source, w.Grade)
		}
		if same, err := WireByName("astm " + strings.ToLower(w.Name)); err != nil || same != w {
			t.Errorf("astm %s: %v", w.Name, err)
		}
		if w.relaxation != "" {
			if s, ok := w.Relaxation(); !ok || !(s.Temp > 380 && s.Temp < 600 && s.Stress > 200e6 && s.Stress < 520e6) || s.Source == "" || s.Grade != FromMemory {
				t.Errorf("%s: %+v, %t", w.Name, s, ok)
			}
		} else if _, ok := w.Relaxation(); ok {
			t.Errorf("%s has a screening limit that nobody gave", w.Name)
		}
	}
}

// TestWireInFull reads one wire, every field.
func TestWireInFull(t *testing.T) {
	w := wire(t, "A228")
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"density", w.Density, 7850},
		{"GTemp", w.GTemp, 0.25e-3},
		{"service temperature", w.ServiceTemp, 393.15},
		{"elastic limit, low", w.ElasticLow, 0.45},
		{"elastic limit, high", w.ElasticHigh, 0.60},
		{"before set removal", w.Allowables()[0].Low, 0.45},
		{"after set removal", w.Allowables()[1].High, 0.70},
	} {
		if math.Abs(c.got/c.want-1) > 1e-12 {
			t.Errorf("%s: %g, want %g", c.what, c.got, c.want)
		}
	}
	s, _ := w.Relaxation() // 250 °F, 75 ksi
	if math.Abs(s.Temp-394.261) > 1e-3 || math.Abs(s.Stress/ksi-75) > 1e-9 {
		t.Errorf("screening limit %+v", s)
	}
	if w := wire(t, "A313-302"); math.Abs(w.ServiceTempHigh-573.15) > 1e-9 {
		t.Errorf("302 up to %g K", w.ServiceTempHigh)
	}
}

func TestUnknownNames(t *testing.T) {
	names := func(x any, err error) error { return err }
	for _, c := range []struct {
		err  error
		says string
	}{
		{names(WireByName("A999")), "known: A227 (hard-drawn wire class I)"},
		{names(WireByName("music")), "near: A228 (music wire)"},
		{names(WireByName("EN 10270-1")), "near: EN 10270-1 SL"},
		{names(PreferredDiameters("inch")), "known: ASTM A228, ASTM A229, DIN 2098, EN 10270-1, metric, music wire, steel wire"},
		{names(WireTolerance("EN 1", 1*mm)), "EN 10218-2"},
		{names(wire(t, "A227").FiniteLife(Life{Cycles: 1e6})), "A227"},
	} {
		if !errors.Is(c.err, ErrName) || !strings.Contains(c.err.Error(), c.says) {
			t.Errorf("got %v, want ErrName with %q", c.err, c.says)
		}
	}
}

// TestLookupsOutsideTheRange: the typed lookups refuse what their source has not.
func TestLookupsOutsideTheRange(t *testing.T) {
	coil := func(class int, d, w float64) error {
		_, err := CoilTolerance(Coil{Class: class, Diameter: d, Index: w})
		return err
	}
	if err := coil(2, 30*mm, 8); err != nil {
		t.Fatal(err)
	}
	second := func(_ any, err error) error { return err }
	nan := math.NaN()
	for what, err := range map[string]error{
		"coil class":          coil(0, 30*mm, 8),
		"coil index":          coil(1, 30*mm, 3.9),
		"coil index NaN":      coil(1, 30*mm, nan),
		"coil too large":      coil(1, 201*mm, 8),
		"coil too small":      coil(1, 0.63*mm, 8),
		"coil NaN":            coil(1, nan, 8),
		"wire tolerance":      second(WireTolerance("EN 10218-2", 0.04*mm)),
		"wire tolerance high": second(WireTolerance("ASTM A228", 7*mm)),
		"wire tolerance NaN":  second(WireTolerance("ASTM A228", nan)),
		"wire tolerance 0":    second(WireTolerance("ASTM A228", 0)),
		"moduli":              second(wire(t, "A228").Moduli(7 * mm)),
		"moduli, thin":        second(wire(t, "A228").Moduli(0.1 * mm)),
		"moduli NaN":          second(wire(t, "B159").Moduli(nan)),
		"cycles":              second(wire(t, "A228").FiniteLife(Life{Cycles: 1e4})),
		"cycles NaN":          second(wire(t, "A228").FiniteLife(Life{Cycles: nan})),
		"hand":                second(EffortOf(-1)),
		"hand NaN":            second(EffortOf(nan)),
		"hand infinite":       second(EffortOf(math.Inf(1))),
	} {
		if !errors.Is(err, ErrRange) {
			t.Errorf("%s: %v, want ErrRange", what, err)
		}
	}
}

// TestFiniteLife: listed points, straight in log N between them, more with peening,
// and valve wire bears more.
func TestFiniteLife(t *testing.T) {
	share := func(name string, l Life) float64 {
		t.Helper()
		s, err := wire(t, name).FiniteLife(l)
		if err != nil || s.Source == "" || s.Grade != FromMemory {
			t.Fatalf("%+v, %v", s, err)
		}
		return s.Value
	}
	for _, c := range []struct {
		wire string
		life Life
		want float64
	}{
		{"A228", Life{Cycles: 1e5}, 0.36},
		{"A228", Life{Cycles: 1e7, Peened: true}, 0.36},
		{"A228", Life{Cycles: math.Sqrt(1e5 * 1e6)}, 0.345},
		{"A232", Life{Cycles: 1e6, Peened: true}, 0.47},
		{"A313-302", Life{Cycles: 1e6}, 0.33},
		{"B159", Life{Cycles: 1e6}, 0.33},
		{"EN 10270-1 DH", Life{Cycles: math.Sqrt(1e6 * 1e7)}, 0.315},
	} {
		if got := share(c.wire, c.life); math.Abs(got/c.want-1) > 1e-12 {
			t.Errorf("%s, %+v: %g, want %g", c.wire, c.life, got, c.want)
		}
	}
}

// TestPeopleAndSeals: the lists hold what they should, in order.
func TestPeopleAndSeals(t *testing.T) {
	professional := map[string]float64{}
	for _, h := range HandForces() {
		if h.Use == "professional" {
			professional[h.Action] = h.Force
		} else if f, ok := professional[h.Action]; !ok || !(h.Force < f) {
			t.Errorf("%s at home: %g N, at work %g N", h.Action, h.Force, f)
		}
		if h.Source == "" || !slices.Contains(Grades(), h.Grade) {
			t.Errorf("%+v", h)
		}
	}
	if professional["one arm down, seated"] != 75 {
		t.Error("EN 1005-3 has 75 N down")
	}
	for _, c := range []struct {
		force float64
		words string
	}{{0, "comfortable for most"}, {75, "comfortable for most"}, {76, "acceptable"}, {200, "heavy"}, {1000, "two hands"}} {
		e, err := EffortOf(c.force)
		if err != nil || !strings.Contains(e.Words, c.words) || !(c.force >= e.Over && c.force <= e.To) || e.Grade != Derived || e.Source == "" {
			t.Errorf("%g N: %+v, %v", c.force, e, err)
		}
	}
	for action, want := range map[string][2]float64{"pull": {107, 249}, "down": {58, 116}} {
		f, err := ArmForceOf(action)
		if err != nil || f.Low != want[0] || f.High != want[1] || f.Source == "" || f.Grade != FromMemory {
			t.Errorf("one arm %s: %+v, %v; want %v", action, f, err, want)
		}
	}
	if _, err := ArmForceOf("sideways"); !errors.Is(err, ErrName) || !strings.Contains(err.Error(), "down, in, out, pull, push, up") {
		t.Errorf("one arm sideways: %v", err)
	}
}

// TestPreferredDiameters: every series rises, and R10 is in SI.
func TestPreferredDiameters(t *testing.T) {
	for name, n := range map[string]int{"metric": 44, "EN 10270-1": 89, "DIN 2098": 15} {
		d, err := PreferredDiameters(name)
		if err != nil || len(d) != n || !slices.IsSorted(d) || !slices.Contains(d, toSI(2, "mm")) {
			t.Errorf("%s: %d sizes %v, %v", name, len(d), d, err)
		}
	}
}

// TestInchDiameters: the inch series rise, hold their ends and a size that every US
// winder has, 0.080 in, and give each gauge number's diameter once.
func TestInchDiameters(t *testing.T) {
	same := func(a, b, rel float64) bool { return math.Abs(a-b) <= rel*b }
	for name, c := range map[string]struct {
		n         int
		low, high float64 // [in]
	}{"ASTM A228": {58, 0.004, 0.250}, "ASTM A229": {30, 0.020, 0.625}, "music wire": {51, 0.004, 0.180}, "steel wire": {37, 0.0140, 0.4900}} {
		d, err := PreferredDiameters(name)
		if err != nil || len(d) != c.n || !slices.IsSorted(d) || !same(d[0], c.low*in, 1e-12) || !same(d[len(d)-1], c.high*in, 1e-12) ||
			!slices.ContainsFunc(d, func(x float64) bool { return same(x, 0.080*in, 1e-9) }) {
			t.Errorf("%s: %d sizes %v, %v", name, len(d), d, err)
		}
	}
}

// TestDiagnosisPriors: names are single, kinds known, faults are probabilities,
// efforts and spreads above 0, and the 95 % of a sound seal's friction is what
// its basis says.
func TestDiagnosisPriors(t *testing.T) {
	seen := map[string]bool{}
	for _, p := range DiagnosisPriors() {
		if seen[p.Name] || p.Basis == "" || !(p.Value > 0) {
			t.Errorf("%+v: named twice, without basis or not above 0", p)
		}
		seen[p.Name] = true
		if !slices.Contains([]string{"prior", "spread", "effort"}, p.Kind) {
			t.Errorf("%s: kind %q", p.Name, p.Kind)
		}
		if strings.HasPrefix(p.Name, "fault.") && !(p.Value < 1) {
			t.Errorf("%s: %g is no probability", p.Name, p.Value)
		}
		if again, ok := DiagnosisPriorFor(p.Name); !ok || again != p {
			t.Errorf("%s is not found by its name", p.Name)
		}
	}
	median, _ := DiagnosisPriorFor("sound.seal")
	factor, _ := DiagnosisPriorFor("sound.seal_factor")
	if low, high := median.Value*math.Pow(factor.Value, -1.96), median.Value*math.Pow(factor.Value, 1.96); math.Abs(low-8) > 0.5 || math.Abs(high-110) > 3 {
		t.Errorf("95 %% of sound seals between %.1f and %.1f N, want 8 to 110", low, high)
	}
	if _, ok := DiagnosisPriorFor("fault.moon"); ok {
		t.Error("a fault of the moon")
	}
}
