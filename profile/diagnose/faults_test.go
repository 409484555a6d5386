package diagnose

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"springcalc/profile"
	"springcalc/spring"
)

// TestBadLogs: each log that cannot answer says why.
func TestBadLogs(t *testing.T) {
	good := logOf(t, cafe(), usual, rand.New(rand.NewPCG(1, 1))).without(false, true)
	edit := func(f func(Log) Log) Log { return f(append(Log(nil), good...)) }
	for _, c := range []struct {
		what string
		log  Log
		opt  Options
		err  error
		says string
	}{
		{"empty", nil, Options{}, ErrRows, "0, want 10"},
		{"one row", good[:1], Options{}, ErrRows, "1, want 10"},
		{"clock back", edit(func(l Log) Log { l[50].Time = 1; return l }), Options{}, ErrClock, "row 51 is at 1 s, after 4.9 s"},
		{"clock still", edit(func(l Log) Log {
			for i := range l {
				l[i].Time = 4
			}
			return l
		}), Options{}, ErrClock, "stands still"},
		{"no clock", edit(func(l Log) Log { l[3].Time = missing; return l }), Options{}, ErrRows, "row 4"},
		{"infinite", edit(func(l Log) Log { l[3].Pressure = math.Inf(1); return l }), Options{}, ErrRows, "row 4"},
		{"no mass", good.without(true, true), Options{}, ErrVolume, "neither"},
		{"no pressure", edit(func(l Log) Log {
			for i := range l {
				l[i].Pressure = missing
			}
			return l
		}), Options{}, ErrRows, "fewer than 10 have a pressure"},
		{"pump", edit(func(l Log) Log {
			for i := range l {
				l[i].Pressure = 9 * bar
			}
			return l
		}), Options{}, ErrSteady, "pump"},
		{"vacuum", edit(func(l Log) Log {
			for i := range l {
				l[i].Pressure = 0
			}
			return l
		}), Options{}, ErrSteady, "never above"},
		{"short fall", good, Options{From: 30, To: 34}, ErrFall, "want more than"},
		{"nothing in the cup", edit(func(l Log) Log {
			for i := range l {
				l[i].Cup = 0
			}
			return l
		}), Options{}, ErrFall, "nothing runs"},
		{"window of nothing", good, Options{From: 900, To: 901}, ErrRows, "0 of them in the window"},
		{"window backwards", good, Options{From: 30, To: 20}, ErrWindow, "before its start"},
		{"window of NaN", good, Options{From: 30, To: missing}, ErrInput, "NaN"},
		{"unsure of NaN", good, Options{Unsure: Unsure{Bore: missing, Gauge: -1}}, ErrInput, "Unsure.Gauge is -1"},
	} {
		line, err := ReadLine(c.log, cafe(), c.opt)
		if !errors.Is(err, c.err) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, %v; want %v with %q", c.what, line, err, c.err, c.says)
		}
	}
	s := cafe()
	s.Cylinder.Bore = missing
	if _, err := ReadLine(good, s, Options{}); !errors.Is(err, profile.ErrSetup) {
		t.Errorf("impossible setup: %v", err)
	}
}

func TestBadHistory(t *testing.T) {
	for _, c := range []struct {
		what string
		h    History
		err  error
		says string
	}{
		{"one reading", History{Readings: []PeakReading{{0, 9 * bar}}}, spring.ErrInput, "two or more"},
		{"same age", History{Readings: []PeakReading{{year, 9 * bar}, {year, 8 * bar}}}, spring.ErrInput, "different ages"},
		{"NaN", History{Readings: []PeakReading{{0, missing}, {year, 8 * bar}}}, ErrInput, "reading 1"},
		{"both", History{Readings: []PeakReading{{0, 0}, {-1, -8 * bar}}, U: -1, Keep: missing}, ErrInput, "History.Keep"},
	} {
		if _, err := Lose(c.h, cafe()); !errors.Is(err, c.err) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.what, err)
		}
	}
}

// TestUnknownSpring: without dimensions the causes are still ranked, and what
// cannot be compared is refused.
func TestUnknownSpring(t *testing.T) {
	m := cafeMachine()
	m.Spring = nil
	r := rank(t, m, UsualPrior(), got(Peak, 7*bar, 0.2*bar), got(Drag, 300, 10))
	if r.Causes[0].Cause != SealDrag {
		t.Errorf("first is %v", r.Causes[0].Cause)
	}
	for _, c := range r.Next {
		if c.Kind == FreeLength || c.Kind == Coils || c.Kind == WireSize || c.Kind == BenchLoad {
			t.Errorf("%v cannot be compared", c.Kind)
		}
	}
	if _, err := Rank(m, []Measured{got(FreeLength, 0.1, 1e-3)}, UsualPrior()); !errors.Is(err, ErrInput) || !strings.Contains(err.Error(), "free length") {
		t.Errorf("free length: %v", err)
	}
}

func TestBadRank(t *testing.T) {
	m := cafeMachine()
	bad := *m
	bad.Fresh, bad.GaugeLag = -1, missing
	bad.Spread[Peak].Share = missing
	soft := *m
	soft.Setup.Springs = []spring.Linear{{Rate: 0, Preload: 500}}
	for _, c := range []struct {
		what string
		m    *Machine
		data []Measured
		p    Prior
		says []string
	}{
		{"machine", &bad, nil, UsualPrior(), []string{"Machine.Fresh is -1 Pa", "Machine.GaugeLag is NaN s", "spread of the peak pressure"}},
		{"weight for a spring", &soft, nil, UsualPrior(), []string{"rate of spring 1 is 0"}},
		{"data", m, []Measured{got(Peak, missing, 1), got(Drag, 5, 0), {Kind: 99}, got(BenchLoad, 5, 1)}, UsualPrior(), []string{"peak pressure is NaN", "uncertainty of the difference of raising and lowering force is 0", "unknown measurement 99", "length of the load"}},
		{"prior", m, nil, Prior{Set: missing, SealDrag: -1}, []string{"prior of set of the spring is NaN", "prior of seal drag is -1"}},
		{"no prior", m, nil, Prior{}, []string{"add up to 0"}},
	} {
		_, err := Rank(c.m, c.data, c.p)
		if !errors.Is(err, ErrInput) {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		for _, s := range c.says {
			if !strings.Contains(err.Error(), s) {
				t.Errorf("%s: %v; want %q", c.what, err, s)
			}
		}
	}
	if Kind(-1).String() != "unknown measurement" || Cause(99).String() != "unknown cause" || Set.String() != "set of the spring" || Drag.String() != "difference of raising and lowering force" {
		t.Error("names")
	}
}

// TestNoSizeMovesThePeak: where the water never gets through the bed, an open puck
// cannot change the peak at any size; the ranking stands, and is of numbers.
func TestNoSizeMovesThePeak(t *testing.T) {
	for _, change := range []func(*Machine){
		func(*Machine) {},
		func(m *Machine) { m.Setup.Coffee.Dose = 60 * gram },
		func(m *Machine) { m.Setup.Water.Fill = 8.75 * bar },
	} {
		m := cafeMachine()
		change(m)
		sum := 0.0
		for _, c := range rank(t, m, UsualPrior(), got(Peak, 6.5*bar, 0.2*bar)).Causes {
			sum += c.Likelihood
			if math.IsNaN(c.Size) || math.IsNaN(c.SizeU) {
				t.Errorf("%v: size %g ± %g", c.Cause, c.Size, c.SizeU)
			}
		}
		if !(math.Abs(sum-1) < 1e-9) {
			t.Errorf("likelihoods add up to %g", sum)
		}
	}
}

// TestFewRows: of a log of few rows the intervals are numbers, also where a
// replicate draws one row over and over. Three of these are wild.
func TestFewRows(t *testing.T) {
	var l Log
	for i, p := range []float64{8.5, 8.35, 8.15, 7.85, 7.1, 6.75, 6.1, 6.05, 6.0, 5.35, 5.0} {
		l = append(l, Row{Time: 10 + 2*float64(i), Pressure: p * bar, Cup: missing, Travel: (2 + 1.8*float64(i)) * mm})
	}
	line, err := ReadLine(l, cafe(), Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	for what, r := range map[string]Reading{"rate": line.Rate, "cocked": line.Cocked, "rest": line.Rest, "end": line.End} {
		if !(r.Low <= r.High && r.Own >= 0) || math.IsInf(r.High-r.Low, 0) {
			t.Errorf("%s: %+v", what, r)
		}
	}
}
