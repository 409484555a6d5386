package sheet_test

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
	"time"

	. "springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
)

// TestHostileSheets: whatever a file holds, reading is quick, takes little memory,
// and its error names the first place and stops.
func TestHostileSheets(t *testing.T) {
	many := func(n int, line string) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, strings.ReplaceAll(line, "%", "%[1]d"), i)
		}
		return b.String()
	}
	for _, c := range []struct{ name, text, want string }{
		{"100,000 unknown keys", testsheet.Minimal + many(60_000, "k% = 1\n"), "20 errors in the machine sheet\ntest.toml:12:1: coffee.k0: unknown key"},
		{"100,000 unknown keys of a megabyte", testsheet.Minimal + many(100_000, "key% = 1\n"), "test.toml:1:1: 1"},
		{"unknown tables", testsheet.Minimal + many(50_000, "[t%]\n"), "20 errors in the machine sheet\ntest.toml:12:2: t0: unknown table"},
		{"keys in one line", "machine = {" + strings.TrimSuffix(many(60_000, "k%=1,"), ",") + "}\n" + testsheet.Minimal, "20 errors in the machine sheet\ntest.toml:1:12: machine.k0: unknown key"},
		{"2000 pulls", testsheet.Minimal + strings.Repeat("[[pull]]\npreinfusion = \"10 s\"\n", 2000), "test.toml:52:3: pull: want at most 20 [[pull]] tables, there are 2000"},
		{"20,000 loads", testsheet.Minimal + strings.Repeat("[[bench.load]]\n", 20_000), "test.toml:5012:9: bench.load: want at most 5000 [[bench.load]] tables, there are 20000"},
		{"a key of 60,000 parts", testsheet.Minimal + strings.Repeat("a.", 60_000) + "a = 1\n", "test.toml:12:1: coffee.a: unknown key"},
		{"a header of 60,000 parts", testsheet.Minimal + "[" + strings.Repeat("a.", 60_000) + "a]\n", "test.toml:12:"},
		{"brackets in brackets", testsheet.Minimal + "x = " + strings.Repeat("[", 500_000), "test.toml:12:37: brackets more than 32 deep"},
		{"braces in braces", testsheet.Minimal + "x = " + strings.Repeat("{a=", 100_000), "test.toml:12:"},
		{"a line of text", testsheet.Minimal + "note = \"" + strings.Repeat("x", 900_000) + "\"\n", "test.toml:12:1: coffee.note: unknown key"},
		{"a value of text", strings.Replace(testsheet.Minimal, "14 g", strings.Repeat("1", 900_000), 1), "test.toml:11:8: coffee.dose:"},
		{"UTF-16", "\xff\xfe[\x00s\x00", "test.toml:1:1: a text in UTF-16; save it as UTF-8"},
		{"UTF-16, high byte first", "\x00[\x00s", "test.toml:1:1: a text in UTF-16; save it as UTF-8"},
		{"Latin-1", testsheet.Minimal + "[machine]\nname = \"caf\xe9\"\n", "test.toml:13:12: not a text in UTF-8: the byte 0xe9; save it as UTF-8"},
		{"nothing but bytes", string([]byte{0x7f, 'E', 'L', 'F', 2, 1, 1, 0, 0xf0, 0x28}), "test.toml:1:9: not a text in UTF-8"},
		{"an unclosed quote", testsheet.Minimal + "[machine]\nname = \"abc\n[water]\naltitude = \"1 km\"\n", "test.toml:13:"},
		{"a hundred faults of syntax", strings.Repeat("= = =\n", 100), "20 errors in the machine sheet"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			start := time.Now()
			_, err := Read("test.toml", []byte(c.text), nil)
			took := time.Since(start)
			runtime.ReadMemStats(&after)
			if used := (after.TotalAlloc - before.TotalAlloc) >> 20; took > 3*time.Second || used > 300 {
				t.Errorf("%v, %d MB", took, used)
			}
			if err == nil || !strings.HasPrefix(err.Error(), c.want) && !strings.Contains(err.Error(), "\n"+c.want) {
				t.Errorf("got  %.300v\nwant %s", err, c.want)
			}
			if err != nil && (strings.Count(err.Error(), "\n") > MostSheetFaults+2 || len(err.Error()) > 20_000) {
				t.Errorf("an error of %d lines and %d bytes", strings.Count(err.Error(), "\n"), len(err.Error()))
			}
		})
	}
}

// TestOverridesOfNothing: an override that changes nothing is said.
func TestOverridesOfNothing(t *testing.T) {
	for set, want := range map[string]string{
		"piston[1].bore=40 mm":      "--set piston[1].bore: there is one [piston]; write piston.bore",
		"spring[9].rate=40 N/mm":    "--set spring[9].rate: there is one [spring]; write spring.rate",
		"spring.inner[2].rate=":     "--set spring.inner[2].rate: there is one [spring.inner]; write spring.inner.rate",
		"bench[1].peak=8 bar":       "--set bench[1].peak: there is one [bench]; write bench.peak",
		"lever[1].point[2].angle=1": "--set lever[1].point[2].angle: there is no lever[1].point[2]; counted from 1, the sheet has 1",
		"pull[0].preinfusion=1 s":   "--set pull[0].preinfusion: there is no pull[0]; counted from 1, the sheet has 1",
		"basket.depth=":             "--set basket.depth: not in the sheet, so there is nothing to take out",
		"water=":                    "--set water: not in the sheet, so there is nothing to take out",
		"pull=":                     "--set pull: not in the sheet, so there is nothing to take out",
		"piston.bore[1]=40 mm":      "--set piston.bore[1]: unknown key",
		"=40 mm":                    "--set \"=40 mm\": want KEY=VALUE",
		"":                          "--set \"\": want KEY=VALUE",
	} {
		_, err := Read("test.toml", []byte(testsheet.Minimal), []string{set})
		if err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%s:\ngot  %v\nwant %s", set, err, want)
		}
	}
}
