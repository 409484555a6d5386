package replace

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"springcalc/profile"
	"springcalc/spring"
)

// By hand, for 9 bar falling to 5 bar in the café's machine:
//
//	A      = π/4 · 50²               = 1963.495 mm²
//	A + c  = 1963.495 + 50           = 2013.495 mm²   (5 N/bar is 50 mm²)
//	F_1    = 0.5 N/mm² · 2013.495 + 20 - 6            = 1020.748 N
//	z_0    = 2 + 1000/1963.495 · (1 - (0.98+0.7)/(0.98+9)) = 2 + 0.509296 · 0.831663 = 2.423562 mm
//	R      = 0.4 N/mm² · 2013.495 / (24 - 2.423562)   = 805.398/21.576438 = 37.32767 N/mm
//	F at z_0 = 0.9 · 2013.495 + 14                    = 1826.146 N
//	F_2    = 1020.748 + 37.32767 · 24                 = 1916.612 N
func TestRequireByHand(t *testing.T) {
	s := cafe()
	r, conflicts, err := Require(&s, Wishes{Peak: 9 * bar, End: 5 * bar, Within: 0.2 * bar}, nil)
	if err != nil || conflicts != nil {
		t.Fatal(err, conflicts)
	}
	for _, c := range []struct {
		what      string
		got, want float64
	}{
		{"F_1, N", r.Rest, 1020.748},
		{"z_0, mm", r.Begin / mm, 2.423562},
		{"R, N/mm", r.Rate / 1e3, 37.32767},
		{"F at z_0, N", r.Start(), 1826.146},
		{"F_2, N", r.Cocked(), 1916.612},
		{"s, mm", r.Stroke / mm, 24},
		{"ΔF, N", r.Within, 40.2699}, // 0.02 N/mm² · 2013.495 mm²
	} {
		if !near(c.got, c.want, 5e-7) {
			t.Errorf("%s: got %.8g, by hand %.8g", c.what, c.got, c.want)
		}
	}
}

// The requirement is the shot read backwards: put back in, it gives the wishes.
func TestRequireInvertsTheShot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, w := drawMachine(t), drawWishes(t)
		r, conflicts, err := Require(&s, w, nil)
		if err != nil {
			t.Fatal(err)
		}
		if conflicts != nil {
			if r != (Requirement{}) {
				t.Fatalf("requirement %+v beside the conflicts %v", r, conflicts)
			}
			return
		}
		s.Springs = []spring.Linear{r.Linear()}
		shot, err := profile.Summarize(&s)
		if err != nil {
			t.Fatal(err)
		}
		if shot.Outcome == profile.Choked {
			t.Skip("a shot that is given up has no end pressure")
		}
		if !near(shot.Peak, w.Peak, 1e-9) || !near(shot.End, w.End, 1e-9) {
			t.Fatalf("got peak %v and end %v (%s), wished %v and %v", shot.Peak, shot.End, shot.Outcome, w.Peak, w.End)
		}
		if end := EndAtRate(&s, w.Peak, r.Rate); !near(end, w.End, 1e-9) {
			t.Fatalf("EndAtRate gives %v, wished %v", end, w.End)
		}
	})
}

// With two pulls the peak is the better filled one's.
func TestRequireTwoPulls(t *testing.T) {
	s := cafe()
	s.Coffee.Resistance /= 3
	short, full := profile.Pull{FillTime: 3, Preinfusion: 2.5}, profile.Pull{FillTime: 2, Preinfusion: 3}
	for _, pulls := range [][]profile.Pull{{short, full}, {full, short}} {
		s.Pulls = pulls
		w := Wishes{Peak: 8 * bar, End: 4 * bar, Within: 0.2 * bar}
		r, _, err := Require(&s, w, nil)
		if err != nil {
			t.Fatal(err)
		}
		s.Springs = []spring.Linear{r.Linear()}
		shot, err := profile.Summarize(&s)
		if err != nil || !near(shot.Peak, w.Peak, 1e-9) || !near(shot.End, w.End, 1e-9) {
			t.Errorf("got peak %v and end %v (%s, %v)", shot.Peak, shot.End, shot.Outcome, err)
		}
	}
}

// More wished never asks less of the spring.
func TestRequireIsMonotonic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, w := drawMachine(t), drawWishes(t)
		more := w
		more.Peak *= rapid.Float64Range(1, 1.5).Draw(t, "more")
		a, ca, _ := Require(&s, w, nil)
		b, cb, _ := Require(&s, more, nil)
		if ca != nil || cb != nil {
			return
		}
		if b.Start() < a.Start()*(1-1e-12) || b.Cocked() < a.Cocked()*(1-1e-12) || b.Rate < a.Rate*(1-1e-12) || b.Rest != a.Rest {
			t.Fatalf("a higher peak asks for %+v instead of %+v", b, a)
		}
	})
}

func TestConflicts(t *testing.T) {
	light := Wishes{Peak: 9 * bar, End: 5 * bar, Within: 0.2 * bar}
	for _, c := range []struct {
		name   string
		change func(*profile.Setup, *Wishes)
		why    string
		what   []string
	}{
		{"none", func(*profile.Setup, *Wishes) {}, "", nil},
		{"rising", func(_ *profile.Setup, w *Wishes) { w.End = 10 * bar }, "cannot end at 10 bar", []string{"peak", "end"}},
		{"level", func(_ *profile.Setup, w *Wishes) { w.End = w.Peak }, "cannot end at 9 bar", []string{"peak", "end"}},
		{"under the fill", func(s *profile.Setup, w *Wishes) { s.Water.Fill = 9 * bar }, "fill pressure of 9 bar", []string{"peak"}},
		{"air", func(s *profile.Setup, w *Wishes) { s.Chamber.Air = 53 * mL }, "whole stroke goes into compressing", []string{"peak", "air"}},
		{"weight", func(s *profile.Setup, w *Wishes) { s.Cylinder.Weight = 1100 }, "weight of the piston alone", []string{"end"}},
		{"stall", func(_ *profile.Setup, w *Wishes) { w.End = 100 }, "stall before its rest", []string{"end"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, w := cafe(), light
			s.Cylinder.Seal.Constant = 7 // hardly more than the weight
			c.change(&s, &w)
			r, conflicts, err := Require(&s, w, nil)
			if err != nil {
				t.Fatal(err)
			}
			if c.why == "" {
				if conflicts != nil || r.Rate == 0 {
					t.Fatalf("conflicts %v, requirement %+v", conflicts, r)
				}
				return
			}
			if len(conflicts) != 1 || !strings.Contains(conflicts[0].Why, c.why) {
				t.Fatalf("conflicts %+v, want %q", conflicts, c.why)
			}
			for i, x := range conflicts[0].Ways {
				if x.What != c.what[i] {
					t.Errorf("way %q, want %q", x.What, c.what[i])
				}
				// Just past the value, the wish can be fulfilled.
				s, w := s, w
				step := 1 + 1e-6
				if strings.Contains(x.Text, "below") || strings.Contains(x.Text, "less") {
					step = 1 - 1e-6
				}
				switch x.What {
				case "peak":
					w.Peak = x.To * step
				case "end":
					w.End = x.To * step
				case "air":
					s.Chamber.Air = x.To * step
				}
				if _, still, err := Require(&s, w, nil); err != nil || still != nil {
					t.Errorf("with %s the wish is still impossible: %+v %v", x.Text, still, err)
				}
			}
		})
	}
}

// Just at the stall share the engine stalls, just above it does not.
func TestStallShareIsTheEngines(t *testing.T) {
	for share, want := range map[float64]profile.Outcome{1 - 1e-3: profile.Stalled, 1 + 1e-3: profile.StrokeEnded} {
		s := cafe()
		s.Coffee.Loading, s.Coffee.Unloading, s.Coffee.Resistance = 0, 0, 1e10
		w := Wishes{Peak: 9 * bar, End: share * profile.StallShare * 9 * bar, Within: bar}
		m := newMachine(&s)
		s.Springs = []spring.Linear{m.require(w).Linear()}
		if shot, err := profile.Summarize(&s); err != nil || shot.Outcome != want {
			t.Errorf("at %g of the peak: %s, %v, want %s", w.End/w.Peak, shot.Outcome, err, want)
		}
	}
}

func TestEffortConflict(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := cafe()
		hand := handOf(t, &s)
		w := drawWishes(rt)
		r, conflicts, err := Require(&s, w, hand)
		if err != nil || conflicts != nil {
			rt.Fatal(err, conflicts)
		}
		needs := hand.Effort(r.Linear())
		w.Effort = needs * rapid.Float64Range(0.3, 0.999).Draw(rt, "weaker")
		same, conflicts, err := Require(&s, w, hand)
		if err != nil || same != r || len(conflicts) != 1 {
			rt.Fatal(err, conflicts, same)
		}
		seen := map[string]bool{}
		for _, x := range conflicts[0].Ways {
			seen[x.What] = true
			switch x.What {
			case "effort":
				if x.To != needs {
					rt.Errorf("effort %v, want %v", x.To, needs)
				}
			case "handle":
				if !near(x.To*w.Effort, needs, 1e-12) {
					rt.Errorf("handle %v times", x.To)
				}
			case "peak":
				lower := w
				lower.Peak, lower.Effort = x.To, w.Effort*(1+1e-12) // rounding
				if strings.Contains(x.Text, "kept") == (x.To <= w.End) {
					rt.Errorf("%q with an end of %v", x.Text, w.End)
				}
				if !strings.Contains(x.Text, "kept") {
					lower.End *= x.To / w.Peak
				}
				got, still, err := Require(&s, lower, hand)
				if err != nil || still != nil || !near(hand.Effort(got.Linear()), w.Effort, 1e-9) {
					rt.Errorf("%s: effort %v, conflicts %v, %v", x.Text, hand.Effort(got.Linear()), still, err)
				}
			}
		}
		if !seen["effort"] || !seen["handle"] {
			rt.Errorf("no way out named but %v", conflicts[0].Ways)
		}
	})
}

// Where the fill pressure alone is too much for the hand, no lower peak is offered.
func TestEffortConflictAboveTheFill(t *testing.T) {
	s := cafe()
	s.Water.Fill = 5 * bar
	hand := handOf(t, &s)
	w := Wishes{Peak: 9 * bar, End: 6 * bar, Within: bar}
	for _, c := range []struct {
		end, peak float64 // wish, and the peak whose effort is the limit
		offered   bool
	}{{6, 5.5, true}, {6, 4.5, false}, {2, 5.5, true}, {2, 4.5, false}} {
		w.End = c.end * bar
		at := w
		at.Peak = c.peak * bar
		if at.Peak <= at.End {
			at.End = w.End * at.Peak / w.Peak
		}
		m := newMachine(&s)
		w.Effort = hand.Effort(m.require(at).Linear())
		_, conflicts, err := Require(&s, w, hand)
		if err != nil || len(conflicts) != 1 {
			t.Fatal(err, conflicts)
		}
		offered := false
		for _, x := range conflicts[0].Ways {
			if x.What == "peak" {
				offered = true
				if !near(x.To, at.Peak, 1e-9) {
					t.Errorf("end %g bar: a peak of %g bar is offered, want %g", c.end, x.To/bar, c.peak)
				}
			}
		}
		if offered != c.offered {
			t.Errorf("end %g bar, a hand for %g bar, filled at 5 bar: a lower peak is offered: %v", c.end, c.peak, offered)
		}
	}
}

func TestWishesValidate(t *testing.T) {
	nan := math.NaN()
	err := (&Wishes{Peak: nan, End: -1, Within: 0, Effort: math.Inf(1)}).Validate()
	if !errors.Is(err, ErrWish) {
		t.Fatal(err)
	}
	for _, field := range []string{"Peak", "End", "Within", "Effort"} {
		if !strings.Contains(err.Error(), field+" is") {
			t.Errorf("%s is not named in\n%v", field, err)
		}
	}
	s := cafe()
	if _, _, err := Require(&s, Wishes{}, nil); !errors.Is(err, ErrWish) {
		t.Errorf("Require takes no wishes: %v", err)
	}
	s.Cylinder.Bore = nan
	if _, _, err := Require(&s, Wishes{Peak: bar, Within: 1}, nil); !errors.Is(err, profile.ErrSetup) {
		t.Errorf("Require takes an impossible setup: %v", err)
	}
}
