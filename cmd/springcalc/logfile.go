package main

import (
	"fmt"
	"math"

	"springcalc/profile/diagnose"
)

// logColumns are the columns of a logged shot.
var logColumns = []csvColumn{
	{"time", dimTime, []string{"time", "t", "elapsed", "elapsed time"}, true},
	{"pressure", dimPressure, []string{"pressure", "p", "group pressure", "brew pressure"}, true},
	{"cup mass", dimMass, []string{"cup", "m", "mass", "weight", "scale", "yield", "cup mass", "cup weight"}, false},
	{"piston travel", dimLength, []string{"travel", "z", "piston", "position", "piston travel", "piston position"}, false},
}

// readLog reads a logged shot. Every number has its unit in the heading.
func readLog(name string, data []byte) (diagnose.Log, error) {
	f, err := openCSV(name, data, logColumns)
	if err != nil {
		return nil, err
	}
	for i, c := range logColumns {
		if f.columns[i] >= 0 && f.scales[i] == nil {
			f.fault(i, "the heading of the %s has no unit; write it as %s", c.name, c.example())
		}
	}
	if len(f.faults) > 0 {
		return nil, f.faults
	}
	var log diagnose.Log
	for {
		record, err := f.next()
		if err != nil {
			return nil, err
		}
		if record == nil {
			break
		}
		row := diagnose.Row{Time: f.number(record, 0), Pressure: f.number(record, 1), Cup: f.number(record, 2), Travel: f.number(record, 3)}
		switch n := len(log); {
		case math.IsNaN(row.Time) && len(f.faults) == 0 && f.cell(record, 0) == "":
			f.faultLine("no time")
		case n > 0 && row.Time < log[n-1].Time:
			f.fault(0, "%q: the clock goes backwards, from %s", f.cell(record, 0), inS.text(log[n-1].Time, 3))
		}
		if len(f.faults) >= mostFaults {
			break
		}
		log = append(log, row)
	}
	if len(f.faults) > 0 {
		return nil, f.faults
	}
	if len(log) == 0 {
		return nil, fmt.Errorf("%s: no rows below the headings", name)
	}
	return log, nil
}

// faultLine notes what is wrong with the row read last.
func (f *csvFile) faultLine(text string) {
	f.faults = append(f.faults, fmt.Sprintf("%s:%d:1: %s", f.name, f.line(), text))
}
