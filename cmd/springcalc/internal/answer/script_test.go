package answer

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
)

func silent(int, int) {}

// askDemo asks for the shot of the demo machine.
func askDemo(sets []string, _ bool) (*report.Report, error) {
	m, err := machine.Read("demo.toml", demo.Sheet, sets)
	if err != nil {
		return nil, err
	}
	return Shot(context.Background(), m, ShotOptions{Spread: spread.Options{Skip: true}})
}

// askLaw asks for a law of the dose [g].
func askLaw(law func(dose float64) (float64, error)) Ask {
	return func(sets []string, _ bool) (*report.Report, error) {
		dose := 14.0
		for _, s := range sets {
			_, text, _ := strings.Cut(s, "=")
			q, err := quantity.Parse(text, quantity.DimMass)
			if err != nil {
				return nil, err
			}
			dose = quantity.InG.Of(q.Value)
		}
		y, err := law(dose)
		return &report.Report{
			Rows:  []report.Row{{Key: "y", Name: "law", Value: y}, {Key: "word", Text: "dry"}},
			Input: []report.Stated{{Key: "coffee.dose", Text: fmt.Sprint(dose, " g")}},
		}, err
	}
}

func solve(t testing.TB, goal, by string, ask Ask) (*report.Report, error) {
	t.Helper()
	g, err := ParseGoal(goal, by)
	if err != nil {
		t.Fatal(err)
	}
	return Solve(context.Background(), g, ask, silent)
}

// TestSolveInverts: with the value that was found the answer is what was wanted.
func TestSolveInverts(t *testing.T) {
	goals := []struct{ row, unit, key, low, high string }{
		{"yield", "g", "coffee.dose", "10 g", "22 g"}, {"peak", "bar", "piston.bore", "45 mm", "55 mm"},
		{"end", "bar", "spring.free_length", "160 mm", "175 mm"}, {"flow_time", "s", "basket.diameter", "49 mm", "58 mm"},
	}
	rapid.Check(t, func(t *rapid.T) {
		c := rapid.SampledFrom(goals).Draw(t, "goal")
		k := sheet.FindKey(c.key)
		at := func(text string) float64 {
			q, _ := quantity.Parse(text, k.Dim)
			return q.Value
		}
		x := at(c.low) + rapid.Float64Range(0, 1).Draw(t, "share")*(at(c.high)-at(c.low))
		r, err := askDemo([]string{c.key + "=" + quantity.Format(quantity.Quantity{Value: x}, k.Dim)}, true)
		if err != nil {
			t.Fatal(err)
		}
		row := r.Row(c.row)
		want := row.Unit.Of(row.Value)
		g, err := ParseGoal(fmt.Sprintf("%s=%.12g %s", c.row, want, c.unit), c.key)
		if err != nil {
			t.Fatal(err)
		}
		if r, err = Solve(context.Background(), g, askDemo, silent); err != nil {
			t.Fatal(err)
		}
		// The key has six digits, and no result goes with more than its tenth power.
		if got := row.Unit.Of(r.Row(c.row).Value); math.Abs(got-want) > 5e-5*want {
			t.Errorf("%s by %s: %v, want %v", c.row, c.key, got, want)
		}
	})
}

// TestSolveLaws: roots of laws in closed form, and of several the nearest.
func TestSolveLaws(t *testing.T) {
	square := askLaw(func(x float64) (float64, error) { return (x - 20) * (x - 20), nil })
	sine := askLaw(func(x float64) (float64, error) { return math.Sin(x), nil })
	edge := askLaw(func(x float64) (float64, error) {
		if x > 30.125 {
			return 0, errors.New("too much")
		}
		return math.Sqrt(30.125-x) - 1, nil
	})
	for _, c := range []struct {
		goal, by string
		ask      Ask
		want     float64 // [g]
	}{
		{"y=25", "coffee.dose", square, 15},                 // and 25
		{"y=25", "coffee.dose=21 g:40 g", square, 25},       // asked for
		{"y=0.0001", "coffee.dose", square, 19.99},          // and 20.01, both between two looks
		{"y=0", "coffee.dose", sine, 4 * math.Pi},           // of eleven
		{"y=-0.75", "coffee.dose", edge, 30.125 - 0.0625},   // beside where answers end
		{"y=0.5", "coffee.dose=1 g:30 g", edge, 30 - 2.125}, // inside
	} {
		r, err := solve(t, c.goal, c.by, c.ask)
		if err != nil {
			t.Errorf("%s by %s: %v", c.goal, c.by, err)
			continue
		}
		if got := r.Row("coffee.dose"); math.Abs(quantity.InG.Of(got.Value)-c.want) > 2e-5*c.want {
			t.Errorf("%s by %s: %v g, want %v", c.goal, c.by, quantity.InG.Of(got.Value), c.want)
		}
	}
}

// TestSolveUnreached: what cannot be reached says how far it goes.
func TestSolveUnreached(t *testing.T) {
	hill := askLaw(func(x float64) (float64, error) { return 33.1 - (x-20.3)*(x-20.3), nil })
	step := askLaw(func(x float64) (float64, error) { return math.Floor(x / 7), nil })
	never := askLaw(func(float64) (float64, error) { return 0, errors.New("no coffee") })
	beyond := askLaw(func(x float64) (float64, error) { return x, nil })
	for _, c := range []struct {
		goal string
		ask  Ask
		want string
	}{
		{"y=40", hill, "y=40 cannot be reached by coffee.dose between 4 g and 40 g: at most 33, at 20.3 g"},
		{"y=2.5", step, "y=2.5 cannot be reached by coffee.dose: it jumps from 2 to 3 between 20.88 g and 22 g"},
		{"y=2", never, "no coffee"},
		{"y=2", beyond, "at least 4, at 4 g; beyond what is usual 2 g would do, and --by coffee.dose=FROM:TO looks there"},
	} {
		if _, err := solve(t, c.goal, "coffee.dose", c.ask); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v; want %q", c.goal, err, c.want)
		}
	}
}

// TestScriptFaults: what is asked wrongly is wrong use, with the flag named.
func TestScriptFaults(t *testing.T) {
	for _, c := range [][3]string{
		{"yield", "coffee.dose", `--solve "yield": want RESULT=VALUE`}, {"yield=30 g", "coffee.doze", "--by: coffee.doze: unknown key (did you mean"},
		{"yield=30 g", "spring.grade", "--by: spring.grade is a text"}, {"yield=30 g", "coffee.dose=3 g", "want KEY or KEY=FROM:TO"},
		{"yield=30 g", "coffee.dose=20 g:10 g", "want the lower end first"}, {"yeld=30 g", "coffee.dose", "--solve yeld: no such result"},
		{"yield=30 mm", "coffee.dose", `--solve yield: "30 mm"`}, {"yield=30 g ± 1 g", "coffee.dose", "a target has no ±"},
	} {
		g, err := ParseGoal(c[0], c[1])
		if err == nil {
			_, err = Solve(context.Background(), g, askDemo, silent)
		}
		if !errors.Is(err, sheet.ErrUse) || !strings.Contains(err.Error(), c[2]) {
			t.Errorf("%s by %s: %v; want %q", c[0], c[1], err, c[2])
		}
	}
	for want, typed := range map[string][]string{
		"3 keys; want 2":              {"coffee.dose=1 g:2 g:1 g", "piston.bore=1 mm:2 mm:1 mm", "piston.stroke=1 mm:2 mm:1 mm"},
		"coffee.dose stands twice":    {"coffee.dose=1 g:2 g:1 g", "coffee.dose=1 g:2 g:1 g"},
		"want KEY=FROM:TO:STEP":       {"coffee.dose=1 g:2 g"},
		"unknown key":                 {"coffee.doze=1 g:2 g:1 g"},
		"machine.name is a text":      {"machine.name=1:2:1"},
		"1101 values; want 1001":      {"coffee.dose=1 g:12 g:0.01 g"},
		"10000 points; want 1000":     {"coffee.dose=0.1 g:10 g:0.1 g", "piston.bore=0.1 mm:10 mm:0.1 mm"},
		`--sweep coffee.dose: "1 mm"`: {"coffee.dose=1 mm:2 g:1 g"},
	} {
		if _, err := ParseAxes(typed); !errors.Is(err, sheet.ErrUse) || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v; want %q", typed, err, want)
		}
	}
}

// TestSweep: every line is the answer at its values, the first key slowest; a point
// without an answer says why and stops no other.
func TestSweep(t *testing.T) {
	axes, err := ParseAxes([]string{"coffee.dose=14 g:16 g:1 g", "piston.bore=5 mm:55 mm:25 mm"})
	if err != nil {
		t.Fatal(err)
	}
	r, err := Sweep(context.Background(), axes, askDemo, silent)
	if err != nil {
		t.Fatal(err)
	}
	table := r.Table(r.Main)
	at := func(key string) int {
		return slices.IndexFunc(table.Columns, func(c report.Column) bool { return c.Key == key })
	}
	i := 0
	for _, dose := range []string{"14 g", "15 g", "16 g"} {
		for _, bore := range []string{"5 mm", "30 mm", "55 mm"} {
			line := table.Data[i]
			i++
			one, err := askDemo([]string{"coffee.dose=" + dose, "piston.bore=" + bore}, true)
			why := line[at("error")].(string)
			if err != nil {
				if why == "" || line[at("yield")] != nil {
					t.Errorf("%s, %s: %q where there is no answer: %v", dose, bore, why, err)
				}
				continue
			}
			if why != "" || line[at("yield")] != one.Row("yield").Value || line[at("peak")] != one.Row("peak").Value {
				t.Errorf("%s, %s: %v is not the answer there", dose, bore, line)
			}
		}
	}
	if i != len(table.Data) {
		t.Errorf("%d lines, want %d", len(table.Data), i)
	}
	never := askLaw(func(float64) (float64, error) { return 0, errors.New("no coffee") })
	if _, err := Sweep(context.Background(), axes[:1], never, silent); err == nil || err.Error() != "no coffee" {
		t.Errorf("no point has an answer, and yet: %v", err)
	}
}
