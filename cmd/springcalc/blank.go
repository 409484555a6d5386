package main

import (
	"fmt"
	"os"
	"strings"
	"unicode/utf8"
)

// sheetCmd prints or writes a blank sheet.
type sheetCmd struct {
	File string `arg:"" optional:"" help:"File to write; it must not exist yet."`
}

// Help is shown by "springcalc sheet --help".
func (sheetCmd) Help() string {
	return "The sheet is a text file (TOML) that you fill in: a caliper, a scale and the machine's gauge give most of it. " +
		"Every value is a number with its unit, metric or inch, and may say what it could be off by: \"4.00 mm ± 0.02 mm\"."
}

// Run never overwrites a file.
func (c *sheetCmd) Run(con *console) error {
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
		if !t.has(required) {
			header = "#" + header
		}
		b.WriteString(header + "\n")
		for _, k := range t.keys {
			b.WriteString(k.blankLine())
		}
	}
	return b.String()
}

// docColumn is where the explanation of a key begins.
const docColumn = 34

// blankLine is the line of a key: to be filled in where it is required, with
// its example where it is not.
func (k *key) blankLine() string {
	value := fmt.Sprintf("%q", k.example)
	if k.dim == dimNumber {
		value = k.example
	}
	line, doc := "#"+k.name+" = "+value, k.doc
	switch k.need {
	case required:
		line, doc = k.name+` = ""`, doc+", such as "+value
	case alternative:
		doc = "or: " + doc
	}
	line += strings.Repeat(" ", max(1, docColumn-utf8.RuneCountInString(line)))
	indent := "\n" + strings.Repeat(" ", docColumn)
	return line + "# " + strings.Join(wrap(doc, lineWidth-docColumn-2), indent+"# ") + "\n"
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
