package main

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// sheet is a machine sheet that has been read: every value in it is possible by
// itself and has its place. What is missing or contradicts itself is for
// rules.go to find.
type sheet struct {
	name    string
	entries map[string]entry // by path; a table that may repeat has its number, "pull[1].preinfusion"
	tables  map[string]place // headers, by path
	several map[string]int   // how many of a table that may repeat
	empty   map[string]place // keys left at "", which says nothing
	unread  map[string]bool  // keys on lines that could not be read; "" for a line of anything
	faults  faults
}

// entry is one value of a sheet.
type entry struct {
	key      *key
	shown    string   // path as the sheet has it, for messages
	at       place    // of the value
	raw      string   // the value as written
	quantity quantity // of all but text
	text     string   // of text
}

// readSheet reads a sheet and the overrides KEY=VALUE of --set, and checks that
// it describes a whole machine. It returns an error of type faults that lists
// all that is wrong.
func readSheet(name string, data []byte, sets []string) (*sheet, error) {
	s, err := parseSheet(name, data, sets)
	if err != nil {
		return nil, err
	}
	s.checkRules()
	if err := s.faults.err(); err != nil {
		return nil, err
	}
	return s, nil
}

// parseSheet reads a sheet as readSheet does, without a look at what is missing or
// contradicts itself. It keeps faults in the sheet; its error is one of wrong use.
func parseSheet(name string, data []byte, sets []string) (*sheet, error) {
	s := &sheet{
		name: name, entries: map[string]entry{}, tables: map[string]place{}, several: map[string]int{},
		empty: map[string]place{}, unread: map[string]bool{},
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	tree, data := s.decode(data)
	r := sheetReader{sheet: s, spots: locate(data)}
	r.walk(tree, "", "")
	for _, set := range sets {
		if err := s.override(set); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// decode parses TOML. A line with a fault of syntax is noted, blanked out and
// left behind, so that the faults after it are found in the same run.
func (s *sheet) decode(data []byte) (map[string]any, []byte) {
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
			s.fault(place{}, "", err.Error())
			break
		}
		row, column := decode.Position()
		line := lineOf(data, row)
		at := placeAt(line, column-1)
		at.line = row
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

// lineOf returns a line of data, counted from 1, without its end.
func lineOf(data []byte, row int) []byte {
	for ; row > 1; row-- {
		i := bytes.IndexByte(data, '\n')
		if i < 0 {
			return nil
		}
		data = data[i+1:]
	}
	if i := bytes.IndexByte(data, '\n'); i >= 0 {
		data = data[:i]
	}
	return bytes.TrimSuffix(data, []byte("\r"))
}

var (
	keyLine    = regexp.MustCompile(`^\s*([\w.-]+)\s*=\s*(.*)`)
	bareValue  = regexp.MustCompile(`^[^"'\[{#\s][^#"']*`)
	headerLine = regexp.MustCompile(`(?m)^\s*\[\[?\s*([\w.-]+)`)
)

// syntaxFault notes a fault of syntax; most are a quantity without its quotes.
func (s *sheet) syntaxFault(at place, data []byte, line, message string) {
	m := keyLine.FindStringSubmatch(line)
	if m == nil {
		s.unread[""] = true
		s.fault(at, "", message)
		return
	}
	path := m[1]
	before := bytes.Join(bytes.SplitN(data, []byte("\n"), at.line)[:at.line-1], []byte("\n"))
	if headers := headerLine.FindAllSubmatch(before, -1); headers != nil {
		path = string(headers[len(headers)-1][1]) + "." + path
	}
	s.unread[path] = true
	if bare := strings.TrimSpace(bareValue.FindString(m[2])); bare != "" && !strings.Contains(message, "already defined") {
		message = fmt.Sprintf("%s: write it in quotes: %s = %q", bare, m[1], bare)
		at.column = placeAt([]byte(line), len(line)-len(m[2])).column
	}
	s.fault(at, path, message)
}

// sheetReader turns decoded TOML into entries.
type sheetReader struct {
	*sheet
	spots map[string]spot
}

// walk reads a table. Its path in the sheet numbers [[tables]] only; the path
// of its entries numbers every table that may repeat.
func (r *sheetReader) walk(node map[string]any, shown, path string) {
	for _, name := range slices.Sorted(maps.Keys(node)) {
		shown, path := joinPath(shown, name), joinPath(path, name)
		if t := findTable(unnumbered(path)); t != nil {
			r.table(t, node[name], shown, path)
			continue
		}
		r.leaf(node[name], shown, path)
	}
}

// table reads what stands where a table should.
func (r *sheetReader) table(t *table, value any, shown, path string) {
	header := r.spots[shown].key
	switch v := value.(type) {
	case map[string]any:
		if t.many {
			r.several[path] = 1
			path = indexed(path, 1)
		}
		r.tables[path] = header
		r.walk(v, shown, path)
	case []any:
		if !t.many {
			r.fault(header, shown, fmt.Sprintf("there is one [%s] table, not several", t.path))
			return
		}
		for i, one := range v {
			m, ok := one.(map[string]any)
			if !ok {
				r.fault(header, shown, fmt.Sprintf("is a table: write [%s] and its keys below", t.path))
				continue
			}
			r.several[path] = i + 1
			r.tables[indexed(path, i+1)] = r.spots[indexed(shown, i+1)].key
			r.walk(m, indexed(shown, i+1), indexed(path, i+1))
		}
	default:
		r.fault(header, shown, fmt.Sprintf("is a table: write [%s] and its keys below", t.path))
	}
}

// leaf reads what stands where a value should.
func (r *sheetReader) leaf(value any, shown, path string) {
	at := r.spots[shown]
	k := findKey(path)
	if k == nil {
		r.fault(at.key, shown, unknownKey(path))
		return
	}
	e := entry{key: k, shown: shown, at: at.value, raw: at.raw}
	r.entries[path] = e // even if it is faulty: it is not missing
	switch v := value.(type) {
	case string:
		if strings.TrimSpace(v) == "" {
			delete(r.entries, path)
			r.empty[path] = e.at
			return
		}
		r.set(path, e, v)
	case int64, float64:
		if k.dim != dimNumber {
			r.fault(e.at, shown, k.bare(at.raw))
			return
		}
		r.set(path, e, at.raw)
	case toml.LocalDate:
		if k.dim != nil {
			r.fault(e.at, shown, fmt.Sprintf("%s: want %s", at.raw, k.wanted()))
			return
		}
		r.set(path, e, v.String())
	case map[string]any, []any:
		r.fault(e.at, shown, "want "+k.wanted())
	default:
		r.fault(e.at, shown, at.raw+": want "+k.wanted())
	}
}

// set reads the text of a value and keeps it if it is possible.
func (s *sheet) set(path string, e entry, text string) {
	k := e.key
	if k.dim == nil {
		e.text = strings.TrimSpace(text)
		if len(k.choices) > 0 && !slices.Contains(k.choices, e.text) {
			s.fault(e.at, e.shown, fmt.Sprintf("%q: want %s", text, orList(quoted(k.choices))))
			return
		}
		s.entries[path] = e
		return
	}
	q, err := parseQuantity(text, k.dim)
	if err == nil {
		err = k.check(q.Value)
	}
	if err == nil && q.Plus >= q.Value && q.Value > 0 && k.check(0) != nil {
		err = errors.New("the ± reaches down to nothing; want less than the value")
	}
	if err != nil {
		s.fault(e.at, e.shown, fmt.Sprintf("%q: %v", text, err))
		return
	}
	e.quantity = q
	s.entries[path] = e
}

// bare words a number without the unit that it needs.
func (k *key) bare(raw string) string {
	if k.dim == nil || strings.Trim(raw, "+-naif") == "" { // TOML has nan and inf
		return fmt.Sprintf("%s: want %s", raw, k.wanted())
	}
	return fmt.Sprintf(`%s has no unit; write it as "%s %s"`, raw, raw, k.dim.units[0])
}

// wanted says what a key takes, with an example.
func (k *key) wanted() string {
	switch {
	case len(k.choices) > 0:
		return orList(quoted(k.choices))
	case k.dim == nil:
		return fmt.Sprintf("text, such as %q", k.example)
	case k.dim == dimNumber:
		return "a number, such as " + k.example
	}
	return fmt.Sprintf("%s, such as %q", k.dim.name, k.example)
}

// unknownKey says what could have been meant.
func unknownKey(path string) string {
	parent, name := splitPath(path)
	t := findTable(unnumbered(parent))
	if t == nil {
		tables := make([]string, len(schema))
		for i := range schema {
			tables[i] = schema[i].path
			if schema[i].key(name) != nil && parent == "" {
				return fmt.Sprintf("unknown key outside a table; it belongs under [%s]", schema[i].path)
			}
		}
		if hint := didYouMean(unnumbered(cmp.Or(parent, path)), tables); hint != "" {
			return "unknown table" + hint
		}
		return "unknown table; known are " + andList(tables)
	}
	for _, other := range schema {
		if nearest(name, t.names()) == "" && other.key(name) != nil {
			return fmt.Sprintf("unknown key; it belongs under [%s]", other.path)
		}
	}
	if hint := didYouMean(name, t.names()); hint != "" {
		return "unknown key" + hint
	}
	return fmt.Sprintf("unknown key; [%s] takes %s", t.path, andList(t.names()))
}

func didYouMean(word string, candidates []string) string {
	if n := nearest(word, candidates); n != "" {
		return fmt.Sprintf(" (did you mean %q?)", n)
	}
	return ""
}

// override applies one KEY=VALUE. An empty value takes the key, or a whole
// table, out of the sheet.
func (s *sheet) override(set string) error {
	name, value, ok := strings.Cut(set, "=")
	name = strings.TrimSpace(name)
	if !ok || name == "" {
		return usef("--set %q: want KEY=VALUE, such as coffee.dose=\"18 g\"", set)
	}
	at := place{flag: "--set " + name}
	if q := strconv.Quote(name); q != `"`+name+`"` {
		at.flag = "--set " + q // what a terminal would not show
	}
	path, err := s.numbered(name)
	if err != nil {
		s.fault(at, name, err.Error())
		return nil
	}
	k := findKey(path)
	switch {
	case k == nil && value == "" && findTable(unnumbered(path)) != nil:
		within := func(p string) bool { return strings.HasPrefix(p, path+".") || strings.HasPrefix(p, path+"[") }
		maps.DeleteFunc(s.entries, func(p string, _ entry) bool { return within(p) })
		maps.DeleteFunc(s.several, func(p string, _ int) bool { return p == path || within(p) })
		s.forget(name)
	case k == nil:
		s.fault(at, name, unknownKey(path))
	case value == "":
		s.forget(cmp.Or(s.entries[path].shown, name))
		delete(s.entries, path)
	default:
		s.forget(cmp.Or(s.entries[path].shown, name))
		e := entry{key: k, shown: name, at: at, raw: strconv.Quote(value)}
		s.entries[path] = e // even if it is faulty: it is not missing
		s.set(path, e, value)
	}
	return nil
}

// forget drops the faults of a key that an override replaces.
func (s *sheet) forget(name string) {
	s.faults = slices.DeleteFunc(s.faults, func(f fault) bool {
		return f.key == name || strings.HasPrefix(f.key, name+".")
	})
}

// numbered gives the table of a key its number where it may repeat: "pull.x"
// is "pull[1].x" where there is one pull.
func (s *sheet) numbered(name string) (string, error) {
	parent, last := splitPath(name)
	t := findTable(unnumbered(parent))
	if t == nil || !t.many {
		return name, nil
	}
	n := max(1, s.several[t.path])
	if parent == t.path {
		if n > 1 {
			return "", fmt.Errorf("there are %d; say which, as in %s.%s", n, indexed(t.path, 1), last)
		}
		parent = indexed(t.path, 1)
	}
	for i := range n {
		if parent == indexed(t.path, i+1) {
			s.several[t.path] = n
			return parent + "." + last, nil
		}
	}
	return "", fmt.Errorf("there is no %s; counted from 1, the sheet has %d", parent, n)
}

// fault notes what is wrong with a key.
func (s *sheet) fault(at place, key, text string) {
	s.faults = append(s.faults, fault{file: s.name, at: at, key: key, text: text})
}

// faultOf notes what is wrong with a key: at its value where the sheet states
// it, else it is a default that does not go with the rest.
func (s *sheet) faultOf(path, text string) {
	e, ok := s.entries[path]
	if !ok {
		s.fault(place{}, path, text)
		return
	}
	if e.raw != "" {
		text = e.raw + ": " + text
	}
	s.fault(e.at, e.shown, text)
}

// has says whether the sheet states a key.
func (s *sheet) has(path string) bool { _, ok := s.entries[path]; return ok }

// hasTable says whether the sheet states any key of a table.
func (s *sheet) hasTable(path string) bool {
	table := path + "."
	for p := range s.entries {
		if strings.HasPrefix(p, table) {
			return true
		}
	}
	return false
}

// text returns the text of a key, "" where the sheet has none.
func (s *sheet) text(path string) string { return s.entries[path].text }

// quantity returns the quantity of a key.
func (s *sheet) quantity(path string) (quantity, bool) {
	e, ok := s.entries[path]
	return e.quantity, ok
}

// findKey returns the key of a path.
func findKey(path string) *key {
	parent, name := splitPath(path)
	if t := findTable(unnumbered(parent)); t != nil {
		return t.key(name)
	}
	return nil
}

// splitPath cuts the last name off a path.
func splitPath(path string) (parent, name string) {
	if i := strings.LastIndexByte(path, '.'); i >= 0 {
		return path[:i], path[i+1:]
	}
	return "", path
}

var tableNumber = regexp.MustCompile(`\[\d+\]`)

// unnumbered takes the numbers of repeated tables out of a path.
func unnumbered(path string) string {
	if !strings.Contains(path, "[") {
		return path
	}
	return tableNumber.ReplaceAllString(path, "")
}

// quoted puts words in quotes.
func quoted(words []string) []string {
	q := make([]string, len(words))
	for i, w := range words {
		q[i] = fmt.Sprintf("%q", w)
	}
	return q
}
