package main

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"image/png"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/alecthomas/kong"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
)

var (
	drawnLines = flag.Int("drawn", 40, "how many command lines TestDrawnCommands draws")
	drawnFrom  = flag.Uint64("drawn-seed", 1, "the seed of the first of them")
)

// drawer draws what may be typed: flags of a command, values of keys, lists and logs.
type drawer struct {
	*rand.Rand
	dir   string      // where its files are written
	n     int         // files that were
	there []fuzzedKey // keys of the sheet, with its values as examples
}

var sheetLine = regexp.MustCompile(`(?m)^\s*(?:\[+([a-z_.]+)\]+|([a-z_]+)\s*=\s*"([^"]*)")`)

// newDrawer draws for a sheet.
func newDrawer(seed uint64, dir, text string) *drawer {
	d := &drawer{Rand: rand.New(rand.NewPCG(seed, 7)), dir: dir}
	table := ""
	for _, m := range sheetLine.FindAllStringSubmatch(text, -1) {
		if m[1] != "" {
			table = m[1]
			continue
		}
		path := table + "." + m[2]
		if i := slices.IndexFunc(fuzzedKeys, func(k fuzzedKey) bool { return k.path == path }); i >= 0 {
			k := *fuzzedKeys[i].Key
			k.Example = m[3]
			d.there = append(d.there, fuzzedKey{path, &k})
		}
	}
	return d
}

func pick[T any](d *drawer, list ...T) T { return list[d.IntN(len(list))] }

// times is a number with a few digits, some percent off as a rule.
func (d *drawer) times(x, spread float64) float64 {
	x, err := strconv.ParseFloat(strconv.FormatFloat(x*math.Exp(spread*d.NormFloat64()), 'g', 2+d.IntN(4), 64), 64)
	if err != nil {
		panic(err)
	}
	return x
}

// key draws a key of the sheet, or now and then one of all.
func (d *drawer) key() fuzzedKey {
	for {
		list := fuzzedKeys
		if len(d.there) > 0 && d.IntN(8) > 0 {
			list = d.there
		}
		if k := pick(d, list...); k.Dim != nil || d.IntN(4) == 0 {
			return k
		}
	}
}

// value is one for a key: mostly near its example, now and then at a limit, none, or
// of another order; in any unit of its dimension, with a ± or without.
func (d *drawer) value(k *sheet.Key) string {
	if k.Dim == nil {
		if len(k.Choices) > 0 && d.IntN(8) > 0 {
			return pick(d, k.Choices...)
		}
		return pick(d, k.Example, k.Example, k.Example, "", "x", "7")
	}
	q, err := quantity.Parse(k.Example, k.Dim)
	if err != nil {
		return k.Example
	}
	x := q.Value
	switch n := d.IntN(40); {
	case n < 34:
		x = d.times(x, 0.1)
	case n < 36:
		x = d.times(x, 1)
	case n < 38: // a limit, or something where there is none
		ranges := k.Ranges()
		if end := pick(d, ranges...)[d.IntN(2)]; !math.IsInf(end, 0) {
			x = end
		}
	case n < 39:
		x = 0
	default:
		x *= pick(d, -1, 1e3, 1e-3, 1e12, -1e-9)
	}
	text := quantity.Format(quantity.Quantity{Value: x}, k.Dim)
	if units := k.Dim.Units; len(units) > 1 && d.IntN(3) == 0 {
		symbol := pick(d, units...)
		if scale, err := quantity.ParseUnit(symbol, k.Dim); err == nil && scale.Num != 0 {
			text = fmt.Sprintf("%.6g %s", x*scale.Den/scale.Num-scale.Zero, symbol)
		}
	}
	if d.IntN(5) == 0 {
		text += pick(d, " ± 1 %", " ± 10 %", " ± 60 %")
	}
	return text
}

// file writes one and returns its name.
func (d *drawer) file(ending, text string) string {
	d.n++
	name := filepath.Join(d.dir, fmt.Sprintf("drawn%d%s", d.n, ending))
	if err := os.WriteFile(name, []byte(text), 0o666); err != nil {
		panic(err)
	}
	return name
}

// cells is a list with its numbers changed, now and then a line lost, twice or cut.
func (d *drawer) cells(text string, spread float64) string {
	var out strings.Builder
	separator, bad := pick(d, ",", ";", "\t"), d.IntN(4) == 0
	for i, line := range strings.Split(strings.TrimSpace(text), "\n") {
		cells := strings.Split(line, ",")
		for j, cell := range cells {
			number, unit, _ := strings.Cut(cell, " ")
			if x, err := strconv.ParseFloat(number, 64); err == nil && i > 0 && j > 0 {
				if cells[j] = fmt.Sprint(d.times(x, spread)); unit != "" {
					cells[j] += " " + unit
				}
			}
		}
		line = strings.Join(cells, separator) + "\n"
		switch n := d.IntN(60); {
		case bad && n == 0:
			continue
		case bad && n == 1:
			line += line
		case bad && n == 2:
			line = line[:d.IntN(len(line))] + "\n"
		}
		out.WriteString(line)
	}
	return out.String()
}

// withoutComments is a list that begins with its headings.
func withoutComments(list []byte) string {
	var b strings.Builder
	for line := range strings.Lines(string(list)) {
		if !strings.HasPrefix(line, "#") {
			b.WriteString(line)
		}
	}
	return b.String()
}

// date is a day of the last decades, as precisely as people know it.
func (d *drawer) date() string {
	return fmt.Sprintf("%04d-%02d-%02d", 1975+d.IntN(60), 1+d.IntN(12), 1+d.IntN(28))[:pick(d, 4, 7, 10)]
}

// typed draws a value for a flag, by the list of the flags that are texts of a kind,
// or by what the flag says of itself.
func (d *drawer) typed(command string, f *kong.Flag) (args []string, ok bool) {
	give := func(text string) ([]string, bool) { return []string{"--" + f.Name + "=" + text}, true }
	both := func(text, more string) ([]string, bool) { return []string{"--" + f.Name + "=" + text, more}, true }
	near := func(path string) string { return d.value(sheet.FindKey(path)) }
	switch f.Name {
	case "from":
		return both(pick(d, "0 s", "12 s", "13 s", "20 s"), "--to="+pick(d, "25 s", "30 s", "38 s", "1 min"))
	case "raising":
		return both("76 N ± 1 N", "--lowering="+pick(d, "64 N", "70 N ± 2 N", "80 N"))
	case "pulls-per-day":
		if command == "spring" {
			return both(pick(d, "1", "80", "1e5"), "--years="+pick(d, "0.1", "10", "500"))
		}
	}
	if key := f.Tag.Get("key"); key != "" {
		return give(near(key))
	}
	if key := f.Tag.Get("range"); key != "" {
		return give(near(key))
	}
	switch f.Name {
	case "log", "against":
		return give(d.file(".csv", d.cells(withoutComments(demo.Log), pick(d, 0, 0.01, 0.3))))
	case "peaks":
		return give(d.file(".csv", d.cells(withoutComments(demo.Peaks), pick(d, 0, 0.05, 0.5))))
	case "bench":
		return give(d.file(".csv", d.cells("length mm,load N\n155,372\n150,505\n140,770\n130,1040", pick(d, 0, 0.02, 0.3))))
	case "candidates":
		return give(d.file(".csv", d.cells("name,rate [N/mm],free_length [mm],solid_length [mm],outside_diameter [mm],inside_diameter [mm]\na,27,187,100,49,35\nb,26,190,98,49,35\nc,30,180,100,49,34", pick(d, 0, 0.03, 0.3))))
	case "as-of", "compare", "made":
		return give(d.date())
	case "to":
		return give("diameter=" + near("basket.diameter") + ", dose=" + near("coffee.dose"))
	case "known":
		return give("yield=" + near("coffee.known.yield") + ", time=" + near("coffee.known.time"))
	case "limit":
		return give(pick(d, near("new.peak"), "80 %", "101 %", "0 %"))
	case "prior":
		return give(pick(d, "seal=0.5", "set=0", "gauge=1", "fill=0.01", "spring=0.3"))
	case "effort":
		return give(pick(d, "spring out=60", "shot=0", "gauge check=15"))
	case "rank":
		return give(pick(d, "effort,stress", "stress=3,effort=1", "price", "margin,clearance"))
	case "sizes":
		return give(pick(d, "metric", "inch", "EN 10270-1", "DIN 2098", "music wire", "steel wire"))
	case "draws":
		return give(strconv.Itoa(100 + d.IntN(200)))
	case "seed":
		return give(strconv.Itoa(d.IntN(1 << 20)))
	case "sweep":
		k := d.key()
		for k.Dim == nil {
			k = d.key()
		}
		q, err := quantity.Parse(k.Example, k.Dim)
		if err != nil {
			return nil, false
		}
		at := func(by float64) string { return quantity.Format(quantity.Quantity{Value: q.Value * by}, k.Dim) }
		return give(k.path + "=" + at(0.8) + ":" + at(1.2) + ":" + at(0.2))
	case "solve":
		return []string{"--solve=" + pick(d, "peak=8 bar", "yield=30 g", "total_time=40 s", "rate=30 N/mm"), "--by=" + d.key().path}, true
	}
	kind := f.Target.Type()
	if kind.Kind() == reflect.Pointer {
		kind = kind.Elem()
	}
	least, most, limited := strings.Cut(f.Tag.Get("limits"), " to ")
	switch {
	case f.Enum != "":
		return give(pick(d, slices.DeleteFunc(strings.Split(f.Enum, ","), func(s string) bool { return s == "" })...))
	case f.IsBool():
		return []string{"--" + f.Name}, true
	case limited && kind.Kind() == reflect.Struct:
		return give(pick(d, least, most, "1.5 mm", "2 mm", "600 MPa"))
	case limited:
		low, _ := strconv.ParseFloat(least, 64)
		high, err := strconv.ParseFloat(most, 64)
		if err != nil {
			panic(f.Name + ": " + err.Error())
		}
		if x := low + (high-low)*math.Pow(d.Float64(), 4); kind.Kind() == reflect.Int {
			return give(fmt.Sprintf("%.0f", x))
		} else {
			return give(fmt.Sprintf("%.3g", x))
		}
	}
	return nil, false
}

// formFlags are the forms of an answer, drawn apart from the other flags, and what ends the program.
var formFlags = []string{"json", "csv", "markdown", "schema", "table", "full", "no-chart", "plot", "print", "units", "set", "columns", "help", "version", "by", "find"}

// flagsOf are the flags of a command.
func flagsOf(command string) (list []*kong.Flag) {
	parser := kong.Must(&grammar{})
	for _, node := range parser.Model.Children {
		if node.Name == command {
			for _, f := range node.Flags {
				if !slices.Contains(formFlags, f.Name) {
					list = append(list, f)
				}
			}
		}
	}
	return list
}

// more are some flags of a command and some values of keys.
func (d *drawer) more(command string) (args []string) {
	if list := flagsOf(command); len(list) > 0 {
		for range d.IntN(4) {
			if typed, ok := d.typed(command, pick(d, list...)); ok {
				args = append(args, typed...)
			}
		}
	}
	if command == "diagnose" && d.IntN(8) > 0 { // something that was measured
		args = append(args, "--peaks="+d.file(".csv", d.cells(withoutComments(demo.Peaks), 0.03)))
	}
	if command == "visit" || command == "workshop" || command == "tables" {
		return args
	}
	for range d.IntN(4) {
		k := d.key()
		args = append(args, "--set", k.path+"="+d.value(k.Key))
	}
	return args
}

// filesOf puts names of new files into a form, and returns them.
func filesOf(form []string, dir string) (args, files []string) {
	args = slices.Clone(form)
	for i, arg := range args {
		if name, ok := strings.CutPrefix(arg, "NEW"); ok {
			args[i] = filepath.Join(dir, "answer"+name)
			files = append(files, args[i])
		}
	}
	return args, files
}

// checkFile: a picture or printout is there where there is an answer, whole and finite,
// and nothing where there is none.
func checkFile(t *testing.T, args []string, answers bool, name string) {
	t.Helper()
	data, err := os.ReadFile(name)
	if !answers {
		if err == nil {
			t.Errorf("%q: a file without an answer", args)
		}
		return
	}
	if err != nil {
		t.Errorf("%q: %v", args, err)
		return
	}
	switch filepath.Ext(name) {
	case ".png":
		if _, err := png.Decode(bytes.NewReader(data)); err != nil {
			t.Errorf("%q: %v", args, err)
		}
		return
	case ".svg":
		for reader := xml.NewDecoder(bytes.NewReader(data)); err == nil; {
			_, err = reader.Token()
		}
		if !errors.Is(err, io.EOF) {
			t.Errorf("%q: %v", args, err)
		}
	case ".html":
		if !strings.HasSuffix(strings.TrimSpace(string(data)), "</html>") {
			t.Errorf("%q: the printout has no end", args)
		}
	}
	if bad := notFinite.FindString(string(data)); bad != "" && !notFinite.MatchString(strings.Join(args, " ")) {
		t.Errorf("%q: %q in %s", args, bad, filepath.Base(name))
	}
}

// TestDrawnCommands: command lines that are drawn from the grammar and from all keys
// are answered or refused as FuzzCommands has it; a sheet that took a visit reads.
// Before a release draw more: -drawn 5000 -drawn-seed 1000.
func TestDrawnCommands(t *testing.T) {
	files, err := filepath.Glob("testdata/*.toml")
	if err != nil {
		t.Fatal(err)
	}
	commands := [][]string{{"visit", "SHEET"}, {"workshop", "SHEET"}, {"tables", "defaults"}, {"tables", "zimmerli"}}
	for _, c := range fuzzedCommands {
		if len(c) == 2 || c[0] != "sheet" && c[2] != "--solve" && c[2] != "--sweep" {
			commands = append(commands, c[:2])
		}
	}
	answers := map[string]int{}
	for i := range *drawnLines {
		seed := *drawnFrom + uint64(i)
		t.Run(fmt.Sprintf("seed %d", seed), func(t *testing.T) {
			d, dir := newDrawer(seed, "", ""), t.TempDir()
			text := string(demo.Sheet)
			if d.IntN(3) == 0 {
				data, err := os.ReadFile(pick(d, files...))
				if err != nil {
					t.Fatal(err)
				}
				text = string(data)
			}
			d = newDrawer(seed, dir, text)
			args := slices.Clone(pick(d, commands...))
			if args[1] == "SHEET" {
				args[1] = d.file(".toml", text)
			}
			args = append(args, d.more(args[0])...)
			var form, made []string
			if args[0] != "visit" {
				form, made = filesOf(pick(d, fuzzedForms...), d.dir)
				args = append(append(args, form...), "--units", pick(d, "typed", "metric", "inch"))
			}
			status := checkRun(t, args, form, text)
			if status == answered {
				answers[args[0]]++
			}
			if status == answered && args[0] == "visit" && run([]string{"sheet", "--check", args[1]}, nil, io.Discard, os.Stderr) != answered {
				t.Errorf("%q: the sheet no longer reads", args)
			}
			for _, name := range made {
				checkFile(t, args, status == answered, name)
			}
		})
	}
	if t.Log("answered: ", answers); len(answers) < 6 && *drawnLines >= 40 {
		t.Errorf("only %v were answered", answers)
	}
}
