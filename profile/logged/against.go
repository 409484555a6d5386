package logged

import (
	"errors"
	"math"

	"springcalc/profile"
)

// Pair is one thing that was measured and computed, in the unit of the thing.
type Pair struct {
	Measured   Reading // by the log [unit of the value]
	Computed   float64 // by the model [unit of the value]
	Difference float64 // measured less computed [unit of the value]
	Known      bool    // the log tells it
}

// Off returns the difference with its 95 % interval where the computed value has
// one too, and whether the two agree: whether the interval holds 0. The halves of
// either side add in quadrature, as a computed interval need not be even.
func (p *Pair) Off(computed Estimate) (off Estimate, agree bool) {
	m := p.Measured
	d := m.Value - computed.Value
	off = Estimate{d, d - math.Hypot(m.Value-m.Low, computed.High-computed.Value), d + math.Hypot(m.High-m.Value, computed.Value-computed.Low)}
	return off, off.Holds(0)
}

// Comparison is a logged shot over a computed one.
type Comparison struct {
	Peak  Pair // highest pressure [Pa]
	End   Pair // pressure where the spring's part was over [Pa]
	Time  Pair // from the release to there [s]
	Yield Pair // mass in the cup [kg]

	Rows   []Beside // measured beside computed, for a chart; clocks put together at the release
	Missed string   // why End and Time are not known, where they are not
}

// Beside is one moment of a logged shot and of a computed one.
type Beside struct {
	Time            float64 // since the release [s]
	Pressure, Cup   float64 // measured, the gauge's zero taken off [Pa], [kg]; NaN where not read
	Computed, InCup float64 // computed pressure and cup [Pa], [kg]
}

// Against compares a logged shot with a computed one: see Line.Against. Of a log
// that shows no spring's fall it still compares peak and yield. The setup is
// that of the shot; it is read with the options, as in ReadLine.
func Against(l Log, shot *profile.Shot, s *profile.Setup, o Options) (*Comparison, error) {
	r, err := newReader(l, s, o)
	if err != nil {
		return nil, err
	}
	var c Comparison
	switch err := r.read(); {
	case errors.Is(err, ErrSteady), errors.Is(err, ErrFall), errors.Is(err, ErrRows), errors.Is(err, ErrVolume), errors.Is(err, ErrClock):
		line := r.line
		all := r.log.pressures()
		line.CutOff = true
		line.extremes(all, r.log, o.Lag+o.Unsure.Lag, 0)
		c = line.Against(&shot.Summary, o.Unsure)
		c.Missed = err.Error()
	case err != nil:
		return nil, err
	default:
		c = r.line.Against(&shot.Summary, o.Unsure)
	}
	c.Rows = r.beside(shot)
	return &c, nil
}

// beside returns stretches of the log beside the shot.
func (r *reader) beside(shot *profile.Shot) []Beside {
	began, _ := r.log.rises(r.line.Release)
	began -= math.Ln2 * r.o.Lag
	stretch := (len(r.log) + mostPoints - 1) / mostPoints
	var rows []Beside
	for i := 0; i < len(r.log); i += stretch {
		m := r.log[i:min(len(r.log), i+stretch)].middle()
		now := shot.At(m.Time - began + shot.Preinfusion)
		rows = append(rows, Beside{Time: m.Time - began, Pressure: m.Pressure - r.line.Zero.Value, Cup: m.Cup, Computed: now.Pressure, InCup: now.Cup})
	}
	return rows
}

// Against compares a logged shot with a computed one: peak, pressure at the end
// of the spring's part, time to it from the release, and yield. The measured
// pressures are as the gauge reads, less its zero where the log shows it, and
// their intervals hold what Unsure says of the gauge's scale and zero. The time
// counts from the middle of the release. A log cut off before the spring's part was
// over tells no end and no time, and one whose cup still fills no yield.
//
// The computed figures come with no interval of their own here: Pair.Off takes it
// from the caller, who knows the ± of its sheet.
func (line *Line) Against(shot *profile.Summary, u Unsure) Comparison {
	zero := line.Zero
	pressure := func(e Estimate, own, computed float64, known bool) Pair {
		value := e.Value - zero.Value
		all := hypot(e.U(), zero.U(), u.Gauge*value)
		return pair(Reading{Around(value, all), own}, computed, known)
	}
	const scale = 0.3e-3 // of a cup on a scale, by its steps and last drops [kg]
	c := Comparison{
		Peak:  pressure(line.Peak, line.Peak.U(), shot.Peak, true),
		End:   pressure(line.End.Estimate, line.End.Own, shot.End, !line.CutOff),
		Time:  pair(Reading{Around(line.Duration, line.DurationU), line.DurationU}, shot.Spring, !line.CutOff),
		Yield: pair(Reading{Around(line.Yield, scale), scale}, shot.Yield, line.Yield > 0 && line.Settled),
	}
	if line.CutOff {
		c.Missed = "the log stops before the spring's part was over"
	}
	return c
}

func pair(measured Reading, computed float64, known bool) Pair {
	if !known {
		return Pair{Computed: computed}
	}
	return Pair{measured, computed, measured.Value - computed, true}
}
