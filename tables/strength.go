package tables

import (
	"fmt"
	"math"
	"slices"
	"sync"
)

// Strength is the tensile strength of a wire of one diameter.
type Strength struct {
	Min    float64 // Rm, Sut: minimum tensile strength [Pa]
	Max    float64 // maximum tensile strength [Pa]; 0 if the source has none
	Table  string  // name of the table it came from
	Source string  // standard or book
	Note   string  // how the value was found and what to mind; may be empty
	Grade  Grade   // grade of evidence
}

// Strength returns the minimum tensile strength of wire of diameter d [m] from
// the best source: the list of the standard if there is one that covers d, else
// a fit A/d^m. Between the listed sizes of an ASTM standard it interpolates
// in log d, as the standards allow; in EN standards, and in ASTM ones that list
// bands, it takes the band, which ends at the next larger size. Outside every
// source it returns [ErrRange] with the range.
func (w Wire) Strength(d float64) (Strength, error) {
	all := w.Strengths(d)
	if len(all) == 0 {
		low, high := w.Sizes()
		return Strength{}, outside(w.Name+" wire, strength: diameter", d/mm, "mm", low/mm, high/mm)
	}
	return all[0], nil
}

// Strengths returns what every source says of diameter d [m], the best first:
// lists of the standard, then fits A/d^m. It is empty outside all of them.
func (w Wire) Strengths(d float64) []Strength {
	var all []Strength
	for _, s := range sources() {
		low, high := s.sizes()
		if s.wire == w.Name && d > 0 && d >= low*(1-sameSize) && d <= high*(1+sameSize) {
			all = append(all, s.at(d))
		}
	}
	return all
}

// Sizes returns the smallest and the largest diameter [m] with a strength.
func (w Wire) Sizes() (low, high float64) {
	low = math.Inf(1)
	for _, s := range sources() {
		if s.wire == w.Name {
			l, h := s.sizes()
			low, high = min(low, l), max(high, h)
		}
	}
	return low, high
}

// sameSize is the relative difference that rounding makes between two writings
// of one diameter, such as 0.250 in and 6.35 mm.
const sameSize = 1e-9

// source is what one table says of one wire: a list of sizes, or a fit.
type source interface {
	sizes() (low, high float64)
	at(d float64) Strength
}

type wireSource struct {
	wire string
	source
}

// listed is a list of strengths by size: bands, or points to interpolate.
type listed struct {
	table       Table
	rows        []listedRow
	interpolate bool
}

// listedRow holds above the size over up to and including the size to.
type listedRow struct {
	over, to float64 // [m]
	min, max float64 // [Pa]; max is 0 if there is none
	grade    Grade
}

func (l listed) sizes() (low, high float64) { return l.rows[0].over, l.rows[len(l.rows)-1].to }

func (l listed) at(d float64) Strength {
	i := slices.IndexFunc(l.rows, func(r listedRow) bool { return d <= r.to*(1+sameSize) })
	row := l.rows[i]
	s := Strength{Min: row.min, Max: row.max, Table: l.table.Name, Source: l.table.Source, Grade: row.grade}
	if d >= row.to*(1-sameSize) {
		return s
	}
	if !l.interpolate {
		s.Note = fmt.Sprintf("band over %.4g to %.4g mm", row.over/mm, row.to/mm)
		return s
	}
	before := l.rows[i-1]
	share := math.Log(d/before.to) / math.Log(row.to/before.to)
	s.Min = before.min + share*(row.min-before.min)
	s.Max = before.max + share*(row.max-before.max)
	s.Note = fmt.Sprintf("interpolated in log d between %.4g and %.4g mm", before.to/mm, row.to/mm)
	return s
}

// powerLaw is Sut = A/d^m over a range of diameters. Pieces that meet, as those of
// stainless wire do, are separate sources.
type powerLaw struct {
	table     Table
	a, m      float64 // Sut [Pa] at d = 1 mm, exponent [-]
	low, high float64 // [m]
	grade     Grade
}

func (p powerLaw) sizes() (low, high float64) { return p.low, p.high }

func (p powerLaw) at(d float64) Strength {
	return Strength{
		Min: p.a / math.Pow(d/mm, p.m), Table: p.table.Name, Source: p.table.Source, Grade: p.grade,
		Note: fmt.Sprintf("fit %.5g MPa / (d/mm)^%.4g, the pair in SI as printed (the pair in inches may be 0.2 %% off it), not a minimum of the standard", p.a/mpa, p.m),
	}
}

// sources lists every strength, for each wire the best first.
var sources = sync.OnceValue(func() []wireSource {
	point := func(table string, c columns) source { return readList(get(table), c, true) }
	band := func(table string, c columns) source { return readList(get(table), c, false) }
	ksiPoint := columns{size: "d_in", min: "min_ksi", max: "max_ksi"}
	classI := columns{size: "d_in", min: "I_min_ksi", max: "I_max_ksi"}
	classII := columns{size: "d_in", min: "II_min_ksi", max: "II_max_ksi"}
	sl := columns{size: "d_mm", min: "SL_min_MPa", max: "SL_max_MPa"}
	sm := columns{size: "d_mm", min: "SM_min_MPa", max: "SM_max_MPa"}
	sh := columns{size: "d_mm", min: "SH_min_MPa", max: "SH_max_MPa"}
	dh := readList(get("en-10270-1"), sh, false)
	dh.rows[0].over = 0.28 * mm // where en-10270-1-dh ends
	mpaBand := columns{over: "over_mm", size: "to_mm", min: "min_MPa", span: 1.15}
	list := []wireSource{
		{"A227", point("astm-a227", classI)},
		{"A227 class II", point("astm-a227", classII)},
		{"A228", point("astm-a228", ksiPoint)},
		{"A229", point("astm-a229", classI)},
		{"A229 class II", point("astm-a229", classII)},
		{"A231", point("astm-a231-metric", columns{size: "d_mm", min: "min_MPa", max: "max_MPa"})},
		{"A231", point("astm-a231-inch", ksiPoint)},
		{"A401", point("astm-a401", ksiPoint)},
		{"A313-302", band("astm-a313-302", columns{over: "over_in", size: "to_in", min: "min_ksi", max: "max_ksi"})},
		{"B159", band("astm-b159", columns{over: "over_in", size: "to_in", min: "min_ksi"})},
		{"EN 10270-1 SL", band("en-10270-1", sl)},
		{"EN 10270-1 SM", band("en-10270-1", sm)},
		{"EN 10270-1 SH", band("en-10270-1", sh)},
		{"EN 10270-1 DM", band("en-10270-1", sm)},
		{"EN 10270-1 DH", band("en-10270-1-dh", columns{size: "d_mm", min: "min_MPa", max: "max_MPa"})},
		{"EN 10270-1 DH", dh},
		{"EN 10270-3 1.4310", band("en-10270-3-1.4310-ns", mpaBand)},
		{"EN 10270-3 1.4310 HS", band("en-10270-3-1.4310-hs", mpaBand)},
		{"EN 10270-3 1.4401", band("en-10270-3-1.4401", mpaBand)},
		{"EN 10270-3 1.4568", band("en-10270-3-1.4568", columns{over: "over_mm", size: "to_mm", min: "aged_min_MPa", span: 1.15})},
	}
	for _, w := range []string{"FDC", "VDC", "FDSiCr", "VDSiCr", "VDSiCrV"} {
		c := columns{wire: w, over: "over_mm", size: "to_mm", min: "min_MPa", max: "max_MPa"}
		list = append(list, wireSource{"EN 10270-2 " + w, band("en-10270-2", c)})
	}
	for _, table := range []string{"shigley-sut", "norton-sut", "fit-17-7ph-sut"} {
		list = append(list, readLaws(table)...)
	}
	return list
})

// columns names where a list of strengths has what; empty where it has not.
type columns struct {
	wire string // only the rows of this wire
	over string // lower end of a band
	size string // listed size or upper end of a band
	min  string
	max  string
	span float64 // maximum over minimum, where the source gives only that [-]
}

// readList reads the strengths of one wire. Without a column for the lower end a
// row reaches down to the size before it.
func readList(t Table, c columns, interpolate bool) listed {
	l := listed{table: t, interpolate: interpolate}
	for i := range t.Rows {
		if c.wire != "" && t.text(i, "wire") != c.wire || t.text(i, c.min) == "" {
			continue
		}
		row := listedRow{to: t.si(i, c.size), min: t.si(i, c.min), grade: t.grade(i)}
		switch {
		case c.over != "":
			row.over = t.si(i, c.over)
		case len(l.rows) > 0:
			row.over = l.rows[len(l.rows)-1].to
		default:
			row.over = row.to
		}
		if c.max != "" {
			row.max = t.si(i, c.max)
		} else {
			row.max = row.min * c.span
		}
		l.rows = append(l.rows, row)
	}
	return l
}

// readLaws reads a table of fits A/d^m.
func readLaws(table string) []wireSource {
	t := get(table)
	var list []wireSource
	for i := range t.Rows {
		law := powerLaw{
			table: t, a: t.si(i, "A_MPa"), m: t.number(i, "m"),
			low: t.si(i, "dmin_mm"), high: t.si(i, "dmax_mm"), grade: t.grade(i),
		}
		list = append(list, wireSource{t.text(i, "wire"), law})
	}
	return list
}
