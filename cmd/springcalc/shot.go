package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/render"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
)

// shotCmd follows a shot of one machine, or compares the shots of several.
type shotCmd struct {
	Sheets  []string `arg:"" optional:"" name:"sheet" help:"Machine sheet, or several to compare; \"-\" for standard input; none for the demo machine."`
	Against string   `placeholder:"FILE.csv" help:"Hold a logged shot against the computed one: curves over each other, and the differences in peak, end, time and yield. Time, pressure, and cup mass where there is one, units in the headings."`
	flags.Day
	flags.Input
	flags.Many
	flags.Drawing
	flags.Output
}

// Help is printed below the summary of the flags.
func (shotCmd) Help() string {
	return "Follows the water from opening the inlet port until nothing moves any more: " +
		"pressure, flow and cup mass over time, peak and end pressure, total time and yield. " +
		"How far they may be off follows from each ± of the sheet and from the ranges of the defaults."
}

// Run answers with one shot, or with several side by side.
func (c *shotCmd) Run(con *flags.Console) error {
	sheets := c.Sheets
	if len(sheets) == 0 {
		sheets = []string{""}
	}
	log, err := c.log(len(sheets))
	if err != nil {
		return err
	}
	options := c.Spread()
	options.Skip = options.Skip || len(sheets) > 1 && !c.JSON
	if len(sheets) == 1 {
		from, err := c.Source(con, sheets[0])
		if err != nil {
			return err
		}
		return c.Answer(con, &c.Output, func(sets []string, quick bool) (*report.Report, error) {
			o := options
			o.Skip = o.Skip || quick
			return c.shot(from, sets, answer.ShotOptions{Spread: o, Log: log})
		})
	}
	if c.Schema {
		return sheet.Usef("--schema is for one sheet; of several, JSON has a list of such answers")
	}
	if c.Several() {
		return sheet.Usef("--sweep and --solve are for one sheet")
	}
	all, faults := make([]*report.Report, len(sheets)), make([]error, len(sheets))
	for i, path := range sheets {
		from, err := c.Source(con, path)
		if err == nil {
			all[i], err = c.shot(from, nil, answer.ShotOptions{Spread: options, Log: log})
		}
		faults[i] = err
	}
	if err := errors.Join(faults...); err != nil {
		return err
	}
	switch names := shortNames(sheets); {
	case c.JSON:
		return render.SeveralJSON(con.Out, names, all, c.Rendering())
	default:
		return c.Write(con.Out, render.Compare(names, all, c.Rendering().Family))
	}
}

// shot answers with the shot of one machine.
func (c *shotCmd) shot(from flags.Source, sets []string, o answer.ShotOptions) (*report.Report, error) {
	m, err := from.Machine(sets)
	if err == nil {
		m, err = c.Newest(m)
	}
	if err != nil {
		return nil, err
	}
	c.Settle(m.Family())
	return answer.Shot(context.Background(), m, o)
}

// log reads the logged shot, where there is one, to lay over one shot.
func (c *shotCmd) log(sheets int) (*answer.NamedLog, error) {
	switch {
	case c.Against == "":
		return nil, nil
	case sheets > 1:
		return nil, sheet.Usef("--against is for one shot; give one sheet")
	}
	data, err := os.ReadFile(c.Against)
	if err != nil {
		return nil, err
	}
	log, err := sheet.ReadLog(c.Against, data)
	return &answer.NamedLog{Name: c.Against, Log: log}, err
}

// shortNames returns the names of sheets without folders and endings, where
// they then still differ.
func shortNames(paths []string) []string {
	short, seen := make([]string, len(paths)), map[string]bool{}
	for i, p := range paths {
		short[i] = strings.TrimSuffix(filepath.Base(p), ".toml")
		if seen[short[i]] {
			return paths
		}
		seen[short[i]] = true
	}
	return short
}
