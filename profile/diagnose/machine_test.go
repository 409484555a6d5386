package diagnose

import (
	"math"
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
)

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

func near(a, b, relative float64) bool { return math.Abs(a-b) <= relative*math.Abs(b) }

// cafeWire is wire of 1700 MPa with Zimmerli's endurance (Shigley 10e eq.
// 10-28, 35 about 55 kpsi) and a made-up life curve.
func cafeWire(t testing.TB) *Wire {
	t.Helper()
	c, err := spring.Rule{Name: "preset", Factor: spring.DirectShear, Fraction: 0.65}.Criterion()
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

// cafeSpring is a spring of the café's rate: 32 N/mm.
func cafeSpring() *spring.Compression {
	s := &spring.Compression{Wire: 6.5 * mm, Mean: 40 * mm, Active: 8.62, Total: 10.62, Free: 150 * mm,
		Ends: spring.ClosedGround, Convention: spring.US, G: 79e9, E: 206e9, Density: 7850}
	return s
}

func cafeMachine() *Machine {
	return &Machine{Setup: *cafe(), Spring: cafeSpring()}
}
