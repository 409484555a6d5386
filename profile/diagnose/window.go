package diagnose

import (
	"fmt"
	"math"
)

const (
	stretches = 200   // medians that the window is sought in
	stretch   = 5     // rows, at least, that go into one
	someCup   = 1e-3  // cup mass from which the coffee surely drips [kg]
	lowShare  = 0.1   // share of the peak at which the spring's part is over [-]
	steady    = 0.05  // fall, as a share of the peak, that a pump shows too [-]
	shortest  = 0.10  // fall, as a share of the peak, from which a line is read [-]
	bent      = 4.0   // standard errors by which a stretch lies off the line [-]
	bentShare = 0.005 // and the share of the fall that matters [-]
	parts     = 20    // stretches that the ends are tried in
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
			s.add(r.Time, 0, r.Pressure)
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

// findWindow returns the time from the peak on (with the first drops in the
// cup, where travel is worked out from it) to where the pressure rises again
// or is gone. drips is the travel at which the coffee surely drips.
func findWindow(s *series, drips float64) (Window, error) {
	thin := s.smooth()
	top := peakOf(&thin)
	peak := thin.p[top]
	if !(peak > 0) {
		return Window{}, fmt.Errorf("%w: it is never above 0 bar", ErrSteady)
	}
	from := top
	for !s.byTravel && from < len(thin.t) && !(thin.x[from] > drips) {
		from++
	}
	if from >= len(thin.t)-1 {
		return Window{}, fmt.Errorf("%w: nothing runs into the cup after the peak at %.3g s", ErrFall, thin.t[top])
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

// judge reports why the rows of a window hold no line.
func (s *series) judge() error {
	if len(s.t) < minRows {
		return fmt.Errorf("%w: %d of them in the window, want %d or more", ErrRows, len(s.t), minRows)
	}
	ends := s.thin(minRows)
	high, low := ends.p[0], ends.p[minRows-1]
	switch fall := (high - low) / high; {
	case !(fall > steady):
		return fmt.Errorf("%w: %.2f bar at the start of the window and %.2f bar at its end; a pump's is as steady", ErrSteady, high/1e5, low/1e5)
	case !(fall > shortest) || !(ends.x[minRows-1] > ends.x[0]):
		return fmt.Errorf("%w: from %.2f to %.2f bar, want more than %.0f %% of the peak", ErrFall, high/1e5, low/1e5, 100*shortest)
	}
	return nil
}

// trim takes from both ends of a window the stretches that lie off the line,
// as where the piston has come to rest or air is still being pressed together.
func (s *series) trim(l robust) series {
	n := len(s.t)
	size := max(3, n/parts)
	off := func(i, j int) bool {
		var r []float64
		for k := i; k < j; k++ {
			r = append(r, l.residual(s, k))
		}
		return math.Abs(median(r)) > bent*l.scatter/math.Sqrt(float64(j-i))+bentShare*l.fall
	}
	i, j := 0, n
	for j-i > n/2+size && off(j-size, j) {
		j -= size
	}
	for j-i > n/2+size && off(i, i+size) {
		i += size
	}
	return s.part(i, j)
}
