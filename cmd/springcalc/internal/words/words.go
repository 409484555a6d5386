// Package words joins, measures, wraps and compares words. It knows nothing of
// what they are about.
package words

import (
	"cmp"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"
)

// NoBreak keeps a number and its unit on one line.
const NoBreak = "\u00a0"

// LineWidth is what a report fits into, on a terminal as in a pipe.
const LineWidth = 80

// Plain is a text without all that people write in different ways: capitals,
// hyphens, slashes, ampersands, and spaces beyond one.
func Plain(text string) string {
	return strings.Join(strings.Fields(plainer.Replace(strings.ToLower(text))), " ")
}

var plainer = strings.NewReplacer("-", " ", "_", " ", "/", " ", ",", " ", "&", " and ")

// Wrap breaks text into lines of a width at its spaces.
func Wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(text, breaks) {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			lines, line = append(lines, line), word
			continue
		}
		line = strings.TrimPrefix(line+" "+word, " ")
	}
	return append(lines, line)
}

// breaks says whether a line may break at a character: not at a no-break space.
func breaks(r rune) bool { return unicode.IsSpace(r) && string(r) != NoBreak }

// TrimLines takes the spaces off the ends of lines.
func TrimLines(s string) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " ")
	}
	return strings.Join(lines, "\n")
}

// Number formats a result for reading; a value that rounds to nothing has no sign.
func Number(v float64, digits int) string {
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

func DidYouMean(word string, candidates []string) string {
	if n := Nearest(word, candidates); n != "" {
		return fmt.Sprintf(" (did you mean %q?)", n)
	}
	return ""
}

// Quoted puts words in quotes.
func Quoted(words []string) []string {
	q := make([]string, len(words))
	for i, w := range words {
		q[i] = fmt.Sprintf("%q", w)
	}
	return q
}

// OrList joins words as in "mm, cm or in".
func OrList(words []string) string { return joinWith(words, " or ") }

// AndList joins words as in "rate, preload and bore".
func AndList(words []string) string { return joinWith(words, " and ") }

func joinWith(words []string, last string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + last + words[n-1]
}

// Nearest returns the candidate that a mistyped word most likely stands for,
// or "" where none is near: the same but for case, or up to a third of the
// letters off.
func Nearest(word string, candidates []string) string {
	best, least := "", 1+max(1, len(word)/3)
	if len(word) < 2 {
		least = 1
	}
	for _, c := range candidates {
		if strings.EqualFold(word, c) {
			return c
		}
		d := edits(strings.ToLower(word), strings.ToLower(c))
		if d < least || d == least && best != "" && len(c) == len(word) && len(best) != len(word) {
			best, least = c, d
		}
	}
	return best
}

// edits returns the least number of letters to insert, drop or change to get
// from a to b (Levenshtein distance).
func edits(a, b string) int {
	from, to := []rune(a), []rune(b)
	row := make([]int, len(to)+1)
	for j := range row {
		row[j] = j
	}
	for i, x := range from {
		diagonal := row[0]
		row[0] = i + 1
		for j, y := range to {
			cost := diagonal
			if x != y {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(to)]
}

// Natural compares two names as a person orders them: m2 before m10.
func Natural(a, b string) int {
	for a != "" && b != "" {
		x, y := leadingDigits(a), leadingDigits(b)
		if x == "" || y == "" {
			if a[0] != b[0] {
				return cmp.Compare(a[0], b[0])
			}
			a, b = a[1:], b[1:]
			continue
		}
		m, n := strings.TrimLeft(x, "0"), strings.TrimLeft(y, "0")
		if c := cmp.Or(cmp.Compare(len(m), len(n)), cmp.Compare(m, n), cmp.Compare(len(x), len(y))); c != 0 {
			return c
		}
		a, b = a[len(x):], b[len(y):]
	}
	return cmp.Compare(len(a), len(b))
}

// leadingDigits are the digits that a text begins with.
func leadingDigits(s string) string {
	return s[:len(s)-len(strings.TrimLeft(s, "0123456789"))]
}

// Shell writes a command line so that a shell reads the same words.
func Shell(args ...string) string {
	out := make([]string, len(args))
	for i, a := range args {
		out[i] = a
		if a == "" || strings.IndexFunc(a, func(r rune) bool {
			return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("-_./:=,+%@", r)
		}) >= 0 {
			out[i] = "'" + strings.ReplaceAll(a, "'", `'\''`) + "'"
		}
	}
	return strings.Join(out, " ")
}

// Lazy is a pattern that is compiled when it is first asked for: all of them would take
// longer than many a command.
func Lazy(pattern string) func() *regexp.Regexp {
	return sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(pattern) })
}

// Clean shows what a terminal would act on, or would not show, in its escaped form.
func Clean(text string) string {
	safe := func(r rune) bool { return unicode.IsPrint(r) || string(r) == NoBreak }
	if strings.IndexFunc(text, func(r rune) bool { return !safe(r) }) < 0 && utf8.ValidString(text) {
		return text
	}
	var b strings.Builder
	for _, r := range text {
		if safe(r) {
			b.WriteRune(r)
		} else {
			b.WriteString(strings.Trim(strconv.QuoteRune(r), "'"))
		}
	}
	return b.String()
}
