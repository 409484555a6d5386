package machine

import (
	"fmt"
	"slices"
	"strings"

	"springcalc/profile/diagnose"
	"springcalc/spring"
	"springcalc/tables"
)

// WireStrength returns the strength of the spring's wire, where the sheet names
// its grade and the published data cover it; why is what is missing.
func (m *Machine) WireStrength() (w *diagnose.Wire, why string) {
	if !m.Has("spring.grade") {
		return nil, "the sheet does not name the grade of the wire, so stress and fatigue are left out"
	}
	wires, err := m.wires("spring")
	switch {
	case err != nil:
		return nil, WithoutPackage(err)
	case len(wires) > 1:
		return nil, fmt.Sprintf("%q leaves open which wire it is, so stress and fatigue are left out", m.Text("spring.grade"))
	}
	wire := wires[0]
	strength, err := wire.Strength(m.Value("spring.wire"))
	if err != nil {
		return nil, WithoutPackage(err)
	}
	static, err := StaticCriterion(wire)
	if err != nil {
		return nil, WithoutPackage(err)
	}
	w = &diagnose.Wire{Tensile: strength.Min, Criterion: static, Fatigue: EnduranceOf(strength.Min, false)}
	if w.Curve, _, err = LifeCurve(wire, false); err != nil {
		return w, "no finite life is published for this wire, so the cycles used are not weighed"
	}
	return w, ""
}

// StaticCriterion takes the first allowable stress of a wire that holds for a
// cocked spring, with the stress factor that belongs to it.
func StaticCriterion(wire tables.Wire) (spring.Criterion, error) {
	for _, a := range wire.Allowables() {
		if slices.Contains(StatesOf(a), "cocked") {
			return spring.Rule{Name: a.Condition, Factor: FactorsByName[a.Correction], Fraction: a.Low}.Criterion()
		}
	}
	return spring.Criterion{}, fmt.Errorf("no allowable stress is published for %s", wire.Name)
}

// EnduranceOf is the strength under repeated load of a wire of a tensile
// strength [Pa], by Zimmerli and Goodman.
func EnduranceOf(tensile float64, peened bool) spring.Strength {
	z := tables.Zimmerli(peened)
	return spring.Strength{
		Endurance:     spring.Endurance{Amplitude: z.Amplitude, Mean: z.Mean},
		UltimateShear: tables.UltimateShear()[0].Value * tensile, Line: spring.Goodman,
	}
}

// LifeCurve returns the published strength against cycles of a wire, and of it
// the share for a million cycles with its source. [tables.ErrName] says that
// none is published.
func LifeCurve(w tables.Wire, peened bool) (curve spring.LifeCurve, million tables.Share, err error) {
	for _, cycles := range []float64{1e5, 1e6, 1e7} { // the rows of the table
		share, err := w.FiniteLife(tables.Life{Cycles: cycles, Peened: peened})
		if err != nil {
			return nil, million, err
		}
		if cycles == 1e6 {
			million = share
		}
		curve = append(curve, spring.LifePoint{Cycles: cycles, Share: share.Value})
	}
	return curve, million, nil
}

// grades says what the names of the sheet for its wire were read as.
func (m *Machine) grades() (remarks []string) {
	for _, table := range []string{"spring", "spring.inner"} {
		path := table + ".grade"
		wires, err := m.wires(table)
		switch {
		case !m.Has(path) || err != nil:
		case len(wires) > 1:
			remarks = append(remarks, fmt.Sprintf("%s: %q may be any of %d wires, so only what needs no strength is answered; name the grade to have stress and fatigue",
				path, m.Text(path), len(wires)))
		case !strings.EqualFold(strings.TrimPrefix(strings.ToUpper(m.Text(path)), "ASTM "), wires[0].Name):
			remarks = append(remarks, fmt.Sprintf("%s: %q read as %s (%s)", path, m.Text(path), wires[0].Name, wires[0].Title))
		}
	}
	return remarks
}

var AllStates = []string{"at rest", "cocked", "solid"}

// FactorsByName are the factors of tables.Allowable.
var FactorsByName = map[string]spring.Factor{
	"Wahl or Bergstraesser": spring.Bergstrasser, "direct shear": spring.DirectShear, "none": spring.NoCorrection,
}

// StatesOf are the states that an allowable speaks of.
func StatesOf(a tables.Allowable) []string {
	switch a.Condition {
	case "at solid, preset":
		return []string{"solid"}
	case "working load, static":
		return []string{"at rest", "cocked"}
	}
	return AllStates
}
