package profile

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// ErrKnown marks a known shot that cannot have been.
var ErrKnown = errors.New("profile: impossible known shot")

// Known is a shot that somebody has pulled and weighed.
type Known struct {
	Yield       float64 // mass in the cup [kg]
	Time        float64 // time in all, from opening the port or from pressure on [s]
	Preinfusion float64 // part of it before the release [s]; not used at constant pressure
	Pressure    float64 // constant gauge pressure it was pulled at [Pa]; 0 where the setup's springs pulled it
	Peak        float64 // highest gauge pressure that it showed [Pa]; 0 where nobody looked
	Dose        float64 // dry coffee [kg]
	Diameter    float64 // inside diameter of its basket [m]
}

// What is known of the water that a wetted bed keeps, per mass of dose [-].
const (
	retainedLow  = 0.8 // from a puck moisture of 50 %
	retainedHigh = 1.5 // no room for more between the grains
	retainedMost = 3.0 // what a calibration may try
)

// Calibrate returns the setup with the puck that the known shot tells of.
//
// A shot pulled by the setup's own springs to its end gives two numbers, and
// so fixes two: the time fixes the resistance, the yield the water that did
// not reach the cup, which is booked as retained by the bed. At constant
// pressure the yield was somebody's choice, so only the resistance is fixed.
// A peak that somebody read off the gauge tells the springs' force as they are
// now: the preload of the first is moved until the setup has that peak.
//
// Resistance is carried from the known bed to the setup's own as dose over
// basket area squared (Darcy's law).
//
// It returns ErrKnown where no puck explains the shot, and doubts where one
// does but is unlike those measured.
func Calibrate(s *Setup, k Known) (*Setup, []string, error) {
	if err := errors.Join(s.Validate(), k.validate()); err != nil {
		return nil, nil, err
	}
	pulled := *s
	pulled.Coffee.Resistance, pulled.Coffee.FoundDose, pulled.Coffee.FoundDiameter = s.OwnResistance(), 0, 0
	pulled.Coffee.Dose = k.Dose
	pulled.Basket = Basket{Diameter: k.Diameter}
	var err error
	if k.Pressure > 0 {
		err = pulled.fitPumped(k)
	} else {
		if k.Peak > 0 {
			err = pulled.FitPeak(k.Peak)
		}
		err = errors.Join(err, pulled.fitPulled(k))
	}
	if err != nil {
		return nil, nil, err
	}

	fitted := pulled.InBasket(s.Basket, s.Coffee.Dose) // the known basket has no depth: the headspace stays
	fitted.Pulls = s.Pulls
	var doubts []string
	if w := fitted.Coffee.Retained; w != s.Coffee.Retained && (w < retainedLow || w > retainedHigh) {
		doubts = append(doubts, fmt.Sprintf("to give the known yield the bed would have to keep %.2f g of water per g of coffee; %.1f to %.1f is what pucks keep, so some stroke may be lost elsewhere (port, air, short cocking)", w, retainedLow, retainedHigh))
	}
	return fitted, doubts, nil
}

func (k *Known) validate() error {
	var c checker
	c.positive("Known.Yield", k.Yield, "kg")
	c.positive("Known.Time", k.Time, "s")
	c.that(k.Preinfusion >= 0 && k.Preinfusion < k.Time, "Known.Preinfusion", k.Preinfusion, "s", "0 or more and less than the whole time")
	c.notNegative("Known.Pressure", k.Pressure, "Pa")
	c.notNegative("Known.Peak", k.Peak, "Pa")
	c.positive("Known.Dose", k.Dose, "kg")
	c.positive("Known.Diameter", k.Diameter, "m")
	return errors.Join(c.faults...)
}

// fitPumped sets the resistance for a shot at constant pressure. The time
// after the front is through is in proportion to it.
func (s *Setup) fitPumped(k Known) error {
	var c checker
	if c.opens(&s.Coffee, k.Pressure); len(c.faults) > 0 {
		return errors.Join(c.faults...)
	}
	drive, bed := boiler(k.Pressure), newBed(s)
	soak := &course{bed: bed, cuts: whole}
	soak.stage(&drive, 0, bed.retain, math.Inf(1))
	if !(soak.now < k.Time) {
		return fmt.Errorf("%w: time is %.3g s, but wetting the bed alone takes %.3g s at that pressure", ErrKnown, k.Time, soak.now)
	}
	whole := &course{bed: bed, cuts: whole}
	whole.stage(&drive, 0, bed.volumeFor(k.Yield), math.Inf(1))
	s.Coffee.Resistance *= (k.Time - soak.now) / (whole.now - soak.now)
	return nil
}

// fitPulled sets resistance and retained water for a shot of the setup's own
// springs over one whole pull.
func (s *Setup) fitPulled(k Known) error {
	pull := s.Pulls[0]
	pull.Preinfusion, pull.EndCup = k.Preinfusion, 0
	s.Pulls = []Pull{pull}
	if s.fitNearby(k) {
		return nil
	}
	var got Summary
	yield := func(retained float64) float64 {
		s.Coffee.Retained = retained
		got = s.fitTime(k.Time)
		return got.Yield
	}
	switch w := root(func(w float64) float64 { return k.Yield - yield(w) }, 0, retainedMost); {
	case yield(w) < k.Yield && w == 0:
		return fmt.Errorf("%w: yield is %.4g g, but one stroke gives at most %.4g g with nothing kept by the bed", ErrKnown, k.Yield*1e3, got.Yield*1e3)
	case got.Yield > k.Yield && w == retainedMost:
		return fmt.Errorf("%w: yield is %.4g g, but one stroke gives at least %.4g g", ErrKnown, k.Yield*1e3, got.Yield*1e3)
	}
	if math.Abs(got.Total-k.Time) > 1e-6*k.Time {
		return fmt.Errorf("%w: time is %.3g s, but with that yield no puck makes it other than %.3g s (%s)", ErrKnown, k.Time, got.Total, got.Outcome)
	}
	return nil
}

// fitNearby is fitPulled by a secant method from the resistance and the retained water
// that the setup has, and from the slopes of a like shot where it knows one. It reports
// false, and changes nothing, where it finds no puck.
//
// Two of the four slopes a shot tells by itself: from the release, or from when the front
// is through if that is later, its time is in proportion to resistance; and as long as no
// water has left the bed before the release, the yield does not depend on it at all. The
// slopes by the retained water are those between the last two shots, and where yield
// depends on resistance, that is corrected by what is left (C. G. Broyden, Math. Comp. 19 (1965) 577).
// As a bed that is wet through by the release yields otherwise than one that is not, the
// retained water stays between the least and the most that are left.
func (s *Setup) fitNearby(k Known) bool {
	trial := *s
	start := [2]float64{s.Coffee.Resistance, cmp.Or(s.Coffee.Retained, retainedLow)}
	var slope [2][2]float64 // of row f by column x
	late := false           // the front came through after the release
	miss := func(x [2]float64) (f [2]float64) {
		trial.Coffee.Resistance, trial.Coffee.Retained = start[0]*x[0], start[1]*x[1]
		got := follow(&trial, nil)
		late = got.FrontThrough >= k.Preinfusion
		slope[0][0] = (got.Total - max(got.FrontThrough, k.Preinfusion)) / k.Time / x[0]
		if late {
			slope[1][0] = 0
		}
		return [2]float64{got.Total/k.Time - 1, got.Yield/k.Yield - 1}
	}
	const step, enough, most = 1e-3, 1e-10, 20
	x := [2]float64{1, 1}
	f := miss(x)
	if known := s.Coffee.Slopes; known != ([2][2]float64{}) {
		slope[0][1], slope[1][1] = known[0][1], known[1][1]
		if !late {
			slope[1][0] = known[1][0]
		}
	} else {
		if !late {
			slope[1][0] = (miss([2]float64{1 + step, 1})[1] - f[1]) / step
		}
		up := miss([2]float64{1, 1 + step})
		slope[0][1], slope[1][1] = (up[0]-f[0])/step, (up[1]-f[1])/step
	}
	least, greatest := 0.0, retainedMost/start[1]
	for range most {
		if f[1] > 0 {
			least = x[1]
		} else {
			greatest = x[1]
		}
		det := slope[0][0]*slope[1][1] - slope[0][1]*slope[1][0]
		dx := [2]float64{
			(slope[0][1]*f[1] - slope[1][1]*f[0]) / det,
			(slope[1][0]*f[0] - slope[0][0]*f[1]) / det,
		}
		if to := x[1] + dx[1]; !(to > least && to < greatest) {
			dx[1] = (least+greatest)/2 - x[1]
			dx[0] = -(f[0] + slope[0][1]*dx[1]) / slope[0][0]
		}
		for i := range dx { // no further than a puck may be, nor than the slopes can hold
			dx[i] = min(x[i], max(-x[i]/2, dx[i]))
			x[i] += dx[i]
		}
		if !(x[0] > 0 && x[1] > 0) { // NaN too
			return false
		}
		before := f
		f = miss(x)
		if math.Abs(f[0]) < enough && math.Abs(f[1]) < enough {
			s.Coffee = trial.Coffee
			for i := range slope { // per part of what was found
				s.Coffee.Slopes[i] = [2]float64{slope[i][0] * x[0], slope[i][1] * x[1]}
			}
			return true
		}
		left := f[1] - before[1] - slope[1][0]*dx[0] - slope[1][1]*dx[1]
		if !late {
			length := dx[0]*dx[0] + dx[1]*dx[1]
			slope[1][0] += left * dx[0] / length
			slope[1][1] += left * dx[1] / length
		} else if dx[1] != 0 {
			slope[1][1] += left / dx[1]
		}
		if dx[1] != 0 {
			slope[0][1] = (f[0] - before[0] - slope[0][0]*dx[0]) / dx[1]
		}
	}
	return false
}

// FitPeak moves the preload of the first spring until the first pull of a valid
// setup has a peak [Pa]. It returns ErrKnown where no preload gives it.
func (s *Setup) FitPeak(peak float64) error {
	s.Springs = slices.Clone(s.Springs)
	start := s.Springs[0].Preload
	at := func(change float64) float64 {
		s.Springs[0].Preload = start + change
		d := newDrive(s, s.AirAtClosing(&s.Pulls[0]))
		z, _ := d.closing()
		return d.pressure(z) - peak
	}
	most := 2 * (peak*(s.Cylinder.Area()+s.Cylinder.Seal.PerPa) + s.Cylinder.Seal.Constant)
	least := -s.Springs[0].Force(s.Cylinder.Stroke)
	if got := at(root(at, least, most)); math.Abs(got) > 1e-9*peak {
		return fmt.Errorf("%w: no preload gives a peak of %.3g bar", ErrKnown, peak/1e5)
	}
	return nil
}

// fitTime sets the resistance with which the shot takes a time [s], and returns the
// shot. From the release on, time is nearly in proportion to resistance, so that the secant
// through two shots is soon there; where it strays the root is bracketed.
func (s *Setup) fitTime(total float64) (got Summary) {
	late := func(r float64) float64 {
		s.Coffee.Resistance = r
		got = follow(s, nil)
		return got.Total - total
	}
	start, before := s.Coffee.Resistance, s.Pulls[0].Preinfusion
	miss := late(start)
	last, next := start, start*(total-before)/(miss+total-before)
	const far, most = 2.0, 20 // factor between two guesses [-]
	for range most {
		if !(next > last/far && next < last*far) {
			break
		}
		f := late(next)
		if next == last || math.Abs(f) <= 1e-12*total {
			return got
		}
		last, next, miss = next, next-f*(next-last)/(f-miss), f
	}
	r := root(func(lnR float64) float64 { return late(math.Exp(lnR)) }, math.Log(start/1e3), math.Log(start*1e3))
	late(math.Exp(r))
	return got
}
