package spring

import "math"

// Surge is the lowest frequency at which the coils themselves swing.
type Surge struct {
	BothSeated float64 // f: both ends on plates [Hz]
	OneFree    float64 // f: one end free [Hz]
}

// Surge returns the natural frequencies,
//
//	f = ½ sqrt(R/m), f = ¼ sqrt(R/m)        [Shigley] eq. 10-25, 10-26
//
// with m the mass of the active coils. A machine that works a spring more
// often than 1/13 to 1/20 of this excites it; a hand does not.
func (s Compression) Surge() Surge {
	w := math.Sqrt(s.Rate() / s.activeMass())
	return Surge{BothSeated: w / 2, OneFree: w / 4}
}

// ImpactStress returns the shear stress [Pa], uncorrected, that runs through the
// wire when an end is struck or let go at a speed [m/s],
//
//	τ = v sqrt(2 ρ G)        [EN 13906] 9.15
//
// It adds to the static stress, for a lever that flies back or a spring let go.
func (s Compression) ImpactStress(speed float64) float64 {
	return math.Abs(speed) * math.Sqrt(2*s.Density*s.G)
}
