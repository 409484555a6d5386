package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/replace"
	"springcalc/spring"
	"springcalc/tables"
)

// demoTask is the demo machine with its wishes and some overrides.
func demoTask(t testing.TB, sets ...string) *task {
	t.Helper()
	m, err := machineFlags{Set: sets}.Load(&console{}, "")
	if err != nil {
		t.Fatal(err)
	}
	task, err := newTask(m)
	if err != nil {
		t.Fatal(err)
	}
	return task
}

func TestReadList(t *testing.T) {
	const head = "name,rate [N/mm],free_length (mm),outside_diameter,price\n"
	for _, c := range []struct {
		Name, Text string
		rows       []string // name, rate in N/mm, free length and outside diameter in mm, price, line
		bad        []string
	}{
		{"units in the head or in the cell", head + "a,27,250,54 mm,9.50\nb,120 lbf/in,10 in,2 1/8 in,\n",
			[]string{"a 27.000 250.000 54.000 9.5 2", "b 21.015 254.000 53.975 0 3"}, nil},
		{"semicolons, byte order mark, CRLF, a comment", "\ufeffname;rate [N/mm];free_length [mm]\r\n# a comment\r\na;27;250\r\n",
			[]string{"a 27.000 250.000 0.000 0 3"}, nil},
		{"decimal commas", "name;rate [N/mm];free_length\na,b;27,5;250,25 mm\n", []string{"a,b 27.500 250.250 0.000 0 2"}, nil},
		{"decimal commas between commas", "rate [N/mm],free_length [mm]\n\"27,5\",250\n", nil,
			[]string{`2 rate: "27,5": decimal comma; write "27.5"`}},
		{"units behind the names", "name,rate_N/mm,free_length_mm\na,27,250\n", []string{"a 27.000 250.000 0.000 0 2"}, nil},
		{"capitals and spaces", "Name,Rate [N/mm],Free Length [mm]\na,27,250\n", []string{"a 27.000 250.000 0.000 0 2"}, nil},
		{"no unit", "rate,free_length\n27,250 mm\n", nil, []string{`2 rate: "27": has no unit; write it as "27 N/mm"`}},
		{"too little", "name,rate [N/mm]\na,27\n", nil,
			[]string{"2 want rate and free_length, or wire, a coil diameter, coils, ends, grade and free_length"}},
		{"a quote that does not end", head + "a,27,250,54 mm,1\n\"b,27,250\n", []string{"a 27.000 250.000 54.000 1 2"},
			[]string{`3 a quote that does not end; 1 values under 5 headings`}},
		{"below nothing", head + "a,-27,250,54 mm,1\n", nil, []string{`2 rate: "-27": want more than 0 N/mm and 1000 N/mm or less`}},
	} {
		t.Run(c.Name, func(t *testing.T) {
			list, bad, err := readList("list.csv", []byte(c.Text), wireOptions{})
			if err != nil {
				t.Fatal(err)
			}
			var rows, left []string
			for _, r := range list {
				p := r.Parts[0]
				rows = append(rows, fmt.Sprintf("%s %.3f %.3f %.3f %g %d", r.Name, p.Rate/1e3, p.Free*1e3, p.Outer*1e3, r.Price, r.Row))
			}
			for _, b := range bad {
				left = append(left, fmt.Sprintf("%d %s", b.Line, b.why))
			}
			if !slices.Equal(rows, c.rows) || !slices.Equal(left, c.bad) {
				t.Errorf("got  %q %q\nwant %q %q", rows, left, c.rows, c.bad)
			}
		})
	}
}

// What a head line may not have is an error: a column would be lost.
func TestReadListHead(t *testing.T) {
	for text, want := range map[string]string{
		"":                          "list.csv: empty; want a line of headings",
		"name,rat\n":                `list.csv:1:6: unknown column "rat" (did you mean "rate"?)`,
		"rate,rate\n":               `list.csv:1:6: "rate": a second column of rate`,
		"name [mm]\n":               `list.csv:1:1: unknown column "name [mm]"`,
		"price [mm]\n":              `list.csv:1:1: "price [mm]": a plain number has no unit`,
		"rate\n":                    `list.csv: no rows below the headings`,
		"rate [bar]\n":              `list.csv:1:1: "rate [bar]": "bar" is not the unit of a rate`,
		"rate [N/mm],preload [N]\n": `list.csv:1:13: unknown column "preload [N]"`,
	} {
		if _, _, err := readList("list.csv", []byte(text), wireOptions{}); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q: got %v, want %s", text, err, want)
		}
	}
}

// A spring by its dimensions is the one that package spring makes of them, whichever diameter is stated.
func TestReadListDimensions(t *testing.T) {
	for _, text := range []string{
		"coil_diameter,active_coils\n46 mm,16.25", "outside_diameter,active_coils\n54 mm,16.25",
		"inside_diameter,active_coils\n38 mm,16.25", "coil_diameter,total_coils\n46 mm,18.25",
	} {
		head, row, _ := strings.Cut(text, "\n")
		list, bad, err := readList("list.csv", []byte("wire,ends,grade,free_length,"+head+"\n8 mm,closed and ground,A401,252 mm,"+row+"\n"), wireOptions{Preset: true, Peened: true})
		if err != nil || bad != nil || len(list) != 1 {
			t.Fatal(err, bad, list)
		}
		c := list[0].Parts[0].Coil
		if math.Abs(c.Mean-46e-3) > 1e-12 || c.Active != 16.25 || c.Total != 18.25 || c.Ends != spring.ClosedGround || c.Free != 0.252 || c.WireMax <= c.Wire {
			t.Errorf("%s: %+v", head, c)
		}
		if w := list[0].Parts[0].Wire; !w.Preset || !w.Peened || w.Cocked.Criterion.Name() != "Shigley, after set" {
			t.Errorf("wire %+v", w)
		}
	}
	for row, want := range map[string]string{
		"8 mm,closed,A401,252 mm,,16.25,":         "wire without coil_diameter",
		"8 mm,closed,A401,252 mm,46 mm,,":         "wire without active_coils or total_coils",
		"8 mm,,A401,252 mm,46 mm,16,":             "wire without ends",
		"8 mm,closed,A401,252 mm,46 mm,16,27":     "keep rate and solid_length, or the dimensions",
		"8 mm,closed,A401,100 mm,46 mm,16,":       "free length is 0.1 m, want more than the solid length",
		"80 mm,closed,A401,252 mm,46 mm,16,":      "wire",
		"20 mm,closed,A401,252 mm,46 mm,16,":      "A401 wire, strength: diameter 20 mm",
		"8 mm,closed,A401,252 mm,46 mm,16,27,1,1": "9 values under 7 headings",
	} {
		_, bad, err := readList("list.csv", []byte("wire,ends,grade,free_length,coil_diameter,active_coils,rate [N/mm]\n"+row+"\n"), wireOptions{})
		if err != nil || len(bad) != 1 || !strings.Contains(bad[0].why, want) {
			t.Errorf("%s: got %v %v, want %s", row, bad, err, want)
		}
	}
}

func TestReadLongList(t *testing.T) {
	var b strings.Builder
	b.WriteString("name,rate [N/mm],free_length [mm],price\n")
	const rows = 5000
	for i := range rows {
		fmt.Fprintf(&b, "s%d,%d,%d,%d\n", i, 20+i%15, 170+i%31, 10+i%7)
	}
	list, bad, err := readList("list.csv", []byte(b.String()), wireOptions{})
	if err != nil || bad != nil || len(list) != rows {
		t.Fatal(err, len(bad), len(list))
	}
	ranked, err := demoTask(t).job.Rank(list, replace.DefaultOrder())
	if err != nil || len(ranked.Fitting) == 0 || len(ranked.Fitting)+len(ranked.Missing) != rows {
		t.Fatal(err, len(ranked.Fitting), len(ranked.Missing))
	}
}

// FuzzReadList asks for sense: what is read can be judged, and every line is
// read, left out or neither, but not both.
func FuzzReadList(f *testing.F) {
	springs, err := os.ReadFile("testdata/springs.csv")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(springs)
	f.Add([]byte("rate [N/mm];free_length [mm]\n27;250\n"))
	f.Add([]byte("wire,ends,grade,free_length,coil_diameter,active_coils,nest\n8 mm,closed,A401,252 mm,46 mm,16,A\n4 mm,closed,A401,252 mm,26 mm,16,A\n"))
	f.Add([]byte("rate,free_length,inside_diameter,outside_diameter\n1e300 N/mm,1 mm,3 mm,2 mm\n"))
	job := demoTask(f).job
	f.Fuzz(func(t *testing.T, data []byte) {
		list, bad, err := readList("list.csv", data, wireOptions{Celsius: 70})
		if err != nil {
			return
		}
		lines := map[int]bool{}
		for _, b := range bad {
			lines[b.Line] = true
		}
		for _, c := range list {
			if lines[c.Row] {
				t.Fatalf("line %d is read and left out", c.Row)
			}
		}
		r, err := job.Rank(list, replace.DefaultOrder())
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Fitting)+len(r.Missing)+len(r.Bad) != len(list) {
			t.Fatalf("%d springs, %d fit, %d do not, %d are none", len(list), len(r.Fitting), len(r.Missing), len(r.Bad))
		}
		for _, c := range append(r.Fitting, r.Missing...) {
			for _, k := range replace.Constraints() {
				if m, _ := c.Verdict.Margin(k); math.IsNaN(m) || m > 1 {
					t.Fatalf("line %d: margin of %v is %g", c.Row, k, m)
				}
			}
		}
	})
}

// Every field of a wire comes from the tables, by the rules of its source.
func TestWireFor(t *testing.T) {
	for _, c := range []struct {
		grade         string
		options       wireOptions
		cocked, solid string
		safety        float64
		preset        bool
	}{
		{"A401", wireOptions{Celsius: 70}, "Shigley, before set", "Shigley, before set", 1.2, false},
		{"A401", wireOptions{Preset: true, Celsius: 70}, "Shigley, after set", "Shigley, after set", 1.2, true},
		{"EN 10270-1 DH", wireOptions{Celsius: 70}, "EN 13906-1, static", "EN 13906-1, set", 1, true},
	} {
		w, err := tables.WireByName(c.grade)
		if err != nil {
			t.Fatal(err)
		}
		got, err := wireFor(w, 8e-3, c.options)
		if err != nil {
			t.Fatal(err)
		}
		strength, err := w.Strength(8e-3)
		if err != nil {
			t.Fatal(err)
		}
		if got.Cocked.Criterion.Name() != c.cocked || got.Solid.Criterion.Name() != c.solid || got.Preset != c.preset ||
			got.Cocked.Safety != c.safety || got.Solid.Safety != c.safety || got.Tensile != strength.Min ||
			math.Abs(got.Endurance.UltimateShear/(0.67*strength.Min)-1) > 1e-12 || got.Most != 8.045e-3 ||
			got.Softening != w.GTemp || got.Density != w.Density ||
			strings.Contains(got.Evidence, "before set") != (c.cocked == "Shigley, before set") || !strings.Contains(got.Evidence, "tensile strength") {
			t.Errorf("%+v: %+v", c, got)
		}
	}
	music, err := tables.WireByName("A228")
	if err != nil {
		t.Fatal(err)
	}
	cold, err := wireFor(music, 4e-3, wireOptions{Celsius: 70})
	if err != nil || len(cold.Life) != 3 || cold.Life[0].Share != 0.36 || cold.Relaxation.Stress == 0 || cold.Relaxation.Law.RefLoss != 0.05 {
		t.Errorf("%+v %v", cold, err)
	}
	hot, err := wireFor(music, 4e-3, wireOptions{Celsius: 200, Peened: true}) // past the screening limit of 250 °F
	if err != nil || hot.Relaxation.Stress != 0 || hot.Life[0].Share != 0.42 || !hot.Peened {
		t.Errorf("%+v %v", hot, err)
	}
	if _, err := wireFor(music, 40e-3, wireOptions{}); !errors.Is(err, tables.ErrRange) {
		t.Errorf("music wire of 40 mm: %v", err)
	}
}

// Flags and keys say the same, and flags win.
func TestReplaceFlags(t *testing.T) {
	sets := []string{"wish.peak=8 bar", "wish.end=5 bar", "wish.within=0.3 bar", "wish.effort=300 N", "wish.life=5 years", "wish.pulls=10 /day",
		"space.bore=60 mm", "space.rod=10 mm", "space.play=2 mm", "space.installed_length=190 mm", "space.solid_clearance=4 mm", "space.temperature=60 °C",
		"space.seating=hinged-hinged", "space.guided=yes", "wish.grade=A401, music wire"}
	j := demoTask(t, sets...)
	if s, l := j.job.Space, j.job.Use; s.Bore != 60e-3 || s.Rod != 10e-3 || s.Slack != 2e-3 || s.Installed != 190e-3 || s.Solid != 4e-3 ||
		math.Abs(s.Celsius-60) > 1e-9 || s.Support != (spring.Support{Seating: spring.HingedHinged, Guided: true}) ||
		math.Abs(l.PullsPerDay-10) > 1e-9 || math.Abs(l.Years-5) > 1e-9 || j.job.Effort != 300 || j.wishes.Within != 0.3e5 ||
		!slices.Equal(j.grades, []string{"A401", "music wire"}) {
		t.Errorf("%+v %+v", j.job, j.grades)
	}
	keys := runJSON(t, append(small, "--set=wish.peak=8 bar", "--set=wish.end=5 bar", "--set=wish.within=0.3 bar", "--set=wish.effort=300 N",
		"--set=wish.life=5 years", "--set=wish.pulls=10 /day", "--set=space.bore=60 mm", "--set=space.rod=10 mm", "--set=space.play=2 mm",
		"--set=space.installed_length=190 mm", "--set=space.solid_clearance=4 mm", "--set=space.temperature=60 °C")...)
	flags := runJSON(t, append(small, "--peak=8 bar", "--end=5 bar", "--within=0.3 bar", "--effort=300 N", "--life=5 years", "--pulls=10 /day",
		"--bore=60 mm", "--rod=10 mm", "--play=2 mm", "--installed-length=190 mm", "--solid-clearance=4 mm", "--temperature=60 °C")...)
	if keys != flags {
		t.Errorf("by keys:\n%s\nby flags:\n%s", keys, flags)
	}
}

// TestEveryWishMatters: each number of [wish] and [space] changes the task when
// it changes by a hundredth.
func TestEveryWishMatters(t *testing.T) {
	base := demoTask(t, "wish.end=6 bar", "wish.within=0.2 bar", "space.play=1 mm", "space.solid_clearance=30 mm", "space.installed_length=143 mm")
	measured := demoTask(t, "lever=", "wish.effort_today=165 N")
	for _, table := range []sheet.Table{sheet.WishTable, sheet.SpaceTable} {
		for _, k := range table.Keys {
			path := table.Path + "." + k.Name
			if k.Dim == nil {
				continue
			}
			base := base
			if k.Name == "effort_today" {
				base = measured
			}
			m, err := base.m.Vary(map[string]float64{path: 1.01 * base.m.Value(path)})
			if err != nil {
				t.Fatal(err)
			}
			other, err := newTask(m)
			if err != nil {
				t.Fatal(err)
			}
			if reflect.DeepEqual(base.job, other.job) {
				t.Errorf("%s changes nothing", path)
			}
		}
	}
}

// small is a command whose search is quick.
var small = []string{"replace", "--grade=EN 10270-2 VDSiCr", "--peened", "--mean-step=1 mm", "--max-coils=15"}

func runJSON(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	if status := run(append(args, "--json"), strings.NewReader(""), &out, &errs); status != 0 {
		t.Fatalf("%v: status %d, %s", args, status, errs.String())
	}
	return out.String()
}

// Every spring of the table, as the engine runs it, gives what was wished within the tolerance.
func TestReplaceGivesTheWish(t *testing.T) {
	var answer struct {
		Springs []struct {
			Peak   float64 `json:"peak_bar"`
			End    float64 `json:"end_bar"`
			Margin float64 `json:"least_margin_percent"`
		}
	}
	// No threshold of the demo's: it ends the shot before the stroke does.
	text := runJSON(t, append(small, "--peak=9 bar", "--end=6 bar", "--within=0.2 bar", "--top=30", "--set=pull.end_pressure=0 bar")...)
	if err := json.Unmarshal([]byte(text), &answer); err != nil {
		t.Fatal(err)
	}
	if len(answer.Springs) != 30 {
		t.Fatalf("%d springs", len(answer.Springs))
	}
	for _, s := range answer.Springs {
		if math.Abs(s.Peak-9) > 0.2*(1+1e-9) || math.Abs(s.End-6) > 0.2*(1+1e-9) || s.Margin < 0 {
			t.Errorf("%+v", s)
		}
	}
}

// The effort comes from the lever of the sheet; else from today's measured
// effort, which grows with the force of the cocked spring; else it is left open,
// and said so.
func TestReplaceEffort(t *testing.T) {
	j := demoTask(t)
	lever, err := j.m.Lever()
	if err != nil {
		t.Fatal(err)
	}
	effort, err := lever.Effort(j.m.Load(), 2)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := j.job.Hand.Effort(j.m.Setup.Springs...), effort.Peak.Cocking; math.Abs(got/want-1) > 1e-4 {
		t.Errorf("today's springs take %g N, the lever says %g N", got, want)
	}
	open := demoTask(t, "lever=")
	if open.job.Hand != nil || len(open.doubts) != 1 {
		t.Errorf("%v %q", open.job.Hand, open.doubts)
	}
	// Of two springs the forces add, and the rates.
	one := demoTask(t, "piston.stroke=24 mm", "spring=", "spring.rate=27 N/mm", "spring.preload=700 N", "space.installed_length=143 mm", "lever=", "wish.effort_today=165 N")
	if got, want := one.job.Hand.Effort(spring.Linear{Preload: 2 * 1348}), 2*165.0; math.Abs(got-want) > 1e-9 || len(one.doubts) != 1 {
		t.Errorf("twice the force takes %g N, want %g N; doubts %q", got, want, one.doubts)
	}
	two := demoTask(t, "piston.stroke=24 mm", "spring=", "spring.rate=20 N/mm", "spring.preload=500 N", "spring.inner.rate=7 N/mm", "spring.inner.preload=200 N",
		"space.installed_length=143 mm", "lever=", "wish.effort_today=165 N")
	if !reflect.DeepEqual(two.job.Hand, one.job.Hand) || math.Abs(two.wishes.End-one.wishes.End) > 1e-6 {
		t.Errorf("a nest like the spring: %v, end %g Pa", two.job.Hand, two.wishes.End)
	}
	m, err := machineFlags{Set: []string{"lever.pinion_diameter=3 mm"}}.Load(&console{}, "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := newTask(m); err == nil {
		t.Error("a lever that does not reach the stroke is taken")
	}
}

// A wish that nothing states is an error, unless the spring of today tells it.
func TestReplaceWithoutEnd(t *testing.T) {
	if end := demoTask(t, "piston.stroke=24 mm", "spring=", "spring.rate=27 N/mm", "spring.preload=700 N", "space.installed_length=143 mm").wishes.End; math.Abs(end-5.975e5) > 100 {
		t.Errorf("end pressure %g Pa", end)
	}
	m, err := machineFlags{Set: []string{"spring=", "spring.rate=200 N/mm", "spring.preload=700 N", "space.installed_length=143 mm"}}.Load(&console{}, "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := newTask(m); err == nil || !strings.Contains(err.Error(), "spent before the end") {
		t.Errorf("got %v", err)
	}
}

// The temperature of the spring in the sheet counts where [space] has none.
func TestReplaceTemperature(t *testing.T) {
	for celsius, sets := range map[float64][]string{
		60: {"spring.temperature=60 °C", "space.temperature="},
		50: {"spring.temperature=60 °C", "space.temperature=50 °C"},
		70: {"space.temperature="},
	} {
		if got := demoTask(t, sets...).job.Space.Celsius; math.Abs(got-celsius) > 1e-9 {
			t.Errorf("%v: %g °C, want %g °C", sets, got, celsius)
		}
	}
}

// The rates of a nest add.
func TestReplaceNest(t *testing.T) {
	type line struct {
		Name string
		Rate float64 `json:"rate_n_per_mm"`
	}
	var answer struct{ Ranking, Springs []line }
	if err := json.Unmarshal([]byte(runJSON(t, "replace", "--candidates=testdata/springs.csv", "--rank=price")), &answer); err != nil {
		t.Fatal(err)
	}
	want := line{"outer of two", 27}
	if answer.Ranking[1] != want || answer.Springs[1] != want {
		t.Errorf("%+v", answer)
	}
}

func TestProgress(t *testing.T) {
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	quiet := newProgress(write, "judging") // a pipe is no terminal
	quiet.began = time.Now().Add(-time.Hour)
	quiet.show(1, 4)
	quiet.done()
	early := &progress{to: write, what: "early", began: time.Now()}
	early.show(1, 4)
	early.done()
	p := &progress{to: write, what: "judging", began: time.Now().Add(-2 * time.Second)}
	p.show(1, 4)
	p.show(2, 4) // too soon after
	p.done()
	if err := write.Close(); err != nil {
		t.Fatal(err)
	}
	got, err := io.ReadAll(read)
	if err != nil || string(got) != "\rjudging:  25 %\r\033[K" {
		t.Errorf("%q %v", got, err)
	}
}
