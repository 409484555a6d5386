package diagnose_test

import (
	"fmt"
	"log"
	"math"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/profile/diagnose"
	"springcalc/spring"
)

const (
	mm  = 1e-3
	bar = 1e5
)

// group is a lever group that gave 9 bar when new.
func group() profile.Setup {
	return profile.Setup{
		Springs:  []spring.Linear{{Rate: 30e3, Preload: 1070}},
		Cylinder: piston.Cylinder{Bore: 50 * mm, Stroke: 24 * mm, Seal: piston.Seal{Constant: 20}},
		Basket:   profile.Basket{Diameter: 51 * mm},
		Coffee: profile.Coffee{Dose: 14e-3, BulkDensity: 450, Resistance: 5e11, AtPressure: 9 * bar, Loading: 1, Unloading: 0.5,
			Threshold: 3 * bar, Low: 0.67, Blocking: 0.386, BlockingBy: 0.385, Retained: 1.1, DryPerm: 1.8e-14, Soluble: 0.2, SolubleBy: 0.6},
		Water: profile.Water{Viscosity: 3.15e-4, Density: 965, Fill: 1 * bar, Atmosphere: 101325},
		Pulls: []profile.Pull{{Preinfusion: 10}},
	}
}

// A logged shot of pressure and cup mass shows the rate of the spring, whatever
// the coffee did.
func ExampleReadLine() {
	s := group()
	shot, err := profile.Run(&s)
	if err != nil {
		log.Fatal(err)
	}
	var l diagnose.Log
	for t := 0.0; t < shot.Total; t += 0.1 {
		at := shot.At(t)
		noise := 0.05 * bar * math.Sin(97*t) // in place of a logger's
		l = append(l, diagnose.Row{Time: t, Pressure: at.Pressure + noise, Cup: at.Cup, Travel: math.NaN()})
	}
	line, err := diagnose.ReadLine(l, &s, diagnose.Options{Seed: 1})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("rate %.1f N/mm, cocked %.0f N\n", line.Rate.Value/1e3, line.Cocked.Value)
	// Output:
	// rate 30.0 N/mm, cocked 1790 N
}

// The peak has fallen from 9 to 6.8 bar, the shot still ends at the usual
// pressure, and the cup is short by a third: the water did not fill the chamber.
func ExampleRank() {
	m := &diagnose.Machine{Setup: group(), Fresh: 9 * bar, Spread: diagnose.UsualSpread()}
	is := func(k diagnose.Kind, value, u float64) diagnose.Measured {
		return diagnose.Measured{Kind: k, Measured: spring.Measured{Value: value, U: u}}
	}
	r, err := diagnose.Rank(m, []diagnose.Measured{
		is(diagnose.Peak, 6.8*bar, 0.15*bar),
		is(diagnose.EndPress, 5.3*bar, 0.15*bar),
		is(diagnose.Yield, 20e-3, 1e-3),
	}, diagnose.UsualPrior())
	if err != nil {
		log.Fatal(err)
	}
	for _, c := range r.Causes[:3] {
		fmt.Printf("%.0f %% %v\n", 100*c.Likelihood, c.Cause)
	}
	fmt.Println("measure next:", r.Next[0].Kind)
	// Output:
	// 53 % deep headspace or dry puck
	// 46 % lever not fully cocked
	// 1 % air or short fill
	// measure next: headspace depth
}

// Two peaks, 40 years apart: the force that is gone and the set that explains it.
func ExampleLose() {
	s := group()
	l, err := diagnose.Lose(diagnose.History{Readings: []diagnose.PeakReading{
		{Age: 0, Peak: 9 * bar},
		{Age: 40 * 365.25 * 86400, Peak: 6.5 * bar},
	}}, &s)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.0f N lost, a set of %.1f mm; law assumed: %v\n", l.Force.Value, l.Set.Value/mm, l.Decline.Assumed)
	// Output:
	// 491 N lost, a set of 16.4 mm; law assumed: true
}
