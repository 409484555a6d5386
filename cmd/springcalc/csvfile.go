package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// csvColumn is a column that a list of readings may have.
type csvColumn struct {
	name   string // in messages: "pressure"
	dim    *dimension
	known  []string // headings, in lower case, without the unit
	needed bool
}

// csvFile is a list of readings with its header understood: columns in any
// order, separated by comma, semicolon or tab, decimal commas where the
// separator leaves them free, comment lines with #.
type csvFile struct {
	name    string
	reader  *csv.Reader
	comma   bool     // decimal commas may be
	columns []int    // index in a record of each wanted column; -1 where it is missing
	scales  []*scale // unit from the heading; nil where the cells carry it, or there is none
	faults  csvFaults
}

// csvFaults are what is wrong with a list, each with file, line and column.
type csvFaults []string

const mostFaults = 10 // that are told one by one

func (f csvFaults) Error() string {
	if len(f) > mostFaults {
		return strings.Join(append(slices.Clone(f[:mostFaults]), fmt.Sprintf("and %d more", len(f)-mostFaults)), "\n")
	}
	return strings.Join(f, "\n")
}

// openCSV reads the header of a list. Of the wanted columns, some may be
// missing; their units may stand in the heading, as "pressure_bar", "p [bar]"
// or "pressure (bar)".
func openCSV(name string, data []byte, want []csvColumn) (*csvFile, error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if !utf8.Valid(data[:min(len(data), 4096)]) && !utf8.Valid(data) {
		return nil, fmt.Errorf("%s: not a text in UTF-8; save it as CSV with that encoding", name)
	}
	f := &csvFile{name: name, reader: csv.NewReader(bytes.NewReader(data))}
	f.reader.Comment, f.reader.TrimLeadingSpace, f.reader.ReuseRecord, f.reader.FieldsPerRecord = '#', true, true, -1
	f.reader.Comma = separator(data)
	f.comma = f.reader.Comma != ','
	header, err := f.reader.Read()
	if errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("%s: empty; want a line of headings and rows below", name)
	}
	if err != nil {
		return nil, f.syntax(err)
	}
	header = slices.Clone(header)
	if _, err := strconv.ParseFloat(strings.TrimSpace(header[0]), 64); err == nil {
		return nil, fmt.Errorf("%s:%d:1: a number where the headings should be, such as %s", name, f.line(), headings(want))
	}
	f.columns, f.scales = make([]int, len(want)), make([]*scale, len(want))
	for i, w := range want {
		f.columns[i] = -1
		f.find(i, w, header)
		if f.columns[i] < 0 && w.needed && len(f.faults) == 0 {
			f.faults = append(f.faults, fmt.Sprintf("%s:%d: no column of %s; found %s; want a heading such as %s",
				name, f.line(), w.name, strings.Join(quoted(header), ", "), w.example()))
		}
	}
	if len(f.faults) > 0 {
		return nil, f.faults
	}
	return f, nil
}

// find looks for a column among the headings.
func (f *csvFile) find(i int, w csvColumn, header []string) {
	for j, h := range header {
		name, unit := splitHeading(h, w.dim)
		if !slices.Contains(w.known, name) {
			continue
		}
		line, column := f.reader.FieldPos(j)
		if f.columns[i] >= 0 {
			f.faults = append(f.faults, fmt.Sprintf("%s:%d:%d: %q: a second column of %s", f.name, line, column, h, w.name))
			continue
		}
		f.columns[i] = j
		if unit == "" || w.dim == nil {
			continue
		}
		sc, err := parseUnit(tidy(unit), w.dim)
		if err == nil && sc.exps != w.dim.exps {
			err = fmt.Errorf("%q is not the unit of %s, which takes %s", unit, w.dim.name, orList(w.dim.units))
		}
		if err != nil {
			f.faults = append(f.faults, fmt.Sprintf("%s:%d:%d: %q: %v", f.name, line, column, h, err))
			continue
		}
		f.scales[i] = &sc
	}
}

// example is a heading that would be understood.
func (w csvColumn) example() string {
	if w.dim == nil {
		return w.known[0]
	}
	return fmt.Sprintf("%q", w.known[0]+" ("+w.dim.units[0]+")")
}

func headings(want []csvColumn) string {
	var all []string
	for _, w := range want {
		if w.needed {
			all = append(all, w.example())
		}
	}
	return strings.Join(all, ", ")
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
		return strings.Join(strings.Fields(strings.ToLower(strings.ReplaceAll(s, "_", " "))), " ")
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

func (f *csvFile) line() int { line, _ := f.reader.FieldPos(0); return line }

// syntax words an error of the csv package.
func (f *csvFile) syntax(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return fmt.Errorf("%s:%d:%d: %v", f.name, p.Line, p.Column, p.Err)
	}
	return fmt.Errorf("%s: %w", f.name, err)
}

// next reads a row: nil at the end.
func (f *csvFile) next() ([]string, error) {
	record, err := f.reader.Read()
	if errors.Is(err, io.EOF) {
		return nil, nil
	}
	if err != nil {
		return nil, f.syntax(err)
	}
	return record, nil
}

// cell returns the text of a wanted column in a row, "" where there is none.
func (f *csvFile) cell(record []string, i int) string {
	if j := f.columns[i]; j >= 0 && j < len(record) {
		return strings.TrimSpace(record[j])
	}
	return ""
}

// number reads a plain number of a wanted column in SI; NaN for an empty cell.
// What cannot be read is noted.
func (f *csvFile) number(record []string, i int) float64 {
	text := f.cell(record, i)
	if text == "" {
		return math.NaN()
	}
	v, err := f.parse(text)
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

// parse reads a decimal number; strconv alone would take hex, "inf" and "NaN".
func (f *csvFile) parse(text string) (float64, error) {
	comma := -1
	for i := range len(text) {
		switch c := text[i]; {
		case c >= '0' && c <= '9' || c == '.' || c == '-' || c == '+' || c == 'e' || c == 'E':
		case c == ',' && f.comma && comma < 0:
			comma = i
		default:
			return 0, errors.New("want a number; leave the cell empty where nothing was read")
		}
	}
	if comma >= 0 {
		text = text[:comma] + "." + text[comma+1:]
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, errors.New("want a number; leave the cell empty where nothing was read")
	}
	return v, nil
}

// fault notes what is wrong with a wanted column of the row read last.
func (f *csvFile) fault(i int, format string, args ...any) {
	line, column := f.reader.FieldPos(f.columns[i])
	f.faults = append(f.faults, fmt.Sprintf("%s:%d:%d: %s", f.name, line, column, fmt.Sprintf(format, args...)))
}
