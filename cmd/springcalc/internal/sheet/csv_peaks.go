package sheet

import (
	"cmp"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
)

// peakColumns are the columns of a list of peaks over the years.
var peakColumns = []CsvColumn{
	{Key{Name: "date"}, []string{"date", "year", "when"}, true},
	{Key{Name: "peak pressure", Dim: quantity.DimPressure, Allowed: Limits{Above: "0 bar"}}, []string{"peak", "p", "pressure", "peak pressure"}, true},
}

// Peak is a peak pressure that was read on a date.
type Peak struct {
	Date     Date
	Pressure float64 // [Pa]
}

// ReadPeaks reads peaks over the years, in any order, and returns them by date:
// a date, as 2019, 2019-05 or 2019-05-31, and a pressure with its unit in the
// cell or in the heading.
func ReadPeaks(name string, data []byte) ([]Peak, error) {
	f, err := OpenCSV(name, data, peakColumns)
	if err != nil {
		return nil, err
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	var peaks []Peak
	for f.Next() {
		date, err := ParseDate(f.Cell(0))
		if err != nil {
			f.Fault(0, "%v", err)
		}
		p, _ := f.Quantity(1)
		peaks = append(peaks, Peak{date, p})
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	slices.SortStableFunc(peaks, func(a, b Peak) int { return cmp.Compare(a.Date.Time(), b.Date.Time()) })
	return peaks, nil
}
