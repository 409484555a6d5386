package sheet

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/words"
)

// checkRules finds what a sheet lacks and what it states twice over. Where a
// line could not be read, what is missing is not known and not said.
func (s *Sheet) checkRules() {
	s.checkSprings(s.springReadings())
	s.Need("piston", "bore", "stroke")
	s.checkLever()
	s.Need("basket", "diameter")
	s.Need("coffee", "dose")
	s.checkCoffee()
	s.atMostOne("bench", "gauge_error", "gauge_reading")
	s.atMostOne("water", "boiler_temperature", "boiler_pressure", "line_pressure")
	s.checkVisits()
	s.checkSaidTwice()
	peak, ok := s.Quantity("bench.peak")
	if end, both := s.Quantity("bench.end_pressure"); ok && both && !(end.Value < peak.Value) {
		s.FaultOf("bench.end_pressure", fmt.Sprintf("want less than bench.peak, %s", s.Entries["bench.peak"].typed))
	}
}

// springReadings counts the readings that tell of the spring without taking it out:
// peak, end pressure, pulls of the handle; a logged shot has both pressures.
func (s *Sheet) springReadings() (n int) {
	visited := func(name string) bool {
		for i := range s.Several[VisitTable.Path] {
			if s.Has(Indexed(VisitTable.Path, i+1) + "." + name) {
				return true
			}
		}
		return false
	}
	logged := s.Has("coffee.known.log")
	if logged || s.Has("bench.peak") || s.Has("coffee.known.peak") && !s.Has("coffee.known.pressure") || visited("peak") {
		n++
	}
	if logged || s.Has("bench.end_pressure") || visited("end_pressure") {
		n++
	}
	for i := range s.Several["lever.pull"] {
		if s.HasTable(Indexed("lever.pull", i+1)) {
			n++
		}
	}
	return n
}

// checkSprings wants springs; of the first, what this many readings do not tell.
func (s *Sheet) checkSprings(readings int) {
	s.checkSpring("spring", readings)
	if s.HasTable("spring.inner") {
		s.checkSpring("spring.inner", 0)
	}
}

// checkSpring wants rate and preload, or all the dimensions, but for what readings
// tell: one the preload, two the rate too. Beside dimensions an override may put in a
// rate or a preload of its own.
func (s *Sheet) checkSpring(table string, readings int) {
	var measured, sized []string
	for _, name := range SpringTable.names() {
		switch {
		case !s.Has(table+"."+name) || name == "shim":
		case name == "rate" || name == "preload":
			measured = append(measured, name)
		default:
			sized = append(sized, name)
		}
	}
	switch {
	case len(measured) == 0 && len(sized) == 0 && readings >= 2:
	case len(measured) == 0 && len(sized) == 0:
		s.missing(table+".rate", `give rate and preload, or the spring's dimensions; or, off the gauge of the machine, peak and end_pressure of a shot under [bench]; or a log of a shot under [coffee.known]`)
	case len(measured) > 0 && len(sized) > 0 && s.Has(table+".wire") && s.overridden(table, measured):
		s.checkDimensions(table, readings)
	case len(measured) > 0 && len(sized) > 0:
		s.FaultOf(table+"."+sized[0], fmt.Sprintf("stated beside %s; keep rate and preload, or the dimensions", words.AndList(measured)))
	case len(measured) > 0:
		s.Need(table, "rate")
		if readings == 0 {
			s.Need(table, "preload")
		}
	default:
		s.checkDimensions(table, readings)
	}
}

// overridden says whether all keys of a table come from overrides, not from the sheet.
func (s *Sheet) overridden(table string, names []string) bool {
	return !slices.ContainsFunc(names, func(name string) bool { return s.Entries[table+"."+name].At.Flag == "" })
}

// checkDimensions wants all the dimensions of a spring, each in one way, but for what
// readings or an override of the preload tell.
func (s *Sheet) checkDimensions(table string, readings int) {
	s.Need(table, "wire", "ends")
	if table != SpringTable.Path || !s.Has("bench.free_length") && !s.Has("new.free_length") {
		s.Need(table, "free_length")
	}
	if readings == 0 && !s.Has(table+".preload") {
		s.Need(table, "installed_length")
	}
	s.exactlyOne(table, "coil_diameter", "outside_diameter", "inside_diameter")
	s.exactlyOne(table, "active_coils", "total_coils")
	s.exactlyOne(table, "grade", "shear_modulus")
	if ratio := table + ".modulus_ratio"; s.Has(ratio) && !s.Has(table+".grade") {
		s.FaultOf(ratio, "stated without "+table+".grade, which it is for")
	}
	for _, pair := range [][2]string{{"allowable_stress", "allowable_factor"}, {"allowable_factor", "allowable_stress"}} {
		if has, wants := table+"."+pair[0], table+"."+pair[1]; s.Has(has) && !s.Has(wants) {
			s.FaultOf(has, "stated without "+wants+": a stress and its limit go with one correction")
		}
	}
}

// sameThing are keys that say one and the same thing of a machine as it is.
var sameThing = [][2]string{{"spring.free_length", "bench.free_length"}, {"spring.active_coils", "bench.active_coils"}}

// checkSaidTwice finds what a sheet says twice and not the same: nothing of it is
// overruled in silence.
func (s *Sheet) checkSaidTwice() {
	for _, pair := range sameThing {
		a, okA := s.Quantity(pair[0])
		b, okB := s.Quantity(pair[1])
		const rounding = 1e-9 // [-]
		if okA && okB && math.Abs(a.Value-b.Value) > rounding*math.Abs(a.Value) {
			e := s.Entries[pair[0]]
			s.FaultOf(pair[1], fmt.Sprintf("%s has %q for the same thing; keep the one that is so today, and what was so when new under [new]", s.Place(pair[0]), e.typed))
		}
	}
}

// checkCoffee allows one of the three ways to state the resistance.
func (s *Sheet) checkCoffee() {
	var ways []string
	for _, way := range [][2]string{{"coffee.resistance", "coffee.resistance_at"}, {"coffee.permeability", "coffee.permeability_at"}} {
		value, at := way[0], way[1]
		switch {
		case s.Has(value):
			ways = append(ways, value)
			s.Need("coffee", strings.TrimPrefix(at, "coffee."))
		case s.Has(at):
			s.FaultOf(at, "stated without "+value)
		}
	}
	if s.HasTable("coffee.known") {
		ways = append(ways, "coffee.known")
		s.checkKnown()
	}
	if len(ways) > 1 {
		s.twice(ways[1:], ways)
	}
}

// checkKnown wants what was weighed and timed of a known shot, or its log alone.
func (s *Sheet) checkKnown() {
	if !s.Has("coffee.known.log") {
		s.Need("coffee.known", "yield", "time")
		return
	}
	for _, name := range []string{"yield", "time", "preinfusion", "peak", "pressure"} {
		if path := "coffee.known." + name; s.Has(path) {
			s.FaultOf(path, "stated beside coffee.known.log, which tells it")
		}
	}
}

// Need wants keys of a table.
func (s *Sheet) Need(table string, names ...string) {
	for _, name := range names {
		if path := table + "." + name; !s.Has(path) {
			s.missing(path, "want "+FindKey(path).wanted())
		}
	}
}

// exactlyOne wants one of several keys of a table.
func (s *Sheet) exactlyOne(table string, names ...string) {
	if s.atMostOne(table, names...) == 0 {
		s.missing(table+"."+names[0], fmt.Sprintf("give one of %s", words.OrList(names)))
	}
}

// atMostOne allows one of several keys of a table and returns how many there are.
func (s *Sheet) atMostOne(table string, names ...string) int {
	var given []string
	for _, name := range names {
		if s.Has(table + "." + name) {
			given = append(given, table+"."+name)
		}
	}
	if len(given) > 1 {
		s.twice(given[1:], given)
	}
	return len(given)
}

// twice notes that of several ways to state one thing more than one is used.
func (s *Sheet) twice(faulty, given []string) {
	for _, path := range faulty {
		text := "keep only one of " + words.AndList(given)
		if s.Has(path) {
			s.FaultOf(path, text)
		} else {
			s.Fault(s.Tables[path], path, text)
		}
	}
}

// missing notes that a key is missing, at the head of its table if there is one.
func (s *Sheet) missing(path, want string) {
	if s.unread[""] || s.unread[Unnumbered(path)] {
		return
	}
	at, ok := s.empty[path]
	if !ok {
		parent, _ := SplitPath(path)
		at = s.Tables[parent]
	}
	s.Fault(at, path, "missing; "+want)
}
