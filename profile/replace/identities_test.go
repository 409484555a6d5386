package replace

import (
	"errors"
	"flag"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"springcalc/profile"
	"springcalc/spring"
)

// The property tests draw the same in every run; DEVELOPERS.md says how to draw anew.
func init() { _ = flag.Set("rapid.seed", "1") }

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
		{"air", func(s *profile.Setup, w *Wishes) { s.Chamber.Headspace += 10 * mL; s.Chamber.Air = 53 * mL }, "whole stroke goes into compressing", []string{"peak", "air"}},
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

// A looser space keeps what fitted.
func TestLooserSpaceKeepsWhatFits(t *testing.T) {
	tight := cafeSearch(t)
	tight.Keep = 0
	before, err := tight.Run()
	if err != nil || before.Fitting == 0 {
		t.Fatal(err, before)
	}
	rapid.Check(t, func(t *rapid.T) {
		loose := *tight
		loose.Space.Bore += rapid.Float64Range(0, 20).Draw(t, "bore") * mm
		loose.Space.Rod *= rapid.Float64Range(0, 1).Draw(t, "rod")
		loose.Space.Slack *= rapid.Float64Range(0.01, 1).Draw(t, "slack")
		loose.Space.Solid *= rapid.Float64Range(0, 1).Draw(t, "solid")
		loose.Effort += rapid.Float64Range(0, 50).Draw(t, "effort")
		after, err := loose.Run()
		if err != nil {
			t.Fatal(err)
		}
		rows := map[int]bool{}
		for _, c := range after.Best {
			rows[c.Row] = true
		}
		for _, c := range before.Best {
			if !rows[c.Row] {
				t.Fatalf("row %d no longer fits", c.Row)
			}
		}
	})
}

func TestSearchProgress(t *testing.T) {
	s := cafeSearch(t)
	last, calls := 0, 0
	s.Progress = func(done, total int) {
		if done <= last || total != s.Grid.Size() {
			t.Errorf("progress from %d to %d of %d", last, done, total)
		}
		last = done
		calls++
	}
	if _, err := s.Run(); err != nil || last != s.Grid.Size() || calls != len(s.Grid.Wires)*len(s.Grid.Means) {
		t.Errorf("progress ended at %d of %d after %d calls, %v", last, s.Grid.Size(), calls, err)
	}
}

func TestMargin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		have := rapid.Float64Range(-10, 1e6).Draw(t, "have")
		need := rapid.Float64Range(1e-6, 1e6).Draw(t, "need")
		m := Check{have, need, true}.Margin()
		if (m >= 0) != (have >= need) || m > 1 {
			t.Fatalf("have %g, need %g: margin %g", have, need, m)
		}
		if more := (Check{have + 1, need, true}).Margin(); more < m {
			t.Fatalf("more to have is less margin: %g, %g", m, more)
		}
		if less := (Check{have, need * 1.1, true}).Margin(); have > 0 && less > m {
			t.Fatalf("more need is more margin: %g, %g", m, less)
		}
	})
}

// Candidates are judged as designs are, and the other way round.
func TestRankAgreesWithTheSearch(t *testing.T) {
	s := cafeSearch(t)
	found, err := s.Run()
	if err != nil || len(found.Best) < 10 {
		t.Fatal(err, found)
	}
	var list []Candidate
	for _, c := range found.Best {
		list = append(list, Candidate{Row: c.Row, Parts: c.Parts})
	}
	for i := range found.Best { // a list has no lengths to choose from
		free := found.Best[i].Parts[0].Free
		found.Best[i].Free, found.Best[i].Lengths = Span{free, free}, 1
	}
	slices.Reverse(list)
	r, err := s.Rank(list, s.Order)
	if err != nil || r.Missing != nil || r.Bad != nil {
		t.Fatal(err, r)
	}
	if diff := cmp.Diff(found.Best, r.Fitting, exact); diff != "" {
		t.Error(diff)
	}
}

func TestRankSortsMissesAndBadRows(t *testing.T) {
	s := cafeSearch(t)
	good := cafePart(t)
	plain := Part{Rate: good.Rate, Free: good.Free} // all that a shop may say
	heavy, short, solid, loose := plain, plain, plain, plain
	loose.Free -= 30 * mm // light for the hand, and the farthest off
	heavy.Rate *= 1.3
	short.Free -= 3 * mm
	solid.Solid = 172 * mm
	bad := plain
	bad.Rate, bad.Free = math.NaN(), -1
	liar := good
	liar.Rate *= 1.01 // not what its dimensions say
	r, err := s.Rank([]Candidate{
		{Name: "heavy", Row: 2, Price: 10, Parts: []Part{heavy}},
		{Name: "bad", Row: 3, Parts: []Part{bad}},
		{Name: "good", Row: 4, Price: 20, Parts: []Part{good}},
		{Name: "short", Row: 5, Parts: []Part{short}},
		{Name: "plain", Row: 6, Price: 15, Parts: []Part{plain}},
		{Name: "solid", Row: 7, Parts: []Part{solid}},
		{Name: "none", Row: 8, Price: -1},
		{Name: "loose", Row: 1, Parts: []Part{loose}},
		{Name: "liar", Row: 9, Parts: []Part{liar}},
	}, Order{Keys: []Key{{By: ByPrice}}, Step: 0.05})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range r.Fitting { // the cheapest of the list, though it misses, over it; 0 where it has no price
		want := 0.0
		if c.Price > 0 {
			want = 10 / c.Price
		}
		if c.scores[ByPrice] != want {
			t.Errorf("%s at %g: scored %g, want %g", c.Name, c.Price, c.scores[ByPrice], want)
		}
	}
	names := func(all []Choice) (n []string) {
		for _, c := range all {
			n = append(n, c.Name)
		}
		return n
	}
	if got := names(r.Fitting); !slices.Equal(got, []string{"plain", "good", "solid"}) {
		t.Errorf("fitting %v", got)
	}
	if got := names(r.Missing); !slices.Equal(got, []string{"short", "heavy", "loose"}) {
		t.Errorf("missing %v", got)
	}
	if len(r.Bad) != 3 || r.Bad[0].Row != 3 || r.Bad[1].Row != 8 || r.Bad[2].Row != 9 || !errors.Is(r.Bad[0].Err, ErrJob) {
		t.Errorf("bad rows %v", r.Bad)
	}
	// Nothing is known of the plain one but rate and length.
	open := s.Unjudged(&r.Fitting[0])
	if !slices.Equal(open, []Constraint{Index, InBore, OverRod, Clearance, StressCocked, StressSolid, Buckling, Fatigue, Relaxation}) {
		t.Errorf("unjudged %v", open)
	}
	free := s.Job
	free.Space.Rod, free.Space.Support.Guided, free.Use, free.Effort = 0, true, spring.Use{}, 0
	if open := free.Unjudged(&Choice{Parts: []Part{plain, plain}}); slices.Contains(open, OverRod) || slices.Contains(open, Buckling) ||
		slices.Contains(open, Fatigue) || slices.Contains(open, Relaxation) || slices.Contains(open, Effort) || !slices.Contains(open, InNest) {
		t.Errorf("not asked for and yet unjudged: %v", open)
	}
	if open := s.Unjudged(&r.Fitting[1]); open != nil {
		t.Errorf("unjudged of the good one: %v", open)
	}
}

// A nest that shares the force of one spring is the same to the piston; each
// part is judged by itself, and the two by the room between them.
func TestNest(t *testing.T) {
	s := cafeSearch(t)
	outer := cafePart(t)
	outer.Coil.G /= 2 // half the force each
	outer = PartOf(outer.Coil, outer.Wire)
	inner := Part{Rate: outer.Rate, Free: outer.Free, Outer: 34 * mm, Inner: 22 * mm, Solid: 160 * mm}
	v := s.bench().judge([]Part{outer, inner}, math.Inf(1))
	whole := cafePart(t)
	single := s.bench().judge([]Part{whole}, math.Inf(1))
	for _, c := range []Constraint{EndPressure, PeakPressure, Effort} {
		if a, b := v.Checks[c], single.Checks[c]; !near(a.Have, b.Have, 1e-12) || math.Abs(a.Need-b.Need) > 1e-9 {
			t.Errorf("%v: %+v in a nest, %+v alone", c, a, b)
		}
	}
	if c := v.Checks[InNest]; !near(c.Have, outer.Inner-inner.Outer-0.8*mm, 1e-9) || c.Need != s.Space.Slack {
		t.Errorf("room in the nest %+v", c)
	}
	if c := v.Checks[OverRod]; c.Have != inner.Inner-s.Space.Rod {
		t.Errorf("over the rod %+v", c)
	}
	if c := v.Checks[InBore]; !(c.Have < s.Space.Bore-outer.Outer) {
		t.Errorf("in the bore %+v", c)
	}
	// Of one limit that both break, only the worse counts.
	tight := s.Job
	tight.Space.Bore = 20 * mm
	for _, parts := range [][]Part{{outer, inner}, {inner, outer}} {
		wide := tight.bench().judge(parts, math.Inf(1))
		if m, _ := wide.Margin(InBore); !near(wide.Short, -m, 1e-12) || wide.Least != m {
			t.Errorf("in a bore of 20 mm: short by %g, margin %g", wide.Short, m)
		}
	}
	inner.Outer = 36.5 * mm                                                                                         // touches
	if v := s.bench().judge([]Part{outer, inner}, math.Inf(1)); v.Binding != InNest || !near(v.Least, -1.8, 1e-9) { // 0.8 mm of tolerance past that, over the wished 1 mm
		t.Errorf("touching: %v %g", v.Binding, v.Least)
	}
}

// At its limit a spring still fits.
func TestAtTheLimit(t *testing.T) {
	s := cafeSearch(t)
	p := cafePart(t)
	s.Effort = s.Hand.Effort(s.Space.Line(&p))
	v := s.bench().judge([]Part{p}, math.Inf(1))
	if !v.Fits() || v.Least != 0 || v.Binding != Effort || v.Blocked() != nil {
		t.Errorf("%v binds with %g, short by %g", v.Binding, v.Least, v.Short)
	}
	s.Effort *= 1 - 1e-12
	if v := s.bench().judge([]Part{p}, math.Inf(1)); v.Fits() || v.first() != Effort {
		t.Errorf("just past it: %+v", v)
	}
}

// The order is what it says: by steps, then by the finer difference, then by row.
func TestOrder(t *testing.T) {
	choice := func(row int, stress, effort float64) Choice {
		c := Choice{Row: row}
		c.scores[ByStress], c.scores[ByEffort] = stress, effort
		return c
	}
	for _, c := range []struct {
		name  string
		order Order
		a, b  Choice
		want  int
	}{
		{"first key", Order{Keys: []Key{{By: ByStress}, {By: ByEffort}}, Step: 0.1}, choice(1, 0.25, 0), choice(2, 0.15, 9), -1},
		{"second key", Order{Keys: []Key{{By: ByStress}, {By: ByEffort}}, Step: 0.1}, choice(1, 0.19, 0), choice(2, 0.11, 0.5), 1},
		{"finer", Order{Keys: []Key{{By: ByStress}, {By: ByEffort}}, Step: 0.1}, choice(1, 0.11, 0), choice(2, 0.12, 0), 1},
		{"row", Order{Keys: []Key{{By: ByStress}}, Step: 0.1}, choice(1, 0.1, 0), choice(2, 0.1, 9), -1},
		{"weights", Order{Keys: []Key{{ByStress, 1}, {ByEffort, 3}}}, choice(1, 0.4, 0.1), choice(2, 0.1, 0.25), 1},
		{"weights, row", Order{Keys: []Key{{ByStress, 1}}}, choice(2, 0.4, 0.1), choice(1, 0.4, 0.25), 1},
	} {
		if got := c.order.compare(&c.a, &c.b); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
		if got := c.order.compare(&c.b, &c.a); got != -c.want {
			t.Errorf("%s, the other way round: %d, want %d", c.name, got, -c.want)
		}
	}
}

func TestStepsHoldTheirEnds(t *testing.T) {
	if got := Quarters(3, 4.25); !slices.Equal(got, []float64{3, 3.25, 3.5, 3.75, 4, 4.25}) {
		t.Error(got)
	}
	got := (&Space{Bore: 21 * mm, Rod: 19.3 * mm}).MeansBetween(0.5 * mm)
	want := []float64{19.5 * mm, 20 * mm, 20.5 * mm, 21 * mm}
	if len(got) != len(want) {
		t.Fatal(got)
	}
	for i := range got {
		if !near(got[i], want[i], 1e-12) {
			t.Error(got)
		}
	}
}

// One spring judged by itself is judged as in a list; its soundness is the smallest
// margin that is left when both pressures are taken away.
func TestJudgeAlone(t *testing.T) {
	j := &cafeSearch(t).Job
	for _, longer := range []float64{0, 2 * mm, -3 * mm} {
		p := cafePart(t)
		coil := p.Coil
		coil.Free += longer
		parts := []Part{PartOf(coil, p.Wire)}
		r, err := j.Rank([]Candidate{{Parts: parts}}, DefaultOrder())
		if err != nil {
			t.Fatal(err)
		}
		v, err := j.Judge(parts)
		if err != nil || v != append(r.Fitting, r.Missing...)[0].Verdict {
			t.Errorf("%g m longer: another verdict than in a list (%v)", longer, err)
		}
		got, binding, known := v.Sound()
		v.Checks[EndPressure], v.Checks[PeakPressure] = Check{}, Check{}
		want := 1.0
		for c := range constraints {
			if m, ok := v.Margin(c); ok {
				want = min(want, m)
			}
		}
		if m, _ := v.Margin(binding); !known || got != want || m != want {
			t.Errorf("%g m longer: %v %g, want %g", longer, binding, got, want)
		}
	}
	if _, _, known := new(Verdict).Sound(); known {
		t.Error("something is known of nothing")
	}
	if _, err := j.Judge(nil); err == nil {
		t.Error("no spring was judged")
	}
}
