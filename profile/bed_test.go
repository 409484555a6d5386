package profile_test

import (
	"math"
	"testing"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// constant returns 18.5 g in 56 mm at 90 °C under a constant pressure [Pa], the
// shots of Waszkiewicz et al. 2026, until 37 g are in the cup.
func constant(t *testing.T, pressure float64) *profile.Setup {
	s := withPermeability(&profile.Setup{
		Cylinder: piston.Cylinder{Bore: 50 * mm, Stroke: 150 * mm},
		Basket:   profile.Basket{Diameter: 56 * mm},
		Coffee:   shippedCoffee(18.5 * g),
		Water:    shippedWater(t, 363.15, 0),
		Pulls:    []profile.Pull{{EndCup: 37 * g}},
	})
	s.Coffee.Resistance = 4.78e11
	s.Springs = []spring.Linear{{Rate: 0, Preload: pressure * s.Cylinder.Area()}}
	return s
}

// TestClosedFormOfTheBed: at constant pressure the time from the front being
// through to a cup mass is
//
//	t = (R_t g m_0/(ρP)) [G(1) - G(S)],  G = ln(S/y)/f_P³ + 1/(f_P² y) + 1/(2 f_P y²),  y = f_P - b S
//
// (derived by partial fractions), from 0.76 to 12.4 bar.
func TestClosedFormOfTheBed(t *testing.T) {
	for _, p := range []float64{0.76, 1.48, 3.04, 4.51, 8.71, 12.39} {
		s := constant(t, p*bar)
		shot := mustRun(t, s)
		c := s.Coffee
		rt := c.Resistance / math.Pow(9./4, c.Loading) * math.Pow(math.Max(1, 4/p), c.Low)
		f := math.Pow(math.Max(1, p/4), -c.Loading/3)
		b := c.Blocking * math.Min(1, p/4)
		m0 := c.BlockingBy * c.Dose
		primitive := func(s float64) float64 {
			y := f - b*s
			return math.Log(s/y)/(f*f*f) + 1/(f*f*y) + 1/(2*f*y*y)
		}
		want := rt * m0 / (s.Water.Density * p * bar) * (primitive(1) - primitive(math.Exp(-37*g/m0)))
		near(t, "front to 37 g", shot.Total-shot.FrontThrough, want, 1e-8)
		quick, err := profile.Summarize(s)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "the same without a table", quick.Total-quick.FrontThrough, want, 1e-8)
	}
}

// TestHandleInTheShot: a handle that weighs against the spring lowers the peak
// by its force over the area, and the account of energy still closes to 1e-9.
func TestHandleInTheShot(t *testing.T) {
	lever := piston.Lever{Linkage: piston.Rack{PinionDiameter: 34 * mm, Span: piston.Span{From: 0.2, To: 0.2 + 30./17}},
		Handle: 0.3, Efficiency: 0.95, Mass: 0.6, Centre: 0.2}
	s := oldLever2()
	bare := mustRun(t, s)
	handle, err := lever.HandleWeight(s.Cylinder.Stroke)
	if err != nil {
		t.Fatal(err)
	}
	s.Handle = handle
	shot := mustRun(t, s)
	force := 0.6 * 9.80665 * 0.2 / (17 * mm)
	near(t, "peak", bare.Peak-shot.Peak, force*math.Sin(0.2+30./17)/s.Cylinder.Area(), 2e-3)
	near(t, "end", bare.End-shot.End, force*math.Sin(0.2)/s.Cylinder.Area(), 2e-2)
	near(t, "work", bare.Energy.Released-shot.Energy.Released, 0.6*9.80665*0.2*(math.Cos(0.2)-math.Cos(0.2+30./17)), 1e-4)
	if math.Abs(shot.Energy.Residual) > 1e-9 || math.Abs(shot.Mass.Residual) > 1e-9 {
		t.Errorf("energy off by %g, mass by %g", shot.Energy.Residual, shot.Mass.Residual)
	}
	s.Handle[1] = -1e6
	if s.Validate() == nil {
		t.Error("no word on a handle that outweighs the spring")
	}
}
