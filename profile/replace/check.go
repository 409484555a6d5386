package replace

import "math"

// Constraint is something that a spring has to keep to. They are judged in
// this order, the cheap and telling ones first.
type Constraint int

// The constraints, and the unit in which each is compared.
const (
	EndPressure  Constraint = iota // force at rest within tolerance [N]
	PeakPressure                   // force where water begins to move within tolerance [N]
	Index                          // index within its range [-]
	InBore                         // play in the bore, the coils grown as when solid [m]
	OverRod                        // play over the rod [m]
	InNest                         // play between the springs of a nest [m]
	Clearance                      // gaps left between the coils when cocked [m]
	StressCocked                   // shear stress when cocked [Pa]
	StressSolid                    // shear stress pressed solid [Pa]
	Buckling                       // deflection when cocked [m]
	Fatigue                        // stress amplitude, on the ray through the origin [Pa]
	Relaxation                     // share of force lost over the wished life [-]
	Effort                         // force of the hand [N]
	constraints
)

var constraintNames = [constraints]string{
	"end pressure", "peak pressure", "index", "fit in bore", "fit over rod", "fit of the nest", "coil clearance",
	"stress cocked", "stress solid", "buckling", "fatigue", "relaxation", "hand effort",
}

func (c Constraint) String() string { return constraintNames[c] }

// Constraints returns all constraints in their order.
func Constraints() []Constraint {
	all := make([]Constraint, constraints)
	for i := range all {
		all[i] = Constraint(i)
	}
	return all
}

// Check is what there is beside what is needed of it.
type Check struct {
	Have  float64 // what there is or is allowed [unit of its constraint]
	Need  float64 // what is needed or used of that [unit of its constraint]
	Known bool    // false where nothing was asked, or too little is known to judge
}

// Margin returns what is left of a check, 0 at the limit [-]:
//
//	1 - need/have   kept: the share of what there is that is not needed
//	have/need - 1   broken: the share of what is needed that is missing
//
// Both meet at the limit with the same slope, so margins of all kinds compare.
// It presumes a need of more than 0, or a have of more than 0 and no need.
func (c Check) Margin() float64 {
	if c.Have >= c.Need {
		return 1 - c.Need/c.Have
	}
	return c.Have/c.Need - 1
}

// Verdict is the judgement of a spring or nest by all constraints.
type Verdict struct {
	Checks  [constraints]Check
	Binding Constraint // the constraint of the smallest margin
	Least   float64    // that margin [-]; below 0 where the spring does not do. Relaxation is not known well enough to be compared, and left out
	Short   float64    // sum of the margins below 0, as a positive number [-]: how far it is from doing
}

// Fits reports whether every constraint that could be judged is kept.
func (v *Verdict) Fits() bool { return v.Short == 0 }

// Margin returns the margin of a constraint [-], and whether it was judged.
func (v *Verdict) Margin(c Constraint) (margin float64, known bool) {
	if !v.Checks[c].Known {
		return 0, false
	}
	return v.Checks[c].Margin(), true
}

// Sound returns the smallest margin [-] of what keeps a spring whole, in its
// place and within reach of the hand, and the constraint that has it: of all but
// the two pressures, and relaxation, of which too little is known. known is false
// where none of that was judged.
func (v *Verdict) Sound() (margin float64, binding Constraint, known bool) {
	return v.Smallest(sound...)
}

// sound are the constraints that keep a spring whole, in its place and within reach.
var (
	soundOnes = [...]Constraint{Index, InBore, OverRod, InNest, Clearance, StressCocked, StressSolid, Buckling, Fatigue, Effort}
	sound     = soundOnes[:]
)

// Smallest returns the smallest margin [-] of some constraints and the one that
// has it. known is false where none of them was judged.
func (v *Verdict) Smallest(of ...Constraint) (margin float64, binding Constraint, known bool) {
	margin = math.Inf(1)
	for _, c := range of {
		if m, judged := v.Margin(c); judged && m < margin {
			margin, binding, known = m, c, true
		}
	}
	return margin, binding, known
}

// Blocked returns the constraints that are broken, in their order.
func (v *Verdict) Blocked() []Constraint {
	var broken []Constraint
	for c := range constraints {
		if m, known := v.Margin(c); known && m < 0 {
			broken = append(broken, c)
		}
	}
	return broken
}

// first returns the first broken constraint; there must be one.
func (v *Verdict) first() Constraint {
	c := Constraint(0)
	for !(v.Checks[c].Known && v.Checks[c].Margin() < 0) {
		c++
	}
	return c
}

// put enters a check, or the tighter of two of the same constraint.
func (v *Verdict) put(c Constraint, have, need float64) {
	check := Check{have, need, true}
	m, before := check.Margin(), 1.0
	if old := v.Checks[c]; old.Known {
		before = old.Margin()
	}
	if m <= before {
		v.Checks[c] = check
		v.Short += min(0, before) - min(0, m)
	}
	if m < v.Least && c != Relaxation {
		v.Least, v.Binding = m, c
	}
}
