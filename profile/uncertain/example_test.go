package uncertain_test

import (
	"fmt"
	"math"

	"springcalc/profile/uncertain"
)

// The rate of a spring from its dimensions, k = G d⁴/(8 D³ n). The wire and the
// outside diameter are measured with one caliper, whose zero and scale have a
// standard uncertainty of 10 µm that both share: r = 10²/(20/√3)² ([GUM] F.1.2.3).
func ExampleLinear() {
	d := uncertain.Tolerance("wire", 4e-3, 20e-6, uncertain.Uniform)
	od := uncertain.Tolerance("outside diameter", 40e-3, 20e-6, uncertain.Uniform)
	p := uncertain.Problem{
		Inputs: []uncertain.Input{d, od,
			uncertain.HalfWidth95("active coils", 7.5, 0.2),
			uncertain.HalfWidth95("shear modulus", 70e9, 2e9)},
		Correlated: []uncertain.Correlation{{A: d.Name, B: od.Name, R: 0.75}},
		Outputs:    []string{"rate"},
	}
	e, err := uncertain.Linear(p, func(x, y []float64) error {
		d, mean := x[0], x[1]-x[0]
		y[0] = x[3] * math.Pow(d, 4) / (8 * math.Pow(mean, 3) * x[2])
		return nil
	}, uncertain.LinearOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	k := e.Outputs[0]
	fmt.Printf("k = %.0f N/m, u = %.0f N/m, 95 %% from %.0f to %.0f N/m\n", k.Value, k.Std, k.Low, k.High)
	for _, t := range k.Budget {
		fmt.Printf("%-17s %5.1f %%\n", t.Input, 100*t.Share)
	}
	// Output:
	// k = 6401 N/m, u = 148 N/m, 95 % from 6111 to 6692 N/m
	// shear modulus      39.6 %
	// active coils       34.5 %
	// wire               27.5 %
	// outside diameter   -1.5 %
}

// The time that a volume of 40 cm³ takes through a bed, where the permeability is
// known only to within a factor.
func ExampleMonteCarlo() {
	p := uncertain.Problem{
		Inputs: []uncertain.Input{
			uncertain.PlausibleRange("permeability", 0.5e-14, 2e-14),           // m²
			uncertain.Limits("viscosity", 0.30e-3, 0.35e-3, uncertain.Uniform), // Pa·s
			uncertain.HalfWidth95("pressure", 6e5, 0.4e5),                      // Pa
		},
		Outputs: []string{"time"},
	}
	const volume, depth, area = 40e-6, 12e-3, 20e-4
	newModel := func() uncertain.Model {
		return func(x, y []float64) error {
			y[0] = volume * x[1] * depth / (x[0] * area * x[2])
			return nil
		}
	}
	r, err := uncertain.MonteCarlo(p, newModel, uncertain.Options{Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	t := r.Outputs[0]
	fmt.Printf("median %.0f s, 95 %% from %.0f to %.0f s\n", t.Median, t.Low, t.High)
	for _, s := range r.Shares(0) {
		fmt.Printf("%-13s %3.0f %%\n", s.Input, 100*s.Index)
	}
	// Output:
	// median 13 s, 95 % from 6 to 26 s
	// permeability   96 %
	// viscosity       2 %
	// pressure        1 %
}
