package piston

import (
	"errors"
	"fmt"
	"math"
)

// Air is a pocket of air that stays at the temperature of the water around it,
//
//	p_abs V = constant,  p_abs = p_gauge + p_atm
type Air struct {
	Volume     float64 // V_0: volume at the gauge pressure below [m³]
	Pressure   float64 // p_0: gauge pressure at that volume [Pa]
	Atmosphere float64 // p_atm: air pressure of the place, absolute [Pa]
}

// VolumeAt returns the volume [m³] at a gauge pressure [Pa] above -p_atm.
func (a Air) VolumeAt(pressure float64) (float64, error) {
	if err := errors.Join(a.Validate(), between("gauge pressure", pressure, -0.999*a.Atmosphere, maxGauge, "Pa")); err != nil {
		return 0, err
	}
	return a.volumeAt(pressure), nil
}

func (a Air) volumeAt(pressure float64) float64 {
	return a.Volume * (a.Pressure + a.Atmosphere) / (pressure + a.Atmosphere)
}

// PressureIn returns the gauge pressure [Pa] of the air squeezed, or let out, to a volume [m³].
func (a Air) PressureIn(volume float64) (float64, error) {
	if err := errors.Join(a.Validate(), between("volume of the air", volume, 1e-12, maxVolume, "m³")); err != nil {
		return 0, err
	}
	return (a.Pressure+a.Atmosphere)*a.Volume/volume - a.Atmosphere, nil
}

// Work returns the work [J] that the piston does on the air, with the
// atmosphere helping behind it, to bring it to a gauge pressure [Pa],
//
//	W = p_0 V_0 ln(p/p_0) - p_atm (V_0 - V), p absolute
func (a Air) Work(pressure float64) (float64, error) {
	v, err := a.VolumeAt(pressure)
	if err != nil {
		return 0, err
	}
	p0, p := a.Pressure+a.Atmosphere, pressure+a.Atmosphere
	return p0*a.Volume*math.Log(p/p0) - a.Atmosphere*(a.Volume-v), nil
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
