package answer

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/render"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// demoMachine is the demo machine with some overrides.
func demoMachine(t testing.TB, sets ...string) *machine.Machine {
	t.Helper()
	m, err := machine.Read("demo.toml", demo.Sheet, sets)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// usualOptions are options as they are where nothing is said.
func usualOptions(t testing.TB) *ReplaceOptions {
	t.Helper()
	o, err := ReplaceOptions{}.usual()
	if err != nil {
		t.Fatal(err)
	}
	return &o
}

// demoTask is the demo machine with its wishes and some overrides.
func demoTask(t testing.TB, sets ...string) *task {
	t.Helper()
	task, err := newTask(demoMachine(t, sets...), usualOptions(t))
	if err != nil {
		t.Fatal(err)
	}
	return task
}

// readList reads a list of springs and winds them.
func readList(name string, data []byte, o machine.WireOptions) ([]replace.Candidate, []sheet.LeftOut, error) {
	l, err := sheet.ReadSprings(name, data)
	if err != nil {
		return nil, nil, err
	}
	list, left := candidatesOf(l, o)
	return list, left, nil
}

// ask asks for a next spring.
func ask(t testing.TB, o ReplaceOptions, sets ...string) *report.Report {
	t.Helper()
	r, err := Replace(context.Background(), demoMachine(t, sets...), o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// small is a search that is quick.
func small(o ReplaceOptions) ReplaceOptions {
	o.Peened, o.MeanStep, o.MaxCoils, o.Spread = true, 1e-3, 15, spread.Options{Skip: true}
	return o
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
		{"decimal commas in quotes between commas", "rate [N/mm],free_length [mm]\n\"27,5\",250\n", []string{" 27.500 250.000 0.000 0 2"}, nil},
		{"units behind the names", "name,rate_N/mm,free_length_mm\na,27,250\n", []string{"a 27.000 250.000 0.000 0 2"}, nil},
		{"capitals and spaces", "Name,Rate [N/mm],Free Length [mm]\na,27,250\n", []string{"a 27.000 250.000 0.000 0 2"}, nil},
		{"no unit", "rate,free_length\n27,250 mm\n", nil, []string{`2 rate: "27": has no unit; write it as "27 N/mm"`}},
		{"too little", "name,rate [N/mm]\na,27\n", nil,
			[]string{"2 want rate and free_length, or loads at two lengths, or wire, a coil diameter, coils, ends, grade and free_length"}},
		{"below nothing", head + "a,-27,250,54 mm,1\n", nil, []string{`2 rate: "-27": want more than 0 N/mm and 1000 N/mm or less`}},
	} {
		t.Run(c.Name, func(t *testing.T) {
			list, bad, err := readList("list.csv", []byte(c.Text), machine.WireOptions{})
			if err != nil {
				t.Fatal(err)
			}
			var rows, left []string
			for _, r := range list {
				p := r.Parts[0]
				rows = append(rows, fmt.Sprintf("%s %.3f %.3f %.3f %g %d", r.Name, p.Rate/1e3, p.Free*1e3, p.Outer*1e3, r.Price, r.Row))
			}
			for _, b := range bad {
				left = append(left, fmt.Sprintf("%d %s", b.Line, b.Why))
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
		"":                   "list.csv: empty; want a line of headings",
		"name,rat\n":         `list.csv:1:6: unknown column "rat" (did you mean "rate"?)`,
		"rate,rate\n":        `list.csv:1:6: "rate": a second column of rate`,
		"free_lenght [mm]\n": `list.csv:1:1: unknown column "free_lenght [mm]" (did you mean "free_length"?)`,
		"price [mm]\n":       `list.csv:1:1: "price [mm]": a plain number has no unit`,
		"rate\n":             `list.csv: no rows below the headings`,
		"rate [bar]\n":       `list.csv:1:1: "rate [bar]": "bar" is not the unit of a rate`,
	} {
		if _, _, err := readList("list.csv", []byte(text), machine.WireOptions{}); err == nil || !strings.HasPrefix(err.Error(), want) {
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
		list, bad, err := readList("list.csv", []byte("wire,ends,grade,free_length,"+head+"\n8 mm,closed and ground,A401,252 mm,"+row+"\n"), machine.WireOptions{Preset: true, Peened: true})
		if err != nil || bad != nil || len(list) != 1 {
			t.Fatal(err, bad, list)
		}
		c := list[0].Parts[0].Coil
		if math.Abs(c.Mean-46e-3) > 1e-12 || c.Active != 16.25 || c.Total != 18.25 || c.Ends != spring.ClosedGround || c.Free != 0.252 || c.WireMax <= c.Wire {
			t.Errorf("%s: %+v", head, c)
		}
		if w := list[0].Parts[0].Wire; !w.Preset || !w.Peened || w.Cocked.Criterion.Name() != "Shigley, after presetting" {
			t.Errorf("wire %+v", w)
		}
	}
	for row, want := range map[string]string{
		"8 mm,closed,A401,252 mm,,16.25,":         "wire without coil_diameter",
		"8 mm,closed,A401,252 mm,46 mm,,":         "wire without active_coils or total_coils",
		"8 mm,,A401,252 mm,46 mm,16,":             "wire without ends",
		"8 mm,closed,A401,252 mm,46 mm,16,9":      "rate does not go with the dimensions",
		"8 mm,closed,A401,100 mm,46 mm,16,":       "free length is 100 mm, want more than the solid length",
		"80 mm,closed,A401,252 mm,46 mm,16,":      "wire",
		"20 mm,closed,A401,252 mm,46 mm,16,":      "A401 wire, strength: diameter 20 mm",
		"8 mm,closed,A401,252 mm,46 mm,16,27,1,1": "9 values under 7 headings",
	} {
		_, bad, err := readList("list.csv", []byte("wire,ends,grade,free_length,coil_diameter,active_coils,rate [N/mm]\n"+row+"\n"), machine.WireOptions{})
		if err != nil || len(bad) != 1 || !strings.Contains(bad[0].Why, want) {
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
	list, bad, err := readList("list.csv", []byte(b.String()), machine.WireOptions{})
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
	springs, err := os.ReadFile("../../testdata/springs.csv")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(springs)
	f.Add([]byte("rate [N/mm];free_length [mm]\n27;250\n"))
	f.Add([]byte("wire,ends,grade,free_length,coil_diameter,active_coils,nest\n8 mm,closed,A401,252 mm,46 mm,16,A\n4 mm,closed,A401,252 mm,26 mm,16,A\n"))
	f.Add([]byte("rate,free_length,inside_diameter,outside_diameter\n1e300 N/mm,1 mm,3 mm,2 mm\n"))
	job := demoTask(f).job
	f.Fuzz(func(t *testing.T, data []byte) {
		list, bad, err := readList("list.csv", data, machine.WireOptions{Celsius: 70})
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

// Each key of wishes and space reaches the task.
func TestReplaceKeys(t *testing.T) {
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
			other, err := newTask(m, usualOptions(t))
			if err != nil {
				t.Fatal(err)
			}
			if reflect.DeepEqual(base.job, other.job) {
				t.Errorf("%s changes nothing", path)
			}
		}
	}
}

// number is a cell of a table [SI].
func number(t testing.TB, table *report.Table, row int, key string) float64 {
	t.Helper()
	i := slices.IndexFunc(table.Columns, func(c report.Column) bool { return c.Key == key })
	if i < 0 {
		t.Fatalf("no column %s", key)
	}
	v, ok := table.Data[row][i].(float64)
	if !ok {
		t.Fatalf("%s of row %d is %v", key, row, table.Data[row][i])
	}
	return v
}

// Every spring of the table, as the engine runs it, gives what was wished within the tolerance.
func TestReplaceGivesTheWish(t *testing.T) {
	// No threshold of the demo's: it ends the shot before the stroke does.
	r := ask(t, small(ReplaceOptions{Top: 20}), "wish.peak=9 bar", "wish.end=6 bar", "wish.within=0.2 bar", "wish.grade=EN 10270-2 VDSiCr", "pull.end_pressure=0 bar")
	springs := r.Table("springs")
	if len(springs.Data) < 10 {
		t.Fatalf("%d springs", len(springs.Data))
	}
	for i := range springs.Data {
		peak, end := number(t, springs, i, "peak"), number(t, springs, i, "end")
		if math.Abs(peak-9e5) > 0.2e5*(1+1e-9) || math.Abs(end-6e5) > 0.2e5*(1+1e-9) || number(t, springs, i, "least_margin") < 0 {
			t.Errorf("row %d: %g Pa, %g Pa", i, peak, end)
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
	if _, err := newTask(demoMachine(t, "lever.pinion_diameter=3 mm"), usualOptions(t)); err == nil {
		t.Error("a lever that does not reach the stroke is taken")
	}
}

// A wish that nothing states is an error, unless the spring of today tells it.
func TestReplaceWithoutEnd(t *testing.T) {
	if end := demoTask(t, "piston.stroke=24 mm", "spring=", "spring.rate=27 N/mm", "spring.preload=700 N", "space.installed_length=143 mm",
		"piston.friction_per_pressure=0 N/bar", "piston.mass=0 g", "chamber.air=0 mL").wishes.End; math.Abs(end-5.975e5) > 100 {
		t.Errorf("end pressure %g Pa", end)
	}
	m := demoMachine(t, "spring=", "spring.rate=200 N/mm", "spring.preload=700 N", "space.installed_length=143 mm")
	if _, err := newTask(m, usualOptions(t)); err == nil || !strings.Contains(err.Error(), "spent before the end") {
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

// The rates of a nest add, and its forces; the CSV has a line for each of its springs.
func TestReplaceNest(t *testing.T) {
	order, err := replace.ParseOrder("price")
	if err != nil {
		t.Fatal(err)
	}
	r := ask(t, ReplaceOptions{Candidates: springsCSV(t), Order: order, Spread: spread.Options{Skip: true}})
	springs := r.Table("springs")
	nests := 0
	for i := range springs.Data {
		if name, ok := springs.Data[i][4].(string); ok && name != "" {
			nests++
			if rate := number(t, springs, i, "rate"); rate != 18e3 && rate != 9e3 {
				t.Errorf("rate %g", rate)
			}
		}
	}
	if nests != 2 {
		t.Errorf("%d springs of nests", nests)
	}
}

// springsCSV is a list of all kinds of lines.
func springsCSV(t testing.TB) *sheet.SpringList {
	t.Helper()
	data, err := os.ReadFile("../../testdata/springs.csv")
	if err != nil {
		t.Fatal(err)
	}
	list, err := sheet.ReadSprings("springs.csv", data)
	if err != nil {
		t.Fatal(err)
	}
	return list
}

// asCSV prints a table as the program prints it.
func asCSV(t testing.TB, table *report.Table, f quantity.Family) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := render.CSV(&out, &report.Report{Tables: []report.Table{*table}, Main: table.Key}, render.Options{Family: f}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// What a search or a list prints as CSV is a list, in either family of units, of which
// every line is taken and judged the same.
func TestRoundTrip(t *testing.T) {
	sets := []string{"wish.end=6.3 bar", "wish.within=0.4 bar", "wish.effort=200 N"}
	for name, o := range map[string]ReplaceOptions{
		"search": small(ReplaceOptions{Top: 30}),
		"preset": small(ReplaceOptions{Top: 30, Preset: true}), // of a grade that bears more so
		"list":   {Candidates: springsCSV(t), Spread: spread.Options{Skip: true}},
	} {
		sets := sets
		for _, f := range []quantity.Family{quantity.Metric, quantity.Inch} {
			if o.Preset {
				sets = append(slices.Clone(sets), "wish.grade=A401")
			}
			first := ask(t, o, sets...).Table("springs")
			text := asCSV(t, first, f)
			list, err := sheet.ReadSprings("again.csv", text)
			if err != nil || len(list.LeftOut) > 0 || len(list.Springs) != len(first.Data) || len(first.Data) < 3 {
				t.Fatalf("%s: %v %v\n%s", name, err, list, text)
			}
			again := ask(t, ReplaceOptions{Candidates: list, Top: 100, Spread: spread.Options{Skip: true}}, sets...)
			if again.Row("fitting").Value != float64(places(first)) {
				t.Fatalf("%s: %g fit of %d; %v", name, again.Row("fitting").Value, places(first), again.Doubts)
			}
			second := again.Table("springs")
			taken := map[int]bool{}
			for i := range first.Data {
				if !slices.ContainsFunc(rangeOf(len(second.Data)), func(k int) bool {
					if taken[k] || !sameJudgement(first, second, i, k) {
						return false
					}
					taken[k] = true
					return true
				}) {
					t.Errorf("%s: line %d is judged otherwise: %v", name, i, first.Data[i])
				}
			}
		}
	}
}

func rangeOf(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// places is how many rows of a ranking the lines of a table are.
func places(table *report.Table) int {
	seen := map[any]bool{}
	for _, row := range table.Data {
		seen[row[0]] = true
	}
	return len(seen)
}

// sameJudgement compares all that is said of two springs but where they stand.
func sameJudgement(a, b *report.Table, i, k int) bool {
	for c, column := range a.Columns {
		switch column.Key {
		case "place", "line", "nest", "name":
			continue
		}
		x, y := a.Data[i][c], b.Data[k][c]
		u, isX := x.(float64)
		v, isY := y.(float64)
		if isX && isY && math.Abs(u-v) > 1e-6*max(math.Abs(u), 1e-3) || isX != isY || !isX && x != y {
			return false
		}
	}
	return true
}

// Lists as makers print them, in metric and in inch units, and by loads at lengths.
func TestMakersLists(t *testing.T) {
	for name, text := range map[string]string{
		"symbols":       "No.;d (mm);De (mm);L0 (mm);n;nt;R (N/mm);F1 (N);L1 (mm);Fn (N);Ln (mm);Lc (mm);price\n17;7;49;187;12;14;27;1296;139;1836;119;98;35\n",
		"inch":          "Part No,OD (in),ID (in),Free Length (in),Rate (lb/in),Solid Height (in),Price\n17,1.92913,1.37795,7.3622,154.174,3.858,35\n",
		"loads":         "name,Do [mm],Di [mm],F1 [N],L1 [mm],F2 [N],L2 [mm],Lc [mm],price\n17,49,35,1296,139,1836,119,98,35\n",
		"load and free": "name,Do [mm],Di [mm],Fn [N],Ln [mm],Lf [mm],Lc [mm],price\n17,49,35,1836,119,187,98,35\n",
		"mean":          "name,d [mm],D [mm],R [N/mm],L0 [mm],Lc [mm],price\n17,7,42,27,187,98,35\n",
	} {
		list, left, err := readList("list.csv", []byte(text), machine.WireOptions{Celsius: 70})
		if err != nil || len(left) > 0 || len(list) != 1 {
			t.Errorf("%s: %v %v %v", name, err, left, list)
			continue
		}
		p := list[0].Parts[0]
		if math.Abs(p.Rate/27e3-1) > 1e-4 || math.Abs(p.Free/0.187-1) > 1e-4 || math.Abs(p.Outer/0.049-1) > 1e-4 || math.Abs(p.Inner/0.035-1) > 1e-4 || list[0].Price != 35 || list[0].Name != "17" {
			t.Errorf("%s: %+v", name, p)
		}
	}
	for text, want := range map[string]string{
		"name,R [N/mm],L0 [mm],F1 [N],L1 [mm]\na,27,187,2000,139\n":                    "load 1",
		"name,R [N/mm],L0 [mm],F1 [N]\na,27,187,2000\n":                                "want load_1 and length_1",
		"wire [mm],De [mm],n,ends,grade,L0 [mm],R [N/mm]\n7,49,12,closed,A401,187,9\n": "rate does not go with the dimensions",
	} {
		_, left, err := readList("list.csv", []byte(text), machine.WireOptions{Celsius: 70})
		if err != nil || len(left) != 1 || !strings.Contains(left[0].Why, want) {
			t.Errorf("%q: %v %v, want %s", text, err, left, want)
		}
	}
}

// Wire, diameter, grade and rate without coils: the coils follow from the rate.
func TestCoilsFromRate(t *testing.T) {
	list, left, err := readList("list.csv", []byte("d [mm],De [mm],L0 [mm],R [N/mm],grade\n7,49,187,27,EN 10270-1 DH\n"), machine.WireOptions{Celsius: 70})
	if err != nil || len(left) > 0 {
		t.Fatal(err, left)
	}
	p := list[0].Parts[0]
	want := p.Coil.G * math.Pow(7e-3, 4) / (8 * math.Pow(42e-3, 3) * 27e3)
	if math.Abs(p.Coil.Active/want-1) > 1e-12 || p.Coil.Ends != spring.ClosedGround {
		t.Errorf("%+v", p.Coil)
	}
}

// A list whose springs all miss says for each which limit and by how much, and what
// would make the nearest fit: a shim of as much as the free length is short.
func TestRejected(t *testing.T) {
	list, err := sheet.ReadSprings("short.csv", []byte("name,rate [N/mm],free_length [mm],solid_length [mm],outside_diameter [mm],inside_diameter [mm]\nshort,27.84,180,98,49,35\n"))
	if err != nil {
		t.Fatal(err)
	}
	r := ask(t, ReplaceOptions{Candidates: list, Spread: spread.Options{Skip: true}})
	rejected, remedies := r.Table("rejected"), r.Table("remedies")
	if len(rejected.Data) != 1 || rejected.Data[0][2] != "peak pressure" || number(t, rejected, 0, "over") <= 0 {
		t.Fatalf("%v", rejected.Data)
	}
	if len(remedies.Data) == 0 || remedies.Data[0][2] != "shim" {
		t.Fatalf("%v", remedies.Data)
	}
	by := number(t, remedies, 0, "by")
	task := demoTask(t)
	line := task.job.Space.Line(&replace.Part{Rate: 27.84e3, Free: 0.180}) // softer at work
	lacks := task.job.Start() - line.Force(task.job.Stroke-task.job.Begin) - task.job.Within
	if want := lacks / line.Rate; by < want-1e-9 || by > want+0.1e-3+1e-9 {
		t.Errorf("a shim of %g m, want %g m to a tenth of a millimetre", by, want)
	}
}

// Nobody's wish of an end pressure rejects no spring of a list.
func TestNoEndAsked(t *testing.T) {
	list, err := sheet.ReadSprings("soft.csv", []byte("name,rate [N/mm],free_length [mm],outside_diameter [mm],inside_diameter [mm]\nsoft,18,221.5,49,35\n"))
	if err != nil {
		t.Fatal(err)
	}
	o := ReplaceOptions{Candidates: list, Spread: spread.Options{Skip: true}}
	if r := ask(t, o); r.Row("fitting").Value != 1 {
		t.Errorf("without: %v", r.Next)
	}
	if r := ask(t, o, "wish.end=6.48 bar"); r.Row("fitting").Value != 0 {
		t.Error("an end pressure that is asked for rejects nothing")
	}
}

// The order sheet describes a spring that the machine sheet reads, with the same rate
// and loads, and its copy is that spring.
func TestOrderSheetIsReadAgain(t *testing.T) {
	for name, o := range map[string]ReplaceOptions{"search": small(ReplaceOptions{Sheet: true}), "copy": {Copy: CopyAll, Sheet: true}} {
		r := ask(t, o)
		sets := []string{"spring="}
		for _, key := range []string{"grade", "ends", "wire", "outside_diameter", "active_coils", "total_coils", "free_length", "installed_length"} {
			row := r.Row(key)
			text := row.Text
			if text == "" {
				text = strconv.FormatFloat(row.Value, 'g', -1, 64)
				if row.Unit.Symbol != "" {
					text = row.Unit.Number(row.Value, 9) + " " + row.Unit.Symbol
				}
			}
			if key != "total_coils" { // one of the two is enough
				sets = append(sets, "spring."+key+"="+text)
			}
		}
		m := demoMachine(t, sets...)
		coil, ok := m.Compression("spring")
		if !ok {
			t.Fatalf("%s: %v", name, m.Faults)
		}
		if math.Abs(coil.Rate()/r.Row("rate").Value-1) > 1e-6 || math.Abs(m.Setup.Springs[0].Preload/r.Row("rest").Value-1) > 1e-5 {
			t.Errorf("%s: rate %g, preload %g, want %g, %g", name, coil.Rate(), m.Setup.Springs[0].Preload, r.Row("rate").Value, r.Row("rest").Value)
		}
		copied := ask(t, ReplaceOptions{Copy: CopyAll, Spread: spread.Options{Skip: true}}, sets...).Table("springs")
		if rate := number(t, copied, 0, "rate"); math.Abs(rate/coil.Rate()-1) > 1e-12 {
			t.Errorf("%s: a copy has %g N/m, want %g", name, rate, coil.Rate())
		}
		for _, both := range []string{"F1", "F2"} { // two loads bind, and what the maker needs to meet them does not
			if !bindsIn(r, both) {
				t.Errorf("%s: %s does not bind", name, both)
			}
		}
		for _, free := range []string{"d", "n", "nt", "L0", "R"} {
			if bindsIn(r, free) {
				t.Errorf("%s: %s binds beside both loads", name, free)
			}
		}
	}
}

// TestOrderSheetOfABook: Shigley, Example 10-2, music wire 0.080 in for 20 lbf at 2 in, as
// the sheet states it: its order sheet has what the book prints, but for the solid
// length, which an order grants the tolerance of the wire (EN 13906-1). C, of which the
// book prints 10.53, is fed in as eq. 10-23 gives it; the book's G is 11.75 Mpsi.
func TestOrderSheetOfABook(t *testing.T) {
	const mean, active = 0.842679, 10.0536
	r := ask(t, ReplaceOptions{Copy: CopyAll, Sheet: true}, "spring=", "spring.grade=A228", "spring.wire=0.080 in", fmt.Sprintf("spring.coil_diameter=%g in", mean),
		fmt.Sprintf("spring.active_coils=%g", active), "spring.ends=closed and ground", fmt.Sprintf("spring.free_length=%.6f in", (active+2)*0.080+1.15*2),
		fmt.Sprintf("spring.installed_length=%.6f in", (active+2)*0.080+1.15*2), fmt.Sprintf("spring.modulus_ratio=%.9g", 11.75e3*inKpsi/81.0e9), "piston.stroke=2 in")
	asInBook(t, r, []bookRow{{"wire", inInch, "0.080"}, {"outside_diameter", inInch, "0.923"}, {"active_coils", inPlain, "10.05"}, {"total_coils", inPlain, "12.05"},
		{"free_length", inInch, "3.264"}, {"rate", inLbf / inInch, "10.0"}, {"cocked", inLbf, "20.0"}})
	solid := 0.0
	for _, row := range r.Table("order").Data {
		if row[0] == "Lc" {
			solid = row[2].(report.Sentence).Args[0].(report.Amount).Value / inInch
		}
	}
	if thick := 0.080 + 0.025/25.4; math.Abs(solid/(0.964287*thick/0.080)-1) > 1e-5 { // EN 10218-2: ± 0.025 mm
		t.Errorf("solid length %.5f in", solid)
	}
}

func bindsIn(r *report.Report, symbol string) bool {
	for _, row := range r.Table("order").Data {
		if row[0] == symbol {
			return row[4] == "binding"
		}
	}
	return false
}

// A copy is ordered whatever limit it breaks, which is said with by how much; of a nest
// one by itself, the other staying.
func TestCopy(t *testing.T) {
	past := ask(t, ReplaceOptions{Copy: CopyAll}, "new.free_length=200 mm")
	if len(past.Table("rejected").Data) == 0 || !strings.Contains(past.Doubts[0].String(), "past limits of today") {
		t.Errorf("%v %v", past.Table("rejected").Data, past.Doubts)
	}
	if free := number(t, past.Table("springs"), 0, "free_length"); free != 0.2 {
		t.Errorf("free length %g", free)
	}
	inner := []string{"spring.inner.wire=3 mm", "spring.inner.outside_diameter=33 mm", "spring.inner.active_coils=12", "spring.inner.ends=closed and ground",
		"spring.inner.grade=EN 10270-1 DH", "spring.inner.free_length=170 mm", "spring.inner.installed_length=139 mm", "space.rod=20 mm"}
	for which, springs := range map[Copy]int{CopyAll: 2, CopyOuter: 1, CopyInner: 1} {
		r := ask(t, ReplaceOptions{Copy: which}, inner...)
		if got := len(r.Table("springs").Data); got != springs {
			t.Errorf("%s: %d springs", which, got)
		}
		whole := ask(t, ReplaceOptions{Copy: CopyAll}, inner...)
		if a, b := r.Row("best_peak").Value, whole.Row("best_peak").Value; a != b {
			t.Errorf("%s: peak %g Pa, of all %g Pa", which, a, b)
		}
	}
	if _, err := Replace(context.Background(), demoMachine(t), ReplaceOptions{Copy: CopyInner}); err == nil {
		t.Error("an inner spring that is not there is copied")
	}
}

// US gauges and inch sizes are series; a made up spring then has such a wire.
func TestInchSizes(t *testing.T) {
	r := ask(t, small(ReplaceOptions{Sizes: "inch", Top: 5}), "wish.grade=A401", "wish.within=0.4 bar", "wish.effort=250 N")
	springs := r.Table("springs")
	if len(springs.Data) == 0 {
		t.Fatal(r.Answer, r.Next)
	}
	for i := range springs.Data {
		if thousandths := number(t, springs, i, "wire") / 25.4e-6; math.Abs(thousandths-math.Round(thousandths*10)/10) > 1e-6 {
			t.Errorf("wire of %g thousandths", thousandths)
		}
	}
}

// Wrong use is said.
func TestReplaceWrongUse(t *testing.T) {
	for want, o := range map[string]ReplaceOptions{
		"count from 1": {Top: -1}, "--mean-step": {MeanStep: 1e-9}, "--mean-step: no mean": {MeanStep: 1}, "--quality": {Quality: 4}, "--sizes": {Sizes: "round"},
		"--copy": {Copy: CopyAll, Nests: true}, "no inner one": {Copy: CopyInner},
	} {
		if _, err := Replace(context.Background(), demoMachine(t), o); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%+v: %v", o, err)
		}
	}
}

// A list in another order is ranked the same.
func TestShuffledList(t *testing.T) {
	text := string(asCSV(t, ask(t, small(ReplaceOptions{Top: 12})).Table("springs"), quantity.Metric))
	lines := strings.Split(strings.TrimSpace(text), "\n")
	for i := range lines[1:] { // a name to know each by
		cells := strings.SplitN(lines[i+1], ",", 3)
		lines[i+1] = cells[0] + ",spring " + cells[0] + "," + cells[2]
	}
	rank := func(rows []string) (names []string) {
		list, err := sheet.ReadSprings("list.csv", []byte(lines[0]+"\n"+strings.Join(rows, "\n")+"\n"))
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range ask(t, ReplaceOptions{Candidates: list, Top: 100, Spread: spread.Options{Skip: true}}).Table("springs").Data {
			names = append(names, row[1].(string))
		}
		return names
	}
	twin := strings.Replace(lines[2], "spring 2,", "a twin of 2,", 1) // as good in all, so that its name decides
	lines = append(lines, twin)
	want := rank(lines[1:])
	if len(want) < 5 {
		t.Fatalf("%d springs", len(want))
	}
	backwards := slices.Clone(lines[1:])
	slices.Reverse(backwards)
	turned := append(slices.Clone(lines[4:]), lines[1:4]...)
	for _, rows := range [][]string{backwards, turned} {
		if got := rank(rows); !slices.Equal(got, want) {
			t.Errorf("got %v, want %v", got, want)
		}
	}
}

// The short answer is one table and a chart with today's pressure dashed, and says
// verdicts on its rows.
func TestShortAnswer(t *testing.T) {
	r := ask(t, small(ReplaceOptions{}), "wish.grade=EN 10270-2 VDSiCr")
	short := 0
	for _, table := range r.Tables {
		if table.Short {
			short++
		}
	}
	if c := r.Charts; short != 1 || len(c) != 1 || c[0].Series[0].Dashed || !c[0].Series[1].Dashed || !strings.HasPrefix(r.Caution, "Spring:") || len(r.Answer) != 2 {
		t.Errorf("%d short tables, %d charts, %q", short, len(c), r.Answer)
	}
	if verdict := r.Table("comparison").Data[0][5].(report.Sentence).String(); verdict != "may miss" {
		t.Errorf("verdict of the peak %q", verdict)
	}
	heavy := ask(t, small(ReplaceOptions{}), "wish.grade=EN 10270-2 VDSiCr", "wish.effort=110 N")
	rows := heavy.Table("comparison").Data
	if i := slices.IndexFunc(rows, func(row []any) bool { return row[0] == "handle force" }); i < 0 || rows[i][5].(report.Sentence).String() != "too heavy" {
		t.Errorf("%v", rows)
	}
	for _, r := range []*report.Report{r, heavy, ask(t, ReplaceOptions{}), ask(t, ReplaceOptions{Quality: 1}, "wish.effort=110 N"),
		ask(t, ReplaceOptions{Candidates: springsCSV(t)}), ask(t, ReplaceOptions{Copy: CopyAll})} {
		printable(t, r)
	}
}

// TestEachSpringInWords: a winder is told each spring of a choice, once and in order.
func TestEachSpringInWords(t *testing.T) {
	for n := 1; n <= 4; n++ {
		var c replace.Choice
		var want []string
		for i := range n {
			c.Parts = append(c.Parts, replace.Part{Rate: 1e3 * float64(1+i), Free: 0.1 + 0.01*float64(i)})
			want = append(want, fmt.Sprintf("free length %d.0 mm, rate %d.00 N/mm", 100+10*i, 1+i))
		}
		got := windersWords(&c).String()
		for _, one := range want {
			before, after, ok := strings.Cut(got, one)
			if !ok || strings.Contains(after, one) || strings.Contains(before, "free length") {
				t.Errorf("%d springs: %q is not next, once, in %q", n, one, got)
			}
			got = after
		}
	}
}

// TestPrintedToleranceCounts: what a maker prints of the loads goes before what is usual
// and before the standard.
func TestPrintedToleranceCounts(t *testing.T) {
	coil := spring.Compression{Wire: 7e-3, Mean: 42e-3, Active: 12, Total: 14, Ends: spring.ClosedGround, Convention: spring.EN, G: 79.5e9, E: 206e9, Density: 7850, Free: 0.186}
	for _, p := range []replace.Part{{Rate: 1e4, Free: 0.2}, replace.PartOf(coil, nil)} {
		for _, share := range []float64{0.02, 0.1} {
			p.LoadBy = share
			s := madeOf(&p, "spring", spring.Grade(2))
			if got := s.load(250); math.Abs(got-250*share) > 1e-12 || s.rate != share {
				t.Errorf("printed %g: off by %g N of 250 N, rate by %g", share, got, s.rate)
			}
		}
	}
}
