package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
)

// fuzzedCommands are the questions about a sheet on standard input.
var fuzzedCommands = [][]string{
	{"shot", "-", "--no-spread"},
	{"shot", "-", "--draws", "100"},
	{"shot", "-", "--sweep", "spring.shim=0 mm:2 mm:1 mm"},
	{"shot", "-", "--no-spread", "--solve", "peak=8 bar", "--by", "spring.shim"},
	{"diagnose", "-"},
	{"diagnose", "-", "--peaks", "testdata/years.csv", "--as-of", "2026-03"},
	{"spring", "-"},
	{"spring", "-", "--years", "10", "--pulls-per-day", "50"},
	{"lever", "-"},
	{"basket", "-", "--to", "dose=15 g", "--draws", "100"},
	{"history", "-", "--as-of", "2026-03"},
	{"replace", "-", "--no-spread", "--copy"},
	{"replace", "-", "--no-spread", "--copy", "--order"},
	{"replace", "-", "--no-spread", "--candidates", "testdata/stock.csv"},
	{"replace", "-", "--no-spread", "--grade", "EN 10270-2 VDSiCr", "--mean-step", "4 mm", "--max-coils", "12", "--top", "2"},
	{"sheet", "--check", "-"},
}

// fuzzedForms are the forms of an answer; NEW stands for a new file.
var fuzzedForms = [][]string{{}, {"--full"}, {"--json"}, {"--csv"}, {"--markdown"}, {"--full", "--no-chart"}, {"--table", "results"}, {"--schema"},
	{"--plot", "NEW.svg"}, {"--plot", "NEW.png"}, {"--print", "NEW.html"}}

// fuzzedKeys are all keys of the sheet, with examples.
var fuzzedKeys = func() (all []fuzzedKey) {
	for _, t := range sheet.Schema {
		for i := range t.Keys {
			all = append(all, fuzzedKey{t.Path + "." + t.Keys[i].Name, &t.Keys[i]})
		}
	}
	return all
}()

type fuzzedKey struct {
	path string
	*sheet.Key
}

// override puts a multiple of its example in place of a key, or one of its words.
func override(key uint16, by float64) string {
	k := fuzzedKeys[int(key)%len(fuzzedKeys)]
	value := k.Example
	switch {
	case k.Dim == nil && len(k.Choices) > 0:
		value = k.Choices[int(math.Abs(math.Mod(by, 1000)))%len(k.Choices)]
	case k.Dim != nil:
		if q, err := quantity.Parse(k.Example, k.Dim); err == nil {
			value = quantity.Format(quantity.Quantity{Value: q.Value * by}, k.Dim)
		}
	}
	return k.path + "=" + value
}

var (
	notFinite = regexp.MustCompile(`(?i)\b(nan|inf)\b|%!`)
	control   = regexp.MustCompile(`[\x00-\x09\x0b-\x1f\x7f-\x{9f}]`)
)

// FuzzCommands: whatever the sheet and what is put in place of its values, every
// question in every form is answered or refused by the rules for the exit status and
// the streams, in time; what is printed is finite, fits, and is the form asked for. A
// number that draws flags, values of keys, lists and logs has every step of the fuzzing
// meet others.
func FuzzCommands(f *testing.F) {
	files, err := filepath.Glob("testdata/*.toml")
	if err != nil || len(files) == 0 {
		f.Fatal("no sheets", err)
	}
	sheets := [][]byte{demo.Sheet}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		sheets = append(sheets, data)
	}
	for i, data := range sheets {
		for c := range fuzzedCommands {
			if i == 0 || (i+c)%5 == 0 { // all questions of one sheet, some of the others
				f.Add(uint8(c), uint8(i+c), (i+c)%2 == 0, string(data), "", uint16(7*c+31*i), 1.0, uint16(11*c+5*i), 1.0, uint64(0))
			}
		}
	}
	// A wish for a force that hardly grows, which soft springs of any length give.
	f.Add(uint8(len(fuzzedCommands)-2), uint8(4), true, string(demo.Sheet), "spring.outside_diameter=113.25025192583792 mm", uint16(0), 1.0, uint16(0), 1.0, uint64(0))
	for draw := range uint64(40) { // flags, keys, lists and logs that are drawn
		f.Add(uint8(draw), uint8(draw), draw%3 == 0, string(demo.Sheet), "", uint16(0), 1.0, uint16(0), 1.0, draw+1)
	}
	f.Fuzz(func(t *testing.T, command, form uint8, inch bool, text, set string, key1 uint16, by1 float64, key2 uint16, by2 float64, draw uint64) {
		if strings.Contains(text, "log") && regexp.MustCompile(`log"?\s*=`).MatchString(text) {
			t.Skip("names a file")
		}
		asked := fuzzedCommands[int(command)%len(fuzzedCommands)]
		args := slices.Clone(asked)
		shown, made := fuzzedForms[int(form)%len(fuzzedForms)], []string(nil)
		if draw != 0 || slices.ContainsFunc(shown, func(s string) bool { return strings.HasPrefix(s, "NEW") }) {
			dir := t.TempDir()
			shown, made = filesOf(shown, dir)
			if draw != 0 && asked[0] != "sheet" {
				args = append(args, newDrawer(draw, dir, text).more(asked[0])...)
			}
		}
		if asked[0] != "sheet" {
			if !slices.Contains(asked, "--sweep") || !slices.Contains(shown, "--table") {
				args = append(args, shown...)
			}
			args = append(args, "--units", map[bool]string{true: "inch", false: "metric"}[inch])
		} else {
			shown, made = nil, nil
		}
		for i, by := range []float64{by1, by2} {
			if by != 1 {
				args = append(args, "--set", override([]uint16{key1, key2}[i], by))
			}
		}
		if set != "" {
			args = append(args, "--set", set)
		}
		answers := checkRun(t, args, shown, text) == answered
		for _, name := range made {
			checkFile(t, args, answers, name)
		}
	})
}

// checkRun runs a command line with a sheet on standard input.
func checkRun(t *testing.T, args, form []string, text string) (status int) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	var stdout, stderr bytes.Buffer
	status = run(args, strings.NewReader(text), &stdout, &stderr)
	const longest, most = 20 * time.Second, 2 << 30 // of a machine that does other things too
	if took := time.Since(start); took > longest {
		t.Errorf("%q took %v", args, took)
	}
	if runtime.ReadMemStats(&after); after.TotalAlloc-before.TotalAlloc > most {
		t.Errorf("%q took %d MB", args, (after.TotalAlloc-before.TotalAlloc)>>20)
	}
	out, errs := stdout.String(), stderr.String()
	switch {
	case status != answered && status != noAnswer && status != wrongUse:
		t.Errorf("%q: status %d", args, status)
	case status == answered && (out == "" || errs != ""):
		t.Errorf("%q: an answer of %d bytes, and %q", args, len(out), errs)
	case status != answered && (out != "" || !strings.HasPrefix(errs, "springcalc: ") || len(errs) < 20):
		t.Errorf("%q: status %d, %q, and %.200q", args, status, errs, out)
	case status == wrongUse && !strings.Contains(errs, "--") && args[0] != "visit": // whose sheet is what it writes
		t.Errorf("%q: the sheet is wrong, not the use: %s", args, errs)
	}
	if !utf8.ValidString(out) && utf8.ValidString(text+strings.Join(args, "")) {
		t.Errorf("%q: not UTF-8", args)
	}
	if bad := notFinite.FindString(out + errs); bad != "" && !notFinite.MatchString(text+strings.Join(args, " ")) {
		t.Errorf("%q: %q in\n%s%s", args, bad, out, errs)
	}
	if bad := control.FindString(strings.ReplaceAll(errs, "\t", "")); bad != "" {
		t.Errorf("%q: %q in %q", args, bad, errs)
	}
	if status != answered {
		return status
	}
	swept := slices.ContainsFunc(args, func(s string) bool { return strings.HasPrefix(s, "--sweep") })
	switch {
	case slices.Contains(form, "--json"):
		checkJSON(t, args, stdout.Bytes())
	case slices.Contains(form, "--schema"):
		if !json.Valid(stdout.Bytes()) {
			t.Errorf("%q: no JSON: %.300s", args, out)
		}
	case slices.Contains(form, "--csv") || slices.Contains(form, "--table") || swept && !slices.Contains(form, "--markdown"):
		if _, err := csv.NewReader(&stdout).ReadAll(); err != nil {
			t.Errorf("%q: %v: %.300s", args, err, out)
		}
	case args[0] != "sheet":
		if bad := control.FindString(out); bad != "" {
			t.Errorf("%q: %q in %q", args, bad, out)
		}
		if slices.Contains(form, "--markdown") || args[0] == "visit" { // which names a file
			return status
		}
		for line := range strings.Lines(out) {
			if utf8.RuneCountInString(strings.TrimSuffix(line, "\n")) > words.LineWidth {
				t.Errorf("%q: too wide: %s", args, line)
			}
		}
	}
	return status
}

// checkJSON wants an object without residuals.
func checkJSON(t *testing.T, args []string, data []byte) {
	var answer map[string]any
	if err := json.Unmarshal(data, &answer); err != nil {
		t.Errorf("%q: %v: %.300s", args, err, data)
	}
	const residue = 1e-9 // [-]
	for key, v := range answer {
		if x, ok := v.(float64); ok && strings.HasSuffix(key, "_residual") && !(math.Abs(x) < residue) {
			t.Errorf("%q: %s is %s", args, key, strconv.FormatFloat(x, 'g', -1, 64))
		}
	}
}
