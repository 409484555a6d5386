package answer

import (
	"math"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
)

// basketOf asks the demo machine for a basket of a sheet with some values.
func basketOf(t *testing.T, o spread.Options, sets ...string) *report.Report {
	t.Helper()
	r, err := Basket(t.Context(), testsheet.Build(t, string(demo.Sheet)), BasketOptions{Other: testsheet.Read(t, string(demo.Sheet), sets...), Spread: o})
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestSameBasket: the basket of today gives the shot of today, and needs neither
// grind nor dose to bring it back.
func TestSameBasket(t *testing.T) {
	r := basketOf(t, spread.Options{Skip: true})
	for _, row := range r.Rows {
		if row.Beside != nil && (row.Value != row.Beside.Value || row.Text != row.Beside.Text) {
			t.Errorf("%s: %g %s beside %g %s", row.Key, row.Value, row.Text, row.Beside.Value, row.Beside.Text)
		}
	}
	if g := r.Row("grind_change").Value; math.Abs(g) > 1e-6 {
		t.Errorf("grind changes by %g", g)
	}
	if got, want := r.Row("dose_for_time").Value, r.Row("dose").Value; math.Abs(got/want-1) > 1e-6 {
		t.Errorf("dose %g kg, want %g kg", got, want)
	}
}

// TestWayBack: the grind and the dose that the answer names do bring the time of
// today back, in a shot asked by itself.
func TestWayBack(t *testing.T) {
	r := basketOf(t, spread.Options{Skip: true}, "basket.diameter=58 mm", "basket.depth=24 mm", "coffee.dose=17 g")
	want := r.Row("total_time").Beside.Value
	setup := testsheet.Build(t, string(demo.Sheet)).Setup
	next := setup.InBasket(profile.Basket{Diameter: 58e-3, Depth: 24e-3}, 17e-3)
	next.Coffee.Resistance *= 1 + r.Row("grind_change").Value
	if s, err := profile.Summarize(next); err != nil || math.Abs(s.Total/want-1) > 1e-6 {
		t.Errorf("by grind %g s, want %g s (%v)", s.Total, want, err)
	}
	if s, err := profile.Summarize(setup.InBasket(next.Basket, r.Row("dose_for_time").Value)); err != nil || math.Abs(s.Total/want-1) > 1e-6 {
		t.Errorf("by dose %g s, want %g s (%v)", s.Total, want, err)
	}
}

// TestBasketScatter: the interval of the total time holds that of the flow time
// of one shot among its like, and a second sheet that states another spring is
// told so.
func TestBasketScatter(t *testing.T) {
	r := basketOf(t, spread.Options{Draws: 2000, Seed: 1}, "coffee.dose=16 g", "spring.free_length=190 mm")
	row := r.Row("total_time")
	if row.Band == nil || row.Band.Std < 0.9*shotScatter().Std*r.Row("flow_time").Value {
		t.Errorf("%+v", row.Band)
	}
	said := false
	for _, d := range r.Doubts {
		said = said || strings.Contains(d.String(), "spring.free_length")
	}
	if !said {
		t.Errorf("nothing is said of the other spring: %v", r.Doubts)
	}
}
