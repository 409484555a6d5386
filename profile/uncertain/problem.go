package uncertain

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Model is a calculation: it reads the inputs x and writes the outputs y, in
// the order of the Problem. It may keep scratch space, but neither x nor y. An
// error says that there is no answer for these inputs.
type Model func(x, y []float64) error

// Problem names what goes into a calculation and what comes out.
type Problem struct {
	Inputs     []Input
	Correlated []Correlation // pairs of inputs that err together; all others are independent
	Outputs    []string
}

// Correlation says that two inputs err together.
type Correlation struct {
	A, B string  // names of the inputs
	R    float64 // r: correlation coefficient, -1 to 1 [-]
}

// Validate returns all faults of the inputs, their correlations and the outputs.
func (p Problem) Validate() error {
	errs := []error{p.validateInputs()}
	if len(p.Outputs) == 0 {
		errs = append(errs, fmt.Errorf("%w: no outputs", ErrInput))
	}
	if err := p.validatePairs(); err != nil {
		errs = append(errs, err)
	} else if _, err := p.root(); err != nil {
		errs = append(errs, err)
	}
	return errors.Join(errs...)
}

func (p Problem) validateInputs() error {
	var errs []error
	if len(p.Inputs) == 0 {
		errs = append(errs, fmt.Errorf("%w: no inputs", ErrInput))
	}
	seen := map[string]bool{}
	for _, in := range p.Inputs {
		errs = append(errs, in.Validate())
		if seen[in.Name] {
			errs = append(errs, fmt.Errorf("%w: two inputs are named %q", ErrInput, in.Name))
		}
		seen[in.Name] = true
	}
	return errors.Join(errs...)
}

func (p Problem) validatePairs() error {
	var errs []error
	seen := map[[2]int]bool{}
	for _, c := range p.Correlated {
		i, j := p.index(c.A), p.index(c.B)
		if i < 0 || j < 0 || i == j {
			errs = append(errs, fmt.Errorf("%w: correlation of %q with %q: want two different inputs", ErrInput, c.A, c.B))
			continue
		}
		if !(math.Abs(c.R) <= 1) {
			errs = append(errs, fmt.Errorf("%w: correlation of %q with %q is %g; want -1 to 1", ErrInput, c.A, c.B, c.R))
		}
		key := [2]int{min(i, j), max(i, j)}
		if seen[key] {
			errs = append(errs, fmt.Errorf("%w: correlation of %q with %q is given twice", ErrInput, c.A, c.B))
		}
		seen[key] = true
	}
	return errors.Join(errs...)
}

// index returns the place of the named input, -1 if there is none.
func (p Problem) index(name string) int {
	for i, in := range p.Inputs {
		if in.Name == name {
			return i
		}
	}
	return -1
}

// correlation returns the matrix of correlation coefficients of the inputs.
func (p Problem) correlation() *mat.SymDense {
	m := mat.NewSymDense(len(p.Inputs), nil)
	for i := range p.Inputs {
		m.SetSym(i, i, 1)
	}
	for _, c := range p.Correlated {
		m.SetSym(p.index(c.A), p.index(c.B), c.R)
	}
	return m
}

// root returns the symmetric square root of the correlation matrix, which turns
// independent normal deviates into correlated ones; nil where nothing is
// correlated. Unlike a Cholesky factor it exists for r = 1 too.
func (p Problem) root() (*mat.Dense, error) {
	if len(p.Correlated) == 0 {
		return nil, nil
	}
	var eig mat.EigenSym
	if !eig.Factorize(p.correlation(), true) {
		return nil, fmt.Errorf("%w: the correlation matrix has no eigenvalues", ErrInput)
	}
	values := eig.Values(nil)
	const rounding = 1e-12 // of eigenvalues that are 0 in truth
	if values[0] < -rounding*float64(len(values)) {
		return nil, fmt.Errorf("%w: the correlations contradict each other (smallest eigenvalue %.3g; want 0 or more)", ErrInput, values[0])
	}
	for i, v := range values {
		values[i] = math.Sqrt(max(0, v))
	}
	var q, root mat.Dense
	eig.VectorsTo(&q)
	root.Mul(&q, mat.NewDiagDense(len(values), values))
	root.Mul(&root, q.T())
	return &root, nil
}

// values returns the estimates of the inputs.
func (p Problem) values() []float64 {
	x := make([]float64, len(p.Inputs))
	for i, in := range p.Inputs {
		x[i] = in.Value
	}
	return x
}

// correlated tells which inputs err together with another one.
func (p Problem) correlated() []bool {
	is := make([]bool, len(p.Inputs))
	for _, c := range p.Correlated {
		if c.R != 0 {
			is[p.index(c.A)], is[p.index(c.B)] = true, true
		}
	}
	return is
}
