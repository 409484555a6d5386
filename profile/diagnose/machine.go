package diagnose

import (
	"errors"
	"fmt"

	"springcalc/profile"
	"springcalc/spring"
)

// ErrInput marks input that cannot be used. It is wrapped with what is wrong.
var ErrInput = errors.New("diagnose: impossible input")

// Machine is a machine as new.
type Machine struct {
	Setup    profile.Setup       // as new, springs too
	Spring   *spring.Compression // dimensions of Setup.Springs[0] as new; nil where they are not known
	GaugeLag float64             // time constant of gauge or sensor [s]; 0 for 0.5 s
}

const usualLag = 0.5 // of a small dial gauge with snubber; a guess [s]

// Without dimensions a spring is taken for one of common proportions: judgement.
const (
	usualCoils = 7.0  // active coils [-]
	usualPitch = 1.15 // deflection to solid over deflection when cocked [-]
	usualWire  = 1.6  // pitch over the gap between coils [-]
)

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
	if !(m.GaugeLag >= 0) {
		faults = append(faults, fmt.Errorf("%w: lag of the gauge is %g s, want 0 or more", ErrInput, m.GaugeLag))
	}
	return errors.Join(faults...)
}

// rateOf returns the rate of all springs together [N/m].
func rateOf(s *profile.Setup) float64 {
	k := 0.0
	for _, sp := range s.Springs {
		k += sp.Rate
	}
	return k
}
