package main

import (
	"springcalc/profile"
)

// finished says whether a shot came to its end.
func finished(o profile.Outcome) bool {
	return o == profile.StrokeEnded || o == profile.BelowLimit || o == profile.CupFull
}

// unfinished is the error of a draw whose shot did not come to its end: how long
// it took is no answer then.
func unfinished(o profile.Outcome) error {
	if finished(o) {
		return nil
	}
	return errOutcome(o)
}
