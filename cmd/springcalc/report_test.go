package main

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/cmd/springcalc/internal/words"
)

// sample is a report that uses all there is.
func sample() *report {
	return &report{
		Title: "a shot",
		Rows: []row{
			measure("peak_bar", "peak pressure", 6.456e5, quantity.InBar, 2).within(6.1e5, 6.9e5, quantity.InBar).noted("at the %s", "release"),
			measure("spring_s", "time", 31.4, quantity.InS, 0).noted("from release to the end of the stroke, pre-infusion not counted"),
			{Key: "outcome", Name: "outcome", Text: "stroke ended | <done>"},
		},
		Charts: []chart{{Key: "pressure", Title: "pressure, bar", XTitle: "time, s", Series: []series{{Name: "left", X: []float64{0, 10, 47}, Y: []float64{0, 6.5, 2.5}}}}},
		Tables: []tableData{
			{
				Key: "events", Title: "Events", Columns: []column{{"name", "event", 0}, {"t_s", "time, s", 1}},
				Data: [][]any{{"release", 12.04}, {"end", 43.96}, {"never", nil}},
			},
			{Key: "samples", DataOnly: true, Columns: []column{{"t_s", "", 0}, {"pressure_bar", "", 0}}, Data: [][]any{{0.1, 1. / 3}}},
		},
		Main:     "samples",
		Defaults: []string{"coffee.retained = 1.1 g/g (0.8 g/g to 1.5 g/g): moisture of the spent bed 55 to 60 %"},
		Doubts:   []string{"the puck was not wetted through at release"},
		Cautions: []string{"hot water"},
	}
}

func rendered(t *testing.T, o output, r *report) string {
	t.Helper()
	var b bytes.Buffer
	if err := o.write(&b, r); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

const sampleText = `a shot

               value                  band          note
--------------------------------------------------------------------------------
peak pressure   6.46 bar              6.10 to 6.90  at the release
time           31 s                                 from release to the end of
                                                    the stroke, pre-infusion not
                                                    counted
outcome        stroke ended | <done>

pressure, bar
 6.5 ┤             ╭───╮
 6.0 ┤            ╭╯   ╰─────╮
 5.5 ┤           ╭╯          ╰──────╮
 5.0 ┤          ╭╯                  ╰─────╮
 4.5 ┤         ╭╯                         ╰──────╮
 4.0 ┤        ╭╯                                 ╰─────╮
 3.5 ┤      ╭─╯                                        ╰──────╮
 3.0 ┤     ╭╯                                                 ╰─────╮
 2.5 ┤    ╭╯                                                        ╰──╴
 2.0 ┤   ╭╯
 1.5 ┤  ╭╯
 1.0 ┤ ╭╯
 0.5 ┤╭╯
 0.0 ┼╯
     └┬─────────────┬─────────────┬─────────────┬─────────────┬─────────────┬
      0            10            20            30            40            50
      time, s

Events
event    time, s
----------------
release     12.0
end         44.0
never

Defaults used
- coffee.retained = 1.1 g/g (0.8 g/g to 1.5 g/g): moisture of the spent bed 55
  to 60 %.

Doubts
- The puck was not wetted through at release.

Cautions
- Hot water.
`

func TestText(t *testing.T) {
	got := rendered(t, output{}, sample())
	if got != sampleText {
		t.Errorf("got:\n%s\nwant:\n%s", got, sampleText)
	}
	for _, line := range strings.Split(got, "\n") {
		if n := utf8.RuneCountInString(line); n > words.LineWidth {
			t.Errorf("%d characters: %s", n, line)
		}
	}
}

func TestMarkdown(t *testing.T) {
	got := rendered(t, output{Markdown: true}, sample())
	for _, want := range []string{
		"# a shot\n", "\n| outcome       | stroke ended \\| <done> |", "\n```\npressure, bar\n", "\n## Events\n\n| event   | time, s |\n|:--------|--------:|\n",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("no %q in\n%s", want, got)
		}
	}
}

const sampleJSON = `{
  "title": "a shot",
  "peak_bar": 6.456,
  "peak_bar_low": 6.1,
  "peak_bar_high": 6.9,
  "spring_s": 31.4,
  "outcome": "stroke ended | <done>",
  "events": [
    {"name": "release", "t_s": 12.04},
    {"name": "end", "t_s": 43.96},
    {"name": "never", "t_s": null}
  ],
  "samples": [
    {"t_s": 0.1, "pressure_bar": 0.3333333333333333}
  ],
  "doubts": [
    "The puck was not wetted through at release."
  ],
  "notes": [],
  "cautions": [
    "Hot water."
  ]
}
`

func TestJSON(t *testing.T) {
	if got := rendered(t, output{JSON: true}, sample()); got != sampleJSON || !json.Valid([]byte(got)) {
		t.Errorf("got:\n%s\nwant:\n%s", got, sampleJSON)
	}
}

func TestCSV(t *testing.T) {
	r := sample()
	if got, want := rendered(t, output{CSV: true}, r), "t_s,pressure_bar\n0.1,0.3333333333333333\n"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	r.Main = ""
	want := "quantity,value,unit,low,high\npeak_bar,6.456,bar,6.1,6.9\nspring_s,31.4,s,,\noutcome,stroke ended | <done>,,,\n"
	if got := rendered(t, output{CSV: true}, r); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestNotFinite: what is no number is refused, and named, before anything is printed.
func TestNotFinite(t *testing.T) {
	inRow, inBand, inTable := sample(), sample(), sample()
	inRow.Rows[1].Value = math.NaN()
	inBand.Rows[0].Band.High = math.Inf(1)
	inTable.Tables[1].Data[0][1] = math.Inf(-1)
	for _, c := range []struct {
		o    output
		r    *report
		Want string
	}{
		{output{JSON: true}, inRow, "no answer: spring_s is not a finite number"},
		{output{JSON: true}, inBand, "no answer: peak_bar_high is not a finite number"},
		{output{JSON: true}, inTable, "no answer: pressure_bar is not a finite number"},
		{output{CSV: true}, inTable, "no answer: pressure_bar is not a finite number"},
	} {
		var b bytes.Buffer
		if err := c.o.write(&b, c.r); err == nil || err.Error() != c.Want || b.Len() > 0 {
			t.Errorf("got %v and %q, want %s", err, b.String(), c.Want)
		}
	}
}

func TestKeyTwice(t *testing.T) {
	r := sample()
	r.Rows[1].Key = "samples"
	if _, err := jsonObject(r); err == nil || err.Error() != `report: "samples" twice` {
		t.Errorf("got %v", err)
	}
}

// TestFit: what fits is left alone, what is a character too wide is wrapped.
func TestFit(t *testing.T) {
	for wide := 60; wide < 90; wide++ {
		g := grid{heads: []string{"name", "note"}, left: []bool{true, true}, rows: [][]string{{"x", strings.Repeat("a b ", wide/4)[:wide-6]}}}
		want := g.rows[0][1]
		var out bytes.Buffer
		if err := g.write(&out, false); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(out.String(), "\n")
		for _, line := range lines {
			if n := utf8.RuneCountInString(line); n > words.LineWidth {
				t.Errorf("%d characters: %s", n, line)
			}
		}
		if alone := g.rows[0][1] == want; alone != (wide <= words.LineWidth) {
			t.Errorf("%d characters: left alone: %v", wide, alone)
		}
	}
}

// TestAxis: the axis covers zero and all values in round steps.
func TestAxis(t *testing.T) {
	for _, c := range []struct {
		values []float64
		Want   axis
		label  string // of the high end
	}{
		{[]float64{0, 47.3}, axis{0, 50, 10, 5}, "50"},
		{[]float64{6.5, 2}, axis{0, 7, 2, 0}, ""},
		{[]float64{-3, 12}, axis{-5, 15, 5, 4}, "15"},
		{[]float64{0.031}, axis{0, 0.035, 0.005, 7}, "0.035"},
		{[]float64{0}, axis{0, 1, 0.2, 5}, "1.0"},
		{[]float64{1e-300}, axis{0, 1, 0.2, 5}, "1.0"},
	} {
		got := axisOver(c.values, 7)
		if c.label == "" { // only the cover matters
			if got.low > 0 || got.high < 6.5 || got.steps > 7 {
				t.Errorf("%v: got %+v", c.values, got)
			}
			continue
		}
		same := got.steps == c.Want.steps && math.Abs(got.low-c.Want.low) < 1e-12 && math.Abs(got.high-c.Want.high) < 1e-12 && math.Abs(got.step-c.Want.step) < 1e-12
		if !same || got.label(got.high) != c.label {
			t.Errorf("%v: got %+v, label %s, want %+v, label %s", c.values, got, got.label(got.high), c.Want, c.label)
		}
	}
}

// TestResample: between points the curve is straight, outside there is none.
func TestResample(t *testing.T) {
	s := series{X: []float64{1, 2, 2, 4}, Y: []float64{10, 20, 0, 6}}
	got := s.resample(axis{low: 0, high: 5}, 11)
	want := []float64{math.NaN(), math.NaN(), 10, 15, 20, 1.5, 3, 4.5, 6, math.NaN(), math.NaN()}
	if !slices.EqualFunc(got, want, func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// TestChartWidth: no chart is wider than it should be, whatever its numbers.
func TestChartWidth(t *testing.T) {
	for _, scale := range []float64{1e-3, 1, 47, 1e3, 123456} {
		c := chart{Title: "y", XTitle: "x", Series: []series{
			{Name: "a", X: []float64{0, scale}, Y: []float64{-scale, scale / 3}}, {Name: "b", X: []float64{0, scale / 2}, Y: []float64{0, scale}},
		}}
		for _, line := range strings.Split(c.draw(words.LineWidth), "\n") {
			if n := utf8.RuneCountInString(line); n > words.LineWidth {
				t.Errorf("scale %g: %d characters: %s", scale, n, line)
			}
		}
	}
	if got := (chart{Title: "nothing"}).draw(words.LineWidth); got != "" {
		t.Errorf("a chart of nothing: %q", got)
	}
}

// TestSentence: a text gets a capital and a full stop, a name of the sheet keeps its own.
func TestSentence(t *testing.T) {
	for text, want := range map[string]string{
		"the puck is dry":                  "The puck is dry.",
		"piston.mass = 0 g: not stated":    "piston.mass = 0 g: not stated.",
		"Already one.":                     "Already one.",
		"mind this:":                       "Mind this:",
		"élan is 5 %":                      "Élan is 5 %.",
		"0.2 % of the draws had no answer": "0.2 % of the draws had no answer.",
		"10 springs fit (from memory)":     "10 springs fit (from memory).",
		"--with takes what --json says":    "--with takes what --json says.",
	} {
		if got := sentence(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

// TestTooWideForLines: a table whose words alone are too wide is printed row by row.
func TestTooWideForLines(t *testing.T) {
	wide := tableData{Key: "rows", Columns: []column{{Head: "name"}}, Data: [][]any{{"first"}}}
	for range 9 {
		wide.Columns = append(wide.Columns, column{Head: "headsofnine"})
		wide.Data[0] = append(wide.Data[0], "cell")
	}
	var out bytes.Buffer
	if err := writeText(&out, &report{Tables: []tableData{wide}}, false); err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(out.String()) {
		if n := utf8.RuneCountInString(strings.TrimRight(line, "\n")); n > words.LineWidth {
			t.Errorf("%d characters: %s", n, line)
		}
	}
	if !strings.HasPrefix(out.String(), "first\n") {
		t.Errorf("not row by row: %s", out.String())
	}
}

// TestBeyondItself: a ± that reaches down to nothing is a fault where nothing is impossible.
func TestBeyondItself(t *testing.T) {
	if got := testsheet.FaultsOf(testsheet.Minimal, "piston.bore=50 mm ± 60 mm"); len(got) != 1 || !strings.Contains(got[0], "reaches down to nothing") {
		t.Errorf("got %q", got)
	}
	if got := testsheet.FaultsOf(testsheet.Minimal, "piston.friction=20 N ± 30 N"); len(got) != 0 {
		t.Errorf("a friction may be none: %q", got)
	}
}
