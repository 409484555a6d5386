package spring

import (
	"errors"
	"fmt"
	"math"
)

// Factor is a stress correction: what the curvature of the wire and the direct
// shear add to the torsion. Which one is right depends on the allowable stress
// it is compared with; see Criterion.
type Factor int

// The stress correction factors.
const (
	NoCorrection Factor = iota + 1 // K = 1
	DirectShear                    // K = 1 + 0.5/C                           [Norton] 14.4
	Wahl                           // K = (4C - 1)/(4C - 4) + 0.615/C         [Wahl]
	Bergstrasser                   // K = (4C + 2)/(4C - 3); = (C + 0.5)/(C - 0.75) of EN 13906-1
)

var factorNames = []string{"none", "direct-shear", "Wahl", "Bergstrasser"}

func (f Factor) String() string { return nameOf("Factor", factorNames, f) }
func (f Factor) MarshalText() ([]byte, error) {
	return []byte(f.String()), known("stress factor", factorNames, f)
}
func (f *Factor) UnmarshalText(text []byte) (err error) {
	*f, err = named[Factor]("stress factor", factorNames, text)
	return err
}

// K returns the factor [-] at an index C > 1 [-].
// Bergsträsser's is 0.7 % (C = 12) to 1.4 % (C = 4) below Wahl's.
// It panics on a Factor that is none of the four.
func (f Factor) K(index float64) float64 {
	switch f {
	case NoCorrection:
		return 1
	case DirectShear:
		return 1 + 0.5/index
	case Wahl:
		return (4*index-1)/(4*index-4) + 0.615/index
	case Bergstrasser:
		return (4*index + 2) / (4*index - 3)
	}
	panic(f.String() + ": not a stress correction factor")
}

// Stress returns the shear stress of the wire [Pa] under a force [N],
//
//	τ = K 8 F D / (π d³)        [Shigley] eq. 10-7
//
// It must not be divided by an allowable stress that was found with another
// factor: Check keeps the two together.
func (s Compression) Stress(force float64, f Factor) float64 {
	return f.K(s.Index()) * 8 * force * s.Mean / (math.Pi * s.Wire * s.Wire * s.Wire)
}

// Criterion is an allowable shear stress, as a fraction of the tensile
// strength, together with the stress correction it was found with. Its fields
// are hidden so that the two cannot be exchanged one by one.
type Criterion struct{ rule Rule }

// Rule is what a source allows, such as Shigley's Table 10-6 (before presetting
// Bergsträsser's factor and 0.35 to 0.50 by wire, after it direct shear and 0.55 to
// 0.75) or EN 13906-1 cl. 10.1.1 (solid, no correction, 0.56); the shares after
// presetting and of EN from memory.
type Rule struct {
	Name     string  // source
	Factor   Factor  // stress correction that the source uses
	Fraction float64 // allowable shear stress over tensile strength [-]
}

// Criterion returns the rule as a criterion, or why it cannot be one.
func (r Rule) Criterion() (Criterion, error) {
	if err := errors.Join(
		known("stress factor", factorNames, r.Factor),
		quantity{"allowable over tensile strength", r.Fraction, ""}.within(0.01, 1, ErrInput),
	); err != nil {
		return Criterion{}, err
	}
	return Criterion{rule: r}, nil
}

// Name returns the source of the criterion.
func (c Criterion) Name() string { return c.rule.Name }

// Factor returns the stress correction that belongs to it.
func (c Criterion) Factor() Factor { return c.rule.Factor }

// Allowable returns the shear stress [Pa] it allows a wire of a tensile
// strength [Pa]. It is for stresses with Factor only.
func (c Criterion) Allowable(sut float64) float64 { return c.rule.Fraction * sut }

// Margin is a stress beside the stress that the same source allows.
type Margin struct {
	Force     float64 // F: force [N]
	Stress    float64 // τ: shear stress with the factor of the criterion [Pa]
	Allowable float64 // τ_allow: allowable shear stress [Pa]
	Used      float64 // τ/τ_allow: 1 at the limit, 0 where the spring is loose [-]
}

// Safety returns the factor of safety n = τ_allow/τ [-]; false where there is
// no load, so that no factor exists.
func (m Margin) Safety() (n float64, ok bool) {
	if !(m.Used > 0) {
		return 0, false
	}
	return 1 / m.Used, true
}

// Loading is a spring at work and the strength of its wire.
type Loading struct {
	Working Working // lengths between which it works
	Tensile float64 // Sut, Rm: tensile strength of wire of this diameter [Pa]
}

// check returns the faults of the strength; lengths are checked by forces.
func (l Loading) check() error {
	return quantity{"tensile strength", l.Tensile, "Pa"}.within(1e8, 1e10, ErrInput)
}

// Margins are the static margins of a spring at rest, cocked and pressed solid.
type Margins struct {
	Criterion Criterion // whose factor and allowable stress
	Rest      Margin    // with the piston at rest
	Cocked    Margin    // with the lever cocked
	Solid     Margin    // with all coils touching, as in a vice or by a mistake
	Doubts    []string
}

// Check returns how much of the allowable stress a spring uses.
func (s Compression) Check(c Criterion, l Loading) (Margins, error) {
	if c.rule.Factor == 0 {
		return Margins{}, fmt.Errorf("%w: no criterion given", ErrInput)
	}
	rest, cocked, err := s.forces(l.Working)
	if err := errors.Join(err, l.check()); err != nil {
		return Margins{}, err
	}
	margin := func(force float64) Margin {
		m := Margin{Force: force, Stress: s.Stress(force, c.rule.Factor), Allowable: c.Allowable(l.Tensile)}
		m.Used = m.Stress / m.Allowable
		return m
	}
	m := Margins{Criterion: c, Rest: margin(rest), Cocked: margin(cocked), Solid: margin(s.SolidForce())}
	switch {
	case m.Cocked.Used > 1:
		m.Doubts = append(m.Doubts, "Cocked, the wire is past the stress at which it yields: the spring gets shorter in use.")
	case m.Solid.Used > 1:
		m.Doubts = append(m.Doubts, "The spring must not be pressed solid: it would take a set.")
	case m.Solid.Used > 1/1.2:
		m.Doubts = append(m.Doubts, "Pressed solid, the margin to yield is under 1.2, which Shigley asks for.")
	}
	return m, nil
}
