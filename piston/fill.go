package piston

import (
	"errors"
	"fmt"
)

// Fill is how the chamber stands when the lever is released.
type Fill struct {
	Headspace  float64 // volume between the piston at rest and the bed [m³]
	Unfilled   float64 // volume that water has not reached and whose air leaves through the bed ahead of the piston [m³]
	Air        float64 // V_a: air that stays trapped, at the fill pressure [m³]
	Pressure   float64 // P_fill: gauge pressure of the boiler or line [Pa]
	Atmosphere float64 // P_atm: air pressure of the place, absolute [Pa]
}

// FillLoss is the stroke that is gone before the brewing pressure stands, by
// cause in the order in which the piston meets them, and what each costs of the peak.
//
//	Ideal - Port.Pressure - Unfilled.Pressure - Air.Pressure = Peak
type FillLoss struct {
	Volume   float64  // of the chamber with the piston cocked, headspace included [m³]
	Water    float64  // of the water in it [m³]
	Ideal    float64  // peak gauge pressure if the spring met water at full stroke [Pa]
	Port     Lost     // travel until the piston has closed the inlet port
	Unfilled Lost     // travel through space that holds no water
	Air      Lost     // travel that squeezes trapped air from fill pressure to the peak
	Peak     float64  // gauge pressure that is left [Pa]
	Lift     float64  // lift of the piston at the peak [m]
	Doubts   []string // what makes the answer uncertain
}

// Lost is what one cause takes.
type Lost struct {
	Stroke   float64 // travel of the piston [m]
	Pressure float64 // of the peak gauge pressure [Pa]
}

// ChamberVolume returns the volume under the cocked piston [m³]: bore area
// times stroke, and the headspace [m³].
func (c Cylinder) ChamberVolume(headspace float64) float64 { return c.Area()*c.Stroke + headspace }

// Loss returns the stroke lost in filling and the peak pressure it costs.
// spring is the force of all springs [N] at a lift [m]. Trapped air is
// isothermal,
//
//	Δy = V_a (1 - (P_fill + P_atm)/(P_peak + P_atm)) / A
//
// with P_peak the pressure of the spring where that travel ends. Water and
// metal are taken as rigid: 60 mL of water at 9 bar give way by 0.03 mL only.
func (f Fill) Loss(c Cylinder, spring func(lift float64) float64) (FillLoss, error) {
	if err := errors.Join(c.Validate(), f.Validate(c), checkSpring(spring, 0)); err != nil {
		return FillLoss{}, err
	}
	if err := checkSpring(spring, c.Stroke); err != nil {
		return FillLoss{}, err
	}
	pressure := func(lift float64) float64 { return c.Pressure(spring(lift) + c.Weight) }
	closed := c.Stroke - c.Port
	wet := max(0, closed-f.Unfilled/c.Area())
	var atWet, lift, peak float64 // 0 where nothing of the stroke is left to press with
	if wet > 0 {
		atWet = pressure(wet)
		lift, peak = f.squeeze(c.Area(), pressure, wet)
	}
	loss := FillLoss{
		Volume:   c.ChamberVolume(f.Headspace),
		Water:    c.ChamberVolume(f.Headspace) - f.Unfilled - f.Air,
		Ideal:    pressure(c.Stroke),
		Port:     Lost{Stroke: c.Port, Pressure: pressure(c.Stroke) - pressure(closed)},
		Unfilled: Lost{Stroke: closed - wet, Pressure: pressure(closed) - atWet},
		Air:      Lost{Stroke: wet - lift, Pressure: atWet - peak},
		Peak:     peak,
		Lift:     lift,
	}
	if lift == 0 {
		loss.Doubts = append(loss.Doubts, "The piston reaches its rest before the pressure of the spring stands: "+
			"there is more space to close than stroke to close it.")
	} else if peak <= f.Pressure {
		loss.Doubts = append(loss.Doubts, "The spring holds no more than the fill pressure: the boiler, not the spring, would move the water.")
	}
	return loss, nil
}

// squeeze returns where the trapped air stands against the spring: the lift
// [m], at most from, and the gauge pressure [Pa] there. At lift 0 the piston
// has come to rest before, on air that it has not squeezed enough.
func (f Fill) squeeze(area float64, pressure func(lift float64) float64, from float64) (lift, gauge float64) {
	air := f.air()
	left := func(lift float64) float64 { return f.Air - area*(from-lift) }
	excess := func(lift float64) float64 { // of the room over the air under the pressure of the spring
		return left(lift) - air.VolumeAt(pressure(lift))
	}
	switch {
	case !(air.Squeezed(pressure(from)) > 0): // no air, or no more than the fill pressure
		return from, pressure(from)
	case excess(0) > 0:
		return 0, air.PressureIn(left(0))
	}
	lift = bisect(excess, 0, from)
	return lift, pressure(lift)
}

// air returns the trapped air.
func (f Fill) air() Air { return Air{Volume: f.Air, Pressure: f.Pressure, Atmosphere: f.Atmosphere} }

// Validate reports every fault of the filling of a cylinder.
func (f Fill) Validate(c Cylinder) error {
	err := errors.Join(
		between("headspace", f.Headspace, 0, maxVolume, "m³"),
		between("unfilled volume", f.Unfilled, 0, maxVolume, "m³"),
		f.air().Validate(),
	)
	if all := c.ChamberVolume(f.Headspace); err == nil && !(f.Unfilled+f.Air <= all) {
		return fmt.Errorf("%w: unfilled volume and air %.4g m³, want at most the %.4g m³ of the chamber", ErrValue, f.Unfilled+f.Air, all)
	}
	return err
}
