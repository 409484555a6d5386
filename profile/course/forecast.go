package course

import (
	"errors"
	"fmt"
	"math"
)

// Forecast is the course at a time, averaged over the laws.
type Forecast struct {
	Time    float64  // from the epoch [s]
	Course  Estimate // the value itself [unit of the value]
	Reading Estimate // one more reading of it, with its scatter and a usual U [unit of the value]

	Extrapolated bool // before the first reading, or further past the last than the readings span: it rests on the laws
}

// At returns the course at times from the epoch [s], the repairs done as noted.
// No further step, repair or change of use is foreseen.
func (c *Course) At(times ...float64) ([]Forecast, error) {
	var faults []error
	for i, t := range times {
		faults = append(faults, bounded(fmt.Sprintf("time %d", i+1), t, -maxTime, maxTime, "s"))
	}
	if err := errors.Join(faults...); err != nil {
		return nil, err
	}
	d := c.data
	out := make([]Forecast, len(times))
	row := d.widest()
	for i, t := range times {
		done := max(d.done(t, false), d.start)
		out[i] = Forecast{
			Time:         t,
			Extrapolated: t < d.t[0] || t-d.last() > d.last()-d.t[0],
			Course:       c.estimate(func(s *sample) float64 { return s.at(row, t, done) * d.scale }),
			Reading: c.estimate(func(s *sample) float64 {
				return max(0, s.at(row, t, done)+noise(s.noise, s.s*s.s+d.typicalU*d.typicalU)) * d.scale
			}),
		}
	}
	return out, nil
}

// Change returns by how much the course changes from one time to another, both
// from the epoch [s], with the repairs between them.
func (c *Course) Change(from, to float64) (Estimate, error) {
	if err := errors.Join(bounded("first time", from, -maxTime, maxTime, "s"), bounded("second time", to, -maxTime, maxTime, "s")); err != nil {
		return Estimate{}, err
	}
	d := c.data
	row := d.widest()
	before, after := max(d.done(from, false), d.start), max(d.done(to, false), d.start)
	return c.estimate(func(s *sample) float64 {
		v := s.at(row, to, after)
		return (v - s.at(row, from, before)) * d.scale
	}), nil
}

// Passing is when the course falls below a limit, sought from the last reading on.
type Passing struct {
	Limit       float64 // [unit of the value]
	Within      float64 // how far ahead of the last reading it was sought [s]
	Already     float64 // probability that it is below now, at the last reading or after the repairs since [-]
	Probability float64 // that it is below within that time, now included [-]
	Never       bool    // Probability is below one half: not within that time, as far as can be told
	Time        float64 // median, from the epoch; 0 where Never [s]
	Early       float64 // low end of the 95 % interval, from the epoch; 0 where not within [s]
	Late        float64 // high end, from the epoch; 0 where not within [s]
}

// Passes tells when the course passes a limit [unit of the value], within a time
// ahead of the last reading [s].
func (c *Course) Passes(limit, within float64) (Passing, error) {
	if err := errors.Join(bounded("limit", limit, 1e-9, 1e12, "in the unit of the value"),
		bounded("time ahead", within, 1, maxTime, "s")); err != nil {
		return Passing{}, err
	}
	d := c.data
	row := d.widest()
	done := len(d.repairs)
	now := d.last()
	if done > 0 {
		now = max(now, d.repairs[done-1].Time)
	}
	p := Passing{Limit: limit, Within: within}
	end := d.last() + within
	low := limit / d.scale
	e := c.estimate(func(s *sample) float64 {
		switch {
		case s.at(row, now, done) < low:
			p.Already += s.weight
			p.Probability += s.weight
			return now
		case end <= now || s.at(row, end, done) >= low:
			return math.Inf(1)
		}
		p.Probability += s.weight
		a, b := now, end
		for range 40 {
			if m := (a + b) / 2; s.at(row, m, done) < low {
				b = m
			} else {
				a = m
			}
		}
		return b
	})
	finite := func(t float64) float64 {
		if math.IsInf(t, 1) {
			return 0
		}
		return t
	}
	p.Already, p.Probability = min(p.Already, 1), min(p.Probability, 1)
	p.Never = math.IsInf(e.Value, 1)
	p.Time, p.Early, p.Late = finite(e.Value), finite(e.Low), finite(e.High)
	return p, nil
}
