package quantity

import (
	"flag"
	"math"
	"slices"
	"strings"
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
		Text  string
		Dim   *Dimension
		Value float64
		plus  float64
		shape shape
	}{
		{"58 mm", DimLength, 0.058, 0, normal},
		{"58mm", DimLength, 0.058, 0, normal},
		{" 5.8 cm ", DimLength, 0.058, 0, normal},
		{"1/8 in", DimLength, 3.175e-3, 0, normal},
		{"1 3/8 in", DimLength, 34.925e-3, 0, normal},
		{"1-3/8 in", DimLength, 34.925e-3, 0, normal},
		{"1⅜″", DimLength, 34.925e-3, 0, normal},
		{`-1 3/8"`, DimLength, -34.925e-3, 0, normal},
		{"62 thou", DimLength, 1.5748e-3, 0, normal},
		{"\u22122 mm", DimLength, -2e-3, 0, normal},
		{"1.5e2 μm", DimLength, 150e-6, 0, normal}, // Greek mu
		{"150 µm", DimLength, 150e-6, 0, normal},   // micro sign
		{"12.5 N/mm", DimRate, 12500, 0, normal},
		{"71 lbf/in", DimRate, 71 * 4.4482216152605 / 25.4e-3, 0, normal},
		{"2 kgf/mm", DimRate, 19613.3, 0, normal},
		{"9 bar", DimPressure, 9e5, 0, normal},
		{"130 psi", DimPressure, 130 * psi, 0, normal},
		{"950 hPa", DimPressure, 95e3, 0, normal},
		{"9,5 bar", DimPressure, 9.5e5, 0, normal},
		{"0,125 mm ± 0,02 mm", DimLength, 0.125e-3, 0.02e-3, normal},
		{"12,25 N", DimForce, 12.25, 0, normal},
		{"1234,5 N", DimForce, 1234.5, 0, normal},
		{"1,234.5 N", DimForce, 1234.5, 0, normal},
		{"1.234,5 N", DimForce, 1234.5, 0, normal},
		{"1 372 N", DimForce, 1372, 0, normal},
		{"1\u202f372.5 N", DimForce, 1372.5, 0, normal},
		{"1,234,567 N", DimForce, 1234567, 0, normal},
		{"1.234.567 N", DimForce, 1234567, 0, normal},
		{"9,5e-1 bar", DimPressure, 0.95e5, 0, normal},
		{"9 Bar", DimPressure, 9e5, 0, normal},
		{"130 PSI", DimPressure, 130 * psi, 0, normal},
		{"11.5 Mpsi", DimStress, 11.5e6 * psi, 0, normal},
		{"1 MPA", DimPressure, 1e6, 0, normal},
		{"58 MM", DimLength, 0.058, 0, normal},
		{"40 n/mm", DimRate, 40e3, 0, normal},
		{"71 lb/in", DimRate, 71 * 4.4482216152605 / 25.4e-3, 0, normal},
		{"50 kg", DimForce, 490.3325, 0, normal},
		{"50 ± 0.5 kg", DimForce, 490.3325, 4.903325, normal},
		{"110 lbs", DimForce, 110 * 4.4482216152605, 0, normal},
		{"10 kg/cm²", DimPressure, 980665, 0, normal},
		{"10 years", DimTime, 10 * 365.25 * 86400, 0, normal},
		{"6 months", DimTime, 365.25 * 86400 / 2, 0, normal},
		{"79 GPa", DimStress, 79e9, 0, normal},
		{"600 N/mm²", DimStress, 600e6, 0, normal},
		{"600 N/mm^2", DimStress, 600e6, 0, normal},
		{"30 mL", DimVolume, 30e-6, 0, normal},
		{"30 cm3", DimVolume, 30e-6, 0, normal},
		{"1 fl oz", DimVolume, 29.5735295625e-6, 0, normal},
		{"14 g", DimMass, 0.014, 0, normal},
		{"1/2 oz", DimMass, 0.45359237 / 32, 0, normal},
		{"0.5 min", DimTime, 30, 0, normal},
		{"2 years", DimTime, 2 * 365.25 * 86400, 0, normal},
		{"93 °C", DimTemperature, 366.15, 0, normal},
		{"93C", DimTemperature, 366.15, 0, normal},
		{"212 °F", DimTemperature, 373.15, 0, normal},
		{"300 K", DimTemperature, 300, 0, normal},
		{"9 °F", dimTempDiff, 5, 0, normal},
		{"4.5 bar·s/mL", DimResistance, 4.5e11, 0, normal},
		{"4.5 bar s/mL", DimResistance, 4.5e11, 0, normal},
		{"4.5 bar*s/ml", DimResistance, 4.5e11, 0, normal},
		{"4.5e11 Pa·s/m³", DimResistance, 4.5e11, 0, normal},
		{"4.5e-15 m²", DimPermeability, 4.5e-15, 0, normal},
		{"5 N/bar", DimDrag, 5e-5, 0, normal},
		{"0.45 g/cm³", DimDensity, 450, 0, normal},
		{"0.35 mPa·s", dimViscosity, 0.35e-3, 0, normal},
		{"12 J", dimEnergy, 12, 0, normal},
		{"3 N·mm", dimTorque, 3e-3, 0, normal},
		{"10 ft·lbf", dimEnergy, 10 * 0.3048 * 4.4482216152605, 0, normal},
		{"90°", DimAngle, math.Pi / 2, 0, normal},
		{"86400 /day", DimFrequency, 1, 0, normal},
		{"86400 1/day", DimFrequency, 1, 0, normal},
		{"2 s^-1", DimFrequency, 2, 0, normal},
		{"1.1 g/g", DimRatio, 1.1, 0, normal},
		{"7 %", DimRatio, 0.07, 0, normal},
		{"7.5", DimNumber, 7.5, 0, normal},
		{"7 1/2", DimNumber, 7.5, 0, normal},
		{"4.00 mm ± 0.02 mm", DimLength, 4e-3, 0.02e-3, normal},
		{"4.00 ± 0.02 mm", DimLength, 4e-3, 0.02e-3, normal},
		{"4.00 mm +- 20 µm (uniform)", DimLength, 4e-3, 0.02e-3, Uniform},
		{"4.00 mm +/- 0.02 mm (triangular)", DimLength, 4e-3, 0.02e-3, Triangular},
		{"9 bar ± 2 % (normal)", DimPressure, 9e5, 0.18e5, normal},
		{"-9 bar ± 2 %", DimPressure, -9e5, 0.18e5, normal},
		{"93 °C ± 2 °C", DimTemperature, 366.15, 2, normal},
		{"200 ± 9 °F", DimTemperature, 659.67 * 5 / 9, 5, normal},
		{"7.5 ± 0.25 (uniform)", DimNumber, 7.5, 0.25, Uniform},
		{"9 bar ± 0 bar (uniform)", DimPressure, 9e5, 0, normal},
	} {
		got, err := Parse(c.Text, c.Dim)
		if err != nil {
			t.Errorf("%q: %v", c.Text, err)
			continue
		}
		if !near(got.Value, c.Value) || !near(got.Plus, c.plus) || got.Shape != c.shape {
			t.Errorf("%q: got %v ± %v (%v), want %v ± %v (%v)", c.Text, got.Value, got.Plus, got.Shape, c.Value, c.plus, c.shape)
		}
	}
}

// near allows what the order of multiplications can do to the last digits.
func near(a, b float64) bool { return math.Abs(a-b) <= 4e-16*math.Abs(b) }

// TestWholeIsExact: a whole number of a decimal unit is the same float64 as if
// it had been written in SI.
func TestWholeIsExact(t *testing.T) {
	for _, c := range []struct {
		Text string
		Dim  *Dimension
		Want float64
	}{{"9 mm", DimLength, 0.009}, {"51 mm", DimLength, 0.051}, {"33 mL", DimVolume, 33e-6}, {"3 mPa·s", dimViscosity, 0.003}, {"1.1 g/g", DimRatio, 1.1}} {
		if q, err := Parse(c.Text, c.Dim); err != nil || q.Value != c.Want {
			t.Errorf("%q: got %v, %v, want %v", c.Text, q.Value, err, c.Want)
		}
	}
}

// TestParseQuantityErrors holds the messages to saying what would be right.
func TestParseQuantityErrors(t *testing.T) {
	for _, c := range []struct {
		Text string
		Dim  *Dimension
		Want string
	}{
		{"", DimLength, "want a number first"},
		{"mm", DimLength, "want a number first"},
		{"58", DimLength, `has no unit; write it as "58 mm"`},
		{"58 mmm", DimLength, `unknown unit "mmm" (did you mean "mm"?); a length takes mm, cm, m, in or ft`},
		{"40 N/nm", DimRate, `unknown unit "nm" (did you mean "mm"?); a rate takes N/mm, N/m, lbf/in or kgf/mm`},
		{"40 N/", DimRate, "the unit breaks off; a rate takes N/mm, N/m, lbf/in or kgf/mm"},
		{"40 N", DimRate, `"N" is not the unit of a rate, which takes N/mm, N/m, lbf/in or kgf/mm`},
		{"71 lb", DimRate, `"lb" is not the unit of a rate, which takes N/mm, N/m, lbf/in or kgf/mm`},
		{"5 MN", DimForce, `unknown unit "MN" (did you mean "kN"?); a force takes N, kN, lbf or kgf`},
		{"1,372 N", DimForce, "can be read as 1.372 N or as 1372 N; write it without the comma"},
		{"9 bar ± 1,250 bar", DimPressure, "after ±: can be read as 1.250 bar or as 1250 bar; write it without the comma"},
		{"1,37,2 N", DimForce, `cannot tell the decimals of "1,37,2"; write a number with one point and no commas`},
		{"1,2.3,4 N", DimForce, `cannot tell the decimals of "1,2.3,4"; write a number with one point and no commas`},
		{"1.2.3 N", DimForce, `cannot tell the decimals of "1.2.3"; write a number with one point and no commas`},
		{"9 bar, about", DimPressure, `cannot read the unit at ", about"; a pressure takes bar, mbar, kPa, MPa or psi`},
		{"1_0 mm", DimLength, `cannot read the unit at "_0 mm"; a length takes mm, cm, m, in or ft`},
		{"0x10 mm", DimLength, `unknown unit "x"; a length takes mm, cm, m, in or ft`},
		{"inf mm", DimLength, "want a number first"},
		{"nan", DimNumber, "want a number first"},
		{"1e400 mm", DimLength, "too large a number"},
		{"1e308 years", DimTime, "too large a number"},
		{"5 mm^7", DimPermeability, `power "^7" of a unit; known are ², ³ and ^-1`},
		{"5 m·m·m·m·m·m·m·m·m", DimLength, "too long a unit"},
		{"93 °C/s", DimTemperature, "a temperature in a product is a difference: write K"},
		{"7.5 mm", DimNumber, `want a plain number, without "mm"`},
		{"4 mm ± 0.02", DimLength, "the ± has no unit; write it with one, or in %"},
		{"4 ± 0.02", DimLength, `has no unit; write it as "4 mm"`},
		{"4 mm ± -0.02 mm", DimLength, "after ±: want no sign"},
		{"4 mm ± x", DimLength, "after ±: want a number first"},
		{"4 mm ± 1 s", DimLength, `after ±: "s" is not the unit of a length, which takes mm, cm, m, in or ft`},
		{"93 °C ± 2 %", DimTemperature, "± in % of a temperature can be read two ways; write it in °C"},
		{"4 mm (uniform)", DimLength, `"(uniform)" says how a ± is spread, and there is no ±`},
		{"4 mm ± 1 mm (square)", DimLength, `unknown "(square)"; a ± may be (normal), (uniform), (triangular)`},
	} {
		if q, err := Parse(c.Text, c.Dim); err == nil {
			t.Errorf("%q: got %v, want an error", c.Text, q)
		} else if err.Error() != c.Want {
			t.Errorf("%q:\ngot  %v\nwant %s", c.Text, err, c.Want)
		}
	}
}

// TestSigma: the variance of a uniform distribution of half-width a is a²/3, of
// a triangular one a²/6 (JCGM 100:2008, 4.3.7 and 4.3.9); ± of a normal one is
// two standard deviations by our own rule.
func TestSigma(t *testing.T) {
	for s, variance := range map[shape]float64{normal: 36. / 4, Uniform: 36. / 3, Triangular: 36. / 6} {
		if got := (Quantity{Plus: 6, Shape: s}).Sigma(); !near(got*got, variance) {
			t.Errorf("%v: variance %v, want %v", s, got*got, variance)
		}
	}
}

var dimensions = []*Dimension{
	DimLength, DimForce, DimPressure, DimStress, DimRate, DimVolume, DimMass, DimTime, DimTemperature,
	dimTempDiff, DimResistance, DimPermeability, dimFlow, dimEnergy, dimTorque, DimAngle, DimDrag,
	DimDensity, dimViscosity, DimFrequency, DimRatio, DimNumber,
}

// TestOfferedUnits: what a message offers can be written.
func TestOfferedUnits(t *testing.T) {
	for _, dim := range dimensions {
		for _, unit := range dim.Units {
			if _, err := Parse("1 "+unit, dim); err != nil {
				t.Errorf("%s: 1 %s: %v", dim.Name, unit, err)
			}
		}
	}
}

// TestDisplay: a display prints what reads back as the same value.
func TestDisplay(t *testing.T) {
	for _, d := range []Display{
		InMM, InN, InBar, InMPa, InNPerMM, InML, InG, InS, InYears, InC, InBarSPerML, InMLPerS,
		InJ, InNM, InDeg, InNPerBar, InGPerCM3, InMPaS, InPercent, InHz, InSquareUM, InDifference,
	} {
		q, err := Parse("12.25 "+d.Symbol, d.Dim)
		if err != nil {
			t.Errorf("%s: %v", d.Symbol, err)
			continue
		}
		if got, want := d.Text(q.Value, 2), "12.25 "+d.Symbol; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

// TestFlags: kong reads every kind of flag, and its errors name flag and text.
func TestFlags(t *testing.T) {
	var c struct {
		Length      *LengthFlag
		Force       ForceFlag
		Pressure    PressureFlag
		Time        TimeFlag
		Temperature TemperatureFlag
		Angle       AngleFlag
		Preload     *ForceFlag
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
		q := Quantity{
			Value: rapid.Float64Range(-1e12, 1e12).Draw(t, "value"),
			Plus:  rapid.Float64Range(0, 1e6).Draw(t, "plus"),
			Shape: rapid.SampledFrom([]shape{normal, Uniform, Triangular}).Draw(t, "shape"),
		}
		if q.Plus == 0 {
			q.Shape = normal
		}
		text := Format(q, dim)
		if back, err := Parse(text, dim); err != nil || back != q {
			t.Fatalf("%+v printed as %q, read as %+v, %v", q, text, back, err)
		}
	})
}

// TestShortest: what a person typed in a usual unit prints as they typed it.
func TestShortest(t *testing.T) {
	for text, dim := range map[string]*Dimension{
		"58 mm": DimLength, "0.07 mm": DimLength, "700 N": DimForce, "12.5 N/mm": DimRate, "9 bar ± 0.18 bar": DimPressure,
		"350 m": DimLength, "4.5e-15 m²": DimPermeability, "93.5 °C ± 2 K": DimTemperature, "1.1 g/g": DimRatio, "0 mL": DimVolume,
		"4 mm ± 0.02 mm (uniform)": DimLength, "7.5 ± 0.25": DimNumber, "40000": DimNumber,
		"10 years": DimTime, "0.5 mm ± 1/32 in": DimLength, "1.375 in": DimLength, "25.4 mm": DimLength, "3/64 in": DimLength,
		"0.283 in ± 0.001 in": DimLength, "6 lbf": DimForce, "195 °F": DimTemperature, "11 psi": DimPressure,
	} {
		q, err := Parse(text, dim)
		if got := Format(q, dim); err != nil || got != text {
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
		q, err := Parse(text, dim)
		if err != nil {
			return
		}
		if !Finite(q.Value) || !Finite(q.Plus) || q.Plus < 0 {
			t.Fatalf("%q: %+v", text, q)
		}
		printed := Format(q, dim)
		if back, err := Parse(printed, dim); err != nil || back != q {
			t.Errorf("%q: read as %+v, printed as %q, read as %+v, %v", text, q, printed, back, err)
		}
	})
}

// TestCutSuffix: every suffix that a heading gets is taken off again, in both families.
func TestCutSuffix(t *testing.T) {
	for _, d := range []Display{InMM, InN, InNPerMM, InPercent} {
		for _, f := range []Family{Metric, Inch} {
			unit, _ := d.In(f, 0)
			name, symbol, ok := CutSuffix("some_name_"+unit.Suffix(), d.Dim)
			if !ok || name != "some_name" || symbol != unit.Symbol {
				t.Errorf("%s: %q %q %t", unit.Symbol, name, symbol, ok)
			}
		}
	}
	for _, heading := range []string{"rate", "n_per_mm", "", "load_kg"} {
		if name, _, ok := CutSuffix(heading, DimRate); ok || name != heading {
			t.Errorf("%q: %q, %t", heading, name, ok)
		}
	}
}

// TestPlainNumber: the zero display leaves a number as it is.
func TestPlainNumber(t *testing.T) {
	var d Display
	if d.Of(12) != 12 || d.Zero() != 0 || d.Step(3) != 3 || d.Number(1.25, 2) != "1.25" {
		t.Errorf("%g %g %g %s", d.Of(12), d.Zero(), d.Step(3), d.Number(1.25, 2))
	}
}

// TestAnyCase: no unit typed in other case could be one of two.
func TestAnyCase(t *testing.T) {
	for symbol, sc := range unitTable {
		got, ok := anyCase[strings.ToLower(symbol)]
		if ok && got != sc && !slices.Contains([]string{"mPa", "mN", "mJ", "Nm"}, symbol) {
			t.Errorf("%s in lower case is %+v, not %+v", symbol, got, sc)
		}
	}
}

// TestRemark: what is read otherwise than it stands there is said.
func TestRemark(t *testing.T) {
	for _, c := range []struct {
		text string
		dim  *Dimension
		want string
	}{
		{"50 kg", DimForce, "kg read as kgf, the weight of that mass"},
		{"50 ± 1 kg", DimForce, "kg read as kgf, the weight of that mass"},
		{"71 lb/in", DimRate, "lb/in read as lbf/in, the weight of that mass"},
		{"7 lbs", DimForce, "lbs read as lbf, the weight of that mass"},
		{"7 kg/cm²", DimPressure, "kg/cm² read as kgf/cm², the weight of that mass"},
		{"50 kgf", DimForce, ""}, {"50 N", DimForce, ""}, {"14 g", DimMass, ""}, {"14", DimNumber, ""}, {"text", nil, ""}, {"50 nonsense", DimForce, ""},
	} {
		if got := Remark(c.text, c.dim); got != c.want {
			t.Errorf("%q: %q, want %q", c.text, got, c.want)
		}
	}
}

// TestReadable: what packages behind say in SI is said in units of the trade.
func TestReadable(t *testing.T) {
	for text, want := range map[string]string{
		"mean coil diameter is 0.007 m, want more than the wire diameter of 0.008 m": "mean coil diameter is 7 mm, want more than the wire diameter of 8 mm",
		"peak 6.5e+05 Pa":                 "peak 6.5 bar",
		"stress 9e+08 Pa.":                "stress 900 MPa.",
		"1.2e+04 N/m at a lift of 0.02 m": "12 N/mm at a lift of 20 mm",
		"0.0000133 m³":                    "13.3 mL",
		"0.014 kg (14)":                   "14 g (14)",
		"1.5708 rad":                      "90°"[:2] + " °",
		"5000 m above the sea, 60 mm, 5 m² and 3 mol": "5000 m above the sea, 60 mm, 5 m² and 3 mol",
		"4.5e+11 Pa·s/m³":                             "4.5 bar·s/mL",
		"nothing":                                     "nothing",
	} {
		if got := Readable(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}
