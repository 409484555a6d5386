package sheet

import (
	"fmt"
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
)

var leverTable = Table{
	Path: "lever",
	Doc: "The lever. Which of the dimensions it takes goes by its kind:\n" +
		"  rack and pinion    pinion_diameter\n" +
		"  slot in the rod    pin_radius, start_angle (a pin on the handle runs in it)\n" +
		"  slot in the lever  pin_distance, start_angle (a pin on the rod runs in it),\n" +
		"                     slot_friction\n" +
		"  link               pin_radius, link_length, start_angle\n" +
		"  measured           three or more [[lever.point]], as for a cam",
	Keys: []Key{
		{Name: "kind", Choices: kindNames(), Words: kindWords, Example: "rack and pinion",
			Doc: "how the handle moves the piston"},
		{Name: "handle_length", Dim: quantity.DimLength, Allowed: Limits{From: "1 mm", UpTo: "5 m"}, Usual: Limits{From: "60 mm", UpTo: "1 m"}, Example: "260 mm",
			Doc: "from the pivot to the middle of the hand"},
		{Name: "swing", Dim: quantity.DimAngle, Allowed: Limits{From: "1°", UpTo: "360°"}, Usual: Limits{From: "15°", UpTo: "250°"}, Example: "80°",
			Doc: "angle of the handle from rest to cocked; without it, as far as the stroke goes"},
		{Name: "pinion_diameter", Dim: quantity.DimLength, Allowed: Limits{From: "1 mm", UpTo: "500 mm"}, Usual: Limits{From: "10 mm", UpTo: "80 mm"}, Example: "34 mm",
			Doc: "pitch diameter of the pinion"},
		{Name: "pin_radius", Dim: quantity.DimLength, Allowed: Limits{From: "1 mm", UpTo: "500 mm"}, Usual: Limits{From: "5 mm", UpTo: "80 mm"}, Example: "14 mm", Need: alternative,
			Doc: "from the pivot to the pin on the handle"},
		{Name: "pin_distance", Dim: quantity.DimLength, Allowed: Limits{From: "1 mm", UpTo: "500 mm"}, Example: "30 mm", Need: alternative,
			Doc: "from the pivot to the piston's axis"},
		{Name: "link_length", Dim: quantity.DimLength, Allowed: Limits{From: "1 mm", UpTo: "1 m"}, Example: "60 mm", Need: alternative,
			Doc: "between the pins of the link"},
		{Name: "offset", Dim: quantity.DimLength, Allowed: Limits{From: "-500 mm", UpTo: "500 mm"}, Example: "4 mm", Need: alternative,
			Doc: "of the piston's axis from the pivot, to the side where the pin goes"},
		{Name: "start_angle", Dim: quantity.DimAngle, Allowed: Limits{From: "-80°", Below: "180°"}, Example: "25°", Need: alternative,
			Doc: "angle at rest: from where the pin is nearest the piston, or of a slot in the lever from square to the piston's axis, below 0° under it"},
		{Name: "efficiency", Dim: quantity.DimNumber, Allowed: Limits{From: "0.05", UpTo: "1"}, Example: "0.95",
			Doc: "share of the work that gets through the linkage; beside slot_friction, through its pivot"},
		{Name: "slot_friction", Dim: quantity.DimNumber, Allowed: Limits{From: "0", UpTo: "0.5"}, Example: "0.1", Need: alternative,
			Doc: "coefficient of friction of pin and rod guide of a slot in the lever, whose loss goes by the angle"},
		{Name: "handle_mass", Dim: quantity.DimMass, Allowed: Limits{Above: "0 g", UpTo: "20 kg"}, Example: "600 g",
			Doc: "mass of the handle"},
		{Name: "handle_centre", Dim: quantity.DimLength, Allowed: Limits{From: "0 mm", UpTo: "5 m"}, Example: "150 mm",
			Doc: "from the pivot to where the handle balances"},
		{Name: "handle_lean", Dim: quantity.DimAngle, Allowed: Limits{From: "-180°", UpTo: "180°"}, Example: "15°",
			Doc: "how far the handle leans from upright when the piston is at rest, above 0° towards cocked"},
		{Name: "moving_mass", Dim: quantity.DimMass, Allowed: Limits{From: "0 g", UpTo: "100 kg"}, Example: "800 g",
			Doc: "mass of piston, rod and a third of the springs"},
	},
}

var leverPointTable = Table{
	Path: "lever.point",
	Doc: "One measured position of the lever, the first at rest. Or in one line:\n" +
		`  point = [{angle = "0°", lift = "0 mm"}, {angle = "20°", lift = "5 mm"}]`,
	many: true,
	Keys: []Key{
		{Name: "angle", Dim: quantity.DimAngle, Allowed: Limits{From: "-360°", UpTo: "360°"}, Example: "20°", Need: alternative,
			Doc: "handle angle, counted from anywhere, rising as the lever is cocked"},
		{Name: "lift", Dim: quantity.DimLength, Allowed: Limits{From: "-1 m", UpTo: "1 m"}, Example: "5 mm", Need: alternative,
			Doc: "height of the piston, from anywhere"},
	},
}

var leverPullTable = Table{
	Path: "lever.pull",
	Doc: "The pull of the handle at an angle, by a luggage scale square to it, moved\n" +
		"slowly, the machine cold or the group open; one [[lever.pull]] for each. Two\n" +
		"far apart tell force and rate of the spring. Keep hold of the lever.",
	many: true, most: 50,
	Keys: []Key{
		{Name: "angle", Dim: quantity.DimAngle, Allowed: Limits{From: "0°", UpTo: "360°"}, Example: "60°", Need: alternative,
			Doc: "how far the handle was turned from rest"},
		{Name: "force", Dim: quantity.DimForce, Allowed: Limits{Above: "0 N", UpTo: "5 kN"}, Usual: Limits{From: "5 N", UpTo: "600 N"}, Example: "110 N", Need: alternative,
			Doc: "force that keeps it moving on against the spring"},
		{Name: "returning_force", Dim: quantity.DimForce, Allowed: Limits{Above: "0 N", UpTo: "5 kN"}, Usual: Limits{From: "5 N", UpTo: "600 N"}, Example: "90 N", Need: alternative,
			Doc: "force that lets it come back slowly; with both the friction counts least"},
	},
}

var oRingTable = Table{Path: "piston.o_ring", Doc: "The O-rings of the piston, for an estimate of their friction.", Keys: []Key{
	{Name: "cord", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "20 mm"}, Example: "5.33 mm",
		Doc: "thickness of the cord"},
	{Name: "squeeze", Dim: quantity.DimNumber, Allowed: Limits{From: "0.01", UpTo: "0.20"}, Example: "0.10",
		Doc: "squeeze in the groove over the thickness: 0.10 for 10 %"},
	{Name: "hardness", Dim: quantity.DimNumber, Allowed: Limits{From: "70", UpTo: "90"}, Example: "70",
		Doc: "hardness, Shore A"},
	{Name: "rings", Dim: quantity.DimNumber, Allowed: Limits{From: "1", UpTo: "10"}, Example: "1",
		Doc: "number of rings, where there is more than one"},
}}

// LeverKind is one way in which a handle moves a piston.
type LeverKind struct {
	Name     string
	wants    []string // keys of [lever] that it must have
	may      []string // keys that it may have beside those of every kind
	Size     string   // the key to blame where the lift is too small
	Fit      string   // the key to blame where the dimensions do not go together
	Furthest float64  // greatest angle where no swing is stated [rad]
}

// The kinds of lever: four that have dimensions, and one by measured points.
const (
	RackAndPinion = "rack and pinion"
	SlotInRod     = "slot in the rod"
	SlotInLever   = "slot in the lever"
	LinkToRod     = "link"
	measuredKind  = "measured"
)

// leverKinds are the kinds that have dimensions; measuredKind has points.
var leverKinds = []LeverKind{
	{Name: RackAndPinion, wants: []string{"pinion_diameter"}, may: []string{"start_angle", "swing"},
		Size: "pinion_diameter", Fit: "pinion_diameter", Furthest: 2 * math.Pi},
	{Name: SlotInRod, wants: []string{"pin_radius", "start_angle"}, may: []string{"swing"},
		Size: "pin_radius", Fit: "start_angle", Furthest: math.Pi},
	{Name: SlotInLever, wants: []string{"pin_distance", "start_angle"}, may: []string{"slot_friction", "swing"},
		Size: "pin_distance", Fit: "start_angle", Furthest: SteepestSlot},
	{Name: LinkToRod, wants: []string{"pin_radius", "link_length", "start_angle"}, may: []string{"offset", "swing"},
		Size: "pin_radius", Fit: "link_length", Furthest: math.Pi},
}

// kindWords are words for the kinds of lever beside those of the sheet.
var kindWords = map[string]string{
	"rack": RackAndPinion, "pinion": RackAndPinion, "rack pinion": RackAndPinion, "gear": RackAndPinion, "gear and rack": RackAndPinion,
	"connecting rod": LinkToRod, "crank": LinkToRod, "crank and link": LinkToRod, "linkage": LinkToRod,
	"cam": measuredKind, "points": measuredKind, "measured points": measuredKind,
}

// SteepestSlot is how far a lever with a slot may turn from square [rad].
const SteepestSlot = 80 * math.Pi / 180

func kindNames() []string {
	names := make([]string, len(leverKinds))
	for i, k := range leverKinds {
		names[i] = k.Name
	}
	return append(names, measuredKind)
}

// KindOf returns the kind of lever of a sheet; ok is false for one by points.
func (s *Sheet) KindOf() (kind LeverKind, ok bool) {
	i := slices.IndexFunc(leverKinds, func(k LeverKind) bool { return k.Name == s.Text("lever.kind") })
	if i < 0 {
		return LeverKind{}, false
	}
	return leverKinds[i], true
}

// ofEveryKind are the keys of [lever] that do not go by the kind.
var ofEveryKind = []string{"kind", "handle_length", "efficiency", "handle_mass", "handle_centre", "handle_lean", "moving_mass"}

// checkLever wants the dimensions that the kind of lever has, and no others.
func (s *Sheet) checkLever() {
	if s.HasTable("piston.o_ring") {
		s.Need("piston.o_ring", "cord", "squeeze", "hardness")
		if rings, _ := s.Quantity("piston.o_ring.rings"); rings.Value != math.Trunc(rings.Value) {
			s.FaultOf("piston.o_ring.rings", "want a whole number")
		}
	}
	if !s.HasTable("lever") {
		return
	}
	s.Need("lever", "kind", "handle_length")
	kind, sized := s.KindOf()
	if name := s.Text("lever.kind"); !sized && name != measuredKind {
		return // missing or unknown, which is said already
	}
	if kind.Name != RackAndPinion || !s.Has("lever.swing") { // swing and stroke tell the pinion
		s.Need("lever", kind.wants...)
	}
	for _, name := range leverTable.names() {
		if path := "lever." + name; s.Has(path) && !slices.Contains(slices.Concat(ofEveryKind, kind.wants, kind.may), name) {
			s.FaultOf(path, fmt.Sprintf("not of a lever of the kind %q", s.Text("lever.kind")))
		}
	}
	s.checkPoints(!sized)
	for i := range s.Several["lever.pull"] {
		table := Indexed("lever.pull", i+1)
		if !s.HasTable(table) {
			continue
		}
		s.Need(table, "angle")
		if !s.Has(table+".force") && !s.Has(table+".returning_force") {
			s.missing(table+".force", "want "+FindKey(table+".force").wanted())
		}
	}
}

// checkPoints wants points of angle and lift in order, or none.
func (s *Sheet) checkPoints(wanted bool) {
	const least = 3
	n := s.Several["lever.point"]
	switch {
	case !wanted && s.HasTable("lever.point"):
		s.Fault(s.Tables["lever.point[1]"], "lever.point", fmt.Sprintf("only of a lever of the kind %q", measuredKind))
		return
	case !wanted:
		return
	case n < least:
		s.Fault(s.Tables["lever"], "lever.point", fmt.Sprintf("want %d or more measured points of angle and lift, there are %d", least, n))
	}
	for i := range n {
		point := Indexed("lever.point", i+1)
		s.Need(point, "angle", "lift")
		if i == 0 || !s.Has(point+".angle") {
			continue
		}
		here, _ := s.Quantity(point + ".angle")
		before, _ := s.Quantity(Indexed("lever.point", i) + ".angle")
		if !(here.Value > before.Value) {
			s.FaultOf(point+".angle", "want more than the point before it, "+quantity.InDeg.Text(before.Value, 1))
		}
	}
}
