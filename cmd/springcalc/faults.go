package main

import (
	"fmt"
	"slices"
	"strings"
)

// fault is one thing wrong with a sheet.
type fault struct {
	file string
	at   place
	key  string
	text string // the value, and what would be right
}

func (f fault) String() string {
	switch {
	case f.at.flag != "":
		return f.at.flag + ": " + f.text
	case f.at.line == 0:
		return fmt.Sprintf("%s: %s: %s", f.file, f.key, f.text)
	case f.key == "":
		return fmt.Sprintf("%s:%d:%d: %s", f.file, f.at.line, f.at.column, f.text)
	}
	return fmt.Sprintf("%s:%d:%d: %s: %s", f.file, f.at.line, f.at.column, f.key, f.text)
}

// faults is everything wrong with a sheet, in the order of the sheet.
type faults []fault

// Error lists one fault a line.
func (fs faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.String()
	}
	if len(fs) > 1 {
		lines = slices.Insert(lines, 0, fmt.Sprintf("%d faults in what describes the machine", len(fs)))
	}
	return strings.Join(lines, "\n")
}

// err returns the faults in order, or nil where there are none.
func (fs faults) err() error {
	if len(fs) == 0 {
		return nil
	}
	slices.SortStableFunc(fs, func(a, b fault) int {
		if a.at.line != b.at.line {
			return rank(a) - rank(b)
		}
		if a.at.column != b.at.column {
			return a.at.column - b.at.column
		}
		return strings.Compare(a.String(), b.String())
	})
	return fs
}

// rank puts what is missing and what flags said after the lines of the file.
func rank(f fault) int {
	if f.at.line == 0 {
		return 1 << 30
	}
	return f.at.line
}
