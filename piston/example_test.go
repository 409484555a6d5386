package piston_test

import (
	"fmt"
	"math"

	"springcalc/piston"
)

// A group with a 49 mm bore and 24 mm of stroke; the spring has 25 N/mm and 20 mm of preload.
var group = piston.Cylinder{
	Bore: 0.049, Stroke: 0.024, Port: 0.003, Weight: 5,
	Seal: piston.Seal{Constant: 25, PerPa: 4e-5},
}

func groupSpring(lift float64) float64 { return 25e3 * (0.020 + lift) }

// A handle of 26 cm draws up the piston through a link, and latches near its dead centre.
var groupLever = piston.Lever{
	Linkage: piston.Link{
		PinRadius: 0.0135, Length: 0.060,
		Span: piston.Span{From: 35 * math.Pi / 180, To: 175 * math.Pi / 180},
	},
	Handle:     0.26,
	Efficiency: 0.9,
}

func ExampleLever_Effort() {
	e, err := groupLever.Effort(piston.Load{Cylinder: group, Spring: groupSpring, OpenPressure: 0.8e5}, 5)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range e.Points {
		fmt.Printf("%3.0f°  lift %4.1f mm  cocking %5.1f N  returning %5.1f N\n", p.Angle*180/math.Pi, p.Lift*1e3, p.Cocking, p.Returning)
	}
	fmt.Printf("peak %.1f N at %.1f°\n", e.Peak.Cocking, e.Peak.Angle*180/math.Pi)
	fmt.Printf("hand %.2f J, stored %.2f J, to the water %.2f J\n", e.Energy.Hand, e.Energy.Stored, e.Energy.Recovered)
	// Output:
	//  35°  lift  0.0 mm  cocking  20.8 N  returning  15.3 N
	//  70°  lift  7.3 mm  cocking  41.7 N  returning  31.4 N
	// 105°  lift 15.5 mm  cocking  48.1 N  returning  36.8 N
	// 140°  lift 21.5 mm  cocking  28.2 N  returning  21.4 N
	// 175°  lift 24.0 mm  cocking   3.8 N  returning   2.9 N
	// peak 48.6 N at 97.6°
	// hand 21.66 J, stored 19.34 J, to the water 15.27 J
}

func ExampleFill_Loss() {
	fill := piston.Fill{Headspace: 8e-6, Unfilled: 2e-6, Air: 4e-6, Pressure: 0.8e5, Atmosphere: 1.013e5}
	l, err := fill.Loss(group, groupSpring)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range []struct {
		name string
		piston.Lost
	}{{"port", l.Port}, {"unfilled", l.Unfilled}, {"air", l.Air}} {
		fmt.Printf("%-8s  %.2f mm  %.3f bar\n", c.name, c.Stroke*1e3, c.Pressure/1e5)
	}
	fmt.Printf("peak %.2f of %.2f bar\n", l.Peak/1e5, l.Ideal/1e5)
	// Output:
	// port      3.00 mm  0.389 bar
	// unfilled  1.06 mm  0.138 bar
	// air       1.47 mm  0.191 bar
	// peak 4.89 of 5.61 bar
}

func ExampleLever_Recoil() {
	load := piston.Load{Cylinder: group, Spring: groupSpring}
	r, err := groupLever.Recoil(load, piston.Moving{Piston: 0.45, Inertia: 0.008})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f J, %.1f %% of it in the handle, which strikes at %.1f m/s\n", r.Energy, 100*r.HandleShare, r.StrikeSpeed)
	// Output:
	// 19.3 J, 99.5 % of it in the handle, which strikes at 18.0 m/s
}

// A luggage scale on the handle reads 41.6 N while the piston just rises and
// 31.4 N while it just sinks, at a handle angle of 70°.
func ExampleLever_AtPiston() {
	p, err := groupLever.AtPiston(piston.Pair{Raise: 41.6, Lower: 31.4}, 70*math.Pi/180)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("seal friction %.0f N, spring and weight %.0f N\n", p.Friction(), p.Balance())
	// Output:
	// seal friction 24 N, spring and weight 687 N
}

func ExampleORing_Friction() {
	o := piston.ORing{Bore: 0.049, Groove: 0.0412, Squeeze: 0.10, Hardness: 70, Rings: 1}
	e, err := o.Friction(6e5)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f N, anywhere from %.0f to %.0f N\n", e.Value, e.Low, e.High)
	// Output:
	// 50 N, anywhere from 25 to 75 N
}
