package piston_test

import (
	"math"
	"testing"

	"springcalc/piston"
)

func BenchmarkEffort(b *testing.B) {
	points := []piston.TablePoint{}
	for angle := 0.0; angle < 2; angle += 0.1 {
		points = append(points, piston.TablePoint{Angle: angle, Lift: 12 * mm * (1 - math.Cos(angle))})
	}
	for _, c := range []struct {
		name    string
		linkage piston.Linkage
	}{
		{"link", piston.Link{PinRadius: 14 * mm, Length: 60 * mm, Span: piston.Span{From: 0.2, To: 2.4}}},
		{"table", must(piston.NewTable(points))},
	} {
		lever := piston.Lever{Linkage: c.linkage, Handle: 0.28, Efficiency: 0.9}
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := lever.Effort(benchSpring(), 91); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
