package main

import (
	"springcalc/profile/uncertain"
	"springcalc/tables"
)

// defaultInput is a default as an input, with the shape of its spread.
func defaultInput(d tables.Default) uncertain.Input {
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
	panic("uncertainty: default " + d.Key + " has the unknown shape " + d.Shape)
}
