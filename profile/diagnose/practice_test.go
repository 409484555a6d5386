package diagnose

import "testing"

// The ordinary cases of the trade (common practice), each with what the readings say together.

// TestSetAndSeal: a spring that has set and a seal that drags are both found.
func TestSetAndSeal(t *testing.T) {
	peak, end, yield, _ := shotOf(t, sick(sizesOf{PartSet: 7 * mm, PartSeal: 150}, 30, 3/bar, 1*mL))
	s := infer(t, &Case{Machine: cafeMachine(), Priors: judged(t), Readings: []Observation{
		asNew(Observe(Peak, 8.6*bar, 0.15*bar)), Observe(Peak, peak, 0.15*bar), Observe(EndPress, end, 0.15*bar), Observe(Yield, yield, 0.5*gram),
		Observe(FreeLength, 143*mm, 0.2*mm), Observe(Drag, 2*180, 8)}})
	set, seal := s.of(PartSet), s.of(PartSeal)
	if set.Probability < 0.9 || seal.Probability < 0.9 || s.Withheld {
		t.Errorf("set %.3f, seal %.3f, p %.3f", set.Probability, seal.Probability, s.Explains)
	}
	if set.Size.Low > 7*mm || set.Size.High < 7*mm || seal.Size.Low > 150 || seal.Size.High < 150 {
		t.Errorf("set %+v m, seal %+v N", set.Size, seal.Size)
	}
	if len(seal.For) == 0 || seal.For[0].Kind != Drag || !(seal.For[0].Sound < seal.For[0].Measured) {
		t.Errorf("for the seal speak %+v", seal.For)
	}
	if s.Shim == nil {
		t.Error("no verdict on a shim")
	}
}

// TestDragAndAir: drag and air together are not taken for a thinner wire, and no spring is replaced.
func TestDragAndAir(t *testing.T) {
	peak, end, yield, _ := shotOf(t, sick(sizesOf{PartSeal: 180, PartFill: 15 * mL}, 30, 3/bar, 1*mL))
	s := infer(t, &Case{Machine: cafeMachine(), Priors: judged(t), Readings: []Observation{
		asNew(Observe(Peak, 8.6*bar, 0.15*bar)), Observe(Peak, peak, 0.15*bar), Observe(EndPress, end, 0.15*bar), Observe(Yield, yield, 0.5*gram), Observe(Drag, 2*210, 10)}})
	if s.of(PartSeal).Probability < 0.8 || s.of(PartWire).Probability > 0.1 {
		t.Errorf("seal %.3f, wire %.3f", s.of(PartSeal).Probability, s.of(PartWire).Probability)
	}
	if s.Next.Is == StepRepair && s.Next.Repair.ofSpring() {
		t.Errorf("advises to %v", s.Next.Repair)
	}
}

// TestSoundSeal: 80 N between raising and lowering is a sound seal, whether
// the rest is sound or the spring has set.
func TestSoundSeal(t *testing.T) {
	for _, set := range []float64{0, 8 * mm} {
		peak, end, _, _ := shotOf(t, sick(sizesOf{PartSet: set}, 40, 3/bar, 1*mL))
		s := infer(t, &Case{Machine: cafeMachine(), Priors: judged(t), Readings: []Observation{
			asNew(Observe(Peak, 8.5*bar, 0.15*bar)), Observe(Peak, peak, 0.15*bar), Observe(EndPress, end, 0.15*bar), Observe(FreeLength, 150*mm-set, 0.2*mm), Observe(Drag, 80, 8)}})
		if p := s.of(PartSeal).Probability; p > 0.05 {
			t.Errorf("set %g: seal %.3f", set, p)
		}
		if p := s.of(PartSet).Probability; set > 0 && p < 0.95 || set == 0 && p > 0.1 {
			t.Errorf("set %g: %.3f", set, p)
		}
		if set == 0 && (s.NothingWrong < 0.8 || s.Next.Is != StepLeave) {
			t.Errorf("nothing wrong %.3f, next %+v", s.NothingWrong, s.Next)
		}
	}
}

// TestSpringSpared: from a peak alone no spring is shimmed or replaced, and
// what is asked for is cheap.
func TestSpringSpared(t *testing.T) {
	p := judged(t)
	for _, peak := range []float64{4 * bar, 5.5 * bar, 7 * bar} {
		s := infer(t, &Case{Machine: cafeMachine(), Priors: p, Readings: []Observation{asNew(Observe(Peak, 8.6*bar, 0.15*bar)), Observe(Peak, peak, 0.15*bar)}})
		if s.Next.Is != StepMeasure || len(s.Next.Outcomes) < 2 {
			t.Errorf("%.1f bar: next %+v", peak/bar, s.Next)
		}
	}
}

// TestCheapReadingFirst: where a shim is sure enough to be the best step, a reading that
// is cheap with the spring out comes before it, as it may show that a shim is not what
// is needed; not where nothing that it may show is held likely enough, nor where no
// reading is cheap.
func TestCheapReadingFirst(t *testing.T) {
	peak, end, yield, _ := shotOf(t, sick(sizesOf{PartSet: 5 * mm}, 30, 3/bar, 1*mL))
	next := func(change func(*Priors)) Step {
		p := judged(t)
		change(&p)
		return infer(t, &Case{Machine: cafeMachine(), Priors: p, Readings: []Observation{
			asNew(Observe(Peak, 8.6*bar, 0.15*bar)), Observe(Peak, peak, 0.15*bar), Observe(EndPress, end, 0.15*bar), Observe(Yield, yield, 0.5*gram), Observe(FreeLength, 145*mm, 2*mm)}}).Next
	}
	if is := next(func(*Priors) {}); is.Is != StepMeasure || is.Rules == nil || !is.Rules.ofSpring() {
		t.Errorf("next %v %v, to rule out %v", is.Is, is.Measure, is.Rules)
	}
	for what, change := range map[string]func(*Priors){
		"nothing is likely enough": func(p *Priors) { p.RuleOut = 1 },
		"nothing is cheap":         func(p *Priors) { p.Cheap = 0 },
	} {
		if is := next(change); is.Rules != nil || is.Is != StepRepair {
			t.Errorf("%s: next %v %v, to rule out %v", what, is.Is, is.Measure, is.Rules)
		}
	}
}

// TestNotTogether: a free length as new, a peak half as high, and every other part
// checked and in order: no repair, and a reading is named.
func TestNotTogether(t *testing.T) {
	s := infer(t, &Case{Machine: cafeMachine(), Priors: judged(t), Readings: []Observation{
		asNew(Observe(Peak, 8.6*bar, 0.15*bar)), Observe(Peak, 4*bar, 0.15*bar), Observe(EndPress, 4.8*bar, 0.15*bar), Observe(LongFill, 8.5*bar, 0.15*bar),
		Observe(FreeLength, 150*mm, 0.2*mm), Observe(WireSize, 6.5*mm, 0.02*mm), Observe(Drag, 60, 8), Observe(Gauge, 1, 0.01), Observe(Travel, 25*mm, 0.3*mm), Observe(Yield, 45*gram, 0.5*gram), Observe(Headspace, 2.9*mm, 0.7*mm)}})
	if !s.Withheld || s.Worst == nil || s.Worst.Kind != Peak || s.Next.Is == StepRepair || !s.Next.Again {
		t.Errorf("p = %.3g, worst %+v, next %+v", s.Explains, s.Worst, s.Next)
	}
}

// TestAfterRepair: a seal that was serviced, with the peak back, is not at
// fault; what was read before still tells of the rest.
func TestAfterRepair(t *testing.T) {
	was, wasEnd, _, _ := shotOf(t, sick(sizesOf{PartSeal: 250}, 30, 3/bar, 1*mL))
	is, _, _, _ := shotOf(t, sick(sizesOf{}, 30, 3/bar, 1*mL))
	before := func(o Observation) Observation {
		o.Before = []Part{PartSeal}
		return o
	}
	s := infer(t, &Case{Machine: cafeMachine(), Priors: judged(t), Readings: []Observation{
		asNew(Observe(Peak, 8.6*bar, 0.15*bar)), before(Observe(Peak, was, 0.15*bar)), before(Observe(EndPress, wasEnd, 0.15*bar)), before(Observe(Drag, 560, 8)), Observe(Peak, is, 0.15*bar)}})
	if s.of(PartSeal).Probability > 0 || s.NothingWrong < 0.6 || s.Withheld {
		t.Errorf("seal %+v, nothing wrong %.3f, p %.3f", s.of(PartSeal), s.NothingWrong, s.Explains)
	}
}
