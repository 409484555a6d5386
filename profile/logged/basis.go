package logged

import "math"

// basis is a set of polynomials of one variable, orthonormal over its points.
type basis struct {
	value [][]float64 // φ_k at each point [-]
	slope [][]float64 // dφ_k/dt at each point [1/unit of t]
}

// newBasis returns polynomials up to a degree over points t that do not all
// coincide: the recurrence of Stieltjes, made orthogonal twice against rounding.
func newBasis(t []float64, degree int) *basis {
	n := len(t)
	low, high := t[0], t[0]
	for _, v := range t {
		low, high = min(low, v), max(high, v)
	}
	half := (high - low) / 2
	b := &basis{}
	for k := range degree + 1 {
		f, d := make([]float64, n), make([]float64, n)
		for i := range f {
			if k == 0 {
				f[i] = 1
				continue
			}
			u := (t[i]-low)/half - 1
			f[i] = u * b.value[k-1][i]
			d[i] = b.value[k-1][i]/half + u*b.slope[k-1][i]
		}
		before := math.Sqrt(dot(f, f))
		for range 2 {
			for j := range b.value {
				c := dot(f, b.value[j])
				for i := range f {
					f[i] -= c * b.value[j][i]
					d[i] -= c * b.slope[j][i]
				}
			}
		}
		norm := math.Sqrt(dot(f, f))
		if !(norm > 1e-9*before) {
			break // fewer distinct points than that
		}
		for i := range f {
			f[i] /= norm
			d[i] /= norm
		}
		b.value, b.slope = append(b.value, f), append(b.slope, d)
	}
	return b
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

// project returns the coefficients of a column.
func (b *basis) project(y []float64) []float64 {
	c := make([]float64, len(b.value))
	for k := range c {
		c[k] = dot(b.value[k], y)
	}
	return c
}

// at returns the polynomial with coefficients c at a point.
func (b *basis) at(c []float64, i int) float64 {
	s := 0.0
	for k := range c {
		s += c[k] * b.value[k][i]
	}
	return s
}

// slopeAt returns its slope at a point.
func (b *basis) slopeAt(c []float64, i int) float64 {
	s := 0.0
	for k := range c {
		s += c[k] * b.slope[k][i]
	}
	return s
}
