package spring

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// One unknown is solved for from the others: put back in, it gives what was asked.
func TestSolveForOneUnknown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := valve
		s.Wire = rapid.Float64Range(1, 4).Draw(t, "wire") * 1e-3
		s.Mean = s.Wire * rapid.Float64Range(4, 15).Draw(t, "index")
		s.Active = rapid.Float64Range(2, 20).Draw(t, "coils")
		load, length := rapid.Float64Range(0, 500).Draw(t, "load"), rapid.Float64Range(0.05, 0.3).Draw(t, "length")
		rate := s.Rate()
		free := s
		free.Free = must(s.FreeFor(load, length))
		thin, wide := s, s
		thin.Wire = must(s.WireForRate(rate))
		wide.Mean = must(s.MeanForRate(rate))
		if got := free.Rate() * (free.Free - length); math.Abs(got-load) > 1e-9*(1+load) {
			t.Errorf("free length: %g N, want %g", got, load)
		}
		if !near(thin.Wire, s.Wire, 1e-12) || !near(wide.Mean, s.Mean, 1e-12) {
			t.Errorf("wire %g for %g, mean %g for %g", thin.Wire, s.Wire, wide.Mean, s.Mean)
		}
		for _, f := range []Factor{NoCorrection, DirectShear, Wahl, Bergstrasser} {
			if d := must(s.WireForStress(100, s.Stress(100, f), f)); !near(d, s.Wire, 1e-12) {
				t.Errorf("%v: wire %g for %g", f, d, s.Wire)
			}
		}
	})
	for name, err := range map[string]error{
		"no wire":        failed(valve.WireForStress(1e6, 1e8, Wahl)),
		"any wire":       failed(valve.WireForStress(1e-6, 1e9, Wahl)),
		"too stiff":      failed(valve.WireForRate(1e9)),
		"too stiff mean": failed(valve.MeanForRate(1e9)),
		"too long":       failed(valve.FreeFor(1e5, 0.1)),
	} {
		if !errors.Is(err, ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := valve.FreeFor(-1, math.NaN()); !errors.Is(err, ErrInput) || strings.Count(err.Error(), "impossible") != 2 {
		t.Errorf("bad input: %v", err)
	}
}

// Growth with free ends is one number, whoever counts the end coils: by EN the
// m of closed ends, ground or not, is their pitch (L0 - 2d)/n_a.
func TestGrowthKnowsOneSolidLength(t *testing.T) {
	for _, ends := range []Ends{Closed, ClosedGround} {
		us, en := valve, valve
		us.WireMax, en.WireMax = 0, 0
		us.Ends, en.Ends, us.Convention = ends, ends, US
		m := (us.Free - 2*us.Wire) / us.Active
		want := 0.1 * (m*m - 0.8*m*us.Wire - 0.2*us.Wire*us.Wire) / us.Mean
		if a, b := us.Growth().FreeToTurn, en.Growth().FreeToTurn; !near(a, want, 1e-12) || !near(b, want, 1e-12) {
			t.Errorf("%v: US %g, EN %g, want %g", ends, a, b, want)
		}
	}
}

// By hand, with a growth of 0.24 mm: 30 - 27.2 free is 1.4 mm on each side, solid 1.28.
func TestRooms(t *testing.T) {
	out, in := scaled(valve, 1), valve
	out.Mean, out.Wire, out.WireMax = 33e-3, 3e-3, 0
	in.Mean, in.Wire, in.WireMax = 25.2e-3, 2e-3, 0
	r := Nest{in, out}.Rooms()
	grown := in.Growth().FreeToTurn
	if len(r) != 1 || r[0].Outer != 1 || r[0].Inner != 0 || !near(r[0].Free, 1.4e-3, 1e-9) || !near(r[0].Solid, 1.4e-3-grown/2, 1e-9) ||
		!near(r[0].Usual, 0.5e-3, 1e-9) || !r[0].Fits() {
		t.Errorf("%+v", r)
	}
	in.Mean = 29e-3 // 31 mm outside in 30 mm
	if d := (Nest{out, in}).Doubts(); len(d) != 2 || !strings.Contains(d[0], "does not fit") {
		t.Errorf("%q", d)
	}
	in.Mean = out.Inner() - in.Wire - in.Growth().FreeToTurn/2
	if d := (Nest{out, in}).Doubts(); len(d) != 2 || !strings.Contains(d[0], "jams") {
		t.Errorf("%q", d)
	}
}

// A cautious strength is on the safe side: a stronger wire never has less
// safety, and the answer is no more than that of any strength from the least up.
func TestCautiousFatigue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rest := rapid.Float64Range(0.03, 0.06).Draw(t, "rest")
		w := Working{rest, rest - rapid.Float64Range(0.001, 0.008).Draw(t, "stroke")}
		line := Line(rapid.IntRange(1, 3).Draw(t, "line"))
		ssu := rapid.Float64Range(600e6, 1400e6).Draw(t, "Ssu")
		m := Strength{Endurance{241e6, 379e6}, ssu, line, true}
		least := must(valve.Fatigue(w, m))
		for _, stronger := range []float64{1, 1.1, 1.5, 4} {
			free := m
			free.Cautious, free.UltimateShear = false, ssu*stronger
			if got := must(valve.Fatigue(w, free)); got.Safety < least.Safety*(1-1e-12) {
				t.Fatalf("Ssu %g: safety %g, the cautious %g", free.UltimateShear, got.Safety, least.Safety)
			}
		}
		free := m
		free.Cautious = false
		if mean := least.Cycle.Mean * least.Safety; mean > m.Endurance.Mean && must(valve.Fatigue(w, free)).Allowed != least.Allowed {
			t.Fatalf("over Ssm caution changes %g", least.Allowed)
		}
	})
}

// Norton's criterion by hand: valve at 25 and 60 N (Ks 1.05, Kw 1.144833):
// τi 167.1126, τm 284.0915, τa 127.5455 MPa; Ses 167.5139; and at the limit 1.
func TestFatigueNorton(t *testing.T) {
	w := Working{must(valve.Length(25)), must(valve.Length(60))}
	n := must(valve.FatigueNorton(w, FromZeroLimit{310e6, 1180e6 * 0.8808}))
	sus := 1180.0 * 0.8808
	const kw = 39.0/36 + 0.0615
	ti, tm, ta := 1.05*8*25*20/(math.Pi*8), 1.05*8*42.5*20/(math.Pi*8), kw*8*17.5*20/(math.Pi*8)
	ses := 0.5 * 310 * sus / (sus - 155)
	if want := ses * (sus - ti) / (ses*(tm-ti) + sus*ta); !near(n, want, 1e-12) {
		t.Errorf("Nfs %g, by hand %g", n, want)
	}
	// The swing grown by Nfs about the kept preload lies on the line from Sus to Ses.
	if a, m := n*ta, ti+n*(tm-ti); !near(a/ses+m/sus, 1, 1e-9) {
		t.Errorf("grown by Nfs: τa/Ses + τm/Sus = %g", a/ses+m/sus)
	}
	if _, err := valve.FatigueNorton(w, FromZeroLimit{}); !errors.Is(err, ErrInput) {
		t.Error(err)
	}
}

// How far a spring is from buckling changes in no jump, be it that the coils touch
// first or that the root has no value.
func TestBucklingReach(t *testing.T) {
	s := valve
	before := 0.0
	for free := 40e-3; free < 200e-3; free += 0.01e-3 {
		s.Free = free
		b := must(s.Buckling(Support{Seating: HingedHinged}))
		if !b.Never && b.Reach != b.CriticalDeflection {
			t.Fatalf("L0 %g: reach %g, critical %g", free, b.Reach, b.CriticalDeflection)
		}
		if before > 0 && math.Abs(b.Reach/before-1) > 0.03 {
			t.Fatalf("L0 %g: reach from %g to %g", free, before, b.Reach)
		}
		before = b.Reach
	}
}

func failed(_ float64, err error) error { return err }

// Growth to a length: none when free, all of it when solid, and with held ends the
// wire of one turn keeps its length, by Pythagoras.
func TestGrowthAt(t *testing.T) {
	s := valve
	s.WireMax = 0
	all := s.Growth()
	if g := s.GrowthAt(s.Free); !near(1+g.Held, 1, 1e-12) || !near(1+g.FreeToTurn, 1, 1e-12) {
		t.Errorf("free %+v", g)
	}
	if g := s.GrowthAt(s.SolidLength()); !near(g.Held, all.Held, 1e-9) || !near(g.FreeToTurn, all.FreeToTurn, 1e-9) {
		t.Errorf("solid %+v, want %+v", g, all)
	}
	turn, last := math.Hypot(math.Pi*s.Mean, s.Pitch()), Growth{}
	for _, share := range []float64{0.2, 0.5, 0.8} {
		length := s.Free - share*(s.Free-s.SolidLength())
		g := s.GrowthAt(length)
		pitch := s.Pitch() - (s.Free-length)/s.Active
		if got := math.Hypot(math.Pi*(s.Mean+g.Held), pitch); !near(got, turn, 1e-9) {
			t.Errorf("%g of the travel: a turn of %g m, free %g m", share, got, turn)
		}
		if !(g.FreeToTurn > last.FreeToTurn && g.FreeToTurn < all.FreeToTurn && g.FreeToTurn > g.Held) {
			t.Errorf("%g of the travel: %+v after %+v, solid %+v", share, g, last, all)
		}
		last = g
	}
}
