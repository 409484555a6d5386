package replace

import (
	"errors"
	"fmt"

	"springcalc/spring"
)

// Standing is how a number of a drawing binds the maker.
type Standing int

// The standings. Two loads at two lengths bind, with the ends and the fits; what the
// maker needs to meet them is his. Never do d, De, L0, R and both loads bind at
// once: no spring could be made.
const (
	Binding   Standing = iota + 1 // to be kept within its tolerance
	Reference                     // the maker's to adjust, so that the binding ones are met
	Result                        // follows from the others
)

func (s Standing) String() string {
	switch s {
	case Binding:
		return "binding"
	case Reference:
		return "reference"
	case Result:
		return "result"
	}
	return fmt.Sprintf("Standing(%d)", int(s))
}

// Item is one number of a drawing.
type Item struct {
	Symbol   string  // of EN 13906-1 and EN 15800
	Term     string  // its name there
	Value    float64 // [Unit]
	Unit     string  // m, N, N/m, Pa, kg, or empty for a count or a share
	By       float64 // ±: tolerance [Unit]; 0 where there is none
	Standing Standing
}

// Drawing is what a spring winder needs to know of a spring, at 20 °C.
type Drawing struct {
	Coil    spring.Compression // the dimensions
	Wire    *Wire
	Outer   float64 // D_e: outside diameter [m]
	OuterBy float64 // A_D: tolerance of that [m]; 0 where none is known
	Inner   float64 // D_i: inside diameter [m]
	Grown   float64 // outside diameter when solid, ends free to turn [m]
	Rate    float64 // R [N/m]
	Rest    Load    // at the length at rest: L_1, F_1
	Cocked  Load    // at the length cocked: L_2, F_2
	Least   Load    // at the shortest length that EN 13906-1 lets it work at: L_n, F_n
	Solid   Load    // all coils touching: L_c, F_c; its length is the greatest allowed
	Mass    float64 // [kg]
	Quality spring.Grade
	Length  float64  // A_L0: tolerance of the free length [m]; 0 where EN 15800 does not cover the spring
	RateBy  float64  // ±: share of the rate that the tolerances of the two loads imply, (A_F1 + A_F2)/(F_2 - F_1) [-]; likewise
	WireBy  float64  // ±: share of the rate that the tolerances of d and D_e leave if the coils are as drawn [-]; the maker makes up for it with n and L_0
	Square  float64  // e_1: out of square [m]; 0 where the ends are not ground or EN 15800 does not cover the spring
	Level   float64  // e_2: out of parallel [m]; likewise
	Tip     float64  // thickness of the wire's tip at a ground end, about d/4 (common practice) [m]; 0 where the ends are not ground
	Cycles  float64  // N: load cycles of the wished life [-]; 0 where none was named
	Hottest float64  // T: temperature of the spring at work [°C]
	Items   []Item   // all numbers with symbol, tolerance and standing
	Doubts  []string // how far the numbers can be trusted
}

// Load is a load of the drawing.
type Load struct {
	Length float64 // L: length [m]
	Force  float64 // F: force at that length at 20 °C [N]
	Hot    float64 // the same at work [N]
	Within float64 // A_F: tolerance of the force [N]; 0 where it is not known or not asked
	Stress float64 // τ: shear stress without correction at 20 °C [Pa]
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
	p = &j.settle([]Part{*p})[0]
	b := j.bench()
	d := &Drawing{
		Coil: p.Coil, Wire: p.Wire, Outer: p.Outer, OuterBy: b.coilBy(p), Inner: p.Inner, Grown: p.grown(), Rate: p.Rate,
		Mass: p.Coil.Mass(), Quality: quality, Cycles: b.cycles, Hottest: j.Space.Celsius,
	}
	tolerance, err := p.Coil.Tolerance(quality)
	switch {
	case errors.Is(err, spring.ErrRange):
		d.Doubts = append(d.Doubts, spring.BeyondEN15800+" Agree them with the winder.")
	case err != nil:
		return nil, err
	default:
		d.Length, d.Square, d.Level = tolerance.Free, tolerance.Square, tolerance.Level
		d.Doubts = append(d.Doubts, tolerance.Doubts...)
	}
	load := func(length float64) Load {
		force := p.Rate * max(0, p.Free-length)
		l := Load{Length: length, Force: force, Hot: force * p.Wire.soft(j.Space.Celsius), Stress: p.Coil.Stress(force, spring.NoCorrection)}
		if err == nil {
			l.Within = tolerance.Load(force)
		}
		return l
	}
	clear, clearErr := p.Coil.Clearance(p.Free, b.duty())
	must(clearErr)
	d.Rest, d.Cocked, d.Solid, d.Least = load(j.Space.Installed), load(b.cocked()), load(p.Solid), load(clear.Shortest)
	d.Solid.Within, d.Least.Within = 0, 0 // a solid spring has no one force
	if err == nil && d.Cocked.Force > d.Rest.Force {
		d.RateBy = (d.Rest.Within + d.Cocked.Within) / (d.Cocked.Force - d.Rest.Force)
	}
	wire := max(p.Coil.WireMax-p.Coil.Wire, 0)
	d.WireBy = (4/p.Coil.Wire+3/p.Coil.Mean)*wire + 3/p.Coil.Mean*d.OuterBy
	if p.Coil.Ends == spring.ClosedGround || p.Coil.Ends == spring.PlainGround {
		d.Tip = p.Coil.Wire / 4
	}
	if d.Rest.Within > j.Within || d.Cocked.Within > j.Within {
		d.Doubts = append(d.Doubts, fmt.Sprintf("The tolerance of the loads is wider than the %.0f N that the wished pressures allow: "+
			"ask for a finer quality, or measure the spring and put right the rest with a shim.", j.Within))
	}
	d.Items = d.items(wire)
	d.Doubts = append(d.Doubts, p.Coil.Doubts()...)
	d.Doubts = append(d.Doubts, fmt.Sprintf("Evidence for %s: %s.", p.Wire.Grade, p.Wire.Evidence))
	return d, nil
}

// items returns the numbers of the drawing with the tolerance of the wire [m].
func (d *Drawing) items(wire float64) []Item {
	c := &d.Coil
	items := []Item{
		{"d", "wire diameter", c.Wire, "m", wire, Reference},
		{"De", "outside diameter of coil", d.Outer, "m", d.OuterBy, Binding},
		{"Di", "inside diameter of coil", d.Inner, "m", 0, Result},
		{"D", "mean diameter of coil", c.Mean, "m", 0, Result},
		{"w", "spring index", c.Index(), "", 0, Result},
		{"n", "number of active coils", c.Active, "", 0, Reference},
		{"nt", "total number of coils", c.Total, "", 0, Reference},
		{"L0", "free length", c.Free, "m", d.Length, Reference},
		{"L1", "length at rest", d.Rest.Length, "m", 0, Binding},
		{"F1", "load at L1", d.Rest.Force, "N", d.Rest.Within, Binding},
		{"L2", "length cocked", d.Cocked.Length, "m", 0, Binding},
		{"F2", "load at L2", d.Cocked.Force, "N", d.Cocked.Within, Binding},
		{"Ln", "smallest permissible test length", d.Least.Length, "m", 0, Result},
		{"Fn", "load at Ln", d.Least.Force, "N", 0, Result},
		{"Lc", "solid length, at most", d.Solid.Length, "m", 0, Binding},
		{"Fc", "theoretical load at Lc", d.Solid.Force, "N", 0, Result},
		{"R", "spring rate", d.Rate, "N/m", d.RateBy * d.Rate, Result},
		{"m", "mass", d.Mass, "kg", 0, Result},
	}
	if d.Square > 0 {
		items = append(items,
			Item{"e1", "deviation from squareness, at most", d.Square, "m", 0, Binding},
			Item{"e2", "deviation from parallelism, at most", d.Level, "m", 0, Binding})
	}
	return items
}
