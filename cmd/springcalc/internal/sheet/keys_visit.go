package sheet

import (
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
)

var (
	dateForm = &Form{"a date", func(text string) error { _, err := ParseDate(text); return err }}
	doneForm = &Form{"what was done", func(text string) error { _, err := ParseDone(text); return err }}
)

// readBefore is the choice of visit.read that is not the usual one.
const readBefore = "before"

// VisitTable is a visit to the machine.
var VisitTable = Table{
	Path: "visit",
	Doc: "A visit: what was read and what was done on a day, the days in any order.\n" +
		"\"springcalc visit\" appends one, \"springcalc history\" reads all.",
	many: true, always: true, most: 10_000,
	Keys: []Key{
		{Name: "date", Form: dateForm, Example: "2019-05-14",
			Doc: "the day, or the month or the year where no more is known"},
		{Name: "peak", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Example: "7.9 bar",
			Doc: "peak pressure of a shot as the machine's gauge showed it"},
		{Name: "end_pressure", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Example: "4.6 bar",
			Doc: "pressure at the end of its stroke"},
		{Name: "yield", Dim: quantity.DimMass, Allowed: Limits{Above: "0 g", UpTo: "10 kg"}, Example: "28 g",
			Doc: "mass in the cup at its end"},
		{Name: "time", Dim: quantity.DimTime, Allowed: Limits{Above: "0 s", UpTo: "10 min"}, Example: "38 s",
			Doc: "its total time, from opening the port to the end"},
		{Name: "handle_force", Dim: quantity.DimForce, Allowed: Limits{Above: "0 N", UpTo: "5 kN"}, Example: "140 N",
			Doc: "force of the hand, by a luggage scale on the handle where it pulls hardest"},
		{Name: "free_length", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "1 m"}, Example: "229 mm",
			Doc: "free length of the spring, where it was out"},
		{Name: "gauge_reading", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Example: "8.9 bar",
			Doc: "what the machine's gauge showed beside the workshop's gauge"},
		{Name: "gauge_true", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Example: "9 bar",
			Doc: "what the workshop's gauge showed then"},
		{Name: "dose", Dim: quantity.DimMass, Allowed: Limits{From: "0.1 g", UpTo: "10 kg"}, Example: "14 g",
			Doc: "dry coffee of that shot, where it was another than [coffee] states"},
		{Name: "brew_temperature", Dim: quantity.DimTemperature, Allowed: Limits{From: "0 °C", UpTo: "130 °C"}, Example: "91 °C",
			Doc: "temperature of its water, where it was another than [water] states"},
		{Name: "boiler_pressure", Dim: quantity.DimPressure, Allowed: Limits{From: "0 bar", UpTo: "15 bar"}, Example: "0.7 bar",
			Doc: "what the boiler's gauge showed, where it was another"},
		{Name: "done", Form: doneForm, Example: "seal, shim 3 mm",
			Doc: "what was done, with commas between: " + words.OrList(DoneWords()) + "; with a shim its thickness"},
		{Name: "read", Choices: []string{"after", readBefore}, Example: "after",
			Doc: "whether the readings were taken before or after what was done; not stated, after"},
		{Name: "note", Example: "seals were dry", Doc: "anything worth remembering"},
		{Name: "log", Example: "shot.csv", Doc: "file of a logged shot, beside the sheet"},
	},
}
