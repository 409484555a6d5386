package piston_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"

	"pgregory.net/rapid"

	"springcalc/piston"
)

// near fails unless got is within a relative error of want.
func near(t interface {
	Helper()
	Errorf(string, ...any)
}, what string, got, want, relative float64) {
	t.Helper()
	if !(math.Abs(got-want) <= relative*math.Abs(want)) {
		t.Errorf("%s = %.15g, want %.15g within %g", what, got, want, relative)
	}
}

// TestLinkConstraint finds the lift of a link by solving its constraint, the
// distance of the two pins, with Newton's method in the plane.
func TestLinkConstraint(t *testing.T) {
	const r, e = 0.03, 0.004
	for _, length := range []float64{0.04, 0.06, 0.12} {
		l := piston.Link{PinRadius: r, Length: length, Offset: e, Span: piston.Span{From: 0.2, To: math.Pi}}
		solve := func(angle float64) float64 {
			x := r + length
			for range 50 {
				dx, dy := x-r*math.Cos(angle), e-r*math.Sin(angle)
				x -= (dx*dx + dy*dy - length*length) / (2 * dx)
			}
			return x
		}
		for angle := 0.3; angle < math.Pi; angle += 0.1 {
			near(t, "lift", l.Lift(angle), solve(0.2)-solve(angle), 1e-12)
		}
	}
}

// TestLinkTable compares a link of 30 and 120 mm with values worked out in
// Python from the equation of the slider-crank, in mm and mm/rad.
func TestLinkTable(t *testing.T) {
	l := halfTurn(30, 120) // it scales; Validate is not asked
	for _, c := range []struct {
		degrees     float64
		lift, slope string
	}{
		{10, "0.568897", "6.493231"},
		{30, "4.960429", "18.273268"},
		{60, "17.846255", "29.307258"},
		{90, "33.810500", "30.000000"},
		{120, "47.846255", "22.654266"},
	} {
		printed(t, "lift, mm", l.Lift(c.degrees*deg), c.lift)
		printed(t, "slope, mm/rad", l.Slope(c.degrees*deg), c.slope)
	}
	printed(t, "steepest at l = 3r, degrees", steepest(halfTurn(0.02, 0.06)).Angle/deg, "73.175")
}

// TestBenchLever compares three levers with a hand computation: 15 N/mm,
// 20 mm of preload, 25 mm of lift, handle 0.3 m.
func TestBenchLever(t *testing.T) {
	for _, c := range []struct {
		name         string
		linkage      piston.Linkage
		peak, energy string
	}{
		{"cross slot", piston.CrossSlot{PinRadius: 25 * mm, Span: piston.Span{To: math.Pi / 2}}, "56.25", "12.1875"},
		{"rack", piston.Rack{PinionDiameter: 100 * mm / math.Pi, Span: piston.Span{To: math.Pi / 2}}, "35.81", "12.1875"},
		{"link", piston.Link{PinRadius: 25 * mm, Length: 100 * mm, Span: piston.Span{To: 1.3}}, "53.12", "9.76622"},
	} {
		e := must(piston.Lever{Linkage: c.linkage, Handle: 0.3, Efficiency: 1}.Effort(benchSpring(), 2))
		printed(t, c.name+": peak effort, N", e.Peak.Cocking, c.peak)
		printed(t, c.name+": work of the hand, J", e.Energy.Hand, c.energy)
	}
}

// benchSpring is 15 N/mm with 20 mm of preload on a piston of 25 mm stroke.
func benchSpring() piston.Load {
	return piston.Load{
		Cylinder: piston.Cylinder{Bore: 50 * mm, Stroke: 25 * mm},
		Spring:   func(lift float64) float64 { return 15e3 * (20*mm + lift) },
	}
}

// TestFillByODE follows the air of a chamber as the piston sinks, dp/dy = -p A/V,
// until it stands against the spring.
func TestFillByODE(t *testing.T) {
	spring := benchSpring().Spring
	c, f := bench()
	loss := must(f.Loss(c, spring))

	y := c.Stroke - c.Port - f.Unfilled/c.Area()
	p, volume := f.Pressure+f.Atmosphere, f.Air
	const step = 1e-7
	slope := func(p, v float64) float64 { return p * c.Area() / v }
	for p-f.Atmosphere < c.Pressure(spring(y)+c.Weight) { // midpoint rule
		half := p + step/2*slope(p, volume)
		p += step * slope(half, volume-step/2*c.Area())
		volume -= step * c.Area()
		y -= step
	}
	if math.Abs(loss.Lift-y) > step {
		t.Errorf("lift at the peak %.6f mm, by the differential equation %.6f mm", loss.Lift/mm, y/mm)
	}
	near(t, "peak", loss.Peak, p-f.Atmosphere, 1e-4)
}

// TestAirTravel compares the travel lost to air with a hand computation: bore
// 50 mm, 0 to 9 bar, in mm for 1, 5 and 10 mL.
func TestAirTravel(t *testing.T) {
	for _, c := range []struct {
		air  float64
		lost string
	}{{1, "0.458"}, {5, "2.289"}, {10, "4.578"}} {
		cyl := piston.Cylinder{Bore: 50 * mm, Stroke: 25 * mm}
		f := piston.Fill{Air: c.air * mL, Atmosphere: 101325}
		nine := func(float64) float64 { return 9 * bar * cyl.Area() }
		printed(t, "travel lost, mm", must(f.Loss(cyl, nine)).Air.Stroke/mm, c.lost)
	}
}

// TestAirWork compares the work on the air with the integral of its gauge pressure.
func TestAirWork(t *testing.T) {
	air := piston.Air{Volume: 10 * mL, Pressure: 0.5 * bar, Atmosphere: 0.9 * bar}
	end := air.VolumeAt(8 * bar)
	want := quad.Fixed(air.PressureIn, end, air.Volume, 100, nil, 0)
	near(t, "work", air.WorkTo(air.VolumeAt(8*bar)), want, 1e-12)
}

// TestRecoilMotion integrates the equation of motion of a lever that is let go,
// (J + m s²) θ" + m s s' θ'² = -F s, and compares its speeds with those from the
// energy. A lever slot with a heavy piston is fastest on the way, not at rest.
func TestRecoilMotion(t *testing.T) {
	for _, l := range []piston.Linkage{
		piston.Link{PinRadius: 14 * mm, Length: 60 * mm, Span: piston.Span{From: 0.4, To: 2.6}},
		piston.LeverSlot{PinDistance: 20 * mm, Span: piston.Span{From: -1.2, To: 0.5}},
	} {
		lever := piston.Lever{Linkage: l, Handle: 0.28, Efficiency: 0.9}
		load := benchSpring()
		load.Cylinder.Weight = 6
		m := piston.Moving{Piston: 5, Inertia: 0.012}
		r := must(lever.Recoil(load, m))

		acceleration := func(angle, speed float64) float64 {
			const h = 1e-5
			s, ds := l.Slope(angle), (l.Slope(angle+h)-l.Slope(angle-h))/(2*h)
			return -((load.Spring(l.Lift(angle))+6)*s + m.Piston*s*ds*speed*speed) / (m.Inertia + m.Piston*s*s)
		}
		const step = 1e-6
		angle, speed, fastest, fastestAt := l.Range().To, 0.0, 0.0, 0.0
		for angle > l.Range().From { // midpoint rule
			a := acceleration(angle, speed)
			mid := acceleration(angle+step/2*speed, speed+step/2*a)
			angle += step * (speed + step/2*mid)
			speed += step * mid
			if -speed > fastest {
				fastest, fastestAt = -speed, angle
			}
		}
		near(t, "speed at rest", r.StrikeSpeed, -speed*lever.Handle, 2e-4)
		near(t, "greatest speed", r.FastestSpeed, fastest*lever.Handle, 2e-4)
		near(t, "angle of the greatest speed", r.FastestAngle, fastestAt, 2e-3)
		near(t, "speed of the piston at rest", r.PistonSpeed, -speed*l.Slope(l.Range().From), 2e-4)
	}
}

// TestJointsFirstOrder compares the friction circles, for little friction, with
// the work of each bearing: μ r F times its turn per turn of the handle, F/cos φ in the link.
func TestJointsFirstOrder(t *testing.T) {
	const mu = 1e-5
	for _, l := range []piston.Link{
		{PinRadius: 0.03, Length: 0.1, Offset: 0.005, Span: piston.Span{From: 0.2, To: 3}},
		{PinRadius: 0.03, Length: 0.035, Span: piston.Span{From: 0.2, To: 3}},
		{PinRadius: 0.03, Length: 0.025, Offset: 0.006, Span: piston.Span{From: 2.5, To: 3}}, // the link turns faster than the handle
	} {
		j := piston.Joints{Pivot: 0.008, Pin: 0.005, Piston: 0.004, Friction: mu}
		for angle := l.From + 0.05; angle < l.To; angle += 0.1 {
			const h = 1e-5
			turn := (l.Obliquity(angle+h) - l.Obliquity(angle-h)) / (2 * h)
			loss := mu / math.Cos(l.Obliquity(angle)) * (j.Pivot + j.Pin*math.Abs(1+turn) + j.Piston*math.Abs(turn))
			up, down, err := l.Efficiency(j, angle)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "loss up", 1/up-1, loss/l.Slope(angle), 1e-2)
			near(t, "loss down", 1-down, loss/l.Slope(angle), 1e-2)
		}
	}
}

// TestORingByHand compares the O-ring estimate with a hand computation in
// inches: bore 50 mm, section 5.33 mm squeezed by 10 %, 70 Shore A.
// L_p = 6.184 in, A_p = 1.0559 in².
func TestORingByHand(t *testing.T) {
	o := piston.ORing{Bore: 50 * mm, Groove: 50*mm - 2*0.9*5.33*mm, Squeeze: 0.10, Hardness: 70, Rings: 1}
	for _, c := range []struct {
		bars  float64
		force string
	}{{0, "18.7"}, {1, "31.8"}, {3, "44.3"}, {6, "57.7"}, {9, "68.7"}, {12, "78.3"}} {
		e := must(o.Friction(c.bars * bar))
		printed(t, "friction, N", e.Value, c.force)
	}
}

// TestPeakByScan: the peak of the hand's force is the greatest force that it meets
// anywhere between the stops, beyond a dead centre too, as a walk over the whole way
// in small steps finds it. Beyond a dead centre the hand works against a boiler that
// outweighs a weak spring, or lifts a heavy handle; in a good part of the draws the
// peak is there. The same walk finds the hardest pull that brings the lever back over it.
func TestPeakByScan(t *testing.T) {
	const steps = 1000 // on each side of the dead centre
	beyond, all := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		past := draw("past the dead centre", 0.1, 1.2)
		points := []piston.TablePoint{{Angle: 0.2}, {Angle: 0.7, Lift: 9 * mm}, {Angle: 1.2, Lift: 20 * mm}, {Angle: 1.7, Lift: fullLift}}
		points = append(points, piston.TablePoint{Angle: 1.7 + past, Lift: fullLift - draw("fall", 2*mm, 15*mm)})
		preload, rate := draw("preload", 20, 600), draw("rate", 0, 15e3)
		load := piston.Load{
			Cylinder:       piston.Cylinder{Bore: 50 * mm, Stroke: fullLift, Port: draw("port", 0, 20*mm), Seal: piston.Seal{Constant: draw("seal", 0, 40)}},
			Spring:         func(lift float64) float64 { return preload + rate*lift },
			OpenPressure:   draw("open", 0, 4*bar),
			ClosedPressure: draw("closed", -0.8*bar, 0),
		}
		for name, l := range map[string]piston.Linkage{
			"cross slot": piston.CrossSlot{PinRadius: fullLift / 2, Span: piston.Span{From: 0.2, To: math.Pi + past}},
			"link":       piston.Link{PinRadius: fullLift / 2, Length: 60 * mm, Offset: 3 * mm, Span: piston.Span{From: 0.3, To: math.Pi + 0.1 + past}},
			"table":      must(piston.NewTable(points)),
		} {
			lever := piston.Lever{Linkage: l, Handle: 0.25, Efficiency: draw("efficiency", 0.6, 1),
				Mass: draw("mass", 0, 3), Centre: 0.2, Upright: draw("upright", -math.Pi, math.Pi)}
			span, latch := l.Range(), must2(piston.Latch(l))
			size := 0.0 // of the largest force [N]
			greatest := func(from, to float64) (cocking, back float64) {
				cocking, back = math.Inf(-1), math.Inf(-1)
				for i := range steps + 1 {
					f := must(lever.Forces(load, min(from+(to-from)*float64(i)/steps, to)))
					cocking, back = max(cocking, f.Cocking), max(back, -f.Returning)
					size = max(size, math.Abs(f.Cocking), math.Abs(f.Returning))
				}
				return cocking, back
			}
			before, _ := greatest(span.From, latch)
			after, back := greatest(latch, span.To)
			all++
			if after > before+0.05*size {
				beyond++
			}
			// A force that jumps where the port shuts has gone on by up to a step, less than 1 % of its size, since the last one seen.
			within := func(what string, got, want float64) {
				if !(got >= want-1e-9*size && got <= want+0.01*size) {
					t.Errorf("%s: %s of %g N, by steps %g N", name, what, got, want)
				}
			}
			effort := must(lever.Effort(load, 2))
			within("peak", effort.Peak.Cocking, max(before, after))
			within("peak by itself", must(lever.Peak(load)).Cocking, max(before, after))
			within("pull back", -effort.Back.Returning, back)
		}
	})
	if t.Logf("the peak is beyond the dead centre in %d of %d", beyond, all); beyond < all/10 {
		t.Error("too few to tell")
	}
}

// must2 unwraps a place that the test knows to exist.
func must2(v float64, ok bool, err error) float64 {
	if !ok || err != nil {
		panic(err)
	}
	return v
}
