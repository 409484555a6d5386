package replace

import (
	"errors"
	"fmt"
	"math"

	"springcalc/spring"
)

// ErrJob marks an impossible space, limit, grid or wire.
var ErrJob = errors.New("replace: impossible task")

// Space is the room that the spring has in the machine.
type Space struct {
	Bore      float64 // inside diameter of the bore that it works in [m]
	Rod       float64 // diameter of the rod through it [m]; 0 for none
	Slack     float64 // least play in diameter to bore, to rod and between the springs of a nest [m]
	Installed float64 // L_1: length of the spring with the piston at rest [m]
	Solid     float64 // room wanted between cocked and solid, if it is more than EN 13906-1 asks [m]
	Celsius   float64 // T: temperature of the spring at work [°C]
	Support   spring.Support
}

// Limits are what a spring must keep to.
type Limits struct {
	IndexMin   float64 // least index D/d [-]
	IndexMax   float64 // greatest index [-]
	Buckling   float64 // least deflection to buckling over deflection when cocked [-]
	Fatigue    float64 // least safety against fatigue over the wished life [-]
	Relaxation float64 // greatest share of force lost over the wished life, indicative [-]; 0 for no limit, and then it is not judged
}

// UsualLimits returns an index of 4 to 12 ([Shigley] eq. 10-18), 1.2 where the
// books leave the number to the designer, and no limit on relaxation, of which
// too little is known.
func UsualLimits() Limits {
	return Limits{IndexMin: 4, IndexMax: 12, Buckling: 1.2, Fatigue: 1.2}
}

// Allowed is a static allowable stress and the safety against it that its
// source asks for: the three belong together.
type Allowed struct {
	Criterion spring.Criterion // allowable stress with its correction factor
	Safety    float64          // least safety against it [-]
}

// Wire is one size of one grade of spring wire.
type Wire struct {
	Grade      string           // name of the grade
	Evidence   string           // how far its numbers can be trusted
	Diameter   float64          // d: nominal diameter [m]
	Most       float64          // d_max: greatest diameter of its tolerance, for the solid length [m]; 0 for d
	Tensile    float64          // R_m: least tensile strength at this diameter [Pa]
	G          float64          // shear modulus at 20 °C [Pa]
	E          float64          // Young's modulus at 20 °C [Pa]
	Density    float64          // ρ [kg/m³]
	Softening  float64          // r: fall of the moduli per kelvin over their value at 20 °C [1/K]
	Cocked     Allowed          // what it may bear with the lever cocked
	Solid      Allowed          // what it may bear pressed solid
	Endurance  spring.Strength  // what it bears without end; zero where that is not known
	Life       spring.LifeCurve // what it bears for a number of cycles; nil where that is not known
	Preset     bool             // the numbers presume that the spring is pressed solid until it sets no further
	Peened     bool             // the numbers presume that the spring is shot peened
	Relaxation Held             // a known loss of force; zero where none is known
}

// Held is a reference point of relaxation: what a spring of such wire lost at a stress.
type Held struct {
	Law    spring.Relaxation // loss against time
	Stress float64           // greatest shear stress, with Wahl's factor, at which it was found [Pa]
}

// Job is the task of finding a spring.
type Job struct {
	Requirement
	Space  Space
	Limits Limits
	Hand   Hand       // what cocking asks of the hand; nil where the lever is not known
	Effort float64    // force of the hand at most [N]; 0 for no limit
	Use    spring.Use // the wished life

	Convention spring.Convention // whose rules reckon the solid length of every spring that is judged, if they know its ends; 0 for those of each spring
	Making     *Making           // what a maker may be off by; nil where that is not known
	Staying    []Part            // springs of a nest that stay in the machine: they push and need room, but are not judged themselves
}

// Making is what an order grants the maker of a spring. The wire's own tolerance is
// that of [Wire], from Diameter to Most, and as much to the other side.
type Making struct {
	Quality spring.Grade                          // of EN 15800, for the free length and the loads
	Coil    func(diameter, index float64) float64 // ±: tolerance of an outside diameter [m] of a coil of an index [-]; 0 where it is not known; called from many workers at once [m]
	Shear   float64                               // ±: what the shear modulus may be off by, over its value [-]
}

// asks reports whether the task wants a constraint of this many springs to be judged.
func (j *Job) asks(c Constraint, springs int) bool {
	switch c {
	case OverRod:
		return j.Space.Rod > 0
	case EndPressure:
		return !j.AnyEnd
	case InNest:
		return springs+len(j.Staying) > 1
	case Buckling:
		return !j.Space.Support.Guided
	case Fatigue:
		return j.Use.PullsPerDay*j.Use.DaysPerYear*j.Use.Years > 0
	case Relaxation:
		return j.Use.Years > 0 && j.Limits.Relaxation > 0
	case Effort:
		return j.Effort > 0
	}
	return true
}

// Unjudged returns the constraints of the task that could not be judged for a
// choice, because too little is known of its springs or of the lever.
func (j *Job) Unjudged(c *Choice) []Constraint {
	var open []Constraint
	for k := range constraints {
		if !c.Verdict.Checks[k].Known && j.asks(k, len(c.Parts)) {
			open = append(open, k)
		}
	}
	return open
}

// faults collects errors. Its comparisons are written so that NaN fails.
type faults []error

func (f *faults) that(ok bool, field string, value float64, unit, want string) {
	if !ok {
		*f = append(*f, fmt.Errorf("%w: %s is %.6g %s, want %s", ErrJob, field, value, unit, want))
	}
}

func (f *faults) positive(field string, value float64, unit string) {
	f.that(value > 0 && !math.IsInf(value, 1), field, value, unit, "more than 0")
}

func (f *faults) notNegative(field string, value float64, unit string) {
	f.that(value >= 0 && !math.IsInf(value, 1), field, value, unit, "0 or more")
}

// Validate reports every impossible value of the task at once.
func (j *Job) Validate() error {
	var f faults
	f.notNegative("Requirement.Rest", j.Rest, "N")
	f.positive("Requirement.Rate", j.Rate, "N/m")
	f.positive("Requirement.Stroke", j.Stroke, "m")
	f.that(j.Begin >= 0 && j.Begin < j.Stroke, "Requirement.Begin", j.Begin, "m", "0 or more and less than the stroke")
	f.positive("Requirement.Within", j.Within, "N")
	f.positive("Space.Bore", j.Space.Bore, "m")
	f.that(j.Space.Rod >= 0 && j.Space.Rod < j.Space.Bore, "Space.Rod", j.Space.Rod, "m", "0 or more and less than the bore")
	f.positive("Space.Slack", j.Space.Slack, "m")
	f.that(j.Space.Installed > j.Stroke && j.Space.Installed <= 10, "Space.Installed", j.Space.Installed, "m", "more than the stroke, up to 10 m")
	f.notNegative("Space.Solid", j.Space.Solid, "m")
	f.that(j.Space.Celsius >= -50 && j.Space.Celsius <= 300, "Space.Celsius", j.Space.Celsius, "°C", "from -50 to 300 °C")
	if _, err := j.Space.Support.Seating.MarshalText(); err != nil {
		f = append(f, err)
	}
	l := &j.Limits
	f.that(l.IndexMin > 1, "Limits.IndexMin", l.IndexMin, "", "more than 1")
	f.that(l.IndexMax >= l.IndexMin && !math.IsInf(l.IndexMax, 1), "Limits.IndexMax", l.IndexMax, "", "at least the least index")
	f.positive("Limits.Buckling", l.Buckling, "")
	f.positive("Limits.Fatigue", l.Fatigue, "")
	f.that(l.Relaxation >= 0 && l.Relaxation <= 1, "Limits.Relaxation", l.Relaxation, "", "from 0 to 1")
	f.notNegative("Effort", j.Effort, "N")
	if _, err := j.Use.Cycles(); err != nil {
		f = append(f, err)
	}
	for i := range j.Staying {
		f = append(f, j.Staying[i].validate())
	}
	if m := j.Making; m != nil {
		f.that(m.Quality >= 1 && m.Quality <= 3, "Making.Quality", float64(m.Quality), "", "1, 2 or 3")
		f.that(m.Shear >= 0 && m.Shear <= 0.2, "Making.Shear", m.Shear, "", "from 0 to 0.2")
	}
	return errors.Join(f...)
}

// validate reports every impossible value of a wire.
func (w *Wire) validate() error {
	var f faults
	f.positive("Wire.Diameter", w.Diameter, "m")
	f.that(w.Most == 0 || w.Most >= w.Diameter && w.Most <= 1.1*w.Diameter, "Wire.Most", w.Most, "m", "0, or the diameter and its tolerance")
	f.that(w.Tensile >= 1e8 && w.Tensile <= 1e10, "Wire.Tensile", w.Tensile, "Pa", "from 1e8 to 1e10 Pa")
	f.positive("Wire.G", w.G, "Pa")
	f.that(w.E > w.G && !math.IsInf(w.E, 1), "Wire.E", w.E, "Pa", "more than G")
	f.notNegative("Wire.Density", w.Density, "kg/m³")
	f.that(w.Softening >= 0 && w.Softening <= 1e-3, "Wire.Softening", w.Softening, "1/K", "from 0 to 1e-3 1/K")
	f.notNegative("Wire.Relaxation.Stress", w.Relaxation.Stress, "Pa")
	if none := (spring.Criterion{}); w.Cocked.Criterion == none || w.Solid.Criterion == none {
		f = append(f, fmt.Errorf("%w: Wire.Cocked or Wire.Solid is missing", ErrJob))
	}
	f.positive("Wire.Cocked.Safety", w.Cocked.Safety, "")
	f.positive("Wire.Solid.Safety", w.Solid.Safety, "")
	if w.Life != nil {
		f = append(f, w.Life.Validate())
		f.positive("Wire.Endurance.UltimateShear", w.Endurance.UltimateShear, "Pa")
	}
	if w.Endurance != (spring.Strength{}) {
		_, err := w.Endurance.Endurance.Reversed(w.Endurance.Line, w.Endurance.UltimateShear)
		f = append(f, err)
	}
	if w.Relaxation.Stress > 0 {
		f = append(f, w.Relaxation.Law.Validate())
	}
	if err := errors.Join(f...); err != nil {
		return fmt.Errorf("wire %s %.4g mm: %w", w.Grade, w.Diameter*1e3, err)
	}
	return nil
}
