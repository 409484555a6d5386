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
	strength, err := m.Strength("spring", &wire, m.Value("spring.wire"))
	if err != nil {
		return nil, WithoutPackage(err)
	}
	static, own := m.OwnAllowable("spring", strength.Min)
	if !own {
		if static, err = StaticCriterion(wire); err != nil {
			return nil, WithoutPackage(err)
		}
	}
	w = &diagnose.Wire{Tensile: strength.Min, Criterion: static, Fatigue: EnduranceOf(strength.Min, false)}
	if w.Curve, _, err = LifeCurve(wire, false); err != nil {
		return w, "no finite life is published for this wire, so the cycles used are not weighed"
	}
	return w, ""
}

// Stated is the basis of a figure that the sheet states, where the tables have others.
const Stated tables.Grade = "stated"

// Strength is the tensile strength of the wire of a spring, of a diameter [m]: as
// its table states it, or by the published list of its grade, which may be nil.
func (m *Machine) Strength(table string, wire *tables.Wire, d float64) (tables.Strength, error) {
	if path := table + ".tensile_strength"; m.Has(path) {
		return tables.Strength{Min: m.Value(path), Source: path, Grade: Stated}, nil
	}
	if wire == nil {
		return tables.Strength{}, fmt.Errorf("neither %s.tensile_strength nor the grade of the wire is stated", table)
	}
	return wire.Strength(d)
}

// OwnAllowable is the allowable stress that a table states, for wire of a tensile
// strength [Pa]; ok is false where it states none.
func (m *Machine) OwnAllowable(table string, tensile float64) (c spring.Criterion, ok bool) {
	path := table + ".allowable_stress"
	if !m.Has(path) {
		return c, false
	}
	c, err := spring.Rule{Name: "own limit", Factor: FactorOf(m.Text(table + ".allowable_factor")), Fraction: m.Value(path) / tensile}.Criterion()
	m.FaultFrom(path, err)
	return c, err == nil
}

// factorWords are the words of the sheet and of answers for stress corrections.
var factorWords = map[spring.Factor]string{
	spring.NoCorrection: "none", spring.DirectShear: "direct shear", spring.Wahl: "Wahl", spring.Bergstrasser: "Bergsträsser",
}

// FactorWord is a stress correction in words.
func FactorWord(f spring.Factor) string { return factorWords[f] }

// FactorOf is the stress correction that a word means; 0 for none of them.
func FactorOf(word string) spring.Factor {
	for f, w := range factorWords {
		if w == word {
			return f
		}
	}
	return 0
}

// likeWires pairs wires of US and EN standards that are of one kind, because a
// method knows the wires of its own standards only.
var likeWires = []struct{ prefix, like string }{
	{"EN 10270-1", "A228"}, {"EN 10270-2 FDSiCr", "A401"}, {"EN 10270-2 VDSiCr", "A401"}, {"EN 10270-2", "A229"},
	{"EN 10270-3 1.4568", "A313-631"}, {"EN 10270-3", "A313-302"},
	{"A227", "EN 10270-1 SL"}, {"A228", "EN 10270-1 SH"}, {"A229", "EN 10270-2 FDC"}, {"A231", "EN 10270-2 FDC"},
	{"A232", "EN 10270-2 VDC"}, {"A401", "EN 10270-2 FDSiCr"}, {"A313-302", "EN 10270-3 1.4310"}, {"A313-631", "EN 10270-3 1.4568"},
}

// WireIn is a wire in the standards of EN or of the US: itself, or the like one.
// ok is false where no like wire is known.
func WireIn(wire tables.Wire, en bool) (like tables.Wire, ok bool) {
	if strings.HasPrefix(wire.Name, "EN ") == en {
		return wire, true
	}
	for _, pair := range likeWires {
		if strings.HasPrefix(wire.Name, pair.prefix) {
			like, err := tables.WireByName(pair.like)
			if err != nil {
				panic(err) // the list above is wrong
			}
			return like, true
		}
	}
	return tables.Wire{}, false
}

// StaticCriterion takes the first allowable stress of a wire that holds for a
// cocked spring, with the stress factor that belongs to it.
func StaticCriterion(wire tables.Wire) (spring.Criterion, error) {
	for _, a := range wire.Allowables() {
		if slices.Contains(StatesOf(a), "cocked") {
			method, _ := MethodOf(a)
			return CriterionOf(method, a), nil
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
