package uncertain

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/floats/scalar"
)

// Printed asks a run for the digits that Decimals leaves.
const Printed = -1

// Decimals returns how many digits after the point an uncertainty u leaves worth
// printing, -2 for whole hundreds: two significant digits of u where they are 10
// to 29, else one. Rounding then moves what is printed by u/5.9 at most: coarser
// than [GUM] 7.2.6, for readers who are not metrologists. u must be above 0.
func Decimals(u float64) int {
	two := exponent(u, 2)
	if leading := scalar.Round(u*math.Pow10(1-two), 0); leading < 30 {
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
