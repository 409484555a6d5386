package main

import (
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/guptarohit/asciigraph"

	"springcalc/cmd/springcalc/internal/words"
)

// chart is one or more curves over one axis.
type chart struct {
	Key    string // charts of one key may be laid over each other
	Title  string // what goes up, with its unit: "pressure, bar"
	XTitle string // what goes right, with its unit: "time, s"
	Series []series
}

// series is one curve. X must not fall.
type series struct {
	Name string
	X, Y []float64 // points [as the chart's titles say]
	Edge bool      // an edge of the band around the others, drawn as dots behind them
}

// marks tell the curves of a chart apart without colour; the first is drawn as a line.
var marks = []string{"─", "*", "o", "+", "x"}

// edgeMark is that of a band's edge.
const edgeMark = "·"

// overlay lays the charts of several reports over each other.
func overlay(names []string, reports []*report) []chart {
	charts := make([]chart, len(reports[0].Charts))
	for i, first := range reports[0].Charts {
		charts[i] = chart{Key: first.Key, Title: first.Title, XTitle: first.XTitle}
		for j, r := range reports {
			for _, c := range r.Charts {
				if c.Key == first.Key {
					charts[i].Series = append(charts[i].Series, series{Name: names[j], X: c.Series[0].X, Y: c.Series[0].Y})
				}
			}
		}
	}
	return charts
}

// draw draws a chart in characters, no wider than a width. Both axes begin at
// zero or below and carry round numbers.
func (c chart) draw(width int) string {
	var xs, ys []float64
	for _, s := range c.Series {
		xs, ys = append(xs, s.X...), append(ys, s.Y...)
	}
	if len(xs) == 0 {
		return ""
	}
	x, y := axisOver(xs, 6), axisOver(ys, 14)
	labels := len(y.label(y.high))
	labels = max(labels, len(y.label(y.low)))
	per := (width - labels - 6) / x.steps // characters a step of the x axis; 6 for the axis and the last label
	var plot [][]float64
	var chars []asciigraph.CharSet
	for _, s := range c.behindFirst() {
		plot = append(plot, s.resample(x, per*x.steps+1))
		chars = append(chars, s.chars())
	}
	options := []asciigraph.Option{
		asciigraph.Height(y.steps), asciigraph.Width(per*x.steps + 1),
		asciigraph.LowerBound(y.low), asciigraph.UpperBound(y.high),
		asciigraph.YAxisValueFormatter(y.label),
		asciigraph.XAxisRange(x.low, x.high), asciigraph.XAxisTickCount(x.steps + 1),
		asciigraph.XAxisValueFormatter(x.label),
		asciigraph.SeriesChars(chars...),
	}
	var b strings.Builder
	b.WriteString(c.Title + c.legend() + "\n")
	b.WriteString(asciigraph.PlotMany(plot, options...))
	b.WriteString("\n" + strings.Repeat(" ", labels+3) + c.XTitle + "\n")
	return words.TrimLines(b.String())
}

// marked is a curve with its mark.
type marked struct {
	series
	mark string
}

// behindFirst returns the curves in the order of drawing: edges lie behind.
func (c chart) behindFirst() []marked {
	var edges, curves []marked
	for _, s := range c.Series {
		if s.Edge {
			edges = append(edges, marked{s, edgeMark})
		} else {
			curves = append(curves, marked{s, marks[len(curves)%len(marks)]})
		}
	}
	return append(edges, curves...)
}

// chars are what a curve is drawn with.
func (m marked) chars() asciigraph.CharSet {
	if m.mark == marks[0] {
		return asciigraph.DefaultCharSet
	}
	return asciigraph.CreateCharSet(m.mark)
}

// legend names the curves where there are several, the two edges of a band once.
func (c chart) legend() string {
	if len(c.Series) < 2 {
		return ""
	}
	var names []string
	for _, m := range c.behindFirst() {
		if name := m.mark + " " + m.Name; !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return "   (" + strings.Join(names, "  ") + ")"
}

// axis is a range in round steps.
type axis struct {
	low, high, step float64
	steps           int
}

// axisOver returns the axis over zero and all values with at most most steps.
func axisOver(values []float64, most int) axis {
	low, high := 0.0, 0.0
	for _, v := range values {
		low, high = min(low, v), max(high, v)
	}
	if high-low < 1e-9 { // nothing that could be read off
		high = low + 1
	}
	step := math.Pow(10, math.Floor(math.Log10((high-low)/float64(most))))
	for _, factor := range []float64{1, 2, 5, 10, 20} {
		a := axis{step: factor * step}
		from, to := math.Floor(low/a.step), math.Ceil(high/a.step-1e-9)
		a.low, a.high, a.steps = from*a.step, to*a.step, int(to-from)
		if a.steps <= most {
			return a
		}
	}
	return axis{low, high, high - low, 1}
}

// label prints a number of the axis with the digits that its steps need.
func (a axis) label(v float64) string {
	digits := max(0, int(math.Ceil(-math.Log10(a.step)-1e-9)))
	return strconv.FormatFloat(math.Round(v/a.step)*a.step+0, 'f', digits, 64)
}

// resample returns n values evenly spaced over an axis, by straight lines
// between the points; where there is no point there is a gap.
func (s series) resample(a axis, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		x := a.low + (a.high-a.low)*float64(i)/float64(n-1)
		out[i] = s.At(x)
	}
	return out
}

// at interpolates; NaN outside the points.
func (s series) At(x float64) float64 {
	i := sort.SearchFloat64s(s.X, x)
	switch {
	case i == len(s.X) || i == 0 && x < s.X[0]:
		return math.NaN()
	case s.X[i] == x:
		return s.Y[i]
	}
	f := (x - s.X[i-1]) / (s.X[i] - s.X[i-1])
	return s.Y[i-1] + f*(s.Y[i]-s.Y[i-1])
}
