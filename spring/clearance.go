package spring

// Duty is how often a spring is loaded, for the gap its coils must keep.
type Duty int

// The duties of [EN 13906]: static up to some 10 000 cycles in a life.
const (
	Static Duty = iota + 1
	Dynamic
)

var dutyNames = []string{"static", "dynamic"}

func (d Duty) String() string               { return nameOf("Duty", dutyNames, d) }
func (d Duty) MarshalText() ([]byte, error) { return []byte(d.String()), known("duty", dutyNames, d) }
func (d *Duty) UnmarshalText(text []byte) (err error) {
	*d, err = named[Duty]("duty", dutyNames, text)
	return err
}

// Clearance is the room left between the coils at a length.
type Clearance struct {
	Gap      float64  // L - Ls: sum of the gaps [m]
	Required float64  // S_a: least sum of the gaps by EN 13906-1 [m]
	Shortest float64  // Ln = Ls + S_a: shortest length by EN 13906-1 [m]
	Clash    float64  // ξ: clash allowance of [Shigley], travel left to solid over travel used, Fs/F - 1 [-]; 0 where the spring is loose
	Doubts   []string // whether it is too little
}

// Clearance returns the room between the coils at a length [m]. By [EN 13906]
// 9.9, from memory, the sum of the gaps must not fall below
//
//	S_a = n_a (0.0015 D²/d + 0.1 d)    cold coiled; 1.5 times that for dynamic duty
//	S_a = 0.02 n_a (D + d)             hot coiled; twice that for dynamic duty
//
// because no spring is perfectly even, and its coils would touch before solid.
// The clash allowance ξ is a share of the travel used, not of the whole: it is over
// 1 for a spring that uses less than half. At least 0.15 is asked by [Shigley] eq. 10-20.
func (s Compression) Clearance(length float64, duty Duty) (Clearance, error) {
	if err := known("duty", dutyNames, duty); err != nil {
		return Clearance{}, err
	}
	if err := s.notSolid(length); err != nil {
		return Clearance{}, err
	}
	sa, dynamic := s.Active*(0.0015*s.Mean*s.Mean/s.Wire+0.1*s.Wire), 1.5
	if s.Convention == ENHot {
		sa, dynamic = 0.02*s.Active*(s.Mean+s.Wire), 2
	}
	if duty == Dynamic {
		sa *= dynamic
	}
	solid := s.SolidLength()
	c := Clearance{Gap: length - solid, Required: sa, Shortest: solid + sa}
	if length < s.Free {
		c.Clash = c.Gap / (s.Free - length)
	}
	if c.Gap < c.Required {
		c.Doubts = append(c.Doubts, "The coils come closer than EN 13906-1 (from memory) allows: some may touch, and the force then rises faster than the rate says.")
	}
	if length < s.Free && c.Clash < 0.15 {
		c.Doubts = append(c.Doubts, "The clash allowance, travel left to solid over travel used, is under the 15 % that Shigley asks for.")
	}
	return c, nil
}
