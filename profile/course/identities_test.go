package course

import (
	"flag"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func init() {
	_ = flag.Set("rapid.seed", "1")
	_ = flag.Set("rapid.checks", "60")
}

func drawLife(t *rapid.T) Life {
	l := Life{NewKnown: rapid.Bool().Draw(t, "new known")}
	at := float64(rapid.IntRange(-18000, 18000).Draw(t, "first, day")) * 86400
	l.New = at - float64(rapid.IntRange(0, 22000).Draw(t, "age, days"))*86400
	p := rapid.Float64Range(5e5, 12e5).Draw(t, "pressure")
	for range rapid.IntRange(1, 12).Draw(t, "readings") {
		l.Readings = append(l.Readings, Reading{Time: at, Value: p * rapid.Float64Range(0.5, 1).Draw(t, "share"), U: rapid.Float64Range(0, 3e4).Draw(t, "U")})
		at += float64(rapid.IntRange(0, 1100).Draw(t, "gap, days")) * 86400
	}
	for range rapid.IntRange(0, 3).Draw(t, "repairs") {
		l.Repairs = append(l.Repairs, Repair{Time: at - float64(rapid.IntRange(-300, 3600).Draw(t, "ago, days"))*86400, Kind: Kind(rapid.IntRange(0, 5).Draw(t, "kind"))})
	}
	return l
}

// TestAnyLife: no NaN, weights sum to 1, intervals in order, no more lost than there is.
func TestAnyLife(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLife(t)
		c, err := Weigh(l)
		if err != nil {
			t.Fatal(err)
		}
		check(t, l, c)
	})
}

// TestUnitsAndEpoch: another unit of the value, another epoch and another order of
// the readings change no answer.
func TestUnitsAndEpoch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := drawLife(t)
		const shift = 1 << 30 // exact in binary
		m := l
		m.New += shift
		m.Readings, m.Repairs = slices.Clone(l.Readings), slices.Clone(l.Repairs)
		for i := range m.Readings {
			m.Readings[i].Value /= 1024
			m.Readings[i].U /= 1024
			m.Readings[i].Time += shift
		}
		slices.Reverse(m.Readings)
		for i := range m.Repairs {
			m.Repairs[i].Time += shift
		}
		a, err := Weigh(l)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Weigh(m)
		if err != nil {
			t.Fatal(err)
		}
		weight := map[Law]float64{}
		for _, f := range a.Fits {
			weight[f.Law] = f.Weight
		}
		for _, f := range b.Fits {
			if math.Abs(f.Weight-weight[f.Law]) > 1e-3 {
				t.Fatalf("weight of %v: %g and %g", f.Law, weight[f.Law], f.Weight)
			}
		}
		last := l.Readings[len(l.Readings)-1].Time + Year
		x, _ := a.At(last)
		y, _ := b.At(last + shift)
		if u, v := x[0].Course.Value, 1024*y[0].Course.Value; math.Abs(u-v) > 1e-2*u {
			t.Fatalf("forecast %g and %g", u, v)
		}
	})
}

// TestFarYearMade: two readings three years apart on a spring fifty years old do not
// say how much was lost before them: the answer stays below what the spring has,
// is wide, and says what it rests on.
func TestFarYearMade(t *testing.T) {
	l := Life{NewKnown: true, New: -50 * Year, Readings: []Reading{{Time: -3 * Year, Value: 8.2e5, U: 1e4}, {Time: 0, Value: 7.6e5, U: 1e4}}}
	c := mustWeigh(t, l)
	t.Logf("lost %.2f of new, new %.2g", c.Lost.Share, c.Lost.New)
	if !c.Lost.Extrapolated || len(c.Doubts) < 2 {
		t.Errorf("not said to be extrapolated: %v", c.Doubts)
	}
	if s := c.Lost.Share; s.High > 0.6 || s.Value > 0.4 {
		t.Errorf("share lost %.2f", s)
	}
	l.Most = 1e5
	if s := mustWeigh(t, l).Lost.Set; s.High > 1e5*(1+1e-9) {
		t.Errorf("lost %g Pa of 1e5 at most", s.High)
	}
}

// TestExtrapolatedIsOfThisSpring: whether the loss rests on the law is decided by the
// first reading of the spring that is in the machine, whatever was read of the one
// before: read years after it was new, most of a loss over the logarithm of time was
// before it; read at once, it was not.
func TestExtrapolatedIsOfThisSpring(t *testing.T) {
	for _, c := range []struct {
		first float64 // reading of the new spring after it was fitted [a]
		want  bool
	}{{10, true}, {0.01, false}} {
		l := Life{NewKnown: true, T0: 86400, Repairs: []Repair{{Time: 10 * Year, Kind: Spring}}}
		for _, age := range []float64{0.01, 1, 3, 6, 9} {
			l.Readings = append(l.Readings, Reading{Time: age * Year, Value: 9e5 - 2e4*math.Log10(1+age*Year/86400), U: 1e3})
		}
		for _, later := range []float64{0, 2, 4, 8} {
			age := c.first + later
			l.Readings = append(l.Readings, Reading{Time: (10 + age) * Year, Value: 9e5 - 2e4*math.Log10(1+age*Year/86400), U: 1e3})
		}
		if got := mustWeigh(t, l).Lost.Extrapolated; got != c.want {
			t.Errorf("first read %g years after it was new: extrapolated %t", c.first, got)
		}
	}
}

// TestStandsOffBy: a reading that stands off is as far from the course as it was put,
// above it or below.
func TestStandsOffBy(t *testing.T) {
	for _, by := range []float64{3e5, -3e5} {
		var l Life
		for i := range 12 {
			l.Readings = append(l.Readings, Reading{Time: float64(i) * Year, Value: 8e5, U: 5e3})
		}
		l.Readings[6].Value += by
		off := mustWeigh(t, l).StandsOff
		if len(off) != 1 || off[0].Reading != 6 || math.Abs(off[0].Off.Value-by) > 2e4 || !(off[0].Off.Low < by && by < off[0].Off.High) {
			t.Errorf("%g Pa off: %+v", by, off)
		}
	}
}

// TestChange: a change is what the course is later less what it was before, in the unit
// of the readings, and the other way about it is the same with the other sign.
func TestChange(t *testing.T) {
	for _, unit := range []float64{1e5, 1} { // a pascal, a bar
		var l Life
		for i := range 10 {
			l.Readings = append(l.Readings, Reading{Time: float64(i) * Year, Value: (9 - 0.2*float64(i)) * unit, U: 0.02 * unit})
		}
		c := mustWeigh(t, l)
		f, err := c.At(Year, 8*Year)
		if err != nil {
			t.Fatal(err)
		}
		there, err := c.Change(Year, 8*Year)
		if err != nil {
			t.Fatal(err)
		}
		back, err := c.Change(8*Year, Year)
		if err != nil {
			t.Fatal(err)
		}
		const slip = 0.05 // of a bar: medians of differences are not differences of medians
		if want := f[1].Course.Value - f[0].Course.Value; math.Abs(there.Value-want) > slip*unit || math.Abs(there.Value+1.4*unit) > 2*slip*unit {
			t.Errorf("changes by %g, want %g", there.Value, want)
		}
		if math.Abs(there.Value+back.Value) > 1e-9*unit || math.Abs(there.Low+back.High) > 1e-9*unit {
			t.Errorf("%+v there, %+v back", there, back)
		}
	}
}

// TestPassesMeetsForecast: when the median passes a limit the forecast is there.
func TestPassesMeetsForecast(t *testing.T) {
	l := Life{NewKnown: true}
	for i := range 10 {
		l.Readings = append(l.Readings, Reading{Time: (0.1 + float64(i)) * Year, Value: 9e5 * (1 - 0.02*float64(i)), U: 5e3})
	}
	c := mustWeigh(t, l)
	p, err := c.Passes(6.5e5, 40*Year)
	if err != nil || p.Never || !(p.Early < p.Time && p.Time < p.Late) {
		t.Fatalf("%+v, %v", p, err)
	}
	if f, _ := c.At(p.Time); math.Abs(f[0].Course.Value-6.5e5) > 1e3 {
		t.Errorf("at the passing the course is %.4g Pa", f[0].Course.Value)
	}
	if p, _ := c.Passes(1e5, 5*Year); !p.Never || p.Time != 0 {
		t.Errorf("a far limit: %+v", p)
	}
	if p, _ := c.Passes(8e5, 5*Year); p.Already < 0.99 {
		t.Errorf("a limit passed before: %+v", p)
	}
}

// TestCommonCancels: the zero of the gauge drops out of a difference, and the ratio
// is free of its gain.
func TestCommonCancels(t *testing.T) {
	d, err := Compare(Side{8e5, 3e3}, Side{9e5, 4e3}, Common{Gain: 0.02, Zero: 2e4})
	if err != nil {
		t.Fatal(err)
	}
	if want := math.Hypot(5e3, 0.02*1e5); math.Abs(d.U-want) > 1e-9*want || !d.Different {
		t.Errorf("%+v, want u %g", d, want)
	}
	if d.Separate < 5*d.U {
		t.Errorf("separate %g against %g", d.Separate, d.U)
	}
}

func TestKindsReadBack(t *testing.T) {
	for k := Other; k <= Descale; k++ {
		if got, err := ParseKind(k.String()); got != k || err != nil {
			t.Errorf("%v: %v, %v", k, got, err)
		}
	}
}

// TestExtrapolatedIsSaid: outside of what readings carry a forecast says so.
func TestExtrapolatedIsSaid(t *testing.T) {
	f, err := mustWeigh(t, sound()).At(-Year, 0, 7*Year, 12*Year, 13*Year)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []bool{true, false, false, false, true} {
		if f[i].Extrapolated != want {
			t.Errorf("at %g years: extrapolated %v", f[i].Time/Year, f[i].Extrapolated)
		}
	}
}
