package main

import (
	"bytes"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/testsheet"
)

// TestVisitsAtOnce: of several that append to one sheet at once none loses a visit,
// and what was there stays.
func TestVisitsAtOnce(t *testing.T) {
	t.Chdir(workDir(t))
	const each = 8
	var done sync.WaitGroup
	for who := range 3 {
		done.Go(func() {
			for i := range each {
				var stdout, stderr bytes.Buffer
				if status := run([]string{"visit", "demo.toml", "--note", fmt.Sprintf("%d of %d", i, who)}, nil, &stdout, &stderr); status != answered {
					t.Errorf("status %d: %s", status, stderr.String())
				}
			}
		})
	}
	done.Wait()
	data, err := os.ReadFile("demo.toml")
	if err != nil || !bytes.HasPrefix(data, demo.Sheet) {
		t.Fatalf("%v: %.100s", err, data)
	}
	seen := map[string]bool{}
	s := testsheet.Read(t, string(data))
	for _, v := range s.Visits() {
		seen[v.Note] = true
		if v.Date.String() != "2031-05-04" {
			t.Errorf("a visit of %v", v.Date)
		}
	}
	if len(seen) != 3*each || s.Several["visit"] != 3*each {
		t.Errorf("%d visits, %d notes", s.Several["visit"], len(seen))
	}
}

// TestVisitRefused: a visit that cannot be leaves the sheet as it is.
func TestVisitRefused(t *testing.T) {
	t.Chdir(workDir(t))
	for _, c := range []struct {
		args   []string
		status int
		want   string
	}{
		{[]string{"demo.toml"}, wrongUse, "says nothing but its date"},
		{[]string{"demo.toml", "--peak", "7.9"}, wrongUse, `--peak: "7.9": has no unit; write it as "7.9 bar"`},
		{[]string{"demo.toml", "--date", "2032", "--note", "x"}, wrongUse, `--date: "2032": after today, 2031-05-04`},
		{[]string{"demo.toml", "--log", "no-such.csv"}, wrongUse, "--log no-such.csv: no such file beside the sheet"},
		{[]string{"no-such.toml", "--note", "x"}, wrongUse, "no such file"},
		{[]string{"-", "--note", "x"}, wrongUse, "standard input is none"},
		{[]string{"faulty.toml", "--note", "x"}, noAnswer, "nothing was written, as the sheet does not read: 18 errors"},
	} {
		before, _ := os.ReadFile(c.args[0])
		var stdout, stderr bytes.Buffer
		if status := run(append([]string{"visit"}, c.args...), nil, &stdout, &stderr); status != c.status || stdout.Len() > 0 || !strings.Contains(stderr.String(), c.want) {
			t.Errorf("%v: status %d: %s", c.args, status, stderr.String())
		}
		if after, _ := os.ReadFile(c.args[0]); !bytes.Equal(before, after) {
			t.Errorf("%v: the sheet has changed", c.args)
		}
	}
}

// TestEveryFlagOfAVisit: each reads back under its key.
func TestEveryFlagOfAVisit(t *testing.T) {
	t.Chdir(workDir(t))
	texts := map[string]string{
		"date": "2030-05", "peak": "7.9 bar", "end-pressure": "66 psi", "yield": "28 g ± 0.5 g", "time": "38 s", "handle-force": "31 lbf", "free-length": "168 mm",
		"gauge-reading": "8.9 bar", "gauge-true": "9 bar", "dose": "14.2 g", "brew-temperature": "91 °C", "boiler-pressure": "0.7 bar",
		"done": "new seals, shim 3 mm", "read": "before", "note": "it = \"so\"", "log": "years.csv",
	}
	args := []string{"visit", "demo.toml"}
	for flag, text := range texts {
		args = append(args, "--"+flag, text)
	}
	if status, said := ran(t, args...); status != answered {
		t.Fatal(said)
	}
	data, err := os.ReadFile("demo.toml")
	if err != nil {
		t.Fatal(err)
	}
	s := testsheet.Read(t, string(data))
	for flag, text := range texts {
		if got := s.Entries["visit[1]."+strings.ReplaceAll(flag, "-", "_")]; got.Typed() != text {
			t.Errorf("--%s %q reads back as %q", flag, text, got.Typed())
		}
	}
	if len(texts) != len(s.Entries)-len(testsheet.Read(t, string(demo.Sheet)).Entries) {
		t.Error("a key without a flag")
	}
}
