package flags

import (
	"bytes"
	"io"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"springcalc/cmd/springcalc/internal/picture"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/render"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
)

// Output is the flags of a command whose answer is rendered.
type Output struct {
	JSON     bool   `name:"json" xor:"format,table" help:"Answer as JSON, complete, units in the names."`
	CSV      bool   `name:"csv" xor:"format" help:"Answer as CSV: the main table alone."`
	Markdown bool   `name:"markdown" xor:"format,table" help:"Answer as Markdown, for a service record."`
	Schema   bool   `name:"schema" xor:"format,table" help:"Answer with the JSON schema of the answer as JSON: its names, units and meanings."`
	Table    string `xor:"table" placeholder:"NAME" help:"Answer as CSV with this table instead of the main one, by its name in JSON; \"results\" for the single results."`
	Full     bool   `help:"All there is, not the short answer."`
	NoChart  bool   `name:"no-chart" help:"No charts."`
	Plot     string `placeholder:"FILE.svg|.png" help:"Draw the charts, and the spring to scale, into a new file."`
	Print    string `placeholder:"FILE.html" help:"Write a printout to hand over into a new file; print it from a browser."`
	Units    string `enum:"typed,metric,inch" default:"typed" placeholder:"metric|inch" help:"Units to answer in; without it as the sheet was typed."`

	typed quantity.Family // units that the sheet was typed in
	line  string          // the command line
}

// AfterApply notes the command line, which a printout repeats.
func (o *Output) AfterApply(ctx *kong.Context) error {
	o.line = words.Shell(append([]string{"springcalc"}, ctx.Args...)...)
	return nil
}

// Settle notes the units that a sheet was typed in.
func (o *Output) Settle(f quantity.Family) { o.typed = f }

// Rendering is the flags as options of the renderers.
func (o Output) Rendering() render.Options {
	family := o.typed
	if o.Units != "typed" {
		if err := family.UnmarshalText([]byte(o.Units)); err != nil {
			panic(err) // kong has checked it
		}
	}
	return render.Options{Family: family, Full: o.Full, NoChart: o.NoChart, Version: Version(), Date: Clock(), Line: o.line}
}

// Write prints an answer, and writes the files that are asked for beside.
func (o Output) Write(w io.Writer, r *report.Report) error {
	options := o.Rendering()
	var out bytes.Buffer
	print := render.Text
	switch {
	case o.JSON:
		print = render.JSON
	case o.CSV, o.Table != "":
		if err := o.choose(r); err != nil {
			return err
		}
		print = render.CSV
	case o.Markdown:
		print = render.Markdown
	case o.Schema:
		print = render.Schema
	}
	if err := print(&out, r, options); err != nil {
		return err
	}
	if err := o.files(r, options); err != nil {
		return err
	}
	_, err := out.WriteTo(w)
	return err
}

// rowsTable is the name of the single results as a table.
const rowsTable = "results"

// choose makes the table that was asked for the main one.
func (o Output) choose(r *report.Report) error {
	if o.Table == "" {
		return nil
	}
	var known []string
	if len(r.Rows) > 0 {
		known = append(known, rowsTable)
	}
	for i := range r.Tables {
		known = append(known, r.Tables[i].Key)
	}
	if !slices.Contains(known, o.Table) {
		return sheet.Usef("--table %q: not in this answer; it has %s", o.Table, words.AndList(known))
	}
	if r.Main = o.Table; o.Table == rowsTable {
		r.Main = ""
	}
	return nil
}

// pictures are the ways to draw, by the ending of a file.
var pictures = map[string]func(io.Writer, *report.Report, quantity.Family, picture.Look) error{
	".svg": picture.SVG, ".png": picture.PNG,
}

// files writes the picture and the printout: both or neither.
func (o Output) files(r *report.Report, options render.Options) error {
	var plot, page bytes.Buffer
	if o.Plot != "" {
		draw, ok := pictures[strings.ToLower(filepath.Ext(o.Plot))]
		if !ok {
			return sheet.Usef("--plot %s: want a file that ends in .svg or .png", o.Plot)
		}
		if err := draw(&plot, r, options.Family, picture.Screen); err != nil {
			return sheet.Usef("--plot: %v", err)
		}
	}
	if o.Print != "" {
		if ext := strings.ToLower(filepath.Ext(o.Print)); ext != ".html" && ext != ".htm" {
			return sheet.Usef("--print %s: want a file that ends in .html", o.Print)
		}
		if err := render.HTML(&page, r, options); err != nil {
			return err
		}
	}
	return WriteNew(NewFile{o.Plot, plot.Bytes()}, NewFile{o.Print, page.Bytes()})
}

// Clock tells the date of an answer.
var Clock = time.Now

// release is the version where the build was told it.
var release string

// Version is that of the release, or of the module as the build knows it.
func Version() string {
	if info, ok := debug.ReadBuildInfo(); ok && release == "" {
		return info.Main.Version
	}
	return release
}
