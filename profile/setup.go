package profile

import (
	"springcalc/piston"
	"springcalc/spring"
)

// Setup is everything a shot depends on. All of it is SI.
type Setup struct {
	Springs  []spring.Linear // springs side by side (a nest), one or more
	Cylinder piston.Cylinder // bore, stroke, port, seal, piston weight
	Chamber  Chamber         // what the piston closes over
	Basket   Basket          // where the coffee lies
	Coffee   Coffee          // the bed and what it does to water
	Water    Water           // what flows
	Handle   piston.Handle   // weight of the handle as a force on the piston; zero for none
	Pulls    []Pull          // one pull, or more where the lever is cocked again mid-shot
}

// Chamber is the space between the piston at rest and the coffee.
type Chamber struct {
	Headspace float64 // volume left between the piston at rest and the bed [m³]
	Air       float64 // V_a: air that stays in the filled chamber with the port closed, at the fill pressure [m³]
}

// Basket is the filter basket.
type Basket struct {
	Diameter float64 // D_b: inside diameter [m]
	Depth    float64 // inside depth [m]; 0 where it is not known
}

// Coffee is the bed of ground coffee.
type Coffee struct {
	Dose        float64 // m: dry coffee [kg]
	BulkDensity float64 // ρ_b: tamped density of the dry bed [kg/m³]

	Resistance float64 // R_ref: resistance of the extracted bed under load at the reference pressure [Pa·s/m³]
	AtPressure float64 // P_ref: pressure at which it holds [Pa]
	Loading    float64 // n: exponent of R with rising pressure, above Threshold [-]
	Unloading  float64 // n_u: exponent of R with falling pressure, from 0 (compaction stays) to n (elastic) [-]
	Threshold  float64 // P_t: pressure under which the bed does not compact [Pa]
	Low        float64 // n_l: exponent of (P_t/P_max) by which a bed never pressed to P_t resists more [-]
	Blocking   float64 // b_t: share of the pores' opening that undissolved coffee blocks in a bed pressed to P_t [-]
	BlockingBy float64 // c: cup mass over dose in which the blocking coffee falls by e [-]
	SetBy      float64 // w: pressure that sets the blocking, from 0 (the highest so far) to 1 (that of the first wetting) [-]
	Soaking    float64 // k_1: rate at which the blocking coffee is lost while the wetted bed waits for the release [1/s]

	FoundDose     float64 // dose with which Resistance was found [kg]; 0 for Dose
	FoundDiameter float64 // inside diameter of the basket with which it was found [m]; 0 for that of Basket

	Retained float64 // w_r: water that the wetted bed keeps, per mass of dose [-]
	DryPerm  float64 // κ_dry: permeability that the wetting front meets [m²]
	Suction  float64 // ψ: capillary suction of the dry bed [Pa]

	Soluble   float64 // Y: mass that can dissolve, per mass of dose [-]
	SolubleBy float64 // r: water passed over dose in which what is left to dissolve falls by e [-]

	SecondPull float64 // factor on the resistance from the second pull on [-]

	Slopes [2][2]float64 // of the time and the yield of the known shot that told of it, by resistance and by retained water, each as a part of itself [-]; 0 for none, only a start for the next calibration
}

// Water is the brewing water and what pushes it before the spring does.
type Water struct {
	Viscosity  float64 // μ: dynamic viscosity at brewing temperature [Pa·s]
	Density    float64 // ρ: density at brewing temperature [kg/m³]
	Fill       float64 // P_fill: gauge pressure of the boiler or line [Pa]
	Atmosphere float64 // P_atm: air pressure of the place [Pa]
}

// Air returns a volume of air [m³] under the fill pressure.
func (w *Water) Air(volume float64) piston.Air {
	return piston.Air{Volume: volume, Pressure: w.Fill, Atmosphere: w.Atmosphere}
}

// Pull is one cocking and release of the lever.
type Pull struct {
	FillTime    float64 // t_f: time from opening the port until the chamber is full [s]; part of Preinfusion
	Preinfusion float64 // t_p: time from opening the port to the release of the lever [s]
	EndPressure float64 // P_end: gauge pressure under which the shot is ended [Pa]; 0 for the end of the stroke
	EndCup      float64 // cup mass at which the cup is taken away [kg]; 0 for never
}
