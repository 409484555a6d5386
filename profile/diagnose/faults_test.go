package diagnose

import (
	"errors"
	"math"
	"strings"
	"testing"
)

// TestBadCase: every fault of a case is told at once, with its value and limit.
func TestBadCase(t *testing.T) {
	p := judged(t)
	noSpring := cafeMachine()
	noSpring.Spring = nil
	p.Fault[PartSeal] = 1.5
	bad := []Observation{
		Observe(Peak, math.NaN(), 1), Observe(Drag, 40, 0), Observe(Kind(99), 1, 1), Observe(BenchLoad, 500, 5), Observe(EndPress, -1, 1), Observe(LogBow, math.Inf(-1), 1),
		asNew(Observe(Drag, 40, 8)), {}, {Kinds: []Kind{LogRate, LogStart}, Values: []float64{1, 2}, Cov: [][]float64{{1, 2}, {2, 1}}},
		{Kinds: []Kind{LogRate, LogStart}, Values: []float64{1, 2}, Cov: [][]float64{{1, 0.5}, {0.4, 1}}},
	}
	_, err := Infer(&Case{Machine: noSpring, Readings: bad, Priors: p, Wish: -1, Course: Course{SetOdds: math.Inf(1)}, Renewed: []Part{77}})
	if !errors.Is(err, ErrInput) {
		t.Fatalf("%v", err)
	}
	for _, want := range []string{
		"peak pressure is NaN", "uncertainty of the difference of raising and lowering force is 0", "unknown measurement 99", "length of the load on the bench is 0 m",
		"end pressure is -1", "is -Inf", "only a peak can be", "0 kinds", "not positive definite", "0.4 one way, 0.5 the other",
		"prior fault.seal is 1.5", "wanted peak is -1", "course of peaks is +Inf", "unknown part 77",
	} {
		if !strings.Contains(err.Error(), want) {
			t.Errorf("error does not say %q:\n%v", want, err)
		}
	}
	if _, err := Infer(&Case{Machine: noSpring, Readings: []Observation{Observe(FreeLength, 0.15, 1e-4)}, Priors: judged(t)}); err == nil || !strings.Contains(err.Error(), "dimensions as new are not known") {
		t.Errorf("free length without a sheet: %v", err)
	}
	if _, err := Infer(&Case{Priors: judged(t)}); !errors.Is(err, ErrInput) {
		t.Errorf("no machine: %v", err)
	}
}

// TestBadPriors: a name that is missing or unknown, and a figure out of range, is told.
func TestBadPriors(t *testing.T) {
	if _, err := NewPriors(func(string) (float64, bool) { return 0, false }); !errors.Is(err, ErrInput) || !strings.Contains(err.Error(), "prior effort.shim is not given") {
		t.Errorf("no figures: %v", err)
	}
	p := judged(t)
	if err := p.Set("fault.moon", 1); !errors.Is(err, ErrInput) {
		t.Errorf("unknown name: %v", err)
	}
	for name, v := range map[string]float64{"right": 0.51, "doubt": 0.51, "worth": 0.51, "share.most": 0.96, "course.power": 1.01} {
		if err := p.Set(name, v); !errors.Is(err, ErrInput) {
			t.Errorf("%s of %g: %v", name, v, err)
		}
	}
	if err := p.Set("sound.seal_factor", 0.5); err == nil || !strings.Contains(err.Error(), "sound.seal_factor is 0.5") {
		t.Errorf("out of range: %v", err)
	}
}

// TestNoDimensions: without the spring's dimensions the rest is still answered,
// and no measurement is asked for that could not be compared.
func TestNoDimensions(t *testing.T) {
	m := cafeMachine()
	m.Spring = nil
	s := infer(t, &Case{Machine: m, Priors: judged(t), Readings: []Observation{Observe(Peak, 5*bar, 0.15*bar), Observe(Drag, 500, 10)}})
	if s.of(PartSeal).Probability < 0.9 {
		t.Errorf("seal %.3f", s.of(PartSeal).Probability)
	}
	for _, x := range s.Steps {
		if x.Is == StepMeasure && ofSpring(x.Measure) {
			t.Errorf("asks for the %v", x.Measure)
		}
	}
}

// TestHopelessMachine: a machine that gives no shot as new is an error, not an answer.
func TestHopelessMachine(t *testing.T) {
	m := cafeMachine()
	m.Setup.Springs[0].Preload = -700
	if _, err := Infer(&Case{Machine: m, Priors: judged(t)}); !errors.Is(err, ErrInput) {
		t.Errorf("%v", err)
	}
}

// TestManyRepairs: however many repairs lie between readings, the last ones are
// weighed as if the oldest had not been given, which is said.
func TestManyRepairs(t *testing.T) {
	p := judged(t)
	since := []Part{PartFill, PartLever, PartPuck, PartGauge, PartSeal, PartHeadspace, PartSet}
	list := []Observation{asNew(Observe(Peak, 8.6*bar, 0.15*bar)), Observe(Peak, 7.9*bar, 0.15*bar)}
	for n := range since {
		r := Observe(Peak, (7.6-0.2*float64(n))*bar, 0.15*bar)
		r.Before = since[len(since)-1-n:]
		list = append(list, r)
	}
	all := infer(t, &Case{Machine: cafeMachine(), Priors: p, Readings: list, Renewed: since})
	late := infer(t, &Case{Machine: cafeMachine(), Priors: p, Readings: list[:2+mostStages-1], Renewed: since})
	if all.Evidence != late.Evidence || len(all.Used) != len(late.Used) {
		t.Errorf("ln evidence %g by %d readings, of the last repairs %g by %d", all.Evidence, len(all.Used), late.Evidence, len(late.Used))
	}
	if len(all.Doubts) != len(late.Doubts)+1 {
		t.Errorf("doubts %q", all.Doubts)
	}
}
