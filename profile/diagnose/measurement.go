package diagnose

import "springcalc/spring"

// Kind is what can be measured on a machine.
type Kind int

// The kinds of measurement, with the unit of their value.
const (
	Peak       Kind = iota // highest pressure of a shot [Pa]
	EndPress               // pressure at the end of the stroke [Pa]
	LogRate                // rate that the pressure-volume line of a log shows [N/m]
	LogBow                 // bow of that line, as Line.Bow [Pa]
	Yield                  // mass in the cup at the end of the stroke [kg]
	ShotTime               // time from release to the end [s]
	LongFill               // peak after a fill twice as long, lever fully down [Pa]
	FreeLength             // free length of the spring [m]
	WireSize               // wire diameter where it is thinnest [m]
	Coils                  // active coils [-]
	BenchLoad              // load of the spring at a length, Measured.At [N]
	BenchRate              // rate on the bench [N/m]
	Drag                   // force to raise the piston less force to lower it, no pressure [N]
	Gauge                  // what the gauge reads at a known pressure over that pressure [-]
	Travel                 // travel of the piston from cocked to rest as the lever is pulled [m]
	Headspace              // depth from the piston at rest to the dry coffee [m]
	LogStart               // pressure of the line of a log at the cocked travel, z = 0 [Pa]
	kinds
)

var kindNames = [kinds]string{
	"peak pressure", "end pressure", "rate from a log", "bow of the line", "yield", "shot time", "peak after a long fill",
	"free length", "wire diameter", "active coils", "load on the bench", "rate on the bench", "difference of raising and lowering force",
	"gauge check", "piston travel", "headspace depth", "start of the line of a log",
}

func (k Kind) String() string {
	if k < 0 || k >= kinds {
		return "unknown measurement"
	}
	return kindNames[k]
}

// Measured is one measurement.
type Measured struct {
	Kind                    // what was measured
	At              float64 // length of a BenchLoad [m]; else 0
	spring.Measured         // value and standard uncertainty [unit of the kind]
}

// Spread is how far machines as new stand off their sheet, and shots off the
// model, as a standard deviation. It adds to the uncertainty of a measurement.
type Spread [kinds]struct {
	Share float64 // of the value as new [-]
	Fixed float64 // and this much beside [unit of the kind]
}

// UsualSpread is common practice and judgement: half the tolerance of EN 15800
// for loads, rates and lengths, a grinder's scatter for the time of a shot.
func UsualSpread() Spread {
	return Spread{
		Peak:       {0.03, 0},
		EndPress:   {0.05, 0},
		LogRate:    {0.03, 0},
		LogBow:     {0, 2e3},
		Yield:      {0.05, 1e-3},
		ShotTime:   {0.25, 0},
		LongFill:   {0.03, 0},
		FreeLength: {0.008, 0},
		WireSize:   {0.005, 0},
		Coils:      {0, 0.15},
		BenchLoad:  {0.03, 0},
		BenchRate:  {0.03, 0},
		Drag:       {0.3, 8},
		Gauge:      {0, 0.005},
		Travel:     {0, 0.3e-3},
		Headspace:  {0, 1e-3},
	}
}

// instrument is the standard uncertainty of usual tools, for measurements that
// have yet to be made: a caliper, a kitchen scale, a spring scale, a 1.6 class
// gauge (common practice).
var instrument = [kinds]float64{
	Peak: 0.15e5, EndPress: 0.15e5, LogRate: 300, LogBow: 1.5e3, Yield: 0.5e-3, ShotTime: 0.5, LongFill: 0.15e5,
	FreeLength: 0.2e-3, WireSize: 0.02e-3, Coils: 0.1, BenchLoad: 10, BenchRate: 300, Drag: 8, Gauge: 0.015,
	Travel: 0.3e-3, Headspace: 0.7e-3, LogStart: 0.15e5,
}

// UsualU returns the standard uncertainty of a kind of measurement made with
// usual tools [unit of the kind].
func UsualU(k Kind) float64 { return instrument[k] }
