package main

import (
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
)

// springQuestion asks for the rate and the loads at rest and cocked of a spring
// [N/m, N]. They are closed forms, so first order is right for them.
func springQuestion(table string) question {
	return question{
		Outcomes: []outcome{
			{Key: "rate_n_per_mm", Unit: quantity.InNPerMM, Head: "rate"},
			{Key: "load_rest_n", Unit: quantity.InN, Head: "load at rest"},
			{Key: "load_cocked_n", Unit: quantity.InN, Head: "load cocked"},
		},
		Build: func(m *machine.Machine) error {
			if m.Setup.Springs = m.Setup.Springs[:0]; !m.Has(table + ".rate") {
				if cold, _, ok := m.AtRoom(table); ok {
					m.Setup.Springs = append(m.Setup.Springs, m.Installed(table, cold))
				}
			}
			return m.Faults.Err()
		},
		Answer: func() finder {
			return func(m *machine.Machine, y []float64) error {
				stroke := m.Value("piston.stroke")
				if m.Has(table + ".rate") {
					rate, preload := m.Value(table+".rate"), m.Value(table+".preload")
					y[0], y[1], y[2] = rate, preload, preload+rate*stroke
					return nil
				}
				s := m.Setup.Springs[0]
				y[0], y[1], y[2] = s.Rate, s.Force(0), s.Force(stroke)
				return nil
			}
		},
	}
}

// measure takes from the ± of the sheet how far rate and loads may be off.
func (s *member) measure(m *machine.Machine) {
	sp, err := firstOrder(m, springQuestion(s.table))
	if err != nil || sp == nil {
		m.FaultFrom(s.table, err)
		return
	}
	s.rateU, s.preloadU, s.cockedU = sp.results[0].std, sp.results[1].std, sp.results[2].std
	s.Spread = sp
}
