package sheet_test

import (
	"flag"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/quantity"
	. "springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile/course"
)

func init() { _ = flag.Set("rapid.seed", "1") }

// TestVisitDates: what is printed reads back, later dates have later times, and the
// day of a time is that of the date.
func TestVisitDates(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := rapid.Custom(func(t *rapid.T) Date {
			d := DateOf(time.Date(1800, 1, 1+rapid.IntRange(0, 146000).Draw(t, "day"), 0, 0, 0, 0, time.UTC))
			switch rapid.IntRange(0, 2).Draw(t, "known") {
			case 0:
				d.Month, d.Day = 0, 0
			case 1:
				d.Day = 0
			}
			return d
		})
		a, b := day.Draw(t, "a"), day.Draw(t, "b")
		back, err := ParseDate(a.String())
		if err != nil || back != a {
			t.Fatalf("%v reads back as %v, %v", a, back, err)
		}
		if a.After(b) && !(a.Time() > b.Time()) {
			t.Fatalf("%v after %v, but its time is %g and not %g or more", a, b, a.Time(), b.Time())
		}
		if a.Overlaps(b) != b.Overlaps(a) || a.Overlaps(b) && (a.After(b) || b.After(a)) {
			t.Fatalf("%v and %v overlap, or do they not?", a, b)
		}
		if a.Day > 0 && DateAt(a.Time()) != a {
			t.Fatalf("%v has the time of %v", a, DateAt(a.Time()))
		}
	})
}

// TestDatesAgainstTheCalendar: times are within a day and a half of the calendar's.
func TestDatesAgainstTheCalendar(t *testing.T) {
	first, _ := ParseDate("1900-03-01")
	begin := time.Date(1900, 3, 1, 0, 0, 0, 0, time.UTC)
	for n := range 73000 {
		day := begin.AddDate(0, 0, n)
		if got := (DateOf(day).Time() - first.Time()) / 86400; math.Abs(got-float64(n)) > 1.5 {
			t.Fatalf("%v is %.2f days after %v, want %d", day, got, first, n)
		}
	}
}

func TestParseDateFaults(t *testing.T) {
	for _, text := range []string{"", "86", "1799", "2201", "2019-13", "2019-02-30", "0x7e3", "05/04/2019"} {
		if d, err := ParseDate(text); err == nil || text != "" && !strings.Contains(err.Error(), fmt.Sprintf("%q", text)) {
			t.Errorf("%q: %v, %v", text, d, err)
		}
	}
}

// TestParseDone: the words of the list with what people write around them, and
// the printed form reads back.
func TestParseDone(t *testing.T) {
	for text, want := range map[string]string{
		"seal": "seal", "new seals": "seal", "Seals changed and descaled": "seal, descaled", "shim": "shim", "3 mm shim": "shim 3 mm",
		"shim 1/8 in, new spring": "shim 3.175 mm, spring", "shim of 2.5mm": "shim 2.5 mm", "descaling, new gauge,": "descaled, gauge", "other": "other",
		"new shim 3 mm ± 0.1 mm": "shim 3 mm ± 0.1 mm",
	} {
		done, err := ParseDone(text)
		if got := FormatDone(done); err != nil || got != want {
			t.Errorf("%q: %q, %v; want %q", text, got, err, want)
		}
		if back, err := ParseDone(FormatDone(done)); err != nil || !slices.Equal(back, done) {
			t.Errorf("%q: reads back as %v, %v", text, back, err)
		}
	}
	for text, want := range map[string]string{
		"polished":          `"polished": want seal, spring, shim, gauge, descaled or other; whatever else there is to say belongs in the note`,
		"sel":               `(did you mean "seal"?)`,
		"old seals":         `"old seals": say no more than "seal" here`,
		"seal spring":       `"seal spring": put a comma between`,
		"shim 3":            `"shim 3": thickness of the shim: has no unit; write it as "3 mm"`,
		"shim -3 mm":        `thickness of the shim: want more than 0 mm and 50 mm or less`,
		"shim 3 bar, sprng": `"sprng": want seal`,
	} {
		if _, err := ParseDone(text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}

const visits = `
[new]
date = "1986-05"
[[visit]]
date = "2026-02-01"
peak = "6.5 bar ± 0.1 bar"
[[visit]]
date = 1991
peak = "7 bar"
note = "first look"
[[visit]]
date = 2019-06-03
done = "seals, shim 3 mm"
read = "before"
peak = "95 psi"
log = "shot.csv"
`

// TestVisits: by date, in whatever order and form the sheet has them.
func TestVisits(t *testing.T) {
	s := testsheet.Read(t, testsheet.Minimal+visits)
	got := s.Visits()
	mm3 := quantity.Quantity{Value: 3e-3}
	want := []Visit{
		{Table: "visit[2]", Date: Date{Year: 1991}, Note: "first look"},
		{Table: "visit[3]", Date: Date{2019, 6, 3}, Done: []Work{{Kind: course.Seal}, {Kind: course.Shim, Thick: mm3}}, Before: true, Log: "shot.csv"},
		{Table: "visit[1]", Date: Date{2026, 2, 1}},
	}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
	if q, ok := s.Reading(&got[2], "peak"); !ok || q.Value != 6.5e5 || q.Plus != 0.1e5 {
		t.Errorf("peak %v, %v", q, ok)
	}
	if _, ok := s.Reading(&got[2], "yield"); ok {
		t.Error("a yield that nobody read")
	}
}

// TestVisitFaults holds messages and places to the character.
func TestVisitFaults(t *testing.T) {
	for text, want := range map[string]string{
		"[[visit]]\npeak = \"7 bar\"\n":                                              `test.toml:12:3: visit[1].date: missing; want a date, such as "2019-05-14"`,
		"[[visit]]\ndate = 86\npeak = \"7 bar\"\n":                                   `test.toml:13:8: visit[1].date: "86": write the year with four digits`,
		"[[visit]]\ndate = 2019-05\npeak = \"7 bar\"\n":                              `test.toml:13:8: visit.date: 2019-05: write it in quotes: date = "2019-05"`,
		"[[visit]]\ndate = true\nnote = \"x\"\n":                                     `test.toml:13:8: visit[1].date: true: want a date, such as "2019-05-14"`,
		"[[visit]]\ndate = \"2019\"\n":                                               `test.toml:12:3: visit[1]: says nothing but its date; want what was read or done, or a note`,
		"[[visit]]\ndate = \"2019\"\npeak = 7\n":                                     `test.toml:14:8: visit[1].peak: 7 has no unit; write it as "7 bar"`,
		"[[visit]]\ndate = \"2019\"\ndone = \"polished, sel\"\n":                     `test.toml:14:8: visit[1].done: "polished": want seal, spring, shim, gauge, descaled or other; whatever else there is to say belongs in the note; "sel": want seal, spring, shim, gauge, descaled or other (did you mean "seal"?); whatever else there is to say belongs in the note`,
		"[[visit]]\ndate = \"2019\"\npeak = \"7 bar\"\nread = \"now\"\n":             `test.toml:15:8: visit[1].read: "now": stated without done`,
		"[[visit]]\ndate = \"2019\"\npeak = \"7 bar\"\nread = \"before\"\n":          `test.toml:15:8: visit[1].read: "before": stated without done, which it is about`,
		"[[visit]]\ndate = \"2019\"\ngauge_true = \"9 bar\"\n":                       `test.toml:14:14: visit[1].gauge_true: "9 bar": stated without gauge_reading`,
		"[[visit]]\ndate = \"2019\"\npeak = \"7 bar\"\nend_pressure = \"7.1 bar\"\n": `test.toml:15:16: visit[1].end_pressure: "7.1 bar": want no more than the peak`,
		"[[visit]]\ndate = \"2019\"\nshim = \"3 mm\"\nnote = \"\"\n":                 `test.toml:14:1: visit[1].shim: unknown key`,
		"[new]\ndate = \"2020\"\n[[visit]]\ndate = \"2019\"\npeak = \"7 bar\"\n":     `test.toml:13:8: new.date: "2020": after the first visit, 2019`,
	} {
		got := testsheet.FaultsOf(testsheet.Minimal + text)
		if len(got) == 0 || !strings.HasPrefix(got[0], want) {
			t.Errorf("%s\ngot  %s\nwant %s", text, strings.Join(got, "\n     "), want)
		}
	}
}

// TestUnnumbered takes numbers out and nothing else.
func TestUnnumbered(t *testing.T) {
	for path, want := range map[string]string{
		"pull[12].x": "pull.x", "bench.load[1].force": "bench.load.force", "a[1][2].b[3]": "a.b", "a[x].b[1]": "a[x].b", "a[]": "a[]", "a[1": "a[1", "a[[1]]": "a[]", "[": "[", "": "",
	} {
		if got := Unnumbered(path); got != want {
			t.Errorf("%q: %q, want %q", path, got, want)
		}
	}
}
