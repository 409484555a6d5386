package logged

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// row is a value of a handbook; its printed digits are the tolerance.
type row struct {
	name string
	got  float64
	want string
}

func check(t *testing.T, rows []row) {
	t.Helper()
	for _, r := range rows {
		digits := strings.TrimLeft(strings.ReplaceAll(strings.SplitN(r.want, "e", 2)[0], ".", ""), "-0")
		var a, b float64
		fmt.Sscan(r.want, &b)
		fmt.Sscan(fmt.Sprintf("%.*e", len(digits)-1, r.got), &a)
		if math.Abs(a-b) > 1e-9*math.Abs(b) {
			t.Errorf("%s: %.*g, want %s", r.name, len(digits)+2, r.got, r.want)
		}
	}
}

const water, gravity = 1000.0, 9.80665 // density [kg/m³], [m/s²]

// permeameter is a falling-head test: water in a standpipe drains through a
// sample, so the head falls as the pressure under a spring does.
type permeameter struct{ length, area, pipe, from, to, time float64 }

// setup is a machine whose piston is the standpipe.
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
	line, err := ReadLine(das.log(200), das.setup(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	k := water * gravity * das.length / (line.Puck.Resistance * das.area) // R = ρ g L/(k A)
	check(t, []row{
		{"a = ρ g/slope, cm²", water * gravity / -line.Raw.Slope.Value / 1e-4, "0.39"},
		{"k/A² = ρ g/a, bar/L", -line.Raw.Slope.Value / 1e5 * 1e-3, "2.5"}, // 9806.65 N/m³ over 0.39 cm²
		{"head when cocked, mm", line.Raw.Intercept.Value / (water * gravity) * 1e3, "508"},
		{"k, cm/s", k * 100, "2.18e-3"},
	})

	// Problem 7.9: L = 400 mm, A = 7854 mm², d = 11 mm, 450 to 200 mm in 8 min;
	// the head after 4 min is the geometric mean.
	p := permeameter{0.4, 7854e-6, math.Pi / 4 * 0.011 * 0.011, 0.450, 0.200, 480}
	line, err = ReadLine(p.log(480), p.setup(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	tau := line.Puck.Resistance / -line.Raw.Slope.Value // R A²/k
	check(t, []row{
		{"d, mm", math.Sqrt(4/math.Pi*water*gravity/-line.Raw.Slope.Value) * 1e3, "11"},
		{"h(4 min), mm", line.Raw.Intercept.Value / (water * gravity) * math.Exp(-240/tau) * 1e3, "300.0"},
	})
}

// TestBoyle reads the air of a tail off the isothermal expansion of the
// textbooks, p V = const, through a bed of constant resistance.
func TestBoyle(t *testing.T) {
	_, _, s, _ := goodLog()
	const air, atm = 8 * mL, 1.01325 * bar // at 4 bar gauge
	var after series
	for i := range 200 {
		v := float64(i) * 0.06 * mL
		after.add(float64(i)*0.1, v, (4*bar+atm)*air/(air+v)-atm, 0)
	}
	s.Water.Atmosphere = atm
	r := &reader{setup: s, line: &Line{}, d: displacement{setup: s}}
	s.Chamber.Headspace = 100 * mL
	got, _, ok := r.boyle(&after)
	if want := air * (4*bar + atm) / (s.Water.Fill + atm); !ok || math.Abs(got/want-1) > 2e-3 {
		t.Errorf("air %.4g mL, want %.4g mL, %v", got/mL, want/mL, ok)
	}
}

// TestGUM_H3 is the calibration of a thermometer, JCGM 100:2008, H.3 (Table H.6; the
// readings from memory, confirmed by the printed results): a straight line, and how
// well it is known, at 0 and at 10 °C over 20 °C.
func TestGUM_H3(t *testing.T) {
	temperature := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	correction := []float64{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160}
	for i := range temperature {
		temperature[i] -= 20
	}
	s := fitStraight(temperature, temperature, correction)
	at0, u0 := s.at(0)
	at10, u10 := s.at(10)
	check(t, []row{ // H.3.3 and H.3.4
		{"s, °C", s.scatter, "0.0035"},
		{"y1, °C", at0, "-0.1712"},
		{"s(y1), °C", u0, "0.0029"},
		{"y2", s.slope, "0.00218"},
		{"s(y2)", s.slopeError, "0.00067"},
		{"b(30 °C), °C", at10, "-0.1494"},
		{"u(b(30 °C)), °C", u10, "0.0041"},
	})
}
