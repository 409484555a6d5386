package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"springcalc/profile/diagnose"
)

// peakColumns are the columns of a list of peaks over the years.
var peakColumns = []csvColumn{
	{key{name: "date"}, []string{"date", "year", "when"}, true},
	{key{name: "peak pressure", dim: dimPressure, allowed: limits{above: "0 bar"}}, []string{"peak", "p", "pressure", "peak pressure"}, true},
}

// yearLength is a Julian year [s].
const yearLength = 365.25 * 86400

// readPeaks reads peaks over the years, in any order: a date, as 2019, 2019-05 or
// 2019-05-31, and a pressure with its unit in the cell or in the heading. The
// earliest reading is that of the new spring, unless made says when it was new.
func readPeaks(name string, data []byte, made string) ([]diagnose.PeakReading, error) {
	f, err := openCSV(name, data, peakColumns)
	if err != nil {
		return nil, err
	}
	if err := f.err(); err != nil {
		return nil, err
	}
	var peaks []diagnose.PeakReading
	for f.next() {
		at, err := parseDate(f.cell(0))
		if err != nil {
			f.fault(0, "%v", err)
		}
		p, _ := f.quantity(1)
		peaks = append(peaks, diagnose.PeakReading{Age: at, Peak: p})
	}
	if err := f.err(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(peaks, func(a, b diagnose.PeakReading) int { return int(max(-1, min(1, a.Age-b.Age))) })
	start := peaks[0].Age
	if made != "" {
		if start, err = parseDate(made); err != nil {
			return nil, usef("--made: %v", err)
		}
		if start > peaks[0].Age {
			return nil, usef("--made: %s is after the first reading of %s", made, name)
		}
	}
	for i := range peaks {
		peaks[i].Age -= start
	}
	return peaks, nil
}

// parseDate returns a date as a time since the year 0 [s]; a year alone counts
// from its middle, a month likewise.
func parseDate(text string) (float64, error) {
	text = strings.TrimSpace(text)
	if y, err := strconv.Atoi(text); err == nil && y >= 1800 && y <= 2200 {
		return (float64(y) + 0.5) * yearLength, nil
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
		return (float64(t.Year()) + days/365.25) * yearLength, nil
	}
	return 0, fmt.Errorf("%q: want a date such as 1998, 1998-05 or 1998-05-31", text)
}
