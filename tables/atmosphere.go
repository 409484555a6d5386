package tables

import "math"

// The lowest layer of the standard atmosphere.
const (
	seaLevelPressure    = 101325.0          // [Pa]
	seaLevelTemperature = 288.15            // [K]
	lapseRate           = 0.0065            // [K/m]
	standardGravity     = 9.80665           // [m/s²]
	airGasConstant      = 8314.32 / 28.9644 // R*/M of air [J/(kg K)]

	altitudeMin, altitudeMax = -2000.0, 11000.0 // [m]
)

// Atmosphere returns the air pressure [Pa] at a geopotential altitude [m] in the
// standard atmosphere,
//
//	p = 101325 Pa (1 - 0.0065 H / 288.15)^(g/(R·0.0065)),  exponent 5.25588
//
// U.S. Standard Atmosphere 1976, from -2 km to 11 km. ISO 2533 has R = 287.05287
// instead of 287.05307 J/(kg K), which moves the pressure at 11 km by 1 in 10⁶. The
// weather moves the true pressure by about ±3 %. Geopotential altitude is 0.05 %
// less than the measured one at 3 km.
func Atmosphere(altitude float64) (float64, error) {
	if !(altitude >= altitudeMin && altitude <= altitudeMax) {
		return 0, outside("altitude", altitude, "m", altitudeMin, altitudeMax)
	}
	exponent := standardGravity / (airGasConstant * lapseRate)
	return seaLevelPressure * math.Pow(1-lapseRate*altitude/seaLevelTemperature, exponent), nil
}
