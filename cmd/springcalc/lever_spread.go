package main

// leverQuestion asks for what a lever's closed forms give: first order is right
// for them.
var leverQuestion = question{
	Outcomes: []outcome{
		{Key: "peak_effort_n", Unit: inN, Head: "peak effort"},
		{Key: "energy_in_j", Unit: inJ, Head: "energy in"},
		{Key: "energy_back_j", Unit: inJ},
		{Key: "peak_bar", Unit: inBar, Head: "peak"},
	},
	Answer: func() finder {
		return func(m *machine, y []float64) error {
			lever, err := m.lever()
			if err != nil {
				return err
			}
			effort, err := lever.Effort(m.load(), finePoints)
			if err != nil {
				return err
			}
			losses, err := lossesOf(m)
			if err != nil {
				return err
			}
			y[0], y[1], y[2], y[3] = effort.Peak.Cocking, effort.Energy.Hand, effort.Energy.Recovered, losses.left().Pressure
			return nil
		}
	},
}
