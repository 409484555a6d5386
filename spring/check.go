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
	return q.name + " is " + q.at(q.value)
}

// at is another value of its kind, to be printed with the unit.
func (q quantity) at(value float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.6g %s", value, q.unit), " ")
}

// within returns an error that wraps why unless lo <= value <= hi; NaN fails.
func (q quantity) within(lo, hi float64, why error) error {
	if q.value >= lo && q.value <= hi {
		return nil
	}
	return fmt.Errorf("%w: %v, want %v to %v", why, q, q.at(lo), q.at(hi))
}

// above returns an error unless the value is above the other one; NaN fails.
func (q quantity) above(low quantity) error {
	if q.value > low.value {
		return nil
	}
	return fmt.Errorf("%w: %v, want more than the %s of %s", ErrInput, q, low.name, low.at(low.value))
}
