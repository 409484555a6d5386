package render

import (
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/guptarohit/asciigraph"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/words"
)

// curveMarks tell the curves of a chart apart without colour; the first is drawn as a line.
var curveMarks = []string{"─", "*", "o", "+", "x"}

const (
	pointMark = "o" // a reading
	bandMark  = "·" // the shade of a band
	eventMark = "┊" // a mark on the x axis
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
	xUnit, _ := c.XUnit.In(f, 0)
	yUnit, _ := c.Unit.In(f, 0)
	in := func(unit quantity.Display, si []float64) []float64 {
		out := make([]float64, len(si))
		for i, v := range si {
			out[i] = unit.Of(v)
		}
		return out
	}
	var curves []curve
	for _, s := range c.Series {
		k := curve{name: clean(s.Name), x: in(xUnit, s.X), y: in(yUnit, s.Y), points: s.Points, mark: curveMarks[len(curves)%len(curveMarks)]}
		if s.Points {
			k.mark = pointMark
		}
		curves = append(curves, k)
	}
	var xs, ys []float64
	for _, k := range curves {
		xs, ys = append(xs, k.x...), append(ys, k.y...)
	}
	var band *report.Area
	if c.Band != nil {
		band = &report.Area{Name: c.Band.Name, X: in(xUnit, c.Band.X), Low: in(yUnit, c.Band.Low), High: in(yUnit, c.Band.High)}
		xs, ys = append(xs, band.X...), append(append(ys, band.Low...), band.High...)
	}
	xs, ys = finiteOnly(xs), finiteOnly(ys)
	if len(xs) == 0 || len(ys) == 0 {
		return ""
	}
	x, y := axisOver(xs, 6, c.Zero), axisOver(ys, height, c.Zero)
	labels := max(len(y.label(y.high)), len(y.label(y.low)))
	per := max(1, (width-labels-6)/x.steps) // characters a step of the x axis; 6 for the axis and the last label
	columns := per*x.steps + 1
	rows := y.steps
	var plot [][]float64
	var chars []asciigraph.CharSet
	add := func(values []float64, chars1 asciigraph.CharSet) {
		plot, chars = append(plot, values), append(chars, chars1)
	}
	shade := asciigraph.CreateCharSet(bandMark)
	if band != nil {
		low, high := resample(band.X, band.Low, x, columns), resample(band.X, band.High, x, columns)
		for r := range rows + 1 {
			level := y.low + float64(r)*(y.high-y.low)/float64(rows)
			half := (y.high - y.low) / float64(rows) / 2
			line, any := make([]float64, columns), false
			for i := range line {
				line[i] = math.NaN()
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
		if k.points {
			continue
		}
		set := asciigraph.DefaultCharSet
		if k.mark != curveMarks[0] {
			set = asciigraph.CreateCharSet(k.mark)
		}
		add(resample(k.x, k.y, x, columns), set)
	}
	if len(plot) == 0 {
		add(slices.Repeat([]float64{math.NaN()}, columns), shade)
	}
	options := []asciigraph.Option{
		asciigraph.Height(rows), asciigraph.Width(columns),
		asciigraph.LowerBound(y.low), asciigraph.UpperBound(y.high),
		asciigraph.YAxisValueFormatter(y.label),
		asciigraph.XAxisRange(x.low, x.high), asciigraph.XAxisTickCount(x.steps + 1),
		asciigraph.XAxisValueFormatter(x.label),
		asciigraph.SeriesChars(chars...),
	}
	var b strings.Builder
	for _, line := range wrapped(c.Name+unitBehind(yUnit)+legend(c, curves), width) {
		b.WriteString(line + "\n")
	}
	lines := strings.Split(asciigraph.PlotMany(plot, options...), "\n")
	for _, m := range c.Marks {
		for r := range rows + 1 {
			put(lines[r], x.column(xUnit.Of(m.X), columns), eventMark, &lines[r])
		}
	}
	for _, k := range curves {
		for i := 0; k.points && i < len(k.x); i++ {
			if r := y.column(k.y[i], rows+1); r >= 0 {
				put(lines[rows-r], x.column(k.x[i], columns), k.mark, &lines[rows-r])
			}
		}
	}
	b.WriteString(strings.Join(lines, "\n"))
	under := strings.Repeat(" ", labels+3) + c.XName + unitBehind(xUnit)
	if c.Ends != nil {
		digits := x.digits()
		under += "; ends between " + xUnit.Number(c.Ends.Low, digits) + " and " + xUnit.Number(c.Ends.High, digits) + " (95 %)"
	}
	b.WriteString("\n" + under + "\n")
	if len(c.Marks) > 0 {
		names := make([]string, len(c.Marks))
		for i, m := range c.Marks {
			names[i] = clean(m.Name)
		}
		indent := strings.Repeat(" ", labels+3)
		b.WriteString(indent + strings.Join(wrapped(eventMark+" "+strings.Join(names, "; "), width-len(indent)), "\n"+indent) + "\n")
	}
	return words.TrimLines(b.String())
}

// put puts a mark at a column of a line of a plot, an event only where nothing else is drawn.
func put(line string, column int, mark string, to *string) {
	cells := []rune(line)
	at := slices.IndexFunc(cells, func(r rune) bool { return r == '┤' || r == '┼' }) + 1 + column
	if column < 0 {
		return
	}
	for len(cells) <= at {
		cells = append(cells, ' ')
	}
	if mark != eventMark || cells[at] == ' ' || string(cells[at]) == bandMark {
		cells[at] = []rune(mark)[0]
	}
	*to = string(cells)
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
		names = append(names, bandMark+" "+clean(c.Band.Name))
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

// axis is a range in round steps.
type axis struct {
	low, high, step float64
	steps           int
}

// axisOver returns the axis over all values, and over zero where that is wanted,
// with at most most steps; its end is the round number next to the data.
func axisOver(values []float64, most int, zero bool) axis {
	low, high := values[0], values[0]
	for _, v := range values {
		low, high = min(low, v), max(high, v)
	}
	if zero {
		low, high = min(low, 0), max(high, 0)
	}
	if high-low < 1e-9*max(1, math.Abs(high)) { // nothing that could be read off
		high = low + 1
	}
	step := math.Pow(10, math.Floor(math.Log10((high-low)/float64(most))))
	for _, factor := range []float64{1, 2, 5, 10, 20} {
		a := axis{step: factor * step}
		from, to := math.Floor(low/a.step+1e-9), math.Ceil(high/a.step-1e-9)
		a.low, a.high, a.steps = from*a.step, to*a.step, int(to-from)
		if a.steps <= most && a.steps > 0 {
			return a
		}
	}
	return axis{low, high, high - low, 1}
}

// digits are those after the point that the steps of an axis need.
func (a axis) digits() int { return max(0, int(math.Ceil(-math.Log10(a.step)-1e-9))) }

// label prints a number of the axis.
func (a axis) label(v float64) string {
	return strconv.FormatFloat(math.Round(v/a.step)*a.step+0, 'f', a.digits(), 64)
}

// column is where a value stands among columns; -1 where it is outside.
func (a axis) column(v float64, columns int) int {
	at := int(math.Round((v - a.low) / (a.high - a.low) * float64(columns-1)))
	if math.IsNaN(v) || at < 0 || at >= columns {
		return -1
	}
	return at
}

// resample returns n values evenly spaced over an axis, by straight lines
// between the points; where there is no point there is a gap.
func resample(x, y []float64, a axis, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = interpolate(x, y, a.low+(a.high-a.low)*float64(i)/float64(n-1))
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
