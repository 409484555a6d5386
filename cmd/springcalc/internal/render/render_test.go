package render

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"flag"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/words"
)

func init() { _ = flag.Set("rapid.seed", "1") }

// sample is a report that uses all there is.
func sample() *report.Report {
	return &report.Report{
		Command: "shot", Title: "Shot: a group",
		Answer: []report.Sentence{report.Say("peak %s", report.Of(6.456e5, quantity.InBar, 2))},
		Next:   []report.Sentence{report.Plain("weigh one shot")},
		Rows: []report.Row{
			{Key: "peak", Name: "peak pressure", Value: 6.456e5, Unit: quantity.InBar, Digits: 2, Short: true,
				Band: &report.Band{Low: 6.1e5, High: 6.9e5, Std: 0.2e5, Known: 1}, Narrow: "bench test"},
			{Key: "flow_time", Name: "flow time", Value: 31.4, Unit: quantity.InS, Short: true, Indent: true, Note: report.Say("to the end of the stroke")},
			{Key: "outcome", Name: "ended by", Text: "end of stroke | <done>", Short: true},
		},
		Charts: []report.Chart{{Key: "pressure", Name: "pressure", Unit: quantity.InBar, XName: "time", XUnit: quantity.InS, Zero: true,
			Series: []report.Series{{Name: "left", X: []float64{0, 10, 47}, Y: []float64{0, 6.5e5, 2.5e5}}}}},
		Tables: []report.Table{
			{Key: "events", Title: "Events", Columns: []report.Column{{Key: "name", Head: "event"}, {Key: "t", Head: "time", Unit: quantity.InS, Digits: 1}},
				Data: [][]any{{"release", 12.04}, {"end", 43.96}, {"never", nil}}},
			{Key: "samples", DataOnly: true, Columns: []report.Column{{Key: "t", Unit: quantity.InS}, {Key: "pressure", Unit: quantity.InBar}}, Data: [][]any{{0.1, 1e5 / 3}}},
		},
		Main:    "samples",
		Input:   []report.Stated{{Key: "coffee.dose", Text: "14 g"}},
		Assumed: []report.Assumed{{Key: "piston.stroke", Value: 0.0254, Low: 0.02, High: 0.03, Dim: quantity.DimLength, Basis: "judgement", Source: "a guess"}},
		Doubts:  []report.Sentence{report.Plain("the puck was not wetted through")},
		Caution: "Hot water.", Cautions: []string{"Hot water."},
	}
}

var day = time.Date(2031, 5, 4, 0, 0, 0, 0, time.UTC)

func printed(t testing.TB, r *report.Report, o Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := Text(&b, r, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestShort: the short answer has its parts in their order, within a screen.
func TestShort(t *testing.T) {
	out := printed(t, sample(), Options{})
	at := -1
	for _, part := range []string{"Shot: a group", "Peak 6.46 bar.", "estimate", "peak pressure", "6.5 bar", "6.1 to 6.9", "bench test",
		"  flow time", "ended by", "pressure, bar", "time, s", "Weigh one shot.", "! Hot water.", "? The puck", "1 assumed value and 1 table: --full"} {
		i := strings.Index(out[at+1:], part)
		if i < 0 {
			t.Fatalf("no %q after %d in\n%s", part, at, out)
		}
		at += i + 1
	}
	if lines := strings.Count(out, "\n"); lines > screen {
		t.Errorf("%d lines", lines)
	}
	if plain := printed(t, sample(), Options{NoChart: true}); strings.Contains(plain, "┤") {
		t.Errorf("a chart in\n%s", plain)
	}
}

// TestFamilies: the inch answer says the same, by the exact definition of its units.
func TestFamilies(t *testing.T) {
	values := func(f quantity.Family) map[string]any {
		var b bytes.Buffer
		if err := JSON(&b, sample(), Options{Family: f, Date: day, Version: "v1"}); err != nil {
			t.Fatal(err)
		}
		got := map[string]any{}
		if err := json.Unmarshal(b.Bytes(), &got); err != nil {
			t.Fatal(err)
		}
		return got
	}
	metric, inch := values(quantity.Metric), values(quantity.Inch)
	const psi = 0.45359237 * 9.80665 / (0.0254 * 0.0254) // NIST SP 811, B.8
	for _, end := range []string{"", "_low", "_high", "_std"} {
		if a, b := metric["peak_bar"+end].(float64)*1e5, inch["peak_psi"+end].(float64)*psi; math.Abs(a/b-1) > 1e-12 {
			t.Errorf("peak%s: %g and %g Pa", end, a, b)
		}
	}
	if metric["units"] != "metric" || inch["units"] != "inch" || metric["date"] != "2031-05-04" || metric["version"] != "v1" ||
		metric["input"].(map[string]any)["coffee.dose"] != "14 g" {
		t.Errorf("%v", metric)
	}
	if out := printed(t, sample(), Options{Family: quantity.Inch, Full: true}); !strings.Contains(out, "Peak 93.6 psi.") || !strings.Contains(out, "1 in") {
		t.Errorf("not in inch units:\n%s", out)
	}
}

// TestCSV: the main table with its units in the headings and every digit.
func TestCSV(t *testing.T) {
	var b bytes.Buffer
	if err := CSV(&b, sample(), Options{}); err != nil {
		t.Fatal(err)
	}
	records, err := csv.NewReader(&b).ReadAll()
	if err != nil || !slices.Equal(records[0], []string{"t_s", "pressure_bar"}) || records[1][0] != "0.1" {
		t.Errorf("%q, %v", records, err)
	}
	if v, err := strconv.ParseFloat(records[1][1], 64); err != nil || math.Abs(v*3-1) > 1e-15 {
		t.Errorf("%q of a third of a bar, %v", records[1][1], err)
	}
}

// TestMarkdown: what others wrote is text, not markup; version, date and input are there.
func TestMarkdown(t *testing.T) {
	r := sample()
	r.Title = "Shot: <b>*a* group</b>"
	var b bytes.Buffer
	if err := Markdown(&b, r, Options{Version: "v1", Date: day}); err != nil {
		t.Fatal(err)
	}
	out := b.String()
	for _, want := range []string{"2031-05-04", "springcalc v1", "coffee.dose", "&lt;b>\\*a\\* group", "end of stroke \\| &lt;done>"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
}

// TestCompare sets two reports side by side.
func TestCompare(t *testing.T) {
	a, b := sample(), sample()
	b.Rows[0].Value = 5e5
	b.Rows[0].Band, a.Rows[0].Band = nil, nil
	names := []string{"a.toml", "b.toml"}
	out := printed(t, Compare(names, []*report.Report{a, b}, quantity.Metric), Options{})
	for _, want := range []string{"peak pressure", "6.46", "5.00", "-1.46 (-23 %)", "+0 (+0 %)", "same", "(─ a.toml * b.toml)", "? A.toml: the puck"} {
		if !strings.Contains(strings.ReplaceAll(out, "? a.toml", "? A.toml"), want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	var j bytes.Buffer
	if err := SeveralJSON(&j, names, []*report.Report{a, b}, Options{Date: day}); err != nil {
		t.Fatal(err)
	}
	var list []struct {
		Sheet string
		Peak  float64 `json:"peak_bar"`
	}
	if err := json.Unmarshal(j.Bytes(), &list); err != nil || len(list) != 2 || list[1].Sheet != "b.toml" || math.Abs(list[1].Peak-5) > 1e-12 {
		t.Errorf("got %+v, %v", list, err)
	}
}

// TestCompareAssumed: what all sheets take for granted stands once, the rest with
// the name of its sheet.
func TestCompareAssumed(t *testing.T) {
	a, b := sample(), sample()
	b.Assumed = append(slices.Clone(b.Assumed), report.Assumed{Key: "piston.friction", Value: 30, Dim: quantity.DimForce})
	var keys []string
	for _, d := range Compare([]string{"a", "b"}, []*report.Report{a, b}, quantity.Metric).Assumed {
		keys = append(keys, d.Key)
	}
	if want := []string{"piston.stroke", "b: piston.friction"}; !slices.Equal(keys, want) {
		t.Errorf("got %q, want %q", keys, want)
	}
}

// TestNotFinite: no renderer prints a number that is not finite.
func TestNotFinite(t *testing.T) {
	for name, spoil := range map[string]func(*report.Report){
		"peak":           func(r *report.Report) { r.Rows[0].Value = math.NaN() },
		"t of":           func(r *report.Report) { r.Tables[0].Data[0][1] = math.Inf(1) },
		"chart pressure": func(r *report.Report) { r.Charts[0].Ends = &report.Ending{Low: 1, High: math.NaN()} },
		"the chart":      func(r *report.Report) { r.Charts[0].Marks = []report.Mark{{X: math.Inf(1)}} },
		"a number that":  func(r *report.Report) { r.Charts[0].Series[0].Y[1] = math.NaN() },
		"piston.stroke":  func(r *report.Report) { r.Assumed[0].High = math.NaN() },
		"is %s": func(r *report.Report) {
			r.Doubts = append(r.Doubts, report.Say("is %s", report.Of(math.NaN(), quantity.InBar, 1)))
		},
	} {
		for _, write := range []func(*bytes.Buffer, *report.Report) error{
			func(b *bytes.Buffer, r *report.Report) error { return Text(b, r, Options{}) },
			func(b *bytes.Buffer, r *report.Report) error { return Markdown(b, r, Options{}) },
			func(b *bytes.Buffer, r *report.Report) error { return JSON(b, r, Options{}) },
			func(b *bytes.Buffer, r *report.Report) error { return CSV(b, r, Options{}) },
		} {
			r := sample()
			spoil(r)
			var b bytes.Buffer
			if err := write(&b, r); err == nil || !strings.Contains(err.Error(), name) || b.Len() > 0 {
				t.Errorf("%s: error %v, %d bytes", name, err, b.Len())
			}
		}
	}
}

// TestMarks: an event stands in its column where the curve leaves room, is named
// below, and a reading is one character, not two.
func TestMarks(t *testing.T) {
	r := sample()
	c := &r.Charts[0]
	c.Marks = []report.Mark{{Name: "release", X: 20}, {Name: "never", X: 4000}}
	c.Series = append(c.Series, report.Series{Name: "gauge", X: []float64{30}, Y: []float64{1e5}, Points: true})
	out := printed(t, r, Options{})
	for line := range strings.Lines(out) {
		if i := strings.IndexAny(line, "┤┼"); i >= 0 && strings.Count(line, "┊")+strings.Count(line, "o") > 2 {
			t.Errorf("more than one event and one reading in %q", line)
		}
	}
	if !strings.Contains(out, "┊ release 20, never 4000") || strings.Count(out, " ┊") < 5 || strings.Count(out, "o ")-strings.Count(out, "to ") < 1 {
		t.Errorf("no events or reading in\n%s", out)
	}
	c.Top, c.Beyond = 3e5, "more at first"
	if out := printed(t, r, Options{}); strings.Contains(out, "6┤") || !strings.Contains(out, "pressure, bar (more at first)") {
		t.Errorf("beyond 3 bar, or not said, in\n%s", out)
	}
}

// TestChartsInJSON: programs get the curves in the units that they ask for.
func TestChartsInJSON(t *testing.T) {
	r := sample()
	c := &r.Charts[0]
	c.Band = &report.Area{Name: "band", X: []float64{0, 1}, Low: []float64{0, 1e5}, High: []float64{0, 2e5}}
	c.Marks, c.Ends = []report.Mark{{Name: "release", X: 12}}, &report.Ending{Low: 40, High: 50}
	c.Series = append(c.Series, report.Series{Name: "today", X: []float64{0}, Y: []float64{1e5}, Dashed: true}, report.Series{Name: "read", X: []float64{0}, Y: []float64{1e5}, Points: true})
	var b bytes.Buffer
	if err := JSON(&b, r, Options{Family: quantity.Inch}); err != nil {
		t.Fatal(err)
	}
	var got struct{ Charts []chartData }
	if err := json.Unmarshal(b.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	d := got.Charts[0]
	if len(got.Charts) != 1 || d.Unit != "psi" || d.XUnit != "s" || math.Abs(d.Series[0].Y[1]-94.27) > 0.01 || math.Abs(d.Band.High[1]-29.0) > 0.01 ||
		d.Marks[0].X != 12 || d.Ends.High != 50 || d.Series[1].Style != "dashed" || d.Series[2].Style != "points" {
		t.Errorf("got %+v", d)
	}
}

// TestAnyWords: whatever is written in a report, a terminal gets no more than
// 80 columns and nothing that it would act on, and JSON is JSON.
func TestAnyWords(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := sample()
		word := rapid.StringOfN(rapid.SampledFrom([]rune("abcdefghijklmnopqrstuvwxyz     |<>`_*#é\x1b\x00\n\t\u0085\u200b")), 0, 120, -1)
		r.Title, r.Rows[0].Name, r.Rows[2].Text, r.Rows[0].Narrow = word.Draw(t, "title"), word.Draw(t, "name"), "x"+word.Draw(t, "text"), word.Draw(t, "narrow")
		r.Doubts = []report.Sentence{report.Plain(word.Draw(t, "doubt"))}
		r.Tables[0].Data[0][0], r.Tables[0].Columns[0].Head = word.Draw(t, "cell"), word.Draw(t, "head")
		for _, full := range []bool{false, true} {
			var b bytes.Buffer
			if err := Text(&b, r, Options{Full: full}); err != nil {
				t.Fatal(err)
			}
			for line := range strings.Lines(b.String()) {
				line = strings.TrimSuffix(line, "\n")
				if n := utf8.RuneCountInString(line); n > words.LineWidth {
					t.Fatalf("%d characters: %q", n, line)
				}
				if i := strings.IndexFunc(line, func(r rune) bool { return r < ' ' || r == 0x7f || r >= 0x80 && r < 0xa0 }); i >= 0 {
					t.Fatalf("%q", line)
				}
			}
		}
		var b bytes.Buffer
		if err := JSON(&b, r, Options{}); err != nil || !json.Valid(b.Bytes()) {
			t.Fatalf("%v: %s", err, b.String())
		}
	})
}
