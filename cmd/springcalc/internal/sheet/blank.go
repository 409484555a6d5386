package sheet

import (
	"encoding/json"
	"slices"
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
		return quantity.Format(e.Quantity, quantity.DimNumber)
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

const blankHead = `# Machine sheet for springcalc.
#
# A value is a number and a unit in quotes: "45 mm", "1 3/8 in", "9 bar",
# "130 psi", "12.5 N/mm", "71 lbf/in". What it may be off by may follow, as the
# half-width of 95 %: "4.00 mm ± 0.02 mm", "9 bar ± 2 %"; "(uniform)" after it
# says that it is a hard bound.
#
# These ten lines are enough for a first answer. What you don't know stays "".

`

const blankRest = `
# All below may stay as it is. What you know of it, with the # taken off, makes
# the answer narrower. "or:" is another way to say the same.
`

// blankLines are the lines that matter, in the order in which they are filled in:
// with the last three empty an assumed grind is answered for, without the two of
// [bench] the spring has to be stated.
var blankLines = []string{
	"machine.name", "piston.bore", "piston.stroke", "bench.peak", "bench.end_pressure", "basket.diameter", "coffee.dose",
	"pull.preinfusion", "coffee.known.yield", "coffee.known.time",
}

// Blank is the schema as a sheet to fill in: the lines that matter first. Keys
// stand with their tables before them, so that those of one table need not stand
// together; only tables that stand several times have a head, and come last.
func Blank() string {
	var b strings.Builder
	b.WriteString(blankHead)
	for _, path := range blankLines {
		b.WriteString(FindKey(path).emptyLine(path))
	}
	b.WriteString(blankRest)
	for _, headed := range []bool{false, true} {
		for i := range Schema {
			if t := &Schema[i]; strings.HasPrefix(t.header(), "[[") == headed {
				b.WriteString(t.blank(headed))
			}
		}
	}
	return b.String()
}

// blank is the part of a table in the rest of a blank sheet.
func (t *Table) blank(headed bool) string {
	var b strings.Builder
	for i := range t.Keys {
		k, path := &t.Keys[i], t.Path+"."+t.Keys[i].Name
		switch {
		case headed:
			b.WriteString(k.blankLine(k.Name, t.Path))
		case !slices.Contains(blankLines, path):
			b.WriteString(k.blankLine(path, t.Path))
		}
	}
	if b.Len() == 0 {
		return ""
	}
	head := "\n" + Commented(t.Doc)
	if headed {
		head += "#" + t.header() + "\n"
	}
	return head + b.String()
}

// docColumn is where the explanation of a key begins.
const docColumn = 38

// emptyLine is the line of a key that is to be filled in.
func (k *Key) emptyLine(path string) string {
	example := k.Example
	if k.Dim != quantity.DimNumber {
		example = strconv.Quote(example)
	}
	return explained(path+` = ""`, k.Doc+", such as "+strings.ReplaceAll(example, " ", words.NoBreak))
}

// blankLine is the line of a key of a table, commented out: with its default if
// there is one, or an example.
func (k *Key) blankLine(name, table string) string {
	value, doc := k.Example, k.Doc
	if d, ok := tables.DefaultFor(table + "." + k.Name); ok && d.Value != 0 {
		value, doc = quantity.Brief(d.Value, d.Value, k.Dim), doc+" (default)"
	}
	if k.Dim != quantity.DimNumber {
		value = strconv.Quote(value)
	}
	if k.Need == alternative {
		doc = "or: " + doc
	}
	return explained("#"+name+" = "+value, doc)
}

// explained is a line with a comment beside it, or below where it is too long.
func explained(line, doc string) string {
	indent := "\n" + strings.Repeat(" ", docColumn)
	if n := utf8.RuneCountInString(line); n >= docColumn {
		line += indent
	} else {
		line += strings.Repeat(" ", docColumn-n)
	}
	text := strings.Join(words.Wrap(doc, words.LineWidth-docColumn-2), indent+"# ")
	return line + "# " + strings.ReplaceAll(text, words.NoBreak, " ") + "\n"
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
