// Package picture draws what a report has to be looked at: its charts, and its
// springs to scale. One drawing serves files (SVG, PNG), printouts and the page.
// A chart has one accent, for what is asked; line styles tell curves apart, so
// that nothing is lost in black and white. It knows no physics.
package picture

import (
	"bytes"
	"errors"
	"fmt"
	"html"
	"image/color"
	"io"
	"regexp"
	"strconv"
	"strings"

	xfont "golang.org/x/image/font"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
)

// Look is the colours of a picture.
type Look struct {
	Ground, Ink, Soft, Line color.NRGBA // paper, text and marks, second text, grid
	Tried, Band             color.NRGBA // the one accent: the curve that is asked for, and its band
}

// The looks. Bands are opaque, so that they print and convert alike.
var (
	Screen = Look{Ground: rgb(0xffffff), Ink: rgb(0x14191c), Soft: rgb(0x4a545a), Line: rgb(0xcdd4d5), Tried: rgb(0x7a1f6d), Band: rgb(0xe9d9e6)}
	Dark   = Look{Ground: rgb(0x1a2023), Ink: rgb(0xeef2f2), Soft: rgb(0xb6c1c5), Line: rgb(0x3d484d), Tried: rgb(0xf0a8e4), Band: rgb(0x453b4a)}
	Paper  = Look{Ground: rgb(0xffffff), Ink: rgb(0x000000), Soft: rgb(0x333333), Line: rgb(0xcccccc), Tried: rgb(0x000000), Band: rgb(0xe2e2e2)}
)

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{uint8(hex >> 16), uint8(hex >> 8), uint8(hex), 255}
}

// ErrNothing says that a report has nothing to be drawn.
var ErrNothing = errors.New("this answer has no chart and no spring to draw")

// Width is the most that a picture takes: what fits between the margins of A4 and Letter.
const Width = 500 * vg.Length(1) // [pt]

// figure is a part of a picture that stands above or below others.
type figure interface {
	width() vg.Length
	height() vg.Length
	paint(c draw.Canvas)
}

// SVG writes all that a report has to be looked at.
func SVG(w io.Writer, r *report.Report, f quantity.Family, look Look) error {
	charts, err := chartFigures(r.Charts, f, look)
	if err != nil {
		return err
	}
	return writeSVG(w, r.Title, look, append(charts, sketchFigures(r.Sketches, f, look)...))
}

// Charts draws the charts alone, those with one x axis in one picture.
func Charts(title string, list []report.Chart, f quantity.Family, look Look) (svgs []string, err error) {
	figures, err := chartFigures(list, f, look)
	for _, one := range figures {
		var b bytes.Buffer
		if err := writeSVG(&b, title, look, []figure{one}); err != nil {
			return nil, err
		}
		svgs = append(svgs, b.String())
	}
	return svgs, err
}

// Sketches writes springs to scale.
func Sketches(w io.Writer, title string, list []report.Sketch, f quantity.Family, look Look) error {
	if len(list) == 0 {
		return nil
	}
	return writeSVG(w, title, look, sketchFigures(list, f, look))
}

// PNG writes the same picture as SVG, for what cannot show that.
func PNG(w io.Writer, r *report.Report, f quantity.Family, look Look) error {
	const dpi = 144
	charts, err := chartFigures(r.Charts, f, look)
	if err != nil {
		return err
	}
	figures := append(charts, sketchFigures(r.Sketches, f, look)...)
	if len(figures) == 0 {
		return ErrNothing
	}
	w0, h := size(figures)
	c := vgimg.NewWith(vgimg.UseWH(w0, h), vgimg.UseDPI(dpi))
	paintAll(draw.New(c), look, figures)
	_, err = vgimg.PngCanvas{Canvas: c}.WriteTo(w)
	return err
}

// margin is free around a picture, gap between its figures.
const margin, gap = 8 * vg.Length(1), 20 * vg.Length(1) // [pt]

// size is that of a picture of figures.
func size(figures []figure) (w, h vg.Length) {
	h = 2*margin - gap
	for _, f := range figures {
		w, h = max(w, f.width()+2*margin), h+f.height()+gap
	}
	return w, h
}

func paintAll(c draw.Canvas, look Look, figures []figure) {
	c.SetColor(look.Ground)
	c.Fill(c.Rectangle.Path())
	top := c.Max.Y - margin
	for _, f := range figures {
		at := c
		at.Rectangle = vg.Rectangle{Min: vg.Point{X: c.Min.X + margin, Y: top - f.height()}, Max: vg.Point{X: c.Max.X - margin, Y: top}}
		f.paint(at)
		top -= f.height() + gap
	}
}

// writeSVG writes figures with a title for those who do not see them. What
// gonum/plot leaves out is put right: other fonts where Liberation is not there,
// and attributes in place of styles, which a strict page refuses.
func writeSVG(w io.Writer, title string, look Look, figures []figure) error {
	if len(figures) == 0 {
		return ErrNothing
	}
	c := vgsvg.New(size(figures))
	paintAll(draw.New(c), look, figures)
	var raw bytes.Buffer
	if _, err := c.WriteTo(&raw); err != nil {
		return err
	}
	svg := styleAttr.ReplaceAllStringFunc(raw.String(), attributes)
	svg = textElement.ReplaceAllStringFunc(svg, held)
	at := strings.Index(svg, "<svg")
	open := at + strings.IndexByte(svg[at:], '>')
	if at < 0 || open < at {
		return errors.New("picture: no svg element")
	}
	_, err := io.WriteString(w, svg[at:open]+` role="img"><title>`+html.EscapeString(title)+"</title>"+svg[open+1:])
	return err
}

var (
	styleAttr   = regexp.MustCompile(`style="([^"]*)"`)
	textElement = regexp.MustCompile(`<text ([^>]*font-weight="(\w+)"[^>]*font-size="([\d.]+)px"[^>]*)>([^<]*)</text>`)
)

// attributes writes the declarations of a style as attributes.
func attributes(style string) string {
	var out []string
	for decl := range strings.SplitSeq(styleAttr.FindStringSubmatch(style)[1], ";") {
		if name, value, ok := strings.Cut(strings.TrimSpace(decl), ":"); ok {
			if name == "font-family" {
				value = "'Liberation Sans',Arial,Helvetica,sans-serif"
			}
			out = append(out, fmt.Sprintf(`%s="%s"`, name, value))
		}
	}
	return strings.Join(out, " ")
}

// held gives a text the length that it was laid out with, whatever face it is
// shown in; an empty one goes.
func held(element string) string {
	m := textElement.FindStringSubmatch(element)
	said := html.UnescapeString(m[4])
	if strings.TrimSpace(said) == "" {
		return ""
	}
	size, err := strconv.ParseFloat(m[3], 64)
	if err != nil {
		return element
	}
	length := words(nil, vg.Points(size), m[2] == "bold", draw.XLeft, draw.YBottom).Width(said)
	return fmt.Sprintf(`<text %s textLength="%.2f" lengthAdjust="spacingAndGlyphs">%s</text>`, m[1], length.Points(), m[4])
}

// handler measures and places text: the faces come with the program, so that a
// picture is the same on every machine.
var handler = func() text.Handler {
	plot.DefaultFont = font.Font{Typeface: "Liberation", Variant: "Sans"}
	h := text.Plain{Fonts: font.NewCache(liberation.Collection())}
	plot.DefaultTextHandler = h
	return h
}()

// words is a style of text.
func words(c color.Color, size vg.Length, bold bool, x draw.XAlignment, y draw.YAlignment) text.Style {
	f := font.Font{Typeface: "Liberation", Variant: "Sans", Size: size}
	if bold {
		f.Weight = xfont.WeightBold
	}
	return text.Style{Color: c, Font: f, Handler: handler, XAlign: x, YAlign: y}
}
