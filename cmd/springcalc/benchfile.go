package main

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"springcalc/spring"
)

// A bench file is a list of readings: a header that names two columns, each with
// its unit, and below it a reading a line.
//
//	length mm, load N
//	150.2, 480
//
// A file from a spreadsheet may begin with a byte order mark, end its lines with
// CRLF, and separate with semicolons or tabs; then a comma is a decimal point.
// Other columns are left alone, and so are lines that begin with #.

// readBench reads a bench file. Its error lists all that is wrong, with places.
func readBench(path string) ([]spring.Point, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return parseBench(path, data)
}

func parseBench(name string, data []byte) ([]spring.Point, error) {
	b := benchReader{name: name, data: bytes.TrimPrefix(data, []byte("\ufeff"))}
	if first, ok := b.header(); ok {
		for ; first != nil; first = b.next() {
			b.point(first)
		}
	}
	if len(b.faults) == 0 && len(b.points) == 0 {
		b.faults = append(b.faults, fmt.Errorf("%s: no readings below the header", name))
	}
	return b.points, errors.Join(b.faults...)
}

// benchReader turns lines into readings.
type benchReader struct {
	name         string
	data         []byte
	csv          *csv.Reader
	columns      int
	length, load benchColumn
	points       []spring.Point
	faults       []error
}

// benchColumn is one of the two columns that matter.
type benchColumn struct {
	index int
	head  string
	unit  string
	key   *key
}

// What a reading may be.
var (
	benchLength = key{name: "length", dim: dimLength, allowed: limits{above: "0 mm", upTo: "1 m"}}
	benchLoad   = key{name: "load", dim: dimForce, allowed: limits{from: "0 N", upTo: "20 kN"}}
)

// faultAt notes a fault of a field of the last line.
func (b *benchReader) faultAt(field int, format string, args ...any) {
	line, column := b.csv.FieldPos(field)
	at := placeAt(lineOf(b.data, line), column-1)
	b.faults = append(b.faults, fmt.Errorf("%s:%d:%d: %s", b.name, line, at.column, fmt.Sprintf(format, args...)))
}

// next returns the next line, nil at the end or where the file cannot be read on.
func (b *benchReader) next() []string {
	line, err := b.csv.Read()
	if err == nil {
		return line
	}
	if parse := (*csv.ParseError)(nil); errors.As(err, &parse) {
		b.faults = append(b.faults, fmt.Errorf("%s:%d:%d: %w", b.name, parse.Line, parse.Column, parse.Err))
	} else if err != io.EOF {
		b.faults = append(b.faults, fmt.Errorf("%s: %w", b.name, err))
	}
	return nil
}

// header reads the first line and finds the columns; it returns the line after.
func (b *benchReader) header() (first []string, ok bool) {
	b.csv = csv.NewReader(bytes.NewReader(b.data))
	b.csv.Comma = separator(b.data)
	b.csv.Comment, b.csv.FieldsPerRecord = '#', -1
	b.csv.TrimLeadingSpace, b.csv.LazyQuotes = true, true // an inch sign is no quote
	heads := b.next()
	if heads == nil {
		b.faults = append(b.faults, fmt.Errorf("%s: empty; want a header such as \"length mm, load N\"", b.name))
		return nil, false
	}
	b.columns = len(heads)
	b.length = b.column(heads, &benchLength)
	b.load = b.column(heads, &benchLoad)
	return b.next(), len(b.faults) == 0
}

// separator is what stands between the fields: that of the first line which
// is no comment.
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

// column finds a column by its name, "load N", "Load (kgf)" or "load [lbf]".
func (b *benchReader) column(heads []string, k *key) benchColumn {
	name, dim := k.name, k.dim
	for i, head := range heads {
		rest, found := strings.CutPrefix(strings.ToLower(strings.TrimSpace(head)), name)
		if !found {
			continue
		}
		unit := strings.TrimSpace(head)[len(name):]
		unit = strings.TrimSpace(strings.Trim(strings.TrimSpace(unit), "()[],"))
		if rest == "" || unit == "" {
			b.faultAt(i, "%q has no unit; write \"%s %s\"", head, name, dim.units[0])
		} else if _, err := parseValue("1 "+tidy(unit), dim); err != nil {
			b.faultAt(i, "%q: %v", head, err)
		}
		return benchColumn{index: i, head: head, unit: tidy(unit), key: k}
	}
	hint := ""
	if name == "length" && strings.Contains(strings.ToLower(strings.Join(heads, " ")), "deflection") {
		hint = "; a deflection is the free length less the length"
	}
	b.faultAt(0, "no column %q; want a header such as \"length mm, load N\"%s", name, hint)
	return benchColumn{}
}

// point reads one line.
func (b *benchReader) point(line []string) {
	if len(line) > b.columns {
		b.faultAt(b.columns, "%d values under %d heads; where commas are decimal points, separate with semicolons", len(line), b.columns)
		return
	}
	length, ok := b.value(line, b.length)
	load, both := b.value(line, b.load)
	if ok && both {
		b.points = append(b.points, spring.Point{Length: length, Load: load})
	}
}

// value reads one number in the unit of its column.
func (b *benchReader) value(line []string, c benchColumn) (si float64, ok bool) {
	if c.index >= len(line) {
		b.faultAt(len(line)-1, "no %q on this line", c.head)
		return 0, false
	}
	text := strings.TrimSpace(line[c.index])
	number := tidy(text)
	if b.csv.Comma != ',' {
		number = strings.Replace(number, ",", ".", 1)
	}
	_, rest, err := scanNumber(number)
	switch {
	case err != nil:
	case rest != "":
		err = fmt.Errorf("want a number alone; its unit is that of the header, %s", c.unit)
	default:
		if si, err = parseValue(number+" "+c.unit, c.key.dim); err == nil {
			err = c.key.check(si)
		}
	}
	if err != nil {
		b.faultAt(c.index, "%q: %v", text, err)
	}
	return si, err == nil
}
