package sheet

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// fault is one thing wrong with a sheet.
type fault struct {
	file string
	At   Place
	Key  string
	Text string // the value, and what would be right
}

func (f fault) String() string {
	switch {
	case f.At.Flag != "":
		return f.At.Flag + ": " + f.Text
	case f.At.Line == 0 && f.Key == "":
		return f.file + ": " + f.Text
	case f.At.Line == 0:
		return fmt.Sprintf("%s: %s: %s", f.file, f.Key, f.Text)
	case f.Key == "":
		return fmt.Sprintf("%s:%d:%d: %s", f.file, f.At.Line, f.At.column, f.Text)
	}
	return fmt.Sprintf("%s:%d:%d: %s: %s", f.file, f.At.Line, f.At.column, f.Key, f.Text)
}

// Faults is everything wrong with a sheet, in the order of the sheet.
type Faults []fault

// Error lists one fault a line.
func (fs Faults) Error() string {
	lines := make([]string, len(fs))
	for i, f := range fs {
		lines[i] = f.String()
	}
	if n := min(len(fs), mostSheetFaults); n > 1 {
		where := "the machine sheet"
		if !slices.ContainsFunc(fs, func(f fault) bool { return f.At.Flag == "" }) {
			where = "the flags"
		}
		lines = slices.Insert(lines, 0, fmt.Sprintf("%d errors in %s", n, where))
	}
	return strings.Join(lines, "\n")
}

// Err returns the faults in order, or nil where there are none.
func (fs Faults) Err() error {
	if len(fs) == 0 {
		return nil
	}
	slices.SortStableFunc(fs, func(a, b fault) int {
		if a.At.Line != b.At.Line {
			return rank(a) - rank(b)
		}
		if a.At.column != b.At.column {
			return a.At.column - b.At.column
		}
		return strings.Compare(a.String(), b.String())
	})
	return fs
}

// flagFaults are faults that are wrong use: what flags say that stand for keys.
type flagFaults struct{ Faults }

func (f flagFaults) Is(target error) bool { return target == ErrUse }

func (f flagFaults) Unwrap() error { return f.Faults }

// ofFlags says whether all faults are of flags that stand for keys.
func (fs Faults) ofFlags() bool {
	return !slices.ContainsFunc(fs, func(f fault) bool { return f.At.Flag == "" || strings.HasPrefix(f.At.Flag, "--set ") })
}

// rank puts what is missing and what flags said after the lines of the file.
func rank(f fault) int {
	if f.At.Line == 0 {
		return 1 << 30
	}
	return f.At.Line
}

// ErrUse marks an error that is wrong use: errors.Is(err, errUse).
var ErrUse = errors.New("wrong use")

// Usef returns an error of wrong use.
func Usef(format string, args ...any) error { return &useError{fmt.Sprintf(format, args...)} }

type useError struct{ Text string }

func (e *useError) Error() string { return e.Text }

func (e *useError) Is(target error) bool { return target == ErrUse }
