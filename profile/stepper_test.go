package profile_test

import (
	"fmt"
	"math"

	"springcalc/profile"
)

// stepper follows a shot by steps in time, with none of the engine's code: two
// states, volume in the bed and mass in the cup, advanced by the embedded pair of
// Dormand and Prince (Journal of Computational and Applied Mathematics 6 (1980)
// 19), with the balance of piston and air found by bisection at every
// evaluation. It is the independent method that the quadrature is held to.
type stepper struct {
	s    *profile.Setup
	push func(out float64) (pressure float64) // of what has left the chamber since the stage began [m³]
	base float64                              // volume in the bed when the stage began [m³]

	top     float64 // highest pressure that the bed has seen [Pa]
	wet     float64 // pressure under which the front came through [Pa]; 0 before that
	through float64 // time at which it did [s]
	waited  float64 // time that the wetted bed waited for the release [s]

	time float64    // [s]
	at   [2]float64 // volume in the bed [m³], mass in the cup [kg]
}

func area(diameter float64) float64 { return math.Pi / 4 * diameter * diameter }

// full returns the volume that wets the bed through [m³].
func (q *stepper) full() float64 { return q.s.Coffee.Retained * q.s.Coffee.Dose / q.s.Water.Density }

// begin starts a stage: something else pushes from here on.
func (q *stepper) begin(push func(out float64) float64) {
	q.push, q.base = push, q.at[0]
	q.top = math.Max(q.top, push(0))
	q.note()
}

// note keeps the moment in which the front is through.
func (q *stepper) note() {
	if q.wet == 0 && q.at[0] >= q.full() {
		q.wet, q.through = q.pressure(), q.time
	}
}

func (q *stepper) pressure() float64 { return q.push(q.at[0] - q.base) }

// springs returns the travel at which springs, air and water are in balance, and
// the pressure there, for a volume that has left the chamber [m³]: air is
// what a chamber holds at the fill pressure [m³].
func springs(s *profile.Setup, air, out float64) (z, p float64) {
	a := area(s.Cylinder.Bore)
	hold := func(z float64) float64 {
		lift := s.Cylinder.Stroke - z
		force := s.Cylinder.Weight
		for i, power := 0, 1.0; i < len(s.Handle); i, power = i+1, power*lift {
			force += s.Handle[i] * power
		}
		for _, sp := range s.Springs {
			force += math.Max(0, sp.Preload+sp.Rate*lift)
		}
		return math.Max(0, (force-s.Cylinder.Seal.Constant)/(a+s.Cylinder.Seal.PerPa))
	}
	low := s.Cylinder.Port + (out-air*s.Water.Fill/s.Water.Atmosphere)/a // the air without any pressure
	high := min(s.Cylinder.Port+(out+air)/a, 1.1*s.Cylinder.Stroke)      // and without any volume
	for range 60 {
		z = (low + high) / 2
		p = hold(z)
		left := air * (s.Water.Atmosphere + s.Water.Fill) / (s.Water.Atmosphere + p)
		if a*(z-s.Cylinder.Port)-(air-left) < out {
			low = z
		} else {
			high = z
		}
		if high-low < 1e-17 {
			break
		}
	}
	return z, p
}

// flows returns water into the bed [m³/s] and mass into the cup [kg/s].
func (q *stepper) flows(x [2]float64, dry bool) [2]float64 {
	s, c := q.s, &q.s.Coffee
	p := q.push(x[0] - q.base)
	if dry {
		bed := area(s.Basket.Diameter)
		front := c.Dose / (c.BulkDensity * bed) * x[0] / q.full()
		head := p + c.Suction + s.Water.Density*9.80665*front
		return [2]float64{c.DryPerm * bed * head / (s.Water.Viscosity * front * math.Pow(math.Max(1, p/c.Threshold), c.Loading/3)), 0}
	}
	out := s.Water.Density * p / q.resistance(p, x[1])
	passed := s.Water.Density * (x[0] - q.full())
	strength := c.Soluble / c.SolubleBy * math.Exp(-passed/(c.SolubleBy*c.Dose))
	return [2]float64{out / (s.Water.Density * (1 + strength)), out}
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

// The pair of Dormand and Prince: places, stages, and the difference of its
// fifth and fourth order.
var (
	dpStages = [6][6]float64{
		{1. / 5},
		{3. / 40, 9. / 40},
		{44. / 45, -56. / 15, 32. / 9},
		{19372. / 6561, -25360. / 2187, 64448. / 6561, -212. / 729},
		{9017. / 3168, -355. / 33, 46732. / 5247, 49. / 176, -5103. / 18656},
		{35. / 384, 0, 500. / 1113, 125. / 192, -2187. / 6784, 11. / 84},
	}
	dpError = [7]float64{71. / 57600, 0, -71. / 16695, 71. / 1920, -17253. / 339200, 22. / 525, -1. / 40}
)

// try takes one step of a length [s]; wrong is the error over what is allowed.
func (q *stepper) try(h float64, dry bool) (x [2]float64, wrong float64) {
	var k [7][2]float64
	k[0] = q.flows(q.at, dry)
	for i, row := range dpStages {
		x = q.at
		for j := range i + 1 {
			for n := range x {
				x[n] += h * row[j] * k[j][n]
			}
		}
		k[i+1] = q.flows(x, dry)
	}
	for n, scale := range [2]float64{x[0], x[1] + 0.1*g} {
		e := 0.0
		for j := range k {
			e += h * dpError[j] * k[j][n]
		}
		if !(math.Abs(e) <= 1e-11*scale*wrong) {
			wrong = min(1e5, math.Abs(e)/(1e-11*scale)) // NaN too
		}
	}
	return x, wrong
}

// to steps to a volume in the bed [m³] or to a time [s], whichever comes first.
// No step straddles the bottom of the bed, the pressure at which its law bends, or the
// end: one that would is shortened by the chord until it lands there.
func (q *stepper) to(volume, time float64) {
	bend := math.Inf(1) // volume at which the pressure crosses the threshold [m³]
	if t := q.s.Coffee.Threshold; q.pressure() > t {
		low, high := q.at[0], q.at[0]+1e-3
		for range 100 {
			if mid := (low + high) / 2; q.push(mid-q.base) > t {
				low = mid
			} else {
				high = mid
			}
		}
		bend = high
	}
	h := 1e-4
	for q.at[0] < volume && q.time < time {
		dry := q.at[0] < q.full()
		event := volume
		if dry {
			event = min(event, q.full())
		}
		if q.at[0] < bend {
			event = min(event, bend)
		}
		h = min(h, time-q.time)
		x, wrong := q.try(h, dry)
		if wrong > 1 {
			if h *= 0.9 * math.Pow(wrong, -0.2); !(h > 1e-12) {
				panic(fmt.Sprintf("the stepper does not get on: %+v, step %g s", *q, h))
			}
			continue
		}
		step := h
		for range 60 {
			if math.Abs(x[0]/event-1) < 1e-15 || x[0] < event {
				break
			}
			step *= (event - q.at[0]) / (x[0] - q.at[0])
			x, _ = q.try(step, dry)
		}
		if math.Abs(x[0]/event-1) < 1e-13 {
			x[0] = event
		}
		q.at, q.time = x, q.time+step
		q.note()
		h *= min(5, 0.9*math.Pow(wrong+1e-10, -0.2))
	}
}
