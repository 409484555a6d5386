package tables

import (
	"fmt"
	"maps"
	"slices"
)

// Tolerance is a permitted deviation, plus or minus.
type Tolerance struct {
	Value  float64 // ±: permitted deviation [m], of a load [N]
	Source string  // standard
	Grade  Grade   // grade of evidence
}

// series are the tables of preferred wire diameters, and the column that has them.
var series = map[string]struct{ table, column string }{
	"metric": {"sizes-metric", "d_mm"}, "EN 10270-1": {"sizes-en-10270-1", "d_mm"}, "DIN 2098": {"sizes-din-2098", "d_mm"},
	"ASTM A228": {"astm-a228", "d_in"}, "ASTM A229": {"astm-a229", "d_in"},
	"music wire": {"gauge-music-wire", "d_in"}, "steel wire": {"gauge-steel-wire", "d_in"},
}

// PreferredDiameters returns the wire diameters [m] of a series, rising: "metric",
// "EN 10270-1" or "DIN 2098"; in inches the sizes that the strength tables of
// "ASTM A228" (0.004 to 0.250 in) and "ASTM A229" (0.020 to 0.625 in) list, or the
// gauges "music wire" and "steel wire" (Washburn and Moen).
func PreferredDiameters(name string) ([]float64, error) {
	s, ok := series[name]
	if !ok {
		return nil, unknown("series of wire diameters", name, slices.Sorted(maps.Keys(series)))
	}
	d := column(s.table, s.column)
	slices.Sort(d)
	return d, nil
}

// column returns a column in SI.
func column(table, name string) []float64 {
	t := get(table)
	x := make([]float64, len(t.Rows))
	for row := range x {
		x[row] = t.si(row, name)
	}
	return x
}

// WireTolerance returns the tolerance of the diameter d [m] of bought wire by
// "EN 10218-2" (class T4, 0.05 to 20 mm) or "ASTM A228" (to 0.250 in). A size
// between two groups has the tolerance of the next larger one, the wider.
func WireTolerance(standard string, d float64) (Tolerance, error) {
	var t Table
	var to, value string
	var low float64
	switch standard {
	case "EN 10218-2":
		t, to, value = get("tolerance-en-10218-2"), "to_mm", "tolerance_mm"
		low = t.si(0, "from_mm")
	case "ASTM A228":
		t, to, value = get("tolerance-astm-a228"), "to_in", "tolerance_in"
	default:
		return Tolerance{}, unknown("wire tolerance", standard, []string{"ASTM A228", "EN 10218-2"})
	}
	for row := range t.Rows {
		if d > 0 && d >= low*(1-sameSize) && d <= t.si(row, to)*(1+sameSize) {
			return Tolerance{Value: t.si(row, value), Source: t.Source, Grade: t.grade(row)}, nil
		}
	}
	return Tolerance{}, outside(standard+" wire: diameter", d/mm, "mm", low/mm, t.si(len(t.Rows)-1, to)/mm)
}

// Coil is what the tolerance of a coil diameter depends on.
type Coil struct {
	Class    int     // grade of the tolerance in EN 15800: 1 fine, 2, 3 coarse [-]
	Diameter float64 // De, D or Di: outside, mean or inside diameter [m]
	Index    float64 // w: D/d, mean coil diameter over wire diameter [-]
}

// CoilTolerance returns the tolerance of a coil diameter by EN 15800 (formerly
// DIN 2095): class 1 to 3, diameter over 0.63 to 200 mm, index 4 to 20.
func CoilTolerance(c Coil) (Tolerance, error) {
	if c.Class < 1 || c.Class > 3 {
		return Tolerance{}, fmt.Errorf("%w: tolerance class %d, known are 1, 2 and 3", ErrRange, c.Class)
	}
	if !(c.Index >= 4 && c.Index <= 20) {
		return Tolerance{}, outside("spring index", c.Index, "", 4, 20)
	}
	band := "a"
	switch {
	case c.Index > 14:
		band = "c"
	case c.Index > 8:
		band = "b"
	}
	t := get("tolerance-coil-diameter")
	value := fmt.Sprintf("%d%s_mm", c.Class, band)
	for row := range t.Rows {
		if c.Diameter > t.si(row, "over_mm")*(1+sameSize) && c.Diameter <= t.si(row, "to_mm")*(1+sameSize) {
			return Tolerance{Value: t.si(row, value), Source: t.Source, Grade: t.grade(row)}, nil
		}
	}
	return Tolerance{}, outside("coil diameter", c.Diameter/mm, "mm", t.si(0, "over_mm")/mm, t.si(len(t.Rows)-1, "to_mm")/mm)
}
