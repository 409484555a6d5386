package sheet

import (
	"fmt"

	"springcalc/cmd/springcalc/internal/quantity"
)

// What is possible but hardly meant: a wrong unit more often than a strange machine.

// Odd names the values of a sheet that no usual machine has, each with its place.
func (s *Sheet) Odd() (doubts []string) {
	for _, odd := range s.OddValues() {
		doubts = append(doubts, s.Place(odd.Key)+": "+odd.Text)
	}
	return doubts
}

// OddValues are what [Sheet.Odd] names, by key. They are no faults: the sheet reads.
func (s *Sheet) OddValues() (odd Faults) {
	for _, path := range s.InOrder() {
		e := s.Entries[path]
		if text := e.Key.odd(e.typed, e.Quantity.Value); text != "" {
			odd = append(odd, fault{file: s.Name, At: e.At, Key: path, Text: text})
		}
	}
	return odd
}

// Place is where a key stands, for a doubt about it: file, line and column, or the
// flag; the key alone where it is not stated.
func (s *Sheet) Place(path string) string {
	e, ok := s.Entries[path]
	switch {
	case !ok:
		return path
	case e.At.Flag != "":
		return e.At.Flag
	}
	return fmt.Sprintf("%s:%d:%d: %s", s.Name, e.At.Line, e.At.column, e.Shown)
}

// hint names the unit in which a text that is not possible would be usual.
func (k *Key) hint(typed string) string {
	if k.Dim == nil || k.Usual == (Limits{}) {
		return ""
	}
	if unit, as := quantity.LooksLike(typed, k.Dim, k.Bound(k.Usual.From, 0), k.Bound(k.Usual.UpTo, 0)); unit != "" {
		return fmt.Sprintf("; this looks like %s (%s)", unit, as)
	}
	return ""
}

// odd says what is odd about a value [SI]; "" where nothing is. The text is the
// value as typed, "" for one that has no text of its own.
func (k *Key) odd(typed string, si float64) string {
	if k.Dim == nil || k.Usual == (Limits{}) {
		return ""
	}
	low, high := k.Bound(k.Usual.From, 0), k.Bound(k.Usual.UpTo, 0)
	if si >= low && si <= high {
		return ""
	}
	usual := "usual is " + k.Usual.From + " to " + k.Usual.UpTo
	if unit, as := quantity.LooksLike(typed, k.Dim, low, high); unit != "" {
		return fmt.Sprintf("%q: this looks like %s (%s); %s", typed, unit, as, usual)
	}
	return fmt.Sprintf("%q: %s", typed, usual)
}
