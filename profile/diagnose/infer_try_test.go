package diagnose

import (
	"fmt"
	"testing"
	"time"

	"springcalc/tables"
)

func judged(t testing.TB) Priors {
	t.Helper()
	p, err := NewPriors(func(name string) (float64, bool) { d, ok := tables.DiagnosisPriorFor(name); return d.Value, ok })
	if err != nil {
		t.Fatal(err)
	}
	return p
}
func show(s *State) {
	fmt.Printf("nothing %.3f p %.3g now %.3g sound %.3g withheld %v %+v\n", s.NothingWrong, s.Explains, s.Now, s.Sound, s.Withheld, s.Worst)
	for _, p := range s.Parts {
		fmt.Printf("  %-28v %.3f %.3f size %.4g gain %.3g\n", p.Part, p.Probability, p.AtFault, p.Size, p.Gain)
		if p.Probability > 0.1 {
			for _, w := range p.For {
				fmt.Printf("      for %v %.4g sound %.4g fault %.4g u %.3g ln %.2f\n", w.Kind, w.Measured, w.Sound, w.Fault, w.U, w.Ln)
			}
			for _, w := range p.Against {
				fmt.Printf("      against %v %.4g sound %.4g fault %.4g u %.3g ln %.2f\n", w.Kind, w.Measured, w.Sound, w.Fault, w.U, w.Ln)
			}
		}
	}
	for i, x := range s.Steps {
		if i < 6 {
			fmt.Printf("  step %d %v %v own %.0f exp %.0f sure %.2f\n", x.Is, x.Measure, x.Repair, x.Effort/60, x.Expected/60, x.Sure)
		}
	}
	fmt.Printf("  next %+v\n", s.Next)
}
func TestZZ(t *testing.T) {
	m := cafeMachine()
	p := judged(t)
	new := Observe(Peak, 8.6*bar, 0.15*bar)
	new.New = true
	for _, o := range [][]Observation{
		{},
		{Observe(Peak, 6.5*bar, 0.15*bar)},
		{new, Observe(Peak, 6.5*bar, 0.15*bar)},
		{new, Observe(Peak, 6.5*bar, 0.15*bar), Observe(FreeLength, 0.143, 0.2*mm), Observe(Drag, 400, 10)},
		{new, Observe(Peak, 8.5*bar, 0.15*bar), Observe(FreeLength, 0.150, 0.2*mm), Observe(Drag, 80, 10), Observe(EndPress, 4.8*bar, .15*bar)},
	} {
		start := time.Now()
		s, err := Infer(&Case{Machine: m, Readings: o, Priors: p})
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println(time.Since(start))
		show(s)
	}
}
