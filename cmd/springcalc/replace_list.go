package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/replace"
)

// A list of found springs has the keys of the [spring] table of the sheet as
// headings, and some more. Rows with the same text in the column "nest" are
// springs inside each other.

// listKeys are the columns that a list may have beside those of [spring].
var listKeys = []sheet.Key{
	{Name: "name", Example: "spring 17", Doc: "what the seller calls it"},
	{Name: "price", Dim: quantity.DimNumber, Allowed: sheet.Limits{From: "0", UpTo: "1e9"}, Example: "24.90", Doc: "price"},
	{Name: "nest", Example: "A", Doc: "the same text for springs that go inside each other"},
	{Name: "solid_length", Dim: quantity.DimLength, Allowed: sheet.Limits{From: "0 mm", UpTo: "1 m"}, Example: "120 mm", Doc: "length with all coils touching"},
}

// listSkips are columns of [spring] that say how a machine has a spring, not what the spring is.
var listSkips = []string{"preload", "installed_length", "temperature"}

// listColumns returns all columns that a list may have.
func listColumns() []sheet.CsvColumn {
	var all []sheet.CsvColumn
	for _, k := range slices.Concat(listKeys, sheet.SpringTable.Keys) {
		if !slices.Contains(listSkips, k.Name) {
			all = append(all, sheet.CsvColumn{Key: k, Known: []string{strings.ReplaceAll(k.Name, "_", " ")}})
		}
	}
	return all
}

// badRow is a line of a list that was left out.
type badRow struct {
	Line int
	why  string
}

// judgeList judges the springs of a file.
func judgeList(t *task, path string, o wireOptions, order replace.Order) (*choices, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	list, bad, err := readList(path, data, o)
	if err != nil {
		return nil, err
	}
	ranked, err := t.job.Rank(list, order)
	if err != nil {
		return nil, err
	}
	for _, b := range ranked.Bad {
		bad = append(bad, badRow{b.Row, sheet.OneLine(b.Err)})
	}
	slices.SortStableFunc(bad, func(a, b badRow) int { return cmp.Compare(a.Line, b.Line) })
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
func readList(name string, data []byte, o wireOptions) (list []replace.Candidate, bad []badRow, err error) {
	f, err := sheet.OpenCSV(name, data, listColumns())
	if err != nil {
		return nil, nil, err
	}
	f.RefuseOthers()
	if err := f.Err(); err != nil {
		return nil, nil, err
	}
	nests := map[string]*nestOf{}
	for f.Next() {
		c, nest, err := readCandidate(f, o)
		if err != nil {
			bad = append(bad, badRow{c.Row, sheet.OneLine(err)})
		}
		if nest == "" && err == nil {
			list = append(list, c)
		} else if nest != "" {
			if nests[nest] == nil {
				nests[nest] = &nestOf{Name: nest}
			}
			nests[nest].add(c, err == nil)
		}
	}
	if err := f.Err(); err != nil {
		return nil, nil, err
	}
	for _, n := range nests {
		if n.spoilt {
			for _, line := range n.lines {
				bad = append(bad, badRow{line, fmt.Sprintf("another spring of the nest %q was left out", n.Name)})
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
	Name   string
	whole  replace.Candidate
	lines  []int // of those that could be read
	spoilt bool  // one could not be read
}

func (n *nestOf) add(c replace.Candidate, ok bool) {
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
	n.lines = append(n.lines, c.Row)
}

// listRow is a row that has been read.
type listRow struct {
	values map[string]float64 // [SI]
	texts  map[string]string
}

func (r *listRow) Has(name string) bool {
	_, ok := r.values[name]
	return ok || r.texts[name] != ""
}

func (r *listRow) Value(name string) float64 { return r.values[name] }
func (r *listRow) Text(name string) string   { return r.texts[name] }

// hasAny says whether one of several is stated.
func (r *listRow) hasAny(names ...string) bool { return slices.ContainsFunc(names, r.Has) }

// readCandidate reads the row read last.
func readCandidate(f *sheet.CsvFile, o wireOptions) (c replace.Candidate, nest string, err error) {
	if n := len(f.Record); n < len(f.Header) {
		f.FaultAt(n-1, "%d values under %d headings", n, len(f.Header))
	}
	r := listRow{map[string]float64{}, map[string]string{}}
	for i := range f.Want {
		k, text := &f.Want[i].Key, f.Cell(i)
		switch {
		case text == "":
		case k.Dim != nil:
			r.values[k.Name], _ = f.Quantity(i)
		case len(k.Choices) > 0 && !slices.Contains(k.Choices, text):
			f.Fault(i, "%q: want %s", text, words.OrList(words.Quoted(k.Choices)))
		default:
			r.texts[k.Name] = text
		}
	}
	c = replace.Candidate{Name: r.texts["name"], Row: f.Line(), Price: r.values["price"]}
	if err := f.Forgive(); err != nil {
		return c, r.texts["nest"], err
	}
	part, err := r.part(o)
	c.Parts = []replace.Part{part}
	return c, r.texts["nest"], err
}

// part is the spring of a row: by its dimensions, or by rate and lengths.
func (r *listRow) part(o wireOptions) (replace.Part, error) {
	if !r.Has("wire") {
		if !r.Has("rate") || !r.Has("free_length") {
			return replace.Part{}, errors.New("want rate and free_length, or wire, a coil diameter, coils, ends, grade and free_length")
		}
		return replace.Part{
			Rate: r.values["rate"], Free: r.values["free_length"], Solid: r.values["solid_length"],
			Outer: r.values["outside_diameter"], Inner: r.values["inside_diameter"],
		}, nil
	}
	for _, name := range []string{"ends", "grade", "free_length"} {
		if !r.Has(name) {
			return replace.Part{}, fmt.Errorf("wire without %s", name)
		}
	}
	if r.Has("rate") || r.Has("solid_length") {
		return replace.Part{}, errors.New("keep rate and solid_length, or the dimensions that they follow from")
	}
	if !r.hasAny("coil_diameter", "outside_diameter", "inside_diameter") {
		return replace.Part{}, errors.New("wire without coil_diameter, outside_diameter or inside_diameter")
	}
	if !r.hasAny("active_coils", "total_coils") {
		return replace.Part{}, errors.New("wire without active_coils or total_coils")
	}
	known, err := machine.WireOf(r.texts["grade"])
	if err != nil {
		return replace.Part{}, errors.New(machine.WithoutPackage(err))
	}
	wire, err := wireFor(known, r.values["wire"], o)
	if err != nil {
		return replace.Part{}, errors.New(machine.WithoutPackage(err))
	}
	coil := machine.CoilOf(r)
	coil.WireMax, coil.G, coil.E, coil.Density = wire.Most, wire.G, wire.E, wire.Density
	if err := coil.Validate(); err != nil {
		return replace.Part{}, errors.New(strings.ReplaceAll(err.Error(), "spring: ", ""))
	}
	return replace.PartOf(coil, &wire), nil
}
