package ask

import (
	"bytes"
	"context"
	"errors"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
)

// saved is a sheet that answers are written into.
type saved struct {
	data   []byte
	writes int
	fails  bool
}

func (s *saved) save(before, after []byte) error {
	if s.fails {
		return errors.New("no space left")
	}
	if !bytes.Equal(before, s.data) {
		return errors.New("changed meanwhile")
	}
	s.data, s.writes = bytes.Clone(after), s.writes+1
	return nil
}

// begun is a new sheet.
func begun() *saved { return &saved{data: []byte(sheet.Blank())} }

// talk runs the questions with answers, a line each, and returns what was said.
func talk(t testing.TB, s *saved, terminal bool, answers ...string) (string, error) {
	t.Helper()
	var out bytes.Buffer
	err := Run(context.Background(), strings.NewReader(strings.Join(answers, "\n")+"\n"), &out, Options{Name: "mine.toml", Data: s.data, Save: s.save, Terminal: terminal})
	return strings.ReplaceAll(out.String(), "\n", " "), err
}

// first are answers to the questions that a first answer needs.
var first = []string{"kitchen", "50 mm", "24 mm", "6,5 bar", "3.4 bar", "51 mm", "14 g"}

// stated is a value of a sheet [SI]; 0 where there is none.
func stated(t testing.TB, s *saved, path string) float64 {
	t.Helper()
	got, err := sheet.Parse("mine.toml", s.data, nil)
	if err != nil {
		t.Fatal(err)
	}
	q, _ := got.Quantity(path)
	return q.Value
}

// TestAsk: with seven answers a sheet is enough, what is known is said after each,
// and the file keeps its comments and order.
func TestAsk(t *testing.T) {
	s := begun()
	said, err := talk(t, s, false, first...)
	if err != nil {
		t.Fatal(err)
	}
	m, err := machine.Read("mine.toml", s.data, nil)
	if err != nil {
		t.Fatalf("%v\n%s", err, s.data)
	}
	if m.Setup.Cylinder.Bore != 0.05 || s.writes != len(first) || m.Text("machine.name") != "kitchen" || len(m.Entries) != len(first) {
		t.Errorf("%d writes: %v", s.writes, m.InOrder())
	}
	for _, want := range []string{"1 of ", "How: ", "! Heat, pressure:", "Still wanted for a first answer: ", "Known now: peak pressure 6.50 bar (", "Example: 50 mm"} {
		if !strings.Contains(said, want) {
			t.Errorf("no %q in %s", want, said)
		}
	}
	blank, filled := strings.Split(sheet.Blank(), "\n"), strings.Split(string(s.data), "\n")
	if len(blank) != len(filled) {
		t.Fatalf("%d lines became %d", len(blank), len(filled))
	}
	for i := range blank {
		if blank[i] != filled[i] && !strings.Contains(blank[i], ` = ""`) {
			t.Errorf("line %d: %q became %q", i+1, blank[i], filled[i])
		}
	}
}

// TestAskAll answers every question, from the name to the swing of the lever.
func TestAskAll(t *testing.T) {
	s := begun()
	said, err := talk(t, s, false, append(first, "8 s", "40 g", "52 s", "26 mm", "1.1 bar", "91 °C", "400 g", "3 kg", "7 mm", "49 mm", "12", "squared & ground", "piano wire",
		"168.5 mm", "", "rack", "260 mm", "80°")...)
	if err != nil || !strings.Contains(said, "That was all.") {
		t.Fatalf("%v\n%s", err, said)
	}
	m, err := machine.Read("mine.toml", s.data, nil)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(m.Entries); n != 24 || m.Text("spring.ends") != "closed and ground" || m.Several["pull"] != 1 || len(m.Remarks) == 0 {
		t.Errorf("%d values: %v, %q", n, m.InOrder(), m.Remarks)
	}
	for _, p := range groups {
		for _, q := range p.questions {
			if sheet.FindKey(q.path) == nil || q.what == "" || q.how == "" {
				t.Errorf("%+v", q)
			}
		}
	}
}

// TestAskAgain: the same answers again change nothing; what is there is kept by
// Enter, taken out by "-", gone back to by "<".
func TestAskAgain(t *testing.T) {
	s := begun()
	if _, err := talk(t, s, false, first...); err != nil {
		t.Fatal(err)
	}
	once := string(s.data)
	if _, err := talk(t, s, false, first...); err != nil || string(s.data) != once || s.writes != len(first) {
		t.Errorf("again: %v, %d writes", err, s.writes)
	}
	if _, err := talk(t, s, false, "", "", "", ""); err != nil || string(s.data) != once {
		t.Errorf("Enter: %v", err)
	}
	if _, err := talk(t, s, false, "", "", "<", "52 mm", "-"); err != nil {
		t.Error(err)
	}
	if bore, stroke := stated(t, s, "piston.bore"), stated(t, s, "piston.stroke"); bore != 0.052 || stroke != 0 {
		t.Errorf("back and out: %g, %g", bore, stroke)
	}
}

// TestAskMends: at a terminal a unit that lacks is offered, and what cannot be is
// asked again; piped in it is left open, named, and the rest counts.
func TestAskMends(t *testing.T) {
	s := begun()
	said, err := talk(t, s, true, "kitchen", "50", "Yes", "1,372 mm", "24 mm", "?", "900 bar", "8 bar", "9 bar", "5 bar", "51 mm", ".")
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"50 has no unit: 50 mm?", `"1,372 mm": can be read as 1.372 mm or as 1372 mm`, "this looks like kPa", "Units: bar"} {
		if !strings.Contains(said, want) {
			t.Errorf("no %q in %s", want, said)
		}
	}
	if bore, stroke, peak := stated(t, s, "piston.bore"), stated(t, s, "piston.stroke"), stated(t, s, "bench.peak"); bore != 0.05 || stroke != 0.024 || peak != 8e5 {
		t.Errorf("%g, %g, %g", bore, stroke, peak)
	}
	s = begun()
	_, err = talk(t, s, false, "kitchen", "50 bar", "24 mm", "6 bar", "4", "51 mm")
	if !errors.Is(err, errUnread) || !strings.Contains(err.Error(), `piston.bore "50 bar"; bench.end_pressure "4"`) || stated(t, s, "basket.diameter") != 0.051 {
		t.Errorf("%v", err)
	}
	if bore, stroke, peak := stated(t, s, "piston.bore"), stated(t, s, "piston.stroke"), stated(t, s, "bench.peak"); bore != 0 || stroke != 0.024 || peak != 6e5 {
		t.Errorf("%g, %g, %g", bore, stroke, peak)
	}
	// What does not go with the rest is not written.
	s = begun()
	said, _ = talk(t, s, true, append(slicesWithout(first, 4), "51 mm", "14 g", ".")...)
	if stated(t, s, "bench.end_pressure") != 0 {
		t.Errorf("%s", said)
	}
}

// slicesWithout are the first answers with a pressure at the end that cannot be in
// place of one, behind the dose, so that the machine is known by then.
func slicesWithout(all []string, i int) []string {
	return append(append([]string{}, all[:i]...), "9 bar")
}

// TestAskTakenUp: at a terminal the questions begin behind the last answer; a group
// that was left halfway has left nothing in the sheet.
func TestAskTakenUp(t *testing.T) {
	s := begun()
	if _, err := talk(t, s, true, append(first, "8 s", "40 g", ".")...); err != nil {
		t.Fatal(err)
	}
	if y, p := stated(t, s, "coffee.known.yield"), stated(t, s, "pull[1].preinfusion"); y != 0 || p != 8 {
		t.Errorf("yield %g, pre-infusion %g", y, p)
	}
	if _, err := machine.Read("mine.toml", s.data, nil); err != nil {
		t.Error(err)
	}
	said, err := talk(t, s, true, "40 g", "52 s", ".")
	if err != nil || !strings.Contains(said, " 9 of ") || strings.Contains(said, " 7 of ") || stated(t, s, "coffee.known.time") != 52 {
		t.Errorf("%v %s", err, said)
	}
}

// TestAskKeeps: a sheet that somebody wrote stays to the letter but for the answers,
// one that does not read is not touched, and where it cannot be saved asking ends.
func TestAskKeeps(t *testing.T) {
	s := &saved{data: bytes.Clone(demo.Sheet)}
	if _, err := talk(t, s, false, "", "51.0 mm"); err != nil {
		t.Fatal(err)
	}
	if want := strings.Replace(string(demo.Sheet), "50.0 mm ± 0.05 mm (uniform)", "51.0 mm", 1); string(s.data) != want {
		t.Errorf("became\n%s", s.data)
	}
	bad := &saved{data: []byte("[spring]\nrate = 27\n")}
	if _, err := talk(t, bad, false, "x"); err == nil || !strings.Contains(err.Error(), "nothing was asked, as the sheet does not read: mine.toml:2:8: spring.rate: 27 has no unit") || bad.writes > 0 {
		t.Errorf("%v", err)
	}
	full := begun()
	full.fails = true
	if _, err := talk(t, full, true, "kitchen", "50 mm"); !errors.Is(err, errSave) || full.writes > 0 {
		t.Errorf("%v", err)
	}
}

// TestAskWritesWhatReads: whatever is answered, the sheet that is saved reads, but
// for what is still missing, is said within the width of a page, and the same answers
// piped twice give the same file.
func TestAskWritesWhatReads(t *testing.T) {
	rng := rand.New(rand.NewPCG(14, 5))
	said := []string{"", "", "<", "?", "-", "50 mm", "24 mm", "7 mm", "8 bar", "4 bar", "120 psi", "14 g", "36 g", "45 s", "8 s", "12", "20", "steel", "music wire",
		"closed and ground", "rack", "link", "80°", "160 mm", "190 mm", "1,5", "1,372 mm", "x", "90 °C", "20 N ± 10 N", "50 kg", "\"", "a = b", "± 3", "kitchen # left"}
	missing := regexp.MustCompile(`^(\d+ errors in .*|[^:]*(:\d+:\d+)?: [\w.\[\]]+: missing; .*)$`)
	for range 100 {
		var answers []string
		for range 10 + rng.IntN(40) {
			answers = append(answers, said[rng.IntN(len(said))])
		}
		terminal := rng.IntN(2) == 0
		one, two := begun(), begun()
		if _, err := talk(t, one, terminal, answers...); err != nil && !errors.Is(err, errUnread) {
			t.Fatalf("%q: %v", answers, err)
		}
		if _, err := talk(t, two, terminal, answers...); err != nil && !errors.Is(err, errUnread) || !bytes.Equal(one.data, two.data) {
			t.Fatalf("%q: twice is not the same: %v", answers, err)
		}
		if _, err := machine.Read("mine.toml", one.data, nil); err != nil {
			for _, line := range strings.Split(err.Error(), "\n") {
				if !missing.MatchString(line) {
					t.Fatalf("%q:\n%s\n%s", answers, err, one.data)
				}
			}
		}
	}
	var out bytes.Buffer
	if err := Run(context.Background(), strings.NewReader(strings.Join(first, "\n")), &out, Options{Name: "mine.toml", Data: begun().data, Save: func(_, _ []byte) error { return nil }}); err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(out.String(), "\n") {
		if len([]rune(line)) > words.LineWidth {
			t.Errorf("wide: %s", line)
		}
	}
}
