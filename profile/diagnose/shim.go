package diagnose

import (
	"errors"
	"fmt"

	"springcalc/profile"
	"springcalc/spring"
)

// Wire is the strength of the spring's wire.
type Wire struct {
	Tensile   float64          // Rm: tensile strength [Pa]
	Criterion spring.Criterion // static stress that is allowed, with its own stress factor
	Fatigue   spring.Strength  // what it bears under repeated load
	Curve     spring.LifeCurve // strength against cycles
}

// Shim is a ring under the spring that gives back what set took.
type Shim struct {
	Thickness float64 // t = ΔF/k [m]
	Peak      float64 // peak that it restores [Pa]
	Cocked    float64 // force on the piston with the lever cocked, after [N]
	Rest      float64 // force with the piston at rest, after [N]
	Effort    float64 // pull on the handle when cocked, after over now [-]

	Known        bool             // the spring's dimensions are known, so the rest is
	SolidLength  float64          // Ls: length with all coils touching [m]
	CockedLength float64          // L2: length with the lever cocked, after [m]
	Most         float64          // thickest shim before the coils touch [m]
	Binds        bool             // the coils would touch before the lever is down
	Clearance    spring.Clearance // room between the coils when cocked, after; empty where it binds

	Strong bool           // the strength of the wire is known too, so the next two are
	Static spring.Margins // stress against what is allowed, after
	Safety [2]float64     // safety against fatigue for ever: now, after [-]

	Doubts []string
}

// shimFor works out the shim for a spring that has set, to reach a peak [Pa]
// from one now [Pa].
func shimFor(m *Machine, set float64, now, wanted float64, wire *Wire) (*Shim, error) {
	c := &m.Setup.Cylinder
	k := rateOf(&m.Setup)
	effect := c.Area() + c.Seal.PerPa
	if !(wanted > now) {
		return nil, fmt.Errorf("%w: wanted peak is %.4g Pa, want more than the peak now, %.4g Pa", ErrInput, wanted, now)
	}
	force := func(p float64) float64 { return cockedForce(&m.Setup, p) }
	s := &Shim{Thickness: (wanted - now) * effect / k, Peak: wanted, Cocked: force(wanted)}
	s.Rest = s.Cocked - k*c.Stroke
	raise := c.Seal.Constant + c.Weight
	s.Effort = (s.Cocked + raise) / (force(now) + raise)
	s.Doubts = append(s.Doubts, "A shim restores the force, not the spring: it goes on setting, from a higher stress.")
	if m.Spring == nil {
		s.Doubts = append(s.Doubts, "Whether the coils leave room for a shim is not known: measure wire, coils and free length first.")
		return s, nil
	}
	return s, s.fit(m, set, wire)
}

// cockedForce returns the force of the springs with the lever cocked [N] that a
// peak [Pa] tells of: the peak comes when the piston has passed the port.
func cockedForce(s *profile.Setup, peak float64) float64 {
	c := &s.Cylinder
	return peak*(c.Area()+c.Seal.PerPa) + c.Seal.Constant - c.Weight + rateOf(s)*c.Port
}

// fit fills in what depends on the spring's dimensions.
func (s *Shim) fit(m *Machine, set float64, wire *Wire) error {
	s.Known = true
	stroke := m.Setup.Cylinder.Stroke
	rest := m.restLength()
	s.SolidLength = m.Spring.SolidLength()
	s.CockedLength = rest - s.Thickness - stroke
	s.Most = rest - stroke - s.SolidLength
	if s.Binds = !(s.Thickness < s.Most); s.Binds {
		return nil
	}
	old, err := m.Spring.Shortened(max(0, set))
	if err != nil {
		return err
	}
	if s.Clearance, err = old.Clearance(s.CockedLength, spring.Dynamic); err != nil {
		return err
	}
	s.Doubts = append(s.Doubts, s.Clearance.Doubts...)
	if wire == nil {
		s.Doubts = append(s.Doubts, "The grade of the wire is not known, so neither is its margin of stress.")
		return nil
	}
	return s.strength(old, rest, stroke, wire)
}

// strength fills in the margins of stress of the set spring.
func (s *Shim) strength(old spring.Compression, rest, stroke float64, wire *Wire) error {
	now := spring.Working{Rest: rest, Cocked: rest - stroke}
	after := spring.Working{Rest: rest - s.Thickness, Cocked: s.CockedLength}
	var err, errNow, errAfter error
	s.Static, err = old.Check(wire.Criterion, spring.Loading{Working: after, Tensile: wire.Tensile})
	f0, errNow := old.Fatigue(now, wire.Fatigue)
	f1, errAfter := old.Fatigue(after, wire.Fatigue)
	if err := errors.Join(err, errNow, errAfter); err != nil {
		return err
	}
	s.Strong, s.Safety = true, [2]float64{f0.Safety, f1.Safety}
	s.Doubts = append(append(s.Doubts, s.Static.Doubts...), f1.Doubts...)
	return nil
}

// restLength returns the length of the first spring with the piston at rest,
// as fitted when new [m].
func (m *Machine) restLength() float64 {
	l := m.Setup.Springs[0]
	return m.Spring.Free - l.Preload/l.Rate
}

// Wear is what the years of pulling have used of the spring.
type Wear struct {
	Cycles float64      // pulls so far [-]
	Life   spring.Life  // of the spring as new
	Share  float64      // Miner's share of the life that is used [-]
	Bound  spring.Bound // whether the share is that, more (Fewer cycles borne) or less (More)
}

// WearOf returns what use has taken of the life of a spring with known
// dimensions and wire, at the stress when it was new: set lowers that.
func WearOf(m *Machine, wire *Wire, use spring.Use) (*Wear, error) {
	if m.Spring == nil || wire == nil {
		return nil, fmt.Errorf("%w: the life of a spring needs its dimensions and its wire", ErrInput)
	}
	if err := m.Validate(); err != nil {
		return nil, err
	}
	n, err := use.Cycles()
	if err != nil {
		return nil, err
	}
	rest := m.restLength()
	life, err := m.Spring.Life(spring.Working{Rest: rest, Cocked: rest - m.Setup.Cylinder.Stroke},
		spring.LifeWire{Tensile: wire.Tensile, UltimateShear: wire.Fatigue.UltimateShear, Curve: wire.Curve})
	if err != nil {
		return nil, err
	}
	share, err := spring.Miner([]spring.Block{{Cycles: n, Life: life.Cycles}})
	return &Wear{Cycles: n, Life: life, Share: share, Bound: life.Bound}, err
}

// Ask is the spring to ask for: force and length at both ends of the stroke.
type Ask struct {
	Rate   float64 // k [N/m]
	Rest   float64 // F1: force with the piston at rest [N]
	Cocked float64 // F2: force with the lever cocked [N]
	Length float64 // L1: length that F1 is wanted at [m]; 0 where it is not known
	Free   float64 // L0 = L1 + F1/k [m]; 0 where L1 is not known
}

// askFor returns the first spring of the machine as new, raised or lowered to a
// wanted peak.
func askFor(m *Machine, wanted, fresh float64) Ask {
	l, c := m.Setup.Springs[0], &m.Setup.Cylinder
	change := (wanted - fresh) * (c.Area() + c.Seal.PerPa)
	a := Ask{Rate: l.Rate, Rest: l.Preload + change, Cocked: l.Preload + change + l.Rate*c.Stroke}
	if m.Spring != nil {
		a.Length = m.restLength()
		a.Free = a.Length + a.Rest/a.Rate
	}
	return a
}
