package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"springcalc/profile/replace"
)

// A list of found springs has the keys of the [spring] table of the sheet as
// headings, and some more. Rows with the same text in the column "nest" are
// springs inside each other.

// listKeys are the columns that a list may have beside those of [spring].
var listKeys = []key{
	{name: "name", example: "spring 17", doc: "what the seller calls it"},
	{name: "price", dim: dimNumber, allowed: limits{from: "0", upTo: "1e9"}, example: "24.90", doc: "price"},
	{name: "nest", example: "A", doc: "the same text for springs that go inside each other"},
	{name: "solid_length", dim: dimLength, allowed: limits{from: "0 mm", upTo: "1 m"}, example: "120 mm", doc: "length with all coils touching"},
}

// listSkips are columns of [spring] that say how a machine has a spring, not what the spring is.
var listSkips = []string{"preload", "installed_length", "temperature"}

// listColumns returns all columns that a list may have.
func listColumns() []csvColumn {
	var all []csvColumn
	for _, k := range slices.Concat(listKeys, springTable.keys) {
		if !slices.Contains(listSkips, k.name) {
			all = append(all, csvColumn{key: k, known: []string{strings.ReplaceAll(k.name, "_", " ")}})
		}
	}
	return all
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
	list, bad, err := readList(path, data, o)
	if err != nil {
		return nil, err
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
func readList(name string, data []byte, o wireOptions) (list []replace.Candidate, bad []badRow, err error) {
	f, err := openCSV(name, data, listColumns())
	if err != nil {
		return nil, nil, err
	}
	f.refuseOthers()
	if err := f.err(); err != nil {
		return nil, nil, err
	}
	nests := map[string]*nestOf{}
	for f.next() {
		c, nest, err := readCandidate(f, o)
		if err != nil {
			bad = append(bad, badRow{c.Row, oneLine(err)})
		}
		if nest == "" && err == nil {
			list = append(list, c)
		} else if nest != "" {
			if nests[nest] == nil {
				nests[nest] = &nestOf{name: nest}
			}
			nests[nest].add(c, err == nil)
		}
	}
	if err := f.err(); err != nil {
		return nil, nil, err
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

// refuseOthers notes every heading that is not wanted: a misspelt column would
// silently be lost.
func (f *csvFile) refuseOthers() {
	var known []string
	for _, w := range f.want {
		known = append(known, w.name)
	}
	for j, h := range f.header {
		if !f.known[j] {
			f.faultAt(j, "unknown column %q%s; known are %s", h, didYouMean(h, known), andList(known))
		}
	}
}

// listRow is a row that has been read.
type listRow struct {
	values map[string]float64 // [SI]
	texts  map[string]string
}

func (r *listRow) has(name string) bool {
	_, ok := r.values[name]
	return ok || r.texts[name] != ""
}

func (r *listRow) value(name string) float64 { return r.values[name] }
func (r *listRow) text(name string) string   { return r.texts[name] }

// hasAny says whether one of several is stated.
func (r *listRow) hasAny(names ...string) bool { return slices.ContainsFunc(names, r.has) }

// readCandidate reads the row read last.
func readCandidate(f *csvFile, o wireOptions) (c replace.Candidate, nest string, err error) {
	if n := len(f.record); n < len(f.header) {
		f.faultAt(n-1, "%d values under %d headings", n, len(f.header))
	}
	r := listRow{map[string]float64{}, map[string]string{}}
	for i := range f.want {
		k, text := &f.want[i].key, f.cell(i)
		switch {
		case text == "":
		case k.dim != nil:
			r.values[k.name], _ = f.quantity(i)
		case len(k.choices) > 0 && !slices.Contains(k.choices, text):
			f.fault(i, "%q: want %s", text, orList(quoted(k.choices)))
		default:
			r.texts[k.name] = text
		}
	}
	c = replace.Candidate{Name: r.texts["name"], Row: f.line(), Price: r.values["price"]}
	if err := f.forgive(); err != nil {
		return c, r.texts["nest"], err
	}
	part, err := r.part(o)
	c.Parts = []replace.Part{part}
	return c, r.texts["nest"], err
}

// part is the spring of a row: by its dimensions, or by rate and lengths.
func (r *listRow) part(o wireOptions) (replace.Part, error) {
	if !r.has("wire") {
		if !r.has("rate") || !r.has("free_length") {
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
	if !r.hasAny("coil_diameter", "outside_diameter", "inside_diameter") {
		return replace.Part{}, errors.New("wire without coil_diameter, outside_diameter or inside_diameter")
	}
	if !r.hasAny("active_coils", "total_coils") {
		return replace.Part{}, errors.New("wire without active_coils or total_coils")
	}
	known, err := wireOf(r.texts["grade"])
	if err != nil {
		return replace.Part{}, errors.New(withoutPackage(err))
	}
	wire, err := wireFor(known, r.values["wire"], o)
	if err != nil {
		return replace.Part{}, errors.New(withoutPackage(err))
	}
	coil := coilOf(r)
	coil.WireMax, coil.G, coil.E, coil.Density = wire.Most, wire.G, wire.E, wire.Density
	if err := coil.Validate(); err != nil {
		return replace.Part{}, errors.New(strings.ReplaceAll(err.Error(), "spring: ", ""))
	}
	return replace.PartOf(coil, &wire), nil
}
