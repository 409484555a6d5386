package answer

import (
	"errors"
	"strconv"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/tables"
)

// TablesOptions say which of the published tables is wanted.
type TablesOptions struct {
	Name string // of one table; "" for the list of all
}

// Tables shows the published data that the calculations look up.
func Tables(o TablesOptions) (*report.Report, error) {
	if o.Name == "" {
		return listOfTables(), nil
	}
	t, err := tables.Get(o.Name)
	if errors.Is(err, tables.ErrName) {
		return nil, sheet.Usef("%s", strings.TrimPrefix(err.Error(), "tables: "))
	}
	if err != nil {
		return nil, err
	}
	return oneTable(t), nil
}

// listOfTables lists all tables.
func listOfTables() *report.Report {
	t := report.Table{Key: "tables", Short: true, Columns: []report.Column{
		{Key: "name", Head: "name"}, {Key: "title", Head: "what"}, {Key: "basis", Head: "basis"}}}
	for _, info := range tables.List() {
		t.Data = append(t.Data, []any{info.Name, strings.TrimSuffix(info.Title, "."), string(info.Grade)})
	}
	r := &report.Report{Command: "tables", Title: "Published data", Tables: []report.Table{t}, Main: "tables"}
	r.Note("with its name behind the command, a table is shown with its range and how it was obtained")
	return r
}

// tableRows are what is told of a table; all of it is words.
var tableRows = []report.Def[tables.Table]{
	{Key: "name", Name: "name", Text: func(t *tables.Table) string { return t.Name }, Short: true},
	{Key: "source", Name: "source", Text: func(t *tables.Table) string { return t.Source }, Short: true},
	{Key: "printed_units", Name: "units", Text: func(t *tables.Table) string { return t.Units }, Short: true},
	{Key: "valid", Name: "valid", Text: func(t *tables.Table) string { return t.Valid }, Short: true},
	{Key: "obtained", Name: "obtained", Text: func(t *tables.Table) string { return t.Obtained }},
	{Key: "basis", Name: "basis", Text: func(t *tables.Table) string { return string(t.Grade) }, Short: true},
	{Key: "errata", Name: "errata", Text: func(t *tables.Table) string { return t.Errata }},
}

// oneTable shows one table, its figures as printed. They keep the units of
// their source, in every family.
func oneTable(t tables.Table) *report.Report {
	data := report.Table{Key: "rows", Short: true}
	for _, name := range t.Header {
		data.Columns = append(data.Columns, report.Column{Key: name, Head: strings.ReplaceAll(name, "_", " ")})
	}
	for _, line := range t.Rows {
		cells := make([]any, len(line))
		for i, text := range line {
			cells[i] = printedCell(text)
		}
		data.Data = append(data.Data, cells)
	}
	r := &report.Report{Command: "tables", Title: strings.TrimSuffix(t.Title, "."),
		Tables: []report.Table{data}, Main: "rows"}
	for _, row := range report.Rows(tableRows, &t) {
		if row.Text != "" {
			r.Rows = append(r.Rows, row)
		}
	}
	return r
}

// printedCell is a figure of a source: a number to a program, its text to the
// letter, trailing zeros and all, to a reader.
func printedCell(text string) any {
	if text == "" {
		return nil
	}
	if v, err := strconv.ParseFloat(text, 64); err == nil && quantity.Finite(v) {
		return report.Shown{Value: v, Text: report.Plain(text)}
	}
	return text
}
