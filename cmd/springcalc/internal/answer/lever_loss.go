package answer

import (
	"fmt"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/piston"
)

// loss is what one cause takes of the stroke and of the peak.
type loss struct {
	cause    string
	Stroke   float64 // travel of the piston [m]
	Pressure float64 // of the peak gauge pressure [Pa]
}

// losses are the stroke and the peak that the spring could give, what each
// cause takes of them on the first pull, and last what is left.
type losses struct {
	list   []loss
	doubts []string
}

// lossesOf counts what a short fill has not filled as air, as a shot does.
func lossesOf(m *machine.Machine) (all losses, err error) {
	s, springs := &m.Setup, m.Load().Spring
	force := func(lift float64) float64 { return springs(lift) + s.Handle.Force(lift) }
	if rest := springs(0); !(force(0) >= 0) {
		return losses{}, fmt.Errorf("lever: the springs push with %s at rest, and the weight of the handle takes off %s: check the lengths of the spring, and piston.handle_force",
			quantity.InN.Text(rest, 0), quantity.InN.Text(rest-force(0), 0))
	}
	room := s.ChamberVolume()
	missing := s.AirAtClosing(&s.Pulls[0]) - s.Chamber.Air
	fill := piston.Fill{Headspace: s.Chamber.Headspace, Air: s.Chamber.Air, Pressure: s.Water.Fill, Atmosphere: s.Water.Atmosphere}
	var by [3]piston.FillLoss // with the air, and more and more of it
	for i, air := range [...]float64{0, missing * (1 - fill.Headspace/room), missing * fill.Headspace / room} {
		fill.Air = min(fill.Air+air, room)
		if by[i], err = fill.Loss(s.Cylinder, force); err != nil {
			return losses{}, err
		}
	}
	free := s.Cylinder
	free.Seal = piston.Seal{}
	full := free.Pressure(force(free.Stroke) + free.Weight)
	first, last := by[0], by[2]
	return losses{doubts: last.Doubts, list: []loss{
		{"spring and weight alone, cocked", free.Stroke, full},
		{"friction of the seal", 0, full - first.Ideal},
		{"travel past the inlet port", first.Port.Stroke, first.Port.Pressure},
		{"air left in the chamber", first.Air.Stroke, first.Air.Pressure},
		{"short fill, of the stroke", by[0].Lift - by[1].Lift, by[0].Peak - by[1].Peak},
		{"short fill, of the headspace", by[1].Lift - by[2].Lift, by[1].Peak - by[2].Peak},
		{"left at the peak", last.Lift, last.Peak},
	}}, nil
}

// left is the stroke and the pressure at the peak.
func (all *losses) left() loss { return all.list[len(all.list)-1] }

// recoil is what a lever does that is let go, with the range of its speed by the masses.
type recoil struct {
	piston.Recoil
	slow, fast float64 // strike speed with the heaviest and the lightest masses [m/s]
}

// recoilOf returns what the lever does that is let go.
func recoilOf(m *machine.Machine, lever piston.Lever, load piston.Load) (r recoil, err error) {
	lightHandle, handle, heavyHandle := m.Spread("lever.handle_mass")
	lightPiston, moving, heavyPiston := m.Spread("lever.moving_mass")
	least := m.ValueOr("piston.mass", 0)
	let := func(handle, moving float64) (piston.Recoil, error) {
		return lever.Recoil(load, piston.Moving{Piston: max(moving, least), Inertia: handle * lever.Handle * lever.Handle / 3})
	}
	if r.Recoil, err = let(handle, moving); err != nil {
		return r, err
	}
	light, err := let(lightHandle, lightPiston)
	if err != nil {
		return r, err
	}
	heavy, err := let(heavyHandle, heavyPiston)
	r.fast, r.slow = light.StrikeSpeed, heavy.StrikeSpeed
	return r, err
}

// between is the range of the speed in brackets; empty where the masses are exact.
func (r *recoil) between() report.Sentence {
	if !(r.slow < r.fast) {
		return report.Sentence{}
	}
	slow := report.Of(r.slow, quantity.InMPerS, 0)
	slow.Bare = true
	return report.Say(" (%s to %s by its mass)", slow, report.Of(r.fast, quantity.InMPerS, 0))
}
