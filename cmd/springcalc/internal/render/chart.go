package render

import (
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/guptarohit/asciigraph"

	"springcalc/cmd/springcalc/internal/picture"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/words"
)

// curveMarks tell the curves of a chart apart without colour; the first is drawn as a
// line, and none is the mark of a reading.
var curveMarks = []string{"─", "*", "+", "x"}

const (
	pointMark = "o" // a reading
	bandMark  = "·" // the shade of a band
	eventMark = "┊" // an event
)

// curve is a series in the units that it is printed in.
type curve struct {
	name   string
	mark   string
	x, y   []float64
	points bool
}

// draw draws a chart in characters, no wider than a width, with a plot of about
// a height: a shade for the band, the curves over it, single points for readings.
func draw(c report.Chart, f quantity.Family, width, height int) string {
	c, xUnit, yUnit := c.In(f)
	var curves []curve
	var xs, ys []float64
	for _, s := range c.Series {
		k := curve{name: words.Clean(s.Name), x: s.X, y: belowTop(s.Y, c.Top), points: s.Points, mark: curveMarks[len(curves)%len(curveMarks)]}
		if s.Points {
			k.mark = pointMark
		}
		curves = append(curves, k)
		xs, ys = append(xs, k.x...), append(ys, k.y...)
	}
	band := c.Band
	if band != nil {
		xs, ys = append(xs, band.X...), append(append(ys, belowTop(band.Low, c.Top)...), belowTop(band.High, c.Top)...)
	}
	xs, ys = finiteOnly(xs), finiteOnly(ys)
	if len(xs) == 0 || len(ys) == 0 {
		return ""
	}
	x, y := picture.AxisOver(xs, 6, c.Zero), picture.AxisOver(ys, height, c.Zero)
	labels := max(len(y.Label(y.High)), len(y.Label(y.Low)))
	per := max(1, (width-labels-6)/x.Steps) // characters a step of the x axis; 6 for the axis and the last label
	columns := per*x.Steps + 1
	rows := y.Steps
	var plot [][]float64
	var chars []asciigraph.CharSet
	add := func(values []float64, chars1 asciigraph.CharSet) {
		plot, chars = append(plot, values), append(chars, chars1)
	}
	shade := asciigraph.CreateCharSet(bandMark)
	if band != nil {
		low, high := resample(band.X, band.Low, x, columns), resample(band.X, band.High, x, columns)
		for r := range rows + 1 {
			level := y.Low + float64(r)*(y.High-y.Low)/float64(rows)
			half := (y.High - y.Low) / float64(rows) / 2
			line, any := gaps(columns), false
			for i := range line {
				if low[i]-half <= level && level <= high[i]+half && high[i]-low[i] > half/2 {
					line[i], any = level, true
				}
			}
			if any {
				add(line, shade)
			}
		}
	}
	for _, k := range curves {
		switch {
		case k.points:
		case k.mark == curveMarks[0]:
			add(resample(k.x, k.y, x, columns), asciigraph.DefaultCharSet)
		default:
			add(resample(k.x, k.y, x, columns), asciigraph.CreateCharSet(k.mark))
		}
	}
	if len(plot) == 0 { // readings alone
		add(gaps(columns), shade)
	}
	options := []asciigraph.Option{
		asciigraph.Height(rows), asciigraph.Width(columns),
		asciigraph.LowerBound(y.Low), asciigraph.UpperBound(y.High),
		asciigraph.YAxisValueFormatter(y.Label),
		asciigraph.XAxisRange(x.Low, x.High), asciigraph.XAxisTickCount(x.Steps + 1),
		asciigraph.XAxisValueFormatter(x.Label),
		asciigraph.SeriesChars(chars...),
	}
	var b strings.Builder
	for _, line := range wrapped(c.Name+unitBehind(yUnit)+beyond(c)+legend(c, curves), width) {
		b.WriteString(line + "\n")
	}
	b.WriteString(placed(asciigraph.PlotMany(plot, options...), c.Marks, curves, x, y, columns))
	under := c.XName + unitBehind(xUnit)
	if c.Ends != nil {
		under += "; ends between " + strconv.FormatFloat(c.Ends.Low, 'f', x.Digits(), 64) + " and " + strconv.FormatFloat(c.Ends.High, 'f', x.Digits(), 64) + " (95 %)"
	}
	for i, m := range c.Marks {
		between := ", "
		if i == 0 {
			between = "; " + eventMark + " "
		}
		under += between + strings.ReplaceAll(words.Clean(m.Label(x.Digits())), " ", words.NoBreak)
	}
	indent := "\n" + strings.Repeat(" ", labels+3)
	under = indent + strings.Join(wrapped(under, width-labels-3), indent) + "\n"
	b.WriteString(strings.ReplaceAll(under, words.NoBreak, " "))
	return words.TrimLines(b.String())
}

// placed puts events into a plot where there is nothing else, and readings over
// all else: a series of asciigraph is two characters wide at the least.
func placed(plot string, marks []report.Mark, curves []curve, x, y picture.Axis, columns int) string {
	lines := strings.Split(plot, "\n")
	put := func(row int, v float64, mark string, over bool) {
		line := []rune(lines[row])
		at := slices.IndexFunc(line, func(r rune) bool { return r == '┤' || r == '┼' }) + 1 + columnOf(x, v, columns)
		for len(line) <= at {
			line = append(line, ' ')
		}
		if over || line[at] == ' ' {
			line[at] = []rune(mark)[0]
		}
		lines[row] = string(line)
	}
	for _, m := range marks {
		for row := range y.Steps + 1 {
			if columnOf(x, m.X, columns) >= 0 {
				put(row, m.X, eventMark, false)
			}
		}
	}
	for _, k := range curves {
		for i := range k.x {
			if at := columnOf(y, k.y[i], y.Steps+1); k.points && at >= 0 && columnOf(x, k.x[i], columns) >= 0 {
				put(y.Steps-at, k.x[i], k.mark, true)
			}
		}
	}
	return strings.Join(lines, "\n")
}

// belowTop leaves gaps where values go beyond the top; 0 is no top.
func belowTop(values []float64, top float64) []float64 {
	if top == 0 {
		return values
	}
	out := gaps(len(values))
	for i, v := range values {
		if v <= top {
			out[i] = v
		}
	}
	return out
}

// gaps are n places where nothing is drawn.
func gaps(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	return out
}

// beyond says what a chart leaves out at its top.
func beyond(c report.Chart) string {
	if c.Beyond == "" {
		return ""
	}
	return " (" + c.Beyond + ")"
}

func unitBehind(d quantity.Display) string {
	if d.Symbol == "" {
		return ""
	}
	return ", " + d.Symbol
}

// legend names the curves where there is more than one thing to tell apart.
func legend(c report.Chart, curves []curve) string {
	if len(curves) < 2 && c.Band == nil {
		return ""
	}
	var names []string
	for _, k := range curves {
		names = append(names, k.mark+" "+k.name)
	}
	if c.Band != nil {
		names = append(names, bandMark+" "+words.Clean(c.Band.Name))
	}
	return "   (" + strings.Join(names, "  ") + ")"
}

func finiteOnly(values []float64) (out []float64) {
	for _, v := range values {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			out = append(out, v)
		}
	}
	return out
}

// columnOf is where a value stands among columns; -1 where it is outside.
func columnOf(a picture.Axis, v float64, columns int) int {
	at := int(math.Round((v - a.Low) / (a.High - a.Low) * float64(columns-1)))
	if math.IsNaN(v) || at < 0 || at >= columns {
		return -1
	}
	return at
}

// resample returns n values evenly spaced over an axis, by straight lines
// between the points; where there is no point there is a gap.
func resample(x, y []float64, a picture.Axis, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = interpolate(x, y, a.Low+(a.High-a.Low)*float64(i)/float64(n-1))
	}
	return out
}

// interpolate is NaN outside the points.
func interpolate(xs, ys []float64, x float64) float64 {
	i := sort.SearchFloat64s(xs, x)
	switch {
	case i == len(xs) || i == 0 && x < xs[0]:
		return math.NaN()
	case xs[i] == x:
		return ys[i]
	}
	f := (x - xs[i-1]) / (xs[i] - xs[i-1])
	return ys[i-1] + f*(ys[i]-ys[i-1])
}
