package piston_test

import (
	"math"
	"testing"

	"springcalc/piston"
)

// TestHandleByVirtualWork holds the force to the difference of the handle's
// height over the piston's, and its energy to that height, for three linkages.
func TestHandleByVirtualWork(t *testing.T) {
	for _, linkage := range []piston.Linkage{
		piston.Rack{PinionDiameter: 0.034, Span: piston.Span{From: 0.3, To: 1.5}},
		piston.LeverSlot{PinDistance: 0.03, Span: piston.Span{From: -0.3, To: 0.5}},
		piston.CrossSlot{PinRadius: 0.02, Span: piston.Span{From: 0.6, To: 2.0}},
	} {
		l := piston.Lever{Linkage: linkage, Handle: 0.3, Efficiency: 0.9, Mass: 0.6, Centre: 0.2, Upright: -0.4}
		stroke := linkage.Lift(linkage.Range().To)
		h, err := l.HandleWeight(stroke)
		if err != nil {
			t.Fatal(err)
		}
		height := func(y float64) float64 {
			angle, err := piston.AngleFor(linkage, y)
			if err != nil {
				t.Fatal(err)
			}
			return 0.6 * 9.80665 * 0.2 * math.Cos(angle+0.4)
		}
		for _, share := range []float64{0.1, 0.5, 0.9} {
			y, d := share*stroke, 1e-5*stroke
			want := (height(y+d) - height(y-d)) / (2 * d)
			if got := h.Force(y); math.Abs(got-want) > 1e-2*math.Abs(want) {
				t.Errorf("%T at %.0f %%: %g N, want %g N", linkage, 100*share, got, want)
			}
		}
		if got, want := h.Energy(stroke), height(stroke)-height(0); math.Abs(got-want) > 1e-3*math.Abs(want) {
			t.Errorf("%T: %g J, want %g J", linkage, got, want)
		}
	}
}

// TestSlotEfficiency: about 0.87 at 30° and 0.79 at 45° for a friction of 0.1, by
// the balance of the pin written out; and the hand pays for it.
func TestSlotEfficiency(t *testing.T) {
	slot := piston.LeverSlot{PinDistance: 0.03, Friction: 0.1, Span: piston.Span{From: -0.2, To: 0.9}}
	for _, c := range []struct{ degrees, about float64 }{{30, 0.87}, {45, 0.79}} {
		sin, cos := math.Sincos(c.degrees * math.Pi / 180)
		axial := cos - 0.1*sin - 0.1*(sin+0.1*cos)
		got := slot.EfficiencyAt(c.degrees * math.Pi / 180)
		if math.Abs(got-axial/cos) > 1e-12 || math.Abs(got-c.about) > 0.006 {
			t.Errorf("%g°: %g, want %g, about %g", c.degrees, got, axial/cos, c.about)
		}
	}
	load := piston.Load{Cylinder: piston.Cylinder{Bore: 0.05, Stroke: 0.03}, Spring: func(y float64) float64 { return 500 + 2e4*y }}
	rough := piston.Lever{Linkage: slot, Handle: 0.3, Efficiency: 1}
	slot.Friction = 0
	smooth := piston.Lever{Linkage: slot, Handle: 0.3, Efficiency: 1}
	a, err1 := rough.Forces(load, 0.6)
	b, err2 := smooth.Forces(load, 0.6)
	if err1 != nil || err2 != nil {
		t.Fatal(err1, err2)
	}
	if want := 1 - 0.01 - 0.2*math.Tan(0.6); math.Abs(b.Cocking/a.Cocking-want) > 1e-12 {
		t.Errorf("%g of the work gets through, want %g", b.Cocking/a.Cocking, want)
	}
	pair, err := rough.AtPiston(piston.Pair{Raise: a.Cocking, Lower: a.Returning}, 0.6)
	if want := load.Spring(slot.Lift(0.6)); err != nil || math.Abs(pair.Balance()/want-1) > 1e-12 || math.Abs(pair.Friction()) > 1e-9 {
		t.Errorf("seen from the piston %+v, want %g N both ways (%v)", pair, want, err)
	}
}
