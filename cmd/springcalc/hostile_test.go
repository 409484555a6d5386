package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode"

	"springcalc/cmd/springcalc/internal/demo"
)

// notForPeople is what no message may have: fields of the program, what is not
// finite, values to the last bit.
var notForPeople = regexp.MustCompile(`\b[A-Z][a-z]+\.[A-Z]\w+ is|NaN|\bInf\b|\.\d{9,}|goroutine|%!`)

// TestHostileInput: every input that cannot be is refused with the status of its
// kind and the place that it stands at, quickly, and nothing is answered beside.
func TestHostileInput(t *testing.T) {
	dir := t.TempDir()
	files := map[string]string{
		"demo.toml":    string(demo.Sheet),
		"utf16.toml":   "\xff\xfe[\x00s\x00",
		"latin.toml":   "[machine]\nname = \"caf\xe9\"\n",
		"pulls.toml":   string(demo.Sheet) + strings.Repeat("\n[[bench.load]]\n", 6000),
		"keys.toml":    string(demo.Sheet) + strings.Repeat("a.b.c = 1\n", 3),
		"escape.toml":  "[pull]\npreinfusion = \x1b[31m\n",
		"empty.toml":   "",
		"list.csv":     "name,rate [N/mm]\n" + strings.Repeat("a,x\n", 2000),
		"mixed.csv":    "date,peak_bar\n05/04/2022,8\n06/04/2022,7\n",
		"commas.csv":   "date;peak (N)\n2019;1\n",
		"thousand.csv": "date;peak (bar)\n2019;1,372\n",
		"quote.csv":    "date,peak_bar,note\n2019,8,\"new\n2020,7,\n2021,6,\n",
		"split.csv":    "date,peak_bar,note\n1996,8,7\n",
		"high.csv":     "date,peak_bar\n2019,900\n",
		"future.csv":   "date,peak_bar\n2030,8\n2099-01,7\n",
		"later.csv":    "date,peak_bar\n2099-01,7\n",
		"huge.csv":     "time_s,pressure_bar,cup_g\n0,6,0\n1e308,6,1\n",
		"log.csv":      "time_s,pressure_bar\n0,120\n",
	}
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct {
		args   string // with | between
		status int
		want   string // how its error begins, or a line of it
	}{
		// No machine of the user's, though one was meant.
		{"shot|", 2, "<sheet>: empty"},
		{"shot|demo.toml|", 2, "<sheet>: empty"},
		{"diagnose|--peaks=", 2, "--peaks: empty"},
		{"diagnose|--log=", 2, "--log: empty"},
		{"spring|--wire=", 2, "--wire: empty"},
		{"spring|--wire= ", 2, "--wire: empty"},
		{"replace|--candidates=", 2, "--candidates: empty"},
		{"tables|", 2, "<name>: empty"},
		{"shot|--set=", 2, "--set: empty"},
		{"shot|nowhere.toml", 2, "open nowhere.toml: no such file or directory"},
		{"shot|empty.toml", 1, "5 errors in the machine sheet"},

		// Overrides of nothing.
		{"shot|--set|piston[1].bore=40 mm", 1, "--set piston[1].bore: there is one [piston]"},
		{"shot|--set|spring[9].wire=7 mm", 1, "--set spring[9].wire: there is one [spring]"},
		{"shot|--set|pull[2].preinfusion=7 s", 1, "--set pull[2].preinfusion: there is no pull[2]"},
		{"shot|--set|basket.volume=7 mL", 1, "--set basket.volume: unknown key"},
		{"shot|--set|coffee.known=", 1, "--set coffee.known: not in the sheet"},
		{"shot|--set|coffee.dose", 2, "--set \"coffee.dose\": want KEY=VALUE"},

		// What no machine has, wherever it enters.
		{"shot|--set|coffee.resistance=1e-300 bar·s/mL", 1, "--set coffee.resistance: \"1e-300 bar·s/mL\": want 0.02 bar·s/mL or more"},
		{"shot|--set|coffee.resistance=1e-9 bar·s/mL", 1, "--set coffee.resistance: \"1e-9 bar·s/mL\": want 0.02 bar·s/mL or more and 2000 bar·s/mL or less: less is an open basket"},
		{"shot|--set|coffee.resistance=1e9 bar·s/mL", 1, "--set coffee.resistance:"},
		{"shot|--set|coffee.dry_permeability=1 m²", 1, "--set coffee.dry_permeability:"},
		{"shot|--set|piston.bore=1e300 mm", 1, "--set piston.bore: \"1e300 mm\": want 5 mm or more and 300 mm or less"},
		{"shot|--set|piston.bore=NaN mm", 1, "--set piston.bore: \"NaN mm\": want a number first"},
		{"shot|--set|water.boiler_pressure=90 bar", 1, "--set water.boiler_pressure: \"90 bar\": want 0 bar or more and 15 bar or less; this looks like kPa"},
		{"shot|--set|coffee.blocking=0.99", 1, "--set coffee.blocking: \"0.99\": want less than 0.84"},
		{"shot|--set|chamber.air=60 mL", 1, "--set chamber.air:"},
		{"shot|--set|coffee.loading_exponent=6", 1, "--set coffee.loading_exponent:"},
		{"shot|--set|coffee.soluble_decay=0.0001 g/g", 1, "--set coffee.soluble_decay:"},
		{"replace|--peak=-9 bar", 2, "--peak: \"-9 bar\": want more than 0 bar and 50 bar or less"},
		{"replace|--peak=1e6 bar", 2, "--peak: \"1e6 bar\": want"},
		{"replace|--pulls=-3 /day", 2, "--pulls: \"-3 /day\": want 0 /day or more"},
		{"replace|--life=-3 years", 2, "--life: \"-3 years\": want"},
		{"replace|--rod=60 mm", 1, "--rod: \"60 mm\": want a rod thinner than the bore; they are 60.0 mm and 54.0 mm"},
		{"replace|--bore=1 mm", 1, "space.rod: \"24 mm\": want a rod thinner than the bore"},
		{"replace|--installed-length=15 mm", 1, "--installed-length: \"15 mm\": want more than the stroke, 20.0 mm"},
		{"diagnose|--want-peak=0 bar", 2, "--want-peak: \"0 bar\": want more than 0 bar and 50 bar or less"},
		{"diagnose|--want-peak=1e6 bar", 2, "--want-peak: \"1e6 bar\": want"},
		{"diagnose|--keep-above=-1 bar", 2, "--keep-above: \"-1 bar\": want"},
		{"diagnose|--pulls-per-day=NaN", 2, "--pulls-per-day: NaN is not a number"},
		{"diagnose|--pulls-per-day=Inf", 2, "--pulls-per-day: +Inf is not a number"},
		{"lever|--raising=1e9 N|--lowering=3 N|--at-piston", 2, "--raising: \"1e9 N\": want 0 N or more and 20 kN or less"},
		{"spring|--find=wire|--rate=1e9 N/mm", 2, "--rate: \"1e9 N/mm\": want more than 0 N/mm and 1000 N/mm or less"},
		{"diagnose|--peaks=high.csv", 1, "high.csv:2:6: \"900\": want more than 0 bar and 100 bar or less; this looks like kPa (9 bar)"},
		{"diagnose|--log=log.csv", 1, "log.csv:2:3: \"120\": want -2 bar or more and 100 bar or less; this looks like psi"},

		{"shot|--seed=1.5", 2, "--seed: \"1.5\": want a whole number"},
		{"shot|--draws=1e3", 2, "--draws: \"1e3\": want a whole number"},
		{"spring|--years=abc", 2, "--years: \"abc\": want a number"},
		{"spring|--find=nothing", 2, "--find must be one of \"free-length\""},
		{"diagnose|--effort=spring out=-5", 2, "--effort \"spring out=-5\": want 0 min or more"},
		{"diagnose|--effort=spring out=-1 h", 2, "--effort \"spring out=-1 h\": want 0 min or more"},
		{"diagnose|--prior=seal=2", 2, "--prior \"seal=2\":"},
		{"diagnose|--peaks=future.csv|--as-of=2020-01-01", 2, "--as-of: all peaks of future.csv are of later than 2020-01-01"},
		{"history|--peaks=future.csv|--as-of=2020-01-01", 2, "--as-of: all peaks of future.csv are of later than 2020-01-01"},
		{"history|--peaks=later.csv", 2, "--peaks: all peaks of later.csv are of later than today, 2031-05-04"},
		{"diagnose|--peaks=later.csv", 2, "--peaks: all peaks of later.csv are of later than today, 2031-05-04"},
		{"replace|--rank=price", 2, "--rank: \"price\": only the springs of a list have a price"},
		{"replace|--rank=stress=3,price=1", 2, "--rank: \"stress=3,price=1\": only"},
		{"replace|--rank=effort=-1", 2, "--rank: unknown order: weight of effort is \"-1\""},
		{"shot|--plot=nowhere/x.svg", 2, "write nowhere/x.svg: no such file or directory"},
		{"sheet|nowhere/x.toml", 2, "write nowhere/x.toml: no such file or directory"},
		{"shot|--as-of=2019-02-30", 2, "--as-of: \"2019-02-30\": February 2019 has no day 30"},
		{"shot|--sweep=coffee.dose=10 g:14 g:1e-9 g", 2, "--sweep coffee.dose: 4000000000 values; want 1001 at most"},
		{"shot|--sweep=coffee.dose=10 g:inf g:2 g", 2, "--sweep coffee.dose: \"inf g\": want a number first"},
		{"shot|--solve=peak=1e9 bar|--by=spring.preload", 1, "peak=1e9 bar cannot be reached by spring.preload"},
		{"shot|--solve=peak=8 bar ± 1 bar|--by=spring.preload", 2, "--solve peak: \"8 bar ± 1 bar\": a target has no ±"},
		{"shot|--set|pull[99999999999].preinfusion=3 s", 1, "--set pull[99999999999].preinfusion: there is no pull[99999999999]"},
		{"shot|--set|coffee.dose=18 g ± 200 %", 1, "--set coffee.dose: \"18 g ± 200 %\": the ± reaches down to nothing"},
		{"shot|--against=huge.csv", 1, "huge.csv:3:1: \"1e308\": want"},
		{"lever|--raising=76 N|--lowering=64 N|--turned=400°", 2, "--turned: \"400°\": want"},
		{"history|--limit=150 %", 2, "--limit: \"150 %\": want a pressure"},
		{"basket|--to=nothing=3", 2, "--to: \"nothing\" is not known here"},
		{"page|--listen=:99999", 2, "--listen: listen tcp: address 99999: invalid port"},

		// What can be read in two ways.
		{"shot|--set|spring.wire=1,372 mm", 1, "--set spring.wire: \"1,372 mm\": can be read as 1.372 mm or as 1372 mm"},
		{"diagnose|--peaks=mixed.csv", 1, "mixed.csv:2:1: \"05/04/2022\": date can be read in two ways, 5 April 2022 or 4 May 2022"},
		{"diagnose|--peaks=thousand.csv", 1, "thousand.csv:2:6: \"1,372\": can be read as 1.372"},
		{"diagnose|--peaks=split.csv", 1, "split.csv:2:6: \"8,7\" can be read as 8 bar with 7 under \"note\", or as 8.7 bar"},
		{"diagnose|--peaks=quote.csv", 1, "quote.csv:2:8: a quote that does not end"},
		{"diagnose|--peaks=commas.csv", 1, "commas.csv:1:6: \"peak (N)\": \"N\" is not the unit of a pressure"},
		{"diagnose|--peaks=mixed.csv|--made=05/04/2020", 1, "mixed.csv:2:1:"},

		// What is no text, or too much of it.
		{"shot|utf16.toml", 1, "utf16.toml:1:1: a text in UTF-16; save it as UTF-8"},
		{"shot|latin.toml", 1, "latin.toml:2:12: not a text in UTF-8: the byte 0xe9"},
		{"shot|escape.toml", 1, `escape.toml:2:15: pull.preinfusion: \x1b[31m: write it in quotes`},
		{"shot|pulls.toml", 1, "want at most 5000 [[bench.load]] tables, there are 6000"},
		{"shot|keys.toml", 1, "space.a: unknown key"},
		{"replace|--candidates=list.csv", 1, "list.csv: more than 1000 lines are no springs; the first is line 2"},

		// Flags that say nothing, or against each other.
		{"shot|--no-spread|--stable", 2, "--no-spread and --stable can't be used together"},
		{"shot|--draws=0", 2, "--draws: 0 draws"},
		{"shot|--draws=-1", 2, "--draws: -1 draws"},
		{"replace|--copy|--pick=2", 2, "--pick: --copy has one row only"},
		{"replace|--no-spread|--pick=300", 1, "--pick: \"300\": there is no row 300"},
		{"replace|--no-spread|--order|--pick|99", 1, "--pick: \"99\": nothing to order as no. 99"},

		// Numbers that no flag takes.
		{"replace|--top=0", 2, "--top: \"0\": want 1 to 1000"},
		{"replace|--top=9223372036854775807", 2, "--top: \"9223372036854775807\": want"},
		{"replace|--top=0|--top=0|--pick=0", 2, "--top: \"0\": want 1 to 1000\n--pick: \"0\": want"},
		{"replace|--pick|-1", 2, "--pick: \"-1\": want 1 to 1000"},
		{"replace|--max-coils=1.5", 2, "--max-coils: \"1.5\": want 2 to 100"},
		{"replace|--mean-step=0 mm", 2, "--mean-step: \"0 mm\": want 0.05 mm to 10 mm"},
		{"replace|--mean-step=1 m", 2, "--mean-step: \"1 m\": want"},
		{"replace|--mean-step=10 mm|--bore=9 mm|--rod=5 mm", 2, "--mean-step: no mean diameter between rod and bore"},
		{"replace|--length-step=1 m", 2, "--length-step: \"1 m\": want 0 mm to 100 mm"},
		{"replace|--length-step=-1/64 in", 2, "--length-step: \"-1/64 in\": want"},
		{"spring|--years=-3", 2, "--years: \"-3\": want 0 to 500"},
		{"spring|--pulls-per-day|1e9|--years=3", 2, "--pulls-per-day: \"1e9\": want 0 to 100000"},
		{"spring|--find=wire|--stress=1e30 MPa|--load=300 N", 2, "--stress: \"1e30 MPa\": want 1 MPa to 10000 MPa"},
		{"diagnose|--pulls-per-day=-0.5", 2, "--pulls-per-day: \"-0.5\": want"},
		{"diagnose|--days-per-year=367", 2, "--days-per-year: \"367\": want 0 to 366"},
		{"replace|--candidates=list.csv|--columns=rate", 2, "--columns: \"rate\": want COLUMN=HEADING"},
		{"sheet|-", 2, "\"-\" is no name of a file"},
	} {
		t.Run(c.args, func(t *testing.T) {
			t.Chdir(dir)
			var out, errs bytes.Buffer
			start := time.Now()
			status := run(strings.Split(c.args, "|"), strings.NewReader(""), &out, &errs)
			text := strings.TrimPrefix(errs.String(), "springcalc: ")
			if status != c.status || !strings.HasPrefix(text, c.want) && !strings.Contains(text, "\n"+c.want) && !strings.Contains(text, ": "+c.want) {
				t.Errorf("status %d, want %d:\ngot  %.300s\nwant %s", status, c.status, text, c.want)
			}
			if out.Len() > 0 {
				t.Errorf("answered beside: %.100s", out.String())
			}
			if bad := notForPeople.FindString(strings.ReplaceAll(strings.ReplaceAll(text, "NaN mm", ""), "NaN is not", "")); bad != "" && !strings.Contains(c.args, "Inf") {
				t.Errorf("%q in %.300s", bad, text)
			}
			if i := strings.IndexFunc(errs.String(), func(r rune) bool { return unicode.IsControl(r) && r != '\n' }); i >= 0 {
				t.Errorf("a terminal would act on %.100q", errs.String()[i:])
			}
			if took := time.Since(start); took > 3*time.Second {
				t.Errorf("took %v", took)
			}
		})
	}
}
