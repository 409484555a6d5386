package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"springcalc/cmd/springcalc/internal/files"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/sheet"
)

// visitCmd appends a visit to a machine's sheet.
type visitCmd struct {
	Sheet string `arg:"" help:"Machine sheet to append the visit to."`
	visitFlags
}

// visitFlags are the keys of [[visit]] that they carry as tags, as typed.
type visitFlags struct {
	Date            string `key:"visit.date" placeholder:"DATE" help:"Day of the visit, as 2019-05-14, or 2019-05 or 2019 where no more is known; without it today."`
	Peak            string `key:"visit.peak" group:"Read" placeholder:"PRESSURE" help:"Peak pressure of a shot as the machine's gauge showed it."`
	EndPressure     string `key:"visit.end_pressure" group:"Read" placeholder:"PRESSURE" help:"Pressure at the end of its stroke."`
	Yield           string `key:"visit.yield" group:"Read" placeholder:"MASS" help:"Mass in the cup at its end."`
	Time            string `key:"visit.time" group:"Read" placeholder:"TIME" help:"Its total time, from opening the port."`
	HandleForce     string `key:"visit.handle_force" group:"Read" placeholder:"FORCE" help:"Force of the hand where the handle pulls hardest."`
	FreeLength      string `key:"visit.free_length" group:"Read" placeholder:"LENGTH" help:"Free length of the spring, where it was out."`
	GaugeReading    string `key:"visit.gauge_reading" group:"Read" placeholder:"PRESSURE" help:"What the machine's gauge showed beside the workshop's."`
	GaugeTrue       string `key:"visit.gauge_true" group:"Read" placeholder:"PRESSURE" help:"What the workshop's gauge showed then."`
	Dose            string `key:"visit.dose" group:"Read" placeholder:"MASS" help:"Dry coffee of the shot, where it was another than the sheet's."`
	BrewTemperature string `key:"visit.brew_temperature" group:"Read" placeholder:"TEMPERATURE" help:"Temperature of its water, where it was another."`
	BoilerPressure  string `key:"visit.boiler_pressure" group:"Read" placeholder:"PRESSURE" help:"What the boiler's gauge showed, where it was another."`
	Read            string `key:"visit.read" group:"Read" placeholder:"before|after" help:"Whether all this was read before or after what was done; after where not given."`
	Done            string `key:"visit.done" group:"Done" placeholder:"WHAT" help:"What was done, with commas between: seal, spring, shim with its thickness, gauge, descaled, other."`
	Note            string `key:"visit.note" group:"Done" placeholder:"TEXT" help:"Anything worth remembering."`
	Log             string `key:"visit.log" group:"Read" placeholder:"FILE" help:"CSV of a logged shot, beside the sheet."`
}

// Help is printed below the summary of the flags.
func (visitCmd) Help() string {
	return "Appends what was read and what was done today, or on --date, to the machine's sheet, and changes nothing else in it: " +
		"visit mine.toml --peak \"7.9 bar\" --done \"new seals\". The sheet is written whole or not at all. " +
		"For readings before and after one piece of work append two visits."
}

// Run appends the visit, or leaves the sheet as it is.
func (c *visitCmd) Run(con *flags.Console) error {
	if c.Sheet == "-" {
		return sheet.Usef("a visit is written into a file; standard input is none")
	}
	today := sheet.DateOf(flags.Clock())
	if c.Date == "" {
		c.Date = today.String()
	}
	if c.Log != "" {
		if _, err := os.Stat(filepath.Join(filepath.Dir(c.Sheet), c.Log)); err != nil {
			return sheet.Usef("--log %s: no such file beside the sheet", c.Log)
		}
	}
	var visit []sheet.Value
	for _, set := range flags.Overrides(&c.visitFlags) {
		path, text, _ := strings.Cut(set, "=")
		_, name := sheet.SplitPath(path)
		visit = append(visit, sheet.Value{Name: name, Text: text, From: "--" + strings.ReplaceAll(name, "_", "-")})
	}
	err := files.Change(c.Sheet, func(old []byte) ([]byte, error) { return sheet.AppendVisit(c.Sheet, old, visit, today) })
	if err != nil {
		return err
	}
	said := make([]string, 0, len(visit))
	for _, v := range visit {
		said = append(said, strings.ReplaceAll(v.Name, "_", " ")+" "+v.Text)
	}
	_, err = fmt.Fprintf(con.Out, "wrote %s: one more visit, %s\n", c.Sheet, strings.Join(said, ", "))
	return err
}
