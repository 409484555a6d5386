package logged

import (
	"math"

	"gonum.org/v1/gonum/stat"

	"springcalc/profile"
)

// Puck is what a log says of the coffee.
type Puck struct {
	Resistance float64     // R_ref: resistance of the extracted bed, for Coffee.Resistance [Pa·s/m³]; 0 where the log cannot tell
	AtPressure float64     // P_ref: the pressure that it is worked out for, for Coffee.AtPressure [Pa]
	Low        float64     // 10th percentile of what the stretches of the log give [Pa·s/m³]
	High       float64     // 90th percentile [Pa·s/m³]
	Course     []Hydraulic // resistance over the shot
}

// PucksTogether returns what several logs say of the coffee together, where they
// tell it: the mean of the resistances, from the lowest to the highest, without
// a course. Grinds differ, so it is no surer than each.
func PucksTogether(lines []*Line) Puck {
	var all []float64
	together := Puck{Low: math.Inf(1)}
	for _, l := range lines {
		if p := &l.Puck; p.Resistance > 0 {
			all = append(all, p.Resistance)
			together.AtPressure = p.AtPressure
			together.Low, together.High = min(together.Low, p.Low), max(together.High, p.High)
		}
	}
	if len(all) == 0 {
		return Puck{}
	}
	together.Resistance = stat.Mean(all, nil)
	return together
}

// Hydraulic is the resistance of the bed over a stretch of the shot.
type Hydraulic struct {
	Time       float64 // t: middle of the stretch [s]
	Pressure   float64 // P: mean [Pa]
	Flow       float64 // Q: flow that leaves the bed, at the density of water [m³/s]
	Resistance float64 // R = P/Q [Pa·s/m³]
}

// courseParts is the number of stretches that the course of R is told in.
const courseParts = 25

// readPuck divides pressure by flow over the window. The flow of a stretch is
// the slope of a straight line through its rows. To the value for the sheet,
// each stretch counts what its R would be with nothing left to dissolve and at
// the reference pressure, by the bed's law of the setup.
func readPuck(l Log, s *profile.Setup, line *Line, d *displacement) Puck {
	t, left, p := leaving(l, line.Window, d, line.ByTravel)
	puck := Puck{AtPressure: s.Coffee.AtPressure}
	var plain []float64
	for b := range courseParts {
		i, j := b*len(t)/courseParts, (b+1)*len(t)/courseParts
		if j-i < 3 || !(t[j-1] > t[i]) {
			continue
		}
		flow := fitStraight(t[i:j], t[i:j], left[i:j])
		h := Hydraulic{Flow: flow.slope / d.density}
		for k := i; k < j; k++ {
			h.Time += t[k] / float64(j-i)
			h.Pressure += p[k] / float64(j-i)
		}
		if !(h.Flow > 2*flow.slopeError/d.density) {
			continue // noise
		}
		h.Resistance = h.Pressure / h.Flow
		puck.Course = append(puck.Course, h)
		cup, _ := flow.at(h.Time)
		byLaw := s.BedResistance(profile.Sample{Pressure: h.Pressure, Cup: cup}, line.Peak.Value)
		plain = append(plain, h.Resistance*s.Coffee.Resistance/byLaw)
	}
	if n := len(plain); n > 0 {
		puck.Resistance = median(plain)
		puck.Low, puck.High = plain[n/10], plain[n-1-n/10]
	}
	return puck
}

// leaving returns time, what has left the bed [kg] and pressure in the window.
func leaving(l Log, w Window, d *displacement, byTravel bool) (t, left, p []float64) {
	for _, r := range l {
		m := r.Cup
		if math.IsNaN(m) && byTravel {
			m = d.cup(r.Travel, r.Pressure)
		}
		if r.Time >= w.From && r.Time <= w.To && !math.IsNaN(m+r.Pressure) {
			t, left, p = append(t, r.Time), append(left, m), append(p, r.Pressure)
		}
	}
	return t, left, p
}

// cup returns the cup mass [kg] at a travel [m]: the inverse of travel.
func (d *displacement) cup(z, pressure float64) float64 {
	v := d.area*(z-d.port) - d.taken
	if d.air > 0 {
		v -= d.setup.Water.Air(d.air).Squeezed(pressure)
	}
	w := v * d.density
	if d.soluble == 0 {
		return w
	}
	return w + d.soluble*(1-math.Exp(-w/d.dissolve))
}
