package replace

import (
	"errors"
	"fmt"

	"springcalc/spring"
)

// Drawing is what a spring winder needs to know of a spring, at 20 °C.
type Drawing struct {
	Coil    spring.Compression // the dimensions
	Wire    *Wire
	Outer   float64 // D_e: outside diameter [m]
	Inner   float64 // D_i: inside diameter [m]
	Grown   float64 // outside diameter when solid, ends free to turn [m]
	Rate    float64 // R [N/m]
	Rest    Load    // at the length at rest
	Cocked  Load    // at the length cocked
	Solid   Load    // all coils touching; its length is the greatest allowed
	Mass    float64 // [kg]
	Quality spring.Grade
	Length  float64 // A_L0: tolerance of the free length [m]; 0 where EN 15800 does not cover the spring
	RateBy  float64 // share of the rate that the load tolerance implies [-]; likewise
	Notes   []string
	Doubts  []string // how far the numbers can be trusted
}

// Load is a load of the drawing.
type Load struct {
	Length float64 // L: length [m]
	Force  float64 // F: force at that length [N]
	Within float64 // A_F: tolerance of the force [N]; 0 where it is not known or not asked
	Stress float64 // τ: shear stress without correction [Pa]
}

// Draw returns the drawing of a part of known dimensions and wire for a space, with
// the tolerances of a quality of EN 15800.
func (j *Job) Draw(p *Part, quality spring.Grade) (*Drawing, error) {
	if !p.dimensioned() || p.Wire == nil {
		return nil, fmt.Errorf("%w: a drawing needs the dimensions and the wire of the spring", ErrJob)
	}
	if err := errors.Join(j.Validate(), p.validate()); err != nil {
		return nil, err
	}
	d := &Drawing{
		Coil: p.Coil, Wire: p.Wire, Outer: p.Outer, Inner: p.Inner, Grown: p.grown(), Rate: p.Rate,
		Mass: p.Coil.Mass(), Quality: quality,
	}
	tolerance, err := p.Coil.Tolerance(quality)
	switch {
	case errors.Is(err, spring.ErrRange):
		d.Doubts = append(d.Doubts, "EN 15800 has no tolerances for a spring like this: agree them with the winder ("+err.Error()+").")
	case err != nil:
		return nil, err
	default:
		d.Length, d.RateBy = tolerance.Free, tolerance.Rate
		d.Doubts = append(d.Doubts, tolerance.Doubts...)
	}
	load := func(length float64) Load {
		force := p.Rate * max(0, p.Free-length)
		l := Load{Length: length, Force: force, Stress: p.Coil.Stress(force, spring.NoCorrection)}
		if err == nil {
			l.Within = tolerance.Load(force)
		}
		return l
	}
	d.Rest, d.Cocked, d.Solid = load(j.Space.Installed), load(j.Space.Installed-j.Stroke), load(p.Solid)
	d.Solid.Within = 0 // a solid spring has no one force
	if d.Rest.Within > j.Within || d.Cocked.Within > j.Within {
		d.Doubts = append(d.Doubts, fmt.Sprintf("The tolerance of the loads is wider than the %.0f N that the wished pressures allow: "+
			"ask for a finer quality, or measure the spring and put right the rest with a shim.", j.Within))
	}
	d.Notes = j.notes(p)
	d.Doubts = append(d.Doubts, p.Coil.Doubts()...)
	d.Doubts = append(d.Doubts, fmt.Sprintf("Evidence for %s: %s.", p.Wire.Grade, p.Wire.Evidence))
	return d, nil
}

// notes are what the numbers do not say.
func (j *Job) notes(p *Part) []string {
	notes := []string{fmt.Sprintf("Loads are at 20 °C. At work the spring is at %.0f °C and its loads are %.1f %% lower; the design allows for that.",
		j.Space.Celsius, 100*(1-p.Wire.soft(j.Space.Celsius)))}
	if j.Space.Rod > 0 {
		notes = append(notes, fmt.Sprintf("Works in a bore of %.1f mm over a rod of %.1f mm.", j.Space.Bore*1e3, j.Space.Rod*1e3))
	} else {
		notes = append(notes, fmt.Sprintf("Works in a bore of %.1f mm.", j.Space.Bore*1e3))
	}
	if p.Wire.Preset {
		notes = append(notes, "Preset: press solid until it sets no further. The free length is that after presetting.")
	}
	if p.Wire.Peened {
		notes = append(notes, "Shot peen.")
	}
	return append(notes,
		fmt.Sprintf("Strength judged by: %s; pressed solid by: %s.", p.Wire.Cocked.Criterion.Name(), p.Wire.Solid.Criterion.Name()),
		"Wound either hand; of a nest, the two springs in opposite hands.",
		"Deburr the ends; finish and lubricant fit for contact with hot water and food.")
}
