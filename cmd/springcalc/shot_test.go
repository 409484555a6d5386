package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"runtime"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/answer"
	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
)

// TestCores: the answer is the same to the last digit on one core and on several.
func TestCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	var answers [2]bytes.Buffer
	for i, cores := range []int{1, 3} {
		runtime.GOMAXPROCS(cores)
		if status := run([]string{"shot", "--json", "--draws", "2000"}, nil, &answers[i], &answers[i]); status != 0 {
			t.Fatalf("status %d: %s", status, &answers[i])
		}
	}
	if !bytes.Equal(answers[0].Bytes(), answers[1].Bytes()) {
		t.Error("the answers differ")
	}
	var other bytes.Buffer
	run([]string{"shot", "--json", "--draws", "2000", "--seed", "2"}, nil, &other, &other)
	if bytes.Equal(answers[0].Bytes(), other.Bytes()) {
		t.Error("another seed gives the same draws")
	}
}

// TestShotSpread: the report of a shot keeps its plain values, has a band on
// what may be off, both ends of the exponent for programs, and a band of the
// curves that holds the shot.
func TestShotSpread(t *testing.T) {
	var out bytes.Buffer
	if status := run([]string{"shot", "--json", "--set", "coffee.resistance=", "--set", "coffee.resistance_at=", "--set", "coffee.permeability=4.6e-15 m² ± 20 %", "--set", "coffee.permeability_at=9 bar"}, nil, &out, &out); status != 0 {
		t.Fatal(out.String())
	}
	var got struct {
		Peak     float64 `json:"peak_bar"`
		Low      float64 `json:"peak_bar_low"`
		High     float64 `json:"peak_bar_high"`
		Std      float64 `json:"peak_bar_std"`
		Elastic  float64 `json:"total_time_elastic_s"`
		Set      float64 `json:"total_time_compacted_s"`
		Draws    float64
		Seed     float64
		Failed   *float64 `json:"draws_without_answer"`
		Samples  []map[string]*float64
		Improve  []map[string]any
		Fill     *float64 `json:"preinfusion_s_low"`
		Residual float64  `json:"energy_residual"`
	}
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	m := testsheet.Build(t, string(demo.Sheet), "coffee.resistance=", "coffee.resistance_at=", "coffee.permeability=4.6e-15 m²", "coffee.permeability_at=9 bar")
	shot, err := profile.Run(&m.Setup)
	if err != nil {
		t.Fatal(err)
	}
	if !close9(got.Peak, shot.Peak/1e5) || !close9(got.Elastic, shot.Elastic.Total) || !close9(got.Set, shot.Set.Total) {
		t.Errorf("plain values %g, %g, %g", got.Peak, got.Elastic, got.Set)
	}
	if !(got.Low < got.Peak && got.Peak < got.High && got.Std > 0.05 && got.Std < 0.2) || got.Fill != nil {
		t.Errorf("peak %g in %g to %g, u = %g; pre-infusion is exact", got.Peak, got.Low, got.High, got.Std)
	}
	if got.Draws != spread.Usual || got.Seed != 1 || got.Failed == nil || len(got.Improve) < 3 {
		t.Errorf("%g draws, seed %g, %v without an answer, %d to improve", got.Draws, got.Seed, got.Failed, len(got.Improve))
	}
	outside, banded := 0, 0
	for _, s := range got.Samples {
		for _, name := range [][3]string{{"pressure_bar", "pressure_low_bar", "pressure_high_bar"}, {"cup_g", "cup_low_g", "cup_high_g"}} {
			lo, hi, v := s[name[1]], s[name[2]], s[name[0]]
			if lo == nil || hi == nil || v == nil {
				continue // over in nearly all draws
			}
			banded++
			if !(*lo <= *hi) {
				t.Errorf("%s at %g s: from %g to %g", name[0], *s["t_s"], *lo, *hi)
			} else if *v < *lo-1e-9 || *v > *hi+1e-9 {
				outside++
			}
		}
	}
	if banded < len(got.Samples) {
		t.Errorf("a band on %d values of %d samples", banded, len(got.Samples))
	}
	if outside > len(got.Samples)/10 {
		t.Errorf("%d of %d samples outside their band", outside, 2*len(got.Samples))
	}
}

// TestFailedDraws: draws without an answer are counted and said, a shot that
// never ends has no interval at all.
func TestFailedDraws(t *testing.T) {
	ask := func(sets ...string) *report.Report {
		m := testsheet.Build(t, string(demo.Sheet), sets...)
		r, err := answer.Shot(t.Context(), m, answer.ShotOptions{Spread: spread.Options{Draws: 1000, Seed: 1}})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := ask("piston.stroke=24 mm ± 0.5 mm", "piston.port_travel=20 mm ± 8 mm (uniform)") // a quarter beyond the stroke
	failed, doubts := r.Row("draws_without_answer").Value, fmt.Sprint(r.Doubts)
	if failed < 200 || failed > 300 || !strings.Contains(doubts, "% of the draws had no answer (most often: piston.port_travel cannot be") {
		t.Errorf("%g failed: %v", failed, doubts)
	}
	r = ask("piston.friction=1300 N ± 10 N")
	if o := r.Row("outcome").Text; !strings.HasPrefix(o, "stalled") && !strings.HasPrefix(o, "no pressure") || r.Row("draws") != nil {
		t.Errorf("%s, and yet drawn", o)
	}
}

// close9 compares to nine digits.
func close9(a, b float64) bool { return math.Abs(a-b) <= 1e-9*math.Abs(b) }
