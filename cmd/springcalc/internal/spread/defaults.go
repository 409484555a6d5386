package spread

import (
	"math"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/profile/uncertain"
	"springcalc/tables"
)

// DefaultInput is a default as an input, with the shape of its spread.
func DefaultInput(d tables.Default) uncertain.Input {
	switch d.Shape {
	case "triangular":
		return uncertain.Triangle(d.Key, d.Low, d.Value, d.High)
	case "lognormal":
		in := uncertain.PlausibleRange(d.Key, d.Low, d.High)
		in.Std *= d.Value / in.Value // its median is the default, not the middle of the range
		in.Value = d.Value
		return in
	case "normal":
		return uncertain.HalfWidth95(d.Key, d.Value, (d.High-d.Low)/2)
	case "uniform":
		return uncertain.Limits(d.Key, d.Low, d.High, uncertain.Uniform)
	}
	panic("spread: default " + d.Key + " has the unknown shape " + d.Shape)
}

// Deviation is the standard deviation of a quantity about the value in use [SI],
// which of a default need not be the mean of its range.
func Deviation(m *machine.Machine, path string) float64 {
	if q, ok := m.Quantity(path); ok {
		return q.Sigma()
	}
	d, ok := m.DefaultFor(path)
	if !ok || d.Low == d.High {
		return 0
	}
	in := DefaultInput(d)
	return math.Hypot(in.Std, in.Value-d.Value)
}
