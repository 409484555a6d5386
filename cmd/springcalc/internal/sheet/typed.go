package sheet

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
)

// Typed is a value as it was written, without the quotes.
func (e Entry) Typed() string { return e.typed }

// Remarks says how words and units were read that are not those of the standards.
func (s *Sheet) Remarks() (remarks []string) {
	for _, path := range s.InOrder() {
		e := s.Entries[path]
		switch remark := quantity.Remark(e.typed, e.Key.Dim); {
		case remark != "":
			remarks = append(remarks, fmt.Sprintf("%s %q: %s", path, e.typed, remark))
		case len(e.Key.Choices) > 0 && e.typed != e.Text:
			remarks = append(remarks, fmt.Sprintf("%s: %q read as %s", path, e.typed, e.Text))
		}
	}
	return remarks
}

// InOrder returns the paths of what is stated: as the lines of the sheet, then
// what flags state.
func (s *Sheet) InOrder() []string {
	return slices.SortedFunc(maps.Keys(s.Entries), func(a, b string) int {
		at, bt := s.Entries[a].At, s.Entries[b].At
		if (at.Flag == "") != (bt.Flag == "") {
			return cmp.Compare(at.Flag, bt.Flag)
		}
		return cmp.Or(cmp.Compare(at.Line, bt.Line), cmp.Compare(at.column, bt.column), cmp.Compare(a, b))
	})
}

// inchUnit finds a unit of the inch family in a length, force, pressure or rate
// as typed.
var inchUnit = words.Lazy(`(?i)(\bin\b|["″]|\bft\b|\bfeet\b|\bfoot\b|inch|\bthou\b|lbs?f|psig?\b|\bksi\b|\d\s*lbs?\b|\blbs?/|\bpounds?\b)`)

// Family is the family of units that the sheet was typed in: inch where more of
// its lengths, forces, pressures and rates have units of it than metric ones.
func (s *Sheet) Family() quantity.Family {
	counted := []*quantity.Dimension{quantity.DimLength, quantity.DimForce, quantity.DimPressure, quantity.DimStress, quantity.DimRate}
	inch, metric := 0, 0
	for _, e := range s.Entries {
		switch {
		case e.Key == nil || !slices.Contains(counted, e.Key.Dim):
		case inchUnit().MatchString(e.Typed()):
			inch++
		default:
			metric++
		}
	}
	if inch > metric {
		return quantity.Inch
	}
	return quantity.Metric
}
