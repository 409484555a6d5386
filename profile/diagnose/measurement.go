package diagnose

// Kind is what can be measured on a machine.
type Kind int

// The kinds of measurement, with the unit of their value.
const (
	Peak       Kind = iota // highest pressure of a shot [Pa]
	EndPress               // pressure at the end of the stroke [Pa]
	LogRate                // rate that the pressure-volume line of a log shows [N/m]
	LogBow                 // bow of that line: how far a parabola lifts its ends over it [Pa]
	Yield                  // mass in the cup at the end of the stroke [kg]
	ShotTime               // time from release to the end [s]
	LongFill               // peak after a fill twice as long, lever fully down [Pa]
	FreeLength             // free length of the spring [m]
	WireSize               // wire diameter where it is thinnest [m]
	Coils                  // active coils [-]
	BenchLoad              // load of the spring at a length, Observation.At [N]
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
