// Package render prints reports: for reading on a terminal, in Markdown for a
// service record, as JSON and CSV for programs. All of them print the same rows;
// units are chosen here and nowhere before. None prints a number that is not
// finite, and each escapes what others wrote in its own way.
package render

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/words"
)

// Options are how to print.
type Options struct {
	Family  quantity.Family
	Full    bool      // all there is, not the short answer
	NoChart bool      // no charts
	Version string    // of the program
	Date    time.Time // of the answer
	Line    string    // the command line that gives this answer; "" where it is not known
}

// screen is how many lines a short answer has at most.
const screen = 35

// printer collects a report for reading.
type printer struct {
	Options
	r        *report.Report
	buf      bytes.Buffer
	markdown bool
	err      error
}

// Text prints a report for a terminal: the short answer, or with Full all of it.
func Text(w io.Writer, r *report.Report, o Options) error {
	p := printer{Options: o, r: r}
	if o.Full {
		p.whole()
	} else {
		p.short()
	}
	return p.flush(w)
}

// Markdown prints all of a report for a service record, with version, date and
// what was stated.
func Markdown(w io.Writer, r *report.Report, o Options) error {
	o.Full = true
	p := printer{Options: o, r: r, markdown: true}
	p.whole()
	return p.flush(w)
}

func (p *printer) flush(w io.Writer) error {
	if err := finiteReport(p.r); err != nil {
		return err
	}
	if p.err != nil {
		return p.err
	}
	_, err := w.Write(append(bytes.TrimSpace(p.buf.Bytes()), '\n'))
	return err
}

// short prints the short answer. The chart gets the lines that are left.
func (p *printer) short() {
	for _, with := range []room{{narrow: true, doubts: 2}, {doubts: 2}, {doubts: 1}} {
		p.buf.Reset()
		p.shortWith(with)
		if bytes.Count(p.buf.Bytes(), []byte("\n")) <= screen {
			return
		}
	}
}

// room is what the short answer has room for.
type room struct {
	narrow bool // what would narrow each interval
	doubts int
}

func (p *printer) shortWith(with room) {
	r := p.r
	doubts := min(len(r.Doubts), with.doubts)
	p.line(r.Title)
	p.sentences(r.Answer)
	if t := r.ShortTable(); t != nil {
		p.gap()
		p.grid(p.table(shortened(*t)))
	}
	if rows := r.ShortRows(); len(rows) > 0 {
		for i := range rows {
			if !with.narrow {
				rows[i].Narrow = ""
			}
		}
		p.gap()
		p.grid(p.rows(rows))
	}
	above := p.buf
	p.buf = bytes.Buffer{}
	if len(r.Next) > 0 {
		p.gap()
		p.sentences(r.Next)
	}
	p.gap()
	if r.Caution != "" {
		p.marked("! ", r.Caution)
	}
	for _, d := range r.Doubts[:doubts] {
		p.marked("? ", sentence(p.say(d)))
	}
	if more := p.more(doubts); more != "" {
		p.marked("", more)
	}
	below := p.buf
	p.buf = above
	if len(r.Charts) > 0 && !p.NoChart {
		left := screen - bytes.Count(above.Bytes(), []byte("\n")) - bytes.Count(below.Bytes(), []byte("\n"))
		p.gap()
		height := min(10, max(5, left-5))
		drawn := strings.Count(draw(r.Charts[0], p.Family, words.LineWidth, height), "\n")
		p.chart(r.Charts[0], max(5, height-max(0, drawn+1-left)))
	}
	p.buf.Write(below.Bytes())
}

// shortened is a table as the short answer shows it.
func shortened(t report.Table) report.Table {
	if t.Top > 0 && len(t.Data) > t.Top {
		t.Data = t.Data[:t.Top]
	}
	return keep(t, func(c report.Column) bool { return !c.Full && !c.DataOnly })
}

// readable is a table without what only programs want.
func readable(t report.Table) report.Table {
	return keep(t, func(c report.Column) bool { return !c.DataOnly })
}

// keep drops columns of a table.
func keep(t report.Table, wanted func(report.Column) bool) report.Table {
	columns, data := t.Columns, t.Data
	t.Columns, t.Data = nil, make([][]any, len(data))
	for i, c := range columns {
		if !wanted(c) {
			continue
		}
		t.Columns = append(t.Columns, c)
		for j, line := range data {
			t.Data[j] = append(t.Data[j], line[i])
		}
	}
	return t
}

// more says what --full has beside.
func (p *printer) more(doubts int) string {
	r := p.r
	var parts []string
	count := func(n int, one, many string) {
		switch {
		case n == 1:
			parts = append(parts, "1 "+one)
		case n > 1:
			parts = append(parts, fmt.Sprintf("%d %s", n, many))
		}
	}
	rows, tables := 0, 0
	for _, row := range r.Rows {
		if !row.Short && !row.DataOnly {
			rows++
		}
	}
	for _, t := range r.Tables {
		if !t.DataOnly && !t.Short && len(t.Data) > 0 {
			tables++
		}
	}
	count(rows, "more result", "more results")
	count(len(r.Assumed), "assumed value", "assumed values")
	count(len(r.Doubts)-doubts, "more doubt", "more doubts")
	count(tables, "table", "tables")
	count(len(r.Charts)-min(1, len(r.Charts)), "more chart", "more charts")
	count(len(r.Notes), "note", "notes")
	if len(parts) == 0 {
		return ""
	}
	return words.AndList(parts) + ": --full"
}

// whole prints all there is for reading.
func (p *printer) whole() {
	r := p.r
	p.heading(r.Title, 1)
	if p.markdown {
		p.provenance()
	}
	p.sentences(r.Answer)
	if len(r.Next) > 0 {
		p.gap()
		p.sentences(r.Next)
	}
	if rows := slices.DeleteFunc(slices.Clone(r.Rows), func(r report.Row) bool { return r.DataOnly }); len(rows) > 0 {
		p.gap()
		p.grid(p.rows(rows))
	}
	if !p.NoChart {
		for _, c := range r.Charts {
			p.gap()
			p.chart(c, 14)
		}
	}
	for _, t := range r.Tables {
		if t.DataOnly || len(t.Data) == 0 {
			continue
		}
		p.heading(t.Title, 2)
		g := p.table(readable(t))
		if !p.markdown && g.tooWide() {
			p.records(g)
		} else {
			p.grid(g)
		}
	}
	p.list("Assumed values", p.assumed())
	p.list("Doubts", p.all(r.Doubts))
	p.list("Notes", p.all(r.Notes))
	p.list("Cautions", r.Cautions)
}

// provenance says what a service record needs: by what, when, from what.
func (p *printer) provenance() {
	fmt.Fprintf(&p.buf, "springcalc %s, %s\n\n", cmp.Or(p.Version, "unreleased"), p.Date.Format("2006-01-02"))
	if len(p.r.Input) > 0 {
		p.heading("Stated", 2)
		g := grid{heads: []string{"key", "value"}, left: []bool{true, true}}
		for _, s := range p.r.Input {
			g.rows = append(g.rows, []string{s.Key, words.Clean(s.Text)})
		}
		p.grid(g)
		p.heading("Answer", 2)
	}
}

// Assumed lists what was assumed, for reading, what is of one source together.
func Assumed(list []report.Assumed, f quantity.Family) (texts []string) {
	p := printer{Options: Options{Family: f}, r: &report.Report{Assumed: list}}
	return p.assumed()
}

// assumed lists defaults, those of one source together.
func (p *printer) assumed() (texts []string) {
	var order []string
	by := map[string][]string{}
	for _, a := range p.r.Assumed {
		source := a.Source
		if a.Basis != "" && !strings.HasSuffix(source, a.Basis) {
			source += " (" + a.Basis + ")"
		}
		if by[source] == nil {
			order = append(order, source)
		}
		by[source] = append(by[source], a.Key+" = "+p.assumedValue(a))
	}
	for _, source := range order {
		texts = append(texts, strings.Join(by[source], ", ")+": "+source)
	}
	return texts
}

// assumedValue prints a default with its range.
func (p *printer) assumedValue(a report.Assumed) string {
	if a.Dim == nil {
		return strconv.FormatFloat(a.Value, 'g', 4, 64)
	}
	text := quantity.BriefIn(p.Family, a.Value, a.Value, a.Dim)
	if a.Low != a.High {
		text += " (" + quantity.BriefIn(p.Family, a.Low, a.Value, a.Dim) + " to " + quantity.BriefIn(p.Family, a.High, a.Value, a.Dim) + ")"
	}
	return text
}

// say prints a sentence in the family, cleaned.
func (p *printer) say(s report.Sentence) string { return words.Clean(s.In(p.Family)) }

func (p *printer) all(list []report.Sentence) []string {
	texts := make([]string, len(list))
	for i, s := range list {
		texts[i] = p.say(s)
	}
	return texts
}

// gap leaves one empty line.
func (p *printer) gap() {
	if b := p.buf.Bytes(); len(b) == 0 || !bytes.HasSuffix(b, []byte("\n\n")) {
		p.buf.WriteString("\n")
	}
}

// line prints a text of its own, wrapped.
func (p *printer) line(text string) {
	if text != "" {
		p.buf.WriteString(strings.Join(wrapped(p.escaped(text), words.LineWidth), "\n") + "\n")
	}
}

// escaped makes a text safe for what it goes to.
func (p *printer) escaped(text string) string {
	text = words.Clean(text)
	if p.markdown {
		return markdownText.Replace(text)
	}
	return text
}

// sentences prints sentences as a paragraph; each one with a line break of its
// own begins a new line.
func (p *printer) sentences(list []report.Sentence) {
	var paragraph []string
	for _, s := range list {
		if text := p.say(s); text != "" {
			paragraph = append(paragraph, sentence(text))
		}
	}
	if len(paragraph) == 0 {
		return
	}
	if p.markdown {
		p.buf.WriteString("\n" + markdownText.Replace(strings.Join(paragraph, " ")) + "\n")
		return
	}
	p.buf.WriteString(strings.Join(wrapped(strings.Join(paragraph, " "), words.LineWidth), "\n") + "\n")
}

// marked prints a text behind a mark, wrapped under itself.
func (p *printer) marked(mark, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(mark))
	p.buf.WriteString(mark + strings.Join(wrapped(words.Clean(text), words.LineWidth-len(indent)), "\n"+indent) + "\n")
}

func (p *printer) heading(text string, level int) {
	switch {
	case text == "":
		p.gap()
	case p.markdown:
		fmt.Fprintf(&p.buf, "\n%s %s\n\n", strings.Repeat("#", level), p.escaped(text))
	default:
		p.gap()
		p.line(text)
		if level == 1 {
			p.gap()
		}
	}
}

func (p *printer) chart(c report.Chart, height int) {
	drawn := draw(c, p.Family, words.LineWidth, height)
	if p.markdown {
		drawn = "```\n" + strings.ReplaceAll(drawn, "```", "'''") + "```\n"
	}
	p.buf.WriteString(drawn)
}

func (p *printer) list(title string, texts []string) {
	if len(texts) == 0 {
		return
	}
	p.heading(title, 2)
	for _, t := range texts {
		lines := wrapped(p.escaped(sentence(t)), words.LineWidth-2)
		p.buf.WriteString("- " + strings.Join(lines, "\n  ") + "\n")
	}
}

func (p *printer) grid(g grid) {
	if err := g.write(&p.buf, p.markdown); err != nil && p.err == nil {
		p.err = err
	}
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
		p.buf.WriteString(strings.Join(wrapped(r[0], words.LineWidth), "\n") + "\n  " +
			strings.Join(wrapped(strings.Join(parts, "; "), words.LineWidth-2), "\n  ") + "\n")
	}
}

// rows lays rows out for reading, their decimal points one below the other.
func (p *printer) rows(rows []report.Row) grid {
	g := grid{heads: []string{"", p.r.Beside, "estimate", "95 % interval", "", "narrow it by"}, left: []bool{true, true, true, true, true, true}}
	if !slices.ContainsFunc(rows, func(r report.Row) bool { return r.Band != nil && r.Band.Std > 0 }) {
		g.heads[2], g.heads[3] = "value", "range"
	}
	g.heads[2] = cmp.Or(p.r.Head, g.heads[2])
	whole := 0
	for _, r := range rows {
		whole = max(whole, wholeDigits(r, p.Family))
		if r.Beside != nil {
			whole = max(whole, wholeDigits(*r.Beside, p.Family))
		}
	}
	for _, r := range rows {
		value, beside := p.value(r, whole), ""
		if r.Beside != nil {
			beside = p.value(*r.Beside, whole)
		}
		name := words.Clean(r.Name)
		if r.Indent {
			name = "  " + name
		}
		g.rows = append(g.rows, []string{name, beside, value, interval(r, p.Family), p.say(r.Note), words.Clean(r.Narrow)})
	}
	if slices.ContainsFunc(g.rows, func(r []string) bool { return r[4] != "" }) {
		g.heads[4] = "note"
	}
	return g.withoutEmpty()
}

// value prints the value of a row, its decimal point behind so many digits.
func (p *printer) value(r report.Row, whole int) string {
	if r.Text != "" {
		return words.Clean(r.Text)
	}
	unit, _ := r.Unit.In(p.Family, r.Digits)
	return strings.Repeat(" ", whole-wholeDigits(r, p.Family)) + strings.TrimSpace(number(r, p.Family, r.Value)+" "+unit.Symbol)
}

// digitsOf is how many digits after the point a row is printed with.
func digitsOf(r report.Row, f quantity.Family) int {
	digits := r.Digits
	if r.Band != nil && r.Band.Std > 0 {
		digits = min(digits, r.Band.Known)
	}
	_, digits = r.Unit.In(f, digits)
	return digits
}

// number prints a value [SI] of a row.
func number(r report.Row, f quantity.Family, si float64) string {
	unit, _ := r.Unit.In(f, r.Digits)
	return unit.Number(si, digitsOf(r, f))
}

// interval prints the interval of a row, "" where it is less than is printed.
func interval(r report.Row, f quantity.Family) string {
	if r.Band == nil || r.Text != "" {
		return ""
	}
	low, high := number(r, f, r.Band.Low), number(r, f, r.Band.High)
	if low == high {
		return ""
	}
	return low + " to " + high
}

// wholeDigits counts what stands before the decimal point of a number.
func wholeDigits(r report.Row, f quantity.Family) int {
	if r.Text != "" {
		return 0
	}
	whole, _, _ := strings.Cut(number(r, f, r.Value), ".")
	return len(whole)
}

// table lays a table out for reading: a column of numbers to the right, one of
// texts to the left.
func (p *printer) table(t report.Table) grid {
	g := grid{heads: make([]string, len(t.Columns)), left: make([]bool, len(t.Columns))}
	figures := make([]bool, len(t.Columns))
	for i, c := range t.Columns {
		g.heads[i] = heading(c, p.Family)
	}
	for _, data := range t.Data {
		cells := make([]string, len(data))
		for i, d := range data {
			switch v := d.(type) {
			case float64:
				unit, digits := t.Columns[i].Unit.In(p.Family, t.Columns[i].Digits)
				cells[i], figures[i] = unit.Number(v, digits), true
			case report.Shown:
				cells[i], figures[i] = p.say(v.Text), true
			case report.Sentence:
				cells[i], g.left[i] = p.say(v), true
			case string:
				cells[i], g.left[i] = words.Clean(v), true
			}
		}
		g.rows = append(g.rows, cells)
	}
	for i := range g.left {
		g.left[i] = g.left[i] && !figures[i]
	}
	return g
}

// heading is the head of a column with its unit.
func heading(c report.Column, f quantity.Family) string {
	unit, _ := c.Unit.In(f, c.Digits)
	if unit.Symbol == "" {
		return words.Clean(c.Head)
	}
	return words.Clean(c.Head) + ", " + unit.Symbol
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

// wrapped wraps a text, and breaks words that are longer than a line.
func wrapped(text string, width int) []string {
	var lines []string
	for _, line := range words.Wrap(text, width) {
		runes := []rune(line)
		for len(runes) > width {
			lines, runes = append(lines, string(runes[:width])), runes[width:]
		}
		lines = append(lines, string(runes))
	}
	return lines
}

var markdownText = strings.NewReplacer("\\", "\\\\", "<", "&lt;", "`", "\\`", "*", "\\*", "_", "\\_", "|", "\\|", "#", "\\#", "[", "\\[")

// finiteReport returns an error that names the first number which is not finite.
func finiteReport(r *report.Report) error {
	bad := func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }
	for _, row := range r.Rows {
		if b := row.Beside; b != nil && b.Text == "" && bad(b.Value) {
			return fmt.Errorf("no answer: %s of %s is not a finite number", b.Key, r.Beside)
		}
		if row.Text == "" && (bad(row.Value) || row.Band != nil && (bad(row.Band.Low) || bad(row.Band.High) || bad(row.Band.Std))) {
			return fmt.Errorf("no answer: %s is not a finite number", row.Key)
		}
		if !row.Note.Finite() {
			return fmt.Errorf("no answer: the note of %s has a number that is not finite", row.Key)
		}
	}
	for _, t := range r.Tables {
		for _, line := range t.Data {
			for i, cell := range line {
				v, ok := cell.(float64)
				switch c := cell.(type) {
				case report.Shown:
					v, ok = c.Value, true
					if !c.Text.Finite() {
						v = math.NaN()
					}
				case report.Sentence:
					if !c.Finite() {
						v, ok = math.NaN(), true
					}
				}
				if ok && bad(v) {
					return fmt.Errorf("no answer: %s of %s is not a finite number", t.Columns[i].Key, t.Key)
				}
			}
		}
	}
	for i := range r.Charts {
		if !r.Charts[i].Finite() {
			return fmt.Errorf("no answer: the chart %s has a number that is not finite", r.Charts[i].Key)
		}
	}
	for i := range r.Sketches {
		if !r.Sketches[i].Finite() {
			return fmt.Errorf("no answer: a dimension of the spring to be drawn is not a finite number")
		}
	}
	for _, a := range r.Assumed {
		if bad(a.Value) || bad(a.Low) || bad(a.High) {
			return fmt.Errorf("no answer: what is assumed for %s is not a finite number", a.Key)
		}
	}
	for _, list := range [][]report.Sentence{r.Answer, r.Next, r.Doubts, r.Notes} {
		for _, s := range list {
			if !s.Finite() {
				return fmt.Errorf("no answer: a number of %q is not finite", s.Format)
			}
		}
	}
	return nil
}
