package answer

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/render"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
	"springcalc/profile/course"
	"springcalc/profile/diagnose"
	"springcalc/profile/logged"
)

// tired is a machine with its spring by dimensions, and what was measured on it.
func tired(t testing.TB) string {
	t.Helper()
	text, err := os.ReadFile("../../testdata/tired.toml")
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func diagnoseOf(t testing.TB, m *machine.Machine, o DiagnoseOptions) *report.Report {
	t.Helper()
	r, err := Diagnose(t.Context(), m, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// printed is a report as JSON, without what was stated.
func printed(t testing.TB, r *report.Report) string {
	t.Helper()
	stripped := *r
	stripped.Input = nil
	var b bytes.Buffer
	if err := render.JSON(&b, &stripped, render.Options{Family: quantity.Metric}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestEveryBenchKeyMatters: each key of [new], [bench] and [[bench.load]],
// changed alone, changes the answer. Every key of these tables has a row here.
func TestEveryBenchKeyMatters(t *testing.T) {
	values := map[string][2]string{
		"new.peak": {"9.0 bar", "9.3 bar"}, "new.free_length": {"184 mm", "180 mm"}, "new.wire": {"7.0 mm", "7.1 mm"}, "new.active_coils": {"12", "11.5"},
		"bench.peak": {"6.8 bar", "6 bar"}, "bench.end_pressure": {"3.4 bar", "3.9 bar"}, "bench.yield": {"40 g", "36 g"}, "bench.shot_time": {"30 s", "50 s"},
		"bench.long_fill_peak": {"6.8 bar", "7.4 bar"}, "bench.free_length": {"167.5 mm", "170 mm"}, "bench.wire": {"7.0 mm", "6.9 mm"}, "bench.active_coils": {"12", "11.7"},
		"bench.force_raising": {"95 N", "150 N"}, "bench.force_lowering": {"57 N", "20 N"},
		"bench.gauge_reading": {"9 bar", "8.7 bar"}, "bench.gauge_true": {"9 bar", "9.3 bar"},
		"bench.gauge_error":   {"", "0.5 bar"}, // in place of the two above
		"bench.piston_travel": {"24 mm", "23 mm"}, "bench.headspace_depth": {"9 mm", "12 mm"},
		"bench.load[1].length": {"130 mm", "132 mm"}, "bench.load[1].force": {"1000 N", "1060 N"},
	}
	stated := func(but string) (sets []string) {
		for path, v := range values {
			value := v[0]
			if path == but {
				value = v[1]
			}
			pair := path == "bench.gauge_reading" || path == "bench.gauge_true"
			if same, ok := map[string]string{"bench.free_length": "spring.free_length", "bench.active_coils": "spring.active_coils"}[path]; ok && path == but {
				sets = append(sets, same+"="+value) // one thing, said twice
			}
			if value != "" && !strings.HasPrefix(path, "bench.load") && !(pair && but == "bench.gauge_error") {
				sets = append(sets, path+"="+value)
			}
		}
		return sets
	}
	loads := func(but string) string {
		text := "[[bench.load]]\n"
		for _, name := range []string{"length", "force"} {
			v := values["bench.load[1]."+name]
			value := v[0]
			if but == "bench.load[1]."+name {
				value = v[1]
			}
			text += name + " = \"" + value + "\"\n"
		}
		return text + "[bench]"
	}
	ask := func(but string) string {
		text := strings.Replace(tired(t), "[bench]", loads(but), 1)
		return printed(t, diagnoseOf(t, testsheet.Build(t, text, stated(but)...), DiagnoseOptions{}))
	}
	plain := ask("")
	for _, table := range []sheet.Table{sheet.NewTable, sheet.BenchTable, sheet.BenchLoadTable} {
		for _, k := range table.Keys {
			path := table.Path + "." + k.Name
			if table.Path == sheet.BenchLoadTable.Path {
				path = sheet.Indexed(table.Path, 1) + "." + k.Name
			}
			if k.Dim == nil {
				continue // a date, of use to visits only
			}
			if _, ok := values[path]; !ok {
				t.Errorf("%s has no row in this test", path)
			} else if ask(path) == plain {
				t.Errorf("%s changes nothing", path)
			}
		}
	}
}

// TestBenchValues: what the sheet says arrives as readings, with the stated
// uncertainty or that of usual tools; one half of a pair alone is a fault.
func TestBenchValues(t *testing.T) {
	priors, err := usualPresumptions()
	if err != nil {
		t.Fatal(err)
	}
	usual := func(k diagnose.Kind) float64 { return priors.Tool[k] }
	get := func(text string, sets ...string) (map[diagnose.Kind]diagnose.Observation, *machine.Machine) {
		m := testsheet.Build(t, text, sets...)
		fresh, err := m.AsNew(0)
		if err != nil {
			t.Fatal(err)
		}
		by := map[diagnose.Kind]diagnose.Observation{}
		for _, o := range m.Bench(fresh, usual) {
			by[o.Kinds[0]] = o
		}
		return by, m
	}
	by, _ := get(tired(t), "bench.gauge_reading=8.8 bar ± 0.2 bar", "bench.gauge_true=9 bar", "bench.load.length=130 mm", "bench.load.force=1000 N")
	for _, c := range []struct {
		kind     diagnose.Kind
		value, u float64
	}{
		{diagnose.Peak, 6.8e5, 0.1e5},
		{diagnose.FreeLength, 0.1675, 0.15e-3}, // today's, by the sheet, since [new] has what it was
		{diagnose.Drag, 38, usual(diagnose.Drag)},
		{diagnose.Gauge, 8.8 / 9, 8.8 / 9 * 0.1 / 8.8},
		{diagnose.BenchLoad, 1000, usual(diagnose.BenchLoad)},
	} {
		o, ok := by[c.kind]
		if !ok {
			t.Errorf("nothing of the %v", c.kind)
			continue
		}
		if u := math.Sqrt(o.Cov[0][0]); math.Abs(o.Values[0]-c.value) > 1e-9*c.value || math.Abs(u-c.u) > 1e-9*c.u {
			t.Errorf("%v is %g ± %g, want %g ± %g", c.kind, o.Values[0], u, c.value, c.u)
		}
	}
	if at := by[diagnose.BenchLoad].At; at != 0.130 {
		t.Errorf("load at %g m", at)
	}
	two := strings.Replace(tired(t), "[bench]", "[[bench.load]]\nlength = \"150 mm\"\nforce = \"481 N\"\n[[bench.load]]\nlength = \"130 mm\"\nforce = \"1031 N\"\n[bench]", 1)
	by, _ = get(two)
	if o, ok := by[diagnose.BenchRate]; !ok || math.Abs(o.Values[0]-27.5e3) > 1e-6 {
		t.Errorf("two loads: %+v", o)
	}
	_, m := get(tired(t), "bench.gauge_true=9 bar")
	if err := m.Faults.Err(); err == nil || !strings.Contains(err.Error(), "stated without bench.gauge_reading") {
		t.Errorf("half a gauge check: %v", err)
	}
}

// TestAsNew: the machine as new gives the peak that it had, with the spring by
// dimensions or by rate; what the sheet states of it is today's reading, and
// what [new] states is not changed.
func TestAsNew(t *testing.T) {
	for _, c := range []struct {
		text    string
		sets    []string
		guessed bool
	}{
		{tired(t), []string{"new.free_length="}, true},
		{tired(t), nil, false},
		{testsheet.Minimal, []string{"new.peak=9 bar"}, true},
	} {
		m := testsheet.Build(t, c.text, c.sets...)
		fresh, err := m.AsNew(0)
		if err != nil {
			t.Fatal(err)
		}
		sheetsOwn := m.Setup.Springs[0].Rate
		if m.HasTable("bench") {
			sheetsOwn = testsheet.Build(t, c.text, append(c.sets, "bench=")...).Setup.Springs[0].Rate
		}
		shot, err := profile.Summarize(&fresh.Setup)
		if err != nil {
			t.Fatal(err)
		}
		if fresh.Guessed != c.guessed || c.guessed && math.Abs(shot.Peak/9e5-1) > 1e-6 || fresh.Setup.Springs[0].Rate != sheetsOwn {
			t.Errorf("%v: %.6g bar when new, guessed %t", c.sets, shot.Peak/1e5, fresh.Guessed)
		}
		if !c.guessed && fresh.Spring.Free != 0.184 {
			t.Errorf("new.free_length became %g m", fresh.Spring.Free)
		}
	}
}

// TestSaidTwice: a value that is stated twice counts once. The sheet's free
// length again under [bench] leaves every probability as it was.
func TestSaidTwice(t *testing.T) {
	once := diagnoseOf(t, testsheet.Build(t, tired(t)), DiagnoseOptions{})
	twice := diagnoseOf(t, testsheet.Build(t, tired(t), "bench.free_length=167.5 mm ± 0.3 mm"), DiagnoseOptions{})
	a, b := once.Table("parts"), twice.Table("parts")
	for i := range a.Data {
		if x, y := a.Data[i][1].(report.Shown).Value, b.Data[i][1].(report.Shown).Value; a.Data[i][0] != b.Data[i][0] || math.Abs(x-y) > 1e-12 {
			t.Errorf("%v %g, and said twice %v %g", a.Data[i][0], x, b.Data[i][0], y)
		}
	}
}

// shotLog is a log of what the engine computes, a row every 0.2 s.
func shotLog(t testing.TB, s *profile.Setup) logged.Log {
	t.Helper()
	shot, err := profile.Run(s)
	if err != nil {
		t.Fatal(err)
	}
	var l logged.Log
	for at := 0.0; at <= shot.Total; at += 0.2 {
		p := shot.At(at)
		l = append(l, logged.Row{Time: at, Pressure: p.Pressure, Cup: p.Cup, Travel: math.NaN()})
	}
	return l
}

// TestLogReadBack: the line of a log of a sound machine arrives as the reading
// that the diagnosis expects of a sound machine, within its own uncertainty.
func TestLogReadBack(t *testing.T) {
	m := testsheet.Build(t, string(demo.Sheet))
	priors, err := usualPresumptions()
	if err != nil {
		t.Fatal(err)
	}
	s := m.Setup
	s.Cylinder.Seal.Constant, s.Cylinder.Seal.PerPa = priors.Sound.Seal*1.25, priors.Sound.SealPressure
	s.Chamber.Air = priors.Sound.Air
	log := []NamedLog{{"shot", shotLog(t, &s)}}
	r := diagnoseOf(t, m, DiagnoseOptions{Logs: log})
	if p := r.Row("explains").Value; p < 0.5 {
		t.Errorf("a sound machine's log is explained with p = %g", p)
	}
	const before = 0.26 // nothing is wrong with a quarter of the machines whose peak is low, by the priors
	if p := r.Row("nothing_wrong").Value; p < 1.5*before {
		t.Errorf("a sound machine is said to be so with %g", p)
	}
	// The same log twice is one.
	again := diagnoseOf(t, m, DiagnoseOptions{Logs: append(slices.Clone(log), NamedLog{"copy", log[0].Log})})
	if a, b := r.Row("nothing_wrong").Value, again.Row("nothing_wrong").Value; a != b {
		t.Errorf("%g once, %g twice", a, b)
	}
}

// TestSetFound: a spring that has set is found from a log, the peak when new and
// the free length that it has today, with what putting it right would bring
// back, and the caution of a spring stands first where it has to come out.
func TestSetFound(t *testing.T) {
	const lost = 12e-3 // [m]
	m := testsheet.Build(t, string(demo.Sheet), "new.free_length=180.5 mm", "new.peak=8.2 bar")
	r := diagnoseOf(t, m, DiagnoseOptions{Logs: []NamedLog{{"shot", shotLog(t, &m.Setup)}}})
	first := r.Table("parts").Data[0]
	gain, size := first[2].(report.Shown).Value, first[5].(report.Shown).Value
	want := lost * m.Setup.Springs[0].Rate / (m.Setup.Cylinder.Area() + m.Setup.Cylinder.Seal.PerPa)
	if first[0] != diagnose.PartSet.String() || math.Abs(gain-want) > 0.25e5 || math.Abs(size-lost) > 2e-3 {
		t.Errorf("%v by %g m brings back %g Pa, want set by %g m and %g Pa", first[0], size, gain, lost, want)
	}
	if r.Caution != cautionSpring || r.Cautions[0] != cautionSpring {
		t.Errorf("caution %q", r.Caution)
	}
}

// TestCourseCounts: peaks that fell by log-time speak for set, a sudden step for
// a broken coil or another gauge.
func TestCourseCounts(t *testing.T) {
	life := func(of func(years float64) float64) course.Life {
		l := course.Life{NewKnown: true}
		for years := 0.0; years <= 40; years += 4 {
			l.Readings = append(l.Readings, course.Reading{Time: years * course.Year, Value: of(years), U: 0.05e5})
		}
		return l
	}
	odds := func(l course.Life, part diagnose.Part) float64 {
		m := testsheet.Build(t, testsheet.Minimal)
		r := diagnoseOf(t, m, DiagnoseOptions{Life: l})
		for _, line := range r.Table("parts").Data {
			if line[0] == part.String() {
				return line[len(line)-1].(report.Shown).Value // before the readings, the course counted
			}
		}
		return math.NaN()
	}
	slow := life(func(y float64) float64 { return 9e5 - 0.33e5*math.Log10(1+y*365.25*24) })
	step := life(func(y float64) float64 {
		if y > 22 {
			return 7e5
		}
		return 9e5
	})
	if a, b := odds(slow, diagnose.PartSet), odds(step, diagnose.PartSet); !(a > b) {
		t.Errorf("set %g after a slow fall, %g after a step", a, b)
	}
	if a, b := odds(step, diagnose.PartCoil), odds(slow, diagnose.PartCoil); !(a > 2*b) {
		t.Errorf("broken coil %g after a step, %g after a slow fall", a, b)
	}
}

// TestPresumptions: figures are read by their name, with a unit or in minutes,
// and anything else is refused by its flag.
func TestPresumptions(t *testing.T) {
	for _, c := range []struct {
		group, typed, name string
		value              float64
	}{
		{"fault", "seal=0.5", "fault.seal", 0.5}, {"effort", "spring out=60", "effort.spring_out", 3600},
		{"effort", "spring out = 1 h", "effort.spring_out", 3600}, {"fault", "sound.seal=40 N", "sound.seal", 40}, {"fault", "sound.gain=2 %", "sound.gain", 0.02},
	} {
		if x, err := ReadPresumption("--x", c.group, c.typed); err != nil || x.Name != c.name || math.Abs(x.Value-c.value) > 1e-12*c.value {
			t.Errorf("%q: %+v, %v", c.typed, x, err)
		}
	}
	for _, typed := range []string{"seal", "nothing=1", "seal=much", "sound.seal=40", "seal=NaN"} {
		if _, err := ReadPresumption("--prior", "fault", typed); err == nil || !strings.Contains(err.Error(), "--prior") {
			t.Errorf("%q: %v", typed, err)
		}
	}
	m := testsheet.Build(t, tired(t))
	x, err := ReadPresumption("--prior", "fault", "seal=2")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Diagnose(t.Context(), m, DiagnoseOptions{Presume: []Presumption{x}}); err == nil || !strings.Contains(err.Error(), "--prior") {
		t.Errorf("a probability of 2: %v", err)
	}
}

// TestSheetAgainstItself: a sheet whose new spring cannot give its new
// peak is told so before anything else.
func TestSheetAgainstItself(t *testing.T) {
	r := diagnoseOf(t, testsheet.Build(t, tired(t), "new.free_length=170 mm"), DiagnoseOptions{})
	if text := r.Answer[0].String(); !strings.Contains(text, "contradicts itself") {
		t.Errorf("says first %q", text)
	}
	r = diagnoseOf(t, testsheet.Build(t, tired(t)), DiagnoseOptions{})
	if text := r.Answer[0].String(); strings.Contains(text, "contradicts") {
		t.Errorf("says %q", text)
	}
}

// TestOutcomesForPrograms: where something is to be measured next, programs are told what each
// outcome would lead to: rising values, with probabilities that are 1 together.
func TestOutcomesForPrograms(t *testing.T) {
	var told struct {
		Next     struct{ Step string }
		Outcomes []struct {
			About, Low, High, Probability float64
			Unit, Then                    string
		}
		NothingWrong float64 `json:"nothing_wrong"`
		Explains     float64
	}
	text, err := os.ReadFile("../../testdata/two_pulls.toml")
	if err != nil {
		t.Fatal(err)
	}
	r := diagnoseOf(t, testsheet.Build(t, string(text), "new.peak=9 bar", "bench.peak=7.6 bar"), DiagnoseOptions{})
	if err := json.Unmarshal([]byte(printed(t, r)), &told); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(told.Next.Step, "measure the ") || len(told.Outcomes) < 2 {
		t.Fatalf("%+v", told)
	}
	all, last := 0.0, math.Inf(-1)
	for _, o := range told.Outcomes {
		all += o.Probability
		if !(o.Low >= last && o.Low <= o.About && o.About <= o.High) || o.Then == "" || o.Unit == "" {
			t.Errorf("%+v after %g", o, last)
		}
		last = o.High
	}
	if math.Abs(all-1) > 1e-9 || !(told.NothingWrong > 0 && told.NothingWrong < 1) || !(told.Explains > 0 && told.Explains <= 1) {
		t.Errorf("probabilities of %g together in %+v", all, told)
	}
}
