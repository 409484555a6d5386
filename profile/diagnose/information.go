package diagnose

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Candidate is a measurement that could be made next.
type Candidate struct {
	Kind   Kind
	At     float64    // length for a BenchLoad: that of the spring when cocked [m]; else 0
	U      float64    // standard uncertainty with usual tools [unit of the kind]
	Bits   float64    // information expected about the cause [bit]
	Expect []Expected // what it would be under the two or three likeliest causes, in that order
}

// Expected is the value of a measurement under a cause.
type Expected struct {
	Cause Cause
	Value float64 // mean [unit of the kind]
	U     float64 // standard deviation: of the size, the machine as new and the tool [unit of the kind]
}

const (
	expects  = 3    // causes that a candidate is told for
	quadrant = 200  // steps of the integral over the value of a measurement
	faint    = 1e-7 // probability of a state that no longer counts [-]
)

// component is a state as the value of a candidate sees it.
type component struct {
	cause            Cause
	weight, mean, sd float64
}

// candidates ranks the measurements that were not made by the information
// ([Lind]) that they are expected to give about the cause C,
//
//	I = Σ_c p(c) ∫ p(y|c) log2(p(y|c)/p(y)) dy
//
// where p(y|c) is what the states of the cause predict, blurred by the spread
// of machines and the usual tool.
func (g *grid) candidates(m *Machine, posterior [causes]float64, data []Measured) []Candidate {
	done := [kinds]bool{}
	for _, d := range data {
		done[d.Kind] = true
	}
	var list []Candidate
	for k := range kinds {
		d := Measured{Kind: k}
		d.U = instrument[k]
		if k == BenchLoad && m.Spring != nil {
			d.At = m.Spring.Free - m.cockedDeflection()
		}
		if _, ok := g.fresh.of(&d); done[k] || !ok {
			continue
		}
		parts := g.components(m, posterior, &d)
		c := Candidate{Kind: k, At: d.At, U: d.U, Bits: information(parts, &posterior)}
		for _, cause := range likeliest(posterior) {
			c.Expect = append(c.Expect, g.expected(m, cause, &d))
		}
		list = append(list, c)
	}
	slices.SortStableFunc(list, func(a, b Candidate) int { return cmp.Compare(b.Bits, a.Bits) })
	return list
}

// components returns the states that still count.
func (g *grid) components(m *Machine, posterior [causes]float64, d *Measured) []component {
	var parts []component
	sd := g.u(m, d)
	for c := range causes {
		for _, s := range g.states[c] {
			if w := posterior[c] * s.weight; w > faint {
				mean, _ := s.see.of(d)
				parts = append(parts, component{c, w, mean, sd})
			}
		}
	}
	return parts
}

// likeliest returns the few causes with the highest probability: two, and a
// third where it is not out of the question.
func likeliest(posterior [causes]float64) []Cause {
	all := Causes()
	slices.SortStableFunc(all, func(a, b Cause) int { return cmp.Compare(posterior[b], posterior[a]) })
	if posterior[all[2]] < 0.01 {
		return all[:2]
	}
	return all[:3]
}

// expected returns what a measurement would be under a cause.
func (g *grid) expected(m *Machine, cause Cause, d *Measured) Expected {
	e := Expected{Cause: cause}
	second, sd := 0.0, g.u(m, d)
	for _, s := range g.states[cause] {
		mean, _ := s.see.of(d)
		e.Value += s.weight * mean
		second += s.weight * (mean*mean + sd*sd)
	}
	e.U = math.Sqrt(max(0, second-e.Value*e.Value))
	return e
}

// information integrates by the trapezoidal rule, which is exact to rounding
// for sums of normal densities that the steps resolve.
func information(parts []component, posterior *[causes]float64) float64 {
	low, high, narrow := math.Inf(1), math.Inf(-1), math.Inf(1)
	for _, p := range parts {
		low, high = min(low, p.mean-5*p.sd), max(high, p.mean+5*p.sd)
		narrow = min(narrow, p.sd)
	}
	steps := max(quadrant, int(math.Ceil((high-low)/narrow)))
	h := (high - low) / float64(steps)
	joint := make([][causes]float64, steps+1) // p(c) p(y|c) along y
	for _, p := range parts {
		first, last := int((p.mean-6*p.sd-low)/h), int((p.mean+6*p.sd-low)/h)
		for i := max(0, first); i <= min(steps, last); i++ {
			z := (low + h*float64(i) - p.mean) / p.sd
			joint[i][p.cause] += p.weight * math.Exp(-z*z/2) / (p.sd * math.Sqrt(2*math.Pi))
		}
	}
	bits := 0.0
	for i := range joint {
		all := floats.Sum(joint[i][:])
		for c, v := range joint[i] {
			if v > 0 {
				bits += h * v * math.Log2(v/(posterior[c]*all))
			}
		}
	}
	return max(0, bits)
}

// drop fills in the share of the peak lost.
func (r *Ranking) drop(m *Machine, g *grid, data []Measured) {
	for i := range data {
		if data[i].Kind == Peak {
			fresh := g.fresh.value[Peak]
			r.Drop, r.DropU = 1-data[i].Value/fresh, g.u(m, &data[i])/fresh
		}
	}
}

// doubt says where the ranking is weak.
func (r *Ranking) doubt(m *Machine, data []Measured) {
	add := func(format string, a ...any) { r.Doubts = append(r.Doubts, fmt.Sprintf(format, a...)) }
	first, second := &r.Causes[0], &r.Causes[1]
	if first.Likelihood < 2*second.Likelihood {
		add("the measurements hardly separate %v (%.0f %%) from %v (%.0f %%)", first.Cause, 100*first.Likelihood, second.Cause, 100*second.Likelihood)
	}
	if r.DropU > 0 && r.Drop < 2*r.DropU {
		add("the peak is %.0f %% under that of the machine as new, which is within what readings and machines scatter: there may be nothing to explain", 100*r.Drop)
	}
	worst := Evidence{}
	for _, e := range first.Against {
		if math.Abs(e.Z) > math.Abs(worst.Z) {
			worst = e
		}
	}
	if math.Abs(worst.Z) > 3 {
		add("even the likeliest cause does not explain the %v: two things may be wrong at once, or a measurement is", worst.Measured.Kind)
	}
	if m.Spring == nil {
		add("the spring's dimensions as new are not known: free length, wire and coils cannot be compared")
	}
	add("each cause is weighed as if it were alone; two causes at once are not modelled")
	if len(data) < 3 {
		add("with so few measurements the ranking is mostly what old machines usually have")
	}
}
