package logged

import (
	"errors"
	"fmt"
	"math"
)

// Why a log cannot answer. Each is wrapped with the figures of the log.
var (
	ErrRows   = errors.New("logged: too few rows")
	ErrClock  = errors.New("logged: the clock does not run")
	ErrVolume = errors.New("logged: neither cup mass nor travel")
	ErrSteady = errors.New("logged: the pressure does not fall as a spring's does")
	ErrFall   = errors.New("logged: the fall is too short")
	ErrWindow = errors.New("logged: impossible window")
	ErrInput  = errors.New("logged: impossible input")
)

// notNegative reports a value that is below 0, infinite or no number.
func notNegative(field string, value float64, unit string) error {
	if value >= 0 && !math.IsInf(value, 1) {
		return nil
	}
	return fmt.Errorf("%w: %s is %g %s, want 0 or more", ErrInput, field, value, unit)
}

const (
	minRows = 10  // least number of rows that a line is read from
	largest = 1e9 // largest number that a row may hold, in SI units: beyond it nothing is a shot
)

// Row is one row of a logged shot. What was not read is NaN.
type Row struct {
	Time     float64 // t: since the log began [s]
	Pressure float64 // P: gauge pressure at the group [Pa]
	Cup      float64 // mass in the cup [kg]
	Travel   float64 // z: travel of the piston from the cocked position [m]
}

// columns returns the numbers of a row but the time.
func (r *Row) columns() [3]float64 { return [3]float64{r.Pressure, r.Cup, r.Travel} }

// Log is a logged shot, its rows in order of time.
type Log []Row

// step returns the step in which the gauge reads, about 0 where it has none [Pa].
func (l Log) step() float64 {
	step := math.Inf(1)
	for i := 1; i < len(l); i++ {
		if d := math.Abs(l[i].Pressure - l[i-1].Pressure); d > 1 {
			step = min(step, d)
		}
	}
	if math.IsInf(step, 1) {
		return 0
	}
	return step
}

// check reports what makes a log useless before anything is computed.
func (l Log) check() error {
	if len(l) < minRows {
		return fmt.Errorf("%w: %d, want %d or more", ErrRows, len(l), minRows)
	}
	last := math.Inf(-1)
	for i := range l {
		r := &l[i]
		if !(math.Abs(r.Time) <= largest) || math.Abs(r.Pressure) > largest || math.Abs(r.Cup) > largest || math.Abs(r.Travel) > largest {
			return fmt.Errorf("%w: row %d is not finite, or beyond all that a shot can be", ErrRows, i+1)
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
// is below anything that matters, and what follows stays quick and small.
const mostRows = 4000

// Thin returns the log with each stretch of rows in place of its middle, where
// there are more rows than mostRows, and the number of rows of a stretch. The
// middle is the median of the means of the thirds of a stretch, which a wild
// row does not move.
func (l Log) Thin() (Log, int) {
	size := (len(l) + mostRows - 1) / mostRows
	if size <= 1 {
		return l, 1
	}
	out := make(Log, 0, len(l)/size+1)
	for i := 0; i < len(l); i += size {
		out = append(out, l[i:min(len(l), i+size)].middle())
	}
	return out, size
}

// middle returns the column-wise median of the means of thirds.
func (l Log) middle() Row {
	var thirds [3][4]float64
	for k := range thirds {
		var sum [4]float64
		var count [4]float64
		for i := k * len(l) / 3; i < (k+1)*len(l)/3; i++ {
			r := &l[i]
			for c, v := range [4]float64{r.Time, r.Pressure, r.Cup, r.Travel} {
				if v == v {
					sum[c] += v
					count[c]++
				}
			}
		}
		for c := range sum {
			thirds[k][c] = sum[c] / count[c]
		}
	}
	mid := func(c int) float64 {
		var few [3]float64
		n := 0
		for k := range thirds {
			if v := thirds[k][c]; v == v {
				few[n] = v
				n++
			}
		}
		if n == 0 {
			return math.NaN()
		}
		return median(few[:n])
	}
	return Row{mid(0), mid(1), mid(2), mid(3)}
}

// series is the rows of a log that have a pressure and a volume, in columns.
type series struct {
	t, v, p []float64 // time [s], volume swept since the port [m³], pressure [Pa]
	cup     []float64 // mass in the cup [kg]; NaN where it was not read
}

func (s *series) add(t, v, p, cup float64) {
	s.t, s.v, s.p, s.cup = append(s.t, t), append(s.v, v), append(s.p, p), append(s.cup, cup)
}

// part returns the rows from index i up to j.
func (s *series) part(i, j int) series {
	return series{t: s.t[i:j], v: s.v[i:j], p: s.p[i:j], cup: s.cup[i:j]}
}

// thin returns medians over at most n stretches of equal row count: few points
// that a wild row does not move.
func (s *series) thin(n int) series {
	n = min(n, len(s.t))
	var out series
	var few []float64
	mid := func(v []float64) float64 {
		few = append(few[:0], v...)
		return median(few)
	}
	for b := range n {
		i, j := b*len(s.t)/n, (b+1)*len(s.t)/n
		out.add(mid(s.t[i:j]), mid(s.v[i:j]), mid(s.p[i:j]), math.NaN())
	}
	return out
}

// smooth returns medians over stretches of three rows or more, some 200 of them.
func (s *series) smooth() series {
	return s.thin(max(minRows, min(stretches, len(s.t)/stretch)))
}

// series returns the rows of a log that can be used. Travel that was read goes
// before volume worked out from the cup.
func (d *displacement) series(l Log) (s series, byTravel bool, err error) {
	byTravel = l.has(func(r Row) float64 { return r.Travel })
	if !byTravel && !l.has(func(r Row) float64 { return r.Cup }) {
		return s, byTravel, ErrVolume
	}
	for _, r := range l {
		v := (r.Travel - d.port) * d.area
		if !byTravel {
			v = d.swept(r.Cup, r.Pressure)
		}
		if !math.IsNaN(v + r.Pressure) {
			s.add(r.Time, v, r.Pressure, r.Cup)
		}
	}
	if len(s.t) < minRows {
		return s, byTravel, fmt.Errorf("%w: %d with both pressure and volume, want %d or more", ErrRows, len(s.t), minRows)
	}
	return s, byTravel, nil
}
