package logged

import "springcalc/profile"

// Pair is one thing that was measured and computed, in the unit of the thing.
type Pair struct {
	Measured   Reading // by the log [unit of the value]
	Computed   float64 // by the model [unit of the value]
	Difference float64 // measured less computed [unit of the value]
	Known      bool    // the log tells it
}

// Comparison is a logged shot over a computed one.
type Comparison struct {
	Peak  Pair // highest pressure [Pa]
	End   Pair // pressure where the spring's part was over [Pa]
	Time  Pair // from the release to there [s]
	Yield Pair // mass in the cup [kg]
}

// Against compares a logged shot with a computed one: peak, pressure at the end
// of the spring's part, time to it from the release, and yield. The measured
// pressures are as the gauge reads, less its zero where the log shows it, and
// their intervals hold what Unsure says of the gauge's scale and zero. A log cut
// off before the spring's part was over tells no end, time or yield of its own:
// compare Line.Ended with the last row.
//
// The computed figures come with no interval of their own here: the caller
// that knows the ± of its sheet says whether each difference lies within both.
func (line *Line) Against(shot *profile.Summary, u Unsure) Comparison {
	zero := line.Zero
	pressure := func(e Estimate, own, computed float64) Pair {
		value := e.Value - zero.Value
		all := hypot(e.U(), zero.U(), u.Gauge*value)
		return pair(Reading{Around(value, all), own}, computed, true)
	}
	const clock = 0.3 // how well a release or a rest is placed in time, besides the rows [s]
	every := 0.0
	if n := line.Used + line.Wild; n > 1 {
		every = (line.Window.To - line.Window.From) / float64(n-1)
	}
	tu := hypot(clock, every, u.Lag)
	const scale = 0.3e-3 // of a cup on a scale, by its steps and last drops [kg]
	return Comparison{
		Peak:  pressure(line.Peak, line.Peak.U(), shot.Peak),
		End:   pressure(line.End.Estimate, line.End.Own, shot.End),
		Time:  pair(Reading{Around(line.Duration, tu), tu}, shot.Spring, line.Duration > 0),
		Yield: pair(Reading{Around(line.Yield, scale), scale}, shot.Yield, line.Yield > 0),
	}
}

func pair(measured Reading, computed float64, known bool) Pair {
	if !known {
		return Pair{Computed: computed}
	}
	return Pair{measured, computed, measured.Value - computed, true}
}
