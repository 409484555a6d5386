package machine_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
)

// TestTaught: a logged shot of another grind tells the resistance, in place of the
// default, and the shot that is computed with it takes as long as the logged one.
func TestTaught(t *testing.T) {
	truth := testsheet.Build(t, string(demo.Sheet), "coffee.resistance=7 bar·s/mL")
	shot, err := profile.Run(&truth.Setup)
	if err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	log.WriteString("time_s,pressure_bar,cup_g\n")
	for at := 0.0; at <= shot.Total; at += 0.1 {
		p := shot.At(at)
		fmt.Fprintf(&log, "%.2f,%.3f,%.3f\n", at, p.Pressure/1e5, p.Cup*1e3)
	}
	open := func(file string) ([]byte, error) {
		if file != "shot.csv" {
			return nil, os.ErrNotExist
		}
		return log.Bytes(), nil
	}
	sheet := strings.NewReplacer("resistance    = \"5.0 bar·s/mL ± 10 %\"\n", "", "resistance_at = \"9 bar\"\n", "").Replace(string(demo.Sheet))
	read := func(extra string, sets ...string) (*machine.Machine, error) {
		return machine.ReadTaught("m.toml", []byte(sheet+extra), sets, open)
	}
	m, err := read("\n[coffee.known]\nlog = \"shot.csv\"\n")
	if err != nil {
		t.Fatal(err)
	}
	got, err := profile.Summarize(&m.Setup)
	if err != nil || math.Abs(got.Spring/shot.Spring-1) > 0.1 || !m.KnowsPuck() {
		t.Errorf("flow time %g s, logged %g s (%v)", got.Spring, shot.Spring, err)
	}
	if usual := testsheet.Build(t, sheet); math.Abs(usual.Setup.Coffee.Resistance/truth.Setup.Coffee.Resistance-1) < 0.1 {
		t.Error("the default is the truth, so nothing is tested")
	}
	if len(m.Together) == 0 || len(m.Remarks) == 0 || !strings.Contains(m.Remarks[0], "shot.csv tells coffee.resistance") {
		t.Errorf("%v %q", m.Together, m.Remarks)
	}
	for extra, want := range map[string]string{
		"\n[coffee.known]\nlog = \"none.csv\"\n":                   "coffee.known.log: ",
		"\n[coffee.known]\nlog = \"shot.csv\"\nyield = \"30 g\"\n": "coffee.known.yield: \"30 g\": stated beside coffee.known.log",
	} {
		if _, err := read(extra); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%v, want %s", err, want)
		}
	}
	if _, err := machine.Read("m.toml", []byte(sheet+"\n[coffee.known]\nlog = \"shot.csv\"\n"), nil); err == nil {
		t.Error("a log that nobody read is passed over")
	}
}
