package profile

import (
	"errors"
	"fmt"
	"math"
)

// ErrSetup marks every fault of a setup.
var ErrSetup = errors.New("profile: impossible setup")

// Far beyond any coffee, but within what the arithmetic bears.
const (
	steepestLoad = 5    // largest loading exponent [-]; measured about 1
	soonest      = 1e-3 // smallest decay of what can dissolve, as water over dose [-]; measured about 0.6
)

// checker collects faults. Its comparisons are written so that NaN fails.
type checker struct{ faults []error }

func (c *checker) that(ok bool, field string, value float64, unit, want string) {
	if !ok {
		c.fault(field, value, unit, want)
	}
}

// fault is a function of its own so that what has no fault costs a comparison.
func (c *checker) fault(field string, value float64, unit, want string) {
	c.faults = append(c.faults, fmt.Errorf("%w: %s is %g %s, want %s", ErrSetup, field, value, unit, want))
}

func (c *checker) positive(field string, value float64, unit string) {
	c.that(value > 0 && value <= math.MaxFloat64, field, value, unit, "more than 0")
}

func (c *checker) notNegative(field string, value float64, unit string) {
	c.that(value >= 0 && value <= math.MaxFloat64, field, value, unit, "0 or more")
}

// Validate reports every impossible value of a setup at once, each with its
// field, value, unit and limit; all wrap ErrSetup. It allocates nothing for a
// valid setup.
func (s *Setup) Validate() error {
	var c checker
	c.that(len(s.Springs) > 0, "Springs", float64(len(s.Springs)), "springs", "one or more")
	for i := range s.Springs {
		sp := &s.Springs[i]
		c.notNegative("Springs.Rate", sp.Rate, "N/m")
		c.that(!math.IsNaN(sp.Preload) && !math.IsInf(sp.Preload, 0), "Springs.Preload", sp.Preload, "N", "a number")
	}
	cy := &s.Cylinder
	c.positive("Cylinder.Bore", cy.Bore, "m")
	c.positive("Cylinder.Stroke", cy.Stroke, "m")
	c.that(cy.Port >= 0 && cy.Port < cy.Stroke, "Cylinder.Port", cy.Port, "m", "0 or more and less than the stroke")
	c.notNegative("Cylinder.Weight", cy.Weight, "N")
	c.notNegative("Cylinder.Seal.Constant", cy.Seal.Constant, "N")
	c.notNegative("Cylinder.Seal.PerPa", cy.Seal.PerPa, "N/Pa")
	c.notNegative("Chamber.Headspace", s.Chamber.Headspace, "m³")
	c.that(s.Chamber.Air >= 0 && s.Chamber.Air <= s.ChamberVolume()-cy.Area()*cy.Port, "Chamber.Air", s.Chamber.Air, "m³", "0 or more and within the chamber below the port")
	c.positive("Basket.Diameter", s.Basket.Diameter, "m")
	c.notNegative("Basket.Depth", s.Basket.Depth, "m")

	co := &s.Coffee
	c.positive("Coffee.Dose", co.Dose, "kg")
	c.positive("Coffee.BulkDensity", co.BulkDensity, "kg/m³")
	c.positive("Coffee.Resistance", co.Resistance, "Pa·s/m³")
	c.positive("Coffee.AtPressure", co.AtPressure, "Pa")
	c.that(co.Loading >= 0 && co.Loading <= steepestLoad, "Coffee.Loading", co.Loading, "", "from 0 to 5")
	c.that(co.Unloading >= 0 && co.Unloading <= co.Loading, "Coffee.Unloading", co.Unloading, "", "from 0 to the loading exponent")
	c.notNegative("Coffee.Threshold", co.Threshold, "Pa")
	c.that(co.Low >= 0 && co.Low <= steepestLoad, "Coffee.Low", co.Low, "", "from 0 to 5")
	c.that(co.Blocking >= 0 && co.Blocking < 1, "Coffee.Blocking", co.Blocking, "", "0 or more and less than 1")
	c.that(co.BlockingBy > 0 && !math.IsInf(co.BlockingBy, 1) || co.Blocking == 0, "Coffee.BlockingBy", co.BlockingBy, "", "more than 0")
	c.that(co.SetBy >= 0 && co.SetBy <= 1, "Coffee.SetBy", co.SetBy, "", "from 0 to 1")
	c.notNegative("Coffee.Soaking", co.Soaking, "1/s")
	c.notNegative("Coffee.FoundDose", co.FoundDose, "kg")
	c.notNegative("Coffee.FoundDiameter", co.FoundDiameter, "m")
	c.notNegative("Coffee.Retained", co.Retained, "")
	c.that(co.DryPerm > 0 || co.Retained == 0, "Coffee.DryPerm", co.DryPerm, "m²", "more than 0")
	c.notNegative("Coffee.Suction", co.Suction, "Pa")
	c.that(co.Soluble >= 0 && co.Soluble < 1, "Coffee.Soluble", co.Soluble, "", "0 or more and less than 1")
	c.that(co.SolubleBy >= soonest || co.Soluble == 0, "Coffee.SolubleBy", co.SolubleBy, "", "0.001 or more")
	c.that(co.SecondPull > 0 || len(s.Pulls) < 2, "Coffee.SecondPull", co.SecondPull, "", "more than 0")

	c.positive("Water.Viscosity", s.Water.Viscosity, "Pa·s")
	c.positive("Water.Density", s.Water.Density, "kg/m³")
	c.notNegative("Water.Fill", s.Water.Fill, "Pa")
	c.positive("Water.Atmosphere", s.Water.Atmosphere, "Pa")
	c.that(len(s.Pulls) > 0, "Pulls", float64(len(s.Pulls)), "pulls", "one or more")
	for i := range s.Pulls {
		p := &s.Pulls[i]
		c.notNegative("Pulls.FillTime", p.FillTime, "s")
		c.notNegative("Pulls.Preinfusion", p.Preinfusion, "s")
		c.notNegative("Pulls.EndPressure", p.EndPressure, "Pa")
		c.notNegative("Pulls.EndCup", p.EndCup, "kg")
	}
	c.faults = append(c.faults, s.Handle.Faults(s.Cylinder.Stroke, s.rate())...)
	if len(c.faults) == 0 {
		c.opens(co, s.mostPressure())
	}
	return errors.Join(c.faults...)
}

// opens faults a bed whose pores are closed at a pressure [Pa]: b must stay
// under f_P = (P/P_t)^(-n/3).
func (c *checker) opens(co *Coffee, pressure float64) {
	if co.Blocking == 0 || co.Threshold <= 0 {
		return
	}
	limit := power(max(1, pressure/co.Threshold), -co.Loading/3)
	if !(co.Blocking < limit) {
		c.faults = append(c.faults, fmt.Errorf("%w: Coffee.Blocking is %g, want less than %.3g: at %.3g bar the pores of the bed would be closed", ErrSetup, co.Blocking, limit, pressure/1e5))
	}
}

// mostPressure returns the highest pressure that the bed may see [Pa].
func (s *Setup) mostPressure() float64 {
	d := newDrive(s, 0)
	return max(s.Water.Fill, d.pressure(d.port))
}

// rate returns the summed rate of all springs [N/m].
func (s *Setup) rate() (k float64) {
	for i := range s.Springs {
		k += s.Springs[i].Rate
	}
	return k
}

// ChamberVolume returns the room between the cocked piston and the bed,
// A s + headspace [m³].
func (s *Setup) ChamberVolume() float64 {
	return s.Cylinder.Area()*s.Cylinder.Stroke + s.Chamber.Headspace
}
