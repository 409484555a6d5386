package sheet

// This file alone uses go-toml's unstable package, which is outside its promise
// of compatibility.

import (
	"bytes"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"
)

// Place is where something stands in a sheet. Columns count characters.
type Place struct {
	Line, column int    // from 1; 0 where it is not in the file
	Flag         string // the flag that said it, instead
}

// spot is where a key stands, and what was written as its value.
type spot struct {
	Key, Value Place
	raw        string
}

// locate finds the spots of all keys and tables of a TOML document, by path:
// "spring.rate", "pull[2].preinfusion", and those that no sheet has. It ends where
// the document does not parse, or where there are too many of these.
func locate(data []byte) *locator {
	l := locator{data: data, spots: map[string]spot{}, count: map[string]int{}, starts: []int{0}}
	for i, b := range data {
		if b == '\n' {
			l.starts = append(l.starts, i+1)
		}
	}
	l.parser.Reset(data)
	prefix := ""
	for len(l.strange) < mostSheetFaults && l.parser.NextExpression() {
		switch e := l.parser.Expression(); e.Kind {
		case unstable.Table:
			prefix = l.Header(e, false)
		case unstable.ArrayTable:
			prefix = l.Header(e, true)
		case unstable.KeyValue:
			l.keyValue(prefix, e)
		}
	}
	return &l
}

type locator struct {
	parser unstable.Parser
	data   []byte
	spots  map[string]spot
	count  map[string]int // of [[tables]] so far
	starts []int          // offsets of the lines: a sheet with a thousand tables is read too

	strange []string // paths that no sheet has, in the order of the file; of a table only itself
}

// deepest is how many names a path of a sheet has at most; what goes deeper is no
// sheet, and is neither located nor read.
const deepest = 6

// Header notes a [table] or [[table]] and returns its path.
func (l *locator) Header(e *unstable.Node, many bool) string {
	path, depth := "", 0
	var at Place
	for it := e.Key(); it.Next(); {
		if depth++; depth > deepest {
			break
		}
		at = l.place(it.Node().Raw)
		path = joinPath(path, string(it.Node().Data))
		if it.IsLast() && many {
			l.count[path]++
		}
		l.note(path, spot{Key: at, Value: at})
		if n := l.count[path]; n > 0 {
			path = Indexed(path, n)
			l.note(path, spot{Key: at, Value: at})
		}
	}
	return path
}

// keyValue notes a key and, where its value is an inline table, what is in it.
func (l *locator) keyValue(prefix string, e *unstable.Node) {
	path, depth := prefix, strings.Count(prefix, ".")
	var at Place
	for it := e.Key(); it.Next(); {
		if depth++; depth > deepest {
			return
		}
		at = l.place(it.Node().Raw)
		path = joinPath(path, string(it.Node().Data))
		l.note(path, spot{Key: at, Value: at})
	}
	l.Value(path, at, e.Value())
}

func (l *locator) Value(path string, key Place, v *unstable.Node) {
	s := spot{Key: key, Value: key}
	if v.Raw.Length > 0 {
		s.Value, s.raw = l.place(v.Raw), string(l.parser.Raw(v.Raw))
	}
	l.spots[path] = s
	if strings.Count(path, "[") > deepest {
		return
	}
	n := 0
	for it := v.Children(); it.Next() && len(l.strange) < mostSheetFaults; {
		switch {
		case v.Kind == unstable.InlineTable && it.Node().Kind == unstable.KeyValue:
			l.keyValue(path, it.Node())
		case v.Kind == unstable.Array && it.Node().Kind != unstable.Comment:
			n++
			l.Value(Indexed(path, n), s.Value, it.Node())
		}
	}
}

// note keeps the first spot of a path.
func (l *locator) note(path string, s spot) {
	if _, ok := l.spots[path]; ok {
		return
	}
	l.spots[path] = s
	plain := Unnumbered(path)
	if FindKey(plain) != nil || FindTable(plain) != nil || slices.ContainsFunc(l.strange, func(of string) bool { return strings.HasPrefix(path, of+".") }) {
		return
	}
	l.strange = append(l.strange, path)
}

func (l *locator) place(r unstable.Range) Place {
	offset := min(int(r.Offset), len(l.data))
	line := sort.SearchInts(l.starts, offset+1)
	from := l.starts[line-1]
	if offset-from > longestLine { // what is so far to the right is no sheet
		return Place{Line: line, column: offset - from + 1}
	}
	return Place{Line: line, column: utf8.RuneCount(l.data[from:offset]) + 1}
}

// longestLine is how many bytes of a line are counted in characters.
const longestLine = 10_000

// placeAt turns an offset in bytes into line and column in characters.
func placeAt(data []byte, offset int) Place {
	before := data[:min(offset, len(data))]
	start := bytes.LastIndexByte(before, '\n') + 1
	return Place{Line: bytes.Count(before, []byte{'\n'}) + 1, column: utf8.RuneCount(before[start:]) + 1}
}

// joinPath appends a key to a path; a key that would look like a path itself is quoted.
func joinPath(path, name string) string {
	if name == "" || strings.ContainsAny(name, ".[]\"'= \t\n") {
		name = fmt.Sprintf("%q", name)
	}
	if path == "" {
		return name
	}
	return path + "." + name
}

// Indexed is the path of the nth table of several, counted from 1.
func Indexed(path string, n int) string { return path + "[" + strconv.Itoa(n) + "]" }
