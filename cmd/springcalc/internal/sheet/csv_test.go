package sheet_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	. "springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/logged"
)

// TestReadLog: the same two rows, however they are written.
func TestReadLog(t *testing.T) {
	none := math.NaN()
	want := logged.Log{{Time: 0.5, Pressure: 6.5e5, Cup: 1e-3, Travel: none}, {Time: 0.6, Pressure: 6.4e5, Cup: none, Travel: none}}
	for name, text := range map[string]string{
		"underscores":        "time_s,pressure_bar,cup_g\n0.5,6.5,1\n0.6,6.4,\n",
		"brackets":           "t [s],p [bar],cup mass [g]\n0.5,6.5,1\n0.6,6.4,\n",
		"other order":        "cup (g),Pressure (bar),Time (s)\n1,6.5,0.5\n,6.4,0.6\n",
		"other units":        "time_ms,pressure_kPa,cup_mg\n500,650,1000\n600,640,\n",
		"byte order mark":    "\ufefftime_s,pressure_bar,cup_g\n0.5,6.5,1\n0.6,6.4,\n",
		"CRLF":               "time_s,pressure_bar,cup_g\r\n0.5,6.5,1\r\n0.6,6.4,\r\n",
		"decimal commas":     "time_s;pressure_bar;cup_g\n0,5;6,5;1,0\n0,6;6,4;\n",
		"points, semicolons": "time_s;pressure_bar;cup_g\n0.5;6.5;1\n0.6;6.4;\n",
		"tabs":               "time s\tpressure bar\tweight g\n0,5\t6,5\t1\n0,6\t6,4\t\n",
		"comments, blanks":   "# a shot\n\ntime_s, pressure_bar, cup_g\n# begun\n 0.5 , 6.5 , 1 \n\n0.6,6.4,\n",
		"other columns":      "no,time_s,flow,pressure_bar,cup_g,temperature_C\n1,0.5,x,6.5,1,90\n2,0.6,,6.4,,\n",
		"quotes":             "\"time (s)\",\"pressure (bar)\",\"cup (g)\"\n\"0.5\",\"6.5\",\"1\"\n0.6,6.4,\n",
		"empty cells behind": "time_s,pressure_bar,cup_g\n0.5,6.5,1,,\n0.6,6.4,,\n",
		"short row":          "time_s,pressure_bar,cup_g\n5e-1,+6.5,1\n0.6,6.4\n",
	} {
		got, err := ReadLog("log.csv", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if d := cmp.Diff(want, got, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-12, 0)); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
	got, err := ReadLog("log.csv", []byte("time_s,pressure_bar,piston travel_mm\n0.5,6.5,2\n"))
	if err != nil || got[0].Travel != 2e-3 {
		t.Errorf("travel: %v, %v", got, err)
	}
}

// TestBadLogs: one clear error for each thing wrong, with line and column.
func TestBadLogs(t *testing.T) {
	const head = "time_s,pressure_bar,cup_g\n"
	for text, want := range map[string]string{
		"":                              `log.csv: empty; want a line of headings and rows below`,
		"\n# only words\n":              `log.csv: empty; want a line of headings and rows below`,
		head:                            `log.csv: no rows below the headings`,
		"0.1,6.5,1\n":                   `log.csv:1:1: a number where the headings should be, such as "time (s)" and "pressure (bar)"`,
		"time_s,cup_g\n0,1\n":           `log.csv:1:1: no column of pressure; found "time_s", "cup_g"; want "pressure (bar)"`,
		"time,pressure_bar\n0,1\n":      `log.csv:1:1: the heading of the time has no unit; write it as "time (s)"`,
		"time_s,pressure_s\n0,1\n":      `log.csv:1:8: "pressure_s": "s" is not the unit of a pressure, which takes bar, mbar, kPa, MPa or psi`,
		"time_s,pressure (s)\n0,1\n":    `log.csv:1:8: "pressure (s)": "s" is not the unit of a pressure, which takes bar, mbar, kPa, MPa or psi`,
		"time_s,pressure (baar)\n0,1\n": `log.csv:1:8: "pressure (baar)": unknown unit "baar" (did you mean "bar"?); a pressure takes bar, mbar, kPa, MPa or psi`,
		"time_s,p_bar,pressure_psi\n":   `log.csv:1:14: "pressure_psi": a second column of pressure`,
		head + "0,6,1\n0.1,x,2\n":       `log.csv:3:5: "x": want a number; leave the cell empty where nothing was read`,
		head + "0,6,NaN\n":              `log.csv:2:5: "NaN": want a number; leave the cell empty where nothing was read`,
		head + "0,6,inf\n":              `log.csv:2:5: "inf": want a number; leave the cell empty where nothing was read`,
		head + "0,0x10,1\n":             `log.csv:2:3: "0x10": want a number; leave the cell empty where nothing was read`,
		head + "0,6 bar,1\n":            `log.csv:2:3: "6 bar": want a number; leave the cell empty where nothing was read`,
		head + "0,\"6,5\",1\n":          `log.csv:2:3: "6,5": want a number; leave the cell empty where nothing was read`,
		head + "0,1e999,1\n":            `log.csv:2:3: "1e999": want a number; leave the cell empty where nothing was read`,
		head + "0,6,1\n,6,1\n":          `log.csv:3:1: no time`,
		head + "1,6,1\n0.5,6,1\n":       `log.csv:3:1: "0.5": the clock goes backwards, from 1.000 s`,
		head + "0,\"6,1\n":              `log.csv:2:3: a quote that does not end`,
		head + "0,5,6,5,1\n":            `log.csv:2:7: 5 values under 3 headings; where commas are decimal points, separate with semicolons`,
		"zeit_s;pressure_bär\n":         `log.csv:1:1: no column of time and pressure; found "zeit_s", "pressure_bär"; want "time (s)" and "pressure (bar)"`,
		"time_s;drück;p_s\n":            `log.csv:1:14: "p_s": "s" is not`,
		"time_s\xff,pressure_bar\n":     `log.csv: not a text in UTF-8; save it as CSV with that encoding`,
	} {
		_, err := ReadLog("log.csv", []byte(text))
		if err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q:\ngot  %v\nwant %s", text, err, want)
		}
	}
	many := head + strings.Repeat("a,b,c\n", 1000)
	if _, err := ReadLog("log.csv", []byte(many)); err == nil || strings.Count(err.Error(), "\n") > MostFaults+1 {
		t.Errorf("a thousand faults: %v", err)
	}
}

// TestReadPeaks: dates of three kinds in any order, units in heading or cell.
func TestReadPeaks(t *testing.T) {
	for name, c := range map[string]struct {
		text     string
		from, to Date
	}{
		"unit in heading": {"year,peak_bar\n1986,9\n2026,6.5\n", Date{Year: 1986}, Date{Year: 2026}},
		"unit in cell":    {"date,peak\n2026,94.275 psi\n1986,9 bar\n", Date{Year: 1986}, Date{Year: 2026}},
		"decimal commas":  {"date;pressure (bar)\n1986;9,0\n2026;6,5\n", Date{Year: 1986}, Date{Year: 2026}},
		"months":          {"when,p [bar],note\n1986-06,9,new\n2026-06,6.5,\n", Date{1986, 6, 0}, Date{2026, 6, 0}},
		"days":            {"date,peak pressure (MPa)\n2026-05-31,0.65\n1986-05-31,0.9\n", Date{1986, 5, 31}, Date{2026, 5, 31}},
	} {
		got, err := ReadPeaks("peaks.csv", []byte(c.text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		want := []Peak{{c.from, 9e5}, {c.to, 6.5e5}}
		if d := cmp.Diff(want, got, cmpopts.EquateApprox(1e-4, 0)); d != "" {
			t.Errorf("%s: %s", name, d)
		}
		if years := (got[1].Date.Time() - got[0].Date.Time()) / YearLength; math.Abs(years-40) > 1e-9 {
			t.Errorf("%s: %g years", name, years)
		}
	}
	for text, want := range map[string]string{
		"year,peak_bar\nlast year,7\n": `peaks.csv:2:1: "last year": want a date such as 1998, 1998-05 or 1998-05-31`,
		"year,peak_bar\n86,7\n":        `peaks.csv:2:1: "86": want a date`,
		"year,peak\n1986,7\n":          `peaks.csv:2:6: "7": has no unit; write it as "7 bar"`,
		"year,peak_bar\n1986,-7\n":     `peaks.csv:2:6: "-7": want more than 0 bar`,
		"year,peak_bar\n1986,\n":       `peaks.csv:2:6: no peak pressure`,
		"year,peak_bar\n":              `peaks.csv: no rows below the headings`,
		"year\n1986\n":                 `peaks.csv:1:1: no column of peak pressure`,
	} {
		_, err := ReadPeaks("peaks.csv", []byte(text))
		if err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q:\ngot  %v\nwant %s", text, err, want)
		}
	}
}

// FuzzReadLog asks for sense: rows in order of time and finite but for gaps, or
// an error, never a panic.
func FuzzReadLog(f *testing.F) {
	for _, seed := range []string{"time_s,pressure_bar,cup_g\n0,6,1\n", "\ufefft [s];p [psi]\n0,5;90\n", "\"", "t_s\tp_bar\n#\n1e308\t1e308\n", "time_s,pressure_bar\n,\n"} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		log, err := ReadLog("log.csv", data)
		if (err == nil) == (len(log) == 0) {
			t.Fatalf("%d rows and error %v", len(log), err)
		}
		last := math.Inf(-1)
		for _, r := range log {
			if !(r.Time >= last) || math.IsInf(r.Time, 0) || math.IsInf(r.Pressure, 0) || math.IsInf(r.Cup, 0) {
				t.Fatalf("row %+v after %g s", r, last)
			}
			last = r.Time
		}
	})
}
