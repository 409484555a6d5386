package spring

import "math"

// Index returns the spring index C = D/d [-].
func (s Compression) Index() float64 { return s.Mean / s.Wire }

// Outer returns the outside diameter of the unloaded coils [m], D + d.
func (s Compression) Outer() float64 { return s.Mean + s.Wire }

// Inner returns the inside diameter of the unloaded coils [m], D - d.
func (s Compression) Inner() float64 { return s.Mean - s.Wire }

// SolidLength returns the length with all coils touching [m].
//
//	US     plain, closed: (n_t + 1) d        ground: n_t d            [Shigley] Table 10-1
//	EN     closed: (n_t + 1.5) d_max         and ground: n_t d_max    [EN 13906] 9.10
//	EN hot closed: (n_t + 1.1) d_max         and ground: (n_t - 0.3) d_max
//
// A real spring may stand up to half a wire off this; measure where it matters.
func (s Compression) SolidLength() float64 {
	rule := endRules[s.Convention][s.Ends]
	return (s.Total + rule.solid) * max(s.Wire, s.WireMax)
}

// Pitch returns the distance from coil to coil of the unloaded spring [m],
//
//	p = L0 / (n_a + 1)              plain and ground
//	p = (L0 - Ls)/n_a + d           else            [Shigley] Table 10-1, [MH] Table 3
func (s Compression) Pitch() float64 {
	if s.Ends == PlainGround {
		return s.Free / (s.Active + 1)
	}
	return (s.Free-s.SolidLength())/s.Active + s.Wire
}

// PitchAngle returns the angle of the unloaded coils to the plane of a turn [rad].
func (s Compression) PitchAngle() float64 { return math.Atan(s.Pitch() / (math.Pi * s.Mean)) }

// WireLength returns the length of the wire [m], the rise of its helix counted,
//
//	l = n_a sqrt((π D)² + p²) + (n_t - n_a) sqrt((π D)² + q²)
//
// q is d for closed end coils, which lie on their neighbours, and p else. The
// books' π D n_t ([Shigley], [EN 13906]) is FlatLength; the rise adds 1/cos of
// the pitch angle to it: 0.4 % at 5°, 1.5 % at 10°.
func (s Compression) WireLength() float64 {
	turn, p := math.Pi*s.Mean, s.Pitch()
	q := p
	if s.Ends == Closed || s.Ends == ClosedGround {
		q = s.Wire
	}
	return s.Active*math.Hypot(turn, p) + (s.Total-s.Active)*math.Hypot(turn, q)
}

// FlatLength returns the length of the wire [m] without the rise of its helix,
//
//	l = π D n_t        [Shigley], [EN 13906]
func (s Compression) FlatLength() float64 { return math.Pi * s.Mean * s.Total }

// Mass returns the mass of the spring [kg], ρ (π d²/4) times WireLength: that of
// the wire which goes into it. Grinding the ends takes a little off.
func (s Compression) Mass() float64 { return s.Density * s.wireArea() * s.WireLength() }

// activeMass returns the mass of the working coils [kg] without the rise of
// their helix, [Shigley] eq. 10-27.
func (s Compression) activeMass() float64 {
	return s.Density * s.wireArea() * math.Pi * s.Mean * s.Active
}

// FigureOfMerit returns -c V, the relative cost [-] of a wire times the volume of
// the spring's wire [m³], negative so that more is better,
//
//	fom = -c π² d² n_t D/4        [Shigley] Example 10-2, with γ taken as 1
//
// Relative costs of [Shigley] Table 10-4 are 1.0 for hard-drawn, 1.3 for
// oil-tempered, 2.6 for music wire (the last printed, the others from memory).
func (s Compression) FigureOfMerit(cost float64) float64 {
	return -cost * s.wireArea() * s.FlatLength()
}

func (s Compression) wireArea() float64 { return math.Pi / 4 * s.Wire * s.Wire }

// Growth is how much wider the coils are when pressed than free.
type Growth struct {
	FreeToTurn float64  // ΔDe: growth with ends that can turn about the axis [m]
	Held       float64  // ΔDe: growth with ends held against turning [m]
	Doubts     []string // where the formulas come from
}

// Growth returns the growth of the outside diameter from free to solid:
//
//	free to turn   0.1 (m² - 0.8 m d - 0.2 d²)/D, m = (L0 - Lc)/n_a + d    [EN 13906] 9.11, from memory
//	               with 1.5 d/n_a more in m for closed, unground ends
//	held           sqrt(D² + (p² - d²)/π²) - D                              US makers' practice
//
// Lc is the solid length by EN, whatever the convention of the spring, because m
// is made for it: for ends that EN knows m comes to the pitch. The second formula is
// the same wire wound flat; the first is about 1.6 times as much, because a
// spring that may turn also unwinds. Use it for the bore.
func (s Compression) Growth() Growth { return s.growth(0, s.Wire) }

// GrowthAt returns the growth of the outside diameter from free to a length [m]:
// that from free to solid less that from the length to solid, which is of the same
// wire at another pitch.
func (s Compression) GrowthAt(length float64) Growth {
	pressed := s
	pressed.Free = length
	return s.growth(pressed.turning(), pressed.Pitch())
}

// growth returns the growth from free to a pitch [m], from which there is left to
// grow what is given [m] with ends that can turn.
func (s Compression) growth(left, pitch float64) Growth {
	p := s.Pitch()
	return Growth{
		FreeToTurn: s.turning() - left,
		Held:       math.Sqrt(s.Mean*s.Mean+(p*p-pitch*pitch)/(math.Pi*math.Pi)) - s.Mean,
		Doubts:     []string{"How much wider a spring gets with ends free to turn is a formula of EN 13906-1 from memory."},
	}
}

// turning is the growth from free to solid with ends that can turn [m].
func (s Compression) turning() float64 {
	m := (s.Free-s.solidByEN())/s.Active + s.Wire
	if s.Ends == Closed {
		m += 1.5 * s.Wire / s.Active
	}
	return 0.1 * (m*m - 0.8*m*s.Wire - 0.2*s.Wire*s.Wire) / s.Mean
}

// solidByEN returns the solid length [m] as EN reckons it for a spring coiled
// cold, and by the spring's own convention where EN does not know the ends.
func (s Compression) solidByEN() float64 {
	if _, ok := EN.DeadCoils(s.Ends); ok && s.Convention == US {
		s.Convention = EN
	}
	return s.SolidLength()
}
