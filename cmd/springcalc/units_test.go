package main

import (
	"flag"
	"math"
	"slices"
	"testing"

	"github.com/alecthomas/kong"
	"pgregory.net/rapid"
)

// The property tests draw the same in every run; DEVELOPERS.md says how to draw anew.
func init() { _ = flag.Set("rapid.seed", "1") }

// TestParseQuantity reads what people write. The values in SI follow from the
// definitions of the units (NIST SP 811, appendix B.8), by hand.
func TestParseQuantity(t *testing.T) {
	const psi = 4.4482216152605 / (25.4e-3 * 25.4e-3)
	for _, c := range []struct {
		text  string
		dim   *dimension
		value float64
		plus  float64
		shape shape
	}{
		{"58 mm", dimLength, 0.058, 0, normal},
		{"58mm", dimLength, 0.058, 0, normal},
		{" 5.8 cm ", dimLength, 0.058, 0, normal},
		{"1/8 in", dimLength, 3.175e-3, 0, normal},
		{"1 3/8 in", dimLength, 34.925e-3, 0, normal},
		{"1-3/8 in", dimLength, 34.925e-3, 0, normal},
		{"1⅜″", dimLength, 34.925e-3, 0, normal},
		{`-1 3/8"`, dimLength, -34.925e-3, 0, normal},
		{"62 thou", dimLength, 1.5748e-3, 0, normal},
		{"\u22122 mm", dimLength, -2e-3, 0, normal},
		{"1.5e2 μm", dimLength, 150e-6, 0, normal}, // Greek mu
		{"150 µm", dimLength, 150e-6, 0, normal},   // micro sign
		{"12.5 N/mm", dimRate, 12500, 0, normal},
		{"71 lbf/in", dimRate, 71 * 4.4482216152605 / 25.4e-3, 0, normal},
		{"2 kgf/mm", dimRate, 19613.3, 0, normal},
		{"9 bar", dimPressure, 9e5, 0, normal},
		{"130 psi", dimPressure, 130 * psi, 0, normal},
		{"950 hPa", dimPressure, 95e3, 0, normal},
		{"79 GPa", dimStress, 79e9, 0, normal},
		{"600 N/mm²", dimStress, 600e6, 0, normal},
		{"600 N/mm^2", dimStress, 600e6, 0, normal},
		{"30 mL", dimVolume, 30e-6, 0, normal},
		{"30 cm3", dimVolume, 30e-6, 0, normal},
		{"1 fl oz", dimVolume, 29.5735295625e-6, 0, normal},
		{"14 g", dimMass, 0.014, 0, normal},
		{"1/2 oz", dimMass, 0.45359237 / 32, 0, normal},
		{"0.5 min", dimTime, 30, 0, normal},
		{"2 years", dimTime, 2 * 365.25 * 86400, 0, normal},
		{"93 °C", dimTemperature, 366.15, 0, normal},
		{"93C", dimTemperature, 366.15, 0, normal},
		{"212 °F", dimTemperature, 373.15, 0, normal},
		{"300 K", dimTemperature, 300, 0, normal},
		{"9 °F", dimTempDiff, 5, 0, normal},
		{"4.5 bar·s/mL", dimResistance, 4.5e11, 0, normal},
		{"4.5 bar s/mL", dimResistance, 4.5e11, 0, normal},
		{"4.5 bar*s/ml", dimResistance, 4.5e11, 0, normal},
		{"4.5e11 Pa·s/m³", dimResistance, 4.5e11, 0, normal},
		{"4.5e-15 m²", dimPermeability, 4.5e-15, 0, normal},
		{"5 N/bar", dimDrag, 5e-5, 0, normal},
		{"0.45 g/cm³", dimDensity, 450, 0, normal},
		{"0.35 mPa·s", dimViscosity, 0.35e-3, 0, normal},
		{"12 J", dimEnergy, 12, 0, normal},
		{"3 N·mm", dimTorque, 3e-3, 0, normal},
		{"10 ft·lbf", dimEnergy, 10 * 0.3048 * 4.4482216152605, 0, normal},
		{"90°", dimAngle, math.Pi / 2, 0, normal},
		{"86400 /day", dimFrequency, 1, 0, normal},
		{"86400 1/day", dimFrequency, 1, 0, normal},
		{"2 s^-1", dimFrequency, 2, 0, normal},
		{"1.1 g/g", dimRatio, 1.1, 0, normal},
		{"7 %", dimRatio, 0.07, 0, normal},
		{"7.5", dimNumber, 7.5, 0, normal},
		{"7 1/2", dimNumber, 7.5, 0, normal},
		{"4.00 mm ± 0.02 mm", dimLength, 4e-3, 0.02e-3, normal},
		{"4.00 ± 0.02 mm", dimLength, 4e-3, 0.02e-3, normal},
		{"4.00 mm +- 20 µm (uniform)", dimLength, 4e-3, 0.02e-3, uniform},
		{"4.00 mm +/- 0.02 mm (triangular)", dimLength, 4e-3, 0.02e-3, triangular},
		{"9 bar ± 2 % (normal)", dimPressure, 9e5, 0.18e5, normal},
		{"-9 bar ± 2 %", dimPressure, -9e5, 0.18e5, normal},
		{"93 °C ± 2 °C", dimTemperature, 366.15, 2, normal},
		{"200 ± 9 °F", dimTemperature, 659.67 * 5 / 9, 5, normal},
		{"7.5 ± 0.25 (uniform)", dimNumber, 7.5, 0.25, uniform},
		{"9 bar ± 0 bar (uniform)", dimPressure, 9e5, 0, normal},
	} {
		got, err := parseQuantity(c.text, c.dim)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		if !near(got.Value, c.value) || !near(got.Plus, c.plus) || got.Shape != c.shape {
			t.Errorf("%q: got %v ± %v (%v), want %v ± %v (%v)", c.text, got.Value, got.Plus, got.Shape, c.value, c.plus, c.shape)
		}
	}
}

// near allows what the order of multiplications can do to the last digits.
func near(a, b float64) bool { return math.Abs(a-b) <= 4e-16*math.Abs(b) }

// TestWholeIsExact: a whole number of a decimal unit is the same float64 as if
// it had been written in SI.
func TestWholeIsExact(t *testing.T) {
	for _, c := range []struct {
		text string
		dim  *dimension
		want float64
	}{{"9 mm", dimLength, 0.009}, {"51 mm", dimLength, 0.051}, {"33 mL", dimVolume, 33e-6}, {"3 mPa·s", dimViscosity, 0.003}, {"1.1 g/g", dimRatio, 1.1}} {
		if q, err := parseQuantity(c.text, c.dim); err != nil || q.Value != c.want {
			t.Errorf("%q: got %v, %v, want %v", c.text, q.Value, err, c.want)
		}
	}
}

// TestParseQuantityErrors holds the messages to saying what would be right.
func TestParseQuantityErrors(t *testing.T) {
	for _, c := range []struct {
		text string
		dim  *dimension
		want string
	}{
		{"", dimLength, "want a number first"},
		{"mm", dimLength, "want a number first"},
		{"58", dimLength, `has no unit; write it as "58 mm"`},
		{"58 mmm", dimLength, `unknown unit "mmm" (did you mean "mm"?); a length takes mm, cm, m, in or ft`},
		{"58 MM", dimLength, `unknown unit "MM" (did you mean "mm"?); a length takes mm, cm, m, in or ft`},
		{"40 n/mm", dimRate, `unknown unit "n" (did you mean "N"?); a rate takes N/mm, N/m, lbf/in or kgf/mm`},
		{"40 N/nm", dimRate, `unknown unit "nm" (did you mean "mm"?); a rate takes N/mm, N/m, lbf/in or kgf/mm`},
		{"40 N/", dimRate, "the unit breaks off; a rate takes N/mm, N/m, lbf/in or kgf/mm"},
		{"40 N", dimRate, `"N" is not the unit of a rate, which takes N/mm, N/m, lbf/in or kgf/mm`},
		{"71 lb/in", dimRate, `"lb/in" is not the unit of a rate, which takes N/mm, N/m, lbf/in or kgf/mm`},
		{"6,5 bar", dimPressure, `decimal comma; write "6.5 bar"`},
		{"1_0 mm", dimLength, `cannot read the unit at "_0 mm"; a length takes mm, cm, m, in or ft`},
		{"0x10 mm", dimLength, `unknown unit "x"; a length takes mm, cm, m, in or ft`},
		{"inf mm", dimLength, "want a number first"},
		{"nan", dimNumber, "want a number first"},
		{"1e400 mm", dimLength, "too large a number"},
		{"1e308 years", dimTime, "too large a number"},
		{"5 mm^7", dimPermeability, `power "^7" of a unit; known are ², ³ and ^-1`},
		{"5 m·m·m·m·m·m·m·m·m", dimLength, "too long a unit"},
		{"93 °C/s", dimTemperature, "a temperature in a product is a difference: write K"},
		{"7.5 mm", dimNumber, `want a plain number, without "mm"`},
		{"4 mm ± 0.02", dimLength, "the ± has no unit; write it with one, or in %"},
		{"4 ± 0.02", dimLength, `has no unit; write it as "4 mm"`},
		{"4 mm ± -0.02 mm", dimLength, "after ±: want no sign"},
		{"4 mm ± x", dimLength, "after ±: want a number first"},
		{"4 mm ± 1 s", dimLength, `after ±: "s" is not the unit of a length, which takes mm, cm, m, in or ft`},
		{"93 °C ± 2 %", dimTemperature, "± in % of a temperature can be read two ways; write it in °C"},
		{"4 mm (uniform)", dimLength, `"(uniform)" says how a ± is spread, and there is no ±`},
		{"4 mm ± 1 mm (square)", dimLength, `unknown "(square)"; a ± may be (normal), (uniform), (triangular)`},
	} {
		if q, err := parseQuantity(c.text, c.dim); err == nil {
			t.Errorf("%q: got %v, want an error", c.text, q)
		} else if err.Error() != c.want {
			t.Errorf("%q:\ngot  %v\nwant %s", c.text, err, c.want)
		}
	}
}

// TestSigma: the variance of a uniform distribution of half-width a is a²/3, of
// a triangular one a²/6 (JCGM 100:2008, 4.3.7 and 4.3.9); ± of a normal one is
// two standard deviations by our own rule.
func TestSigma(t *testing.T) {
	for s, variance := range map[shape]float64{normal: 36. / 4, uniform: 36. / 3, triangular: 36. / 6} {
		if got := (quantity{Plus: 6, Shape: s}).sigma(); !near(got*got, variance) {
			t.Errorf("%v: variance %v, want %v", s, got*got, variance)
		}
	}
}

var dimensions = []*dimension{
	dimLength, dimForce, dimPressure, dimStress, dimRate, dimVolume, dimMass, dimTime, dimTemperature,
	dimTempDiff, dimResistance, dimPermeability, dimFlow, dimEnergy, dimTorque, dimAngle, dimDrag,
	dimDensity, dimViscosity, dimFrequency, dimRatio, dimNumber,
}

// TestOfferedUnits: what a message offers can be written.
func TestOfferedUnits(t *testing.T) {
	for _, dim := range dimensions {
		for _, unit := range dim.units {
			if _, err := parseQuantity("1 "+unit, dim); err != nil {
				t.Errorf("%s: 1 %s: %v", dim.name, unit, err)
			}
		}
	}
}

// TestDisplay: a display prints what reads back as the same value.
func TestDisplay(t *testing.T) {
	for _, d := range []display{
		inMM, inN, inBar, inMPa, inNPerMM, inML, inG, inS, inYears, inC, inBarSPerML, inMLPerS,
		inJ, inNM, inDeg, inNPerBar, inGPerCM3, inMPaS, inPercent, inHz, inSquareUM, inDifference,
	} {
		q, err := parseQuantity("12.25 "+d.symbol, d.dim)
		if err != nil {
			t.Errorf("%s: %v", d.symbol, err)
			continue
		}
		if got, want := d.text(q.Value, 2), "12.25 "+d.symbol; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// TestFlags: kong reads every kind of flag, and its errors name flag and text.
func TestFlags(t *testing.T) {
	var c struct {
		Length      *lengthFlag
		Force       forceFlag
		Pressure    pressureFlag
		Time        timeFlag
		Temperature temperatureFlag
		Angle       angleFlag
		Preload     *forceFlag
	}
	parser, err := kong.New(&c, kong.Name("test"), kong.WithHyphenPrefixedParameters(true))
	if err != nil {
		t.Fatal(err)
	}
	_, err = parser.Parse([]string{
		"--length", "-2 mm ± 1 mm", "--force=3 N", "--pressure=4 bar", "--time=7 s",
		"--temperature=8 °C", "--angle=180°",
	})
	if err != nil {
		t.Fatal(err)
	}
	got := []float64{c.Length.Value, c.Length.Plus, c.Force.Value, c.Pressure.Value, c.Time.Value, c.Temperature.Value, c.Angle.Value}
	if want := []float64{-0.002, 0.001, 3, 4e5, 7, 281.15, math.Pi}; !slices.Equal(got, want) || c.Preload != nil {
		t.Errorf("got %v and preload %v, want %v and none", got, c.Preload, want)
	}
	const want = `--preload: "700": has no unit; write it as "700 N"`
	if _, err := parser.Parse([]string{"--preload=700"}); err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// TestRoundTrip: any quantity that prints reads back the same.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dim := rapid.SampledFrom(dimensions).Draw(t, "dimension")
		q := quantity{
			Value: rapid.Float64Range(-1e12, 1e12).Draw(t, "value"),
			Plus:  rapid.Float64Range(0, 1e6).Draw(t, "plus"),
			Shape: rapid.SampledFrom([]shape{normal, uniform, triangular}).Draw(t, "shape"),
		}
		if q.Plus == 0 {
			q.Shape = normal
		}
		text := formatQuantity(q, dim)
		if back, err := parseQuantity(text, dim); err != nil || back != q {
			t.Fatalf("%+v printed as %q, read as %+v, %v", q, text, back, err)
		}
	})
}

// TestShortest: what a person typed in a usual unit prints as they typed it.
func TestShortest(t *testing.T) {
	for text, dim := range map[string]*dimension{
		"58 mm": dimLength, "0.07 mm": dimLength, "700 N": dimForce, "12.5 N/mm": dimRate, "9 bar ± 0.18 bar": dimPressure,
		"350 m": dimLength, "4.5e-15 m²": dimPermeability, "93.5 °C ± 2 K": dimTemperature, "1.1 g/g": dimRatio, "0 mL": dimVolume,
		"4 mm ± 0.02 mm (uniform)": dimLength, "7.5 ± 0.25": dimNumber, "40000": dimNumber,
		"0.283 in ± 0.001 in": dimLength, "6 lbf": dimForce, "195 °F": dimTemperature, "11 psi": dimPressure,
	} {
		q, err := parseQuantity(text, dim)
		if got := formatQuantity(q, dim); err != nil || got != text {
			t.Errorf("%q printed as %q, %v", text, got, err)
		}
	}
}

// FuzzParseQuantity: no text makes the parser panic or give what is not a
// number, and what it accepts prints and reads back the same.
func FuzzParseQuantity(f *testing.F) {
	for i, text := range []string{
		"58 mm", "1 3/8 in", "-1-3/8″ ± 1/64 in (uniform)", "9 bar ± 2 %", "4.5 bar·s/mL", "93 °C ± 2 °F", "1e400 mm", "1_0 mm",
		"6,5", "0x1p4 mm", "± 3 mm", "5 m³/m³·m", "7 1/0 in", "1/day", "3 %", "1e-320 mm", "-0 mm ± 0 mm (triangular)", "½ oz", "1 (", "2 m2m2m2m2",
	} {
		f.Add(text, i)
	}
	f.Fuzz(func(t *testing.T, text string, d int) {
		dim := dimensions[((d%len(dimensions))+len(dimensions))%len(dimensions)]
		q, err := parseQuantity(text, dim)
		if err != nil {
			return
		}
		if !finite(q.Value) || !finite(q.Plus) || q.Plus < 0 {
			t.Fatalf("%q: %+v", text, q)
		}
		printed := formatQuantity(q, dim)
		if back, err := parseQuantity(printed, dim); err != nil || back != q {
			t.Errorf("%q: read as %+v, printed as %q, read as %+v, %v", text, q, printed, back, err)
		}
	})
}
