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
			Low: 0.67, Blocking: 0.386, BlockingBy: 0.385, Retained: 1.1, DryPerm: 1.8e-14, Suction: 1e4,
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

const (
	in  = 25.4 * mm
	lbf = 4.4482216152605 // N
	psi = lbf / (in * in)
)

// musicWire is A228: A = 201 kpsi·in^0.145, 45 % of it before set removal
// (Shigley Tables 10-4 and 10-6), Zimmerli's unpeened endurance, and the
// finite life of Norton Table 14-8 (from memory).
func musicWire(t testing.TB, diameter float64) Wire {
	t.Helper()
	yield, err := spring.Rule{Name: "Shigley", Factor: spring.Bergstrasser, Fraction: 0.45}.Criterion()
	if err != nil {
		t.Fatal(err)
	}
	sut := 201e3 * psi / math.Pow(diameter/in, 0.145)
	return Wire{
		Grade: "A228", Evidence: "printed", Diameter: diameter, Most: diameter * 1.005, Tensile: sut,
		G: 80e9, E: 196.5e9, Density: 7850, Softening: spring.SofteningCarbonEN,
		Cocked: Allowed{yield, 1.2}, Solid: Allowed{yield, 1},
		Endurance: spring.Strength{
			Endurance:     spring.Endurance{Amplitude: 35e3 * psi, Mean: 55e3 * psi},
			UltimateShear: 0.67 * sut, Line: spring.Goodman,
		},
		Life:       spring.LifeCurve{{Cycles: 1e5, Share: 0.36}, {Cycles: 1e6, Share: 0.33}, {Cycles: 1e7, Share: 0.30}},
		Relaxation: Held{Law: spring.Relaxation{T0: spring.DefaultT0, RefTime: 48 * 3600, RefLoss: 0.05}, Stress: 75e3 * psi},
	}
}

// cafeSearch looks for a spring for 6.5 bar falling to 4 bar in a roomy café machine.
func cafeSearch(t testing.TB) *Search {
	t.Helper()
	s := cafe()
	w := Wishes{Peak: 6.5 * bar, End: 4 * bar, Within: 0.25 * bar}
	r, conflicts, err := Require(&s, w, nil)
	if err != nil || conflicts != nil {
		t.Fatal(err, conflicts)
	}
	search := &Search{
		Job: Job{
			Requirement: r,
			Space: Space{
				Bore: 56 * mm, Rod: 16 * mm, Slack: 1 * mm, Installed: 200 * mm, Solid: 3 * mm, Celsius: 70,
				Support: spring.Support{Seating: spring.FixedFixed},
			},
			Limits: UsualLimits(),
			Hand:   handOf(t, &s),
			Effort: 220,
			Use:    spring.Use{PullsPerDay: 30, DaysPerYear: 300, Years: 10},
			Making: &Making{Quality: 2, Coil: coilBy, Shear: 0.01},
		},
		Grid: Grid{
			Means: Steps(30*mm, 54*mm, 2*mm), Coils: Quarters(13, 18),
			Ends: []spring.Ends{spring.Closed, spring.ClosedGround}, Convention: spring.EN, FreeStep: 0.5 * mm,
		},
		Order: DefaultOrder(),
		Keep:  10,
	}
	search.Limits.Relaxation = 0.3
	for _, d := range []float64{6, 6.5, 7, 7.5, 8, 9} {
		search.Grid.Wires = append(search.Grid.Wires, musicWire(t, d*mm))
	}
	return search
}

// cafePart is a spring that fits cafeSearch.
func cafePart(t testing.TB) Part {
	t.Helper()
	w := musicWire(t, 7.5*mm)
	return PartOf(spring.Compression{
		Wire: 7.5 * mm, WireMax: 7.5375 * mm, Mean: 44 * mm, Active: 16.75, Total: 18.75, Free: 237.5 * mm,
		Ends: spring.ClosedGround, Convention: spring.EN, G: 80e9, E: 196.5e9, Density: 7850,
	}, &w)
}

// coilBy is grade 2 of EN 15800 for indices of 4 to 8, as the tables of coil tolerances
// reproduce it: 0.35 mm over 16 mm, 0.4 over 25, 0.5 over 31.5, 0.6 over 40, 0.8 over 50.
func coilBy(diameter, _ float64) float64 {
	by := 0.3 * mm
	for _, row := range []struct{ over, by float64 }{{16, 0.35}, {25, 0.4}, {31.5, 0.5}, {40, 0.6}, {50, 0.8}} {
		if diameter > row.over*mm {
			by = row.by * mm
		}
	}
	return by
}
