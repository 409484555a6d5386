package spring

import (
	"errors"
	"math"
)

// Grade is the quality grade of EN 15800: 1 fine, 2 medium, 3 coarse.
type Grade int

// Tolerance is what a new spring may differ by from its drawing, plus or minus.
type Tolerance struct {
	Free   float64 // A_L0: on the free length [m]
	Rate   float64 // share of the rate [-]: read out of the load formula, not a tolerance of its own
	Square float64 // e1: a side out of square with the ground end, over the free length [m]; 0 where the ends are not ground
	Level  float64 // e2: ground ends out of parallel, over the outside diameter [m]; likewise
	fixed  float64 // a_F k_f Q [N]
	Doubts []string
}

// BeyondEN15800 is the doubt about a spring that the standard does not cover.
const BeyondEN15800 = "EN 15800 has no tolerances for this spring: it covers wire of 0.07 to 16 mm, mean diameters of 0.63 to 200 mm, free lengths up to 630 mm, an index of 4 to 20, and 2 coils or more."

// Load returns the tolerance on a load [N], plus or minus [N],
//
//	A_F = (a_F k_f + 1.5 F/100) Q        [EN 15800], from memory
func (t Tolerance) Load(force float64) float64 { return t.fixed + t.Rate*math.Abs(force) }

// Tolerance returns what EN 15800, from memory, allows a new cold coiled spring
// of a grade, with d and D in mm and C the index:
//
//	a_F  = 65.92 (d^3.3/D^1.6) (-0.84 (C/10)³ + 3.781 (C/10)² - 4.244 (C/10) + 2.274) N
//	k_f  = -1/(3 n²) + 8/(5 n) + 0.803
//	A_L0 = a_F k_f Q/R, Q = 0.63, 1, 1.6
//	e1   = 0.03, 0.05, 0.08 L0; e2 = 0.015, 0.03, 0.06 De        ground ends, by grade
//
// The standard leaves the rate to agreement. The part of A_F that grows with the
// load, 1.5 % Q, is what a rate off by as much would do, and is given as Rate.
func (s Compression) Tolerance(g Grade) (Tolerance, error) {
	c := s.Index()
	if err := errors.Join(
		quantity{"EN 15800 grade", float64(g), ""}.within(1, 3, ErrInput),
		quantity{"wire diameter", s.Wire, "m"}.within(0.07e-3, 16e-3, ErrRange),
		quantity{"mean coil diameter", s.Mean, "m"}.within(0.63e-3, 200e-3, ErrRange),
		quantity{"free length", s.Free, "m"}.within(0, 630e-3, ErrRange),
		quantity{"number of active coils", s.Active, ""}.within(2, math.Inf(1), ErrRange),
		quantity{"index", c, ""}.within(4, 20, ErrRange),
	); err != nil {
		return Tolerance{}, err
	}
	q := []float64{0.63, 1, 1.6}[g-1]
	w := c / 10
	af := 65.92 * math.Pow(1e3*s.Wire, 3.3) / math.Pow(1e3*s.Mean, 1.6) *
		(((-0.84*w+3.781)*w-4.244)*w + 2.274)
	kf := -1/(3*s.Active*s.Active) + 8/(5*s.Active) + 0.803
	fixed := af * kf * q
	var square, level float64
	if s.Ends == ClosedGround || s.Ends == PlainGround {
		square = []float64{0.03, 0.05, 0.08}[g-1] * s.Free
		level = []float64{0.015, 0.03, 0.06}[g-1] * s.Outer()
	}
	return Tolerance{
		Free:   fixed / s.Rate(),
		Rate:   0.015 * q,
		Square: square,
		Level:  level,
		fixed:  fixed,
		Doubts: []string{
			"The tolerance formulas of EN 15800 are from memory.",
			"EN 15800 leaves the rate to agreement; the share given is only what its load tolerance implies.",
		},
	}, nil
}
