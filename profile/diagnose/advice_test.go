package diagnose

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// cafeWire is wire of 1700 MPa with Zimmerli's endurance (Shigley 10e eq.
// 10-28, 35 about 55 kpsi) and a made-up life curve.
func cafeWire(t testing.TB) *Wire {
	t.Helper()
	c, err := spring.AfterSet(0.65)
	if err != nil {
		t.Fatal(err)
	}
	const kpsi = 6.894757e6
	return &Wire{
		Tensile: 1700e6, Criterion: c,
		Fatigue: spring.Strength{Endurance: spring.Endurance{Amplitude: 35 * kpsi, Mean: 55 * kpsi}, UltimateShear: 0.67 * 1700e6, Line: spring.Goodman},
		Curve:   spring.LifeCurve{{Cycles: 1e5, Share: 0.42}, {Cycles: 1e6, Share: 0.39}, {Cycles: 1e7, Share: 0.36}},
	}
}

func advise(t testing.TB, m *Machine, now float64, w Wish, data ...Measured) *Advice {
	t.Helper()
	a, err := Advise(m, rank(t, m, UsualPrior(), data...), now, w)
	if err != nil {
		t.Fatal(err)
	}
	if a.Why == "" || len(a.Doubts) == 0 || len(a.Cautions) == 0 {
		t.Errorf("advice without reason, doubt or caution: %+v", a)
	}
	return a
}

// setFacts are the measurements of a spring that has set by 10 mm.
func setFacts(m *Machine) (now float64, data []Measured) {
	s := m.Setup
	s.Springs = []spring.Linear{{Rate: s.Springs[0].Rate, Preload: s.Springs[0].Preload - 10*mm*s.Springs[0].Rate}}
	shot, _ := profile.Summarize(&s)
	return shot.Peak, []Measured{got(Peak, shot.Peak, 0.1*bar), got(FreeLength, m.Spring.Free-10*mm, 0.2*mm), got(Drag, 40, 5), got(Gauge, 1, 0.01)}
}

// TestShim: the shim that is advised, put into the machine with the set, gives
// the peak that is wanted, and its forces.
func TestShim(t *testing.T) {
	m := cafeMachine()
	m.GaugeLag = 1e-9
	now, data := setFacts(m)
	a := advise(t, m, now, Wish{Peak: 8.5 * bar, Wire: cafeWire(t)}, data...)
	if a.Action != ShimIt || a.Shim == nil || !a.Shim.Known || !a.Shim.Strong || a.Shim.Binds {
		t.Fatalf("%v because %s; shim %+v", a.Action, a.Why, a.Shim)
	}
	s := m.Setup
	k := s.Springs[0].Rate
	s.Springs = []spring.Linear{{Rate: k, Preload: s.Springs[0].Preload - 10*mm*k + a.Shim.Thickness*k}}
	shot, err := profile.Summarize(&s)
	if err != nil {
		t.Fatal(err)
	}
	solid := m.Spring.SolidLength()
	rest := m.Spring.Free - m.Setup.Springs[0].Preload/k
	for _, v := range []struct {
		what      string
		got, want float64
	}{
		{"peak", shot.Peak, 8.5 * bar},
		{"peak as told", a.Shim.Peak, 8.5 * bar},
		{"force at rest", a.Shim.Rest, s.Springs[0].Preload},
		{"force cocked", a.Shim.Cocked, s.Springs[0].Force(s.Cylinder.Stroke)},
		{"solid length", a.Shim.SolidLength, solid},
		{"cocked length", a.Shim.CockedLength, rest - s.Cylinder.Stroke - a.Shim.Thickness},
		{"pull on the handle", a.Shim.Effort, (s.Springs[0].Force(s.Cylinder.Stroke) + 26) / (s.Springs[0].Force(s.Cylinder.Stroke) - a.Shim.Thickness*k + 26)}, // 20 N of seal, 6 N of weight
		{"most", a.Shim.Most, rest - s.Cylinder.Stroke - solid},
		{"clearance", a.Shim.Clearance.Gap, a.Shim.CockedLength - solid},
	} {
		if !near(v.got, v.want, 1e-6) {
			t.Errorf("%s is %.6g, want %.6g", v.what, v.got, v.want)
		}
	}
	if !(a.Shim.Effort > 1 && a.Shim.Effort < 1.6) || !(a.Shim.Safety[1] < a.Shim.Safety[0] && a.Shim.Safety[1] > 0) || !(a.Shim.Static.Cocked.Used > 0) {
		t.Errorf("effort %.3f, safety %v, stress used %.3f", a.Shim.Effort, a.Shim.Safety, a.Shim.Static.Cocked.Used)
	}
	if !slices.Contains(a.Cautions, spring.CautionPreload) || !slices.Contains(a.Cautions, spring.CautionStiffer) {
		t.Errorf("cautions are %q", a.Cautions)
	}
}

// TestNoShim: where the coils would touch, or come too close, or the wire would
// yield, the spring is to be replaced, and the advice says why and by what.
func TestNoShim(t *testing.T) {
	for _, c := range []struct {
		what   string
		change func(*Machine, *Wire)
		says   string
	}{
		{"binds", func(m *Machine, _ *Wire) { m.Spring.Total += 3 }, "cannot be shimmed: the coils would bind"},
		{"close", func(m *Machine, _ *Wire) { m.Spring.Total += 1 }, "are asked for"},
		{"yields", func(_ *Machine, w *Wire) { w.Tensile = 800e6 }, "would yield"},
	} {
		m, w := cafeMachine(), cafeWire(t)
		c.change(m, w)
		now, data := setFacts(m)
		a := advise(t, m, now, Wish{Wire: w}, data...)
		if a.Action != Replace || !strings.Contains(a.Why, c.says) || a.Ask == nil {
			t.Errorf("%s: %v because %s; %+v", c.what, a.Action, a.Why, a.Shim)
			continue
		}
		l := m.Setup.Springs[0]
		if g := a.Ask; !near(g.Rate, l.Rate, 1e-9) || !near(g.Rest, l.Preload, 1e-9) || !near(g.Cocked, l.Force(m.Setup.Cylinder.Stroke), 1e-9) || !near(g.Free, m.Spring.Free, 1e-9) || !near(g.Length, m.Spring.Free-l.Preload/l.Rate, 1e-9) {
			t.Errorf("%s: asks for %+v", c.what, g)
		}
	}
}

// TestActions: each cause, once it is clear, has its remedy.
func TestActions(t *testing.T) {
	m := cafeMachine()
	peak := got(Peak, 7*bar, 0.2*bar)
	for _, c := range []struct {
		want Action
		wish Wish
		data []Measured
	}{
		{ServiceSeal, Wish{}, []Measured{peak, got(Drag, 600, 20)}},
		{CheckGauge, Wish{}, []Measured{peak, got(Gauge, 0.8, 0.01)}},
		{CockFully, Wish{}, []Measured{peak, got(Travel, 15*mm, 0.3*mm)}},
		{FixFill, Wish{}, []Measured{peak, got(LongFill, 8.7*bar, 0.1*bar)}},
		{FixPuck, Wish{}, []Measured{peak, got(ShotTime, 4, 0.5), got(FreeLength, 150*mm, 0.3*mm), got(Gauge, 1, 0.01), got(LongFill, 7*bar, 0.15*bar)}},
		{Replace, Wish{}, []Measured{peak, got(WireSize, 6.15*mm, 0.02*mm)}},
		{MeasureOne, Wish{}, []Measured{peak}},
		{Keep, Wish{Keep: 6.5 * bar}, []Measured{peak}},
		{Keep, Wish{}, []Measured{got(Peak, 8.6*bar, 0.2*bar)}},
	} {
		a := advise(t, m, c.data[0].Value, c.wish, c.data...)
		if a.Action != c.want {
			t.Errorf("%v because %s, want %v", a.Action, a.Why, c.want)
		}
		if slices.Contains(a.Cautions, piston.CautionFood) != (a.Action == ServiceSeal) {
			t.Errorf("%v: cautions %q", a.Action, a.Cautions)
		}
		if a.Action == MeasureOne && (a.Next == nil || !strings.Contains(a.Why, a.Next.Kind.String())) {
			t.Errorf("next is %+v; %s", a.Next, a.Why)
		}
	}
	// A thinned wire is not kept, whatever the pressure.
	if a := advise(t, m, 7*bar, Wish{Keep: 5 * bar}, peak, got(WireSize, 6.15*mm, 0.02*mm)); a.Action != Replace || a.Ask == nil {
		t.Errorf("%v because %s", a.Action, a.Why)
	}
	// Without dimensions a shim is a thickness and a doubt.
	m.Spring = nil
	a := advise(t, m, 7*bar, Wish{}, peak, got(Drag, 40, 5), got(LogRate, 32e3, 300), got(EndPress, 3*bar, 0.1*bar))
	if a.Shim == nil || a.Shim.Known || !strings.Contains(strings.Join(a.Shim.Doubts, " "), "measure wire") || !(a.Shim.Thickness > 0) {
		t.Errorf("shim %+v", a.Shim)
	}
	if _, err := Advise(m, rank(t, m, UsualPrior(), peak), missing, Wish{Keep: -1, Peak: math.Inf(1)}); !errors.Is(err, ErrInput) || !strings.Contains(err.Error(), "Wish.Keep is -1") {
		t.Errorf("bad wish: %v", err)
	}
}

// TestWear: cycles, life and Miner's share by hand.
func TestWear(t *testing.T) {
	m, w := cafeMachine(), cafeWire(t)
	w.Curve = spring.LifeCurve{{Cycles: 1e5, Share: 0.9}, {Cycles: 1e7, Share: 0.1}}
	use := spring.Use{PullsPerDay: 100, DaysPerYear: 300, Years: 20}
	got, err := WearOf(m, w, use)
	if err != nil {
		t.Fatal(err)
	}
	if got.Cycles != 600_000 || !near(got.Share, got.Cycles/got.Life.Cycles, 1e-12) || got.Bound != spring.About || !(got.Life.Cycles > 1e5 && got.Life.Cycles < 1e7) {
		t.Errorf("%+v", got)
	}
	if _, err := WearOf(m, nil, use); !errors.Is(err, ErrInput) {
		t.Errorf("no wire: %v", err)
	}
}
