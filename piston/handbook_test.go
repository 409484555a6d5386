package piston_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"springcalc/piston"
)

const (
	inch = 25.4e-3       // [m]
	lbf  = 4.4482216     // [N]
	psi  = 6.894757293e3 // [Pa]
	deg  = math.Pi / 180 // [rad]
	rpm  = math.Pi / 30  // [rad/s]
	mm   = 1e-3          // [m]
	mL   = 1e-6          // [m³]
	bar  = 1e5           // [Pa]
)

// printed compares a result with the figure of a book: rounded to as many
// digits as the book prints, it must be the same.
func printed(t *testing.T, what string, got float64, book string) {
	t.Helper()
	_, decimals, _ := strings.Cut(book, ".")
	if s := strconv.FormatFloat(got, 'f', len(decimals), 64); s != book {
		t.Errorf("%s = %s (%.9g), printed %s", what, s, got, book)
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// constant is a load that pushes with one force at every lift.
func constant(force float64) piston.Load {
	return piston.Load{
		Cylinder: piston.Cylinder{Bore: 0.05, Stroke: 0.025},
		Spring:   func(float64) float64 { return force },
	}
}

// torque returns a lever whose hand force in newtons is the torque in newton metres.
func torque(l piston.Linkage) piston.Lever {
	return piston.Lever{Linkage: l, Handle: 1, Efficiency: 1}
}

// steepest returns the position of the greatest slope: of the peak effort against a constant force.
func steepest(l piston.Linkage) piston.Position {
	return must(torque(l).Effort(constant(1), 2)).Peak
}

// series is the slider-crank as the textbooks approximate it, y' = r(sin θ + r
// sin 2θ/2l): two pins in cross slots, the second at twice the angle.
type series struct{ first, second piston.CrossSlot }

func newSeries(crank, link float64) series {
	return series{
		first:  piston.CrossSlot{PinRadius: crank, Span: piston.Span{To: math.Pi}},
		second: piston.CrossSlot{PinRadius: crank * crank / (4 * link), Span: piston.Span{To: 2 * math.Pi}},
	}
}

func (s series) Lift(a float64) float64  { return s.first.Lift(a) + s.second.Lift(2*a) }
func (s series) Slope(a float64) float64 { return s.first.Slope(a) + 2*s.second.Slope(2*a) }
func (s series) Range() piston.Span      { return s.first.Range() }
func (s series) Validate() error         { return s.first.Validate() }

func halfTurn(crank, link float64) piston.Link {
	return piston.Link{PinRadius: crank, Length: link, Span: piston.Span{To: math.Pi}}
}

// TestKhurmi15_3 works Example 15.3 of [Khurmi TM]: crank 0.3 m, connecting rod
// 1 m, 200 rpm, greatest velocity of the piston. The book uses the series.
func TestKhurmi15_3(t *testing.T) {
	peak := steepest(newSeries(0.3, 1))
	printed(t, "angle of the greatest velocity, degrees", peak.Angle/deg, "75")
	printed(t, "greatest velocity, m/s", 200*rpm*peak.Slope, "6.54")
	// The exact linkage keeps the printed angle and is 0.3 % faster, as the comment of Link says.
	exact := steepest(halfTurn(0.3, 1))
	printed(t, "angle of the greatest velocity, degrees, exact", exact.Angle/deg, "75")
	printed(t, "series below exact, %", 100*(1-peak.Slope/exact.Slope), "0.3")
}

// TestKhurmi15_4 works Example 15.4: crank 0.3 m, rod 1.5 m, 180 rpm, by the series.
func TestKhurmi15_4(t *testing.T) {
	s := newSeries(0.3, 1.5)
	printed(t, "velocity at 40°, m/s", 180*rpm*s.Slope(40*deg), "4.19")
	printed(t, "angle of zero acceleration, degrees", steepest(s).Angle/deg, "79.27")
}

// TestKhurmi15_5 works Example 15.5: crank 150 mm, rod 600 mm, 450 rpm.
func TestKhurmi15_5(t *testing.T) {
	printed(t, "velocity at 60°, m/s", 450*rpm*halfTurn(0.15, 0.6).Slope(60*deg), "6.9")
}

// TestKhurmi15_7 works Example 15.7: from the force on a piston to the torque
// on its crank, 60° from the inner dead centre, by virtual work.
func TestKhurmi15_7(t *testing.T) {
	const crank, link, angle = 0.3, 1.2, 60 * deg
	const speed = 250 * rpm
	// Gas force less the force to accelerate 250 kg, by the book's series.
	force := 0.35e6*math.Pi/4*0.5*0.5 - 250*speed*speed*crank*(math.Cos(angle)+math.Cos(2*angle)/(link/crank))
	l := halfTurn(crank, link)
	hand := must(torque(l).Forces(constant(force), angle)).Holding
	phi := l.Obliquity(angle)
	printed(t, "side force on the piston, kN", force*math.Tan(phi)/1e3, "10.97")
	printed(t, "force in the rod, kN", force/math.Cos(phi)/1e3, "50.65")
	printed(t, "force across the crank, kN", hand/crank/1e3, "48.30")
	printed(t, "torque, kN·m", hand/1e3, "14.491")
}

// TestPeakSpeed checks the published peak piston speed of an engine with a rod
// of 6.024 in and a stroke of 3.307 in at 6000 rpm (piston motion equations,
// worked example at quartermile.ws).
func TestPeakSpeed(t *testing.T) {
	const crank, rod = 3.307 * inch / 2, 6.024 * inch
	l := halfTurn(crank, rod)
	peak := steepest(l)
	printed(t, "angle, degrees", peak.Angle/deg, "75.6")
	printed(t, "distance of the pin from the crank's centre, in", (crank+rod-peak.Lift)/inch, "6.218")
	printed(t, "speed, in/s", 6000*rpm*peak.Slope/inch, "1078")

	// The time is printed to 10 digits: 0.002100653404 s. The acceleration must
	// change its sign within half a unit of the last.
	const halfUnit = 0.5e-12
	acceleration := func(time float64) float64 { // five-point formula
		const h = 1e-3
		a := 6000 * rpm * time
		return (8*(l.Slope(a+h)-l.Slope(a-h)) - (l.Slope(a+2*h) - l.Slope(a-2*h))) / (12 * h)
	}
	if !(acceleration(0.002100653404-halfUnit) > 0 && acceleration(0.002100653404+halfUnit) < 0) {
		t.Error("the acceleration does not change its sign at 0.002100653404 s")
	}
}

// TestTogglePress checks the toggle joint of engineeringtoolbox.com: two arms
// of a = 1983 mm either side of a knee h = 258 mm out of line, pushed with 883 N.
// An arm and a link of one length are a toggle with one end fixed.
func TestTogglePress(t *testing.T) {
	const a, h, push = 1.983, 0.258, 883.0
	arm := math.Hypot(a, h)
	lever := piston.Lever{
		Linkage:    piston.Link{PinRadius: arm, Length: arm, Span: piston.Span{To: 1}},
		Handle:     arm,
		Efficiency: 1,
	}
	angle := math.Atan(h / a)
	perNewton := must(lever.Forces(constant(1), angle)).Holding
	press := push * math.Cos(angle) / perNewton // the push goes across the line, the hand across the arm
	printed(t, "press force, N", press, "3393")
	printed(t, "ratio", press/push, "3.8")
}

// TestHibbeler11_1 works Example 11-1 of [Hibbeler]: two links of 1 m and 98.1 N
// each, pushed together by 25 N at the slider, rest at θ = 63.0° from the horizontal line of thrust.
func TestHibbeler11_1(t *testing.T) {
	push := piston.Link{PinRadius: 1, Length: 1, Span: piston.Span{To: 80 * deg}}
	// The middle of a link rises by ½ sin θ: a pin at 0.5 m, a quarter turn on.
	middle := piston.CrossSlot{PinRadius: 0.5, Span: piston.Span{To: math.Pi}}
	work := func(angle float64) float64 { return 2*98.1*middle.Slope(angle+90*deg) - 25*push.Slope(angle) }
	if !(work(62.95*deg) > 0 && work(63.05*deg) < 0) {
		t.Errorf("virtual work %g and %g J/rad either side of the printed 63.0°, want a change of sign", work(62.95*deg), work(63.05*deg))
	}
}

// TestSchaum11_6 works Problem 11-6 of [Schaum]: a spring force of 100 lb and
// friction of 0.3 · 100 lb on a crank of 8 in.
func TestSchaum11_6(t *testing.T) {
	crank := piston.CrossSlot{PinRadius: 8 * inch, Span: piston.Span{To: math.Pi}}
	load := constant(100 * lbf)
	load.Cylinder.Seal.Constant = 0.3 * 100 * lbf
	hand := must(torque(crank).Forces(load, 90*deg)).Cocking
	printed(t, "couple, lb·in", hand/(lbf*inch), "1040")
}

// TestBevanEccentric works the eccentric with friction circles of [Bevan],
// p. 198: 6 tons on the pin, OC = 8 in, CP = 80 in, bearing radii 7, 15 and
// 4.4 in, μ = 0.05, 60° from the dead centre.
func TestBevanEccentric(t *testing.T) {
	l := halfTurn(8*inch, 80*inch)
	joints := piston.Joints{Pivot: 7 * inch, Pin: 15 * inch, Piston: 4.4 * inch, Friction: 0.05}
	_, down, err := l.Efficiency(joints, 60*deg)
	if err != nil {
		t.Fatal(err)
	}
	ideal := 6 * l.Slope(60*deg) / (12 * inch)
	printed(t, "moment without friction, ton·ft", ideal, "3.64")
	printed(t, "moment, ton·ft", ideal*down, "3.06")
	printed(t, "efficiency, %", 100*down, "84.17")
}

// TestKhurmiMachines works Examples 10.1 and 10.4 of [Khurmi EM], lifting machines.
func TestKhurmiMachines(t *testing.T) {
	// 10.1: 25 N over 8 m lift 1000 N by 0.1 m.
	lever := piston.Lever{
		Linkage:    piston.Rack{PinionDiameter: 0.2, Span: piston.Span{To: 1}},
		Handle:     8,
		Efficiency: 0.5, // printed η = 50 %
	}
	p := must(lever.Effort(constant(1000), 2)).Peak
	printed(t, "velocity ratio", 1/p.Ratio, "80")
	printed(t, "effort, N", p.Cocking, "25")
	printed(t, "mechanical advantage", 1000/p.Cocking, "40")

	// 10.4: velocity ratio 10, 100 N lift 840 N.
	lever.Handle, lever.Efficiency = 1, 0.84 // printed η = 84 %
	p = must(lever.Effort(constant(840), 2)).Peak
	printed(t, "effort, N", p.Cocking, "100")
	printed(t, "friction as effort, N", p.Cocking-p.Holding, "16")
	printed(t, "friction as load, N", p.Cocking/p.Ratio-840, "160")
}

// TestEsposito13_1 works Example 13-1 of [Esposito]: 20 in³ of air at 20 psig
// behind a blocked port, squeezed by a piston of 2 in that moves 4 in.
func TestEsposito13_1(t *testing.T) {
	cubic := inch * inch * inch
	air := piston.Air{Volume: 20 * cubic, Pressure: 20 * psi, Atmosphere: 14.7 * psi}
	swept := piston.Cylinder{Bore: 2 * inch}.Area() * 4 * inch
	printed(t, "pressure, psig", air.PressureIn(air.Volume-swept)/psi, "78.7")
}

// TestSarkar8_4 works Example 8.4 of [Sarkar]: a spring that takes 1 kN at 10 cm holds 50 J.
func TestSarkar8_4(t *testing.T) {
	lever := torque(piston.Rack{PinionDiameter: 0.1, Span: piston.Span{To: 2}})
	load := piston.Load{
		Cylinder: piston.Cylinder{Bore: 0.05, Stroke: 0.1},
		Spring:   func(lift float64) float64 { return 1000 / 0.1 * lift },
	}
	printed(t, "energy taken up, J", must(lever.Effort(load, 2)).Energy.Stored, "50")
	printed(t, "energy set free, J", must(lever.Recoil(load, piston.Moving{Inertia: 1})).Energy, "50")
}
