package diagnose

import (
	"errors"
	"fmt"
	"math"
)

// Priors are what a diagnosis presumes: how likely parts are at fault, how far
// sound parts, tools and the model scatter, what a job takes. All of it is
// judgement; the package has no figures of its own.
type Priors struct {
	Fault [numParts]float64 // probability that a part is at fault where the peak is low, before any reading [-]

	ShareScale  float64 // share of the peak that a fault takes falls off as exp(-share/ShareScale) [-]
	ShareMost   float64 // most that one fault takes [-]
	Worth       float64 // share of the peak that makes a part worth repairing [-]
	Right       float64 // a machine within this share of its sound peak is right [-]
	CoursePower float64 // power to which a course of peaks counts [-]
	Doubt       float64 // probability below which the readings do not go together [-]
	FaultsMost  float64 // most parts at fault at once, 1 to 3 [-]
	RepairLeast float64 // probability of being needed below which no repair is advised [-]
	RepairSure  float64 // probability below which a spring is not shimmed or replaced [-]
	RuleOut     float64 // chance of being ruled out by a cheap reading, above which it comes before a spring repair [-]
	Tells       float64 // a reading must be expected to save this share of the effort still to come, to be asked for before a repair [-]
	Even        float64 // steps whose expected efforts differ by less than this share are equally good [-]
	Cheap       float64 // a reading is cheap below this share of the effort of the repair [-]

	Sound  Sound          // parts in order
	Model  ModelError     // the model's own error
	Tool   [kinds]float64 // standard uncertainty of usual tools, for readings yet to be made [unit of the kind]
	Effort Efforts        // what a job takes
}

// Sound is how far parts in order scatter, as standard deviations.
type Sound struct {
	Seal          float64 // friction of a sound seal without pressure, median [N]
	SealFactor    float64 // factor of one standard deviation of ln friction, above 1 [-]
	SealPressure  float64 // friction by pressure, mean [N/Pa]
	SealPressureU float64 // and its standard deviation [N/Pa]
	Air           float64 // air of a usual fill, mean, where the setup has none [m³]
	AirU          float64 // and its standard deviation [m³]
	FreeLength    float64 // share of the free length [-]
	Wire          float64 // share of the wire [-]
	Coils         float64 // active coils [-]
	Gain          float64 // gain of a gauge [-]
	Zero          float64 // zero of a gauge [Pa]
	Travel        float64 // travel of the piston [m]
	Bore          float64 // share of the bore [-]
	Puck          float64 // factor of one standard deviation of the puck's resistance, above 1 [-]
	Headspace     float64 // depth of the headspace [m]
	Lag           float64 // factor of one standard deviation of the time constant of a gauge, above 1 [-]
}

// ModelError is the model's own error, as standard deviations that each reading has for itself.
type ModelError struct {
	Peak       float64 // share of a peak [-]
	Short      float64 // and share of what a lagging gauge falls short of it [-]
	End        float64 // share of an end pressure or a pressure on the line of a log [-]
	EndFixed   float64 // and this much beside [Pa]
	Rate       float64 // share of a rate or a load [-]
	Bow        float64 // of the bow of a line [Pa]
	Yield      float64 // share of a yield [-]
	YieldFixed float64 // and this much beside [kg]
	Time       float64 // share of a shot time [-]
	TimeFixed  float64 // and this much beside [s]
	Drag       float64 // share of a drag [-]
	Headspace  float64 // of a headspace depth [m]
}

// Efforts are what jobs take, with the price of parts as time.
type Efforts struct {
	Measure   [kinds]float64   // a measurement; those on the bench with the spring already out [s]
	Repair    [repairs]float64 // a repair; those of the spring with the spring already out [s]
	SpringOut float64          // taking the spring out and putting it back [s]
	Vain      float64          // what a repair in vain costs beside its effort [s]
	Left      float64          // what it costs to be left with a machine that is not right [s]
}

// field is one figure with its name and what it may be.
type field struct {
	name        string
	at          *float64
	least, most float64
}

var huge = math.Inf(1)

// fields lists every figure under its name. An effort or tool that several kinds
// share comes once for each.
func (p *Priors) fields() []field {
	s, m, e := &p.Sound, &p.Model, &p.Effort
	list := []field{
		{"share.scale", &p.ShareScale, 0.01, 10}, {"share.most", &p.ShareMost, 0.1, 0.95}, {"worth", &p.Worth, 0, 0.5},
		{"right", &p.Right, 0, 0.5}, {"course.power", &p.CoursePower, 0, 1}, {"doubt", &p.Doubt, 0, 0.5},
		{"faults.most", &p.FaultsMost, 1, 3}, {"repair.least", &p.RepairLeast, 0, 1}, {"repair.sure", &p.RepairSure, 0, 1}, {"rule.out", &p.RuleOut, 0, 1}, {"cheap", &p.Cheap, 0, huge}, {"tells", &p.Tells, 0, 1}, {"even", &p.Even, 0, 1},
		{"sound.seal", &s.Seal, tinySpread, huge}, {"sound.seal_factor", &s.SealFactor, 1 + tinySpread, huge},
		{"sound.seal_pressure", &s.SealPressure, 0, huge}, {"sound.seal_pressure_u", &s.SealPressureU, 0, huge},
		{"sound.air", &s.Air, 0, huge}, {"sound.air_u", &s.AirU, 0, huge}, {"sound.free_length", &s.FreeLength, 0, 0.5},
		{"sound.wire", &s.Wire, 0, 0.5}, {"sound.coils", &s.Coils, 0, huge}, {"sound.gain", &s.Gain, 0, 0.5}, {"sound.zero", &s.Zero, 0, huge},
		{"sound.travel", &s.Travel, 0, huge}, {"sound.bore", &s.Bore, 0, 0.5}, {"sound.puck", &s.Puck, 1, huge}, {"sound.headspace", &s.Headspace, 0, huge}, {"sound.lag", &s.Lag, 1, huge},
		{"model.peak", &m.Peak, 0, 1}, {"model.end", &m.End, 0, 1}, {"model.end_fixed", &m.EndFixed, 0, huge}, {"model.rate", &m.Rate, 0, 1},
		{"model.bow", &m.Bow, 0, huge}, {"model.yield", &m.Yield, 0, 1}, {"model.yield_fixed", &m.YieldFixed, 0, huge},
		{"model.time", &m.Time, 0, 1}, {"model.time_fixed", &m.TimeFixed, 0, huge}, {"model.short", &m.Short, 0, 1}, {"model.drag", &m.Drag, 0, 1}, {"model.headspace", &m.Headspace, 0, huge},
		{"effort.spring_out", &e.SpringOut, 0, huge}, {"effort.vain", &e.Vain, 0, huge}, {"effort.left", &e.Left, 0, huge},
	}
	for i := range numParts {
		list = append(list, field{"fault." + partKeys[i], &p.Fault[i], 0, 1 - tinySpread})
	}
	for r := range repairs {
		list = append(list, field{"effort." + repairKeys[r], &e.Repair[r], 0, huge})
	}
	for k, name := range effortKeys {
		if name != "" {
			list = append(list, field{"effort." + name, &e.Measure[k], 0, huge})
		}
	}
	for k, name := range toolKeys {
		list = append(list, field{"tool." + name, &p.Tool[k], tinySpread * tinySpread, huge})
	}
	return list
}

const tinySpread = 1e-6 // keeps a figure off a bound that it must not touch

// toolKeys and effortKeys are the last words of the names of the tools and of
// the efforts of the kinds.
var toolKeys = [kinds]string{
	Peak: "peak", EndPress: "end", LogRate: "log_rate", LogBow: "log_bow", Yield: "yield", ShotTime: "time", LongFill: "peak",
	FreeLength: "length", WireSize: "wire", Coils: "coils", BenchLoad: "load", BenchRate: "rate", Drag: "drag", Gauge: "gauge",
	Travel: "travel", Headspace: "headspace", LogStart: "log_start",
}

var effortKeys = [kinds]string{
	Peak: "shot", EndPress: "shot", Yield: "shot", ShotTime: "shot", LogRate: "log", LogBow: "log", LogStart: "log", LongFill: "long_fill",
	FreeLength: "free_length", WireSize: "wire", Coils: "coils", BenchLoad: "bench_load", BenchRate: "bench_rate", Drag: "drag",
	Gauge: "gauge_check", Travel: "travel", Headspace: "headspace",
}

// NewPriors asks for every figure by its name and returns them together. It
// reports every name that has none and every figure out of its range.
func NewPriors(get func(name string) (value float64, ok bool)) (Priors, error) {
	var p Priors
	var faults []error
	missing := map[string]bool{}
	for _, f := range p.fields() {
		v, ok := get(f.name)
		if !ok && !missing[f.name] {
			missing[f.name] = true
			faults = append(faults, fmt.Errorf("%w: prior %s is not given", ErrInput, f.name))
		}
		*f.at = v
	}
	if len(faults) > 0 {
		return Priors{}, errors.Join(faults...)
	}
	return p, p.validate()
}

// Set changes one figure [SI unit of the figure].
func (p *Priors) Set(name string, value float64) error {
	known := false
	for _, f := range p.fields() {
		if f.name == name {
			*f.at, known = value, true
		}
	}
	if !known {
		return fmt.Errorf("%w: no prior is named %q", ErrInput, name)
	}
	return p.validate()
}

// Without returns the priors with parts that were put right and need not be
// thought of any more.
func (p Priors) Without(renewed ...Part) Priors {
	for _, i := range renewed {
		p.Fault[i] = 0
	}
	return p
}

func (p *Priors) validate() error {
	var faults []error
	seen := map[string]bool{}
	for _, f := range p.fields() {
		if !(*f.at >= f.least && *f.at <= f.most) && !seen[f.name] {
			faults = append(faults, fmt.Errorf("%w: prior %s is %g, want %g to %g", ErrInput, f.name, *f.at, f.least, f.most))
		}
		seen[f.name] = true
	}
	return errors.Join(faults...)
}
