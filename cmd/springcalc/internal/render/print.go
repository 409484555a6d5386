package render

import (
	"bytes"
	"cmp"
	_ "embed"
	"html/template"
	"io"
	"strings"

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

	printTemplate = template.Must(template.New("print").Parse(printPage))
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
		Charts             template.HTML
		Sketches           template.HTML
		Version, Day, Line string
		Order              bool // for a winder: the spring beside its numbers
	}{View: v, CSS: template.CSS(printCSS), Version: cmp.Or(o.Version, "unreleased"), Day: o.Date.Format("2 January 2006"),
		Line: cmp.Or(o.Line, "springcalc "+r.Command)}
	var charts, sketches bytes.Buffer
	if !o.NoChart {
		if err := picture.Charts(&charts, r.Title, r.Charts, o.Family, picture.Paper); err != nil {
			return err
		}
	}
	if err := picture.Sketches(&sketches, r.Title, r.Sketches, o.Family, picture.Paper); err != nil {
		return err
	}
	data.Charts, data.Sketches = template.HTML(charts.String()), template.HTML(sketches.String())
	for _, s := range r.Sketches {
		data.Order = data.Order || s.Order
	}
	return printTemplate.Execute(w, data)
}

// Inputs are what was stated, for a sheet that is read by others.
func (v *View) Inputs() string {
	parts := make([]string, len(v.Stated))
	for i, s := range v.Stated {
		parts[i] = s.Key + " = " + s.Text
	}
	return strings.Join(parts, "; ")
}
