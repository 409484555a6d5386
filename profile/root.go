package profile

// Root finds x in [lo, hi] with f(x) = 0 for an increasing f, to the last bits, by
// Chandrupatla's method. Where f(lo) >= 0 it returns lo, where f(hi) <= 0 it returns hi.
func Root(f func(float64) float64, lo, hi float64) float64 { return root(f, lo, hi) }
