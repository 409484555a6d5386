package profile

import (
	"springcalc/piston"
	"springcalc/spring"
)

// RemovalCautions returns what to show wherever a spring may be taken out of a
// machine, in the order of the work: first the chamber, then the spring.
func RemovalCautions() []string {
	return append([]string{piston.CautionPressure, piston.CautionHot}, spring.RemovalCautions()...)
}
