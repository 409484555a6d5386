package replace

import (
	"errors"
	"fmt"
	"math"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// ErrWish marks a wish that is no number or out of all range.
var ErrWish = errors.New("replace: impossible wish")

// Wishes is what a person wants of a shot with the next spring, and of cocking it.
type Wishes struct {
	Peak   float64 // P_p: highest pressure of the shot [Pa]
	End    float64 // P_e: pressure at the end of the stroke [Pa]
	Within float64 // ΔP: what both may be off by [Pa]
	Effort float64 // force of the hand at most [N]; 0 for no limit
	AnyEnd bool    // nobody asked for an end pressure: no spring is judged by it, and an End of 0 stands for the least with which the piston comes to its rest
}

// Validate reports every impossible wish at once.
func (w *Wishes) Validate() error {
	var faults []error
	that := func(ok bool, field string, value float64, unit, want string) {
		if !ok {
			faults = append(faults, fmt.Errorf("%w: %s is %g %s, want %s", ErrWish, field, value, unit, want))
		}
	}
	finite := func(x float64) bool { return x >= 0 && !math.IsInf(x, 1) }
	that(finite(w.Peak) && w.Peak > 0, "Peak", w.Peak, "Pa", "more than 0")
	that(finite(w.End), "End", w.End, "Pa", "0 or more")
	that(finite(w.Within) && w.Within > 0, "Within", w.Within, "Pa", "more than 0")
	that(finite(w.Effort), "Effort", w.Effort, "N", "0 or more")
	return errors.Join(faults...)
}

// Requirement is the spring line that fulfils the wishes.
type Requirement struct {
	Rest   float64 // F_1: force with the piston at rest [N]
	Rate   float64 // R: rate [N/m]
	Stroke float64 // s: travel from rest to cocked [m]
	Begin  float64 // z_0: travel from cocked at which water begins to move [m]
	Within float64 // ΔF: what the forces at rest and where water begins to move may be off by [N]
	AnyEnd bool    // the force at rest is nobody's wish: no spring is judged by it
}

// Linear returns the required spring as a shot feels it.
func (r Requirement) Linear() spring.Linear { return spring.Linear{Rate: r.Rate, Preload: r.Rest} }

// Start returns the force where the water begins to move [N].
func (r Requirement) Start() float64 { return r.Rest + r.Rate*(r.Stroke-r.Begin) }

// Cocked returns F_2, the force with the lever cocked [N].
func (r Requirement) Cocked() float64 { return r.Rest + r.Rate*r.Stroke }

// Require returns the spring line that gives the wished pressures in a
// machine, and the wishes that contradict each other or the machine. Put back
// into the setup the line gives peak and end to rounding, unless the setup ends
// the shot before the stroke does.
//
// The requirement is zero where no spring can give the pressures; it stands
// where only the hand is too weak for it. The hand is nil where the lever is
// not known.
func Require(s *profile.Setup, w Wishes, hand Hand) (Requirement, []Conflict, error) {
	if err := errors.Join(s.Validate(), w.Validate()); err != nil {
		return Requirement{}, nil, err
	}
	m := newMachine(s)
	if w.AnyEnd && w.End == 0 {
		w.End = max(-m.dead/m.effect, profile.StallShare*w.Peak) * (1 + 1e-9)
	}
	if c := m.impossible(w); c != nil {
		return Requirement{}, c, nil
	}
	return m.require(w), m.tooHeavy(w, hand), nil
}

// EndAtRate returns the pressure [Pa] at the end of the stroke if a spring of
// the given rate [N/m] gives the peak [Pa]: the wish of somebody who wants the
// same spring as ever, only fresh. It is less than 0 where such a spring would
// be spent before the end.
func EndAtRate(s *profile.Setup, peak, rate float64) float64 {
	m := newMachine(s)
	begin := m.begin(peak)
	return peak - (rate*(m.stroke-begin)+m.helped(begin))/m.effect
}

// machine is what the requirement needs of a setup.
type machine struct {
	area   float64       // A [m²]
	effect float64       // A + c: force of spring per pressure [m²]
	stroke float64       // s [m]
	port   float64       // s_p [m]
	dead   float64       // F_f0 - W_p - W_h(0): force of spring that makes no pressure at rest [N]
	handle piston.Handle // W_h over the lift
	air    piston.Air    // V_a: in the chamber at release
}

func newMachine(s *profile.Setup) machine {
	c := &s.Cylinder
	m := machine{
		area: c.Area(), effect: c.Area() + c.Seal.PerPa, stroke: c.Stroke, port: c.Port,
		dead: c.Seal.Constant - c.Weight - s.Handle.Force(0), handle: s.Handle, air: s.Water.Air(math.Inf(1)),
	}
	for i := range s.Pulls { // the pull with the least air has the highest peak
		m.air.Volume = min(m.air.Volume, s.AirAtClosing(&s.Pulls[i]))
	}
	return m
}

// begin returns z_0 [m]: the travel at which the air holds the peak [Pa].
func (m *machine) begin(peak float64) float64 {
	return m.port + m.air.Squeezed(peak)/m.area
}

// helped is how much more the handle's weight helps the spring at a travel [m]
// than at rest [N].
func (m *machine) helped(travel float64) float64 {
	return m.handle.Force(m.stroke-travel) - m.handle.Force(0)
}

func (m *machine) require(w Wishes) Requirement {
	begin := m.begin(w.Peak)
	return Requirement{
		Rest:   w.End*m.effect + m.dead,
		Rate:   ((w.Peak-w.End)*m.effect - m.helped(begin)) / (m.stroke - begin),
		Stroke: m.stroke,
		Begin:  begin,
		Within: w.Within * m.effect,
		AnyEnd: w.AnyEnd,
	}
}
