package main

// What diagnose needs of a machine beside what a shot needs.

var newTable = table{
	path: "new",
	doc: "What the machine was when it was new, for \"springcalc diagnose\". What is\n" +
		"not stated here is taken for what it is now.",
	keys: []key{
		{name: "peak", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "9 bar",
			doc: "peak pressure"},
		{name: "free_length", dim: dimLength, allowed: limits{above: "0 mm", upTo: "1 m"}, example: "235 mm",
			doc: "free length of the spring"},
		{name: "wire", dim: dimLength, allowed: limits{above: "0 mm", upTo: "50 mm"}, example: "8 mm",
			doc: "wire diameter"},
		{name: "active_coils", dim: dimNumber, allowed: limits{from: "1", upTo: "100"}, example: "20",
			doc: "coils that move"},
	},
}

var benchTable = table{
	path: "bench",
	doc: "What was measured on the machine lately, for \"springcalc diagnose\". Let the\n" +
		"machine cool, and release the spring only in a safe fixture.",
	keys: []key{
		{name: "peak", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "6.5 bar",
			doc: "peak pressure of a shot"},
		{name: "end_pressure", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "3.4 bar",
			doc: "pressure at the end of the stroke"},
		{name: "yield", dim: dimMass, allowed: limits{above: "0 g", upTo: "10 kg"}, example: "28 g",
			doc: "mass in the cup at the end of the stroke"},
		{name: "shot_time", dim: dimTime, allowed: limits{above: "0 s", upTo: "10 min"}, example: "30 s",
			doc: "time from the release of the lever to the end"},
		{name: "long_fill_peak", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "6.5 bar",
			doc: "peak pressure after a fill twice as long, lever fully down"},
		{name: "free_length", dim: dimLength, allowed: limits{above: "0 mm", upTo: "1 m"}, example: "229 mm",
			doc: "free length of the spring"},
		{name: "wire", dim: dimLength, allowed: limits{above: "0 mm", upTo: "50 mm"}, example: "7.98 mm",
			doc: "wire diameter where it is thinnest"},
		{name: "active_coils", dim: dimNumber, allowed: limits{from: "1", upTo: "100"}, example: "20",
			doc: "coils that move"},
		{name: "force_raising", dim: dimForce, allowed: limits{from: "0 N", upTo: "20 kN"}, example: "60 N",
			doc: "force that raises the piston, the spring out of it, no pressure"},
		{name: "force_lowering", dim: dimForce, allowed: limits{from: "-20 kN", upTo: "20 kN"}, example: "20 N",
			doc: "force under which it sinks again"},
		{name: "gauge_reading", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "8.9 bar",
			doc: "what the gauge reads at a known pressure"},
		{name: "gauge_true", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "9 bar",
			doc: "that known pressure"},
		{name: "piston_travel", dim: dimLength, allowed: limits{above: "0 mm", upTo: "1 m"}, example: "24 mm",
			doc: "travel of the piston from cocked to rest, as the lever is pulled in use"},
		{name: "headspace_depth", dim: dimLength, allowed: limits{from: "0 mm", upTo: "500 mm"}, example: "4 mm",
			doc: "depth from the piston at rest to the dry coffee"},
	},
}

var benchLoadTable = table{
	path: "bench.load",
	doc:  "A load of the spring on the bench; one [[bench.load]] for each.",
	many: true,
	keys: []key{
		{name: "length", dim: dimLength, allowed: limits{above: "0 mm", upTo: "1 m"}, example: "190 mm", doc: "length of the spring under it"},
		{name: "force", dim: dimForce, allowed: limits{above: "0 N", upTo: "20 kN"}, example: "1050 N", doc: "the load"},
	},
}
