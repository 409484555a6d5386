package logged

import (
	"fmt"
	"math"
)

const (
	stretches  = 200   // medians that the window is sought in
	stretch    = 3     // rows, at least, that go into one
	someCup    = 1e-3  // cup mass from which the coffee surely drips [kg]
	lowShare   = 0.1   // share of the peak at which the spring's part is over [-]
	steady     = 0.05  // fall, as a share of the peak, that a pump shows too [-]
	shortest   = 0.10  // fall, as a share of the peak, from which a line is read [-]
	bent       = 4.0   // standard errors by which a stretch lies off the line [-]
	bentShare  = 0.005 // and the share of the fall that matters [-]
	stillShare = 0.01  // share of the volume of a window that is left out at its end [-]
	parts      = 20    // stretches that the ends are tried in
	mostParts  = 4     // of them that are taken off an end, at most
	kinkSteep  = 1.6   // by how much steeper a second line is that ends the first [-]
	kinkGain   = 0.5   // share of a parabola's misfit that two lines must come under [-]
	kinkSize   = 0.02  // share of the fall by which one line must miss [-]
)

// Window is the part of a log that the line is read from.
type Window struct {
	From, To float64 // t: first and last time [s]
	Given    bool    // by the user; else found
}

// release returns the time at which the pressure of the spring came on: the
// middle of its rise to the peak, for two rows of three [s].
func (l Log) release() float64 {
	rows := l.pressures()
	thin := rows.smooth()
	half := thin.p[peakOf(&thin)] / 2
	for i := 0; i+2 < len(rows.t); i++ {
		if rows.p[i] > half && (rows.p[i+1] > half || rows.p[i+2] > half) {
			return rows.t[i]
		}
	}
	return rows.t[0]
}

// pressures returns the rows with a pressure.
func (l Log) pressures() *series {
	s := &series{}
	for _, r := range l {
		if !math.IsNaN(r.Pressure) {
			s.add(r.Time, 0, r.Pressure, r.Cup)
		}
	}
	return s
}

// peakOf returns the index of the highest pressure.
func peakOf(s *series) int {
	top := 0
	for i, p := range s.p {
		if p > s.p[top] {
			top = i
		}
	}
	return top
}

// findWindow returns the time from a settling time after the peak on (with the
// first drops in the cup, where volume is worked out from it) to where the
// pressure rises again or is gone. drips is the volume at which the coffee
// surely drips; below 0 without bound where travel was read.
func findWindow(s *series, drips, settle float64) (Window, error) {
	thin := s.smooth()
	top := peakOf(&thin)
	peak := thin.p[top]
	if !(peak > 0) {
		return Window{}, fmt.Errorf("%w: it is never above 0 bar", ErrSteady)
	}
	from := top
	for from < len(thin.t) && (!(thin.v[from] > drips) || thin.t[from] < thin.t[top]+settle) {
		from++
	}
	if from >= len(thin.t)-1 {
		return Window{}, fmt.Errorf("%w: nothing runs after the peak at %.3g s", ErrFall, thin.t[top])
	}
	to, low := from, thin.p[from]
	for i := from; i < len(thin.t); i++ {
		if thin.p[i] < lowShare*peak || thin.p[i] > low+lowShare*peak {
			break
		}
		to, low = i, min(low, thin.p[i])
	}
	end := thin.t[to]
	if to == len(thin.t)-1 {
		end = s.t[len(s.t)-1]
	}
	return Window{From: thin.t[from], To: end}, nil
}

// rows returns the rows within the window.
func (s *series) rows(w Window) series {
	i, j := 0, len(s.t)
	for i < j && s.t[i] < w.From {
		i++
	}
	for j > i && s.t[j-1] > w.To {
		j--
	}
	return s.part(i, j)
}

// before returns the rows before a volume is reached for good: three rows of
// five at or beyond it.
func (s *series) before(volume float64) series {
	for i := range s.v {
		n, j := 0, min(len(s.v), i+5)
		for _, v := range s.v[i:j] {
			if v >= volume {
				n++
			}
		}
		if n >= 3 {
			return s.part(0, i)
		}
	}
	return *s
}

// moving returns the rows up to where the volume has all but stopped for good,
// as where the lever stands still over an empty chamber.
func (s *series) moving() series {
	n := len(s.v)
	if n < minRows || !(last(s.v) > s.v[0]) {
		return *s
	}
	end := last(s.v)
	return s.before(end - stillShare*(end-s.v[0]))
}

// judge reports why the rows of a window hold no line.
func (s *series) judge() error {
	if len(s.t) < minRows {
		return fmt.Errorf("%w: %d of them in the window, want %d or more", ErrRows, len(s.t), minRows)
	}
	if s.t[len(s.t)-1] == s.t[0] {
		return fmt.Errorf("%w: it stands still at %.6g s in the window", ErrClock, s.t[0])
	}
	ends := s.thin(minRows)
	high, low := ends.p[0], ends.p[minRows-1]
	switch fall := (high - low) / high; {
	case !(fall > steady):
		return fmt.Errorf("%w: %.2f bar at the start of the window and %.2f bar at its end; a pump's is as steady", ErrSteady, high/1e5, low/1e5)
	case !(fall > shortest) || !(ends.v[minRows-1] > ends.v[0]):
		return fmt.Errorf("%w: from %.2f to %.2f bar, want more than %.0f %% of the peak", ErrFall, high/1e5, low/1e5, 100*shortest)
	}
	return nil
}

// trim takes from both ends of a window the stretches that lie off the line, as
// where the piston has come to rest or air is still being pressed together:
// some of them, so that a line that is bent all along stays so.
func (s *series) trim() series {
	few := s.thin(starters)
	a, b := theilSen(few.v, few.p)
	r := make([]float64, len(s.t))
	for i := range r {
		r[i] = s.p[i] - a - b*s.v[i]
	}
	fall := math.Abs(b * (few.v[len(few.v)-1] - few.v[0]))
	scatter := spread(r)
	n := len(s.t)
	size := max(3, n/parts)
	var some []float64
	off := func(i, j int) bool {
		some = append(some[:0], r[i:j]...)
		return math.Abs(median(some)) > bent*scatter/math.Sqrt(float64(j-i))+bentShare*fall
	}
	i, j := 0, n
	for j-i > minRows+size && n-j < mostParts*size && off(j-size, j) {
		j -= size
	}
	for j-i > minRows+size && i < mostParts*size && off(i, i+size) {
		i += size
	}
	return s.part(i, j)
}

// sums are the moments of points, for lines through neighbouring points.
type sums struct{ n, x, y, xx, xy, yy float64 }

func (m sums) less(o sums) sums {
	return sums{m.n - o.n, m.x - o.x, m.y - o.y, m.xx - o.xx, m.xy - o.xy, m.yy - o.yy}
}

// line returns slope and summed squares of the line of least squares.
func (m sums) line() (slope, squares float64) {
	xx, xy, yy := m.xx-m.x*m.x/m.n, m.xy-m.x*m.y/m.n, m.yy-m.y*m.y/m.n
	if !(xx > 0) {
		return 0, max(0, yy)
	}
	return xy / xx, max(0, yy-xy*xy/xx)
}

// kink returns the index of the point from which pressure over volume follows
// a second, steeper line, and false where it follows one line, or bends so
// gently that a parabola does as well.
func (s *series) kink() (int, bool) {
	n := len(s.t)
	if n < 10 {
		return 0, false
	}
	v0, p0 := s.v[0], s.p[0]
	dv, dp := s.v[n-1]-v0, p0-s.p[n-1]
	if !(dv > 0) || !(dp > 0) {
		return 0, false
	}
	run := make([]sums, n+1)
	x, y := make([]float64, n), make([]float64, n)
	for i := range n {
		x[i], y[i] = (s.v[i]-v0)/dv, (s.p[i]-p0)/dp
		r := run[i]
		run[i+1] = sums{r.n + 1, r.x + x[i], r.y + y[i], r.xx + x[i]*x[i], r.xy + x[i]*y[i], r.yy + y[i]*y[i]}
	}
	const few = 3
	best, at := math.Inf(1), 0
	var steeper float64
	for j := max(4, n/5); j <= n-few; j++ {
		b1, s1 := run[j].line()
		b2, s2 := run[n].less(run[j]).line()
		if s1+s2 < best {
			best, at, steeper = s1+s2, j, b2/b1
			if !(b1 < 0) {
				steeper = 0
			}
		}
	}
	_, one := run[n].line()
	size := math.Sqrt(one / float64(n))
	if at == 0 || !(steeper > kinkSteep) || size < kinkSize || best > kinkGain*parabola(x, y) {
		return 0, false
	}
	return at, true
}

// parabola returns the summed squares about the parabola of least squares.
func parabola(x, y []float64) float64 {
	b := newBasis(x, 2)
	sum := 0.0
	c := b.project(y)
	for i := range y {
		r := y[i] - b.at(c, i)
		sum += r * r
	}
	return sum
}
