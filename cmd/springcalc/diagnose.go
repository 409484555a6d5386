package main

import (
	"context"
	"os"
	"slices"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/spring"
)

// diagnoseCmd finds out why the peak is low.
type diagnoseCmd struct {
	Sheet       string                 `arg:"" optional:"" help:"Machine sheet, with [new] and [bench] where there is something to state; \"-\" for standard input; none for the demo machine."`
	Peaks       string                 `placeholder:"FILE" help:"CSV of peaks over the years: date or year, peak."`
	Made        string                 `placeholder:"DATE" help:"When the spring was new, as 1986 or 1986-05-31, where the first of the peaks is not that of the new spring."`
	Log         []string               `sep:"none" placeholder:"FILE" help:"CSV of a logged shot: time, pressure, and cup mass or piston travel, units in the headings. May be given several times."`
	OwnSensor   bool                   `name:"own-sensor" help:"The logs were read with a sensor of their own, not with the machine's gauge."`
	From        *quantity.TimeFlag     `range:"coffee.known.preinfusion" placeholder:"TIME" help:"Start of the part of the logs to use; needs --to."`
	To          *quantity.TimeFlag     `range:"coffee.known.time" placeholder:"TIME" help:"End of it."`
	KeepAbove   *quantity.PressureFlag `range:"new.peak" placeholder:"PRESSURE" help:"Peak down to which the machine is left as it is; says when it will be passed."`
	WantPeak    *quantity.PressureFlag `range:"wish.peak" placeholder:"PRESSURE" help:"Peak to restore, where not that of the sound machine."`
	PullsPerDay float64                `limits:"0 to 100000" placeholder:"N" help:"Pulls of the lever on a day of use, for the cycles used."` // [-]
	DaysPerYear float64                `limits:"0 to 366" placeholder:"N" default:"300" help:"Days of use a year (${default})."`              // [-]
	Prior       []string               `sep:"none" placeholder:"PART=P" help:"How likely a part is at fault before any reading, as in --prior \"seal=0.5\", or any figure of the table diagnosis-priors. May be given several times."`
	Effort      []string               `sep:"none" placeholder:"JOB=MINUTES" help:"What a job takes, as in --effort \"spring out=60\". May be given several times."`
	flags.Day
	flags.Headings
	flags.Input
	flags.Many
	flags.Output
}

// Help is printed below the summary of the flags.
func (diagnoseCmd) Help() string {
	return "Weighs peaks over the years, logged shots and bench measurements together: which parts are worth repairing, what putting each right " +
		"would bring back, and what to do or measure next. The sheet describes the machine as it is; " +
		"its table [new] what it was when new, [bench] what was measured. Both take single values with --set bench.force_raising=\"95 N\"."
}

// Run answers with the state of all parts.
func (c *diagnoseCmd) Run(con *flags.Console) error {
	o, err := c.options()
	if err != nil {
		return err
	}
	ofDemo := c.Sheet == "" && c.Peaks == "" && len(c.Log) == 0
	from := flags.Source{Name: "demo.toml", Data: slices.Concat(demo.Sheet, []byte("\n"), demo.Measured), Sets: c.Set}
	if !ofDemo {
		if from, err = c.Source(con, c.Sheet); err != nil {
			return err
		}
	}
	return c.AnswerOf(from, con, &c.Output, func(m *machine.Machine, _ bool) (*report.Report, error) {
		how, err := c.Reading()
		if err != nil {
			return nil, err
		}
		o := o
		if err := c.evidence(m, &o, how, ofDemo); err != nil {
			return nil, err
		}
		m.Heard(how)
		return answer.Diagnose(context.Background(), m, o)
	})
}

// options are the flags as options of the answer.
func (c *diagnoseCmd) options() (o answer.DiagnoseOptions, err error) {
	if (c.From == nil) != (c.To == nil) {
		return o, sheet.Usef("--from and --to go together")
	}
	if c.Made != "" && c.Peaks == "" {
		return o, sheet.Usef("--made needs --peaks")
	}
	o.OwnSensor, o.Use = c.OwnSensor, spring.Use{PullsPerDay: c.PullsPerDay, DaysPerYear: c.DaysPerYear}
	if _, err := o.Use.Cycles(); err != nil {
		return o, sheet.Usef("%s", machine.WithoutPackage(err))
	}
	for flag, list := range map[string][]string{"prior": c.Prior, "effort": c.Effort} {
		group := map[string]string{"prior": "fault", "effort": "effort"}[flag]
		for _, typed := range list {
			p, err := answer.ReadPresumption("--"+flag, group, typed)
			if err != nil {
				return o, err
			}
			o.Presume = append(o.Presume, p)
		}
	}
	if c.From != nil {
		o.From, o.To = c.From.Value, c.To.Value
	}
	if c.KeepAbove != nil {
		o.Keep = c.KeepAbove.Value
	}
	if c.WantPeak != nil {
		o.Want = c.WantPeak.Value
	}
	return o, nil
}

// evidence reads the peaks over the years and the logs.
func (c *diagnoseCmd) evidence(m *machine.Machine, o *answer.DiagnoseOptions, how *sheet.Reading, ofDemo bool) error {
	peaks, logs, read := c.Peaks, c.Log, os.ReadFile
	if ofDemo {
		peaks, logs = "peaks.csv", []string{"log.csv"}
		read = func(name string) ([]byte, error) {
			return map[string][]byte{"peaks.csv": demo.Peaks, "log.csv": demo.Log}[name], nil
		}
	}
	var list []sheet.Peak
	if peaks != "" {
		data, err := read(peaks)
		if err != nil {
			return err
		}
		if list, err = how.Peaks(peaks, data); err != nil {
			return err
		}
	}
	if err := c.life(m, o, list, peaks); err != nil {
		return err
	}
	for _, name := range logs {
		data, err := read(name)
		if err != nil {
			return err
		}
		log, err := how.Log(name, data)
		if err != nil {
			return err
		}
		o.Logs = append(o.Logs, answer.NamedLog{Name: name, Log: log})
	}
	return nil
}

// life is the peaks of visits, and of a list; the first of a list alone is that of
// the new spring, unless it is said when that was.
func (c *diagnoseCmd) life(m *machine.Machine, o *answer.DiagnoseOptions, list []sheet.Peak, name string) error {
	date, err := c.Date()
	if err != nil {
		return err
	}
	if list, err = c.Until(list, name); err != nil {
		return err
	}
	if m.Several[sheet.VisitTable.Path] > 0 {
		l, err := m.Life(date, list)
		if err == nil {
			o.Life, o.Visits = l.Life, l.Visits
		}
		return err
	}
	var made *sheet.Date
	if c.Made != "" {
		d, err := sheet.ParseDate(c.Made)
		if err != nil {
			return sheet.Usef("--made: %v", err)
		}
		if made = &d; len(list) > 0 && d.Time() > list[0].Date.Time() {
			return sheet.Usef("--made: %s is after the first reading of %s", d, name)
		}
	}
	o.Life = answer.LifeOfPeaks(list, made)
	return nil
}
