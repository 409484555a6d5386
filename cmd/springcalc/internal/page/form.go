package page

import (
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/tables"
)

// group is tables of the sheet that are filled in with the same tools at hand.
type group struct {
	Title, Tool string
	tables      []string
}

// groups are the sheet as people measure. Every table of it stands in one.
var groups = []group{
	{"Machine", "", []string{"machine"}},
	{"Spring", "caliper; take it out only in a safe fixture", []string{"spring", "spring.inner"}},
	{"Cylinder and piston", "caliper, depth gauge", []string{"piston", "piston.o_ring", "chamber"}},
	{"Lever", "tape measure", []string{"lever", "lever.point", "lever.pull"}},
	{"Basket and coffee", "caliper, scale, stopwatch", []string{"basket", "coffee", "coffee.known"}},
	{"Water and timing", "thermometer, stopwatch", []string{"water", "pull"}},
	{"When it was new", "papers of the machine, an old record", []string{"new"}},
	{"Measured lately", "gauge, scale, caliper; cold and without pressure", []string{"bench", "bench.load"}},
	{"Wanted of the next spring", "", []string{"wish", "space"}},
}

// formGroup, formTable and formField are the form as the page shows it.
type (
	formGroup struct {
		group
		Tables []formTable
	}
	formTable struct {
		Title string // "" for the first of a group
		Doc   string
		Shown []formField
		More  []formField // left empty so far
		Open  bool        // something of it is stated
		Table string      // where rows can be added and taken out: their table
		Row   int         // counted from 1; 0 for one that is not in the sheet
		Last  bool        // of the rows
	}
	formField struct {
		Path, Label, Help, Empty  string
		Value, Unit, Plus         string
		Choices                   []string
		Words, Number, NeedsInput bool // a text; a plain number; to be filled in
	}
)

// form lays a sheet out; what nobody has typed is shown empty.
func form(s *sheet.Sheet) (all []formGroup) {
	for _, g := range groups {
		out := formGroup{group: g}
		for i, path := range g.tables {
			t := sheet.FindTable(path)
			for n := range max(1, s.Several[path]) {
				at := path
				if s.Several[path] > 1 {
					at = sheet.Indexed(path, n+1)
				}
				f := tableFields(s, t, at)
				if i > 0 || n > 0 {
					f.Title = label(at)
				}
				if rows := s.Several[path]; t.Many() && rows > 0 {
					f.Table, f.Row, f.Last, f.Open = path, n+1, n+1 == rows, true
				}
				out.Tables = append(out.Tables, f)
			}
		}
		all = append(all, out)
	}
	return all
}

func tableFields(s *sheet.Sheet, t *sheet.Table, at string) formTable {
	f := formTable{Doc: t.Doc}
	stored := at // where the sheet keeps the only one of several
	if t.Many() && at == t.Path {
		stored = sheet.Indexed(at, 1)
	}
	otherWay := func(k sheet.Key) bool { return k.Alternative() && s.Has(stored+"."+k.Name) }
	inOtherWay := slices.ContainsFunc(t.Keys, otherWay) // what would have to be filled in is stated in another way
	for i := range t.Keys {
		k := &t.Keys[i]
		e, stated := s.Entries[stored+"."+k.Name]
		field := newField(k, at+"."+k.Name, s.Family())
		if stated {
			parts := splitTyped(e.Typed(), k.Dim)
			field.Value, field.Plus = parts.value, parts.plus
			if parts.unit != "" {
				field.Unit = parts.unit
			}
		}
		if stated || k.Required() && !inOtherWay {
			f.Shown = append(f.Shown, field)
		} else {
			f.More = append(f.More, field)
		}
		f.Open = f.Open || stated || k.Required()
	}
	return f
}

func newField(k *sheet.Key, path string, f quantity.Family) formField {
	field := formField{Path: path, Label: label(k.Name), Help: strings.ReplaceAll(k.Doc, "\n", " "), Unit: k.Dim.Unit(f), Choices: k.Choices,
		Words: k.Dim == nil, Number: k.Dim == quantity.DimNumber, NeedsInput: k.Required()}
	if d, ok := tables.DefaultFor(sheet.Unnumbered(path)); ok {
		field.Empty = textTakenAs + quantity.BriefIn(f, d.Value, d.Value, k.Dim)
		if d.Low < d.High {
			field.Empty += textInBand(quantity.BriefIn(f, d.Low, d.Value, k.Dim), quantity.BriefIn(f, d.High, d.Value, k.Dim))
		}
	}
	return field
}

// label reads a key or a path aloud: "free_length" is "Free length".
func label(name string) string {
	if named, ok := labels[sheet.Unnumbered(name)]; ok {
		if i := strings.IndexByte(name, '['); i >= 0 {
			named += " " + strings.Trim(name[i:], "[]")
		}
		return named
	}
	name = strings.ReplaceAll(name, "_", " ")
	return strings.ToUpper(name[:1]) + name[1:]
}

// typed is a value of the sheet in the parts of the form.
type typed struct {
	value string // a number, or whatever else was typed
	unit  string
	plus  string // a number in that unit, or with a unit of its own
}

var numberUnit = words.Lazy(`^([-+−]?[\d.,/ ]*\d(?:[eE][-+]?\d+)?)\s*(\D.*)?$`)

// splitTyped takes a value apart; joinTyped puts one together that reads the same.
func splitTyped(text string, dim *quantity.Dimension) typed {
	if dim == nil {
		return typed{value: text}
	}
	for _, sign := range []string{"+/-", "+-"} {
		text = strings.Replace(text, sign, "±", 1)
	}
	left, right, _ := strings.Cut(text, "±")
	value := numberUnit().FindStringSubmatch(strings.TrimSpace(left))
	if value == nil {
		return typed{value: text}
	}
	t := typed{value: value[1], unit: strings.TrimSpace(value[2])}
	right = strings.TrimSpace(right)
	if off := numberUnit().FindStringSubmatch(right); off != nil && t.unit == "" && right != "" && dim != quantity.DimNumber {
		t.unit, t.plus = strings.TrimSpace(off[2]), off[1] // "4.00 ± 0.02 mm"
		if strings.ContainsRune(t.unit, '(') {
			return typed{value: text}
		}
		return t
	}
	t.plus = right
	if rest, ok := strings.CutSuffix(right, t.unit); ok && t.unit != "" && bare(rest) {
		t.plus = strings.TrimSpace(rest)
	}
	return t
}

// joinTyped is what stands in the sheet for the parts of the form: whoever types a
// unit is taken at his word.
func joinTyped(t typed) string {
	value, plus := strings.TrimSpace(t.value), strings.TrimSpace(t.plus)
	if value == "" {
		return ""
	}
	if bare(value) && t.unit != "" {
		value += " " + t.unit
	}
	if plus == "" || strings.Contains(value, "±") {
		return value
	}
	if number := shapeWord().ReplaceAllString(plus, ""); bare(number) && t.unit != "" {
		plus = number + " " + t.unit + shapeWord().FindString(plus)
	}
	return value + " ± " + plus
}

// bare says whether a text is a number without a unit.
func bare(text string) bool {
	m := numberUnit().FindStringSubmatch(strings.TrimSpace(text))
	return m != nil && strings.TrimSpace(m[2]) == ""
}

// shapeWord says how a ± is spread.
var shapeWord = words.Lazy(`\s*\([a-z]+\)$`)
