package answer

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
)

// TestShot: the answer asked in memory has the numbers of the shot itself, an
// interval on each, and a band that holds the curve and does not fall to the
// ground when shots end.
func TestShot(t *testing.T) {
	m := testsheet.Build(t, string(demo.Sheet))
	r, err := Shot(context.Background(), m, ShotOptions{Spread: spread.Options{Draws: 2000, Seed: 1}})
	if err != nil {
		t.Fatal(err)
	}
	shot, err := profile.Run(&m.Setup)
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]float64{"peak": shot.Peak, "end": shot.End, "total_time": shot.Total, "flow_time": shot.Spring, "yield": shot.Yield} {
		row := r.Row(key)
		if row.Value != want || row.Band == nil || !(row.Band.Low < want && want < row.Band.High) || row.Narrow == "" {
			t.Errorf("%s: %+v, want %g", key, row, want)
		}
	}
	band := r.Charts[0].Band
	for i, x := range band.X {
		if !(band.Low[i] <= band.High[i]) {
			t.Errorf("band at %g s from %g to %g", x, band.Low[i], band.High[i])
		}
		if x > shot.Preinfusion+1 && band.Low[i] < shot.End/2 {
			t.Errorf("at %g s the band falls to %g Pa", x, band.Low[i])
		}
	}
	if last := band.X[len(band.X)-1]; last < shot.Total || r.Charts[0].Ends == nil {
		t.Errorf("the band ends at %g s, the shot at %g s", last, shot.Total)
	}
	if text := r.Answer[0].String(); !strings.Contains(text, "g in, ") || strings.Contains(text, "%!") {
		t.Errorf("answer %q", text)
	}
}

// TestShotWithoutSpread: with Skip the numbers stand alone.
func TestShotWithoutSpread(t *testing.T) {
	m := testsheet.Build(t, string(demo.Sheet))
	r, err := Shot(context.Background(), m, ShotOptions{Spread: spread.Options{Skip: true}})
	if err != nil {
		t.Fatal(err)
	}
	if r.Row("peak").Band != nil || r.Charts[0].Band != nil || r.Row("draws") != nil {
		t.Error("a spread that was not wanted")
	}
	for _, list := range [][]report.Sentence{r.Answer, r.Next, r.Notes, r.Doubts} {
		for _, s := range list {
			if strings.Contains(s.String(), "%!") {
				t.Errorf("%q", s)
			}
		}
	}
}

// TestReadCurves: between samples curves are straight, a jump is met from both
// sides, and after the end there is neither pressure nor cup.
func TestReadCurves(t *testing.T) {
	shot := &profile.Shot{Samples: []profile.Sample{
		{Time: 0, Pressure: 1e5}, {Time: 10, Pressure: 1e5}, {Time: 10, Pressure: 6e5}, {Time: 20, Pressure: 4e5, Cup: 0.03},
	}}
	times := bandTimes(shot.Samples)
	p, cup := make([]float64, len(times)), make([]float64, len(times))
	readCurves(shot, times, p, cup)
	for i, want := range []float64{1e5, 1e5, 6e5, 4e5} {
		if math.Abs(p[i]-want) > 1 {
			t.Errorf("pressure %g at %g s, want %g", p[i], times[i], want)
		}
	}
	if last := len(times) - 1; times[last] != 30 || !math.IsNaN(cup[last]) || !math.IsNaN(p[last]) {
		t.Errorf("at %g s %g Pa and %g kg", times[last], p[last], cup[last])
	}
}

// TestAgainst: a log of the same shot lies within all intervals, one of a puck that
// resists twice as much does not.
func TestAgainst(t *testing.T) {
	m := testsheet.Build(t, string(demo.Sheet))
	for factor, want := range map[float64]string{1: "yes", 2: "no"} {
		s := m.Setup
		s.Coffee.Resistance *= factor
		log := shotLog(t, &s)
		for end, i := log[len(log)-1], 1; i <= 25; i++ { // and 5 s more, in which nothing runs
			end.Time += 0.2 * float64(i)
			end.Pressure *= math.Exp(-float64(i))
			log = append(log, end)
		}
		r, err := Shot(t.Context(), m, ShotOptions{Spread: spread.Options{Draws: 1000, Seed: 1}, Log: &NamedLog{Name: "x.csv", Log: log}})
		if err != nil {
			t.Fatal(err)
		}
		table := r.Table("against")
		if len(table.Data) != 4 {
			t.Fatalf("%v", table.Data)
		}
		if got := table.Data[2][5]; table.Data[2][0] != r.Row("flow_time").Name || got != want {
			t.Errorf("resistance × %g: the flow time is within both intervals: %v, want %s", factor, got, want)
		}
		if said := strings.Contains(fmt.Sprint(r.Doubts), "x.csv differs"); said != (want == "no") {
			t.Errorf("resistance × %g: %v", factor, r.Doubts)
		}
	}
}
