package replace

import (
	"errors"
	"math"
	"strings"
	"testing"

	"springcalc/profile"
	"springcalc/spring"
)

func TestWishesValidate(t *testing.T) {
	nan := math.NaN()
	err := (&Wishes{Peak: nan, End: -1, Within: 0, Effort: math.Inf(1)}).Validate()
	if !errors.Is(err, ErrWish) {
		t.Fatal(err)
	}
	for _, field := range []string{"Peak", "End", "Within", "Effort"} {
		if !strings.Contains(err.Error(), field+" is") {
			t.Errorf("%s is not named in\n%v", field, err)
		}
	}
	s := cafe()
	if _, _, err := Require(&s, Wishes{}, nil); !errors.Is(err, ErrWish) {
		t.Errorf("Require takes no wishes: %v", err)
	}
	s.Cylinder.Bore = nan
	if _, _, err := Require(&s, Wishes{Peak: bar, Within: 1}, nil); !errors.Is(err, profile.ErrSetup) {
		t.Errorf("Require takes an impossible setup: %v", err)
	}
}

// TestWireLimits: each value of a wire is taken at its limits, refused beyond them, and
// named.
func TestWireLimits(t *testing.T) {
	for name, c := range map[string]struct {
		of      func(*Wire) *float64
		in, out []float64
	}{
		"Wire.Diameter":  {func(w *Wire) *float64 { return &w.Diameter }, nil, []float64{0, -1, math.NaN(), math.Inf(1)}},
		"Wire.Most":      {func(w *Wire) *float64 { return &w.Most }, []float64{0, 5 * mm, 5.49 * mm}, []float64{4.9 * mm, 5.6 * mm, -1, math.NaN()}},
		"Wire.Tensile":   {func(w *Wire) *float64 { return &w.Tensile }, []float64{1e8, 1e10}, []float64{0.99e8, 1.01e10, math.NaN()}},
		"Wire.E":         {func(w *Wire) *float64 { return &w.E }, nil, []float64{79e9, 1e9, math.Inf(1), math.NaN()}},
		"Wire.Density":   {func(w *Wire) *float64 { return &w.Density }, []float64{0}, []float64{-1, math.NaN()}},
		"Wire.Softening": {func(w *Wire) *float64 { return &w.Softening }, []float64{0, 1e-3}, []float64{-1e-9, 1.01e-3, math.NaN()}},
	} {
		wire := cafeSearch(t).Grid.Wires[0]
		wire.Diameter, wire.Most, wire.G = 5*mm, 0, 79e9
		if err := wire.validate(); err != nil {
			t.Fatal(err)
		}
		for _, x := range c.in {
			w := wire
			if *c.of(&w) = x; w.validate() != nil {
				t.Errorf("%s of %g: %v", name, x, w.validate())
			}
		}
		for _, x := range c.out {
			w := wire
			if *c.of(&w) = x; w.validate() == nil || !strings.Contains(w.validate().Error(), name) {
				t.Errorf("%s of %g: %v", name, x, w.validate())
			}
		}
	}
}

func TestJobValidate(t *testing.T) {
	nan := math.NaN()
	bad := Job{
		Requirement: Requirement{Rest: -1, Rate: nan, Stroke: 0, Begin: -1, Within: 0},
		Space:       Space{Bore: 0, Rod: 1, Slack: 0, Installed: nan, Solid: -1, Celsius: 1000},
		Limits:      Limits{IndexMin: 1, IndexMax: 0.5, Buckling: 0, Fatigue: -1, Relaxation: 2},
		Effort:      -1,
		Use:         spring.Use{PullsPerDay: -1},
	}
	if n := len(bad.Validate().(interface{ Unwrap() []error }).Unwrap()); n != 19 {
		t.Errorf("%d faults:\n%v", n, bad.Validate())
	}
	s := cafeSearch(t)
	s.Grid.Wires[0] = Wire{Most: -1, Softening: 1, Density: -1, Relaxation: Held{Stress: 1}, Life: spring.LifeCurve{}}
	s.Grid.Means[1], s.Grid.Coils[2], s.Grid.Ends[0], s.Grid.FreeStep = -1, nan, spring.Plain, -1
	s.Order = Order{}
	_, err := s.Run()
	for _, want := range []error{ErrJob, ErrOrder, spring.ErrInput} {
		if !errors.Is(err, want) {
			t.Errorf("%v is not in\n%v", want, err)
		}
	}
	if _, err := s.Rank(nil, Order{Keys: []Key{{By: ByStress}}}); !errors.Is(err, ErrOrder) {
		t.Errorf("an order without step: %v", err)
	}
}

func TestParseOrder(t *testing.T) {
	for _, text := range []string{"stress", "effort,price", "stress=3,effort=1.5,clearance=0.25", DefaultOrder().String(), "pressure=1"} {
		o, err := ParseOrder(text)
		if err != nil || o.String() != text {
			t.Errorf("%q reads as %q, %v", text, o, err)
		}
	}
	if o, err := ParseOrder(" stress = 2 , fatigue=1 "); err != nil || o.String() != "stress=2,fatigue=1" {
		t.Errorf("with spaces: %q, %v", o, err)
	}
	for _, text := range []string{"", "stress,", "beauty", "stress,stress", "stress=1,effort", "stress=x", "stress=-1", "stress=NaN", "stress=0", "stress=1e9"} {
		if o, err := ParseOrder(text); !errors.Is(err, ErrOrder) {
			t.Errorf("%q is taken for %q", text, o)
		}
	}
}
