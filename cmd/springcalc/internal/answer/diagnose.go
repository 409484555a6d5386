package answer

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/profile"
	"springcalc/profile/course"
	"springcalc/profile/diagnose"
	"springcalc/profile/logged"
	"springcalc/spring"
)

// ErrUnmeasured says that there is nothing to go by.
var ErrUnmeasured = sheet.Usef("nothing was measured: give --peaks, --log, or values under [bench] in the sheet or with --set")

// DiagnoseOptions are what is known of a machine beside its sheet, and what is wanted.
type DiagnoseOptions struct {
	Life      course.Life     // peaks over the years and repairs [Pa]; a first reading at New is that of the new spring
	Visits    []sheet.Visit   // whose readings count where [bench] has none of their kind; their peaks are in Life
	Logs      []NamedLog      // logged shots
	From, To  float64         // part of the logs to use [s]; both 0 to have it found
	OwnSensor bool            // the logs were read with a sensor of their own, not the machine's gauge
	Keep      float64         // peak down to which the machine is left as it is [Pa]; 0 for none
	Want      float64         // peak to restore [Pa]; 0 for that of the sound machine
	Use       spring.Use      // how often the lever is pulled, without Years; zero where nobody says
	Presume   []Presumption   // in place of the usual ones
	Away      []diagnose.Kind // what cannot be measured
}

// NamedLog is a logged shot with what to call it.
type NamedLog struct {
	Name string
	Log  logged.Log
}

// LifeOfPeaks is a machine's life by a list of its peaks, by date. The first is
// that of the new spring, unless made says when it was new.
func LifeOfPeaks(list []sheet.Peak, made *sheet.Date) (l course.Life) {
	if len(list) == 0 {
		return l
	}
	l.NewKnown, l.New = true, list[0].Date.Time()
	if made != nil {
		l.New = made.Time()
	}
	for _, p := range list {
		l.Readings = append(l.Readings, course.Reading{Time: p.Date.Time(), Value: p.Pressure, U: p.U})
	}
	return l
}

// diagnosis is all that a diagnosis goes by and finds.
type diagnosis struct {
	*DiagnoseOptions
	m      *machine.Machine
	fresh  *machine.AsNew
	priors diagnose.Priors

	readings []diagnose.Observation
	logs     []readLog
	life     course.Life
	course   *course.Course // nil for fewer than two peaks over the years

	state  *diagnose.State
	wire   *diagnose.Wire
	noWire string         // why it is not known
	wear   *diagnose.Wear // nil where it was not asked for or cannot be told
}

// readLog is a log with what was read off it.
type readLog struct {
	NamedLog
	*logged.Line
	raw *logged.Line // the same with no air in the chamber: pressure against the water that left it
}

// Diagnose tells what keeps the peak down, what each repair would bring back,
// and what to do next.
func Diagnose(ctx context.Context, m *machine.Machine, o DiagnoseOptions) (*report.Report, error) {
	d := &diagnosis{DiagnoseOptions: &o, m: m, life: o.Life}
	for _, step := range []func() error{d.presume, d.asNew, d.readLogs, d.gather, d.weigh, ctx.Err, d.infer} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	return d.report(), nil
}

// presume fills the priors.
func (d *diagnosis) presume() (err error) {
	if d.priors, err = usualPresumptions(); err != nil {
		return err
	}
	if !d.m.KnowsPuck() {
		d.priors.Sound.Puck = math.Max(d.priors.Sound.Puck, unknownGrind)
	}
	return setPresumptions(&d.priors, d.Presume)
}

// unknownGrind is the factor of one standard deviation between pucks where the
// grind is not known, that of coffee.permeability.
const unknownGrind = 1.8

// guessedLength is the standard deviation of the free length of a new spring
// where nothing but its peak tells of it, as a share. The peak narrows it.
const guessedLength = 0.1

// asNew makes the machine as new.
func (d *diagnosis) asNew() (err error) {
	atNew := 0.0
	if r := d.life.Readings; len(r) > 0 && d.life.NewKnown && r[0].Time == d.life.New {
		atNew = r[0].Value
	}
	if d.fresh, err = d.m.AsNew(atNew); err != nil {
		return err
	}
	if peak := d.fresh.Peak; peak > 0 && atNew == 0 && len(d.life.Readings) > 0 && d.life.NewKnown {
		first := course.Reading{Time: d.life.New, Value: peak}
		if q, ok := d.m.Quantity("new.peak"); ok {
			first.U = q.Sigma()
		}
		d.life.Readings = slices.Insert(slices.Clone(d.life.Readings), 0, first)
	}
	if d.fresh.Guessed {
		d.priors.Sound.FreeLength = guessedLength
	}
	return nil
}

// tool is the standard uncertainty of a reading with usual tools [unit of the kind].
func (d *diagnosis) tool(k diagnose.Kind) float64 { return d.priors.Tool[k] }

// unsure is how far that may be off which a log is read with, by the ± of the
// sheet and the ranges of the defaults. The weight of the piston helps the
// spring as friction hinders it, so both are one.
func (d *diagnosis) unsure() logged.Unsure {
	u, c := logged.UsualUnsure(&d.m.Setup), &d.m.Setup.Coffee
	off := func(path string) float64 { return spread.Deviation(d.m, path) }
	u.Bore = off("piston.bore")
	u.Friction = math.Hypot(off("piston.friction"), off("piston.mass")*profile.Gravity)
	u.PerPa = off("piston.friction_per_pressure")
	u.Uptake = math.Hypot(off("coffee.retained")*c.Dose, c.Retained*off("coffee.dose")) / d.m.Setup.Water.Density
	u.Dissolved = off("coffee.soluble") / c.Soluble
	u.Gauge, u.Zero = d.priors.Sound.Gain, d.priors.Sound.Zero
	if d.m.Has("chamber.air") {
		u.Air = off("chamber.air")
	}
	return u
}

// handle is what the weight of the handle does to a log.
func (d *diagnosis) handle() logged.Handle {
	s := &d.m.Setup
	h := logged.UsualHandle(s.Cylinder.Stroke)
	if f := s.Handle.Force(s.Cylinder.Stroke / 2); f != 0 {
		h.Force = func(travel float64) float64 { return s.Handle.Force(s.Cylinder.Stroke - travel) }
		if u := spread.Deviation(d.m, "piston.handle_force"); u > 0 {
			h.U = math.Min(1, u/math.Abs(f))
		}
	}
	return h
}

// readLogs reads the line off every log that is of a shot of its own.
func (d *diagnosis) readLogs() error {
	all := make([]logged.Log, len(d.Logs))
	for i, l := range d.Logs {
		all[i] = l.Log
	}
	o := logged.Options{From: d.From, To: d.To, Lag: usualLag, Handle: d.handle(), Unsure: d.unsure()}
	water := d.m.Setup
	water.Chamber.Air = 0
	for _, i := range logged.Distinct(all) {
		l := readLog{NamedLog: d.Logs[i]}
		var err error
		if l.Line, err = logged.ReadLine(l.Log, &d.m.Setup, o); err == nil {
			l.raw, err = logged.ReadLine(l.Log, &water, o)
		}
		if errors.Is(err, logged.ErrWindow) {
			return sheet.Usef("--from, --to: %s", machine.WithoutPackage(err))
		}
		if err != nil {
			return fmt.Errorf("%s: %s", l.Name, machine.WithoutPackage(err))
		}
		d.logs = append(d.logs, l)
	}
	return nil
}

// usualLag is the time constant of a gauge [s].
const usualLag = 0.5

// gather collects the readings.
func (d *diagnosis) gather() error {
	d.readings = d.m.Bench(d.fresh, d.tool)
	if err := d.m.Faults.Err(); err != nil {
		return err
	}
	if d.fresh.Spring == nil {
		d.readings = slices.DeleteFunc(d.readings, func(o diagnose.Observation) bool { return slices.Contains(comparedWithNew, o.Kinds[0]) })
	}
	stated := func(k diagnose.Kind) bool {
		return slices.ContainsFunc(d.readings, func(o diagnose.Observation) bool { return o.Kinds[0] == k })
	}
	for _, o := range d.m.Observed(d.Visits, d.tool) {
		if !stated(o.Kinds[0]) && (d.fresh.Spring != nil || !slices.Contains(comparedWithNew, o.Kinds[0])) {
			d.readings = append(d.readings, o)
		}
	}
	if last := len(d.life.Readings) - 1; last >= 0 && !stated(diagnose.Peak) && !(last == 0 && d.life.Readings[0].Time == d.life.New && d.life.NewKnown) {
		r := d.life.Readings[last]
		o := diagnose.Observe(diagnose.Peak, r.Value, math.Max(r.U, d.tool(diagnose.Peak)))
		o.Name, o.Before = "peaks", d.renewedSince(r)
		d.readings = append(d.readings, o)
	}
	d.fromLogs(stated)
	if len(d.readings) == 0 {
		return ErrUnmeasured
	}
	if peak := d.fresh.Peak; peak > 0 {
		u := d.tool(diagnose.Peak)
		if q, ok := d.m.Quantity("new.peak"); ok && q.Plus > 0 {
			u = q.Sigma()
		}
		o := diagnose.Observe(diagnose.Peak, peak, u)
		o.Name, o.New = "new.peak", true
		d.readings = append(d.readings, o)
	}
	return nil
}

// comparedWithNew are the readings that compare with the dimensions of the spring as new.
var comparedWithNew = []diagnose.Kind{diagnose.FreeLength, diagnose.WireSize, diagnose.Coils, diagnose.BenchLoad}

// renewedSince are the parts that a repair noted after a reading has put right.
func (d *diagnosis) renewedSince(r course.Reading) (parts []diagnose.Part) {
	for _, work := range d.life.Repairs {
		if work.Time > r.Time || work.Time == r.Time && r.Before {
			parts = append(parts, renews[work.Kind]...)
		}
	}
	return parts
}

// renews are the parts that work puts right.
var renews = map[course.Kind][]diagnose.Part{
	course.Seal:   {diagnose.PartSeal},
	course.Spring: {diagnose.PartSet, diagnose.PartWire, diagnose.PartCoil, diagnose.PartSpring},
	course.Gauge:  {diagnose.PartGauge},
}

// fromLogs adds what the logs show: the line of pressure against water with its
// covariance, and what is not stated otherwise of yield, time and peak.
func (d *diagnosis) fromLogs(stated func(diagnose.Kind) bool) {
	if len(d.logs) == 0 {
		return
	}
	if o, ok := d.lineRead(); ok {
		d.readings = append(d.readings, o)
	}
	mean := func(k diagnose.Kind, of func(readLog) float64, pressure bool) {
		sum, n := 0.0, 0.0
		for _, l := range d.logs {
			if v := of(l); v > 0 {
				sum, n = sum+v, n+1
			}
		}
		if n > 0 && !stated(k) {
			o := diagnose.Observe(k, sum/n, d.tool(k))
			o.Name, o.Other, o.Whole = "log", pressure && d.OwnSensor, true
			d.readings = append(d.readings, o)
		}
	}
	mean(diagnose.Yield, func(l readLog) float64 { return l.Yield }, false)
	mean(diagnose.ShotTime, func(l readLog) float64 { return l.Duration }, false)
	mean(diagnose.Peak, func(l readLog) float64 { return l.Peak.Value }, true)
}

// lineRead is the line of all logs together as one reading. What its rows and
// shots scatter by falls with the number of logs; what the bed took up, the
// weight of the handle and the sound seal are the same in all of them.
func (d *diagnosis) lineRead() (o diagnose.Observation, ok bool) {
	c := &d.m.Setup.Cylinder
	area := c.Area()
	effect := area + d.priors.Sound.SealPressure
	carried := d.m.Setup.Handle.Force(c.Stroke/2) / effect // as the diagnosis has it, the same all the way
	uptake := d.unsure().Uptake
	var values [][3]float64
	var own, common [3][3]float64
	for _, l := range d.logs {
		if l.raw.Withheld != "" {
			continue
		}
		r := &l.raw.Raw
		// rate, start and bow by intercept and slope
		toRate, toStart := -area*effect, -area*c.Port
		slope := r.Slope.Value - r.Handle[1]
		values = append(values, [3]float64{slope * toRate, r.Intercept.Value - r.Handle[0] + carried + slope*toStart, r.Bow.Value})
		jac := [3][2]float64{{0, toRate}, {1, toStart}, {}}
		turned := func(by [2]float64) (v [3]float64) {
			for i := range v {
				v[i] = jac[i][0]*by[0] + jac[i][1]*by[1]
			}
			return v
		}
		water, weight := turned(r.PerUptake), turned(r.HandleU)
		for i := range 3 {
			for j := range 3 {
				for a := range 2 {
					for b := range 2 {
						own[i][j] += (jac[i][a]*jac[j][b] + jac[j][a]*jac[i][b]) / 2 * r.Cov[a][b]
					}
				}
				common[i][j] += water[i]*water[j]*uptake*uptake + weight[i]*weight[j]
			}
		}
		own[2][2] += r.Bow.U() * r.Bow.U()
	}
	n := float64(len(values))
	if n == 0 {
		return o, false
	}
	o = diagnose.Observation{Name: "log", Other: d.OwnSensor, Kinds: []diagnose.Kind{diagnose.LogRate, diagnose.LogStart, diagnose.LogBow}}
	var mean [3]float64
	for i := range mean {
		for _, v := range values {
			mean[i] += v[i] / n
		}
	}
	for i := range mean {
		row := make([]float64, 3)
		for j := range row {
			scatter := 0.0
			for _, v := range values {
				scatter += (v[i] - mean[i]) * (v[j] - mean[j])
			}
			row[j] = own[i][j]/n/n + common[i][j]/n
			if n > 1 && i == j {
				row[j] = math.Max(row[j], scatter/(n-1)/n+common[i][j]/n)
			}
		}
		o.Values, o.Cov = append(o.Values, mean[i]), append(o.Cov, row)
	}
	o.Values[0], o.Values[1] = math.Max(0, o.Values[0]), math.Max(0, o.Values[1])
	return o, true
}

// weigh weighs the laws of the peaks over the years.
func (d *diagnosis) weigh() (err error) {
	if len(d.life.Readings) < 2 {
		return nil
	}
	d.course, err = course.Weigh(d.life)
	return err
}

// infer asks for the state of all parts.
func (d *diagnosis) infer() (err error) {
	c := &diagnose.Case{Machine: &d.fresh.Machine, Readings: d.readings, Priors: d.priors, Wish: d.Want, Away: d.Away, Outcomes: true}
	if d.course != nil {
		f := d.course.LnBF
		c.Course = diagnose.Course{SetOdds: f.Set, WearOdds: f.Wear, StepOdds: f.Step}
	}
	d.wire, d.noWire = d.m.WireStrength()
	c.Wire = d.wire
	if d.state, err = diagnose.Infer(c); err != nil {
		return err
	}
	if last := len(d.life.Readings) - 1; d.Use.PullsPerDay > 0 && last > 0 && d.life.NewKnown && d.wire != nil && d.wire.Curve != nil && d.fresh.Spring != nil {
		use := d.Use
		use.Years = (d.life.Readings[last].Time - d.life.New) / course.Year
		d.wear, err = diagnose.WearOf(&d.fresh.Machine, d.wire, use)
	}
	return err
}

// sizes are how to print the size of the fault of a part; kindsIn how to print a reading.
var (
	sizes = map[diagnose.Part]display{
		diagnose.PartSet: {quantity.InMM, 1}, diagnose.PartWire: {quantity.InPercent, 1}, diagnose.PartCoil: {quantity.InRatio, 1}, diagnose.PartSpring: {quantity.InRatio, 1},
		diagnose.PartSeal: {quantity.InN, 0}, diagnose.PartFill: {quantity.InML, 1}, diagnose.PartLever: {quantity.InMM, 1}, diagnose.PartHeadspace: {quantity.InML, 1},
		diagnose.PartGauge: {quantity.InPercent, 0}, diagnose.PartPuck: {quantity.InPercent, 0},
	}
	kindsIn = map[diagnose.Kind]display{
		diagnose.Peak: {quantity.InBar, 2}, diagnose.EndPress: {quantity.InBar, 2}, diagnose.LongFill: {quantity.InBar, 2}, diagnose.LogStart: {quantity.InBar, 2}, diagnose.LogBow: {quantity.InBar, 2},
		diagnose.LogRate: {quantity.InNPerMM, 2}, diagnose.BenchRate: {quantity.InNPerMM, 2}, diagnose.Yield: {quantity.InG, 1}, diagnose.ShotTime: {quantity.InS, 1},
		diagnose.FreeLength: {quantity.InMM, 1}, diagnose.WireSize: {quantity.InMM, 2}, diagnose.Travel: {quantity.InMM, 1}, diagnose.Headspace: {quantity.InMM, 1},
		diagnose.Coils: {quantity.InRatio, 1}, diagnose.BenchLoad: {quantity.InN, 0}, diagnose.Drag: {quantity.InN, 0}, diagnose.Gauge: {quantity.InPercent, 0},
	}
)

// display is a unit with the digits that a person wants.
type display struct {
	quantity.Display
	digits int
}

// of is a value [SI] to be printed so.
func (d display) of(si float64) report.Amount { return report.Of(si, d.Display, d.digits) }
