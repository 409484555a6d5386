package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile/diagnose"
)

// answer runs a command that must succeed.
func answer(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs strings.Builder
	if status := run(args, strings.NewReader(""), &out, &errs); status != answered {
		t.Fatalf("%v: status %d: %s", args, status, errs.String())
	}
	return out.String()
}

// TestDiagnoseJSON holds the names that programs rely on, and the demo to its story.
func TestDiagnoseJSON(t *testing.T) {
	var got map[string]any
	if err := json.Unmarshal([]byte(answer(t, "diagnose", "--json", "--keep-above", "4 bar", "--pulls-per-day", "40")), &got); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"rate_n_per_mm", "cocked_force_n", "rest_force_n", "force_lost_n", "equivalent_set_mm"} {
		v, low, high := got[name], got[name+"_low"], got[name+"_high"]
		if a, ok := low.(float64); !ok || !(a < v.(float64) && v.(float64) < high.(float64)) {
			t.Errorf("%s is %v, %v to %v", name, v, low, high)
		}
	}
	for _, name := range []string{"next_measurement", "advice", "advice_because", "likeliest_cause", "kept_for"} {
		if s, _ := got[name].(string); s == "" {
			t.Errorf("no %s", name)
		}
	}
	sum := 0.0
	for _, c := range got["causes"].([]any) {
		sum += c.(map[string]any)["likelihood"].(float64)
		if name := c.(map[string]any)["cause"].(string); name == "" {
			t.Error("cause without a name")
		}
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("likelihoods add up to %g", sum)
	}
	if got["likeliest_cause"] != "set of the spring" || math.Abs(got["rate_n_per_mm"].(float64)-27) > 1 {
		t.Errorf("demo: %v, rate %v", got["likeliest_cause"], got["rate_n_per_mm"])
	}
	if len(got["doubts"].([]any)) == 0 || len(got["cautions"].([]any)) == 0 {
		t.Error("no doubts or cautions")
	}
}

// TestDiagnoseCSV: fitted values where there is a log, causes where there is none.
func TestDiagnoseCSV(t *testing.T) {
	if out := answer(t, "diagnose", "--csv"); !strings.HasPrefix(out, "log,t_s,volume_ml,pressure_bar,fitted_bar,residual_bar\nlog.csv,") {
		t.Errorf("%.200s", out)
	}
	if out := answer(t, "diagnose", "testdata/tired.toml", "--csv"); !strings.HasPrefix(out, "cause,likelihood,") {
		t.Errorf("%.200s", out)
	}
}

// TestEveryBenchKeyMatters: each key of [new] and [bench] changes the answer.
func TestEveryBenchKeyMatters(t *testing.T) {
	base := []string{"diagnose", "testdata/tired.toml", "--json"}
	plain := answer(t, base...)
	for path, set := range map[string][]string{
		"new.peak": {"9.3 bar"}, "new.free_length": {"180 mm"}, "new.wire": {"7.1 mm"}, "new.active_coils": {"11.5"},
		"bench.peak": {"6 bar"}, "bench.end_pressure": {"3.4 bar"}, "bench.yield": {"40 g"}, "bench.shot_time": {"30 s"}, "bench.long_fill_peak": {"6.6 bar"},
		"bench.free_length": {"170 mm"}, "bench.wire": {"6.9 mm"}, "bench.active_coils": {"12"},
		"bench.force_raising": {"150 N"}, "bench.force_lowering": {"20 N"},
		"bench.gauge_reading": {"8.8 bar", "bench.gauge_true=9 bar"}, "bench.gauge_true": {"9 bar", "bench.gauge_reading=8.8 bar"},
		"bench.piston_travel": {"24 mm"}, "bench.headspace_depth": {"9 mm"},
		"bench.load.length": {"130 mm", "bench.load.force=1000 N"}, "bench.load.force": {"990 N", "bench.load.length=130 mm"},
	} {
		args := append(slices.Clone(base), "--set", path+"="+set[0])
		for _, other := range set[1:] {
			args = append(args, "--set", other)
		}
		if answer(t, args...) == plain {
			t.Errorf("%s changes nothing", path)
		}
	}
	for _, table := range []sheet.Table{sheet.NewTable, sheet.BenchTable, sheet.BenchLoadTable} {
		for _, k := range table.Keys {
			if _, err := os.Stat("testdata/tired.toml"); err != nil || k.Dim == nil && k.Form == nil {
				t.Errorf("%s.%s: %v", table.Path, k.Name, err)
			}
		}
	}
}

// TestBenchValues: what the sheet says arrives as measurements, with the stated
// uncertainty or that of usual tools; one half of a pair alone is a fault.
func TestBenchValues(t *testing.T) {
	text, err := os.ReadFile("testdata/tired.toml")
	if err != nil {
		t.Fatal(err)
	}
	get := func(sets ...string) (map[diagnose.Kind]diagnose.Measured, *machine.Machine) {
		s, err := sheet.ReadSheet("tired.toml", text, sets)
		if err != nil {
			t.Fatal(err)
		}
		m, err := machine.NewMachine(s)
		if err != nil {
			t.Fatal(err)
		}
		by := map[diagnose.Kind]diagnose.Measured{}
		for _, d := range m.Bench() {
			by[d.Kind] = d
		}
		return by, m
	}
	by, _ := get("bench.gauge_reading=8.8 bar ± 0.2 bar", "bench.gauge_true=9 bar", "bench.load.length=130 mm", "bench.load.force=1000 N")
	for _, c := range []struct {
		kind     diagnose.Kind
		Value, u float64
	}{
		{diagnose.Peak, 6.8e5, 0.1e5},
		{diagnose.FreeLength, 0.1675, 0.15e-3}, // now, by the sheet, since [new] has what it was
		{diagnose.Drag, 38, diagnose.UsualU(diagnose.Drag)},
		{diagnose.Gauge, 8.8 / 9, 8.8 / 9 * 0.1 / 8.8},
		{diagnose.BenchLoad, 1000, diagnose.UsualU(diagnose.BenchLoad)},
	} {
		if d := by[c.kind]; math.Abs(d.Value-c.Value) > 1e-9*c.Value || math.Abs(d.U-c.u) > 1e-9*c.u {
			t.Errorf("%v is %g ± %g, want %g ± %g", c.kind, d.Value, d.U, c.Value, c.u)
		}
	}
	if at := by[diagnose.BenchLoad].At; at != 0.130 {
		t.Errorf("load at %g m", at)
	}
	two := strings.Replace(string(text), "[bench]", "[[bench.load]]\nlength = \"150 mm\"\nforce = \"481 N\"\n[[bench.load]]\nlength = \"130 mm\"\nforce = \"1031 N\"\n[bench]", 1)
	s, err := sheet.ReadSheet("two.toml", []byte(two), nil)
	if err != nil {
		t.Fatal(err)
	}
	m, err := machine.NewMachine(s)
	if err != nil {
		t.Fatal(err)
	}
	if i := slices.IndexFunc(m.Bench(), func(d diagnose.Measured) bool {
		return d.Kind == diagnose.BenchRate && math.Abs(d.Value-27.5e3) < 1e-6
	}); i < 0 {
		t.Errorf("two loads: %v", m.Bench())
	}
	_, m = get("bench.gauge_true=9 bar")
	if err := m.Faults.Err(); err == nil || !strings.Contains(err.Error(), "stated without bench.gauge_reading") {
		t.Errorf("half a gauge check: %v", err)
	}
}

// TestAsNew: the machine as new gives the peak that [new] states, with the spring
// by dimensions or by rate, and where the sheet has the length by itself.
func TestAsNew(t *testing.T) {
	text, err := os.ReadFile("testdata/tired.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		Sheet  []byte
		sets   []string
		longer float64 // of the spring, free [m]; 0 where it has no dimensions
	}{
		{text, []string{"new.free_length="}, 0.1675}, // to be found
		{demo.Sheet, []string{"new.peak=9 bar"}, 0},
	} {
		s, err := sheet.ReadSheet("x.toml", c.Sheet, c.sets)
		if err != nil {
			t.Fatal(err)
		}
		m, err := machine.NewMachine(s)
		if err != nil {
			t.Fatal(err)
		}
		fresh, notes, err := m.AsNew(0)
		if err != nil {
			t.Fatal(err)
		}
		spring := fresh.Setup.Springs[0]
		port := fresh.Setup.Cylinder.Stroke - fresh.Setup.Cylinder.Port
		if p := fresh.Setup.Cylinder.Pressure(spring.Force(port) + fresh.Setup.Cylinder.Weight + fresh.Setup.Handle.Force(port)); math.Abs(p-9e5) > 1 || fresh.Fresh != 9e5 {
			t.Errorf("as new %.6g Pa, want 9 bar", p)
		}
		if len(notes) == 0 || !strings.Contains(notes[0], "longer than the sheet has it") {
			t.Errorf("notes: %q", notes)
		}
		if c.longer > 0 && math.Abs(fresh.Spring.Free-c.longer-(spring.Preload-m.Setup.Springs[0].Preload)/spring.Rate) > 1e-9 {
			t.Errorf("free length as new is %g m", fresh.Spring.Free)
		}
		if rate := m.Setup.Springs[0].Rate; spring.Rate != rate {
			t.Errorf("rate as new is %g, want %g", spring.Rate, rate)
		}
	}
}

// TestShotTimeOfAKnownPuck: the time of a shot scatters by what grinds do only
// where the sheet states nothing of the puck.
func TestShotTimeOfAKnownPuck(t *testing.T) {
	for _, c := range []struct {
		sets  []string
		share float64
	}{
		{nil, machine.UnknownGrind},
		{[]string{"coffee.resistance=5 bar·s/mL", "coffee.resistance_at=9 bar"}, diagnose.UsualSpread()[diagnose.ShotTime].Share},
		{[]string{"coffee.permeability=4e-15 m²", "coffee.permeability_at=9 bar"}, diagnose.UsualSpread()[diagnose.ShotTime].Share},
		{[]string{"coffee.known.yield=38 g", "coffee.known.time=40 s"}, diagnose.UsualSpread()[diagnose.ShotTime].Share},
	} {
		fresh, _, err := testsheet.Build(t, testsheet.Minimal, c.sets...).AsNew(0)
		if err != nil {
			t.Fatal(err)
		}
		if got := fresh.Spread[diagnose.ShotTime].Share; got != c.share {
			t.Errorf("%v: %g, want %g", c.sets, got, c.share)
		}
	}
}

// TestSeveralLogs: two logs of one machine are read each, and together say more.
func TestSeveralLogs(t *testing.T) {
	dir := t.TempDir()
	m := demoMachine(t)
	var logs []string
	for i, every := range []float64{0.1, 0.17} {
		name := filepath.Join(dir, string(rune('a'+i))+".csv")
		if err := os.WriteFile(name, noisyLog(t, m, every), 0o666); err != nil {
			t.Fatal(err)
		}
		logs = append(logs, "--log", name)
	}
	t.Chdir(workDir(t))
	out := answer(t, append([]string{"diagnose", "demo.toml", "--json", "--set", "new.peak=9 bar"}, logs...)...)
	var got struct {
		Logs []struct{ Log string }
		Peak float64 `json:"peak_bar"`
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Logs) != 2 || math.Abs(got.Peak-6.5) > 0.3 {
		t.Errorf("%+v", got)
	}
}

// TestMeanOfLogs: what logs show counts as their mean. What is each log's own falls with
// their number, but not below how far they stand apart; what bore, seals and gauge may be
// off by, and a tool, does not.
func TestMeanOfLogs(t *testing.T) {
	line := func(rate float64) *diagnose.Line {
		return &diagnose.Line{
			Rate: diagnose.Reading{Estimate: diagnose.Around(rate, 500), Own: 400}, // 300 N/m in common
			End:  diagnose.Reading{Estimate: diagnose.Around(4e5, 1e3)},
		}
	}
	for _, c := range []struct {
		rates    []float64
		Value, u float64
	}{
		{[]float64{27000}, 27000, 500},
		{[]float64{27000, 27000, 27000, 27000}, 27000, math.Hypot(300, 200)},
		{[]float64{26000, 28000}, 27000, math.Hypot(300, 1000)},
	} {
		e := &evidence{}
		for _, r := range c.rates {
			e.lines = append(e.lines, line(r))
		}
		e.fromLines()
		want := map[diagnose.Kind][2]float64{ // value, u
			diagnose.LogRate:  {c.Value, c.u},
			diagnose.EndPress: {4e5, diagnose.UsualU(diagnose.EndPress)},
		}
		for _, d := range e.data {
			w, ok := want[d.Kind]
			if ok && (math.Abs(d.Value-w[0]) > 1e-6 || math.Abs(d.U-w[1]) > 1e-6) {
				t.Errorf("%v: %v is %g ± %g, want %g ± %g", c.rates, d.Kind, d.Value, d.U, w[0], w[1])
			}
			delete(want, d.Kind)
		}
		if len(want) > 0 {
			t.Errorf("%v: nothing of %v", c.rates, want)
		}
	}
}

// TestStaticCriterion: a cocked spring is held against an allowable for that
// state, not against the higher one of a spring pressed solid.
func TestStaticCriterion(t *testing.T) {
	for name, want := range map[string]string{"EN 10270-1 DH": "working load, static", "A228": "before set removal"} {
		wire, err := machine.WireOf(name)
		if err != nil {
			t.Fatal(err)
		}
		c, err := machine.StaticCriterion(wire)
		if err != nil || c.Name() != want {
			t.Errorf("%s: %q, %v, want %q", name, c.Name(), err, want)
		}
	}
}
