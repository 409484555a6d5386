package answer

import (
	"flag"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
)

// The property tests draw the same in every run; DEVELOPERS.md says how to draw anew.
func init() { _ = flag.Set("rapid.seed", "1") }

// TestPeakBeyondTheDeadCentre: the peak of the hand's force is the greatest force
// that it meets anywhere between the stops, beyond the dead centre too, where it
// presses a piston down that the boiler holds up. A walk in small steps finds
// the same, and the hardest pull that brings the handle back.
func TestPeakBeyondTheDeadCentre(t *testing.T) {
	for _, c := range []struct {
		rate, preload string
		beyond        bool
	}{{"27 N/mm", "700 N", false}, {"2 N/mm", "60 N", true}} {
		m := testsheet.Build(t, pastSheet(c.rate, c.preload))
		lever, err := m.Lever()
		if err != nil {
			t.Fatal(err)
		}
		const steps = 20_000
		span, load, most, at, back := lever.Linkage.Range(), m.Load(), math.Inf(-1), 0.0, 0.0
		for i := range steps + 1 {
			turned := min((span.To-span.From)*float64(i)/steps, span.To-span.From)
			f, err := lever.Forces(load, min(span.From+turned, span.To))
			if err != nil {
				t.Fatal(err)
			}
			if f.Cocking > most {
				most, at = f.Cocking, turned
			}
			if turned > math.Pi/2 {
				back = max(back, -f.Returning)
			}
		}
		r := askLever(t, m, LeverOptions{})
		peak, place, dead := r.Row("peak_effort").Value, r.Row("peak_at").Value, r.Row("dead_centre").Value
		if !(peak >= most-1e-9 && peak <= most*1.001) || math.Abs(place-at) > 0.01 {
			t.Errorf("%s: peak of %g N at %g rad, by steps %g N at %g rad", c.rate, peak, place, most, at)
		}
		if got := r.Row("pull_back").Value; !(got >= back-1e-9 && got <= back*1.001) {
			t.Errorf("%s: %g N bring it back, by steps %g N", c.rate, got, back)
		}
		if (place > dead) != c.beyond {
			t.Errorf("%s: the peak is at %g rad, the dead centre at %g", c.rate, place, dead)
		}
	}
}

// TestLossesLeaveThePeakOfTheShot: what is left after all losses is the peak of
// the shot, which another package follows, and the list adds up.
func TestLossesLeaveThePeakOfTheShot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		s, err := sheet.Read("test.toml", []byte(leverSheet("rack and pinion")+"[pull]\nfill_time = \"1 s\"\n"), nil)
		if err != nil {
			t.Fatal(err)
		}
		m := &machine.Machine{Sheet: s, Varied: map[string]float64{
			"piston.port_travel": draw("port", 0, 5e-3), "piston.friction": draw("friction", 0, 60),
			"piston.friction_per_pressure": draw("drag", 0, 8e-5), "piston.mass": draw("mass", 0, 1),
			"chamber.air": draw("air", 0, 5e-6), "chamber.headspace": draw("headspace", 0, 20e-6),
			"pull.fill_time": draw("fill time", 2, 8), "pull[1].fill_time": draw("fill time 1", 2, 8),
			"pull.preinfusion": draw("pre-infusion", 5, 9),
		}}
		if err := m.Build(); err != nil {
			t.Fatal(err)
		}
		shot, err := profile.Summarize(&m.Setup)
		if err != nil {
			t.Fatal(err)
		}
		all, err := lossesOf(m)
		if err != nil {
			t.Fatal(err)
		}
		if left := all.left().Pressure; math.Abs(left-shot.Peak) > 1e-6*shot.Peak {
			t.Errorf("%g Pa left, the shot peaks at %g Pa", left, shot.Peak)
		}
		stroke, pressure := all.list[0].Stroke, all.list[0].Pressure
		for _, l := range all.list[1:] {
			if l.Stroke < -1e-12 || l.Pressure < -1e-6 {
				t.Errorf("%s gives: %+v", l.cause, l)
			}
			stroke, pressure = stroke-l.Stroke, pressure-l.Pressure
		}
		if math.Abs(stroke) > 1e-12 || math.Abs(pressure) > 1e-6 {
			t.Errorf("%g m and %g Pa unaccounted for", stroke, pressure)
		}
	})
}

// TestLeverSpreadByDraws: the first-order uncertainties are those of random draws,
// to 4.5 standard deviations of what so few draws say and 2 % for what bends.
func TestLeverSpreadByDraws(t *testing.T) {
	const draws = 600
	for name, text := range map[string]string{
		"rack":          leverSheet("rack and pinion"),
		"beyond centre": pastSheet("27 N/mm", "700 N"),
	} {
		m := testsheet.Build(t, strings.Replace(text, "handle_length = \"260 mm\"", "handle_length = \"260 mm ± 5 mm\"", 1),
			"spring.rate=27 N/mm ± 3 %", "spring.preload=700 N ± 30 N", "piston.friction=30 N ± 8 N", "piston.stroke=24 mm ± 0.2 mm")
		r := askLever(t, m, LeverOptions{})
		var a leverAnswer
		if err := a.follow(m, &LeverOptions{}); err != nil {
			t.Fatal(err)
		}
		drawn, err := spread.Draw(m, a.question(), spread.Options{Draws: draws, Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		for _, key := range []string{"peak_effort", "peak_sealed", "energy_in", "energy_back", "peak", "seal_friction"} {
			got, want := r.Row(key).Band.Std, drawn.Std(key)
			if !(math.Abs(got/want-1) < 4.5/math.Sqrt(2*draws)+0.02) {
				t.Errorf("%s: %s: u = %g, by draws %g", name, key, got, want)
			}
		}
	}
}
