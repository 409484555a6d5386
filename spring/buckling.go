package spring

import (
	"fmt"
	"math"
)

// Seating is how the two ends of a spring are held against tilting.
type Seating int

// The end conditions of [Shigley] Table 10-2, with the same factor in EN 13906-1.
const (
	FixedFixed   Seating = iota + 1 // both on flat parallel surfaces, α = 0.5
	FixedHinged                     // one flat, one that can tilt, α = 0.707
	HingedHinged                    // both can tilt, α = 1
	FixedFree                       // one clamped, the other free to move aside, α = 2
)

var seatingNames = []string{"fixed-fixed", "fixed-hinged", "hinged-hinged", "fixed-free"}

func (e Seating) String() string { return nameOf("Seating", seatingNames, e) }
func (e Seating) MarshalText() ([]byte, error) {
	return []byte(e.String()), known("seating", seatingNames, e)
}
func (e *Seating) UnmarshalText(text []byte) (err error) {
	*e, err = named[Seating]("seating", seatingNames, text)
	return err
}

// seatingFactor is α of [Shigley], ν of [EN 13906], by Seating - 1.
var seatingFactor = []float64{0.5, 0.707, 1, 2}

// Support is what keeps a spring straight.
type Support struct {
	Seating Seating // how the ends are held
	Guided  bool    // on a rod or in a bore over its whole length
}

// Buckling says whether a spring stays straight.
type Buckling struct {
	CriticalFree       float64  // L0cr: free length below which it never buckles [m]
	Never              bool     // it stays straight at any deflection, or to solid
	CriticalDeflection float64  // y_cr: deflection from free at which it buckles [m]; the deflection to solid where Never
	Reach              float64  // y_cr by the formula, be it past solid; where the root has no value, L0 C1', to which y_cr rises [m]
	Doubts             []string // what a guide has to do
}

// Buckling returns when the spring bows out of line,
//
//	y_cr = L0 C1' (1 - sqrt(1 - C2'/λ²)), λ = α L0/D
//	C1' = E/(2(E - G)), C2' = 2π²(E - G)/(2G + E)        [Shigley] eq. 10-10
//
// which is the formula of [EN 13906] 9.14 in other letters, and the elastic
// stability of [Haringx]. Friction at the seats helps, ends out of square hurt;
// neither is counted.
func (s Compression) Buckling(sup Support) (Buckling, error) {
	if err := known("seating", seatingNames, sup.Seating); err != nil {
		return Buckling{}, err
	}
	alpha := seatingFactor[sup.Seating-1]
	travel := s.Free - s.SolidLength()
	c2 := 2 * math.Pi * math.Pi * (s.E - s.G) / (2*s.G + s.E)
	lambda := alpha * s.Free / s.Mean
	b := Buckling{
		CriticalFree:       math.Sqrt(c2) * s.Mean / alpha,
		Never:              true,
		CriticalDeflection: travel,
	}
	root := 1 - c2/(lambda*lambda)
	b.Reach = s.Free * s.E / (2 * (s.E - s.G)) * (1 - math.Sqrt(max(0, root)))
	if root >= 0 && b.Reach < travel {
		b.Never, b.CriticalDeflection = false, b.Reach
	}
	if !b.Never && sup.Guided {
		b.Doubts = append(b.Doubts, fmt.Sprintf("Without its guide the spring would buckle at a deflection of %.3g mm: past that it rubs on the rod or bore, which adds friction and wears both.", b.CriticalDeflection*1e3))
	}
	if !b.Never && !sup.Guided {
		b.Doubts = append(b.Doubts, fmt.Sprintf("The spring has no guide and buckles at a deflection of %.3g mm: it can jump out of its seat.", b.CriticalDeflection*1e3))
	}
	return b, nil
}
