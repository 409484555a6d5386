package machine

import (
	"errors"
	"fmt"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/replace"
	"springcalc/spring"
	"springcalc/tables"
)

// WireOptions say what is made of the wire.
type WireOptions struct {
	Preset  bool    // pressed solid by the maker until it sets no further
	Peened  bool    // shot peened by the maker
	Celsius float64 // temperature at work [°C]
	Tensile float64 // tensile strength by its certificate [Pa]; 0 for that of its grade
}

// CriterionOf is an allowable stress of the tables as a criterion, named by the
// method it belongs to.
func CriterionOf(method string, a tables.Allowable) spring.Criterion {
	c, err := spring.Rule{Name: method + ", " + shortCondition[a.Condition], Factor: FactorsByName[a.Correction], Fraction: a.Low}.Criterion()
	if err != nil {
		panic(err) // the table is wrong
	}
	return c
}

// shortCondition is the condition of an allowable, short enough for a table.
var shortCondition = map[string]string{
	"before set removal": "before presetting", "after set removal": "after presetting",
	"at solid, preset": "preset", "working load, static": "static",
}

// Making is what an order of a quality of EN 15800 grants a maker.
func Making(quality spring.Grade) *replace.Making {
	m := &replace.Making{Quality: quality, Coil: func(diameter, index float64) float64 {
		t, err := tables.CoilTolerance(tables.Coil{Class: int(quality), Diameter: diameter, Index: index})
		if err != nil {
			return 0
		}
		return t.Value
	}}
	if d, ok := tables.DefaultFor("spring.modulus_ratio"); ok {
		m.Shear = (d.High - d.Low) / 2
	}
	return m
}

// ScreenLaw is what the screening table of relaxation means by a spring that
// holds: it loses less than 5 % in 48 h.
var ScreenLaw = spring.Relaxation{T0: spring.DefaultT0, RefTime: 48 * 3600, RefLoss: 0.05}

// The methods of judging a stress.
const (
	EN      = "EN 13906-1"
	Shigley = "Shigley"
)

// MethodOf is the method that an allowable stress belongs to, and the safety that it
// asks for: Shigley, 10th ed., eq. 10-21, wants 1.2 against the yield of the wire.
// The stresses that EN 13906-1 permits need no more.
func MethodOf(a tables.Allowable) (method string, safety float64) {
	if strings.HasSuffix(a.Condition, "set removal") {
		return Shigley, 1.2
	}
	return EN, 1
}

// AfterPresetting says whether an allowable stress of Shigley is for a spring that
// its maker pressed solid until it set no further.
func AfterPresetting(a tables.Allowable) bool { return strings.HasPrefix(a.Condition, "after") }

// WireFor joins what the tables know of a grade at a diameter [m].
func WireFor(w tables.Wire, d float64, o WireOptions) (replace.Wire, error) {
	strength, err := w.Strength(d)
	if err != nil {
		return replace.Wire{}, err
	}
	if o.Tensile > 0 {
		strength = tables.Strength{Min: o.Tensile, Grade: Stated}
	}
	moduli, err := w.Moduli(d)
	if err != nil {
		return replace.Wire{}, err
	}
	out := replace.Wire{
		Grade: w.Name, Diameter: d, Tensile: strength.Min,
		G: moduli.G, E: moduli.E, Density: w.Density, Softening: w.GTemp,
		Preset: o.Preset, Peened: o.Peened,
	}
	evidence := []string{fmt.Sprintf("tensile strength %s, moduli %s", strength.Grade, moduli.Grade)}
	if t, err := tables.WireTolerance("EN 10218-2", d); err == nil {
		out.Most = d + t.Value
	}
	for _, a := range w.Allowables() {
		if allow(&out, a, o.Preset) {
			evidence = append(evidence, fmt.Sprintf("allowable stress (%s) %s", a.Condition, a.Grade))
		}
	}
	out.Endurance = EnduranceOf(strength.Min, o.Peened)
	life, million, err := LifeCurve(w, o.Peened)
	if err == nil {
		evidence = append(evidence, fmt.Sprintf("finite life %s", million.Grade))
	} else if !errors.Is(err, tables.ErrName) {
		return replace.Wire{}, err
	}
	out.Life = life
	if s, ok := w.Relaxation(); ok && o.Celsius <= quantity.InC.Of(s.Temp) {
		out.Relaxation = replace.Held{Law: ScreenLaw, Stress: s.Stress}
	}
	out.Evidence = strings.Join(evidence, ", ")
	return out, nil
}

// allow puts an allowable stress into a wire, where it is one for the way in
// which the spring is made.
func allow(w *replace.Wire, a tables.Allowable, preset bool) bool {
	method, safety := MethodOf(a)
	switch {
	case method == EN:
		w.Preset = true
	case AfterPresetting(a) != preset:
		return false
	}
	allowed := replace.Allowed{Criterion: CriterionOf(method, a), Safety: safety}
	for _, state := range StatesOf(a) {
		switch state {
		case "cocked":
			w.Cocked = allowed
		case "solid":
			w.Solid = allowed
		}
	}
	return true
}

// inchSeries is the series in inches that reaches to the sizes of lever springs,
// 0.020 to 0.625 in.
const inchSeries = "ASTM A229"

// WiresOf returns every size of a series in every grade, where the tables know
// its strength. The series "inch" is that of oil tempered wire in inches.
func WiresOf(grades []string, series string, o WireOptions) ([]replace.Wire, error) {
	if series == "inch" {
		series = inchSeries
	}
	sizes, err := tables.PreferredDiameters(series)
	if err != nil {
		return nil, sheet.Usef("--sizes: %s", WithoutPackage(err))
	}
	var wires []replace.Wire
	for _, grade := range grades {
		w, err := WireOf(grade)
		if err != nil {
			return nil, fmt.Errorf("wish.grade: %s", WithoutPackage(err))
		}
		for _, d := range sizes {
			wire, err := WireFor(w, d, o)
			if errors.Is(err, tables.ErrRange) {
				continue // not drawn in this size
			}
			if err != nil {
				return nil, err
			}
			wires = append(wires, wire)
		}
	}
	return wires, nil
}
