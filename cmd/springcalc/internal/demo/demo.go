// Package demo holds the fictional machine that every command answers for where
// no sheet is given: a sheet, what was measured on it, its peaks over the years,
// and a logged shot. Nothing in it is of a real machine.
package demo

import _ "embed"

var (
	//go:embed machine.toml
	Sheet []byte // the machine
	//go:embed measured.toml
	Measured []byte // what it was when new and what was measured on it, to go behind the sheet
	//go:embed peaks.csv
	Peaks []byte // its peaks over 40 years
	//go:embed visits.toml
	Visits []byte // the visits to it, with the same peaks and what was done, to go behind the sheet
	//go:embed log.csv
	Log []byte // a logged shot
)
