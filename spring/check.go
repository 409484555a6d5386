package spring

import (
	"errors"
	"fmt"
	"strings"
)

var (
	// ErrInput reports a value that no spring, reading or service can have.
	ErrInput = errors.New("spring: impossible input")
	// ErrSolid reports a length below the solid length.
	ErrSolid = errors.New("spring: compressed past solid")
	// ErrRange reports a value outside what the source of a formula covers.
	ErrRange = errors.New("spring: outside the range of the source")
)

// quantity is a named value with its unit, as an error message needs it.
type quantity struct {
	name  string
	value float64
	unit  string
}

func (q quantity) String() string {
	if q.unit == "" {
		return fmt.Sprintf("%s is %.6g", q.name, q.value)
	}
	return fmt.Sprintf("%s is %.6g %s", q.name, q.value, q.unit)
}

// within returns an error that wraps why unless lo <= value <= hi; NaN fails.
func (q quantity) within(lo, hi float64, why error) error {
	if q.value >= lo && q.value <= hi {
		return nil
	}
	unit := strings.TrimRight(" "+q.unit, " ")
	return fmt.Errorf("%w: %v, want %g%s to %g%s", why, q, lo, unit, hi, unit)
}

// above returns an error unless the value is above the other one; NaN fails.
func (q quantity) above(low quantity) error {
	if q.value > low.value {
		return nil
	}
	return fmt.Errorf("%w: %v, want more than the %s of %.6g %s", ErrInput, q, low.name, low.value, low.unit)
}
