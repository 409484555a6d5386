package profile

import (
	"math"

	"springcalc/piston"
	"springcalc/spring"
)

// kind is what a drive is.
type kind int

const (
	byBoiler kind = iota // constant pressure; its travel is the volume delivered
	bySpring             // springs on a piston
	byAir                // air behind a piston at rest; its travel is the volume delivered
)

// drive is what pushes the water during one stage: springs on a piston, a
// boiler, which is a drive whose pressure does not fall, or the air that is left
// when the piston has come to rest. It gives pressure and water delivered at a
// travel z of the piston.
type drive struct {
	kind     kind
	springs  []spring.Linear
	handle   piston.Handle
	cylinder piston.Cylinder
	area     float64 // A [m²]
	effect   float64 // A + c: force of spring per pressure [m²]
	port     float64 // travel at which the port is closed and pressure begins [m]

	air piston.Air // in the chamber with the port still open
}

// boiler returns a drive of constant gauge pressure [Pa]; its travel is the
// volume delivered.
func boiler(pressure float64) drive {
	return drive{cylinder: piston.Cylinder{Weight: pressure, Stroke: math.Inf(1)}, area: 1, effect: 1}
}

// newDrive returns the spring drive of a pull that begins with a volume of air
// [m³] in the chamber.
func newDrive(s *Setup, air float64) drive {
	a := s.Cylinder.Area()
	return drive{
		kind: bySpring, springs: s.Springs, handle: s.Handle, cylinder: s.Cylinder,
		area: a, effect: a + s.Cylinder.Seal.PerPa, port: s.Cylinder.Port,
		air: s.Water.Air(air),
	}
}

// pocket returns the drive of air once the piston rests: for the water V that has
// left since,
//
//	P(V) = (P_e + P_atm) V_e/(V_e + V) - P_atm
func pocket(air piston.Air) drive {
	return drive{kind: byAir, area: 1, effect: 1, air: air, cylinder: piston.Cylinder{Stroke: math.Inf(1)}}
}

// force returns the force of springs, handle and weight [N] at a travel.
func (d *drive) force(z float64) float64 {
	f := d.cylinder.Weight
	if d.kind != bySpring {
		return f
	}
	f += d.handle.Force(d.cylinder.Stroke - z)
	for _, s := range d.springs {
		f += s.Force(d.cylinder.Stroke - z)
	}
	return f
}

// stiffness returns the summed rate [N/m] of the springs that bear at a travel.
func (d *drive) stiffness(z float64) float64 {
	k := d.handle.Rate(d.cylinder.Stroke - z)
	for _, s := range d.springs {
		if s.Preload+s.Rate*(d.cylinder.Stroke-z) > 0 {
			k += s.Rate
		}
	}
	return k
}

// pressure returns the gauge pressure [Pa] in balance with the springs.
func (d *drive) pressure(z float64) float64 {
	if d.kind == byAir {
		return d.air.PressureIn(d.air.Volume + z)
	}
	return max(0, (d.force(z)-d.cylinder.Seal.Constant)/d.effect)
}

// unmoved returns the volume [m³] that the air has when the piston has swept to a
// travel and no water has left.
func (d *drive) unmoved(z float64) float64 { return d.air.Volume - d.area*(z-d.port) }

// delivered returns the water [m³] that has left the chamber for the bed at a
// travel z where the pressure is p: what the piston swept below the port, less
// the room that the air gave up.
func (d *drive) delivered(z, p float64) float64 {
	if d.kind != bySpring {
		return z
	}
	return d.area*(z-d.port) - d.air.Squeezed(p)
}

// deliverySlope returns d(delivered)/dz [m²]: more than the piston area while
// air expands with the falling pressure.
func (d *drive) deliverySlope(z, p float64) float64 {
	if d.air.Volume == 0 || d.kind != bySpring {
		return d.area
	}
	return d.area + d.air.Give(p)*d.stiffness(z)/d.effect
}

// closing returns the travel [m] at which the air is compressed to the
// pressure that the spring then holds, and water begins to move. Without air
// it is the port itself. ok is false where the air takes up the whole stroke.
func (d *drive) closing() (z float64, ok bool) {
	if d.air.Volume == 0 {
		return d.port, true
	}
	if d.delivered(d.cylinder.Stroke, d.pressure(d.cylinder.Stroke)) <= 0 {
		return d.cylinder.Stroke, false
	}
	return d.seek(0, d.port, d.cylinder.Stroke), true
}

// travelFor returns the travel between lo and hi [m] at which a volume [m³] has
// been delivered; hi where that is beyond it.
func (d *drive) travelFor(volume, lo, hi float64) float64 {
	if d.air.Volume == 0 || d.kind != bySpring {
		return min(hi, max(lo, d.port+volume/d.area))
	}
	if d.delivered(hi, d.pressure(hi)) <= volume {
		return hi
	}
	return d.seek(volume, lo, hi)
}

// seek finds the travel between lo and hi [m] at which springs have delivered a volume
// [m³], which they have at hi: by Newton's method, and where that strays by root.
func (d *drive) seek(volume, lo, hi float64) float64 {
	const enough, most = 1e-12, 12 // a step [-], which leaves its square; steps
	z := min(hi, max(lo, d.port+volume/d.area))
	for range most {
		p := d.pressure(z)
		step := (volume - d.delivered(z, p)) / d.deliverySlope(z, p)
		z += step
		if !(z > lo && z < hi) {
			break
		}
		if math.Abs(step) <= enough*z {
			return z
		}
	}
	return root(func(z float64) float64 { return d.delivered(z, d.pressure(z)) - volume }, lo, hi)
}

// travelAtPressure returns the travel between lo and hi [m] at which the
// pressure has fallen to p [Pa]; hi where it stays above.
func (d *drive) travelAtPressure(p, lo, hi float64) float64 {
	if d.pressure(hi) >= p {
		return hi
	}
	if d.kind == byAir {
		return min(hi, max(lo, -d.air.Squeezed(p)))
	}
	return root(func(z float64) float64 { return p - d.pressure(z) }, lo, hi)
}

// energy returns the energy [J] that springs, handle and weight hold at a travel,
// counted from the piston at rest.
func (d *drive) energy(z float64) float64 {
	lift := d.cylinder.Stroke - z
	e := d.cylinder.Weight*lift + d.handle.Energy(lift)
	for _, s := range d.springs {
		e += s.Energy(lift)
	}
	return e
}
