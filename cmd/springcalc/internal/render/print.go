package render

import (
	"bytes"
	"cmp"
	_ "embed"
	"html/template"
	"io"
	"strings"
	"sync"

	"springcalc/cmd/springcalc/internal/picture"
	"springcalc/cmd/springcalc/internal/report"
)

var (
	//go:embed print.html
	printPage string
	//go:embed print.css
	printCSS string

	// PrintCSS is the style within a printout, by whose hash a strict page may let it pass.
	PrintCSS = printCSS

	printTemplate = sync.OnceValue(func() *template.Template { return template.Must(template.New("print").Parse(printPage)) })
)

// HTML prints a report for handing over: one file with all in it, for A4 and
// Letter alike.
func HTML(w io.Writer, r *report.Report, o Options) error {
	v, err := Viewed(r, o)
	if err != nil {
		return err
	}
	data := struct {
		*View
		CSS                template.CSS
		Charts             []template.HTML
		Sketches           template.HTML
		Version, Day, Line string
		Order              bool       // for a winder: the spring beside its numbers
		Record             []struct{} // rows to be filled in by hand, of a service record
		Taken              string     // what was assumed
		More               int        // doubts that only the whole answer has
	}{View: v, CSS: template.CSS(printCSS), Version: cmp.Or(o.Version, "unreleased"), Day: o.Date.Format("2 January 2006"),
		Line: cmp.Or(o.Line, "springcalc "+r.Command)}
	var sketches bytes.Buffer
	if !o.NoChart {
		svgs, err := picture.Charts(r.Title, r.Charts, o.Family, picture.Paper)
		if err != nil {
			return err
		}
		for _, svg := range svgs {
			data.Charts = append(data.Charts, template.HTML(svg))
		}
	}
	if err := picture.Sketches(&sketches, r.Title, r.Sketches, o.Family, picture.Paper); err != nil {
		return err
	}
	data.Sketches = template.HTML(sketches.String())
	p := printer{Options: o, r: r}
	taken := make([]string, len(r.Assumed))
	for i, a := range r.Assumed {
		taken[i] = a.Key + " = " + p.assumedValue(a)
	}
	data.Taken = strings.Join(taken, "; ")
	const mostDoubts = 5
	if data.More = max(0, len(v.Doubts)-mostDoubts); data.More > 0 {
		v.Doubts = v.Doubts[:mostDoubts]
	}
	if r.Command == "history" {
		data.Record = make([]struct{}, 6)
	}
	for _, s := range r.Sketches {
		data.Order = data.Order || s.Order
	}
	return printTemplate().Execute(w, data)
}

// Inputs are what was stated, for a sheet that is read by others.
func (v *View) Inputs() string {
	parts := make([]string, len(v.Stated))
	for i, s := range v.Stated {
		parts[i] = s.Key + " = " + s.Text
	}
	return strings.Join(parts, "; ")
}
