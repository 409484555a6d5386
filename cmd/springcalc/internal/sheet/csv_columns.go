package sheet

import (
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/words"
)

// ParseColumns reads what a list calls its columns, "time=Zeit, pressure=Druck".
// A heading with a comma stands in quotes; a unit in brackets behind it is that of
// a heading which has none.
func ParseColumns(text string) (map[string]string, error) {
	columns := map[string]string{}
	for _, part := range outsideQuotes(text) {
		name, heading, ok := strings.Cut(part, "=")
		name, heading = words.Plain(name), strings.Trim(strings.TrimSpace(heading), `"'`)
		switch {
		case !ok || name == "" || heading == "":
			return nil, fmt.Errorf("%q: want COLUMN=HEADING, such as \"time=Zeit, pressure=Druck\"", strings.TrimSpace(part))
		case columns[name] != "":
			return nil, fmt.Errorf("%q: %s is given twice", strings.TrimSpace(part), name)
		}
		columns[name] = heading
	}
	return columns, nil
}

// outsideQuotes splits a text at the commas that stand in no quotes.
func outsideQuotes(text string) []string {
	var quote rune
	return strings.FieldsFunc(text, func(r rune) bool {
		switch {
		case quote == 0 && (r == '"' || r == '\''):
			quote = r
		case r == quote:
			quote = 0
		}
		return r == ',' && quote == 0
	})
}

// checkColumns finds columns that the list cannot have, and headings that it has not.
func (f *CsvFile) checkColumns() error {
	var names []string
	for _, w := range f.Want {
		names = append(names, w.Name)
	}
	for name, heading := range f.how.Columns {
		i := slices.IndexFunc(f.Want, func(w CsvColumn) bool { return w.called(name) })
		if i < 0 {
			return Usef("--columns: %q is no column of %s%s; it takes %s", name, f.Name, words.DidYouMean(name, names), words.AndList(names))
		}
		if !slices.ContainsFunc(f.Header, func(h string) bool { _, ok := f.matches(&f.Want[i], h); return ok }) {
			return Usef("--columns: %s has no heading %q%s; found %s", f.Name, heading, words.DidYouMean(heading, f.Header), strings.Join(words.Quoted(f.Header), ", "))
		}
	}
	return nil
}

// called says whether a column goes by a name.
func (w *CsvColumn) called(name string) bool {
	return words.Plain(w.Name) == name || slices.Contains(w.Known, name)
}

// matches says whether a heading is that of a wanted column, and in which unit.
func (f *CsvFile) matches(w *CsvColumn, h string) (unit string, ok bool) {
	name, unit := splitHeading(h, w.Dim)
	raw, _ := cutUnit(h, w.Dim)
	for column, heading := range f.how.Columns {
		exact := strings.EqualFold(strings.TrimSpace(h), heading)
		if !w.called(column) {
			if exact {
				return "", false
			}
			continue
		}
		plain, given := cutUnit(heading, w.Dim)
		if unit == "" {
			unit = given
		}
		return unit, exact || strings.EqualFold(raw, plain) && (given == "" || given == unit)
	}
	return unit, slices.Contains(w.Known, name) || slices.Contains(w.Known, "="+raw)
}
