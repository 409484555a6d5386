package answer

import (
	"context"
	"fmt"
	"math"
	"strconv"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/course"
	"springcalc/tables"
)

// HistoryOptions are what may be asked of a machine's history.
type HistoryOptions struct {
	AsOf    sheet.Date   // today, or a day to look back to: later readings are left out
	Back    bool         // it is a day to look back to
	Peaks   []sheet.Peak // that stand beside the visits of the sheet
	Limit   Limit        // the peak that is still wanted
	Compare *sheet.Date  // compare what was read until then with what was read since; nil for nothing
}

// Limit is the peak down to which a machine is left as it is. The zero value takes
// that of the sheet.
type Limit struct {
	Pressure float64 // [Pa]
	Share    float64 // of the peak as new, in place of Pressure [-]
}

// ParseLimit reads "7.5 bar" or "80 %".
func ParseLimit(text string) (Limit, error) {
	if number, ok := strings.CutSuffix(strings.TrimSpace(text), "%"); ok {
		v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		if err != nil || !(v > 0 && v <= 100) {
			return Limit{}, fmt.Errorf("%q: want a pressure, such as \"7.5 bar\", or a share of the peak as new up to 100 %%", text)
		}
		return Limit{Share: v / 100}, nil
	}
	q, err := quantity.Parse(text, quantity.DimPressure)
	if err == nil && !(q.Value > 0) {
		err = fmt.Errorf("want more than 0 bar")
	}
	if err != nil {
		return Limit{}, fmt.Errorf("%q: %w", text, err)
	}
	return Limit{Pressure: q.Value}, nil
}

// What is presumed where nobody states it: judgement.
const (
	usualShare = 0.8              // of the peak as new that is still wanted [-]
	ahead      = 30 * course.Year // how far the passing of the limit is sought [s]
	soonest    = 0.25 * course.Year
	latest     = 2 * course.Year // after which a machine is looked at again at the latest [s]
	latestFew  = 1 * course.Year // with fewer than three readings [s]
)

var lookTimes = map[float64]string{latest: "two years", latestFew: "a year"}

// lived is a machine's history, weighed.
type lived struct {
	m      *machine.Machine
	life   *machine.Life
	course *course.Course // nil where no peak was read

	now     float64 // the date asked for, or the last event where that is later [s]
	last    machine.Point
	before  *machine.Point    // the reading before that; nil for none
	change  course.Difference // from the one to the other
	peak    course.Estimate   // the course now [Pa]
	trend   course.Estimate   // what the next year changes [Pa]
	limit   float64           // [Pa]
	why     report.Sentence   // where the limit is from
	passing course.Passing
	look    looking
}

// nextDiagnose is what is next where the peak is below what is wanted, and nothing that
// was done or misread since asks for another reading first.
const nextDiagnose = "diagnose"

// looking says when to look again, and why.
type looking struct {
	at    float64 // [s]
	now   bool
	what  report.Sentence // what to do then
	short string          // that in a few words, for now
}

// live reads a history and weighs it.
func live(m *machine.Machine, o HistoryOptions) (*lived, error) {
	life, err := m.Life(o.AsOf, o.Peaks)
	if err != nil {
		return nil, err
	}
	h := &lived{m: m, life: life, now: o.AsOf.Time()}
	if len(life.Points) == 0 {
		h.look = looking{h.now, true, report.Say("read the peak of a shot and append it to the sheet"), "read"}
		return h, nil
	}
	if h.course, err = course.Weigh(life.Life); err != nil {
		return nil, err
	}
	n := len(life.Points)
	h.last = life.Points[n-1]
	h.now = max(h.now, h.last.Time)
	if works := len(life.Works); works > 0 {
		h.now = max(h.now, life.Works[works-1].Time)
	}
	if n > 1 {
		h.before = &life.Points[n-2]
		if h.change, err = h.between(h.before, &h.last); err != nil {
			return nil, err
		}
	}
	at, err := h.course.At(h.now)
	if err != nil {
		return nil, err
	}
	h.peak = at[0].Course
	if h.trend, err = h.course.Change(h.now, h.now+course.Year); err != nil {
		return nil, err
	}
	if err := h.setLimit(o.Limit); err != nil {
		return nil, err
	}
	if h.passing, err = h.course.Passes(h.limit, ahead+h.now-h.last.Time); err != nil {
		return nil, err
	}
	h.look = h.lookAgain()
	return h, nil
}

// setLimit settles what peak is still wanted.
func (h *lived) setLimit(l Limit) error {
	fresh, most := h.life.Fresh, 0.0
	for _, p := range h.life.Points {
		most = max(most, p.Value)
	}
	switch {
	case l.Pressure > 0:
		h.limit, h.why = l.Pressure, report.Say("as asked")
	case l.Share > 0 && fresh == 0:
		return sheet.Usef("--limit in %%: the peak as new is not known; state new.peak in the sheet, or give a pressure")
	case l.Share > 0:
		h.limit, h.why = l.Share*fresh, report.Say("%s of the peak as new, as asked", report.Of(l.Share, quantity.InPercent, 0))
	case h.m.Has("wish.peak"):
		h.limit = h.m.Value("wish.peak") - h.m.Wished("wish.within")
		h.why = report.Say("wish.peak less wish.within")
		if h.limit > 0 {
			break
		}
		return sheet.Usef("wish.within leaves nothing of wish.peak; give --limit")
	case fresh > 0:
		h.limit, h.why = usualShare*fresh, report.Say("%s of the peak as new, as nothing else is stated", report.Of(usualShare, quantity.InPercent, 0))
	default:
		h.limit, h.why = usualShare*most, report.Say("%s of the highest reading, as nothing else is stated", report.Of(usualShare, quantity.InPercent, 0))
	}
	return nil
}

// between compares two readings of the peak, by one gauge or two.
func (h *lived) between(a, b *machine.Point) (course.Difference, error) {
	u := func(p *machine.Point) float64 {
		if p.U > 0 {
			return p.U
		}
		return h.course.Scatter.Value
	}
	return compareByGauge(course.Side{Value: a.Value, U: u(a)}, course.Side{Value: b.Value, U: u(b)}, h.gaugeChanged(a.Time, b.Time))
}

// gaugeChanged says whether the gauge was changed between two times [s].
func (h *lived) gaugeChanged(from, to float64) bool {
	for _, w := range h.worksBetween(from, to) {
		for _, k := range w.Kinds {
			if k == course.Gauge {
				return true
			}
		}
	}
	return false
}

// worksBetween are the works after one time and up to another [s].
func (h *lived) worksBetween(from, to float64) (works []machine.WorkDone) {
	for _, w := range h.life.Works {
		if w.Time > from && w.Time <= to {
			works = append(works, w)
		}
	}
	return works
}

// compareByGauge compares two pressures that one gauge showed, or two gauges.
func compareByGauge(a, b course.Side, changed bool) (course.Difference, error) {
	gain, _ := tables.DiagnosisPriorFor("sound.gain")
	zero, _ := tables.DiagnosisPriorFor("sound.zero")
	if changed {
		for _, s := range []*course.Side{&a, &b} {
			s.U = math.Hypot(s.U, math.Hypot(zero.Value, gain.Value*s.Value))
		}
		return course.Compare(a, b, course.Common{})
	}
	return course.Compare(a, b, course.Common{Gain: gain.Value, Zero: zero.Value})
}

// standsOff returns the readings that no law follows, by date.
func (h *lived) standsOff() (points []machine.Point) {
	for _, s := range h.course.StandsOff {
		for _, p := range h.life.Points {
			if p.Reading == s.Reading {
				points = append(points, p)
			}
		}
	}
	return points
}

// lookAgain says when the machine should be looked at again: when the low end of the
// forecast meets the limit, and in any case before long.
func (h *lived) lookAgain() looking {
	off := h.standsOff()
	works := h.worksBetween(h.last.Time, math.Inf(1))
	switch {
	case len(works) > 0:
		return looking{h.now, true, report.Say("read the peak: none was read since the work of %s (%s)", works[0].Date, works[0].What), "read"}
	case len(off) > 0 && off[len(off)-1].Time == h.last.Time:
		return looking{h.now, true, report.Say("read the peak again: the last reading stands off the rest"), "reread"}
	case h.below():
		return looking{h.now, true, report.Say("find out what takes the pressure: springcalc diagnose"), nextDiagnose}
	}
	most := latest
	if len(h.life.Readings) < 3 {
		most = latestFew
	}
	at := h.last.Time + most
	why := report.Say("read the peak again, %s after the last reading at the latest", lookTimes[most])
	if early := h.passing.Early; early > 0 && early < at {
		at = max(early, h.last.Time+soonest)
		why = report.Say("read the peak again: by then it may have passed the limit")
	}
	return looking{at, at <= h.now, why, "read"}
}

// below says whether the peak is more likely below the limit by now than above.
func (h *lived) below() bool {
	return h.passing.Already >= 0.5 || h.passing.Time > 0 && h.passing.Time <= h.now
}

// History tells how the peak of a machine went over the years and where it goes.
func History(ctx context.Context, m *machine.Machine, o HistoryOptions) (*report.Report, error) {
	h, err := live(m, o)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r := newReport("history", m)
	r.Main = "visits"
	r.Assumed, r.Doubts = nil, nil // those of a shot, which this answer does not rest on
	for _, d := range m.Defaults {
		if strings.HasPrefix(d.Key, "wish.") {
			r.Assumed = append(r.Assumed, assumed([]tables.Default{d})...)
		}
	}
	r.Doubts = append(r.Doubts, report.Tolds(h.life.Doubts)...)
	r.Notes = append(r.Notes, report.Tolds(h.life.Notes)...)
	switch late := h.life.Late; {
	case len(late) > 0 && o.Back:
		r.Note("%d visits or readings after %s are left out", len(late), o.AsOf)
	case len(late) > 0:
		r.Doubt("left out, as it lies after today, %s: what was read on %s; is the date right?", o.AsOf, words.AndList(late))
	}
	r.Next = []report.Sentence{h.lookSentence()}
	if o.Compare != nil {
		if err := h.addComparison(r, *o.Compare); err != nil {
			return nil, err
		}
	}
	if h.course == nil {
		r.Answer = append(r.Answer, report.Say("No peak has been read yet."))
		r.Tables = append(r.Tables, h.visitTable())
		return r, nil
	}
	r.Answer = append(r.Answer, h.sentences(o.Compare == nil)...)
	h.addRows(r)
	if err := h.addForecast(r); err != nil {
		return nil, err
	}
	r.Tables = append(r.Tables, h.repairTable(), h.visitTable(), h.lawTable(), h.offTable())
	r.Doubts = append(r.Doubts, report.Tolds(h.course.Doubts)...)
	h.notes(r)
	return r, nil
}

// bars is a pressure without its unit.
func bars(si float64, digits int) report.Amount { return bare(report.Of(si, quantity.InBar, digits)) }

// when is a date to come as closely as it can be known: a month within three years, else a year.
func (h *lived) when(t float64) sheet.Date {
	d := sheet.DateAt(t)
	d.Day = 0
	if t-h.now > 3*course.Year {
		d.Month = 0
	}
	return d
}

// sentences say how the machine stands, what changed and where it goes.
func (h *lived) sentences(changes bool) (list []report.Sentence) {
	stands := report.Say("Peak %s on %s", report.Of(h.last.Value, quantity.InBar, 2), h.last.Date)
	if fresh := h.life.Fresh; fresh > 0 {
		stands = report.Say("%s, %s of the %s as new", stands, report.Of(h.last.Value/fresh, quantity.InPercent, 0), report.Of(fresh, quantity.InBar, 2))
	}
	list = append(list, report.Say("%s.", stands))
	if h.before != nil && changes {
		list = append(list, h.changeSentence())
	}
	list = append(list, h.passSentence(), report.Say("Law: %s.", h.laws()))
	for i, s := range h.course.StandsOff {
		if p := h.standsOff()[i]; i < 2 {
			list = append(list, report.Say("The reading of %s, %s, stands off the rest by %s.", p.Date, report.Of(p.Value, quantity.InBar, 2),
				report.Amount{Value: s.Off.Value, Unit: quantity.InBar, Digits: 1, Plus: true}))
		}
	}
	return list
}

// laws are the likeliest laws with their weights.
func (h *lived) laws() string {
	var all []string
	for _, f := range h.course.Fits[:3] {
		if f.Weight >= 0.05 {
			all = append(all, fmt.Sprintf("%v %.0f %%", f.Law, 100*f.Weight))
		}
	}
	return strings.Join(all, ", ")
}

// changeSentence says what changed since the reading before the last.
func (h *lived) changeSentence() report.Sentence {
	c := h.change.Change
	verdict := report.Say("no more than readings scatter")
	if h.change.Different {
		verdict = report.Say("more than readings scatter")
	}
	with := ""
	for _, w := range h.worksBetween(h.before.Time, h.last.Time) { // one at most: what no reading parts was made one
		with = " (done: " + w.What + ")"
	}
	return report.Say("Since %s%s it changed by %s (%s to %s): %s.", h.before.Date, with, report.Amount{Value: c.Value, Unit: quantity.InBar, Digits: 2, Plus: true},
		bars(c.Low, 2), bars(c.High, 2), verdict)
}

// passSentence says when the peak passes what is still wanted.
func (h *lived) passSentence() report.Sentence {
	p, limit := h.passing, report.Say("%s (%s)", report.Of(h.limit, quantity.InBar, 2), h.why)
	switch {
	case p.Already >= 0.5:
		return report.Say("It is below the %s.", limit)
	case h.below():
		return report.Say("It will have passed the %s in %s (%s).", limit, h.when(p.Time), h.passRange())
	case p.Never && p.Early > 0:
		return report.Say("By %s it may have passed the %s, but more likely not within %s.", h.when(p.Early), limit, report.Of(ahead, quantity.InYears, 0))
	case p.Never:
		return report.Say("It stays above the %s for %s and more.", limit, report.Of(ahead, quantity.InYears, 0))
	}
	return report.Say("It passes the %s in %s (%s).", limit, h.when(p.Time), h.passRange())
}

// passes is when the peak passes the limit, in a word.
func (h *lived) passes() string {
	switch {
	case h.below():
		return "now"
	case h.passing.Never:
		return "> " + h.when(h.now+ahead).String()
	}
	return h.when(h.passing.Time).String()
}

// passRange is the interval of the passing: "2033-05 to 2044"; "" where it has none.
func (h *lived) passRange() string {
	if h.passing.Already >= 0.5 || h.passing.Never {
		return ""
	}
	late := "later than " + h.when(h.now+ahead).String()
	if h.passing.Late > 0 {
		late = h.when(h.passing.Late).String()
	}
	return h.when(h.passing.Early).String() + " to " + late
}

// lookSentence says when to look again.
func (h *lived) lookSentence() report.Sentence {
	if h.look.now {
		return report.Say("Look now: %s.", h.look.what)
	}
	return report.Say("Look again in %s: %s.", h.when(h.look.at), h.look.what)
}
