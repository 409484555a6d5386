package main

import "springcalc/profile/diagnose"

// logColumns are the columns of a logged shot.
var logColumns = []csvColumn{
	{key{name: "time", dim: dimTime}, []string{"time", "t", "elapsed", "elapsed time"}, true},
	{key{name: "pressure", dim: dimPressure}, []string{"pressure", "p", "group pressure", "brew pressure"}, true},
	{key{name: "cup mass", dim: dimMass}, []string{"cup", "m", "mass", "weight", "scale", "yield", "cup mass", "cup weight"}, false},
	{key{name: "piston travel", dim: dimLength}, []string{"travel", "z", "piston", "position", "piston travel", "piston position"}, false},
}

// readLog reads a logged shot. Every number has its unit in the heading.
func readLog(name string, data []byte) (diagnose.Log, error) {
	f, err := openCSV(name, data, logColumns)
	if err != nil {
		return nil, err
	}
	f.needUnits()
	if err := f.err(); err != nil {
		return nil, err
	}
	var log diagnose.Log
	for f.next() {
		row := diagnose.Row{Time: f.number(0), Pressure: f.number(1), Cup: f.number(2), Travel: f.number(3)}
		switch n := len(log); {
		case f.cell(0) == "":
			f.fault(0, "no time")
		case n > 0 && row.Time < log[n-1].Time:
			f.fault(0, "%q: the clock goes backwards, from %s", f.cell(0), inS.text(log[n-1].Time, 3))
		}
		if len(f.faults) >= mostFaults {
			break
		}
		log = append(log, row)
	}
	if err := f.err(); err != nil {
		return nil, err
	}
	return log, nil
}
