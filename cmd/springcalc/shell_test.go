package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// shellOutput is a script or the manual page.
func shellOutput(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs strings.Builder
	if status := run(args, nil, &out, &errs); status != answered {
		t.Fatalf("%v: status %d: %s", args, status, errs.String())
	}
	return out.String()
}

// need skips a test without a program of the system.
func need(t *testing.T, name string) {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		t.Skipf("no %s here", name)
	}
}

// completions are what a shell must offer, and what it must not, for a command line
// that ends where the cursor stands.
var completions = []struct{ line, offers, not string }{
	{"springcalc sh", "shot", "sheet.toml"},
	{"springcalc --ver", "--version", "--json"},
	{"springcalc lever --ra", "--raising", "--sweep"},
	{"springcalc shot --swe", "--sweep", "--by"},
	{"springcalc shot --units in", "inch", "metric"},
	{"springcalc shot --set coffee.do", "coffee.dose=", "coffee.known.dose="},
	{"springcalc shot mine", "mine.toml", "main"},
	{"springcalc replace --candidates spr", "springs.csv", "spring"},
	{"springcalc completion z", "zsh", "bash"},
}

// shellFolder is a folder with files to complete, and a script in it.
func shellFolder(t *testing.T, shell string) (dir, script string) {
	dir = t.TempDir()
	for name, text := range map[string]string{"mine.toml": "", "springs.csv": "", "script": shellOutput(t, "completion", shell)} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	return dir, filepath.Join(dir, "script")
}

// checkCompletions asks a shell for what it offers, a line each.
func checkCompletions(t *testing.T, dir string, ask func(line string) *exec.Cmd) {
	for _, c := range completions {
		cmd := ask(c.line)
		cmd.Dir = dir
		out, err := cmd.CombinedOutput()
		got := "\n" + string(out)
		if err != nil || !strings.Contains(got, "\n"+c.offers) || strings.Contains(got, "\n"+c.not+"\n") {
			t.Errorf("%s: %v, offers %q; want %s, not %s", c.line, err, out, c.offers, c.not)
		}
	}
}

func TestBashCompletion(t *testing.T) {
	need(t, "bash")
	dir, script := shellFolder(t, "bash")
	checkCompletions(t, dir, func(line string) *exec.Cmd {
		return exec.Command("bash", "--norc", "-c",
			`. "$1"; COMP_WORDS=($2); COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); _springcalc; printf '%s\n' "${COMPREPLY[@]}"`, "bash", script, line)
	})
}

func TestFishCompletion(t *testing.T) {
	need(t, "fish")
	dir, script := shellFolder(t, "fish")
	checkCompletions(t, dir, func(line string) *exec.Cmd {
		cmd := exec.Command("fish", "--no-config", "-c", `source $argv[1]; complete -C $argv[2]`, script, line)
		cmd.Env = append(os.Environ(), "HOME="+dir)
		return cmd
	})
}

// TestZshCompletion: zsh reads the script, and completes only at a terminal.
func TestZshCompletion(t *testing.T) {
	need(t, "zsh")
	_, script := shellFolder(t, "zsh")
	if out, err := exec.Command("zsh", "-n", script).CombinedOutput(); err != nil || len(out) > 0 {
		t.Errorf("%v: %s", err, out)
	}
}

// TestManual: the page has every command and flag, and no request by accident.
func TestManual(t *testing.T) {
	page := shellOutput(t, "man")
	for _, want := range []string{`.SS "springcalc shot`, `.SS "springcalc completion <shell>`, `.B \-\-sweep=\fIKEY=FROM:TO:STEP\fR`, `.B \-\-version`, ".SH CAUTIONS"} {
		if !strings.Contains(page, want) {
			t.Errorf("not on the page: %s", want)
		}
	}
	for i, line := range strings.Split(page, "\n") {
		if first, _, _ := strings.Cut(line, " "); strings.HasPrefix(line, ".") && !strings.Contains(" .TH .SH .SS .B .I .RI .PP .TP ", " "+first+" ") {
			t.Errorf("line %d: a request by accident: %s", i+1, line)
		}
	}
	need(t, "mandoc")
	cmd := exec.Command("mandoc", "-Tlint", "-Wwarning")
	cmd.Stdin = strings.NewReader(page)
	out, _ := cmd.CombinedOutput()
	for line := range strings.Lines(string(out)) {
		if !strings.Contains(line, "missing date") { // the same page whenever it is made
			t.Error(line)
		}
	}
}
