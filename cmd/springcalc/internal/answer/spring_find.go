package answer

import (
	"fmt"
	"math"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/spring"
)

// Find is one unknown of the spring, found from what it shall give. The zero value
// finds nothing.
type Find struct {
	Unknown Unknown
	Load    float64       // that it bears [N]; 0 where none is given
	Length  float64       // at which it bears the load [m]; likewise
	Rate    float64       // that it has [N/m]; likewise
	Stress  float64       // that the load gives its wire [Pa]; likewise
	Factor  spring.Factor // stress correction of that stress
}

// Unknown is a dimension of a spring that can be found.
type Unknown string

// The unknowns.
const (
	FreeLength   Unknown = "free-length"
	Coils        Unknown = "coils"
	WireDiameter Unknown = "wire"
	CoilDiameter Unknown = "coil-diameter"
)

// unknownKeys are the keys that state an unknown, one or the other.
var unknownKeys = map[Unknown][]string{
	FreeLength:   {"spring.free_length"},
	Coils:        {"spring.active_coils", "spring.total_coils"},
	WireDiameter: {"spring.wire"},
	CoilDiameter: {"spring.coil_diameter", "spring.outside_diameter", "spring.inside_diameter"},
}

// Keys are the keys of the sheet that state the unknown, of which none need be stated.
func (u Unknown) Keys() []string { return unknownKeys[u] }

// unknownRows are the rows of what was found.
var unknownRows = map[Unknown]string{FreeLength: "free_length", Coils: "active_coils", WireDiameter: "wire", CoilDiameter: "mean_diameter"}

// check returns what is wrong with the question.
func (f *Find) check() error {
	wants := map[Unknown]string{
		FreeLength: "--load and --at", Coils: "--rate", CoilDiameter: "--rate", WireDiameter: "--rate, or --stress and --load",
	}
	given := [4]bool{f.Load != 0, f.Length != 0, f.Rate != 0, f.Stress != 0}
	load, length, rate, stress := [4]bool{true, true}, [4]bool{}, [4]bool{false, false, true}, [4]bool{true, false, false, true}
	ok := false
	switch f.Unknown {
	case "":
		if given == length {
			return nil
		}
		return sheet.Usef("--load, --at, --rate and --stress say what --find is for; give --find free-length, coils, wire or coil-diameter too")
	case FreeLength:
		ok = given == load
	case Coils, CoilDiameter:
		ok = given == rate
	case WireDiameter:
		ok = given == rate || given == stress
	default:
		return sheet.Usef("--find: %q: want free-length, coils, wire or coil-diameter", f.Unknown)
	}
	if !ok {
		return sheet.Usef("--find %s: give %s, and no other target", f.Unknown, wants[f.Unknown])
	}
	return nil
}

// in is a machine with the unknown found.
func (f *Find) in(m *machine.Machine) (*machine.Machine, error) {
	if err := f.check(); err != nil || f.Unknown == "" {
		return m, err
	}
	if !m.Has("spring.wire") {
		return nil, sheet.Usef("--find %s: the sheet has only rate and preload of the spring; state its dimensions", f.Unknown)
	}
	found := m.Variant()
	found.Remarks, found.Varied = m.Remarks, map[string]float64{}
	return found, f.solve(found)
}

// solve gives a machine the value of the unknown that follows from its others,
// where one is wanted. What is stated beside it is held, so that wire between stated
// diameters is found by repetition.
func (f *Find) solve(m *machine.Machine) error {
	if f.Unknown == "" {
		return nil
	}
	path := f.path(m)
	for range 100 {
		c, _, ok := m.Coil("spring")
		if !ok {
			return m.Faults.Err()
		}
		value, err := f.value(&c, path)
		if err != nil {
			return fmt.Errorf("--find %s: %s", f.Unknown, machine.WithoutPackage(err))
		}
		before := m.Varied[path]
		m.Varied[path] = value
		if math.Abs(value-before) <= 1e-13*value {
			return nil
		}
	}
	return fmt.Errorf("--find %s: no value gives that: the modulus of the wire changes with its diameter just there", f.Unknown)
}

// path is the key that states the unknown.
func (f *Find) path(m *machine.Machine) string {
	keys := f.Unknown.Keys()
	for _, path := range keys {
		if m.Has(path) {
			return path
		}
	}
	return keys[0]
}

// value is what a key must be for a spring that has all else.
func (f *Find) value(c *spring.Compression, path string) (float64, error) {
	switch f.Unknown {
	case FreeLength:
		return c.FreeFor(f.Load, f.Length)
	case Coils:
		active, err := c.CoilsFor(f.Rate)
		if path == "spring.total_coils" {
			active += c.Total - c.Active
		}
		return active, err
	case CoilDiameter:
		mean, err := c.MeanForRate(f.Rate)
		switch path {
		case "spring.outside_diameter":
			mean += c.Wire
		case "spring.inside_diameter":
			mean -= c.Wire
		}
		return mean, err
	}
	if f.Stress > 0 {
		return c.WireForStress(f.Load, f.Stress, f.Factor)
	}
	return c.WireForRate(f.Rate)
}

// sentence says what was found, with its interval.
func (f *Find) sentence(r *report.Report) []report.Sentence {
	if f.Unknown == "" {
		return nil
	}
	row := r.Row("outer_" + unknownRows[f.Unknown])
	if row == nil {
		row = r.Row(unknownRows[f.Unknown])
	}
	row.Short = true
	row.Note = report.Plain("found")
	found := report.Say(map[Unknown]string{
		FreeLength: "a free length L0 of %s", Coils: "%s active coils", WireDiameter: "a wire diameter d of %s", CoilDiameter: "a mean coil diameter D of %s",
	}[f.Unknown], report.Of(row.Value, row.Unit, max(row.Digits, 2)))
	load := report.Of(f.Load, quantity.InN, 0)
	var gives report.Sentence
	switch {
	case f.Unknown == FreeLength:
		gives = report.Say("bear %s at %s", load, report.Of(f.Length, quantity.InMM, 1))
	case f.Stress > 0:
		gives = report.Say("have no more than %s under %s (correction: %s)", report.Of(f.Stress, quantity.InMPa, 0), load, machine.FactorWord(f.Factor))
	default:
		gives = report.Say("have a rate of %s", report.Of(f.Rate, quantity.InNPerMM, 2))
	}
	return []report.Sentence{report.Say("To %s the spring needs %s.", gives, found)}
}

// stated is what was stated, with the targets in place of what was found.
func (f *Find) stated(input []report.Stated) (list []report.Stated) {
	if f.Unknown == "" {
		return input
	}
	for _, s := range input {
		if s.Flag != sheet.ToFind {
			list = append(list, s)
		}
	}
	add := func(flag string, si float64, unit quantity.Display) {
		if si != 0 {
			list = append(list, report.Stated{Key: flag[2:], Text: unit.Text(si, 3), Flag: flag})
		}
	}
	add("--load", f.Load, quantity.InN)
	add("--at", f.Length, quantity.InMM)
	add("--rate", f.Rate, quantity.InNPerMM)
	add("--stress", f.Stress, quantity.InMPa)
	return list
}
