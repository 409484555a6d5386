package sheet

import (
	"fmt"
	"strconv"
	"time"
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
