package main

import (
	"fmt"
	"strings"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/flags"
	"springcalc/cmd/springcalc/internal/render"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
)

// sheetCmd prints or writes a blank sheet.
type sheetCmd struct {
	File  string `arg:"" optional:"" help:"File to write; it must not exist yet."`
	Check string `placeholder:"SHEET" help:"Instead, read a sheet, say what is wrong with it or print what it says and what is assumed beside."`
	From  string `placeholder:"SHEET" help:"Begin from the sheet of another machine of the kind: what differs from one to the next is left empty."`
	flags.Input
}

// Help is shown by "springcalc sheet --help".
func (sheetCmd) Help() string {
	return "The sheet is a text file (TOML) that you fill in: a caliper, a scale and the machine's gauge give most of it. " +
		"Every value is a number with its unit, metric or inch, and may say what it could be off by: \"4.00 mm ± 0.02 mm\"."
}

// Run never overwrites a file.
func (c *sheetCmd) Run(con *flags.Console) error {
	switch {
	case c.Check == "" && len(c.Set) > 0:
		return sheet.Usef("--set needs --check SHEET here")
	case c.Check != "" && c.From != "":
		return sheet.Usef("--check reads a sheet and --from begins one; give one of them")
	case c.Check != "" && c.File != "":
		return sheet.Usef("--check SHEET writes no file; leave %s out", c.File)
	case c.Check != "":
		return c.check(con)
	case c.File == "-":
		return sheet.Usef("\"-\" is no name of a file; leave it out to have the sheet printed")
	}
	text := []byte(sheet.Blank())
	if c.From != "" {
		name, data, err := con.Read(c.From)
		if err != nil {
			return err
		}
		if text, err = sheet.Kin(name, data); err != nil {
			return err
		}
	}
	if c.File == "" {
		_, err := con.Out.Write(text)
		return err
	}
	if err := flags.WriteNew(flags.NewFile{Path: c.File, Data: text}); err != nil {
		return err
	}
	_, err := fmt.Fprintf(con.Out, "wrote %s\n", c.File)
	return err
}

// check prints a sheet as it was understood.
func (c *sheetCmd) check(con *flags.Console) error {
	from, err := c.Source(con, c.Check)
	if err != nil {
		return err
	}
	m, err := from.Machine(nil)
	if err != nil {
		return err
	}
	if said := m.Overridden(); len(said) > 0 { // no sheet states both
		return sheet.Usef("%s; that is for one answer, a sheet states one or the other", said[0])
	}
	fmt.Fprint(con.Out, m.Sheet)
	comments := func(title string, texts []string) {
		if len(texts) > 0 {
			fmt.Fprint(con.Out, "\n# "+title+":\n")
		}
		for _, text := range texts {
			fmt.Fprint(con.Out, sheet.Commented(strings.Join(words.Wrap(text, words.LineWidth-4), "\n  ")))
		}
	}
	comments("Not stated, so assumed", render.Assumed(answer.Assumed(m), m.Family()))
	comments("How words and units were read", m.Remarks)
	return nil
}
