package sheet

import (
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/spring"
)

var WishTable = Table{
	Path: "wish",
	Doc:  "What you want of the next spring. Only springcalc replace reads this.",
	Keys: []Key{
		{Name: "peak", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "50 bar"}, Usual: Limits{From: "2 bar", UpTo: "16 bar"}, Example: "9 bar",
			Doc: "peak pressure"},
		{Name: "end", Dim: quantity.DimPressure, Allowed: Limits{From: "0 bar", UpTo: "50 bar"}, Example: "5.5 bar",
			Doc: "pressure at the end of the stroke; not stated, that of a fresh\nspring of today's rate"},
		{Name: "within", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "10 bar"}, Example: "0.25 bar",
			Doc: "what both may be off by"},
		{Name: "effort", Dim: quantity.DimForce, Allowed: Limits{Above: "0 N", UpTo: "5 kN"}, Example: "180 N",
			Doc: "force of the hand at most"},
		{Name: "effort_today", Dim: quantity.DimForce, Allowed: Limits{Above: "0 N", UpTo: "5 kN"}, Example: "140 N",
			Doc: "force of the hand with today's spring, by a luggage scale on the\nhandle where it pulls hardest; not read where there is a [lever]"},
		{Name: "life", Dim: quantity.DimTime, Allowed: Limits{From: "0 s", UpTo: "100 years"}, Example: "10 years",
			Doc: "how long it should last"},
		{Name: "pulls", Dim: quantity.DimFrequency, Allowed: Limits{From: "0 /day", UpTo: "5000 /day"}, Example: "30 /day",
			Doc: "how often the lever is pulled"},
		{Name: "grade", Example: "EN 10270-1 DH, EN 10270-3 1.4310",
			Doc: "grades of wire to choose from"},
	},
}

var SpaceTable = Table{
	Path: "space",
	Doc:  "The room for the spring. Only springcalc replace reads this.",
	Keys: []Key{
		{Name: "bore", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "500 mm"}, Example: "58 mm",
			Doc: "inside diameter of what it works in"},
		{Name: "rod", Dim: quantity.DimLength, Allowed: Limits{From: "0 mm", UpTo: "500 mm"}, Example: "16 mm",
			Doc: "diameter of the rod through it"},
		{Name: "play", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "50 mm"}, Example: "1 mm",
			Doc: "least play in diameter to bore and rod"},
		{Name: "installed_length", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "2 m"}, Example: "205 mm",
			Doc: "length of the spring with the piston at rest"},
		{Name: "solid_clearance", Dim: quantity.DimLength, Allowed: Limits{From: "0 mm", UpTo: "500 mm"}, Example: "5 mm",
			Doc: "room wanted between cocked and solid, where that is more than\nEN 13906-1 asks"},
		{Name: "temperature", Dim: quantity.DimTemperature, Allowed: Limits{From: "-20 °C", UpTo: "250 °C"}, Example: "70 °C",
			Doc: "temperature of the spring at work"},
		{Name: "seating", Choices: []string{spring.FixedFixed.String(), spring.FixedHinged.String(), spring.HingedHinged.String(), spring.FixedFree.String()},
			Example: spring.FixedFixed.String(), Doc: "how its ends are held against tilting"},
		{Name: "guided", Choices: []string{"yes", "no"}, Words: yesWords, Example: "no",
			Doc: "whether rod or bore keep it straight over its whole length"},
	},
}
