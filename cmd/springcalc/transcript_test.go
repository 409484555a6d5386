package main

import (
	"bytes"
	"flag"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode"

	"springcalc/cmd/springcalc/internal/demo"
)

var update = flag.Bool("update", false, "rewrite testdata/*.txt and the README with what the commands print")

// TestTranscripts runs every line "$ springcalc …" or "$ go run ./cmd/springcalc …"
// of the README, of the package comment and of testdata/*.txt, and compares
// what it prints with the lines below it. "(exit status 1)" behind the output is
// the exit status of a command that fails, "(lines left out)" stands for any
// lines. In testdata a line that starts with "--- " is a comment, which ends the
// output above it.
func TestTranscripts(t *testing.T) {
	files, err := filepath.Glob("testdata/*.txt")
	if err != nil {
		t.Fatal(err)
	}
	ran := map[string]int{}
	for _, name := range append(files, "main.go", "../../README.md") {
		t.Run(filepath.Base(name), func(t *testing.T) {
			if _, err := os.Stat(name); os.IsNotExist(err) && strings.HasSuffix(name, "README.md") {
				t.Skip("no README.md yet")
			}
			ran[filepath.Base(name)] = runTranscript(t, name)
		})
	}
	if ran["main.go"] == 0 || len(files) == 0 {
		t.Error("found no commands to run: is the form of the transcripts another?")
	}
}

// runTranscript runs the commands of a file, in a directory of its own with
// copies of all sheets and lists of testdata, and returns how many there were.
func runTranscript(t *testing.T, name string) int {
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	home, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	golden := filepath.Join(home, name)
	text := strings.TrimSuffix(string(data), "\n")
	t.Chdir(workDir(t))

	rewritable := !strings.HasSuffix(name, ".go")
	var rewritten []string
	commands, lines := 0, strings.Split(text, "\n")
	for i := 0; i < len(lines); i++ {
		line := lines[i]
		args, ok := commandLine(line)
		if !ok {
			rewritten = append(rewritten, line)
			continue
		}
		commands++
		want, n := expected(name, lines[i+1:])
		i += n
		var stdout, stderr bytes.Buffer
		status := run(args, strings.NewReader(""), &stdout, &stderr)
		if status != 0 && stdout.Len() > 0 {
			t.Errorf("%s: status %d, and yet on standard output: %s", line, status, stdout.String())
		}
		got := printed(status, stdout.String()+stderr.String())
		if matches(want, got) {
			got = want
		} else if !*update || !rewritable {
			t.Errorf("%s\ngot:\n%s\nwant:\n%s", line, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
		rewritten = append(append(rewritten, line), elide(want, got)...)
		if i+1 < len(lines) && (lines[i+1] == "" || strings.HasSuffix(name, ".txt")) {
			rewritten = append(rewritten, "")
			for i+1 < len(lines) && lines[i+1] == "" {
				i++
			}
		}
	}
	if rewritable && *update {
		out := strings.Join(rewritten, "\n") + "\n"
		if err := os.WriteFile(golden, []byte(out), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return commands
}

// workDir returns a new directory with copies of the sheets and lists.
func workDir(t *testing.T) string {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "demo.toml"), demo.Sheet, 0o666); err != nil {
		t.Fatal(err)
	}
	for _, pattern := range []string{"testdata/*.toml", "testdata/*.csv"} {
		names, err := fs.Glob(os.DirFS("."), pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			data, err := os.ReadFile(name)
			if err == nil {
				err = os.WriteFile(filepath.Join(dir, filepath.Base(name)), data, 0o666)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	return dir
}

// commandLine returns the arguments of a line that is a command of ours.
func commandLine(line string) (args []string, ok bool) {
	line = strings.TrimSpace(strings.TrimPrefix(line, "//"))
	for _, prompt := range []string{"$ springcalc", "$ go run ./cmd/springcalc"} {
		if rest, found := strings.CutPrefix(line, prompt); found && (rest == "" || rest[0] == ' ') {
			return shellWords(rest), true
		}
	}
	return nil, false
}

// shellWords splits at spaces, but not inside quotes.
func shellWords(s string) (words []string) {
	var word strings.Builder
	quote, open := rune(0), false
	for _, r := range s + " " {
		switch {
		case r == quote:
			quote = 0
		case quote != 0:
			word.WriteRune(r)
		case r == '"' || r == '\'':
			quote, open = r, true
		case r == ' ':
			if open {
				words = append(words, word.String())
			}
			word.Reset()
			open = false
		default:
			word.WriteRune(r)
			open = true
		}
	}
	return words
}

// expected returns the lines of output below a command, and how many lines of
// the file they are.
func expected(name string, lines []string) (want []string, n int) {
	for ; n < len(lines); n++ {
		line := lines[n]
		switch filepath.Ext(name) {
		case ".go": // indented in a comment
			after, ok := strings.CutPrefix(line, "//\t")
			if !ok && line != "//" {
				return trimmed(want), n
			}
			if line = after; !ok {
				line = ""
			}
		case ".md": // until the end of the block
			if strings.HasPrefix(line, "```") {
				return trimmed(want), n
			}
		default:
			if strings.HasPrefix(line, "--- ") {
				return trimmed(want), n
			}
		}
		if strings.HasPrefix(line, "$ ") {
			return trimmed(want), n
		}
		want = append(want, line)
	}
	return trimmed(want), n
}

// trimmed drops empty lines at the end.
func trimmed(lines []string) []string {
	for len(lines) > 0 && lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	return lines
}

// printed is what a transcript shows of a run.
func printed(status int, output string) []string {
	lines := trimmed(strings.Split(output, "\n"))
	if status != 0 {
		lines = append(lines, fmt.Sprintf("(exit status %d)", status))
	}
	return lines
}

// leftOut stands for any lines.
const leftOut = "(lines left out)"

// matches compares lines; leftOut stands for any number of them.
func matches(want, got []string) bool {
	for len(want) > 0 {
		if want[0] == leftOut {
			for n := range len(got) + 1 {
				if matches(want[1:], got[n:]) {
					return true
				}
			}
			return false
		}
		if len(got) == 0 || !alikeLine(want[0], got[0]) {
			return false
		}
		want, got = want[1:], got[1:]
	}
	return len(got) == 0
}

// elide leaves out of new output what the old transcript left out: of each run
// of lines between two of them it keeps the run of new lines that looks most like
// it, numbers aside.
func elide(old, got []string) []string {
	if !slices.Contains(old, leftOut) || matches(old, got) {
		return got
	}
	var out []string
	for len(old) > 0 {
		n := slices.Index(old, leftOut)
		last := n < 0
		if last {
			n = len(old)
		}
		part := old[:n]
		at := alike(part, got)
		switch {
		case len(out) == 0:
			at = 0
		case last:
			at = max(0, len(got)-n)
		}
		out = append(out, got[at:min(len(got), at+n)]...)
		got = got[min(len(got), at+n):]
		if !last {
			out = append(out, leftOut)
			n++
		}
		old = old[n:]
	}
	return out
}

// alike returns where in got as many lines as part has look most like it.
func alike(part, got []string) (at int) {
	shape := func(line string) string {
		return strings.Join(strings.FieldsFunc(line, func(r rune) bool { return !unicode.IsLetter(r) }), " ")
	}
	best := -1
	for i := 0; i+len(part) <= len(got); i++ {
		same := 0
		for k, line := range part {
			if line == got[i+k] {
				same += 2
			} else if shape(line) == shape(got[i+k]) {
				same++
			}
		}
		if same > best {
			best, at = same, i
		}
	}
	return at
}

// longNumber is a number at full precision, whose last digits differ from one
// processor to another: some fuse multiply and add.
var longNumber = regexp.MustCompile(`-?\d+(\.\d{9,}(e[-+]\d+)?|(\.\d+)?e[-+]\d+)`)

// alikeLine compares two lines to the letter, but numbers at full precision to
// one in a million, and what is nothing but rounding (below 1e-9) not at all.
func alikeLine(want, got string) bool {
	if want == got {
		return true
	}
	if longNumber.ReplaceAllString(want, "#") != longNumber.ReplaceAllString(got, "#") {
		return false
	}
	a, b := longNumber.FindAllString(want, -1), longNumber.FindAllString(got, -1)
	for i := range a {
		x, _ := strconv.ParseFloat(a[i], 64)
		y, _ := strconv.ParseFloat(b[i], 64)
		if math.Abs(x-y) > 1e-6*math.Abs(x)+1e-9 {
			return false
		}
	}
	return true
}

// TestAlikeLine: rounding may differ, answers may not.
func TestAlikeLine(t *testing.T) {
	for _, c := range []struct {
		Want, got string
		alike     bool
	}{
		{"peak 6.55 bar", "peak 6.55 bar", true},
		{"peak 6.55 bar", "peak 6.56 bar", false},
		{`"peak_bar": 6.553850734741402,`, `"peak_bar": 6.553850734741407,`, true},
		{`"peak_bar": 6.553850734741402,`, `"peak_bar": 6.553950734741402,`, false},
		{`"mass_residual": 1.6e-16`, `"mass_residual": -3.1e-17`, true},
		{"t 1.2e-05 s", "t 1.3e-03 s", false},
	} {
		if got := alikeLine(c.Want, c.got); got != c.alike {
			t.Errorf("%q and %q: %v", c.Want, c.got, got)
		}
	}
}

// TestMatches holds the comparison itself to its word.
func TestMatches(t *testing.T) {
	for _, c := range []struct {
		Want, got string
		same      bool
	}{
		{"a b", "a b", true},
		{"a b", "a", false},
		{"a", "a b", false},
		{"a ... d", "a b c d", true},
		{"a ...", "a", true},
		{"... c", "a b", false},
		{"... b ... d", "a b c d", true},
	} {
		fields := func(text string) []string {
			f := strings.Fields(text)
			for i := range f {
				if f[i] == "..." {
					f[i] = leftOut
				}
			}
			return f
		}
		if same := matches(fields(c.Want), fields(c.got)); same != c.same {
			t.Errorf("%q against %q: %v", c.Want, c.got, same)
		}
	}
}
