package sheet_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"springcalc/cmd/springcalc/internal/quantity"
	. "springcalc/cmd/springcalc/internal/sheet"
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
		"commas of three digits, settled by another cell": "time_s;pressure_bar;cup_g\n0,500;6,500;1,000\n0,600;6,4;\n",
		"thousands, settled by another cell":              "time_ms;pressure_mbar;cup_mg\n500;6,500.0;1,000\n600;6,400;\n",
		"clock":                                           "clock,gauge_bar,cup_g\n10:33:20.5,6.5,1\n10:33:20.6,6.4,\n",
		"date and clock":                                  "timestamp;pressure bar;scale g\n2022-05-14T23:59:59.95Z;6,5;1\n2022-05-15 00:00:00.05;6,4;\n",
		"past midnight":                                   "time,pressure bar,scale g\n23:59:59.95,6.5,1\n00:00:00.05,6.4,\n",
		"stopwatch":                                       "t,p_bar,m_g\n0:59.95,6.5,1\n1:00.05,6.4,\n",
		"headings of units":                               "s,bar,cup (g)\n0.5,6.5,1\n0.6,6.4,\n",
		"two lines in a note":                             "time_s,pressure_bar,cup_g,note\n0.5,6.5,1,\"a\nb\"\n0.6,6.4,,\n",
		"two lines in a later note":                       "time_s,pressure_bar,cup_g,note\n0.5,6.5,1.0,a\n0.6,6.4,,\"a\nb\"\n",
		"short row":                                       "time_s,pressure_bar,cup_g\n5e-1,+6.5,1\n0.6,6.4\n",
	} {
		got, err := ReadLog("log.csv", []byte(text))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if !strings.Contains(text, "_ms") && !strings.HasPrefix(text, "s,") && strings.ContainsAny(text, ":") {
			for i := range got {
				got[i].Time += 0.5 // from the first row
			}
		}
		if d := cmp.Diff(want, got, cmpopts.EquateNaNs(), cmpopts.EquateApprox(1e-7, 0)); d != "" {
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
		"":                                              `log.csv: empty; want a line of headings and rows below`,
		"\n# only words\n":                              `log.csv: empty; want a line of headings and rows below`,
		head:                                            `log.csv: no rows below the headings`,
		"0.1,6.5,1\n":                                   `log.csv:1:1: a number where the headings should be, such as "time (s)" and "pressure (bar)"`,
		"time_s,cup_g\n0,1\n":                           `log.csv:1:1: no column of pressure; found "time_s", "cup_g"; want "pressure (bar)"`,
		"time,pressure_bar\n0,1\n":                      `log.csv:1:1: the heading of the time has no unit; write it as "time (s)"`,
		"time_s,pressure_s\n0,1\n":                      `log.csv:1:8: "pressure_s": "s" is not the unit of a pressure, which takes bar, mbar, kPa, MPa or psi`,
		"time_s,pressure (s)\n0,1\n":                    `log.csv:1:8: "pressure (s)": "s" is not the unit of a pressure, which takes bar, mbar, kPa, MPa or psi`,
		"time_s,pressure (baar)\n0,1\n":                 `log.csv:1:8: "pressure (baar)": unknown unit "baar" (did you mean "bar"?); a pressure takes bar, mbar, kPa, MPa or psi`,
		"time_s,p_bar,pressure_psi\n":                   `log.csv:1:14: "pressure_psi": a second column of pressure`,
		head + "0,6,1\n0.1,x,2\n":                       `log.csv:3:5: "x": want a number; leave the cell empty where nothing was read`,
		head + "0,6,NaN\n":                              `log.csv:2:5: "NaN": want a number; leave the cell empty where nothing was read`,
		head + "0,6,inf\n":                              `log.csv:2:5: "inf": want a number; leave the cell empty where nothing was read`,
		head + "0,0x10,1\n":                             `log.csv:2:3: "0x10": want a number; leave the cell empty where nothing was read`,
		head + "0,6 bar,1\n":                            `log.csv:2:3: "6 bar": want a number; leave the cell empty where nothing was read`,
		head + "0,\"6,500\",1\n":                        `log.csv:2:3: "6,500": can be read as 6.500 or as 6500; write it without the comma`,
		head + "0,120,1\n":                              `log.csv:2:3: "120": want -2 bar or more and 100 bar or less`,
		head + "0,6,1\n9000,6,1\n":                      `log.csv:3:1: "9000": 9000 s after the first row; want a log of one shot`,
		head + "0,1e999,1\n":                            `log.csv:2:3: "1e999": want a number; leave the cell empty where nothing was read`,
		head + "0,6,1\n,6,1\n":                          `log.csv:3:1: no time`,
		head + "1,6,1\n0.5,6,1\n":                       `log.csv:3:1: "0.5": the clock goes backwards, from 1.000 s`,
		head + "0,\"6,1\n":                              `log.csv:2:3: a quote that does not end`,
		head + "0,5,6,5,1\n":                            `log.csv:2:7: 5 values under 3 headings; where commas are decimal points, separate with semicolons`,
		"zeit_s;pressure_bär\n":                         `log.csv:1:1: no column of time and pressure; found "zeit_s", "pressure_bär"; want "time (s)" and "pressure (bar)"`,
		"time_s;drück;p_s\n":                            `log.csv:1:14: "p_s": "s" is not`,
		"time_s\xff,pressure_bar\n":                     `log.csv:1:7: not a text in UTF-8: the byte 0xff; save it as CSV in UTF-8`,
		"\xff\xfet\x00i\x00":                            `log.csv:1:1: a text in UTF-16; save it as CSV in UTF-8`,
		"t\x00i\x00":                                    `log.csv:1:1: a text in UTF-16; save it as CSV in UTF-8`,
		"clock,pressure_bar\n10:33,6\n10:99,5\n":        `log.csv:3:1: "10:99": want minutes and seconds such as 1:02.5`,
		"time_s,pressure_bar,note\n0,8,5\n1,7,9\n":      `log.csv:2:3: "8,5" can be read as 8 bar with 5 under "note", or as 8.5 bar; write decimals with a point, or separate the cells with semicolons`,
		head + "0,6,1\n0.1,\"5,1\n0.2,4,1\"\n0.3,4,1\n": `log.csv:3:5: a quote opens here, before "5,1", and closes in line 4: one cell of all rows between; close it, or take it out`,
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
		want := []Peak{{Date: c.from, Pressure: 9e5}, {Date: c.to, Pressure: 6.5e5}}
		if d := cmp.Diff(want, got, cmpopts.EquateApprox(1e-4, 0), cmpopts.IgnoreFields(Peak{}, "Line")); d != "" {
			t.Errorf("%s: %s", name, d)
		}
		if years := (got[1].Date.Time() - got[0].Date.Time()) / YearLength; math.Abs(years-40) > 1e-9 {
			t.Errorf("%s: %g years", name, years)
		}
	}
	for text, want := range map[string]string{
		"year,peak_bar\nlast year,7\n": `peaks.csv:2:1: "last year": want a date such as 1998, 1998-05, 1998-05-31, 31.05.1998 or May 1998`,
		"year,peak_bar\n86,7\n":        `peaks.csv:2:1: "86": write the year with four digits`,
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

// TestDates: dates as people write them; the times since the year 0 are by hand,
// a day being 1/365.25 of a year.
func TestDates(t *testing.T) {
	year := func(y, days float64) float64 { return (y + days/365.25) * YearLength }
	for text, want := range map[string]float64{
		"2019": year(2019, 365.25/2), "2019-05": year(2019, 120+15), "May 2019": year(2019, 135), "may 2019": year(2019, 135), "05/2019": year(2019, 135),
		"2019-02-14": year(2019, 44), "2019/02/14": year(2019, 44), "20190214": year(2019, 44), "14.02.2019": year(2019, 44), "14.2.2019": year(2019, 44),
		"2/14/2019": year(2019, 44), "14/2/2019": year(2019, 44), "14 Feb 2019": year(2019, 44), "14. February 2019": year(2019, 44), "Feb 14, 2019": year(2019, 44),
		"February 14th 2019": year(2019, 44), "5.4.2019": year(2019, 94), "4/4/2019": year(2019, 93), "Sept 2019": year(2019, 243+15),
		"2019-02-14 12:00": year(2019, 44), "2019-02-14T12:00:00Z": year(2019, 44), "14.02.2019 12:00:00": year(2019, 44), "2020-12-31": year(2020, 365),
	} {
		if got, err := ParseDate(text); err != nil || math.Abs(got.Time()-want) > 1 {
			t.Errorf("%q: %g days off, %v", text, (got.Time()-want)/86400, err)
		}
	}
	for text, want := range map[string]string{
		"05/04/2022":       `"05/04/2022": date can be read in two ways, 5 April 2022 or 4 May 2022; write 2022-04-05 or 2022-05-04`,
		"5-4-2022":         `"5-4-2022": date can be read in two ways, 5 April 2022 or 4 May 2022; write 2022-04-05 or 2022-05-04`,
		"14.02.22":         `"14.02.22": write the year with four digits`,
		"31.02.2022":       `"31.02.2022": February 2022 has no day 31`,
		"13/13/2022":       `"13/13/2022": there is no month 13`,
		"2022-13":          `"2022-13": there is no month 13`,
		"0000":             `"0000": want a year from 1800 to 2200`,
		"2019-02-14 25:00": `"2019-02-14 25:00": want a time of day such as 10:33:21`,
		"Foo 2019":         `"Foo 2019": no month is called "Foo"`,
		"":                 `"": want a date such as`,
	} {
		if _, err := ParseDate(text); err == nil || !strings.HasPrefix(err.Error(), want) {
			t.Errorf("%q:\ngot  %v\nwant %s", text, err, want)
		}
	}

	// The other dates of a list tell the order, or clash.
	const head = "date,peak_bar\n"
	got, err := new(Reading).Peaks("p.csv", []byte(head+"05/04/2022,8\n5/14/2022,7.9\n"))
	if err != nil || math.Abs(got[0].Date.Time()-year(2022, 123)) > 1 {
		t.Errorf("month first: %+v, %v", got, err)
	}
	got, err = new(Reading).Peaks("p.csv", []byte(head+"05/04/2022,8\n14/5/2022,7.9\n"))
	if err != nil || math.Abs(got[0].Date.Time()-year(2022, 94)) > 1 {
		t.Errorf("day first: %+v, %v", got, err)
	}
	_, err = new(Reading).Peaks("p.csv", []byte(head+"5/14/2022,7.9\n05/04/2022,8\n14/5/2022,7.9\n"))
	if want := `p.csv:4:1: "14/5/2022" has another order of day and month than the dates before it; write all as 1998-05-31`; err == nil || err.Error() != want {
		t.Errorf("clash: %v", err)
	}
}

// TestPlusInCells: the ± of a cell is half of a 95 % interval, in its unit or that of the heading.
func TestPlusInCells(t *testing.T) {
	text := "date,peak (bar)\n2019,8.5 ± 0.2\n2020,8.4 bar ± 20 kPa\n2021,8.3 ± 2 %\n2022,120 psi ± 2 psi\n2023,8.1\n2024,\"8,0 ± 0,2\"\n"
	got, err := new(Reading).Peaks("p.csv", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct{ peak, u float64 }{{8.5e5, 0.1e5}, {8.4e5, 0.1e5}, {8.3e5, 0.083e5}, {120 * 6894.757293168, 6894.757293168}, {8.1e5, 0}, {8e5, 0.1e5}} {
		if p := got[i]; math.Abs(p.Pressure-want.peak) > 1e-3 || math.Abs(p.U-want.u) > 1e-3 || p.Line != i+2 {
			t.Errorf("%+v, want %+v", p, want)
		}
	}
}

// TestColumns: what a list calls its columns may be said, and what is not used is named.
func TestColumns(t *testing.T) {
	text := "Zeit;Druck;Temp;Waage\n0,5;6,5;90;1\n0,6;6,4;91;2\n"
	columns, err := ParseColumns(`time=Zeit (s), pressure = Druck [bar], cup="Waage (g)"`)
	if err != nil {
		t.Fatal(err)
	}
	r := Reading{Columns: columns}
	got, err := r.Log("log.csv", []byte(text))
	if err != nil || len(got) != 2 || got[1].Pressure != 6.4e5 || got[1].Cup != 2e-3 {
		t.Errorf("%+v, %v", got, err)
	}
	if want := `log.csv: columns not used: "Temp"`; len(r.Notes) != 1 || r.Notes[0] != want {
		t.Errorf("%q", r.Notes)
	}
	r = Reading{Columns: map[string]string{"pressure": "group_bar"}}
	if got, err := r.Log("log.csv", []byte("time_s,pressure_bar,group_bar\n0,1,2\n")); err != nil || got[0].Pressure != 2e5 {
		t.Errorf("another pressure: %+v, %v", got, err)
	}
	r = Reading{}
	if _, err := r.Bench("b.csv", []byte("length (mm),load (kg),who\n150,50,me\n140,60,me\n")); err != nil || strings.Join(r.Notes, "; ") != `b.csv: "load (kg)": kg read as kgf, the weight of that mass; b.csv: columns not used: "who"` {
		t.Errorf("%q, %v", r.Notes, err)
	}
	for text, want := range map[string]string{
		"time":               `"time": want COLUMN=HEADING, such as "time=Zeit, pressure=Druck"`,
		"time=":              `"time=": want COLUMN=HEADING`,
		"time=a, time=b":     `"time=b": time is given twice`,
		"pressure=Dampf":     `--columns: log.csv has no heading "Dampf"; found "Zeit", "Druck", "Temp", "Waage"`,
		"presure=Druck":      `--columns: "presure" is no column of log.csv (did you mean "pressure"?); it takes time, pressure, cup mass and piston travel`,
		"pressure=Druck (s)": `log.csv:1:6: "Druck": "s" is not the unit of a pressure`,
	} {
		columns, err := ParseColumns(text)
		if err == nil {
			r := Reading{Columns: columns}
			_, err = r.Log("log.csv", []byte("Zeit;Druck;Temp;Waage\n0;6;90;1\n"))
		}
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q:\ngot  %v\nwant %s", text, err, want)
		}
	}
}

// TestReadingIsBounded: a list of bad rows ends at the tenth fault, and one that is
// too long for its kind is refused.
func TestReadingIsBounded(t *testing.T) {
	bad := []byte("date,peak_bar\n" + strings.Repeat("soon,x\n", 5_000_000))
	start := time.Now()
	_, err := ReadPeaks("p.csv", bad)
	if took := time.Since(start); err == nil || !strings.Contains(err.Error(), "reading stopped there") && !strings.Contains(err.Error(), "more") || took > 2*time.Second {
		t.Errorf("5 million bad rows: %v, %.200v", took, err)
	}
	if _, err = ReadLog("l.csv", append([]byte("time_s,pressure_bar\n"), bad...)); err == nil || strings.Count(err.Error(), "\n") > MostFaults+1 {
		t.Errorf("%.200v", err)
	}
	many := []byte("date,peak_bar\n" + strings.Repeat("2019,8\n", 10_001))
	if _, err := ReadPeaks("p.csv", many); err == nil || !strings.HasPrefix(err.Error(), "p.csv:10002:1: more than 10000 rows") {
		t.Errorf("%.200v", err)
	}
	start = time.Now()
	if _, err := ReadSprings("s.csv", []byte("name,rate [N/mm]\n"+strings.Repeat("a,x\n", 1_000_000))); err == nil || !strings.Contains(err.Error(), "more than 1000 lines are no springs; the first is line 2") || time.Since(start) > 2*time.Second {
		t.Errorf("%v %.200v", time.Since(start), err)
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

// TestPlainRows: a log reads the same to the last bit, with the same faults and doubts in
// the same places, whether its rows are plain or a quote behind the numbers of some, or of all, has them
// read as any other row.
func TestPlainRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 0))
	number := func(v float64) string {
		switch rng.IntN(12) {
		case 0:
			return ""
		case 1:
			return fmt.Sprintf(" %.3f\t", v)
		case 2:
			return fmt.Sprintf("%.5e", v)
		case 3:
			return fmt.Sprintf("+%g", v)
		}
		return fmt.Sprintf("%.4f", v)
	}
	faulty, doubted := 0, 0
	for range 300 {
		const head = "no,time_s,pressure_bar,cup_g,note\n"
		plain, quoted := head, head
		share, end := rng.Float64(), []string{"\n", "\r\n"}[rng.IntN(2)]
		for i := range 1 + rng.IntN(40) {
			time := fmt.Sprintf("%.3f", 0.1*float64(i))
			row := fmt.Sprintf("%d,%s,%s,%s,", i, time, number(17*rng.Float64()), number(40*rng.Float64()))
			switch rng.IntN(200) {
			case 0:
				row = strings.Replace(row, ".", "x", 1)
			case 1:
				row = "1,-5,6,7,"
			case 2:
				row = "#," + time + ",9,,"
			case 3:
				row = "3,," + number(9) + ",,"
			case 4:
				row = "4," + time + ",1e9,5,"
			case 5:
				row = "5," + time + ",0x1p2,5,"
			}
			note := `x`
			if rng.Float64() < share {
				note = `"x"`
			}
			plain, quoted = plain+row+"x"+end, quoted+row+note+end
		}
		var one, other Reading
		a, errA := one.Log("log.csv", []byte(plain))
		b, errB := other.Log("log.csv", []byte(quoted))
		if fmt.Sprint(errA) != fmt.Sprint(errB) || fmt.Sprint(one) != fmt.Sprint(other) {
			t.Fatalf("%s\nplain:  %v %v\nquoted: %v %v", plain, errA, one, errB, other)
		}
		if !cmp.Equal(a, b, cmpopts.EquateNaNs()) {
			t.Fatalf("%s\nplain:  %v\nquoted: %v", plain, a, b)
		}
		if errA != nil {
			faulty++
		} else if len(one.Doubts) > 0 {
			doubted++
		}
	}
	if faulty < 30 || doubted < 30 {
		t.Errorf("of 300 logs %d have faults and %d doubts", faulty, doubted)
	}
}
