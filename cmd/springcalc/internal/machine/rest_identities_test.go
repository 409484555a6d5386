package machine_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/spring"
)

// lineOf is the first spring of a sheet with overrides.
func lineOf(t *rapid.T, data []byte, sets ...string) spring.Linear {
	m, err := machine.Read("a.toml", data, sets)
	if err != nil {
		t.Fatal(err)
	}
	return m.Setup.Springs[0]
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Max(math.Abs(a), math.Abs(b)) }

// TestShim: a shim is worth rate times thickness of preload, the same as seats that are
// closer by it, whether rate and preload are stated or dimensions.
func TestShim(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		thick := rapid.Float64Range(0, 8).Draw(t, "mm")
		shim := fmt.Sprintf("spring.shim=%.9f mm", thick)
		for _, data := range [][]byte{demo.Sheet, []byte(testsheet.Minimal)} {
			before, after := lineOf(t, data), lineOf(t, data, shim)
			if !near(after.Rate, before.Rate) || !near(after.Preload, before.Preload+before.Rate*thick/1000) {
				t.Errorf("a shim of %v mm makes %+v of %+v", thick, after, before)
			}
		}
		closer := lineOf(t, demo.Sheet, fmt.Sprintf("spring.installed_length=%.9f mm", 139-thick))
		if shimmed := lineOf(t, demo.Sheet, shim); !near(closer.Preload, shimmed.Preload) {
			t.Errorf("%v mm: %v with a shim, %v with closer seats", thick, shimmed.Preload, closer.Preload)
		}
	})
}

// TestTriedBesideReadings: readings of a sheet tell of the spring as it is. A shim that
// is tried adds rate times thickness to what they tell; another preload is that which
// was asked for, whatever was read, and the answer says so.
func TestTriedBesideReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		peak := rapid.Float64Range(5, 8).Draw(t, "peak")
		read := fmt.Appendf(nil, "\n[bench]\npeak = \"%.3f bar ± 0.1 bar\"\nend_pressure = \"%.3f bar\"\n", peak, 0.6*peak)
		thick := rapid.Float64Range(0, 4).Draw(t, "mm")
		told := testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):]
		for _, data := range []string{string(demo.Sheet), testsheet.Minimal, told} {
			data := append([]byte(data), read...)
			before, after := lineOf(t, data), lineOf(t, data, fmt.Sprintf("spring.shim=%.9f mm", thick))
			if !near(after.Rate, before.Rate) || !near(after.Preload, before.Preload+before.Rate*thick/1000) {
				t.Errorf("a shim of %v mm makes %+v of %+v", thick, after, before)
			}
		}
		preload := rapid.Float64Range(400, 900).Draw(t, "preload")
		for _, data := range [][]byte{demo.Sheet, []byte(testsheet.Minimal)} {
			m, err := machine.Read("a.toml", slices.Concat(data, read), []string{fmt.Sprintf("spring.preload=%.9f N", preload)})
			if err != nil {
				t.Fatal(err)
			}
			if got := m.Setup.Springs[0].Preload; !near(got, preload) {
				t.Errorf("a preload of %v where %v was asked for", got, preload)
			}
			if said := strings.Join(m.Doubts, "\n"); !strings.Contains(said, "of which bench.peak and bench.end_pressure tell") {
				t.Errorf("not said: %q", said)
			}
		}
	})
}

// TestOverriddenSpring: a rate and a preload that are put in place of those of the
// dimensions are those of the machine, with a shim beside and at any temperature; the
// length at rest is then the one that gives them.
func TestOverriddenSpring(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rate, preload := rapid.Float64Range(22, 32).Draw(t, "rate"), rapid.Float64Range(400, 900).Draw(t, "preload")
		byRate, byPreload := fmt.Sprintf("spring.rate=%.9f N/mm", rate), fmt.Sprintf("spring.preload=%.9f N", preload)
		was := lineOf(t, demo.Sheet)
		if got := lineOf(t, demo.Sheet, byPreload); !near(got.Preload, preload) || !near(got.Rate, was.Rate) {
			t.Errorf("%s: %+v of %+v", byPreload, got, was)
		}
		// The same length at rest: the preload goes with the rate.
		if got := lineOf(t, demo.Sheet, byRate); !near(got.Rate, 1000*rate) || !near(got.Preload/got.Rate, was.Preload/was.Rate) {
			t.Errorf("%s: %+v of %+v", byRate, got, was)
		}
		if got := lineOf(t, demo.Sheet, byRate, byPreload); !near(got.Rate, 1000*rate) || !near(got.Preload, preload) {
			t.Errorf("%s, %s: %+v", byRate, byPreload, got)
		}
		if got := lineOf(t, demo.Sheet, byPreload, "spring.temperature=80 °C", "spring.shim=2 mm"); !near(got.Preload, preload+got.Rate*0.002) {
			t.Errorf("%s, hot, with a shim: %+v", byPreload, got)
		}
		m, err := machine.Read("a.toml", demo.Sheet, []string{byPreload})
		if err != nil {
			t.Fatal(err)
		}
		back := lineOf(t, demo.Sheet, fmt.Sprintf("spring.installed_length=%.12f mm", 1000*m.Rest("spring")))
		if !near(back.Preload, preload) {
			t.Errorf("at the length of %s the preload is %v", byPreload, back.Preload)
		}
		if !strings.Contains(m.Doubts[0], "--set spring.preload: spring.preload goes over spring.installed_length") {
			t.Errorf("not said: %q", m.Doubts)
		}
	})
	if _, err := machine.Read("a.toml", []byte(strings.Replace(string(demo.Sheet), "[spring]", "[spring]\nrate = \"27 N/mm\"", 1)), nil); err == nil || !strings.Contains(err.Error(), "keep rate and preload, or the dimensions") {
		t.Errorf("a rate beside dimensions in the sheet itself: %v", err)
	}
}
