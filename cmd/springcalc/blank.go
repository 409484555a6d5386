package main

import (
	"encoding/json"
	"fmt"
	"os"
	"strconv"
	"strings"
	"unicode/utf8"

	"springcalc/tables"
)

// sheetCmd prints or writes a blank sheet.
type sheetCmd struct {
	File  string `arg:"" optional:"" help:"File to write; it must not exist yet."`
	Check string `placeholder:"SHEET" help:"Instead, read a sheet, say what is wrong with it or print what it says and what is assumed beside."`
	machineFlags
}

// Help is shown by "springcalc sheet --help".
func (sheetCmd) Help() string {
	return "The sheet is a text file (TOML) that you fill in: a caliper, a scale and the machine's gauge give most of it. " +
		"Every value is a number with its unit, metric or inch, and may say what it could be off by: \"4.00 mm ± 0.02 mm\"."
}

// Run never overwrites a file.
func (c *sheetCmd) Run(con *console) error {
	switch {
	case c.Check == "" && len(c.Set) > 0:
		return usef("--set needs --check SHEET here")
	case c.Check != "" && c.File != "":
		return usef("--check SHEET writes no file; leave %s out", c.File)
	case c.Check != "":
		return c.check(con)
	}
	if c.File == "" {
		_, err := fmt.Fprint(con.out, blankSheet())
		return err
	}
	f, err := os.OpenFile(c.File, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if os.IsExist(err) {
		return usef("%s exists already; nothing was written", c.File)
	}
	if err != nil {
		return err
	}
	_, err = f.WriteString(blankSheet())
	if closing := f.Close(); err == nil {
		err = closing
	}
	if err == nil {
		fmt.Fprintf(con.out, "wrote %s\n", c.File)
	}
	return err
}

// check prints a sheet as it was understood.
func (c *sheetCmd) check(con *console) error {
	m, err := c.load(con, c.Check)
	if err != nil {
		return err
	}
	var r report
	addDefaults(m, &r)
	fmt.Fprint(con.out, m.sheet)
	if len(r.Defaults) > 0 {
		fmt.Fprint(con.out, "\n# Not stated, so assumed:\n")
	}
	for _, d := range r.Defaults {
		fmt.Fprint(con.out, commented(strings.Join(wrap(d, lineWidth-4), "\n  ")))
	}
	return nil
}

// String prints a sheet so that it reads back the same.
func (s *sheet) String() string {
	var b strings.Builder
	for i := range schema {
		t := &schema[i]
		if !t.many {
			s.printTable(&b, t, t.path, "["+t.path+"]")
			continue
		}
		for n := range s.several[t.path] {
			s.printTable(&b, t, indexed(t.path, n+1), "[["+t.path+"]]")
		}
	}
	return strings.TrimPrefix(b.String(), "\n")
}

// printTable prints what a sheet states in a table; of a table that may
// repeat, even where that is nothing.
func (s *sheet) printTable(b *strings.Builder, t *table, path, header string) {
	header = "\n" + header + "\n"
	if t.many {
		b.WriteString(header)
		header = ""
	}
	for _, k := range t.keys {
		e, ok := s.entries[path+"."+k.name]
		if !ok {
			continue
		}
		b.WriteString(header + k.name + " = " + e.toml() + "\n")
		header = ""
	}
}

// toml prints the value of an entry.
func (e entry) toml() string {
	switch {
	case e.key.dim == nil:
		return tomlText(e.text)
	case e.key.dim == dimNumber && e.quantity.Plus == 0:
		return formatQuantity(e.quantity, dimNumber)
	}
	return tomlText(formatQuantity(e.quantity, e.key.dim))
}

// tomlText quotes a text: JSON's way is also TOML's, but for one character.
func tomlText(s string) string {
	var b strings.Builder
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(s); err != nil {
		panic(err) // a string always encodes
	}
	return strings.ReplaceAll(strings.TrimSuffix(b.String(), "\n"), "\x7f", `\u007f`)
}

const blankHead = `# Machine sheet for springcalc. Fill in what you know and take the # off.
#
# A value is a number and a unit in quotes: "45 mm", "1 3/8 in", "9 bar",
# "130 psi", "12.5 N/mm", "71 lbf/in". What it may be off by may follow, as the
# half-width of 95 %: "4.00 mm ± 0.02 mm", "9 bar ± 2 %"; "(uniform)" after it
# says that it is a hard bound. Lines with "or:" are other ways to say the same.
`

// blankSheet is the schema as a sheet to fill in.
func blankSheet() string {
	var b strings.Builder
	b.WriteString(blankHead)
	for _, t := range schema {
		b.WriteString("\n" + commented(t.doc))
		header := "[" + t.path + "]"
		if t.many && !t.has(optional) { // never one alone
			header = "[" + header + "]"
		}
		if !t.has(required) {
			header = "#" + header
		}
		b.WriteString(header + "\n")
		for _, k := range t.keys {
			b.WriteString(k.blankLine(t.path))
		}
	}
	return b.String()
}

// noBreak keeps a number and its unit on one line.
const noBreak = "\u00a0"

// docColumn is where the explanation of a key begins.
const docColumn = 34

// blankLine is the line of a key of a table: to be filled in where it is
// required, else with its default if there is one, or an example.
func (k *key) blankLine(table string) string {
	value, doc := k.example, k.doc
	if d, ok := tables.DefaultFor(table + "." + k.name); ok && d.Value != 0 {
		value, doc = brief(d.Value, d.Value, k.dim), doc+" (default)"
	}
	if k.dim != dimNumber {
		value = strconv.Quote(value)
	}
	line := "#" + k.name + " = " + value
	switch k.need {
	case required:
		line, doc = k.name+` = ""`, doc+", such as "+strings.ReplaceAll(value, " ", noBreak)
	case alternative:
		doc = "or: " + doc
	}
	line += strings.Repeat(" ", max(1, docColumn-utf8.RuneCountInString(line)))
	indent := "\n" + strings.Repeat(" ", docColumn)
	explained := strings.Join(wrap(doc, lineWidth-docColumn-2), indent+"# ")
	return line + "# " + strings.ReplaceAll(explained, noBreak, " ") + "\n"
}

// has says whether a table has a key of a need.
func (t *table) has(n need) bool {
	for _, k := range t.keys {
		if k.need == n {
			return true
		}
	}
	return false
}

// commented puts "# " before each line.
func commented(text string) string {
	return "# " + strings.ReplaceAll(text, "\n", "\n# ") + "\n"
}
