package sheet

import (
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/words"
)

// checkRules finds what a sheet lacks and what it states twice over. Where a
// line could not be read, what is missing is not known and not said.
func (s *Sheet) checkRules() {
	s.CheckSprings()
	s.Need("piston", "bore", "stroke")
	s.checkLever()
	s.Need("basket", "diameter")
	s.Need("coffee", "dose")
	s.checkCoffee()
	s.atMostOne("water", "boiler_temperature", "boiler_pressure", "line_pressure")
	s.checkVisits()
}

func (s *Sheet) CheckSprings() {
	s.checkSpring("spring")
	if s.HasTable("spring.inner") {
		s.checkSpring("spring.inner")
	}
}

// checkSpring wants rate and preload, or all the dimensions. Beside dimensions an
// override may put in a rate or a preload of its own.
func (s *Sheet) checkSpring(table string) {
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
	case len(measured) == 0 && len(sized) == 0:
		s.missing(table+".rate", `give rate and preload, or the spring's dimensions`)
	case len(measured) > 0 && len(sized) > 0 && s.Has(table+".wire") && s.overridden(table, measured):
		s.checkDimensions(table)
	case len(measured) > 0 && len(sized) > 0:
		s.FaultOf(table+"."+sized[0], fmt.Sprintf("stated beside %s; keep rate and preload, or the dimensions", words.AndList(measured)))
	case len(measured) > 0:
		s.Need(table, "rate", "preload")
	default:
		s.checkDimensions(table)
	}
}

// overridden says whether all keys of a table come from overrides, not from the sheet.
func (s *Sheet) overridden(table string, names []string) bool {
	return !slices.ContainsFunc(names, func(name string) bool { return s.Entries[table+"."+name].At.Flag == "" })
}

// checkDimensions wants all the dimensions of a spring, each in one way.
func (s *Sheet) checkDimensions(table string) {
	s.Need(table, "wire", "ends", "free_length", "installed_length")
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
		s.Need("coffee.known", "yield", "time")
	}
	if len(ways) > 1 {
		s.twice(ways[1:], ways)
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
