package sheet

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
)

// A list is a CSV file with a line of headings: columns in any order, their
// units in the heading or in each cell, separated by commas, semicolons or
// tabs; lines that begin with # are comments. As spreadsheets write it, it may
// begin with a byte order mark and end its lines with CRLF, and where no comma
// separates, one is a decimal point.

// CsvColumn is a column that a list may have.
type CsvColumn struct {
	Key             // what a cell may be
	Known  []string // headings, in lower case, without the unit; behind a "=" one whose case counts, "=d" beside "=D"
	needed bool
}

// CsvFile is a list with its headings understood, read row by row.
type CsvFile struct {
	Name   string
	data   []byte
	reader *csv.Reader
	Want   []CsvColumn

	Header  []string
	Known   []bool            // which of the headings are those of wanted columns
	columns []int             // index in a record of each wanted column; -1 where it is missing
	Units   []string          // from the headings; "" where the cells carry them, or there are none
	scales  []*quantity.Scale // of these units

	Record []string // the row read last
	rows   int      // that have been read
	ended  bool
	Faults []csvFault
}

// csvFault is one thing wrong with a list.
type csvFault struct {
	Line, column int    // column in bytes
	Cell         string // name of the column that it is about; "" for a row or heading
	Text         string
}

const mostFaults = 10 // that are told one by one

// OpenCSV reads the headings of a list. Their units may stand as in
// "pressure_bar", "p [bar]" or "pressure (bar)". What is wrong with them is
// noted: see err.
func OpenCSV(name string, data []byte, want []CsvColumn) (*CsvFile, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data) {
		return nil, fmt.Errorf("%s: not a text in UTF-8; save it as CSV with that encoding", name)
	}
	f := &CsvFile{Name: name, data: data, reader: csv.NewReader(bytes.NewReader(data)), Want: want,
		columns: make([]int, len(want)), Units: make([]string, len(want)), scales: make([]*quantity.Scale, len(want))}
	f.reader.Comma, f.reader.Comment = separator(data), '#'
	f.reader.TrimLeadingSpace, f.reader.ReuseRecord, f.reader.FieldsPerRecord = true, true, -1
	f.reader.LazyQuotes = true // an inch sign is no quote
	if !f.read() {
		return nil, fmt.Errorf("%s: empty; want a line of headings and rows below", name)
	}
	f.Header, f.Known = slices.Clone(f.Record), make([]bool, len(f.Record))
	if _, err := strconv.ParseFloat(strings.TrimSpace(f.Header[0]), 64); err == nil {
		f.FaultAt(0, "a number where the headings should be%s", examples(", such as ", want))
		return nil, f.Err()
	}
	var missing []CsvColumn
	for i, w := range want {
		f.columns[i] = -1
		f.find(i)
		if f.columns[i] < 0 && w.needed {
			missing = append(missing, w)
		}
	}
	if len(missing) > 0 {
		var names []string
		for _, w := range missing {
			names = append(names, w.Name)
		}
		f.FaultAt(0, "no column of %s; found %s%s", words.AndList(names), strings.Join(words.Quoted(f.Header), ", "), examples("; want ", missing))
	}
	return f, nil
}

// separator is what stands between the cells: that of the first line which is
// no comment.
func separator(data []byte) rune {
	for line := range bytes.Lines(data) {
		switch {
		case bytes.HasPrefix(line, []byte("#")) || len(bytes.TrimSpace(line)) == 0:
			continue
		case bytes.ContainsRune(line, ';'):
			return ';'
		case bytes.ContainsRune(line, '\t'):
			return '\t'
		}
		break
	}
	return ','
}

// find looks for a wanted column among the headings.
func (f *CsvFile) find(i int) {
	w := &f.Want[i]
	for j, h := range f.Header {
		name, unit := splitHeading(h, w.Dim)
		raw, _ := cutUnit(h, w.Dim)
		if !slices.Contains(w.Known, name) && !slices.Contains(w.Known, "="+raw) {
			continue
		}
		f.Known[j] = true
		if f.columns[i] >= 0 {
			f.FaultAt(j, "%q: a second column of %s", h, w.Name)
			continue
		}
		f.columns[i], f.Units[i] = j, poundForce(quantity.Tidy(unit), w.Dim)
		if unit == "" {
			continue
		}
		sc, err := quantity.ParseUnit(f.Units[i], w.Dim)
		switch {
		case w.Dim == quantity.DimNumber:
			err = errors.New("a plain number has no unit")
		case err == nil && sc.Exps != w.Dim.Exps:
			err = fmt.Errorf("%q is not the unit of %s, which takes %s", unit, w.Dim.Name, words.OrList(w.Dim.Units))
		}
		if err != nil {
			f.FaultAt(j, "%q: %v", h, err)
		}
		f.scales[i] = &sc
	}
}

// poundForce is the unit of a heading: over forces and rates makers print "lb"
// for lbf, and nothing else can be meant.
func poundForce(unit string, dim *quantity.Dimension) string {
	if (dim == quantity.DimForce || dim == quantity.DimRate) && !strings.Contains(unit, "lbf") {
		return strings.Replace(strings.Replace(unit, "lbs", "lb", 1), "lb", "lbf", 1)
	}
	return unit
}

// needUnits notes the headings that have no unit, for lists whose cells are
// numbers alone.
func (f *CsvFile) needUnits() {
	for i, w := range f.Want {
		if f.columns[i] >= 0 && f.Units[i] == "" {
			f.Fault(i, "the heading of the %s has no unit; write it as %s", w.Name, w.Example())
		}
	}
}

// Example is a heading that would be understood.
func (w CsvColumn) Example() string {
	if w.Dim == nil {
		return w.Known[0]
	}
	return fmt.Sprintf("%q", w.Known[0]+" ("+w.Dim.Units[0]+")")
}

// examples are headings of the columns that a list must have, with what goes
// before them; "" where there are none.
func examples(before string, want []CsvColumn) string {
	var all []string
	for _, w := range want {
		if w.needed {
			all = append(all, w.Example())
		}
	}
	if len(all) == 0 {
		return ""
	}
	return before + words.AndList(all)
}

// splitHeading takes the unit off a heading: "Pressure (bar)" is "pressure" and
// "bar", "t_s" is "t" and "s". A last word counts as a unit only where it is
// one, of whatever dimension; for text there are no units.
func splitHeading(h string, dim *quantity.Dimension) (name, unit string) {
	raw, unit := cutUnit(h, dim)
	if dim == nil {
		return strings.ToLower(raw), ""
	}
	name = strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(raw, "_", " "))), " ")
	return strings.TrimSuffix(name, ","), unit
}

// cutUnit is splitHeading that leaves the name as it was written.
func cutUnit(h string, dim *quantity.Dimension) (raw, unit string) {
	h = strings.TrimSpace(h)
	if dim == nil {
		return h, ""
	}
	for _, brackets := range []string{"[]", "()"} {
		if open := strings.IndexByte(h, brackets[0]); open > 0 && strings.HasSuffix(h, brackets[1:]) {
			return strings.TrimSpace(h[:open]), strings.TrimSpace(h[open+1 : len(h)-1])
		}
	}
	if name, symbol, ok := quantity.CutSuffix(h, dim); ok {
		return name, symbol
	}
	if i := strings.LastIndexAny(h, "_ "); i > 0 {
		if _, err := quantity.ParseUnit(quantity.Tidy(h[i+1:]), dim); err == nil {
			return strings.TrimRight(h[:i], " ,"), h[i+1:]
		}
	}
	return h, ""
}

// read reads a line; there is no error but the end, where quotes are lazy.
func (f *CsvFile) read() bool {
	record, err := f.reader.Read()
	f.Record = record
	return err == nil
}

// Next reads a row, and says whether there was one.
func (f *CsvFile) Next() bool {
	if !f.read() {
		f.ended = true
		return false
	}
	f.rows++
	n := len(f.Header)
	switch last := len(f.Record) - 1; {
	case last >= n && strings.Join(f.Record[n:], "") != "":
		hint := ""
		if f.reader.Comma == ',' {
			hint = "; where commas are decimal points, separate with semicolons"
		}
		f.FaultAt(n, "%d values under %d headings%s", last+1, n, hint)
	case last < n-1 && strings.Contains(f.Record[last], "\n"):
		f.FaultAt(last, "a quote that does not end")
	}
	return true
}

// Cell returns the text of a wanted column in the row, "" where there is none.
func (f *CsvFile) Cell(i int) string {
	if j := f.columns[i]; j >= 0 && j < len(f.Record) {
		return strings.TrimSpace(f.Record[j])
	}
	return ""
}

// point puts a point in place of a decimal comma.
func (f *CsvFile) point(text string) string {
	if f.reader.Comma != ',' && strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		return strings.Replace(text, ",", ".", 1)
	}
	return text
}

// Quantity reads a cell in SI, in a unit of its own or in that of the heading.
// What cannot be read, or cannot be, is noted.
func (f *CsvFile) Quantity(i int) (si float64, ok bool) {
	w, text := &f.Want[i], f.Cell(i)
	if text == "" {
		f.Fault(i, "no %s", w.Name)
		return 0, false
	}
	number := f.point(quantity.Tidy(text))
	if _, unit, err := quantity.ScanNumber(number); err == nil && unit == "" {
		number += " " + f.Units[i]
	}
	q, err := quantity.ParseQuantity(number, w.Dim)
	if err == nil {
		err = w.check(q.Value)
	}
	if err != nil {
		f.Fault(i, "%q: %v", text, err)
	}
	return q.Value, err == nil
}

// number reads a plain number in the unit of the heading, as quickly as logs of
// a million rows need it, in SI; NaN for an empty cell. What cannot be read is
// noted.
func (f *CsvFile) number(i int) float64 {
	text := f.Cell(i)
	if text == "" {
		return math.NaN()
	}
	v, err := parsePlain(f.point(text))
	sc := f.scales[i]
	v = (v + sc.Zero) * sc.Num / sc.Den
	if err == nil && !quantity.Finite(v) {
		err = errors.New("too large a number")
	}
	if err != nil {
		f.Fault(i, "%q: %v", text, err)
		return math.NaN()
	}
	return v
}

// parsePlain reads a decimal number; strconv alone would take hex, "inf" and "NaN".
func parsePlain(text string) (float64, error) {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || strings.Trim(text, "0123456789.-+eE") != "" {
		return 0, errors.New("want a number; leave the cell empty where nothing was read")
	}
	return v, nil
}

// Fault notes what is wrong with a wanted column of the row read last.
func (f *CsvFile) Fault(i int, format string, args ...any) {
	f.FaultAt(min(f.columns[i], len(f.Record)-1), format, args...)
	f.Faults[len(f.Faults)-1].Cell = f.Want[i].Name
}

// FaultAt notes what is wrong with a field of the row read last.
func (f *CsvFile) FaultAt(field int, format string, args ...any) {
	line, column := f.reader.FieldPos(field)
	f.Faults = append(f.Faults, csvFault{Line: line, column: column, Text: fmt.Sprintf(format, args...)})
}

// Line is that of the row read last.
func (f *CsvFile) Line() int { line, _ := f.reader.FieldPos(0); return line }

// Err returns what is wrong with the list so far, in the order of the file, each
// fault with file, line and column; nil where there is nothing.
func (f *CsvFile) Err() error {
	if len(f.Faults) == 0 && f.ended && f.rows == 0 {
		return fmt.Errorf("%s: no rows below the headings", f.Name)
	}
	slices.SortStableFunc(f.Faults, func(a, b csvFault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.column, b.column))
	})
	var all []error
	for _, fault := range f.Faults[:min(len(f.Faults), mostFaults)] {
		column := placeAt(lineOf(f.data, fault.Line), fault.column-1).column
		all = append(all, fmt.Errorf("%s:%d:%d: %s", f.Name, fault.Line, column, fault.Text))
	}
	if n := len(f.Faults) - mostFaults; n > 0 {
		all = append(all, fmt.Errorf("and %d more", n))
	}
	return errors.Join(all...)
}

// Forgive forgets what was wrong with the row read last and returns it, for
// lists of which such rows are left out.
func (f *CsvFile) Forgive() error {
	var all []error
	for _, fault := range f.Faults {
		text := fault.Text
		if fault.Cell != "" {
			text = fault.Cell + ": " + text
		}
		all = append(all, errors.New(text))
	}
	f.Faults = nil
	return errors.Join(all...)
}

// OneLine is an error on one line, without the names of packages.
func OneLine(err error) string {
	return strings.NewReplacer("\n", "; ", "replace: ", "", "spring: ", "", "tables: ", "").Replace(err.Error())
}

// RefuseOthers notes every heading that is not wanted: a misspelt column would
// silently be lost.
func (f *CsvFile) RefuseOthers() {
	var known []string
	for _, w := range f.Want {
		known = append(known, w.Name)
	}
	for j, h := range f.Header {
		if !f.Known[j] {
			f.FaultAt(j, "unknown column %q%s; known are %s", h, words.DidYouMean(h, known), words.AndList(known))
		}
	}
}
