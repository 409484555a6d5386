package replace

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Candidate is a spring or nest that somebody found.
type Candidate struct {
	Name  string
	Row   int     // line of the list that it stands in
	Price float64 // [currency of the list]; 0 where unknown
	Parts []Part
}

// Ranking is a list of candidates, judged.
type Ranking struct {
	Fitting []Choice // in the order asked for
	Missing []Choice // those that do not do, the nearest miss first
	Bad     []BadRow // those that no spring can be, left out
}

// BadRow is a line of a list that was left out.
type BadRow struct {
	Row int
	Err error
}

// Rank judges every candidate as the search judges its designs. The order of the
// list changes nothing but the rows.
func (j *Job) Rank(list []Candidate, o Order) (*Ranking, error) {
	if err := errors.Join(j.Validate(), o.validate()); err != nil {
		return nil, err
	}
	b := j.bench()
	var r Ranking
	cheapest := math.Inf(1)
	for _, c := range list {
		if err := c.Validate(); err != nil {
			r.Bad = append(r.Bad, BadRow{c.Row, err})
			continue
		}
		choice := j.choose(b, c.Row, j.settle(c.Parts))
		choice.Name, choice.Price = c.Name, c.Price
		if choice.Verdict.Fits() {
			r.Fitting = append(r.Fitting, choice)
		} else {
			r.Missing = append(r.Missing, choice)
		}
		if c.Price > 0 {
			cheapest = min(cheapest, c.Price)
		}
	}
	for i := range r.Fitting {
		r.Fitting[i].score(cheapest, j)
	}
	slices.SortFunc(r.Fitting, func(x, y Choice) int { return o.compare(&x, &y) })
	slices.SortFunc(r.Missing, func(x, y Choice) int {
		return cmp.Or(cmp.Compare(x.Verdict.Short, y.Verdict.Short), x.tie(&y))
	})
	return &r, nil
}

// Judge returns the verdict on one spring or nest.
func (j *Job) Judge(parts []Part) (Verdict, error) {
	c := Candidate{Parts: parts}
	if err := errors.Join(j.Validate(), c.Validate()); err != nil {
		return Verdict{}, err
	}
	return j.bench().judge(j.settle(parts), math.Inf(1)), nil
}

// Validate reports every fault of a candidate.
func (c *Candidate) Validate() error {
	var f faults
	f.notNegative("Candidate.Price", c.Price, "")
	f.that(len(c.Parts) > 0, "Candidate.Parts", float64(len(c.Parts)), "springs", "one or more")
	for i := range c.Parts {
		f = append(f, c.Parts[i].validate())
	}
	return errors.Join(f...)
}

func (p *Part) validate() error {
	var f faults
	f.positive("rate", p.Rate, "N/m")
	f.that(p.Free > 0 && p.Free <= 10, "free length", p.Free, "m", "more than 0, up to 10 m")
	f.that(p.Solid >= 0 && p.Solid < p.Free, "solid length", p.Solid, "m", "0 or more and less than the free length")
	f.that(p.Printed >= 0 && p.Printed < p.Free, "printed solid length", p.Printed, "m", "0 or more and less than the free length")
	f.that(p.LoadBy >= 0 && p.LoadBy <= 0.5, "tolerance of the loads", p.LoadBy, "", "from 0 to 0.5")
	f.notNegative("outside diameter", p.Outer, "m")
	f.that(p.Inner >= 0 && (p.Inner < p.Outer || p.Outer == 0 && p.Inner <= 1), "inside diameter", p.Inner, "m", "0 or more and less than the outside diameter")
	if p.dimensioned() {
		f = append(f, p.Coil.Validate())
		same := func(field string, got, want float64, unit string) {
			f.that(math.Abs(got-want) <= 1e-9*math.Abs(want), field, got, unit, fmt.Sprintf("%.6g %s as the dimensions say", want, unit))
		}
		same("rate", p.Rate, p.Coil.Rate(), "N/m")
		same("free length", p.Free, p.Coil.Free, "m")
		same("solid length", p.Solid, p.Coil.SolidLength(), "m")
	}
	if p.Wire != nil {
		f = append(f, p.Wire.validate())
	}
	return errors.Join(f...)
}
