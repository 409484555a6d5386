package replace

import (
	"math"
	"testing"

	"springcalc/spring"
)

// Pairs that are found fit as nests, give the wished pressures together, and lie in
// order; with a spring that stays, each share is of what that leaves.
func TestNestSearch(t *testing.T) {
	s := cafeSearch(t)
	s.Grid.Means = Steps(36*mm, 46*mm, 2*mm)
	s.Grid.Wires = []Wire{musicWire(t, 6*mm), musicWire(t, 6.5*mm), musicWire(t, 7*mm)}
	n := NestSearch{Search: *s, Shares: []float64{0.2, 0.3}, Outers: 5, Inner: Grid{
		Means: Steps(20*mm, 32*mm, 2*mm), Coils: Quarters(18, 30),
		Ends: []spring.Ends{spring.ClosedGround}, Convention: spring.EN, FreeStep: 0.5 * mm,
	}}
	n.Space.Rod = 0
	for _, d := range []float64{3.5, 4, 4.5} {
		n.Inner.Wires = append(n.Inner.Wires, musicWire(t, d*mm))
	}
	found, err := n.Run()
	if err != nil || len(found.Best) < 2 {
		t.Fatal(err, found)
	}
	t.Logf("%d tried, %d pairs fit, best weakest %.3f by %v", found.Tried, found.Fitting, found.Best[0].Weakest, found.Best[0].WeakestOf)
	for i := range found.Best {
		c := &found.Best[i]
		v, err := n.Judge(c.Parts)
		if err != nil || !v.Fits() || v != c.Verdict || len(c.Parts) != 2 {
			t.Fatalf("pair %d: %v %+v", i, err, v)
		}
		rooms := spring.Nest{c.Parts[0].Coil, c.Parts[1].Coil}.Rooms()
		if want := rooms[0].Solid*2 - coilBy(c.Parts[0].Outer, 0) - coilBy(c.Parts[1].Outer, 0); math.Abs(v.Checks[InNest].Have-want) > 1e-9 {
			t.Errorf("pair %d: room %g, package spring says %g", i, v.Checks[InNest].Have, want)
		}
		if i > 0 && n.Order.compare(&found.Best[i-1], c) > 0 {
			t.Errorf("pair %d stands too low", i)
		}
	}
	n.Staying = []Part{{Rate: 3e3, Free: 230 * mm}}
	half := n.part(0.5)
	stay := n.Space.Lines(n.Staying)
	if left, want := half.Start()-spring.ForceOf(stay, half.Stroke-half.Begin), (n.Start()-spring.ForceOf(stay, half.Stroke-half.Begin))/2; !near(left, want, 1e-9) {
		t.Errorf("half of what is left is %g N, want %g", left, want)
	}
	bad := n
	bad.Shares, bad.Outers, bad.Inner.Convention = []float64{0, math.NaN()}, 0, spring.US
	if _, err := bad.Run(); err == nil {
		t.Error("bad input is taken")
	}
}
