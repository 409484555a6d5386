package main

import "springcalc/cmd/springcalc/internal/answer"

// tablesCmd shows the published data that the calculations look up.
type tablesCmd struct {
	Name string `arg:"" optional:"" help:"Name of one table; without it, the list of all."`
	renderFlags
}

// Help is printed below the summary of the flags.
func (tablesCmd) Help() string {
	return "Lists the published data that the calculations look up, or one table as its source prints it, " +
		"with source, units, range and basis."
}

// Run answers with the list, or with one table.
func (c *tablesCmd) Run(con *console) error {
	r, err := answer.Tables(answer.TablesOptions{Name: c.Name})
	if err != nil {
		return err
	}
	return c.write(con.out, r)
}
