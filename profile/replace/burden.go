package replace

import "springcalc/spring"

// Burden is what a new spring loads besides the coffee, against the old one.
// Latch, pivots and linkage see the spring's force, so the ratio of the cocked
// forces is theirs too.
type Burden struct {
	Cocked float64 // force when cocked, new over old [-]
	Stored float64 // energy that a stroke stores, new over old [-]
	Energy float64 // that energy of the new spring: what the handle gets if it is let go with nothing to push against [J]
}

// BurdenOf compares new springs with old ones over a stroke [m].
func BurdenOf(old, new []spring.Linear, stroke float64) Burden {
	b := Burden{
		Cocked: ratio(spring.ForceOf(new, stroke), spring.ForceOf(old, stroke)),
		Energy: stored(new, stroke),
	}
	b.Stored = ratio(b.Energy, stored(old, stroke))
	return b
}

// stored returns the energy [J] that a stroke [m] from rest stores.
func stored(springs []spring.Linear, stroke float64) float64 {
	sum := 0.0
	for _, s := range springs {
		sum += s.Energy(stroke)
	}
	return sum
}

func ratio(a, b float64) float64 {
	if b == 0 {
		return 0
	}
	return a / b
}
