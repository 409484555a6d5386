package picture

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
)

// metre is its length on paper [pt]: a picture of 1:1 can be laid a rule on.
const metre = 72 / 0.0254 * vg.Length(1)

// spring is a spring drawn to scale, upright on its seat.
type spring struct {
	report.Sketch
	family quantity.Family
	look   Look
	over   vg.Length // one over the scale: 1, 2, 5 …
}

func sketchFigures(list []report.Sketch, f quantity.Family, look Look) (figures []figure) {
	for _, s := range list {
		p := &spring{Sketch: s, family: f, look: look}
		high := vg.Length(500) // room for a spring [pt]
		if s.Order {
			high = 570
		}
		for _, p.over = range []vg.Length{1, 2, 5, 10, 20, 50} {
			if p.columns()*p.column() <= Width-2*margin && p.free() <= high {
				break
			}
		}
		figures = append(figures, p)
	}
	return figures
}

// on is a length [m] on paper [pt].
func (p *spring) on(length float64) vg.Length { return vg.Length(length) * metre / p.over }

func (p *spring) free() vg.Length { return p.on(p.Lengths[0].Length) }

// columns is how many springs stand side by side.
func (p *spring) columns() vg.Length {
	if p.Order {
		return 1
	}
	return vg.Length(len(p.Lengths))
}

// column is how wide one spring is with its words [pt].
func (p *spring) column() vg.Length {
	if p.Order {
		return p.on(p.Outside) + 86
	}
	return max(p.on(p.Outside)+16, 92)
}

const (
	below = 34 * vg.Length(1) // rule and scale under a spring [pt]
	over  = 44 * vg.Length(1) // words above springs side by side [pt]
)

// ruleWidth is the room that the rule takes with its words [pt].
const ruleWidth = 200 * vg.Length(1)

func (p *spring) width() vg.Length { return max(p.columns()*p.column(), ruleWidth) }

func (p *spring) height() vg.Length {
	if p.Order {
		return p.free() + 16 + below + 20
	}
	return p.free() + over + below
}

func (p *spring) paint(c draw.Canvas) {
	seat := c.Min.Y + below
	if p.Order {
		seat += 20
		p.coils(c, vg.Point{X: c.Min.X, Y: seat}, p.Lengths[0].Length)
		p.levels(c, seat)
	} else {
		for i, l := range p.Lengths {
			at := vg.Point{X: c.Min.X + vg.Length(i)*p.column(), Y: seat}
			p.coils(c, at, l.Length)
			y := seat + p.on(l.Length) + 8
			c.FillText(words(p.look.Soft, small, false, draw.XLeft, draw.YBottom), vg.Point{X: at.X, Y: y}, p.amount(l.Force, quantity.InN, 0))
			c.FillText(words(p.look.Ink, small, false, draw.XLeft, draw.YBottom), vg.Point{X: at.X, Y: y + row}, p.amount(l.Length, quantity.InMM, 1))
			c.FillText(words(p.look.Ink, heading, true, draw.XLeft, draw.YBottom), vg.Point{X: at.X, Y: y + 2*row}, l.Name)
		}
	}
	p.rule(c)
}

func (p *spring) amount(si float64, unit quantity.Display, digits int) string {
	return report.Of(si, unit, digits).In(p.family)
}

// height above the seat [m] of the middle of the wire after some turns.
func (p *spring) rise(length, turns float64) float64 {
	dead := (p.Total - p.Active) / 2
	first, end := p.Wire/2, dead*p.Wire // of the first coil, and what the end coils take
	if p.Ground {
		first, end = 0.28*p.Wire, max(0, dead*p.Wire-0.28*p.Wire)
	}
	switch {
	case turns < dead:
		return first + end*turns/dead
	case turns > p.Total-dead:
		return length - first - end*(p.Total-turns)/dead
	}
	return first + end + (length-2*first-2*end)*(turns-dead)/max(p.Active, 1e-9)
}

// coils draws a spring of a length with its seat at a point: the halves of the
// turns behind, then those in front, each an outline with its filling.
func (p *spring) coils(c draw.Canvas, at vg.Point, length float64) {
	radius := (p.Outside - p.Wire) / 2
	half := func(from, to float64) (path []vg.Point) {
		const steps = 24
		for i := range steps + 1 {
			t := from + (to-from)*float64(i)/steps
			path = append(path, vg.Point{
				X: at.X + p.on(p.Outside/2-radius*math.Cos(2*math.Pi*t)),
				Y: at.Y + p.on(p.rise(length, t)),
			})
		}
		return path
	}
	back := p.look.Line
	for _, front := range []bool{false, true} {
		for n := 0.0; n < p.Total; n++ {
			from, filling := n, p.look.Ground
			if !front {
				from, filling = n+0.5, back
			}
			if from < p.Total {
				p.wire(c, half(from, min(from+0.5, p.Total)), filling)
			}
		}
	}
	if p.Ground { // what the grinding takes away
		c.SetColor(p.look.Ground)
		for _, y := range []vg.Length{at.Y - p.on(p.Wire), at.Y + p.on(length)} {
			c.Fill(vg.Rectangle{Min: vg.Point{X: at.X - 1, Y: y}, Max: vg.Point{X: at.X + p.on(p.Outside) + 1, Y: y + p.on(p.Wire)}}.Path())
		}
	}
	for _, y := range []vg.Length{at.Y, at.Y + p.on(length)} {
		c.StrokeLine2(draw.LineStyle{Color: p.look.Ink, Width: 0.9}, at.X, y, at.X+p.on(p.Outside), y)
	}
}

// wire draws a piece of wire with round ends.
func (p *spring) wire(c draw.Canvas, path []vg.Point, filling color.Color) {
	const outline = 0.6 // [pt]
	for _, coat := range []struct {
		width  vg.Length
		colour color.Color
	}{{p.on(p.Wire), p.look.Ink}, {p.on(p.Wire) - 2*outline, filling}} {
		c.StrokeLines(draw.LineStyle{Color: coat.colour, Width: coat.width}, path)
		for _, end := range []vg.Point{path[0], path[len(path)-1]} {
			c.DrawGlyph(draw.GlyphStyle{Color: coat.colour, Radius: coat.width / 2, Shape: draw.CircleGlyph{}}, end)
		}
	}
}

// levels shows a winder the free length, the diameter and where the spring stands
// under its loads.
func (p *spring) levels(c draw.Canvas, seat vg.Length) {
	line := draw.LineStyle{Color: p.look.Ink, Width: 0.6}
	dashed := draw.LineStyle{Color: p.look.Ink, Width: 0.8, Dashes: []vg.Length{5, 3.5}}
	wide := p.on(p.Outside)
	x := c.Min.X + wide + 14
	top := seat + p.free()
	c.StrokeLine2(line, c.Min.X+wide, top, x+6, top)
	c.StrokeLine2(line, c.Min.X+wide, seat, x+6, seat)
	p.arrow(c, vg.Point{X: x, Y: seat}, vg.Point{X: x, Y: top})
	sty := words(p.look.Ink, small, false, draw.XLeft, draw.YBottom)
	for i, l := range p.Lengths {
		said := l.Symbol + " " + p.amount(l.Length, quantity.InMM, 1)
		y := seat + p.on(l.Length)
		if i == 0 {
			c.FillText(sty, vg.Point{X: x + 8, Y: y - row}, said)
			continue
		}
		c.StrokeLine2(dashed, c.Min.X+wide+4, y, x+72, y)
		c.FillText(sty, vg.Point{X: x + 8, Y: y + 2}, said)
	}
	y := seat - 12
	for _, edge := range []vg.Length{c.Min.X, c.Min.X + wide} {
		c.StrokeLine2(line, edge, seat, edge, y-3)
	}
	p.arrow(c, vg.Point{X: c.Min.X, Y: y}, vg.Point{X: c.Min.X + wide, Y: y})
	sty.YAlign = draw.YTop
	c.FillText(sty, vg.Point{X: c.Min.X, Y: y - 3}, "De "+p.amount(p.Outside, quantity.InMM, 2)+", d "+p.amount(p.Wire, quantity.InMM, 2))
}

// arrow draws a line of a dimension with a head at each end.
func (p *spring) arrow(c draw.Canvas, a, b vg.Point) {
	c.StrokeLine2(draw.LineStyle{Color: p.look.Ink, Width: 0.6}, a.X, a.Y, b.X, b.Y)
	along := vg.Point{X: (b.X - a.X), Y: (b.Y - a.Y)}
	size := vg.Length(math.Hypot(float64(along.X), float64(along.Y)))
	u := vg.Point{X: along.X / size * 5, Y: along.Y / size * 5}
	for _, end := range []struct {
		at   vg.Point
		sign vg.Length
	}{{a, 1}, {b, -1}} {
		foot := vg.Point{X: end.at.X + end.sign*u.X, Y: end.at.Y + end.sign*u.Y}
		c.FillPolygon(p.look.Ink, []vg.Point{end.at, {X: foot.X - u.Y/3, Y: foot.Y + u.X/3}, {X: foot.X + u.Y/3, Y: foot.Y - u.X/3}, end.at})
	}
}

// rule says the scale and has a rule to check a print by.
func (p *spring) rule(c draw.Canvas) {
	const steps = 5
	step, unit := 0.01, quantity.InMM // [m]
	if p.family == quantity.Inch {
		step = 0.0254 / 2
	}
	line := draw.LineStyle{Color: p.look.Ink, Width: 0.6}
	y := c.Min.Y + 18
	long := vg.Length(steps*step) * metre
	c.StrokeLine2(line, c.Min.X, y, c.Min.X+long, y)
	for i := range steps + 1 {
		x, tall := c.Min.X+long*vg.Length(i)/steps, vg.Length(2)
		if i == 0 || i == steps {
			tall = 4
		}
		c.StrokeLine2(line, x, y-tall, x, y+tall)
	}
	said := "drawn 1:1"
	if p.over > 1 {
		said = "drawn 1:" + quantity.Brief(float64(p.over), 1, quantity.DimNumber)
	}
	if p.Name != "" {
		said = p.Name + ", " + said
	}
	c.FillText(words(p.look.Ink, small, false, draw.XLeft, draw.YTop), vg.Point{X: c.Min.X, Y: y - 5},
		said+"; this line is "+p.amount(steps*step, unit, 0)+" long")
}
