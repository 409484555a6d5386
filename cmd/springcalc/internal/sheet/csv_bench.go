package sheet

import (
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/spring"
)

// benchColumns are the columns of a list of readings on a bench:
//
//	length mm, load N
//	150.2, 480
var benchColumns = []CsvColumn{
	{Key{Name: "length", Dim: quantity.DimLength, Allowed: Limits{Above: "0 mm", UpTo: "1 m"}}, []string{"length", "l", "=L", "height"}, true, false},
	{Key{Name: "load", Dim: quantity.DimForce, Allowed: Limits{From: "0 N", UpTo: "20 kN"}}, []string{"load", "force", "f", "=F"}, true, false},
}

// Bench reads readings on a bench.
func (r *Reading) Bench(name string, data []byte) ([]spring.Point, error) {
	f, err := OpenCSV(name, data, benchColumns, r)
	if err != nil {
		return nil, err
	}
	if f.columns[0] < 0 && strings.Contains(strings.ToLower(strings.Join(f.Header, " ")), "deflection") {
		f.FaultAt(0, "a deflection is the free length less the length")
	}
	f.needUnits()
	if err := f.Err(); err != nil {
		return nil, err
	}
	f.nameOthers()
	var points []spring.Point
	for f.Next() {
		length, _ := f.Quantity(0)
		load, _ := f.Quantity(1)
		points = append(points, spring.Point{Length: length.Value, Load: load.Value})
		if length.Plus > 0 || load.Plus > 0 {
			f.note("the ± of the readings is not used: their scatter about a straight line tells it")
		}
	}
	if err := f.Err(); err != nil {
		return nil, err
	}
	return points, nil
}
