package tables

import (
	"bytes"
	"embed"
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
	"sync"
)

var (
	// ErrRange reports a value outside the range of its source.
	ErrRange = errors.New("tables: out of range")
	// ErrName reports a name that no table has.
	ErrName = errors.New("tables: unknown name")
)

// Grade says how far a published figure can be trusted. It travels with every
// row and every result that used it.
type Grade string

// The grades, from the best down. ByRow is only for a whole table: its rows
// carry their own grades in a column "grade".
const (
	Printed        Grade = "printed"         // read in the source or in a text that reproduces it
	FromMemory     Grade = "from memory"     // recalled from the named source, not read again
	Derived        Grade = "derived"         // computed from other printed figures or measurements
	CommonPractice Grade = "common practice" // usage of the trade, no single source
	Weak           Grade = "weak"            // one observation, a reading off a graph or an estimate
	ByRow          Grade = "by row"
)

// Grades returns every grade that a row can carry, from the best down.
func Grades() []Grade {
	return []Grade{Printed, FromMemory, Derived, CommonPractice, Weak}
}

// Info is the head comment of a data file.
type Info struct {
	Name     string // name of the table, which is the name of its file
	Title    string // what it lists, one line
	Source   string // standard, book or paper
	Units    string // units of the figures as printed
	Valid    string // range in which the figures hold
	Obtained string // how the figures came here
	Errata   string // misprints of the source and what was done about them
	Grade    Grade  // grade of all rows, or ByRow
}

// Table is one data file: figures as printed strings under their header.
type Table struct {
	Info
	Header []string   // names of the columns, with the unit after an underscore
	Rows   [][]string // one string per column; empty where the source has none
}

// List returns the heads of all tables in the order of their names.
func List() []Info {
	var list []Info
	for _, name := range names() {
		list = append(list, get(name).Info)
	}
	return list
}

// Get returns a copy of the table of that name. An unknown name is [ErrName],
// with the names that come near.
func Get(name string) (Table, error) {
	t, err := find(name)
	if err != nil {
		return Table{}, err
	}
	t.Header = slices.Clone(t.Header)
	rows := make([][]string, len(t.Rows))
	for i, row := range t.Rows {
		rows[i] = slices.Clone(row)
	}
	t.Rows = rows
	return t, nil
}

// find is Get without the copy.
func find(name string) (Table, error) {
	if t, ok := read()[name]; ok {
		return t(), nil
	}
	return Table{}, unknown("table", name, names())
}

// get is find for the names that this package itself uses.
func get(name string) Table {
	t, err := find(name)
	if err != nil {
		panic(err)
	}
	return t
}

//go:embed data/*.csv
var files embed.FS

// names are those of all tables, in the order of the files.
var names = sync.OnceValue(func() []string {
	list, err := fs.Glob(files, "data/*.csv")
	if err != nil {
		panic(err)
	}
	for i, file := range list {
		list[i] = strings.TrimSuffix(path.Base(file), ".csv")
	}
	return list
})

// read is every table by name, parsed when it is first asked for. The files are part of
// the program, so a malformed one is a programmer's mistake.
var read = sync.OnceValue(func() map[string]func() Table {
	byName := map[string]func() Table{}
	for _, name := range names() {
		byName[name] = sync.OnceValue(func() Table {
			data, err := files.ReadFile("data/" + name + ".csv")
			if err != nil {
				panic(err)
			}
			t, err := parse(name, data)
			if err != nil {
				panic(err)
			}
			return t
		})
	}
	return byName
})

// parse reads one data file: the head comment, the header and the rows.
func parse(name string, data []byte) (Table, error) {
	info, err := parseHead(data)
	if err != nil {
		return Table{}, fmt.Errorf("tables: %s: %w", name, err)
	}
	info.Name = name
	r := csv.NewReader(bytes.NewReader(data))
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		return Table{}, fmt.Errorf("tables: %s: %w", name, err)
	}
	if len(records) < 2 {
		return Table{}, fmt.Errorf("tables: %s: no rows", name)
	}
	t := Table{Info: info, Header: records[0], Rows: records[1:]}
	return t, t.checkGrades()
}

// parseHead reads the head comment: the title, an empty comment line, then
// "key: value" lines, each of which may run on in indented lines.
func parseHead(data []byte) (Info, error) {
	var info Info
	fields := map[string]*string{
		"source": &info.Source, "units": &info.Units, "valid": &info.Valid,
		"obtained": &info.Obtained, "errata": &info.Errata, "grade": (*string)(&info.Grade),
	}
	var last *string
	for line := range strings.Lines(string(data)) {
		text, isComment := strings.CutPrefix(strings.TrimSpace(line), "#")
		if !isComment {
			break
		}
		key, value, isField := strings.Cut(strings.TrimSpace(text), ":")
		switch {
		case strings.TrimSpace(text) == "":
		case info.Title == "":
			info.Title = strings.TrimSpace(text)
		case strings.HasPrefix(text, "    ") && last != nil:
			*last += " " + strings.TrimSpace(text)
		case isField && fields[key] != nil:
			last = fields[key]
			*last = strings.TrimSpace(value)
		default:
			return info, fmt.Errorf("head line %q is no known field", strings.TrimSpace(text))
		}
	}
	for key, value := range fields {
		if *value == "" {
			return info, fmt.Errorf("head comment has no %q", key)
		}
	}
	return info, nil
}

// checkGrades holds the grade of the head and of each row to the closed set.
func (t Table) checkGrades() error {
	if t.Grade != ByRow {
		if !slices.Contains(Grades(), t.Grade) {
			return fmt.Errorf("tables: %s: no grade %q", t.Name, t.Grade)
		}
		return nil
	}
	if !slices.Contains(t.Header, "grade") {
		return fmt.Errorf("tables: %s: graded by row without a column grade", t.Name)
	}
	for i := range t.Rows {
		if g := t.grade(i); !slices.Contains(Grades(), g) {
			return fmt.Errorf("tables: %s: row %d: no grade %q", t.Name, i+1, g)
		}
	}
	return nil
}

// text returns one cell. A column that does not exist is a programmer's mistake.
func (t Table) text(row int, column string) string {
	i := slices.Index(t.Header, column)
	if i < 0 {
		panic(fmt.Sprintf("tables: %s has no column %q", t.Name, column))
	}
	return t.Rows[row][i]
}

// number returns one cell as a number in the unit in which it is printed.
func (t Table) number(row int, column string) float64 {
	return t.parse(row, column, t.text(row, column))
}

// parse returns the number that a cell, or a part of one, is.
func (t Table) parse(row int, column, text string) float64 {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(fmt.Sprintf("tables: %s, row %d, %s: %v", t.Name, row+1, column, err))
	}
	return x
}

// si returns one cell in SI base units, by the unit at the end of the name of its
// column; 0 where the source has none.
func (t Table) si(row int, column string) float64 {
	if t.text(row, column) == "" {
		return 0
	}
	return toSI(t.number(row, column), unitOf(column))
}

// numbers returns a whole column.
func (t Table) numbers(column string) []float64 {
	x := make([]float64, len(t.Rows))
	for i := range x {
		x[i] = t.number(i, column)
	}
	return x
}

// grade returns the grade of one row.
func (t Table) grade(row int) Grade {
	if t.Grade != ByRow {
		return t.Grade
	}
	return Grade(t.text(row, "grade"))
}

// unknown is the error of a name that is not among the known ones. Known names
// that share the most words with it come first as near misses.
func unknown(what, name string, known []string) error {
	var near []string
	most := 1
	for _, k := range known {
		switch n := sharedWords(name, k); {
		case n > most:
			near, most = []string{k}, n
		case n == most:
			near = append(near, k)
		}
	}
	if len(near) > 0 && len(near) < len(known) {
		return fmt.Errorf("%w: %s %q; near: %s", ErrName, what, name, strings.Join(near, ", "))
	}
	return fmt.Errorf("%w: %s %q; known: %s", ErrName, what, name, strings.Join(known, ", "))
}

// sharedWords counts the words of a that are found in b, without regard to capitals.
func sharedWords(a, b string) int {
	n := 0
	for _, word := range strings.FieldsFunc(strings.ToLower(a), func(r rune) bool { return r == ' ' || r == '-' }) {
		if strings.Contains(strings.ToLower(b), word) {
			n++
		}
	}
	return n
}
