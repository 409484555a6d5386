package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
)

// output is the flags of every command that answers with a report.
type output struct {
	JSON     bool `name:"json" xor:"format" help:"Answer as JSON, units in the names."`
	CSV      bool `name:"csv" xor:"format" help:"Answer as CSV: the main table alone."`
	Markdown bool `name:"markdown" xor:"format" help:"Answer as Markdown, for a service record."`
}

// write prints one report.
func (o output) write(w io.Writer, r *report) error {
	switch {
	case o.JSON:
		object, err := jsonObject(r)
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(w, "%s\n", object)
		return err
	case o.CSV:
		return writeCSV(w, r)
	}
	return writeText(w, r, o.Markdown)
}

// writeText prints a report for reading, on a terminal or in Markdown.
func writeText(w io.Writer, r *report, markdown bool) error {
	p := printer{markdown: markdown}
	if r.Title != "" {
		p.heading(r.Title, 1)
	}
	switch {
	case r.Summary != nil:
		p.grid(r.Summary.grid())
	case len(r.Rows) > 0:
		p.grid(r.rowGrid())
	}
	for _, c := range r.Charts {
		p.chart(c)
	}
	for i := range r.Tables {
		if t := &r.Tables[i]; !t.DataOnly && len(t.Data) > 0 {
			p.heading(t.Title, 2)
			if g := t.grid(); !markdown && (g.width() > 2*words.LineWidth || g.narrowest() > words.LineWidth) {
				p.records(g)
			} else {
				p.grid(g)
			}
		}
	}
	p.list("Defaults used", r.Defaults)
	p.list("Doubts", r.Doubts)
	p.list("Notes", r.Notes)
	p.list("Cautions", r.Cautions)
	if p.Err != nil {
		return p.Err
	}
	_, err := w.Write(append(bytes.TrimSpace(p.buf.Bytes()), '\n'))
	return err
}

// printer collects a report for reading.
type printer struct {
	buf      bytes.Buffer
	markdown bool
	Err      error
}

func (p *printer) heading(text string, level int) {
	switch {
	case text == "":
		if !bytes.HasSuffix(p.buf.Bytes(), []byte("\n\n")) {
			p.buf.WriteString("\n")
		}
	case p.markdown:
		fmt.Fprintf(&p.buf, "\n%s %s\n\n", strings.Repeat("#", level), text)
	default:
		fmt.Fprintf(&p.buf, "\n%s\n", strings.Join(words.Wrap(text, words.LineWidth), "\n"))
		if level == 1 {
			p.buf.WriteString("\n")
		}
	}
}

func (p *printer) chart(c chart) {
	drawn := c.draw(words.LineWidth)
	if p.markdown {
		drawn = "```\n" + drawn + "```\n"
	}
	p.buf.WriteString("\n" + drawn)
}

func (p *printer) list(title string, texts []string) {
	if len(texts) == 0 {
		return
	}
	p.heading(title, 2)
	for _, t := range texts {
		lines := words.Wrap(sentence(t), words.LineWidth-2)
		p.buf.WriteString("- " + strings.Join(lines, "\n  ") + "\n")
	}
}

// sentence gives a text its capital and its full stop, where it has none.
func sentence(text string) string {
	first, rest, _ := strings.Cut(text, " ")
	if r, n := utf8.DecodeRuneInString(first); !strings.ContainsAny(first, "._-/") && rest != "" {
		text = string(unicode.ToUpper(r)) + text[n:]
	}
	if r, _ := utf8.DecodeLastRuneInString(text); unicode.IsLetter(r) || unicode.IsNumber(r) || strings.ContainsRune(")%\"'", r) {
		text += "."
	}
	return text
}

// records prints a table that is far too wide row by row: the first cell, and
// below it the others with their headings.
func (p *printer) records(g grid) {
	for _, r := range g.rows {
		var parts []string
		for i, cell := range r[1:] {
			if cell != "" {
				parts = append(parts, g.heads[i+1]+" "+cell)
			}
		}
		p.buf.WriteString(r[0] + "\n  " + strings.Join(words.Wrap(strings.Join(parts, "; "), words.LineWidth-2), "\n  ") + "\n")
	}
}

func (p *printer) grid(g grid) {
	if err := g.write(&p.buf, p.markdown); err != nil && p.Err == nil {
		p.Err = err
	}
}

// grid is a table of text: the only form in which tablewriter sees anything.
type grid struct {
	heads []string
	left  []bool // columns that line up on the left
	rows  [][]string
}

// withoutEmpty drops columns that no row fills.
func (g grid) withoutEmpty() grid {
	var out grid
	out.rows = make([][]string, len(g.rows))
	for i := range g.heads {
		filled := false
		for _, r := range g.rows {
			filled = filled || r[i] != ""
		}
		if !filled {
			continue
		}
		out.heads, out.left = append(out.heads, g.heads[i]), append(out.left, g.left[i])
		for j, r := range g.rows {
			out.rows[j] = append(out.rows[j], r[i])
		}
	}
	return out
}

// width is that of the longest line when nothing is wrapped.
func (g grid) width() int { return lineOver(g.widest(utf8.RuneCountInString)) }

// narrowest is what the longest line can be wrapped to.
func (g grid) narrowest() int { return lineOver(g.widest(longestWord)) }

// widest measures the widest cell of each column.
func (g grid) widest(measure func(string) int) []int {
	widths := make([]int, len(g.heads))
	for i, head := range g.heads {
		widths[i] = measure(head)
		for _, r := range g.rows {
			widths[i] = max(widths[i], measure(r[i]))
		}
	}
	return widths
}

// lineOver is the length of a line of columns with gaps between them.
func lineOver(widths []int) int {
	total := -len(gap)
	for _, w := range widths {
		total += w + len(gap)
	}
	return total
}

// fit wraps the widest columns until lines are no longer than a width.
func (g grid) Fit(width int) {
	limits, least := g.widest(utf8.RuneCountInString), g.widest(longestWord)
	total := lineOver(limits)
	for ; total > width; total-- {
		widest := -1
		for i := range limits {
			if limits[i] > least[i] && (widest < 0 || limits[i] >= limits[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			break // it does not get narrower
		}
		limits[widest]--
	}
	for _, r := range append(g.rows, g.heads) {
		for i := range r {
			if utf8.RuneCountInString(r[i]) > limits[i] {
				r[i] = strings.Join(words.Wrap(r[i], limits[i]), "\n")
			}
		}
	}
}

// longestWord returns the length of what cannot be wrapped.
func longestWord(text string) (length int) {
	for word := range strings.FieldsSeq(text) {
		length = max(length, utf8.RuneCountInString(word))
	}
	return length
}

// gap stands between columns.
const gap = "  "

// write renders a grid with tablewriter, whose automatic formatting would
// print "N/mm" as "N / MM".
func (g grid) write(w *bytes.Buffer, markdown bool) error {
	align := make([]tw.Align, len(g.left))
	for i, left := range g.left {
		align[i] = tw.AlignRight
		if left {
			align[i] = tw.AlignLeft
		}
	}
	cells := tw.CellConfig{
		Formatting: tw.CellFormatting{AutoFormat: tw.Off, AutoWrap: tw.WrapNone},
		Alignment:  tw.CellAlignment{PerColumn: align},
	}
	var options []tablewriter.Option
	if markdown {
		g.escape()
		options = append(options, tablewriter.WithRenderer(renderer.NewMarkdown()))
	} else {
		g.Fit(words.LineWidth)
		cells.Padding.PerColumn = slices.Repeat([]tw.Padding{{Right: gap, Overwrite: true}}, len(g.heads)-1)
		cells.Padding.PerColumn = append(cells.Padding.PerColumn, tw.PaddingNone)
		options = append(options, tablewriter.WithRendition(tw.Rendition{
			Borders: tw.BorderNone,
			Symbols: tw.NewSymbols(tw.StyleASCII),
			Settings: tw.Settings{
				Separators: tw.Separators{BetweenColumns: tw.Off, BetweenRows: tw.Off},
				Lines:      tw.Lines{ShowHeaderLine: tw.On},
			},
		}))
	}
	options = append(options, tablewriter.WithConfig(tablewriter.Config{Header: cells, Row: cells}),
		tablewriter.WithTrimSpace(tw.Off))

	var out bytes.Buffer
	t := tablewriter.NewTable(&out, options...)
	t.Header(g.heads)
	if err := t.Bulk(g.rows); err != nil {
		return err
	}
	if err := t.Render(); err != nil {
		return err
	}
	w.WriteString(words.TrimLines(out.String()))
	return nil
}

// escape makes cells safe for Markdown, which tablewriter does not.
func (g grid) escape() {
	for _, r := range g.rows {
		for i, c := range r {
			r[i] = strings.NewReplacer("|", `\|`, "\n", " ").Replace(c)
		}
	}
}

// writeCSV prints the main table, or the rows, with full precision.
func writeCSV(w io.Writer, r *report) error {
	t := r.table(r.Main)
	switch {
	case t != nil:
	case r.Summary != nil:
		t = r.Summary
	default:
		t = r.rowTable()
	}
	out := csv.NewWriter(w)
	heads := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = c.Key
	}
	records := [][]string{heads}
	for _, data := range t.Data {
		cells := make([]string, len(data))
		for i, d := range data {
			if f, ok := d.(figure); ok {
				d = f.Value
			}
			switch v := d.(type) {
			case float64:
				if !quantity.Finite(v) {
					return fmt.Errorf("no answer: %s is not a finite number", t.Columns[i].Key)
				}
				cells[i] = strconv.FormatFloat(v, 'g', -1, 64)
			case string:
				cells[i] = v
			}
		}
		records = append(records, cells)
	}
	return out.WriteAll(records)
}

// rowTable is the rows as a table, for CSV.
func (r *report) rowTable() *tableData {
	t := &tableData{Columns: []column{{Key: "quantity"}, {Key: "value"}, {Key: "unit"}, {Key: "low"}, {Key: "high"}}}
	for _, row := range r.Rows {
		line := []any{row.Key, row.Value, row.Unit, nil, nil}
		if row.Text != "" {
			line[1] = row.Text
		}
		if row.Band != nil {
			line[3], line[4] = row.Band.Low, row.Band.High
		}
		t.Data = append(t.Data, line)
	}
	return t
}

// jsonObject is a report as one object: rows by key, then tables as arrays of
// objects, a line each, then the lists.
func jsonObject(r *report) ([]byte, error) {
	j := jsonWriter{seen: map[string]bool{}}
	j.member("title", r.Title)
	for _, row := range r.Rows {
		if row.Text != "" {
			j.member(row.Key, row.Text)
			continue
		}
		j.member(row.Key, row.Value)
		if row.Band != nil {
			j.member(row.Key+"_low", row.Band.Low)
			j.member(row.Key+"_high", row.Band.High)
			if row.Band.Std > 0 {
				j.member(row.Key+"_std", row.Band.Std)
			}
		}
	}
	for i := range r.Tables {
		j.table(&r.Tables[i])
	}
	j.list("doubts", r.Doubts)
	j.list("notes", r.Notes)
	j.list("cautions", r.Cautions)
	return append(append([]byte("{\n"), j.buf.Bytes()...), "\n}"...), j.Err
}

// jsonWriter keeps the order of the report, which a map would lose.
type jsonWriter struct {
	buf  bytes.Buffer
	seen map[string]bool
	Err  error
}

// name begins a member.
func (j *jsonWriter) Name(key string) {
	if j.seen[key] && j.Err == nil {
		j.Err = fmt.Errorf("report: %q twice", key)
	}
	if len(j.seen) > 0 {
		j.buf.WriteString(",\n")
	}
	j.seen[key] = true
	j.buf.WriteString("  ")
	j.Value(key, key)
	j.buf.WriteString(": ")
}

func (j *jsonWriter) member(key string, v any) {
	j.Name(key)
	j.Value(key, v)
}

// value writes a number, a text or null.
func (j *jsonWriter) Value(key string, v any) {
	if f, ok := v.(figure); ok {
		v = f.Value
	}
	if f, ok := v.(float64); ok && !quantity.Finite(f) {
		if j.Err == nil {
			j.Err = fmt.Errorf("no answer: %s is not a finite number", key)
		}
		return
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil && j.Err == nil {
		j.Err = err
	}
	j.buf.Write(bytes.TrimSuffix(b.Bytes(), []byte("\n")))
}

func (j *jsonWriter) table(t *tableData) {
	j.array(t.Key, len(t.Data), func(n int) {
		for i, cell := range t.Data[n] {
			j.buf.WriteString(map[bool]string{true: "{", false: ", "}[i == 0])
			j.Value(t.Columns[i].Key, t.Columns[i].Key)
			j.buf.WriteString(": ")
			j.Value(t.Columns[i].Key, cell)
		}
		j.buf.WriteString("}")
	})
}

func (j *jsonWriter) list(key string, texts []string) {
	j.array(key, len(texts), func(n int) { j.Value(key, sentence(texts[n])) })
}

// array writes n elements, a line each.
func (j *jsonWriter) array(key string, n int, element func(int)) {
	j.Name(key)
	j.buf.WriteString("[")
	for i := range n {
		j.buf.WriteString(map[bool]string{true: "\n    ", false: ",\n    "}[i == 0])
		element(i)
	}
	if n > 0 {
		j.buf.WriteString("\n  ")
	}
	j.buf.WriteString("]")
}
