// Package flags is what several commands share of the command line: flags, and what
// is done for them before and after a question is answered.
package flags

import (
	"io"
	"os"
	"path/filepath"
	"slices"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/sheet"
)

// Console is what a command talks to.
type Console struct {
	In   io.Reader // nil once it was read
	Out  io.Writer // held back until the command has succeeded
	Live io.Writer // for a command that talks
}

// Read returns a sheet and what to call it in messages: of a file, "-" for standard
// input, or "" for the demo machine.
func (c *Console) Read(path string) (name string, data []byte, err error) {
	name, data = path, demo.Sheet
	switch path {
	case "":
		name = "demo.toml"
	case "-":
		if c.In == nil {
			return "", nil, sheet.Usef("standard input is one sheet; \"-\" can stand only once")
		}
		name = "standard input"
		data, err = io.ReadAll(c.In)
		c.In = nil
	default:
		data, err = os.ReadFile(path)
	}
	return name, data, err
}

// Input are the flags of every command that reads a sheet.
type Input struct {
	Set []string `name:"set" sep:"none" placeholder:"KEY=VALUE" help:"Override a value of the sheet, as in --set coffee.dose=\"18 g\"; an empty one removes it. May be given several times."`
}

// Source reads a sheet.
func (f Input) Source(con *Console, path string) (s Source, err error) {
	s.Sets = f.Set
	s.Name, s.Data, err = con.Read(path)
	return s, err
}

// Source is a sheet that was read, to be made a machine of as often as it takes.
type Source struct {
	Name string   // what to call it, its path where it is a file
	Data []byte   // the sheet
	Sets []string // values put in place of its own
}

// Machine is what a sheet describes, with more values put in place of its own. The
// logs that it names are read from the folder of its file.
func (s Source) Machine(sets []string) (*machine.Machine, error) {
	return machine.ReadTaught(s.Name, s.Data, slices.Concat(s.Sets, sets), func(file string) ([]byte, error) {
		if !filepath.IsAbs(file) {
			file = filepath.Join(filepath.Dir(s.Name), file)
		}
		return os.ReadFile(file)
	})
}

// Day is the day that an answer is of.
type Day struct {
	AsOf string `name:"as-of" placeholder:"DATE" help:"Answer as of this date, by the readings of visits up to it; without it as of today."`
}

// Date reads the flag; today where it was not given.
func (f Day) Date() (sheet.Date, error) {
	if f.AsOf == "" {
		return sheet.DateOf(Clock()), nil
	}
	return DateOf("--as-of", f.AsOf)
}

// Until leaves out the peaks of a file that are of later than the date; it is an error
// where none is left.
func (f Day) Until(peaks []sheet.Peak, name string) ([]sheet.Peak, error) {
	date, err := f.Date()
	if err != nil || len(peaks) == 0 {
		return peaks, err
	}
	left := slices.DeleteFunc(slices.Clone(peaks), func(p sheet.Peak) bool { return p.Date.After(date) })
	switch {
	case len(left) > 0:
		return left, nil
	case f.AsOf == "":
		return nil, sheet.Usef("--peaks: all peaks of %s are of later than today, %s", name, date)
	}
	return nil, sheet.Usef("--as-of: all peaks of %s are of later than %s", name, date)
}

// Newest is a machine with what its visits tell up to the date.
func (f Day) Newest(m *machine.Machine) (*machine.Machine, error) {
	date, err := f.Date()
	if err != nil || m.Several[sheet.VisitTable.Path] == 0 {
		return m, err
	}
	return m.AsOf(date)
}

// DateOf reads the date of a flag.
func DateOf(flag, text string) (sheet.Date, error) {
	d, err := sheet.ParseDate(text)
	if err != nil {
		return d, sheet.Usef("%s: %v", flag, err)
	}
	return d, nil
}
