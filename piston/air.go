package piston

import (
	"errors"
	"fmt"
	"math"
)

// Air is a pocket of air that stays at the temperature of the water around it:
// Boyle's law,
//
//	p V = constant,  p = p_gauge + p_atm
//
// Its methods presume a pocket that Validate accepts and a pressure above a
// vacuum; a pocket of no volume stays one.
type Air struct {
	Volume     float64 // V_0: volume at the gauge pressure below [m³]
	Pressure   float64 // p_0: gauge pressure at that volume [Pa]
	Atmosphere float64 // p_atm: air pressure of the place, absolute [Pa]
}

// content returns p V [J].
func (a Air) content() float64 { return (a.Pressure + a.Atmosphere) * a.Volume }

// VolumeAt returns the volume [m³] at a gauge pressure [Pa].
func (a Air) VolumeAt(pressure float64) float64 { return a.content() / (pressure + a.Atmosphere) }

// Squeezed returns by how much smaller [m³] the air is at a gauge pressure [Pa].
func (a Air) Squeezed(pressure float64) float64 { return a.Volume - a.VolumeAt(pressure) }

// Give returns -dV/dp [m³/Pa] at a gauge pressure [Pa].
func (a Air) Give(pressure float64) float64 { return a.VolumeAt(pressure) / (pressure + a.Atmosphere) }

// PressureIn returns the gauge pressure [Pa] of the air squeezed, or let out, to a
// volume [m³] above 0.
func (a Air) PressureIn(volume float64) float64 { return a.content()/volume - a.Atmosphere }

// WorkTo returns the work [J] that the piston does on the air, with the
// atmosphere helping behind it, to bring it to a volume [m³],
//
//	W = p_0 V_0 ln(V_0/V) - p_atm (V_0 - V), p absolute
func (a Air) WorkTo(volume float64) float64 {
	if a.Volume == 0 {
		return 0
	}
	return a.content()*math.Log(a.Volume/volume) - a.Atmosphere*(a.Volume-volume)
}

// Validate reports every fault of the pocket.
func (a Air) Validate() error {
	err := errors.Join(
		between("volume of the air", a.Volume, 0, maxVolume, "m³"),
		between("gauge pressure of the air", a.Pressure, -1.1e5, maxGauge, "Pa"),
		between("air pressure of the place, absolute", a.Atmosphere, 1e4, 1.2e5, "Pa"),
	)
	if err == nil && !(a.Pressure > -0.999*a.Atmosphere) {
		return fmt.Errorf("%w: gauge pressure of the air %.4g Pa, want above a vacuum, %.4g Pa", ErrValue, a.Pressure, -a.Atmosphere)
	}
	return err
}
