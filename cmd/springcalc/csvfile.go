package main

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
)

// A list is a CSV file with a line of headings: columns in any order, their
// units in the heading or in each cell, separated by commas, semicolons or
// tabs; lines that begin with # are comments. As spreadsheets write it, it may
// begin with a byte order mark and end its lines with CRLF, and where no comma
// separates, one is a decimal point.

// csvColumn is a column that a list may have.
type csvColumn struct {
	key             // what a cell may be
	known  []string // headings, in lower case, without the unit
	needed bool
}

// csvFile is a list with its headings understood, read row by row.
type csvFile struct {
	name   string
	data   []byte
	reader *csv.Reader
	want   []csvColumn

	header  []string
	known   []bool   // which of the headings are those of wanted columns
	columns []int    // index in a record of each wanted column; -1 where it is missing
	units   []string // from the headings; "" where the cells carry them, or there are none
	scales  []*scale // of these units

	record []string // the row read last
	rows   int      // that have been read
	ended  bool
	faults []csvFault
}

// csvFault is one thing wrong with a list.
type csvFault struct {
	line, column int    // column in bytes
	cell         string // name of the column that it is about; "" for a row or heading
	text         string
}

const mostFaults = 10 // that are told one by one

// openCSV reads the headings of a list. Their units may stand as in
// "pressure_bar", "p [bar]" or "pressure (bar)". What is wrong with them is
// noted: see err.
func openCSV(name string, data []byte, want []csvColumn) (*csvFile, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data) {
		return nil, fmt.Errorf("%s: not a text in UTF-8; save it as CSV with that encoding", name)
	}
	f := &csvFile{name: name, data: data, reader: csv.NewReader(bytes.NewReader(data)), want: want,
		columns: make([]int, len(want)), units: make([]string, len(want)), scales: make([]*scale, len(want))}
	f.reader.Comma, f.reader.Comment = separator(data), '#'
	f.reader.TrimLeadingSpace, f.reader.ReuseRecord, f.reader.FieldsPerRecord = true, true, -1
	f.reader.LazyQuotes = true // an inch sign is no quote
	if !f.read() {
		return nil, fmt.Errorf("%s: empty; want a line of headings and rows below", name)
	}
	f.header, f.known = slices.Clone(f.record), make([]bool, len(f.record))
	if _, err := strconv.ParseFloat(strings.TrimSpace(f.header[0]), 64); err == nil {
		f.faultAt(0, "a number where the headings should be%s", examples(", such as ", want))
		return nil, f.err()
	}
	var missing []csvColumn
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
			names = append(names, w.name)
		}
		f.faultAt(0, "no column of %s; found %s%s", andList(names), strings.Join(quoted(f.header), ", "), examples("; want ", missing))
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
func (f *csvFile) find(i int) {
	w := &f.want[i]
	for j, h := range f.header {
		name, unit := splitHeading(h, w.dim)
		if !slices.Contains(w.known, name) {
			continue
		}
		f.known[j] = true
		if f.columns[i] >= 0 {
			f.faultAt(j, "%q: a second column of %s", h, w.name)
			continue
		}
		f.columns[i], f.units[i] = j, tidy(unit)
		if unit == "" {
			continue
		}
		sc, err := parseUnit(f.units[i], w.dim)
		switch {
		case w.dim == dimNumber:
			err = errors.New("a plain number has no unit")
		case err == nil && sc.exps != w.dim.exps:
			err = fmt.Errorf("%q is not the unit of %s, which takes %s", unit, w.dim.name, orList(w.dim.units))
		}
		if err != nil {
			f.faultAt(j, "%q: %v", h, err)
		}
		f.scales[i] = &sc
	}
}

// needUnits notes the headings that have no unit, for lists whose cells are
// numbers alone.
func (f *csvFile) needUnits() {
	for i, w := range f.want {
		if f.columns[i] >= 0 && f.units[i] == "" {
			f.fault(i, "the heading of the %s has no unit; write it as %s", w.name, w.example())
		}
	}
}

// example is a heading that would be understood.
func (w csvColumn) example() string {
	if w.dim == nil {
		return w.known[0]
	}
	return fmt.Sprintf("%q", w.known[0]+" ("+w.dim.units[0]+")")
}

// examples are headings of the columns that a list must have, behind some
// words; "" where there are none.
func examples(words string, want []csvColumn) string {
	var all []string
	for _, w := range want {
		if w.needed {
			all = append(all, w.example())
		}
	}
	if len(all) == 0 {
		return ""
	}
	return words + andList(all)
}

// splitHeading takes the unit off a heading: "Pressure (bar)" is "pressure" and
// "bar", "t_s" is "t" and "s". A last word counts as a unit only where it is
// one, of whatever dimension; for text there are no units.
func splitHeading(h string, dim *dimension) (name, unit string) {
	h = strings.TrimSpace(h)
	if dim == nil {
		return strings.ToLower(h), ""
	}
	plain := func(s string) string {
		s = strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(s, "_", " "))), " ")
		return strings.TrimSuffix(s, ",")
	}
	for _, brackets := range []string{"[]", "()"} {
		if open := strings.IndexByte(h, brackets[0]); open > 0 && strings.HasSuffix(h, brackets[1:]) {
			return plain(h[:open]), strings.TrimSpace(h[open+1 : len(h)-1])
		}
	}
	if i := strings.LastIndexAny(h, "_ "); i > 0 {
		if _, err := parseUnit(tidy(h[i+1:]), dim); err == nil {
			return plain(h[:i]), h[i+1:]
		}
	}
	return plain(h), ""
}

// read reads a line; there is no error but the end, where quotes are lazy.
func (f *csvFile) read() bool {
	record, err := f.reader.Read()
	f.record = record
	return err == nil
}

// next reads a row, and says whether there was one.
func (f *csvFile) next() bool {
	if !f.read() {
		f.ended = true
		return false
	}
	f.rows++
	n := len(f.header)
	switch last := len(f.record) - 1; {
	case last >= n && strings.Join(f.record[n:], "") != "":
		hint := ""
		if f.reader.Comma == ',' {
			hint = "; where commas are decimal points, separate with semicolons"
		}
		f.faultAt(n, "%d values under %d headings%s", last+1, n, hint)
	case last < n-1 && strings.Contains(f.record[last], "\n"):
		f.faultAt(last, "a quote that does not end")
	}
	return true
}

// cell returns the text of a wanted column in the row, "" where there is none.
func (f *csvFile) cell(i int) string {
	if j := f.columns[i]; j >= 0 && j < len(f.record) {
		return strings.TrimSpace(f.record[j])
	}
	return ""
}

// point puts a point in place of a decimal comma.
func (f *csvFile) point(text string) string {
	if f.reader.Comma != ',' && strings.Count(text, ",") == 1 && !strings.Contains(text, ".") {
		return strings.Replace(text, ",", ".", 1)
	}
	return text
}

// quantity reads a cell in SI, in a unit of its own or in that of the heading.
// What cannot be read, or cannot be, is noted.
func (f *csvFile) quantity(i int) (si float64, ok bool) {
	w, text := &f.want[i], f.cell(i)
	if text == "" {
		f.fault(i, "no %s", w.name)
		return 0, false
	}
	number := f.point(tidy(text))
	if _, unit, err := scanNumber(number); err == nil && unit == "" {
		number += " " + f.units[i]
	}
	q, err := parseQuantity(number, w.dim)
	if err == nil {
		err = w.check(q.Value)
	}
	if err != nil {
		f.fault(i, "%q: %v", text, err)
	}
	return q.Value, err == nil
}

// number reads a plain number in the unit of the heading, as quickly as logs of
// a million rows need it, in SI; NaN for an empty cell. What cannot be read is
// noted.
func (f *csvFile) number(i int) float64 {
	text := f.cell(i)
	if text == "" {
		return math.NaN()
	}
	v, err := parsePlain(f.point(text))
	sc := f.scales[i]
	v = (v + sc.zero) * sc.num / sc.den
	if err == nil && !finite(v) {
		err = errors.New("too large a number")
	}
	if err != nil {
		f.fault(i, "%q: %v", text, err)
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

// fault notes what is wrong with a wanted column of the row read last.
func (f *csvFile) fault(i int, format string, args ...any) {
	f.faultAt(min(f.columns[i], len(f.record)-1), format, args...)
	f.faults[len(f.faults)-1].cell = f.want[i].name
}

// faultAt notes what is wrong with a field of the row read last.
func (f *csvFile) faultAt(field int, format string, args ...any) {
	line, column := f.reader.FieldPos(field)
	f.faults = append(f.faults, csvFault{line: line, column: column, text: fmt.Sprintf(format, args...)})
}

// line is that of the row read last.
func (f *csvFile) line() int { line, _ := f.reader.FieldPos(0); return line }

// err returns what is wrong with the list so far, in the order of the file, each
// fault with file, line and column; nil where there is nothing.
func (f *csvFile) err() error {
	if len(f.faults) == 0 && f.ended && f.rows == 0 {
		return fmt.Errorf("%s: no rows below the headings", f.name)
	}
	slices.SortStableFunc(f.faults, func(a, b csvFault) int {
		return cmp.Or(cmp.Compare(a.line, b.line), cmp.Compare(a.column, b.column))
	})
	var all []error
	for _, fault := range f.faults[:min(len(f.faults), mostFaults)] {
		column := placeAt(lineOf(f.data, fault.line), fault.column-1).column
		all = append(all, fmt.Errorf("%s:%d:%d: %s", f.name, fault.line, column, fault.text))
	}
	if n := len(f.faults) - mostFaults; n > 0 {
		all = append(all, fmt.Errorf("and %d more", n))
	}
	return errors.Join(all...)
}

// forgive forgets what was wrong with the row read last and returns it, for
// lists of which such rows are left out.
func (f *csvFile) forgive() error {
	var all []error
	for _, fault := range f.faults {
		text := fault.text
		if fault.cell != "" {
			text = fault.cell + ": " + text
		}
		all = append(all, errors.New(text))
	}
	f.faults = nil
	return errors.Join(all...)
}
