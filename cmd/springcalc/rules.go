package main

import (
	"fmt"
	"strings"
)

// checkRules finds what a sheet lacks and what it states twice over. Where a
// line could not be read, what is missing is not known and not said.
func (s *sheet) checkRules() {
	s.checkSprings()
	s.need("piston", "bore", "stroke")
	s.checkLever()
	s.need("basket", "diameter")
	s.need("coffee", "dose")
	s.checkCoffee()
	s.atMostOne("water", "boiler_temperature", "boiler_pressure", "line_pressure")
}

func (s *sheet) checkSprings() {
	s.checkSpring("spring")
	if s.hasTable("spring.inner") {
		s.checkSpring("spring.inner")
	}
}

// checkSpring wants rate and preload, or all the dimensions.
func (s *sheet) checkSpring(table string) {
	var measured, sized []string
	for _, name := range springTable.names() {
		switch {
		case !s.has(table + "." + name):
		case name == "rate" || name == "preload":
			measured = append(measured, name)
		default:
			sized = append(sized, name)
		}
	}
	switch {
	case len(measured) == 0 && len(sized) == 0:
		s.missing(table+".rate", `give rate and preload, or the spring's dimensions`)
	case len(measured) > 0 && len(sized) > 0:
		s.faultOf(table+"."+sized[0], fmt.Sprintf("stated beside %s; keep rate and preload, or the dimensions", andList(measured)))
	case len(measured) > 0:
		s.need(table, "rate", "preload")
	default:
		s.need(table, "wire", "ends", "free_length", "installed_length")
		s.exactlyOne(table, "coil_diameter", "outside_diameter", "inside_diameter")
		s.exactlyOne(table, "active_coils", "total_coils")
		s.exactlyOne(table, "grade", "shear_modulus")
		if ratio := table + ".modulus_ratio"; s.has(ratio) && !s.has(table+".grade") {
			s.faultOf(ratio, "stated without "+table+".grade, which it is for")
		}
	}
}

// checkCoffee allows one of the three ways to state the resistance.
func (s *sheet) checkCoffee() {
	var ways []string
	for _, way := range [][2]string{{"coffee.resistance", "coffee.resistance_at"}, {"coffee.permeability", "coffee.permeability_at"}} {
		value, at := way[0], way[1]
		switch {
		case s.has(value):
			ways = append(ways, value)
			s.need("coffee", strings.TrimPrefix(at, "coffee."))
		case s.has(at):
			s.faultOf(at, "stated without "+value)
		}
	}
	if s.hasTable("coffee.known") {
		ways = append(ways, "coffee.known")
		s.need("coffee.known", "yield", "time")
	}
	if len(ways) > 1 {
		s.twice(ways[1:], ways)
	}
}

// need wants keys of a table.
func (s *sheet) need(table string, names ...string) {
	for _, name := range names {
		if path := table + "." + name; !s.has(path) {
			s.missing(path, "want "+findKey(path).wanted())
		}
	}
}

// exactlyOne wants one of several keys of a table.
func (s *sheet) exactlyOne(table string, names ...string) {
	if s.atMostOne(table, names...) == 0 {
		s.missing(table+"."+names[0], fmt.Sprintf("give one of %s", orList(names)))
	}
}

// atMostOne allows one of several keys of a table and returns how many there are.
func (s *sheet) atMostOne(table string, names ...string) int {
	var given []string
	for _, name := range names {
		if s.has(table + "." + name) {
			given = append(given, table+"."+name)
		}
	}
	if len(given) > 1 {
		s.twice(given[1:], given)
	}
	return len(given)
}

// twice notes that of several ways to state one thing more than one is used.
func (s *sheet) twice(faulty, given []string) {
	for _, path := range faulty {
		text := "keep only one of " + andList(given)
		if s.has(path) {
			s.faultOf(path, text)
		} else {
			s.fault(s.tables[path], path, text)
		}
	}
}

// missing notes that a key is missing, at the head of its table if there is one.
func (s *sheet) missing(path, want string) {
	if s.unread[""] || s.unread[path] {
		return
	}
	at, ok := s.empty[path]
	if !ok {
		parent, _ := splitPath(path)
		at = s.tables[parent]
	}
	s.fault(at, path, "missing; "+want)
}
