package main

import (
	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/flags"
)

// tablesCmd shows the published data that the calculations look up.
type tablesCmd struct {
	Name string `arg:"" optional:"" help:"Name of one table; without it, the list of all."`
	flags.Output
}

// Help is printed below the summary of the flags.
func (tablesCmd) Help() string {
	return "Lists the published data that the calculations look up, or one table as its flags.Source prints it, " +
		"with source, units, range and basis."
}

// Run answers with the list, or with one table.
func (c *tablesCmd) Run(con *flags.Console) error {
	r, err := answer.Tables(answer.TablesOptions{Name: c.Name})
	if err != nil {
		return err
	}
	return c.Write(con.Out, r)
}
