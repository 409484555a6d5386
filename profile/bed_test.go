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

// TestMeasuredBeds holds the law to the shots of Waszkiewicz et al. 2026, all
// pressures over the bed from 0.76 to 12.4 bar, both intervals: pressure on to
// 37 g, and first drop (0.3 g) to 37 g; and the flow after 90 to 100 s.
//
// Fitted to these very rows: R, n, b_t, c, n_l, and the 10.8 s in which that rig
// and bed fill and wet, T_0 max(P/P_t, 1)^(n/3). So this shows that one set of
// six numbers describes them, not that it predicts: with each pressure left out
// of the fit in turn (made outside this test) the rms error is 5 % in time to 37 g, 7 %
// between the drops, 11 to 15 % in the first drop and 10 % in the plateau. The
// limits are two standard deviations of a shot, as stated, for the times: looser than
// of a mean. The plateau is held to its rms over all pressures, as its means stand closer
// (their standard error is 1 to 10 %) than the law does.
func TestMeasuredBeds(t *testing.T) {
	const rig = 10.8 // T_0 [s]
	var plateaus, both float64
	rows := []struct{ bar, first, firstSD, full, fullSD, plateau float64 }{
		{0.76, 20.7, 4.1, 0, 0, 0.109},
		{1.48, 14, 4, 120, 18, 0.360}, // "about 120": 15 % is a reading
		{3.04, 10.1, 1.1, 43.7, 4.0, 1.002},
		{3.69, 11.6, 1.5, 41.2, 2.6, 1.640},
		{4.51, 11.8, 1.4, 40.0, 2.0, 2.027},
		{5.60, 11.7, 1.7, 39.0, 3.6, 2.065},
		{6.72, 13.7, 1.4, 44.6, 3.1, 1.945},
		{7.57, 13.1, 3.2, 46.4, 3.6, 1.819},
		{8.71, 15.7, 2.2, 48.5, 4.0, 1.863},
		{10.42, 14.6, 1.3, 50.7, 2.6, 1.815},
		{12.39, 16.8, 2.3, 55.5, 3.3, 1.610},
	}
	for _, row := range rows {
		s := constant(t, row.bar*bar)
		shot := mustRun(t, s)
		wet := rig * math.Pow(math.Max(1, row.bar/4), s.Coffee.Loading/3)
		first := wet + shot.FirstDrop - shot.FrontThrough
		full := wet + shot.Total - shot.FrontThrough
		flow := s.Water.Density * row.bar * bar / s.BedResistance(profile.Sample{Pressure: row.bar * bar, Cup: 100 * g}, row.bar*bar) / g
		t.Logf("%5.2f bar: first drop %.1f (%.1f ± %.1f) s, 37 g %.1f (%.1f ± %.1f) s, between %.1f (%.1f) s, plateau %.2f (%.2f) g/s",
			row.bar, first, row.first, row.firstSD, full, row.full, row.fullSD, full-first, row.full-row.first, flow, row.plateau)
		if math.Abs(first-row.first) > 2*row.firstSD {
			t.Errorf("%g bar: first drop after %.1f s, measured %.1f ± %.1f s", row.bar, first, row.first, row.firstSD)
		}
		if row.full > 0 && math.Abs(full-row.full) > 2*row.fullSD {
			t.Errorf("%g bar: 37 g after %.1f s, measured %.1f ± %.1f s", row.bar, full, row.full, row.fullSD)
		}
		if row.full > 0 && row.bar > 3 {
			off := (full-first)/(row.full-row.first) - 1
			both += off * off / 9
		}
		off := flow/row.plateau - 1
		plateaus += off * off / float64(len(rows))
	}
	t.Logf("rms: first drop to 37 g %.1f %%, plateau %.1f %%", 100*math.Sqrt(both), 100*math.Sqrt(plateaus))
	if math.Sqrt(both) > 0.08 || math.Sqrt(plateaus) > 0.12 {
		t.Errorf("rms: first drop to 37 g %.3f, plateau %.3f", math.Sqrt(both), math.Sqrt(plateaus))
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
