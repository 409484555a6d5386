package logged

import (
	"math"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

const coverage = 0.95 // of every interval [-]

// twoSided is the half width of such an interval in standard uncertainties [-].
var twoSided = distuv.UnitNormal.Quantile((1 + coverage) / 2)

// Estimate is a value with its 95 % interval, in the unit of the value.
type Estimate struct {
	Value float64 // best estimate [unit of the value]
	Low   float64 // low end of the 95 % interval [unit of the value]
	High  float64 // high end [unit of the value]
}

// U returns the standard uncertainty that the interval amounts to.
func (e Estimate) U() float64 { return (e.High - e.Low) / (2 * twoSided) }

// Holds reports whether a value lies within the interval.
func (e Estimate) Holds(value float64) bool { return e.Low <= value && value <= e.High }

// Around returns the estimate of a value with a standard uncertainty, both in
// the unit of the value.
func Around(value, u float64) Estimate {
	return Estimate{value, value - twoSided*u, value + twoSided*u}
}

// Reading is an estimate from a log. What its own rows scatter by is one part
// of its uncertainty; the rest, bore, seals, gauge and what the coffee keeps, is
// common to all logs of a machine.
type Reading struct {
	Estimate
	Own float64 // standard uncertainty by the log's own rows [unit of the value]
}

// Together returns what the logs of one machine say together: the mean of the
// readings, with
//
//	u² = mean(u_i² - own_i²) + max(mean(own_i²), s²)/n
//
// where s is the standard deviation among the readings. More logs do away with
// what is each log's own, never with what they have in common. It panics for
// no readings. Leave out what Distinct leaves out: one shot logged twice is one.
func Together(readings []Reading) Reading {
	if len(readings) == 0 {
		panic("logged: nothing to take together")
	}
	if len(readings) == 1 {
		return readings[0]
	}
	values := make([]float64, len(readings))
	var own, common float64
	n := float64(len(readings))
	for i, r := range readings {
		values[i] = r.Value
		own += r.Own * r.Own / n
		common += max(0, r.U()*r.U()-r.Own*r.Own) / n
	}
	mean, among := stat.MeanVariance(values, nil)
	own = max(own, among) / n
	return Reading{Around(mean, math.Sqrt(common+own)), math.Sqrt(own)}
}

func hypot(v ...float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x * x
	}
	return math.Sqrt(sum)
}
