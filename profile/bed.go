package profile

import "math"

// bed is a Coffee in a Basket with Water, its constants worked out once.
type bed struct {
	retain  float64 // volume of water that wets the whole bed [m³]
	wetting float64 // resistance of the whole bed to a wetting front below the threshold [Pa·s/m³]
	suction float64 // ψ [Pa]
	weight  float64 // ρ g L: what the water in the wetted bed adds to the pressure at its bottom [Pa]

	plateau   float64 // R of the extracted bed, loaded at or below the threshold [Pa·s/m³]
	threshold float64 // P_t [Pa]
	loading   float64 // n [-]
	unloading float64 // n_u [-]
	top       float64 // P_max: highest pressure the bed has seen [Pa]
	relieved  float64 // R of the extracted bed back at the threshold after P_max [Pa·s/m³]
	excess    float64 // E [-]
	decay     float64 // cup mass in which the excess falls by e [kg]

	density  float64 // ρ of water [kg/m³]
	soluble  float64 // mass that can dissolve [kg]
	dissolve float64 // water passed in which the rest to dissolve falls by e [kg]
}

// Gravity is the standard acceleration of free fall, ISO 80000-3 [m/s²].
const Gravity = 9.80665

func newBed(s *Setup) bed {
	c, area := &s.Coffee, s.Basket.Area()
	b := bed{
		retain:    c.Retained * c.Dose / s.Water.Density,
		suction:   c.Suction,
		threshold: c.Threshold,
		loading:   c.Loading,
		unloading: c.Unloading,
		excess:    c.Transient,
		decay:     c.TransientBy * c.Dose,
		density:   s.Water.Density,
		soluble:   c.Soluble * c.Dose,
		dissolve:  c.SolubleBy * c.Dose,
	}
	b.weight = s.Water.Density * Gravity * c.depth(area)
	if c.DryPerm > 0 {
		b.wetting = s.Water.Viscosity * c.depth(area) / (c.DryPerm * area)
	}
	b.plateau = c.Resistance / b.load(c.AtPressure)
	b.relieved = b.plateau
	return b
}

// load returns the factor by which a pressure [Pa] that the bed sees for the
// first time compacts it: (P/P_t)^n above the threshold, 1 below.
func (b *bed) load(p float64) float64 { return power(b.over(p), b.loading) }

// over returns P/P_t, not less than 1.
func (b *bed) over(p float64) float64 {
	if b.threshold <= 0 {
		return 1 // no threshold: resistance does not depend on pressure
	}
	return max(1, p/b.threshold)
}

// compact takes note of a pressure [Pa] that the bed is under.
func (b *bed) compact(p float64) {
	if p > b.top {
		b.top = p
		b.relieved = b.plateau * b.load(p) / power(b.over(p), b.unloading)
	}
}

// soften multiplies the resistance, as the release between two pulls does.
func (b *bed) soften(factor float64) {
	b.plateau *= factor
	b.relieved *= factor
}

// resistance returns R [Pa·s/m³] of the wetted bed at a pressure [Pa], when
// the cup holds a mass [kg]:
//
//	R = R_t (P_max/P_t)^n (P/P_max)^n_u (1 + E exp(-m/(c·dose)))
//
// with P and P_max counted as P_t where they are below it. It is the ratio of
// pressure to the flow that leaves the bed, counted at the density of water,
// as [W26] measured it.
func (b *bed) resistance(p, cup float64) float64 {
	r := b.relieved
	if over := b.over(p); over > 1 {
		r *= power(over, b.unloading)
	}
	if b.excess != 0 {
		r *= 1 + b.excess*math.Exp(-cup/b.decay)
	}
	return r
}

// power returns x^n for x > 0, quicker than math.Pow and as good to a few bits.
func power(x, n float64) float64 { return math.Exp(n * math.Log(x)) }

// BedResistance returns the resistance [Pa·s/m³] of the wetted bed by the law of
// its Coffee, at the pressure and the cup mass of a point in a shot whose
// highest pressure was peak [Pa].
func (s *Setup) BedResistance(at Sample, peak float64) float64 {
	b := newBed(s)
	b.compact(peak)
	return b.resistance(at.Pressure, at.Cup)
}

// dissolved returns the mass [kg] that a mass of water passed [kg] has taken
// with it, and the mass taken per mass of water at that point [-]:
//
//	D = Y m (1 - exp(-w/(r m)))
func (b *bed) dissolved(water float64) (mass, slope float64) {
	if b.soluble == 0 {
		return 0, 0
	}
	rest := math.Exp(-water / b.dissolve)
	return b.soluble * (1 - rest), b.soluble / b.dissolve * rest
}

// passed returns the mass of water [kg] that has left the bed when a volume
// [m³] has entered it.
func (b *bed) passed(volume float64) float64 { return max(0, b.density*(volume-b.retain)) }

// cup returns the mass in the cup [kg] when a volume [m³] has entered the bed.
func (b *bed) cup(volume float64) float64 {
	w := b.passed(volume)
	d, _ := b.dissolved(w)
	return w + d
}

// volumeFor returns the volume [m³] that must enter the bed for a cup mass [kg].
func (b *bed) volumeFor(cup float64) float64 {
	w := cup
	if b.soluble != 0 {
		w = root(func(w float64) float64 { d, _ := b.dissolved(w); return w + d - cup }, 0, cup)
	}
	return b.retain + w/b.density
}

// slowness returns dt/dV [s/m³] when a volume [m³] has entered the bed and the
// pressure is p [Pa]; and the strength, the mass that leaves per mass of water
// that enters [-].
//
// Before the front is through, a sharp front ([GA]) is driven by pressure,
// suction and the weight of the water behind it, and meets a resistance that
// grows with the wetted depth, and with pressure above the threshold as the bed
// compacts; nothing leaves. After that the flow is that
// of resistance; what leaves is heavier than what enters by the solids in it.
func (b *bed) slowness(p, volume float64) (slow, strength float64) {
	if volume < b.retain {
		wetted := volume / b.retain
		return b.wetting * wetted * b.over(p) / (p + b.suction + b.weight*wetted), 0
	}
	w := b.passed(volume)
	d, slope := b.dissolved(w)
	return b.resistance(p, w+d) * (1 + slope) / p, 1 + slope
}

// wetted returns the share of the bed behind the front when a volume [m³] has
// entered it.
func (b *bed) wetted(volume float64) float64 {
	if b.retain == 0 {
		return 1
	}
	return min(1, volume/b.retain)
}

// spent is after how many falls by e nothing is left of what decays [-].
const spent = 50

// decays returns how often the transient or what is left to dissolve falls by e
// from one volume in the bed [m³] to another: the more of the two, each 0 where
// there is none any more.
func (b *bed) decays(from, to float64) (n float64) {
	passed := b.passed(from)
	more := b.passed(to) - passed
	if b.excess != 0 && passed <= spent*b.decay {
		n = more / b.decay
	}
	if b.soluble != 0 && passed <= spent*b.dissolve {
		n = max(n, more/b.dissolve)
	}
	return n
}

// depth returns the bed depth L = m/(ρ_b A_b) [m] over an area [m²].
func (c *Coffee) depth(area float64) float64 { return c.Dose / (c.BulkDensity * area) }

// Area returns the area A_b of the bed [m²].
func (b Basket) Area() float64 { return math.Pi / 4 * b.Diameter * b.Diameter }

// BedDepth returns the depth of the dry bed, L = m/(ρ_b A_b) [m].
func (s *Setup) BedDepth() float64 { return s.Coffee.depth(s.Basket.Area()) }

// Permeability returns the permeability [m²] that the bed's resistance amounts
// to at its reference pressure, κ = μ L/(R A_b)   ([Das], Darcy's law).
func (s *Setup) Permeability() float64 {
	return s.Water.Viscosity * s.BedDepth() / (s.Coffee.Resistance * s.Basket.Area())
}

// ResistanceOf returns the resistance [Pa·s/m³] of a bed with a permeability
// [m²], R = μ L/(κ A_b): the inverse of Permeability.
func (s *Setup) ResistanceOf(permeability float64) float64 {
	return s.Water.Viscosity * s.BedDepth() / (permeability * s.Basket.Area())
}
