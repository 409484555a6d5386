package machine_test

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
	"springcalc/profile/course"
	"springcalc/profile/diagnose"
)

func date(t testing.TB, text string) sheet.Date {
	t.Helper()
	d, err := sheet.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// visitsOf writes visits of a line each: "2019-05 peak=7 bar; done=seal".
func visitsOf(lines ...string) string {
	var b strings.Builder
	for _, line := range lines {
		day, rest, _ := strings.Cut(line, " ")
		fmt.Fprintf(&b, "[[visit]]\ndate = %q\n", day)
		for _, pair := range strings.Split(rest, "; ") {
			key, value, _ := strings.Cut(pair, "=")
			fmt.Fprintf(&b, "%s = %q\n", key, value)
		}
	}
	return b.String()
}

// TestNewest: of each kind the last reading, unless work since has made it out of date.
func TestNewest(t *testing.T) {
	for _, c := range []struct {
		lines []string
		name  string
		want  string // date of the reading, or "stale" and that of the work
	}{
		{[]string{"2020 peak=8 bar", "2019 peak=7 bar"}, "peak", "2020"},
		{[]string{"2020 peak=8 bar", "2021 yield=30 g"}, "peak", "2020"},
		{[]string{"2020 peak=8 bar", "2021 done=seal"}, "peak", "stale 2021"},
		{[]string{"2020 peak=8 bar", "2021 done=gauge"}, "peak", "2020"},
		{[]string{"2020 peak=8 bar; done=seal"}, "peak", "2020"},
		{[]string{"2020 peak=8 bar; done=seal; read=before"}, "peak", "stale 2020"},
		{[]string{"2020 peak=8 bar", "2020 done=seal; peak=9 bar"}, "peak", "2020"},
		{[]string{"2020 free_length=168 mm", "2021 done=shim 3 mm"}, "free_length", "2020"},
		{[]string{"2020 free_length=168 mm", "2021 done=spring"}, "free_length", "stale 2021"},
		{[]string{"2020 handle_force=120 N", "2021 done=descaled"}, "handle_force", "2020"},
		{[]string{"2020 gauge_true=9 bar; gauge_reading=8 bar", "2021 done=gauge"}, "gauge_true", "stale 2021"},
		{[]string{"2020 yield=30 g"}, "peak", ""},
	} {
		m := testsheet.Build(t, testsheet.Minimal+visitsOf(c.lines...))
		told, ok, stale := m.Newest(m.VisitsUntil(date(t, "2031")), c.name)
		got := ""
		switch {
		case ok:
			got = told.Visit.Date.String()
		case stale != nil:
			got = "stale " + stale.Date.String()
		}
		if got != c.want {
			t.Errorf("%v: %s: %q, want %q", c.lines, c.name, got, c.want)
		}
	}
}

// peakOf is the peak of a machine's shot [bar].
func peakOf(t testing.TB, m *machine.Machine) float64 {
	t.Helper()
	s, err := profile.Summarize(&m.Setup)
	if err != nil {
		t.Fatal(err)
	}
	return s.Peak / 1e5
}

// TestAsOf: the newest peak up to the date sets the spring, as a sound gauge would
// show it; the machine itself stays.
func TestAsOf(t *testing.T) {
	lines := []string{
		"2015 peak=8 bar", "2018 gauge_reading=8 bar; gauge_true=10 bar", "2020-03 peak=7 bar; done=seal; read=before", "2020-03 peak=7.4 bar",
		"2022 done=gauge", "2024 peak=6 bar", "2026 done=spring",
	}
	m := testsheet.Build(t, testsheet.Minimal+visitsOf(lines...))
	sheets := peakOf(t, m)
	for day, want := range map[string]float64{
		"2014":    sheets,   // before all visits: the sheet
		"2016":    8,        // not put right: the check came later
		"2019":    8 * 1.25, // the check of the same gauge
		"2021":    7.4 * 1.25,
		"2023":    7.4 * 1.25, // another gauge does not change the pressure
		"2025":    6,          // by the new gauge, which nobody has checked
		"2026-12": sheets,     // after a new spring nobody has read
	} {
		other, err := m.AsOf(date(t, day))
		if err != nil {
			t.Fatalf("%s: %v", day, err)
		}
		if got := peakOf(t, other); math.Abs(got-want) > 1e-6 {
			t.Errorf("%s: %.4f bar, want %.4f", day, got, want)
		}
		if stale := strings.Join(other.Taken.Doubts, ""); strings.Contains(stale, "no peak was read since the work of 2026 (spring)") != (day == "2026-12") {
			t.Errorf("%s: doubts %q", day, stale)
		}
	}
	if peakOf(t, m) != sheets {
		t.Error("the machine itself has changed")
	}
}

// TestAsOfShot: a weighed and timed shot of a visit takes the place of what the
// sheet says of the puck, with the dose of that day; what cannot be is left out
// and said.
func TestAsOfShot(t *testing.T) {
	text := testsheet.Minimal + "resistance = \"4.5 bar·s/mL\"\nresistance_at = \"8 bar\"\n"
	known := testsheet.Build(t, testsheet.Minimal+"[coffee.known]\nyield = \"38 g\"\ntime = \"45 s\"\ndose = \"15 g\"\npeak = \"6 bar\"\n")
	m := testsheet.Build(t, text+visitsOf("2020 yield=38 g; time=45 s; dose=15 g; peak=6 bar"))
	other, err := m.AsOf(date(t, "2021"))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := other.Setup.OwnResistance(), known.Setup.OwnResistance(); math.Abs(got/want-1) > 1e-6 || math.Abs(got/m.Setup.OwnResistance()-1) < 1e-3 {
		t.Errorf("resistance %.6g, with the same known shot %.6g", got, want)
	}
	// A dose that a flag tries leaves that of the known shot.
	tried := testsheet.Build(t, text+visitsOf("2020 yield=38 g; time=45 s; peak=6 bar"), "coffee.dose=16 g")
	if other, err = tried.AsOf(date(t, "2021")); err != nil {
		t.Fatal(err)
	}
	if q, _ := other.Quantity("coffee.known.dose"); q.Value != 0.014 {
		t.Errorf("dose of the known shot %g kg", q.Value)
	}
	for line, want := range map[string]string{
		"2020 yield=5 g; time=45 s; peak=6 bar": "yield of 2020 is not used: impossible known shot: yield is 5 g",
		"2020 yield=38 g; time=3 s; peak=6 bar": "yield of 2020 is not used: \"3 s\": want more than the pre-infusion in it, 10.0 s",
	} {
		m := testsheet.Build(t, text+visitsOf(line))
		other, err := m.AsOf(date(t, "2021"))
		if err != nil {
			t.Fatal(err)
		}
		if !strings.HasPrefix(strings.Join(other.Taken.Doubts, ""), want) || math.Abs(peakOf(t, other)-6) > 1e-6 ||
			other.Setup.OwnResistance() != m.Setup.OwnResistance() {
			t.Errorf("%s: doubts %q, peak %g bar", line, other.Taken.Doubts, peakOf(t, other))
		}
	}
}

// TestAsOfVaries: a reading that sets the spring is among what may be off.
func TestAsOfVaries(t *testing.T) {
	m := testsheet.Build(t, testsheet.Dimensions8mm+testsheet.Minimal[strings.Index(testsheet.Minimal, "[piston]"):]+
		visitsOf("2020 peak=6 bar; free_length=249 mm", "2021 gauge_reading=9 bar; gauge_true=9.9 bar"))
	other, err := m.AsOf(date(t, "2021"))
	if err != nil {
		t.Fatal(err)
	}
	if q, _ := other.Quantity("visit[1].peak"); math.Abs(q.Sigma()-machine.ToolU("peak")) > 1 || q.Plus == 0 {
		t.Errorf("± %g Pa", q.Plus)
	}
	if q, _ := other.Quantity("spring.free_length"); q.Value != 0.249 {
		t.Errorf("free length %g m", q.Value)
	}
	varied, err := other.Vary(map[string]float64{"visit[1].peak": 5.5e5})
	if err != nil {
		t.Fatal(err)
	}
	if got := peakOf(t, varied); math.Abs(got-5.5*1.1) > 1e-6 {
		t.Errorf("%g bar", got)
	}
}

// TestLife: visits and a list of peaks become readings and repairs in the order of
// what happened, those of one day an hour apart.
func TestLife(t *testing.T) {
	m := testsheet.Build(t, testsheet.Minimal+"[new]\ndate = 2010\npeak = \"9 bar ± 0.2 bar\"\n"+visitsOf(
		"2016-05-01 peak=8 bar ± 0.1 bar; done=seal; read=before", "2016-05-01 peak=8.8 bar", "2018-01-01 done=descaled", "2018-06-01 done=spring",
		"2019-06-01 peak=9.1 bar; done=gauge", "2013 done=seal", "2032 peak=5 bar"))
	l, err := m.Life(date(t, "2031-05-04"), []sheet.Peak{{Date: date(t, "2012"), Pressure: 8.5e5}, {Date: date(t, "2014-07"), Pressure: 8.3e5}, {Date: date(t, "2040"), Pressure: 1e5}})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range l.Readings {
		got = append(got, fmt.Sprintf("%v %.2f±%.2f", sheet.DateAt(r.Time), r.Value/1e5, r.U/1e5))
	}
	want := []string{"2010-07-02 9.00±0.10", "2012-07-01 8.50±0.00", "2014-07-16 8.30±0.00", "2016-05-01 8.00±0.05", "2016-05-01 8.80±0.00", "2019-06-01 9.10±0.00"}
	if !slices.Equal(got, want) {
		t.Errorf("readings\n%q, want\n%q", got, want)
	}
	got = nil
	for _, r := range l.Repairs {
		got = append(got, fmt.Sprintf("%v %v %s", sheet.DateAt(r.Time), r.Kind, r.What))
	}
	want = []string{"2013-07-02 seal seal", "2016-05-01 seal seal", "2018-06-01 spring 2018-01-01: descaled; 2018-06-01: spring; 2019-06-01: gauge"}
	if !slices.Equal(got, want) {
		t.Errorf("repairs\n%q, want\n%q", got, want)
	}
	if !l.NewKnown || l.New != l.Readings[0].Time || l.Fresh != 9e5 || !slices.Equal(l.Late, []string{"2032", "2040"}) {
		t.Errorf("new %v %g, fresh %g, late %v", l.NewKnown, l.New, l.Fresh, l.Late)
	}
	if a, b := l.Readings[3].Time, l.Repairs[1].Time; !(a < b && b < l.Readings[4].Time) {
		t.Errorf("before %g, work %g, after %g", a, b, l.Readings[4].Time)
	}
}

// TestLaterPeaks: the life of a machine as of a date is that of the peaks up to it; later
// ones are only told of.
func TestLaterPeaks(t *testing.T) {
	m := testsheet.Build(t, testsheet.Minimal+"[new]\ndate = 2010\npeak = \"9 bar ± 0.2 bar\"\n"+visitsOf("2013 done=seal", "2016-05-01 peak=8 bar ± 0.1 bar"))
	days := []string{"2010-09", "2012", "2014-07-01", "2014-07-02", "2031", "2031-05-04", "2040"}
	var peaks []sheet.Peak
	for i, day := range days {
		peaks = append(peaks, sheet.Peak{Date: date(t, day), Pressure: 8.9e5 - 1e4*float64(i), U: 1e4})
	}
	for _, asOf := range []string{"2010-05", "2010-09-30", "2012", "2014-07-01", "2020", "2031-05-03", "2031-05-04", "2045"} {
		var until []sheet.Peak
		var later []string
		for i, day := range days {
			if day > asOf && !strings.HasPrefix(asOf, day) && !strings.HasPrefix(day, asOf) { // as text, a year holds its days
				later = append(later, day)
			} else {
				until = append(until, peaks[i])
			}
		}
		got, err := m.Life(date(t, asOf), peaks)
		if err != nil {
			t.Fatal(err)
		}
		want, err := m.Life(date(t, asOf), until)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got.Readings, want.Readings) || !reflect.DeepEqual(got.Points, want.Points) || !reflect.DeepEqual(got.Life, want.Life) {
			t.Errorf("as of %s: %+v, want %+v", asOf, got.Points, want.Points)
		}
		if told := slices.DeleteFunc(got.Late, func(day string) bool { return slices.Contains(want.Late, day) }); !slices.Equal(told, later) {
			t.Errorf("as of %s: left out %q, want %q", asOf, told, later)
		}
	}
}

// TestLifeOfFreshSpring: without new.peak it is what a spring less than a month old gave.
func TestLifeOfFreshSpring(t *testing.T) {
	for text, want := range map[string]float64{
		visitsOf("2016-05-01 done=spring; peak=9.2 bar", "2019 peak=8 bar"):              9.2e5,
		visitsOf("2016-05-01 done=spring", "2016-05-20 peak=9.1 bar", "2019 peak=8 bar"): 9.1e5,
		visitsOf("2016-05-01 done=spring", "2016-09-20 peak=9.1 bar"):                    0,
		visitsOf("2015 peak=9 bar", "2019 peak=8 bar"):                                   0,
		"[new]\npeak = \"9.9 bar\"\n" + visitsOf("2016-05-01 done=spring; peak=9.2 bar"): 9.9e5,
	} {
		l, err := testsheet.Build(t, testsheet.Minimal+text).Life(date(t, "2031"), nil)
		if err != nil || math.Abs(l.Fresh-want) > 1e-6 {
			t.Errorf("%s: %g, %v; want %g", text, l.Fresh, err, want)
		}
	}
}

// TestLongLife: more repairs than the laws take, more readings than are weighed.
func TestLongLife(t *testing.T) {
	var lines []string
	for i := range 40 {
		lines = append(lines, fmt.Sprintf("%d-02-01 peak=%.1f bar; done=seal; read=before", 1980+i, 8.5), fmt.Sprintf("%d-03-01 peak=%.1f bar", 1980+i, 9.0))
	}
	l, err := testsheet.Build(t, testsheet.Minimal+visitsOf(lines...)).Life(date(t, "2031"), nil)
	if err != nil || len(l.Repairs) != 12 || len(l.Readings) != 25 || len(l.Points) != 80 || !strings.Contains(strings.Join(l.Notes, ""), "weighed from 2007-02-01 on") {
		t.Errorf("%v: %d repairs, %d readings, notes %q", err, len(l.Repairs), len(l.Readings), l.Notes)
	}
	lines = nil
	for i := range 1000 {
		lines = append(lines, fmt.Sprintf("%d-%02d-%02d peak=%.2f bar", 2000+i/60, 1+i/5%12, 1+5*(i%5), 9-0.001*float64(i)))
	}
	lines[500] += "; done=seal"
	l, err = testsheet.Build(t, testsheet.Minimal+visitsOf(lines...)).Life(date(t, "2031"), nil)
	if err != nil || len(l.Repairs) != 1 || len(l.Readings) < 95 || len(l.Readings) > 105 || !strings.Contains(strings.Join(l.Notes, ""), "of 1000 readings, the median of each run of 10 is weighed") {
		t.Errorf("%v: %d repairs, %d readings, notes %q", err, len(l.Repairs), len(l.Readings), l.Notes)
	}
	for i, r := range l.Readings {
		if i > 0 && !(r.Time > l.Readings[i-1].Time) {
			t.Errorf("reading %d at %g after %g", i+1, r.Time, l.Readings[i-1].Time)
		}
	}
	n := 0
	for _, p := range l.Points {
		if p.Reading >= 0 {
			if p.Reading != n || l.Readings[n].Value != p.Value {
				t.Fatalf("point of %v is reading %d, want %d", p.Date, p.Reading, n)
			}
			n++
		}
	}
}

// TestOrderNotKnown: a year alone and a day in it leave open which came first.
func TestOrderNotKnown(t *testing.T) {
	for text, want := range map[string]bool{
		visitsOf("2019 done=seal", "2019-03-01 peak=8 bar"):    true,
		visitsOf("2019-01 done=seal", "2019-03-01 peak=8 bar"): false,
		visitsOf("2019 peak=9 bar", "2019-03-01 peak=8 bar"):   false, // no work: the order matters little
	} {
		l, err := testsheet.Build(t, testsheet.Minimal+text).Life(date(t, "2031"), nil)
		if got := strings.Contains(strings.Join(l.Doubts, ""), "which came first"); err != nil || got != want {
			t.Errorf("%s: %q, %v", text, l.Doubts, err)
		}
	}
	// A year that is not over counts as far as it has gone.
	l, err := testsheet.Build(t, testsheet.Minimal+visitsOf("2031 peak=8 bar")).Life(date(t, "2031-02-01"), nil)
	if err != nil || len(l.Points) != 1 || l.Points[0].Time > date(t, "2031-02-01").Time() {
		t.Errorf("%+v, %v", l.Points, err)
	}
	if _, err := course.Weigh(l.Life); err != nil {
		t.Error(err)
	}
}

// TestObserved: the newest readings of visits as a diagnosis takes them: the time from
// the release on, the gauge as a ratio, nothing that work has made out of date.
func TestObserved(t *testing.T) {
	m := testsheet.Build(t, testsheet.Minimal+"[pull]\npreinfusion = \"8 s\"\n"+visitsOf(
		"2019 yield=30 g; time=38 s ± 1 s; end_pressure=4 bar; gauge_reading=8.8 bar ± 0.088 bar; gauge_true=8 bar",
		"2020 free_length=168 mm; end_pressure=3.9 bar; peak=6 bar", "2021 done=seal; end_pressure=4.1 bar"))
	usual := func(k diagnose.Kind) float64 { return 1 + float64(k) }
	got := map[diagnose.Kind][2]float64{}
	for _, o := range m.Observed(m.VisitsUntil(date(t, "2031")), usual) {
		got[o.Kinds[0]] = [2]float64{o.Values[0], math.Sqrt(o.Cov[0][0])}
	}
	want := map[diagnose.Kind][2]float64{
		diagnose.EndPress: {4.1e5, usual(diagnose.EndPress)}, diagnose.FreeLength: {0.168, usual(diagnose.FreeLength)}, diagnose.Gauge: {1.1, 1.1 * 0.005},
	}
	if len(got) != len(want) {
		t.Errorf("%v, want %v", got, want)
	}
	for k, w := range want {
		if g := got[k]; math.Abs(g[0]-w[0]) > 1e-9*w[0] || math.Abs(g[1]-w[1]) > 1e-9*w[1] {
			t.Errorf("%v: %v, want %v", k, g, w)
		}
	}
	before := m.Observed(m.VisitsUntil(date(t, "2019")), usual)
	if len(before) != 4 || before[2].Kinds[0] != diagnose.ShotTime || before[2].Values[0] != 30 || math.Abs(before[2].Cov[0][0]-0.25) > 1e-12 {
		t.Errorf("%+v", before)
	}
}
