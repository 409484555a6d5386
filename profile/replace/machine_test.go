package replace

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

const (
	mm  = 1e-3
	mL  = 1e-6
	bar = 1e5
)

// cafe is an invented machine with a tired spring: 50 mm bore, 24 mm stroke.
func cafe() profile.Setup {
	return profile.Setup{
		Springs:  []spring.Linear{{Rate: 27e3, Preload: 700}},
		Cylinder: piston.Cylinder{Bore: 50 * mm, Stroke: 24 * mm, Port: 2 * mm, Weight: 6, Seal: piston.Seal{Constant: 20, PerPa: 5e-5}},
		Chamber:  profile.Chamber{Headspace: 8 * mL, Air: 1 * mL},
		Basket:   profile.Basket{Diameter: 51 * mm, Depth: 24 * mm},
		Coffee: profile.Coffee{
			Dose: 14e-3, BulkDensity: 400,
			Resistance: 4.5e11, AtPressure: 8.7e5, Loading: 1, Unloading: 0.5, Threshold: 3e5,
			Transient: 4.5, TransientBy: 0.29, Retained: 1.1, DryPerm: 1.8e-14, Suction: 1e4,
			Soluble: 0.3, SolubleBy: 1.1, SecondPull: 0.6,
		},
		Water: profile.Water{Viscosity: 3.1e-4, Density: 965, Fill: 0.7e5, Atmosphere: 0.98e5},
		Pulls: []profile.Pull{{FillTime: 3, Preinfusion: 10}},
	}
}

// toggle is a lever for the machine: a pinion, a long handle and some loss.
func toggle(t testing.TB) piston.Lever {
	t.Helper()
	return piston.Lever{
		Linkage:    piston.Rack{PinionDiameter: 20 * mm, Span: piston.Span{To: 2.4}},
		Handle:     250 * mm,
		Efficiency: 0.85,
	}
}

func handOf(t testing.TB, s *profile.Setup) Hand {
	t.Helper()
	h, err := NewHand(toggle(t), piston.Load{Cylinder: s.Cylinder, OpenPressure: s.Water.Fill, ClosedPressure: -0.2e5})
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// drawMachine draws a machine; drawWishes draws wishes that it can fulfil.
func drawMachine(t *rapid.T) profile.Setup {
	between := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	s := cafe()
	s.Cylinder.Bore = between(35, 60, "bore") * mm
	s.Cylinder.Stroke = between(15, 35, "stroke") * mm
	s.Cylinder.Port = between(0, 3, "port") * mm
	s.Cylinder.Weight = between(0, 10, "weight")
	s.Cylinder.Seal = piston.Seal{Constant: between(10, 60, "friction"), PerPa: between(0, 2e-4, "drag")}
	s.Chamber.Air = between(0, 4, "air") * mL
	s.Water.Fill = between(0, 1.5, "fill") * bar
	s.Pulls[0].FillTime = between(0, 11, "fill time") // the longest is a short fill
	return s
}

func drawWishes(t *rapid.T) Wishes {
	peak := rapid.Float64Range(4, 12).Draw(t, "peak") * bar
	return Wishes{Peak: peak, End: peak * rapid.Float64Range(0.05, 0.9).Draw(t, "end over peak"), Within: 0.2 * bar}
}

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol*math.Abs(want) }
