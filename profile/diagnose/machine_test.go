package diagnose

import (
	"math"
	"math/rand/v2"
	"testing"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

const (
	bar  = 1e5
	mm   = 1e-3
	mL   = 1e-6
	gram = 1e-3
	nan  = 0x7ff8000000000001
)

var missing = math.Float64frombits(nan)

// cafe is an invented group: 50 mm bore, 9 bar cocked when new.
func cafe() *profile.Setup {
	return &profile.Setup{
		Springs:  []spring.Linear{{Rate: 32e3, Preload: 1019}},
		Cylinder: piston.Cylinder{Bore: 50 * mm, Stroke: 25 * mm, Port: 1 * mm, Weight: 6, Seal: piston.Seal{Constant: 20, PerPa: 3 / bar}},
		Chamber:  profile.Chamber{Headspace: 6 * mL},
		Basket:   profile.Basket{Diameter: 51 * mm, Depth: 24 * mm},
		Coffee: profile.Coffee{
			Dose: 14 * gram, BulkDensity: 450, Resistance: 5 * bar / mL, AtPressure: 9 * bar,
			Loading: 1, Unloading: 0.5, Threshold: 3 * bar, Low: 0.67, Blocking: 0.386, BlockingBy: 0.385,
			Retained: 1.1, DryPerm: 1.8e-14, Suction: 0.1 * bar, Soluble: 0.20, SolubleBy: 0.60, SecondPull: 0.6,
		},
		Water: profile.Water{Viscosity: 3.15e-4, Density: 965, Fill: 1 * bar, Atmosphere: 1.01325 * bar},
		Pulls: []profile.Pull{{Preinfusion: 10}},
	}
}

// someMachine is a random machine with a spring-like shot.
func someMachine(rng *rand.Rand) *profile.Setup {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	s := cafe()
	s.Cylinder.Bore = between(42, 58) * mm
	s.Cylinder.Stroke = between(20, 32) * mm
	s.Cylinder.Port = between(0, 3) * mm
	s.Cylinder.Seal = piston.Seal{Constant: between(0, 40), PerPa: between(0, 6) / bar}
	s.Cylinder.Weight = between(0, 10)
	peak, rest := between(5, 11)*bar, between(0.35, 0.75)
	f := peak * s.Cylinder.Area()
	s.Springs = []spring.Linear{{Rate: f * (1 - rest) / s.Cylinder.Stroke, Preload: f * rest}}
	s.Coffee.Dose = between(8, 16) * gram
	s.Coffee.Resistance = between(3, 9) * bar / mL
	s.Coffee.Unloading = between(0, 1)
	s.Pulls[0].Preinfusion = between(3, 20)
	if rng.IntN(3) == 0 {
		s.Chamber.Air = between(0, 3) * mL
	}
	return s
}

// noise is what a logger adds.
type noise struct {
	pressure, cup, travel float64 // standard deviations [Pa], [kg], [m]
	every                 float64 // [s]
	memory                float64 // correlation of a row's noise with the row before [-]
}

var usual = noise{pressure: 0.1 * bar, cup: 0.3 * gram, travel: 0.1 * mm, every: 0.1}

// logOf logs a shot.
func logOf(t testing.TB, s *profile.Setup, n noise, rng *rand.Rand) Log {
	t.Helper()
	shot, err := profile.Run(s)
	if err != nil {
		t.Fatal(err)
	}
	var e [3]float64
	next := func(i int, sd float64) float64 {
		e[i] = n.memory*e[i] + math.Sqrt(1-n.memory*n.memory)*rng.NormFloat64()
		return sd * e[i]
	}
	var l Log
	for at := 0.0; at <= shot.Total-shot.AirPush; at += n.every { // this reading knows no push of air; package logged does
		p := shot.At(at)
		l = append(l, Row{at, p.Pressure + next(0, n.pressure), p.Cup + next(1, n.cup), p.Travel + next(2, n.travel)})
	}
	return l
}

// without takes a column away.
func (l Log) without(cup, travel bool) Log {
	l = append(Log(nil), l...)
	for i := range l {
		if cup {
			l[i].Cup = missing
		}
		if travel {
			l[i].Travel = missing
		}
	}
	return l
}

func near(a, b, relative float64) bool { return math.Abs(a-b) <= relative*math.Abs(b) }

var clean = noise{every: 0.1}

func read(t testing.TB, l Log, s *profile.Setup) *Line {
	t.Helper()
	line, err := ReadLine(l, s, Options{Seed: 5})
	if err != nil {
		t.Fatal(err)
	}
	return line
}

// cafeWire is wire of 1700 MPa with Zimmerli's endurance (Shigley 10e eq.
// 10-28, 35 about 55 kpsi) and a made-up life curve.
func cafeWire(t testing.TB) *Wire {
	t.Helper()
	c, err := spring.AfterSet(0.65)
	if err != nil {
		t.Fatal(err)
	}
	const kpsi = 6.894757e6
	return &Wire{
		Tensile: 1700e6, Criterion: c,
		Fatigue: spring.Strength{Endurance: spring.Endurance{Amplitude: 35 * kpsi, Mean: 55 * kpsi}, UltimateShear: 0.67 * 1700e6, Line: spring.Goodman},
		Curve:   spring.LifeCurve{{Cycles: 1e5, Share: 0.42}, {Cycles: 1e6, Share: 0.39}, {Cycles: 1e7, Share: 0.36}},
	}
}

func advise(t testing.TB, m *Machine, now float64, w Wish, data ...Measured) *Advice {
	t.Helper()
	a, err := Advise(m, rank(t, m, UsualPrior(), data...), now, w)
	if err != nil {
		t.Fatal(err)
	}
	if a.Why == "" || len(a.Doubts) == 0 || len(a.Cautions) == 0 {
		t.Errorf("advice without reason, doubt or caution: %+v", a)
	}
	return a
}

// setFacts are the measurements of a spring that has set by 10 mm.
func setFacts(m *Machine) (now float64, data []Measured) {
	s := m.Setup
	s.Springs = []spring.Linear{{Rate: s.Springs[0].Rate, Preload: s.Springs[0].Preload - 10*mm*s.Springs[0].Rate}}
	shot, _ := profile.Summarize(&s)
	return shot.Peak, []Measured{got(Peak, shot.Peak, 0.1*bar), got(FreeLength, m.Spring.Free-10*mm, 0.2*mm), got(Drag, 40, 5), got(Gauge, 1, 0.01)}
}

func got(k Kind, value, u float64) Measured {
	return Measured{Kind: k, Measured: spring.Measured{Value: value, U: u}}
}

func rank(t testing.TB, m *Machine, p Prior, data ...Measured) *Ranking {
	t.Helper()
	r, err := Rank(m, data, p)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// cafeSpring is a spring of the café's rate: 32 N/mm.
func cafeSpring() *spring.Compression {
	s := &spring.Compression{Wire: 6.5 * mm, Mean: 40 * mm, Active: 8.62, Total: 10.62, Free: 150 * mm,
		Ends: spring.ClosedGround, Convention: spring.US, G: 79e9, E: 206e9, Density: 7850}
	return s
}

func cafeMachine() *Machine {
	return &Machine{Setup: *cafe(), Spring: cafeSpring(), Spread: UsualSpread()}
}
