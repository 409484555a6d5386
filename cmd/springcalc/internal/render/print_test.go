package render

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/testbrowser"
)

func TestMain(m *testing.M) { testbrowser.Main(m) }

func printout(t testing.TB, r *report.Report, o Options) string {
	t.Helper()
	var b bytes.Buffer
	if err := HTML(&b, r, o); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// ordered is a report with a spring for a winder.
func ordered() *report.Report {
	r := sample()
	r.Charts = nil
	r.Sketches = []report.Sketch{{Wire: 7e-3, Outside: 49e-3, Active: 12, Total: 14, Ground: true, Order: true, Lengths: []report.SketchedState{
		{Name: "free", Symbol: "L0", Length: 0.2}, {Name: "at rest", Symbol: "L1", Length: 0.139, Force: 812}}}}
	return r
}

// TestPrintout: all that has to be handed over is in one file, as text, and
// nothing that it fetches or runs.
func TestPrintout(t *testing.T) {
	r := sample()
	r.Title, r.Input[0].Text = `Shot: <b>a & "group"</b>`, "14 g <script>alert(1)</script>"
	out := printout(t, r, Options{Date: day, Version: "v1", Line: "springcalc shot 'my sheet.toml'"})
	for _, want := range []string{"Shot: &lt;b&gt;a &amp; &#34;group&#34;&lt;/b&gt;", "4 May 2031", "springcalc v1", "Peak 6.46 bar.", "<b>6.5</b> bar", "95 %: 6.1 to 6.9",
		"<svg", ">Pressure, bar<", "end of stroke | &lt;done&gt;", "coffee.dose = 14 g &lt;script&gt;", "piston.stroke = 25.4 mm (20 mm to 30 mm). Their sources",
		"The puck was not wetted through.", "Hot water.", "measured and checked by", "springcalc shot &#39;my sheet.toml&#39;"} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	for _, not := range []string{"<script", "http://", "src=", "@import", "url(", "style="} {
		if i := strings.Index(strings.ReplaceAll(strings.ReplaceAll(out, "font-style=", ""), "http://www.w3.org/", ""), not); i >= 0 {
			t.Errorf("%q in the printout", not)
		}
	}
	short := sample()
	short.Tables[0].Short = true
	for name, r := range map[string]*report.Report{"plain": short, "order": ordered()} {
		r.Tables[0].Short = true
		if out := printout(t, r, Options{}); !strings.Contains(out, "<h2>Events</h2>") || !strings.Contains(out, ">12.0</td>") || strings.Contains(out, "Further results") {
			t.Errorf("%s: no short table in\n%s", name, out)
		}
	}
	if inch := printout(t, r, Options{Family: quantity.Inch}); !strings.Contains(inch, "<b>94</b> psi") || !strings.Contains(inch, ">Pressure, psi<") {
		t.Errorf("not in inch units:\n%s", inch)
	}
	r.Rows[0].Value = math.NaN()
	var b bytes.Buffer
	if err := HTML(&b, r, Options{}); err == nil || b.Len() > 0 {
		t.Errorf("printed what is no number: %v, %d bytes", err, b.Len())
	}
}

// pageObject begins each page of a PDF.
var pageObject = regexp.MustCompile(`/Type\s*/Page\b[^s]`)

// TestPrints: a browser prints an answer to one page or two, on A4 and on Letter.
func TestPrints(t *testing.T) {
	tab := testbrowser.Open(t)
	for name, r := range map[string]*report.Report{"shot": sample(), "order": ordered()} {
		path := filepath.Join(t.TempDir(), name+".html")
		if err := os.WriteFile(path, []byte(printout(t, r, Options{Date: day})), 0o666); err != nil {
			t.Fatal(err)
		}
		for _, paper := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
			if err := chromedp.Do(tab, chromedp.Navigate("file://"+path)); err != nil {
				t.Fatal(err)
			}
			pdf, err := chromedp.Run(tab, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
			if pages := len(pageObject.FindAll(pdf, -1)); err != nil || pages < 1 || pages > 2 {
				t.Errorf("%s on %v: %d pages, %v", name, paper, pages, err)
			}
		}
	}
}
