package sheet

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/spring"
)

// SoldSpring is a line of a list of springs, as it was stated.
type SoldSpring struct {
	Name   string  // what the seller calls it
	Line   int     // of the list
	Price  float64 // [currency of the list]; 0 where none is stated
	Nest   string  // springs that go inside each other have the same; "" for one by itself
	values map[string]float64
	texts  map[string]string
}

// Has says whether a column of the list states something of the spring.
func (s *SoldSpring) Has(name string) bool {
	_, ok := s.values[name]
	return ok || s.texts[name] != ""
}

// Value is what a column states [SI]; 0 where it states nothing.
func (s *SoldSpring) Value(name string) float64 { return s.values[name] }

// Text is what a column of words states; "" where it states nothing.
func (s *SoldSpring) Text(name string) string { return s.texts[name] }

// HasAny says whether one of several is stated.
func (s *SoldSpring) HasAny(names ...string) bool { return slices.ContainsFunc(names, s.Has) }

// Loads are the loads at lengths that the list states, F1 at L1 and so on.
func (s *SoldSpring) Loads() (all []spring.Point) {
	for _, at := range loadNames {
		if s.Has("load_" + at) {
			all = append(all, spring.Point{Length: s.Value("length_" + at), Load: s.Value("load_" + at)})
		}
	}
	return all
}

// loadNames number the loads of a list.
var loadNames = []string{"1", "2", "n"}

// LeftOut is a line of a list that could not be taken.
type LeftOut struct {
	Line int
	Why  string
	Nest string // that it would have belonged to
}

// SpringList is a list of springs that somebody sells or has.
type SpringList struct {
	Springs []SoldSpring
	LeftOut []LeftOut
}

// A list of springs has the keys of the [spring] table of the sheet as headings,
// and some more, or what makers print over their lists.

// Keys of a list beside those of [spring].
var springListKeys = []Key{
	{Name: "name", Example: "spring 17", Doc: "what the seller calls it"},
	{Name: "price", Dim: quantity.DimNumber, Allowed: Limits{From: "0", UpTo: "1e9"}, Example: "24.90", Doc: "price"},
	{Name: "nest", Example: "A", Doc: "the same text for springs that go inside each other"},
	{Name: "solid_length", Dim: quantity.DimLength, Allowed: Limits{From: "0 mm", UpTo: "1 m"}, Example: "120 mm", Doc: "length with all coils touching"},
	{Name: "load_1", Dim: quantity.DimForce, Allowed: Limits{Above: "0 N", UpTo: "100 kN"}, Example: "900 N", Doc: "load at length_1"},
	{Name: "length_1", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "1 m"}, Example: "150 mm", Doc: "length under load_1"},
	{Name: "load_2", Dim: quantity.DimForce, Allowed: Limits{Above: "0 N", UpTo: "100 kN"}, Example: "1500 N", Doc: "load at length_2"},
	{Name: "length_2", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "1 m"}, Example: "130 mm", Doc: "length under load_2"},
	{Name: "load_n", Dim: quantity.DimForce, Allowed: Limits{Above: "0 N", UpTo: "100 kN"}, Example: "1800 N", Doc: "greatest load, at length_n"},
	{Name: "length_n", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "1 m"}, Example: "120 mm", Doc: "shortest length in use"},
	{Name: "load_tolerance", Dim: quantity.DimRatio, Allowed: Limits{From: "0 %", UpTo: "50 %"}, Example: "10 %", Doc: "what the maker grants himself of loads and rate"},
	{Name: "preset", Choices: []string{"yes", "no"}, Words: yesWords, Example: "yes", Doc: "pressed solid by the maker until it sets no further"},
	{Name: "peened", Choices: []string{"yes", "no"}, Words: yesWords, Example: "no", Doc: "shot peened"},
}

// springListSkips are keys of [spring] that say how a machine has a spring, not
// what the spring is, or what a certificate says of one wire.
var springListSkips = []string{"preload", "installed_length", "shim", "temperature", "tensile_strength", "allowable_stress", "allowable_factor"}

// printedHeads are the headings that makers print, by key, as [CsvColumn].Known.
var printedHeads = map[string][]string{
	"name": {"=No", "=No.", "part no", "part no.", "part number", "article", "article no", "order no", "order no.", "code", "item",
		"designation", "stock no", "stock no.", "stock number", "catalog number", "catalogue number", "spring"},
	"price":            {"unit price", "price each", "each"},
	"wire":             {"=d", "wire diameter", "wire dia", "wire dia.", "wire size"},
	"coil_diameter":    {"=D", "=Dm", "mean diameter", "mean coil diameter"},
	"outside_diameter": {"=De", "=Do", "=Da", "=OD", "o.d.", "outer diameter", "outside dia", "outside dia."},
	"inside_diameter":  {"=Di", "=ID", "i.d.", "inner diameter", "inside dia", "inside dia."},
	"active_coils":     {"=n", "=na", "=Na", "number of active coils"},
	"total_coils":      {"=nt", "=Nt", "=N", "number of coils", "total number of coils", "coils"},
	"free_length":      {"=L0", "=Lf", "=FL", "=l0", "=lf", "free len", "length free"},
	"solid_length":     {"=Lc", "=Ls", "=Lb", "=lc", "=ls", "solid height", "block length"},
	"rate":             {"=R", "=k", "=K", "=c", "spring rate", "spring constant", "stiffness"},
	"load_1":           {"=F1", "=P1", "load 1"},
	"length_1":         {"=L1", "length 1"},
	"load_2":           {"=F2", "=P2", "load 2"},
	"length_2":         {"=L2", "length 2"},
	"load_n":           {"=Fn", "max load", "maximum load", "load at ln"},
	"length_n":         {"=Ln", "length at fn", "length at max load"},
	"grade":            {"material", "wire grade"},
	"ends":             {"end type", "ends type", "type of ends"},
}

// SpringVerdicts are the headings of a ranking that say what was found out about
// a spring in a machine, not what it is: a list may have them, and they are not read.
var SpringVerdicts = []string{"place", "line", "rest", "cocked", "peak", "end", "flow time", "yield", "effort", "weakest", "weakest of", "binding", "least margin"}

// isVerdict says whether a heading is one of these, or a margin of a limit.
func isVerdict(heading string) bool {
	plain := strings.ReplaceAll(strings.ToLower(strings.TrimSpace(heading)), "_", " ")
	for _, dim := range []*quantity.Dimension{quantity.DimRatio, quantity.DimForce, quantity.DimPressure, quantity.DimTime, quantity.DimMass} {
		raw, _ := cutUnit(heading, dim)
		raw = strings.ReplaceAll(strings.ToLower(strings.TrimSuffix(raw, "_percent")), "_", " ")
		if slices.Contains(SpringVerdicts, raw) || strings.HasSuffix(raw, " margin") || strings.HasSuffix(raw, " margin low") || strings.HasSuffix(raw, " margin high") {
			return true
		}
	}
	return slices.Contains(SpringVerdicts, plain)
}

// springListColumns are all columns that a list may have.
func springListColumns() []CsvColumn {
	var all []CsvColumn
	for _, k := range slices.Concat(springListKeys, SpringTable.Keys) {
		if slices.Contains(springListSkips, k.Name) {
			continue
		}
		heads := append([]string{k.Name, strings.ReplaceAll(k.Name, "_", " ")}, printedHeads[k.Name]...)
		all = append(all, CsvColumn{Key: k, Known: heads})
	}
	return all
}

// ReadSprings reads a list of springs with usual headings.
func ReadSprings(name string, data []byte) (*SpringList, error) {
	return new(Reading).Springs(name, data)
}

// Springs reads a list of springs. Lines that cannot be read are left out and
// named.
func (r *Reading) Springs(name string, data []byte) (*SpringList, error) {
	f, err := OpenCSV(name, data, springListColumns(), r)
	if err != nil {
		return nil, err
	}
	for j, h := range f.Header {
		f.Known[j] = f.Known[j] || isVerdict(h)
	}
	f.refuseMisspelt()
	if !slices.Contains(f.Known, true) {
		f.FaultAt(0, "no column of a spring; found %s", strings.Join(words.Quoted(f.Header), ", "))
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	f.nameOthers()
	f.most = mostSprings
	list := &SpringList{}
	for f.Next() {
		s, err := f.spring()
		if err == nil {
			list.Springs = append(list.Springs, s)
			continue
		}
		if list.LeftOut = append(list.LeftOut, LeftOut{Line: s.Line, Why: OneLine(err), Nest: s.Nest}); len(list.LeftOut) > mostLeftOut {
			return nil, fmt.Errorf("%s: more than %d lines are no springs; the first is line %d: %s", name, mostLeftOut, list.LeftOut[0].Line, list.LeftOut[0].Why)
		}
	}
	return list, f.Err()
}

const (
	mostSprings = 100_000 // springs of a list
	mostLeftOut = 1000    // lines of it that cannot be taken
)

// spring reads the row read last.
func (f *CsvFile) spring() (SoldSpring, error) {
	if n := len(f.Record); n < len(f.Header) {
		f.FaultAt(n-1, "%d values under %d headings", n, len(f.Header))
	}
	s := SoldSpring{Line: f.Line(), values: map[string]float64{}, texts: map[string]string{}}
	for i := range f.Want {
		k, text := &f.Want[i].Key, f.Cell(i)
		switch {
		case text == "":
		case k.Dim != nil:
			q, _ := f.Quantity(i)
			s.values[k.Name] = q.Value
			if q.Plus > 0 {
				f.note("what the list says with ± of the %s is not used: a spring is judged by what load_tolerance or --quality grants", strings.ReplaceAll(k.Name, "_", " "))
			}
		case len(k.Choices) > 0:
			choice, ok := k.Choose(text)
			if !ok {
				f.Fault(i, "%q: want %s", text, words.OrList(words.Quoted(k.Choices)))
			}
			s.texts[k.Name] = choice
		default:
			s.texts[k.Name] = text
		}
	}
	s.Name, s.Price, s.Nest = s.Text("name"), s.Value("price"), s.Text("nest")
	for _, at := range loadNames {
		load, length := s.Has("load_"+at), s.Has("length_"+at)
		if load != length && len(f.Faults) == 0 {
			return s, fmt.Errorf("a load without its length, or a length without its load: want load_%s and length_%s", at, at)
		}
	}
	err := f.Forgive()
	if err == nil && len(s.values) == 0 {
		err = errors.New("nothing is stated of it")
	}
	return s, err
}
