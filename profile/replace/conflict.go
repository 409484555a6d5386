package replace

import (
	"fmt"

	"springcalc/profile"
)

// Conflict is a contradiction between wishes, or of a wish with the machine.
type Conflict struct {
	Why  string // what contradicts what, in numbers
	Ways []Way  // what would resolve it, each alone
}

// Way is one way out of a conflict.
type Way struct {
	What string  // the wish or the part to change
	To   float64 // to what value, in the unit of What [SI]
	Text string  // the same in words
}

// impossible returns why no spring gives the wished pressures, or nil.
func (m *machine) impossible(w Wishes) []Conflict {
	var found []Conflict
	add := func(ok bool, why string, ways ...Way) {
		if !ok {
			found = append(found, Conflict{why, ways})
		}
	}
	peak := func(to float64, words string) Way {
		return Way{"peak", to, fmt.Sprintf("a peak %s %.3g bar", words, to/1e5)}
	}
	end := func(to float64, words string) Way {
		return Way{"end", to, fmt.Sprintf("an end pressure %s %.3g bar", words, to/1e5)}
	}
	add(w.Peak > w.End,
		fmt.Sprintf("a spring loses force along its stroke, so a peak of %.3g bar cannot end at %.3g bar", w.Peak/1e5, w.End/1e5),
		peak(w.End, "above"), end(w.Peak, "below"))
	add(w.Peak > m.air.Pressure,
		fmt.Sprintf("a peak of %.3g bar does not push the piston past the inlet port against the fill pressure of %.3g bar", w.Peak/1e5, m.air.Pressure/1e5),
		peak(m.air.Pressure, "above"))
	if swept := m.area * (m.stroke - m.port); m.begin(w.Peak) >= m.stroke {
		most := m.air.PressureIn(m.air.Volume - swept)
		air := swept * m.air.Volume / m.air.Squeezed(w.Peak)
		add(false,
			fmt.Sprintf("to reach a peak of %.3g bar the whole stroke goes into compressing the %.3g mL of air in the chamber", w.Peak/1e5, m.air.Volume*1e6),
			peak(most, "below"),
			Way{"air", air, fmt.Sprintf("less than %.3g mL of air (a longer fill, a hotter boiler)", air*1e6)})
	}
	alone := -m.dead / m.effect
	add(w.End >= alone,
		fmt.Sprintf("the weight of the piston alone holds %.3g bar at the end of the stroke, more than the wished %.3g bar", alone/1e5, w.End/1e5),
		end(alone, "of at least"))
	add(w.End >= profile.StallShare*w.Peak,
		fmt.Sprintf("with %.3g bar left at the end the piston would stall before its rest", w.End/1e5),
		end(profile.StallShare*w.Peak, "of at least"))
	return found
}

// tooHeavy returns the conflict between the pressures and the hand, with what
// each would have to give way.
func (m *machine) tooHeavy(w Wishes, hand Hand) []Conflict {
	effort := func(peak, end float64) float64 {
		w := w
		w.Peak, w.End = peak, end
		return hand.Effort(m.require(w).Linear())
	}
	needs := effort(w.Peak, w.End)
	if w.Effort == 0 || needs <= w.Effort {
		return nil
	}
	c := Conflict{Why: fmt.Sprintf("for %.3g bar at the peak and %.3g bar at the end the hand needs %.0f N, more than the wished %.0f N",
		w.Peak/1e5, w.End/1e5, needs, w.Effort)}
	add := func(what string, to float64, format string, a ...any) {
		c.Ways = append(c.Ways, Way{what, to, fmt.Sprintf(format, a...)})
	}
	add("effort", needs, "a hand that pushes %.0f N", needs)
	low := max(w.End, m.air.Pressure) // the peak has to stay above both
	keptEnd := func(peak float64) float64 { return effort(peak, w.End) - w.Effort }
	least := m.air.Pressure / w.Peak
	if m.dead < 0 {
		least = max(least, -m.dead/m.effect/w.End) // what the weight alone holds
	}
	inProportion := func(share float64) float64 { return effort(share*w.Peak, share*w.End) - w.Effort }
	if keptEnd(low) < 0 {
		peak := crossing(keptEnd, low, w.Peak)
		add("peak", peak, "with %.0f N at most %.3g bar at the peak, the end kept at %.3g bar", w.Effort, peak/1e5, w.End/1e5)
	} else if inProportion(least) < 0 {
		share := crossing(inProportion, least, 1)
		add("peak", share*w.Peak, "with %.0f N at most %.3g bar at the peak and %.3g bar at the end", w.Effort, share*w.Peak/1e5, share*w.End/1e5)
	}
	add("handle", needs/w.Effort, "a handle %.2f times as long", needs/w.Effort)
	return []Conflict{c}
}

// crossing returns where an increasing function that is negative at lo passes
// zero before hi, from below.
func crossing(f func(float64) float64, lo, hi float64) float64 {
	for range 60 {
		mid := lo + (hi-lo)/2
		if f(mid) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}
