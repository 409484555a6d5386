package main

import (
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"springcalc/profile/replace"
	"springcalc/spring"
)

// A list of found springs is a CSV file with a head line. Its columns are found
// by their names, which are those of the [spring] table of the sheet, and may
// name a unit: "rate [N/mm]". Cells may carry a unit of their own. Rows with
// the same text in the column "nest" are springs inside each other.

// listColumns are the columns that a list may have beside those of [spring].
var listColumns = []key{
	{name: "name", example: "spring 17", doc: "what the seller calls it"},
	{name: "price", dim: dimNumber, allowed: limits{from: "0", upTo: "1e9"}, example: "24.90", doc: "price"},
	{name: "nest", example: "A", doc: "the same text for springs that go inside each other"},
	{name: "solid_length", dim: dimLength, allowed: limits{from: "0 mm", upTo: "1 m"}, example: "120 mm", doc: "length with all coils touching"},
}

// listSkips are columns of [spring] that say how a machine has a spring, not what the spring is.
var listSkips = []string{"preload", "installed_length", "temperature"}

// listColumn is a column of a list as its head line has it.
type listColumn struct {
	key  *key
	unit string // of its cells; "" where they carry their own
}

// columnKey returns the key of a column; there must be one.
func columnKey(name string) *key {
	for i := range listColumns {
		if listColumns[i].name == name {
			return &listColumns[i]
		}
	}
	return springTable.key(name)
}

// badRow is a line of a list that was left out.
type badRow struct {
	line int
	why  string
}

// oneLine is an error on one line, without the names of packages.
func oneLine(err error) string {
	return strings.NewReplacer("\n", "; ", "replace: ", "", "spring: ", "", "tables: ", "").Replace(err.Error())
}

// judgeList judges the springs of a file.
func judgeList(t *task, path string, o wireOptions, order replace.Order) (*choices, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	list, bad, err := readList(data, o)
	if err != nil {
		return nil, fmt.Errorf("%s:%w", filepath.Base(path), err)
	}
	ranked, err := t.job.Rank(list, order)
	if err != nil {
		return nil, err
	}
	for _, b := range ranked.Bad {
		bad = append(bad, badRow{b.Row, oneLine(b.Err)})
	}
	slices.SortStableFunc(bad, func(a, b badRow) int { return cmp.Compare(a.line, b.line) })
	c := &choices{listed: true, best: ranked.Fitting, misses: ranked.Missing, fitting: len(ranked.Fitting), bad: bad, order: order}
	c.tried = len(ranked.Fitting) + len(ranked.Missing)
	c.blocked = make([]int, len(replace.Constraints()))
	for i := range ranked.Missing {
		c.blocked[ranked.Missing[i].Verdict.Blocked()[0]]++
	}
	return c, nil
}

// readList reads a list of springs. Rows that cannot be read, or are no
// springs, are left out and named, each with its line.
func readList(data []byte, o wireOptions) (list []replace.Candidate, bad []badRow, err error) {
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma, r.Comment, r.TrimLeadingSpace, r.FieldsPerRecord = separator(data), '#', true, -1
	head, err := r.Read()
	if err == io.EOF {
		return nil, nil, errors.New("1: an empty list; want a head line such as name,rate [N/mm],free_length [mm]")
	}
	if err != nil {
		return nil, nil, fmt.Errorf("1: %w", err)
	}
	columns, err := readHead(head)
	if err != nil {
		return nil, nil, err
	}
	nests := map[string]*nestOf{}
	for {
		cells, err := r.Read()
		if err == io.EOF {
			break
		}
		var parse *csv.ParseError
		if errors.As(err, &parse) {
			bad = append(bad, badRow{parse.StartLine, parse.Err.Error()})
			continue
		}
		if err != nil {
			return nil, nil, err
		}
		line, _ := r.FieldPos(0)
		if r.Comma != ',' {
			decimalCommas(columns, cells)
		}
		c, nest, err := readCandidate(columns, cells, line, o)
		if err != nil {
			bad = append(bad, badRow{line, oneLine(err)})
		}
		if nest == "" && err == nil {
			list = append(list, c)
		} else if nest != "" {
			if nests[nest] == nil {
				nests[nest] = &nestOf{name: nest}
			}
			nests[nest].add(c, line, err == nil)
		}
	}
	for _, n := range nests {
		if n.spoilt {
			for _, line := range n.lines {
				bad = append(bad, badRow{line, fmt.Sprintf("another spring of the nest %q was left out", n.name)})
			}
			continue
		}
		list = append(list, n.whole)
	}
	slices.SortFunc(list, func(a, b replace.Candidate) int { return cmp.Compare(a.Row, b.Row) })
	return list, bad, nil
}

// nestOf gathers the springs of a nest.
type nestOf struct {
	name   string
	whole  replace.Candidate
	lines  []int // of those that could be read
	spoilt bool  // one could not be read
}

func (n *nestOf) add(c replace.Candidate, line int, ok bool) {
	switch {
	case !ok:
		n.spoilt = true
		return
	case n.lines == nil:
		n.whole = c
	default:
		n.whole.Parts = append(n.whole.Parts, c.Parts...)
		n.whole.Price += c.Price
	}
	n.lines = append(n.lines, line)
}

// readHead finds the columns. A name that it does not know is an error: a
// misspelt column would silently be lost.
func readHead(head []string) ([]listColumn, error) {
	var known []string
	for i := range listColumns {
		known = append(known, listColumns[i].name)
	}
	for _, name := range springTable.names() {
		if !slices.Contains(listSkips, name) {
			known = append(known, name)
		}
	}
	columns := make([]listColumn, len(head))
	seen := map[string]bool{}
	for i, text := range head {
		k, unit := columnOf(text, known)
		if k == nil {
			return nil, fmt.Errorf("1: unknown column %q%s; known are %s", text, didYouMean(text, known), andList(known))
		}
		if seen[k.name] {
			return nil, fmt.Errorf("1: column %q twice", k.name)
		}
		seen[k.name] = true
		if unit != "" {
			if k.dim == dimNumber {
				return nil, fmt.Errorf("1: column %q has no unit", k.name)
			}
			if _, err := parseQuantity("1 "+unit, k.dim); err != nil {
				return nil, fmt.Errorf("1: column %q: %w", k.name, err)
			}
		}
		columns[i] = listColumn{k, unit}
	}
	return columns, nil
}

// columnOf returns the key of a heading, and the unit in it.
func columnOf(heading string, known []string) (*key, string) {
	for _, name := range known {
		k := columnKey(name)
		if plain, unit := splitHeading(heading, k.dim); strings.ReplaceAll(plain, " ", "_") == name {
			return k, unit
		}
	}
	return nil, ""
}

// decimalCommas puts points in place of decimal commas, in cells of numbers.
func decimalCommas(columns []listColumn, cells []string) {
	for i := range min(len(columns), len(cells)) {
		if columns[i].key.dim != nil && strings.Count(cells[i], ",") == 1 && !strings.Contains(cells[i], ".") {
			cells[i] = strings.Replace(cells[i], ",", ".", 1)
		}
	}
}

// listRow is a row that has been read.
type listRow struct {
	values map[string]float64 // [SI]
	texts  map[string]string
}

func (r *listRow) has(names ...string) bool {
	for _, name := range names {
		_, value := r.values[name]
		if !value && r.texts[name] == "" {
			return false
		}
	}
	return true
}

// readCandidate reads one row.
func readCandidate(columns []listColumn, cells []string, line int, o wireOptions) (c replace.Candidate, nest string, err error) {
	r := listRow{map[string]float64{}, map[string]string{}}
	var faults []error
	if len(cells) != len(columns) {
		faults = append(faults, fmt.Errorf("%d cells, want %d", len(cells), len(columns)))
	}
	for i, text := range cells[:min(len(cells), len(columns))] {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		if err := r.read(columns[i], text); err != nil {
			faults = append(faults, fmt.Errorf("%s: %q: %w", columns[i].key.name, text, err))
		}
	}
	nest = r.texts["nest"]
	if len(faults) > 0 {
		return c, nest, errors.Join(faults...)
	}
	part, err := r.part(o)
	if err != nil {
		return c, nest, err
	}
	c = replace.Candidate{Name: r.texts["name"], Row: line, Price: r.values["price"], Parts: []replace.Part{part}}
	return c, nest, nil
}

// read keeps the value of a cell.
func (r *listRow) read(c listColumn, text string) error {
	if c.key.dim == nil {
		if len(c.key.choices) > 0 && !slices.Contains(c.key.choices, text) {
			return fmt.Errorf("want %s", orList(quoted(c.key.choices)))
		}
		r.texts[c.key.name] = text
		return nil
	}
	if _, unit, err := scanNumber(tidy(text)); err == nil && unit == "" && c.unit != "" {
		text += " " + c.unit
	}
	q, err := parseQuantity(text, c.key.dim)
	if err == nil {
		err = c.key.check(q.Value)
	}
	r.values[c.key.name] = q.Value
	return err
}

// part is the spring of a row: by its dimensions, or by rate and lengths.
func (r *listRow) part(o wireOptions) (replace.Part, error) {
	if !r.has("wire") {
		if !r.has("rate", "free_length") {
			return replace.Part{}, errors.New("want rate and free_length, or wire, a coil diameter, coils, ends, grade and free_length")
		}
		return replace.Part{
			Rate: r.values["rate"], Free: r.values["free_length"], Solid: r.values["solid_length"],
			Outer: r.values["outside_diameter"], Inner: r.values["inside_diameter"],
		}, nil
	}
	for _, name := range []string{"ends", "grade", "free_length"} {
		if !r.has(name) {
			return replace.Part{}, fmt.Errorf("wire without %s", name)
		}
	}
	if r.has("rate") || r.has("solid_length") {
		return replace.Part{}, errors.New("keep rate and solid_length, or the dimensions that they follow from")
	}
	known, err := wireOf(r.texts["grade"])
	if err != nil {
		return replace.Part{}, errors.New(withoutPackage(err))
	}
	wire, err := wireFor(known, r.values["wire"], o)
	if err != nil {
		return replace.Part{}, errors.New(withoutPackage(err))
	}
	coil := spring.Compression{
		Wire: wire.Diameter, WireMax: wire.Most, Free: r.values["free_length"],
		Ends: endsByName[r.texts["ends"]], Convention: spring.US, G: wire.G, E: wire.E, Density: wire.Density,
	}
	if coil.Mean, err = r.mean(); err != nil {
		return replace.Part{}, err
	}
	dead, _ := coil.Convention.DeadCoils(coil.Ends)
	switch {
	case r.has("active_coils", "total_coils"):
		coil.Active, coil.Total = r.values["active_coils"], r.values["total_coils"]
	case r.has("active_coils"):
		coil.Active, coil.Total = r.values["active_coils"], r.values["active_coils"]+dead
	case r.has("total_coils"):
		coil.Active, coil.Total = r.values["total_coils"]-dead, r.values["total_coils"]
	default:
		return replace.Part{}, errors.New("wire without active_coils or total_coils")
	}
	if err := coil.Validate(); err != nil {
		return replace.Part{}, errors.New(strings.ReplaceAll(err.Error(), "spring: ", ""))
	}
	return replace.PartOf(coil, &wire), nil
}

// mean is the mean coil diameter, by the one diameter that is stated.
func (r *listRow) mean() (float64, error) {
	wire := r.values["wire"]
	switch {
	case r.has("coil_diameter"):
		return r.values["coil_diameter"], nil
	case r.has("outside_diameter"):
		return r.values["outside_diameter"] - wire, nil
	case r.has("inside_diameter"):
		return r.values["inside_diameter"] + wire, nil
	}
	return 0, errors.New("wire without coil_diameter, outside_diameter or inside_diameter")
}
