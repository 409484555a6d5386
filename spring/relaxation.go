package spring

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
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

func ageFault(name string, age float64) error {
	return quantity{name, age, "s"}.within(0, maxAge, ErrInput)
}

func t0Fault(t0 float64) error {
	return quantity{"time constant t0", t0, "s"}.within(1, 1e6, ErrInput)
}

// Validate returns every fault of the reference point.
func (r Relaxation) Validate() error {
	return errors.Join(
		t0Fault(r.T0),
		quantity{"reference time", r.RefTime, "s"}.within(1, maxAge, ErrInput),
		quantity{"reference loss", r.RefLoss, ""}.within(0, 1, ErrInput),
	)
}

// Loss returns the force lost at an age [s], over the force when new [-]. A law
// that would lose all of the force is past its meaning: ErrRange.
func (r Relaxation) Loss(age float64) (float64, error) {
	if err := errors.Join(r.Validate(), ageFault("age", age)); err != nil {
		return 0, err
	}
	loss := r.RefLoss * lgTime(age, r.T0) / lgTime(r.RefTime, r.T0)
	return loss, quantity{"loss of force", loss, ""}.within(0, 1, ErrRange)
}

// lgTime returns lg(1 + t/t0) [-].
func lgTime(t, t0 float64) float64 { return math.Log1p(t/t0) / math.Ln10 }

// Reading is a force found at an age.
type Reading struct {
	Age   float64 // t: age of the spring, as time held compressed [s]; 0 when new
	Force float64 // F: force at the same length each time [N]
}

// Readings are what a log-time law is fitted to.
type Readings struct {
	Points []Reading
	T0     float64 // t0: time constant that is assumed [s], such as DefaultT0
	U      float64 // u: standard uncertainty of a force [N]; 0 where unknown
}

// Decline is a log-time law through readings, F = F0 - b lg(1 + t/t0).
type Decline struct {
	Initial float64 // F0: force when new [N]
	Decade  float64 // b: force lost for each tenfold of 1 + t/t0 [N]
	Scatter float64 // s: residual standard deviation [N]; 0 for two readings
	Assumed bool    // two readings: the law is assumed, nothing checks it
	Doubts  []string

	t0  float64
	u   float64
	fit straight
}

// FitDecline fits the log-time law by least squares. Two readings at different
// ages determine it, and then the law is assumed; three or more also test it.
// The constant t0 is not fitted: readings years apart hardly depend on it.
func FitDecline(r Readings) (Decline, error) {
	x := make([]float64, len(r.Points))
	y := make([]float64, len(r.Points))
	faults := []error{t0Fault(r.T0), quantity{"uncertainty of a force", r.U, "N"}.within(0, 1e7, ErrInput)}
	for i, p := range r.Points {
		faults = append(faults, ageFault(fmt.Sprintf("reading %d: age", i+1), p.Age),
			quantity{fmt.Sprintf("reading %d: force", i+1), p.Force, "N"}.within(0, 1e7, ErrInput))
		x[i], y[i] = lgTime(p.Age, r.T0), p.Force
	}
	if err := errors.Join(faults...); err != nil {
		return Decline{}, err
	}
	if !differ(x) {
		return Decline{}, fmt.Errorf("%w: %d readings, want two or more at different ages", ErrInput, len(x))
	}
	fit := fitLine(x, y)
	d := Decline{
		Initial: fit.at(0),
		Decade:  -fit.slope,
		Scatter: fit.scatter,
		Assumed: len(x) == 2,
		t0:      r.T0,
		u:       r.U,
		fit:     fit,
	}
	d.Doubts = d.doubts()
	return d, nil
}

// differ reports whether x has values far enough apart to carry a line.
func differ(x []float64) bool {
	for _, v := range x {
		if math.Abs(v-x[0]) > 1e-6 {
			return true
		}
	}
	return false
}

func (d Decline) doubts() []string {
	var doubts []string
	if d.Assumed {
		doubts = append(doubts, "Two readings cannot test the log-time law: the forecast assumes it.")
	}
	if d.Decade < 0 {
		doubts = append(doubts, "The readings rise with age: this is not a relaxing spring.")
	}
	if d.Initial > 0 && d.Decade > 0.2*d.Initial {
		doubts = append(doubts, "The force falls by more than a fifth per decade of time: that is more than set does; look for a break, wear or friction.")
	}
	return doubts
}

// Band says what the interval of a forecast rests on.
type Band int

// The kinds of band.
const (
	NoBand      Band = iota // two readings of unknown uncertainty: no interval, Low = High = Value
	ReadingBand             // two readings: their stated uncertainty, normal distribution; the law is assumed
	FitBand                 // three or more: their scatter about the law, Student's t, n - 2 degrees of freedom
)

// Forecast is the force expected of a reading at a later age.
type Forecast struct {
	Force float64 // F: force [N]
	Low   float64 // lower end of the prediction interval [N]
	High  float64 // upper end of the prediction interval [N]
	Lost  float64 // force lost since new, over the force when new [-]
	Band  Band    // what the interval rests on
}

// Forecast returns the force at an age [s] with the prediction interval for one
// more reading at a confidence [-] such as 0.95,
//
//	F ± q s sqrt(1 + 1/n + (x - x̄)²/Sxx), x = lg(1 + t/t0)
//
// with q and s by Band. It does not know of a change of temperature, of wear or
// of a crack.
func (d Decline) Forecast(age, confidence float64) (Forecast, error) {
	if err := errors.Join(ageFault("age", age), confidenceFault(confidence)); err != nil {
		return Forecast{}, err
	}
	if !(d.Initial > 0) {
		return Forecast{}, fmt.Errorf("%w: the line gives a new force of %.6g N, want more than 0", ErrRange, d.Initial)
	}
	x := lgTime(age, d.t0)
	f := Forecast{Force: d.fit.at(x)}
	if !(f.Force >= 0) {
		return Forecast{}, fmt.Errorf("%w: the law leaves %.6g N at this age, want 0 or more", ErrRange, f.Force)
	}
	f.Lost = 1 - f.Force/d.Initial
	half := math.Sqrt(1 + d.fit.leverage(x))
	switch {
	case !d.Assumed:
		f.Band = FitBand
		half *= d.Scatter * twoSided(confidence, d.fit.n-2)
	case d.u > 0:
		f.Band = ReadingBand
		half *= d.u * distuv.UnitNormal.Quantile((1+confidence)/2)
	default:
		half = 0
	}
	f.Low, f.High = max(0, f.Force-half), f.Force+half
	return f, nil
}
