package main

import (
	"context"
	"os"
	"slices"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
)

// historyCmd follows the peak of a machine over the years.
type historyCmd struct {
	Sheet string `arg:"" optional:"" help:"Machine sheet, with a [[visit]] for each visit; \"-\" for standard input; none for the demo machine."`
	madeFlag
	Peaks   string `placeholder:"FILE" help:"CSV of peaks over the years, beside the visits: date or year, peak."`
	Compare string `placeholder:"DATE" help:"Set what was read up to this date beside what was read after it, with the ± of the difference; where all was read that day, its first visit beside its last."`
	limitFlag
	flags.Day
	flags.Headings
	flags.Input
	flags.Many
	flags.Output
}

// madeFlag is the key of [new] that it carries as a tag.
type madeFlag struct {
	Made string `key:"new.date" placeholder:"DATE" help:"When the spring was new, as 1986 or 1986-05-31, where the sheet does not state new.date."`
}

// limitFlag is the peak that is still wanted.
type limitFlag struct {
	Limit string `placeholder:"PRESSURE|%" help:"Peak down to which a machine is left as it is, as \"7.5 bar\" or \"80 %\" of the peak as new; without it wish.peak less wish.within, or 80 % of the peak as new."`
}

// limit reads the flag.
func (f limitFlag) limit() (l answer.Limit, err error) {
	if f.Limit != "" {
		if l, err = answer.ParseLimit(f.Limit); err != nil {
			return l, sheet.Usef("--limit: %v", err)
		}
	}
	return l, nil
}

// Help is printed below the summary of the flags.
func (historyCmd) Help() string {
	return "Weighs the laws that peaks over the years may follow (set by log-time, wear, a step, scatter alone), says what each repair brought, " +
		"when the peak passes what is still wanted and when to look again. A noted repair starts a new stretch. \"springcalc visit\" appends to the sheet."
}

// Run answers with the history of one machine.
func (c *historyCmd) Run(con *flags.Console) error {
	var o answer.HistoryOptions
	var err error
	if o.Limit, err = c.limit(); err != nil {
		return err
	}
	if o.AsOf, err = c.Date(); err != nil {
		return err
	}
	o.Back = c.AsOf != ""
	if c.Compare != "" {
		date, err := flags.DateOf("--compare", c.Compare)
		if err != nil {
			return err
		}
		o.Compare = &date
	}
	list, err := c.Reading()
	if err != nil {
		return err
	}
	if c.Peaks != "" {
		data, err := os.ReadFile(c.Peaks)
		if err != nil {
			return err
		}
		if o.Peaks, err = list.Peaks(c.Peaks, data); err != nil {
			return err
		}
		if _, err := c.Until(o.Peaks, c.Peaks); err != nil { // those left out are told of
			return err
		}
	}
	sets := append(flags.Overrides(&c.madeFlag), c.Set...)
	from := flags.Source{Name: "demo.toml", Data: slices.Concat(demo.Sheet, []byte("\n"), demo.Measured, []byte("\n"), demo.Visits), Sets: sets}
	if c.Sheet != "" || c.Peaks != "" {
		if from, err = (flags.Input{Set: sets}).Source(con, c.Sheet); err != nil {
			return err
		}
	}
	return c.AnswerOf(from, con, &c.Output, func(m *machine.Machine, _ bool) (*report.Report, error) {
		r, err := answer.History(context.Background(), m, o)
		if err == nil {
			r.Notes = append(r.Notes, report.Plains(list.Notes)...)
		}
		return r, err
	})
}
