package course_test

import (
	"fmt"

	"springcalc/profile/course"
)

// A lever machine that was read once a year and got new seals in its sixth year.
// One reading was taken with the gauge not closed.
func Example() {
	l := course.Life{
		NewKnown: true, New: 0,
		Repairs: []course.Repair{{Time: 5.5 * course.Year, Kind: course.Seal, What: "both piston seals"}},
	}
	for i, bar := range []float64{9.3, 9.1, 8.9, 7.2, 8.5, 8.3, 9.2, 9.0, 8.8, 8.6} {
		l.Readings = append(l.Readings, course.Reading{Time: (0.5 + float64(i)) * course.Year, Value: bar * 1e5, U: 5e3})
	}
	l.Readings[5].Before = true // on the day of the repair
	c, err := course.Weigh(l)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("most probable:", c.Fits[0].Law)
	fmt.Printf("the seals brought %.1f bar\n", c.Repairs[0].Change.Value/1e5)
	for _, s := range c.StandsOff {
		fmt.Printf("reading %d stands off by %.1f bar\n", s.Reading+1, s.Off.Value/1e5)
	}
	p, err := c.Passes(7.5e5, 20*course.Year)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("below 7.5 bar after %.0f years\n", p.Time/course.Year)
	// Output:
	// most probable: wear
	// the seals brought 1.1 bar
	// reading 4 stands off by -1.5 bar
	// below 7.5 bar after 15 years
}
