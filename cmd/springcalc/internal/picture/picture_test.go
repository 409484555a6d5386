package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"flag"
	"fmt"
	"image/png"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
)

func init() { _ = flag.Set("rapid.seed", "1") }

func sample() *report.Report {
	t := []float64{0, 2, 12, 12, 30, 42}
	chart := func(key string, unit quantity.Display, y ...float64) report.Chart {
		return report.Chart{Key: key, Name: key, Unit: unit, XName: "time", XUnit: quantity.InS, Zero: true,
			Marks:  []report.Mark{{Name: "release", X: 12}, {Name: "first <drop>", X: 13}},
			Series: []report.Series{{Name: key, X: t, Y: y}}}
	}
	p := chart("pressure", quantity.InBar, 0, 0.8e5, 0.8e5, 6.4e5, 5e5, 4e5)
	p.Band = &report.Area{Name: "95 % band", X: []float64{12, 30, 45}, Low: []float64{6e5, 4.5e5, 3e5}, High: []float64{6.6e5, 5.5e5, 4e5}}
	p.Ends = &report.Ending{Low: 36, High: 46}
	p.Series = append(p.Series, report.Series{Name: "today", X: t, Y: []float64{0, 1e5, 1e5, 5e5, 4e5, 3e5}, Dashed: true},
		report.Series{Name: "gauge", X: []float64{12, 40}, Y: []float64{6.5e5, 4e5}, Points: true})
	f := chart("flow", quantity.InMLPerS, 0, 9e-6, 1e-6, 9e-6, 1.5e-6, 1.4e-6)
	f.Top, f.Beyond = 2e-6, "more at first"
	return &report.Report{Title: "Shot: a <group> & more", Charts: []report.Chart{p, f},
		Sketches: []report.Sketch{demoSpring(false)}}
}

func demoSpring(order bool) report.Sketch {
	return report.Sketch{Wire: 7e-3, Outside: 49e-3, Active: 12, Total: 14, Ground: true, Order: order, Lengths: []report.SketchedState{
		{Name: "free", Symbol: "L0", Length: 0.1685}, {Name: "at rest", Symbol: "L1", Length: 0.139, Force: 812},
		{Name: "cocked", Symbol: "L2", Length: 0.119, Force: 1362}, {Name: "solid", Symbol: "Lc", Length: 0.098, Force: 1940}}}
}

func drawn(t testing.TB, r *report.Report, f quantity.Family, look Look) string {
	t.Helper()
	var b bytes.Buffer
	if err := SVG(&b, r, f, look); err != nil {
		t.Fatal(err)
	}
	d := xml.NewDecoder(bytes.NewReader(b.Bytes()))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return b.String()
		} else if err != nil {
			t.Fatalf("%v in %s", err, b.String())
		}
	}
}

// TestWords: what a picture says, in the units that are asked for, and nothing
// that a strict page refuses.
func TestWords(t *testing.T) {
	metric, inch := drawn(t, sample(), quantity.Metric, Screen), drawn(t, sample(), quantity.Inch, Screen)
	for _, want := range []string{"<title>Shot: a &lt;group&gt; &amp; more</title>", ">Pressure, bar<", ">Flow, mL/s<", ">more at first<", ">time, s<",
		">release 12<", `textLength="`, ">first &lt;drop&gt; 13<", ">ends 36 to 46 s<", ">95 % band<", ">today<", ">gauge<", ">at rest<", ">139.0 mm<", ">812 N<", "drawn 1:2"} {
		if !strings.Contains(metric, want) {
			t.Errorf("no %q in the picture", want)
		}
	}
	for _, want := range []string{">Pressure, psi<", ">182.5 lbf<", ">5.472 in<"} {
		if !strings.Contains(inch, want) {
			t.Errorf("no %q in the inch picture", want)
		}
	}
	for _, not := range []string{" style=", "<script", "NaN", "Inf", "<?xml"} {
		if strings.Contains(metric, not) {
			t.Errorf("%q in the picture", not)
		}
	}
}

var pathOf = regexp.MustCompile(`<path d="([^"]*)"[^>]*stroke="([^"]*)"[^>]*stroke-width="([^"]*)"`)

// points reads the points of a path off.
func points(t interface{ Fatalf(string, ...any) }, path string) (all [][2]float64) {
	for _, p := range strings.FieldsFunc(path, func(r rune) bool { return r == 'M' || r == 'L' || r == 'Z' }) {
		x, y, _ := strings.Cut(p, ",")
		a, err := strconv.ParseFloat(x, 64)
		b, err2 := strconv.ParseFloat(y, 64)
		if err != nil || err2 != nil {
			t.Fatalf("%q: %v %v", p, err, err2)
		}
		all = append(all, [2]float64{a, b})
	}
	return all
}

// TestCurveIsData: the accent line of each panel stands at the values of the
// chart, between the edges that all panels share.
func TestCurveIsData(t *testing.T) {
	r := sample()
	svg := drawn(t, r, quantity.Metric, Screen)
	s, err := newStack(r.Charts, quantity.Metric, Screen)
	if err != nil {
		t.Fatal(err)
	}
	var lines [][][2]float64
	for _, m := range pathOf.FindAllStringSubmatch(svg, -1) {
		if m[2] == "#7A1F6D" && m[3] == "2" {
			lines = append(lines, points(t, m[1]))
		}
	}
	if len(lines) != 2 { // of the flow, what is left of the cut
		t.Fatalf("%d accent lines", len(lines))
	}
	x, y := s.panels[0].x, s.panels[0].y
	at := func(v float64) float64 {
		return float64(margin+s.left) + float64(s.right-s.left)*(v-x.Low)/(x.High-x.Low)
	}
	first := lines[0]
	unit := float64(s.panels[0].height) / (y.High - y.Low) // [pt/bar]
	for i, v := range r.Charts[0].Series[0].X {
		bar := r.Charts[0].Series[0].Y[i] / 1e5
		if math.Abs(first[i][0]-at(v)) > 0.02 || math.Abs(first[i][1]-first[0][1]-bar*unit) > 0.02 {
			t.Errorf("point %d of %g s, %g bar stands at %v, want x %g and %g above zero", i, v, bar, first[i], at(v), bar*unit)
		}
	}
	for i, piece := range lines[1:] {
		for _, p := range piece {
			if !slices.ContainsFunc(r.Charts[1].Series[0].X, func(v float64) bool { return math.Abs(at(v)-p[0]) < 0.02 }) {
				t.Errorf("piece %d of the flow has a point at %v", i, p)
			}
		}
	}
}

// TestStylesDiffer: without colour, no two of five curves look alike.
func TestStylesDiffer(t *testing.T) {
	c := report.Chart{Series: make([]report.Series, 5)}
	c.Series[1].Dashed = true
	seen := map[string]bool{}
	for i := range c.Series {
		s := styleOf(&c, i, Paper)
		seen[fmt.Sprint(s.Dashes, s.Width)] = true
	}
	if len(seen) != 5 {
		t.Errorf("%d styles for 5 curves", len(seen))
	}
}

// TestToScale: the seats of a spring of 1:1 are its length apart, and as long as
// it is wide.
func TestToScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := demoSpring(true)
		k.Wire = rapid.Float64Range(1e-3, 9e-3).Draw(t, "wire")
		k.Outside = k.Wire * rapid.Float64Range(4, 12).Draw(t, "index")
		k.Active = rapid.Float64Range(2, 15).Draw(t, "active")
		k.Total = k.Active + rapid.Float64Range(0, 3).Draw(t, "dead")
		k.Ground = rapid.Bool().Draw(t, "ground")
		k.Lengths[0].Length = k.Wire*(k.Total+1) + rapid.Float64Range(0, 0.1).Draw(t, "gaps")
		p := sketchFigures([]report.Sketch{k}, quantity.Metric, Screen)[0].(*spring)
		last := -1.0
		for i := range 200 {
			h := p.rise(k.Lengths[0].Length, k.Total*float64(i)/199)
			if h < last || h < 0 || h > k.Lengths[0].Length {
				t.Fatalf("the wire falls or leaves the spring: %g after %g m", h, last)
			}
			last = h
		}
		var b bytes.Buffer
		if err := Sketches(&b, "", []report.Sketch{k}, quantity.Metric, Screen); err != nil {
			t.Fatal(err)
		}
		var seats []float64
		wide := k.Outside * 72 / 0.0254 / float64(p.over)
		for _, m := range pathOf.FindAllStringSubmatch(b.String(), -1) {
			if at := points(t, m[1]); m[3] == "0.9" && len(at) == 2 && at[0][1] == at[1][1] && math.Abs(at[1][0]-at[0][0]-wide) < 0.02 {
				seats = append(seats, at[0][1])
			}
		}
		if want := k.Lengths[0].Length * 72 / 0.0254 / float64(p.over); len(seats) != 2 || math.Abs(seats[1]-seats[0]-want) > 0.02 {
			t.Fatalf("seats at %v, want them %g pt apart", seats, want)
		}
	})
}

// TestPNG: the same picture, twice as many pixels as points.
func TestPNG(t *testing.T) {
	var b bytes.Buffer
	if err := PNG(&b, sample(), quantity.Metric, Screen); err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(&b)
	if err != nil || img.Bounds().Dx() != 2*int(Width/vg.Points(1)) {
		t.Errorf("%v, %v", img.Bounds(), err)
	}
	if err := PNG(&b, &report.Report{}, quantity.Metric, Screen); !errors.Is(err, ErrNothing) {
		t.Errorf("a picture of nothing: %v", err)
	}
}

// TestAnyChart: whatever the numbers, there is a picture without NaN.
func TestAnyChart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		number := rapid.Float64Range(-1e6, 1e6)
		x := rapid.SliceOfN(number, n, n).Draw(t, "x")
		slices.Sort(x)
		c := report.Chart{Key: "k", Name: "name", Unit: quantity.InBar, XName: "time", XUnit: quantity.InS, Zero: rapid.Bool().Draw(t, "zero"),
			Series: []report.Series{{X: x, Y: rapid.SliceOfN(number, n, n).Draw(t, "y"), Points: rapid.Bool().Draw(t, "points")}},
			Marks:  []report.Mark{{Name: "a", X: x[0]}, {Name: "b", X: x[0]}, {Name: "c", X: x[n-1]}},
			Ends:   &report.Ending{Low: x[0], High: x[n-1]}}
		if svgs, err := Charts("", []report.Chart{c}, quantity.Metric, Dark); err != nil || len(svgs) != 1 || strings.Contains(svgs[0], "NaN") {
			t.Fatalf("%v: %s", err, svgs)
		}
	})
}
