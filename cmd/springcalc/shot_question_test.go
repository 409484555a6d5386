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

// shotQuestion asks for them.
func shotQuestion() question {
	return question{
		Outcomes: shotOutcomes,
		Answer: func() finder {
			var shot profile.Shot // memory of one core
			return func(m *machine.Machine, y []float64) (err error) {
				shot.Summary, err = profile.Summarize(&m.Setup)
				if err != nil {
					return err
				}
				writeOutcomes(y, &shot.Summary)
				return unfinished(shot.Outcome)
			}
		},
	}
}

// writeOutcomes is in the order of shotOutcomes.
func writeOutcomes(y []float64, s *profile.Summary) {
	copy(y, []float64{s.Peak, s.End, s.TimeConstant, s.Preinfusion, s.Spring, s.Total, s.Yield, s.Ratio, s.Wetted, s.Energy.Released})
}
