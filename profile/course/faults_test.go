package course

import (
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"testing"
)

func sound() Life {
	return Life{Readings: []Reading{{Time: 0, Value: 9e5}, {Time: 3 * Year, Value: 8.8e5}, {Time: 6 * Year, Value: 8.7e5}}}
}

func TestFaultsAreNamed(t *testing.T) {
	nan := math.NaN()
	for want, spoil := range map[string]func(*Life){
		"0 readings":          func(l *Life) { l.Readings = nil },
		"reading 2: Time":     func(l *Life) { l.Readings[1].Time = nan },
		"reading 3: Value":    func(l *Life) { l.Readings[2].Value = -1 },
		"reading 1: U":        func(l *Life) { l.Readings[0].U = math.Inf(1) },
		"repair 1: Time":      func(l *Life) { l.Repairs = []Repair{{Time: nan}} },
		"repair 1: Kind is 9": func(l *Life) { l.Repairs = []Repair{{Kind: 9}} },
		"13 repairs":          func(l *Life) { l.Repairs = make([]Repair, 13) },
		"New is":              func(l *Life) { l.NewKnown, l.New = true, Year },
		"T0":                  func(l *Life) { l.T0 = 0.5 },
		"Most":                func(l *Life) { l.Most = -1 },
		"Prior.Wear":          func(l *Life) { l.Prior = Prior{0.5, 0, 0.5} },
	} {
		l := sound()
		spoil(&l)
		if _, err := Weigh(l); !errors.Is(err, ErrInput) || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v", want, err)
		}
	}
	l := sound()
	l.Readings[0].Value, l.Readings[2].Value = 0, nan
	if _, err := Weigh(l); err == nil || strings.Count(err.Error(), "\n") != 1 {
		t.Errorf("two faults: got %v", err)
	}
	c := mustWeigh(t, sound())
	if _, err := c.At(nan); !errors.Is(err, ErrInput) {
		t.Errorf("At(NaN): %v", err)
	}
	if _, err := c.Passes(0, Year); !errors.Is(err, ErrInput) {
		t.Errorf("Passes(0): %v", err)
	}
	if _, err := c.Passes(1e5, nan); !errors.Is(err, ErrInput) {
		t.Errorf("Passes(…, NaN): %v", err)
	}
	if _, err := Compare(Side{0, 0}, Side{1, nan}, Common{}); err == nil || !strings.Contains(err.Error(), "value before") || !strings.Contains(err.Error(), "U after") {
		t.Errorf("Compare: %v", err)
	}
	if _, err := ParseKind("gasket"); !errors.Is(err, ErrInput) {
		t.Errorf("ParseKind: %v", err)
	}
}

func numbers(c *Course) []float64 {
	x := []float64{c.LnBF.Set, c.LnBF.Wear, c.LnBF.Step, c.Effective}
	add := func(es ...Estimate) {
		for _, e := range es {
			x = append(x, e.Value, e.Low, e.High)
		}
	}
	add(c.Lost.New, c.Lost.Set, c.Lost.Share, c.Scatter)
	for _, f := range c.Fits {
		x = append(x, f.Weight, f.Evidence)
		add(f.Set, f.Wear, f.Step, f.StepAt)
	}
	for _, b := range c.Repairs {
		x = append(x, b.LnBF)
		add(b.Before, b.After, b.Change)
	}
	for _, s := range c.StandsOff {
		x = append(x, s.Probability)
		add(s.Off)
	}
	return x
}

// check reports what is wrong with a course of a life that was taken.
func check(t interface{ Fatalf(string, ...any) }, l Life, c *Course) {
	for i, v := range numbers(c) {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			t.Fatalf("number %d is %g for %+v", i, v, l)
		}
	}
	sum := 0.0
	for _, f := range c.Fits {
		sum += f.Weight
	}
	if math.Abs(sum-1) > 1e-9 || len(c.Fits) != 8 {
		t.Fatalf("weights of %d laws sum to %g", len(c.Fits), sum)
	}
	if c.Lost.Share.High > 1 || c.Lost.Share.Low < 0 {
		t.Fatalf("share lost %v for %+v", c.Lost.Share, l)
	}
	last := l.Readings[0].Time
	for _, r := range l.Readings {
		last = max(last, r.Time)
	}
	if last+50*Year > maxTime {
		return
	}
	f, err := c.At(last, last+5*Year, last+50*Year)
	if err != nil {
		t.Fatalf("%v", err)
	}
	for _, at := range f {
		for _, e := range []Estimate{at.Course, at.Reading} {
			if !(0 <= e.Low && e.Low <= e.Value && e.Value <= e.High && e.High < math.Inf(1)) {
				t.Fatalf("forecast %+v for %+v", at, l)
			}
		}
	}
	p, err := c.Passes(max(l.Readings[0].Value/2, 1e-9), 50*Year)
	if err != nil || !(p.Probability >= p.Already && p.Probability <= 1) || math.IsNaN(p.Time+p.Early+p.Late) {
		t.Fatalf("passes %+v, %v", p, err)
	}
}

// FuzzWeigh: whatever the numbers, an error or a course without NaN.
func FuzzWeigh(f *testing.F) {
	seed := func(x ...float64) {
		var b []byte
		for _, v := range x {
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
		}
		f.Add(b, byte(len(x)))
	}
	seed(0, 9e5, 1e3, 1e8, 8e5, 1e3)
	seed(0, 1e-9, 0, 0, 1e12, 1e11, 3e11, 1, 1)
	seed(-3e11, 5, 5, 3e11, 5, 0)
	f.Fuzz(func(t *testing.T, b []byte, flags byte) {
		if len(b) > 24*20 {
			return
		}
		at := func(i int) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:])) }
		var l Life
		for i := 0; 8*(i+3) <= len(b); i += 3 {
			l.Readings = append(l.Readings, Reading{Time: at(i), Value: at(i + 1), U: at(i + 2), Before: flags&8 != 0})
		}
		if len(l.Readings) > 0 && flags&1 != 0 {
			l.NewKnown, l.New = true, l.Readings[0].Time
		}
		if len(l.Readings) > 0 && flags&2 != 0 {
			l.Repairs = []Repair{{Time: l.Readings[len(l.Readings)-1].Time, Kind: Kind(flags >> 4 % 6)}}
		}
		c, err := Weigh(l)
		if err != nil {
			return
		}
		check(t, l, c)
	})
}
