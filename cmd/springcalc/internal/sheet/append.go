package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Value is a value to write into a sheet.
type Value struct {
	Name string // of the key: "peak"
	Text string // as typed: "7.9 bar"
	From string // what to call it in messages: "--peak"
}

// AppendVisit returns a sheet with one visit more: what it had, byte for byte, and
// a table [[visit]] behind it. It refuses a visit after today, and whatever would
// not read back as it was given.
func AppendVisit(name string, data []byte, visit []Value, today Date) ([]byte, error) {
	before, err := Read(name, data, nil)
	if err != nil {
		return nil, fmt.Errorf("nothing was written, as the sheet does not read: %w", err)
	}
	given, err := readVisit(name, visit, today)
	if err != nil {
		return nil, err
	}
	eol := "\n"
	if last := bytes.LastIndexByte(data, '\n'); last > 0 && data[last-1] == '\r' {
		eol = "\r\n"
	}
	var b bytes.Buffer
	b.Write(data)
	if len(data) > 0 && !bytes.HasSuffix(data, []byte("\n")) {
		b.WriteString(eol)
	}
	if len(data) > 0 {
		b.WriteString(eol)
	}
	b.WriteString("[[" + VisitTable.Path + "]]" + eol)
	for _, k := range VisitTable.Keys {
		for _, v := range visit {
			if v.Name == k.Name {
				b.WriteString(v.Name + " = " + tomlText(v.Text) + eol)
			}
		}
	}
	after, err := Read(name, b.Bytes(), nil)
	if err != nil {
		return nil, fmt.Errorf("nothing was written, as a [[%s]] behind this sheet would not read: %w", VisitTable.Path, err)
	}
	if err := after.isWith(before, given); err != nil {
		return nil, fmt.Errorf("%s: nothing was written, as it would not read back: %w", name, err)
	}
	return b.Bytes(), nil
}

// readVisit reads the values of one visit as a sheet of its own.
func readVisit(name string, visit []Value, today Date) (*Sheet, error) {
	s := &Sheet{Name: name, Entries: map[string]Entry{}, Several: map[string]int{VisitTable.Path: 1}}
	table := Indexed(VisitTable.Path, 1)
	for _, v := range visit {
		path := table + "." + v.Name
		e := Entry{Key: VisitTable.Key(v.Name), Shown: v.Name, At: Place{Flag: v.From}, raw: strconv.Quote(v.Text)}
		if _, twice := s.Entries[path]; twice || strings.TrimSpace(v.Text) == "" {
			s.Fault(e.At, v.Name, fmt.Sprintf("%s: want %s, once", e.raw, e.Key.wanted()))
			continue
		}
		s.Entries[path] = e // even if it is faulty: it is not missing
		s.Set(path, e, v.Text)
	}
	s.checkVisits()
	if d, err := ParseDate(s.Text(table + ".date")); err == nil && d.After(today) {
		s.FaultOf(table+".date", "after today, "+today.String())
	}
	if err := s.Faults.Err(); err != nil {
		return nil, Usef("%v", err)
	}
	return s, nil
}

// isWith says in what a sheet differs from another one with a visit more.
func (s *Sheet) isWith(before, visit *Sheet) error {
	n := before.Several[VisitTable.Path] + 1
	if s.Several[VisitTable.Path] != n || len(s.Several)-len(before.Several) > 1 || len(s.Entries) != len(before.Entries)+len(visit.Entries) {
		return fmt.Errorf("the sheet would have %d visits and %d values", s.Several[VisitTable.Path], len(s.Entries))
	}
	for path, e := range before.Entries {
		if got, ok := s.Entries[path]; !ok || !got.same(e) || got.At != e.At {
			return errors.New(e.Shown + " would change")
		}
	}
	for path, e := range visit.Entries {
		_, name := SplitPath(path)
		if got, ok := s.Entries[Indexed(VisitTable.Path, n)+"."+name]; !ok || !got.same(e) {
			return fmt.Errorf("%s: %s would change", e.At.Flag, e.raw)
		}
	}
	return nil
}

// same says whether two entries have one value.
func (e Entry) same(other Entry) bool { return e.Text == other.Text && e.Quantity == other.Quantity }
