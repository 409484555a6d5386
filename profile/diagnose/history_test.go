package diagnose

import (
	"errors"
	"math"
	"strings"
	"testing"

	"springcalc/spring"
)

// fall is a peak that follows the log-time law exactly.
func fall(s History, from, perDecade float64, years ...float64) History {
	for _, y := range years {
		s.Readings = append(s.Readings, PeakReading{y * year, from - perDecade*math.Log10(1+y*year/spring.DefaultT0)})
	}
	return s
}

// TestTwoReadings: force and set by arithmetic, the law assumed, and said so.
func TestTwoReadings(t *testing.T) {
	s := cafe()
	h := History{Readings: []PeakReading{{0, 9 * bar}, {40 * year, 6.5 * bar}}, U: 0.2 * bar}
	l, err := Lose(h, s)
	if err != nil {
		t.Fatal(err)
	}
	effect := s.Cylinder.Area() + s.Cylinder.Seal.PerPa
	want := 2.5 * bar * effect
	u := math.Sqrt2 * 0.2 * bar * effect // of a difference of two
	f := 9*bar*effect + s.Cylinder.Seal.Constant - s.Cylinder.Weight + s.Springs[0].Rate*s.Cylinder.Port
	for _, v := range []struct {
		what      string
		got, want float64
	}{
		{"force", l.Force.Value, want}, {"u", l.Force.U(), u},
		{"set", l.Set.Value, want / s.Springs[0].Rate}, {"u of set", l.Set.U(), u / s.Springs[0].Rate},
		{"share", l.Share, want / f},
		{"first forecast", l.Course[0].Peak.Value, 9 * bar},
	} {
		if !near(v.got, v.want, 1e-9) {
			t.Errorf("%s is %.8g, want %.8g", v.what, v.got, v.want)
		}
	}
	if !l.Decline.Assumed || !strings.Contains(strings.Join(l.Doubts, " "), "assumes it") || l.Passes.Asked {
		t.Errorf("assumed %v, asked %v, doubts %q", l.Decline.Assumed, l.Passes.Asked, l.Doubts)
	}
	for i, f := range l.Course {
		if i > 0 && !(f.Age > l.Course[i-1].Age && f.Peak.Value < l.Course[i-1].Peak.Value) {
			t.Errorf("forecast %d does not fall: %+v", i, f)
		}
		if !(f.Peak.Low < f.Peak.Value && f.Peak.Value < f.Peak.High) {
			t.Errorf("forecast %d has no band: %+v", i, f)
		}
	}
}

// TestPassing: the threshold is passed when the law, solved for time, says.
func TestPassing(t *testing.T) {
	s := cafe()
	const from, slope = 9 * bar, 0.4 * bar
	h := fall(History{U: 0.05 * bar}, from, slope, 0, 1, 5, 12, 20)
	law := func(keep float64) float64 {
		return spring.DefaultT0 * (math.Pow(10, (from-keep)/slope) - 1)
	}
	for _, c := range []struct {
		years         float64 // when the law passes
		passed, never bool
	}{{30, false, false}, {8, true, false}, {69, false, false}, {75, false, true}} {
		h.Keep = from - slope*math.Log10(1+c.years*year/spring.DefaultT0)
		l, err := Lose(h, s)
		if err != nil {
			t.Fatal(err)
		}
		p := l.Passes
		if !p.Asked || p.Passed != c.passed || p.Never != c.never {
			t.Errorf("%g years: %+v", c.years, p)
		}
		if !c.never && math.Abs(p.Age-law(h.Keep)) > 0.02*year {
			t.Errorf("passes at %.3f years, the law says %.3f", p.Age/year, law(h.Keep)/year)
		}
	}
	// With scatter the band opens, and its ends pass before and after.
	for i := range h.Readings {
		h.Readings[i].Peak += 0.03 * bar * float64(1-2*(i%2))
	}
	h.Keep = from - slope*math.Log10(1+30*year/spring.DefaultT0)
	l, err := Lose(h, s)
	if err != nil {
		t.Fatal(err)
	}
	if p := l.Passes; l.Decline.Assumed || !(p.Early > 0 && p.Early < p.Age) || p.Late != 0 && p.Late < p.Age {
		t.Errorf("band passes at %.1f, %.1f, %.1f years", p.Early/year, p.Age/year, p.Late/year)
	}
	if !(l.Force.Low < l.Force.Value && l.Force.Value < l.Force.High && l.Set.Low < l.Set.High) {
		t.Errorf("no interval: %+v", l.Force)
	}
}

// TestTimeConstant: the forecast does change with t0, but only a little after
// decades: that is why t0 need not be fitted.
func TestTimeConstant(t *testing.T) {
	h := History{Readings: []PeakReading{{0, 9 * bar}, {40 * year, 6.5 * bar}}}
	at := func(t0 float64) float64 {
		h.T0 = t0
		l, err := Lose(h, cafe())
		if err != nil {
			t.Fatal(err)
		}
		return l.Course[len(l.Course)-1].Peak.Value
	}
	a, b := at(36), at(3600)
	if a == b || math.Abs(a-b) > 0.05*bar {
		t.Errorf("after 90 years %.3g and %.3g bar", a/bar, b/bar)
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
