package main

import (
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/profile"
)

// shotOutcomes are the numbers of a shot that may be off.
var shotOutcomes = []outcome{
	{Key: "peak_bar", Unit: quantity.InBar, Head: "peak"},
	{Key: "end_bar", Unit: quantity.InBar},
	{Key: "time_constant_s", Unit: quantity.InS},
	{Key: "preinfusion_s", Unit: quantity.InS},
	{Key: "spring_s", Unit: quantity.InS},
	{Key: "shot_s", Unit: quantity.InS, Head: "shot length"},
	{Key: "yield_g", Unit: quantity.InG, Head: "yield"},
	{Key: "ratio", Unit: quantity.InRatio},
	{Key: "wetted_percent", Unit: quantity.InPercent},
	{Key: "energy_j", Unit: quantity.InJ},
}

// shotQuestion asks for them, and for pressure [Pa] and cup mass [kg] at times [s].
func shotQuestion(times []float64) question {
	return question{
		Outcomes: shotOutcomes,
		Points:   2 * len(times),
		Answer: func() finder {
			var shot profile.Shot // memory of one core
			return func(m *machine.Machine, y []float64) (err error) {
				if len(times) > 0 {
					err = profile.Trace(&m.Setup, &shot)
				} else {
					shot.Summary, err = profile.Summarize(&m.Setup)
				}
				if err != nil {
					return err
				}
				writeOutcomes(y, &shot.Summary)
				points := y[len(shotOutcomes):]
				readCurves(&shot, times, points[:len(times)], points[len(times):])
				return unfinished(shot.Outcome)
			}
		},
	}
}

// writeOutcomes is in the order of shotOutcomes.
func writeOutcomes(y []float64, s *profile.Summary) {
	copy(y, []float64{s.Peak, s.End, s.TimeConstant, s.Preinfusion, s.Spring, s.Total, s.Yield, s.Ratio, s.Wetted, s.Energy.Released})
}

// finished says whether a shot came to its end.
func finished(o profile.Outcome) bool {
	return o == profile.StrokeEnded || o == profile.BelowLimit || o == profile.CupFull
}

// unfinished is the error of a draw whose shot did not come to its end: how long
// it took is no answer then.
func unfinished(o profile.Outcome) error {
	if finished(o) {
		return nil
	}
	return errOutcome(o)
}

// addBand adds to a shot's curves and samples what 5 % and 95 % of the draws
// stay below at the times.
func (s *spread) addBand(r *report, times []float64) {
	if s == nil || s.draws == nil {
		return
	}
	n := len(times)
	low, high := s.band()
	for i := range r.Charts {
		c := &r.Charts[i]
		unit, from := quantity.InBar, 0
		if c.Key == "cup" {
			unit, from = quantity.InG, n
		}
		for _, edge := range [][]float64{low, high} {
			c.Series = append(c.Series, edgeSeries(times, edge[from:from+n], unit))
		}
	}
	t := r.table("samples")
	t.Columns = append(t.Columns,
		column{Key: "pressure_bar_p05", Head: "5 %", Digits: 3}, column{Key: "pressure_bar_p95", Head: "95 %", Digits: 3},
		column{Key: "cup_g_p05", Head: "5 %", Digits: 2}, column{Key: "cup_g_p95", Head: "95 %", Digits: 2})
	for i := range t.Data {
		t.Data[i] = append(t.Data[i], quantity.InBar.Of(low[i]), quantity.InBar.Of(high[i]), quantity.InG.Of(low[n+i]), quantity.InG.Of(high[n+i]))
	}
	if !s.Has("coffee.unloading_exponent") {
		r.Notes = append(r.Notes, "how a bed recovers (coffee.unloading_exponent) is among what may be off; its two ends by themselves are the numbers _elastic and _set of --json")
	}
	r.Notes = append(r.Notes, "the intervals are for the mean of many like shots: with the same grind and hand, one by itself runs from release to end "+
		"up to "+quantity.InPercent.Text(2*shotScatter().Std, 0)+" longer or shorter, 95 times in 100 (coffee.shot_scatter in the table defaults)")
	r.Notes = append(r.Notes, "dots in the charts, and the columns _p05 and _p95 of the samples, are what 5 % and 95 % of the draws stay below at a time; a shot that is over has no pressure")
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
// do not fall. After its end there is no pressure, and the cup stays.
func readCurves(shot *profile.Shot, times, pressure, cup []float64) {
	samples, next := shot.Samples, 0
	for i, t := range times {
		for next < len(samples) && samples[next].Time < t {
			next++
		}
		switch {
		case next == len(samples):
			pressure[i], cup[i] = 0, samples[next-1].Cup
		case next == 0:
			pressure[i], cup[i] = samples[0].Pressure, samples[0].Cup
		default:
			a, b := &samples[next-1], &samples[next]
			f := (t - a.Time) / (b.Time - a.Time)
			pressure[i], cup[i] = a.Pressure+f*(b.Pressure-a.Pressure), a.Cup+f*(b.Cup-a.Cup)
		}
	}
}

// edgeSeries is one edge of a band.
func edgeSeries(times, si []float64, unit quantity.Display) series {
	s := series{Name: "5 and 95 % of the draws", X: make([]float64, len(times)), Y: make([]float64, len(times)), Edge: true}
	for i := range times {
		s.X[i], s.Y[i] = quantity.InS.Of(times[i]), unit.Of(si[i])
	}
	return s
}
