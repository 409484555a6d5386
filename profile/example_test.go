package profile_test

import (
	"fmt"

	"springcalc/profile"
)

// A 50 mm group that falls from 7 to 4 bar over 30 mm, with 16 g in 53 mm.
func ExampleRun() {
	shot, err := profile.Run(oldLever2())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %.1f to %.1f bar, %.0f s after release, %.0f g (1:%.1f)\n",
		shot.Outcome, shot.Peak/1e5, shot.End/1e5, shot.Spring, shot.Yield*1e3, shot.Ratio)
	fmt.Printf("%.0f to %.0f s, as the bed springs back or stays compacted\n", shot.Elastic.Spring, shot.Set.Spring)
	// Output:
	// stroke ended: 7.0 to 4.0 bar, 47 s after release, 60 g (1:3.8)
	// 42 to 53 s, as the bed springs back or stays compacted
}

// A shot that was weighed and timed tells the resistance of its puck.
func ExampleCalibrate() {
	fitted, _, err := profile.Calibrate(oldLever2(), profile.Known{
		Yield: 44e-3, Time: 46, Preinfusion: 12, Dose: 16e-3, Diameter: 53e-3,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f bar·s/mL at %.0f bar\n", fitted.Coffee.Resistance/1e11, fitted.Coffee.AtPressure/1e5)
	// Output:
	// 4.0 bar·s/mL at 9 bar
}
