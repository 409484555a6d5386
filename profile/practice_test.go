package profile_test

import (
	"testing"

	"springcalc/profile"
)

// TestOldLeverInterval: a small old lever group gives about 45 s in all and
// about 25 g (common practice, no source). The middle of the parameters is some
// 7 s and 3 g over; the corners of what no data tell (w, n_u, k_1) and of the water
// retained must hold both between them.
func TestOldLeverInterval(t *testing.T) {
	s := oldLever(t)
	mid := mustRun(t, s)
	fast, slow, least, most := mid.Total, mid.Total, mid.Yield, mid.Yield
	for corner := range 16 {
		pick := func(bit int, lo, hi float64) float64 {
			if corner>>bit&1 == 1 {
				return hi
			}
			return lo
		}
		s.Coffee.SetBy, s.Coffee.Unloading = pick(0, 0, 1), pick(1, 0, s.Coffee.Loading)
		s.Coffee.Soaking, s.Coffee.Retained = pick(2, 0, 0.15), pick(3, 0.8, 1.5)
		shot, err := profile.Summarize(s)
		if err != nil {
			t.Fatal(err)
		}
		fast, slow = min(fast, shot.Total), max(slow, shot.Total)
		least, most = min(least, shot.Yield), max(most, shot.Yield)
	}
	t.Logf("%.1f s (%.1f to %.1f), %.1f g (%.1f to %.1f)", mid.Total, fast, slow, mid.Yield/g, least/g, most/g)
	if !(fast <= 45 && 45 <= slow && least <= 25*g && 25*g <= most) {
		t.Errorf("45 s and 25 g are not within %.1f to %.1f s and %.1f to %.1f g", fast, slow, least/g, most/g)
	}
}
