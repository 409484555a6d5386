package diagnose

import (
	"fmt"
	"math/rand/v2"
	"testing"

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
	for _, p := range s.Parts[:5] {
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
	if s.Shim != nil {
		fmt.Printf("  shim %+v\n", *s.Shim)
	}
}
func TestZZ(t *testing.T) {
	p := judged(t)
	for _, i := range []int{53, 127, 64, 146} {
		rng := rand.New(rand.NewPCG(202, uint64(i)))
		o := drawOld(anySheet(rng), rng, harshness{1, 1, 1})
		readings := o.firstReadings()
		s, err := Infer(&Case{Machine: &Machine{Setup: *o.sheet, Spring: o.coil, GaugeLag: 0.5}, Readings: readings, Priors: p})
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println(o.fault, o.coil.Free, o.free, "friction", o.sound, "truth", o.truth().gain)
		for _, r := range readings {
			fmt.Println(r.Kinds, r.Values, r.New)
		}
		show(s)
	}
}
