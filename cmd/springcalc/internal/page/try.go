package page

import (
	"fmt"
	"math"
	"strconv"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/tables"
)

// knob is something to try: a slider with the sheet's value as its home.
type knob struct {
	ID     string  `json:"id"`
	Name   string  `json:"name"`
	Unit   string  `json:"unit"`
	Digits int     `json:"digits"` // after the point
	Home   float64 `json:"home"`   // of the sheet [Unit]
	Min    float64 `json:"min"`    // [Unit]
	Max    float64 `json:"max"`    // [Unit]
	Step   float64 `json:"step"`   // [Unit]
	Hint   string  `json:"hint,omitempty"`

	display quantity.Display // zero value for a factor
}

// knobKind is a knob before a machine is known.
type knobKind struct {
	id, name string
	unit     quantity.Display
	digits   int
	step     [2]float64 // in metric and in inch units
	low      float64    // of the range, as a share of the sheet's value; with 0 it begins at nothing
	high     float64
	most     float64                                // of the range at least [SI]
	of       func(*machine.Machine) (float64, bool) // the sheet's value [SI]; false where it cannot be tried
}

var knobKinds = []knobKind{
	{id: "preload", name: "Preload", unit: quantity.InN, step: [2]float64{10, 2}, low: 0.5, high: 1.6,
		of: func(m *machine.Machine) (float64, bool) {
			return m.Setup.Springs[0].Preload, m.Setup.Springs[0].Preload > 0
		}},
	{id: "rate", name: "Rate of the spring", unit: quantity.InNPerMM, digits: 1, step: [2]float64{0.5, 2}, low: 0.7, high: 1.4,
		of: func(m *machine.Machine) (float64, bool) { return m.Setup.Springs[0].Rate, true }},
	{id: "dose", name: "Dose", unit: quantity.InG, digits: 1, step: [2]float64{0.1, 0.1}, low: 0.6, high: 1.5,
		of: func(m *machine.Machine) (float64, bool) { return m.Setup.Coffee.Dose, true }},
	{id: "grind", name: "Grind, resistance ×", digits: 2, step: [2]float64{0.02, 0.02}, low: 0.5, high: 2,
		of: func(*machine.Machine) (float64, bool) { return 1, true }},
	{id: "preinfusion", name: "Pre-infusion", unit: quantity.InS, step: [2]float64{1, 1}, high: 2, most: 30,
		of: func(m *machine.Machine) (float64, bool) { return m.Setup.Pulls[0].Preinfusion, len(m.Setup.Pulls) == 1 }},
	{id: "diameter", name: "Basket diameter", unit: quantity.InMM, digits: 1, step: [2]float64{0.5, 0.02}, low: 0.8, high: 1.25,
		of: func(m *machine.Machine) (float64, bool) { return m.Setup.Basket.Diameter, true }},
	{id: "depth", name: "Basket depth", unit: quantity.InMM, digits: 1, step: [2]float64{0.5, 0.02}, low: 0.7, high: 1.5,
		of: func(m *machine.Machine) (float64, bool) { return m.Setup.Basket.Depth, m.Setup.Basket.Depth > 0 }},
}

// knobs are what can be tried on a machine, in a family of units.
func knobs(m *machine.Machine, f quantity.Family) (all []knob) {
	for _, k := range knobKinds {
		home, ok := k.of(m)
		if !ok {
			continue
		}
		unit, digits := k.unit.In(f, k.digits)
		step := k.step[f]
		low, high := unit.Of(home*k.low), unit.Of(max(home*k.high, k.most))
		all = append(all, knob{ID: k.id, Name: k.name, Unit: unit.Symbol, Digits: digits, Home: unit.Of(home),
			Min: math.Floor(low/step) * step, Max: math.Ceil(high/step) * step, Step: step, display: unit})
	}
	return all
}

// trial is the values that are tried, by knob, in its unit.
type trial map[string]float64

// sets are the overrides of the sheet that a trial amounts to: those that a person
// would give to the terminal. A value keeps the ± that the sheet has for it.
func (t trial) sets(m *machine.Machine, f quantity.Family) (sets []string) {
	si := map[string]float64{}
	for _, k := range knobs(m, f) {
		if v, ok := t[k.ID]; ok {
			si[k.ID] = siOf(k.display, v)
		}
	}
	w := writer{Machine: m, family: f}
	if v, ok := si["diameter"]; ok {
		w.set("basket.diameter", v, quantity.InMM, 2, false)
	}
	if v, ok := si["depth"]; ok {
		w.set("basket.depth", v, quantity.InMM, 2, false)
	}
	if v, ok := si["dose"]; ok {
		w.set("coffee.dose", v, quantity.InG, 2, false)
	}
	if v, ok := si["preinfusion"]; ok {
		w.set("pull.preinfusion", v, quantity.InS, 1, false)
	}
	w.spring(si)
	if v, ok := si["grind"]; ok {
		w.grind(v)
	}
	return w.sets
}

// writer collects overrides for a machine.
type writer struct {
	*machine.Machine
	family quantity.Family
	sets   []string
}

// set overrides a key with a value [SI]. What it may be off by stays, or goes with
// the value where it is a share of it.
func (w *writer) set(path string, si float64, unit quantity.Display, digits int, share bool) {
	unit, digits = unit.In(w.family, digits)
	text := strconv.FormatFloat(unit.Of(si), 'f', digits, 64)
	stored := path
	if parent, name := sheet.SplitPath(path); w.Several[parent] == 1 {
		stored = sheet.Indexed(parent, 1) + "." + name
	}
	if q, ok := w.Quantity(stored); ok && q.Plus > 0 {
		plus := q.Plus
		if share {
			plus *= si / q.Value
		}
		text += " ± " + strconv.FormatFloat(unit.Step(plus), 'g', 4, 64)
	}
	if unit.Symbol != "" {
		text += " " + unit.Symbol
	}
	w.sets = append(w.sets, path+"="+text)
}

// spring overrides rate and preload, or the coils and the length at rest that give
// them where the sheet has dimensions.
func (w *writer) spring(si map[string]float64) {
	rate, tryRate := si["rate"]
	preload, tryPreload := si["preload"]
	if !tryRate && !tryPreload {
		return
	}
	now := w.Setup.Springs[0]
	if !tryRate {
		rate = now.Rate
	}
	if !tryPreload {
		preload = now.Preload
	}
	shim := w.ValueOr("spring.shim", 0)
	if w.Has("spring.rate") {
		if tryRate {
			w.set("spring.rate", rate, quantity.InNPerMM, 3, true)
		}
		if tryPreload {
			w.set("spring.preload", preload-rate*shim, quantity.InN, 1, false)
		}
		return
	}
	c, ok := w.Compression("spring")
	if !ok {
		return
	}
	if tryRate { // the rate goes as one over the active coils
		more := c.Active * (now.Rate/rate - 1)
		for _, path := range []string{"spring.active_coils", "spring.total_coils"} {
			if q, ok := w.Quantity(path); ok {
				w.set(path, q.Value+more, quantity.Display{}, 4, true)
			}
		}
	}
	w.set("spring.installed_length", c.Free-preload/rate+shim, quantity.InMM, 3, false)
}

// grind overrides what the bed does to the flow by a factor on its resistance, in
// the way in which the sheet states it.
func (w *writer) grind(factor float64) {
	c := &w.Setup.Coffee
	switch {
	case w.Has("coffee.resistance"):
		q, _ := w.Quantity("coffee.resistance")
		w.set("coffee.resistance", q.Value*factor, quantity.InBarSPerML, 3, true)
	case w.HasTable("coffee.known"): // what the known shot tells, as if it had been stated
		w.sets = append(w.sets, "coffee.known=")
		w.set("coffee.resistance", c.Resistance*factor, quantity.InBarSPerML, 4, true)
		w.set("coffee.resistance_at", c.AtPressure, quantity.InBar, 3, false)
		if c.FoundDose > 0 {
			w.set("coffee.resistance_dose", c.FoundDose, quantity.InG, 2, false)
		}
		if c.FoundDiameter > 0 {
			w.set("coffee.resistance_basket", c.FoundDiameter, quantity.InMM, 2, false)
		}
		if !w.Has("coffee.retained") {
			w.sets = append(w.sets, fmt.Sprintf("coffee.retained=%.4g g/g", c.Retained))
		}
	default:
		q, stated := w.Quantity("coffee.permeability")
		at := quantity.Quantity{Value: w.Value("coffee.permeability_at")}
		if !stated {
			d, _ := tables.DefaultFor("coffee.permeability")
			q = quantity.Quantity{Value: d.Value, Plus: (d.High - d.Low) / 2}
			w.sets = append(w.sets, "coffee.permeability_at="+quantity.Format(at, quantity.DimPressure))
		}
		w.sets = append(w.sets, fmt.Sprintf("coffee.permeability=%.4g ± %.3g m²", q.Value/factor, min(q.Plus, 0.99*q.Value)/factor))
	}
}

// hints say what a tried value amounts to, by knob.
func (t trial) hints(m *machine.Machine, f quantity.Family) map[string]string {
	out := map[string]string{}
	by := map[string]knob{}
	for _, k := range knobs(m, f) {
		by[k.ID] = k
	}
	if v, ok := t["preload"]; ok {
		now := m.Setup.Springs[0]
		more := siOf(by["preload"].display, v) - now.Preload
		rate := now.Rate
		if r, ok := t["rate"]; ok {
			rate = siOf(by["rate"].display, r)
		}
		out["preload"] = textLikeShim(report.Of(math.Abs(more/rate), quantity.InMM, 1).In(f), more > 0)
	}
	if v, ok := t["grind"]; ok {
		out["grind"] = textGrind(v)
	}
	return out
}

// siOf is a number of a unit in SI.
func siOf(unit quantity.Display, v float64) float64 {
	zero, one := unit.Of(0), unit.Of(1)
	return (v - zero) / (one - zero)
}
