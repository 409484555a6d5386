package piston

import (
	"errors"
	"math"
)

// Cylinder is the bore that the spring's piston works in.
type Cylinder struct {
	Bore   float64 // D: inside diameter of the cylinder [m]
	Stroke float64 // s: travel of the piston from cocked to rest [m]
	Port   float64 // s_p: travel from cocked until the piston has passed the inlet port [m]; pressure builds only below it
	Weight float64 // W_p: weight of the moving parts that helps the spring [N]
	Seal   Seal    // friction of the piston's seals
}

// Seal is the friction of the piston's seals, which opposes motion: it lowers
// the brewing pressure and raises the hand's effort, once each, from one pair of numbers.
//
//	F_f = F_f0 + c P, with P the gauge pressure above the puck
type Seal struct {
	Constant float64 // F_f0: friction without pressure [N]
	PerPa    float64 // c: friction per unit of gauge pressure [N/Pa]
}

// Friction returns the friction force [N] at a gauge pressure [Pa].
func (s Seal) Friction(pressure float64) float64 { return s.Constant + s.PerPa*pressure }

// Area returns the piston area A = π D²/4 [m²].
func (c Cylinder) Area() float64 { return math.Pi / 4 * c.Bore * c.Bore }

// Pressure returns the gauge pressure [Pa] that a force [N] of spring and
// weight together holds above the puck while the piston moves down,
//
//	P = (F - F_f0) / (A + c)
//
// and 0 where friction alone holds the force.
func (c Cylinder) Pressure(force float64) float64 {
	return max(0, (force-c.Seal.Constant)/(c.Area()+c.Seal.PerPa))
}

// Validate reports every fault of the cylinder and its seal.
func (c Cylinder) Validate() error {
	return errors.Join(
		length("bore", c.Bore),
		length("stroke", c.Stroke),
		between("port travel", c.Port, 0, max(0, c.Stroke), "m"),
		between("piston weight", c.Weight, 0, maxForce, "N"),
		c.Seal.Validate(),
	)
}

// Validate reports every fault of the seal.
func (s Seal) Validate() error {
	return errors.Join(
		between("seal friction", s.Constant, 0, maxForce, "N"),
		between("seal friction by pressure", s.PerPa, 0, maxForce/maxGauge, "N/Pa"),
	)
}
