package diagnose

import (
	"testing"

	"springcalc/profile"
	"springcalc/spring"
	"springcalc/tables"
)

// judged are the priors of the table.
func judged(t testing.TB) Priors {
	t.Helper()
	p, err := NewPriors(func(name string) (float64, bool) {
		d, ok := tables.DiagnosisPriorFor(name)
		return d.Value, ok
	})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func forwardOf(t testing.TB, m *Machine, p *Priors) *forward {
	t.Helper()
	f, err := newForward(m, p)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func infer(t testing.TB, c *Case) *State {
	t.Helper()
	c.Outcomes = true
	s, err := Infer(c)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// of returns what is told of a part.
func (s *State) of(p Part) PartState {
	for _, ps := range s.Parts {
		if ps.Part == p {
			return ps
		}
	}
	return PartState{}
}

// sick is the café's machine with faults, by the engine of the shot alone.
func sick(x sizesOf, friction, perPa, air float64) *profile.Setup {
	s := cafe()
	c := cafeSpring()
	thin := (1 - x[PartWire]) * (1 - x[PartWire]) * (1 - x[PartWire]) * (1 - x[PartWire])
	coils := c.Active - x[PartCoil] + x[PartSpring]
	l := s.Springs[0]
	rate := l.Rate * thin * c.Active / coils
	s.Springs = []spring.Linear{{Rate: rate, Preload: rate * (l.Preload/l.Rate - x[PartSet] - x[PartCoil]*c.Pitch())}}
	s.Cylinder.Seal.Constant, s.Cylinder.Seal.PerPa = friction+x[PartSeal], perPa
	s.Chamber.Air = air + x[PartFill]
	if x[PartLever] > s.Cylinder.Port { // pressure begins where the lever was let go
		s.Cylinder.Port = x[PartLever]
	}
	s.Cylinder.Port += x[PartHeadspace] / s.Cylinder.Area()
	s.Chamber.Headspace += x[PartHeadspace]
	s.Coffee.Resistance *= 1 - x[PartPuck]
	return s
}

// shotOf returns the readings of a shot of a setup, on a good gauge.
func shotOf(t testing.TB, s *profile.Setup) (peak, end, yield, time float64) {
	t.Helper()
	sum, err := profile.Summarize(s)
	if err != nil {
		t.Fatal(err)
	}
	return sum.Peak, sum.End, sum.Yield - sum.AirYield, sum.Spring
}

func asNew(o Observation) Observation {
	o.New = true
	return o
}
