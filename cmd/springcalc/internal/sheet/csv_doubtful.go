package sheet

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"

	"springcalc/cmd/springcalc/internal/quantity"
)

// What can be read in two ways in a list: commas, quotes, encodings.

// notText says where and why a file is no text in UTF-8; "" where it is one.
func notText(data []byte) (Place, string) {
	if bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff}) || len(data) > 1 && (data[0] == 0) != (data[1] == 0) {
		return Place{Line: 1, column: 1}, "a text in UTF-16"
	}
	if utf8.Valid(data) {
		return Place{}, ""
	}
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n == 1 {
			return placeAt(data, i), fmt.Sprintf("not a text in UTF-8: the byte %#x", data[i])
		}
		i += n
	}
	return Place{}, ""
}

// commaUse is what a comma between digits is in a list.
type commaUse int

const (
	commaUndecided commaUse = iota
	commaDecimal
	commaThousands
)

// settle takes a comma that can be read in two ways out of a cell, where the other
// cells of the list tell what a comma is in it.
func (f *CsvFile) settle(text string) string {
	if !strings.Contains(text, ",") {
		return text
	}
	if f.commas == nil {
		use := f.commasUsed()
		f.commas = &use
	}
	parts := strings.Split(text, "±")
	for i, part := range parts {
		if useOfComma(part) != commaUndecided {
			continue
		}
		switch *f.commas {
		case commaDecimal:
			parts[i] = strings.Replace(part, ",", ".", 1)
		case commaThousands:
			parts[i] = strings.Replace(part, ",", "", 1)
		}
	}
	return strings.Join(parts, "±")
}

// commasUsed looks through the cells of all columns of numbers for one that
// leaves no choice.
func (f *CsvFile) commasUsed() (use commaUse) {
	for i, w := range f.Want {
		if f.columns[i] < 0 || w.Dim == nil {
			continue
		}
		f.cells(i, func(text string) bool {
			for _, part := range strings.Split(text, "±") {
				if strings.Contains(part, ",") && use == commaUndecided {
					use = useOfComma(part)
				}
			}
			return use == commaUndecided
		})
	}
	return use
}

// useOfComma tells what the comma of a number must be: "1,372" leaves it open.
func useOfComma(text string) commaUse {
	text = strings.TrimLeft(strings.TrimSpace(text), "+-")
	before, after, ok := strings.Cut(text, ",")
	n := len(after) - len(strings.TrimLeft(after, "0123456789"))
	rest := after[n:]
	switch {
	case !ok:
		return commaUndecided
	case strings.Contains(before, "."):
		return commaDecimal
	case strings.HasPrefix(rest, ",") || strings.HasPrefix(rest, "."):
		return commaThousands
	case n != 3 || len(before) > 3 || strings.HasPrefix(before, "0"):
		return commaDecimal
	}
	return commaUndecided
}

// peakCell is the largest value of a column.
type peakCell struct {
	watched      bool    // usual values of it are known
	si           float64 // [SI]
	text         string
	line, byteAt int // 0 where there is none
}

// see keeps the largest value of a column that usual values are known of.
func (f *CsvFile) see(i int, si float64) {
	if p := &f.largest[i]; p.watched && (p.line == 0 || si > p.si) {
		p.si, p.text = si, f.Cell(i)
		p.line, p.byteAt = f.at(f.columns[i])
	}
}

// doubtLargest doubts the columns whose largest value is none that a machine has:
// their unit is more likely wrong.
func (f *CsvFile) doubtLargest() {
	for i, p := range f.largest {
		w := &f.Want[i]
		if p.line == 0 {
			continue
		}
		text := p.text
		if _, unit, err := quantity.ScanNumber(text); err == nil && unit == "" {
			text += " " + f.Units[i]
		}
		if odd := w.odd(text, p.si); odd != "" {
			column := placeAt(lineOf(f.data, p.line), p.byteAt-1).column
			f.how.Doubts = append(f.how.Doubts, fmt.Sprintf("%s:%d:%d: the highest %s is %s", f.Name, p.line, column, w.Name, odd))
		}
	}
}

// split is a column of numbers and the one behind it, which nobody wants: a
// decimal comma in a list that is separated by commas would fill both.
type split struct {
	column       int // of Want
	head         string
	line, byteAt int    // of the first such pair
	left, right  string // what stands there
	cleared      bool   // a row shows that these are two columns
}

// watchSplits finds the pairs of columns that a decimal comma may have made of one.
func (f *CsvFile) watchSplits() {
	if f.reader.Comma != ',' {
		return
	}
	for i, w := range f.Want {
		next := f.columns[i] + 1
		if f.columns[i] < 0 || w.Dim == nil || next >= len(f.Header) || f.Known[next] {
			continue
		}
		if _, unit := cutUnit(f.Header[next], quantity.DimLength); unit == "" {
			f.splits = append(f.splits, &split{column: i, head: f.Header[next]})
		}
	}
}

// see looks at a row.
func (s *split) see(f *CsvFile) {
	j := f.columns[s.column]
	if s.cleared || j+1 >= len(f.Record) {
		return
	}
	left, right := strings.TrimSpace(f.Record[j]), strings.TrimSpace(f.Record[j+1])
	digits := func(text string) bool { return text != "" && strings.Trim(text, "0123456789") == "" }
	switch {
	case right == "" && digits(strings.TrimPrefix(left, "-")):
	case !digits(strings.TrimPrefix(left, "-")) || !digits(right):
		s.cleared = true
	case s.line == 0:
		s.line, s.byteAt = f.at(j)
		s.left, s.right = left, right
	}
}

// judgeSplits notes the pairs that every row leaves open.
func (f *CsvFile) judgeSplits() {
	for _, s := range f.splits {
		if s.line == 0 || s.cleared {
			continue
		}
		w := &f.Want[s.column]
		unit := f.Units[s.column]
		f.Faults = append(f.Faults, csvFault{Line: s.line, column: s.byteAt, Cell: w.Name, Text: strings.ReplaceAll(fmt.Sprintf(
			"\"%s,%s\" can be read as %s %s with %s under %q, or as %s.%s %s; write decimals with a point, or separate the cells with semicolons",
			s.left, s.right, s.left, unit, s.right, s.head, s.left, s.right, unit), "  ", " ")})
	}
}

// swallowed notes a quote that has taken other rows into its cell, and says
// whether there is one.
func (f *CsvFile) swallowed() bool {
	last := len(f.Record) - 1
	if f.reached() == int64(len(f.data)) && f.openQuote(last) {
		f.FaultAt(last, "a quote that does not end")
		return true
	}
	from := f.offset
	f.offset = f.reached()
	ends := bytes.Count(f.data[from:f.offset], []byte("\n"))
	if f.lines += ends; ends <= 1 {
		return false
	}
	for j, cell := range f.Record {
		first, below, several := strings.Cut(cell, "\n")
		if !several {
			continue
		}
		for line := range strings.Lines(below) {
			if strings.Count(line, string(f.reader.Comma)) >= len(f.Header)-1 && len(f.Header) > 1 {
				at, _ := f.at(j)
				f.FaultAt(j, "a quote opens here, before %q, and closes in line %d: one cell of all rows between; close it, or take it out",
					strings.TrimSpace(first), at+strings.Count(cell, "\n"))
				return true
			}
		}
	}
	return false
}

// openQuote says whether the last cell of the file begins with a quote that never closes.
func (f *CsvFile) openQuote(field int) bool {
	line, column := f.at(field)
	start := len(f.data) - len(fromLine(f.data, line)) + column - 1
	text := bytes.TrimRight(f.data[start:], " \t\r\n")
	if len(text) == 0 || text[0] != '"' {
		return false
	}
	inner := text[1:]
	closing := len(inner) - len(bytes.TrimRight(inner, `"`))
	return closing%2 == 0
}
