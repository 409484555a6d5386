package replace

import (
	"springcalc/piston"
	"springcalc/spring"
)

// Burden is what a new spring loads besides the coffee, against the old one.
// Latch, pivots and linkage see the spring's force, so the ratio of the cocked
// forces is theirs too.
type Burden struct {
	Cocked   float64 // force when cocked, new over old [-]
	Rest     float64 // force at rest, new over old [-]; 0 where the old spring is loose at rest
	Stored   float64 // energy that a stroke stores, new over old [-]
	Energy   float64 // that energy of the new spring: what the handle gets if it is let go with nothing to push against [J]
	HandOld  float64 // greatest force of the hand with the old springs [N]; 0 where the lever is not known
	HandNew  float64 // and with the new ones [N]
	Cautions []string
}

// BurdenOf compares new springs with old ones over a stroke [m].
func BurdenOf(old, new []spring.Linear, stroke float64, hand Hand) Burden {
	b := Burden{
		Cocked: ratio(spring.ForceOf(new, stroke), spring.ForceOf(old, stroke)),
		Rest:   ratio(spring.ForceOf(new, 0), spring.ForceOf(old, 0)),
		Energy: stored(new, stroke), HandOld: hand.Effort(old...), HandNew: hand.Effort(new...),
	}
	b.Stored = ratio(b.Energy, stored(old, stroke))
	if b.Cocked > 1 {
		b.Cautions = append(b.Cautions, spring.CautionStiffer)
	}
	b.Cautions = append(b.Cautions, piston.CautionCocked, piston.CautionUnloaded)
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
