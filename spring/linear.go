package spring

// Linear is a spring as the piston feels it: a straight line of force against
// travel. It is what a shot needs of a spring; Compression gives one from
// dimensions, a bench measurement gives one from loads.
//
//	F(x) = F1 + R x, never less than zero, x = lift of the piston from rest
type Linear struct {
	Rate    float64 // R: spring rate [N/m], 0 for a dead weight
	Preload float64 // F1: force with the piston at rest [N]; below 0 where the spring is loose at rest
}

// Force returns the force [N] at a lift [m] of the piston above its rest.
// A compression spring cannot pull: the force is never less than zero.
func (l Linear) Force(lift float64) float64 { return max(0, l.Preload+l.Rate*lift) }

// ForceOf returns the force [N] of springs side by side at a lift [m].
func ForceOf(springs []Linear, lift float64) (force float64) {
	for _, s := range springs {
		force += s.Force(lift)
	}
	return force
}

// RateOf returns the rate [N/m] of springs side by side at a lift [m], the sum
// over those that bear there.
func RateOf(springs []Linear, lift float64) (rate float64) {
	for _, s := range springs {
		if s.Force(lift) > 0 {
			rate += s.Rate
		}
	}
	return rate
}

// Energy returns the energy [J] that lifting the piston from rest to a lift [m]
// stores: the mean force times the travel on which the spring bears.
func (l Linear) Energy(lift float64) float64 {
	f := l.Force(lift)
	if f == 0 {
		return 0
	}
	return (f + l.Force(0)) / 2 * min(lift, f/l.Rate)
}
