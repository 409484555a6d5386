package uncertain

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// sampler draws the inputs of a problem. Correlated inputs are joined by a
// normal copula: standard normal deviates with the given correlations, each
// turned into the shape of its input. For normal inputs r is met exactly; for
// uniform ones what comes out is (6/π) asin(r/2), at most 0.018 less.
type sampler struct {
	root       *mat.Dense // square root of the correlation matrix, nil for independent inputs
	correlated []bool     // by input
	shapes     []shaper
}

// shaper turns a standard normal deviate, or where bounded the probability of
// one, into a draw of one input. It may take random numbers from a source.
type shaper struct {
	of      func(v float64, src rand.Source) float64
	bounded bool
	below   func(x float64) float64 // the probability of less than x; nil where it is that of the deviate
}

func newSampler(p Problem) (*sampler, error) {
	root, err := p.root()
	if err != nil {
		return nil, err
	}
	s := &sampler{root: root, correlated: p.correlated()}
	for _, in := range p.Inputs {
		s.shapes = append(s.shapes, in.shaper())
	}
	return s, nil
}

// draw fills x by a point of the unit cube, using z for scratch, and makes the point
// the probabilities of less than x.
func (s *sampler) draw(point []float64, src rand.Source, z, x []float64) {
	if s.root != nil {
		for i, p := range point {
			z[i] = 0
			if s.correlated[i] {
				z[i] = distuv.UnitNormal.Quantile(p)
			}
		}
	}
	for i, shape := range s.shapes {
		v := point[i]
		switch {
		case s.correlated[i]:
			v = floats.Dot(s.root.RawRowView(i), z)
			if point[i] = distuv.UnitNormal.CDF(v); shape.bounded {
				v = point[i]
			}
		case !shape.bounded:
			v = distuv.UnitNormal.Quantile(v)
		}
		x[i] = shape.of(v, src)
		if shape.below != nil {
			point[i] = shape.below(x[i])
		}
	}
}

// shaper returns the shape of the input. Bounded shapes are the quantile at the
// probability.
func (in Input) shaper() shaper {
	half := in.Std * in.Shape.limitFactor()
	low, high := in.Value-half, in.Value+half
	switch {
	case in.Std == 0:
		return atProbability(func(float64) float64 { return in.Value })
	case in.Shape == Uniform:
		return atProbability(distuv.Uniform{Min: low, Max: high}.Quantile)
	case in.Shape == Triangular && in.lopsided():
		mode := min(in.High, max(in.Low, in.mode()))
		return atProbability(distuv.NewTriangle(in.Low, in.High, mode, nil).Quantile)
	case in.Shape == Triangular:
		return atProbability(distuv.NewTriangle(low, high, in.Value, nil).Quantile)
	case in.Shape == Arcsine: // [MC] 6.4.6; the general beta distribution takes a hundred times as long
		return atProbability(func(p float64) float64 { return in.Value - half*math.Cos(math.Pi*p) })
	case in.Shape == Lognormal:
		mu, sigma := math.Log(in.Value), in.logSigma()
		return shaper{of: func(z float64, _ rand.Source) float64 { return math.Exp(mu + sigma*z) }}
	case in.Freedom != 0:
		return in.student()
	}
	return shaper{of: func(z float64, _ rand.Source) float64 { return in.Value + in.Std*z }}
}

func atProbability(quantile func(p float64) float64) shaper {
	return shaper{of: func(p float64, _ rand.Source) float64 { return quantile(p) }, bounded: true}
}

// student is the scaled and shifted t distribution of an input with finite
// degrees of freedom ([MC] 6.4.9), as z/√(χ²/ν): its quantile would take longer
// than many a model.
func (in Input) student() shaper {
	return shaper{
		of: func(z float64, src rand.Source) float64 {
			chi := distuv.ChiSquared{K: in.Freedom, Src: src}.Rand()
			return in.Value + in.Std*z/math.Sqrt(chi/in.Freedom)
		},
		below: distuv.StudentsT{Mu: in.Value, Sigma: in.Std, Nu: in.Freedom}.CDF,
	}
}
