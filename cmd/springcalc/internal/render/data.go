package render

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strconv"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
)

// keyed is a key with the suffix of its unit: "peak_bar".
func keyed(key string, unit quantity.Display) string {
	if suffix := unit.Suffix(); suffix != "" {
		return key + "_" + suffix
	}
	return key
}

// CSV prints the main table, or the rows, with full precision. Headings carry
// the units.
func CSV(w io.Writer, r *report.Report, o Options) error {
	if err := finiteReport(r); err != nil {
		return err
	}
	t := r.Table(r.Main)
	if t == nil {
		return csvRows(w, r, o)
	}
	heads := make([]string, len(t.Columns))
	units := make([]quantity.Display, len(t.Columns))
	for i, c := range t.Columns {
		units[i], _ = c.Unit.In(o.Family, c.Digits)
		heads[i] = keyed(c.Key, units[i])
	}
	records := [][]string{heads}
	for _, data := range t.Data {
		cells := make([]string, len(data))
		for i, d := range data {
			cells[i] = csvCell(d, units[i], o.Family)
		}
		records = append(records, cells)
	}
	return csv.NewWriter(w).WriteAll(records)
}

func csvCell(d any, unit quantity.Display, f quantity.Family) string {
	switch v := d.(type) {
	case float64:
		return plainNumber(unit, v)
	case report.Shown:
		return plainNumber(v.In(unit, f), v.Value)
	case report.Symbol:
		return symbol(v, f)
	case report.Sentence:
		return v.In(f)
	case string:
		return v
	}
	return ""
}

// symbol is the unit of a number beside it.
func symbol(s report.Symbol, f quantity.Family) string {
	unit, _ := s.Unit.In(f, 0)
	return unit.Symbol
}

// plainNumber is a value [SI] as a number of a unit with all its digits.
func plainNumber(unit quantity.Display, si float64) string {
	return strconv.FormatFloat(unit.Of(si), 'g', -1, 64)
}

// withBeside lists the rows for programs, each followed by the one beside it.
func withBeside(r *report.Report) (rows []report.Row) {
	for _, row := range r.Rows {
		rows = append(rows, row)
		if row.Beside != nil {
			beside := *row.Beside
			beside.Key += "_" + r.Beside
			rows = append(rows, beside)
		}
	}
	return rows
}

// csvRows prints the rows as a table.
func csvRows(w io.Writer, r *report.Report, o Options) error {
	records := [][]string{{"quantity", "value", "unit", "low", "high"}}
	for _, row := range withBeside(r) {
		if row.Text != "" {
			records = append(records, []string{row.Key, row.Text, "", "", ""})
			continue
		}
		unit, _ := row.Unit.In(o.Family, row.Digits)
		line := []string{keyed(row.Key, unit), plainNumber(unit, row.Value), unit.Symbol, "", ""}
		if row.Band != nil {
			line[3], line[4] = plainNumber(unit, row.Band.Low), plainNumber(unit, row.Band.High)
		}
		records = append(records, line)
	}
	return csv.NewWriter(w).WriteAll(records)
}

// JSON prints all of a report as one object: what it is, what was stated, rows
// by key, tables as arrays of objects, and the texts.
func JSON(w io.Writer, r *report.Report, o Options) error {
	object, err := jsonObject(r, o, "")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "%s\n", object)
	return err
}

func jsonObject(r *report.Report, o Options, sheet string) ([]byte, error) {
	if err := finiteReport(r); err != nil {
		return nil, err
	}
	j := jsonWriter{family: o.Family, seen: map[string]bool{}}
	if sheet != "" {
		j.member("sheet", sheet)
	}
	j.member("title", r.Title)
	j.member("command", r.Command)
	j.member("version", o.Version)
	j.member("date", o.Date.Format("2006-01-02"))
	j.member("units", o.Family.String())
	j.input(r.Input)
	for _, row := range withBeside(r) {
		for _, m := range members(row, o.Family) {
			j.member(m.key, m.value)
		}
	}
	for i := range r.Tables {
		j.table(&r.Tables[i])
	}
	j.charts(r.Charts)
	if len(r.Sketches) > 0 {
		j.sketches(r.Sketches)
	}
	j.assumed(r.Assumed)
	j.list("answer", r.Answer)
	j.list("advice", r.Next)
	j.list("doubts", r.Doubts)
	j.list("notes", r.Notes)
	j.array("cautions", len(r.Cautions), func(n int) { j.value(r.Cautions[n]) })
	return append(append([]byte("{\n"), j.buf.Bytes()...), "\n}"...), j.err
}

// jsonWriter keeps the order of the report, which a map would lose.
type jsonWriter struct {
	family quantity.Family
	buf    bytes.Buffer
	seen   map[string]bool
	err    error
}

// name begins a member.
func (j *jsonWriter) name(key string) {
	if j.seen[key] && j.err == nil {
		j.err = fmt.Errorf("report: %q twice", key)
	}
	if len(j.seen) > 0 {
		j.buf.WriteString(",\n")
	}
	j.seen[key] = true
	j.buf.WriteString("  ")
	j.value(key)
	j.buf.WriteString(": ")
}

func (j *jsonWriter) member(key string, v any) {
	j.name(key)
	j.value(v)
}

// value writes a number, a text or null.
func (j *jsonWriter) value(v any) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil && j.err == nil {
		j.err = err
	}
	j.buf.Write(bytes.TrimSuffix(b.Bytes(), []byte("\n")))
}

func (j *jsonWriter) input(list []report.Stated) {
	j.name("input")
	j.object(len(list), func(n int) (string, any) { return list[n].Key, list[n].Text })
}

// object writes n members of an inner object.
func (j *jsonWriter) object(n int, member func(int) (string, any)) {
	j.buf.WriteString("{")
	for i := range n {
		if i > 0 {
			j.buf.WriteString(", ")
		}
		key, v := member(i)
		j.value(key)
		j.buf.WriteString(": ")
		j.value(v)
	}
	j.buf.WriteString("}")
}

// member is a single result for programs.
type member struct {
	key        string
	value      any    // a number in its unit, or a text
	name, unit string // for people
}

// members are what programs get of a row: its value, and how far that may be off.
func members(r report.Row, f quantity.Family) []member {
	if r.Text != "" {
		return []member{{r.Key, r.Text, r.Name, ""}}
	}
	unit, _ := r.Unit.In(f, r.Digits)
	key, symbol := keyed(r.Key, unit), unit.Symbol
	all := []member{{key, unit.Of(r.Value), r.Name, symbol}}
	if r.Band == nil {
		return all
	}
	kind := "its range"
	if r.Band.Std > 0 {
		kind = "its 95 % interval"
	}
	all = append(all, member{key + "_low", unit.Of(r.Band.Low), r.Name + ": lower end of " + kind, symbol},
		member{key + "_high", unit.Of(r.Band.High), r.Name + ": upper end of " + kind, symbol})
	if r.Band.Std > 0 {
		all = append(all, member{key + "_std", unit.Step(r.Band.Std), r.Name + ": standard uncertainty", symbol})
	}
	return all
}

func (j *jsonWriter) table(t *report.Table) {
	line := func(n int) {
		j.object(len(t.Columns), func(i int) (string, any) {
			unit, _ := t.Columns[i].Unit.In(j.family, t.Columns[i].Digits)
			return keyed(t.Columns[i].Key, unit), jsonCell(t.Data[n][i], unit, j.family)
		})
	}
	if t.Single && len(t.Data) == 1 {
		j.name(t.Key)
		line(0)
		return
	}
	j.array(t.Key, len(t.Data), line)
}

func jsonCell(d any, unit quantity.Display, f quantity.Family) any {
	switch v := d.(type) {
	case float64:
		return unit.Of(v)
	case report.Shown:
		return v.In(unit, f).Of(v.Value)
	case report.Symbol:
		return symbol(v, f)
	case report.Sentence:
		return v.In(f)
	}
	return d
}

// chartData, seriesData and areaData are a chart for programs.
type (
	chartData struct {
		Key    string         `json:"key"`
		Name   string         `json:"name"`
		Unit   string         `json:"unit"`
		XName  string         `json:"x_name"`
		XUnit  string         `json:"x_unit"`
		Series []seriesData   `json:"series"`
		Band   *areaData      `json:"band,omitempty"`
		Marks  []markData     `json:"marks,omitempty"`
		Ends   *report.Ending `json:"ends,omitempty"`
		Top    float64        `json:"top,omitempty"` // [unit of the chart]
		Beyond string         `json:"beyond,omitempty"`
		Zero   bool           `json:"zero"` // both axes begin at zero or below
	}
	seriesData struct {
		Name  string    `json:"name"`
		Style string    `json:"style"` // "line", "dashed" or "points"
		X     []float64 `json:"x"`     // [x unit of the chart]
		Y     []float64 `json:"y"`     // [unit of the chart]
	}
	areaData struct {
		Name string    `json:"name"`
		X    []float64 `json:"x"`    // [x unit of the chart]
		Low  []float64 `json:"low"`  // [unit of the chart]
		High []float64 `json:"high"` // [unit of the chart]
	}
	markData struct {
		Name string  `json:"name"`
		X    float64 `json:"x"` // [x unit of the chart]
	}
)

// ChartData is a chart in a family of units, to be encoded as JSON.
func ChartData(c report.Chart, f quantity.Family) any {
	c, x, y := c.In(f)
	d := chartData{Key: c.Key, Name: c.Name, Unit: y.Symbol, XName: c.XName, XUnit: x.Symbol, Ends: c.Ends, Top: c.Top, Beyond: c.Beyond, Zero: c.Zero}
	for _, s := range c.Series {
		style := "line"
		switch {
		case s.Points:
			style = "points"
		case s.Dashed:
			style = "dashed"
		}
		d.Series = append(d.Series, seriesData{s.Name, style, s.X, s.Y})
	}
	if c.Band != nil {
		d.Band = (*areaData)(c.Band)
	}
	for _, m := range c.Marks {
		d.Marks = append(d.Marks, markData{m.Name, m.X})
	}
	return d
}

// charts writes the curves, which are more than the main table has.
func (j *jsonWriter) charts(list []report.Chart) {
	j.array("charts", len(list), func(n int) { j.value(ChartData(list[n], j.family)) })
}

// sketches writes the springs that are drawn to scale.
func (j *jsonWriter) sketches(list []report.Sketch) {
	mm, _ := quantity.InMM.In(j.family, 0)
	n, _ := quantity.InN.In(j.family, 0)
	j.array("sketches", len(list), func(i int) {
		s := list[i]
		states := make([]map[string]any, len(s.Lengths))
		for k, l := range s.Lengths {
			states[k] = map[string]any{"name": l.Name, "symbol": l.Symbol, keyed("length", mm): mm.Of(l.Length), keyed("force", n): n.Of(l.Force)}
		}
		j.value(map[string]any{"key": s.Key, "name": s.Name, keyed("wire", mm): mm.Of(s.Wire), keyed("outside_diameter", mm): mm.Of(s.Outside),
			"active_coils": s.Active, "total_coils": s.Total, "ground": s.Ground, "lengths": states})
	})
}

// assumed lists what was assumed, in the units of its keys.
func (j *jsonWriter) assumed(list []report.Assumed) {
	j.array("assumed", len(list), func(n int) {
		a := list[n]
		texts := []string{"key", a.Key, "value", "", "low", "", "high", "", "basis", a.Basis, "source", a.Source}
		for i, v := range []float64{a.Value, a.Low, a.High} {
			if a.Dim != nil {
				texts[3+2*i] = quantity.BriefIn(j.family, v, a.Value, a.Dim)
			} else {
				texts[3+2*i] = strconv.FormatFloat(v, 'g', 4, 64)
			}
		}
		j.object(len(texts)/2, func(i int) (string, any) { return texts[2*i], texts[2*i+1] })
	})
}

func (j *jsonWriter) list(key string, list []report.Sentence) {
	j.array(key, len(list), func(n int) { j.value(sentence(list[n].In(j.family))) })
}

// array writes n elements, a line each.
func (j *jsonWriter) array(key string, n int, element func(int)) {
	j.name(key)
	j.buf.WriteString("[")
	for i := range n {
		if i > 0 {
			j.buf.WriteString(",")
		}
		j.buf.WriteString("\n    ")
		element(i)
	}
	if n > 0 {
		j.buf.WriteString("\n  ")
	}
	j.buf.WriteString("]")
}
