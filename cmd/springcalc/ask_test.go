package main

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/sheet"
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
	if status, said := ask("mine.toml", "", "50"); status != noAnswer || !strings.Contains(said, "has no unit") {
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

// TestAskKilled: whenever the program is killed, the sheet is whole: as it was, or with
// one answer more.
func TestAskKilled(t *testing.T) {
	if file := os.Getenv("ASK_TEST_SHEET"); file != "" { // the program to be killed
		os.Exit(run([]string{"ask", file}, os.Stdin, io.Discard, io.Discard))
	}
	file := filepath.Join(t.TempDir(), "mine.toml")
	answers := "kitchen\n" + strings.Repeat("50 mm\n<\n51 mm\n<\n", 20_000)
	rng, changed := rand.New(rand.NewPCG(14, 9)), map[string]bool{}
	for i := range 12 {
		cmd := exec.Command(os.Args[0], "-test.run=^TestAskKilled$")
		cmd.Env = append(os.Environ(), "ASK_TEST_SHEET="+file)
		cmd.Stdin = strings.NewReader(answers)
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		for wait := 0; i >= 3 && wait < 3000; wait++ { // from the fourth on, not before the first answer
			if _, err := os.Stat(file); err == nil {
				break
			}
			time.Sleep(10 * time.Millisecond)
		}
		time.Sleep(time.Duration(rng.IntN(150)) * time.Millisecond)
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal("it ended before it was killed")
		}
		_ = cmd.Wait()
		data, err := os.ReadFile(file)
		if errors.Is(err, fs.ErrNotExist) {
			continue // killed before the first answer
		}
		if err != nil {
			t.Fatal(err)
		}
		s, err := sheet.Parse(file, data, nil)
		if err == nil {
			err = s.Err()
		}
		bore := s.Entries["piston.bore"].Typed()
		if err != nil || !strings.HasSuffix(string(data), "\n") || len(data) < len(sheet.Blank())-100 || bore != "" && bore != "50 mm" && bore != "51 mm" {
			t.Errorf("%v, %d bytes, bore %q", err, len(data), bore)
		}
		changed[bore] = true
	}
	if !changed["50 mm"] && !changed["51 mm"] {
		t.Error("nothing was ever answered")
	}
}
