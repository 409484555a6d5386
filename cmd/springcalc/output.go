package main

import (
	"io"
	"runtime/debug"
	"time"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/render"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
)

// spreadFlags is how to say how far an answer may be off.
type spreadFlags struct {
	NoSpread bool   `name:"no-spread" xor:"spread" help:"Skip the uncertainty analysis."`
	Draws    int    `name:"draws" placeholder:"N" default:"10000" help:"Random draws from what is stated with ± and from the ranges of the defaults (${default})."`
	Stable   bool   `name:"stable" xor:"spread" help:"Draw until the printed digits are stable, but not beyond --draws or a million, which takes up to a minute."`
	Seed     uint32 `name:"seed" placeholder:"N" default:"1" help:"Seed of the draws (${default}): the same seed, the same answer."`
}

// drawing is the flags as options of the draws.
func (f spreadFlags) drawing() spread.Options {
	return spread.Options{Skip: f.NoSpread, Draws: f.Draws, Stable: f.Stable, Seed: f.Seed}
}

// renderFlags is the flags of a command whose answer is rendered.
type renderFlags struct {
	JSON     bool   `name:"json" xor:"format" help:"Answer as JSON, complete, units in the names."`
	CSV      bool   `name:"csv" xor:"format" help:"Answer as CSV: the main table alone."`
	Markdown bool   `name:"markdown" xor:"format" help:"Answer as Markdown, for a service record."`
	Full     bool   `help:"All there is, not the short answer."`
	NoChart  bool   `name:"no-chart" help:"No charts."`
	Units    string `enum:"typed,metric,inch" default:"typed" placeholder:"metric|inch" help:"Units to answer in; without it as the sheet was typed."`

	typed quantity.Family // units that the sheet was typed in
}

// settle notes the units that a sheet was typed in.
func (o *renderFlags) settle(f quantity.Family) { o.typed = f }

// rendering is the flags as options of the renderers.
func (o renderFlags) rendering() render.Options {
	family := o.typed
	if o.Units != "typed" {
		if err := family.UnmarshalText([]byte(o.Units)); err != nil {
			panic(err) // kong has checked it
		}
	}
	return render.Options{Family: family, Full: o.Full, NoChart: o.NoChart, Version: version(), Date: clock()}
}

// write prints an answer.
func (o renderFlags) write(w io.Writer, r *report.Report) error {
	options := o.rendering()
	switch {
	case o.JSON:
		return render.JSON(w, r, options)
	case o.CSV:
		return render.CSV(w, r, options)
	case o.Markdown:
		return render.Markdown(w, r, options)
	}
	return render.Text(w, r, options)
}

// clock tells the date of an answer.
var clock = time.Now

// version is that of the module, as the build knows it.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok {
		return info.Main.Version
	}
	return ""
}
