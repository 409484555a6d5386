package course

import "math"

// Scales of the priors, over the largest reading.
const (
	setScale   = 0.04  // a: half-normal, for a decade of 1 + age/t0 [-]
	wearScale  = 0.015 // b: half-normal, for a year [1/year]
	jumpScale  = 0.2   // c, d: normal [-]
	levelScale = 0.5   // m: normal about the median [-]
	noiseScale = 0.012 // s: median [-]
	noiseWidth = 0.8   // standard deviation of ln s [-]
	bedding    = 2 * 86400.0
)

// agesAtFirst are the ages at the first reading where none is known [s].
var agesAtFirst = [...]float64{Year / 3, 3 * Year, 20 * Year}

// model is one law with one place of the step and one date of birth. Its
// parameters are in units of their prior scales: set, wear (both not negative),
// step, level, one for each repair since the first reading.
type model struct {
	*data
	law      Law
	place    int     // the step lies between reading place and place+1
	tau      float64 // the middle of that gap [s]
	birth    float64 // [s]
	lnPrior  float64 // of the law, the place and the birth
	positive int     // how many of the first parameters are not negative
	dim      int
	level    int // index of the level
}

// models returns every combination that the priors allow.
func (d *data) models() []*model {
	births := agesAtFirst[:]
	if d.newKnown {
		births = []float64{d.t[0] - d.born}
	}
	for _, r := range d.repairs[:d.start] {
		if r.Kind == Spring {
			births = []float64{d.t[0] - r.Time}
		}
	}
	span := d.last() - d.t[0]
	var all []*model
	for w := Law(0); w < laws; w++ {
		b := births
		if w&Set == 0 {
			b = births[:1]
		}
		ln := math.Log(d.prior.of(w) / float64(len(b)))
		for _, age := range b {
			birth := d.t[0] - age
			if w&Step == 0 {
				all = append(all, d.model(w, -1, birth, ln))
				continue
			}
			if span == 0 { // no gap for a step: the prior alone speaks
				all = append(all, d.model(w, -1, birth, ln))
			}
			for i := range len(d.t) - 1 {
				if gap := d.t[i+1] - d.t[i]; gap > 0 {
					all = append(all, d.model(w, i, birth, ln+math.Log(gap/span)))
				}
			}
		}
	}
	return all
}

func (d *data) model(w Law, place int, birth, ln float64) *model {
	m := &model{data: d, law: w, place: place, birth: birth, lnPrior: ln}
	if place >= 0 {
		m.tau = (d.t[place] + d.t[place+1]) / 2
	}
	for _, part := range [...]Law{Set, Wear} {
		if w&part != 0 {
			m.positive++
		}
	}
	m.level = m.positive
	if w&Step != 0 {
		m.level++
	}
	m.dim = m.level + 1 + len(d.repairs) - d.start
	return m
}

func (m *model) decades(age float64) float64 { return math.Log1p(max(0, age)/m.t0) / math.Ln10 }

// decadesSince returns the decades of age from the first reading to a time,
// through the springs that were put in; a new one counts from its bedding, two
// days in, so that what the repair brought is the level then.
func (m *model) decadesSince(t float64, done int) float64 {
	g, from := 0.0, m.decades(m.t[0]-m.birth)
	birth := m.birth
	for _, r := range m.repairs[m.start:max(done, m.start)] {
		if r.Kind == Spring {
			g += m.decades(r.Time-birth) - from
			birth, from = r.Time, m.decades(bedding)
		}
	}
	return g + m.decades(t-birth) - from
}

// ageAt returns the age of the spring in the machine at a time [s].
func (m *model) ageAt(t float64, done int) float64 {
	birth := m.birth
	for _, r := range m.repairs[:done] {
		if r.Kind == Spring {
			birth = max(birth, r.Time)
		}
	}
	return t - birth
}

// row fills dst with the derivatives of the value by the parameters.
func (m *model) row(dst []float64, t float64, done int, stepped bool) {
	clear(dst)
	i := 0
	if m.law&Set != 0 {
		dst[i] = -setScale * m.decadesSince(t, done)
		i++
	}
	if m.law&Wear != 0 {
		dst[i] = -wearScale * (t - m.t[0]) / Year
		i++
	}
	if m.law&Step != 0 && stepped {
		dst[i] = jumpScale
	}
	dst[m.level] = levelScale
	for k := m.start; k < done; k++ {
		dst[m.level+1+k-m.start] = jumpScale
	}
}

// rows returns row for every reading, one after the other.
func (m *model) rows() []float64 {
	x := make([]float64, len(m.t)*m.dim)
	for i, t := range m.t {
		m.row(x[i*m.dim:(i+1)*m.dim], t, m.rank[i], m.place >= 0 && i > m.place)
	}
	return x
}

// value returns the value at a time for parameters, by their row.
func (m *model) value(row, theta []float64) float64 {
	v := m.middle
	for i, x := range row {
		v += x * theta[i]
	}
	return v
}

// possible reports whether the spring had what set took.
func (m *model) possible(theta []float64) bool {
	if m.law&Set == 0 {
		return true
	}
	perDecade := setScale * theta[0]
	whole := m.middle + levelScale*theta[m.level] + perDecade*m.decades(m.t[0]-m.birth)
	most := m.most
	if most == 0 {
		most = whole
	}
	old := max(m.decades(m.t[0]-m.birth), m.decades(m.ageAt(m.last(), m.rank[len(m.rank)-1])))
	return perDecade*old <= most
}
