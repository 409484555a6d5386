package main

import (
	"errors"
	"strconv"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/tables"
)

// tablesCmd shows the published data that the calculations look up.
type tablesCmd struct {
	Name string `arg:"" optional:"" help:"Name of one table; without it, the list of all."`
	output
}

// Help is printed below the summary of the flags.
func (tablesCmd) Help() string {
	return "Lists the published data that the calculations look up, or one table as its source prints it, " +
		"with source, units, range and grade of evidence."
}

// Run answers with the list, or with one table.
func (c *tablesCmd) Run(con *console) error {
	if c.Name == "" {
		return c.write(con.out, listReport())
	}
	t, err := tables.Get(c.Name)
	if errors.Is(err, tables.ErrName) {
		return sheet.Usef("%s", strings.TrimPrefix(err.Error(), "tables: "))
	}
	if err != nil {
		return err
	}
	return c.write(con.out, tableReport(t, c.CSV))
}

// listReport lists all tables.
func listReport() *report {
	t := tableData{Key: "tables", Columns: []column{
		{Key: "name", Head: "name"}, {Key: "title", Head: "what"}, {Key: "grade", Head: "evidence"}}}
	for _, info := range tables.List() {
		t.Data = append(t.Data, []any{info.Name, strings.TrimSuffix(info.Title, "."), string(info.Grade)})
	}
	return &report{Title: "Published data", Tables: []tableData{t}, Main: "tables",
		Notes: []string{"with its name behind the command, a table is shown with its range and how it was obtained"}}
}

// tableReport shows one table, its figures as printed; asText keeps them to
// the letter, trailing zeros and all, where they would else be numbers.
func tableReport(t tables.Table, asText bool) *report {
	data := tableData{Key: "rows", Columns: make([]column, len(t.Header))}
	for i, name := range t.Header {
		data.Columns[i] = column{Key: name, Head: headOf(name)}
	}
	for _, row := range t.Rows {
		cells := make([]any, len(row))
		for i, text := range row {
			cells[i] = printedCell(text, asText)
		}
		data.Data = append(data.Data, cells)
	}
	return &report{
		Title: strings.TrimSuffix(t.Title, "."),
		Rows: []row{
			{Key: "name", Name: "name", Text: t.Name},
			{Key: "source", Name: "source", Text: t.Source},
			{Key: "units", Name: "units", Text: t.Units},
			{Key: "valid", Name: "valid", Text: t.Valid},
			{Key: "obtained", Name: "obtained", Text: t.Obtained},
			{Key: "grade", Name: "evidence", Text: string(t.Grade)},
			{Key: "errata", Name: "errata", Text: t.Errata},
		},
		Tables: []tableData{data},
		Main:   "rows",
	}
}

// headOf turns the name of a column into a heading: "min_ksi" into "min ksi".
func headOf(name string) string { return strings.ReplaceAll(name, "_", " ") }

// printedCell is a figure of a source: a number to a program, its text to a reader.
func printedCell(text string, asText bool) any {
	if text == "" {
		return nil
	}
	if v, err := strconv.ParseFloat(text, 64); err == nil && !asText && quantity.Finite(v) {
		return figure{v, text}
	}
	return text
}
