package spread

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
	"springcalc/profile/uncertain"
	"springcalc/tables"
)

// aShot asks for the peak, total time and yield of a shot.
func aShot() Question {
	defs := []report.Def[profile.Summary]{
		{Key: "peak", Unit: quantity.InBar, Head: "peak", Of: func(s *profile.Summary) float64 { return s.Peak }},
		{Key: "total_time", Unit: quantity.InS, Head: "total time", Of: func(s *profile.Summary) float64 { return s.Total }},
		{Key: "yield", Unit: quantity.InG, Head: "yield", Of: func(s *profile.Summary) float64 { return s.Yield }},
	}
	return Of(defs, func() Finder[profile.Summary] {
		return func(m *machine.Machine, s *profile.Summary, _ []float64) (err error) {
			*s, err = profile.Summarize(&m.Setup)
			return err
		}
	})
}

// doubtfulShot is a machine with all that may be off in its shot.
func doubtfulShot(t testing.TB, sheet string, sets ...string) *doubtful {
	t.Helper()
	d, err := newDoubtful(testsheet.Build(t, sheet, sets...), aShot())
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// TestDefaultInputs: the draws of every default with a range are spread as
// tables says of its shape.
func TestDefaultInputs(t *testing.T) {
	const m = 20_000
	table, err := tables.Get("defaults")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range table.Rows {
		d, ok := tables.DefaultFor(row[0])
		if !ok {
			t.Fatalf("no default %q", row[0])
		}
		if d.Low == d.High {
			continue
		}
		p := uncertain.Problem{Inputs: []uncertain.Input{DefaultInput(d)}, Outputs: []string{d.Key}}
		var draws []float64
		if _, err := uncertain.MonteCarlo(p, func() uncertain.Model {
			return func(x, y []float64) error { draws, y[0] = append(draws, x[0]), x[0]; return nil }
		}, uncertain.Options{Seed: 1, Draws: m, Workers: 1}); err != nil || len(draws) != m {
			t.Errorf("%s: %d draws, %v", d.Key, len(draws), err)
			continue
		}
		slices.Sort(draws)
		below := func(what string, p, want float64) { // quantile p, in standard deviations of the share below it
			if got := stat.CDF(want, stat.Empirical, draws, nil); math.Abs(got-p) > 4.5*math.Sqrt(p*(1-p)/m) {
				t.Errorf("%s (%s): a share of %.4f below %s, want %.4f", d.Key, d.Shape, got, what, p)
			}
		}
		inside := draws[0] >= d.Low && draws[m-1] <= d.High
		switch d.Shape {
		case "uniform":
			below("a quarter of the range", 0.25, d.Low+(d.High-d.Low)/4)
		case "triangular":
			if d.Value > d.Low {
				below("the default", (d.Value-d.Low)/(d.High-d.Low), d.Value)
			} else {
				below("the middle of the range", 0.75, (d.Low+d.High)/2)
			}
		case "normal":
			below("the default", 0.5, d.Value)
			below("the low end", 0.025, d.Low)
			inside = true
		case "lognormal":
			below("the default", 0.5, d.Value)
			if in, whole := p.Inputs[0], uncertain.PlausibleRange("", d.Low, d.High); !close9(in.Std/in.Value, whole.Std/whole.Value) {
				t.Errorf("%s: spread over value %g, want %g", d.Key, in.Std/in.Value, whole.Std/whole.Value)
			}
			below("a factor below", 0.025, d.Value*math.Sqrt(d.Low/d.High))
			inside = true
		}
		if !inside {
			t.Errorf("%s: draws from %g to %g, range %g to %g", d.Key, draws[0], draws[m-1], d.Low, d.High)
		}
	}
}

// TestSources: every ± of a sheet and every range of a default that the answer
// depends on is drawn, and nothing else; two pulls share their default.
func TestSources(t *testing.T) {
	d := doubtfulShot(t, testsheet.Minimal+"permeability = \"4e-15 m² ± 50 %\"\npermeability_at = \"9 bar\"\n[[pull]]\n[[pull]]\npreinfusion = \"4 s ± 1 s (uniform)\"\n")
	got := map[string]source{}
	for _, s := range d.sources {
		got[s.Name] = s
	}
	if s := got["pull[2].preinfusion"]; s.Shape != uncertain.Uniform || !close9(s.Std, 1/math.Sqrt(3)) || s.known != "± 1 s (uniform)" || s.assumed {
		t.Errorf("a stated ±: %+v", s)
	}
	if s := got["coffee.permeability"]; s.Shape != uncertain.Lognormal || !close9(s.Std, 1e-15) {
		t.Errorf("a permeability: %+v", s)
	}
	if s := got["pull.preinfusion"]; !s.assumed || !slices.Equal(s.paths, []string{"pull[1].preinfusion"}) || s.known != "5 to 15 s (default)" {
		t.Errorf("a default: %+v", s)
	}
	if s, ok := got["coffee.second_pull_factor"]; !ok || s.low != 0.01 || s.high != 10 {
		t.Errorf("the limits of a key: %+v", s)
	}
	for _, exact := range []string{"coffee.permeability_at", "pull.end_pressure", "piston.bore", "coffee.shot_scatter"} {
		if _, ok := got[exact]; ok {
			t.Errorf("%s does not vary", exact)
		}
	}
	known := doubtfulShot(t, string(demo.Sheet)+testsheet.KnownShot, "piston.stroke=24 mm", "coffee.resistance=", "coffee.resistance_at=")
	for _, s := range known.sources {
		if s.Name == "coffee.permeability" || s.Name == "coffee.retained" {
			t.Errorf("%s is told by the known shot", s.Name)
		}
	}
}

// close9 compares to nine digits.
func close9(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Abs(b) }

// TestFold: what cannot be is mirrored at its limit.
func TestFold(t *testing.T) {
	s := source{low: 0, high: 1}
	for in, want := range map[float64]float64{-0.25: 0.25, 0.5: 0.5, 1.25: 0.75, 7: 0} {
		if got := s.fold(in); got != want {
			t.Errorf("%g: %g, want %g", in, got, want)
		}
	}
}

// TestCoverage: of many owners who measure the same machine, each within the ±
// that he states, 95 % get an interval that holds its true peak, length and
// yield. Of 120 that are at least 105, but for 1 in 1000 cases.
func TestCoverage(t *testing.T) {
	truth := testsheet.Build(t, testsheet.Stated, "pull[2].preinfusion=", "coffee.unloading_exponent=0.7")
	want, err := profile.Summarize(&truth.Setup)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(5, 0))
	const owners = 120
	held := map[string]int{}
	for range owners {
		var sets []string
		for _, q := range []struct {
			Key         string
			Value, plus float64 // in the unit
			unit        string
		}{
			{"spring.preload", 700, 40, "N"}, {"spring.rate", 27, 1, "N/mm"}, {"piston.stroke", 24, 0.6, "mm"},
			{"piston.bore", 50, 0.5, "mm"}, {"coffee.resistance", 4.5, 0.6, "bar·s/mL"}, {"coffee.retained", 1.2, 0.1, "g/g"},
		} {
			sets = append(sets, fmt.Sprintf("%s=%.9f %s ± %g %s", q.Key, q.Value+q.plus/2*rng.NormFloat64(), q.unit, q.plus, q.unit))
		}
		m := testsheet.Build(t, testsheet.Stated, append(sets, "pull[2].preinfusion=", "coffee.unloading_exponent=0.7")...)
		s, err := Draw(m, aShot(), Options{Draws: 300, Seed: rng.Uint32()})
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range []float64{want.Peak, want.Total, want.Yield} {
			if r := s.results[i]; r.Low <= v && v <= r.High {
				held[s.outcomes[i].key]++
			}
		}
	}
	for _, key := range []string{"peak", "total_time", "yield"} {
		if n := held[key]; n < 105 {
			t.Errorf("%s: %d of %d intervals hold the truth", key, n, owners)
		}
	}
}

// TestAllocations wants a draw to make none.
func TestAllocations(t *testing.T) {
	d := doubtfulShot(t, string(demo.Sheet))
	model := d.model(d.answer())
	x, y := make([]float64, len(d.sources)), make([]float64, len(d.outcomes))
	for i, s := range d.sources {
		x[i] = s.Value
	}
	if n := testing.AllocsPerRun(100, func() {
		if err := model(x, y); err != nil {
			t.Fatal(err)
		}
	}); n > 0 {
		t.Errorf("%g allocations a draw", n)
	}
}
