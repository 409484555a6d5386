package course

import (
	"errors"
	"math"
)

// Side is a value on one of two dates with what was its own that day.
type Side struct {
	Value float64 // [unit of the value]
	U     float64 // standard uncertainty of its own, without what was common [unit of the value]
}

// Common is what both dates share: the same gauge, the same bore.
type Common struct {
	Gain float64 // standard uncertainty of a factor, such as gain of the gauge or area of the bore [-]
	Zero float64 // standard uncertainty of an offset, such as the zero of the gauge [unit of the value]
}

// Difference is after less before.
type Difference struct {
	Change    Estimate // with what was common cancelled [unit of the value]
	U         float64  // its standard uncertainty [unit of the value]
	Separate  float64  // standard uncertainty as if nothing were common [unit of the value]
	Ratio     float64  // after over before [-]; the gain cancels in it
	RatioU    float64  // standard uncertainty of the ratio, zero included [-]
	Different bool     // the 95 % interval of the change does not hold 0
}

// Compare returns what changed between two dates. To first order
//
//	u²(Δ) = u_a² + u_b² + (u_gain Δ)²
//
// the zero cancels whole, the gain but for its share of the change.
func Compare(before, after Side, common Common) (Difference, error) {
	if err := errors.Join(
		bounded("value before", before.Value, 1e-9, 1e12, "in its unit"), bounded("U before", before.U, 0, 1e12, "in its unit"),
		bounded("value after", after.Value, 1e-9, 1e12, "in its unit"), bounded("U after", after.U, 0, 1e12, "in its unit"),
		bounded("common gain", common.Gain, 0, 1, ""), bounded("common zero", common.Zero, 0, 1e12, "in the unit of the value"),
	); err != nil {
		return Difference{}, err
	}
	d := after.Value - before.Value
	own := math.Hypot(before.U, after.U)
	u := math.Hypot(own, common.Gain*d)
	r := after.Value / before.Value
	half := 1.959963985 * u
	return Difference{
		Change:    Estimate{d, d - half, d + half},
		U:         u,
		Separate:  math.Hypot(own, math.Hypot(common.Gain*math.Hypot(before.Value, after.Value), math.Sqrt2*common.Zero)),
		Ratio:     r,
		RatioU:    math.Hypot(math.Hypot(after.U, r*before.U), (1-r)*common.Zero) / before.Value,
		Different: math.Abs(d) > half,
	}, nil
}
