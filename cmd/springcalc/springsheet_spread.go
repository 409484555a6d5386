package main

// springQuestion asks for the rate and the loads at rest and cocked of a spring
// [N/m, N]. They are closed forms, so first order is right for them.
func springQuestion(table string) question {
	return question{
		Outcomes: []outcome{
			{Key: "rate_n_per_mm", Unit: inNPerMM, Head: "rate"},
			{Key: "load_rest_n", Unit: inN, Head: "load at rest"},
			{Key: "load_cocked_n", Unit: inN, Head: "load cocked"},
		},
		Build: func(m *machine) error {
			if m.Setup.Springs = m.Setup.Springs[:0]; !m.has(table + ".rate") {
				if cold, _, ok := m.atRoom(table); ok {
					m.Setup.Springs = append(m.Setup.Springs, m.installed(table, cold))
				}
			}
			return m.faults.err()
		},
		Answer: func() finder {
			return func(m *machine, y []float64) error {
				stroke := m.value("piston.stroke")
				if m.has(table + ".rate") {
					rate, preload := m.value(table+".rate"), m.value(table+".preload")
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
func (s *member) measure(m *machine) {
	sp, err := firstOrder(m, springQuestion(s.table))
	if err != nil || sp == nil {
		m.faultFrom(s.table, err)
		return
	}
	s.rateU, s.preloadU, s.cockedU = sp.results[0].std, sp.results[1].std, sp.results[2].std
	s.spread = sp
}
