package main

import (
	"fmt"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
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

// losses counts what a short fill has not filled as air, as a shot does.
func lossesOf(m *machine.Machine) (all losses, err error) {
	s, springs := &m.Setup, m.Load().Spring
	force := func(lift float64) float64 { return springs(lift) + s.Handle.Force(lift) }
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
func (all losses) left() loss { return all.list[len(all.list)-1] }

func (all losses) table() tableData {
	t := tableData{Key: "losses", Title: "Stroke and peak pressure lost before the water moves", Columns: []column{
		{Key: "name", Head: ""}, {Key: "stroke_mm", Head: "stroke, mm", Digits: 1}, {Key: "pressure_bar", Head: "pressure, bar", Digits: 2}}}
	for _, l := range all.list {
		t.Data = append(t.Data, []any{l.cause, quantity.InMM.Of(l.Stroke), quantity.InBar.Of(l.Pressure)})
	}
	return t
}

// recoilAnswer is a recoil with its band by the masses.
type recoilAnswer struct {
	piston.Recoil
	slow, fast float64 // strike speed with the heaviest and the lightest masses [m/s]
}

// recoil returns what the lever does that is let go.
func recoil(m *machine.Machine, lever piston.Lever, load piston.Load) (r recoilAnswer, err error) {
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

func (r *recoilAnswer) rows() []row {
	return []row{
		measure("recoil_j", "recoil: energy set free", r.Energy, quantity.InJ, 2),
		measure("recoil_handle_percent", "recoil: share in the handle", r.HandleShare, quantity.InPercent, 0),
		measure("recoil_piston_percent", "recoil: share in the piston", r.PistonShare, quantity.InPercent, 0),
		measure("recoil_hand_m_s", "recoil: speed at the hand's place", r.StrikeSpeed, quantity.InMPerS, 1).within(r.slow, r.fast, quantity.InMPerS),
		measure("recoil_piston_m_s", "recoil: speed of the piston", r.PistonSpeed, quantity.InMPerS, 1),
	}
}

// caution is the one that goes with the numbers.
func (r *recoilAnswer) caution() string {
	return fmt.Sprintf("%s Here %s are set free, and without friction the hand's place on the handle comes back at %s (%.0f to %s by the masses).",
		r.Caution, quantity.InJ.Text(r.Energy, 1), quantity.InMPerS.Text(r.StrikeSpeed, 0), quantity.InMPerS.Of(r.slow), quantity.InMPerS.Text(r.fast, 0))
}
