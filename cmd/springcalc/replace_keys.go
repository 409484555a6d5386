package main

import "springcalc/spring"

var wishTable = table{
	path: "wish",
	doc:  "What you want of the next spring. Only springcalc replace reads this.",
	keys: []key{
		{name: "peak", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "50 bar"}, example: "9 bar",
			doc: "peak pressure"},
		{name: "end", dim: dimPressure, allowed: limits{from: "0 bar", upTo: "50 bar"}, example: "5.5 bar",
			doc: "pressure at the end of the stroke; not stated, that of a fresh\nspring of today's rate"},
		{name: "within", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "10 bar"}, example: "0.25 bar",
			doc: "what both may be off by"},
		{name: "effort", dim: dimForce, allowed: limits{above: "0 N", upTo: "5 kN"}, example: "180 N",
			doc: "force of the hand at most"},
		{name: "effort_today", dim: dimForce, allowed: limits{above: "0 N", upTo: "5 kN"}, example: "140 N",
			doc: "force of the hand with today's spring, by a luggage scale on the\nhandle where it pulls hardest; not read where there is a [lever]"},
		{name: "life", dim: dimTime, allowed: limits{from: "0 s", upTo: "100 years"}, example: "10 years",
			doc: "how long it should last"},
		{name: "pulls", dim: dimFrequency, allowed: limits{from: "0 /day", upTo: "5000 /day"}, example: "30 /day",
			doc: "how often the lever is pulled"},
		{name: "grade", example: "EN 10270-1 DH, EN 10270-3 1.4310",
			doc: "grades of wire to choose from"},
	},
}

var spaceTable = table{
	path: "space",
	doc:  "The room for the spring. Only springcalc replace reads this.",
	keys: []key{
		{name: "bore", dim: dimLength, allowed: limits{above: "0 mm", upTo: "500 mm"}, example: "58 mm",
			doc: "inside diameter of what it works in"},
		{name: "rod", dim: dimLength, allowed: limits{from: "0 mm", upTo: "500 mm"}, example: "16 mm",
			doc: "diameter of the rod through it"},
		{name: "play", dim: dimLength, allowed: limits{above: "0 mm", upTo: "50 mm"}, example: "1 mm",
			doc: "least play in diameter to bore and rod"},
		{name: "installed_length", dim: dimLength, allowed: limits{above: "0 mm", upTo: "2 m"}, example: "205 mm",
			doc: "length of the spring with the piston at rest"},
		{name: "solid_clearance", dim: dimLength, allowed: limits{from: "0 mm", upTo: "500 mm"}, example: "5 mm",
			doc: "room wanted between cocked and solid, where that is more than\nEN 13906-1 asks"},
		{name: "temperature", dim: dimTemperature, allowed: limits{from: "-20 °C", upTo: "250 °C"}, example: "70 °C",
			doc: "temperature of the spring at work"},
		{name: "seating", choices: []string{spring.FixedFixed.String(), spring.FixedHinged.String(), spring.HingedHinged.String(), spring.FixedFree.String()},
			example: spring.FixedFixed.String(), doc: "how its ends are held against tilting"},
		{name: "guided", choices: []string{"yes", "no"}, example: "no",
			doc: "whether rod or bore keep it straight over its whole length"},
	},
}
