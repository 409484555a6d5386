package sheet_test

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	. "springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/tables"
)

// TestBlankSheet fills the blank sheet in, with its own examples.
func TestBlankSheet(t *testing.T) {
	blank := Blank()
	for _, line := range strings.Split(blank, "\n") {
		if n := len([]rune(line)); n > words.LineWidth {
			t.Errorf("%d characters: %s", n, line)
		}
	}

	// Ten lines lead, none behind them is to be filled in, and they are enough.
	var first []string
	filled := blank
	for i, line := range strings.Split(blank, "\n") {
		path, _, empty := strings.Cut(line, ` = ""`)
		if !empty {
			continue
		}
		first = append(first, path)
		if i > 25 {
			t.Errorf("line %d is to be filled in: %s", i+1, line)
		}
		k := FindKey(path)
		if !strings.Contains(blank, fmt.Sprintf("%q\n", k.Example)) {
			t.Errorf("%s: the example %q is broken over two lines", path, k.Example)
		}
		filled = strings.Replace(filled, line, strings.Replace(line, `""`, fmt.Sprintf("%q", k.Example), 1), 1)
	}
	if s := testsheet.Read(t, filled); len(first) != 10 || len(s.Entries) != 10 {
		t.Errorf("%d lines, %d keys, want 10: %q", len(first), len(s.Entries), first)
	}
	if m := testsheet.Build(t, filled); len(m.Setup.Springs) != 1 || m.Setup.Springs[0].Rate == 0 {
		t.Errorf("the ten lines give %+v", m.Setup.Springs)
	}

	// Its other lines, with the # taken off, but for "or:" and the inner spring.
	lines := strings.Split(filled, "\n")
	for i, line := range lines {
		below := ""
		if i+1 < len(lines) {
			below = lines[i+1]
		}
		or := strings.Contains(line, "# or: ") || !strings.Contains(line, "# ") && strings.HasPrefix(strings.TrimSpace(below), "# or: ")
		if strings.HasPrefix(line, "#") && !strings.HasPrefix(line, "# ") && line != "#" && !or && !strings.HasPrefix(line, "#spring.inner.") {
			lines[i] = line[1:]
		}
	}
	s := testsheet.Read(t, strings.Join(lines, "\n"))
	for _, table := range Schema {
		if table.Path == "spring.inner" {
			continue
		}
		for _, k := range table.Keys {
			path := table.Path + "." + k.Name
			want := k.Need != Alternative || slices.Contains(first, path)
			if table.Many() {
				path = Indexed(table.Path, 1) + "." + k.Name
			}
			if got := s.Has(path); got != want {
				t.Errorf("%s: in the sheet: %v, want %v", path, got, want)
			}
		}
	}
}

// TestEveryExample: the example of every key is possible for it.
func TestEveryExample(t *testing.T) {
	for _, table := range Schema {
		for _, k := range table.Keys {
			if k.Dim == nil {
				if len(k.Choices) > 0 && !slices.Contains(k.Choices, k.Example) {
					t.Errorf("%s.%s: %q is not a choice", table.Path, k.Name, k.Example)
				}
				continue
			}
			q, err := quantity.Parse(k.Example, k.Dim)
			if err == nil {
				err = k.Check(q.Value)
			}
			if err != nil {
				t.Errorf("%s.%s: example %q: %v", table.Path, k.Name, k.Example, err)
			}
			if d, ok := tables.DefaultFor(table.Path + "." + k.Name); ok && k.Check(d.Value) != nil {
				t.Errorf("%s.%s: the default %v is not possible: %v", table.Path, k.Name, d.Value, k.Check(d.Value))
			}
		}
	}
}

// TestFaults holds messages and places to the character.
func TestFaults(t *testing.T) {
	for _, c := range []struct {
		Name, Text string
		sets       []string
		Want       []string
	}{
		{Name: "nothing", Text: "", Want: []string{
			"test.toml: basket.diameter: missing; want a length, such as \"51 mm\"",
			"test.toml: coffee.dose: missing; want a mass, such as \"14 g\"",
			"test.toml: piston.bore: missing; want a length, such as \"50 mm\"",
			"test.toml: piston.stroke: missing; want a length, such as \"24 mm\"",
			"test.toml: spring.rate: missing; give rate and preload, or the spring's dimensions; or, off the gauge of the machine, peak and end_pressure of a shot under [bench]; or a log of a shot under [coffee.known]",
		}},
		{Name: "an accent before the value counts as one character", Text: testsheet.Minimal + "[machine]\n\"é\" = 1\nname = \"é\" x\n", Want: []string{
			"test.toml:13:1: machine.é: unknown key; [machine] takes name and note",
			"test.toml:14:12: machine.name: expected newline but got U+0078 'x'",
		}},
		{Name: "byte order mark", Text: "\ufeff[piston]\nbore = 45\n" + strings.Replace(testsheet.Minimal, "[piston]\nbore = \"50 mm\"\nstroke = \"24 mm\"\n", "", 1), Want: []string{
			"test.toml:1:2: piston.stroke: missing; want a length, such as \"24 mm\"",
			"test.toml:2:8: piston.bore: 45 has no unit; write it as \"45 mm\"",
		}},
		{Name: "double key", Text: testsheet.Minimal + "dose = \"15 g\"\n", Want: []string{
			"test.toml:12:1: coffee.dose: key dose is already defined",
		}},
		{Name: "a key of another table", Text: testsheet.Minimal + "bore = \"50 mm\"\n", Want: []string{
			"test.toml:12:1: coffee.bore: unknown key; it belongs under [piston]",
		}},
		{Name: "a key of no table", Text: "dose = \"14 g\"\n" + testsheet.Minimal, Want: []string{
			"test.toml:1:1: dose: unknown key outside a table; it belongs under [coffee]",
		}},
		{Name: "a table for a value", Text: testsheet.Minimal + "[basket.depth]\nx = 1\n", Want: []string{
			"test.toml:12:9: basket.depth: want a length, such as \"24 mm\"",
		}},
		{Name: "a value for a table", Text: "water = \"93 °C\"\n" + testsheet.Minimal, Want: []string{
			"test.toml:1:1: water: is a table: write [water] and its keys below",
		}},
		{Name: "several of what there is one", Text: testsheet.Minimal + "[[water]]\naltitude = \"1 m\"\n", Want: []string{
			"test.toml:12:3: water: there is one [water] table, not several",
		}},
		{Name: "inline table", Text: strings.Replace(testsheet.Minimal, "[basket]\ndiameter = \"51 mm\"", "[basket]", 1) + "[water]\nx = 1\n[pull]\n", Want: []string{
			"test.toml:8:2: basket.diameter: missing; want a length, such as \"51 mm\"",
			"test.toml:12:1: water.x: unknown key; [water] takes boiler_temperature, boiler_pressure, line_pressure, brew_temperature and altitude",
		}},
		{Name: "inline values", Text: "water = {altitude = 3, brew_temperature = \"hot\"}\npull = [{fill_time = \"1 s\"}, {fill_time = 2}]\n" + testsheet.Minimal, Want: []string{
			"test.toml:1:21: water.altitude: 3 has no unit; write it as \"3 mm\"",
			"test.toml:1:43: water.brew_temperature: \"hot\": want a number first",
			"test.toml:2:43: pull[2].fill_time: 2 has no unit; write it as \"2 s\"",
		}},
		{Name: "second pull", Text: testsheet.Minimal + "[[pull]]\npreinfusion = \"10 s\"\n[[pull]]\npreinfusion = \"10 bar\"\n", Want: []string{
			"test.toml:15:15: pull[2].preinfusion: \"10 bar\": \"bar\" is not the unit of a time, which takes s, min, h, days or years",
		}},
		{Name: "which pull", Text: testsheet.Minimal + "[[pull]]\n[[pull]]\n", sets: []string{"pull.preinfusion=5 s", "pull[3].preinfusion=5 s"}, Want: []string{
			"--set pull.preinfusion: there are 2; say which, as in pull[1].preinfusion",
			"--set pull[3].preinfusion: there is no pull[3]; counted from 1, the sheet has 2",
		}},
		{Name: "two ways for the spring", Text: strings.Replace(testsheet.Minimal, "[piston]", "wire = \"8 mm\"\n[piston]", 1), Want: []string{
			"test.toml:5:8: spring.wire: \"8 mm\": stated beside rate and preload; keep rate and preload, or the dimensions",
		}},
		{Name: "half of the dimensions", Text: strings.Replace(testsheet.Minimal, "rate = \"27 N/mm\"\npreload = \"700 N\"\n", "coil_diameter = \"42 mm\"\ninside_diameter = \"34 mm\"\nends = \"round\"\n", 1), Want: []string{
			"test.toml:2:2: spring.active_coils: missing; give one of active_coils or total_coils",
			"test.toml:2:2: spring.free_length: missing; want a length, such as \"230 mm\"",
			"test.toml:2:2: spring.grade: missing; give one of grade or shear_modulus",
			"test.toml:2:2: spring.installed_length: missing; want a length, such as \"205 mm\"",
			"test.toml:2:2: spring.wire: missing; want a length, such as \"8 mm\"",
			"test.toml:4:19: spring.inside_diameter: \"34 mm\": keep only one of spring.coil_diameter and spring.inside_diameter",
			"test.toml:5:8: spring.ends: \"round\": want \"plain\", \"plain and ground\", \"closed\" or \"closed and ground\"",
		}},
		{Name: "half of an inner spring", Text: testsheet.Minimal + "[spring.inner]\nrate = \"5 N/mm\"\n", Want: []string{
			"test.toml:12:9: spring.inner.preload: missing; want a force, such as \"700 N\"",
		}},
		{Name: "half of a resistance", Text: testsheet.Minimal + "resistance_at = \"9 bar\"\n[coffee.known]\nyield = \"30 g\"\n", Want: []string{
			"test.toml:12:17: coffee.resistance_at: \"9 bar\": stated without coffee.resistance",
			"test.toml:13:9: coffee.known.time: missing; want a time, such as \"45 s\"",
		}},
		{Name: "two ways for the coffee", Text: testsheet.Minimal + "resistance = \"4 bar·s/mL\"\nresistance_at = \"9 bar\"\n[coffee.known]\nyield = \"30 g\"\ntime = \"40 s\"\n", Want: []string{
			"test.toml:14:9: coffee.known: keep only one of coffee.resistance and coffee.known",
		}},
		{Name: "a number of coils", Text: testsheet.Minimal + "blocking = \"0,400,1\"\nblocking_decay = nan\nloading_exponent = inf\nsecond_pull_factor = true\n", Want: []string{
			"test.toml:12:12: coffee.blocking: \"0,400,1\": cannot tell the decimals of \"0,400,1\"; write a number with one point and no commas",
			"test.toml:13:18: coffee.blocking_decay: nan: want a ratio, such as \"0.385 g/g\"",
			"test.toml:14:20: coffee.loading_exponent: \"inf\": want a number first",
			"test.toml:15:22: coffee.second_pull_factor: true: want a number, such as 0.6",
		}},
		{Name: "a table or a list for a quantity", Text: testsheet.Minimal + "retained = {a = 1}\nsuction = [\"1 bar\"]\n", Want: []string{
			"test.toml:12:12: coffee.retained: want a ratio, such as \"1.1 g/g\"",
			"test.toml:13:1: coffee.suction: want a pressure, such as \"0.1 bar\"",
		}},
		{Name: "no quotes", Text: testsheet.Minimal + "retained = 1.1 g/g # by weight\n", Want: []string{
			"test.toml:12:12: coffee.retained: 1.1 g/g: write it in quotes: retained = \"1.1 g/g\"",
		}},
		{Name: "faulty overrides are not missing too", Text: "[spring]\nwire = \"7 mm\"\ncoil_diameter = \"42 mm\"\nfree_length = \"168 mm\"\n" +
			"shear_modulus = \"79 GPa\"\nactive_coils = 12\n" + testsheet.Minimal[len("\n[spring]\nrate = \"27 N/mm\"\npreload = \"700 N\"\n"):],
			sets: []string{"spring.installed_length=143"}, Want: []string{
				"test.toml:1:2: spring.ends: missing; want \"plain\", \"plain and ground\", \"closed\" or \"closed and ground\"",
				"--set spring.installed_length: \"143\": has no unit; write it as \"143 mm\"",
			}},
		{Name: "a modulus ratio without a grade", Text: testsheet.Dimensions8mm + "modulus_ratio = 1.01\n" + testsheet.Minimal[len("\n[spring]\nrate = \"27 N/mm\"\npreload = \"700 N\"\n"):], Want: []string{
			"test.toml:10:17: spring.modulus_ratio: 1.01: stated without spring.grade, which it is for",
		}},
		{Name: "unclosed quotes", Text: "[machine]\nname = \"left\n" + testsheet.Minimal, Want: []string{
			"test.toml:2:13: machine.name: basic strings cannot have new lines",
		}},
		{Name: "too small to be meant", Text: testsheet.Minimal, sets: []string{"piston.bore=1e-300 mm", "coffee.dose=0 g", "basket.diameter=0.9 mm", "coffee.bulk_density=1e-300 g/cm³"}, Want: []string{
			"--set basket.diameter: \"0.9 mm\": want 5 mm or more and 300 mm or less",
			"--set coffee.bulk_density: \"1e-300 g/cm³\": want 0.05 g/cm³ or more and 2 g/cm³ or less",
			"--set coffee.dose: \"0 g\": want 0.5 g or more and 1 kg or less",
			"--set piston.bore: \"1e-300 mm\": want 5 mm or more and 300 mm or less",
		}},
		{Name: "cold boiler", Text: testsheet.Minimal + "[water]\nboiler_temperature = \"90 °C\"\nbrew_temperature = \"101 °C\"\n", Want: []string{
			"test.toml:13:22: water.boiler_temperature: \"90 °C\": a boiler that pushes is hotter than where water boils in the open, here 100.0 °C",
			"test.toml:14:20: water.brew_temperature: \"101 °C\": under the fill pressure water boils at 100.0 °C",
		}},
	} {
		t.Run(c.Name, func(t *testing.T) {
			if got := testsheet.FaultsOf(c.Text, c.sets...); !slices.Equal(got, c.Want) {
				t.Errorf("got:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(c.Want, "\n"))
			}
		})
	}
}

// TestAllSpotsOfAFile: every key of the demo sheet is found at its own place.
func TestAllSpotsOfAFile(t *testing.T) {
	s := testsheet.Read(t, string(demo.Sheet))
	lines := strings.Split(string(demo.Sheet), "\n")
	for path, e := range s.Entries {
		_, name := SplitPath(path)
		line := []rune(lines[e.At.Line-1])
		if !strings.HasPrefix(string(line), name) || !strings.HasPrefix(string(line[e.At.Column()-1:]), e.Raw()) || e.Raw() == "" {
			t.Errorf("%s: found at %d:%d with value %s", path, e.At.Line, e.At.Column(), e.Raw())
		}
	}
}

// TestSet: an override wins over what the file has, right or wrong.
func TestSet(t *testing.T) {
	s := testsheet.Read(t, testsheet.Minimal+"retained = 7\n[coffee.known]\nyield = 1\n[[pull]]\n", "coffee.retained=1.2 g/g", "coffee.known=", "basket.depth = 25 mm", "pull.fill_time=1 s")
	got := map[string]float64{}
	for path, e := range s.Entries {
		got[path] = e.Quantity.Value
	}
	want := map[string]float64{
		"spring.rate": 27e3, "spring.preload": 700, "piston.bore": 0.05, "piston.stroke": 0.024, "basket.diameter": 0.051, "basket.depth": 0.025,
		"coffee.dose": 0.014, "coffee.retained": 1.2, "pull[1].fill_time": 1,
	}
	if !maps.Equal(got, want) {
		t.Errorf("got %v\nwant %v", got, want)
	}
}

// TestChoicesInWords: words of the trade mean a choice, a flag too, and are said
// how they were read; what a sheet prints stays as it was typed.
func TestChoicesInWords(t *testing.T) {
	for _, c := range []struct{ path, word, want string }{
		{"spring.ends", "squared and ground", "closed and ground"}, {"spring.ends", "Squared & Ground", "closed and ground"}, {"spring.ends", "closed-ground", "closed and ground"},
		{"spring.ends", "squared", "closed"}, {"spring.ends", "open", "plain"}, {"spring.ends", "open and ground ends", ""}, {"spring.ends", "pigtail", ""},
		{"space.guided", "true", "yes"}, {"space.guided", "N", "no"}, {"space.guided", "maybe", ""},
	} {
		s, err := Parse("test.toml", []byte(testsheet.Minimal), []string{c.path + "=" + c.word})
		if err != nil {
			t.Fatal(err)
		}
		if got := s.Text(c.path); got != c.want || (len(s.Faults) == 0) != (c.want != "") {
			t.Errorf("%s %q: %q, %v, want %q", c.path, c.word, got, s.Faults, c.want)
		}
		if remark := strings.Join(s.Remarks(), ""); c.want != "" && !strings.Contains(remark, fmt.Sprintf("%s: %q read as %s", c.path, c.word, c.want)) {
			t.Errorf("%s %q: %q", c.path, c.word, remark)
		}
	}
	s := testsheet.Read(t, testsheet.Minimal+"[space]\nguided = true\n[wish]\nlife = '10 years'\n[bench]\nfree_length = '6 3/4\" ± 1/32\"'\nforce_raising = \"6,5 kg\"\nforce_lowering = \"20 N\"\n")
	printed := s.String()
	for _, want := range []string{`guided = "true"`, `life = "10 years"`, `free_length = "6 3/4\" ± 1/32\""`, `force_raising = "6,5 kg"`} {
		if !strings.Contains(printed, want) {
			t.Errorf("no %s in\n%s", want, printed)
		}
	}
	if err := sameSheet(s, testsheet.Read(t, printed)); err != nil {
		t.Error(err)
	}
	if q, _ := s.Quantity("bench.force_raising"); fmt.Sprintf("%.4f", q.Value) != "63.7432" {
		t.Errorf("6.5 kg are %g N", q.Value)
	}
	if got := strings.Join(s.Remarks(), "\n"); !strings.Contains(got, `bench.force_raising "6,5 kg": kg read as kgf, the weight of that mass`) {
		t.Error(got)
	}
}

// TestSetOfRepeatedTables: taking out a table takes out all of its kind and what
// is in them, and an override replaces a faulty value by whichever name it goes.
func TestSetOfRepeatedTables(t *testing.T) {
	pulls := testsheet.Minimal + "[[pull]]\npreinfusion = \"12 s\"\n[[pull]]\npreinfusion = \"9 s\"\n"
	if err := sameSheet(testsheet.Read(t, pulls, "pull="), testsheet.Read(t, testsheet.Minimal)); err != nil {
		t.Error(err)
	}
	loads := testsheet.Minimal + "[bench]\nfree_length = \"168 mm\"\n[[bench.load]]\nlength = \"120 mm\"\nforce = \"800 N\"\n"
	if err := sameSheet(testsheet.Read(t, loads, "bench="), testsheet.Read(t, testsheet.Minimal)); err != nil {
		t.Error(err)
	}
	for _, name := range []string{"pull.preinfusion", "pull[1].preinfusion"} {
		for _, header := range []string{"[pull]", "[[pull]]"} {
			text := testsheet.Minimal + header + "\npreinfusion = \"12 bar\"\n"
			if got := testsheet.FaultsOf(text, name+"=5 s"); len(got) > 0 {
				t.Errorf("%s in %s: %q", name, header, got)
			}
			if got := testsheet.FaultsOf(text, name+"="); len(got) > 0 {
				t.Errorf("%s taken out of %s: %q", name, header, got)
			}
		}
	}
}

// sameSheet says where two sheets differ, but for places.
func sameSheet(a, b *Sheet) error {
	if !maps.Equal(a.Several, b.Several) {
		return fmt.Errorf("tables: %v and %v", a.Several, b.Several)
	}
	for path := range maps.Keys(b.Entries) {
		if !a.Has(path) {
			return fmt.Errorf("%s: only in the second", path)
		}
	}
	for path, e := range a.Entries {
		if other, ok := b.Entries[path]; !ok || e.Quantity != other.Quantity || e.Text != other.Text {
			return fmt.Errorf("%s: %+v %q and %+v %q", path, e.Quantity, e.Text, other.Quantity, other.Text)
		}
	}
	return nil
}

// FuzzSheet: no file makes the reader panic, every fault has words and every
// sheet that is accepted prints and reads back the same.
func FuzzSheet(f *testing.F) {
	faulty, err := os.ReadFile("../../testdata/faulty.toml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(faulty), "")
	f.Add(string(demo.Sheet), "coffee.dose=15 g")
	f.Add(Blank(), "spring.inner=")
	f.Add(testsheet.Minimal+"[[pull]]\n[[pull]]\nend_yield = \"1 oz ± 2 %\"\n", "pull[2].fill_time=1 s")
	f.Add(testsheet.Minimal+"pull = [{}, {a = [1, {b = 2}]}, 3]\n", "pull[0].x=")
	f.Add("machine = {name = \"a\\u007f\\u2028\", note = '''\n\"\\'''}\n"+testsheet.Minimal, "machine.name=<&>")
	f.Add(testsheet.Minimal, "g\nX.inn\x85r=1")
	f.Add("a.\"b.c\".d = 1\n[x.\"\"]\n[[a]]\n", "=")
	f.Fuzz(func(t *testing.T, text, set string) {
		var sets []string
		if set != "" {
			sets = []string{set}
		}
		s, err := Read("fuzz.toml", []byte(text), sets)
		if err != nil {
			for _, line := range strings.Split(err.Error(), "\n") {
				if len(line) < 10 {
					t.Errorf("a short fault: %q", err)
				}
			}
			return
		}
		printed := s.String()
		back, err := Read("printed.toml", []byte(printed), nil)
		if err == nil {
			err = sameSheet(s, back)
		}
		if err != nil {
			t.Errorf("%v\n%q\nprinted as\n%s", err, text, printed)
		}
		_, _ = machine.New(s) // may find faults, but must come back
	})
}

// BenchmarkReadSheet reads the demo sheet and joins it with the defaults.
func BenchmarkReadSheet(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		s, err := Read("demo.toml", demo.Sheet, nil)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := machine.New(s); err != nil {
			b.Fatal(err)
		}
	}
}
