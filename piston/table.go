package piston

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/interp"
)

// TablePoint is one measured position of a lever.
type TablePoint struct {
	Angle float64 // θ: handle angle, from anywhere [rad]
	Lift  float64 // height of the piston, from anywhere [m]
}

// Table is a linkage or cam known by measurement. Between the points the lift
// is a monotone cubic (F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput.
// 5 (1984) 300-304): it never swings beyond the points as a spline would.
// NewTable makes one.
type Table struct {
	points []TablePoint
	curve  interp.FritschButland
}

// NewTable returns the linkage through measured points, the first of them with
// the piston at rest. It wants three points or more, with rising angles.
func NewTable(points []TablePoint) (*Table, error) {
	t := &Table{points: slices.Clone(points)}
	if err := t.Validate(); err != nil {
		return nil, err
	}
	t.curve = curveThrough(t.points)
	return t, nil
}

func curveThrough(points []TablePoint) (curve interp.FritschButland) {
	angles, lifts := make([]float64, len(points)), make([]float64, len(points))
	for i, p := range points {
		angles[i], lifts[i] = p.Angle, p.Lift-points[0].Lift
	}
	if err := curve.Fit(angles, lifts); err != nil {
		panic(err) // documented to be nil always
	}
	return curve
}

// Lift returns the lift y [m].
func (t *Table) Lift(angle float64) float64 { return t.curve.Predict(t.Range().clamp(angle)) }

// Slope returns dy/dθ [m/rad].
func (t *Table) Slope(angle float64) float64 {
	return t.curve.PredictDerivative(t.Range().clamp(angle))
}

// Range returns the first and the last angle.
func (t *Table) Range() Span {
	return Span{From: t.points[0].Angle, To: t.points[len(t.points)-1].Angle}
}

// corners returns the angles of the points, where one cubic ends and the next begins.
func (t *Table) corners() []float64 {
	angles := make([]float64, len(t.points))
	for i, p := range t.points {
		angles[i] = p.Angle
	}
	return angles
}

// Validate reports every fault of the points.
func (t *Table) Validate() error {
	if len(t.points) < 3 {
		return fmt.Errorf("%w: %d points of angle and lift, want 3 or more", ErrValue, len(t.points))
	}
	var errs []error
	for i, p := range t.points {
		n := i + 1
		errs = append(errs, between(fmt.Sprintf("lift of point %d", n), p.Lift, -maxLength, maxLength, "m"))
		if i > 0 && !(p.Angle-t.points[i-1].Angle >= 1e-4) {
			errs = append(errs, fmt.Errorf("%w: angle of point %d %.4g rad, want above the %.4g rad of the point before it",
				ErrValue, n, p.Angle, t.points[i-1].Angle))
		}
	}
	return errors.Join(append(errs, t.Range().Validate())...)
}

// Doubts returns what makes a force from this table uncertain: too few points,
// judged by the slopes on either side of every point.
func (t *Table) Doubts() []string {
	steepest, change := 0.0, 0.0
	before := math.NaN()
	for i := 1; i < len(t.points); i++ {
		a, b := t.points[i-1], t.points[i]
		slope := (b.Lift - a.Lift) / (b.Angle - a.Angle)
		steepest = max(steepest, math.Abs(slope))
		if i > 1 {
			change = max(change, math.Abs(slope-before))
		}
		before = slope
	}
	if jump := change / steepest; jump > 0.25 {
		return []string{fmt.Sprintf("The table of angle and lift is coarse: between neighbouring steps the leverage changes by up to %.0f %% "+
			"of its greatest value. Measure more positions there.", 100*jump)}
	}
	return nil
}
