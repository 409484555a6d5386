package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/diagnose"
	"springcalc/spring"
)

// diagnoseCmd tells what keeps the peak down.
type diagnoseCmd struct {
	Sheet       string                 `arg:"" optional:"" help:"Machine sheet, with [new] and [bench] where there is something to state; \"-\" for standard input; none for the demo machine."`
	Peaks       string                 `placeholder:"FILE" help:"CSV of peaks over the years: date or year, peak."`
	Made        string                 `placeholder:"DATE" help:"When the spring was new, as 1986 or 1986-05-31, where the first of the peaks is not that of the new spring."`
	Log         []string               `sep:"none" placeholder:"FILE" help:"CSV of a logged shot: time, pressure, and cup mass or piston travel, units in the headings. May be given several times."`
	From        *quantity.TimeFlag     `placeholder:"TIME" help:"Start of the part of the logs to use; needs --to."`
	To          *quantity.TimeFlag     `placeholder:"TIME" help:"End of it."`
	KeepAbove   *quantity.PressureFlag `placeholder:"PRESSURE" help:"Peak down to which the machine is left as it is; says when it will be passed."`
	WantPeak    *quantity.PressureFlag `placeholder:"PRESSURE" help:"Peak to restore, where not that of the machine as new."`
	PullsPerDay float64                `placeholder:"N" help:"Pulls of the lever on a day of use, for the cycles used."` // [-]
	DaysPerYear float64                `placeholder:"N" default:"300" help:"Days of use a year (${default})."`           // [-]
	Prior       []string               `sep:"none" placeholder:"CAUSE=WEIGHT" help:"How likely a cause is beforehand, against the usual weights, as in --prior \"seal drag=0.5\". May be given several times."`
	Seed        uint64                 `placeholder:"N" default:"1" help:"Seed of the random numbers behind the intervals (${default})."`
	machineFlags
	output
}

// Help is printed below the summary of the flags.
func (diagnoseCmd) Help() string {
	return "Tells from peaks over the years, logged shots and bench measurements how much force the spring has lost, what most " +
		"likely took it, which further measurement would tell most, and what to do. The sheet describes the machine as it is; " +
		"its table [new] what it was when new, [bench] what was measured. Both take single values with --set bench.free_length=\"167 mm\"."
}

// evidence is everything that a diagnosis goes by.
type evidence struct {
	m     *machine.Machine
	fresh *diagnose.Machine
	peaks []diagnose.PeakReading
	atNew float64 // the first of them, where it is that of the new spring [Pa]; else 0
	readU float64 // standard uncertainty of one, of two the root mean square [Pa]
	lines []*diagnose.Line
	names []string // of the logs
	// What all logs say of the spring together [N/m, N, N].
	rate, cocked, rest diagnose.Reading
	data               []diagnose.Measured
	now                float64 // peak now [Pa]; 0 where nothing tells
	notes              []string
}

// findings are what comes of it.
type findings struct {
	loss    *diagnose.Loss // nil where there are no peaks over the years
	ranking *diagnose.Ranking
	advice  *diagnose.Advice // nil where the peak now is not known
	wire    *diagnose.Wire   // nil where it is not known
	noWire  string           // why
	wear    *diagnose.Wear   // nil where it was not asked for or cannot be told
}

// Run gathers, ranks, advises and prints.
func (c *diagnoseCmd) Run(con *console) error {
	if (c.From == nil) != (c.To == nil) {
		return sheet.Usef("--from and --to go together")
	}
	if _, err := (spring.Use{PullsPerDay: c.PullsPerDay, DaysPerYear: c.DaysPerYear}).Cycles(); err != nil {
		return sheet.Usef("%s", machine.WithoutPackage(err))
	}
	prior, err := priorOf(c.Prior)
	if err != nil {
		return err
	}
	e, err := c.gather(con)
	if err != nil {
		return err
	}
	f, err := c.find(e, prior)
	if err != nil {
		return err
	}
	r := diagnosis(e, f)
	if len(e.lines) > 0 {
		r.Notes = append(r.Notes, logNote(e, c.Seed))
	}
	e.addSpread(r, f, c.WantPeak)
	return c.write(con.out, r)
}

// priorOf changes the usual prior.
func priorOf(changes []string) (diagnose.Prior, error) {
	p := diagnose.UsualPrior()
	var names []string
	for _, c := range diagnose.Causes() {
		names = append(names, c.String())
	}
	for _, change := range changes {
		name, value, ok := strings.Cut(change, "=")
		i := slices.Index(names, strings.TrimSpace(name))
		v, err := strconv.ParseFloat(strings.TrimSpace(value), 64)
		if !ok || i < 0 || err != nil || !(v >= 0) || math.IsInf(v, 1) {
			return p, sheet.Usef("--prior %q: want CAUSE=WEIGHT with a weight of 0 or more and one of %s", change, words.OrList(words.Quoted(names)))
		}
		p[i] = v
	}
	return p, nil
}

// gather reads sheet, peaks and logs.
func (c *diagnoseCmd) gather(con *console) (*evidence, error) {
	e := &evidence{}
	ofDemo := c.Sheet == "" && c.Peaks == "" && len(c.Log) == 0
	var err error
	if e.m, err = c.machine(con, ofDemo); err != nil {
		return nil, err
	}
	if err := e.readPeaks(c, ofDemo); err != nil {
		return nil, err
	}
	if len(e.peaks) > 0 && e.peaks[0].Age == 0 {
		e.atNew = e.peaks[0].Peak
	}
	if e.fresh, e.notes, err = e.m.AsNew(e.atNew); err != nil {
		return nil, err
	}
	e.readU = diagnose.UsualU(diagnose.Peak)
	if peak := e.fresh.Fresh; peak > 0 && e.atNew == 0 && len(e.peaks) > 0 {
		e.peaks = slices.Insert(e.peaks, 0, diagnose.PeakReading{Age: 0, Peak: peak})
		if u := deviation(e.m, "new.peak"); u > 0 {
			e.readU = math.Sqrt((e.readU*e.readU + u*u) / 2)
		}
	}
	e.data = e.m.Bench()
	if err := e.m.Faults.Err(); err != nil {
		return nil, err
	}
	if err := e.readLogs(c, ofDemo); err != nil {
		return nil, err
	}
	e.addPeak()
	e.dropUnknown()
	if len(e.data) == 0 {
		return nil, sheet.Usef("nothing was measured: give --peaks, --log, or values under [bench] in the sheet or with --set")
	}
	return e, nil
}

// machine reads the sheet; the demo's with what was measured on it.
func (c *diagnoseCmd) machine(con *console, ofDemo bool) (*machine.Machine, error) {
	if !ofDemo {
		return c.Load(con, c.Sheet)
	}
	return machine.ReadMachine("demo.toml", slices.Concat(demo.Sheet, []byte("\n"), demo.Measured), c.Set)
}

func (e *evidence) readPeaks(c *diagnoseCmd, ofDemo bool) (err error) {
	name, data := "peaks.csv", demo.Peaks
	switch {
	case ofDemo:
	case c.Peaks != "":
		name = c.Peaks
		if data, err = os.ReadFile(name); err != nil {
			return err
		}
	case c.Made != "":
		return sheet.Usef("--made needs --peaks")
	default:
		return nil
	}
	peaks, err := sheet.ReadPeaks(name, data)
	if err != nil {
		return err
	}
	start := peaks[0].Date // that of the new spring, unless it is said when that was
	if c.Made == "" && e.m.Has("new.date") {
		c.Made = e.m.Text("new.date")
	}
	if c.Made != "" {
		if start, err = sheet.ParseDate(c.Made); err != nil {
			return sheet.Usef("--made: %v", err)
		}
		if start.Time() > peaks[0].Date.Time() {
			return sheet.Usef("--made: %s is after the first reading of %s", start, name)
		}
	}
	for _, p := range peaks {
		e.peaks = append(e.peaks, diagnose.PeakReading{Age: p.Date.Time() - start.Time(), Peak: p.Pressure})
	}
	return nil
}

// readLogs reads the line off every log, and what the logs say together.
func (e *evidence) readLogs(c *diagnoseCmd, ofDemo bool) error {
	o := diagnose.Options{Seed: c.Seed, Unsure: e.unsure()}
	if c.From != nil {
		o.From, o.To = c.From.Value, c.To.Value
	}
	names := c.Log
	if ofDemo {
		names = []string{"log.csv"}
	}
	for _, name := range names {
		data := demo.Log
		if !ofDemo {
			var err error
			if data, err = os.ReadFile(name); err != nil {
				return err
			}
		}
		log, err := sheet.ReadLog(name, data)
		if err != nil {
			return err
		}
		line, err := diagnose.ReadLine(log, &e.m.Setup, o)
		if errors.Is(err, diagnose.ErrWindow) {
			return sheet.Usef("--from, --to: %s", machine.WithoutPackage(err))
		}
		if err != nil {
			return fmt.Errorf("%s: %s", name, machine.WithoutPackage(err))
		}
		e.lines, e.names = append(e.lines, line), append(e.names, name)
	}
	e.fromLines()
	return nil
}

// fromLines adds what the logs show to what was measured. Shots of one machine
// differ: of several, the mean is taken. What a tool may be off by does not
// fall with their number, as it is the same tool.
func (e *evidence) fromLines() {
	if len(e.lines) == 0 {
		return
	}
	stated := map[diagnose.Kind]bool{}
	for _, d := range e.data {
		stated[d.Kind] = true
	}
	add := func(k diagnose.Kind, r diagnose.Reading) {
		if !stated[k] && (r.Value > 0 || k == diagnose.LogBow) {
			e.data = append(e.data, machine.Measured(k, r.Value, r.U()))
		}
	}
	together := func(reading func(*diagnose.Line) diagnose.Reading) diagnose.Reading {
		var all []diagnose.Reading
		for _, l := range e.lines {
			all = append(all, reading(l))
		}
		return diagnose.Together(all)
	}
	byTool := func(k diagnose.Kind, value func(*diagnose.Line) float64) {
		add(k, together(func(l *diagnose.Line) diagnose.Reading {
			return diagnose.Reading{Estimate: diagnose.Around(value(l), diagnose.UsualU(k))}
		}))
	}
	e.rate = together(func(l *diagnose.Line) diagnose.Reading { return l.Rate })
	e.cocked = together(func(l *diagnose.Line) diagnose.Reading { return l.Cocked })
	e.rest = together(func(l *diagnose.Line) diagnose.Reading { return l.Rest })
	add(diagnose.LogRate, e.rate)
	add(diagnose.LogBow, together(func(l *diagnose.Line) diagnose.Reading { return l.Bow }))
	byTool(diagnose.EndPress, func(l *diagnose.Line) float64 { return l.End.Value })
	byTool(diagnose.Yield, func(l *diagnose.Line) float64 { return l.Yield })
	byTool(diagnose.ShotTime, func(l *diagnose.Line) float64 { return l.Duration })
	if len(e.peaks) == 0 {
		byTool(diagnose.Peak, func(l *diagnose.Line) float64 { return l.Peak.Value })
	}
}

// addPeak takes the peak now from the last reading, where nothing newer is
// stated, and notes it.
func (e *evidence) addPeak() {
	i := slices.IndexFunc(e.data, func(d diagnose.Measured) bool { return d.Kind == diagnose.Peak })
	if i < 0 && len(e.peaks) > 0 {
		i = len(e.data)
		e.data = append(e.data, machine.Measured(diagnose.Peak, e.peaks[len(e.peaks)-1].Peak, 0))
	}
	if i >= 0 {
		e.now = e.data[i].Value
	}
}

// dropUnknown leaves out what cannot be compared for want of the spring's
// dimensions.
func (e *evidence) dropUnknown() {
	if e.fresh.Spring != nil {
		return
	}
	e.data = slices.DeleteFunc(e.data, func(d diagnose.Measured) bool {
		switch d.Kind {
		case diagnose.FreeLength, diagnose.WireSize, diagnose.Coils, diagnose.BenchLoad:
			e.notes = append(e.notes, fmt.Sprintf("the %v is not used: the sheet gives the spring by rate and preload, so there is nothing to compare it with", d.Kind))
			return true
		}
		return false
	})
}

// find works everything out.
func (c *diagnoseCmd) find(e *evidence, prior diagnose.Prior) (*findings, error) {
	f := &findings{}
	var err error
	wish := diagnose.Wish{}
	if c.KeepAbove != nil {
		wish.Keep = c.KeepAbove.Value
	}
	if c.WantPeak != nil {
		wish.Peak = c.WantPeak.Value
	}
	if len(e.peaks) > 1 {
		h := diagnose.History{Readings: e.peaks, U: e.readU, Keep: wish.Keep}
		if f.loss, err = diagnose.Lose(h, &e.fresh.Setup); err != nil {
			return nil, err
		}
	}
	if f.ranking, err = diagnose.Rank(e.fresh, e.data, prior); err != nil {
		return nil, err
	}
	f.wire, f.noWire = e.m.WireStrength()
	wish.Wire = f.wire
	if e.now > 0 {
		if f.advice, err = diagnose.Advise(e.fresh, f.ranking, e.now, wish); err != nil {
			return nil, err
		}
	}
	if c.PullsPerDay > 0 && len(e.peaks) > 0 && f.wire != nil && f.wire.Curve != nil && e.fresh.Spring != nil {
		years := e.peaks[len(e.peaks)-1].Age / sheet.YearLength
		f.wear, err = diagnose.WearOf(e.fresh, f.wire, spring.Use{PullsPerDay: c.PullsPerDay, DaysPerYear: c.DaysPerYear, Years: years})
	}
	return f, err
}
