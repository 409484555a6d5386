package sheet

import (
	"springcalc/cmd/springcalc/internal/quantity"
)

// What diagnose needs of a machine beside what a shot needs.

var NewTable = Table{
	Path: "new",
	Doc: "What the machine was when it was new, for \"springcalc diagnose\". What is\n" +
		"not stated here is taken for what it is now.",
	Keys: []Key{
		{Name: "date", Form: dateForm, Example: "1986-05",
			Doc: "when it was new; not after the first visit"},
		{Name: "peak", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "1 bar", UpTo: "16 bar"}, Example: "9 bar",
			Doc: "peak pressure"},
		{Name: "free_length", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "1 m"}, Usual: Limits{From: "40 mm", UpTo: "500 mm"}, Example: "235 mm",
			Doc: "free length of the spring"},
		{Name: "wire", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "50 mm"}, Usual: Limits{From: "2 mm", UpTo: "14 mm"}, Example: "8 mm",
			Doc: "wire diameter"},
		{Name: "active_coils", Dim: quantity.DimNumber, Allowed: Limits{From: "1", UpTo: "100"}, Example: "20",
			Doc: "coils that move"},
	},
}

var BenchTable = Table{
	Path: "bench",
	Doc: "What was measured on the machine lately, for \"springcalc diagnose\". Let the\n" +
		"machine cool, and release the spring only in a safe fixture.",
	Keys: []Key{
		{Name: "peak", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "1 bar", UpTo: "16 bar"}, Example: "6.5 bar",
			Doc: "peak pressure of a shot"},
		{Name: "end_pressure", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "0.3 bar", UpTo: "16 bar"}, Example: "3.4 bar",
			Doc: "pressure at the end of the stroke"},
		{Name: "yield", Dim: quantity.DimMass, Allowed: Limits{Above: "0 g", UpTo: "10 kg"}, Usual: Limits{From: "5 g", UpTo: "150 g"}, Example: "28 g",
			Doc: "mass in the cup at the end of the stroke"},
		{Name: "shot_time", Dim: quantity.DimTime, Allowed: Limits{Above: "0 s", UpTo: "10 min"}, Usual: Limits{From: "4 s", UpTo: "240 s"}, Example: "30 s",
			Doc: "time from the release of the lever to the end"},
		{Name: "long_fill_peak", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "1 bar", UpTo: "16 bar"}, Example: "6.5 bar",
			Doc: "peak pressure after a fill twice as long, lever fully down"},
		{Name: "free_length", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "1 m"}, Usual: Limits{From: "40 mm", UpTo: "500 mm"}, Example: "229 mm",
			Doc: "free length of the spring"},
		{Name: "wire", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "50 mm"}, Usual: Limits{From: "2 mm", UpTo: "14 mm"}, Example: "7.98 mm",
			Doc: "wire diameter where it is thinnest"},
		{Name: "active_coils", Dim: quantity.DimNumber, Allowed: Limits{From: "1", UpTo: "100"}, Example: "20",
			Doc: "coils that move"},
		{Name: "force_raising", Dim: quantity.DimForce, Allowed: Limits{From: "0 N", UpTo: "20 kN"}, Example: "60 N",
			Doc: "force that raises the piston, the spring out of it, no pressure"},
		{Name: "force_lowering", Dim: quantity.DimForce, Allowed: Limits{From: "-20 kN", UpTo: "20 kN"}, Example: "20 N",
			Doc: "force under which it sinks again"},
		{Name: "gauge_reading", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "1 bar", UpTo: "16 bar"}, Example: "8.9 bar",
			Doc: "what the gauge reads at a known pressure"},
		{Name: "gauge_true", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "1 bar", UpTo: "16 bar"}, Example: "9 bar",
			Doc: "that known pressure"},
		{Name: "gauge_error", Dim: quantity.DimPressure, Allowed: Limits{From: "-5 bar", UpTo: "5 bar"}, Example: "0.1 bar ± 0.1 bar", Need: alternative,
			Doc: "what the gauge shows too much, below 0 bar too little; without both within its class"},
		{Name: "piston_travel", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "1 m"}, Usual: Limits{From: "8 mm", UpTo: "90 mm"}, Example: "24 mm",
			Doc: "travel of the piston from cocked to rest, as the lever is pulled in use"},
		{Name: "headspace_depth", Dim: quantity.DimLength, Allowed: Limits{From: "0 mm", UpTo: "500 mm"}, Usual: Limits{From: "0 mm", UpTo: "40 mm"}, Example: "4 mm",
			Doc: "depth from the piston at rest to the dry coffee"},
	},
}

var BenchLoadTable = Table{
	Path: "bench.load",
	Doc:  "A load of the spring on the bench; one [[bench.load]] for each.",
	many: true,
	Keys: []Key{
		{Name: "length", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "1 m"}, Example: "190 mm", Doc: "length of the spring under it"},
		{Name: "force", Dim: quantity.DimForce, Allowed: Limits{Above: "0 N", UpTo: "20 kN"}, Usual: Limits{From: "5 N", UpTo: "5 kN"}, Example: "1050 N", Doc: "the load"},
	},
}
