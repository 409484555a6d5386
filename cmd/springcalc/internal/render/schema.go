package render

import (
	_ "embed"
	"encoding/json"
	"io"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
)

// schemaBase is what all answers as JSON have in common.
//
//go:embed schema.json
var schemaBase []byte

// Schema prints the JSON schema (draft 2020-12) of what JSON prints of a report: what
// all answers have, and this one's results and tables with their names and units.
func Schema(w io.Writer, r *report.Report, o Options) error {
	var schema map[string]any
	if err := json.Unmarshal(schemaBase, &schema); err != nil {
		panic(err) // ours
	}
	properties, required := schema["properties"].(map[string]any), schema["required"].([]any)
	properties["command"] = map[string]any{"const": r.Command}
	for _, row := range withBeside(r) {
		for _, m := range members(row, o.Family) {
			properties[m.key] = described(typesOf(m.value), m.name, m.unit)
			required = append(required, m.key)
		}
	}
	for i := range r.Tables {
		t := &r.Tables[i]
		properties[t.Key] = tableSchema(t, o.Family)
		required = append(required, t.Key)
	}
	schema["required"] = required
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(schema)
}

// described is the schema of a value.
func described(types []any, name, unit string) map[string]any {
	if unit != "" {
		name += ", " + unit
	}
	return map[string]any{"type": types, "description": name}
}

// typesOf is the type of a value as JSON, in a list.
func typesOf(v any) []any {
	switch v.(type) {
	case nil:
		return []any{"null"}
	case string:
		return []any{"string"}
	case bool:
		return []any{"boolean"}
	}
	return []any{"number"}
}

// tableSchema is the schema of a table. Any of its cells may be empty.
func tableSchema(t *report.Table, f quantity.Family) map[string]any {
	properties, required := map[string]any{}, []any{}
	for i, c := range t.Columns {
		unit, _ := c.Unit.In(f, c.Digits)
		types := []any{"null"}
		if unit.Symbol != "" {
			types = append(types, "number")
		}
		for _, line := range t.Data {
			if of := typesOf(jsonCell(line[i], unit, f)); !slices.Contains(types, of[0]) {
				types = append(types, of[0])
			}
		}
		key := keyed(c.Key, unit)
		properties[key] = described(types, c.Head, unit.Symbol)
		required = append(required, key)
	}
	line := map[string]any{"type": "object", "properties": properties, "required": required, "additionalProperties": false}
	if t.Single && len(t.Data) == 1 {
		return line
	}
	return map[string]any{"type": "array", "description": t.Title, "items": line}
}
