package uncertain

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
)

// LinearOptions are the choices of Linear. The zero value serves.
type LinearOptions struct {
	Coverage    float64                               // p: coverage probability of the interval [-]; 0 for 0.95
	Jacobian    func(c *mat.Dense, x []float64) error // writes cᵢⱼ = ∂yᵢ/∂xⱼ [yᵢ/xⱼ]; nil for central differences
	SecondOrder bool                                  // add the terms of the next order of the Taylor series
}

// Estimate is what Linear found.
type Estimate struct {
	Outputs    []Output
	Covariance *mat.SymDense // of the outputs [yᵢ·yⱼ], first order
	Doubts     []string      // plain sentences about what may be wrong with the numbers
}

// Output is one result with its uncertainty.
type Output struct {
	Name        string
	Value       float64 // y: the model at the estimates of the inputs [y]
	Std         float64 // u(y): combined standard uncertainty [y]
	SecondOrder float64 // what the terms of second order add to u² [y²]; 0 unless asked for
	Freedom     float64 // ν: effective degrees of freedom [-]; 0 for infinite
	Factor      float64 // k: coverage factor [-]
	Interval            // y ± k·u(y) [y]
	Budget      []Term  // the inputs, the one with the largest share first
}

// Interval is a coverage interval.
type Interval struct {
	Low, High float64 // its ends [y]
}

// Term is the part of one input in the uncertainty of an output.
type Term struct {
	Input        string
	Sensitivity  float64 // c = ∂y/∂x [y/x]; 0 for an input that is exactly 0
	Contribution float64 // c·u(x), with its sign [y]
	Share        float64 // of the first-order variance [-]: all shares add to 1; negative where a correlation takes away
}

// Linear propagates uncertainty to first order:
//
//	u²(y) = Σᵢ Σⱼ cᵢ cⱼ r(xᵢ,xⱼ) u(xᵢ) u(xⱼ)        [GUM] eq. 13, 16
//
// with the share of input i as cᵢ u(xᵢ) Σⱼ cⱼ r u(xⱼ) / u²(y). The interval is
// y ± k·u(y), k from Student's t with the effective degrees of freedom.
//
// It is exact for a straight model. For a power law yⁿ with relative spread u/x
// the first neglected part of u² is about n²(u/x)² of it: 1 % for n = 4 and 2.5 %.
// Central differences are good to about 1e-6 of c for smooth formulas; a model
// with numerical noise above 1e-9 of its result needs MonteCarlo.
func Linear(p Problem, f Model, o LinearOptions) (Estimate, error) {
	coverage := cmp.Or(o.Coverage, 0.95)
	err := errors.Join(p.Validate(), validateCoverage(coverage))
	if o.SecondOrder && slices.Contains(p.correlated(), true) {
		err = errors.Join(err, fmt.Errorf("%w: second-order terms hold for independent inputs only", ErrInput))
	}
	if err != nil {
		return Estimate{}, err
	}

	lin := linearization{Problem: p, model: f}
	y, err := lin.at(make([]float64, len(p.Inputs)))
	if err != nil {
		return Estimate{}, err
	}
	c, err := lin.sensitivities(o.Jacobian)
	if err != nil {
		return Estimate{}, err
	}
	second := make([]float64, len(y))
	if o.SecondOrder {
		if second, err = lin.secondOrder(); err != nil {
			return Estimate{}, err
		}
	}

	e := Estimate{Covariance: mat.NewSymDense(len(y), nil), Doubts: lin.doubts()}
	contrib := lin.contributions(c)
	var half, cov mat.Dense
	half.Mul(contrib, p.correlation()) // column j: what errs together with input j
	cov.Mul(&half, contrib.T())
	for i := range y {
		for j := range i + 1 {
			e.Covariance.SetSym(i, j, (cov.At(i, j)+cov.At(j, i))/2)
		}
		out := Output{Name: p.Outputs[i], Value: y[i], SecondOrder: second[i]}
		variance := max(0, e.Covariance.At(i, i)) // r = ±1 can leave -1e-20 of nothing
		out.Std = math.Sqrt(max(0, variance+second[i]))
		out.Freedom = lin.freedom(contrib.RawRowView(i), out.Std)
		out.Factor = CoverageFactor(coverage, out.Freedom)
		out.Interval = Interval{y[i] - out.Factor*out.Std, y[i] + out.Factor*out.Std}
		out.Budget = lin.budget(c.RawRowView(i), contrib.RawRowView(i), half.RawRowView(i), variance)
		e.Outputs = append(e.Outputs, out)
		if math.Abs(second[i]) > 0.1*variance {
			e.Doubts = append(e.Doubts, fmt.Sprintf("%s does not follow its inputs in a straight line within their uncertainty; a Monte Carlo run is the better answer", out.Name))
		}
	}
	return e, nil
}

func validateCoverage(p float64) error {
	if !(p >= 0.5 && p <= 0.99) {
		return fmt.Errorf("%w: coverage probability %g; want 0.5 to 0.99", ErrInput, p)
	}
	return nil
}

// linearization is a model seen from the estimates of its inputs.
type linearization struct {
	Problem
	model Model
}

// scale is the length in which steps of input i are counted [x]: its
// uncertainty, but not so small against its value that differences drown in
// rounding.
func (l linearization) scale(i int) float64 {
	return max(l.Inputs[i].Std, 1e-3*math.Abs(l.Inputs[i].Value))
}

// at evaluates the model at t steps from the estimates, counted in scales.
func (l linearization) at(t []float64) ([]float64, error) {
	x, y := l.values(), make([]float64, len(l.Outputs))
	for i := range x {
		x[i] += t[i] * l.scale(i)
	}
	return y, answer(l.model, x, y, l.Outputs)
}

// answer runs the model and reports what is not a finite number as an error too.
func answer(f Model, x, y []float64, outputs []string) error {
	if err := f(x, y); err != nil {
		return err
	}
	for i, v := range y {
		if gap := i >= len(outputs) && math.IsNaN(v); !finite(v) && !gap {
			return notFinite(outputs, i)
		}
	}
	return nil
}

// sensitivities returns c, by the given Jacobian or by central differences.
func (l linearization) sensitivities(jacobian func(*mat.Dense, []float64) error) (*mat.Dense, error) {
	c := mat.NewDense(len(l.Outputs), len(l.Inputs), nil)
	if jacobian != nil {
		if err := jacobian(c, l.values()); err != nil {
			return nil, fmt.Errorf("uncertain: sensitivities: %w", err)
		}
		return c, nil
	}
	var failed error
	fd.Jacobian(c, func(y, t []float64) {
		v, err := l.at(t)
		failed = errors.Join(failed, err)
		copy(y, v)
	}, make([]float64, len(l.Inputs)), &fd.JacobianSettings{Formula: fd.Central, Step: 0.01})
	if failed != nil {
		return nil, fmt.Errorf("uncertain: no answer close to the estimates, so no sensitivity: %w", failed)
	}
	for j := range l.Inputs {
		for i := range l.Outputs {
			c.Set(i, j, c.At(i, j)/l.scaleOr1(j))
		}
	}
	return c, nil
}

// contributions returns c·u.
func (l linearization) contributions(c *mat.Dense) *mat.Dense {
	var m mat.Dense
	m.Apply(func(_, j int, v float64) float64 { return v * l.Inputs[j].Std }, c)
	return &m
}

// freedom returns the effective degrees of freedom for the contributions to a
// combined uncertainty u. The formula of Welch and Satterthwaite is for
// independent inputs; where an input with few degrees of freedom errs together
// with another, the smallest number among all that contribute stands in: too
// wide an interval rather than too narrow.
func (l linearization) freedom(contrib []float64, u float64) float64 {
	var finiteOnes, freedoms []float64
	smallest, together, correlated := math.Inf(1), false, l.correlated()
	for i, in := range l.Inputs {
		if in.Freedom == 0 || contrib[i] == 0 {
			continue
		}
		finiteOnes, freedoms = append(finiteOnes, contrib[i]), append(freedoms, in.Freedom)
		smallest = min(smallest, in.Freedom)
		together = together || correlated[i]
	}
	if len(freedoms) == 0 {
		return 0
	}
	if together {
		return smallest
	}
	// What is left of u² is known with infinitely many degrees of freedom.
	rest := u * u
	for _, c := range finiteOnes {
		rest -= c * c
	}
	return WelchSatterthwaite(append(finiteOnes, math.Sqrt(max(0, rest))), append(freedoms, 0))
}

// budget lists the inputs; together is Σⱼ cⱼ r u(xⱼ).
func (l linearization) budget(c, contrib, together []float64, variance float64) []Term {
	terms := make([]Term, len(l.Inputs))
	for i, in := range l.Inputs {
		terms[i] = Term{Input: in.Name, Sensitivity: c[i], Contribution: contrib[i]}
		if variance > 0 {
			terms[i].Share = contrib[i] * together[i] / variance
		}
	}
	slices.SortStableFunc(terms, func(a, b Term) int { return cmp.Compare(b.Share, a.Share) })
	return terms
}

func (l linearization) doubts() []string {
	var doubts []string
	together := l.correlated()
	for i, in := range l.Inputs {
		if in.Shape == Lognormal && in.Std > 0.3*in.Value {
			doubts = append(doubts, fmt.Sprintf("%s is known only to within a factor; ± is a rough answer here, a Monte Carlo run the better one", in.Name))
		}
		if in.Freedom != 0 && together[i] {
			doubts = append(doubts, fmt.Sprintf("%s rests on few readings and errs together with another input; the interval takes the smallest number of readings for all", in.Name))
		}
	}
	return doubts
}
