package logged

import (
	"errors"
	"fmt"
	"math"

	"springcalc/profile"
)

// Options says how a log is read.
type Options struct {
	From   float64 // start of the window [s]; used where To is not 0
	To     float64 // end of the window [s]; 0 to have it found
	Lag    float64 // τ: time constant of the gauge, best estimate [s]
	Handle Handle  // what the weight of the handle does; zero for nothing
	Unsure Unsure  // what the log cannot show
}

// Handle is the force that the weight of the handle puts on the piston through
// its linkage, above 0 where it helps the spring. A handle of mass m_h whose
// weight acts at r_h from its pivot, at an angle θ from upright, gives
// -m_h g r_h sin θ dθ/dy on a piston that lifts by y.
type Handle struct {
	Force func(travel float64) float64 // at a travel [m] from cocked [N]; nil for none
	U     float64                      // standard uncertainty of its size, relative [-]
	RestU float64                      // standard uncertainty that grows from 0 at the start of the stroke to this at its end [N]
}

// UsualHandle returns the range of common handles over a stroke [m], for a
// machine whose lever is not described: 35 N against the spring, give or take
// 20 N, from 100° to 35° off upright. Judgement: 0.3 to 0.8 kg at 0.15 to 0.25 m
// over a pinion of 15 to 20 mm radius.
func UsualHandle(stroke float64) Handle {
	return Handle{
		Force: func(z float64) float64 {
			return -35 * math.Sin((100-65*z/stroke)*math.Pi/180)
		},
		U: 0.55, RestU: 6,
	}
}

// Unsure is the standard uncertainty of what a log is read with. It widens
// the intervals.
type Unsure struct {
	Bore      float64 // of the bore [m]
	Friction  float64 // of F_f0 [N]
	PerPa     float64 // of c [N/Pa]
	Uptake    float64 // of the water that the bed took after the release [m³]; not used where travel was read
	Gauge     float64 // of the gauge's scale, relative [-]
	Zero      float64 // of the gauge's zero [Pa]; not used where the log shows it
	Lag       float64 // of the gauge's time constant [s]
	Air       float64 // of the air in the chamber [m³]; not used where travel was read
	Dissolved float64 // of the mass that dissolves, relative [-]; not used where travel was read
}

// UsualUnsure returns the ± of a machine in order whose sheet states none:
// judgement, of a caliper, a sound seal, a gauge of class 1 of 10 bar and usual coffee.
func UsualUnsure(s *profile.Setup) Unsure {
	return Unsure{
		Bore: 0.1e-3, Friction: 15, PerPa: 1.5e-5, Gauge: 0.01, Zero: 0.1e5, Lag: 0.2,
		Uptake: 0.1 * s.Coffee.Dose / s.Water.Density, Air: 1e-6, Dissolved: 0.1,
	}
}

// Faulty returns the same where seal, fill and gauge may each be out of order:
// what Line.Wide is read with. Judgement: up to some 250 N and 10 N/bar of drag,
// 15 mL of air, a gauge that reads low by a quarter and is off by 0.3 bar.
func (u Unsure) Faulty() Unsure {
	u.Friction = math.Hypot(u.Friction, 120)
	u.PerPa = math.Hypot(u.PerPa, 5e-5)
	u.Gauge = math.Hypot(u.Gauge, 0.17)
	u.Zero = math.Hypot(u.Zero, 0.15e5)
	u.Air = math.Hypot(u.Air, 8e-6)
	return u
}

func (o *Options) validate() error {
	u := &o.Unsure
	faults := []error{
		notNegative("Options.From", o.From, "s"), notNegative("Options.To", o.To, "s"), notNegative("Options.Lag", o.Lag, "s"),
		notNegative("Options.Handle.U", o.Handle.U, ""), notNegative("Options.Handle.RestU", o.Handle.RestU, "N"),
		notNegative("Options.Unsure.Bore", u.Bore, "m"), notNegative("Options.Unsure.Friction", u.Friction, "N"),
		notNegative("Options.Unsure.PerPa", u.PerPa, "N/Pa"), notNegative("Options.Unsure.Uptake", u.Uptake, "m³"),
		notNegative("Options.Unsure.Gauge", u.Gauge, ""), notNegative("Options.Unsure.Zero", u.Zero, "Pa"),
		notNegative("Options.Unsure.Lag", u.Lag, "s"), notNegative("Options.Unsure.Air", u.Air, "m³"),
		notNegative("Options.Unsure.Dissolved", u.Dissolved, ""),
	}
	if o.To != 0 && !(o.From < o.To) {
		faults = append(faults, fmt.Errorf("%w: it ends at %g s, before its start at %g s", ErrWindow, o.To, o.From))
	}
	return errors.Join(faults...)
}
