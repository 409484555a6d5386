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

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
)

// A list is a CSV file with a line of headings: columns in any order, their
// units in the heading or in each cell, separated by commas, semicolons or
// tabs; lines that begin with # are comments. As spreadsheets write it, it may
// begin with a byte order mark and end its lines with CRLF, and a comma in a cell
// may be a decimal point. What can be read in two ways is an error.

// Reading says how a list is to be read, and takes up what is to be known of it.
type Reading struct {
	Columns map[string]string // by the name of a column, what the list calls it: see ParseColumns
	Notes   []string          // columns that were not used, units that were read as others
	Doubts  []string          // values that look like those of another unit
}

// CsvColumn is a column that a list may have.
type CsvColumn struct {
	Key             // what a cell may be
	Known  []string // headings, in lower case, without the unit; behind a "=" one whose case counts, "=d" beside "=D"
	needed bool
	clock  bool // a time that may also be that of a clock, "10:33:21.5"
}

// CsvFile is a list with its headings understood, read row by row.
type CsvFile struct {
	Name   string
	data   []byte
	reader *csv.Reader
	Want   []CsvColumn
	how    *Reading

	Header  []string
	Known   []bool            // which of the headings are those of wanted columns
	columns []int             // index in a record of each wanted column; -1 where it is missing
	Units   []string          // from the headings; "" where the cells carry them, or there are none
	scales  []*quantity.Scale // of these units
	bounds  []bounds          // of the values
	clocks  []bool            // columns of clock times
	commas  *commaUse         // what a comma in a cell is, once somebody had to know
	splits  []*split          // pairs of columns that a decimal comma may have made of one
	largest []peakCell        // by column, the largest value

	Record  []string // the row read last
	offset  int64    // where it ends, in bytes
	lines   int      // that end there or before
	rows    int      // that have been read
	most    int      // rows that the list may have
	ended   bool
	stopped bool // at the last fault that is told
	Faults  []csvFault

	wanted      []int  // by heading, which of the wanted columns it is; -1 for none
	ahead       []byte // the line that plain has read
	oddRows     int    // that were not plain
	passed      bool   // the reader is behind the rows that were
	readFrom    int64  // where the reader began, in bytes
	linesBefore int    // lines before that
}

// csvFault is one thing wrong with a list.
type csvFault struct {
	Line, column int    // column in bytes
	Cell         string // name of the column that it is about; "" for a row or heading
	Text         string
}

const (
	mostFaults = 10     // that are told one by one; reading ends there
	usualRows  = 10_000 // rows of a list that a person keeps
)

// newReader returns a reader of the rows of a list.
func newReader(data []byte) *csv.Reader {
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma, r.Comment = separator(data), '#'
	r.TrimLeadingSpace, r.ReuseRecord, r.FieldsPerRecord = true, true, -1
	r.LazyQuotes = true // an inch sign is no quote
	return r
}

// OpenCSV reads the headings of a list. Their units may stand as in
// "pressure_bar", "p [bar]" or "pressure (bar)". What is wrong with them is
// noted: see err.
func OpenCSV(name string, data []byte, want []CsvColumn, how *Reading) (*CsvFile, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if at, text := notText(data); text != "" {
		return nil, fmt.Errorf("%s:%d:%d: %s; save it as CSV in UTF-8", name, at.Line, at.column, text)
	}
	n := len(want)
	f := &CsvFile{Name: name, data: data, reader: newReader(data), Want: want, how: how, most: usualRows,
		columns: make([]int, n), Units: make([]string, n), scales: make([]*quantity.Scale, n), bounds: make([]bounds, n), clocks: make([]bool, n), largest: make([]peakCell, n)}
	for i := range want {
		f.largest[i].watched = want[i].Usual != (Limits{})
	}
	if !f.read() {
		return nil, fmt.Errorf("%s: empty; want a line of headings and rows below", name)
	}
	f.Header, f.Known = slices.Clone(f.Record), make([]bool, len(f.Record))
	f.offset = f.reached()
	f.lines = bytes.Count(data[:f.offset], []byte("\n"))
	if _, err := strconv.ParseFloat(strings.TrimSpace(f.Header[0]), 64); err == nil {
		f.FaultAt(0, "a number where the headings should be%s", examples(", such as ", want))
		return nil, f.Err()
	}
	if err := f.checkColumns(); err != nil {
		return nil, err
	}
	for i := range want {
		f.columns[i], f.bounds[i] = -1, want[i].bounds()
		f.find(i)
	}
	var missing []CsvColumn
	for i, w := range want {
		if f.columns[i] < 0 && w.needed {
			f.findByUnit(i)
		}
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
	f.wanted = slices.Repeat([]int{-1}, len(f.Header))
	for i, j := range f.columns {
		if j >= 0 {
			f.wanted[j] = i
		}
	}
	f.watchSplits()
	return f, nil
}

// nameOthers puts the headings that are not wanted into the notes.
func (f *CsvFile) nameOthers() {
	var unused []string
	for j, h := range f.Header {
		if !f.Known[j] && strings.TrimSpace(h) != "" {
			unused = append(unused, strconv.Quote(h))
		}
	}
	if len(unused) > 0 {
		const most = 8
		more := ""
		if n := len(unused) - most; n > 0 {
			unused, more = unused[:most], fmt.Sprintf(" and %d more", n)
		}
		f.note("columns not used: %s%s", strings.Join(unused, ", "), more)
	}
}

// note adds to what is to be known of the list, once.
func (f *CsvFile) note(format string, args ...any) {
	if text := f.Name + ": " + fmt.Sprintf(format, args...); !slices.Contains(f.how.Notes, text) {
		f.how.Notes = append(f.how.Notes, text)
	}
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
		unit, ok := f.matches(w, h)
		if !ok {
			continue
		}
		f.Known[j] = true
		if f.columns[i] >= 0 {
			f.FaultAt(j, "%q: a second column of %s", h, w.Name)
			continue
		}
		f.take(i, j, unit)
	}
}

// findByUnit takes a heading that is nothing but a unit of a wanted column, "bar".
func (f *CsvFile) findByUnit(i int) {
	if f.Want[i].Dim == nil || f.how.Columns[f.Want[i].Name] != "" {
		return
	}
	for j, h := range f.Header {
		if sc, err := quantity.ParseUnit(quantity.Tidy(h), f.Want[i].Dim); err == nil && sc.Exps == f.Want[i].Dim.Exps && !f.Known[j] {
			f.Known[j] = true
			f.take(i, j, h)
			return
		}
	}
}

// take makes a heading that of a wanted column.
func (f *CsvFile) take(i, j int, unit string) {
	w, h := &f.Want[i], f.Header[j]
	f.columns[i], f.Units[i] = j, quantity.Tidy(unit)
	if unit == "" {
		return
	}
	if w.Dim == quantity.DimNumber {
		f.FaultAt(j, "%q: a plain number has no unit", h)
		return
	}
	sc, err := quantity.UnitFor(f.Units[i], w.Dim)
	if err != nil {
		f.FaultAt(j, "%q: %v", h, err)
	} else if remark := quantity.Remark("1 "+unit, w.Dim); remark != "" {
		f.note("%q: %s", h, remark)
	}
	f.scales[i] = &sc
}

// needUnits notes the headings that have no unit, for lists whose cells are
// numbers alone. A column of clock times needs none.
func (f *CsvFile) needUnits() {
	for i, w := range f.Want {
		if f.columns[i] < 0 || f.Units[i] != "" {
			continue
		}
		if w.clock {
			f.cells(i, func(text string) bool {
				_, _, err := parseClock(text)
				f.clocks[i] = err == nil
				return false
			})
		}
		if !f.clocks[i] {
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
	f.catchUp()
	record, err := f.reader.Read()
	f.Record = record
	return err == nil
}

// Next reads a row, and says whether there was one. It ends at the last fault
// that is told.
func (f *CsvFile) Next() bool {
	if len(f.Faults) >= mostFaults {
		f.stopped = true
		return false
	}
	if !f.read() {
		f.ended = true
		f.judgeSplits()
		f.doubtLargest()
		return false
	}
	f.rows++
	if f.rows > f.most {
		f.FaultAt(0, "more than %d rows; a list of this kind has no more", f.most)
		f.stopped = true
		return false
	}
	if f.swallowed() {
		f.stopped = true
		return false
	}
	n := len(f.Header)
	if last := len(f.Record) - 1; last >= n && strings.Join(f.Record[n:], "") != "" {
		hint := ""
		if f.reader.Comma == ',' {
			hint = "; where commas are decimal points, separate with semicolons"
		}
		f.FaultAt(n, "%d values under %d headings%s", last+1, n, hint)
	}
	for _, s := range f.splits {
		s.see(f)
	}
	return true
}

// cells calls a function with every cell of a wanted column that is not empty,
// until it returns false.
func (f *CsvFile) cells(i int, see func(text string) bool) {
	r, j := newReader(f.data), f.columns[i]
	_, _ = r.Read() // the headings
	for {
		record, err := r.Read()
		if err != nil {
			return
		}
		if j < len(record) {
			if text := strings.TrimSpace(record[j]); text != "" && !see(text) {
				return
			}
		}
	}
}

// Cell returns the text of a wanted column in the row, "" where there is none.
func (f *CsvFile) Cell(i int) string {
	if j := f.columns[i]; j >= 0 && j < len(f.Record) {
		return strings.TrimSpace(f.Record[j])
	}
	return ""
}

// Quantity reads a cell in SI, in a unit of its own or in that of the heading.
// What cannot be read, or cannot be, is noted.
func (f *CsvFile) Quantity(i int) (q quantity.Quantity, ok bool) {
	w, text := &f.Want[i], f.Cell(i)
	if text == "" {
		f.Fault(i, "no %s", w.Name)
		return q, false
	}
	number := f.settle(quantity.Tidy(text))
	if left, right, plus := strings.Cut(number, "±"); plus {
		if _, unit, err := quantity.ScanNumber(right); err == nil && unit == "" {
			number = left + "±" + right + " " + f.Units[i]
		} else if _, unit, err := quantity.ScanNumber(left); err == nil && unit == "" && strings.TrimSpace(right) != "" {
			number = strings.TrimSpace(left) + " " + f.Units[i] + " ±" + right
		}
	} else if _, unit, err := quantity.ScanNumber(number); err == nil && unit == "" {
		number += " " + f.Units[i]
	}
	q, err := quantity.Parse(number, w.Dim)
	if err == nil && !f.bounds[i].hold(q.Value) {
		err = fmt.Errorf("%w%s", w.check(q.Value), w.hint(number))
	}
	if err != nil {
		f.Fault(i, "%q: %v", text, err)
		return q, false
	}
	if remark := quantity.Remark(text, w.Dim); remark != "" {
		f.note("%s", remark)
	}
	f.see(i, q.Value)
	return q, true
}

// number reads a plain number in the unit of the heading, as quickly as logs of
// a million rows need it, in SI; NaN for an empty cell. What cannot be read is
// noted.
func (f *CsvFile) number(i int) float64 {
	text := f.Cell(i)
	if text == "" {
		return math.NaN()
	}
	v, err := 0.0, error(nil)
	if f.clocks[i] {
		v, _, err = parseClock(text)
	} else if v, err = f.parsePlain(text); err == nil {
		v = f.inSI(i, v)
	}
	switch {
	case err != nil:
	case !quantity.Finite(v):
		err = errors.New("too large a number")
	case !f.bounds[i].hold(v):
		err = fmt.Errorf("%w%s", f.Want[i].check(v), f.Want[i].hint(text+" "+f.Units[i]))
	}
	if err != nil {
		f.Fault(i, "%q: %v", text, err)
		return math.NaN()
	}
	f.see(i, v)
	return v
}

// inSI is a number in the unit of the heading [SI].
func (f *CsvFile) inSI(i int, v float64) float64 {
	sc := f.scales[i]
	return (v + sc.Zero) * sc.Num / sc.Den
}

// parsePlain reads a decimal number; strconv alone would take hex, "inf" and "NaN".
func (f *CsvFile) parsePlain(text string) (float64, error) {
	if v, err := strconv.ParseFloat(text, 64); err == nil && isDecimal(text) {
		return v, nil
	}
	v, rest, err := quantity.ScanNumber(f.settle(quantity.Tidy(text)))
	if err == nil && rest != "" || err != nil && !strings.Contains(text, ",") {
		err = errors.New("want a number; leave the cell empty where nothing was read")
	}
	return v, err
}

// isDecimal says whether a number is written with the characters of decimal ones.
func isDecimal(text string) bool {
	for i := range len(text) {
		if c := text[i]; (c < '0' || c > '9') && c != '.' && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return false
		}
	}
	return true
}

// Fault notes what is wrong with a wanted column of the row read last.
func (f *CsvFile) Fault(i int, format string, args ...any) {
	f.FaultAt(min(f.columns[i], len(f.Record)-1), format, args...)
	f.Faults[len(f.Faults)-1].Cell = f.Want[i].Name
}

// FaultAt notes what is wrong with a field of the row read last.
func (f *CsvFile) FaultAt(field int, format string, args ...any) {
	line, column := f.at(field)
	f.Faults = append(f.Faults, csvFault{Line: line, column: column, Text: fmt.Sprintf(format, args...)})
}

// Line is that of the row read last.
func (f *CsvFile) Line() int { line, _ := f.at(0); return line }

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
	switch n := len(f.Faults) - mostFaults; {
	case n > 0:
		all = append(all, fmt.Errorf("and %d more", n))
	case f.stopped && n == 0:
		all = append(all, errors.New("reading stopped there; there may be more"))
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

// refuseMisspelt notes every heading that is not wanted but nearly the name of a
// column that is: a misspelt column would be lost.
func (f *CsvFile) refuseMisspelt() {
	var known []string
	for _, w := range f.Want {
		known = append(known, w.Name)
	}
	for j, h := range f.Header {
		if f.Known[j] {
			continue
		}
		raw, _ := cutUnit(h, quantity.DimLength)
		if hint := words.DidYouMean(raw, known); hint != "" {
			f.FaultAt(j, "unknown column %q%s; known are %s", h, hint, words.AndList(known))
		}
	}
}
