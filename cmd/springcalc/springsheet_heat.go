package main

import (
	"fmt"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
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
		service := measure("service_temperature_c", "wire serves up to", low, quantity.InC, 0)
		if high > low {
			service = service.within(low, high, quantity.InC)
		}
		s.add(service)
		if s.hot > low {
			s.doubt("At %s the wire is over its highest service temperature of %s: it loses load with time, more the hotter it is.", quantity.InC.Text(s.hot, 0), quantity.InC.Text(low, 0))
		}
	}
	w.relax(s)
}

// hot says what the spring does at the temperature that the sheet states.
func (w *sheetWriter) hot(s *member) {
	en, err := s.dims.warm(quantity.InC.Of(s.hot), s.dims.softness)
	us, errUS := s.dims.warm(quantity.InC.Of(s.hot), spring.SofteningUS)
	if err != nil || errUS != nil {
		s.doubt("No figures at %s: %s.", quantity.InC.Text(s.hot, 0), machine.WithoutPackage(err))
		return
	}
	rate := measure("rate_hot_n_per_mm", "rate at "+quantity.InC.Text(s.hot, 0), s.Line.Rate*en, quantity.InNPerMM, 2)
	load := measure("load_cocked_hot_n", "load cocked at "+quantity.InC.Text(s.hot, 0), s.Line.Force(s.stroke)*en, quantity.InN, 0)
	s.add(rate.within(s.Line.Rate*min(en, us), s.Line.Rate*max(en, us), quantity.InNPerMM),
		load.within(s.Line.Force(s.stroke)*min(en, us), s.Line.Force(s.stroke)*max(en, us), quantity.InN))
}

// relax forecasts the loss of load of a spring that just meets the screening
// limit of the handbook, by the log-time law.
func (w *sheetWriter) relax(s *member) {
	screen, ok := s.dims.wire.Relaxation()
	if !ok {
		s.doubt("No limit of relaxation is known for this wire.")
		return
	}
	w.source(s, "relaxation, under 5 % in 48 h", fmt.Sprintf("%s at %s", quantity.InMPa.Text(screen.Stress, 0), quantity.InC.Text(screen.Temp, 0)), screen.Grade, screen.Source)
	law := screenLaw
	slow, fast := law, law
	slow.T0, fast.T0 = law.T0/10, law.T0*10
	for _, after := range []struct {
		Name string
		age  float64
	}{{"48 h", law.RefTime}, {"1 year", sheet.YearLength}, {"10 years", 10 * sheet.YearLength}, {"30 years", 30 * sheet.YearLength}} {
		var losses [3]float64
		for i, l := range []spring.Relaxation{law, slow, fast} {
			loss, err := l.Loss(after.age)
			if err != nil {
				panic(err) // the law above is wrong
			}
			losses[i] = loss
		}
		w.relaxation.Data = append(w.relaxation.Data, []any{s.Name, after.Name, quantity.InPercent.Of(losses[0]), quantity.InPercent.Of(losses[1]),
			quantity.InPercent.Of(losses[2]), quantity.InN.Of(losses[0] * s.Line.Force(0))})
	}
	rest, cocked := s.dims.us.Stress(s.Line.Force(0), spring.Wahl), s.dims.us.Stress(s.Line.Force(s.stroke), spring.Wahl)
	s.notes = append(s.notes, relaxationWords(screen, rest, cocked, s.hot))
}

// relaxationWords set the spring beside the limit for which losses are given.
func relaxationWords(limit tables.Screen, rest, cocked, hot float64) string {
	text := fmt.Sprintf("Relaxation is given for %s (Wahl) at %s, where the handbook allows 5 %% in 48 h; the band is for time constants of 0.01 to 1 h.",
		quantity.InMPa.Text(limit.Stress, 0), quantity.InC.Text(limit.Temp, 0))
	switch {
	case rest > limit.Stress || hot > limit.Temp:
		text += fmt.Sprintf(" This spring, at %s at rest, is past that limit: it may lose more.", quantity.InMPa.Text(rest, 0))
	case cocked > limit.Stress:
		text += fmt.Sprintf(" This spring rests at %s, under it, and is over it only while cocked, at %s: it should lose less. A greater loss is yielding, wear or a wrong reading.", quantity.InMPa.Text(rest, 0), quantity.InMPa.Text(cocked, 0))
	default:
		text += fmt.Sprintf(" This spring rests at %s and is under it even cocked: it should lose less. A greater loss is yielding, wear or a wrong reading.", quantity.InMPa.Text(rest, 0))
	}
	if hot == 0 {
		text += " Its temperature is not stated (spring.temperature)."
	}
	return text
}
