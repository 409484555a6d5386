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
