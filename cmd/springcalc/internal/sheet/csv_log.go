package sheet

import (
	"bytes"
	"runtime"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/profile/logged"
)

// logColumns are the columns of a logged shot. A gauge may read a little below
// nothing, and a scale that somebody leans on too.
var logColumns = []CsvColumn{
	{Key{Name: "time", Dim: quantity.DimTime, Allowed: Limits{From: "-100 years", UpTo: "100 years"}},
		[]string{"time", "t", "elapsed", "elapsed time", "timestamp", "clock"}, true, true},
	{Key{Name: "pressure", Dim: quantity.DimPressure, Allowed: Limits{From: "-2 bar", UpTo: "100 bar"}, Usual: Limits{From: "1 bar", UpTo: "16 bar"}},
		[]string{"pressure", "p", "gauge", "gauge pressure", "group pressure", "brew pressure", "puck pressure"}, true, false},
	{Key{Name: "cup mass", Dim: quantity.DimMass, Allowed: Limits{From: "-10 kg", UpTo: "10 kg"}},
		[]string{"cup", "m", "mass", "weight", "scale", "yield", "cup mass", "cup weight"}, false, false},
	{Key{Name: "piston travel", Dim: quantity.DimLength, Allowed: Limits{From: "-1 m", UpTo: "1 m"}},
		[]string{"travel", "z", "piston", "position", "piston travel", "piston position"}, false, false},
}

const (
	mostLogRows = 5_000_000   // rows of a logged shot
	largeLog    = 100_000     // rows
	longestLog  = 2 * 3600    // time that it may span [s]
	midnight    = 12 * 3600.0 // a clock that goes back by more has passed midnight [s]
)

// ReadLog reads a logged shot with usual headings.
func ReadLog(name string, data []byte) (logged.Log, error) { return new(Reading).Log(name, data) }

// Log reads a logged shot. Every number has its unit in the heading; times may
// be those of a clock, and count from the first row then.
func (r *Reading) Log(name string, data []byte) (logged.Log, error) {
	f, err := OpenCSV(name, data, logColumns, r)
	if err != nil {
		return nil, err
	}
	f.needUnits()
	if err := f.Err(); err != nil {
		return nil, err
	}
	f.nameOthers()
	f.most = mostLogRows
	log := make(logged.Log, 0, min(bytes.Count(data, []byte("\n")), mostLogRows)) // a log that grew would be copied, and twice as large
	var start, day float64                                                        // of clock times [s]
	for values := make([]float64, len(logColumns)); ; {
		if f.plain(values) && follows(log, values[0]) {
			f.pass(values)
			log = append(log, logged.Row{Time: values[0], Pressure: values[1], Cup: values[2], Travel: values[3]})
			continue
		}
		if !f.Next() {
			break
		}
		row := logged.Row{Time: f.number(0), Pressure: f.number(1), Cup: f.number(2), Travel: f.number(3)}
		n := len(log)
		if f.clocks[0] {
			if n == 0 {
				start = row.Time
			}
			if row.Time += day - start; n > 0 && row.Time < log[n-1].Time-midnight {
				day += 86400
				row.Time += 86400
			}
		}
		switch {
		case f.Cell(0) == "":
			f.Fault(0, "no time")
		case n > 0 && row.Time < log[n-1].Time:
			f.Fault(0, "%q: the clock goes backwards, from %s", f.Cell(0), quantity.InS.Text(log[n-1].Time, 3))
		case n > 0 && row.Time > log[0].Time+longestLog:
			f.Fault(0, "%q: %s after the first row; want a log of one shot", f.Cell(0), quantity.Brief(row.Time-log[0].Time, row.Time-log[0].Time, quantity.DimTime))
		}
		log = append(log, row)
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	if len(log) > largeLog {
		runtime.GC() // the text of the cells is as large as the log, and would stay until as much again is needed
	}
	return log, nil
}

// follows says whether a row at a time [s] can come next in a log of one shot.
func follows(log logged.Log, time float64) bool {
	n := len(log)
	return n == 0 && time == time || n > 0 && time >= log[n-1].Time && time <= log[0].Time+longestLog
}
