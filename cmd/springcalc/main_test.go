package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"os"
	"reflect"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/spring"
)

// Answers of the tests are all of one day.
func init() { flags.Clock = func() time.Time { return time.Date(2031, 5, 4, 0, 0, 0, 0, time.UTC) } }

// TestStandardInput: "-" reads the sheet from standard input.
func TestStandardInput(t *testing.T) {
	var stdout, stderr bytes.Buffer
	if status := run([]string{"sheet", "--check", "-"}, strings.NewReader(testsheet.Minimal), &stdout, &stderr); status != answered || !strings.HasPrefix(stdout.String(), "[spring]\nrate = \"27 N/mm\"\n") {
		t.Errorf("status %d: %s%s", status, stdout.String(), stderr.String())
	}
	stdout.Reset()
	want := "springcalc: standard input:1:1: x: unknown table; "
	if status := run([]string{"sheet", "--check", "-"}, strings.NewReader("x = 1"+testsheet.Minimal), &stdout, &stderr); status != noAnswer || stdout.Len() > 0 || !strings.HasPrefix(stderr.String(), want) {
		t.Errorf("status %d: %s%s", status, stdout.String(), stderr.String())
	}
}

// TestStandardInputTwice: there is only one sheet in standard input.
func TestStandardInputTwice(t *testing.T) {
	var stdout, stderr bytes.Buffer
	status := run([]string{"shot", "-", "-"}, strings.NewReader(testsheet.Minimal), &stdout, &stderr)
	if status != wrongUse || stdout.Len() > 0 || !strings.Contains(stderr.String(), `"-" can stand only once`) {
		t.Errorf("status %d: %s%s", status, stdout.String(), stderr.String())
	}
}

// TestStandardInputOfBasket: the sheet of --to is the first one, read once.
func TestStandardInputOfBasket(t *testing.T) {
	var fromFile, stdout, stderr bytes.Buffer
	args := []string{"basket", "-", "--to", "dose=16 g", "--no-spread", "--json"}
	if status := run(args, bytes.NewReader(demo.Sheet), &stdout, &stderr); status != answered {
		t.Fatalf("status %d: %s", status, stderr.String())
	}
	t.Chdir(workDir(t))
	args[1] = "demo.toml"
	if run(args, nil, &fromFile, &stderr); fromFile.String() != stdout.String() {
		t.Error("a sheet from standard input gives another answer than from its file")
	}
}

// TestWrongFlags: a flag that cannot be is wrong use, also where it would not matter.
func TestWrongFlags(t *testing.T) {
	for _, args := range [][]string{
		{"diagnose", "--made", "garbage"}, {"diagnose", "--pulls-per-day=-5"}, {"diagnose", "--pulls-per-day=NaN"},
		{"diagnose", "--pulls-per-day=30", "--days-per-year=400"}, {"replace", "--max-coils=NaN"}, {"replace", "--max-coils=101"},
	} {
		var stdout, stderr bytes.Buffer
		if status := run(args, strings.NewReader(""), &stdout, &stderr); status != wrongUse || stdout.Len() > 0 || stderr.Len() == 0 {
			t.Errorf("%v: status %d: %s", args, status, stderr.String())
		}
	}
}

// broken is a pipe that nobody reads, or a disk that is full.
type broken struct{}

func (broken) Write([]byte) (int, error) { return 0, errors.New("no space left") }
func (broken) Read([]byte) (int, error)  { return 0, errors.New("not readable") }

// TestBrokenStreams: an answer that cannot be written is none.
func TestBrokenStreams(t *testing.T) {
	var stdout, stderr bytes.Buffer
	if status := run([]string{"sheet"}, broken{}, broken{}, &stderr); status != noAnswer || stderr.String() != "springcalc: no space left\n" {
		t.Errorf("status %d: %s", status, stderr.String())
	}
	stderr.Reset()
	if status := run([]string{"sheet", "--check", "-"}, broken{}, &stdout, &stderr); status != noAnswer || stderr.String() != "springcalc: not readable\n" {
		t.Errorf("status %d: %s", status, stderr.String())
	}
}

// TestHelp: every command explains itself, on standard output, in 80 columns.
func TestHelp(t *testing.T) {
	commands := reflect.TypeFor[grammar]()
	for i := range commands.NumField() {
		if _, ok := commands.Field(i).Tag.Lookup("cmd"); !ok {
			continue
		}
		name := strings.ToLower(commands.Field(i).Name)
		var stdout, stderr bytes.Buffer
		if status := run([]string{name, "--help"}, strings.NewReader(""), &stdout, &stderr); status != answered || stderr.Len() > 0 {
			t.Errorf("%s: status %d: %s", name, status, stderr.String())
		}
		for _, line := range strings.Split(stdout.String(), "\n") {
			if utf8.RuneCountInString(line) > words.LineWidth {
				t.Errorf("%s: too wide: %s", name, line)
			}
			if strings.Contains(line, "=STRING") || strings.Contains(line, "=FLOAT") {
				t.Errorf("%s: a flag without a placeholder: %s", name, line)
			}
		}
	}
}

// TestVersion: the version stands by itself, and is that of the JSON.
func TestVersion(t *testing.T) {
	for _, args := range [][]string{{"--version"}, {"shot", "--version", "no-such.toml"}} {
		var out, errs strings.Builder
		if got := run(args, os.Stdin, &out, &errs); got != answered || out.String() != "springcalc "+flags.Version()+"\n" || errs.Len() > 0 {
			t.Errorf("%v: status %d, %q, %q", args, got, out.String(), errs.String())
		}
	}
}

// TestVersionForScripts: the version as JSON, before or after --json, with a command or
// without.
func TestVersionForScripts(t *testing.T) {
	for _, args := range [][]string{{"--version", "--json"}, {"--json", "--version"}, {"spring", "--version", "--json"}, {"spring", "--json", "--version"},
		{"--version", "shot", "--json"}, {"diagnose", "no-such.toml", "--json", "--set", "a=b", "--version"}} {
		var out, errs strings.Builder
		var said struct{ Version string }
		if got := run(args, nil, &out, &errs); got != answered || json.Unmarshal([]byte(out.String()), &said) != nil || said.Version != flags.Version() {
			t.Errorf("%v: status %d, %q, %q", args, got, out.String(), errs.String())
		}
	}
}

// TestUnreadableFiles are wrong use.
func TestUnreadableFiles(t *testing.T) {
	for _, args := range [][]string{{"diagnose", "--log", "no-such.csv"}, {"diagnose", "--peaks", "no-such.csv"}} {
		var out, errs strings.Builder
		if got := run(args, os.Stdin, &out, &errs); got != wrongUse || !strings.Contains(errs.String(), "no-such.csv") || out.Len() > 0 {
			t.Errorf("%v: status %d, %q", args, got, errs.String())
		}
	}
}

// TestLimitsOfFlags: what the flags take of the use of a spring is what its physics
// takes, and no more.
func TestLimitsOfFlags(t *testing.T) {
	for _, c := range []struct{ flags, pulls, days, years any }{{springCmd{}, "PullsPerDay", nil, "Years"}, {diagnoseCmd{}, "PullsPerDay", "DaysPerYear", nil}} {
		most := func(field any, usual float64) float64 {
			if field == nil {
				return usual
			}
			f, _ := reflect.TypeOf(c.flags).FieldByName(field.(string))
			_, text, _ := strings.Cut(f.Tag.Get("limits"), " to ")
			x, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(field, err)
			}
			return x
		}
		use := spring.Use{PullsPerDay: most(c.pulls, 1), DaysPerYear: most(c.days, 1), Years: most(c.years, 1)}
		if _, err := use.Cycles(); err != nil {
			t.Error(err)
		}
		for _, more := range []*float64{&use.PullsPerDay, &use.DaysPerYear, &use.Years} {
			was := *more
			if *more *= 1.001; was == 1 {
				continue
			}
			if _, err := use.Cycles(); err == nil {
				t.Errorf("the physics takes %+v, the flags do not", use)
			}
			*more = was
		}
	}
}
