package main

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"
	"testing"

	"springcalc/tables"
)

// minimal states no more than what every sheet must.
const minimal = `
[spring]
rate = "27 N/mm"
preload = "700 N"
[piston]
bore = "50 mm"
stroke = "24 mm"
[basket]
diameter = "51 mm"
[coffee]
dose = "14 g"
`

// read reads a sheet that has no fault.
func read(t testing.TB, text string, sets ...string) *sheet {
	t.Helper()
	s, err := readSheet("test.toml", []byte(text), sets)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// faultsOf reads a sheet and builds its machine and returns all that is wrong, a line each.
func faultsOf(text string, sets ...string) []string {
	s, err := readSheet("test.toml", []byte(text), sets)
	if err == nil {
		_, err = newMachine(s)
	}
	if err == nil {
		return nil
	}
	lines := strings.Split(err.Error(), "\n")
	if len(lines) > 1 {
		lines = lines[1:] // the count
	}
	return lines
}

// TestBlankSheet fills the blank sheet in, with its own examples.
func TestBlankSheet(t *testing.T) {
	blank := blankSheet()
	for _, line := range strings.Split(blank, "\n") {
		if n := len([]rune(line)); n > lineWidth {
			t.Errorf("%d characters: %s", n, line)
		}
	}
	filled := blank
	for _, table := range schema {
		for _, k := range table.keys {
			if k.need == required {
				if example := fmt.Sprintf("%q", k.example); !strings.Contains(blank, example+"\n") {
					t.Errorf("%s.%s: the example %s is broken over two lines", table.path, k.name, example)
				}
				filled = strings.Replace(filled, "\n"+k.name+` = ""`, fmt.Sprintf("\n%s = %q", k.name, k.example), 1)
			}
		}
	}
	if s := read(t, filled); len(s.entries) != 6 {
		t.Errorf("the blank sheet with what is required has %d keys, want 6", len(s.entries))
	}

	// Its other lines, with the # taken off, but for "or:" and the inner spring.
	lines := strings.Split(filled, "\n")
	for i, line := range lines {
		if strings.HasPrefix(line, "#") && !strings.HasPrefix(line, "# ") && !strings.Contains(line, "# or: ") && !strings.HasPrefix(line, "#[spring.inner]") {
			lines[i] = line[1:]
		}
	}
	inner := slices.Index(lines, "#[spring.inner]")
	for lines[inner] != "" {
		lines[inner] = ""
		inner++
	}
	s := read(t, strings.Join(lines, "\n"))
	for _, table := range schema {
		if table.path == "spring.inner" {
			continue
		}
		for _, k := range table.keys {
			path := table.path + "." + k.name
			if table.many {
				path = indexed(table.path, 1) + "." + k.name
			}
			if got, want := s.has(path), k.need != alternative; got != want {
				t.Errorf("%s: in the sheet: %v, want %v", path, got, want)
			}
		}
	}
}

// TestEveryExample: the example of every key is possible for it.
func TestEveryExample(t *testing.T) {
	for _, table := range schema {
		for _, k := range table.keys {
			if k.dim == nil {
				if len(k.choices) > 0 && !slices.Contains(k.choices, k.example) {
					t.Errorf("%s.%s: %q is not a choice", table.path, k.name, k.example)
				}
				continue
			}
			q, err := parseQuantity(k.example, k.dim)
			if err == nil {
				err = k.check(q.Value)
			}
			if err != nil {
				t.Errorf("%s.%s: example %q: %v", table.path, k.name, k.example, err)
			}
			if d, ok := tables.DefaultFor(table.path + "." + k.name); ok && k.check(d.Value) != nil {
				t.Errorf("%s.%s: the default %v is not possible: %v", table.path, k.name, d.Value, k.check(d.Value))
			}
		}
	}
}

// TestFaults holds messages and places to the character.
func TestFaults(t *testing.T) {
	for _, c := range []struct {
		name, text string
		sets       []string
		want       []string
	}{
		{name: "nothing", text: "", want: []string{
			"test.toml: basket.diameter: missing; want a length, such as \"51 mm\"",
			"test.toml: coffee.dose: missing; want a mass, such as \"14 g\"",
			"test.toml: piston.bore: missing; want a length, such as \"50 mm\"",
			"test.toml: piston.stroke: missing; want a length, such as \"24 mm\"",
			"test.toml: spring.rate: missing; give rate and preload, or the spring's dimensions",
		}},
		{name: "an accent before the value counts as one character", text: minimal + "[machine]\n\"é\" = 1\nname = \"é\" x\n", want: []string{
			"test.toml:13:1: machine.é: unknown key; [machine] takes name and note",
			"test.toml:14:12: machine.name: expected newline but got U+0078 'x'",
		}},
		{name: "byte order mark", text: "\ufeff[piston]\nbore = 45\n" + strings.Replace(minimal, "[piston]\nbore = \"50 mm\"\nstroke = \"24 mm\"\n", "", 1), want: []string{
			"test.toml:1:2: piston.stroke: missing; want a length, such as \"24 mm\"",
			"test.toml:2:8: piston.bore: 45 has no unit; write it as \"45 mm\"",
		}},
		{name: "double key", text: minimal + "dose = \"15 g\"\n", want: []string{
			"test.toml:12:1: coffee.dose: key dose is already defined",
		}},
		{name: "a key of another table", text: minimal + "bore = \"50 mm\"\n", want: []string{
			"test.toml:12:1: coffee.bore: unknown key; it belongs under [piston]",
		}},
		{name: "a key of no table", text: "dose = \"14 g\"\n" + minimal, want: []string{
			"test.toml:1:1: dose: unknown key outside a table; it belongs under [coffee]",
		}},
		{name: "a table for a value", text: minimal + "[basket.depth]\nx = 1\n", want: []string{
			"test.toml:12:9: basket.depth: want a length, such as \"24 mm\"",
		}},
		{name: "a value for a table", text: "water = \"93 °C\"\n" + minimal, want: []string{
			"test.toml:1:1: water: is a table: write [water] and its keys below",
		}},
		{name: "several of what there is one", text: minimal + "[[water]]\naltitude = \"1 m\"\n", want: []string{
			"test.toml:12:3: water: there is one [water] table, not several",
		}},
		{name: "inline table", text: strings.Replace(minimal, "[basket]\ndiameter = \"51 mm\"", "[basket]", 1) + "[water]\nx = 1\n[pull]\n", want: []string{
			"test.toml:8:2: basket.diameter: missing; want a length, such as \"51 mm\"",
			"test.toml:12:1: water.x: unknown key; [water] takes boiler_temperature, boiler_pressure, line_pressure, brew_temperature and altitude",
		}},
		{name: "inline values", text: "water = {altitude = 3, brew_temperature = \"hot\"}\npull = [{fill_time = \"1 s\"}, {fill_time = 2}]\n" + minimal, want: []string{
			"test.toml:1:21: water.altitude: 3 has no unit; write it as \"3 mm\"",
			"test.toml:1:43: water.brew_temperature: \"hot\": want a number first",
			"test.toml:2:43: pull[2].fill_time: 2 has no unit; write it as \"2 s\"",
		}},
		{name: "second pull", text: minimal + "[[pull]]\npreinfusion = \"10 s\"\n[[pull]]\npreinfusion = \"10 bar\"\n", want: []string{
			"test.toml:15:15: pull[2].preinfusion: \"10 bar\": \"bar\" is not the unit of a time, which takes s, min, h, days or years",
		}},
		{name: "which pull", text: minimal + "[[pull]]\n[[pull]]\n", sets: []string{"pull.preinfusion=5 s", "pull[3].preinfusion=5 s"}, want: []string{
			"--set pull.preinfusion: there are 2; say which, as in pull[1].preinfusion",
			"--set pull[3].preinfusion: there is no pull[3]; counted from 1, the sheet has 2",
		}},
		{name: "two ways for the spring", text: strings.Replace(minimal, "[piston]", "wire = \"8 mm\"\n[piston]", 1), want: []string{
			"test.toml:5:8: spring.wire: \"8 mm\": stated beside rate and preload; keep rate and preload, or the dimensions",
		}},
		{name: "half of the dimensions", text: strings.Replace(minimal, "rate = \"27 N/mm\"\npreload = \"700 N\"\n", "coil_diameter = \"42 mm\"\ninside_diameter = \"34 mm\"\nends = \"ground\"\n", 1), want: []string{
			"test.toml:2:2: spring.active_coils: missing; give one of active_coils or total_coils",
			"test.toml:2:2: spring.free_length: missing; want a length, such as \"230 mm\"",
			"test.toml:2:2: spring.grade: missing; give one of grade or shear_modulus",
			"test.toml:2:2: spring.installed_length: missing; want a length, such as \"205 mm\"",
			"test.toml:2:2: spring.wire: missing; want a length, such as \"8 mm\"",
			"test.toml:4:19: spring.inside_diameter: \"34 mm\": keep only one of spring.coil_diameter and spring.inside_diameter",
			"test.toml:5:8: spring.ends: \"ground\": want \"plain\", \"plain and ground\", \"closed\" or \"closed and ground\"",
		}},
		{name: "half of an inner spring", text: minimal + "[spring.inner]\nrate = \"5 N/mm\"\n", want: []string{
			"test.toml:12:9: spring.inner.preload: missing; want a force, such as \"700 N\"",
		}},
		{name: "half of a resistance", text: minimal + "resistance_at = \"9 bar\"\n[coffee.known]\nyield = \"30 g\"\n", want: []string{
			"test.toml:12:17: coffee.resistance_at: \"9 bar\": stated without coffee.resistance",
			"test.toml:13:9: coffee.known.time: missing; want a time, such as \"38 s\"",
		}},
		{name: "two ways for the coffee", text: minimal + "resistance = \"4 bar·s/mL\"\nresistance_at = \"9 bar\"\n[coffee.known]\nyield = \"30 g\"\ntime = \"40 s\"\n", want: []string{
			"test.toml:14:9: coffee.known: keep only one of coffee.resistance and coffee.known",
		}},
		{name: "a number of coils", text: minimal + "transient_size = \"4,5\"\ntransient_decay = nan\nloading_exponent = inf\nsecond_pull_factor = true\n", want: []string{
			"test.toml:12:18: coffee.transient_size: \"4,5\": decimal comma; write \"4.5\"",
			"test.toml:13:19: coffee.transient_decay: nan: want a ratio, such as \"0.29 g/g\"",
			"test.toml:14:20: coffee.loading_exponent: \"inf\": want a number first",
			"test.toml:15:22: coffee.second_pull_factor: true: want a number, such as 0.6",
		}},
		{name: "a table or a list for a quantity", text: minimal + "retained = {a = 1}\nsuction = [\"1 bar\"]\n", want: []string{
			"test.toml:12:12: coffee.retained: want a ratio, such as \"1.1 g/g\"",
			"test.toml:13:1: coffee.suction: want a pressure, such as \"0.1 bar\"",
		}},
		{name: "no quotes", text: minimal + "retained = 1.1 g/g # by weight\n", want: []string{
			"test.toml:12:12: coffee.retained: 1.1 g/g: write it in quotes: retained = \"1.1 g/g\"",
		}},
		{name: "faulty overrides are not missing too", text: "[spring]\nwire = \"7 mm\"\ncoil_diameter = \"42 mm\"\nfree_length = \"168 mm\"\n" +
			"shear_modulus = \"79 GPa\"\nactive_coils = 12\n" + minimal[len("\n[spring]\nrate = \"27 N/mm\"\npreload = \"700 N\"\n"):],
			sets: []string{"spring.installed_length=143"}, want: []string{
				"test.toml:1:2: spring.ends: missing; want \"plain\", \"plain and ground\", \"closed\" or \"closed and ground\"",
				"--set spring.installed_length: \"143\": has no unit; write it as \"143 mm\"",
			}},
		{name: "a modulus ratio without a grade", text: dimensions8mm + "modulus_ratio = 1.01\n" + minimal[len("\n[spring]\nrate = \"27 N/mm\"\npreload = \"700 N\"\n"):], want: []string{
			"test.toml:10:17: spring.modulus_ratio: 1.01: stated without spring.grade, which it is for",
		}},
		{name: "unclosed quotes", text: "[machine]\nname = \"left\n" + minimal, want: []string{
			"test.toml:2:13: machine.name: basic strings cannot have new lines",
		}},
		{name: "too small to be meant", text: minimal, sets: []string{"piston.bore=1e-300 mm", "coffee.dose=0 g", "basket.diameter=0.9 mm", "coffee.bulk_density=1e-300 g/cm³"}, want: []string{
			"--set basket.diameter: \"0.9 mm\": want 1 mm or more and 500 mm or less",
			"--set coffee.bulk_density: \"1e-300 g/cm³\": want 0.05 g/cm³ or more and 2 g/cm³ or less",
			"--set coffee.dose: \"0 g\": want 0.1 g or more and 10 kg or less",
			"--set piston.bore: \"1e-300 mm\": want 1 mm or more and 500 mm or less",
		}},
		{name: "cold boiler", text: minimal + "[water]\nboiler_temperature = \"90 °C\"\nbrew_temperature = \"101 °C\"\n", want: []string{
			"test.toml:13:22: water.boiler_temperature: \"90 °C\": a boiler that pushes is hotter than where water boils in the open, here 100.0 °C",
			"test.toml:14:20: water.brew_temperature: \"101 °C\": under the fill pressure water boils at 100.0 °C",
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := faultsOf(c.text, c.sets...); !slices.Equal(got, c.want) {
				t.Errorf("got:\n%s\nwant:\n%s", strings.Join(got, "\n"), strings.Join(c.want, "\n"))
			}
		})
	}
}

// TestAllSpotsOfAFile: every key of the demo sheet is found at its own place.
func TestAllSpotsOfAFile(t *testing.T) {
	s := read(t, string(demoSheet))
	lines := strings.Split(string(demoSheet), "\n")
	for path, e := range s.entries {
		_, name := splitPath(path)
		line := []rune(lines[e.at.line-1])
		if !strings.HasPrefix(string(line), name) || !strings.HasPrefix(string(line[e.at.column-1:]), e.raw) || e.raw == "" {
			t.Errorf("%s: found at %d:%d with value %s", path, e.at.line, e.at.column, e.raw)
		}
	}
}

// TestSet: an override wins over what the file has, right or wrong.
func TestSet(t *testing.T) {
	s := read(t, minimal+"retained = 7\n[coffee.known]\nyield = 1\n[[pull]]\n", "coffee.retained=1.2 g/g", "coffee.known=", "basket.depth = 25 mm", "pull.fill_time=1 s")
	got := map[string]float64{}
	for path, e := range s.entries {
		got[path] = e.quantity.Value
	}
	want := map[string]float64{
		"spring.rate": 27e3, "spring.preload": 700, "piston.bore": 0.05, "piston.stroke": 0.024, "basket.diameter": 0.051, "basket.depth": 0.025,
		"coffee.dose": 0.014, "coffee.retained": 1.2, "pull[1].fill_time": 1,
	}
	if !maps.Equal(got, want) {
		t.Errorf("got %v\nwant %v", got, want)
	}
}

// TestSetOfRepeatedTables: taking out a table takes out all of its kind and what
// is in them, and an override replaces a faulty value by whichever name it goes.
func TestSetOfRepeatedTables(t *testing.T) {
	pulls := minimal + "[[pull]]\npreinfusion = \"12 s\"\n[[pull]]\npreinfusion = \"9 s\"\n"
	if err := sameSheet(read(t, pulls, "pull="), read(t, minimal)); err != nil {
		t.Error(err)
	}
	loads := minimal + "[bench]\nfree_length = \"168 mm\"\n[[bench.load]]\nlength = \"120 mm\"\nforce = \"800 N\"\n"
	if err := sameSheet(read(t, loads, "bench="), read(t, minimal)); err != nil {
		t.Error(err)
	}
	for _, name := range []string{"pull.preinfusion", "pull[1].preinfusion"} {
		for _, header := range []string{"[pull]", "[[pull]]"} {
			text := minimal + header + "\npreinfusion = \"12 bar\"\n"
			if got := faultsOf(text, name+"=5 s"); len(got) > 0 {
				t.Errorf("%s in %s: %q", name, header, got)
			}
			if got := faultsOf(text, name+"="); len(got) > 0 {
				t.Errorf("%s taken out of %s: %q", name, header, got)
			}
		}
	}
}

// sameSheet says where two sheets differ, but for places.
func sameSheet(a, b *sheet) error {
	if !maps.Equal(a.several, b.several) {
		return fmt.Errorf("tables: %v and %v", a.several, b.several)
	}
	for path := range maps.Keys(b.entries) {
		if !a.has(path) {
			return fmt.Errorf("%s: only in the second", path)
		}
	}
	for path, e := range a.entries {
		if other, ok := b.entries[path]; !ok || e.quantity != other.quantity || e.text != other.text {
			return fmt.Errorf("%s: %+v %q and %+v %q", path, e.quantity, e.text, other.quantity, other.text)
		}
	}
	return nil
}

// FuzzSheet: no file makes the reader panic, every fault has words and every
// sheet that is accepted prints and reads back the same.
func FuzzSheet(f *testing.F) {
	faulty, err := os.ReadFile("testdata/faulty.toml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(string(faulty), "")
	f.Add(string(demoSheet), "coffee.dose=15 g")
	f.Add(blankSheet(), "spring.inner=")
	f.Add(minimal+"[[pull]]\n[[pull]]\nend_yield = \"1 oz ± 2 %\"\n", "pull[2].fill_time=1 s")
	f.Add(minimal+"pull = [{}, {a = [1, {b = 2}]}, 3]\n", "pull[0].x=")
	f.Add("machine = {name = \"a\\u007f\\u2028\", note = '''\n\"\\'''}\n"+minimal, "machine.name=<&>")
	f.Add(minimal, "g\nX.inn\x85r=1")
	f.Add("a.\"b.c\".d = 1\n[x.\"\"]\n[[a]]\n", "=")
	f.Fuzz(func(t *testing.T, text, set string) {
		var sets []string
		if set != "" {
			sets = []string{set}
		}
		s, err := readSheet("fuzz.toml", []byte(text), sets)
		if err != nil {
			for _, line := range strings.Split(err.Error(), "\n") {
				if len(line) < 10 {
					t.Errorf("a short fault: %q", err)
				}
			}
			return
		}
		printed := s.String()
		back, err := readSheet("printed.toml", []byte(printed), nil)
		if err == nil {
			err = sameSheet(s, back)
		}
		if err != nil {
			t.Errorf("%v\n%q\nprinted as\n%s", err, text, printed)
		}
		_, _ = newMachine(s) // may find faults, but must come back
	})
}

// BenchmarkReadSheet reads the demo sheet and joins it with the defaults.
func BenchmarkReadSheet(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		s, err := readSheet("demo.toml", demoSheet, nil)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := newMachine(s); err != nil {
			b.Fatal(err)
		}
	}
}
