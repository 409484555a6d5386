package piston

import (
	"errors"
	"math"
)

// Moving is what the spring has to set in motion.
type Moving struct {
	Piston  float64 // m: piston, its rod, and a third of the mass of the springs [kg]
	Inertia float64 // J: moment of inertia of handle and linkage about the pivot [kg·m²]; m L²/3 for an even bar
}

// Recoil is what happens to a cocked lever that is let go with nothing to push
// against. It leaves out all friction: a real lever is a little slower.
type Recoil struct {
	Energy       float64 // E: set free by spring and weight from the greatest lift to rest [J]
	HandleShare  float64 // part of E in the handle as the piston strikes its rest [-]
	PistonShare  float64 // part of E in the piston then [-]
	StrikeSpeed  float64 // speed of the hand's place on the handle then [m/s]
	PistonSpeed  float64 // speed of the piston then [m/s]
	FastestSpeed float64 // greatest speed of the hand's place on the way [m/s]
	FastestAngle float64 // angle at which it has it [rad]
}

// Recoil returns the energy set free and its shares, from the energy alone:
//
//	E(θ) = ½ (J + m (dy/dθ)²) ω²,  v = L_h ω
//
// with the handle's share J/(J + m (dy/dθ)²). Nothing holds the piston from
// below, whatever pressures the load names. A lever latched beyond its dead
// centre is taken as let go at the dead centre.
func (l Lever) Recoil(load Load, m Moving) (Recoil, error) {
	d, err := l.drive(load)
	if err := errors.Join(err, m.validate()); err != nil {
		return Recoil{}, err
	}
	rest := l.Linkage.Range().From
	energy := func(angle float64) float64 { return integral(load.down, l.Linkage.Lift(angle), d.travel()) }
	speed := func(angle float64) float64 { return math.Sqrt(2 * energy(angle) / m.inertiaAt(l.Linkage.Slope(angle))) }
	fastest := maximum(speed, rest, d.top, corners(l.Linkage)...)
	slope := l.Linkage.Slope(rest)
	return Recoil{
		Energy:       energy(rest),
		HandleShare:  m.Inertia / m.inertiaAt(slope),
		PistonShare:  m.Piston * slope * slope / m.inertiaAt(slope), // not one less the other: it may be tiny
		StrikeSpeed:  l.Handle * speed(rest),
		PistonSpeed:  slope * speed(rest),
		FastestSpeed: l.Handle * speed(fastest),
		FastestAngle: fastest,
	}, nil
}

// inertiaAt returns the moment of inertia of handle and piston together, seen from the pivot [kg·m²].
func (m Moving) inertiaAt(slope float64) float64 { return m.Inertia + m.Piston*slope*slope }

func (m Moving) validate() error {
	return errors.Join(
		between("mass of the piston", m.Piston, 0, 1e3, "kg"),
		between("moment of inertia of the handle", m.Inertia, 1e-9, 1e3, "kg·m²"),
	)
}
