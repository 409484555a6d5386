package sheet

import (
	"encoding/json"
	"strconv"
	"strings"
	"unicode/utf8"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/tables"
)

// String prints a sheet so that it reads back the same.
func (s *Sheet) String() string {
	var b strings.Builder
	for i := range Schema {
		t := &Schema[i]
		if !t.many {
			s.printTable(&b, t, t.Path, "["+t.Path+"]")
			continue
		}
		for n := range s.Several[t.Path] {
			s.printTable(&b, t, Indexed(t.Path, n+1), "[["+t.Path+"]]")
		}
	}
	return strings.TrimPrefix(b.String(), "\n")
}

// printTable prints what a sheet states in a table; of a table that may
// repeat, even where that is nothing.
func (s *Sheet) printTable(b *strings.Builder, t *Table, path, header string) {
	header = "\n" + header + "\n"
	if t.many {
		b.WriteString(header)
		header = ""
	}
	for _, k := range t.Keys {
		e, ok := s.Entries[path+"."+k.Name]
		if !ok {
			continue
		}
		b.WriteString(header + k.Name + " = " + e.toml() + "\n")
		header = ""
	}
}

// toml prints the value of an entry, as it was typed.
func (e Entry) toml() string {
	if e.Key.Dim == quantity.DimNumber && e.Quantity.Plus == 0 {
		return quantity.FormatQuantity(e.Quantity, quantity.DimNumber)
	}
	return tomlText(e.typed)
}

// tomlText quotes a text: JSON's way is also TOML's, but for one character.
func tomlText(s string) string {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(s); err != nil {
		panic(err) // a string always encodes
	}
	return strings.ReplaceAll(strings.TrimSuffix(b.String(), "\n"), "\x7f", `\u007f`)
}

const blankHead = `# Machine sheet for springcalc. Fill in what you know and take the # off.
#
# A value is a number and a unit in quotes: "45 mm", "1 3/8 in", "9 bar",
# "130 psi", "12.5 N/mm", "71 lbf/in". What it may be off by may follow, as the
# half-width of 95 %: "4.00 mm ± 0.02 mm", "9 bar ± 2 %"; "(uniform)" after it
# says that it is a hard bound. Lines with "or:" are other ways to say the same.
`

// BlankSheet is the schema as a sheet to fill in.
func BlankSheet() string {
	var b strings.Builder
	b.WriteString(blankHead)
	for _, t := range Schema {
		b.WriteString("\n" + Commented(t.Doc))
		header := t.header()
		if !t.Has(required) {
			header = "#" + header
		}
		b.WriteString(header + "\n")
		for _, k := range t.Keys {
			b.WriteString(k.blankLine(t.Path))
		}
	}
	return b.String()
}

// docColumn is where the explanation of a key begins.
const docColumn = 34

// blankLine is the line of a key of a table: to be filled in where it is
// required, else with its default if there is one, or an example.
func (k *Key) blankLine(table string) string {
	value, doc := k.Example, k.Doc
	if d, ok := tables.DefaultFor(table + "." + k.Name); ok && d.Value != 0 {
		value, doc = quantity.Brief(d.Value, d.Value, k.Dim), doc+" (default)"
	}
	if k.Dim != quantity.DimNumber {
		value = strconv.Quote(value)
	}
	line := "#" + k.Name + " = " + value
	switch k.Need {
	case required:
		line, doc = k.Name+` = ""`, doc+", such as "+strings.ReplaceAll(value, " ", words.NoBreak)
	case alternative:
		doc = "or: " + doc
	}
	line += strings.Repeat(" ", max(1, docColumn-utf8.RuneCountInString(line)))
	indent := "\n" + strings.Repeat(" ", docColumn)
	explained := strings.Join(words.Wrap(doc, words.LineWidth-docColumn-2), indent+"# ")
	return line + "# " + strings.ReplaceAll(explained, words.NoBreak, " ") + "\n"
}

// header is the line that a table begins with where there is one of it.
func (t *Table) header() string {
	if t.many && (t.always || !t.Has(optional)) { // never one alone
		return "[[" + t.Path + "]]"
	}
	return "[" + t.Path + "]"
}

// Has says whether a table has a key of a need.
func (t *Table) Has(n need) bool {
	for _, k := range t.Keys {
		if k.Need == n {
			return true
		}
	}
	return false
}

// Commented puts "# " before each line.
func Commented(text string) string {
	return "# " + strings.ReplaceAll(text, "\n", "\n# ") + "\n"
}
