package spring

import "errors"

// Coefficients r [1/K] of the fall of the moduli with temperature. EN 13906-1
// from memory; the last from the text of US makers, 2 % per 55 K, which
// disagrees with EN for the same carbon steel by 1 % per 100 K.
const (
	SofteningCarbonEN  = 0.25e-3 // carbon and low alloy steel
	SofteningAlloyedEN = 0.40e-3 // stainless steel and copper alloys
	SofteningUS        = 0.36e-3 // any spring steel
)

// Heat is a temperature and what it does to the wire.
type Heat struct {
	Celsius   float64 // T: temperature of the wire [°C]
	Softening float64 // r: fall of G and E per kelvin above 20 °C, over their value at 20 °C [1/K]
}

// At returns the spring at another temperature than 20 °C,
//
//	G(T) = G20 (1 - r (T - 20 °C))        [EN 13906] 8.2, from memory
//
// and E likewise, so that the rate follows G. It accepts -50 to 300 °C, past
// which no steel of a handbook keeps its load. Growth of the dimensions, 0.1 %
// per 80 K, is left out.
func (s Compression) At(h Heat) (Compression, error) {
	if err := errors.Join(
		quantity{"wire temperature", h.Celsius, "°C"}.within(-50, 300, ErrRange),
		quantity{"softening", h.Softening, "1/K"}.within(0, 1e-3, ErrInput),
	); err != nil {
		return Compression{}, err
	}
	factor := 1 - h.Softening*(h.Celsius-20)
	s.G *= factor
	s.E *= factor
	return s, nil
}
