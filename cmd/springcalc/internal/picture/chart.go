package picture

import (
	"fmt"
	"image/color"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/recorder"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
)

const (
	small, heading = 9 * vg.Length(1), 10 * vg.Length(1) // sizes of text [pt]
	row            = 12 * vg.Length(1)                   // a line of words above a panel [pt]
)

// stack is charts one above the other on one x axis.
type stack struct {
	look   Look
	panels []panel
	left   vg.Length // of the data areas, from the left edge [pt]
	right  vg.Length // of the data areas, from the left edge [pt]
	key    []entry
}

// panel is one chart of a stack.
type panel struct {
	*plot.Plot
	chart          report.Chart // in the units that it is drawn in
	title, remark  string
	x, y           Axis
	xUnit          quantity.Display
	marks          []placedMark
	rows           int       // lines of words of the marks
	height         vg.Length // of the data area [pt]
	bottom, topOff vg.Length // what is beyond the data area below and above [pt]
}

// entry is a line of the key.
type entry struct {
	name  string
	style draw.LineStyle
	ring  bool // a reading
	band  bool
}

// chartFigures stacks charts that follow one another with the same x axis.
func chartFigures(charts []report.Chart, f quantity.Family, look Look) (figures []figure, err error) {
	for len(charts) > 0 {
		n := 1
		for n < len(charts) && charts[n].XName == charts[0].XName && charts[n].XUnit == charts[0].XUnit {
			n++
		}
		s, err := newStack(charts[:n], f, look)
		if err != nil {
			return nil, err
		}
		figures, charts = append(figures, s), charts[n:]
	}
	return figures, nil
}

func newStack(charts []report.Chart, f quantity.Family, look Look) (*stack, error) {
	s := &stack{look: look}
	var xs []float64
	zero := true
	for _, c := range charts {
		in, _, _ := c.In(f)
		xs = append(xs, in.XValues()...)
		zero = zero && c.Zero
	}
	if len(xs) == 0 {
		return nil, fmt.Errorf("the chart %s has no values", charts[0].Key)
	}
	x := AxisOver(xs, 10, zero)
	for i, c := range charts {
		p, err := newPanel(c, f, look, x, i == len(charts)-1)
		if err != nil {
			return nil, err
		}
		switch {
		case len(charts) == 1:
			p.height = 150
		case i == 0:
			p.height = 165
		case c.Band != nil:
			p.height = 95
		default:
			p.height = 66
		}
		if i > 0 && slices.ContainsFunc(charts[:i], func(c report.Chart) bool { return c.Ends != nil }) {
			p.chart.Ends = nil // said above
		}
		if err := p.addCurves(look); err != nil {
			return nil, err
		}
		s.panels = append(s.panels, p)
	}
	s.measure()
	s.collectKey()
	if i := s.firstMarked(); i >= 0 {
		p := &s.panels[i]
		p.marks, p.rows = placeMarks(p, s.left, s.right)
	}
	return s, nil
}

// firstMarked is the panel whose marks have words; -1 where there are none.
func (s *stack) firstMarked() int {
	return slices.IndexFunc(s.panels, func(p panel) bool { return len(p.chart.Marks) > 0 })
}

func newPanel(c report.Chart, f quantity.Family, look Look, x Axis, foot bool) (panel, error) {
	in, xUnit, yUnit := c.In(f)
	p := panel{Plot: plot.New(), chart: in, title: withUnit(capital(in.Name), yUnit), remark: in.Beyond, x: x, xUnit: xUnit}
	var ys []float64
	for _, s := range in.Series {
		ys = append(ys, s.Y...)
	}
	if in.Band != nil {
		ys = append(append(ys, in.Band.Low...), in.Band.High...)
	}
	if in.Top > 0 {
		ys = slices.DeleteFunc(ys, func(v float64) bool { return v > in.Top })
	}
	if len(ys) == 0 {
		return p, fmt.Errorf("the chart %s has no values", c.Key)
	}
	if c.Zero { // a sensor's noise about zero is no reason for an axis below it
		const noise = 0.03 // [-]
		least := -noise * slices.Max(ys)
		for i, v := range ys {
			if v < 0 && v > least {
				ys[i] = 0
			}
		}
	}
	p.y = AxisOver(ys, 5, c.Zero)
	p.BackgroundColor = nil
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = p.x.Low, p.x.High, p.y.Low, p.y.High
	p.X.Tick.Marker, p.Y.Tick.Marker = ticks{p.x, foot}, ticks{p.y, true}
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.LineStyle.Width, a.LineStyle.Color = 0.7, look.Ink
		a.Tick.LineStyle.Width, a.Tick.Length, a.Padding = 0, 4, 0
		a.Tick.Label = words(look.Soft, small, false, a.Tick.Label.XAlign, a.Tick.Label.YAlign)
	}
	p.Y.Tick.Label.XAlign = draw.XRight
	if foot {
		p.X.Label.Text = withUnit(in.XName, xUnit)
		p.X.Label.TextStyle = words(look.Soft, small, false, p.X.Label.TextStyle.XAlign, p.X.Label.TextStyle.YAlign)
		p.X.Label.Position = draw.PosRight
	}
	grid := plotter.NewGrid()
	grid.Horizontal = draw.LineStyle{Color: look.Line, Width: 0.5}
	grid.Vertical = grid.Horizontal
	p.Add(grid)
	return p, nil
}

// addCurves adds band, curves and readings, what is compared with under what is asked.
func (p *panel) addCurves(look Look) error {
	c := &p.chart
	if b := c.Band; b != nil && len(b.X) > 1 {
		edge := pieces(b.X, b.Low, 0)[0]
		back := pieces(b.X, b.High, 0)[0]
		slices.Reverse(back)
		area, err := plotter.NewPolygon(append(edge, back...))
		if err != nil {
			return err
		}
		area.Color, area.LineStyle = look.Band, draw.LineStyle{Color: look.Tried, Width: 0.3}
		p.Add(area)
	}
	for i := len(c.Series) - 1; i >= 0; i-- {
		s := &c.Series[i]
		if s.Points {
			continue
		}
		for _, piece := range pieces(s.X, s.Y, c.Top) {
			line, err := plotter.NewLine(piece)
			if err != nil {
				return err
			}
			line.LineStyle = styleOf(c, i, look)
			p.Add(line)
		}
	}
	for _, s := range c.Series {
		if !s.Points {
			continue
		}
		for _, piece := range pieces(s.X, s.Y, c.Top) {
			for _, g := range []draw.GlyphStyle{{Color: look.Ground, Radius: 2.6, Shape: draw.CircleGlyph{}}, {Color: look.Ink, Radius: 2.6, Shape: draw.RingGlyph{}}} {
				points, err := plotter.NewScatter(piece)
				if err != nil {
					return err
				}
				points.GlyphStyle = g
				p.Add(points)
			}
		}
	}
	if c.Ends != nil {
		p.Add(bracket{c.Ends, p.xUnit, p.x.Digits(), look})
	}
	return nil
}

// styleOf is the line of a curve: the first is what is asked, and has the accent.
func styleOf(c *report.Chart, i int, look Look) draw.LineStyle {
	if c.Series[i].Dashed {
		return draw.LineStyle{Color: look.Soft, Width: 1.2, Dashes: []vg.Length{5, 3.5}}
	}
	n := 0
	for _, s := range c.Series[:i] {
		if !s.Points && !s.Dashed {
			n++
		}
	}
	if n == 0 {
		return draw.LineStyle{Color: look.Tried, Width: 2}
	}
	others := [][]vg.Length{{9, 2.5, 1.5, 2.5}, {1.2, 2.6}, {12, 4}, nil}
	return draw.LineStyle{Color: look.Ink, Width: 1.2, Dashes: others[(n-1)%len(others)]}
}

// pieces cuts a curve where it goes beyond the top; 0 is no top.
func pieces(x, y []float64, top float64) (all []plotter.XYs) {
	open := false
	for i := range x {
		if top > 0 && y[i] > top {
			open = false
			continue
		}
		if !open {
			all, open = append(all, nil), true
		}
		last := len(all) - 1
		all[last] = append(all[last], plotter.XY{X: x[i], Y: y[i]})
	}
	return all
}

// ticks are those of an axis; without labels they still carry the grid, for which
// a label must not be empty.
type ticks struct {
	Axis
	labels bool
}

func (t ticks) Ticks(_, _ float64) (all []plot.Tick) {
	for i := range t.Steps + 1 {
		v, label := t.Low+float64(i)*t.Step, " "
		if t.labels {
			label = strings.Replace(t.Label(v), "-", "−", 1)
		}
		all = append(all, plot.Tick{Value: v, Label: label})
	}
	return all
}

// measure finds edges that all panels share: the time axes of a stack line up
// though their labels take unequal room.
func (s *stack) measure() {
	const nominal = 200
	s.left, s.right = 0, Width-2*margin
	for i := range s.panels {
		p := &s.panels[i]
		c := draw.NewCanvas(&recorder.Canvas{}, Width-2*margin, nominal)
		in := p.DataCanvas(c)
		s.left, s.right = max(s.left, in.Min.X), min(s.right, in.Max.X)
		p.bottom, p.topOff = in.Min.Y-c.Min.Y, c.Max.Y-in.Max.Y
	}
}

// collectKey names what the titles do not: curves where there are several, the
// band, the readings.
func (s *stack) collectKey() {
	firsts := map[string]bool{}
	several := false
	for _, p := range s.panels {
		c := &p.chart
		several = several || len(c.Series) > 1
		if len(c.Series) > 0 {
			firsts[c.Series[0].Name] = true
		}
	}
	add := func(e entry) {
		if !slices.ContainsFunc(s.key, func(o entry) bool { return o.name == e.name }) {
			s.key = append(s.key, e)
		}
	}
	for _, p := range s.panels {
		c := &p.chart
		for i, line := range c.Series {
			if i == 0 && (!several || len(firsts) > 1) {
				continue // the title names it
			}
			add(entry{name: line.Name, style: styleOf(c, i, s.look), ring: line.Points})
		}
	}
	for _, p := range s.panels {
		if p.chart.Band != nil {
			add(entry{name: p.chart.Band.Name, band: true})
		}
	}
}

const (
	keyHeight = 18 * vg.Length(1)
	between   = 12 * vg.Length(1) // panels [pt]
)

// keyRows lays the key out in rows.
func (s *stack) keyRows() (rows [][]entry) {
	sty, x := words(s.look.Ink, small, false, draw.XLeft, draw.YCenter), vg.Length(0)
	for _, e := range s.key {
		w := 28 + sty.Width(e.name) + 18
		if len(rows) == 0 || x+w > s.right-s.left+18 {
			rows, x = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], e)
		x += w
	}
	return rows
}

// above is what a panel has above its data area [pt].
func (p *panel) above() vg.Length { return 18 + row*vg.Length(p.rows) }

func (s *stack) width() vg.Length { return Width - 2*margin }

func (s *stack) height() vg.Length {
	h := keyHeight * vg.Length(len(s.keyRows()))
	for i := range s.panels {
		p := &s.panels[i]
		h += p.above() + p.height
		if i < len(s.panels)-1 {
			h += between
		} else {
			h += p.bottom
		}
	}
	return h
}

func (s *stack) paint(c draw.Canvas) {
	top := c.Max.Y
	for _, r := range s.keyRows() {
		s.paintKey(c, r, top-keyHeight/2)
		top -= keyHeight
	}
	for i := range s.panels {
		p := &s.panels[i]
		top -= p.above()
		data := vg.Rectangle{Min: vg.Point{X: c.Min.X + s.left, Y: top - p.height}, Max: vg.Point{X: c.Min.X + s.right, Y: top}}
		s.paintPanel(c, p, data)
		top -= p.height + between
	}
}

// paintPanel draws a panel with its data area where it is wanted.
func (s *stack) paintPanel(c draw.Canvas, p *panel, data vg.Rectangle) {
	title := words(s.look.Ink, heading, true, draw.XLeft, draw.YBottom)
	at := vg.Point{X: c.Min.X, Y: data.Max.Y + 6 + row*vg.Length(p.rows)}
	c.FillText(title, at, p.title)
	if p.remark != "" {
		at.X += title.Width(p.title) + 8
		c.FillText(words(s.look.Soft, small, false, draw.XLeft, draw.YBottom), at, p.remark)
	}
	nominal := draw.NewCanvas(&recorder.Canvas{}, data.Max.X-data.Min.X+100, 200)
	in := p.DataCanvas(nominal)
	full := c
	full.Rectangle = vg.Rectangle{
		Min: vg.Point{X: data.Min.X - (in.Min.X - nominal.Min.X), Y: data.Min.Y - p.bottom},
		Max: vg.Point{X: data.Max.X + nominal.Max.X - in.Max.X, Y: data.Max.Y + p.topOff},
	}
	p.Draw(full)
	area := p.DataCanvas(full)
	x, _ := p.Transforms(&area)
	for _, m := range p.chart.Marks {
		c.StrokeLine2(draw.LineStyle{Color: s.look.Ink, Width: 0.6, Dashes: []vg.Length{0.8, 2.4}}, x(m.X), data.Min.Y, x(m.X), data.Max.Y)
	}
	for _, m := range p.marks {
		c.FillText(words(s.look.Ink, small, false, draw.XLeft, draw.YBottom), vg.Point{X: c.Min.X + m.x, Y: data.Max.Y + 2 + row*vg.Length(m.row)}, m.text)
	}
}

// placedMark is the words of a mark with their place.
type placedMark struct {
	text string
	x, w vg.Length // left end and width [pt]
	row  int       // 0 next to the panel
}

// placeMarks finds room for the words of marks: over their line, beside it where a
// neighbour is near, or a row higher.
func placeMarks(p *panel, left, right vg.Length) (placed []placedMark, rows int) {
	sty := words(color.Black, small, false, draw.XLeft, draw.YBottom)
	at := func(v float64) vg.Length {
		return left + (right-left)*vg.Length((v-p.x.Low)/(p.x.High-p.x.Low))
	}
	list := slices.Clone(p.chart.Marks)
	slices.SortStableFunc(list, func(a, b report.Mark) int { return int(at(a.X) - at(b.X)) })
	for i, m := range list {
		label := m.Label(p.x.Digits())
		w := sty.Width(label)
		tries := []vg.Length{at(m.X) - w/2, at(m.X) + 2, at(m.X) - w - 2}
		if i+1 < len(list) && at(list[i+1].X)-at(m.X) < w {
			tries = []vg.Length{at(m.X) - w + 2, at(m.X) - w/2}
		}
	search:
		for r := range len(list) {
			for _, x := range tries {
				x = min(max(0, x), Width-2*margin-w)
				if !slices.ContainsFunc(placed, func(o placedMark) bool { return o.row == r && x < o.x+o.w+4 && o.x < x+w+4 }) {
					placed, rows = append(placed, placedMark{label, x, w, r}), max(rows, r+1)
					break search
				}
			}
		}
	}
	return placed, rows
}

// paintKey draws a row of the key, centred at a height.
func (s *stack) paintKey(c draw.Canvas, entries []entry, y vg.Length) {
	sty, x := words(s.look.Ink, small, false, draw.XLeft, draw.YCenter), c.Min.X+s.left
	for _, e := range entries {
		switch {
		case e.band:
			r := []vg.Point{{X: x, Y: y - 4}, {X: x + 22, Y: y - 4}, {X: x + 22, Y: y + 4}, {X: x, Y: y + 4}, {X: x, Y: y - 4}}
			c.FillPolygon(s.look.Band, r)
			c.StrokeLines(draw.LineStyle{Color: s.look.Tried, Width: 0.3}, r)
		case e.ring:
			c.DrawGlyph(draw.GlyphStyle{Color: s.look.Ink, Radius: 2.6, Shape: draw.RingGlyph{}}, vg.Point{X: x + 11, Y: y})
		default:
			c.StrokeLine2(e.style, x, y, x+22, y)
		}
		c.FillText(sty, vg.Point{X: x + 28, Y: y}, e.name)
		x += 28 + sty.Width(e.name) + 18
	}
}

// bracket tells from when to when the cases of a band end.
type bracket struct {
	*report.Ending
	unit   quantity.Display
	digits int
	look   Look
}

func (e bracket) Plot(c draw.Canvas, p *plot.Plot) {
	x, _ := p.Transforms(&c)
	y, s := c.Min.Y+9, draw.LineStyle{Color: e.look.Ink, Width: 1.2}
	a, b := max(x(e.Low), c.Min.X), min(x(e.High), c.Max.X)
	for _, l := range [][4]vg.Length{{a, y, b, y}, {a, y - 3.5, a, y + 3.5}, {b, y - 3.5, b, y + 3.5}} {
		c.StrokeLine2(s, l[0], l[1], l[2], l[3])
	}
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', e.digits, 64) }
	said := strings.TrimSpace("ends " + number(e.Low) + " to " + number(e.High) + " " + e.unit.Symbol)
	sty, at := words(e.look.Ink, small, false, draw.XRight, draw.YCenter), vg.Point{X: a - 4, Y: y}
	if sty.Width(said) > a-c.Min.X-8 {
		sty.XAlign, sty.YAlign, at = draw.XLeft, draw.YBottom, vg.Point{X: a, Y: y + 4}
	}
	c.FillText(sty, at, said)
}

// withUnit puts a unit behind a name.
func withUnit(name string, unit quantity.Display) string {
	if unit.Symbol == "" {
		return name
	}
	return name + ", " + unit.Symbol
}

// capital makes the first letter of a title a capital.
func capital(s string) string {
	for i, r := range s {
		return string(unicode.ToUpper(r)) + s[i+len(string(r)):]
	}
	return s
}
