package sheet

import (
	"cmp"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
)

// peakColumns are the columns of a list of peaks over the years.
var peakColumns = []CsvColumn{
	{Key{Name: "date"}, []string{"date", "year", "when", "day", "month", "time", "timestamp"}, true, false},
	{Key{Name: "peak pressure", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar", UpTo: "100 bar"}, Usual: Limits{From: "1 bar", UpTo: "16 bar"}},
		[]string{"peak", "p", "pressure", "gauge", "gauge pressure", "peak pressure"}, true, false},
}

// Peak is a peak pressure that was read on a date.
type Peak struct {
	Date     Date
	Pressure float64 // gauge [Pa]
	U        float64 // its standard uncertainty by a ± in the cell; 0 where none is stated [Pa]
	Line     int     // of the list
}

// ReadPeaks reads peaks over the years with usual headings, as [Reading.Peaks].
func ReadPeaks(name string, data []byte) ([]Peak, error) { return new(Reading).Peaks(name, data) }

// Peaks reads peaks over the years, in any order, and returns them by date: a date
// as [ParseDate] reads it and a pressure with its unit in the cell or in the heading.
func (r *Reading) Peaks(name string, data []byte) ([]Peak, error) {
	f, err := OpenCSV(name, data, peakColumns, r)
	if err != nil {
		return nil, err
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	f.nameOthers()
	var dates []string
	f.cells(0, func(text string) bool {
		dates = append(dates, text)
		return len(dates) <= f.most
	})
	order, clash := orderAmong(dates)
	var peaks []Peak
	for f.Next() {
		date, err := parseDate(f.Cell(0), order)
		switch {
		case f.Cell(0) == "":
			f.Fault(0, "no date")
		case clash >= 0 && f.Cell(0) == dates[clash]:
			f.Fault(0, "%q has another order of day and month than the dates before it; write all as 1998-05-31", f.Cell(0))
		case err != nil:
			f.Fault(0, "%v", err)
		}
		q, _ := f.Quantity(1)
		peaks = append(peaks, Peak{Date: date, Pressure: q.Value, U: q.Sigma(), Line: f.Line()})
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(peaks, func(a, b Peak) int { return cmp.Compare(a.Date.Time(), b.Date.Time()) })
	return peaks, nil
}
