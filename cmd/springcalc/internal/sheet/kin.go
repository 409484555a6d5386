package sheet

import (
	"bytes"
	"fmt"
	"path/filepath"
	"slices"
	"unicode/utf8"

	"springcalc/cmd/springcalc/internal/words"
)

// ownKeys and those of ownTables differ between two machines of one kind; tables of
// ownMany are of one machine alone.
var (
	ownKeys = []string{
		"machine.name", "machine.note", "spring.preload", "spring.free_length", "spring.modulus_ratio", "spring.inner.preload", "spring.inner.free_length",
		"spring.inner.modulus_ratio", "piston.friction", "piston.friction_per_pressure", "chamber.air", "wish.effort_today",
		"coffee.resistance", "coffee.resistance_at", "coffee.resistance_dose", "coffee.resistance_basket",
	}
	ownTables = []string{"bench", "coffee.known"}
	ownMany   = []string{"visit", "bench.load", "lever.pull"}
)

// Kin is the sheet of a machine as a beginning for another one of its kind: what
// differs from one to the next is left empty, what was read on the one is left out,
// all else stays to the letter.
func Kin(name string, data []byte) ([]byte, error) {
	s, err := Parse(name, data, nil)
	if err != nil {
		return nil, err
	}
	if err := s.Err(); err != nil {
		return nil, err
	}
	lines := bytes.SplitAfter(bytes.TrimPrefix(data, []byte("\ufeff")), []byte("\n"))
	for _, path := range slices.Backward(s.InOrder()) { // so that places on a line stay
		parent, _ := SplitPath(Unnumbered(path))
		if !slices.Contains(ownKeys, Unnumbered(path)) && !slices.Contains(ownTables, parent) {
			continue
		}
		e := s.Entries[path]
		line := lines[e.At.Line-1]
		at := offsetOf(line, e.At.column)
		if !bytes.HasPrefix(line[at:], []byte(e.raw)) {
			return nil, fmt.Errorf("%s: take this out by hand, it is of the other machine", s.Place(path))
		}
		empty, rest := `""`, line[at+len(e.raw):]
		if rest = bytes.TrimLeft(rest, " "); bytes.HasPrefix(rest, []byte("#")) { // a comment stays in its column
			empty = fmt.Sprintf("%-*s", utf8.RuneCount(line[at:])-utf8.RuneCount(rest), empty)
		}
		lines[e.At.Line-1] = slices.Concat(line[:at], []byte(empty), rest)
	}
	head := fmt.Sprintf("# Begun from %s: what stands at \"\" differs from machine to machine.\n", filepath.Base(name))
	out := append([]byte(head), bytes.Join(withoutTables(lines), nil)...)
	again, err := Parse(name, out, nil)
	if err != nil {
		return nil, err
	}
	if err := again.Err(); err != nil {
		return nil, err
	}
	for path := range again.Entries {
		if parent, _ := SplitPath(Unnumbered(path)); slices.Contains(ownMany, parent) {
			return nil, fmt.Errorf("%s: take this out by hand, it is of the other machine", s.Place(path))
		}
	}
	return out, nil
}

var (
	headOf   = words.Lazy(`^\s*\[`)
	manyHead = words.Lazy(`^\s*\[\[\s*([\w.]+)\s*\]\]`)
)

// withoutTables leaves out the tables that are of one machine alone.
func withoutTables(lines [][]byte) (kept [][]byte) {
	out := false
	for _, line := range lines {
		if headOf().Match(line) {
			m := manyHead().FindSubmatch(line)
			out = m != nil && slices.Contains(ownMany, string(m[1]))
		}
		if !out {
			kept = append(kept, line)
		}
	}
	return kept
}
