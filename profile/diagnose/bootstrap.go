package diagnose

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

const (
	leastGroups = 20   // groups of rows, where there are that many rows
	mostGroups  = 2000 // more make no better interval
	coverage    = 0.95 // of every interval [-]
)

// twoSided is the half width of such an interval in standard uncertainties [-].
var twoSided = distuv.UnitNormal.Quantile((1 + coverage) / 2)

// Estimate is a value with its 95 % interval, in the unit of the value.
type Estimate struct {
	Value float64 // best estimate [unit of the value]
	Low   float64 // low end of the 95 % interval [unit of the value]
	High  float64 // high end [unit of the value]
}

// U returns the standard uncertainty that the interval amounts to.
func (e Estimate) U() float64 { return (e.High - e.Low) / (2 * twoSided) }

// Around returns the estimate of a value with a standard uncertainty, both in
// the unit of the value.
func Around(value, u float64) Estimate {
	return Estimate{value, value - twoSided*u, value + twoSided*u}
}

// Reading is an estimate from a log. What its own rows scatter by is one part
// of its uncertainty; the rest, bore, seals, gauge and what the coffee keeps, is
// common to all logs of a machine.
type Reading struct {
	Estimate
	Own float64 // standard uncertainty by the log's own rows [unit of the value]
}

// Together returns what the logs of one machine say together: the mean of the
// readings, with
//
//	u² = mean(u_i² - own_i²) + max(mean(own_i²), s²)/n
//
// where s is the standard deviation among the readings. More logs do away with
// what is each log's own, never with what they have in common. It panics for
// no readings.
func Together(readings []Reading) Reading {
	if len(readings) == 0 {
		panic("diagnose: nothing to take together")
	}
	if len(readings) == 1 {
		return readings[0]
	}
	values := make([]float64, len(readings))
	var own, common float64
	n := float64(len(readings))
	for i, r := range readings {
		values[i] = r.Value
		own += r.Own * r.Own / n
		common += max(0, r.U()*r.U()-r.Own*r.Own) / n
	}
	mean, among := stat.MeanVariance(values, nil)
	own = max(own, among) / n
	return Reading{Around(mean, math.Sqrt(common+own)), math.Sqrt(own)}
}

// moments are the sums over some rows that a line is fitted from.
type moments struct{ n, t, x, y, tx, ty float64 }

func (m *moments) add(o *moments) {
	m.n += o.n
	m.t += o.t
	m.x += o.x
	m.y += o.y
	m.tx += o.tx
	m.ty += o.ty
}

// line returns the line that fitStraight would fit to the rows.
func (m *moments) line() (intercept, slope float64) {
	slope = (m.ty - m.t*m.y/m.n) / (m.tx - m.t*m.x/m.n)
	return (m.y - slope*m.x) / m.n, slope
}

// group returns the moments of groups of neighbouring rows, counted from
// the mean of all rows. Neighbours stay together because their noise may hang
// together ([Kuen]); a group has up to 3 n^(1/3) rows.
func (s *series) group() (groups []moments, xm, ym float64) {
	n := len(s.t)
	size := max(1, min(int(3*math.Cbrt(float64(n))), n/leastGroups))
	count := min(n/size, mostGroups)
	groups = make([]moments, count)
	tm := stat.Mean(s.t, nil)
	xm, ym = stat.Mean(s.x, nil), stat.Mean(s.p, nil)
	for i := range s.t {
		t, x, y := s.t[i]-tm, s.x[i]-xm, s.p[i]-ym
		g := &groups[i*count/n]
		g.add(&moments{1, t, x, y, t * x, t * y})
	}
	return groups, xm, ym
}

// resample draws groups with replacement and hands each line to use. As
// Student's t is wider than the normal distribution, lines from few groups are
// set further off, the expansion of [Hest].
func (l *robust) resample(rng *rand.Rand, replicates int, use func(intercept, slope float64)) {
	groups, xm, ym := l.kept.group()
	n := float64(len(groups))
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 2}.Quantile((1 + coverage) / 2)
	wider := t / twoSided * math.Sqrt(n/(n-2))
	for range replicates {
		a, b := drawLine(rng, groups)
		for math.IsNaN(b) || math.IsInf(b, 0) { // no line goes through one row drawn over and over
			a, b = drawLine(rng, groups)
		}
		a += ym - b*xm
		use(l.intercept+wider*(a-l.intercept), l.slope+wider*(b-l.slope))
	}
}

// drawLine draws groups with replacement and returns the line through them.
func drawLine(rng *rand.Rand, groups []moments) (intercept, slope float64) {
	var m moments
	for range groups {
		m.add(&groups[rng.IntN(len(groups))])
	}
	return m.line()
}

// memory returns by how much the noise of a mean is greater than that of
// independent rows, from the correlation r of neighbours: √((1 + r)/(1 - r)).
func (l *robust) memory() float64 {
	var both, one float64
	before := l.residual(&l.kept, 0)
	for i := range l.kept.t {
		r := l.residual(&l.kept, i)
		both += r * before
		one += r * r
		before = r
	}
	r := min(0.99, max(0, both/one))
	return math.Sqrt((1 + r) / (1 - r))
}

// interval returns the percentile interval of replicates.
func interval(value float64, replicates []float64) Estimate {
	slices.Sort(replicates)
	half := (1 - coverage) / 2
	return Estimate{
		Value: value,
		Low:   stat.Quantile(half, stat.LinInterp, replicates, nil),
		High:  stat.Quantile(1-half, stat.LinInterp, replicates, nil),
	}
}
