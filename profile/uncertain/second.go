package uncertain

import (
	"errors"
	"fmt"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/mat"
)

// secondOrder returns what the next terms of the Taylor series add to u² of
// every output, for independent inputs with normal or nearly normal spread:
//
//	Σᵢ Σⱼ [ ½ fᵢⱼ² + fᵢ fᵢⱼⱼ ] u²(xᵢ) u²(xⱼ)        [GUM] 5.1.2, note
//
// The second and third derivatives are central differences over half a standard
// uncertainty.
func (l linearization) secondOrder() ([]float64, error) {
	add := make([]float64, len(l.Outputs))
	for k := range add {
		var failed error
		f := func(t []float64) float64 {
			y, err := l.at(t)
			failed = errors.Join(failed, err)
			return y[k]
		}
		add[k] = l.secondOrderOf(f)
		if failed != nil {
			return nil, fmt.Errorf("uncertain: no answer close to the estimates, so no second order: %w", failed)
		}
	}
	return add, nil
}

// secondOrderOf does it for one output as a function of steps t.
func (l linearization) secondOrderOf(f func(t []float64) float64) float64 {
	n := len(l.Inputs)
	origin := make([]float64, n)
	central := &fd.Settings{Formula: fd.Central, Step: 0.5}
	first := fd.Gradient(nil, f, origin, &fd.Settings{Formula: fd.Central, Step: 0.01})
	var second mat.SymDense
	fd.Hessian(&second, f, origin, central)

	var sum float64
	for j := range n {
		third := fd.Gradient(nil, func(t []float64) float64 { return curvature(f, t, j) }, origin, central)
		for i := range n {
			wi, wj := l.Inputs[i].Std/l.scaleOr1(i), l.Inputs[j].Std/l.scaleOr1(j)
			fij := second.At(i, j)
			sum += (fij*fij/2 + first[i]*third[i]) * wi * wi * wj * wj
		}
	}
	return sum
}

// scaleOr1 is scale for division: an input that is exactly 0 has none.
func (l linearization) scaleOr1(i int) float64 {
	if s := l.scale(i); s > 0 {
		return s
	}
	return 1
}

// curvature is ∂²f/∂tⱼ² at t.
func curvature(f func(t []float64) float64, t []float64, j int) float64 {
	moved := append([]float64(nil), t...)
	return fd.Derivative(func(tj float64) float64 {
		moved[j] = tj
		return f(moved)
	}, t[j], &fd.Settings{Formula: fd.Central2nd, Step: 0.5})
}
