package main

import (
	"fmt"
	"math"
)

// key is one line of a machine sheet.
type key struct {
	name    string
	dim     *dimension // nil for text
	allowed limits
	choices []string // that a text may be, where not any
	example string
	need    need
	doc     string // what it is, for the blank sheet
}

// need says how the blank sheet shows a key.
type need int

const (
	optional    need = iota
	required         // to be filled in
	alternative      // instead of others; the rules in rules.go say which
)

// limits bound what is possible, with a unit each; "" for no bound. What is
// possible but odd is a doubt about the result, not a fault of the sheet.
type limits struct {
	above, from string // low end, left out or included
	upTo, below string // high end, included or left out
}

// table is a [table] of the sheet.
type table struct {
	path string
	doc  string
	many bool // may stand several times, as [[path]]
	keys []key
}

// schema is the whole sheet, in the order of the blank sheet. A command that
// needs more of a machine puts its table into a file of its own and its name
// here.
var schema = []table{
	machineTable,
	springTable,
	innerSpringTable,
	pistonTable,
	oRingTable,
	leverTable,
	leverPointTable,
	chamberTable,
	basketTable,
	coffeeTable,
	knownShotTable,
	waterTable,
	pullTable,
	newTable,
	benchTable,
	benchLoadTable,
	wishTable,
	spaceTable,
}

var machineTable = table{path: "machine", doc: "What this sheet describes.", keys: []key{
	{name: "name", example: "left group", doc: "a name for reports"},
	{name: "note", example: "seals changed in spring", doc: "anything worth remembering"},
}}

var springTable = table{
	path: "spring",
	doc: "The spring. Either rate and preload, as a bench shows them, or its\n" +
		"dimensions. Release a compressed spring only with a safe fixture.",
	keys: springKeys(required),
}

var innerSpringTable = table{
	path: "spring.inner",
	doc:  "A second spring inside the first, where there is one: the same keys.",
	keys: springKeys(optional),
}

func springKeys(first need) []key {
	positive := limits{above: "0 mm", upTo: "1 m"}
	return []key{
		{name: "rate", dim: dimRate, allowed: limits{above: "0 N/mm", upTo: "1000 N/mm"}, example: "27 N/mm", need: first,
			doc: "force per travel"},
		{name: "preload", dim: dimForce, allowed: limits{from: "-20 kN", upTo: "20 kN"}, example: "700 N", need: first,
			doc: "force with the piston at rest"},
		{name: "wire", dim: dimLength, allowed: limits{above: "0 mm", upTo: "50 mm"}, example: "8 mm", need: alternative,
			doc: "wire diameter"},
		{name: "coil_diameter", dim: dimLength, allowed: positive, example: "42 mm", need: alternative,
			doc: "mean diameter of the coils; or one of the next two"},
		{name: "outside_diameter", dim: dimLength, allowed: positive, example: "50 mm", need: alternative,
			doc: "over the coils"},
		{name: "inside_diameter", dim: dimLength, allowed: positive, example: "34 mm", need: alternative,
			doc: "inside the coils"},
		{name: "active_coils", dim: dimNumber, allowed: limits{from: "1", upTo: "100"}, example: "20", need: alternative,
			doc: "coils that move; or the next"},
		{name: "total_coils", dim: dimNumber, allowed: limits{from: "1", upTo: "100"}, example: "22", need: alternative,
			doc: "all coils, from wire end to wire end"},
		{name: "ends", choices: []string{"plain", "plain and ground", "closed", "closed and ground"}, example: "closed and ground", need: alternative,
			doc: "how the wire ends"},
		{name: "grade", example: "A229", need: alternative,
			doc: "grade of the wire, by its standard; or the next"},
		{name: "modulus_ratio", dim: dimNumber, allowed: limits{from: "0.8", upTo: "1.2"}, example: "1.00 ± 0.01", need: alternative,
			doc: "shear modulus of this wire over the published one of its grade, as a bench test of the rate shows it"},
		{name: "shear_modulus", dim: dimStress, allowed: limits{above: "0 GPa", upTo: "200 GPa"}, example: "79 GPa", need: alternative,
			doc: "shear modulus of the wire at room temperature"},
		{name: "free_length", dim: dimLength, allowed: positive, example: "230 mm", need: alternative,
			doc: "length with no load"},
		{name: "installed_length", dim: dimLength, allowed: positive, example: "205 mm", need: alternative,
			doc: "length with the piston at rest"},
		{name: "temperature", dim: dimTemperature, allowed: limits{from: "-50 °C", upTo: "250 °C"}, example: "60 °C", need: alternative,
			doc: "temperature of the spring at work"},
	}
}

var pistonTable = table{path: "piston", doc: "The piston and its cylinder.", keys: []key{
	{name: "bore", dim: dimLength, allowed: limits{from: "1 mm", upTo: "500 mm"}, example: "50 mm", need: required,
		doc: "inside diameter of the cylinder"},
	{name: "stroke", dim: dimLength, allowed: limits{from: "1 mm", upTo: "1 m"}, example: "24 mm", need: required,
		doc: "travel from cocked to rest"},
	{name: "port_travel", dim: dimLength, allowed: limits{from: "0 mm", upTo: "1 m"}, example: "2 mm",
		doc: "travel from cocked until the piston has passed the inlet port"},
	{name: "friction", dim: dimForce, allowed: limits{from: "0 N", upTo: "20 kN"}, example: "20 N",
		doc: "friction of the seals without pressure: half of the force that raises the piston less the force that lowers it"},
	{name: "friction_per_pressure", dim: dimDrag, allowed: limits{from: "0 N/bar", upTo: "1000 N/bar"}, example: "5 N/bar",
		doc: "friction of the seals that comes with pressure"},
	{name: "mass", dim: dimMass, allowed: limits{from: "0 g", upTo: "100 kg"}, example: "600 g",
		doc: "mass of piston and rod, where their weight helps the spring"},
}}

var chamberTable = table{path: "chamber", doc: "The space between the piston and the coffee.", keys: []key{
	{name: "headspace", dim: dimVolume, allowed: limits{from: "0 mL", upTo: "10 L"}, example: "8 mL",
		doc: "volume between the piston at rest and the dry bed"},
	{name: "air", dim: dimVolume, allowed: limits{from: "0 mL", upTo: "10 L"}, example: "1 mL",
		doc: "air left in the filled chamber"},
}}

var basketTable = table{path: "basket", doc: "The filter basket.", keys: []key{
	{name: "diameter", dim: dimLength, allowed: limits{from: "1 mm", upTo: "500 mm"}, example: "51 mm", need: required,
		doc: "inside diameter"},
	{name: "depth", dim: dimLength, allowed: limits{above: "0 mm", upTo: "500 mm"}, example: "24 mm",
		doc: "inside depth"},
}}

var coffeeTable = table{
	path: "coffee",
	doc: "The coffee. What it does to the flow may be stated in one of three ways:\n" +
		"its resistance, its permeability, or a shot that you know, below.",
	keys: []key{
		{name: "dose", dim: dimMass, allowed: limits{from: "0.1 g", upTo: "10 kg"}, example: "14 g", need: required,
			doc: "dry coffee"},
		{name: "resistance", dim: dimResistance, allowed: limits{above: "0 bar·s/mL", upTo: "10000 bar·s/mL"}, example: "4.5 bar·s/mL", need: alternative,
			doc: "resistance of the wetted bed: pressure over flow, late in a shot"},
		{name: "resistance_at", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "9 bar", need: alternative,
			doc: "pressure at which the resistance was found"},
		{name: "permeability", dim: dimPermeability, allowed: limits{above: "0 m²", upTo: "1e-6 m²"}, example: "4e-15 m²",
			doc: "permeability of the wetted bed"},
		{name: "permeability_at", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "9 bar",
			doc: "pressure at which the permeability was found"},
		{name: "bulk_density", dim: dimDensity, allowed: limits{from: "0.05 g/cm³", upTo: "2 g/cm³"}, example: "0.4 g/cm³",
			doc: "density of the tamped dry bed"},
		{name: "loading_exponent", dim: dimNumber, allowed: limits{from: "0", upTo: "5"}, example: "1",
			doc: "power with which the resistance grows with rising pressure"},
		{name: "unloading_exponent", dim: dimNumber, allowed: limits{from: "0", upTo: "5"}, example: "0.5",
			doc: "power with which it falls with falling pressure: 0 where the bed stays compacted, the loading exponent where it springs back"},
		{name: "threshold_pressure", dim: dimPressure, allowed: limits{from: "0 bar", upTo: "100 bar"}, example: "3 bar",
			doc: "pressure below which the resistance does not change with pressure"},
		{name: "transient_size", dim: dimNumber, allowed: limits{from: "0", upTo: "100"}, example: "4.5",
			doc: "resistance of the first drops over that late in the shot, less one"},
		{name: "transient_decay", dim: dimRatio, allowed: limits{above: "0 g/g", upTo: "100 g/g"}, example: "0.29 g/g",
			doc: "cup mass over dose in which that excess falls to 37 %"},
		{name: "retained", dim: dimRatio, allowed: limits{from: "0 g/g", upTo: "10 g/g"}, example: "1.1 g/g",
			doc: "water that stays in the bed, over dose"},
		{name: "dry_permeability", dim: dimPermeability, allowed: limits{above: "0 m²", upTo: "1e-6 m²"}, example: "1.8e-14 m²",
			doc: "permeability that the wetting front meets"},
		{name: "suction", dim: dimPressure, allowed: limits{from: "0 bar", upTo: "10 bar"}, example: "0.1 bar",
			doc: "capillary suction of the dry bed"},
		{name: "soluble", dim: dimRatio, allowed: limits{from: "0 g/g", below: "1 g/g"}, example: "0.3 g/g",
			doc: "what can dissolve, over dose"},
		{name: "soluble_decay", dim: dimRatio, allowed: limits{above: "0 g/g", upTo: "100 g/g"}, example: "1.1 g/g",
			doc: "water passed over dose in which the rest to dissolve falls to 37 %"},
		{name: "second_pull_factor", dim: dimNumber, allowed: limits{above: "0", upTo: "10"}, example: "0.6",
			doc: "factor on the resistance from the second pull on"},
	},
}

var knownShotTable = table{
	path: "coffee.known",
	doc: "A shot that you know, with this grind: the resistance follows from it.\n" +
		"Pulled on this machine, or at a pressure held constant if one is given.",
	keys: []key{
		{name: "yield", dim: dimMass, allowed: limits{above: "0 g", upTo: "10 kg"}, example: "24 g", need: alternative,
			doc: "mass in the cup at the end"},
		{name: "time", dim: dimTime, allowed: limits{above: "0 s", upTo: "10 min"}, example: "38 s", need: alternative,
			doc: "time from opening the port to the end, in all"},
		{name: "preinfusion", dim: dimTime, allowed: limits{from: "0 s", upTo: "10 min"}, example: "10 s", need: alternative,
			doc: "pre-infusion in it"},
		{name: "peak", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "6.4 bar", need: alternative,
			doc: "highest pressure it showed: the spring's force as it is now"},
		{name: "pressure", dim: dimPressure, allowed: limits{above: "0 bar", upTo: "100 bar"}, example: "9 bar", need: alternative,
			doc: "pressure, where it was held constant"},
		{name: "dose", dim: dimMass, allowed: limits{from: "0.1 g", upTo: "10 kg"}, example: "14 g", need: alternative,
			doc: "dose, where it was another"},
		{name: "basket_diameter", dim: dimLength, allowed: limits{from: "1 mm", upTo: "500 mm"}, example: "51 mm", need: alternative,
			doc: "basket diameter, where it was another"},
	},
}

var waterTable = table{
	path: "water",
	doc: "The water. What pushes it before the spring does is stated in one of\n" +
		"three ways: boiler temperature, boiler pressure or line pressure.",
	keys: []key{
		{name: "boiler_temperature", dim: dimTemperature, allowed: limits{from: "20 °C", upTo: "200 °C"}, example: "115 °C",
			doc: "temperature of a boiler that holds water and steam"},
		{name: "boiler_pressure", dim: dimPressure, allowed: limits{from: "0 bar", upTo: "15 bar"}, example: "0.7 bar", need: alternative,
			doc: "what the boiler's gauge shows"},
		{name: "line_pressure", dim: dimPressure, allowed: limits{from: "0 bar", upTo: "15 bar"}, example: "2.5 bar", need: alternative,
			doc: "gauge pressure of a water line that fills the chamber"},
		{name: "brew_temperature", dim: dimTemperature, allowed: limits{from: "0 °C", upTo: "130 °C"}, example: "91 °C",
			doc: "temperature of the water in the coffee"},
		{name: "altitude", dim: dimLength, allowed: limits{from: "-500 m", upTo: "9000 m"}, example: "300 m",
			doc: "height above the sea"},
	},
}

var pullTable = table{
	path: "pull",
	doc: "The pull. Where the lever is cocked again during a shot, one [[pull]]\n" +
		"table for each, instead of one [pull].",
	many: true,
	keys: []key{
		{name: "fill_time", dim: dimTime, allowed: limits{from: "0 s", upTo: "10 min"}, example: "3 s",
			doc: "time from opening the port until the chamber is full"},
		{name: "preinfusion", dim: dimTime, allowed: limits{from: "0 s", upTo: "10 min"}, example: "10 s",
			doc: "time from opening the port to the release of the lever"},
		{name: "end_pressure", dim: dimPressure, allowed: limits{from: "0 bar", upTo: "100 bar"}, example: "2 bar",
			doc: "pressure under which the cup is taken away; 0 bar for the stroke's end"},
		{name: "end_yield", dim: dimMass, allowed: limits{above: "0 g", upTo: "10 kg"}, example: "24 g",
			doc: "mass in the cup at which it is taken away"},
	},
}

// findTable returns the table of a path.
func findTable(path string) *table {
	for i := range schema {
		if schema[i].path == path {
			return &schema[i]
		}
	}
	return nil
}

// key returns the key of a name.
func (t *table) key(name string) *key {
	for i := range t.keys {
		if t.keys[i].name == name {
			return &t.keys[i]
		}
	}
	return nil
}

// names returns the names of a table's keys.
func (t *table) names() []string {
	names := make([]string, len(t.keys))
	for i, k := range t.keys {
		names[i] = k.name
	}
	return names
}

// check returns an error that names the limit where a value [SI] is outside.
func (k *key) check(v float64) error {
	l := k.allowed
	if v > k.bound(l.above, math.Inf(-1)) && v >= k.bound(l.from, math.Inf(-1)) &&
		v <= k.bound(l.upTo, math.Inf(1)) && v < k.bound(l.below, math.Inf(1)) {
		return nil
	}
	return fmt.Errorf("want %s", l)
}

// bound reads one limit; a mistake in it is one of the program.
func (k *key) bound(text string, none float64) float64 {
	if text == "" {
		return none
	}
	q, err := parseQuantity(text, k.dim)
	if err != nil {
		panic(fmt.Sprintf("keys: limit of %s: %v", k.name, err))
	}
	return q.Value
}

// String says "more than 0 mm and 1 m or less".
func (l limits) String() string {
	var parts []string
	add := func(before, bound, after string) {
		if bound != "" {
			parts = append(parts, before+bound+after)
		}
	}
	add("more than ", l.above, "")
	add("", l.from, " or more")
	add("", l.upTo, " or less")
	add("less than ", l.below, "")
	return andList(parts)
}
