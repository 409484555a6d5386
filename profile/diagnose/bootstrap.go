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
// together ([Kuen]); a group has 2 n^(1/3) rows.
func (s *series) group() (groups []moments, xm, ym float64) {
	n := len(s.t)
	size := max(1, min(int(2*math.Cbrt(float64(n))), n/leastGroups))
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

// resample draws groups with replacement and hands each line to use.
func (s *series) resample(rng *rand.Rand, replicates int, use func(intercept, slope float64)) (groups int) {
	g, xm, ym := s.group()
	for range replicates {
		var m moments
		for range g {
			m.add(&g[rng.IntN(len(g))])
		}
		a, b := m.line()
		use(ym+a-b*xm, b)
	}
	return len(g)
}

// interval returns the expanded percentile interval of replicates ([Hest]):
// percentiles further out for few groups, as Student's t is wider than the
// normal distribution.
func interval(value float64, replicates []float64, groups int) Estimate {
	slices.Sort(replicates)
	free := float64(groups - 2)
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: free}.Quantile((1 + coverage) / 2)
	p := distuv.UnitNormal.CDF(-t * math.Sqrt(float64(groups)/free))
	return Estimate{
		Value: value,
		Low:   stat.Quantile(p, stat.LinInterp, replicates, nil),
		High:  stat.Quantile(1-p, stat.LinInterp, replicates, nil),
	}
}
