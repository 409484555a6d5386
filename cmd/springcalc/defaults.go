package main

import (
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
)

// addDefaults lists the defaults in a report: as text for reading, as a table for programs.
func addDefaults(m *machine.Machine, r *report) {
	t := tableData{Key: "defaults", DataOnly: true, Columns: []column{
		{Key: "key"}, {Key: "value"}, {Key: "low"}, {Key: "high"}, {Key: "grade"}, {Key: "source"}}}
	for _, d := range m.Defaults {
		dim := sheet.FindKey(d.Key).Dim
		value, low, high := quantity.Brief(d.Value, d.Value, dim), quantity.Brief(d.Low, d.Value, dim), quantity.Brief(d.High, d.Value, dim)
		t.Data = append(t.Data, []any{d.Key, value, low, high, string(d.Grade), d.Source})
		text := d.Key + " = " + value
		if d.Low != d.High {
			text += " (" + low + " to " + high + ")"
		}
		source := d.Source
		if !strings.HasSuffix(source, string(d.Grade)) {
			source += " (" + string(d.Grade) + ")"
		}
		r.Defaults = append(r.Defaults, text+": "+source)
	}
	r.Tables = append(r.Tables, t)
}
