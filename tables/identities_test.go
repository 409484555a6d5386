package tables

import (
	"bytes"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

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
		if _, err := WaterDensity(min(kelvin, region1Tmax), must2(SaturationPressure(min(kelvin, region1Tmax)))); err != nil {
			t.Errorf("liquid on its own saturation line: %v", err)
		}
	})
}

func must2(x float64, err error) float64 {
	if err != nil {
		panic(err)
	}
	return x
}

// TestWaterSense: liquid gets thinner and lighter as it warms, denser under
// pressure; air gets thinner with altitude.
func TestWaterSense(t *testing.T) {
	value := must(t)
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
	for _, d := range Defaults() {
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
		"coffee.permeability": 4.6e-15, "coffee.permeability_at": 9e5, "coffee.bulk_density": 450,
		"coffee.retained": 1.1, "coffee.shot_scatter": 0.07, "water.brew_temperature": 363.15,
		"pull.preinfusion": 10, "coffee.transient_size": 4.5,
	} {
		d, ok := DefaultFor(key)
		if !ok || math.Abs(d.Value/want-1) > 1e-12 {
			t.Errorf("%s = %g, want %g", key, d.Value, want)
		}
	}
	for key, want := range map[string]float64{
		"chamber.air": 3e-6, "piston.friction": 60, "piston.friction_per_pressure": 8e-5, "piston.mass": 0.6,
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
	if !errors.Is(err, ErrName) || !strings.Contains(err.Error(), "near: if97-region1, if97-region4;") {
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
