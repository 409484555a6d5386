package uncertain

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/floats/scalar"
)

// Rounded is a result with the digits that its uncertainty allows.
type Rounded struct {
	Value    float64 // y [y]
	Std      float64 // u(y), two significant digits [y]
	Decimals int     // digits after the point of both [-]; -2 for whole hundreds
}

// Round rounds u to two significant digits and the value to the same place
// ([GUM] 7.2.6). It reports false, and rounds nothing, where u gives no digits:
// 0 or not a finite number. Convert to the unit of the reader first.
func Round(value, u float64) (Rounded, bool) {
	if !(u > 0) || !finite(u) || !finite(value) {
		return Rounded{Value: value, Std: u}, false
	}
	decimals := 1 - exponent(u, 2)
	return Rounded{RoundTo(value, decimals), RoundTo(u, decimals), decimals}, true
}

// RoundTo rounds to so many digits after the point, -2 for whole hundreds; a tie
// goes away from zero. It serves the ends of an interval, with the Decimals of
// its Rounded.
func RoundTo(v float64, decimals int) float64 { return scalar.Round(v, decimals) }

// Printed asks a run for the digits that Decimals leaves.
const Printed = -1

// Decimals returns how many digits after the point an uncertainty u leaves worth
// printing, -2 for whole hundreds: two significant digits of u where they are 10
// to 29, else one. Rounding then moves what is printed by u/5.9 at most. It is
// coarser than Round, for readers who are not metrologists. u must be above 0.
func Decimals(u float64) int {
	two := exponent(u, 2)
	if leading := RoundTo(u*math.Pow10(1-two), 0); leading < 30 {
		return 1 - two
	}
	return -two
}

// exponent is the power of ten of the first digit of u, after rounding to so
// many significant digits [-].
func exponent(u float64, digits int) int {
	_, e, _ := strings.Cut(strconv.FormatFloat(u, 'e', digits-1, 64), "e")
	n, err := strconv.Atoi(e)
	if err != nil { // FormatFloat always writes an exponent
		panic(err)
	}
	return n
}
