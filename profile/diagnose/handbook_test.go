package diagnose

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// printed reports whether got, rounded to as many digits as the book prints,
// is the printed number.
func printed(got float64, book string) bool {
	mantissa, exponent, _ := strings.Cut(strings.ToLower(book), "e")
	digits := 0
	if _, fraction, ok := strings.Cut(mantissa, "."); ok {
		digits = len(fraction)
	}
	e := 0
	if exponent != "" {
		e, _ = strconv.Atoi(exponent)
	}
	want, _ := strconv.ParseFloat(book, 64)
	return math.Abs(got-want) <= 0.5000001*math.Pow(10, float64(e-digits))
}

type row struct {
	what string
	got  float64
	book string
}

func check(t *testing.T, rows []row) {
	t.Helper()
	for _, r := range rows {
		if !printed(r.got, r.book) {
			t.Errorf("%s: got %.15g, printed %s", r.what, r.got, r.book)
		}
	}
}

// TestNorris fits the NIST StRD set Norris (ozone monitors, 36 points, lower
// level of difficulty). The points are from memory; that all certified values
// come out confirms them. The certified values have 15 digits; 12 of them is
// what plain double precision gives.
func TestNorris(t *testing.T) {
	y := []float64{0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3,
		448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2}
	x := []float64{0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0,
		447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5}
	s := fitStraight(x, x, y)
	check(t, []row{
		{"B0", s.intercept, "-0.262323073774"},                         // certified -0.262323073774029
		{"its standard deviation", s.interceptError, "0.232818234301"}, // 0.232818234301152
		{"B1", s.slope, "1.00211681802"},                               // 1.00211681802045
		{"its standard deviation", s.slopeError, "0.429796848200e-3"},  // 0.429796848199937E-03
		{"residual standard deviation", s.scatter, "0.884796396144"},   // 0.884796396144373
	})
}

// TestThermometer is the calibration of a thermometer, GUM (JCGM 100:2008) H.3.
func TestThermometer(t *testing.T) {
	temperature := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	correction := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	x := make([]float64, len(temperature))
	for i := range x {
		x[i] = temperature[i] - 20 // t0 = 20 °C
	}
	s := fitStraight(x, x, correction)
	b30, u30 := s.at(10)
	check(t, []row{
		{"y1, °C", s.intercept, "-0.1712"},
		{"s(y1), °C", s.interceptError, "0.0029"},
		{"y2", s.slope, "0.00218"},
		{"s(y2)", s.slopeError, "0.00067"},
		{"r(y1, y2)", s.correlation, "-0.930"},
		{"s, °C", s.scatter, "0.0035"},
		{"b(30 °C), °C", b30, "-0.1494"},
		{"its uncertainty, °C", u30, "0.0041"},
	})
}

const (
	gravity = 9.80665 // standard acceleration of free fall [m/s²]
	water   = 1000.0  // density that soil mechanics takes for water [kg/m³]
)

// permeameter is a falling-head permeameter as the machine that it is: the
// column of water in the standpipe is a spring of rate ρ g a on a piston a.
type permeameter struct {
	length, area, pipe float64 // of the sample [m], [m²], of the standpipe [m²]
	from, to, time     float64 // heads [m] and the time between them [s]
}

func (p permeameter) setup() *profile.Setup {
	return &profile.Setup{
		Springs:  []spring.Linear{{Rate: 1}}, // not used: what the log shows is asked for
		Cylinder: piston.Cylinder{Bore: math.Sqrt(4 * p.pipe / math.Pi), Stroke: 2 * p.from},
		Basket:   profile.Basket{Diameter: math.Sqrt(4 * p.area / math.Pi)},
		Coffee:   profile.Coffee{Dose: p.length * p.area, BulkDensity: 1, Resistance: 1, AtPressure: 1},
		Water:    profile.Water{Viscosity: 1e-3, Density: water, Atmosphere: 101325},
		Pulls:    []profile.Pull{{}},
	}
}

// log reads the head in equal steps of time: between the two printed heads it
// falls as the handbook's equation says.
func (p permeameter) log(steps int) Log {
	var l Log
	for i := range steps + 1 {
		at := p.time * float64(i) / float64(steps)
		head := p.from * math.Pow(p.to/p.from, at/p.time)
		l = append(l, Row{Time: at, Pressure: water * gravity * head, Cup: water * p.pipe * (p.from - head), Travel: missing})
	}
	return l
}

// TestFallingHead reads two falling-head tests of Das, Principles of
// Geotechnical Engineering, as if they were logged shots.
func TestFallingHead(t *testing.T) {
	// Example 7.2: L = 203 mm, A = 10.3 cm², a = 0.39 cm², 508 to 305 mm in 180 s.
	das := permeameter{0.203, 10.3e-4, 0.39e-4, 0.508, 0.305, 180}
	line, err := ReadLine(das.log(200), das.setup(), Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	k := water * gravity * das.length / (line.Puck.Resistance * das.area) // R = ρ g L/(k A)
	check(t, []row{
		{"a = ρ g/slope, cm²", water * gravity / -line.Slope / 1e-4, "0.39"},
		{"k/A² = ρ g/a, bar/L", -line.Slope / 1e5 * 1e-3, "2.5"}, // 9806.65 N/m³ over 0.39 cm²
		{"head when cocked, mm", line.Intercept / (water * gravity) * 1e3, "508"},
		{"k, cm/s", k * 100, "2.18e-3"},
	})

	// Problem 7.9: L = 400 mm, A = 7854 mm², d = 11 mm, 450 to 200 mm in 8 min;
	// the head after 4 min is the geometric mean.
	p := permeameter{0.4, 7854e-6, math.Pi / 4 * 0.011 * 0.011, 0.450, 0.200, 480}
	line, err = ReadLine(p.log(480), p.setup(), Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	tau := line.Puck.Resistance / -line.Slope // R A²/k
	check(t, []row{
		{"d, mm", math.Sqrt(4/math.Pi*water*gravity/-line.Slope) * 1e3, "11"},
		{"h(4 min), mm", line.Intercept / (water * gravity) * math.Exp(-240/tau) * 1e3, "300.0"},
	})
}
