package profile

import "fmt"

// What [W26] measured: beyond it the bed's law is a guess.
const (
	measuredPermLow  = 1.5e-15 // lowest permeability at 9 bar of an espresso bed in the literature [m²]
	measuredPermHigh = 1.5e-14 // highest [m²]
	measuredMin      = 0.76e5  // lowest pressure over the bed [Pa]
	measuredMax      = 12.4e5  // highest [Pa]
	measuredAt       = 9e5     // pressure at which the permeabilities are quoted [Pa]
)

// doubts lists what may be wrong with a shot, in words for its reader. Units
// are left to the sentence: bar, mm, s and % as a person reads them.
func (s *Setup) doubts(shot *Shot) []string {
	var d []string
	add := func(format string, a ...any) { d = append(d, fmt.Sprintf(format, a...)) }
	if s.Basket.Depth > 0 && s.BedDepth() > s.Basket.Depth {
		add("the dose is deeper than the basket: a bed of %.1f mm in %.1f mm", s.BedDepth()*1e3, s.Basket.Depth*1e3)
	}
	if shot.Wetted < 1 {
		add("the puck was not wetted through at release: the front was %.0f %% down, and wetting the rest takes part of the stroke", 100*shot.Wetted)
	}
	for i := range s.Pulls {
		if s.Pulls[i].FillTime > s.Pulls[i].Preinfusion {
			add("pull %d is released before the chamber is full: what is missing is counted as air", i+1)
		}
		if end := s.Pulls[i].EndPressure; end >= shot.Peak && shot.Peak > 0 && end > 0 {
			add("pull %d ends as it begins: it is to end at %.3g bar, and the peak is %.3g bar", i+1, end/1e5, shot.Peak/1e5)
		}
	}
	b := newBed(s)
	at9 := s.Permeability() * b.load(s.Coffee.AtPressure) / b.load(measuredAt)
	if at9 < measuredPermLow || at9 > measuredPermHigh {
		add("the puck's resistance is outside what was measured in the literature: a permeability of %.2g m² at 9 bar against %.2g to %.2g m²", at9, measuredPermLow, measuredPermHigh)
	}
	if shot.Peak > measuredMax || shot.Peak > 0 && shot.Peak < measuredMin {
		add("the peak of %.1f bar is outside the pressures at which coffee beds were measured (%.2g to %.3g bar)", shot.Peak/1e5, measuredMin/1e5, measuredMax/1e5)
	}
	for i, sp := range s.Springs {
		if sp.Preload < 0 {
			add("spring %d is loose before the piston reaches its rest", i+1)
		}
	}
	if lo, hi := shot.Elastic.Spring, shot.Set.Spring; hi-lo > 0.05*shot.Spring {
		add("how a bed recovers while the pressure falls has not been published: the flow time is %.0f s if the bed springs back and %.0f s if it stays compacted", lo, hi)
	}
	if shot.AirGivenUp {
		add("ten minutes after release trapped air was still pushing, with %.2g bar: time and yield stop there", shot.Last/1e5)
	}
	if len(s.Pulls) > 1 {
		add("the resistance from the second pull on is an assumption (%.2g times the first; the one published run supports 0.4 to 1)", s.Coffee.SecondPull)
	}
	switch shot.Outcome {
	case Stalled:
		add("the piston stalls: seal friction holds what is left of the spring's force before the stroke is done")
	case Choked:
		add("the bed is choked: ten minutes after release the stroke was not done")
	case NoPressure:
		add("the spring cannot push the piston past the inlet port against the fill pressure: nothing was brewed")
	case AirTookAll:
		add("the air in the chamber takes up the whole stroke: no water was pressed through the bed by the springs, only by the air after them")
	case RanDry:
		add("the water above the puck is spent before the shot is done: less was filled than the stroke sweeps, and air blows through at the end")
	}
	return d
}
