package uncertain

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ErrInput reports an input, a correlation or an option that cannot be used.
var ErrInput = errors.New("uncertain: unusable input")

// Shape is the distribution that an input is thought to follow.
type Shape int

// The shapes. All but Lognormal are symmetric about the value.
const (
	Normal     Shape = iota // bell; Student's t in a Monte Carlo run if Freedom is finite (the other shapes leave it aside there)
	Uniform                 // anything within limits is equally likely: a tolerance, a resolution, a class
	Triangular              // within limits, the middle most likely
	Lognormal               // never negative, known to within a factor: a permeability
	Arcsine                 // a quantity that swings as a sine between limits: a thermostat
)

var shapeNames = [...]string{"normal", "uniform", "triangular", "lognormal", "arcsine"}

// String returns the name of the shape.
func (s Shape) String() string {
	if !s.known() {
		return fmt.Sprintf("shape %d", int(s))
	}
	return shapeNames[s]
}

func (s Shape) known() bool { return s >= 0 && int(s) < len(shapeNames) }

// limitFactor is the distance from the middle to the limit of a bounded shape,
// in standard deviations [-] ([GUM] 4.3.7 and 4.3.9; [MC] 6.4.6). Shapes without
// limits have none: 0.
func (s Shape) limitFactor() float64 {
	switch s {
	case Uniform:
		return math.Sqrt(3)
	case Triangular:
		return math.Sqrt(6)
	case Arcsine:
		return math.Sqrt2
	}
	return 0
}

// Input is one quantity that a calculation starts from, and how well it is known.
type Input struct {
	Name    string
	Value   float64 // x: best estimate [x]: the mean, for Lognormal the median
	Std     float64 // u(x): standard uncertainty, the standard deviation of the shape [x]; 0 for exact
	Shape   Shape
	Freedom float64 // ν: degrees of freedom of Std [-]; 0 for infinite
	Low     float64 // low limit of a lopsided Triangular [x]; with High 0 for one that is symmetric about Value
	High    float64 // high limit of a lopsided Triangular [x]

	fault string // what a constructor could not use; Validate reports it
}

// normal95 is the half-width of a 95 % interval of the normal distribution, in
// standard deviations [-].
var normal95 = distuv.UnitNormal.Quantile(0.975)

// HalfWidth95 is a normal input stated as value ± half, where the interval is
// meant to hold the truth in 95 of 100 cases:
//
//	u = half / 1.960        [GUM] 4.3.4
func HalfWidth95(name string, value, half float64) Input {
	return Input{Name: name, Value: value, Std: half / normal95}
}

// Tolerance is an input stated as value ± half, where the truth cannot lie
// outside. The shape is Uniform, Triangular or Arcsine:
//
//	u = half/√3, half/√6 or half/√2        [GUM] 4.3.7, 4.3.9, [MC] 6.4.6
func Tolerance(name string, value, half float64, shape Shape) Input {
	in := Input{Name: name, Value: value, Std: half / shape.limitFactor(), Shape: shape}
	if shape.limitFactor() == 0 {
		in.fault = fmt.Sprintf("%v has no limits; want uniform, triangular or arcsine", shape)
	}
	return in
}

// Limits is an input that cannot lie outside low..high; its value is the middle.
// The shape is Uniform, Triangular or Arcsine.
func Limits(name string, low, high float64, shape Shape) Input {
	in := Tolerance(name, (low+high)/2, (high-low)/2, shape)
	if !(low <= high) {
		in.fault = fmt.Sprintf("limits from %g to %g; want the lower first", low, high)
	}
	return in
}

// Triangle is a triangular input within low..high with its peak anywhere between,
// even at a limit: a friction of which only is known that it is not negative,
// and likelier small than large. Its value is the mean:
//
//	x = (low + mode + high)/3,  u² = (low² + mode² + high² - low·mode - low·high - mode·high)/18
func Triangle(name string, low, mode, high float64) Input {
	a, c := low-mode, high-mode // counted from the mode, so that no digits are lost
	in := Input{Name: name, Value: mode + (a+c)/3, Std: math.Sqrt((a*a + c*c - a*c) / 18), Shape: Triangular, Low: low, High: high}
	if !(low <= mode && mode <= high) {
		in.fault = fmt.Sprintf("peak %g in limits from %g to %g; want low, peak and high in order", mode, low, high)
	}
	return in
}

// lopsided says whether a triangular input has limits of its own.
func (in Input) lopsided() bool { return in.Low != 0 || in.High != 0 }

// mode is the peak of a lopsided triangular input.
func (in Input) mode() float64 { return 3*in.Value - in.Low - in.High }

// PlausibleRange is a lognormal input that lies in low..high in 95 of 100 cases:
//
//	median = √(low·high),  σ = ln(high/low) / (2·1.960)
//
// where σ is the standard deviation of ln x [-].
func PlausibleRange(name string, low, high float64) Input {
	in := Input{Name: name, Shape: Lognormal}
	if !(low > 0 && high >= low) {
		in.fault = fmt.Sprintf("range from %g to %g; want both above 0 and the lower first", low, high)
		return in
	}
	sigma := math.Log(high/low) / (2 * normal95)
	in.Value = math.Sqrt(low) * math.Sqrt(high)
	in.Std = in.Value * math.Sqrt(math.Exp(sigma*sigma)*math.Expm1(sigma*sigma))
	return in
}

// Validate returns all faults of the input.
func (in Input) Validate() error {
	var errs []error
	fail := func(format string, a ...any) {
		errs = append(errs, fmt.Errorf("%w: %s: %s", ErrInput, in.Name, fmt.Sprintf(format, a...)))
	}
	if in.Name == "" {
		fail("an input without a name")
	}
	if in.fault != "" {
		fail("%s", in.fault)
		return errors.Join(errs...)
	}
	if !finite(in.Value) {
		fail("value %g; want a finite number", in.Value)
	}
	if !(in.Std >= 0) || math.IsInf(in.Std, 0) {
		fail("standard uncertainty %g; want a finite number, 0 or more", in.Std)
	}
	if !in.Shape.known() {
		fail("%v is unknown", in.Shape)
	}
	if in.Shape == Lognormal && !(in.Value > 0) {
		fail("value %g; a lognormal quantity is above 0", in.Value)
	}
	if in.lopsided() {
		slack := 1e-9 * (in.High - in.Low)
		if in.Shape != Triangular {
			fail("%v with limits of its own; only a triangular quantity has them", in.Shape)
		} else if m := in.mode(); !(m >= in.Low-slack && m <= in.High+slack) {
			fail("value %g in limits from %g to %g; no triangle has its mean there", in.Value, in.Low, in.High)
		}
	}
	if in.Freedom != 0 && !(in.Freedom >= 1) || math.IsInf(in.Freedom, 0) {
		fail("%g degrees of freedom; want 1 or more, 0 for infinite", in.Freedom)
	}
	return errors.Join(errs...)
}

// logSigma is σ, the standard deviation of ln x of a lognormal input [-]. With
// w = exp σ², the variance is median²·w·(w-1), a quadratic in w.
func (in Input) logSigma() float64 {
	rel := in.Std / in.Value
	excess := 2 * rel * rel / (1 + math.Sqrt(1+4*rel*rel)) // w - 1, without loss of digits
	return math.Sqrt(math.Log1p(excess))
}

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }
