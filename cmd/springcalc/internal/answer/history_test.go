package answer

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile/course"
)

// day reads a date.
func day(t testing.TB, text string) sheet.Date {
	t.Helper()
	d, err := sheet.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// worn is a machine that wears by 0.2 bar a year, gets new seals in 2019 and was
// misread in 2017.
func worn() string {
	text := testsheet.Minimal + "[new]\ndate = \"2014-01\"\npeak = \"9.4 bar\"\n"
	for year, bar := range map[int]float64{2014: 9.3, 2015: 9.1, 2016: 8.9, 2017: 7.2, 2018: 8.5, 2020: 9.0, 2021: 8.8, 2022: 8.6} {
		text += fmt.Sprintf("[[visit]]\ndate = \"%d-06\"\npeak = \"%.1f bar\"\n", year, bar)
	}
	return text + "[[visit]]\ndate = \"2019-06-01\"\npeak = \"8.3 bar\"\n[[visit]]\ndate = \"2019-06-01\"\npeak = \"9.2 bar\"\ndone = \"new seals\"\n"
}

// history asks and wants an answer without a flaw in its words.
func history(t testing.TB, m *machine.Machine, o HistoryOptions) *report.Report {
	t.Helper()
	r, err := History(context.Background(), m, o)
	if err != nil {
		t.Fatal(err)
	}
	for _, list := range [][]report.Sentence{r.Answer, r.Next, r.Doubts, r.Notes} {
		for _, s := range list {
			if text := s.String(); strings.Contains(text, "%!") || strings.Contains(text, "  ") || text == "" {
				t.Errorf("%q", text)
			}
		}
	}
	return r
}

// tells is the text of sentences.
func tells(list []report.Sentence) string {
	var all []string
	for _, s := range list {
		all = append(all, s.String())
	}
	return strings.Join(all, " ")
}

// TestHistory: the answer has the numbers of the course itself, names what stands
// off by its date, says what the repair brought, and marks it in the chart.
func TestHistory(t *testing.T) {
	m := testsheet.Build(t, worn())
	today := day(t, "2023-01-01")
	r := history(t, m, HistoryOptions{AsOf: today, Limit: Limit{Pressure: 7.5e5}})
	l, err := m.Life(today, nil)
	if err != nil {
		t.Fatal(err)
	}
	c, err := course.Weigh(l.Life)
	if err != nil {
		t.Fatal(err)
	}
	at, _ := c.At(today.Time())
	if row := r.Row("peak_now"); row.Value != at[0].Course.Value || row.Band.Low != at[0].Course.Low || row.Band.High != at[0].Course.High {
		t.Errorf("%+v, want %+v", row, at[0].Course)
	}
	if row := r.Row("trend"); math.Abs(row.Value+0.2e5) > 0.02e5 {
		t.Errorf("in the next year %g Pa", row.Value)
	}
	if row := r.Row("share_of_new"); math.Abs(row.Value-at[0].Course.Value/9.4e5) > 1e-12 {
		t.Errorf("share of new %g", row.Value)
	}
	if text := r.Row("law").Text; !strings.HasPrefix(text, "wear ") {
		t.Errorf("law %q", text)
	}
	answer := tells(r.Answer)
	for _, want := range []string{"Peak 8.60 bar on 2022-06, 91 % of the 9.40 bar as new.", "Since 2021-06 it changed by -0.20 bar",
		"It passes the 7.50 bar (as asked) in 2027", "The reading of 2017-06, 7.20 bar, stands off the rest by -1.5 bar."} {
		if !strings.Contains(answer, want) {
			t.Errorf("%q\nhas no %q", answer, want)
		}
	}
	// 8.6 bar in the middle of 2022 less 0.2 a year is 7.5 bar five and a half years later.
	if got := r.Row("passes").Text; got != "2027" && got != "2028" {
		t.Errorf("passes in %s", got)
	}
	repairs := r.Table("repairs")
	if len(repairs.Data) != 1 || repairs.Data[0][2] != "seal" {
		t.Fatalf("%+v", repairs.Data)
	}
	if brought := repairs.Data[0][5].(report.Shown).Value; math.Abs(brought-0.9e5) > 0.05e5 {
		t.Errorf("the seals brought %g Pa", brought)
	}
	chart := r.Charts[0]
	if len(chart.Marks) != 1 || chart.Marks[0].Name != "2019-06-01 seal" || len(chart.Series[1].X) != 11 || !chart.Series[1].Points {
		t.Errorf("chart %+v", chart)
	}
	line, readings, forecast := chart.Series[0], chart.Series[1], chart.Series[2]
	if last := readings.X[len(readings.X)-1]; line.X[len(line.X)-1] != last || forecast.X[0] != last || forecast.Y[0] != line.Y[len(line.Y)-1] {
		t.Errorf("the forecast does not begin where the readings end: %v %v", line, forecast)
	}
	course := slices.Concat(line.Y, forecast.Y[1:])
	for i, x := range chart.Band.X {
		if !(chart.Band.Low[i] <= course[i] && course[i] <= chart.Band.High[i]) {
			t.Errorf("at %v the band %g to %g does not hold %g", sheet.DateAt(x), chart.Band.Low[i], chart.Band.High[i], course[i])
		}
	}
	for i, x := range line.X { // the repair is a step in the line, not a slope
		if x == chart.Marks[0].X && !(line.X[i-1] >= x-1 && line.Y[i]-line.Y[i-1] > 0.85e5) {
			t.Errorf("at the repair the line goes from %g Pa %g s before to %g Pa", line.Y[i-1], x-line.X[i-1], line.Y[i])
		}
	}
	if visits := r.Table("visits"); len(visits.Data) != 11 || visits.Data[0][0] != "2014-01" {
		t.Errorf("%d visits, the first of %v", len(visits.Data), visits.Data[0][0])
	}
	weights := 0.0
	for _, line := range r.Table("laws").Data {
		weights += line[1].(float64)
	}
	if math.Abs(weights-1) > 1e-9 {
		t.Errorf("the weights add up to %g", weights)
	}
}

// TestOneOutlier: one wild reading is named, and widens the band in ten years by
// less than half.
func TestOneOutlier(t *testing.T) {
	width := func(text string) float64 {
		r := history(t, testsheet.Build(t, text), HistoryOptions{AsOf: day(t, "2023-01-01")})
		for _, line := range r.Table("forecast").Data {
			if line[1] == 10*course.Year {
				return line[4].(float64) - line[3].(float64)
			}
		}
		t.Fatal("no forecast for ten years")
		return 0
	}
	sound := width(strings.Replace(worn(), `"7.2 bar"`, `"8.7 bar"`, 1))
	if wild := width(worn()); !(wild < 1.5*sound) {
		t.Errorf("the band is %g Pa, without the outlier %g Pa", wild, sound)
	}
}

// TestDemoHistory: the demo's visits have the peaks of its list, and an answer.
func TestDemoHistory(t *testing.T) {
	text := string(demo.Sheet) + "\n" + string(demo.Measured) + "\n" + string(demo.Visits)
	m := testsheet.Build(t, text)
	peaks, err := sheet.ReadPeaks("peaks.csv", demo.Peaks)
	if err != nil {
		t.Fatal(err)
	}
	visits := m.Visits()
	if len(visits) != len(peaks) {
		t.Fatalf("%d visits, %d peaks", len(visits), len(peaks))
	}
	for i, p := range peaks {
		if q, ok := m.Reading(&visits[i], "peak"); !ok || q.Value != p.Pressure || visits[i].Date != p.Date {
			t.Errorf("visit of %v: %g Pa, in the list %v: %g Pa", visits[i].Date, q.Value, p.Date, p.Pressure)
		}
	}
	r := history(t, m, HistoryOptions{AsOf: day(t, "2026-03")})
	if answer := tells(r.Answer); !strings.Contains(answer, "It is below the 8.75 bar (wish.peak less wish.within).") || !strings.Contains(answer, "Law: set ") {
		t.Errorf("%q", answer)
	}
}

// TestHistoryOfFew: no reading, one, two: an answer that says what it lacks.
func TestHistoryOfFew(t *testing.T) {
	for text, want := range map[string]string{
		"": "No peak has been read yet. Look now: read the peak of a shot and append it to the sheet.",
		"[[visit]]\ndate = 2020\ndone = \"seal\"\n":                                                                  "No peak has been read yet. Look now: read the peak",
		"[[visit]]\ndate = 2030\npeak = \"8 bar\"\n":                                                                 "Peak 8.00 bar on 2030.",
		"[[visit]]\ndate = 2030\npeak = \"8 bar\"\n[[visit]]\ndate = 2030\ndone = \"spring\"\n":                      "Look now: read the peak: none was read since the work of 2030 (spring).",
		"[[visit]]\ndate = \"2030-01\"\npeak = \"8 bar\"\n[[visit]]\ndate = \"2030-06\"\npeak = \"7.9 bar\"\n":       "no more than readings scatter",
		"[[visit]]\ndate = \"2030-01-05\"\npeak = \"8 bar\"\n[[visit]]\ndate = \"2030-01-05\"\npeak = \"7.9 bar\"\n": "Look again in 2031-01: read the peak again, a year after the last reading at the latest.",
	} {
		r := history(t, testsheet.Build(t, testsheet.Minimal+text), HistoryOptions{AsOf: day(t, "2031-01-01")})
		if got := tells(r.Answer) + " " + tells(r.Next); !strings.Contains(got, want) {
			t.Errorf("%s:\n%s\nwant %s", text, got, want)
		}
	}
}

// TestHistoryLimits: what is still wanted is what was asked, what the sheet
// wishes, or a share that is named.
func TestHistoryLimits(t *testing.T) {
	read := "[[visit]]\ndate = 2020\npeak = \"8 bar\"\n"
	for _, c := range []struct {
		text  string
		limit Limit
		want  float64 // [Pa]
		why   string
	}{
		{read, Limit{Pressure: 7e5}, 7e5, "as asked"},
		{read + "[new]\npeak = \"10 bar\"\n", Limit{Share: 0.7}, 7e5, "70 % of the peak as new, as asked"},
		{read + "[wish]\npeak = \"9 bar\"\nwithin = \"0.5 bar\"\n", Limit{}, 8.5e5, "wish.peak less wish.within"},
		{read + "[wish]\npeak = \"9 bar\"\n", Limit{}, 8.75e5, "wish.peak less wish.within"},
		{read + "[new]\npeak = \"10 bar\"\n", Limit{}, 8e5, "80 % of the peak as new, as nothing else is stated"},
		{read, Limit{}, 6.4e5, "80 % of the highest reading, as nothing else is stated"},
	} {
		r := history(t, testsheet.Build(t, testsheet.Minimal+c.text), HistoryOptions{AsOf: day(t, "2031"), Limit: c.limit})
		if row := r.Row("limit"); math.Abs(row.Value-c.want) > 1 || row.Note.String() != c.why {
			t.Errorf("%s %+v: %g Pa, %s", c.text, c.limit, row.Value, row.Note)
		}
	}
	_, err := History(context.Background(), testsheet.Build(t, testsheet.Minimal+read), HistoryOptions{AsOf: day(t, "2031"), Limit: Limit{Share: 0.5}})
	if !errors.Is(err, sheet.ErrUse) || !strings.Contains(err.Error(), "the peak as new is not known") {
		t.Errorf("%v", err)
	}
	for text, want := range map[string]string{"7": "has no unit", "0 %": "want a pressure", "101 %": "want a pressure", "x %": "want a pressure", "-1 bar": "more than 0 bar", "7 mm": "is not the unit", "NaN %": "want a pressure"} {
		if l, err := ParseLimit(text); err == nil || !strings.Contains(err.Error(), want) || !strings.HasPrefix(err.Error(), fmt.Sprintf("%q", text)) {
			t.Errorf("%s: %+v, %v", text, l, err)
		}
	}
	if l, err := ParseLimit(" 75 % "); err != nil || l != (Limit{Share: 0.75}) {
		t.Errorf("%+v, %v", l, err)
	}
}

// TestHistoryBack: later readings are left out; said as a doubt where they lie after today.
func TestHistoryBack(t *testing.T) {
	m := testsheet.Build(t, worn())
	r := history(t, m, HistoryOptions{AsOf: day(t, "2018-12-31"), Back: true})
	if strings.Contains(tells(r.Answer), "2019") || r.Row("last_reading").Value != 8.5e5 || len(r.Table("repairs").Data) > 0 || strings.Contains(tells(r.Doubts), "is the date right") {
		t.Errorf("%s %s", tells(r.Answer), tells(r.Doubts))
	}
	r = history(t, m, HistoryOptions{AsOf: day(t, "2022-01-01")})
	if !strings.Contains(tells(r.Doubts), "left out, as it lies after today, 2022-01-01: what was read on 2022-06; is the date right?") {
		t.Errorf("%s", tells(r.Doubts))
	}
}

// TestCompareDates: two readings of one gauge differ by less than their own ± make
// it; what cancels is the gauge's gain and zero, but not over a change of gauge.
func TestCompareDates(t *testing.T) {
	text := func(done string) string {
		return testsheet.Minimal + "[[visit]]\ndate = 2019\npeak = \"8 bar ± 0.04 bar\"\nyield = \"40 g\"\ntime = \"40 s\"\n" + done +
			"[[visit]]\ndate = 2021\npeak = \"8.3 bar ± 0.04 bar\"\nyield = \"38 g\"\ntime = \"42 s\"\nfree_length = \"170 mm\"\n"
	}
	ask := func(text string) *report.Report {
		date := day(t, "2020")
		return history(t, testsheet.Build(t, text), HistoryOptions{AsOf: day(t, "2031"), Compare: &date})
	}
	r := ask(text(""))
	row := r.Row("peak_change")
	// JCGM 100: u² = 2·(0.02 bar)² + (1 % of 0.3 bar)².
	want := math.Sqrt(2*0.02*0.02+0.003*0.003) * 1e5
	if math.Abs(row.Value-0.3e5) > 1 || math.Abs(row.Band.Std-want) > 1e-6*want {
		t.Errorf("%+v %+v, want ± %g", row, row.Band, want)
	}
	if table := r.Table("comparison"); len(table.Data) != 3 || table.Data[0][6] != "differs" || table.Data[1][6] != "differs" || table.Data[2][6] != "within the ±" {
		t.Errorf("%v", table.Data)
	}
	other := ask(text("[[visit]]\ndate = 2020\ndone = \"gauge\"\n")).Row("peak_change")
	// Each gauge has a zero of its own, 0.1 bar, and a gain, 1 %.
	want = math.Sqrt(2*0.02*0.02+2*0.1*0.1+0.08*0.08+0.083*0.083) * 1e5
	if math.Abs(other.Band.Std-want) > 1e-6*want {
		t.Errorf("two gauges: ± %g, want %g", other.Band.Std, want)
	}
	if r := ask(strings.Replace(text(""), "yield = \"38 g\"", "yield = \"38 g\"\ndose = \"15 g\"", 1)); !strings.Contains(tells(r.Doubts), "dose or water were not the same") {
		t.Errorf("%s", tells(r.Doubts))
	}
	// One day by itself: its first visit beside its last.
	date := day(t, "2019-06-01")
	r = history(t, testsheet.Build(t, worn()), HistoryOptions{AsOf: date, Compare: &date})
	if row := r.Row("peak_change"); math.Abs(row.Value-0.9e5) > 1 || !strings.Contains(tells(r.Answer), "; done: seal (2019-06-01)") {
		t.Errorf("%+v: %s", row, tells(r.Answer))
	}
	for _, when := range []string{"2010", "2031"} {
		date := day(t, when)
		if _, err := History(context.Background(), testsheet.Build(t, text("")), HistoryOptions{AsOf: day(t, "2031"), Compare: &date}); !errors.Is(err, sheet.ErrUse) {
			t.Errorf("--compare %s: %v", when, err)
		}
	}
}

// TestEveryReadingMatters: each key of a visit shows in the answer of history.
func TestEveryReadingMatters(t *testing.T) {
	m := testsheet.Build(t, testsheet.Minimal+"[[visit]]\ndate = 2019\npeak = \"8 bar\"\n")
	before := fmt.Sprint(history(t, m, HistoryOptions{AsOf: day(t, "2031")}).Tables)
	for _, k := range sheet.VisitTable.Keys {
		sets := []string{"visit." + k.Name + "=" + k.Example}
		switch k.Name {
		case "gauge_reading":
			sets = append(sets, "visit.gauge_true=8.8 bar")
		case "gauge_true":
			sets = append(sets, "visit.gauge_reading=8.8 bar")
		case "read":
			sets = append(sets, "visit.done=seal")
		}
		m := testsheet.Build(t, testsheet.Minimal+"[[visit]]\ndate = 2019\npeak = \"8 bar\"\n", sets...)
		if k.Name == "date" {
			sets[0] = "visit.date=2018"
			m = testsheet.Build(t, testsheet.Minimal+"[[visit]]\ndate = 2019\npeak = \"8 bar\"\n", sets...)
		}
		if fmt.Sprint(history(t, m, HistoryOptions{AsOf: day(t, "2031")}).Tables) == before {
			t.Errorf("visit.%s changes nothing", k.Name)
		}
	}
}

// TestLongUnread: what the laws say of a machine that nobody has read for years.
func TestLongUnread(t *testing.T) {
	r := history(t, testsheet.Build(t, worn()), HistoryOptions{AsOf: day(t, "2031-05-04"), Limit: Limit{Pressure: 7.5e5}})
	if text := tells(r.Answer) + " " + tells(r.Next); !strings.Contains(text, "It will have passed the 7.50 bar (as asked) in 2027-") || !strings.Contains(text, "Look now: find out what takes the pressure") {
		t.Errorf("%s", text)
	}
	// 8.6 bar in the middle of 2022 less 0.2 a year.
	if row := r.Row("peak_now"); math.Abs(row.Value-6.82e5) > 0.1e5 || r.Row("passes").Text != "now" {
		t.Errorf("%g Pa, passes %s", row.Value, r.Row("passes").Text)
	}
	r = history(t, testsheet.Build(t, worn()), HistoryOptions{AsOf: day(t, "2025-01-01"), Limit: Limit{Pressure: 7e5}})
	if text := tells(r.Next); text != "Look now: read the peak again, two years after the last reading at the latest." {
		t.Errorf("%s", text)
	}
}
