package profile_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// stepper follows a shot by steps in time, with none of the engine's code: two
// states, volume in the bed and mass in the cup, and the air's pressure found
// by iteration. It is the independent method that the quadrature is held to.
type stepper struct {
	s          *profile.Setup
	area, bed  float64 // piston and bed area [m²]
	top        float64 // highest pressure the bed has seen [Pa]
	start      float64 // volume in the bed at release [m³]
	springs    bool
	dry        bool
	lastTravel float64
}

// balance returns pressure and travel at a volume that has left the chamber
// since release: force balance, Boyle's law and geometry, iterated by secants.
func (q *stepper) balance(out float64) (p, z float64) {
	s := q.s
	if !q.springs {
		return s.Water.Fill, 0
	}
	swept := func(z float64) float64 {
		force := s.Cylinder.Weight
		for _, sp := range s.Springs {
			force += math.Max(0, sp.Preload+sp.Rate*(s.Cylinder.Stroke-z))
		}
		p = (force - s.Cylinder.Seal.Constant) / (q.area + s.Cylinder.Seal.PerPa)
		air := s.Chamber.Air * (s.Water.Atmosphere + s.Water.Fill) / (s.Water.Atmosphere + math.Max(0, p))
		return q.area*(z-s.Cylinder.Port) - (s.Chamber.Air - air) - out
	}
	a, b := q.lastTravel, q.lastTravel+1e-4
	fa, fb := swept(a), swept(b)
	for range 30 {
		if fb == fa || math.Abs(fb) < 1e-17 {
			break
		}
		a, b, fa = b, b-fb*(b-a)/(fb-fa), fb
		fb = swept(b)
	}
	q.lastTravel = b
	return p, b
}

// flows returns water into the bed [m³/s] and mass into the cup [kg/s].
func (q *stepper) flows(v, cup float64) (in, out float64) {
	s, c := q.s, &q.s.Coffee
	p, _ := q.balance(v - q.start)
	full := q.full()
	depth := c.Dose / (c.BulkDensity * q.bed)
	if q.dry {
		front := depth * v / full
		head := p + c.Suction + s.Water.Density*9.80665*front
		u := c.DryPerm / (s.Water.Viscosity * front * math.Max(1, p/c.Threshold)) * head
		return u * q.bed, 0
	}
	r := c.Resistance * math.Pow(math.Max(1, q.top/c.Threshold)/math.Max(1, c.AtPressure/c.Threshold), c.Loading)
	r *= math.Pow(math.Max(c.Threshold, p)/math.Max(c.Threshold, q.top), c.Unloading)
	r *= 1 + c.Transient*math.Exp(-cup/(c.TransientBy*c.Dose))
	out = s.Water.Density * p / r
	passed := s.Water.Density * (v - full)
	strength := c.Soluble / c.SolubleBy * math.Exp(-passed/(c.SolubleBy*c.Dose))
	return out / (s.Water.Density * (1 + strength)), out
}

// rk4 takes one step of the classical Runge-Kutta method.
func (q *stepper) rk4(v, cup, h float64) (float64, float64) {
	a1, b1 := q.flows(v, cup)
	a2, b2 := q.flows(v+h/2*a1, cup+h/2*b1)
	a3, b3 := q.flows(v+h/2*a2, cup+h/2*b2)
	a4, b4 := q.flows(v+h*a3, cup+h*b3)
	return v + h/6*(a1+2*a2+2*a3+a4), cup + h/6*(b1+2*b2+2*b3+b4)
}

// full returns the volume that wets the bed through [m³].
func (q *stepper) full() float64 {
	return q.s.Coffee.Retained * q.s.Coffee.Dose / q.s.Water.Density
}

// until steps to a time or a volume. A step that would pass the bottom of the
// bed, or that volume, is shortened by the chord until it lands on it, so that no
// step straddles an event.
func (q *stepper) until(v, cup, t, end, volume float64) (float64, float64, float64) {
	for steps := 0; t < end && v < volume; steps++ {
		if steps > 1e5 {
			panic(fmt.Sprintf("the stepper does not get on: v %g of %g, full %g, t %g of %g, springs %v", v, volume, q.full(), t, end, q.springs))
		}
		q.dry = v < q.full()
		event := volume
		if q.dry {
			event = min(event, q.full())
		}
		in, _ := q.flows(v, cup)
		step := min(0.005, end-t, 0.002*v/in) // the front starts fast and slows down
		if p, _ := q.balance(v - q.start); math.Abs(p/q.s.Coffee.Threshold-1) < 0.01 {
			step = min(step, 0.002) // the law bends at the threshold
		}
		nv, nc := q.rk4(v, cup, step)
		for range 30 {
			if nv <= event*(1+1e-14) {
				break
			}
			step *= (event - v) / (nv - v)
			nv, nc = q.rk4(v, cup, step)
		}
		if math.Abs(nv/event-1) < 1e-11 {
			nv = event
		}
		v, cup, t = nv, nc, t+step
	}
	return v, cup, t
}

// TestAgainstStepping: 200 random machines, quadrature against Runge-Kutta
// steps in time, to 1e-6 in shot length and cup mass.
func TestAgainstStepping(t *testing.T) {
	if testing.Short() {
		t.Skip("steps in time are slow")
	}
	compared := 0
	oneShot := func(t *rapid.T) {
		s := anySetup(t)
		s.Pulls = []profile.Pull{{Preinfusion: s.Pulls[0].Preinfusion}}
		s.Springs = s.Springs[:1]
		s.Springs[0].Preload = math.Abs(s.Springs[0].Preload) + s.Cylinder.Seal.Constant + 0.3*bar*s.Cylinder.Area()
		shot, err := profile.Run(s)
		if err != nil {
			t.Fatal(err)
		}
		if shot.Outcome != profile.StrokeEnded || shot.Spring > 120 {
			t.Skip("nothing to compare, or too long to step")
		}
		compared++
		q := &stepper{s: s, area: math.Pi / 4 * s.Cylinder.Bore * s.Cylinder.Bore, bed: math.Pi / 4 * s.Basket.Diameter * s.Basket.Diameter}
		full := q.full()

		// A dry front has infinite speed: step from the closed form of its first 1 %.
		v, cup, now := full*0.01, 0.0, 0.0
		p0 := s.Water.Fill
		depth := s.Coffee.Dose / (s.Coffee.BulkDensity * q.bed)
		rw := s.Water.Viscosity * depth / (s.Coffee.DryPerm * q.bed) * math.Max(1, p0/s.Coffee.Threshold)
		w := s.Water.Density * 9.80665 * depth
		drive := p0 + s.Coffee.Suction
		now = rw * full * (0.01/w - drive/(w*w)*math.Log1p(w*0.01/drive))
		if s.Pulls[0].Preinfusion < now {
			t.Skip("released before the first hundredth of the bed is wet")
		}
		q.top = s.Water.Fill
		v, cup, now = q.until(v, cup, now, s.Pulls[0].Preinfusion, math.Inf(1))

		q.springs, q.start = true, v
		p, _ := q.balance(0)
		q.top = math.Max(q.top, p)
		near(t, "peak", shot.Peak, p, 1e-9)
		air := s.Chamber.Air * (s.Water.Atmosphere + s.Water.Fill) / (s.Water.Atmosphere + shot.End)
		last := q.start + q.area*(s.Cylinder.Stroke-s.Cylinder.Port) - (s.Chamber.Air - air)
		v, cup, now = q.until(v, cup, now, math.Inf(1), last)
		near(t, "whole time", shot.Total, now, 1e-6)
		near(t, "cup", shot.Yield+g, cup+g, 1e-6)
		near(t, "water", shot.Mass.Entered, v*s.Water.Density, 1e-6)
	}
	rapid.Check(t, oneShot)
	rapid.Check(t, oneShot)
	if compared < 200 {
		t.Errorf("%d shots compared, want 200 or more", compared)
	}
}

// TestAgainstPistonFill: the peak after port and trapped air, and the work on
// the air, as package piston has them by its own code.
func TestAgainstPistonFill(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := anySetup(t)
		s.Pulls = []profile.Pull{{Preinfusion: s.Pulls[0].Preinfusion}}
		shot, err := profile.Summarize(s)
		if err != nil {
			t.Fatal(err)
		}
		if shot.Outcome == profile.NoPressure {
			t.Skip("nothing moves")
		}
		force := func(lift float64) (f float64) {
			for _, sp := range s.Springs {
				f += sp.Force(lift)
			}
			return f
		}
		fill := piston.Fill{Headspace: s.Chamber.Headspace, Air: s.Chamber.Air, Pressure: s.Water.Fill, Atmosphere: s.Water.Atmosphere}
		loss, err := fill.Loss(s.Cylinder, force)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "peak", shot.Peak, loss.Peak, 1e-9)
		if shot.Outcome == profile.StrokeEnded {
			air := piston.Air{Volume: s.Chamber.Air, Pressure: s.Water.Fill, Atmosphere: s.Water.Atmosphere}
			work, err := air.Work(shot.End)
			if err != nil {
				t.Fatal(err)
			}
			near(t, "work on the air", shot.Energy.Air+1, work+1, 1e-9)
		}
	})
}

// TestSecondBed holds each row of a second pull to the law of the bed, written
// down again. P_max is that of the whole shot, whichever pull has it.
func TestSecondBed(t *testing.T) {
	high, low := profile.Pull{Preinfusion: 12, EndPressure: 4 * bar}, profile.Pull{FillTime: 4, Preinfusion: 3.9} // a short fill is air
	for _, pulls := range [][]profile.Pull{{high, low}, {low, high}} {
		s := oldLever2()
		s.Springs = []spring.Linear{{Rate: 20 * kN, Preload: 400}}
		s.Coffee.Unloading = 0.4
		s.Pulls = pulls
		shot := mustRun(t, s)
		c, rho := s.Coffee, s.Water.Density
		release := 0.0
		for _, e := range shot.Events {
			if e.Name == "release" {
				release = e.Time
			}
		}
		checked := 0
		for _, row := range shot.Samples {
			if row.Time < release || row.Travel == 0 || row.Flow == 0 {
				continue
			}
			checked++
			passed := rho*row.Volume - c.Retained*c.Dose
			fall := math.Exp(-passed / (c.SolubleBy * c.Dose))
			r := c.SecondPull * c.Resistance * math.Pow(shot.Peak/c.AtPressure, c.Loading) * math.Pow(math.Max(row.Pressure, c.Threshold)/shot.Peak, c.Unloading)
			r *= 1 + c.Transient*math.Exp(-row.Cup/(c.TransientBy*c.Dose))
			near(t, "cup", row.Cup, passed+c.Soluble*c.Dose*(1-fall), 1e-9)
			near(t, "flow", row.Flow, row.Pressure/r/(1+c.Soluble/c.SolubleBy*fall), 1e-9)
		}
		if checked < 8 {
			t.Errorf("%d rows of a second pull", checked)
		}
	}
}

// TestAllAir: air that fills the stroke is compressed by all of it; the spring's
// energy is in the air, or lost in the jerk.
func TestAllAir(t *testing.T) {
	s := oldLever2()
	s.Chamber = profile.Chamber{Headspace: 80 * mL, Air: 130 * mL}
	s.Cylinder.Port = 2 * mm
	shot := mustRun(t, s)
	air := piston.Air{Volume: 130 * mL, Pressure: s.Water.Fill, Atmosphere: 101325}
	swept := s.Cylinder.Area() * 28 * mm
	peak := (101325+s.Water.Fill)*130*mL/(130*mL-swept) - 101325
	near(t, "peak", shot.Peak, peak, 1e-12)
	near(t, "end", shot.End, peak, 1e-12) // there the piston stands
	work, err := air.Work(peak)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "work on the air", shot.Energy.Air, work, 1e-12)
	near(t, "energy", shot.Energy.Released, s.Cylinder.Area()*(7+4)/2*bar*30*mm, 1e-12)
	near(t, "pushed back", shot.Energy.Returned, s.Water.Fill*s.Cylinder.Area()*2*mm, 1e-12)
	near(t, "the jerk", shot.Energy.Release, shot.Energy.Released-work-shot.Energy.Returned, 1e-12)
}
