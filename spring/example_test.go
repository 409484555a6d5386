package spring_test

import (
	"fmt"

	"springcalc/spring"
)

const (
	mm   = 1e-3
	hour = 3600.0
	year = 365.25 * 24 * hour
)

// group is the spring of an invented lever machine: wire 6 mm, outside diameter
// 46 mm, 9 turns of which 7 work, closed and ground, 120 mm long.
var group = spring.Compression{
	Wire: 6 * mm, Mean: 40 * mm, Active: 7, Total: 9, Free: 120 * mm,
	Ends: spring.ClosedGround, Convention: spring.US,
	G: 79.5e9, E: 206e9, Density: 7850,
}

// working is how the machine uses it.
var working = spring.Working{Rest: 100 * mm, Cocked: 78 * mm}

func ExampleCompression() {
	if err := group.Validate(); err != nil {
		fmt.Println(err)
	}
	force, err := group.Force(working.Cocked)
	if err != nil {
		fmt.Println(err)
	}
	energy, err := group.Energy(working)
	if err != nil {
		fmt.Println(err)
	}
	fmt.Printf("rate    %.2f N/mm\n", group.Rate()/1e3)
	fmt.Printf("solid   %.1f mm\n", group.SolidLength()/mm)
	fmt.Printf("cocked  %.0f N\n", force)
	fmt.Printf("in the handle if it slips: %.1f J\n", energy)
	// Output:
	// rate    28.75 N/mm
	// solid   54.0 mm
	// cocked  1207 N
	// in the handle if it slips: 19.6 J
}

func ExampleCompression_Validate() {
	bad := group
	bad.Wire = 6 // millimetres by mistake
	fmt.Println(bad.Validate())
	// Output:
	// spring: impossible input: wire diameter is 6 m, want 1e-05 m to 0.1 m
	// spring: impossible input: mean coil diameter is 0.04 m, want more than the wire diameter of 6 m
}

func ExampleCompression_Installed() {
	line, err := group.Installed(working.Rest)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("preload %.0f N, 10 mm up %.0f N\n", line.Preload, line.Force(10*mm))
	// Output:
	// preload 575 N, 10 mm up 862 N
}

func ExampleCompression_Check() {
	// Oil-tempered wire that was not pressed solid when it was made: Shigley Table 10-6.
	yield, err := spring.Rule{Name: "Shigley", Factor: spring.Bergstrasser, Fraction: 0.50}.Criterion()
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := group.Check(yield, spring.Loading{Working: working, Tensile: 1440e6})
	if err != nil {
		fmt.Println(err)
		return
	}
	cocked, _ := m.Cocked.Safety()
	solid, _ := m.Solid.Safety()
	fmt.Printf("%s, factor %v: cocked %.2f, solid %.2f\n", yield.Name(), yield.Factor(), cocked, solid)
	fmt.Println(m.Doubts[0])
	// Output:
	// Shigley, factor Bergstrasser: cocked 1.04, solid 0.66
	// The spring must not be pressed solid: it would take a set.
}

func ExampleCompression_Fatigue() {
	strength := spring.Strength{
		Endurance:     spring.Endurance{Amplitude: 241e6, Mean: 379e6}, // Zimmerli, unpeened
		UltimateShear: 0.67 * 1440e6,
		Line:          spring.Goodman,
	}
	f, err := group.Fatigue(working, strength)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("τ %.0f ± %.0f MPa, safety %.2f\n", f.Cycle.Mean/1e6, f.Cycle.Amplitude/1e6, f.Safety)
	fmt.Println(f.Doubts[0])
	// Output:
	// τ 509 ± 181 MPa, safety 1.02
	// Fatigue limits hold for clean, dry, unmarked wire at room temperature. Hot, wet or rusted wire has no endurance limit: pits start cracks, and a spring may break at any count.
}

func ExampleCompression_Life() {
	wire := spring.LifeWire{
		Tensile: 1440e6, UltimateShear: 0.67 * 1440e6,
		Curve: spring.LifeCurve{{Cycles: 1e5, Share: 0.42}, {Cycles: 1e6, Share: 0.40}, {Cycles: 1e7, Share: 0.38}},
	}
	life, err := group.Life(spring.Working{Rest: 100 * mm, Cocked: 74 * mm}, wire)
	if err != nil {
		fmt.Println(err)
		return
	}
	used, err := spring.Use{PullsPerDay: 60, DaysPerYear: 300, Years: 15}.Cycles()
	if err != nil {
		fmt.Println(err)
		return
	}
	share, err := spring.Miner([]spring.Block{{Cycles: used, Life: life.Cycles}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f of fewer than %.0f cycles: %.1f times the life\n", used, life.Cycles, share)
	fmt.Println(life.Bound == spring.Fewer)
	// Output:
	// 270000 of fewer than 100000 cycles: 2.7 times the life
	// true
}

func ExampleNest() {
	inner := spring.Compression{
		Wire: 4 * mm, Mean: 26 * mm, Active: 8, Total: 10, Free: 95 * mm,
		Ends: spring.ClosedGround, Convention: spring.US, G: 79.5e9, E: 206e9, Density: 7850,
	}
	nest := spring.Nest{group, inner}
	for _, length := range []float64{working.Rest, working.Cocked} {
		force, err := nest.Force(length)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%.0f mm: %.0f N\n", length/mm, force)
	}
	fmt.Printf("room on each side, solid: %.2f mm\n", nest.Rooms()[0].Solid/mm)
	// Output:
	// 100 mm: 575 N
	// 78 mm: 1515 N
	// room on each side, solid: 1.85 mm
}

func ExampleFitBench() {
	b, err := spring.FitBench([]spring.Point{
		{Length: 105 * mm, Load: 402}, {Length: 100 * mm, Load: 540}, {Length: 95 * mm, Load: 689},
		{Length: 90 * mm, Load: 828}, {Length: 85 * mm, Load: 971},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	preload, err := b.Preload(working.Rest, 0.95)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("rate %.2f ± %.2f N/mm, free length %.1f ± %.1f mm\n", b.Rate/1e3, b.RateSE/1e3, b.Free/mm, b.FreeSE/mm)
	fmt.Printf("preload %.0f N, %.0f to %.0f N\n", preload.Value, preload.Low, preload.High)
	// Output:
	// rate 28.52 ± 0.17 N/mm, free length 119.1 ± 0.2 mm
	// preload 543 N, 539 to 548 N
}

func ExampleRelaxation() {
	r := spring.Relaxation{T0: spring.DefaultT0, RefTime: 48 * hour, RefLoss: 0.04}
	loss, err := r.Loss(10 * year)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f %%, %.2f times the first 48 h\n", 100*loss, loss/r.RefLoss)
	// Output:
	// 8.9 %, 2.22 times the first 48 h
}

func ExampleCompression_SetEquivalent() {
	set, err := group.SetEquivalent(147)
	if err != nil {
		fmt.Println(err)
		return
	}
	wear, err := group.WearEquivalent(0.93 * group.Rate())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("147 N less at the same rate: %.1f mm shorter\n", set/mm)
	fmt.Printf("7 %% less rate: wire %.2f mm thinner\n", wear/mm)
	// Output:
	// 147 N less at the same rate: 5.1 mm shorter
	// 7 % less rate: wire 0.11 mm thinner
}
