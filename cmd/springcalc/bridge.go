package main

import (
	"io"
	"runtime/debug"
	"time"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/render"
	answers "springcalc/cmd/springcalc/internal/report"
)

// What the answers that are still in this package share with those that are not.
const newSpring = "tolerance of the new spring"

var screenLaw = machine.ScreenLaw

// renderFlags is the flags of a command whose answer is rendered.
type renderFlags struct {
	JSON     bool            `name:"json" xor:"format" help:"Answer as JSON, complete, units in the names."`
	CSV      bool            `name:"csv" xor:"format" help:"Answer as CSV: the main table alone."`
	Markdown bool            `name:"markdown" xor:"format" help:"Answer as Markdown, for a service record."`
	Full     bool            `help:"All there is, not the short answer."`
	NoChart  bool            `name:"no-chart" help:"No charts."`
	Units    quantity.Family `default:"metric" placeholder:"metric|inch" help:"Units to answer in: metric (the default) or inch."`
}

// write prints an answer.
func (o renderFlags) write(w io.Writer, r *answers.Report) error {
	options := render.Options{Family: o.Units, Full: o.Full, NoChart: o.NoChart, Version: version(), Date: time.Now()}
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

// version is that of the module, as the build knows it.
func version() string {
	if info, ok := debug.ReadBuildInfo(); ok {
		return info.Main.Version
	}
	return ""
}
