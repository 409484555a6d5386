package diagnose

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"springcalc/spring"
)

// cafeSpring is a spring of the café's rate: 32 N/mm.
func cafeSpring() *spring.Compression {
	s := &spring.Compression{Wire: 6.5 * mm, Mean: 40 * mm, Active: 8.62, Total: 10.62, Free: 150 * mm,
		Ends: spring.ClosedGround, Convention: spring.US, G: 79e9, E: 206e9, Density: 7850}
	return s
}

func cafeMachine() *Machine {
	return &Machine{Setup: *cafe(), Spring: cafeSpring(), Spread: UsualSpread()}
}

// telling is the measurement that tells each cause.
// Air and an empty headspace differ in two: a long fill puts both right, the
// headspace is deep in one.
var telling = map[Cause][]Kind{
	Set: {FreeLength}, ThinWire: {WireSize}, WrongCoils: {Coils}, SealDrag: {Drag}, AirInFill: {LongFill, Headspace},
	ShortCock: {Travel}, DryPuck: {Headspace}, GaugeLow: {Gauge}, OpenPuck: {ShotTime},
}

// measure makes measurements of a machine with a cause that takes 20 % of the
// peak, with the noise of usual tools and of the machine as new.
func measure(t *testing.T, m *Machine, g *grid, c Cause, want []Kind, rng *rand.Rand) []Measured {
	t.Helper()
	best := g.states[c][0]
	for _, s := range g.states[c] {
		if math.Abs(s.drop-0.2) < math.Abs(best.drop-0.2) {
			best = s
		}
	}
	if math.Abs(best.drop-0.2) > 0.02 {
		t.Fatalf("%v: no size takes 20 %% of the peak, nearest takes %.0f %%", c, 100*best.drop)
	}
	var data []Measured
	for _, k := range want {
		d := Measured{Kind: k}
		d.U = instrument[k]
		_, u := g.off(m, best.see, &d)
		v, _ := best.see.of(&d)
		d.Value = v + u*rng.NormFloat64()
		if k != LogBow {
			d.Value = max(0, d.Value)
		}
		data = append(data, d)
	}
	return data
}

// TestConfusion injects every cause many times, prints what is ranked first,
// and holds the ranking to its promise: first with the telling measurement,
// among the first three without it.
func TestConfusion(t *testing.T) {
	log := []Kind{Peak, EndPress, LogRate, LogBow, Yield, ShotTime}
	bench := []Kind{LongFill, FreeLength, WireSize, Coils, Drag, Gauge, Travel, Headspace}
	both := append(slices.Clone(log), bench...)
	m := cafeMachine()
	g, err := newGrid(m)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		what   string
		kinds  func(Cause) []Kind
		lowest int // rank that the true cause may have
	}{
		{"log only", func(Cause) []Kind { return log }, 3},
		{"log and the telling measurement", func(c Cause) []Kind { return append(without(log, telling[c]), telling[c]...) }, 1},
		{"log and bench", func(Cause) []Kind { return both }, 1},
		{"log and bench, less the telling measurement", func(c Cause) []Kind { return without(both, telling[c]) }, 3},
	} {
		rng := rand.New(rand.NewPCG(3, 4))
		var b strings.Builder
		fmt.Fprintf(&b, "%s\n%-28s", c.what, "ranked first:")
		for _, cause := range Causes() {
			fmt.Fprintf(&b, "%7.6s", strings.ReplaceAll(cause.String(), " ", ""))
		}
		for _, truth := range Causes() {
			var first [causes]int
			worst := 0
			for range 5 {
				r, err := g.clone().rank(m, measure(t, m, g, truth, c.kinds(truth), rng), UsualPrior())
				if err != nil {
					t.Fatal(err)
				}
				first[r.Causes[0].Cause]++
				worst = max(worst, 1+slices.IndexFunc(r.Causes, func(k Ranked) bool { return k.Cause == truth }))
			}
			fmt.Fprintf(&b, "\n%-28s", truth)
			for _, k := range first {
				fmt.Fprintf(&b, "%7d", k)
			}
			fmt.Fprintf(&b, "   worst rank %d", worst)
			if worst > c.lowest {
				t.Errorf("%s: %v is ranked %d, want %d or better", c.what, truth, worst, c.lowest)
			}
		}
		t.Log(b.String())
	}
}

func (g *grid) clone() *grid {
	c := *g
	for i, s := range g.states {
		c.states[i] = slices.Clone(s)
	}
	return &c
}

func without(list, drop []Kind) []Kind {
	return slices.DeleteFunc(slices.Clone(list), func(k Kind) bool { return slices.Contains(drop, k) })
}
