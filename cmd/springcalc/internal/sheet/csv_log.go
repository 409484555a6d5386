package sheet

import (
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/profile/logged"
)

// logColumns are the columns of a logged shot.
var logColumns = []CsvColumn{
	{Key{Name: "time", Dim: quantity.DimTime}, []string{"time", "t", "elapsed", "elapsed time"}, true},
	{Key{Name: "pressure", Dim: quantity.DimPressure}, []string{"pressure", "p", "group pressure", "brew pressure"}, true},
	{Key{Name: "cup mass", Dim: quantity.DimMass}, []string{"cup", "m", "mass", "weight", "scale", "yield", "cup mass", "cup weight"}, false},
	{Key{Name: "piston travel", Dim: quantity.DimLength}, []string{"travel", "z", "piston", "position", "piston travel", "piston position"}, false},
}

// ReadLog reads a logged shot. Every number has its unit in the heading.
func ReadLog(name string, data []byte) (logged.Log, error) {
	f, err := OpenCSV(name, data, logColumns)
	if err != nil {
		return nil, err
	}
	f.needUnits()
	if err := f.Err(); err != nil {
		return nil, err
	}
	var log logged.Log
	for f.Next() {
		row := logged.Row{Time: f.number(0), Pressure: f.number(1), Cup: f.number(2), Travel: f.number(3)}
		switch n := len(log); {
		case f.Cell(0) == "":
			f.Fault(0, "no time")
		case n > 0 && row.Time < log[n-1].Time:
			f.Fault(0, "%q: the clock goes backwards, from %s", f.Cell(0), quantity.InS.Text(log[n-1].Time, 3))
		}
		if len(f.Faults) >= mostFaults {
			break
		}
		log = append(log, row)
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	return log, nil
}
