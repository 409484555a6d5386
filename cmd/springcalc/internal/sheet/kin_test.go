package sheet_test

import (
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	. "springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
)

// TestKin: a sheet begun from another has all that the machines have in common, to
// the letter, and nothing that was read on the other.
func TestKin(t *testing.T) {
	other := string(demo.Sheet) + "\n[bench]\npeak = \"6.5 bar\" # by the gauge\n[[bench.load]]\nlength = \"120 mm\"\nforce = \"800 N\"\n" +
		"[[visit]]\ndate = 2019\npeak = \"8 bar\"\n\n[new]\npeak = \"9 bar\"\n[[visit]]\ndate = 2020\npeak = \"7 bar\"\n"
	got, err := Kin("folder/other.toml", []byte(other))
	if err != nil {
		t.Fatal(err)
	}
	text := string(got)
	for _, want := range []string{"# Begun from other.toml: what stands at", `name = ""`, `free_length      = ""`, `friction    = ""`, `peak = ""        # by the gauge`, `wire             = "7.00 mm ± 0.02 mm"`, "[new]\npeak = \"9 bar\""} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in\n%s", want, text)
		}
	}
	for _, not := range []string{"left group", "168.5", "[[visit]]", "[[bench.load]]", "6.5 bar", "2020"} {
		for _, line := range strings.Split(text, "\n") {
			if strings.Contains(line, not) && !strings.HasPrefix(line, "#") {
				t.Errorf("%s is of the other machine: %s", not, line)
			}
		}
	}
	// With what is its own filled in it is a machine.
	testsheet.Build(t, text, "spring.free_length=170 mm")
	if _, err := Kin("faulty.toml", []byte("[spring]\nrate = 27\n")); err == nil || !strings.Contains(err.Error(), "faulty.toml:2:8: spring.rate: 27 has no unit") {
		t.Errorf("%v", err)
	}
	if _, err := Kin("inline.toml", []byte("bench = {peak = \"6 bar\", load = [{length = \"120 mm\", force = \"800 N\"}]}\n"+testsheet.Minimal)); err == nil || !strings.Contains(err.Error(), "take this out by hand") {
		t.Errorf("%v", err)
	}
}
