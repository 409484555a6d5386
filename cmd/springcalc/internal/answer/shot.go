package answer

import (
	"context"
	"fmt"
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/profile"
)

// ShotOptions are what may be asked of a shot.
type ShotOptions struct {
	Spread spread.Options // with Skip for machines that are compared
	Log    *NamedLog      // a logged shot to hold against it; nil for none
}

// Shot follows the water from opening the inlet port to the end of the stroke.
func Shot(ctx context.Context, m *machine.Machine, o ShotOptions) (*report.Report, error) {
	shot, err := profile.Run(&m.Setup)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r := newReport("shot", m)
	r.Rows = report.Rows(rowsOf(m), &shotResult{shot.Summary, shot.Elastic, shot.Set, m.Setup.Springs, m.Setup.Cylinder.Stroke})
	r.Main, r.Caution = "samples", cautionLever
	r.Doubts = append(r.Doubts, report.Tolds(shot.Doubts)...)
	bedRange(r, shot)
	remarkDecay(r, &shot.Summary)
	r.Charts = shotCharts(shot)
	samples := make([]sampled, len(shot.Samples))
	for i, s := range shot.Samples {
		samples[i].Sample = s
	}
	cols := sampleCols
	if !finished(shot.Outcome) || o.Spread.Skip {
		r.Note("the interval of the times is a mere range: from a bed that springs back as the pressure falls to one that stays compacted")
	} else {
		times := bandTimes(shot.Samples)
		s, err := spread.Draw(m, shotQuestion(rowsOf(m), times), o.Spread)
		if err != nil {
			return nil, err
		}
		s.AddTo(r)
		if addBands(r, s, times, samples) {
			cols = slices.Concat(sampleCols, sampleBandCols)
			shotNotes(r, m)
		}
	}
	if o.Log != nil {
		if err := addLog(r, m, shot, o.Log); err != nil {
			return nil, err
		}
	}
	r.Tables = append(r.Tables, eventTable(shot, len(m.Setup.Pulls)), energyTable(&shot.Energy),
		report.Fill(report.Table{Key: "samples", Title: "Course of the shot", DataOnly: true}, cols, samples))
	r.Answer = slices.Concat(contradictions(m), shotSentences(r, m, &shot.Summary), takenSentence(m))
	r.Next = shotNext(r, m)
	return r, nil
}

// shown is a row as an amount, with the digits that it is known to.
func shown(r *report.Row) report.Amount {
	digits := r.Digits
	if r.Band != nil && r.Band.Std > 0 {
		digits = min(digits, r.Band.Known)
	}
	return report.Of(r.Value, r.Unit, digits)
}

// shotSentences say what goes in and what comes out.
func shotSentences(r *report.Report, m *machine.Machine, s *profile.Summary) []report.Sentence {
	dose := report.Of(m.Setup.Coffee.Dose, quantity.InG, 0)
	if math.Abs(dose.Value-math.Round(dose.Value*1e3)/1e3) > 0.05e-3 {
		dose.Digits = 1
	}
	time := shown(r.Row("total_time"))
	time.Digits = 0
	ratio := report.Amount{Value: s.Ratio, Unit: quantity.InRatio, Digits: 2, Bare: true}
	course := report.Say("%s in, %s out (1 : %s) in %s; peak %s, %s at the end.", dose, shown(r.Row("yield")), ratio, time,
		shown(r.Row("peak")), shown(r.Row("end")))
	switch {
	case finished(s.Outcome) && s.Outcome != profile.StrokeEnded:
		return []report.Sentence{course, report.Say("Ended by: %s.", ending(s.Outcome))}
	case finished(s.Outcome):
		return []report.Sentence{course}
	}
	return []report.Sentence{report.Say("The shot does not come to its end (%s).", ending(s.Outcome)), course}
}

// shotNext says what to measure next.
func shotNext(r *report.Report, m *machine.Machine) []report.Sentence {
	if !m.KnowsPuck() {
		return []report.Sentence{report.Say("Weigh and time one shot and state it under [coffee.known]: the times here are those of an assumed grind, then they would be those of yours.")}
	}
	if row := r.Row("total_time"); row.Narrow != "" {
		return []report.Sentence{report.Say("The total time is known more closely by: %s.", row.Narrow)}
	}
	return nil
}

// bedRange puts on the times the range of what is not known of the bed. Draws
// put their interval in its place.
func bedRange(r *report.Report, shot *profile.Shot) {
	set := func(key string, a, b float64) {
		row := r.Row(key)
		row.Band = &report.Band{Low: min(a, b), High: max(a, b), Known: row.Digits}
	}
	set("decay_time_constant", shot.Elastic.TimeConstant, shot.Set.TimeConstant)
	set("flow_time", shot.Elastic.Spring, shot.Set.Spring)
	set("total_time", shot.Elastic.Total, shot.Set.Total)
}

// remarkDecay says where a decay time constant tells nothing.
func remarkDecay(r *report.Report, s *profile.Summary) {
	row := r.Row("decay_time_constant")
	switch {
	case s.TimeConstant == 0:
		row.Note, row.Band = report.Say("the pressure does not fall"), nil
	case s.TimeConstant > 100*s.Spring:
		row.Note = report.Say("the pressure hardly falls")
	}
}

// shotQuestion asks for the numbers of a shot, and for pressure [Pa] and cup
// mass [kg] at times [s].
func shotQuestion(rows []report.Def[shotResult], times []float64) spread.Question {
	q := spread.Of(rows, func() spread.Finder[shotResult] {
		var shot profile.Shot // memory of one core
		return func(m *machine.Machine, r *shotResult, points []float64) (err error) {
			if len(points) > 0 {
				err = profile.Trace(&m.Setup, &shot)
			} else {
				shot.Summary, err = profile.Summarize(&m.Setup)
			}
			if err != nil {
				return err
			}
			r.Summary, r.springs, r.stroke = shot.Summary, m.Setup.Springs, m.Setup.Cylinder.Stroke
			if len(points) > 0 {
				readCurves(&shot, times, points[:len(times)], points[len(times):])
			}
			return unfinished(shot.Outcome)
		}
	})
	q.Points = 2 * len(times)
	return q
}

// shotCharts are pressure, flow and cup mass over time, one above the other.
func shotCharts(shot *profile.Shot) []report.Chart {
	n := len(shot.Samples)
	t, pressure, flow, cup := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	for i, s := range shot.Samples {
		t[i], pressure[i], flow[i], cup[i] = s.Time, s.Pressure, s.Flow, s.Cup
	}
	chart := func(key, name string, unit quantity.Display, y []float64) report.Chart {
		return report.Chart{Key: key, Name: name, Unit: unit, XName: "time", XUnit: quantity.InS, Zero: true, Marks: shotMarks(shot),
			Series: []report.Series{{Name: key, X: t, Y: y}}}
	}
	all := []report.Chart{
		chart("pressure", "pressure above the puck", quantity.InBar, pressure),
		chart("flow", "flow into the puck", quantity.InMLPerS, flow),
		chart("cup", "mass in the cup", quantity.InG, cup),
	}
	if top := brewFlowTop(shot); top < slices.Max(flow) {
		all[1].Top, all[1].Beyond = top, "more while the dry bed drinks"
	}
	return all
}

// shotMarks are the events that a person sees: letting go, and the first drop.
func shotMarks(shot *profile.Shot) (marks []report.Mark) {
	seen := map[string]string{"release": "release", "first drop": "first drop", "end": "end"}
	for _, e := range shot.Events {
		if name, ok := seen[e.Name]; ok {
			marks = append(marks, report.Mark{Name: name, X: e.Time})
		}
	}
	return marks
}

// brewFlowTop is up to where a chart shows the flow [m³/s]: half as much again as
// flows at most once the bed is wet. A dry bed drinks many times that.
func brewFlowTop(shot *profile.Shot) float64 {
	const more = 1.5 // [-]
	wet := 0.0       // [s]
	for _, e := range shot.Events {
		if e.Name == "front through" {
			wet = e.Time
		}
	}
	most := 0.0
	for _, s := range shot.Samples {
		if s.Time > wet {
			most = max(most, s.Flow)
		}
	}
	if most == 0 {
		return math.Inf(1)
	}
	return more * most
}

// bandOf are the charts that have a band, in the order of its points.
var bandOf = []string{"pressure", "cup"}

// addBands adds to charts and samples the 95 % interval at the times, of the
// shots still running there, and when they end. It says whether there is one.
func addBands(r *report.Report, s *spread.Spread, times []float64, samples []sampled) bool {
	low, high := s.Edges()
	if low == nil {
		return false
	}
	n := len(times)
	for i, key := range bandOf {
		c := r.Chart(key)
		c.Band = runningArea(times, low[i*n:(i+1)*n], high[i*n:(i+1)*n])
		if from, to, ok := s.Interval("total_time"); ok {
			c.Ends = &report.Ending{Low: from, High: to}
		}
	}
	cell := func(v float64) any {
		if math.IsNaN(v) {
			return nil
		}
		return v
	}
	for i := range samples {
		p := &samples[i]
		p.low, p.high, p.cupLow, p.cupHigh = cell(low[i]), cell(high[i]), cell(low[n+i]), cell(high[n+i])
	}
	return true
}

// runningArea is a band as far as shots run.
func runningArea(times, low, high []float64) *report.Area {
	a := &report.Area{Name: "95 % interval of shots running"}
	for i, t := range times {
		if !math.IsNaN(low[i]) {
			a.X, a.Low, a.High = append(a.X, t), append(a.Low, low[i]), append(a.High, high[i])
		}
	}
	return a
}

// shotNotes say what the intervals of a shot are.
func shotNotes(r *report.Report, m *machine.Machine) {
	if !m.Has("coffee.unloading_exponent") {
		r.Note("how a bed recovers (coffee.unloading_exponent) is among what may be off; its two ends by themselves are the numbers _elastic and _compacted of the JSON form")
	}
	r.Note("the intervals are for the mean of many like shots: with the same grind and hand, the flow time of one by itself is up to %s longer or shorter, 95 times in 100 (coffee.shot_scatter in the table defaults)",
		report.Of(2*shotScatter().Std, quantity.InPercent, 0))
	r.Note("the shade of the charts, and the columns _low and _high of the samples, are the 95 %% interval at a time of the shots that still run then")
}

// eventNames are plainer words for events.
var eventNames = map[string]string{"front through": "puck wet through"}

// eventTable lists the events of a shot, each with its pull where there are several.
func eventTable(shot *profile.Shot, pulls int) report.Table {
	events, pull := slices.Clone(shot.Events), 0
	for i := range events {
		e := &events[i]
		if e.Name == "port opened" {
			pull++
		}
		if name, ok := eventNames[e.Name]; ok {
			e.Name = name
		}
		if pulls > 1 {
			e.Name = fmt.Sprintf("pull %d: %s", pull, e.Name)
		}
	}
	return report.Fill(report.Table{Key: "events", Title: "Events"}, eventCols, events)
}

// bandTimes are the times [s] of the samples of a shot, and some more up to half
// its length again. Where two samples have one time the pressure jumps there,
// and they are taken just before and just after it.
func bandTimes(samples []profile.Sample) []float64 {
	const aside, more = 1e-6, 20 // [s], [-]
	times := make([]float64, len(samples), len(samples)+more)
	for i, s := range samples {
		times[i] = s.Time
		if i > 0 && s.Time == samples[i-1].Time {
			times[i-1] -= aside
			times[i] += aside
		}
	}
	last := times[len(times)-1]
	for i := range more {
		times = append(times, last*(1+0.5*float64(i+1)/more))
	}
	return times
}

// readCurves reads pressure [Pa] and cup mass [kg] of a shot off at times that
// do not fall. After its end it has neither: NaN.
func readCurves(shot *profile.Shot, times, pressure, cup []float64) {
	samples, next := shot.Samples, 0
	for i, t := range times {
		for next < len(samples) && samples[next].Time < t {
			next++
		}
		switch {
		case next == len(samples):
			pressure[i], cup[i] = math.NaN(), math.NaN()
		case next == 0:
			pressure[i], cup[i] = samples[0].Pressure, samples[0].Cup
		default:
			a, b := &samples[next-1], &samples[next]
			f := (t - a.Time) / (b.Time - a.Time)
			pressure[i], cup[i] = a.Pressure+f*(b.Pressure-a.Pressure), a.Cup+f*(b.Cup-a.Cup)
		}
	}
}
