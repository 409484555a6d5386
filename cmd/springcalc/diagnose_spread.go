package main

import (
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	spreads "springcalc/cmd/springcalc/internal/spread"
	"springcalc/profile"
	"springcalc/profile/diagnose"
	"springcalc/profile/uncertain"
	"springcalc/tables"
)

// unsure is how far that may be off which a log is read with, by the ± of the
// sheet and the ranges of the defaults. The weight of the piston helps the
// spring as friction hinders it, so both are one.
func (e *evidence) unsure() diagnose.Unsure {
	m, c := e.m, &e.m.Setup.Coffee
	return diagnose.Unsure{
		Bore:     deviation(m, "piston.bore"),
		Friction: math.Hypot(deviation(m, "piston.friction"), deviation(m, "piston.mass")*profile.Gravity),
		PerPa:    deviation(m, "piston.friction_per_pressure"),
		Uptake:   math.Hypot(deviation(m, "coffee.retained")*c.Dose, c.Retained*deviation(m, "coffee.dose")) / m.Setup.Water.Density,
		Gauge:    e.gaugeU(),
	}
}

// deviation is the standard deviation of a quantity about the value in use [SI],
// which of a default need not be the mean of its range.
func deviation(m *machine.Machine, path string) float64 {
	if q, ok := m.Quantity(path); ok {
		return q.Sigma()
	}
	d, ok := tables.DefaultFor(path)
	if !ok || d.Low == d.High {
		return 0
	}
	in := defaultInput(d)
	return math.Hypot(in.Std, in.Value-d.Value)
}

// gaugeU is the relative standard uncertainty of the gauge's scale [-]: that of
// its check, or of a usual gauge.
func (e *evidence) gaugeU() float64 {
	for _, d := range e.data {
		if d.Kind == diagnose.Gauge {
			return d.U / d.Value
		}
	}
	return diagnose.UsualU(diagnose.Gauge)
}

// Inputs of a diagnosis that are not in the sheet.
const (
	gaugeScale = spreads.GaugeScale
	peakDrop   = spreads.PeakDrop
	readingNow = spreads.ReadingNow
)

// lossQuestion asks for the force lost and the set that amounts to it [N, m],
// and for the shim [m], as far as they are known. They are closed forms in
// what the gauge showed: first order is right for them.
func (e *evidence) lossQuestion(f *findings, wish *quantity.PressureFlag) question {
	var q question
	other := func(in uncertain.Input, unit quantity.Display, digits int) {
		q.Others = append(q.Others, otherInput{Input: in, Known: "± " + unit.Text(2*in.Std, digits)})
	}
	loss, shim := f.loss != nil, f.advice != nil && f.advice.Shim != nil
	if loss {
		c := &e.fresh.Setup.Cylinder
		effect := c.Area() + c.Seal.PerPa
		other(uncertain.Input{Name: peakDrop, Value: f.loss.Force.Value / effect, Std: f.loss.Force.U() / effect}, quantity.InBar, 2)
		q.Outcomes = append(q.Outcomes, outcome{"force_lost_n", quantity.InN, "force lost"}, outcome{"equivalent_set_mm", quantity.InMM, "set"})
	}
	if shim {
		other(uncertain.Input{Name: readingNow, Value: e.now, Std: e.nowU()}, quantity.InBar, 2)
		q.Outcomes = append(q.Outcomes, outcome{"shim_mm", quantity.InMM, "shim"})
	}
	other(uncertain.Input{Name: gaugeScale, Value: 1, Std: e.gaugeU()}, quantity.InPercent, 1)
	q.Answer = func() finder {
		return func(m *machine.Machine, y []float64) error {
			fresh, _, err := m.AsNew(e.atNew)
			if err != nil {
				return err
			}
			c := &fresh.Setup.Cylinder
			effect, rate := (c.Area() + c.Seal.PerPa), machine.Stiffness(fresh.Setup.Springs)
			if loss {
				lost := m.Value(peakDrop) * m.Value(gaugeScale) * effect
				y[0], y[1] = lost, lost/rate
			}
			if shim {
				rise, err := missing(m, fresh, wish)
				if err != nil {
					return err
				}
				y[len(y)-1] = rise * effect / rate
			}
			return nil
		}
	}
	return q
}

// missing is by how much the peak is below the wanted one [Pa]. A wish, and the
// peak when new, are readings of the same gauge; what the model gives is not.
func missing(m *machine.Machine, fresh *diagnose.Machine, wish *quantity.PressureFlag) (float64, error) {
	scale, now := m.Value(gaugeScale), m.Value(readingNow)
	switch {
	case wish != nil:
		return scale * (wish.Value - now), nil
	case fresh.Fresh > 0:
		return scale * (fresh.Fresh - now), nil
	}
	shot, err := profile.Summarize(&fresh.Setup)
	return shot.Peak - scale*now, err
}

// nowU is the standard uncertainty of the peak now [Pa].
func (e *evidence) nowU() float64 {
	i := slices.IndexFunc(e.data, func(d diagnose.Measured) bool { return d.Kind == diagnose.Peak })
	return e.data[i].U
}

// addSpread says how far force lost, set and shim may be off. A diagnosis
// stands without that.
func (e *evidence) addSpread(r *report, f *findings, wish *quantity.PressureFlag) {
	q := e.lossQuestion(f, wish)
	if len(q.Outcomes) == 0 {
		return
	}
	addFirstOrder(r, e.m, q, "force lost, set and shim")
}
