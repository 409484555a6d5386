package logged_test

import (
	"fmt"
	"log"
	"math"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/profile/logged"
	"springcalc/spring"
)

// A logged shot of pressure and cup mass shows the rate of the spring, whatever
// the coffee did. The invented group has 50 mm of bore; its pressure falls by
// 0.08 bar for each mL that runs, from 7.2 bar.
func ExampleReadLine() {
	s := profile.Setup{
		Springs:  []spring.Linear{{Rate: 30e3, Preload: 1000}},
		Cylinder: piston.Cylinder{Bore: 50e-3, Stroke: 24e-3, Seal: piston.Seal{Constant: 20}},
		Basket:   profile.Basket{Diameter: 51e-3},
		Coffee:   profile.Coffee{Dose: 14e-3, BulkDensity: 450, Resistance: 5e11, AtPressure: 9e5, Loading: 1, Unloading: 0.5, Threshold: 3e5, DryPerm: 1.8e-14},
		Water:    profile.Water{Viscosity: 3.15e-4, Density: 965, Fill: 1e5, Atmosphere: 101325},
		Pulls:    []profile.Pull{{Preinfusion: 10}},
	}
	var l logged.Log
	for i := range 400 {
		t := float64(i) * 0.1
		mL := 40 * (1 - math.Exp(-t/25)) // in place of a scale's
		noise := 0.02 * math.Sin(97*t)   // in place of a gauge's
		l = append(l, logged.Row{Time: t, Pressure: (7.2 - 0.08*mL + noise) * 1e5, Cup: mL * 0.965e-3, Travel: math.NaN()})
	}
	line, err := logged.ReadLine(l, &s, logged.Options{Unsure: logged.UsualUnsure(&s)})
	if err != nil {
		log.Fatal(err)
	}
	if line.Withheld != "" {
		fmt.Println(line.Withheld)
		return
	}
	fmt.Printf("%.3f bar/mL, rate %.1f N/mm\n", line.Raw.Slope.Value/1e11, line.Rate.Value/1e3)
	// Output:
	// -0.080 bar/mL, rate 30.8 N/mm
}
