package sheet_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"springcalc/cmd/springcalc/internal/quantity"
	. "springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/course"
	"springcalc/profile/logged"
	"springcalc/spring"
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
	want := []course.Reading{{Time: 0, Value: 9e5}, {Time: 40 * YearLength, Value: 6.5e5}}
	for name, text := range map[string]string{
		"unit in heading": "year,peak_bar\n1986,9\n2026,6.5\n",
		"unit in cell":    "date,peak\n2026,94.275 psi\n1986,9 bar\n",
		"decimal commas":  "date;pressure (bar)\n1986;9,0\n2026;6,5\n",
		"months":          "when,p [bar],note\n1986-06,9,new\n2026-06,6.5,\n",
		"days":            "date,peak pressure (MPa)\n1986-05-31,0.9\n2026-05-31,0.65\n",
	} {
		got, err := ReadPeaks("peaks.csv", []byte(text), "")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if d := cmp.Diff(want, got, cmpopts.EquateApprox(1e-4, 0)); d != "" {
			t.Errorf("%s: %s", name, d)
		}
	}
	got, err := ReadPeaks("peaks.csv", []byte("year,peak_bar\n1996,7\n"), "1986")
	if err != nil || len(got) != 1 || got[0].Time != 10*YearLength {
		t.Errorf("made in 1986: %v, %v", got, err)
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
		_, err := ReadPeaks("peaks.csv", []byte(text), "")
		if err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q:\ngot  %v\nwant %s", text, err, want)
		}
	}
	for made, want := range map[string]string{"soon": "--made: \"soon\"", "2000": "--made: 2000 is after the first reading"} {
		if _, err := ReadPeaks("peaks.csv", []byte("year,peak_bar\n1986,9\n"), made); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("made %s: %v", made, err)
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

// TestParseBench reads the same three readings in many ways.
func TestParseBench(t *testing.T) {
	want := []spring.Point{{Length: 0.1524, Load: 372.6527}, {Length: 0.14732, Load: 509.9458}}
	for name, text := range map[string]string{
		"plain":               "length mm,load N\n152.4,372.6527\n147.32,509.9458\n",
		"spaces and brackets": " Length (mm) , Load [N] \n 152.4 , 372.6527 \n 147.32 , 509.9458 \n",
		"no last line end":    "length mm,load N\n152.4,372.6527\n147.32,509.9458",
		"byte order, CRLF":    "\ufefflength mm,load N\r\n152.4,372.6527\r\n147.32,509.9458\r\n",
		"decimal comma":       "length mm;load N\n152,4;372,6527\n147,32;509,9458\n",
		"tabs":                "length in\tload kgf\n6.0\t38\n5,8\t52\n",
		"columns swapped":     "no,load kgf,length \"\n1,38,6\n2,52,5.8\n",
		"comments and gaps":   "# a scale; and a vice\n\nlength cm,load kN\n# first\n15.24,0.3726527\n\n14.732,0.5099458\n",
		"fractions":           "length in,load kgf\n6,38\n5 4/5,52\n",
	} {
		got, err := ParseBench("b.csv", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if !cmp.Equal(got, want, cmpopts.EquateApprox(1e-12, 0)) {
			t.Errorf("%s: got %v, want %v", name, got, want)
		}
	}
}

// TestParseBenchFaults: every fault has its place, and all are said at once.
func TestParseBenchFaults(t *testing.T) {
	for text, want := range map[string]string{
		"":                          `b.csv: empty; want a line of headings and rows below`,
		"length mm,load N\n":        `b.csv: no rows below the headings`,
		"length,load N\n1,2\n":      `b.csv:1:1: the heading of the length has no unit; write it as "length (mm)"`,
		"weight N\n1\n":             `b.csv:1:1: no column of length and load; found "weight N"; want "length (mm)" and "load (N)"`,
		"# µ\nlänge,load\n":         "b.csv:2:1: no column of length; found \"länge\", \"load\"; want \"length (mm)\"\nb.csv:2:7: the heading of the load has no unit; write it as \"load (N)\"",
		"length mm,load N\n1,5,2\n": "b.csv:2:5: 3 values under 2 headings; where commas are decimal points, separate with semicolons",
		"length mm;load N\n\"µ\";2\n3;x\n": "b.csv:2:1: \"µ\": want a number first\n" +
			"b.csv:3:3: \"x\": want a number first",
	} {
		_, err := ParseBench("b.csv", []byte(text))
		got := ""
		if err != nil {
			got = err.Error()
		}
		if got != want {
			t.Errorf("%q:\ngot  %s\nwant %s", text, got, want)
		}
	}
}

// FuzzParseBench: whatever stands in a file, the reader ends, and every reading
// or fault comes from a line.
func FuzzParseBench(f *testing.F) {
	f.Add("length mm,load N\n152.4,372\n")
	f.Add("\ufefflength (in);load [kgf]\r\n6,10;38,0\r\n")
	f.Add("length \",load N\n\"\n")
	f.Fuzz(func(t *testing.T, text string) {
		points, err := ParseBench("b.csv", []byte(text))
		if err == nil && len(points) == 0 {
			t.Error("neither readings nor a fault")
		}
		for _, p := range points {
			if !quantity.Finite(p.Length) || !quantity.Finite(p.Load) {
				t.Errorf("reading %v", p)
			}
		}
	})
}
