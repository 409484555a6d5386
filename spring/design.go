package spring

import (
	"errors"
	"fmt"
	"math"
)

// WireFor is the question for the least wire diameter.
type WireFor struct {
	Force  float64 // F: force [N]
	Index  float64 // C: spring index [-]
	Stress float64 // τ: allowable shear stress that belongs to the factor [Pa]
	Factor Factor  // K: stress correction
}

// Diameter returns the least wire diameter [m],
//
//	d = sqrt(8 K F C / (π τ))        [Bhandari] Ex. 10.1
func (w WireFor) Diameter() (float64, error) {
	if err := errors.Join(
		quantity{"force", w.Force, "N"}.within(0, 1e7, ErrInput),
		quantity{"index", w.Index, ""}.within(1.5, 100, ErrInput),
		quantity{"allowable stress", w.Stress, "Pa"}.within(1e6, 1e10, ErrInput),
		known("stress factor", factorNames, w.Factor),
	); err != nil {
		return 0, err
	}
	return math.Sqrt(8 * w.Factor.K(w.Index) * w.Force * w.Index / (math.Pi * w.Stress)), nil
}

// IndexFor is the question for the index at which a wire just bears a stress.
type IndexFor struct {
	Wire   float64 // d: wire diameter [m]
	Force  float64 // F: force, or half the swing of the force for fatigue [N]
	Stress float64 // α: allowable shear stress with Bergsträsser's factor, or allowable amplitude [Pa]
}

// Beta returns β = 8F/(π d²) [Pa], the stress at C K = 1.
func (f IndexFor) Beta() float64 { return 8 * f.Force / (math.Pi * f.Wire * f.Wire) }

// Index returns the greatest index C [-] at which Bergsträsser's stress is
// within the allowable one,
//
//	C = (2α - β)/(4β) + sqrt(((2α - β)/(4β))² - 3α/(4β))        [Shigley] eq. 10-23
//
// A wire too thin for any index is ErrRange.
func (f IndexFor) Index() (float64, error) {
	if err := errors.Join(
		quantity{"wire diameter", f.Wire, "m"}.within(1e-5, 0.1, ErrInput),
		quantity{"force", f.Force, "N"}.within(1e-6, 1e7, ErrInput),
		quantity{"allowable stress", f.Stress, "Pa"}.within(1e6, 1e10, ErrInput),
	); err != nil {
		return 0, err
	}
	beta := f.Beta()
	half := (2*f.Stress - beta) / (4 * beta)
	root := half*half - 3*f.Stress/(4*beta)
	if !(half > 0 && root >= 0) {
		return 0, fmt.Errorf("%w: wire of %.6g m is too thin for %.6g N at %.6g Pa, whatever the coil", ErrRange, f.Wire, f.Force, f.Stress)
	}
	return half + math.Sqrt(root), nil
}

// CoilsFor returns the active coils [-] that give a spring of this wire, mean
// diameter and G a rate [N/m]: the reverse of Rate.
func (s Compression) CoilsFor(rate float64) (float64, error) {
	if err := (quantity{"rate", rate, "N/m"}).within(1e-3, 1e9, ErrInput); err != nil {
		return 0, err
	}
	s.Active = 1
	return s.Rate() / rate, nil
}
