package sheet

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// mostOdd is after how many rows that are not plain the rest of a list is read as
// any other.
const mostOdd = 1000

// plain reads the next row in SI, by wanted column, where it is nothing but decimal
// numbers that can be, NaN for an empty cell, and reports false where it is anything
// else, a fault too: those rows are for Next. A log of a million rows takes two thirds
// of the time so, and no memory for the text of its cells. The row is still to be read until pass takes it.
func (f *CsvFile) plain(values []float64) bool {
	if f.oddRows > mostOdd || f.rows >= f.most || len(f.Faults) > 0 {
		return false
	}
	for _, s := range f.splits {
		if !s.cleared {
			return false
		}
	}
	line, _, _ := bytes.Cut(f.data[f.offset:], []byte("\n"))
	f.ahead = line
	if line = bytes.TrimSuffix(line, []byte("\r")); len(line) == 0 || line[0] == '#' || bytes.IndexByte(line, '"') >= 0 || !f.plainCells(line, values) {
		f.oddRows++
		return false
	}
	return true
}

// plainCells reads the cells of a line.
func (f *CsvFile) plainCells(line []byte, values []float64) bool {
	for i := range values {
		values[i] = math.NaN()
	}
	separator := [1]byte{byte(f.reader.Comma)}
	for j := range f.Header {
		cell, rest, more := bytes.Cut(line, separator[:])
		if more != (j < len(f.Header)-1) {
			return false
		}
		line = rest
		i := f.wanted[j]
		if cell = bytes.TrimSpace(cell); i < 0 || len(cell) == 0 {
			continue
		}
		v, err := strconv.ParseFloat(string(cell), 64)
		if err != nil || f.clocks[i] || !isDecimal(string(cell)) {
			return false
		}
		if values[i] = f.inSI(i, v); !f.bounds[i].hold(values[i]) {
			return false
		}
	}
	return true
}

// pass takes the row that plain has read.
func (f *CsvFile) pass(values []float64) {
	for i := range f.largest {
		if p := &f.largest[i]; p.watched && (p.line == 0 && values[i] == values[i] || values[i] > p.si) {
			f.seeAhead(i, values[i])
		}
	}
	f.rows++
	f.lines++
	f.offset = min(f.offset+int64(len(f.ahead))+1, int64(len(f.data)))
	f.passed = true
}

// seeAhead is see for the row that plain has read.
func (f *CsvFile) seeAhead(i int, si float64) {
	cells, start := strings.Split(string(f.ahead), string(f.reader.Comma)), 0
	for _, cell := range cells[:f.columns[i]] {
		start += len(cell) + 1
	}
	cell := cells[f.columns[i]]
	start += len(cell) - len(strings.TrimLeft(cell, " \t"))
	f.largest[i] = peakCell{watched: true, si: si, text: strings.TrimSpace(cell), line: f.lines + 1, byteAt: start + 1}
}

// catchUp lets the reader go on behind the rows that were plain.
func (f *CsvFile) catchUp() {
	if !f.passed {
		return
	}
	f.passed = false
	comma := f.reader.Comma
	f.reader = newReader(f.data[f.offset:])
	f.reader.Comma = comma
	f.readFrom, f.linesBefore = f.offset, f.lines
}

// at is where a field of the row read last begins: line, and column in bytes.
func (f *CsvFile) at(field int) (line, column int) {
	line, column = f.reader.FieldPos(field)
	return f.linesBefore + line, column
}

// reached is how far the reader has read, in bytes.
func (f *CsvFile) reached() int64 { return f.readFrom + f.reader.InputOffset() }
