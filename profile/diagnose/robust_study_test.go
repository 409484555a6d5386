package diagnose

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestStudyHarsh: on machines that scatter more than the model thinks, the
// advice does little harm.
func TestStudyHarsh(t *testing.T) {
	n := machines(200, 8)
	list := make([]walked, n)
	prior := judged(t)
	each(n, 303, func(i int, rng *rand.Rand) {
		o := drawOld(anySheet(rng), rng, harshness{1.5, 1.8, 2})
		list[i] = follow(t, o, o.firstReadings(), prior)
	})
	var harmful, none, noneHarmful float64
	for _, w := range list {
		harmful += float64(w.harmful)
		if w.faults == 0 {
			none++
			noneHarmful += float64(w.harmful)
		}
	}
	t.Logf("%d machines: %s; with no fault harmful %.3f of %.0f", n, sumUp(list), noneHarmful/max(1, none), none)
	atMost(t, "harmful repairs a machine", harmful/float64(n), 0.05, 2*math.Sqrt(0.05/float64(n)))
	atMost(t, "harmful repairs where nothing was wrong", noneHarmful/max(1, none), 0.04, 2*math.Sqrt(0.04/max(1, none)))
}

// wellRead is a machine of which ten things were read.
func (o *old) wellRead() []Observation {
	list := []Observation{o.whenNew()}
	for _, k := range []Kind{Peak, EndPress, Yield, LongFill, FreeLength, Drag, Gauge, Travel, Headspace} {
		list = append(list, o.read(k))
	}
	return list
}

// gross spoils a reading by as much as a slip does: a scale misread by a third,
// or by 12 of its own standard uncertainties where that is more.
func gross(o Observation, rng *rand.Rand) Observation {
	by := max(0.35*o.Values[0], 12*math.Sqrt(o.Cov[0][0]))
	v := o.Values[0] + by
	if rng.IntN(2) == 0 && o.Values[0] > by {
		v = o.Values[0] - by
	}
	o.Values = []float64{v}
	return o
}

// TestStudyGross: a gross error in one of ten readings is flagged, and without
// one hardly a machine is.
func TestStudyGross(t *testing.T) {
	n := machines(300, 10)
	prior := judged(t)
	flagged, alarm, named := make([]bool, n), make([]bool, n), make([]bool, n)
	kinds := make([]Kind, n)
	each(n, 404, func(i int, rng *rand.Rand) {
		o := drawOld(anySheet(rng), rng, harshness{1, 1, 1})
		list := o.wellRead()
		m := o.asStated()
		s, err := Infer(&Case{Machine: m, Readings: list, Priors: prior})
		if err != nil {
			t.Error(err)
			return
		}
		alarm[i] = s.Withheld
		j := rng.IntN(len(list))
		kinds[i] = list[j].Kinds[0]
		list[j] = gross(list[j], rng)
		if s, err = Infer(&Case{Machine: m, Readings: list, Priors: prior}); err != nil {
			t.Error(err)
			return
		}
		flagged[i] = s.Withheld
		named[i] = s.Withheld && s.Worst.Kind == kinds[i]
	})
	var f, a, w float64
	missed := map[Kind]int{}
	for i := range n {
		if flagged[i] {
			f++
		} else {
			missed[kinds[i]]++
		}
		if alarm[i] {
			a++
		}
		if named[i] {
			w++
		}
	}
	t.Logf("%d machines: flagged %.1f %% (missed %v), the right reading named %.1f %% of those, false alarms %.1f %%", n, 100*f/float64(n), missed, 100*w/max(1, f), 100*a/float64(n))
	atMost(t, "gross errors not flagged", 1-f/float64(n), 0.15, 2*deviation(0.15, float64(n)))
	// A slip of the difference of raising and lowering force is hardly ever flagged: sound seals differ by as much.
	atMost(t, "false alarms", a/float64(n), 0.01, max(1/float64(n), 2*deviation(0.01, float64(n)))) // of a few machines one may be
}

// TestStudyPriors: halving or doubling one prior hardly changes the best step.
func TestStudyPriors(t *testing.T) {
	n := machines(50, 2)
	changed, other := make([][numParts][2]bool, n), make([][numParts][2]bool, n)
	each(n, 505, func(i int, rng *rand.Rand) {
		o := drawOld(anySheet(rng), rng, harshness{1, 1, 1})
		list := o.firstReadings()
		m := o.asStated()
		step := func(p Priors) Step {
			s, err := Infer(&Case{Machine: m, Readings: list, Priors: p})
			if err != nil {
				t.Error(err)
				return Step{}
			}
			return s.Next
		}
		best := step(judged(t))
		for part := range numParts {
			for k, by := range []float64{0.5, 2} {
				p := judged(t)
				p.Fault[part] = min(0.95, p.Fault[part]*by)
				x := step(p)
				changed[i][part][k] = x.Is != best.Is || x.Is == StepRepair && x.Repair != best.Repair
				other[i][part][k] = changed[i][part][k] || x.Is == StepMeasure && x.Measure != best.Measure
			}
		}
	})
	worst, all, exact := 0.0, 0.0, 0.0
	for part := range numParts {
		for k := range 2 {
			c := 0.0
			for i := range n {
				if changed[i][part][k] {
					c++
				}
				if other[i][part][k] {
					exact += 1 / float64(n) / float64(2*numParts)
				}
			}
			t.Logf("%v, prior %s: %.0f %%", Part(part), []string{"halved", "doubled"}[k], 100*c/float64(n))
			worst, all = max(worst, c/float64(n)), all+c/float64(n)/float64(2*numParts)
		}
	}
	t.Logf("%d machines: what to do next changes in %.1f %%, for the worst prior in %.1f %%; with another measurement to make counted too in %.1f %%", n, 100*all, 100*worst, 100*exact)
	atMost(t, "best steps changed by one prior", all, 0.05, 2*deviation(0.05, float64(n*2)))
}

// TestStudyOutcomes: what each outcome of the measurement asked for would lead to is what is
// advised once it is read.
func TestStudyOutcomes(t *testing.T) {
	n := machines(60, 6)
	held, told := make([]float64, n), make([]float64, n)
	prior := judged(t)
	each(n, 606, func(i int, rng *rand.Rand) {
		o := drawOld(anySheet(rng), rng, harshness{1, 1, 1})
		list := o.firstReadings()
		m := o.asStated()
		s, err := Infer(&Case{Machine: m, Readings: list, Priors: prior, Outcomes: true})
		if err != nil {
			t.Error(err)
			return
		}
		all := 0.0
		for _, out := range s.Next.Outcomes {
			r := Observe(s.Next.Measure, max(0, out.Value), prior.Tool[s.Next.Measure])
			r.At = s.Next.At
			then, err := Infer(&Case{Machine: m, Readings: append(list[:len(list):len(list)], r), Priors: prior})
			if err != nil {
				t.Error(err)
				return
			}
			all += out.Probability
			told[i] += out.Probability
			if then.Next.Is == out.Is && (out.Is != StepRepair || then.Next.Repair == out.Repair) {
				held[i] += out.Probability
			}
		}
		if all != 0 && !near(all, 1, 1e-9) {
			t.Errorf("outcomes of the %v have the probabilities of %g together", s.Next.Measure, all)
		}
	})
	right, of := 0.0, 0.0
	for i := range n {
		right, of = right+held[i], of+told[i]
	}
	t.Logf("%.0f measurements asked for: what their outcomes lead to is as told for %.0f %%", of, 100*right/of)
	if of == 0 {
		t.Fatal("nothing was asked for")
	}
	atMost(t, "outcomes that lead elsewhere", 1-right/of, 0.15, 2*deviation(0.15, of))
}

// TestStudyRuledOut: of the springs to be shimmed or replaced, no reading of the spring that is still
// missing, and costs little once it is out, then shows that it need not be.
func TestStudyRuledOut(t *testing.T) {
	n := machines(120, 20)
	out, of := make([]bool, n), make([]bool, n)
	prior := judged(t)
	each(n, 707, func(i int, rng *rand.Rand) {
		o := drawOld(anySheet(rng), rng, harshness{1, 1, 1})
		list := o.firstReadings()
		m := o.asStated()
		infer := func(list []Observation) *State {
			s, err := Infer(&Case{Machine: m, Readings: list, Priors: prior})
			if err != nil {
				t.Error(err)
				return &State{}
			}
			return s
		}
		x := infer(list).Next
		if x.Is != StepRepair || !x.Repair.ofSpring() {
			return
		}
		of[i] = true
		for _, k := range []Kind{FreeLength, WireSize, Coils} {
			if !slices.ContainsFunc(list, func(h Observation) bool { return h.Kinds[0] == k }) {
				list = append(list, o.read(k))
			}
		}
		worth := 0.0
		for _, p := range infer(list).Parts {
			if cures[x.Repair].has(p.Part) {
				worth = max(worth, p.Probability)
			}
		}
		out[i] = worth < 0.5
	})
	advised, ruled := 0.0, 0.0
	for i := range n {
		if of[i] {
			advised++
		}
		if out[i] {
			ruled++
		}
	}
	t.Logf("%.0f machines of which the spring was to be shimmed or replaced at once; of %.0f its length, wire and coils then say otherwise", advised, ruled)
	atMost(t, "springs that a missing reading rules out", ruled/max(1, advised), prior.RuleOut, 2*deviation(prior.RuleOut, max(1, advised)))
}
