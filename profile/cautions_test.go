package profile_test

import (
	"slices"
	"testing"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// TestRemovalCautions: pressure and heat come before the spring, whose own
// cautions are all there.
func TestRemovalCautions(t *testing.T) {
	want := []string{piston.CautionPressure, piston.CautionHot, spring.CautionPreload, spring.CautionPress, spring.CautionWorn, spring.CautionLocal}
	if got := profile.RemovalCautions(); !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
}
