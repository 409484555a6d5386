package piston

import (
	"errors"
	"fmt"
	"strings"
)

var (
	// ErrValue reports a value that no lever machine can have.
	ErrValue = errors.New("piston: impossible value")
	// ErrRange reports a place that the linkage or the method does not reach.
	ErrRange = errors.New("piston: out of range")
)

// Limits that no lever machine comes near. They keep every result finite.
const (
	minLength = 1e-6 // [m]
	maxLength = 10   // [m]
	maxForce  = 1e7  // [N]
	maxGauge  = 1e8  // [Pa]
	maxVolume = 1    // [m³]
)

// between returns an error unless lo <= v <= hi.
func between(name string, v, lo, hi float64, unit string) error {
	if !(v >= lo && v <= hi) { // also catches NaN
		unit = strings.TrimSuffix(" "+unit, " [-]")
		return fmt.Errorf("%w: %s %.4g%s, want from %.4g%s to %.4g%s", ErrValue, name, v, unit, lo, unit, hi, unit)
	}
	return nil
}

// length checks a length that must be there.
func length(name string, v float64) error { return between(name, v, minLength, maxLength, "m") }
