package sheet

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
)

// Key is one line of a machine sheet.
type Key struct {
	Name    string
	Dim     *quantity.Dimension // nil for text
	Allowed Limits
	Form    *Form             // that a text must have, where not any
	Usual   Limits            // what is found on machines, both ends included; what is outside is possible, but a doubt
	Outside string            // what is wrong with a value outside Allowed
	Choices []string          // that a text may be, where not any
	Words   map[string]string // what else is understood: plain words of the trade, by words.Plain, for a choice
	Example string
	Need    need
	Doc     string // what it is, for the blank sheet
}

// Form is a form that a text must have.
type Form struct {
	Name  string                  // with its article: "a date"
	Check func(text string) error // says what is wrong, with the text
}

// need says how the blank sheet shows a key.
type need int

const (
	optional    need = iota
	required         // to be filled in
	alternative      // instead of others; the rules in rules.go say which
)

// Limits bound what is possible, with a unit each; "" for no bound. What is
// possible but odd is a doubt about the result, not a fault of the sheet.
type Limits struct {
	Above, From string // low end, left out or included
	UpTo, Below string // high end, included or left out
}

// Table is a [table] of the sheet.
type Table struct {
	Path   string
	Doc    string
	many   bool // may stand several times, as [[path]]
	always bool // and is written so even where it stands once
	most   int  // of them; 0 for usualTables
	Keys   []Key
}

// usualTables is how many of a table that may repeat there may be.
const usualTables = 5000

// Schema is the whole sheet, in the order of the blank sheet. A command that
// needs more of a machine puts its table into a file of its own and its name
// here.
var Schema = []Table{
	machineTable,
	SpringTable,
	innerSpringTable,
	pistonTable,
	oRingTable,
	leverTable,
	leverPointTable,
	leverPullTable,
	chamberTable,
	BasketTable,
	coffeeTable,
	KnownShotTable,
	waterTable,
	pullTable,
	NewTable,
	BenchTable,
	BenchLoadTable,
	WishTable,
	SpaceTable,
	VisitTable,
}

var machineTable = Table{Path: "machine", Doc: "What this sheet describes.", Keys: []Key{
	{Name: "name", Example: "left group", Doc: "a name for reports"},
	{Name: "note", Example: "seals changed in spring", Doc: "anything worth remembering"},
}}

var SpringTable = Table{
	Path: "spring",
	Doc: "The spring. Either rate and preload, as a bench shows them, or its\n" +
		"dimensions. Release a compressed spring only with a safe fixture.",
	Keys: springKeys(required),
}

var innerSpringTable = Table{
	Path: "spring.inner",
	Doc:  "A second spring inside the first, where there is one: the same keys.",
	Keys: springKeys(optional),
}

func springKeys(first need) []Key {
	positive := Limits{Above: "0 mm", UpTo: "1 m"}
	return []Key{
		{Name: "rate", Dim: quantity.DimRate, Allowed: Limits{Above: "0 N/mm", UpTo: "1000 N/mm"}, Usual: Limits{From: "3 N/mm", UpTo: "150 N/mm"}, Example: "27 N/mm", Need: first,
			Doc: "force per travel"},
		{Name: "preload", Dim: quantity.DimForce, Allowed: Limits{From: "-20 kN", UpTo: "20 kN"}, Usual: Limits{From: "-500 N", UpTo: "4 kN"}, Example: "700 N", Need: first,
			Doc: "force with the piston at rest"},
		{Name: "wire", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "50 mm"}, Usual: Limits{From: "2 mm", UpTo: "14 mm"}, Example: "8 mm", Need: alternative,
			Doc: "wire diameter"},
		{Name: "coil_diameter", Dim: quantity.DimLength, Allowed: positive, Usual: Limits{From: "12 mm", UpTo: "90 mm"}, Example: "42 mm", Need: alternative,
			Doc: "mean diameter of the coils; or one of the next two"},
		{Name: "outside_diameter", Dim: quantity.DimLength, Allowed: positive, Usual: Limits{From: "15 mm", UpTo: "100 mm"}, Example: "50 mm", Need: alternative,
			Doc: "over the coils"},
		{Name: "inside_diameter", Dim: quantity.DimLength, Allowed: positive, Usual: Limits{From: "8 mm", UpTo: "80 mm"}, Example: "34 mm", Need: alternative,
			Doc: "inside the coils"},
		{Name: "active_coils", Dim: quantity.DimNumber, Allowed: Limits{From: "1", UpTo: "100"}, Example: "20", Need: alternative,
			Doc: "coils that move; or the next"},
		{Name: "total_coils", Dim: quantity.DimNumber, Allowed: Limits{From: "1", UpTo: "100"}, Example: "22", Need: alternative,
			Doc: "all coils, from wire end to wire end"},
		{Name: "ends", Choices: []string{"plain", "plain and ground", "closed", "closed and ground"}, Words: endsWords, Example: "closed and ground", Need: alternative,
			Doc: "how the wire ends"},
		{Name: "grade", Example: "A229", Need: alternative,
			Doc: "grade of the wire, by its standard; or the next"},
		{Name: "modulus_ratio", Dim: quantity.DimNumber, Allowed: Limits{From: "0.8", UpTo: "1.2"}, Example: "1.00 ± 0.01", Need: alternative,
			Doc: "shear modulus of this wire over the published one of its grade, as a bench test of the rate shows it"},
		{Name: "shear_modulus", Dim: quantity.DimStress, Allowed: Limits{Above: "0 GPa", UpTo: "200 GPa"}, Usual: Limits{From: "35 GPa", UpTo: "90 GPa"}, Example: "79 GPa", Need: alternative,
			Doc: "shear modulus of the wire at room temperature"},
		{Name: "tensile_strength", Dim: quantity.DimStress, Allowed: Limits{From: "100 MPa", UpTo: "5000 MPa"}, Example: "1600 MPa", Need: alternative,
			Doc: "tensile strength of this wire, as its mill certificate has it, in place of the least of its grade"},
		{Name: "allowable_stress", Dim: quantity.DimStress, Allowed: Limits{From: "10 MPa", UpTo: "3000 MPa"}, Example: "800 MPa", Need: alternative,
			Doc: "shear stress that this wire may bear, in place of the published ones; with the next"},
		{Name: "allowable_factor", Choices: []string{"none", "direct shear", "Wahl", "Bergsträsser"}, Example: "none", Need: alternative,
			Doc: "stress correction that the allowable stress was found with"},
		{Name: "free_length", Dim: quantity.DimLength, Allowed: positive, Usual: Limits{From: "40 mm", UpTo: "500 mm"}, Example: "230 mm", Need: alternative,
			Doc: "length with no load"},
		{Name: "installed_length", Dim: quantity.DimLength, Allowed: positive, Usual: Limits{From: "30 mm", UpTo: "450 mm"}, Example: "205 mm", Need: alternative,
			Doc: "length with the piston at rest"},
		{Name: "shim", Dim: quantity.DimLength, Allowed: Limits{From: "0 mm", UpTo: "50 mm"}, Usual: Limits{From: "0 mm", UpTo: "20 mm"}, Example: "3 mm",
			Doc: "thickness of a shim under the spring, which preload or installed length leave out"},
		{Name: "temperature", Dim: quantity.DimTemperature, Allowed: Limits{From: "-50 °C", UpTo: "250 °C"}, Example: "60 °C", Need: alternative,
			Doc: "temperature of the spring at work"},
	}
}

var pistonTable = Table{Path: "piston", Doc: "The piston and its cylinder.", Keys: []Key{
	{Name: "bore", Dim: quantity.DimLength, Allowed: Limits{From: "5 mm", UpTo: "300 mm"}, Usual: Limits{From: "20 mm", UpTo: "90 mm"}, Example: "50 mm", Need: required,
		Doc: "inside diameter of the cylinder"},
	{Name: "stroke", Dim: quantity.DimLength, Allowed: Limits{From: "1 mm", UpTo: "1 m"}, Usual: Limits{From: "8 mm", UpTo: "90 mm"}, Example: "24 mm", Need: required,
		Doc: "travel from cocked to rest"},
	{Name: "port_travel", Dim: quantity.DimLength, Allowed: Limits{From: "0 mm", UpTo: "1 m"}, Example: "2 mm",
		Doc: "travel from cocked until the piston has passed the inlet port"},
	{Name: "friction", Dim: quantity.DimForce, Allowed: Limits{From: "0 N", UpTo: "20 kN"}, Usual: Limits{From: "0 N", UpTo: "400 N"}, Example: "20 N",
		Doc: "friction of the seals without pressure: half of the force that raises the piston less the force that lowers it"},
	{Name: "friction_per_pressure", Dim: quantity.DimDrag, Allowed: Limits{From: "0 N/bar", UpTo: "1000 N/bar"}, Usual: Limits{From: "0 N/bar", UpTo: "40 N/bar"}, Example: "5 N/bar",
		Doc: "friction of the seals that comes with pressure"},
	{Name: "mass", Dim: quantity.DimMass, Allowed: Limits{From: "0 g", UpTo: "100 kg"}, Usual: Limits{From: "0 g", UpTo: "4 kg"}, Example: "600 g",
		Doc: "mass of piston and rod, where their weight helps the spring"},
	{Name: "handle_force", Dim: quantity.DimForce, Allowed: Limits{From: "-1000 N", UpTo: "1000 N"}, Example: "25 N",
		Doc: "what the weight of the handle takes from the spring at the piston, on the mean of the stroke, where no [lever] is described; below 0 N where it helps"},
}}

var chamberTable = Table{Path: "chamber", Doc: "The space between the piston and the coffee.", Keys: []Key{
	{Name: "headspace", Dim: quantity.DimVolume, Allowed: Limits{From: "0 mL", UpTo: "10 L"}, Usual: Limits{From: "0 mL", UpTo: "80 mL"}, Example: "8 mL",
		Doc: "volume between the piston at rest and the dry bed"},
	{Name: "air", Dim: quantity.DimVolume, Allowed: Limits{From: "0 mL", UpTo: "10 L"}, Usual: Limits{From: "0 mL", UpTo: "30 mL"}, Example: "1 mL",
		Doc: "air left in the filled chamber"},
}}

var BasketTable = Table{Path: "basket", Doc: "The filter basket.", Keys: []Key{
	{Name: "diameter", Dim: quantity.DimLength, Allowed: Limits{From: "5 mm", UpTo: "300 mm"}, Usual: Limits{From: "30 mm", UpTo: "80 mm"}, Example: "51 mm", Need: required,
		Doc: "inside diameter"},
	{Name: "depth", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "500 mm"}, Usual: Limits{From: "6 mm", UpTo: "60 mm"}, Example: "24 mm",
		Doc: "inside depth"},
}}

var coffeeTable = Table{
	Path: "coffee",
	Doc: "The coffee. What it does to the flow may be stated in one of three ways:\n" +
		"its resistance, its permeability, or a shot that you know, below.",
	Keys: []Key{
		{Name: "dose", Dim: quantity.DimMass, Allowed: Limits{From: "0.5 g", UpTo: "1 kg"}, Usual: Limits{From: "4 g", UpTo: "40 g"}, Example: "14 g", Need: required,
			Doc: "dry coffee"},
		{Name: "resistance", Dim: quantity.DimResistance, Allowed: Limits{From: "0.02 bar·s/mL", UpTo: "2000 bar·s/mL"}, Usual: Limits{From: "0.2 bar·s/mL", UpTo: "100 bar·s/mL"}, Outside: puckOutside, Example: "4.5 bar·s/mL", Need: alternative,
			Doc: "resistance of the wetted bed: pressure over flow, late in a shot"},
		{Name: "resistance_at", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "0.5 bar", UpTo: "15 bar"}, Example: "9 bar", Need: alternative,
			Doc: "pressure at which the resistance was found"},
		{Name: "resistance_dose", Dim: quantity.DimMass, Allowed: Limits{From: "0.5 g", UpTo: "1 kg"}, Example: "14 g", Need: alternative,
			Doc: "dose with which it was found, where it was another"},
		{Name: "resistance_basket", Dim: quantity.DimLength, Allowed: Limits{From: "5 mm", UpTo: "300 mm"}, Example: "51 mm", Need: alternative,
			Doc: "inside diameter of the basket with which it was found, where it was another"},
		{Name: "permeability", Dim: quantity.DimPermeability, Allowed: Limits{From: "1e-17 m²", UpTo: "1e-11 m²"}, Outside: bedOutside, Example: "4e-15 m²", Need: alternative,
			Doc: "permeability of the wetted bed"},
		{Name: "permeability_at", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "0.5 bar", UpTo: "15 bar"}, Example: "9 bar", Need: alternative,
			Doc: "pressure at which the permeability was found"},
		{Name: "bulk_density", Dim: quantity.DimDensity, Allowed: Limits{From: "0.05 g/cm³", UpTo: "2 g/cm³"}, Usual: Limits{From: "0.25 g/cm³", UpTo: "0.7 g/cm³"}, Example: "0.4 g/cm³",
			Doc: "density of the tamped dry bed"},
		{Name: "loading_exponent", Dim: quantity.DimNumber, Allowed: Limits{From: "0", UpTo: "5"}, Example: "1",
			Doc: "power with which the resistance grows with rising pressure"},
		{Name: "unloading_exponent", Dim: quantity.DimNumber, Allowed: Limits{From: "0", UpTo: "5"}, Example: "0.5",
			Doc: "power with which it falls with falling pressure: 0 where the bed stays compacted, the loading exponent where it springs back"},
		{Name: "threshold_pressure", Dim: quantity.DimPressure, Allowed: Limits{From: "0 bar", UpTo: "100 bar"}, Example: "3 bar",
			Doc: "pressure below which the resistance does not change with pressure"},
		{Name: "low_pressure_exponent", Dim: quantity.DimNumber, Allowed: Limits{From: "0", UpTo: "5"}, Example: "0.67",
			Doc: "power with which a bed never pressed to the threshold resists more the less it was pressed"},
		{Name: "blocking", Dim: quantity.DimNumber, Allowed: Limits{From: "0", Below: "1"}, Example: "0.386",
			Doc: "share of the pores' opening that undissolved coffee blocks at first, in a bed pressed to the threshold"},
		{Name: "blocking_decay", Dim: quantity.DimRatio, Allowed: Limits{From: "0.01 g/g", UpTo: "100 g/g"}, Example: "0.385 g/g",
			Doc: "cup mass over dose in which the blocking falls to 37 %"},
		{Name: "blocking_by_wetting", Dim: quantity.DimNumber, Allowed: Limits{From: "0", UpTo: "1"}, Example: "0.5",
			Doc: "pressure that sets the blocking: 0 the highest so far, 1 that of the first wetting"},
		{Name: "soaking", Dim: quantity.DimFrequency, Allowed: Limits{From: "0 Hz", UpTo: "10 Hz"}, Example: "3 /min",
			Doc: "share of the blocking that the wetted bed loses per time while it waits for the release"},
		{Name: "retained", Dim: quantity.DimRatio, Allowed: Limits{From: "0 g/g", UpTo: "10 g/g"}, Usual: Limits{From: "0.4 g/g", UpTo: "3 g/g"}, Example: "1.1 g/g",
			Doc: "water that stays in the bed, over dose"},
		{Name: "dry_permeability", Dim: quantity.DimPermeability, Allowed: Limits{From: "1e-17 m²", UpTo: "1e-11 m²"}, Outside: bedOutside, Example: "1.8e-14 m²",
			Doc: "permeability that the wetting front meets"},
		{Name: "suction", Dim: quantity.DimPressure, Allowed: Limits{From: "0 bar", UpTo: "10 bar"}, Example: "0.1 bar",
			Doc: "capillary suction of the dry bed"},
		{Name: "soluble", Dim: quantity.DimRatio, Allowed: Limits{From: "0 g/g", Below: "1 g/g"}, Example: "0.3 g/g",
			Doc: "what can dissolve, over dose"},
		{Name: "soluble_decay", Dim: quantity.DimRatio, Allowed: Limits{From: "0.01 g/g", UpTo: "100 g/g"}, Example: "1.1 g/g",
			Doc: "water passed over dose in which the rest to dissolve falls to 37 %"},
		{Name: "second_pull_factor", Dim: quantity.DimNumber, Allowed: Limits{From: "0.01", UpTo: "10"}, Example: "0.6",
			Doc: "factor on the resistance from the second pull on"},
	},
}

var KnownShotTable = Table{
	Path: "coffee.known",
	Doc: "A shot that you know, with this grind: the resistance follows from it.\n" +
		"Pulled on this machine, or at a pressure held constant if one is given.",
	Keys: []Key{
		{Name: "yield", Dim: quantity.DimMass, Allowed: Limits{Above: "0 g", UpTo: "10 kg"}, Usual: Limits{From: "5 g", UpTo: "150 g"}, Example: "36 g", Need: alternative,
			Doc: "mass in the cup at the end"},
		{Name: "time", Dim: quantity.DimTime, Allowed: Limits{Above: "0 s", UpTo: "10 min"}, Usual: Limits{From: "6 s", UpTo: "240 s"}, Example: "45 s", Need: alternative,
			Doc: "total time, from opening the port to the end"},
		{Name: "preinfusion", Dim: quantity.DimTime, Allowed: Limits{From: "0 s", UpTo: "10 min"}, Example: "10 s", Need: alternative,
			Doc: "pre-infusion in it"},
		{Name: "peak", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "1 bar", UpTo: "16 bar"}, Example: "6.4 bar", Need: alternative,
			Doc: "highest pressure it showed: the spring's force as it is now"},
		{Name: "pressure", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "0.5 bar", UpTo: "16 bar"}, Example: "9 bar", Need: alternative,
			Doc: "pressure, where it was held constant"},
		{Name: "dose", Dim: quantity.DimMass, Allowed: Limits{From: "0.5 g", UpTo: "1 kg"}, Example: "14 g", Need: alternative,
			Doc: "dose, where it was another"},
		{Name: "basket_diameter", Dim: quantity.DimLength, Allowed: Limits{From: "5 mm", UpTo: "300 mm"}, Example: "51 mm", Need: alternative,
			Doc: "basket diameter, where it was another"},
		{Name: "log", Example: "shot.csv", Need: alternative,
			Doc: "instead, a logged shot with this grind: a CSV file beside this one; several with commas between. Where nothing else tells the spring, it tells that too"},
	},
}

var waterTable = Table{
	Path: "water",
	Doc: "The water. What pushes it before the spring does is stated in one of\n" +
		"three ways: boiler temperature, boiler pressure or line pressure.",
	Keys: []Key{
		{Name: "boiler_temperature", Dim: quantity.DimTemperature, Allowed: Limits{From: "20 °C", UpTo: "200 °C"}, Usual: Limits{From: "85 °C", UpTo: "145 °C"}, Example: "115 °C",
			Doc: "temperature of a boiler that holds water and steam"},
		{Name: "boiler_pressure", Dim: quantity.DimPressure, Allowed: Limits{From: "0 bar", UpTo: "15 bar"}, Usual: Limits{From: "0.1 bar", UpTo: "3 bar"}, Example: "0.7 bar", Need: alternative,
			Doc: "what the boiler's gauge shows"},
		{Name: "line_pressure", Dim: quantity.DimPressure, Allowed: Limits{From: "0 bar", UpTo: "15 bar"}, Usual: Limits{From: "0.3 bar", UpTo: "10 bar"}, Example: "2.5 bar", Need: alternative,
			Doc: "gauge pressure of a water line that fills the chamber"},
		{Name: "brew_temperature", Dim: quantity.DimTemperature, Allowed: Limits{From: "0 °C", UpTo: "130 °C"}, Usual: Limits{From: "60 °C", UpTo: "100 °C"}, Example: "91 °C",
			Doc: "temperature of the water in the coffee"},
		{Name: "altitude", Dim: quantity.DimLength, Allowed: Limits{From: "-500 m", UpTo: "9000 m"}, Example: "300 m",
			Doc: "height above the sea"},
	},
}

var pullTable = Table{
	Path: "pull", most: 20,
	Doc: "The pull. Where the lever is cocked again during a shot, one [[pull]]\n" +
		"table for each, instead of one [pull].",
	many: true,
	Keys: []Key{
		{Name: "fill_time", Dim: quantity.DimTime, Allowed: Limits{From: "0 s", UpTo: "10 min"}, Example: "3 s",
			Doc: "time from opening the port until the chamber is full"},
		{Name: "preinfusion", Dim: quantity.DimTime, Allowed: Limits{From: "0 s", UpTo: "10 min"}, Example: "10 s",
			Doc: "time from opening the port to the release of the lever"},
		{Name: "end_pressure", Dim: quantity.DimPressure, Allowed: Limits{From: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "0 bar", UpTo: "12 bar"}, Example: "2 bar",
			Doc: "pressure under which the cup is taken away; 0 bar for the stroke's end"},
		{Name: "end_yield", Dim: quantity.DimMass, Allowed: Limits{Above: "0 g", UpTo: "10 kg"}, Usual: Limits{From: "4 g", UpTo: "150 g"}, Example: "24 g",
			Doc: "mass in the cup at which it is taken away"},
	},
}

// Many says whether a table may stand several times.
func (t *Table) Many() bool { return t.many }

// Required says whether a blank sheet leaves a key to be filled in.
func (k *Key) Required() bool { return k.Need == required }

// Alternative says whether a key states in another way what others can.
func (k *Key) Alternative() bool { return k.Need == alternative }

// FindTable returns the table of a path.
func FindTable(path string) *Table {
	for i := range Schema {
		if Schema[i].Path == path {
			return &Schema[i]
		}
	}
	return nil
}

// Key returns the key of a name.
func (t *Table) Key(name string) *Key {
	for i := range t.Keys {
		if t.Keys[i].Name == name {
			return &t.Keys[i]
		}
	}
	return nil
}

// names returns the names of a table's keys.
func (t *Table) names() []string {
	names := make([]string, len(t.Keys))
	for i, k := range t.Keys {
		names[i] = k.Name
	}
	return names
}

// What is wrong with a bed that no puck can be.
const (
	puckOutside = "less is an open basket, more a sealed one"
	bedOutside  = "less is sealed, more is gravel"
)

// Choose returns the choice that a word means; ok is false where it means none.
func (k *Key) Choose(word string) (choice string, ok bool) {
	plain := words.Plain(word)
	for _, c := range k.Choices {
		if words.Plain(c) == plain {
			return c, true
		}
	}
	choice, ok = k.Words[plain]
	return choice, ok
}

// endsWords are words for the ends of a spring beside those of the sheet.
var endsWords = map[string]string{
	"open": "plain", "plain ends": "plain", "open ends": "plain",
	"plain ground": "plain and ground", "open and ground": "plain and ground", "open ground": "plain and ground",
	"squared": "closed", "closed ends": "closed", "squared ends": "closed", "closed not ground": "closed", "squared not ground": "closed",
	"closed unground": "closed", "unground": "closed",
	"closed ground": "closed and ground", "ground": "closed and ground", "squared and ground": "closed and ground", "squared ground": "closed and ground",
	"closed and ground ends": "closed and ground", "squared and ground ends": "closed and ground", "ground flat": "closed and ground",
}

// yesWords are words for yes and no.
var yesWords = map[string]string{"y": "yes", "true": "yes", "n": "no", "false": "no"}

// check returns an error that names the limit where a value [SI] is outside.
func (k *Key) check(v float64) error {
	if k.bounds().hold(v) {
		return nil
	}
	if k.Outside != "" {
		return fmt.Errorf("want %s: %s", k.Allowed, k.Outside)
	}
	return fmt.Errorf("want %s", k.Allowed)
}

// Accepts says what is wrong with a text as the value of a key; nil where nothing is.
func (k *Key) Accepts(text string) error {
	s := &Sheet{Entries: map[string]Entry{}}
	s.Set("", Entry{Key: k}, text)
	if len(s.Faults) > 0 {
		return errors.New(strings.TrimPrefix(s.Faults[0].Text, fmt.Sprintf("%q: ", text)))
	}
	return nil
}

// Within says what is wrong with a quantity that a flag or a list gives for a key.
func (k *Key) Within(q quantity.Quantity) error {
	if err := k.check(q.Value); err != nil {
		return err
	}
	if q.Plus >= q.Value && q.Value > 0 && k.check(0) != nil {
		return errors.New("the ± reaches down to nothing; want less than the value")
	}
	return nil
}

// bounds are limits in SI.
type bounds struct{ above, from, upTo, below float64 }

func (k *Key) bounds() bounds {
	l := k.Allowed
	return bounds{k.Bound(l.Above, math.Inf(-1)), k.Bound(l.From, math.Inf(-1)), k.Bound(l.UpTo, math.Inf(1)), k.Bound(l.Below, math.Inf(1))}
}

// Ranges are where to look for a value [SI]: what is usual, where that is known, then
// all that is possible.
func (k *Key) Ranges() (list [][2]float64) {
	if k.Usual != (Limits{}) {
		list = append(list, [2]float64{k.Bound(k.Usual.From, math.Inf(-1)), k.Bound(k.Usual.UpTo, math.Inf(1))})
	}
	b := k.bounds()
	return append(list, [2]float64{max(b.above, b.from), min(b.upTo, b.below)})
}

// hold says whether a value [SI] is within; NaN is not.
func (b bounds) hold(v float64) bool { return v > b.above && v >= b.from && v <= b.upTo && v < b.below }

// Bound reads one limit; a mistake in it is one of the program.
func (k *Key) Bound(text string, none float64) float64 {
	if text == "" {
		return none
	}
	q, err := quantity.Parse(text, k.Dim)
	if err != nil {
		panic(fmt.Sprintf("keys: limit of %s: %v", k.Name, err))
	}
	return q.Value
}

// String says "more than 0 mm and 1 m or less".
func (l Limits) String() string {
	var parts []string
	add := func(before, bound, after string) {
		if bound != "" {
			parts = append(parts, before+bound+after)
		}
	}
	add("more than ", l.Above, "")
	add("", l.From, " or more")
	add("", l.UpTo, " or less")
	add("less than ", l.Below, "")
	return words.AndList(parts)
}
