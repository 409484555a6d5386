package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"slices"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// replaceCmd chooses the next spring of a machine.
type replaceCmd struct {
	Sheet string `arg:"" optional:"" help:"Machine sheet; \"-\" for standard input; none for the demo machine."`
	wishFlags
	gridFlags
	Candidates string `placeholder:"FILE.csv" help:"Judge the springs of this list instead of every size that can be wound; its headings may be those that makers print (d, De, L0, n, R, Fn, Ln, Lc, price)."`
	Copy       bool   `help:"Describe or order the spring that is there as new, like for like."`
	Only       string `enum:",outer,inner" default:"" placeholder:"outer|inner" help:"With --copy: of a nest this spring by itself; the other stays."`
	Rank       string `placeholder:"ORDER" help:"What decides among springs that fit: \"effort,stress\" for one after the other, \"stress=3,effort=1\" for a weighted sum; of margin, stress, fatigue, effort, clearance, pressure, price. Without it the tightest margin, then effort."`
	Top        int    `limits:"1 to 1000" default:"10" placeholder:"N" help:"How many rows to show; 10 where not given."`
	Order      bool   `help:"Print the order sheet of no. 1, for a spring winder."`
	Pick       int    `limits:"1 to 1000" default:"1" placeholder:"N" help:"Row N of the ranking instead of no. 1: in the chart, or with --order on the order sheet."`
	Quality    int    `default:"2" enum:"1,2,3" placeholder:"1|2|3" help:"Tolerances of the new spring by EN 15800: 1 fine, 2 (the default), 3 coarse."`
	flags.Headings
	flags.Input
	flags.Many
	flags.Drawing
	flags.Output
}

// wishFlags override the keys of the tables [wish] and [space] that they carry as tags.
type wishFlags struct {
	Peak            *quantity.PressureFlag    `key:"wish.peak" group:"Targets" placeholder:"PRESSURE" help:"Peak pressure."`
	End             *quantity.PressureFlag    `key:"wish.end" group:"Targets" placeholder:"PRESSURE" help:"Pressure at the end of the stroke; without it springs are designed for that of a fresh spring of today's rate, and no listed one is judged by it."`
	Within          *quantity.PressureFlag    `key:"wish.within" group:"Targets" placeholder:"PRESSURE" help:"What both may be off by."`
	Effort          *quantity.ForceFlag       `key:"wish.effort" group:"Targets" placeholder:"FORCE" help:"Handle force at most."`
	Life            *quantity.TimeFlag        `key:"wish.life" group:"Targets" placeholder:"TIME" help:"How long it should last, as \"10 years\"."`
	Pulls           string                    `key:"wish.pulls" group:"Targets" placeholder:"NUMBER" help:"How often the lever is pulled, as \"30 /day\"."`
	Grade           string                    `key:"wish.grade" group:"Targets" placeholder:"GRADES" help:"Grades of wire, with commas between."`
	Bore            *quantity.LengthFlag      `key:"space.bore" group:"Space" placeholder:"LENGTH" help:"Inside diameter of what the spring works in."`
	Rod             *quantity.LengthFlag      `key:"space.rod" group:"Space" placeholder:"LENGTH" help:"Diameter of the rod through it."`
	Play            *quantity.LengthFlag      `key:"space.play" group:"Space" placeholder:"LENGTH" help:"Least play in diameter to both."`
	InstalledLength *quantity.LengthFlag      `key:"space.installed_length" group:"Space" placeholder:"LENGTH" help:"Length of the spring with the piston at rest."`
	SolidClearance  *quantity.LengthFlag      `key:"space.solid_clearance" group:"Space" placeholder:"LENGTH" help:"Room wanted between cocked and solid."`
	Temperature     *quantity.TemperatureFlag `key:"space.temperature" group:"Space" placeholder:"TEMPERATURE" help:"Temperature of the spring at work."`
}

// gridFlags say what springs the search may make up.
type gridFlags struct {
	Sizes      string               `group:"Search" default:"metric" placeholder:"SERIES" help:"Series of wire diameters: metric (the default), \"EN 10270-1\", \"DIN 2098\"; in inch sizes inch, \"ASTM A228\", \"ASTM A229\", or the gauges \"music wire\", \"steel wire\"."`
	MeanStep   *quantity.LengthFlag `limits:"0.05 mm to 10 mm" group:"Search" placeholder:"LENGTH" help:"Step of the mean diameter; 0.5 mm where not given."`
	LengthStep *quantity.LengthFlag `limits:"0 mm to 100 mm" group:"Search" placeholder:"LENGTH" help:"Step of the free length; 0.5 mm where not given."`
	MaxCoils   float64              `limits:"2 to 100" group:"Search" placeholder:"N" help:"Active coils at most; 30 where not given."` // [-]
	Preset     bool                 `group:"Search" help:"The maker presses the spring solid until it shortens no further; it may then bear more. EN grades presume it."`
	Peened     bool                 `group:"Search" help:"The maker shot peens the spring; it may then bear more cycles."`
	Nest       bool                 `group:"Search" help:"Look for two springs, one inside the other, on a coarser grid; takes some seconds."`
}

// Help is printed below the summary of the flags.
func (replaceCmd) Help() string {
	return "The force you need at rest and when cocked follows from the target peak and end pressure. Every spring of the preferred wire sizes " +
		"that gives it is then judged: fit, coil gap, stress, buckling, fatigue, effort. " +
		"Targets and space stand in the tables [wish] and [space] of the sheet, or in flags."
}

// Run answers with a ranking or with an order sheet.
func (c *replaceCmd) Run(con *flags.Console) error {
	how, err := c.Reading()
	if err != nil {
		return err
	}
	o, err := c.options(how)
	if err != nil {
		return err
	}
	from, err := flags.Input{Set: append(flags.Overrides(&c.wishFlags), c.Set...)}.Source(con, c.Sheet)
	if err != nil {
		return err
	}
	return c.AnswerOf(from, con, &c.Output, func(m *machine.Machine, quick bool) (*report.Report, error) {
		m.Heard(how)
		o := o
		o.Spread.Skip = o.Spread.Skip || quick
		if !quick {
			p := flags.NewProgress(os.Stderr, "judging springs")
			defer p.Done()
			o.Progress = p.Show
		}
		r, err := answer.Replace(context.Background(), m, o)
		var none answer.NoRow
		if errors.As(err, &none) && c.Pick > 1 {
			err = fmt.Errorf("--pick: \"%d\": %w", c.Pick, err)
		}
		return r, err
	})
}

// options are the flags as options of the answer.
func (c *replaceCmd) options(how *sheet.Reading) (o answer.ReplaceOptions, err error) {
	o = answer.ReplaceOptions{Top: c.Top, Pick: c.Pick, Sheet: c.Order, Quality: spring.Grade(c.Quality), Sizes: c.Sizes, MaxCoils: c.MaxCoils,
		Preset: c.Preset, Peened: c.Peened, Nests: c.Nest}
	o.Spread = c.Spread()
	switch {
	case c.Copy && c.Only != "":
		o.Copy = answer.Copy(c.Only)
	case c.Copy:
		o.Copy = answer.CopyAll
	case c.Only != "":
		return o, sheet.Usef("--only says which spring of a nest --copy is for; give both")
	}
	if c.MeanStep != nil {
		o.MeanStep = c.MeanStep.Value
	}
	if c.LengthStep != nil {
		o.LengthStep = &c.LengthStep.Value
	}
	if c.Rank != "" {
		if o.Order, err = replace.ParseOrder(c.Rank); err != nil {
			return o, sheet.Usef("--rank: %s", machine.WithoutPackage(err))
		}
		if c.Candidates == "" && slices.ContainsFunc(o.Order.Keys, func(k replace.Key) bool { return k.By == replace.ByPrice }) {
			return o, sheet.Usef("--rank: %q: only the springs of a list have a price; give --candidates", c.Rank)
		}
	}
	if c.Candidates != "" {
		data, err := os.ReadFile(c.Candidates)
		if err != nil {
			return o, err
		}
		if o.Candidates, err = how.Springs(c.Candidates, data); err != nil {
			return o, err
		}
	}
	return o, nil
}
