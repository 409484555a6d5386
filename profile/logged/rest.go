package logged

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

const (
	leaves = 0.06 // share of the pressure by which rows fall below the curve of the spring where the piston has come to rest [-]
	sure   = 4.0  // and standard deviations of a row
)

// rest finds where the piston came to rest: where the pressure leaves the curve,
// a parabola in time, that the last half of the window goes on along. It fills in Ended,
// Duration and End, or CutOff where the log stops before.
func (r *reader) rest(w *window) {
	line, rows := r.line, &w.rows
	n := len(rows.t)
	half := rows.part(n/2, n)
	every := (rows.t[n-1] - rows.t[0]) / float64(n-1)
	curve := parabolaThrough(half.t, half.p)
	after := r.all.rows(Window{From: half.t[0], To: math.Inf(1)})
	off := func(i int) bool {
		p := curve(after.t[i])
		return p-after.p[i] > leaves*p+sure*line.Scatter
	}
	at, step := math.NaN(), every
	for i := 1; i+2 < len(after.t); i++ {
		if !off(i) || !off(i+1) || !off(i+2) {
			continue
		}
		below := func(i int) float64 { return curve(after.t[i]) - after.p[i] }
		late := (after.t[i] + after.t[i-1]) / 2
		early := late
		for j := i + 1; j < len(after.t); j++ { // back along what it falls by until that has doubled, which is too far where it fades
			if rise := below(j) - below(i); rise >= below(i) {
				early = after.t[i] - below(i)/rise*(after.t[j]-after.t[i])
				break
			}
		}
		at = (early + late) / 2
		step = math.Hypot(after.t[i]-after.t[i-1], late-early)
		break
	}
	if math.IsNaN(at) {
		line.CutOff = true
		at = after.t[len(after.t)-1]
	}
	line.Ended = at
	began, rise := r.log.rises(line.Release)
	began -= math.Ln2 * r.o.Lag // a gauge that follows a step shows half of it by then
	u := hypot(step/math.Sqrt(12), rise/math.Sqrt(12), r.unsure.Lag, clock)
	line.Duration, line.DurationU = at-began, u
	own := math.Hypot(w.noise*math.Sqrt(9/float64(len(half.t))), r.log.step()/math.Sqrt(12)) // at the end of a parabola
	line.End = Reading{Around(curve(at), own), own}
}

// parabolaThrough returns the parabola of least squares.
func parabolaThrough(t, p []float64) func(t float64) float64 {
	n := len(t)
	middle, half := (t[0]+t[n-1])/2, max(1e-9, (t[n-1]-t[0])/2)
	x := mat.NewDense(n, 3, nil)
	for i := range t {
		u := (t[i] - middle) / half
		x.SetRow(i, []float64{1, u, u * u})
	}
	var c mat.VecDense
	if c.SolveVec(x, mat.NewVecDense(n, p)) != nil {
		mean := stat.Mean(p, nil)
		return func(float64) float64 { return mean }
	}
	return func(t float64) float64 {
		u := (t - middle) / half
		return c.AtVec(0) + u*(c.AtVec(1)+u*c.AtVec(2))
	}
}

// clock is how well a release that takes a second or two is placed in time [s].
const clock = 0.15

// rises returns the time at which the pressure crosses half its peak, near the
// release, and the time between the rows on either side [s].
func (l Log) rises(release float64) (at, step float64) {
	rows := l.pressures()
	thin := rows.smooth()
	half := thin.p[peakOf(&thin)] / 2
	for i := 1; i < len(rows.t); i++ {
		if rows.t[i] >= release && rows.p[i] > half {
			step = rows.t[i] - rows.t[i-1]
			if below := rows.p[i-1]; below < half {
				return rows.t[i] - step*(rows.p[i]-half)/(rows.p[i]-below), step
			}
			return rows.t[i], step
		}
	}
	return release, 0
}
