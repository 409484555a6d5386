package spring

import (
	"errors"
	"math"
)

// DefaultT0 is the time constant t0 of the log-time law where nothing better is
// known [s]: 0.1 h, with which ten years lose 2.22 times what 48 hours do.
const DefaultT0 = 360.0

// Relaxation is the loss of force of a spring that is held compressed, at one
// temperature and stress, logarithmic in time:
//
//	r(t) = r_ref lg(1 + t/t0) / lg(1 + t_ref/t0)
//
// It is the textbook form of logarithmic creep (common practice). The rate stays
// as it was: the spring gets shorter, not softer.
type Relaxation struct {
	T0      float64 // t0: time constant [s], such as DefaultT0
	RefTime float64 // t_ref: age of the reference point [s]
	RefLoss float64 // r_ref: force lost by then, over the force when new [-]
}

// maxAge bounds ages [s]: 500 years.
const maxAge = 500 * 365.25 * 86400

// Validate returns every fault of the reference point.
func (r Relaxation) Validate() error {
	return errors.Join(
		quantity{"time constant t0", r.T0, "s"}.within(1, 1e6, ErrInput),
		quantity{"reference time", r.RefTime, "s"}.within(1, maxAge, ErrInput),
		quantity{"reference loss", r.RefLoss, ""}.within(0, 1, ErrInput),
	)
}

// Loss returns the force lost at an age [s], over the force when new [-]. A law
// that would lose all of the force is past its meaning: ErrRange.
func (r Relaxation) Loss(age float64) (float64, error) {
	if err := errors.Join(r.Validate(), quantity{"age", age, "s"}.within(0, maxAge, ErrInput)); err != nil {
		return 0, err
	}
	loss := r.RefLoss * lgTime(age, r.T0) / lgTime(r.RefTime, r.T0)
	return loss, quantity{"loss of force", loss, ""}.within(0, 1, ErrRange)
}

// lgTime returns lg(1 + t/t0) [-].
func lgTime(t, t0 float64) float64 { return math.Log1p(t/t0) / math.Ln10 }
