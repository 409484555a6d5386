package piston

import (
	"errors"
	"fmt"
	"math"
)

// Pair is two forces measured at the same position, one that keeps the piston
// rising slowly and one that lets it sink slowly.
//
//	F_f = (F_raise - F_lower)/2,  F = (F_raise + F_lower)/2
type Pair struct {
	Raise float64 // force that keeps the piston rising [N]
	Lower float64 // force that lets it sink [N]
}

// Friction returns the friction force F_f [N], the same both ways.
func (p Pair) Friction() float64 { return (p.Raise - p.Lower) / 2 }

// Balance returns the force without friction [N]: spring and weight.
func (p Pair) Balance() float64 { return (p.Raise + p.Lower) / 2 }

// Validate reports a pair that friction cannot make.
func (p Pair) Validate() error {
	err := errors.Join(
		between("force raising", p.Raise, -maxForce, maxForce, "N"),
		between("force lowering", p.Lower, -maxForce, maxForce, "N"),
	)
	if err == nil && !(p.Raise >= p.Lower) {
		return fmt.Errorf("%w: force lowering %.4g N, want at most the force raising %.4g N", ErrValue, p.Lower, p.Raise)
	}
	return err
}

// AtPiston turns a pair measured at the handle, without pressure, into the
// pair at the piston, with the friction of the linkage taken out,
//
//	raise  (F_h L_h + M) η / (dy/dθ)
//	lower  (F_h L_h + M) / (η dy/dθ)
//
// with the moment M of the handle's own weight towards cocked.
// It wants both forces of the hand above zero, and an angle away from the dead centre.
func (l Lever) AtPiston(handle Pair, angle float64) (Pair, error) {
	if err := errors.Join(l.Validate(), handle.Validate()); err != nil {
		return Pair{}, err
	}
	if err := l.Linkage.Range().contains(angle); err != nil {
		return Pair{}, err
	}
	if !(handle.Lower >= 0) {
		return Pair{}, fmt.Errorf("%w: force lowering %.4g N at the handle, want 0 or more", ErrValue, handle.Lower)
	}
	slope := l.Linkage.Slope(angle)
	if !(slope >= l.Handle*1e-3) {
		return Pair{}, fmt.Errorf("%w: handle angle %.4g rad is too near a dead centre to measure at", ErrRange, angle)
	}
	efficiency := l.efficiencyAt(angle)
	weight := l.moment(angle)
	p := Pair{Raise: (handle.Raise*l.Handle + weight) * efficiency / slope, Lower: (handle.Lower*l.Handle + weight) / (efficiency * slope)}
	if !(p.Raise >= p.Lower) {
		return Pair{}, fmt.Errorf("%w: efficiency of the linkage %.4g [-], want above %.4g for this pair: "+
			"the linkage cannot lose more than the pair shows", ErrValue, efficiency, math.Sqrt(handle.Lower/handle.Raise))
	}
	return p, nil
}

// ORing is one or more O-rings on a piston, for an estimate of their friction
// before anybody has measured it. A measured Pair is better.
type ORing struct {
	Bore     float64 // D: inside diameter of the cylinder [m]
	Groove   float64 // D_g: diameter at the bottom of the groove in the piston [m]
	Squeeze  float64 // δ: squeeze of the ring over its thickness [-], above 0 to 0.20
	Hardness float64 // H: hardness [Shore A], 70 to 90
	Rings    int     // number of rings
}

// Estimate is a value with the band in which the truth is expected.
type Estimate struct {
	Low   float64 // [N]
	Value float64 // [N]
	High  float64 // [N]
}

// ORingScatter is the half width of the band of an O-ring estimate over its
// value [-]. Charts of this kind scatter by 30 to 50 %; the wider one is taken
// because the coefficients are from memory.
const ORingScatter = 0.5

// ORingSource names where the estimate comes from and how far to trust it.
const ORingSource = "method of the Parker O-Ring Handbook ORD 5700 §5.11, charts by the regression of " +
	"Al-Ghathian and Tarawneh (2005), coefficients from memory; for oil-wet nitrile rubber; scatter ±30 to 50 %"

// Friction returns the running friction of the rings at a gauge pressure [Pa], 0 to 20 MPa,
//
//	F = f_c L_p + f_h A_p,  L_p = π D,  A_p = π/4 (D² - D_g²)
//	f_c = (-0.884 + 0.0206 H - 0.0001 H²) δ    [lbf/in], δ in %
//	f_h = 0.545 p^0.61                         [lbf/in²], p in psi
//
// by the method of [ORD 5700] with the charts of [Al-Ghathian], from memory,
// good to ORingScatter. A ring that has stood still starts with up to about
// three times as much.
func (o ORing) Friction(pressure float64) (Estimate, error) {
	if err := errors.Join(o.validate(), between("pressure on the O-ring", pressure, 0, 20e6, "Pa")); err != nil {
		return Estimate{}, err
	}
	f := o.squeeze() + o.drag(pressure)
	return Estimate{Low: f * (1 - ORingScatter), Value: f, High: f * (1 + ORingScatter)}, nil
}

// Seal returns the rings as constant and per-pressure friction. The straight
// line meets the estimate without pressure and at the working gauge pressure
// [Pa]; between the two it is low by up to 18 % of the pressure's part at work.
func (o ORing) Seal(working float64) (Seal, error) {
	if err := errors.Join(o.validate(), between("working pressure", working, 1e4, 20e6, "Pa")); err != nil {
		return Seal{}, err
	}
	return Seal{Constant: o.squeeze(), PerPa: o.drag(working) / working}, nil
}

const (
	inch = 25.4e-3       // [m]
	lbf  = 4.4482216     // [N]
	psi  = 6.894757293e3 // [Pa]
)

// squeeze returns the friction from the squeeze of the rings [N].
func (o ORing) squeeze() float64 {
	perInch := (-0.884 + 0.0206*o.Hardness - 0.0001*o.Hardness*o.Hardness) * 100 * o.Squeeze
	return float64(o.Rings) * perInch * lbf / inch * math.Pi * o.Bore
}

// drag returns the friction from the pressure on the rings [N].
func (o ORing) drag(pressure float64) float64 {
	area := math.Pi / 4 * (o.Bore*o.Bore - o.Groove*o.Groove)
	return float64(o.Rings) * 0.545 * math.Pow(pressure/psi, 0.61) * psi * area
}

func (o ORing) validate() error {
	err := errors.Join(
		length("bore", o.Bore),
		length("groove diameter", o.Groove),
		between("squeeze", o.Squeeze, 1e-3, 0.20, "[-]"),
		between("hardness", o.Hardness, 70, 90, "Shore A"),
		between("number of O-rings", float64(o.Rings), 1, 10, "[-]"),
	)
	if err == nil && !(o.Groove < o.Bore) {
		return fmt.Errorf("%w: groove diameter %.4g m, want below the bore %.4g m", ErrValue, o.Groove, o.Bore)
	}
	return err
}
