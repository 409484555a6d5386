package main

import (
	"context"
	"os"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
)

// springCmd describes the springs of a machine, or one given by flags.
type springCmd struct {
	Path string `arg:"" optional:"" name:"sheet" help:"Machine sheet, of which only the springs and the stroke matter; \"-\" for standard input; none for the spring of the flags, or the demo machine."`
	springFlags
	flags.Headings
	flags.Input
	flags.Many
	Method      string  `enum:"both,EN 13906-1,Shigley" default:"both" group:"Judgement" placeholder:"METHOD" help:"Limits by \"EN 13906-1\", by Shigley, or both, each by itself."`
	Preset      bool    `group:"Judgement" help:"Its maker pressed it solid until it shortened no further; without this that is not known."`
	Peened      bool    `group:"Judgement" help:"The wire was shot peened."`
	Guided      bool    `group:"Judgement" help:"A rod or bore guides the spring over its whole length."`
	PullsPerDay float64 `limits:"0 to 100000" group:"Judgement" placeholder:"N" help:"Pulls of the lever on a day, for the share of its life that the spring has used."` // [1/day]
	Years       float64 `limits:"0 to 500" group:"Judgement" placeholder:"N" help:"Years of use, for the same."`                                                         // [years]
	Bench       string  `placeholder:"FILE.csv" help:"Loads measured at some lengths of the spring alone: a header such as \"length mm, load N\", then a reading a line."`
	findFlags
	flags.Output
}

// Help is printed below the summary of the flags.
func (springCmd) Help() string {
	return "What a spring is, whether it is good as it is used, and how much is left: rate, loads, coil gap, stress beside the limit of each " +
		"method, buckling, fatigue, relaxation, tolerances of a new one. With --bench, how far it is from what the sheet says."
}

// Run answers with one spring sheet.
func (c *springCmd) Run(con *flags.Console) error {
	o := answer.SpringOptions{Method: c.Method, Preset: c.Preset, Peened: c.Peened, Guided: c.Guided, PullsPerDay: c.PullsPerDay, Years: c.Years}
	if o.Method == "both" {
		o.Method = ""
	}
	var err error
	if o.Find, err = c.target(); err != nil {
		return err
	}
	given := flags.KeysOf(&c.springFlags)
	name, data := "the flags", []byte(nil)
	if c.Path != "" || !flags.AnyGiven(given) {
		if name, data, err = con.Read(c.Path); err != nil {
			return err
		}
	}
	how, err := c.Reading()
	if err != nil {
		return err
	}
	if c.Bench != "" {
		readings, err := os.ReadFile(c.Bench)
		if err != nil {
			return err
		}
		if o.Bench, err = how.Bench(c.Bench, readings); err != nil {
			return err
		}
	}
	return c.Answer(con, &c.Output, func(sets []string, _ bool) (*report.Report, error) {
		s, err := sheet.ReadSpringSheet(name, data, c.Set, given, o.Find.Unknown.Keys(), sets...)
		if err != nil {
			return nil, err
		}
		c.Settle(s.Family())
		m := machine.SpringsOf(s)
		m.Heard(how)
		return answer.Spring(context.Background(), m, o)
	})
}
