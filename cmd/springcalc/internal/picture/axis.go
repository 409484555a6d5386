package picture

import (
	"math"
	"strconv"
)

// Axis is a range in round steps.
type Axis struct {
	Low, High, Step float64 // [unit of the values]
	Steps           int
}

// AxisOver returns the axis over all values, and over zero where that is wanted,
// with at most most steps; its end is the round number next to the data.
func AxisOver(values []float64, most int, zero bool) Axis {
	low, high := values[0], values[0]
	for _, v := range values {
		low, high = min(low, v), max(high, v)
	}
	if zero {
		low, high = min(low, 0), max(high, 0)
	}
	if high-low < 1e-9*max(1, math.Abs(high)) { // nothing that could be read off
		high = low + 1
	}
	step := math.Pow(10, math.Floor(math.Log10((high-low)/float64(most))))
	for _, factor := range []float64{1, 2, 5, 10, 20} {
		a := Axis{Step: factor * step}
		from, to := math.Floor(low/a.Step+1e-9), math.Ceil(high/a.Step-1e-9)
		a.Low, a.High, a.Steps = from*a.Step, to*a.Step, int(to-from)
		if a.Steps <= most && a.Steps > 0 {
			return a
		}
	}
	return Axis{low, high, high - low, 1}
}

// Digits are those after the point that the steps of an axis need.
func (a Axis) Digits() int { return max(0, int(math.Ceil(-math.Log10(a.Step)-1e-9))) }

// Label prints a number of the axis.
func (a Axis) Label(v float64) string {
	return strconv.FormatFloat(math.Round(v/a.Step)*a.Step+0, 'f', a.Digits(), 64)
}
