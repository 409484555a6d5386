package piston_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"springcalc/piston"
)

// TestEveryFaultAtOnce gives every field a value that cannot be and wants each named.
func TestEveryFaultAtOnce(t *testing.T) {
	nan := math.NaN()
	span := piston.Span{From: nan, To: nan}
	angles := []string{"angle at rest NaN rad", "angle when cocked NaN rad"}
	for _, c := range []struct {
		name string
		err  error
		want []string
	}{
		{"cylinder", piston.Cylinder{Bore: nan, Stroke: nan, Port: nan, Weight: nan, Seal: piston.Seal{Constant: nan, PerPa: nan}}.Validate(), []string{
			"bore NaN m", "stroke NaN m", "port travel NaN m", "piston weight NaN N", "seal friction NaN N", "seal friction by pressure NaN N/Pa"}},
		{"port beyond the stroke", piston.Cylinder{Bore: 0.05, Stroke: 0.02, Port: 0.03}.Validate(), []string{"port travel 0.03 m, want from 0 m to 0.02 m"}},
		{"rack", piston.Rack{PinionDiameter: nan, Span: span}.Validate(), append([]string{"pinion pitch diameter NaN m"}, angles...)},
		{"cross slot", piston.CrossSlot{PinRadius: -1, Span: span}.Validate(), append([]string{"pin radius -1 m"}, angles...)},
		{"lever slot", piston.LeverSlot{PinDistance: 0, Span: span}.Validate(), append([]string{"pin distance 0 m"}, angles...)},
		{"lever slot too far", piston.LeverSlot{PinDistance: 0.03, Span: piston.Span{From: -1.5, To: 1}}.Validate(), []string{"lever in a slot from -1.5 to 1 rad"}},
		{"link", piston.Link{PinRadius: nan, Length: nan, Offset: nan, Span: span}.Validate(),
			append([]string{"pin radius NaN m", "link length NaN m", "offset of the piston's axis NaN m"}, angles...)},
		{"link too short at a quarter turn", piston.Link{PinRadius: 0.03, Length: 0.03, Span: piston.Span{From: 1, To: 2}}.Validate(),
			[]string{"link length 0.03 m, want well above the 0.03 m"}},
		{"link too short below", piston.Link{PinRadius: 0.03, Length: 0.03, Span: piston.Span{From: -2, To: 0}}.Validate(),
			[]string{"link length 0.03 m, want well above the 0.03 m"}},
		{"span the wrong way", piston.Rack{PinionDiameter: 0.03, Span: piston.Span{From: 2, To: 1}}.Validate(),
			[]string{"angle when cocked 1 rad, want above the angle at rest 2 rad"}},
		{"lever", piston.Lever{Handle: nan, Efficiency: 1.01}.Validate(), []string{
			"a lever without a linkage", "handle length NaN m", "efficiency of the linkage 1.01, want from 0.01 to 1"}},
		{"load", piston.Load{Cylinder: piston.Cylinder{Bore: 1, Stroke: 1}, OpenPressure: nan, ClosedPressure: -2e5}.Validate(), []string{
			"a load without a spring force", "pressure with the port open NaN Pa", "pressure with the port closed -2e+05 Pa"}},
		{"air", piston.Air{Volume: nan, Pressure: nan, Atmosphere: 0}.Validate(), []string{
			"volume of the air NaN m³", "gauge pressure of the air NaN Pa", "air pressure of the place, absolute 0 Pa"}},
		{"air below a vacuum", piston.Air{Volume: 1e-5, Pressure: -1e5, Atmosphere: 9e4}.Validate(), []string{"want above a vacuum, -9e+04 Pa"}},
		{"fill", piston.Fill{Headspace: nan, Unfilled: -1}.Validate(piston.Cylinder{Bore: 0.05, Stroke: 0.02}), []string{
			"headspace NaN m³", "unfilled volume -1 m³", "absolute 0 Pa"}},
		{"more air than chamber", piston.Fill{Air: 1e-3, Atmosphere: 1e5}.Validate(piston.Cylinder{Bore: 0.05, Stroke: 0.02}), []string{
			"unfilled volume and air 0.001 m³, want at most the 3.927e-05 m³ of the chamber"}},
	} {
		for _, want := range c.want {
			if c.err == nil || !errors.Is(c.err, piston.ErrValue) || !strings.Contains(c.err.Error(), want) {
				t.Errorf("%s: error %v, want %q", c.name, c.err, want)
			}
		}
	}
}

// TestRefusals wants an error where there is no answer.
func TestRefusals(t *testing.T) {
	rack := piston.Rack{PinionDiameter: 30 * mm, Span: piston.Span{To: 1.6}}
	lever := piston.Lever{Linkage: rack, Handle: 0.3, Efficiency: 0.9}
	backwards := piston.CrossSlot{PinRadius: 20 * mm, Span: piston.Span{From: -0.5, To: 2}}
	ring := piston.ORing{Bore: 50 * mm, Groove: 51 * mm, Squeeze: 0.1, Hardness: 70, Rings: 1}
	unsound := benchSpring()
	unsound.Spring = func(lift float64) float64 { return 10 - 1e3*lift }
	link := halfTurn(20*mm, 70*mm)
	for _, c := range []struct {
		name, want string
		call       func() error
		is         error
	}{
		{"angle beyond the stop", "handle angle 1.7 rad, the linkage goes from 0 to 1.6 rad",
			func() error { _, err := lever.Forces(benchSpring(), 1.7); return err }, piston.ErrRange},
		{"lift that falls from rest", "does not rise as the handle leaves its rest at -0.5 rad",
			func() error { _, _, err := piston.Latch(backwards); return err }, piston.ErrValue},
		{"effort with it", "does not rise",
			func() error { _, err := torque(backwards).Effort(benchSpring(), 2); return err }, piston.ErrValue},
		{"angle for a lift with it", "does not rise",
			func() error { _, err := piston.AngleFor(backwards, 0.01); return err }, piston.ErrValue},
		{"spring that pulls, in the effort", "spring force",
			func() error { _, err := lever.Effort(unsound, 2); return err }, piston.ErrValue},
		{"spring that pulls, at one angle", "spring force",
			func() error { _, err := lever.Forces(unsound, 1.5); return err }, piston.ErrValue},
		{"spring that pulls, in the chamber", "spring force",
			func() error {
				_, err := piston.Fill{Atmosphere: 1e5}.Loss(unsound.Cylinder, unsound.Spring)
				return err
			}, piston.ErrValue},
		{"no spring in the chamber", "without a spring force",
			func() error { _, err := piston.Fill{Atmosphere: 1e5}.Loss(unsound.Cylinder, nil); return err }, piston.ErrValue},
		{"groove outside the bore", "groove diameter 0.051 m, want below the bore 0.05 m",
			func() error { _, err := ring.Friction(1e5); return err }, piston.ErrValue},
		{"O-ring pressure", "pressure on the O-ring 2.1e+07 Pa",
			func() error { _, err := ring.Friction(21e6); return err }, piston.ErrValue},
		{"O-ring without pressure to draw a line to", "working pressure 0 Pa",
			func() error { _, err := ring.Seal(0); return err }, piston.ErrValue},
		{"O-ring off the charts", "squeeze 0.25, want from 0.001 to 0.2",
			func() error {
				_, err := piston.ORing{Bore: 1, Groove: 0.9, Squeeze: 0.25, Hardness: 60, Rings: 0}.Friction(0)
				return err
			}, piston.ErrValue},
		{"masses", "mass of the piston -1 kg",
			func() error { _, err := lever.Recoil(benchSpring(), piston.Moving{Piston: -1}); return err }, piston.ErrValue},
		{"joints", "coefficient of friction 2, want from 0 to 1",
			func() error {
				_, _, err := link.Efficiency(piston.Joints{Pivot: -1, Pin: -1, Piston: -1, Friction: 2}, 1)
				return err
			}, piston.ErrValue},
		{"joints beyond the stop", "handle angle 4 rad",
			func() error { _, _, err := link.Efficiency(piston.Joints{}, 4); return err }, piston.ErrRange},
		{"two points", "2 points of angle and lift, want 3 or more",
			func() error { _, err := piston.NewTable(make([]piston.TablePoint, 2)); return err }, piston.ErrValue},
		{"a table out of order", "angle of point 3 1 rad, want above the 2 rad of the point before it",
			func() error {
				_, err := piston.NewTable([]piston.TablePoint{{0, math.NaN()}, {2, 0.01}, {1, 0.02}})
				return err
			}, piston.ErrValue},
		{"a table without lift", "does not rise",
			func() error {
				_, _, err := piston.Latch(must(piston.NewTable([]piston.TablePoint{{0, 0.01}, {1, 0.01}, {2, 0.01}})))
				return err
			}, piston.ErrValue},
	} {
		if err := c.call(); !errors.Is(err, c.is) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %q", c.name, err, c.want)
		}
	}
}

// TestJammedJoints wants an efficiency of zero, not a number without sense,
// where friction holds the link or no work is done.
func TestJammedJoints(t *testing.T) {
	link := halfTurn(5*mm, 60*mm)
	thick := piston.Joints{Pivot: 10 * mm, Pin: 10 * mm, Piston: 60 * mm, Friction: 0.9}
	if up, down, err := link.Efficiency(thick, 1); up != 0 || down != 0 || err != nil {
		t.Errorf("jammed: %g up, %g down, %v", up, down, err)
	}
	thick.Piston, thick.Friction = 5*mm, 0.5
	if up, down, err := link.Efficiency(thick, 1); !(up > 0) || up >= 0.5 || down != 0 || err != nil {
		t.Errorf("held: %g up, %g down, %v", up, down, err)
	}
	if up, down, err := link.Efficiency(thick, 0); up != 0 || down != 0 || err != nil {
		t.Errorf("dead centre: %g up, %g down, %v", up, down, err)
	}
	leaning := piston.Link{PinRadius: 59 * mm, Length: 60 * mm, Span: piston.Span{To: 2}}
	if up, down, err := leaning.Efficiency(piston.Joints{Pin: 10 * mm, Piston: 10 * mm, Friction: 0.9}, math.Pi/2); up != 0 || !(down > 0) || err != nil {
		t.Errorf("leaning over: %g up, %g down, %v", up, down, err)
	}
	if up, down, err := link.Efficiency(piston.Joints{}, 1); up != 1 || down != 1 || err != nil {
		t.Errorf("no joints: %g up, %g down, %v", up, down, err)
	}
}

// TestDoubts makes one thing doubtful at a time and wants that doubt and no other.
func TestDoubts(t *testing.T) {
	sound := piston.Lever{
		Linkage: piston.Rack{PinionDiameter: 30 * mm, Span: piston.Span{To: 25.0 / 15}},
		Handle:  0.3, Efficiency: 0.9,
	}
	toMatch := func(l piston.Linkage) float64 { return l.Lift(math.Pi) } // the stop holds it
	for _, c := range []struct {
		want   string
		change func(*piston.Lever, *piston.Load)
	}{
		{"", func(*piston.Lever, *piston.Load) {}},
		{"stroke of the piston by -20 %", func(_ *piston.Lever, load *piston.Load) { load.Cylinder.Stroke = 31.25 * mm }},
		{"as far as the inlet port", func(_ *piston.Lever, load *piston.Load) {
			load.Cylinder.Stroke, load.Cylinder.Port = 25.4*mm, 0.3*mm
		}},
		{"may not come back by itself", func(l *piston.Lever, _ *piston.Load) { l.Efficiency = 0.45 }},
		{"stop short of its rest", func(_ *piston.Lever, load *piston.Load) { load.Cylinder.Seal.Constant = 300 }},
		{"sideways with 44 %", func(l *piston.Lever, load *piston.Load) {
			l.Linkage = piston.Link{PinRadius: 20 * mm, Length: 50 * mm, Span: piston.Span{To: 2}}
			load.Cylinder.Stroke = toMatch(l.Linkage)
		}},
		{"changes by up to 40 %", func(l *piston.Lever, _ *piston.Load) {
			l.Linkage = must(piston.NewTable([]piston.TablePoint{{0, 0}, {0.5, 6.25 * mm}, {1, 16.666666667 * mm}, {1.4, 25 * mm}}))
		}},
	} {
		lever, load := sound, benchSpring()
		c.change(&lever, &load)
		doubts := must(lever.Effort(load, 2)).Doubts
		switch {
		case c.want == "" && len(doubts) == 0:
		case c.want != "" && len(doubts) == 1 && strings.Contains(doubts[0], c.want):
		default:
			t.Errorf("doubts %q, want one with %q", doubts, c.want)
		}
	}
}

func TestEffortNeedsTwoPoints(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("no panic for a table of one point")
		}
	}()
	_, _ = torque(piston.Rack{PinionDiameter: 1, Span: piston.Span{To: 1}}).Effort(benchSpring(), 1)
}

// FuzzLever asks for no answer, only for sense: an error or finite numbers,
// with the hand's work above what is stored.
func FuzzLever(f *testing.F) {
	f.Add(0.02, 0.07, 0.003, 0.1, 2.5, 0.3, 0.9, 300.0, 15e3)
	f.Add(0.02, 0.02, 0.0, 0.0, 1.2, 0.3, 0.9, 0.0, 0.0)
	f.Add(1e-6, 10.0, -1.0, 0.0, 9.0, 10.0, 0.01, 1e7, 1e300)
	f.Add(math.NaN(), math.Inf(1), 0.0, 0.0, 3.0, 0.3, 1.0, -5.0, 1.0)
	f.Fuzz(func(t *testing.T, pin, length, offset, from, to, handle, efficiency, preload, rate float64) {
		span := piston.Span{From: from, To: to}
		load := piston.Load{
			Cylinder: piston.Cylinder{Bore: 0.05, Stroke: 0.025, Port: 0.003, Weight: 5, Seal: piston.Seal{Constant: 20, PerPa: 3e-5}},
			Spring:   func(lift float64) float64 { return max(0, preload+rate*lift) },
		}
		for _, l := range []piston.Linkage{
			piston.Rack{PinionDiameter: pin, Span: span},
			piston.CrossSlot{PinRadius: pin, Span: span},
			piston.LeverSlot{PinDistance: pin, Span: span},
			piston.Link{PinRadius: pin, Length: length, Offset: offset, Span: span},
		} {
			lever := piston.Lever{Linkage: l, Handle: handle, Efficiency: efficiency}
			e, err := lever.Effort(load, 5)
			if err != nil {
				continue
			}
			r := must(lever.Recoil(load, piston.Moving{Piston: 0.5, Inertia: 0.01}))
			sum := e.Peak.Cocking + e.Energy.Hand + e.Energy.Recovered + e.Latch + r.StrikeSpeed + r.FastestSpeed + r.PistonSpeed
			for _, p := range e.Points {
				sum += p.Lift + p.Slope + p.Ratio + p.Cocking + p.Holding + p.Returning
			}
			if math.IsNaN(sum) || math.IsInf(sum, 0) || e.Energy.Hand < e.Energy.Stored*(1-1e-9) {
				t.Errorf("%+v: %+v, %+v", lever, e, r)
			}
		}
	})
}
