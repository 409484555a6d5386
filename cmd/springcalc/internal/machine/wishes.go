package machine

import (
	"springcalc/profile/replace"
	"springcalc/spring"
	"springcalc/tables"
)

// Values of wishes and space that a sheet does not state.
var wishDefaults = map[string]tables.Default{
	"wish.within":           FixedDefault(0.25e5, "a fresh gauge reads no better", tables.CommonPractice),
	"wish.life":             FixedDefault(10*365.25*86400, "a wish", tables.CommonPractice),
	"wish.pulls":            FixedDefault(30/86400.0, "a wish", tables.CommonPractice),
	"space.rod":             FixedDefault(0, "not stated: no rod", tables.CommonPractice),
	"space.play":            FixedDefault(1e-3, "play of a spring in its bore", tables.CommonPractice),
	"space.solid_clearance": FixedDefault(0, "what EN 13906-1 asks is enough", tables.FromMemory),
	"space.temperature":     FixedDefault(273.15+70, "spring above the group", tables.CommonPractice),
}

func FixedDefault(si float64, source string, grade tables.Grade) tables.Default {
	return tables.Default{Value: si, Low: si, High: si, Source: source, Grade: grade}
}

// Wished returns the value of a key of [wish] or [space] [SI], stated or by default.
func (m *Machine) Wished(path string) float64 {
	if m.Has(path) {
		return m.Value(path)
	}
	d, ok := wishDefaults[path]
	if !ok {
		panic("replace: no default for " + path)
	}
	d.Key = path
	m.Assume(d)
	return d.Value
}

// SpringTemperature is that of the spring at work [K].
func (m *Machine) SpringTemperature() float64 {
	if path := "spring.temperature"; m.Has(path) && !m.Has("space.temperature") {
		return m.Value(path)
	}
	return m.Wished("space.temperature")
}

// WishedEnd is the wished end pressure, or that of a spring of today's rate
// that gives a peak [Pa].
func (m *Machine) WishedEnd(peak float64) float64 {
	if m.Has("wish.end") {
		return m.Value("wish.end")
	}
	return replace.EndAtRate(&m.Setup, peak, Stiffness(m.Setup.Springs))
}

// Stiffness is the rate of springs together [N/m].
func Stiffness(springs []spring.Linear) (rate float64) {
	for _, s := range springs {
		rate += s.Rate
	}
	return rate
}
