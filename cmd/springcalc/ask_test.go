package main

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
)

// TestAskCommand: a new sheet is begun, taken up again, and answered for; what is no
// sheet is left alone.
func TestAskCommand(t *testing.T) {
	t.Chdir(t.TempDir())
	ask := func(file string, answers ...string) (int, string) {
		var out, errs bytes.Buffer
		status := run([]string{"ask", file}, strings.NewReader(strings.Join(answers, "\n")+"\n"), &out, &errs)
		return status, out.String() + errs.String()
	}
	if status, said := ask("mine.toml", "kitchen", "50 mm", "24 mm"); status != answered || !strings.Contains(said, "Still wanted") {
		t.Fatalf("%d %s", status, said)
	}
	if status, said := ask("mine.toml", "", "", "", "6.5 bar", "3.4 bar", "51 mm", "14 g"); status != answered || !strings.Contains(said, "Known now: peak pressure") {
		t.Fatalf("%d %s", status, said)
	}
	if status, said := ran(t, "shot", "mine.toml", "--no-spread"); status != answered {
		t.Errorf("%d %s", status, said)
	}
	if status, said := ask("mine.toml", "", "50"); status != answered || !strings.Contains(said, "50 has no unit") {
		t.Errorf("%d %s", status, said)
	}
	if status, said := ask("mine.toml", "", "50 bar"); status != noAnswer || !strings.Contains(said, "some answers were not taken: piston.bore") {
		t.Errorf("%d %s", status, said)
	}
	if err := os.WriteFile("letter.txt", []byte("Dear Sir or Madam\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if status, said := ask("letter.txt", "kitchen"); status != noAnswer || !strings.Contains(said, "nothing was asked") {
		t.Errorf("%d %s", status, said)
	}
	if data, _ := os.ReadFile("letter.txt"); string(data) != "Dear Sir or Madam\n" {
		t.Errorf("the letter became %q", data)
	}
	if status, said := ask("-", "kitchen"); status != wrongUse || !strings.Contains(said, "name the sheet") {
		t.Errorf("%d %s", status, said)
	}
	if err := os.WriteFile("demo.toml", demo.Sheet, 0o666); err != nil {
		t.Fatal(err)
	}
	if status, said := ask("demo.toml", "", ""); status != answered {
		t.Errorf("%d %s", status, said)
	}
	if data, _ := os.ReadFile("demo.toml"); !bytes.Equal(data, demo.Sheet) {
		t.Error("nothing was answered, and the sheet changed")
	}
	if left, _ := os.ReadDir("."); len(left) > 4 {
		t.Errorf("files left: %v", left)
	}
}
