package replace_test

import (
	"fmt"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// machine is an invented group of 50 mm bore.
func machine() *profile.Setup {
	return &profile.Setup{
		Springs:  []spring.Linear{{Rate: 27e3, Preload: 700}},
		Cylinder: piston.Cylinder{Bore: 50e-3, Stroke: 24e-3, Port: 2e-3, Seal: piston.Seal{Constant: 20, PerPa: 5e-5}},
		Basket:   profile.Basket{Diameter: 51e-3},
		Coffee:   profile.Coffee{Dose: 14e-3, BulkDensity: 400, Resistance: 4.5e11, AtPressure: 9e5},
		Water:    profile.Water{Viscosity: 3.1e-4, Density: 965, Fill: 0.7e5, Atmosphere: 1.013e5},
		Pulls:    []profile.Pull{{Preinfusion: 10}},
	}
}

// The spring for a peak of 6.5 bar that has fallen to 4 bar at the end of the stroke.
func ExampleRequire() {
	wishes := replace.Wishes{Peak: 6.5e5, End: 4e5, Within: 0.25e5}
	r, conflicts, err := replace.Require(machine(), wishes, nil)
	if err != nil || conflicts != nil {
		fmt.Println(err, conflicts)
		return
	}
	fmt.Printf("at rest %.0f N, cocked %.0f N, rate %.1f N/mm\n", r.Rest, r.Cocked(), r.Rate/1e3)
	// Output:
	// at rest 825 N, cocked 1375 N, rate 22.9 N/mm
}

// What is wished may contradict itself. Each conflict says what would resolve it.
func ExampleConflict() {
	_, conflicts, err := replace.Require(machine(), replace.Wishes{Peak: 5e5, End: 6e5, Within: 0.25e5}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range conflicts {
		fmt.Println(c.Why)
		for _, way := range c.Ways {
			fmt.Println("-", way.Text)
		}
	}
	// Output:
	// a spring loses force along its stroke, so a peak of 5 bar cannot end at 6 bar
	// - a peak above 6 bar
	// - an end pressure below 5 bar
}

// Every spring of two wires, with half millimetres of mean diameter and quarter coils.
func ExampleSearch_Run() {
	r, _, err := replace.Require(machine(), replace.Wishes{Peak: 6.5e5, End: 4e5, Within: 0.25e5}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	// Shigley Table 10-6, cold drawn carbon steel.
	yield, err := spring.Rule{Name: "Shigley", Factor: spring.Bergstrasser, Fraction: 0.45}.Criterion()
	if err != nil {
		fmt.Println(err)
		return
	}
	wire := func(diameter, tensile float64) replace.Wire {
		return replace.Wire{Grade: "cold drawn", Diameter: diameter, Tensile: tensile, G: 80e9, E: 196e9, Density: 7850,
			Cocked: replace.Allowed{Criterion: yield, Safety: 1.2}, Solid: replace.Allowed{Criterion: yield, Safety: 1.2},
		}
	}
	space := replace.Space{Bore: 56e-3, Rod: 16e-3, Slack: 1e-3, Installed: 200e-3, Celsius: 20, Support: spring.Support{Seating: spring.FixedFixed}}
	search := replace.Search{
		Job: replace.Job{Requirement: r, Space: space, Limits: replace.UsualLimits()},
		Grid: replace.Grid{
			Wires: []replace.Wire{wire(7e-3, 1670e6), wire(7.5e-3, 1650e6), wire(8e-3, 1630e6)},
			Means: space.MeansBetween(0.5e-3), Coils: replace.Quarters(3, 25),
			Ends: []spring.Ends{spring.ClosedGround}, Convention: spring.US, FreeStep: 0.5e-3,
		},
		Order: replace.DefaultOrder(),
		Keep:  1,
	}
	found, err := search.Run()
	if err != nil {
		fmt.Println(err)
		return
	}
	best := found.Best[0]
	c := best.Parts[0].Coil
	fmt.Printf("%d tried, %d fit\n", found.Tried, found.Fitting)
	fmt.Printf("wire %.1f mm, mean diameter %.1f mm, %.2f coils, free length %.1f mm\n", c.Wire*1e3, c.Mean*1e3, c.Active, c.Free*1e3)
	fmt.Printf("%v is the weakest margin: %.0f %%\n", best.WeakestOf, 100*best.Weakest)
	// Output:
	// 21627 tried, 43 fit
	// wire 8.0 mm, mean diameter 46.5 mm, 17.00 coils, free length 232.5 mm
	// stress solid is the weakest margin: 9 %
}
