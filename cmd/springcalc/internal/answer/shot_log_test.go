package answer

import (
	"context"
	"math"
	"testing"

	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/profile/logged"
)

// TestLogOverShot: a shot that is logged by a clock of its own lies on the computed
// one again, and changes no number of it.
func TestLogOverShot(t *testing.T) {
	m := demoMachine(t)
	skip := ShotOptions{Spread: spread.Options{Skip: true}}
	plain, err := Shot(context.Background(), m, skip)
	if err != nil {
		t.Fatal(err)
	}
	var log logged.Log
	p, cup := plain.Chart("pressure").Series[0], plain.Chart("cup").Series[0]
	for i, at := range p.X {
		log = append(log, logged.Row{Time: at + 123.4, Pressure: p.Y[i], Cup: cup.Y[i], Travel: math.NaN()})
	}
	skip.Log = &NamedLog{Name: "mine.csv", Log: log}
	over, err := Shot(context.Background(), m, skip)
	if err != nil {
		t.Fatal(err)
	}
	for _, key := range []string{"pressure", "cup"} {
		c := over.Chart(key)
		if len(c.Series) != 2 || c.Series[1].Name != "mine.csv" || !c.Finite() {
			t.Fatalf("%s: %d curves", key, len(c.Series))
		}
		n := len(c.Series[1].X)
		for i := range n { // from the end: what is before the port opened is left out
			at, want := c.Series[1].X[n-1-i], c.Series[0].X[len(c.Series[0].X)-1-i]
			if math.Abs(at-want) > 1e-9*100 {
				t.Errorf("%s: point %d from the end at %g s, want %g s", key, i, at, want)
			}
		}
	}
	for i := range plain.Rows {
		if a, b := plain.Rows[i], over.Rows[i]; a.Value != b.Value || a.Text != b.Text {
			t.Errorf("%s changed from %g to %g by a log", a.Key, a.Value, b.Value)
		}
	}
	skip.Log.Log = logged.Log{{Time: 1}, {Time: 2}}
	if _, err := Shot(context.Background(), m, skip); err == nil {
		t.Error("a log without pressure was laid over a shot")
	}
}

// TestSketchIsSpring: the spring that is drawn has the lengths and loads of the rows.
func TestSketchIsSpring(t *testing.T) {
	r, err := Spring(context.Background(), demoMachine(t), SpringOptions{})
	if err != nil || len(r.Sketches) != 1 {
		t.Fatalf("%d sketches, %v", len(r.Sketches), err)
	}
	s := r.Sketches[0]
	find := func(key string) *report.Row {
		row := r.Row(key)
		if row == nil {
			t.Fatalf("no row %s", key)
		}
		return row
	}
	for i, key := range []string{"load_rest", "load_cocked"} {
		if got, want := s.Lengths[i+1].Force, find(key).Value; math.Abs(got/want-1) > 1e-9 {
			t.Errorf("%s: drawn with %g N, the row says %g N", key, got, want)
		}
	}
	if s.Lengths[0].Force != 0 || math.Abs(s.Outside-0.049) > 1e-12 || !s.Ground || s.Total != 14 || s.Lengths[3].Length >= s.Lengths[2].Length {
		t.Errorf("%+v", s)
	}
}
