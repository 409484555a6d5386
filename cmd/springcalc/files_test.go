package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"springcalc/cmd/springcalc/internal/testbrowser"
)

func TestMain(m *testing.M) { testbrowser.Main(m) }

// ran runs a command line in a new folder and returns all that it says.
func ran(t *testing.T, args ...string) (status int, said string) {
	t.Helper()
	var out, errs bytes.Buffer
	status = run(args, strings.NewReader(""), &out, &errs)
	return status, out.String() + errs.String()
}

// TestPlot: a picture is written whole, never over a file, and no picture leaves no file.
func TestPlot(t *testing.T) {
	t.Chdir(t.TempDir())
	_, plain := ran(t, "shot", "--no-spread")
	status, said := ran(t, "shot", "--no-spread", "--plot", "shot.svg")
	if status != 0 || said != plain {
		t.Fatalf("status %d: %s", status, said)
	}
	svg, err := os.ReadFile("shot.svg")
	if err != nil || !bytes.Contains(svg, []byte("Flow into the puck, mL/s")) {
		t.Errorf("%v: %s", err, svg)
	}
	for args, want := range map[string]string{
		"shot --no-spread --plot shot.svg":      "shot.svg exists already; nothing was written",
		"shot --no-spread --plot shot.pdf":      "--plot shot.pdf: want a file that ends in .svg or .png",
		"tables --plot tables.svg":              "--plot: this answer has no chart",
		"shot --no-spread --plot no/such/x.svg": "no/such",
	} {
		if status, said := ran(t, strings.Fields(args)...); status != wrongUse || !strings.Contains(said, want) {
			t.Errorf("%s: status %d, %q", args, status, said)
		}
	}
	if status, said := ran(t, "shot", "--no-spread", "--json", "--plot", "SHOT.PNG"); status != 0 || !strings.HasPrefix(said, "{") {
		t.Errorf("status %d: %s", status, said)
	}
	if again, _ := os.ReadFile("shot.svg"); !bytes.Equal(again, svg) {
		t.Error("the file that was there has changed")
	}
	names, _ := filepath.Glob("*")
	hidden, _ := filepath.Glob(".*")
	if got := strings.Join(append(names, hidden...), " "); got != "SHOT.PNG shot.svg" {
		t.Errorf("files left: %s", got)
	}
}

// TestPrintouts: what a command prints for handing over goes to one page or two.
func TestPrintouts(t *testing.T) {
	tab := testbrowser.Open(t)
	t.Chdir(workDir(t))
	home, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string]string{"shot": "shot", "next": "replace --no-spread", "order": "replace --order", "inch": "shot --units inch", "tables": "tables",
		"diagnose": "diagnose", "spring": "spring", "lever": "lever", "basket": "basket --to dose=16g", "history": "history"} {
		file := name + ".html"
		if status, said := ran(t, append(strings.Fields(args), "--print", file)...); status != 0 {
			t.Errorf("%s: status %d: %s", args, status, said)
			continue
		}
		for _, paper := range []chromedp.PaperSize{chromedp.PaperA4, chromedp.PaperLetter} {
			if err := chromedp.Do(tab, chromedp.Navigate("file://"+filepath.Join(home, file))); err != nil {
				t.Fatal(err)
			}
			pdf, err := chromedp.Run(tab, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
			if pages := len(pageObject.FindAll(pdf, -1)); err != nil || pages < 1 || pages > 2 {
				t.Errorf("%s on %v: %d pages, %v", args, paper, pages, err)
			}
		}
	}
}

// pageObject begins each page of a PDF.
var pageObject = regexp.MustCompile(`/Type\s*/Page\b[^s]`)
