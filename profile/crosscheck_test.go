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
	wet        float64 // pressure under which the front came through [Pa]
	waited     float64 // time that the wetted bed waited for the release [s]
	start      float64 // volume in the bed at release [m³]
	through    float64 // time at which the front came through [s]
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
		u := c.DryPerm / (s.Water.Viscosity * front * math.Pow(math.Max(1, p/c.Threshold), c.Loading/3)) * head
		return u * q.bed, 0
	}
	r := q.resistance(p, cup)
	out = s.Water.Density * p / r
	passed := s.Water.Density * (v - full)
	strength := c.Soluble / c.SolubleBy * math.Exp(-passed/(c.SolubleBy*c.Dose))
	return out / (s.Water.Density * (1 + strength)), out
}

// resistance is the law of the wetted bed, written down again.
func (q *stepper) resistance(p, cup float64) float64 {
	c := &q.s.Coffee
	seen := func(p float64) float64 { // R_inf/R_t of a pressure seen for the first time
		if p < c.Threshold {
			return math.Pow(c.Threshold/p, c.Low)
		}
		return math.Pow(p/c.Threshold, c.Loading)
	}
	rt := c.Resistance / seen(c.AtPressure)
	if q.top < c.Threshold {
		rt *= seen(q.top)
	}
	ratio := math.Pow(math.Max(1, q.top/c.Threshold), c.Loading) * math.Pow(math.Max(c.Threshold, p)/math.Max(c.Threshold, q.top), c.Unloading)
	sets := (1-c.SetBy)*q.top + c.SetBy*q.wet
	b := c.Blocking * math.Exp(-c.Soaking*q.waited) * math.Min(1, sets/c.Threshold)
	return rt / math.Pow(math.Pow(ratio, -1./3)-b*math.Exp(-cup/(c.BlockingBy*c.Dose)), 3)
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
		if !q.dry && q.wet == 0 {
			q.wet, _ = q.balance(v - q.start)
			q.through = t
		}
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

// TestAgainstStepping: 150 or more random machines, quadrature against Runge-Kutta
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
		if shot.Outcome != profile.StrokeEnded || shot.Spring > 60 {
			t.Skip("nothing to compare, or too long to step")
		}
		compared++
		q := &stepper{s: s, area: math.Pi / 4 * s.Cylinder.Bore * s.Cylinder.Bore, bed: math.Pi / 4 * s.Basket.Diameter * s.Basket.Diameter}
		full := q.full()

		// A dry front has infinite speed: step from the closed form of its first 1 %.
		v, cup, now := full*0.01, 0.0, 0.0
		p0 := s.Water.Fill
		depth := s.Coffee.Dose / (s.Coffee.BulkDensity * q.bed)
		rw := s.Water.Viscosity * depth / (s.Coffee.DryPerm * q.bed) * math.Pow(math.Max(1, p0/s.Coffee.Threshold), s.Coffee.Loading/3)
		w := s.Water.Density * 9.80665 * depth
		drive := p0 + s.Coffee.Suction
		now = rw * full * (0.01/w - drive/(w*w)*math.Log1p(w*0.01/drive))
		if s.Pulls[0].Preinfusion < now {
			t.Skip("released before the first hundredth of the bed is wet")
		}
		q.top = s.Water.Fill
		v, cup, now = q.until(v, cup, now, s.Pulls[0].Preinfusion, math.Inf(1))

		q.springs, q.start = true, v
		if q.wet > 0 {
			q.waited = now - q.through
		}
		p, _ := q.balance(0)
		q.top = math.Max(q.top, p)
		near(t, "peak", shot.Peak, p, 1e-9)
		air := s.Chamber.Air * (s.Water.Atmosphere + s.Water.Fill) / (s.Water.Atmosphere + shot.End)
		last := q.start + q.area*(s.Cylinder.Stroke-s.Cylinder.Port) - (s.Chamber.Air - air)
		v, cup, now = q.until(v, cup, now, math.Inf(1), last)
		near(t, "time to the end of the stroke", shot.Total-shot.AirPush, now, 1e-6)
		near(t, "cup", shot.Yield-shot.AirYield+g, cup+g, 1e-6)
		if shot.AirPush == 0 {
			near(t, "water", shot.Mass.Entered, v*s.Water.Density, 1e-6)
		}
	}
	rapid.Check(t, oneShot)
	rapid.Check(t, oneShot)
	if compared < 150 {
		t.Errorf("%d shots compared, want 150 or more", compared)
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
		if shot.Outcome == profile.StrokeEnded && shot.AirPush == 0 {
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
		release, opened, waited := 0.0, 0.0, 0.0
		for _, e := range shot.Events {
			switch e.Name {
			case "port opened":
				opened = e.Time
			case "release":
				release = e.Time
				if shot.FrontThrough > 0 && shot.FrontThrough < e.Time {
					waited += e.Time - math.Max(opened, shot.FrontThrough)
				}
			}
		}
		checked := 0
		for _, row := range shot.Samples {
			if row.Time < release || row.Travel == 0 || row.Flow == 0 || row.Travel >= s.Cylinder.Stroke {
				continue
			}
			checked++
			passed := rho*row.Volume - c.Retained*c.Dose
			fall := math.Exp(-passed / (c.SolubleBy * c.Dose))
			q := &stepper{s: s, top: shot.Peak, wet: shot.At(shot.FrontThrough).Pressure}
			q.waited = waited
			r := c.SecondPull * q.resistance(row.Pressure, row.Cup)
			near(t, "cup", row.Cup, passed+c.Soluble*c.Dose*(1-fall), 1e-9)
			near(t, "flow", row.Flow, row.Pressure/r/(1+c.Soluble/c.SolubleBy*fall), 1e-9)
		}
		if checked < 7 {
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
	s.Pulls[0].EndPressure = 50 * bar // nobody waits for the push of the air
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

// TestAirPush holds what happens after the piston rests to a textbook integral
// and to steps in time. With a constant resistance R, isothermal air of volume
// V_e at a gauge pressure P_e, C = (P_e + P_atm) V_e, empties water as
//
//	t = R ∫ dV/(C/(V_e + V) - P_atm) = (R/P_atm) [-V + V_0 ln((V_0 - V_e)/(V_0 - V_e - V))],  V_0 = C/P_atm
//
// (by hand; closed form of isothermal expansion against a linear resistance).
func TestAirPush(t *testing.T) {
	for _, c := range []struct{ air, headspace float64 }{{4 * mL, 30 * mL}, {18 * mL, 25 * mL}, {29 * mL, 40 * mL}, {2 * mL, 1.5 * mL}} {
		area := math.Pi / 4 * (50 * mm) * (50 * mm)
		s := plain(area, 3*bar*area/(30*mm), 7*bar, 1.2e11)
		s.Cylinder.Stroke = 30 * mm
		s.Springs = []spring.Linear{{Rate: 3 * bar * area / (30 * mm), Preload: 3.5 * bar * area}}
		s.Chamber = profile.Chamber{Headspace: c.headspace, Air: c.air}
		shot := mustRun(t, s)
		content := c.air * s.Water.Atmosphere // filled without pressure
		atRest := content / (shot.End + s.Water.Atmosphere)
		whole := content / s.Water.Atmosphere
		out := content/(shot.Last+s.Water.Atmosphere) - atRest
		near(t, "time of the push", shot.AirPush, 1.2e11/s.Water.Atmosphere*(whole*math.Log((whole-atRest)/(whole-atRest-out))-out), 1e-8)
		near(t, "mass of the push", shot.AirYield, out*s.Water.Density, 1e-8)
		if shot.Outcome == profile.StrokeEnded {
			near(t, "last pressure", shot.Last, 0.1*bar, 1e-9)
		} else if near(t, "water spent", out, c.headspace-atRest, 1e-9); shot.Outcome != profile.RanDry {
			t.Errorf("outcome %q", shot.Outcome)
		}
		if math.Abs(shot.Mass.Residual) > 1e-9 || math.Abs(shot.Energy.Residual) > 1e-9 {
			t.Errorf("accounts: mass %g, energy %g", shot.Mass.Residual, shot.Energy.Residual)
		}

		// Euler-Heun steps in time, 20 000 of them.
		flow := func(v float64) float64 { return (content/(atRest+v) - s.Water.Atmosphere) / 1.2e11 }
		v, h := 0.0, shot.AirPush/20000
		for range 20000 {
			k := flow(v)
			v += h / 2 * (k + flow(v+h*k))
		}
		near(t, "water by steps", v, out, 1e-6)
	}
}

// TestNoMoreThanWasFilled: a chamber without headspace and with much air gives no
// more than its water, and says that it ran dry.
func TestNoMoreThanWasFilled(t *testing.T) {
	s := oldLever2()
	s.Chamber = profile.Chamber{Air: 20 * mL}
	s.Pulls[0].Preinfusion = 0
	shot := mustRun(t, s)
	most := (s.ChamberVolume() - 20*mL) * s.Water.Density
	if shot.Outcome != profile.RanDry || shot.Mass.Entered > most*(1+1e-12) {
		t.Errorf("%q: %.6g g entered of %.6g g", shot.Outcome, shot.Mass.Entered/g, most/g)
	}
	near(t, "filled", shot.Mass.Filled, most, 1e-12)
	near(t, "left", shot.Mass.Left+g, g, 1e-9)
}

// TestStatedElsewhere: a resistance stated for another dose and basket is the
// same in a shot and by InBasket.
func TestStatedElsewhere(t *testing.T) {
	found := oldLever2()
	moved := found.InBasket(profile.Basket{Diameter: 56 * mm}, 18*g)
	stated := *moved
	stated.Coffee.Resistance = found.Coffee.Resistance
	stated.Coffee.FoundDose, stated.Coffee.FoundDiameter = 16*g, 53*mm
	near(t, "time", mustRun(t, &stated).Total, mustRun(t, moved).Total, 1e-12)
	near(t, "in the basket it is in", stated.InBasket(stated.Basket, stated.Coffee.Dose).Coffee.Resistance, moved.Coffee.Resistance, 1e-12)
}
