package answer

import (
	"cmp"
	"context"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/course"
	"springcalc/tables"
)

// InWorkshop is one machine of a workshop.
type InWorkshop struct {
	Name string                           // of its sheet
	Read func() (*machine.Machine, error) // reads it when its turn comes, so that few are in memory at once
}

// WorkshopOptions are what may be asked of a workshop.
type WorkshopOptions struct {
	AsOf     sheet.Date            // today, or a day to look back to
	Back     bool                  // it is a day to look back to
	Limit    Limit                 // the peak that is still wanted of each
	Progress func(done, total int) // may be nil
}

// standing is how one machine stands: no more than its line needs.
type standing struct {
	sheet, machine string
	visit          string // date of the last one
	known          bool   // a peak was read
	read           string // date of the last peak
	peak           float64
	fresh          float64 // peak as new [Pa]; 0 where not known
	trend          course.Estimate
	limit, below   float64 // [Pa], chance of being below it [-]
	passes, within string  // dates, the second with its interval
	fault          string  // likeliest; "" where nothing tells
	chance         float64
	next           string
	late           []string // dates of what lies after the day and was left out
	err            error    // why the sheet gives no answer
	urgency        urgency
}

// urgency orders machines, the smallest first.
type urgency struct {
	class int
	by    float64 // within the class [-]
}

// The classes of urgency.
const (
	belowLimit  = iota // by how far
	lookNow            // by when the last reading was taken
	lookLater          // by when
	doesNotRead        // by name
)

// Workshop says of many machines how each stands, the most urgent first.
func Workshop(ctx context.Context, list []InWorkshop, o WorkshopOptions) (*report.Report, error) {
	all := make([]standing, len(list))
	next, done := make(chan int), make(chan struct{})
	var workers sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		workers.Go(func() {
			for i := range next {
				all[i] = stand(list[i], o)
				done <- struct{}{}
			}
		})
	}
	go func() {
		defer close(done)
		defer workers.Wait()
		defer close(next)
		for i := range list {
			select {
			case next <- i:
			case <-ctx.Done():
				return
			}
		}
	}()
	n := 0
	for range done {
		if n++; o.Progress != nil {
			o.Progress(n, len(list))
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(all, func(a, b standing) int {
		return cmp.Or(cmp.Compare(a.urgency.class, b.urgency.class), cmp.Compare(a.urgency.by, b.urgency.by), words.Natural(a.sheet, b.sheet))
	})
	return workshopReport(all), nil
}

// stand reads a machine and weighs its history.
func stand(in InWorkshop, o WorkshopOptions) standing {
	s := standing{sheet: in.Name, next: "correct", urgency: urgency{class: doesNotRead}}
	m, err := in.Read()
	if err != nil {
		s.err = err
		return s
	}
	s.machine = m.Text("machine.name")
	h, err := live(m, HistoryOptions{AsOf: o.AsOf, Limit: o.Limit})
	if err != nil {
		s.err = err
		return s
	}
	if !o.Back {
		s.late = h.life.Late
	}
	if n := len(h.life.Visits); n > 0 {
		month := h.life.Visits[n-1].Date
		month.Day = 0
		s.visit = month.String()
	}
	if s.next = h.look.short; !h.look.now {
		s.next = h.when(h.look.at).String()
	}
	s.urgency = urgency{lookLater, h.look.at}
	if h.look.now {
		s.urgency = urgency{lookNow, h.last.Time}
	}
	if h.course == nil {
		return s
	}
	s.known, s.peak, s.read, s.fresh, s.trend = true, h.last.Value, h.last.Date.String(), h.life.Fresh, h.trend
	s.limit, s.below, s.passes, s.within = h.limit, h.passing.Already, h.passes(), h.passRange()
	s.fault, s.chance = likeliest(h)
	if h.look.short == nextDiagnose {
		s.urgency = urgency{belowLimit, h.peak.Value / h.limit}
	}
	return s
}

// suspects are the parts that a law of the peaks over the years speaks for, by
// their names among what a diagnosis presumes.
var suspects = map[course.Law][]string{course.Set: {"set"}, course.Wear: {"seal", "wire"}, course.Step: {"coil", "gauge"}}

// likeliest is the likeliest fault of a machine and its probability, by the laws of
// its peaks over the years alone: set takes by log-time, seal and wire wear by the
// year, a coil breaks and a gauge is hit at once. Of two suspects each has the part
// that it has beforehand. Too few readings tell nothing.
func likeliest(h *lived) (fault string, probability float64) {
	if len(h.life.Readings) < 3 {
		return "", 0
	}
	for _, law := range []course.Law{course.Set, course.Wear, course.Step} {
		weight, all := 0.0, 0.0
		for _, f := range h.course.Fits {
			if f.Law&law != 0 {
				weight += f.Weight
			}
		}
		prior := func(part string) float64 { p, _ := tables.DiagnosisPriorFor("fault." + part); return p.Value }
		for _, part := range suspects[law] {
			all += prior(part)
		}
		for _, part := range suspects[law] {
			if p := weight * prior(part) / all; p > probability {
				fault, probability = part, p
			}
		}
	}
	return fault, probability
}

// pressure is a column of pressures of machines whose peak was read.
func pressure(key, head string, full bool, of func(*standing) float64) report.Col[standing] {
	return report.Col[standing]{Column: report.Column{Key: key, Head: head, Unit: quantity.InBar, Digits: 2, Full: full}, Of: func(s *standing) any {
		if !s.known {
			return nil
		}
		return of(s)
	}}
}

// dated is a column of texts, empty where there is none.
func dated(key, head string, full bool, of func(*standing) string) report.Col[standing] {
	return report.Col[standing]{Column: report.Column{Key: key, Head: head, Full: full}, Of: func(s *standing) any {
		if of(s) == "" {
			return nil
		}
		return of(s)
	}}
}

// shares is a column of shares, empty where there is none.
func shares(key, head string, full bool, of func(*standing) (float64, bool)) report.Col[standing] {
	return report.Col[standing]{Column: report.Column{Key: key, Head: head, Unit: quantity.InPercent, Full: full}, Of: func(s *standing) any {
		if v, ok := of(s); ok {
			return v
		}
		return nil
	}}
}

var workshopCols = []report.Col[standing]{
	dated("sheet", "sheet", false, func(s *standing) string { return s.sheet }),
	dated("machine", "machine", true, func(s *standing) string { return s.machine }),
	dated("last_visit", "visit", false, func(s *standing) string { return s.visit }),
	pressure("peak", "peak", false, func(s *standing) float64 { return s.peak }),
	dated("peak_read", "read", true, func(s *standing) string { return s.read }),
	shares("share_of_new", "of new", false, func(s *standing) (float64, bool) { return s.peak / s.fresh, s.known && s.fresh > 0 }),
	pressure("trend", "a year", false, func(s *standing) float64 { return s.trend.Value }),
	pressure("trend_low", "2.5 %", true, func(s *standing) float64 { return s.trend.Low }),
	pressure("trend_high", "97.5 %", true, func(s *standing) float64 { return s.trend.High }),
	pressure("limit", "limit", true, func(s *standing) float64 { return s.limit }),
	shares("below_now", "below it now", true, func(s *standing) (float64, bool) { return s.below, s.known }),
	dated("passes", "passes", false, func(s *standing) string { return s.passes }),
	dated("passes_range", "95 % interval", true, func(s *standing) string { return s.within }),
	dated("likeliest", "fault", true, func(s *standing) string { return s.fault }),
	shares("probability", "probability", true, func(s *standing) (float64, bool) { return s.chance, s.fault != "" }),
	{Column: report.Column{Key: "likely", Head: "likeliest"}, Of: func(s *standing) any {
		if s.fault == "" {
			return nil
		}
		return report.Say("%s %s", s.fault, report.Of(s.chance, quantity.InPercent, 0))
	}},
	dated("next", "next", false, func(s *standing) string { return s.next }),
	dated("error", "error", true, func(s *standing) string {
		if s.err == nil {
			return ""
		}
		return strings.ReplaceAll(s.err.Error(), "\n", "; ")
	}),
}

// mostDoubts are how many sheets are told of one by one.
const mostDoubts = 10

// workshopReport is the answer for machines in the order of their urgency.
func workshopReport(all []standing) *report.Report {
	r := &report.Report{Command: "workshop", Title: titles["workshop"] + ": " + counted(len(all), "machine"), Main: "machines", Cautions: cautionLines()}
	var of [doesNotRead + 1]int
	for i := range all {
		of[all[i].urgency.class]++
	}
	said := []string{counted(of[belowLimit], "machine") + " below what is still wanted", strconv.Itoa(of[lookNow]) + " to be read now"}
	if of[doesNotRead] > 0 {
		said = append(said, counted(of[doesNotRead], "sheet")+" without an answer")
	}
	r.Answer = []report.Sentence{report.Say("%s.", words.AndList(said))}
	switch first := &all[0]; first.urgency.class {
	case belowLimit:
		r.Answer = append(r.Answer, report.Say("Most urgent: %s, %s where %s is still wanted.", first.sheet, report.Of(first.peak, quantity.InBar, 2), report.Of(first.limit, quantity.InBar, 2)))
	case lookNow:
		r.Answer = append(r.Answer, report.Say("Most urgent: %s, of which the peak is to be read.", first.sheet))
	case lookLater:
		r.Answer = append(r.Answer, report.Say("The next to be read is %s, in %s.", first.sheet, first.next))
	}
	r.Tables = []report.Table{report.Fill(report.Table{Key: "machines", Title: "Machines, the most urgent first", Short: true}, workshopCols, all)}
	var doubts []report.Sentence
	for i := range all {
		s := &all[i]
		if s.err != nil {
			first, rest, _ := strings.Cut(s.err.Error(), "\n")
			if next, _, more := strings.Cut(rest, "\n"); more {
				first += ", the first " + next
			}
			doubts = append(doubts, report.Say("sheet %s: %s", s.sheet, first))
		}
		if len(s.late) > 0 {
			doubts = append(doubts, report.Say("sheet %s: left out, as it lies after today: %s; is the date right?", s.sheet, words.AndList(s.late)))
		}
	}
	r.Doubts = doubts[:min(len(doubts), mostDoubts)]
	if more := len(doubts) - len(r.Doubts); more > 0 {
		r.Doubt("%s more with such faults", counted(more, "sheet"))
	}
	r.Note("the likeliest fault goes by the course of the peaks over the years alone: set takes by log-time, seal and wire by the year, a broken coil or another gauge at once, each of two as likely as the table diagnosis-priors has it; with fewer than three readings nothing is said. \"springcalc diagnose\" weighs all readings of one machine")
	r.Note("passes: when the peak passes what is still wanted; next: diagnose, read the peak, reread it where the last reading stands off, correct the sheet, or the date by which to read the peak again")
	r.Note("below the limit comes first, by how far; then what should be read now, the longest unread first; then by when to look again; sheets without an answer last")
	return r
}

// counted is "no machine", "1 machine" or "2 machines".
func counted(n int, what string) string {
	switch n {
	case 0:
		return "no " + what
	case 1:
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}
