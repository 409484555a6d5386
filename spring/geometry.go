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

// WireLength returns the length of the wire [m],
//
//	l = π D n_t        [Shigley], [EN 13906]
//
// It leaves out the rise of the helix, which adds 1/cos of the pitch angle:
// 0.4 % at 5°, 1.5 % at 10°.
func (s Compression) WireLength() float64 { return math.Pi * s.Mean * s.Total }

// Mass returns the mass of the spring [kg], ρ (π d²/4) times WireLength.
func (s Compression) Mass() float64 { return s.Density * s.wireArea() * s.WireLength() }

// activeMass returns the mass of the working coils [kg], [Shigley] eq. 10-27.
func (s Compression) activeMass() float64 { return s.Mass() * s.Active / s.Total }

func (s Compression) wireArea() float64 { return math.Pi / 4 * s.Wire * s.Wire }

// Growth is how much wider the coils are solid than free.
type Growth struct {
	FreeToTurn float64  // ΔDe: growth with ends that can turn about the axis [m]
	Held       float64  // ΔDe: growth with ends held against turning [m]
	Doubts     []string // where the formulas come from
}

// Growth returns the growth of the outside diameter from free to solid:
//
//	free to turn   0.1 (m² - 0.8 m d - 0.2 d²)/D, m = (L0 - Ls)/n_a + d    [EN 13906] 9.11, from memory
//	               with 1.5 d/n_a more in m for closed, unground ends
//	held           sqrt(D² + (p² - d²)/π²) - D                              US makers' practice
//
// The second is the same wire wound flat; the first is about 1.6 times as much,
// because a spring that may turn also unwinds. Use it for the bore.
func (s Compression) Growth() Growth {
	p := s.Pitch()
	m := (s.Free-s.SolidLength())/s.Active + s.Wire
	if s.Ends == Closed {
		m += 1.5 * s.Wire / s.Active
	}
	return Growth{
		FreeToTurn: 0.1 * (m*m - 0.8*m*s.Wire - 0.2*s.Wire*s.Wire) / s.Mean,
		Held:       math.Sqrt(s.Mean*s.Mean+(p*p-s.Wire*s.Wire)/(math.Pi*math.Pi)) - s.Mean,
		Doubts:     []string{"How much wider a spring gets with ends free to turn is a formula of EN 13906-1 from memory."},
	}
}
