package sheet

import (
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/words"
)

// Edit writes overrides KEY=VALUE into a sheet, where Read only reads them
// beside it. Comments and the order of lines stay: a value is exchanged in its
// place, a new key goes below its table's head or takes the place of its line
// that is commented out, a key without a value is commented out. Where a sheet is
// written in a way that this cannot be done in, its values are printed anew and
// its comments are lost, which whole says.
func Edit(data []byte, sets []string) (edited []byte, whole bool, err error) {
	sets = slices.DeleteFunc(slices.Clone(sets), func(set string) bool { return takesNothing(data, set) })
	want, err := Parse("sheet", data, sets)
	if err != nil {
		return nil, false, err
	}
	if err := want.Faults.Err(); err != nil {
		return nil, false, err
	}
	edited = data
	for _, set := range sets {
		if edited = editOne(edited, set); edited == nil {
			break
		}
	}
	if edited != nil && sameValues(edited, want) {
		return edited, true, nil
	}
	edited = []byte(want.String())
	if !sameValues(edited, want) {
		return nil, false, fmt.Errorf("the sheet cannot be written with these values; write them into it by hand")
	}
	return edited, false, nil
}

// takesNothing says whether an override takes out a key that is not there.
func takesNothing(data []byte, set string) bool {
	key, value, ok := strings.Cut(set, "=")
	if !ok || strings.TrimSpace(value) != "" {
		return false
	}
	s, err := Parse("sheet", data, nil)
	if err != nil {
		return false
	}
	path, err := s.numbered(strings.TrimSpace(key))
	return err == nil && FindKey(path) != nil && !s.Has(path)
}

// sameValues says whether a sheet states just what another does.
func sameValues(data []byte, want *Sheet) bool {
	got, err := Parse(want.Name, data, nil)
	if err != nil || len(got.Faults) > 0 {
		return false
	}
	same := func(a, b Entry) bool { return a.Quantity == b.Quantity && a.Text == b.Text }
	return maps.EqualFunc(got.Entries, want.Entries, same)
}

// editOne writes one override; nil where it cannot.
func editOne(data []byte, set string) []byte {
	s, err := Parse("sheet", data, nil)
	if err != nil {
		return nil
	}
	key, value, _ := strings.Cut(set, "=")
	path, err := s.numbered(strings.TrimSpace(key))
	if err != nil {
		return nil
	}
	e, stated := s.Entries[path]
	lines := bytes.SplitAfter(data, []byte("\n"))
	switch k := FindKey(path); {
	case k == nil && value == "": // a whole table
		for p := range s.Entries {
			if parent, _ := SplitPath(p); parent == path {
				if data = editOne(data, p+"="); data == nil {
					return nil
				}
			}
		}
		return data
	case k == nil:
		return nil
	case stated:
		line := lines[e.At.Line-1]
		at := offsetOf(line, e.At.column)
		if !bytes.HasPrefix(line[at:], []byte(e.raw)) {
			return nil
		}
		if value == "" {
			if !loneKey(lastName(path)).Match(line) && !loneKey(Unnumbered(path)).Match(line) {
				return nil // in an inline table
			}
			lines[e.At.Line-1] = append([]byte("#"), line...)
			break
		}
		lines[e.At.Line-1] = slices.Concat(line[:at], []byte(tomlValue(k, value)), line[at+len(e.raw):])
	case value == "":
		return data
	default:
		return insert(s, lines, path, tomlValue(k, value))
	}
	return bytes.Join(lines, nil)
}

// lastName is the last name of a path.
func lastName(path string) string { _, name := SplitPath(path); return name }

// loneKey matches a line that states a key and nothing else.
func loneKey(name string) *regexp.Regexp {
	return regexp.MustCompile(`^\s*(#\s*)?` + regexp.QuoteMeta(name) + `\s*=\s*("[^"]*"|'[^']*'|[^#"'{\[]*)\s*(#.*)?\r?\n?$`)
}

// insert writes a key that a sheet does not state.
func insert(s *Sheet, lines [][]byte, path, value string) []byte {
	parent, name := SplitPath(path)
	head, ok := s.Tables[parent]
	if !ok || !headOf().Match(lines[head.Line-1]) {
		if edited := insertAbove(lines, Unnumbered(path), value); edited != nil {
			return edited
		}
	}
	if !ok {
		if n := len(lines); n > 0 && len(lines[n-1]) > 0 && !bytes.HasSuffix(lines[n-1], []byte("\n")) {
			lines[n-1] = append(lines[n-1], '\n')
		}
		t := FindTable(Unnumbered(parent))
		header := "\n" + t.header() + "\n"
		return append(bytes.Join(lines, nil), header+name+" = "+value+"\n"...)
	}
	first := head.Line // of the table's body, counted from 0
	last := first
	for last < len(lines) && !anyHeader().Match(lines[last]) {
		last++
	}
	for i := first; i < last; i++ {
		if loneKey(name).Match(lines[i]) {
			lines[i] = exchanged(lines[i], name+" = "+value)
			return bytes.Join(lines, nil)
		}
	}
	end := first // below the last line that states something
	for i := first; i < last; i++ {
		if t := bytes.TrimSpace(lines[i]); len(t) > 0 && t[0] != '#' {
			end = i + 1
		}
	}
	if end > 0 && !bytes.HasSuffix(lines[end-1], []byte("\n")) {
		lines[end-1] = append(lines[end-1], '\n')
	}
	return bytes.Join(slices.Insert(lines, end, []byte(name+" = "+value+"\n")), nil)
}

// insertAbove writes a key with its table before it where a sheet has keys so, above
// all heads: in place of its line that is empty or commented out, or else below the
// last of its table; nil where there is neither.
func insertAbove(lines [][]byte, path, value string) []byte {
	last := slices.IndexFunc(lines, anyHeader().Match)
	if last < 0 {
		last = len(lines)
	}
	parent, _ := SplitPath(path)
	sibling := regexp.MustCompile(`^\s*` + regexp.QuoteMeta(parent) + `\.\w+\s*=`)
	below := -1
	for i, line := range lines[:last] {
		if loneKey(path).Match(line) {
			lines[i] = exchanged(line, path+" = "+value)
			return bytes.Join(lines, nil)
		}
		if sibling.Match(line) {
			below = i + 1
		}
	}
	if below < 0 {
		return nil
	}
	if !bytes.HasSuffix(lines[below-1], []byte("\n")) {
		lines[below-1] = append(lines[below-1], '\n')
	}
	return bytes.Join(slices.Insert(lines, below, []byte(path+" = "+value+"\n")), nil)
}

// exchanged is a line with another statement before its comment.
func exchanged(was []byte, line string) []byte {
	if comment := bytes.IndexByte(bytes.TrimLeft(was, "# "), '#'); comment >= 0 {
		cut := was[len(was)-len(bytes.TrimLeft(was, "# "))+comment:]
		line += strings.Repeat(" ", max(1, docColumn-len([]rune(line)))) + string(bytes.TrimRight(cut, "\r\n"))
	}
	return []byte(line + "\n")
}

// anyHeader matches the head of a table, even one that is commented out: what is
// commented out below that is of no other table.
var anyHeader = words.Lazy(`^\s*#?\[`)

// tomlValue writes what was typed as a value of a sheet.
func tomlValue(k *Key, typed string) string {
	if k.Dim != nil && len(k.Choices) == 0 && plainNumber().MatchString(typed) {
		return typed
	}
	return tomlText(typed)
}

// plainNumber is what TOML and people write alike.
var plainNumber = words.Lazy(`^(0|[1-9]\d*)(\.\d+)?$`)

// offsetOf turns a column of characters, from 1, into an offset in a line.
func offsetOf(line []byte, column int) int {
	for i := range string(line) {
		if column == 1 {
			return i
		}
		column--
	}
	return len(line)
}

// EditRow puts an empty row behind those of a table that may repeat, or with n above
// 0 takes row n out. All else stays as it is; where the sheet is written in a way that
// this cannot be done in it is printed anew, which whole says, as [Edit] does.
func EditRow(data []byte, table string, n int) (edited []byte, whole bool, err error) {
	s, err := Parse("sheet", data, nil)
	if err == nil {
		err = s.Faults.Err()
	}
	if err != nil {
		return nil, false, err
	}
	t := FindTable(table)
	if t == nil || !t.many || n < 0 || n > s.Several[table] {
		return nil, false, Usef("%s: there is no such row", Indexed(table, n))
	}
	for _, from := range [][]byte{data, []byte(s.String())} {
		if edited := editRow(from, table, n); edited != nil && s.differsByRow(edited, table, n) {
			return edited, bytes.Equal(from, data), nil
		}
	}
	return nil, false, fmt.Errorf("the rows of %s cannot be changed in the way that they are written; change them in the text", table)
}

// editRow is EditRow for a sheet with a head for each row; nil for another.
func editRow(data []byte, table string, n int) []byte {
	s, err := Parse("sheet", data, nil)
	if err != nil {
		return nil
	}
	data = bytes.Clone(data)
	if len(data) > 0 && !bytes.HasSuffix(data, []byte("\n")) {
		data = append(data, '\n')
	}
	added := []byte("\n[[" + table + "]]\n")
	row := cmp.Or(n, s.Several[table])
	if row == 0 {
		return append(data, added...)
	}
	lines := bytes.SplitAfter(data, []byte("\n"))
	from := s.Tables[Indexed(table, row)].Line - 1
	if from < 0 || !headOf().Match(lines[from]) {
		return nil
	}
	to := from + 1 // below the last line of the row that states something
	for i := to; i < len(lines) && !anyHeader().Match(lines[i]); i++ {
		if text := bytes.TrimSpace(lines[i]); len(text) > 0 && text[0] != '#' {
			to = i + 1
		}
	}
	if n > 0 {
		return bytes.Join(slices.Delete(lines, from, to), nil)
	}
	if !bytes.Contains(lines[from], []byte("[[")) { // the only one so far
		lines[from] = bytes.Replace(lines[from], []byte("["+table+"]"), []byte("[["+table+"]]"), 1)
	}
	return bytes.Join(slices.Insert(lines, to, added), nil)
}

// differsByRow says whether a sheet states what s does, but for a row more or, with n
// above 0, without row n.
func (s *Sheet) differsByRow(data []byte, table string, n int) bool {
	want, rows := &Sheet{Name: s.Name, Entries: maps.Clone(s.Entries)}, s.Several[table]+1
	if n > 0 {
		rows -= 2
		for _, k := range FindTable(table).Keys {
			for i := n; i <= s.Several[table]; i++ {
				delete(want.Entries, Indexed(table, i)+"."+k.Name)
				if e, ok := s.Entries[Indexed(table, i+1)+"."+k.Name]; ok {
					want.Entries[Indexed(table, i)+"."+k.Name] = e
				}
			}
		}
	}
	got, err := Parse(s.Name, data, nil)
	return err == nil && got.Several[table] == rows && sameValues(data, want)
}
