package answer

import (
	"strconv"
	"testing"

	"springcalc/cmd/springcalc/internal/report"
	"springcalc/tables"
)

// TestTablesAsPrinted: every cell of every table reads as its source prints it,
// and is that number to a program.
func TestTablesAsPrinted(t *testing.T) {
	list, err := Tables(TablesOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(list.Table("tables").Data), len(tables.List()); got != want || want == 0 {
		t.Errorf("%d tables listed, want %d", got, want)
	}
	for _, info := range tables.List() {
		table, err := tables.Get(info.Name)
		if err != nil {
			t.Fatal(err)
		}
		r, err := Tables(TablesOptions{Name: info.Name})
		if err != nil {
			t.Fatal(err)
		}
		data := r.Table("rows").Data
		if len(data) != len(table.Rows) {
			t.Fatalf("%s: %d rows, want %d", info.Name, len(data), len(table.Rows))
		}
		for i, line := range table.Rows {
			for j, text := range line {
				got := ""
				switch cell := data[i][j].(type) {
				case report.Shown:
					got = cell.Text.String()
					if v, err := strconv.ParseFloat(text, 64); err != nil || v != cell.Value {
						t.Errorf("%s: %g for %q", info.Name, cell.Value, text)
					}
				case string:
					got = cell
				}
				if got != text {
					t.Errorf("%s, row %d: %q, want %q", info.Name, i+1, got, text)
				}
			}
		}
	}
	if _, err := Tables(TablesOptions{Name: "no such table"}); err == nil {
		t.Error("no error for a table that is not there")
	}
}
