package spring

import (
	"fmt"
	"math"
)

// Doubts returns what is unusual about the spring without making it impossible,
// in plain sentences: the limits are those of good design, and old or bought
// springs pass them now and then.
func (s Compression) Doubts() []string {
	var doubts []string
	add := func(unusual bool, format string, args ...any) {
		if unusual {
			doubts = append(doubts, fmt.Sprintf(format, args...))
		}
	}
	c := s.Index()
	add(c < 4, "The index D/d of %.3g is under 4: hard to coil, and the stress is higher than the factors say.", c)
	add(c > 12 && c <= 20, "The index D/d of %.3g is over 12: such springs tangle and their diameter varies.", c)
	add(c > 20, "The index D/d of %.3g is over 20, the limit of EN 13906-1.", c)
	add(s.Active < 2, "Fewer than 2 active coils: the rate depends on the ends more than on the formula.")
	add(s.Active >= 2 && s.Active < 3, "Fewer than 3 active coils: the ends make the rate uncertain.")
	add(s.Active > 15, "More than 15 active coils: long springs bow and vary.")
	dead, _ := s.Convention.DeadCoils(s.Ends)
	add(math.Abs(s.Total-s.Active-dead) > 0.26, "Total less active coils is %.3g; %v ends are usually counted as %g: count again.", s.Total-s.Active, s.Ends, dead)
	angle := s.PitchAngle() * 180 / math.Pi
	add(angle > 12, "The pitch angle of %.3g° is steep: over 12° the formulas for flat coils drift.", angle)
	add(s.E < 2*s.G || s.E > 3*s.G, "E/G is %.3g; a metal has 2 to 3: check the moduli.", s.E/s.G)
	add(s.Convention != ENHot && s.Wire > 20e-3, "Wire over 20 mm is not coiled cold: EN 13906-1 counts its end coils differently.")
	add(s.Convention != US, "The EN rules for end coils and solid length are given from memory: measure the solid length.")
	return doubts
}
