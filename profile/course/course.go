package course

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Estimate is a value with its interval.
type Estimate struct {
	Value float64 // median [unit of the value]
	Low   float64 // low end of the 95 % interval [unit of the value]
	High  float64 // high end [unit of the value]
}

// Fit is one law with its weight and, if it is the law, its size.
type Fit struct {
	Law      Law
	Weight   float64  // probability of the law, given the readings and Prior [-]
	Evidence float64  // ln of the marginal likelihood, of readings over the largest [-]
	Set      Estimate // a: lost for each tenfold of 1 + age/t0 [unit of the value]
	Wear     Estimate // b: lost a year [unit of the value/year]
	Step     Estimate // c: change at the step, below 0 for a fall [unit of the value]
	StepAt   Estimate // τ: time of the step, as far as readings part it [s]
}

// Brought is what a repair changed.
type Brought struct {
	Repair int      // index in Life.Repairs
	Before Estimate // the value before [unit of the value]
	After  Estimate // the value after; after a new spring, when it has bedded for two days [unit of the value]
	Change Estimate // After less Before [unit of the value]
	LnBF   float64  // ln of the Bayes factor that the repair changed the value at all [-]
	Read   bool     // there are readings before and after it, up to the next repairs
}

// StandsOff is a reading that no law follows.
type StandsOff struct {
	Reading     int      // index in Life.Readings
	Off         Estimate // the reading less the course [unit of the value]
	Probability float64  // that it is wild, not just scattered [-]; above one half
}

// Lost is what set took since the spring in the machine was new.
type Lost struct {
	New          Estimate // the value when this spring was new [unit of the value]
	Set          Estimate // lost to set by the last reading [unit of the value]
	Share        Estimate // Set over New [-]
	Extrapolated bool     // most of it was lost before the first reading: it rests on the law, not on readings
}

// Factors are ln Bayes factors: for a part being there against not, over all
// else [-]. 0 says nothing; 3 is strong [KR].
type Factors struct {
	Set  float64 // log-time law: speaks for set [-]
	Wear float64 // linear: speaks for the seal, or for wear of the wire [-]
	Step float64 // speaks for a broken coil or another gauge [-]
}

// Course is a life with its laws weighed. Its methods change nothing: several
// goroutines may call them.
type Course struct {
	Fits      []Fit       // all eight laws, the most probable first
	LnBF      Factors     // evidence for a diagnosis
	Repairs   []Brought   // in the order of Life.Repairs; those before the first reading are left out
	StandsOff []StandsOff // in the order of Life.Readings
	Lost      Lost
	Scatter   Estimate // s: scale of the scatter beyond the readings' own U [unit of the value]
	Effective float64  // number of equally weighted draws that the answer is worth [-]; below 100 it is a doubt
	Doubts    []string

	data  *data
	draws []sample
}

type sample struct {
	*model
	draw
}

const (
	firstDraws = 24  // of a model
	leastDraws = 16  // of a model that matters
	mostDraws  = 400 // of a model
)

// Weigh fits all laws to a life and weighs them.
func Weigh(l Life) (*Course, error) {
	if err := l.Validate(); err != nil {
		return nil, err
	}
	d := prepare(&l)
	c := &Course{data: d}
	lnZ, ln := c.sample()
	if math.IsInf(lnZ, -1) || math.IsNaN(lnZ) {
		return nil, fmt.Errorf("%w: no law fits within the bound Most of %g, in the unit of the value", ErrInput, l.Most)
	}
	c.weighLaws(ln)
	c.weighRepairs()
	c.seekOff()
	c.loss()
	c.Scatter = c.estimate(func(s *sample) float64 { return s.s * d.scale })
	c.doubt()
	return c, nil
}

// sample draws from the posterior over all models. It returns the log evidence
// and that of each law.
func (c *Course) sample() (lnZ float64, byLaw [laws]float64) {
	models := c.data.models()
	modes := make([]*mode, len(models))
	ln := make([]float64, len(models))
	for i, m := range models {
		modes[i] = m.fit()
		_, ev := modes[i].draws(firstDraws)
		ln[i] = ev + m.lnPrior
	}
	rough := lnSum(ln)
	draws := make([][]draw, len(models))
	all := float64(min(1600, 400+100*len(c.data.t))) // few readings leave little to find
	for i, f := range modes {
		share := math.Exp(ln[i] - rough)
		if !(share > 1e-5) {
			continue
		}
		var ev float64
		draws[i], ev = f.draws(min(max(int(all*share), leastDraws), mostDraws))
		ln[i] = ev + f.lnPrior
	}
	lnZ = lnSum(ln)
	for w := range byLaw {
		var own []float64
		for i, m := range models {
			if m.law == Law(w) {
				own = append(own, ln[i])
			}
		}
		byLaw[w] = max(lnSum(own), lnZ-700) // none of its draws is possible: next to nothing
	}
	total, squares := 0.0, 0.0
	for i, ds := range draws {
		sum := 0.0
		for _, d := range ds {
			sum += d.weight
		}
		share := math.Exp(ln[i] - lnZ)
		for _, d := range ds {
			d.weight *= share / sum
			if d.weight > 1e-9 {
				c.draws = append(c.draws, sample{models[i], d})
				total += d.weight
				squares += d.weight * d.weight
			}
		}
	}
	c.Effective = total * total / squares
	return lnZ, byLaw
}

func lnSum(x []float64) float64 {
	top := slices.Max(x)
	if math.IsInf(top, -1) {
		return top
	}
	s := 0.0
	for _, v := range x {
		s += math.Exp(v - top)
	}
	return top + math.Log(s)
}

func (c *Course) weighLaws(ln [laws]float64) {
	z := lnSum(ln[:])
	for w := Law(0); w < laws; w++ {
		f := Fit{Law: w, Weight: math.Exp(ln[w] - z), Evidence: ln[w] - math.Log(c.data.prior.of(w))}
		is := func(s *sample) bool { return s.law == w }
		if w&Set != 0 {
			f.Set = c.estimateWhere(is, func(s *sample) float64 { return s.theta[0] * setScale * c.data.scale })
		}
		if w&Wear != 0 {
			f.Wear = c.estimateWhere(is, func(s *sample) float64 { return s.theta[s.positive-1] * wearScale * c.data.scale })
		}
		if w&Step != 0 {
			f.Step = c.estimateWhere(is, func(s *sample) float64 { return s.theta[s.positive] * jumpScale * c.data.scale })
			f.StepAt = c.stepAt(w)
		}
		c.Fits = append(c.Fits, f)
	}
	slices.SortStableFunc(c.Fits, func(a, b Fit) int { return sign(b.Weight - a.Weight) })
	factor := func(part Law, p float64) float64 {
		var with, without []float64
		for w := range ln {
			if Law(w)&part != 0 {
				with = append(with, ln[w])
			} else {
				without = append(without, ln[w])
			}
		}
		return lnSum(with) - lnSum(without) - math.Log(p/(1-p))
	}
	p := c.data.prior
	c.LnBF = Factors{factor(Set, p.Set), factor(Wear, p.Wear), factor(Step, p.Step)}
}

// stepAt spreads the step evenly over each gap.
func (c *Course) stepAt(w Law) Estimate {
	var v []weighted
	for i := range c.draws {
		s := &c.draws[i]
		if s.law != w || s.place < 0 {
			continue
		}
		from, to := s.t[s.place], s.t[s.place+1]
		const parts = 8
		for k := range parts {
			v = append(v, weighted{from + (to-from)*(float64(k)+0.5)/parts, s.weight / parts})
		}
	}
	return quantiles(v)
}

// weighted is a value with its weight.
type weighted struct{ x, w float64 }

// quantiles returns the median and the 95 % interval. It sorts v.
func quantiles(v []weighted) Estimate {
	if len(v) == 0 {
		return Estimate{}
	}
	slices.SortFunc(v, func(a, b weighted) int { return cmp.Compare(a.x, b.x) })
	total := 0.0
	for _, p := range v {
		total += p.w
	}
	var q [3]float64
	sum, k := 0.0, 0
	for _, p := range v {
		sum += p.w
		for k < 3 && sum >= [...]float64{0.025, 0.5, 0.975}[k]*total {
			q[k] = p.x
			k++
		}
	}
	for ; k < 3; k++ { // rounding of the sum
		q[k] = v[len(v)-1].x
	}
	return Estimate{q[1], q[0], q[2]}
}

func (c *Course) estimate(f func(*sample) float64) Estimate {
	return c.estimateWhere(func(*sample) bool { return true }, f)
}

func (c *Course) estimateWhere(is func(*sample) bool, f func(*sample) float64) Estimate {
	v := make([]weighted, 0, len(c.draws))
	for i := range c.draws {
		if s := &c.draws[i]; is(s) {
			v = append(v, weighted{f(s), s.weight})
		}
	}
	return quantiles(v)
}

// at returns the course of a draw at a time, over the largest reading. What set
// takes is held to what the spring has, and the value to 0.
func (s *sample) at(row []float64, t float64, done int) float64 {
	row = row[:s.dim]
	s.row(row, t, done, s.place >= 0 && t > s.tau)
	v := s.value(row, s.theta)
	if s.law&Set != 0 {
		a := setScale * s.theta[0]
		most := s.model.most
		if most > 0 {
			v += max(0, a*s.decades(s.ageAt(t, done))-most)
		}
	}
	return max(0, v)
}

// widest returns room for the row of any model.
func (d *data) widest() []float64 { return make([]float64, 4+len(d.repairs)) }

func (c *Course) weighRepairs() {
	d := c.data
	row := d.widest()
	for k := d.start; k < len(d.repairs); k++ {
		r := d.repairs[k]
		b := Brought{Repair: d.given[k]}
		b.Read = slices.Contains(d.rank, k) && slices.Contains(d.rank, k+1)
		value := func(after int) func(*sample) float64 {
			return func(s *sample) float64 {
				t := r.Time
				if after == 1 && r.Kind == Spring {
					t += bedding
				}
				return s.at(row, t, k+after) * d.scale
			}
		}
		b.Before, b.After = c.estimate(value(0)), c.estimate(value(1))
		b.Change = c.estimate(func(s *sample) float64 { return value(1)(s) - value(0)(s) })
		b.LnBF = c.savageDickey(k - d.start)
		c.Repairs = append(c.Repairs, b)
	}
	slices.SortStableFunc(c.Repairs, func(a, b Brought) int { return a.Repair - b.Repair })
}

// savageDickey returns ln of the Bayes factor for a change at repair k: its prior
// density at none over its posterior density there, taken for a Student's t of
// the draws' mean and spread, ν = 4, so that far from none it stays modest.
func (c *Course) savageDickey(k int) float64 {
	e := c.estimate(func(s *sample) float64 { return s.theta[s.level+1+k] })
	width := (e.High - e.Low) / (2 * 2.776) // t(0.975), ν = 4
	if !(width > 0) {
		return 0
	}
	return -lnRoot2Pi - (lnDensityT4(e.Value/width) - math.Log(width))
}

// seekOff names the readings that are sooner wild than sound.
func (c *Course) seekOff() {
	d := c.data
	row := d.widest()
	for i, t := range d.t {
		off := func(s *sample) float64 {
			r := row[:s.dim]
			s.row(r, t, d.rank[i], s.place >= 0 && i > s.place)
			return d.y[i] - s.value(r, s.theta)
		}
		far := 0.0
		for j := range c.draws {
			s := &c.draws[j]
			r := off(s)
			sound, wild := densities(r*r, s.s*s.s+d.u[i]*d.u[i])
			far += s.weight * wild / (sound + wild)
		}
		if far > 0.5 {
			e := c.estimate(func(s *sample) float64 { return off(s) * d.scale })
			c.StandsOff = append(c.StandsOff, StandsOff{d.index[i], e, far})
		}
	}
	slices.SortFunc(c.StandsOff, func(a, b StandsOff) int { return a.Reading - b.Reading })
}

// loss works out what set took of the spring that is in the machine.
func (c *Course) loss() {
	d := c.data
	row := d.widest()
	t, done := d.last(), d.rank[len(d.rank)-1]
	taken := func(s *sample) float64 {
		if s.law&Set == 0 {
			return 0
		}
		return setScale * s.theta[0] * s.decades(s.ageAt(t, done))
	}
	whole := func(s *sample) float64 { return s.at(row, t, done) + taken(s) }
	c.Lost.New = c.estimate(func(s *sample) float64 { return whole(s) * d.scale })
	c.Lost.Set = c.estimate(func(s *sample) float64 { return taken(s) * d.scale })
	c.Lost.Share = c.estimate(func(s *sample) float64 { return taken(s) / max(whole(s), 1e-12) })
	seen, all := 0.0, 0.0
	for i := range c.draws {
		s := &c.draws[i]
		from := d.t[0]
		birth := t - s.ageAt(t, done)
		for j := range d.t { // the first reading of this spring
			if d.t[j] >= birth {
				from = d.t[j]
				break
			}
		}
		whole := s.decades(t - birth)
		seen += s.weight * (whole - s.decades(from-birth))
		all += s.weight * whole
	}
	c.Lost.Extrapolated = seen < all/2
}

func (c *Course) doubt() {
	d := c.data
	say := func(s string) { c.Doubts = append(c.Doubts, s) }
	if n := len(d.t); n < 3 {
		say("Fewer than three readings cannot tell the laws apart: the weights are those held beforehand.")
	}
	if c.Lost.Extrapolated {
		say("Most of what set took since new was lost before the first reading: that figure rests on the log-time law and on what springs do, not on readings.")
	}
	if !d.newKnown && !slices.ContainsFunc(d.repairs, func(r Repair) bool { return r.Kind == Spring }) {
		say("When the spring was new is not known: a third of a year, three and twenty years at the first reading were weighed alike.")
	}
	for k := d.start; k < len(d.repairs); k++ {
		if d.rank[len(d.rank)-1] <= k {
			say(fmt.Sprintf("No reading since repair %d (%v): what it brought is not known.", d.given[k]+1, d.repairs[k].Kind))
		}
	}
	if c.Effective < 100 {
		say(fmt.Sprintf("The answer is worth %.0f draws only: its intervals are rough.", c.Effective))
	}
}
