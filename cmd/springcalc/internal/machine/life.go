package machine

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/course"
)

// Life is what visits, and a list of peaks, tell of the peak of a machine over
// the years, made ready to be weighed.
type Life struct {
	course.Life
	AsOf   sheet.Date
	Points []Point       // all peaks that were read, by date
	Works  []WorkDone    // by date; of two without a peak between them one was made
	Visits []sheet.Visit // up to the date, by date
	Fresh  float64       // peak of the machine as new, by new.peak or by a reading of a spring less than a month old [Pa]; 0 where neither tells
	Late   []string      // dates of what was read after the date, and left out
	Notes  []string      // what was done with the readings
	Doubts []string      // what may be wrong with them
}

// Point is a peak that was read.
type Point struct {
	Date    sheet.Date
	Time    float64 // since the year 0; after work of the same day by an hour [s]
	Value   float64 // as the gauge showed it [Pa]
	U       float64 // standard uncertainty as stated; 0 where none is [Pa]
	Reading int     // place in Readings; -1 where it is not weighed
	Visit   string  // its table in the sheet; "" where it is of a list, or of [new]
}

// WorkDone is work that may have changed the peak.
type WorkDone struct {
	Date  sheet.Date
	Time  float64 // since the year 0 [s]
	Kinds []course.Kind
	What  string // "seal, shim 3 mm"
}

const (
	mostWeighed = 100  // readings: the time to weigh them grows as the square of their number
	mostWorks   = 12   // that the laws take
	between     = 3600 // from work to the reading of the same day, or from the one to the other [s]
	bedded      = 30 * 86400.0
)

// event is a point or work, in order of time.
type event struct {
	point *Point
	work  *WorkDone
}

func (e event) time() *float64 {
	if e.point != nil {
		return &e.point.Time
	}
	return &e.work.Time
}

// Life joins the visits of a machine up to a date, and a list of peaks that may
// stand beside them, into the course of its peak. The date is that of today, or
// an earlier one.
func (m *Machine) Life(asOf sheet.Date, peaks []sheet.Peak) (*Life, error) {
	l := &Life{AsOf: asOf, Visits: m.VisitsUntil(asOf)}
	for _, v := range m.Visits() {
		if v.Date.After(asOf) {
			l.Late = append(l.Late, v.Date.String())
		}
	}
	l.put(m.events(l, peaks))
	if len(l.Points) == 0 {
		return l, nil
	}
	m.born(l)
	l.limit()
	for _, p := range l.Points {
		if p.Reading >= 0 {
			l.Readings = append(l.Readings, course.Reading{Time: p.Time, Value: p.Value, U: p.U})
		}
	}
	for _, w := range l.Works {
		kind := w.Kinds[0]
		if slices.Contains(w.Kinds, course.Spring) {
			kind = course.Spring // it alone starts the log-time law anew
		}
		l.Repairs = append(l.Repairs, course.Repair{Time: w.Time, Kind: kind, What: w.What})
	}
	return l, l.Validate()
}

// events are what was read and done up to the date, in order of time.
func (m *Machine) events(l *Life, peaks []sheet.Peak) (events []event) {
	latest := l.AsOf.Time()
	at := func(d sheet.Date) float64 { return min(d.Time(), latest) } // of a year that is not over, what is over
	if date, err := sheet.ParseDate(m.Text("new.date")); err == nil {
		q, ok := m.Quantity("new.peak")
		listed := slices.ContainsFunc(peaks, func(p sheet.Peak) bool { return p.Date.Overlaps(date) && !p.Date.After(l.AsOf) })
		visited := len(l.Visits) > 0 && l.Visits[0].Date.Overlaps(date) && m.Has(l.Visits[0].Table+".peak")
		if ok && !listed && !visited && !date.After(l.AsOf) {
			events = append(events, event{point: &Point{Date: date, Time: at(date), Value: q.Value, U: q.Sigma()}})
		}
	}
	for _, p := range peaks {
		if p.Date.After(l.AsOf) {
			l.Late = append(l.Late, p.Date.String())
			continue
		}
		events = append(events, event{point: &Point{Date: p.Date, Time: at(p.Date), Value: p.Pressure, U: p.U}})
	}
	for _, v := range l.Visits {
		both := []event{}
		if len(v.Done) > 0 {
			w := &WorkDone{Date: v.Date, Time: at(v.Date), What: sheet.FormatDone(v.Done)}
			for _, done := range v.Done {
				w.Kinds = append(w.Kinds, done.Kind)
			}
			both = append(both, event{work: w})
		}
		if q, ok := m.Reading(&v, "peak"); ok {
			both = append(both, event{point: &Point{Date: v.Date, Time: at(v.Date), Value: q.Value, U: q.Sigma(), Visit: v.Table}})
		}
		if v.Before {
			slices.Reverse(both)
		}
		events = append(events, both...)
	}
	slices.SortStableFunc(events, func(a, b event) int { return cmp.Compare(*a.time(), *b.time()) })
	return events
}

// put takes the events over, an hour between work and a reading of one time, and
// makes one of works that no reading parts: what each of them brought cannot be told.
func (l *Life) put(events []event) {
	joined := false // the last work is several already
	for i, e := range events {
		if i > 0 {
			before := events[i-1]
			if t := *before.time(); (e.point == nil) != (before.point == nil) && *e.time() < t+between {
				*e.time() = t + between
			} else {
				*e.time() = max(*e.time(), t)
			}
			a, b := l.dates(before), l.dates(e)
			if a != b && a.Overlaps(b) && (e.work != nil || before.work != nil) {
				l.Doubts = append(l.Doubts, fmt.Sprintf("which came first, %s or %s, is not known: taken in this order; a day in the date tells", a, b))
			}
		}
		switch last := len(l.Works) - 1; {
		case e.point != nil:
			l.Points = append(l.Points, *e.point)
		case i > 0 && events[i-1].work != nil:
			w := &l.Works[last]
			l.Notes = append(l.Notes, fmt.Sprintf("no peak was read between %s and %s: what was done then counts as one repair", w.Date, e.work.Date))
			if !joined {
				w.What, joined = w.Date.String()+": "+w.What, true
			}
			w.What += "; " + e.work.Date.String() + ": " + e.work.What
			if slices.Contains(e.work.Kinds, course.Spring) {
				w.Time, w.Date = e.work.Time, e.work.Date // the age counts from here
			}
			w.Kinds = append(w.Kinds, e.work.Kinds...)
		default:
			l.Works = append(l.Works, *e.work)
			joined = false
		}
	}
}

func (l *Life) dates(e event) sheet.Date {
	if e.point != nil {
		return e.point.Date
	}
	return e.work.Date
}

// born finds out when the first spring was new and what the machine then had, and
// leaves out work before the first reading, which changes nothing that was read.
func (m *Machine) born(l *Life) {
	first := l.Points[0].Time
	if date, err := sheet.ParseDate(m.Text("new.date")); err == nil {
		l.NewKnown, l.New = true, min(date.Time(), first)
	}
	later := l.Works[:0]
	for _, w := range l.Works {
		switch {
		case w.Time >= first:
			later = append(later, w)
		case slices.Contains(w.Kinds, course.Spring):
			l.NewKnown, l.New = true, w.Time
		}
	}
	l.Works = later
	l.Fresh = m.ValueOr("new.peak", 0)
	for i := len(l.Points) - 1; i >= 0 && l.Fresh == 0; i-- {
		p := &l.Points[i]
		for _, born := range l.births() {
			if age := p.Time - born; age >= 0 && age < bedded {
				l.Fresh = p.Value
			}
		}
	}
}

// births are the times at which springs were new [s].
func (l *Life) births() (times []float64) {
	if l.NewKnown {
		times = append(times, l.New)
	}
	for _, w := range l.Works {
		if slices.Contains(w.Kinds, course.Spring) {
			times = append(times, w.Time)
		}
	}
	return times
}

// limit keeps as much as the laws take: what is older than the last repairs that
// they take is left out, and of many readings in a run the median stands for the run.
func (l *Life) limit() {
	if drop := len(l.Works) - mostWorks; drop > 0 {
		from := l.Works[drop-1].Time
		for _, born := range l.births() {
			if born <= from {
				l.NewKnown, l.New = true, born
			}
		}
		l.Notes = append(l.Notes, fmt.Sprintf("the laws are weighed from %s on: more than %d repairs cannot be told apart", l.Works[drop-1].Date, mostWorks))
		l.Works = l.Works[drop:]
		for i := range l.Points {
			if l.Points[i].Time < from {
				l.Points[i].Reading = -1
			}
		}
	}
	var runs [][]int // places of points that no repair parts
	part, weighed := 0, 0
	for i, p := range l.Points {
		if p.Reading < 0 {
			continue
		}
		weighed++
		if n := l.partOf(p.Time); runs == nil || n != part {
			runs, part = append(runs, nil), n
		}
		runs[len(runs)-1] = append(runs[len(runs)-1], i)
	}
	per := int(math.Ceil(float64(weighed) / mostWeighed))
	if per > 1 {
		l.Notes = append(l.Notes, fmt.Sprintf("of %d readings, the median of each run of %d is weighed", weighed, per))
	}
	next := 0
	for _, run := range runs {
		for part := range slices.Chunk(run, max(1, per)) {
			order := slices.Clone(part)
			slices.SortFunc(order, func(a, b int) int { return cmp.Compare(l.Points[a].Value, l.Points[b].Value) })
			for _, i := range part {
				l.Points[i].Reading = -1
			}
			l.Points[order[(len(order)-1)/2]].Reading = next
			next++
		}
	}
}

// partOf counts the works done by a time [s].
func (l *Life) partOf(t float64) (n int) {
	for _, w := range l.Works {
		if w.Time <= t {
			n++
		}
	}
	return n
}
