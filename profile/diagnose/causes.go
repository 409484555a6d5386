package diagnose

import (
	"errors"
	"fmt"
	"math"

	"springcalc/profile"
	"springcalc/spring"
)

// Cause is something that keeps the peak pressure down.
type Cause int

// The causes, each with the one size that says how bad it is.
const (
	Set        Cause = iota // the spring has become shorter; size: free length lost [m]
	ThinWire                // the wire has become thinner; size: share of the diameter lost [-]
	WrongCoils              // coils broken off (size above 0) or too many of them, a wrong spring (below 0); size: coils missing [-]
	SealDrag                // the seal drags; size: friction more than as new [N]
	AirInFill               // air in the chamber, a short fill; size: air at the fill pressure [m³]
	ShortCock               // the lever is not pulled down fully; size: travel missing [m]
	DryPuck                 // deep headspace that was not filled, or a dry puck; size: room that the water fills first [m³]
	GaugeLow                // the gauge reads low; size: share that it is low by [-]
	OpenPuck                // the puck is too open for the peak to build; size: share of the resistance that is missing [-]
	causes
)

var causeNames = [causes]string{
	"set of the spring", "thinner wire", "broken coil or wrong spring", "seal drag", "air or short fill",
	"lever not fully cocked", "deep headspace or dry puck", "gauge reads low", "puck too open",
}

func (c Cause) String() string {
	if c < 0 || c >= causes {
		return "unknown cause"
	}
	return causeNames[c]
}

// Causes returns all causes.
func Causes() []Cause {
	all := make([]Cause, causes)
	for i := range all {
		all[i] = Cause(i)
	}
	return all
}

// Machine is a machine as new.
type Machine struct {
	Setup    profile.Setup       // as new, springs too
	Spring   *spring.Compression // dimensions of Setup.Springs[0] as new; nil where they are not known
	Fresh    float64             // peak as read when new [Pa]; 0 for what the setup gives
	GaugeLag float64             // time constant of gauge or sensor [s]; 0 for 0.5 s
	Spread   Spread              // scatter of machines as new; UsualSpread() where nothing better is known
}

const usualLag = 0.5 // of a small dial gauge with snubber; a guess [s]

// Without dimensions a spring is taken for one of common proportions.
const (
	usualCoils = 7.0  // active coils [-]
	usualPitch = 1.15 // deflection to solid over deflection when cocked [-]
	usualWire  = 1.6  // pitch over the gap between coils [-]
)

// predicted is what the measurements would be.
type predicted struct {
	value [kinds]float64
	known [kinds]bool // false where the machine's description does not tell
	free  float64     // free length of the spring now [m]; 0 or less where it is not known
	rate  float64     // its rate now [N/m]
}

func (p *predicted) set(k Kind, v float64) { p.value[k], p.known[k] = v, true }

// scalePeak scales what the gauge shows of a peak.
func (p *predicted) scalePeak(by float64) {
	p.value[Peak] *= by
	p.value[LongFill] *= by
}

// of returns the prediction for a measurement.
func (p *predicted) of(m *Measured) (float64, bool) {
	if m.Kind == BenchLoad {
		return max(0, p.rate*(p.free-m.At)), p.free > 0 && m.At > 0
	}
	return p.value[m.Kind], p.known[m.Kind]
}

// errNoShot marks a size at which the machine gives no shot.
var errNoShot = errors.New("no shot")

// predict works out the measurements of a machine with one cause of one size.
func (m *Machine) predict(c Cause, size float64) (*predicted, error) {
	s, p := m.Setup, &predicted{}
	s.Springs = append([]spring.Linear(nil), s.Springs...)
	coils, pitch := usualCoils, m.cockedDeflection()*usualPitch/usualCoils*usualWire
	wire := 0.0
	if m.Spring != nil {
		coils, pitch, wire, p.free = m.Spring.Active, m.Spring.Pitch(), m.Spring.Wire, m.Spring.Free
	}
	scale, travel := 1.0, s.Cylinder.Stroke
	headspace := s.Chamber.Headspace

	switch c {
	case Set:
		for i := range s.Springs {
			s.Springs[i].Preload -= s.Springs[i].Rate * size
		}
		p.free -= size
	case ThinWire:
		softer := math.Pow(1-size, 4)
		for i := range s.Springs {
			s.Springs[i].Preload *= softer
			s.Springs[i].Rate *= softer
		}
		wire *= 1 - size
	case WrongCoils:
		s.Springs[0] = otherCoils(s.Springs[0], coils, pitch, size)
		coils -= size
		p.free -= max(0, size) * pitch
	case SealDrag:
		s.Cylinder.Seal.Constant += size
	case AirInFill:
		s.Chamber.Air += size
	case ShortCock:
		travel -= size
		s.Cylinder.Stroke -= size
		s.Cylinder.Port = max(0, s.Cylinder.Port-size)
	case DryPuck:
		s.Cylinder.Port += size / s.Cylinder.Area() // nothing resists until the room is full
		headspace += size
	case GaugeLow:
		scale -= size
	case OpenPuck:
		s.Coffee.Resistance *= 1 - size
	}

	shot, err := profile.Summarize(&s)
	if err != nil || !(shot.Peak > 0) || !(shot.End > 0) || shot.Outcome == profile.Choked || shot.Outcome == profile.AirTookAll {
		return nil, errNoShot
	}
	p.rate = s.Springs[0].Rate
	peak := shot.Peak * lag(m.lag(), shot.TimeConstant) * scale
	p.set(Peak, peak)
	p.set(EndPress, shot.End*scale)
	p.set(LogRate, logRate(&s, &shot)*scale)
	p.set(LogBow, airBow(&s, &shot)*scale)
	p.set(Yield, shot.Yield)
	p.set(ShotTime, shot.Spring)
	if c != AirInFill && c != DryPuck { // those a long fill puts right
		p.set(LongFill, peak)
	}
	p.set(BenchRate, p.rate)
	p.set(Drag, 2*s.Cylinder.Seal.Constant)
	p.set(Gauge, scale)
	p.set(Travel, travel)
	p.set(Headspace, headspace/s.Basket.Area())
	if m.Spring != nil {
		p.set(FreeLength, p.free)
		p.set(WireSize, wire)
		p.set(Coils, coils)
	}
	return p, nil
}

// otherCoils returns a spring with fewer coils, which is stiffer and shorter,
// or with more of them in the same length.
func otherCoils(l spring.Linear, coils, pitch, missing float64) spring.Linear {
	deflection := l.Preload / l.Rate
	rate := l.Rate * coils / (coils - missing)
	return spring.Linear{Rate: rate, Preload: rate * (deflection - max(0, missing)*pitch)}
}

// logRate returns the rate that ReadLine reads off a shot with the setup as
// new: air that it does not know of bends the line a little.
func logRate(s *profile.Setup, shot *profile.Summary) float64 {
	if s.Chamber.Air == 0 {
		return rateOf(s)
	}
	swept := s.Cylinder.Area()*(s.Cylinder.Stroke-s.Cylinder.Port) - s.Chamber.Air + airLeft(s, s.Chamber.Air, shot.End)
	return (shot.Peak - shot.End) / swept * s.Cylinder.Area() * (s.Cylinder.Area() + s.Cylinder.Seal.PerPa)
}

// airBow returns the bow that air gives the line: pressure half way down is at
// half the travel, but not at half of the water.
func airBow(s *profile.Setup, shot *profile.Summary) float64 {
	if s.Chamber.Air == 0 {
		return 0
	}
	area, rate := s.Cylinder.Area(), rateOf(s)
	mid := (shot.Peak + shot.End) / 2
	left := func(p float64) float64 { return airLeft(s, s.Chamber.Air, p) }
	start, end := left(shot.Peak), left(shot.End)
	travel := (shot.Peak - shot.End) * (area + s.Cylinder.Seal.PerPa) / rate
	whole := area*travel + end - start
	half := area*travel/2 + left(mid) - start
	chord := shot.Peak - (shot.Peak-shot.End)*half/whole
	return -(mid - chord) / 1.5
}

// lag returns the share of a peak that a gauge with a time constant [s] shows,
// while the pressure falls with another [s]: r^(r/(1-r)), r their ratio.
func lag(gauge, fall float64) float64 {
	r := gauge / fall
	if !(fall > 0) || r == 0 {
		return 1
	}
	if math.Abs(r-1) < 1e-6 {
		return 1 / math.E
	}
	return math.Pow(r, r/(1-r))
}

func (m *Machine) lag() float64 {
	if m.GaugeLag > 0 {
		return m.GaugeLag
	}
	return usualLag
}

// cockedDeflection returns the deflection of the first spring when cocked [m].
func (m *Machine) cockedDeflection() float64 {
	l := m.Setup.Springs[0]
	return l.Preload/l.Rate + m.Setup.Cylinder.Stroke
}

// Validate reports what keeps a machine from being diagnosed.
func (m *Machine) Validate() error {
	faults := []error{m.Setup.Validate()}
	if m.Spring != nil {
		faults = append(faults, m.Spring.Validate())
	}
	for i, l := range m.Setup.Springs {
		if !(l.Rate > 0) {
			faults = append(faults, fmt.Errorf("%w: rate of spring %d is %g N/m, want more than 0", ErrInput, i+1, l.Rate))
		}
	}
	faults = append(faults, notNegative("Machine.Fresh", m.Fresh, "Pa"), notNegative("Machine.GaugeLag", m.GaugeLag, "s"))
	for k, v := range m.Spread {
		if !(v.Share >= 0 && v.Fixed >= 0) || math.IsInf(v.Share+v.Fixed, 1) {
			faults = append(faults, fmt.Errorf("%w: spread of the %v is %g and %g, want 0 or more", ErrInput, Kind(k), v.Share, v.Fixed))
		}
	}
	return errors.Join(faults...)
}
