package diagnose

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"springcalc/profile"
	"springcalc/spring"
)

// year is a Julian year [s].
const year = 365.25 * 86400

// horizon is how far ahead a threshold is sought [years].
const horizon = 50

// PeakReading is a peak pressure at an age of the spring.
type PeakReading struct {
	Age  float64 // t: since the spring was new [s]
	Peak float64 // P: peak pressure, gauge [Pa]
}

// History is the peaks of a machine over the years.
type History struct {
	Readings []PeakReading
	U        float64 // u: standard uncertainty of a reading, for two readings; more tell their own scatter [Pa]
	T0       float64 // t0: time constant of the log-time law [s]; 0 for spring.DefaultT0
	Keep     float64 // P_keep: pressure that is still wanted [Pa]; 0 for none
}

// Loss is the force lost over the years. It takes seal, fill and gauge for
// unchanged: that is what Rank questions.
type Loss struct {
	Force   Estimate       // ΔF: force on the piston lost from new to the last reading, cocked [N]
	Share   float64        // ΔF over the force when new [-]
	Set     Estimate       // equivalent set ΔF/k, at the rate as new [m]
	Decline spring.Decline // law through the readings: assumed for two, fitted for more
	Course  []Forecast     // from new to the horizon
	Passes  Passing        // when the peak passes the pressure that is still wanted
	Doubts  []string
}

// Forecast is the peak expected of a reading at an age.
type Forecast struct {
	Age  float64  // t: since the spring was new [s]
	Peak Estimate // P: with the 95 % prediction interval; no interval where nothing gives one [Pa]
}

// Passing is the age at which the forecast of the peak falls below a pressure.
type Passing struct {
	Asked  bool    // a pressure was given
	Never  bool    // not within 50 years from the last reading
	Passed bool    // before the last reading
	Age    float64 // when the forecast passes; 0 where Never [s]
	Early  float64 // when the low end of the band passes, not before the last reading; 0 where it does not [s]
	Late   float64 // when the high end passes, likewise [s]
}

// Lose works out the force lost from readings of the peak, two or more at
// different ages; that of the fresh spring has age 0. The machine is as new.
func Lose(h History, s *profile.Setup) (*Loss, error) {
	if err := errors.Join(s.Validate(), h.validate()); err != nil {
		return nil, err
	}
	t0 := h.T0
	if t0 == 0 {
		t0 = spring.DefaultT0
	}
	c := &s.Cylinder
	perPa := c.Area() + c.Seal.PerPa
	none := cockedForce(s, 0)
	force := func(p float64) float64 { return none + p*perPa }
	pressure := func(f float64) float64 { return (f - none) / perPa }

	r := spring.Readings{T0: t0, U: h.U * perPa}
	lg := make([]float64, len(h.Readings))
	last := 0.0
	for i, p := range h.Readings {
		r.Points = append(r.Points, spring.Reading{Age: p.Age, Force: force(p.Peak)})
		lg[i] = math.Log10(1 + p.Age/t0)
		last = max(last, p.Age)
	}
	d, err := spring.FitDecline(r)
	if err != nil {
		return nil, err
	}
	l := &Loss{Decline: d, Doubts: d.Doubts}
	lost, half := d.Decade*math.Log10(1+last/t0), slopeHalf(lg, r.U, d)*math.Log10(1+last/t0)
	l.Force = Estimate{lost, lost - half, lost + half}
	l.Share = lost / d.Initial
	if k := rateOf(s); k > 0 {
		l.Set = Estimate{lost / k, (lost - half) / k, (lost + half) / k}
	}

	at := func(age float64) Estimate {
		f, err := d.Forecast(age, coverage)
		if err != nil {
			return Estimate{} // the law has nothing left there
		}
		return Estimate{pressure(f.Force), max(0, pressure(f.Low)), pressure(f.High)}
	}
	for _, part := range [...]float64{0, 0.001, 0.005, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1} {
		age := part * (last + horizon*year)
		l.Course = append(l.Course, Forecast{age, at(age)})
	}
	if h.Keep > 0 {
		l.Passes = pass(at, h.Keep, last)
	}
	if d.Decade > 0 && h.Keep > 0 && !l.Passes.Never && d.Assumed {
		l.Doubts = append(l.Doubts, "When the wanted pressure is passed rests on the assumed law; a third reading in a year or two would test it.")
	}
	return l, nil
}

func (h *History) validate() error {
	var faults []error
	for i, r := range h.Readings {
		if !(r.Peak > 0) || math.IsInf(r.Peak, 1) {
			faults = append(faults, fmt.Errorf("%w: reading %d: peak is %g Pa, want more than 0", ErrInput, i+1, r.Peak))
		}
	}
	faults = append(faults, notNegative("History.U", h.U, "Pa"), notNegative("History.Keep", h.Keep, "Pa"))
	return errors.Join(faults...)
}

// slopeHalf returns half the 95 % interval of the force lost per decade [N]:
// from the scatter of the readings with Student's t, or from their stated
// uncertainty where there are two.
func slopeHalf(lg []float64, u float64, d spring.Decline) float64 {
	n := len(lg)
	sxx := stat.Variance(lg, nil) * float64(n-1)
	if d.Assumed {
		return twoSided * u / math.Sqrt(sxx)
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(n - 2)}.Quantile((1 + coverage) / 2)
	return t * d.Scatter / math.Sqrt(sxx)
}

// rateOf returns the rate of all springs together [N/m].
func rateOf(s *profile.Setup) float64 {
	k := 0.0
	for _, sp := range s.Springs {
		k += sp.Rate
	}
	return k
}

// pass seeks, to a tenth of a month, when a falling forecast passes a pressure.
// The ends of the band are sought from the last reading on, where they fall.
func pass(at func(age float64) Estimate, keep, last float64) Passing {
	const steps = horizon * 120
	end := last + horizon*year
	first := func(from float64, p func(Estimate) float64) float64 {
		age := func(i int) float64 { return from + (end-from)*float64(i)/steps }
		i := sort.Search(steps+1, func(i int) bool { return p(at(age(i))) < keep })
		if i > steps {
			return 0
		}
		return age(i)
	}
	return Passing{
		Asked:  true,
		Passed: at(last).Value < keep,
		Never:  !(at(end).Value < keep),
		Age:    first(0, func(e Estimate) float64 { return e.Value }),
		Early:  first(last, func(e Estimate) float64 { return e.Low }),
		Late:   first(last, func(e Estimate) float64 { return e.High }),
	}
}
