package course

import (
	"math"
	"math/rand/v2"
	"testing"
)

// grid integrates the likelihood of readings (over the largest) times the priors on
// a plain grid over level, one slope from low to high and ln s: another method, and
// the formulas written anew.
func grid(y, x []float64, center, slopeSD, low, high float64) float64 {
	const levels, scatters = 240, 40
	const dm, ds = 0.24 / levels, 8 * 0.8 / scatters
	normal := func(z float64) float64 { return math.Exp(-z*z/2) / math.Sqrt(2*math.Pi) }
	slopes, db := []float64{0}, 1.0
	if slopeSD > 0 {
		slopes, db = nil, (high-low)/100
		for k := range 100 {
			slopes = append(slopes, low+(float64(k)+0.5)*db)
		}
	}
	sum := 0.0
	for i := range scatters {
		s := 0.012 * math.Exp(-4*0.8+(float64(i)+0.5)*ds)
		g := math.Sqrt(s*s + 0.08*0.08)
		for j := range levels {
			m := center - 0.12 + (float64(j)+0.5)*dm
			for _, b := range slopes {
				p := normal((m-center)/0.5) / 0.5 * normal(math.Log(s/0.012)/0.8) / 0.8
				if slopeSD > 0 {
					p *= normal(b/slopeSD) / slopeSD
				}
				if low == 0 && high > 0 {
					p *= 2
				}
				for k := range y {
					r := y[k] - m + b*x[k]
					q := 1 + r*r/(4*g*g)
					p *= 0.95*normal(r/s)/s + 0.05*0.375/(q*q*math.Sqrt(q)*g)
				}
				sum += p
			}
		}
	}
	return math.Log(sum * dm * ds * db)
}

// TestEvidenceAgainstGrid: the log evidence of scatter, wear, set and a step agrees
// with a grid within 0.05 with many draws and within 0.3 with as many as a course
// spends, a wild reading among the lives.
func TestEvidenceAgainstGrid(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 11))
	worst, worstFew := 0.0, 0.0
	for i := range 3 {
		l := Life{NewKnown: true, New: 0}
		var y, years, decades []float64
		for k := range 6 {
			at := (1 + 2*float64(k)) * Year
			v := 100 * (1 - 0.01*float64(i)*float64(k)/2 + 0.012*r.NormFloat64())
			if i%2 == 1 && k == 3 {
				v -= 15
			}
			l.Readings = append(l.Readings, Reading{Time: at, Value: v})
			y, years = append(y, v), append(years, 2*float64(k))
			decades = append(decades, math.Log10((1+at/360)/(1+Year/360)))
		}
		top := 0.0
		for _, v := range y {
			top = math.Max(top, v)
		}
		for k := range y {
			y[k] /= top
		}
		d := prepare(&l)
		stepped := make([]float64, 6)
		for k := 4; k < 6; k++ {
			stepped[k] = 1
		}
		want := map[Law]float64{
			Scatter: grid(y, years, d.middle, 0, 0, 0),
			Wear:    grid(y, years, d.middle, 0.015, 0, 0.06),
			Set:     grid(y, decades, d.middle, 0.04, 0, 0.2),
			Step:    grid(y, stepped, d.middle, 0.2, -0.3, 0.3),
		}
		for law, ln := range want {
			place := -1
			if law == Step {
				place = 3
			}
			f := d.model(law, place, 0, 0).fit()
			_, many := f.draws(20000)
			_, few := f.draws(mostDraws)
			worst, worstFew = max(worst, math.Abs(many-ln)), max(worstFew, math.Abs(few-ln))
			if math.Abs(many-ln) > 0.05 || math.Abs(few-ln) > 0.3 {
				t.Errorf("life %d, %v: ln evidence %.3f, by few draws %.3f, grid %.3f", i, law, many, few, ln)
			}
		}
	}
	t.Logf("worst difference in ln evidence %.3f, by few draws %.3f", worst, worstFew)
}
