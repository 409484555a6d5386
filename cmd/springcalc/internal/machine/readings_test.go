package machine_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/testsheet"
)

// TestReadingsTellTheSpring: the spring that gives two readings is found again,
// whichever two they are, and a variant of the machine finds its own.
func TestReadingsTellTheSpring(t *testing.T) {
	const lever = "[lever]\nkind = \"rack and pinion\"\nhandle_length = \"260 mm\"\npinion_diameter = \"50 mm\"\n"
	rng := rand.New(rand.NewPCG(14, 6))
	for range 20 {
		text, rate, preload := testsheet.Random(rng)
		text += lever
		true_ := testsheet.Build(t, fmt.Sprintf("[spring]\nrate = \"%.9f N/mm\"\npreload = \"%.6f N\"\n", rate/1e3, preload)+text)
		l, err := true_.Lever()
		if err != nil {
			t.Fatal(err)
		}
		load := true_.Load()
		load.OpenPressure = 0
		var pulls []string
		for _, angle := range []float64{0.2, 0.6} {
			p, err := l.At(load, angle)
			if err != nil {
				t.Fatal(err)
			}
			pulls = append(pulls, fmt.Sprintf("[[lever.pull]]\nangle = \"%g rad\"\nforce = \"%.9f N\"\n", angle, p.Cocking))
		}
		peak := fmt.Sprintf("[bench]\npeak = \"%.9f bar\"\n", true_.Setup.PeakPressure()/1e5)
		end := fmt.Sprintf("end_pressure = \"%.9f bar\"\n", true_.Setup.EndPressure()/1e5)
		for name, readings := range map[string]string{"gauge": peak + end, "pulls": pulls[0] + pulls[1], "pull and peak": pulls[0] + peak, "all": pulls[0] + pulls[1] + peak + end} {
			m := testsheet.Build(t, text+readings)
			if s := m.Setup.Springs[0]; math.Abs(s.Rate/rate-1) > 1e-6 || math.Abs(s.Preload-preload) > 1e-4*true_.Setup.Cylinder.Stroke*rate {
				t.Errorf("%s: %+v, want %g N/m and %g N", name, s, rate, preload)
			}
			if c := m.Contradictions(); len(c) > 0 {
				t.Errorf("%s: %q", name, c)
			}
			if strings.Contains(name, "gauge") {
				other, err := m.Vary(map[string]float64{"bench.peak": 1.02 * true_.Setup.PeakPressure(), "piston.friction": 50})
				if err != nil || !cmp.Equal(other.Setup.PeakPressure(), 1.02*true_.Setup.PeakPressure(), testsheet.Closely) && math.Abs(other.Setup.PeakPressure()/true_.Setup.PeakPressure()-1.02) > 1e-8 {
					t.Errorf("another peak: %v", err)
				}
			}
		}
		half := strings.Replace(text, "[piston]", fmt.Sprintf("[spring]\nrate = \"%.9f N/mm\"\n[piston]", rate/1e3), 1)
		if s := testsheet.Build(t, half+peak).Setup.Springs[0]; s.Rate < rate*(1-1e-9) || math.Abs(s.Preload-preload) > 1e-5*preload {
			t.Errorf("rate and peak: %+v, want %g N", s, preload)
		}
	}
}

// TestReadingsWeigh: of a spring and a gauge both count by their ±. With a preload
// known to ± 2u and a peak to ± 2v over an area A, all else exact, the preload moves
// by u²/(u² + v²A²) of what the gauge wants (weighted mean of two).
func TestReadingsWeigh(t *testing.T) {
	const u, area = 30.0, math.Pi / 4 * 0.05 * 0.05
	exact := strings.NewReplacer("700 N", "700 N ± 60 N").Replace(testsheet.Lossless)
	sets := []string{"piston.handle_force=0 N", "water.boiler_pressure=1 bar", "bench.gauge_error=0 bar"}
	before := testsheet.Build(t, exact, sets...)
	p := before.Setup.PeakPressure() + 0.1e5
	m := testsheet.Build(t, exact+fmt.Sprintf("[bench]\npeak = \"%.9f bar ± 0.2 bar\"\n", p/1e5), sets...)
	v := 0.1e5 * area
	want := 700 + u*u/(u*u+v*v)*0.1e5*area
	if got := m.Setup.Springs[0].Preload; math.Abs(got-want) > 1e-3 {
		t.Errorf("preload %.6g N, want %.6g", got, want)
	}
	if m.Setup.Springs[0].Rate != 27e3 {
		t.Errorf("a rate that is known exactly moved to %g", m.Setup.Springs[0].Rate)
	}
	fresh, err := m.AsNew(0)
	if err != nil || fresh.Setup.Springs[0].Preload != 700 {
		t.Errorf("the diagnosis has the reading already in its spring: %+v, %v", fresh.Setup.Springs, err)
	}
}

// TestContradictions: what cannot be of one machine is said, with how much is missing.
func TestContradictions(t *testing.T) {
	text := strings.NewReplacer("700 N", "700 N ± 20 N", "27 N/mm", "27 N/mm ± 2 %").Replace(testsheet.Minimal)
	near := testsheet.Build(t, text).Setup.PeakPressure()
	for _, c := range []struct {
		peak, off float64 // [bar]
		says      string
		gauge     bool // the answer goes by the gauge
	}{{near / 1e5, 0.2, "", false}, {near / 1e5, -0.77, "0.8 bar are missing (bench.peak)", false}, {near / 1e5, -3, "3.0 bar are missing (bench.peak)", true}, {near / 1e5, 3, "3.0 bar are too many (bench.peak)", true}} {
		m := testsheet.Build(t, text+fmt.Sprintf("[bench]\npeak = \"%.6f bar\"\n", c.peak+c.off))
		said := strings.Join(m.Contradictions(), "\n")
		if (c.says == "") != (said == "") || !strings.Contains(said, c.says) {
			t.Errorf("%+g bar: %q, want %q", c.off, said, c.says)
		}
		if got := math.Abs(m.Setup.PeakPressure()/1e5-c.peak-c.off) < 1e-6; got != c.gauge {
			t.Errorf("%+g bar: peak %.4f bar", c.off, m.Setup.PeakPressure()/1e5)
		}
	}
}

// TestReadingsThatTellNothing: what is not enough, or cannot be, is named.
func TestReadingsThatTellNothing(t *testing.T) {
	text := testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):]
	const lever = "[lever]\nkind = \"rack and pinion\"\nhandle_length = \"260 mm\"\npinion_diameter = \"50 mm\"\n"
	for said, want := range map[string]string{
		"":                            "spring.rate: missing; give rate and preload, or the spring's dimensions; or, off the gauge",
		"[bench]\npeak = \"8 bar\"\n": "spring.rate: missing",
		"[bench]\npeak = \"4 bar\"\nend_pressure = \"6 bar\"\n":                                                               "bench.end_pressure: \"6 bar\": want less than bench.peak, 4 bar",
		lever + "[[lever.pull]]\nangle = \"20°\"\nforce = \"90 N\"\n[[lever.pull]]\nangle = \"20°\"\nforce = \"91 N\"\n":      "the readings do not tell preload and rate apart",
		lever + "[[lever.pull]]\nangle = \"20°\"\nforce = \"90 N\"\n[[lever.pull]]\nangle = \"200°\"\nforce = \"91 N\"\n":     "lever.pull[2].force",
		lever + "[[lever.pull]]\nangle = \"20°\"\n":                                                                           "lever.pull[1].force: missing",
		"[[visit]]\ndate = 2019\npeak = \"8 bar\"\nend_pressure = \"5 bar\"\n[[visit]]\ndate = 2020\ndone = \"new spring\"\n": "work since the readings of the visits has made them out of date",
	} {
		_, err := machine.Read("test.toml", []byte(text+said), nil)
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s\ngot  %v\nwant %s", said, err, want)
		}
	}
}

// TestDerived: what the rest of a sheet tells need not be stated, and is the same.
func TestDerived(t *testing.T) {
	const rack = "[lever]\nkind = \"rack and pinion\"\nhandle_length = \"260 mm\"\n"
	text := testsheet.Minimal + rack + "swing = \"80°\"\n"
	l, err := testsheet.Build(t, text).Lever()
	if err != nil {
		t.Fatal(err)
	}
	r := l.Linkage.Range()
	if got := l.Linkage.Lift(r.To) - l.Linkage.Lift(r.From); math.Abs(got-0.024) > 1e-12 {
		t.Errorf("the pinion lifts %g m, want the stroke", got)
	}
	dims := testsheet.Dimensions8mm + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):]
	want := testsheet.Build(t, dims).Setup.Springs[0]
	for _, path := range []string{"bench.free_length", "new.free_length"} {
		if got := testsheet.Build(t, dims, "spring.free_length=", path+"=250 mm").Setup.Springs[0]; got != want {
			t.Errorf("%s: %+v, want %+v", path, got, want)
		}
	}
	if got := testsheet.Build(t, dims, "spring.free_length=", "bench.free_length=250 mm", "new.free_length=255 mm").Setup.Springs[0]; got != want {
		t.Errorf("the length when new in place of today's: %+v", got)
	}
}

// TestSaidTwice: what a sheet says twice and differently is an error that names both
// places; the same twice is no harm.
func TestSaidTwice(t *testing.T) {
	dims := strings.TrimPrefix(testsheet.Dimensions8mm, "\n") + testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):]
	if got := testsheet.FaultsOf(dims, "bench.free_length=25 cm"); len(got) > 0 {
		t.Errorf("the same twice: %q", got)
	}
	want := `--set bench.free_length: "244 mm": test.toml:7:15: spring.free_length has "250 mm" for the same thing; keep the one that is so today, and what was so when new under [new]`
	if got := testsheet.FaultsOf(dims, "bench.free_length=244 mm"); len(got) != 1 || got[0] != want {
		t.Errorf("got  %q\nwant %s", got, want)
	}
	if got := testsheet.FaultsOf(dims, "bench.gauge_error=0.1 bar", "bench.gauge_reading=9 bar", "bench.gauge_true=8.9 bar"); len(got) != 1 || !strings.Contains(got[0], "keep only one of bench.gauge_error and bench.gauge_reading") {
		t.Errorf("%q", got)
	}
	// Two peaks are two readings of one machine: between them, or said to differ.
	known := testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):] + "[coffee.known]\nyield = \"42 g\"\ntime = \"50 s\"\npeak = \"6.4 bar\"\n[bench]\nend_pressure = \"3.4 bar\"\n"
	m := testsheet.Build(t, known, "bench.peak=6.6 bar")
	if p := m.Setup.PeakPressure(); p < 6.45e5 || p > 6.55e5 || len(m.Contradictions()) > 0 {
		t.Errorf("peak %g, %q", p, m.Contradictions())
	}
	if c := testsheet.Build(t, known, "bench.peak=7.8 bar").Contradictions(); len(c) == 0 {
		t.Error("two peaks that are 1.4 bar apart go together")
	}
}
