package tables

import (
	"fmt"
	"math"
	"sync"
)

// The ranges of the water formulations.
const (
	waterTmin   = 273.15  // freezing [K]
	waterTcrit  = 647.096 // critical temperature [K]
	region1Tmax = 623.15  // end of region 1 [K]
	region1Pmax = 100e6   // highest pressure of region 1 [Pa]

	saturationPmin = 611.213  // saturation pressure at 273.15 K [Pa]
	saturationPmax = 22.064e6 // critical pressure [Pa]

	viscosityTmax   = 1173.15 // highest temperature of the viscosity [K]
	viscosityRhoMax = 1200.0  // highest density with a check value [kg/m³]

	// The part around the critical point where the critical enhancement, left
	// out here, exceeds 2 %: R12-08, section 2.8.
	nearCriticalTmin, nearCriticalTmax     = 645.91, 650.77 // [K]
	nearCriticalRhoMin, nearCriticalRhoMax = 245.8, 405.3   // [kg/m³]
)

// outside is the error of a quantity outside its range. The comparison of its
// caller is written so that NaN ends here too.
func outside(what string, x float64, unit string, low, high float64) error {
	return fmt.Errorf("%w: %s %.6g %s, known from %.6g to %.6g %s", ErrRange, what, x, unit, low, high, unit)
}

// SaturationPressure returns the absolute pressure [Pa] at which water of
// temperature t [K] boils,
//
//	p = [2C / (-B + √(B² - 4AC))]⁴ MPa
//
// with A, B, C quadratic in θ = t + n9/(t - n10). IAPWS R7-97(2012) eq. 30,
// region 4, 273.15 K to 647.096 K.
func SaturationPressure(t float64) (float64, error) {
	if !(t >= waterTmin && t <= waterTcrit) {
		return 0, outside("water temperature", t, "K", waterTmin, waterTcrit)
	}
	return saturation(region4(), t), nil
}

// saturation is [SaturationPressure] with the coefficients n, counted from 1.
func saturation(n []float64, t float64) float64 {
	theta := t + n[9]/(t-n[10])
	a := theta*theta + n[1]*theta + n[2]
	b := n[3]*theta*theta + n[4]*theta + n[5]
	c := n[6]*theta*theta + n[7]*theta + n[8]
	return power(2*c/(-b+math.Sqrt(b*b-4*a*c)), 4) * 1e6
}

// SaturationTemperature returns the temperature [K] at which water boils under
// the absolute pressure p [Pa]: the inverse of [SaturationPressure],
// IAPWS R7-97(2012) eq. 31, 611.213 Pa to 22.064 MPa.
func SaturationTemperature(p float64) (float64, error) {
	if !(p >= saturationPmin && p <= saturationPmax) {
		return 0, outside("water pressure", p, "Pa", saturationPmin, saturationPmax)
	}
	n := region4()
	beta := math.Sqrt(math.Sqrt(p / 1e6))
	e := beta*beta + n[3]*beta + n[6]
	f := n[1]*beta*beta + n[4]*beta + n[7]
	g := n[2]*beta*beta + n[5]*beta + n[8]
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	return (n[10] + d - math.Sqrt((n[10]+d)*(n[10]+d)-4*(n[9]+n[10]*d))) / 2, nil
}

// WaterDensity returns the density [kg/m³] of liquid water of temperature t [K]
// under the absolute pressure p [Pa],
//
//	1/ρ = (R t/p) π ∂γ/∂π,  R = 461.526 J/(kg K),  π = p/16.53 MPa
//
// IAPWS R7-97(2012) eq. 7, region 1: 273.15 K to 623.15 K, from the saturation
// pressure to 100 MPa. Below the saturation pressure water is steam: an error.
func WaterDensity(t, p float64) (float64, error) {
	if !(t >= waterTmin && t <= region1Tmax) {
		return 0, outside("water temperature", t, "K", waterTmin, region1Tmax)
	}
	boils, err := SaturationPressure(t)
	if err != nil {
		return 0, err
	}
	// The last digits of a pressure computed as the saturation pressure of t
	// must not turn the liquid into steam.
	const rounding = 1e-9
	if !(p >= boils*(1-rounding) && p <= region1Pmax) {
		return 0, outside(fmt.Sprintf("liquid water at %.6g K: pressure", t), p, "Pa", boils, region1Pmax)
	}
	return liquidDensity(region1(), t, p), nil
}

// liquidDensity is [WaterDensity] with the coefficients of region 1.
func liquidDensity(terms []term, t, p float64) float64 {
	const r = 461.526 // specific gas constant [J/(kg K)]
	pi, tau := p/16.53e6, 1386/t
	x, y, sum := 7.1-pi, tau-1.222, 0.0
	for _, c := range terms {
		if c.i != 0 {
			sum -= c.n * float64(c.i) * power(x, c.i-1) * power(y, c.j)
		}
	}
	return p / (r * t * pi * sum)
}

// WaterViscosity returns the dynamic viscosity [Pa·s] of water of temperature
// t [K] and density rho [kg/m³], liquid or steam,
//
//	μ = μ0(T) μ1(T, ρ) · 1 µPa·s
//
// IAPWS R12-08 eqs. 10 to 12 with the critical factor μ2 = 1, 273.15 K to
// 1173.15 K, up to 1200 kg/m³. Where the factor left out exceeds 2 %, close to the
// critical point, it returns an error. That rho belongs to an attainable pressure
// is left to the caller.
func WaterViscosity(t, rho float64) (float64, error) {
	if !(t >= waterTmin && t <= viscosityTmax) {
		return 0, outside("water temperature", t, "K", waterTmin, viscosityTmax)
	}
	if !(rho > 0 && rho <= viscosityRhoMax) {
		return 0, outside("water density", rho, "kg/m³", 0, viscosityRhoMax)
	}
	if t > nearCriticalTmin && t < nearCriticalTmax && rho > nearCriticalRhoMin && rho < nearCriticalRhoMax {
		return 0, fmt.Errorf("%w: water of %.6g K and %.6g kg/m³ is too close to its critical point", ErrRange, t, rho)
	}
	return viscosityOf(viscosity(), t, rho), nil
}

// viscosityOf is [WaterViscosity] with the coefficients of the factor μ1.
func viscosityOf(terms []term, t, rho float64) float64 {
	tr, r := t/waterTcrit, rho/322
	mu0 := 100 * math.Sqrt(tr) / (1.67752 + 2.20462/tr + 0.6366564/(tr*tr) - 0.241605/(tr*tr*tr))
	x, y, sum := 1/tr-1, r-1, 0.0
	for _, c := range terms {
		sum += c.n * power(x, c.i) * power(y, c.j)
	}
	return mu0 * math.Exp(r*sum) * 1e-6
}

// term is one line of a series n x^i y^j.
type term struct {
	i, j int
	n    float64
}

// power returns x^n for a whole n, several times as quick as math.Pow.
func power(x float64, n int) float64 {
	if n < 0 {
		x, n = 1/x, -n
	}
	p := 1.0
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			p *= x
		}
		x *= x
	}
	return p
}

// terms reads a series; its columns are two exponents and the coefficient.
func (t Table) terms(i, j, n string) []term {
	list := make([]term, len(t.Rows))
	for k := range list {
		list[k] = term{i: int(t.number(k, i)), j: int(t.number(k, j)), n: t.number(k, n)}
	}
	return list
}

// fromOne reads coefficients so that the first has the index 1, as in the release.
func (t Table) fromOne(n string) []float64 { return append([]float64{0}, t.numbers(n)...) }

var (
	region1   = sync.OnceValue(func() []term { return get("if97-region1").terms("I", "J", "n") })
	viscosity = sync.OnceValue(func() []term { return get("iapws-viscosity").terms("i", "j", "H") })
	region4   = sync.OnceValue(func() []float64 { return get("if97-region4").fromOne("n") })
)
