package sheet

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/course"
)

// Visit is one visit to a machine: what was read on a day, and what was done.
type Visit struct {
	Table  string // of the sheet: "visit[3]"
	Date   Date
	Done   []Work
	Before bool // what was read was read before what was done
	Note   string
	Log    string // name of the file of a logged shot
}

// Work is one thing that was done.
type Work struct {
	Kind  course.Kind
	Thick quantity.Quantity // of a shim; 0 where not stated [m]
}

// Visits returns the visits of a sheet by date; those of one date as the sheet has them.
func (s *Sheet) Visits() []Visit {
	visits := make([]Visit, 0, s.Several[VisitTable.Path])
	for i := range s.Several[VisitTable.Path] {
		v := Visit{Table: Indexed(VisitTable.Path, i+1)}
		date, err := ParseDate(s.Text(v.Table + ".date"))
		if err != nil {
			continue // none is stated, which is a fault of the sheet
		}
		v.Date = date
		v.Done, _ = ParseDone(s.Text(v.Table + ".done"))
		v.Before = s.Text(v.Table+".read") == readBefore
		v.Note, v.Log = s.Text(v.Table+".note"), s.Text(v.Table+".log")
		visits = append(visits, v)
	}
	slices.SortStableFunc(visits, func(a, b Visit) int { return cmp.Compare(a.Date.Time(), b.Date.Time()) })
	return visits
}

// Reading returns what was read on a visit, by the name of its key.
func (s *Sheet) Reading(v *Visit, name string) (quantity.Quantity, bool) {
	return s.Quantity(v.Table + "." + name)
}

// ParseDone reads what was done: words of the list of repairs with commas
// between, a shim with its thickness: "new seals, shim 3 mm". It reads what
// FormatDone prints.
func ParseDone(text string) (done []Work, err error) {
	var faults []error
	for _, item := range strings.Split(strings.ReplaceAll(text, " and ", ","), ",") {
		if item = strings.TrimSpace(item); item == "" {
			continue
		}
		w, err := parseWork(item)
		if err != nil {
			faults = append(faults, err)
		}
		done = append(done, w)
	}
	return done, errors.Join(faults...)
}

// parseWork finds the one word of the list; what may stand beside it, "new" and the
// like, says nothing more.
func parseWork(item string) (w Work, err error) {
	found := false
	var rest []string
	for _, word := range strings.Fields(item) {
		kind, ok := workNamed(word)
		switch {
		case ok && found:
			return w, fmt.Errorf("%q: put a comma between one thing and the next", item)
		case ok:
			w.Kind, found = kind, true
		case !slices.Contains([]string{"new", "changed", "renewed", "fitted", "of"}, strings.ToLower(word)):
			rest = append(rest, word)
		}
	}
	size := strings.Join(rest, " ")
	switch {
	case !found:
		return w, fmt.Errorf("%q: want %s%s; whatever else there is to say belongs in the note", item, words.OrList(DoneWords()), words.DidYouMean(item, DoneWords()))
	case size == "":
		return w, nil
	case w.Kind != course.Shim:
		return w, fmt.Errorf("%q: say no more than %q here; whatever else there is to say belongs in the note", item, w.Kind)
	}
	if w.Thick, err = quantity.Parse(size, quantity.DimLength); err == nil {
		err = (&Key{Name: "shim", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "50 mm"}}).check(w.Thick.Value)
	}
	if err != nil {
		err = fmt.Errorf("%q: thickness of the shim: %w", item, err)
	}
	return w, err
}

// workNamed reads a word of the list, in the plural and as an activity too: "seals", "descaling".
func workNamed(word string) (course.Kind, bool) {
	word = strings.ToLower(word)
	for _, form := range []string{word, strings.TrimSuffix(word, "s"), strings.Replace(word, "ing", "ed", 1)} {
		if k, err := course.ParseKind(form); err == nil {
			return k, true
		}
	}
	return 0, false
}

// DoneWords are the words of the list of repairs.
func DoneWords() []string {
	kinds := course.Kinds()
	all := make([]string, len(kinds))
	for i, k := range kinds {
		all[i] = k.String()
	}
	return all
}

// FormatDone prints what was done: "seal, shim 3 mm".
func FormatDone(done []Work) string {
	all := make([]string, len(done))
	for i, w := range done {
		all[i] = w.Kind.String()
		if w.Thick.Value > 0 {
			all[i] += " " + quantity.Format(w.Thick, quantity.DimLength)
		}
	}
	return strings.Join(all, ", ")
}

// checkVisits wants a date and something that was read or done in every visit,
// and none before the machine was new.
func (s *Sheet) checkVisits() {
	if fresh, err := ParseDate(s.Text("new.date")); err == nil {
		if visits := s.Visits(); len(visits) > 0 && fresh.After(visits[0].Date) {
			s.FaultOf("new.date", "after the first visit, "+visits[0].Date.String())
		}
	}
	for i := range s.Several[VisitTable.Path] {
		table := Indexed(VisitTable.Path, i+1)
		s.Need(table, "date")
		s.pair(table, "gauge_reading", "gauge_true")
		if path := table + ".read"; s.Has(path) && !s.Has(table+".done") {
			s.FaultOf(path, "stated without done, which it is about")
		}
		peak, _ := s.Quantity(table + ".peak")
		if end, ok := s.Quantity(table + ".end_pressure"); ok && s.Has(table+".peak") && end.Value > peak.Value {
			s.FaultOf(table+".end_pressure", "want no more than the peak")
		}
		said := func(k Key) bool { return k.Name != "date" && s.Has(table+"."+k.Name) }
		faulty := func(f fault) bool { return strings.HasPrefix(f.Key, table+".") }
		if !slices.ContainsFunc(VisitTable.Keys, said) && !slices.ContainsFunc(s.Faults, faulty) && !s.unread[""] {
			s.Fault(s.Tables[table], table, "says nothing but its date; want what was read or done, or a note")
		}
	}
}

// pair wants two keys of a table together.
func (s *Sheet) pair(table, a, b string) {
	for _, p := range [][2]string{{a, b}, {b, a}} {
		if s.Has(table+"."+p[0]) && !s.Has(table+"."+p[1]) && !s.unread[Unnumbered(table)+"."+p[1]] {
			s.FaultOf(table+"."+p[0], "stated without "+p[1])
		}
	}
}
