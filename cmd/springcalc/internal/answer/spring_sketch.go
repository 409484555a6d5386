package answer

import (
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/spring"
)

// sketches are the springs of which the dimensions are known, free, at rest, cocked
// and solid, to be drawn to scale.
func (a *springAnswer) sketches() (list []report.Sketch) {
	for _, p := range a.parts {
		if !p.coiled {
			continue
		}
		s := sketchOf(&p.us)
		s.Key, s.Name = "spring", p.name
		if p.name != "" {
			s.Key += "_" + p.name
		}
		for i, l := range []float64{p.us.Free, p.working.Rest, p.working.Cocked, p.us.SolidLength()} {
			s.Lengths = append(s.Lengths, report.SketchedState{
				Name: []string{"free", "at rest", "cocked", "solid"}[i], Symbol: []string{"L0", "L1", "L2", "Lc"}[i],
				Length: l, Force: p.line.Force(p.working.Rest - l),
			})
		}
		list = append(list, s)
	}
	return list
}

// sketchOf is a spring to be drawn, without its lengths.
func sketchOf(c *spring.Compression) report.Sketch {
	return report.Sketch{Key: "spring", Wire: c.Wire, Outside: c.Outer(), Active: c.Active, Total: c.Total,
		Ground: c.Ends == spring.ClosedGround || c.Ends == spring.PlainGround}
}
