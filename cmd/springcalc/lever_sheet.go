package main

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"springcalc/piston"
	"springcalc/spring"
	"springcalc/tables"
)

var leverTable = table{
	path: "lever",
	doc: "The lever. Which of the dimensions it takes goes by its kind:\n" +
		"  rack and pinion    pinion_diameter\n" +
		"  slot in the rod    pin_radius, start_angle (a pin on the handle runs in it)\n" +
		"  slot in the lever  pin_distance, start_angle (a pin on the rod runs in it)\n" +
		"  link               pin_radius, link_length, start_angle\n" +
		"  measured           three or more [[lever.point]], as for a cam",
	keys: []key{
		{name: "kind", choices: kindNames(), example: "rack and pinion",
			doc: "how the handle moves the piston"},
		{name: "handle_length", dim: dimLength, allowed: limits{from: "1 mm", upTo: "5 m"}, example: "260 mm",
			doc: "from the pivot to the middle of the hand"},
		{name: "swing", dim: dimAngle, allowed: limits{from: "1°", upTo: "360°"}, example: "80°",
			doc: "angle of the handle from rest to cocked; without it, as far as the stroke goes"},
		{name: "pinion_diameter", dim: dimLength, allowed: limits{from: "1 mm", upTo: "500 mm"}, example: "34 mm",
			doc: "pitch diameter of the pinion"},
		{name: "pin_radius", dim: dimLength, allowed: limits{from: "1 mm", upTo: "500 mm"}, example: "14 mm", need: alternative,
			doc: "from the pivot to the pin on the handle"},
		{name: "pin_distance", dim: dimLength, allowed: limits{from: "1 mm", upTo: "500 mm"}, example: "30 mm", need: alternative,
			doc: "from the pivot to the piston's axis"},
		{name: "link_length", dim: dimLength, allowed: limits{from: "1 mm", upTo: "1 m"}, example: "60 mm", need: alternative,
			doc: "between the pins of the link"},
		{name: "offset", dim: dimLength, allowed: limits{from: "-500 mm", upTo: "500 mm"}, example: "4 mm", need: alternative,
			doc: "of the piston's axis from the pivot, to the side where the pin goes"},
		{name: "start_angle", dim: dimAngle, allowed: limits{from: "-80°", below: "180°"}, example: "25°", need: alternative,
			doc: "angle at rest: from where the pin is nearest the piston, or of a slot in the lever from square to the piston's axis, below 0° under it"},
		{name: "efficiency", dim: dimNumber, allowed: limits{from: "0.05", upTo: "1"}, example: "0.95",
			doc: "share of the work that gets through the linkage"},
		{name: "handle_mass", dim: dimMass, allowed: limits{above: "0 g", upTo: "20 kg"}, example: "600 g",
			doc: "mass of the handle"},
		{name: "moving_mass", dim: dimMass, allowed: limits{from: "0 g", upTo: "100 kg"}, example: "800 g",
			doc: "mass of piston, rod and a third of the springs"},
	},
}

var leverPointTable = table{
	path: "lever.point",
	doc: "One measured position of the lever, the first at rest. Or in one line:\n" +
		`  point = [{angle = "0°", lift = "0 mm"}, {angle = "20°", lift = "5 mm"}]`,
	many: true,
	keys: []key{
		{name: "angle", dim: dimAngle, allowed: limits{from: "-360°", upTo: "360°"}, example: "20°", need: alternative,
			doc: "handle angle, counted from anywhere, rising as the lever is cocked"},
		{name: "lift", dim: dimLength, allowed: limits{from: "-1 m", upTo: "1 m"}, example: "5 mm", need: alternative,
			doc: "height of the piston, from anywhere"},
	},
}

var oRingTable = table{path: "piston.o_ring", doc: "The O-rings of the piston, for an estimate of their friction.", keys: []key{
	{name: "cord", dim: dimLength, allowed: limits{above: "0 mm", upTo: "20 mm"}, example: "5.33 mm",
		doc: "thickness of the cord"},
	{name: "squeeze", dim: dimNumber, allowed: limits{from: "0.01", upTo: "0.20"}, example: "0.10",
		doc: "squeeze in the groove over the thickness: 0.10 for 10 %"},
	{name: "hardness", dim: dimNumber, allowed: limits{from: "70", upTo: "90"}, example: "70",
		doc: "hardness, Shore A"},
	{name: "rings", dim: dimNumber, allowed: limits{from: "1", upTo: "10"}, example: "1",
		doc: "number of rings, where there is more than one"},
}}

// leverKind is one way in which a handle moves a piston.
type leverKind struct {
	name     string
	wants    []string // keys of [lever] that it must have
	may      []string // keys that it may have beside those of every kind
	size     string   // the key to blame where the lift is too small
	fit      string   // the key to blame where the dimensions do not go together
	furthest float64  // greatest angle where no swing is stated [rad]
	build    func(m *machine, span piston.Span) piston.Linkage
}

const measuredKind = "measured"

// leverKinds are the kinds that have dimensions; measuredKind has points.
var leverKinds = []leverKind{
	{name: "rack and pinion", wants: []string{"pinion_diameter"}, may: []string{"start_angle", "swing"},
		size: "pinion_diameter", fit: "pinion_diameter", furthest: 2 * math.Pi,
		build: func(m *machine, span piston.Span) piston.Linkage {
			return piston.Rack{PinionDiameter: m.value("lever.pinion_diameter"), Span: span}
		}},
	{name: "slot in the rod", wants: []string{"pin_radius", "start_angle"}, may: []string{"swing"},
		size: "pin_radius", fit: "start_angle", furthest: math.Pi,
		build: func(m *machine, span piston.Span) piston.Linkage {
			return piston.CrossSlot{PinRadius: m.value("lever.pin_radius"), Span: span}
		}},
	{name: "slot in the lever", wants: []string{"pin_distance", "start_angle"}, may: []string{"swing"},
		size: "pin_distance", fit: "start_angle", furthest: steepestSlot,
		build: func(m *machine, span piston.Span) piston.Linkage {
			return piston.LeverSlot{PinDistance: m.value("lever.pin_distance"), Span: span}
		}},
	{name: "link", wants: []string{"pin_radius", "link_length", "start_angle"}, may: []string{"offset", "swing"},
		size: "pin_radius", fit: "link_length", furthest: math.Pi,
		build: func(m *machine, span piston.Span) piston.Linkage {
			return piston.Link{PinRadius: m.value("lever.pin_radius"), Length: m.value("lever.link_length"),
				Offset: m.valueOr("lever.offset", 0), Span: span}
		}},
}

// steepestSlot is how far a lever with a slot may turn from square [rad].
const steepestSlot = 80 * math.Pi / 180

func kindNames() []string {
	names := make([]string, len(leverKinds))
	for i, k := range leverKinds {
		names[i] = k.name
	}
	return append(names, measuredKind)
}

// kindOf returns the kind of lever of a sheet; ok is false for one by points.
func (s *sheet) kindOf() (kind leverKind, ok bool) {
	i := slices.IndexFunc(leverKinds, func(k leverKind) bool { return k.name == s.text("lever.kind") })
	if i < 0 {
		return leverKind{}, false
	}
	return leverKinds[i], true
}

// ofEveryKind are the keys of [lever] that do not go by the kind.
var ofEveryKind = []string{"kind", "handle_length", "efficiency", "handle_mass", "moving_mass"}

// checkLever wants the dimensions that the kind of lever has, and no others.
func (s *sheet) checkLever() {
	if s.hasTable("piston.o_ring") {
		s.need("piston.o_ring", "cord", "squeeze", "hardness")
		if rings, _ := s.quantity("piston.o_ring.rings"); rings.Value != math.Trunc(rings.Value) {
			s.faultOf("piston.o_ring.rings", "want a whole number")
		}
	}
	if !s.hasTable("lever") {
		return
	}
	s.need("lever", "kind", "handle_length")
	kind, sized := s.kindOf()
	if name := s.text("lever.kind"); !sized && name != measuredKind {
		return // missing or unknown, which is said already
	}
	s.need("lever", kind.wants...)
	for _, name := range leverTable.names() {
		if path := "lever." + name; s.has(path) && !slices.Contains(slices.Concat(ofEveryKind, kind.wants, kind.may), name) {
			s.faultOf(path, fmt.Sprintf("not of a lever of the kind %q", s.text("lever.kind")))
		}
	}
	s.checkPoints(!sized)
}

// checkPoints wants points of angle and lift in order, or none.
func (s *sheet) checkPoints(wanted bool) {
	const least = 3
	n := s.several["lever.point"]
	switch {
	case !wanted && s.hasTable("lever.point"):
		s.fault(s.tables["lever.point[1]"], "lever.point", fmt.Sprintf("only of a lever of the kind %q", measuredKind))
		return
	case !wanted:
		return
	case n < least:
		s.fault(s.tables["lever"], "lever.point", fmt.Sprintf("want %d or more measured points of angle and lift, there are %d", least, n))
	}
	for i := range n {
		point := indexed("lever.point", i+1)
		s.need(point, "angle", "lift")
		if i == 0 || !s.has(point+".angle") {
			continue
		}
		here, _ := s.quantity(point + ".angle")
		before, _ := s.quantity(indexed("lever.point", i) + ".angle")
		if !(here.Value > before.Value) {
			s.faultOf(point+".angle", "want more than the point before it, "+inDeg.text(before.Value, 1))
		}
	}
}

// valueOr returns the value of a key [SI] that may be missing without being a default.
func (m *machine) valueOr(path string, other float64) float64 {
	if _, varied := m.varied[path]; varied || m.has(path) {
		return m.value(path)
	}
	return other
}

// spread returns a value above zero [SI] with the ends of what it may be: by
// its ±, or by the range of its default.
func (m *machine) spread(path string) (low, value, high float64) {
	value = m.value(path)
	if q, ok := m.quantity(path); ok {
		return max(value-q.Plus, value/20), value, value + q.Plus
	}
	d, _ := tables.DefaultFor(path)
	return d.Low, value, d.High
}

// lever returns the lever of the sheet. Its error lists what is wrong with it,
// with places.
func (m *machine) lever() (piston.Lever, error) {
	if !m.hasTable("lever") {
		m.fault(m.tables["lever"], "lever", "missing: give kind, handle_length and the dimensions of the linkage under [lever]; "+
			"\"springcalc sheet\" prints a blank one")
		return piston.Lever{}, m.faults.err()
	}
	l := piston.Lever{Handle: m.value("lever.handle_length"), Efficiency: m.value("lever.efficiency")}
	if kind, ok := m.kindOf(); ok {
		l.Linkage = m.linkage(kind)
	} else {
		l.Linkage = m.measuredLinkage()
	}
	if len(m.faults) == 0 {
		_, _, err := piston.Latch(l.Linkage) // also finds one that does not rise
		m.faultsFrom("lever.kind", err)
	}
	return l, m.faults.err()
}

// linkage returns a linkage by its dimensions, swung as far as the sheet says
// or as the stroke goes. What is wrong is noted.
func (m *machine) linkage(kind leverKind) piston.Linkage {
	from := m.valueOr("lever.start_angle", 0)
	span := piston.Span{From: from, To: max(from, kind.furthest)}
	swung := m.has("lever.swing")
	if swung {
		span.To = from + m.value("lever.swing")
	}
	whole := kind.build(m, span)
	if _, slot := whole.(piston.LeverSlot); slot && (from >= steepestSlot || span.To > steepestSlot) {
		path := "lever.swing"
		if from >= steepestSlot {
			path = "lever.start_angle"
		}
		m.faultOf(path, "goes beyond "+inDeg.text(steepestSlot, 0)+" from square to the piston's axis")
		return nil
	}
	if err := whole.Validate(); err != nil {
		m.faultsFrom("lever."+kind.fit, err)
		return nil
	}
	if swung {
		return whole
	}
	stroke := m.Setup.Cylinder.Stroke
	to, err := piston.AngleFor(whole, stroke)
	if err != nil && !errors.Is(err, piston.ErrRange) {
		m.faultFrom("lever."+kind.fit, err)
		return nil
	}
	if err != nil {
		most := whole.Lift(span.To)
		if latch, ok, _ := piston.Latch(whole); ok {
			most = whole.Lift(latch)
		}
		m.faultOf("lever."+kind.size, fmt.Sprintf("lifts the piston by %s at most, less than the stroke, %s",
			inMM.text(most, 1), inMM.text(stroke, 1)))
		return nil
	}
	return kind.build(m, piston.Span{From: from, To: to})
}

// measuredLinkage returns the linkage through the points of the sheet.
func (m *machine) measuredLinkage() piston.Linkage {
	points := make([]piston.TablePoint, m.several["lever.point"])
	for i := range points {
		point := indexed("lever.point", i+1)
		points[i] = piston.TablePoint{Angle: m.value(point + ".angle"), Lift: m.value(point + ".lift")}
	}
	t, err := piston.NewTable(points)
	if err != nil {
		m.fault(m.tables["lever"], "lever.point", withoutPackage(err))
		return nil
	}
	return t
}

// load returns what acts on the piston while the lever is cocked on a hot
// machine: the boiler pushes from below once the port is open; before that the
// dry puck lets air in.
func (m *machine) load() piston.Load {
	return piston.Load{
		Cylinder:     m.Setup.Cylinder,
		Spring:       func(lift float64) float64 { return spring.ForceOf(m.Setup.Springs, lift) },
		OpenPressure: m.Setup.Water.Fill,
	}
}
