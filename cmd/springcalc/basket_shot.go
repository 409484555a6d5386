package main

import (
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// shotCautions go with what is computed of a lever at work.
var shotCautions = []string{piston.CautionCocked, piston.CautionUnloaded, piston.CautionPressure, piston.CautionHot, spring.CautionLocal}

// shotCharts are pressure and cup mass over time, one above the other.
func shotCharts(shot *profile.Shot) []chart {
	n := len(shot.Samples)
	pressure := series{Name: "pressure", X: make([]float64, n), Y: make([]float64, n)}
	cup := series{Name: "cup", X: make([]float64, n), Y: make([]float64, n)}
	for i, row := range shot.Samples {
		pressure.X[i], cup.X[i] = quantity.InS.Of(row.Time), quantity.InS.Of(row.Time)
		pressure.Y[i], cup.Y[i] = quantity.InBar.Of(row.Pressure), quantity.InG.Of(row.Cup)
	}
	return []chart{
		{Key: "pressure", Title: "pressure above the puck, bar", XTitle: "time, s", Series: []series{pressure}},
		{Key: "cup", Title: "mass in the cup, g", XTitle: "time, s", Series: []series{cup}},
	}
}
