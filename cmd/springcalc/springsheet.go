package main

import (
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/spring"
)

// springCmd describes the springs of a machine, or one given by flags.
type springCmd struct {
	Path string `arg:"" optional:"" name:"sheet" help:"Machine sheet, of which only the springs and the stroke matter; \"-\" for standard input; none for the spring of the flags, or the demo machine."`
	springFlags
	machineFlags
	springUse
	Bench string `placeholder:"FILE.csv" help:"Loads measured at some lengths of the spring alone: a header such as \"length mm, load N\", then a reading a line."`
	output
}

// springFlags are the spring itself, in place of a sheet or of values in it.
type springFlags struct {
	Wire            string `group:"The spring:" placeholder:"LENGTH" help:"Wire diameter, such as \"7 mm ± 0.02 mm\"."`
	CoilDiameter    string `group:"The spring:" placeholder:"LENGTH" help:"Mean diameter of the coils; or one of the next two."`
	OutsideDiameter string `group:"The spring:" placeholder:"LENGTH" help:"Diameter over the coils."`
	InsideDiameter  string `group:"The spring:" placeholder:"LENGTH" help:"Diameter inside the coils."`
	ActiveCoils     string `group:"The spring:" placeholder:"N" help:"Coils that move; or the next."`
	TotalCoils      string `group:"The spring:" placeholder:"N" help:"All coils, from wire end to wire end."`
	Ends            string `group:"The spring:" placeholder:"ENDS" help:"plain, \"plain and ground\", closed or \"closed and ground\"."`
	Grade           string `group:"The spring:" placeholder:"GRADE" help:"Grade of the wire, such as A228 or \"EN 10270-1 SH\"; or the next."`
	ModulusRatio    string `group:"The spring:" placeholder:"NUMBER" help:"Shear modulus of the wire over the published one of its grade."`
	ShearModulus    string `group:"The spring:" placeholder:"STRESS" help:"Shear modulus of the wire."`
	FreeLength      string `group:"The spring:" placeholder:"LENGTH" help:"Length with no load."`
	InstalledLength string `group:"The spring:" placeholder:"LENGTH" help:"Length with the piston at rest."`
	Temperature     string `group:"The spring:" placeholder:"TEMPERATURE" help:"Temperature of the spring at work."`
	Stroke          string `group:"The spring:" placeholder:"LENGTH" help:"Travel from rest to cocked."`
}

// springUse is how the spring is judged and how much it is used.
type springUse struct {
	Method      string  `enum:"both,EN 13906-1,Shigley" default:"both" placeholder:"METHOD" help:"Stresses and their limits by \"EN 13906-1\", by Shigley, or both, each by itself."`
	Peened      bool    `help:"The wire was shot peened."`
	Guided      bool    `help:"A rod or bore guides the spring over its whole length."`
	PullsPerDay float64 `placeholder:"N" help:"Pulls of the lever on a day, for the share of its life that the spring has used."` // [1/day]
	Years       float64 `placeholder:"N" help:"Years of use, for the same."`                                                      // [years]

	pulls float64 // how often the spring was cocked, 0 where that is not stated [-]
}

// Help is printed below the summary of the flags.
func (springCmd) Help() string {
	return "A spring sheet: dimensions, rate and loads, stress with the allowable that belongs to it, clearance, " +
		"buckling, fatigue, relaxation, tolerances of a new one, and what to doubt. " +
		"With --bench, how far the spring is from what the sheet says."
}

// Run answers with one spring sheet.
func (c *springCmd) Run(con *console) error {
	if err := c.count(); err != nil {
		return err
	}
	m, springs, err := c.springs(con)
	if err != nil {
		return err
	}
	r := springReport(m, springs, c.springUse)
	if c.Bench != "" {
		points, err := sheet.ReadBench(c.Bench)
		if err != nil {
			return err
		}
		bench, err := spring.FitBench(points)
		if err != nil {
			return fmt.Errorf("%s: %s", c.Bench, machine.WithoutPackage(err))
		}
		addBench(r, springs, bench)
	}
	return c.write(con.out, r)
}

// daysPerYear is how often a lever in daily use is used.
const daysPerYear = 365

// count counts the pulls.
func (u *springUse) count() (err error) {
	if (u.PullsPerDay == 0) != (u.Years == 0) {
		return sheet.Usef("--pulls-per-day and --years are given together")
	}
	u.pulls, err = spring.Use{PullsPerDay: u.PullsPerDay, DaysPerYear: daysPerYear, Years: u.Years}.Cycles()
	if err != nil {
		return sheet.Usef("%s", machine.WithoutPackage(err))
	}
	return nil
}

// springs reads what a sheet and flags say of the springs. The rest of a machine
// need not be stated.
func (c *springCmd) springs(con *console) (*machine.Machine, []member, error) {
	name, data := "the flags", []byte(nil)
	if c.Path != "" || len(c.springFlags.values()) == 0 {
		var err error
		if name, data, err = con.read(c.Path); err != nil {
			return nil, nil, err
		}
	}
	s, err := sheet.ParseSheet(name, data, c.Set)
	if err != nil {
		return nil, nil, err
	}
	if err := c.springFlags.putInto(s); err != nil {
		return nil, nil, err
	}
	s.CheckSprings()
	s.Need("piston", "stroke")
	if err := s.Faults.Err(); err != nil {
		if data == nil {
			nameFlags(s)
			err = sheet.Usef("%v", err)
		}
		return nil, nil, err
	}
	m := &machine.Machine{Sheet: s}
	springs := members(m)
	return m, springs, m.Faults.Err()
}

// flagValue is the text of one flag, in place of the value of a key.
type flagValue struct {
	Flag, Path, Text string
}

// values returns the flags that were given.
func (f *springFlags) values() []flagValue {
	return slices.DeleteFunc(f.all(), func(v flagValue) bool { return v.Text == "" })
}

func (f *springFlags) all() []flagValue {
	return []flagValue{
		{"--wire", "spring.wire", f.Wire},
		{"--coil-diameter", "spring.coil_diameter", f.CoilDiameter},
		{"--outside-diameter", "spring.outside_diameter", f.OutsideDiameter},
		{"--inside-diameter", "spring.inside_diameter", f.InsideDiameter},
		{"--active-coils", "spring.active_coils", f.ActiveCoils},
		{"--total-coils", "spring.total_coils", f.TotalCoils},
		{"--ends", "spring.ends", f.Ends},
		{"--grade", "spring.grade", f.Grade},
		{"--modulus-ratio", "spring.modulus_ratio", f.ModulusRatio},
		{"--shear-modulus", "spring.shear_modulus", f.ShearModulus},
		{"--free-length", "spring.free_length", f.FreeLength},
		{"--installed-length", "spring.installed_length", f.InstalledLength},
		{"--temperature", "spring.temperature", f.Temperature},
		{"--stroke", "piston.stroke", f.Stroke},
	}
}

// nameFlags makes faults of a sheet that is flags only speak of the flags.
func nameFlags(s *sheet.Sheet) {
	var names []string
	flags := map[string]string{}
	for _, v := range new(springFlags).all() {
		_, name := sheet.SplitPath(v.Path)
		names = append(names, name, v.Flag)
		flags[v.Path] = v.Flag
	}
	toFlags := strings.NewReplacer(names...)
	for i := range s.Faults {
		f := &s.Faults[i]
		if flag := flags[f.Key]; flag != "" && f.At.Line == 0 {
			f.At.Flag = flag
			if choice, ok := strings.CutPrefix(f.Text, "missing; give one of "); ok {
				f.Text = "missing; give one of " + toFlags.Replace(choice)
			}
		}
	}
}

// putInto puts the flags in place of what a sheet says. A flag that cannot be
// read is wrong use.
func (f *springFlags) putInto(s *sheet.Sheet) error {
	before := len(s.Faults)
	for _, v := range f.values() {
		s.Forget(v.Path)
		s.Set(v.Path, sheet.Entry{Key: sheet.FindKey(v.Path), Shown: v.Path, At: sheet.Place{Flag: v.Flag}}, v.Text)
	}
	if len(s.Faults) > 0 && before == 0 {
		return sheet.Usef("%v", s.Faults.Err())
	}
	return nil
}
