package quantity

import (
	"errors"
	"fmt"
	"math"
	"strconv"
)

// Steps are the values from one to another by steps, both ends included where the
// steps meet them, as texts in the unit of the first that read back the same. There
// may be only so many.
func Steps(from, to, step string, dim *Dimension, most int) ([]string, error) {
	ends := [2]float64{}
	for i, text := range []string{from, to} {
		q, err := Parse(text, dim)
		if err != nil {
			return nil, fmt.Errorf("%q: %w", text, err)
		}
		if q.Plus != 0 {
			return nil, fmt.Errorf("%q: want no ±", text)
		}
		ends[i] = q.Value
	}
	difference := dim
	if dim == DimTemperature {
		difference = dimTempDiff
	}
	by, err := Parse(step, difference)
	switch {
	case err != nil:
		return nil, fmt.Errorf("step %q: %w", step, err)
	case by.Plus != 0:
		return nil, fmt.Errorf("step %q: want no ±", step)
	case !(by.Value > 0):
		return nil, fmt.Errorf("step %q: want more than 0; it goes down by itself where the end is lower", step)
	}
	first, unit, err := ScanNumber(Tidy(from))
	if err != nil {
		return nil, err
	}
	scale := Scale{Num: 1, Den: 1}
	if unit != "" {
		if scale, err = UnitFor(unit, dim); err != nil {
			return nil, err
		}
		unit = " " + unit
	}
	stride := by.Value * scale.Den / scale.Num
	if ends[1] < ends[0] {
		stride = -stride
	}
	const slack = 1e-9 // of a step, for ends that are no binary fractions
	n := math.Floor((ends[1]-ends[0])*scale.Den/scale.Num/stride + slack)
	if n >= float64(most) {
		return nil, fmt.Errorf("%.0f values; want %d at most", n+1, most)
	}
	texts := make([]string, int(n)+1)
	for i := range texts {
		const digits = 12 // enough for any step, and without the noise of binary fractions
		v, err := strconv.ParseFloat(strconv.FormatFloat(first+float64(i)*stride, 'g', digits, 64), 64)
		if err != nil || !Finite(v) {
			return nil, errors.New("too large a number")
		}
		if math.Abs(v) < slack*math.Abs(stride) {
			v = 0
		}
		texts[i] = plain(v, -1) + unit
	}
	return texts, nil
}

// Display is the unit that a dimension is printed in.
func (d *Dimension) Display() Display {
	switch d {
	case DimNumber:
		return Display{}
	case DimRatio:
		return InRatio
	}
	return displayIn(d.Units[0], d)
}

// Parse reads a quantity that is printed so: a plain number where the unit has no
// symbol.
func (d Display) Parse(text string) (Quantity, error) {
	if d.Symbol == "" {
		if q, err := Parse(text, DimNumber); err == nil || d.Dim == nil {
			return q, err
		}
	}
	return Parse(text, d.Dim)
}

// Rounded prints a value as a person types it, with significant digits, to be read back.
func Rounded(si float64, digits int, dim *Dimension) string {
	if dim == DimNumber {
		return plain(si, digits)
	}
	unit := handyUnit(si, dim)
	return plain(unit.Of(si), digits) + " " + unit.Symbol
}
