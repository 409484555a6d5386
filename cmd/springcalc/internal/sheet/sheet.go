// Package sheet reads what a person writes: the machine sheet, with every key in
// one table of tables (key, dimension, range, example, help), and lists and logs
// as CSV. Every value in it is possible by itself and has its place; what is
// wrong is said all at once. It knows no physics and no defaults of its own.
package sheet

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
)

// Sheet is a machine sheet that has been read: every value in it is possible by
// itself and has its place. What is missing or contradicts itself is for
// rules.go to find.
type Sheet struct {
	Name    string
	Entries map[string]Entry   // by path; a table that may repeat has its number, "pull[1].preinfusion"
	Tables  map[string]Place   // headers, by path
	Several map[string]int     // how many of a table that may repeat
	Typed   map[string]float64 // values of the file that an override replaces [SI]
	empty   map[string]Place   // keys left at "", which says nothing
	unread  map[string]bool    // keys on lines that could not be read; "" for a line of anything
	Faults  Faults
	more    bool // there are more faults than are told
}

// Entry is one value of a sheet.
type Entry struct {
	Key      *Key
	Shown    string            // path as the sheet has it, for messages
	At       Place             // of the value
	raw      string            // the value as written
	typed    string            // the same without its quotes
	Quantity quantity.Quantity // of all but text
	Text     string            // of text
}

// Read reads a sheet and the overrides KEY=VALUE of --set, and checks that
// it describes a whole machine. It returns an error of type faults that lists
// all that is wrong.
func Read(name string, data []byte, sets []string) (*Sheet, error) {
	s, err := Parse(name, data, sets)
	if err != nil {
		return nil, err
	}
	s.checkRules()
	if err := s.Err(); err != nil {
		return nil, err
	}
	return s, nil
}

// Err returns the faults in order, or nil where there are none.
func (s *Sheet) Err() error {
	err := s.Faults.Err()
	switch {
	case err == nil:
		return nil
	case s.more:
		return append(slices.Clone(s.Faults), fault{file: s.Name, Text: "and more: reading stopped there"})
	case s.Faults.ofFlags():
		return flagFaults{s.Faults}
	}
	return err
}

// Parse reads a sheet as readSheet does, without a look at what is missing or
// contradicts itself. It keeps faults in the sheet; its error is one of wrong use.
func Parse(name string, data []byte, sets []string) (*Sheet, error) {
	s := &Sheet{
		Name: name, Entries: map[string]Entry{}, Tables: map[string]Place{}, Several: map[string]int{}, Typed: map[string]float64{},
		empty: map[string]Place{}, unread: map[string]bool{},
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if at, why := noSheet(data); why != "" {
		s.unread[""] = true
		s.Fault(at, "", why)
		return s, nil
	}
	l := locate(data)
	if len(l.strange) >= mostSheetFaults { // it would take long to decode
		for _, path := range l.strange {
			s.Fault(l.spots[path].Key, path, unknownKey(path))
		}
		s.unread[""], s.more = true, true
		return s, nil
	}
	tree, data := s.decode(data)
	if len(s.Faults) > 0 { // lines were blanked out
		l = locate(data)
	}
	r := sheetReader{Sheet: s, spots: l.spots}
	r.walk(tree, "", "", 1)
	for _, set := range sets {
		if err := s.override(set); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// largest is how many bytes a sheet has at most: a thousand visits are 200 kB.
const largest = 1 << 20

// noSheet says where and why a file is no sheet, without reading it; "" where it may be one.
func noSheet(data []byte) (Place, string) {
	if len(data) > largest {
		return Place{Line: 1, column: 1}, fmt.Sprintf("%d bytes; a sheet has %d at most", len(data), largest)
	}
	if at, text := notText(data); text != "" {
		return at, text + "; save it as UTF-8"
	}
	if at := tooDeep(data); at >= 0 {
		return placeAt(data, at), fmt.Sprintf("brackets more than %d deep; a sheet has none so deep", mostBrackets)
	}
	return Place{}, ""
}

// mostBrackets is how deep brackets may stand in each other.
const mostBrackets = 32

// tooDeep returns the offset of the bracket that goes too deep; -1 for none.
// Brackets in quotes and behind # do not count.
func tooDeep(data []byte) int {
	depth, quote := 0, byte(0)
	for i := 0; i < len(data); i++ {
		switch c := data[i]; {
		case quote != 0 && c == '\\' && quote == '"':
			i++
		case c == '\n' || c == quote && c != '#':
			quote = 0
		case quote != 0:
		case c == '"' || c == '\'' || c == '#':
			quote = c
		case c == '[' || c == '{':
			if depth++; depth > mostBrackets {
				return i
			}
		case (c == ']' || c == '}') && depth > 0:
			depth--
		}
	}
	return -1
}

// decode parses TOML. A line with a fault of syntax is noted, blanked out and
// left behind, so that the faults after it are found in the same run.
func (s *Sheet) decode(data []byte) (map[string]any, []byte) {
	const most = 20 // lines; a file with more is no sheet
	data = bytes.Clone(data)
	for range most {
		var tree map[string]any
		err := toml.Unmarshal(data, &tree)
		if err == nil {
			return tree, data
		}
		var decode *toml.DecodeError
		if !errors.As(err, &decode) {
			s.unread[""] = true
			s.Fault(Place{}, "", err.Error())
			break
		}
		row, column := decode.Position()
		line := lineOf(data, row)
		at := placeAt(line, column-1)
		at.Line = row
		s.syntaxFault(at, data, string(line), strings.TrimPrefix(err.Error(), "toml: "))
		if len(bytes.TrimSpace(line)) == 0 {
			break // nothing to blank out: what is wrong began above
		}
		for i := range line {
			line[i] = ' '
		}
	}
	return nil, nil
}

// fromLine returns data from a line on, counted from 1.
func fromLine(data []byte, row int) []byte {
	for ; row > 1; row-- {
		i := bytes.IndexByte(data, '\n')
		if i < 0 {
			return nil
		}
		data = data[i+1:]
	}
	return data
}

// lineOf returns a line of data, counted from 1, without its end.
func lineOf(data []byte, row int) []byte {
	data = fromLine(data, row)
	if i := bytes.IndexByte(data, '\n'); i >= 0 {
		data = data[:i]
	}
	return bytes.TrimSuffix(data, []byte("\r"))
}

var (
	keyLine    = words.Lazy(`^\s*([\w.-]+)\s*=\s*(.*)`)
	bareValue  = words.Lazy(`^[^"'\[{#\s][^#"']*`)
	headerLine = words.Lazy(`(?m)^\s*\[\[?\s*([\w.-]+)`)
)

// syntaxFault notes a fault of syntax; most are a quantity without its quotes.
func (s *Sheet) syntaxFault(at Place, data []byte, line, message string) {
	m := keyLine().FindStringSubmatch(line)
	if m == nil {
		s.unread[""] = true
		s.Fault(at, "", message)
		return
	}
	path := m[1]
	before := bytes.Join(bytes.SplitN(data, []byte("\n"), at.Line)[:at.Line-1], []byte("\n"))
	if headers := headerLine().FindAllSubmatch(before, -1); headers != nil {
		path = string(headers[len(headers)-1][1]) + "." + path
	}
	s.unread[path] = true
	if bare := strings.TrimSpace(bareValue().FindString(m[2])); bare != "" && !strings.Contains(message, "already defined") {
		message = fmt.Sprintf("%s: write it in quotes: %s = %q", bare, m[1], bare)
		at.column = placeAt([]byte(line), len(line)-len(m[2])).column
	}
	s.Fault(at, path, message)
}

// sheetReader turns decoded TOML into entries.
type sheetReader struct {
	*Sheet
	spots map[string]spot
}

// walk reads a table, in the order of the file, until there are too many faults.
// Its path in the sheet numbers [[tables]] only; the path of its entries numbers
// every table that may repeat.
func (r *sheetReader) walk(node map[string]any, shown, path string, depth int) {
	where := make(map[string]Place, len(node))
	names := slices.SortedFunc(maps.Keys(node), strings.Compare)
	for _, name := range names {
		where[name] = r.spots[joinPath(shown, name)].Key
	}
	slices.SortStableFunc(names, func(a, b string) int {
		return cmp.Or(cmp.Compare(where[a].Line, where[b].Line), cmp.Compare(where[a].column, where[b].column))
	})
	for _, name := range names {
		if r.more {
			return
		}
		shown, path := joinPath(shown, name), joinPath(path, name)
		if t := FindTable(Unnumbered(path)); t != nil && depth < deepest {
			r.table(t, node[name], shown, path, depth+1)
			continue
		}
		r.leaf(node[name], shown, path)
	}
}

// table reads what stands where a table should.
func (r *sheetReader) table(t *Table, value any, shown, path string, depth int) {
	header := r.spots[shown].Key
	switch v := value.(type) {
	case map[string]any:
		if t.many {
			r.Several[path] = 1
			path = Indexed(path, 1)
		}
		r.Tables[path] = header
		r.walk(v, shown, path, depth)
	case []any:
		if !t.many {
			r.Fault(header, shown, fmt.Sprintf("there is one [%s] table, not several", t.Path))
			return
		}
		most := cmp.Or(t.most, usualTables)
		if n := len(v); n > most {
			r.Fault(r.spots[Indexed(shown, most+1)].Key, shown, fmt.Sprintf("want at most %d [[%s]] tables, there are %d", most, t.Path, n))
			v = v[:most]
		}
		for i, one := range v {
			m, ok := one.(map[string]any)
			if !ok {
				r.Fault(header, shown, fmt.Sprintf("is a table: write [%s] and its keys below", t.Path))
				continue
			}
			r.Several[path] = i + 1
			r.Tables[Indexed(path, i+1)] = r.spots[Indexed(shown, i+1)].Key
			r.walk(m, Indexed(shown, i+1), Indexed(path, i+1), depth)
		}
	default:
		r.Fault(header, shown, fmt.Sprintf("is a table: write [%s] and its keys below", t.Path))
	}
}

// leaf reads what stands where a value should.
func (r *sheetReader) leaf(value any, shown, path string) {
	at := r.spots[shown]
	k := FindKey(path)
	if k == nil {
		r.Fault(at.Key, shown, unknownKey(path))
		return
	}
	e := Entry{Key: k, Shown: shown, At: at.Value, raw: at.raw}
	r.Entries[path] = e // even if it is faulty: it is not missing
	switch v := value.(type) {
	case string:
		if strings.TrimSpace(v) == "" {
			delete(r.Entries, path)
			r.empty[path] = e.At
			return
		}
		r.Set(path, e, v)
	case int64, float64:
		if k.Dim != quantity.DimNumber && k.Form == nil { // a year is a date
			r.Fault(e.At, shown, k.bare(at.raw))
			return
		}
		r.Set(path, e, at.raw)
	case bool:
		if k.Words == nil {
			r.Fault(e.At, shown, at.raw+": want "+k.wanted())
			return
		}
		r.Set(path, e, at.raw)
	case toml.LocalDate:
		if k.Dim != nil {
			r.Fault(e.At, shown, fmt.Sprintf("%s: want %s", at.raw, k.wanted()))
			return
		}
		r.Set(path, e, v.String())
	case map[string]any, []any:
		r.Fault(e.At, shown, "want "+k.wanted())
	default:
		r.Fault(e.At, shown, at.raw+": want "+k.wanted())
	}
}

// Set reads the text of a value and keeps it if it is possible.
func (s *Sheet) Set(path string, e Entry, text string) {
	k := e.Key
	e.typed = strings.TrimSpace(text)
	if k.Dim == nil {
		e.Text = e.typed
		if len(k.Choices) > 0 {
			choice, ok := k.Choose(e.typed)
			if !ok {
				s.Fault(e.At, e.Shown, fmt.Sprintf("%q: want %s", text, words.OrList(words.Quoted(k.Choices))))
				return
			}
			e.Text = choice
		}
		if k.Form != nil {
			if err := k.Form.Check(e.Text); err != nil {
				s.Fault(e.At, e.Shown, strings.ReplaceAll(err.Error(), "\n", "; "))
				return
			}
		}
		s.Entries[path] = e
		return
	}
	q, err := quantity.Parse(text, k.Dim)
	if err == nil {
		if err = k.Within(q); err != nil {
			err = fmt.Errorf("%w%s", err, k.hint(text))
		}
	}
	if err != nil {
		s.Fault(e.At, e.Shown, fmt.Sprintf("%q: %v", text, err))
		return
	}
	e.Quantity = q
	s.Entries[path] = e
}

// bare words a number without the unit that it needs.
func (k *Key) bare(raw string) string {
	if k.Dim == nil || strings.Trim(raw, "+-naif") == "" { // TOML has nan and inf
		return fmt.Sprintf("%s: want %s", raw, k.wanted())
	}
	return fmt.Sprintf(`%s has no unit; write it as "%s %s"`, raw, raw, k.Dim.Units[0])
}

// wanted says what a key takes, with an example.
func (k *Key) wanted() string {
	switch {
	case len(k.Choices) > 0:
		return words.OrList(words.Quoted(k.Choices))
	case k.Form != nil:
		return fmt.Sprintf("%s, such as %q", k.Form.Name, k.Example)
	case k.Dim == nil:
		return fmt.Sprintf("text, such as %q", k.Example)
	case k.Dim == quantity.DimNumber:
		return "a number, such as " + k.Example
	}
	return fmt.Sprintf("%s, such as %q", k.Dim.Name, k.Example)
}

// replaced are keys of old sheets, with what took their place.
var replaced = map[string]string{
	"coffee.transient_size":  "no longer in use; coffee.blocking took its place, the share of the pores that undissolved coffee blocks at first: another number, so leave it out or state it anew",
	"coffee.transient_decay": "no longer in use; coffee.blocking_decay took its place, the cup mass over dose in which the blocking falls to 37 %: another number, so leave it out or state it anew",
}

// UnknownKey says what could have been meant by a key that there is not.
func UnknownKey(path string) string { return unknownKey(path) }

// unknownKey says what could have been meant.
func unknownKey(path string) string {
	if now, ok := replaced[Unnumbered(path)]; ok {
		return now
	}
	parent, name := SplitPath(path)
	t := FindTable(Unnumbered(parent))
	if t == nil {
		tables := make([]string, len(Schema))
		for i := range Schema {
			tables[i] = Schema[i].Path
			if Schema[i].Key(name) != nil && parent == "" {
				return fmt.Sprintf("unknown key outside a table; it belongs under [%s]", Schema[i].Path)
			}
		}
		if hint := words.DidYouMean(Unnumbered(cmp.Or(parent, path)), tables); hint != "" {
			return "unknown table" + hint
		}
		return "unknown table; known are " + words.AndList(tables)
	}
	for _, other := range Schema {
		if words.Nearest(name, t.names()) == "" && other.Key(name) != nil {
			return fmt.Sprintf("unknown key; it belongs under [%s]", other.Path)
		}
	}
	if hint := words.DidYouMean(name, t.names()); hint != "" {
		return "unknown key" + hint
	}
	return fmt.Sprintf("unknown key; [%s] takes %s", t.Path, words.AndList(t.names()))
}

// override applies one KEY=VALUE. An empty value takes the key, or a whole
// table, out of the sheet. A flag that stands for a key may stand before it,
// "--peak: wish.peak=9 bar"; it may also take out what the sheet may not have.
func (s *Sheet) override(set string) error {
	flag, rest, named := strings.Cut(set, ": ")
	if named = named && strings.HasPrefix(flag, "--"); named {
		set = rest
	}
	name, value, ok := strings.Cut(set, "=")
	name = strings.TrimSpace(name)
	if !ok || name == "" {
		return Usef("--set %q: want KEY=VALUE, such as coffee.dose=\"18 g\"", set)
	}
	at := Place{Flag: "--set " + name}
	if q := strconv.Quote(name); q != `"`+name+`"` {
		at.Flag = "--set " + q // what a terminal would not show
	}
	if named {
		at.Flag = flag
	}
	path, err := s.numbered(name)
	if err != nil {
		s.Fault(at, name, err.Error())
		return nil
	}
	k := FindKey(path)
	switch {
	case k == nil && value == "" && FindTable(Unnumbered(path)) != nil:
		if !s.states(path) {
			s.Fault(at, name, "not in the sheet, so there is nothing to take out")
			break
		}
		within := func(p string) bool { return strings.HasPrefix(p, path+".") || strings.HasPrefix(p, path+"[") }
		maps.DeleteFunc(s.Entries, func(p string, _ Entry) bool { return within(p) })
		maps.DeleteFunc(s.Several, func(p string, _ int) bool { return p == path || within(p) })
		s.Forget(name)
	case k == nil:
		s.Fault(at, name, unknownKey(path))
	case value == "" && !named && !s.states(path):
		s.Fault(at, name, "not in the sheet, so there is nothing to take out")
	case value == "":
		s.Forget(cmp.Or(s.Entries[path].Shown, name))
		delete(s.Entries, path)
	default:
		if old, ok := s.Entries[path]; ok && old.At.Flag == "" {
			s.Typed[path] = old.Quantity.Value
		}
		s.Forget(cmp.Or(s.Entries[path].Shown, name))
		e := Entry{Key: k, Shown: name, At: at, raw: strconv.Quote(value)}
		s.Entries[path] = e // even if it is faulty: it is not missing
		s.Set(path, e, value)
	}
	return nil
}

// states says whether the sheet has a key or table, if only a faulty or empty one.
func (s *Sheet) states(path string) bool {
	within := func(p string) bool {
		return p == path || strings.HasPrefix(p, path+".") || strings.HasPrefix(p, path+"[")
	}
	for p := range s.Entries {
		if within(p) {
			return true
		}
	}
	for p := range s.Several {
		if within(p) {
			return true
		}
	}
	_, header := s.Tables[path]
	_, empty := s.empty[path]
	return header || empty || slices.ContainsFunc(s.Faults, func(f fault) bool { return within(f.Key) })
}

// Forget drops the faults of a key that an override replaces.
func (s *Sheet) Forget(name string) {
	s.Faults = slices.DeleteFunc(s.Faults, func(f fault) bool {
		return f.Key == name || strings.HasPrefix(f.Key, name+".")
	})
}

// numbered gives the table of a key its number where it may repeat: "pull.x"
// is "pull[1].x" where there is one pull.
func (s *Sheet) numbered(name string) (string, error) {
	parent, last := SplitPath(name)
	t := FindTable(Unnumbered(parent))
	if t != nil && !t.many && parent != t.Path {
		return "", fmt.Errorf("there is one [%s]; write %s.%s", t.Path, t.Path, last)
	}
	if t == nil || !t.many {
		return name, nil
	}
	n := max(1, s.Several[t.Path])
	if parent == t.Path {
		if n > 1 {
			return "", fmt.Errorf("there are %d; say which, as in %s.%s", n, Indexed(t.Path, 1), last)
		}
		parent = Indexed(t.Path, 1)
	}
	for i := range n {
		if parent == Indexed(t.Path, i+1) {
			s.Several[t.Path] = n
			return parent + "." + last, nil
		}
	}
	return "", fmt.Errorf("there is no %s; counted from 1, the sheet has %d", parent, n)
}

// mostSheetFaults are told at once; reading ends there.
const mostSheetFaults = 20

// Fault notes what is wrong with a key.
func (s *Sheet) Fault(at Place, key, text string) {
	if len(s.Faults) >= mostSheetFaults {
		s.more = true
		return
	}
	s.Faults = append(s.Faults, fault{file: s.Name, At: at, Key: shortened(key), Text: shortened(text)})
}

// shortened leaves the middle of a long text out.
func shortened(text string) string {
	const most, head, tail = 600, 200, 200
	if len(text) <= most {
		return text
	}
	return strings.ToValidUTF8(text[:head], "") + " … " + strings.ToValidUTF8(text[len(text)-tail:], "")
}

// FaultOf notes what is wrong with a key: at its value where the sheet states
// it, else it is a default that does not go with the rest.
func (s *Sheet) FaultOf(path, text string) {
	e, ok := s.Entries[path]
	if !ok {
		s.Fault(Place{}, path, text)
		return
	}
	if e.raw != "" {
		text = e.raw + ": " + text
	}
	s.Fault(e.At, e.Shown, text)
}

// Has says whether the sheet states a key.
func (s *Sheet) Has(path string) bool { _, ok := s.Entries[path]; return ok }

// HasTable says whether the sheet states any key of a table.
func (s *Sheet) HasTable(path string) bool {
	table := path + "."
	for p := range s.Entries {
		if strings.HasPrefix(p, table) {
			return true
		}
	}
	return false
}

// Text returns the text of a key, "" where the sheet has none.
func (s *Sheet) Text(path string) string { return s.Entries[path].Text }

// Quantity returns the quantity of a key.
func (s *Sheet) Quantity(path string) (quantity.Quantity, bool) {
	e, ok := s.Entries[path]
	return e.Quantity, ok
}

// FindKey returns the key of a path.
func FindKey(path string) *Key {
	parent, name := SplitPath(path)
	if t := FindTable(Unnumbered(parent)); t != nil {
		return t.Key(name)
	}
	return nil
}

// SplitPath cuts the last name off a path.
func SplitPath(path string) (parent, name string) {
	if i := strings.LastIndexByte(path, '.'); i >= 0 {
		return path[:i], path[i+1:]
	}
	return "", path
}

// Unnumbered takes the numbers of repeated tables out of a path.
func Unnumbered(path string) string {
	open := strings.IndexByte(path, '[')
	if open < 0 {
		return path
	}
	digits := strings.TrimLeft(path[open+1:], "0123456789")
	if n := len(path) - len(digits); n == open+1 || digits == "" || digits[0] != ']' {
		return path[:open+1] + Unnumbered(path[open+1:])
	}
	return path[:open] + Unnumbered(digits[1:])
}
