package render

import (
	"bytes"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"

	"springcalc/cmd/springcalc/internal/words"
)

// grid is a table of text: the only form in which tablewriter sees anything.
type grid struct {
	heads []string
	left  []bool // columns that line up on the left
	rows  [][]string
}

// gap stands between columns.
const gap = "  "

// withoutEmpty drops columns that no row fills.
func (g grid) withoutEmpty() grid {
	var out grid
	out.rows = make([][]string, len(g.rows))
	for i := range g.heads {
		if !slices.ContainsFunc(g.rows, func(r []string) bool { return r[i] != "" }) {
			continue
		}
		out.heads, out.left = append(out.heads, g.heads[i]), append(out.left, g.left[i])
		for j, r := range g.rows {
			out.rows[j] = append(out.rows[j], r[i])
		}
	}
	return out
}

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

// tooWide says whether a table reads better row by row.
func (g grid) tooWide() bool {
	return lineOver(g.widest(utf8.RuneCountInString)) > 2*words.LineWidth || lineOver(g.widest(longestWord)) > words.LineWidth
}

// fit wraps the widest columns until lines are no longer than a width.
func (g grid) fit(width int) {
	limits, least := g.widest(utf8.RuneCountInString), g.widest(longestWord)
	for total := lineOver(limits); total > width; total-- {
		widest := -1
		for i := range limits {
			if limits[i] > least[i] && (widest < 0 || limits[i] >= limits[widest]) {
				widest = i
			}
		}
		if widest < 0 { // no space left to break at: the widest is cut
			for i := range limits {
				if widest < 0 || limits[i] > limits[widest] {
					widest = i
				}
			}
			least[widest] = limits[widest] - 1
		}
		limits[widest]--
	}
	for _, r := range append(g.rows, g.heads) {
		for i := range r {
			if utf8.RuneCountInString(r[i]) > limits[i] {
				r[i] = strings.Join(wrapped(r[i], limits[i]), "\n")
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

// write renders a grid with tablewriter, whose automatic formatting would
// print "N/mm" as "N / MM".
func (g grid) write(w *bytes.Buffer, markdown bool) error {
	if len(g.heads) == 0 {
		return nil
	}
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
		for _, r := range g.rows {
			for i, c := range r {
				r[i] = strings.ReplaceAll(markdownText.Replace(c), "\n", " ")
			}
		}
		options = append(options, tablewriter.WithRenderer(renderer.NewMarkdown()))
	} else {
		g.fit(words.LineWidth)
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
	options = append(options, tablewriter.WithConfig(tablewriter.Config{Header: cells, Row: cells}), tablewriter.WithTrimSpace(tw.Off))
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
