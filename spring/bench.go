package spring

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Point is a reading on the bench: the load at a length.
type Point struct {
	Length float64 // L: length of the spring [m]
	Load   float64 // F: load [N]
}

// Bench is a spring as its readings know it. Standard errors are zero where
// there are too few readings to tell; Doubts then says so.
type Bench struct {
	Rate   float64 // R: spring rate [N/m]
	RateSE float64 // standard error of Rate [N/m]
	Free   float64 // L0: length at which the line meets zero load [m]
	FreeSE float64 // standard error of Free [m]
	Cov    float64 // covariance of Rate and Free [N]

	Readings int     // number of readings [-]
	Scatter  float64 // s: residual standard deviation of the loads [N]
	Outlier  float64 // distance from the line of the reading farthest off it, where it is over 2 % of the highest load, which is too much; else 0 [N]
	Doubts   []string

	fit straight
}

// Estimate is a value with a standard error and an interval.
type Estimate struct {
	Value float64 // the value [its own unit]
	SE    float64 // standard error [same unit]; 0 where it cannot be told
	Low   float64 // lower end of the interval [same unit]
	High  float64 // upper end of the interval [same unit]
}

// FitBench fits a straight line of load against length by least squares, to
// readings by scale or press in any order, pressing or releasing:
//
//	F = R (L0 - L)
//
// It takes the lengths as exact: where lengths are the poorer reading, the rate
// comes out low by the share of the scatter. Read between about 30 and 70 % of
// the travel, where neither the end coils nor nearly touching ones bend the
// line. Two different lengths are the least; standard errors need three readings.
func FitBench(points []Point) (Bench, error) {
	lengths := make([]float64, len(points))
	loads := make([]float64, len(points))
	var faults []error
	for i, p := range points {
		lengths[i], loads[i] = p.Length, p.Load
		faults = append(faults,
			quantity{fmt.Sprintf("reading %d: length", i+1), p.Length, "m"}.within(1e-5, 10, ErrInput),
			quantity{fmt.Sprintf("reading %d: load", i+1), p.Load, "N"}.within(0, 1e7, ErrInput))
	}
	if err := errors.Join(faults...); err != nil {
		return Bench{}, err
	}
	if len(points) < 2 || slices.Max(lengths)-slices.Min(lengths) < 1e-6 {
		return Bench{}, fmt.Errorf("%w: %d readings, want two or more at different lengths", ErrInput, len(points))
	}
	fit := fitLine(lengths, loads)
	if !(fit.slope < 0) {
		return Bench{}, fmt.Errorf("%w: the load rises with the length by %.6g N/m: these may be deflections, want lengths", ErrInput, fit.slope)
	}
	rate := -fit.slope
	reach := fit.yMean / rate // from the mean length to the free length
	if err := (quantity{"free length by the readings", fit.xMean + reach, "m"}).within(0, 10, ErrRange); err != nil {
		return Bench{}, err
	}
	varRate := fit.slopeSE() * fit.slopeSE()
	b := Bench{
		Rate:     rate,
		RateSE:   fit.slopeSE(),
		Free:     fit.xMean + reach,
		FreeSE:   fit.scatter / rate * math.Sqrt(fit.leverage(fit.xMean+reach)),
		Cov:      -reach / rate * varRate,
		Readings: len(points),
		Scatter:  fit.scatter,
		fit:      fit,
	}
	if b.fit.worst > 0.02*slices.Max(loads) {
		b.Outlier = b.fit.worst
	}
	b.Doubts = b.doubts()
	return b, nil
}

func (b Bench) doubts() []string {
	var doubts []string
	if b.Readings == 2 {
		doubts = append(doubts, "Two readings make a line but cannot show how good it is: take three or more.")
	}
	if b.Outlier > 0 {
		doubts = append(doubts, fmt.Sprintf("A reading lies %.3g N off the line, over 2 %% of the highest load: misread, an end coil closing, coils touching, or friction.", b.Outlier))
	}
	return doubts
}

// Preload returns the load at a length [m], with the interval for the true line
// at a confidence [-] such as 0.95, Student's t with n - 2 degrees of freedom.
// A loose spring has a negative preload. With two readings SE is zero and the
// interval has no width.
func (b Bench) Preload(length, confidence float64) (Estimate, error) {
	if err := errors.Join(
		quantity{"length", length, "m"}.within(0, 10, ErrInput),
		confidenceFault(confidence),
	); err != nil {
		return Estimate{}, err
	}
	return b.estimate(b.fit.at(length), b.Scatter*math.Sqrt(b.fit.leverage(length)), confidence), nil
}

// RateInterval returns the rate [N/m] with its interval, as Preload does.
func (b Bench) RateInterval(confidence float64) (Estimate, error) {
	if err := confidenceFault(confidence); err != nil {
		return Estimate{}, err
	}
	return b.estimate(b.Rate, b.RateSE, confidence), nil
}

// FreeInterval returns the free length [m] with its interval, as Preload does. It
// is to first order: good where the interval is short beside the deflections read.
func (b Bench) FreeInterval(confidence float64) (Estimate, error) {
	if err := confidenceFault(confidence); err != nil {
		return Estimate{}, err
	}
	return b.estimate(b.Free, b.FreeSE, confidence), nil
}

func (b Bench) estimate(value, se, confidence float64) Estimate {
	e := Estimate{Value: value, SE: se, Low: value, High: value}
	if b.Readings > 2 {
		half := twoSided(confidence, b.Readings-2) * se
		e.Low, e.High = value-half, value+half
	}
	return e
}
