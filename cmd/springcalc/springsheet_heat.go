package main

import (
	"fmt"

	"springcalc/spring"
	"springcalc/tables"
)

// heat says what warmth does to rate, and time to load.
func (w *sheetWriter) heat(s *member) {
	d := s.dims
	s.add(row{Key: "rate_per_10_k_percent", Name: "rate for 10 K more", Value: -1000 * d.softness, Digits: 2, Unit: "%"}.
		noted("US makers: %.2f %%", -1000*spring.SofteningUS))
	if s.hot > 0 {
		w.hot(s)
	}
	if d.wire == nil {
		return
	}
	if low, high := d.wire.ServiceTemp, d.wire.ServiceTempHigh; low > 0 {
		service := measure("service_temperature_c", "wire serves up to", low, inC, 0)
		if high > low {
			service = service.within(low, high, inC)
		}
		s.add(service)
		if s.hot > low {
			s.doubt("At %s the wire is over its highest service temperature of %s: it loses load with time, more the hotter it is.", inC.text(s.hot, 0), inC.text(low, 0))
		}
	}
	w.relax(s)
}

// hot says what the spring does at the temperature that the sheet states.
func (w *sheetWriter) hot(s *member) {
	en, err := s.dims.warm(inC.of(s.hot), s.dims.softness)
	us, errUS := s.dims.warm(inC.of(s.hot), spring.SofteningUS)
	if err != nil || errUS != nil {
		s.doubt("No figures at %s: %s.", inC.text(s.hot, 0), withoutPackage(err))
		return
	}
	rate := measure("rate_hot_n_per_mm", "rate at "+inC.text(s.hot, 0), s.line.Rate*en, inNPerMM, 2)
	load := measure("load_cocked_hot_n", "load cocked at "+inC.text(s.hot, 0), s.line.Force(s.stroke)*en, inN, 0)
	s.add(rate.within(s.line.Rate*min(en, us), s.line.Rate*max(en, us), inNPerMM),
		load.within(s.line.Force(s.stroke)*min(en, us), s.line.Force(s.stroke)*max(en, us), inN))
}

// relax forecasts the loss of load of a spring that just meets the screening
// limit of the handbook, by the log-time law.
func (w *sheetWriter) relax(s *member) {
	screen, ok := s.dims.wire.Relaxation()
	if !ok {
		s.doubt("No limit of relaxation is known for this wire.")
		return
	}
	w.source(s, "relaxation, under 5 % in 48 h", fmt.Sprintf("%s at %s", inMPa.text(screen.Stress, 0), inC.text(screen.Temp, 0)), screen.Grade, screen.Source)
	law := screenLaw
	slow, fast := law, law
	slow.T0, fast.T0 = law.T0/10, law.T0*10
	for _, after := range []struct {
		name string
		age  float64
	}{{"48 h", law.RefTime}, {"1 year", yearLength}, {"10 years", 10 * yearLength}, {"30 years", 30 * yearLength}} {
		var losses [3]float64
		for i, l := range []spring.Relaxation{law, slow, fast} {
			loss, err := l.Loss(after.age)
			if err != nil {
				panic(err) // the law above is wrong
			}
			losses[i] = loss
		}
		w.relaxation.Data = append(w.relaxation.Data, []any{s.name, after.name, inPercent.of(losses[0]), inPercent.of(losses[1]),
			inPercent.of(losses[2]), inN.of(losses[0] * s.line.Force(0))})
	}
	rest, cocked := s.dims.us.Stress(s.line.Force(0), spring.Wahl), s.dims.us.Stress(s.line.Force(s.stroke), spring.Wahl)
	s.notes = append(s.notes, relaxationWords(screen, rest, cocked, s.hot))
}

// relaxationWords set the spring beside the limit for which losses are given.
func relaxationWords(limit tables.Screen, rest, cocked, hot float64) string {
	text := fmt.Sprintf("Relaxation is given for %s (Wahl) at %s, where the handbook allows 5 %% in 48 h; the band is for time constants of 0.01 to 1 h.",
		inMPa.text(limit.Stress, 0), inC.text(limit.Temp, 0))
	switch {
	case rest > limit.Stress || hot > limit.Temp:
		text += fmt.Sprintf(" This spring, at %s at rest, is past that limit: it may lose more.", inMPa.text(rest, 0))
	case cocked > limit.Stress:
		text += fmt.Sprintf(" This spring rests at %s, under it, and is over it only while cocked, at %s: it should lose less. A greater loss is yielding, wear or a wrong reading.", inMPa.text(rest, 0), inMPa.text(cocked, 0))
	default:
		text += fmt.Sprintf(" This spring rests at %s and is under it even cocked: it should lose less. A greater loss is yielding, wear or a wrong reading.", inMPa.text(rest, 0))
	}
	if hot == 0 {
		text += " Its temperature is not stated (spring.temperature)."
	}
	return text
}
