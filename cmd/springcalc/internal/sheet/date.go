package sheet

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"springcalc/cmd/springcalc/internal/words"
)

// YearLength is a Julian year [s].
const YearLength = 365.25 * 86400

// Date is a day, or a month or a year where no more is known of it.
type Date struct{ Year, Month, Day int } // Month and Day are 0 where they are not known

// DateOf is the day of a time.
func DateOf(t time.Time) Date { return Date{t.Year(), int(t.Month()), t.Day()} }

// DateAt is the day at a time since the year 0 [s].
func DateAt(t float64) Date {
	years := t / YearLength
	year := int(years)
	day := int((years-float64(year))*365.25 + 1e-6) // that much for rounding
	d := DateOf(time.Date(year, 1, 1+day, 0, 0, 0, 0, time.UTC))
	if d.Year > year { // the last quarter of a day
		return Date{year, 12, 31}
	}
	return d
}

func (d Date) String() string {
	switch {
	case d.Month == 0:
		return strconv.Itoa(d.Year)
	case d.Day == 0:
		return fmt.Sprintf("%d-%02d", d.Year, d.Month)
	}
	return fmt.Sprintf("%d-%02d-%02d", d.Year, d.Month, d.Day)
}

// Time is the time since the year 0 [s]; a year alone counts from its middle, a
// month likewise.
func (d Date) Time() float64 {
	if d.Month == 0 {
		return (float64(d.Year) + 0.5) * YearLength
	}
	days := float64(d.first().YearDay() - 1)
	if d.Day == 0 {
		days += 15
	}
	return (float64(d.Year) + days/365.25) * YearLength
}

// first and last are the days between which a date lies.
func (d Date) first() time.Time {
	return time.Date(d.Year, time.Month(max(1, d.Month)), max(1, d.Day), 0, 0, 0, 0, time.UTC)
}

func (d Date) last() time.Time {
	switch {
	case d.Month == 0:
		return time.Date(d.Year, 12, 31, 0, 0, 0, 0, time.UTC)
	case d.Day == 0:
		return time.Date(d.Year, time.Month(d.Month)+1, 0, 0, 0, 0, 0, time.UTC)
	}
	return d.first()
}

// After says whether all of a date lies after all of another.
func (d Date) After(other Date) bool { return d.first().After(other.last()) }

// Overlaps says whether two dates may be one day, so that which came first is not known.
func (d Date) Overlaps(other Date) bool { return !d.After(other) && !other.After(d) }

// dateOrder is what comes first in a date of three numbers with slashes.
type dateOrder int

const (
	orderUnknown dateOrder = iota
	dayFirst
	monthFirst
)

// errOrder marks a date that can be read in two ways.
var errOrder = errors.New("date can be read in two ways")

var (
	yearOnly   = words.Lazy(`^(\d{4})$`)
	yearMonth  = words.Lazy(`^(\d{4})[-/.](\d{1,2})$`)
	monthYear  = words.Lazy(`^(\d{1,2})[-/.](\d{4})$`)
	isoDate    = words.Lazy(`^(\d{4})([-/.]?)(\d{1,2})([-/.]?)(\d{1,2})$`)
	threeParts = words.Lazy(`^(\d{1,2})([-/.])(\d{1,2})([-/.])(\d{4})$`)
	wordMonth  = words.Lazy(`^(?:(\d{1,2})\.?\s+)?([A-Za-z]{3,9})\.?\s+(?:(\d{1,2})(?:st|nd|rd|th)?,?\s+)?(\d{4})$`)
	shortYear  = words.Lazy(`^\d{1,2}[-/.]\d{1,2}[-/.]\d{2}$|^'?\d{2}$`)
	timeOfDay  = words.Lazy(`^(.+?)[T\s]+(\d{1,2}:\d{2}(?::\d{2}(?:[.,]\d+)?)?)\s*(?:Z|UTC|[+-]\d{2}:?\d{2})?$`)
)

// ParseDate reads a date as people write it: "2019", "2019-05", "May 2019",
// "14.02.2022", "5/14/2022", with a time of day or not. A date that can be read in
// two ways is an error.
func ParseDate(text string) (Date, error) { return parseDate(text, orderUnknown) }

// parseDate reads a date of a list, whose other dates may tell the order.
func parseDate(text string, order dateOrder) (Date, error) {
	text = strings.TrimSpace(text)
	day := text
	if m := timeOfDay().FindStringSubmatch(text); m != nil {
		if _, err := parseHours(m[2]); err != nil {
			return Date{}, fmt.Errorf("%q: %w", text, err)
		}
		day = m[1]
	}
	y, m, d, err := dateParts(day, order)
	if err == nil && (y < 1800 || y > 2200) {
		err = errors.New("want a year from 1800 to 2200")
	}
	if err != nil {
		return Date{}, fmt.Errorf("%q: %w", text, err)
	}
	return Date{y, m, d}, nil
}

// dateParts returns year, month and day; 0 for what is not stated.
func dateParts(text string, order dateOrder) (y, m, d int, err error) {
	n := func(s string) int { v, _ := strconv.Atoi(s); return v }
	switch {
	case yearOnly().MatchString(text):
		return n(text), 0, 0, nil
	case yearMonth().MatchString(text):
		p := yearMonth().FindStringSubmatch(text)
		y, m = n(p[1]), n(p[2])
	case monthYear().MatchString(text):
		p := monthYear().FindStringSubmatch(text)
		y, m = n(p[2]), n(p[1])
	case isoDate().MatchString(text):
		p := isoDate().FindStringSubmatch(text)
		if p[2] != p[4] || p[2] == "" && len(text) != 8 {
			return 0, 0, 0, errNoDate
		}
		y, m, d = n(p[1]), n(p[3]), n(p[5])
	case threeParts().MatchString(text):
		p := threeParts().FindStringSubmatch(text)
		if p[2] != p[4] {
			return 0, 0, 0, errNoDate
		}
		a, b, year := n(p[1]), n(p[3]), n(p[5])
		switch possible := orderOf(a, b, p[2]); {
		case possible != orderUnknown:
			order = possible
		case order == orderUnknown:
			return 0, 0, 0, fmt.Errorf("%w, %s or %s; write %04d-%02d-%02d or %04d-%02d-%02d", errOrder,
				spelled(year, b, a), spelled(year, a, b), year, b, a, year, a, b)
		}
		if y, m, d = year, b, a; order == monthFirst {
			m, d = a, b
		}
	case wordMonth().MatchString(text):
		p := wordMonth().FindStringSubmatch(text)
		if m = monthNamed(p[2]); m == 0 {
			return 0, 0, 0, fmt.Errorf("no month is called %q", p[2])
		}
		if p[1] != "" && p[3] != "" {
			return 0, 0, 0, errNoDate
		}
		y, d = n(p[4]), n(p[1]+p[3])
		if p[1]+p[3] != "" && d == 0 {
			return 0, 0, 0, errNoDate
		}
	case shortYear().MatchString(text):
		return 0, 0, 0, errors.New("write the year with four digits")
	default:
		return 0, 0, 0, errNoDate
	}
	if m < 1 || m > 12 {
		return 0, 0, 0, fmt.Errorf("there is no month %d", m)
	}
	if t := time.Date(y, time.Month(m), max(d, 1), 0, 0, 0, 0, time.UTC); int(t.Month()) != m || d < 0 {
		return 0, 0, 0, fmt.Errorf("%s %d has no day %d", time.Month(m), y, d)
	}
	return y, m, d, nil
}

var errNoDate = errors.New("want a date such as 1998, 1998-05, 1998-05-31, 31.05.1998 or May 1998")

// orderOf tells which of two numbers of a date is the day, where that is plain: by
// points the day comes first wherever dates are written with points.
func orderOf(a, b int, mark string) dateOrder {
	switch {
	case mark == "." || a > 12 || a == b:
		return dayFirst
	case b > 12:
		return monthFirst
	}
	return orderUnknown
}

func spelled(y, m, d int) string { return fmt.Sprintf("%d %s %d", d, time.Month(m), y) }

// monthNamed returns the number of a month by its English name or the start of it.
func monthNamed(name string) int {
	for m := time.January; m <= time.December; m++ {
		if full := strings.ToLower(m.String()); strings.HasPrefix(full, strings.ToLower(name)) || strings.EqualFold(name, "sept") && m == time.September {
			return int(m)
		}
	}
	return 0
}

// orderAmong tells from the dates of a list what comes first in them; clash is the
// place in the list of one that contradicts those before it, -1 for none.
func orderAmong(dates []string) (order dateOrder, clash int) {
	for i, text := range dates {
		if m := timeOfDay().FindStringSubmatch(strings.TrimSpace(text)); m != nil {
			text = m[1]
		}
		p := threeParts().FindStringSubmatch(strings.TrimSpace(text))
		if p == nil || p[2] == "." || p[1] == p[3] {
			continue
		}
		a, _ := strconv.Atoi(p[1])
		b, _ := strconv.Atoi(p[3])
		switch this := orderOf(a, b, p[2]); {
		case this == orderUnknown:
		case order == orderUnknown:
			order = this
		case order != this:
			return order, i
		}
	}
	return order, -1
}

// parseHours reads "10:33", "10:33:21" or "10:33:21.5" as time since midnight [s].
func parseHours(text string) (float64, error) {
	parts := strings.Split(strings.Replace(text, ",", ".", 1), ":")
	h, err1 := strconv.Atoi(parts[0])
	m, err2 := strconv.Atoi(parts[1])
	s, err3 := 0.0, error(nil)
	if len(parts) == 3 {
		s, err3 = strconv.ParseFloat(parts[2], 64)
	}
	if err := errors.Join(err1, err2, err3); err != nil || h > 24 || m > 59 || !(s >= 0 && s < 61) {
		return 0, errors.New("want a time of day such as 10:33:21")
	}
	return float64(h)*3600 + float64(m)*60 + s, nil
}

var (
	clockTime = words.Lazy(`^\d{1,2}:\d{2}:\d{2}(?:[.,]\d+)?$`)
	stopwatch = words.Lazy(`^(\d{1,3}):(\d{2}(?:[.,]\d+)?)$`)
)

// clockEpoch is near, so that a clock keeps its small parts of a second.
var clockEpoch = time.Date(2020, 1, 1, 0, 0, 0, 0, time.UTC)

// parseClock reads the time of a row that a logger stamped [s]: of a day,
// "10:33:21.5", with the date before it or not, or minutes and seconds of a
// stopwatch, "1:02.5". dated says whether there is a date.
func parseClock(text string) (seconds float64, dated bool, err error) {
	switch m := stopwatch().FindStringSubmatch(text); {
	case m != nil:
		minutes, _ := strconv.Atoi(m[1])
		s, err := strconv.ParseFloat(strings.Replace(m[2], ",", ".", 1), 64)
		if err != nil || s >= 60 {
			return 0, false, errors.New("want minutes and seconds such as 1:02.5")
		}
		return float64(minutes)*60 + s, false, nil
	case clockTime().MatchString(text):
		s, err := parseHours(text)
		return s, false, err
	case timeOfDay().MatchString(text):
		m := timeOfDay().FindStringSubmatch(text)
		y, month, d, err := dateParts(m[1], dayFirst) // only the difference to other rows counts
		if err == nil && d == 0 {
			err = errNoDate
		}
		s, err2 := parseHours(m[2])
		since := time.Date(y, time.Month(month), d, 0, 0, 0, 0, time.UTC).Sub(clockEpoch)
		return since.Seconds() + s, true, errors.Join(err, err2)
	}
	return 0, false, errors.New("want a time such as 10:33:21.5 or 2022-05-14 10:33:21.5")
}
