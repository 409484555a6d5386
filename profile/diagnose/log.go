package diagnose

import (
	"errors"
	"fmt"
	"math"
)

// Why a log cannot answer. Each is wrapped with the figures of the log.
var (
	ErrRows   = errors.New("diagnose: too few rows")
	ErrClock  = errors.New("diagnose: the clock does not run")
	ErrVolume = errors.New("diagnose: neither cup mass nor travel")
	ErrSteady = errors.New("diagnose: the pressure does not fall as a spring's does")
	ErrFall   = errors.New("diagnose: the fall is too short")
	ErrWindow = errors.New("diagnose: impossible window")
	ErrInput  = errors.New("diagnose: impossible input")
)

// notNegative reports a value that is below 0, infinite or no number.
func notNegative(field string, value float64, unit string) error {
	if value >= 0 && !math.IsInf(value, 1) {
		return nil
	}
	return fmt.Errorf("%w: %s is %g %s, want 0 or more", ErrInput, field, value, unit)
}

// minRows is the least number of rows that a line is read from.
const minRows = 10

// Row is one row of a logged shot. What was not read is NaN.
type Row struct {
	Time     float64 // t: since the log began [s]
	Pressure float64 // P: gauge pressure at the group [Pa]
	Cup      float64 // mass in the cup [kg]
	Travel   float64 // z: travel of the piston from the cocked position [m]
}

// Log is a logged shot, its rows in order of time.
type Log []Row

// check reports what makes a log useless before anything is computed.
func (l Log) check() error {
	if len(l) < minRows {
		return fmt.Errorf("%w: %d, want %d or more", ErrRows, len(l), minRows)
	}
	last := math.Inf(-1)
	for i := range l {
		r := &l[i]
		if math.IsNaN(r.Time) || math.IsInf(r.Time, 0) || math.IsInf(r.Pressure, 0) || math.IsInf(r.Cup, 0) || math.IsInf(r.Travel, 0) {
			return fmt.Errorf("%w: row %d is not finite", ErrRows, i+1)
		}
		if r.Time < last {
			return fmt.Errorf("%w: row %d is at %.6g s, after %.6g s", ErrClock, i+1, r.Time, last)
		}
		last = r.Time
	}
	if first := l[0].Time; first == last {
		return fmt.Errorf("%w: it stands still at %.6g s", ErrClock, first)
	}
	if !l.has(func(r Row) float64 { return r.Pressure }) {
		return fmt.Errorf("%w: fewer than %d have a pressure", ErrRows, minRows)
	}
	return nil
}

// mostRows is the number of rows that a longer log is thinned to: their noise
// is below anything that matters, and what follows stays quick.
const mostRows = 20_000

// thin returns the log with each stretch of rows in place of its medians, where
// there are more rows than mostRows, and the number of rows of a stretch.
func (l Log) thin() (Log, int) {
	size := (len(l) + mostRows - 1) / mostRows
	if size <= 1 {
		return l, 1
	}
	out := make(Log, 0, mostRows)
	few := make([]float64, 0, size)
	mid := func(rows Log, column func(*Row) float64) float64 {
		few = few[:0]
		for i := range rows {
			if v := column(&rows[i]); !math.IsNaN(v) {
				few = append(few, v)
			}
		}
		if len(few) == 0 {
			return math.NaN()
		}
		return median(few)
	}
	for i := 0; i < len(l); i += size {
		rows := l[i:min(len(l), i+size)]
		out = append(out, Row{
			Time:     mid(rows, func(r *Row) float64 { return r.Time }),
			Pressure: mid(rows, func(r *Row) float64 { return r.Pressure }),
			Cup:      mid(rows, func(r *Row) float64 { return r.Cup }),
			Travel:   mid(rows, func(r *Row) float64 { return r.Travel }),
		})
	}
	return out, size
}

// series is the rows of a log that have a pressure and a travel, in columns.
type series struct {
	t, x, p  []float64 // time [s], travel of the piston from cocked [m], pressure [Pa]
	byTravel bool      // travel was read; else worked out from the cup
}

func (s *series) add(t, x, p float64) {
	s.t, s.x, s.p = append(s.t, t), append(s.x, x), append(s.p, p)
}

// smooth returns medians over stretches of five rows or more, some 200 of them.
func (s *series) smooth() series {
	return s.thin(max(minRows, min(stretches, len(s.t)/stretch)))
}

// part returns the rows from index i up to j.
func (s *series) part(i, j int) series {
	return series{t: s.t[i:j], x: s.x[i:j], p: s.p[i:j]}
}

// thin returns medians over at most n stretches of equal row count: few points
// that a wild row does not move.
func (s *series) thin(n int) series {
	n = min(n, len(s.t))
	var out series
	mid := func(v []float64) float64 { return median(append([]float64(nil), v...)) }
	for b := range n {
		i, j := b*len(s.t)/n, (b+1)*len(s.t)/n
		out.add(mid(s.t[i:j]), mid(s.x[i:j]), mid(s.p[i:j]))
	}
	return out
}
