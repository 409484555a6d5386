package logged

import (
	"math"

	"springcalc/profile"
)

// beforeRelease is how long before the release the cup is read for what had
// dripped by then [s].
const beforeRelease = 3.0

// displacement turns what a log read into volume swept by the piston.
type displacement struct {
	area, port float64 // piston area [m²]; travel to the port [m]

	density  float64 // ρ of water [kg/m³]
	soluble  float64 // mass that can dissolve [kg]
	dissolve float64 // water passed in which the rest to dissolve falls by e [kg]
	taken    float64 // water that the bed kept from the release on [m³]

	setup *profile.Setup // whose water presses the air
	air   float64        // air in the chamber at the fill pressure [m³]
}

// newDisplacement takes the machine from a setup; wetted is the share of the
// bed that was wet at the release.
func newDisplacement(s *profile.Setup, wetted float64) displacement {
	c := &s.Coffee
	return displacement{
		area: s.Cylinder.Area(), port: s.Cylinder.Port,
		density: s.Water.Density, soluble: c.Soluble * c.Dose, dissolve: c.SolubleBy * c.Dose,
		taken: (1 - wetted) * c.Retained * c.Dose / s.Water.Density,
		setup: s, air: s.AirAtRelease(&s.Pulls[0]),
	}
}

// water returns the water [kg] that came with a cup mass [kg], the root of
//
//	w + Y m (1 - exp(-w/(r m))) = cup
//
// It goes on smoothly below zero: cutting noise off there would shift its mean.
func (d *displacement) water(cup float64) float64 {
	if d.soluble == 0 {
		return cup
	}
	w := cup / (1 + d.soluble/d.dissolve)
	for range 20 { // Newton; the curve has no inflection
		rest := math.Exp(-w / d.dissolve)
		step := (w + d.soluble*(1-rest) - cup) / (1 + d.soluble/d.dissolve*rest)
		w -= step
		if math.Abs(step) < 1e-15 {
			break
		}
	}
	return w
}

// swept returns the volume [m³] that the piston has swept since it passed the
// port, at a cup mass [kg] and a pressure [Pa], the front being through the bed:
//
//	V = w/ρ + taken + V_a - V_a(P)
func (d *displacement) swept(cup, pressure float64) float64 {
	v := d.water(cup)/d.density + d.taken
	if d.air > 0 {
		v += d.setup.Water.Air(d.air).Squeezed(pressure)
	}
	return v
}

// dripped counts off what was in the cup at the release, where the bed was wet
// through by then, and returns the standard uncertainty of that [m³]. It is
// read from a straight line through the last seconds before.
func (d *displacement) dripped(l Log, release float64) (u float64) {
	var t, cup []float64
	for _, r := range l {
		if r.Time >= release-beforeRelease && r.Time < release && !math.IsNaN(r.Cup) {
			t, cup = append(t, r.Time), append(cup, r.Cup)
		}
	}
	if len(t) < 3 || t[0] == t[len(t)-1] {
		return 0
	}
	mass, u := fitStraight(t, t, cup).at(release)
	d.taken -= d.water(mass) / d.density
	return u / d.density
}

// has reports whether a column was read in at least as many rows as a line needs.
func (l Log) has(column func(Row) float64) bool {
	n := 0
	for _, r := range l {
		if !math.IsNaN(column(r)) {
			if n++; n >= minRows {
				return true
			}
		}
	}
	return false
}

// airShare returns the share of the air that gives way between the fill
// pressure and a gauge pressure [-].
func (d *displacement) airShare(p float64) float64 { return d.setup.Water.Air(1).Squeezed(p) }

// solids returns the mass that has dissolved [kg] with a cup mass [kg].
func (d *displacement) solids(cup float64) float64 { return cup - d.water(cup) }
