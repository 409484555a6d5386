package sheet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/profile/course"
)

// peakColumns are the columns of a list of peaks over the years.
var peakColumns = []CsvColumn{
	{Key{Name: "date"}, []string{"date", "year", "when"}, true},
	{Key{Name: "peak pressure", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar"}}, []string{"peak", "p", "pressure", "peak pressure"}, true},
}

// YearLength is a Julian year [s].
const YearLength = 365.25 * 86400

// ReadPeaks reads peaks over the years, in any order: a date, as 2019, 2019-05 or
// 2019-05-31, and a pressure with its unit in the cell or in the heading. The
// earliest reading is that of the new spring, unless made says when it was new;
// times count from there.
func ReadPeaks(name string, data []byte, made string) ([]course.Reading, error) {
	f, err := OpenCSV(name, data, peakColumns)
	if err != nil {
		return nil, err
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	var peaks []course.Reading
	for f.Next() {
		at, err := parseDate(f.Cell(0))
		if err != nil {
			f.Fault(0, "%v", err)
		}
		p, _ := f.Quantity(1)
		peaks = append(peaks, course.Reading{Time: at, Value: p})
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(peaks, func(a, b course.Reading) int { return int(max(-1, min(1, a.Time-b.Time))) })
	start := peaks[0].Time
	if made != "" {
		if start, err = parseDate(made); err != nil {
			return nil, Usef("--made: %v", err)
		}
		if start > peaks[0].Time {
			return nil, Usef("--made: %s is after the first reading of %s", made, name)
		}
	}
	for i := range peaks {
		peaks[i].Time -= start
	}
	return peaks, nil
}

// parseDate returns a date as a time since the year 0 [s]; a year alone counts
// from its middle, a month likewise.
func parseDate(text string) (float64, error) {
	text = strings.TrimSpace(text)
	if y, err := strconv.Atoi(text); err == nil && y >= 1800 && y <= 2200 {
		return (float64(y) + 0.5) * YearLength, nil
	}
	for _, layout := range []string{"2006-01-02", "2006-01"} {
		t, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		days := float64(t.YearDay() - 1)
		if layout == "2006-01" {
			days += 15
		}
		return (float64(t.Year()) + days/365.25) * YearLength, nil
	}
	return 0, fmt.Errorf("%q: want a date such as 1998, 1998-05 or 1998-05-31", text)
}
