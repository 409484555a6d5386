package main

import (
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
)

// leverQuestion asks for what a lever's closed forms give: first order is right
// for them.
var leverQuestion = question{
	Outcomes: []outcome{
		{Key: "peak_effort_n", Unit: quantity.InN, Head: "peak effort"},
		{Key: "energy_in_j", Unit: quantity.InJ, Head: "energy in"},
		{Key: "energy_back_j", Unit: quantity.InJ},
		{Key: "peak_bar", Unit: quantity.InBar, Head: "peak"},
	},
	Answer: func() finder {
		return func(m *machine.Machine, y []float64) error {
			lever, err := m.Lever()
			if err != nil {
				return err
			}
			effort, err := lever.Effort(m.Load(), finePoints)
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
