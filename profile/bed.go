package profile

import "math"

// bed is a Coffee in a Basket with Water, its constants worked out once.
type bed struct {
	retain  float64 // volume of water that wets the whole bed [m³]
	wetting float64 // resistance of the whole bed to a wetting front below the threshold [Pa·s/m³]
	suction float64 // ψ [Pa]
	weight  float64 // ρ g L: what the water in the wetted bed adds to the pressure at its bottom [Pa]

	plateau   float64 // R_t: R of the extracted bed, loaded to the threshold [Pa·s/m³]
	threshold float64 // P_t [Pa]
	loading   float64 // n [-]
	unloading float64 // n_u [-]
	low       float64 // n_l [-]
	blocking  float64 // b_t, less what a soak has washed out [-]
	setBy     float64 // w [-]
	decay     float64 // c·dose: cup mass in which the blocking coffee falls by e [kg]

	top     float64 // P_max: highest pressure the bed has seen [Pa]
	first   float64 // P_w: pressure under which the front came through [Pa]; 0 before that
	hard    float64 // R_t g [Pa·s/m³]
	opening float64 // f_P with the pressure back at the threshold after P_max [-]
	block   float64 // b [-]
	stale   bool    // what follows is of before the last happening
	clear   float64 // m0 ln(f_P/b) at P_max: how far before an empty cup the pores would close [kg]

	density  float64 // ρ of water [kg/m³]
	drop     float64 // volume that must enter the bed for the first drop in the cup [m³]
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
		low:       c.Low,
		blocking:  c.Blocking,
		setBy:     c.SetBy,
		decay:     c.BlockingBy * c.Dose,
		density:   s.Water.Density,
		soluble:   c.Soluble * c.Dose,
		dissolve:  c.SolubleBy * c.Dose,
	}
	b.weight = s.Water.Density * Gravity * c.depth(area)
	if c.DryPerm > 0 {
		b.wetting = s.Water.Viscosity * c.depth(area) / (c.DryPerm * area)
	}
	b.plateau = s.OwnResistance() / b.load(c.AtPressure)
	b.drop = b.volumeFor(firstDrop)
	b.stale = true
	return b
}

// load returns R_∞/R_t when a pressure [Pa] is the highest that the bed has seen:
// (P/P_t)^n above the threshold; below, (P_t/P)^n_l, as a bed that was never
// pressed to the threshold resists more.
func (b *bed) load(p float64) float64 {
	if p < b.threshold && p > 0 {
		return power(b.threshold/p, b.low)
	}
	return power(b.over(p), b.loading)
}

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
		b.top, b.stale = p, true
	}
}

// through takes note of the pressure [Pa] under which the front came through.
func (b *bed) through(p float64) {
	if b.first == 0 && p > 0 {
		b.first, b.stale = p, true
	}
}

// soak takes note of a wetted bed that waited a time [s] for the release.
func (b *bed) soak(washed float64) {
	b.blocking *= washed
	b.stale = true
}

// settle works out what stays the same until something else happens to the bed.
func (b *bed) settle() {
	if !b.stale {
		return
	}
	b.stale = false
	over := b.over(b.top)
	b.hard = b.plateau
	if b.top > 0 && b.top < b.threshold {
		b.hard *= b.load(b.top)
	}
	atTop := power(over, -b.loading/3)
	b.opening = atTop * power(over, b.unloading/3)
	b.block = b.blocking
	if b.threshold > 0 {
		sets := b.top
		if b.first > 0 {
			sets += b.setBy * (b.first - b.top)
		}
		b.block *= min(1, sets/b.threshold)
	}
	b.clear = 0
	if b.block > 0 {
		b.clear = b.decay * math.Log(max(1, atTop/b.block))
	}
}

// soften multiplies the resistance, as the release between two pulls does.
func (b *bed) soften(factor float64) {
	b.plateau *= factor
	b.stale = true
}

// closed is the least opening of the pores that is followed [-]: a bed that is
// closed passes a billionth, and the shot counts as choked.
const closed = 1e-3

// resistance returns R [Pa·s/m³] of the wetted bed at a pressure [Pa], when
// the cup holds a mass [kg]: see the package's Bed.
func (b *bed) resistance(p, cup float64) float64 {
	f := b.opening
	if over := b.over(p); over > 1 && b.unloading != 0 {
		f *= power(over, -b.unloading/3)
	}
	if b.block > 0 {
		f = max(closed, f-b.block*exp(-cup/b.decay))
	}
	return b.hard / (f * f * f)
}

// power returns x^n for x > 0, quicker than math.Pow and as good to a few bits.
func power(x, n float64) float64 { return exp(n * math.Log(x)) }

// WettedBed is the wetted bed of a setup, as what it has gone through has left it.
type WettedBed struct{ bed bed }

// WettedBed returns the bed after a highest pressure [Pa], the front having come
// through under a pressure first [Pa], 0 for the highest, and the bed having waited
// a time [s] from then for the release.
func (s *Setup) WettedBed(peak, first, waited float64) WettedBed {
	b := newBed(s)
	b.compact(peak)
	b.through(first)
	if waited > 0 {
		b.soak(exp(-s.Coffee.Soaking * waited))
	}
	b.settle()
	return WettedBed{b}
}

// Resistance returns R [Pa·s/m³] at a pressure [Pa] with a mass in the cup [kg].
func (w *WettedBed) Resistance(pressure, cup float64) float64 {
	return w.bed.resistance(pressure, cup)
}

// Blocked returns b, how much of the opening of the pores is blocked with an empty cup [-].
func (w *WettedBed) Blocked() float64 { return w.bed.block }

// BedResistance returns the resistance [Pa·s/m³] of the wetted bed by the law of
// its Coffee, at the pressure and the cup mass of a point in a shot whose
// highest pressure was peak [Pa]. Its first wetting pressure is taken to be the
// fill pressure where there was a pre-infusion, and its soak as none.
func (s *Setup) BedResistance(at Sample, peak float64) float64 {
	first := 0.0
	if s.Pulls[0].Preinfusion > 0 {
		first = s.Water.Fill
	}
	w := s.WettedBed(peak, first, 0)
	return w.Resistance(at.Pressure, at.Cup)
}

// dissolved returns the mass [kg] that a mass of water passed [kg] has taken
// with it, and the mass taken per mass of water at that point [-]:
//
//	D = Y m (1 - exp(-w/(r m)))
func (b *bed) dissolved(water float64) (mass, slope float64) {
	if b.soluble == 0 {
		return 0, 0
	}
	rest := exp(-water / b.dissolve)
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
		for range 50 { // Newton's method from above: w + D(w) bends one way
			d, slope := b.dissolved(w)
			step := (w + d - cup) / (1 + slope)
			w -= step
			if !(math.Abs(step) > 1e-15*cup) {
				break
			}
		}
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
		return b.wetting * wetted * b.tighter(p) / (p + b.suction + b.weight*wetted), 0
	}
	w := b.passed(volume)
	d, slope := b.dissolved(w)
	return b.resistance(p, w+d) * (1 + slope) / p, 1 + slope
}

// tighter returns the factor on the resistance to the front, (P/P_t)^(n/3)
// above the threshold, else 1: fitted to first drops from 0.76 to 12.4 bar.
func (b *bed) tighter(p float64) float64 {
	if over := b.over(p); over > 1 {
		return power(over, b.loading/3)
	}
	return 1
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

// pace is the water for a mass of the first drops, about 1/(1 + Y/r) [-].
const pace = 0.7

// strain says how hard the integrand is between two volumes in the bed [m³]: the
// water that passes over the distance to where the pores would close, as the
// integrand goes as 1/f³, and over that in which the blocking coffee or the solubles fall by e [-].
func (b *bed) strain(from, to float64) (near, decays float64) {
	passed := b.passed(from)
	more := b.passed(to) - passed
	if more == 0 {
		return 0, 0
	}
	if b.block > 0 && passed <= spent*b.decay {
		near, decays = more/(passed+b.clear*pace), more/b.decay
	}
	if b.soluble != 0 && passed <= spent*b.dissolve {
		decays = max(decays, more/b.dissolve)
	}
	return near, decays
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
	return s.Water.Viscosity * s.BedDepth() / (s.OwnResistance() * s.Basket.Area())
}

// ResistanceOf returns the resistance [Pa·s/m³] of a bed with a permeability
// [m²], R = μ L/(κ A_b): the inverse of Permeability.
func (s *Setup) ResistanceOf(permeability float64) float64 {
	return s.Water.Viscosity * s.BedDepth() / (permeability * s.Basket.Area())
}
