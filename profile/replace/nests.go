package replace

import (
	"errors"
	"fmt"
	"slices"

	"springcalc/spring"
)

// NestSearch is a search for two springs, one inside the other. The whole product
// of two grids is out of reach, so the force is shared out first: for each share of
// the inner spring the outer ones are searched for their part of both forces, and
// for each of the best of these every inner one is searched that goes into it and
// makes up the rest. What it calls best is the best of those pairs, not of all.
type NestSearch struct {
	Search           // the machine, the grid of the outer spring, the order; Keep pairs are kept
	Inner  Grid      // of the inner spring
	Shares []float64 // of both forces that the inner spring may take [-]
	Outers int       // how many outer springs of a share are tried with every inner one
}

// validate reports every impossible value of the nest.
func (n *NestSearch) validate() error {
	var f faults
	f.that(len(n.Shares) > 0, "NestSearch.Shares", float64(len(n.Shares)), "shares", "one or more")
	for _, s := range n.Shares {
		f.that(s > 0 && s < 1, "NestSearch.Shares", s, "", "more than 0, less than 1")
	}
	f.that(n.Outers > 0, "NestSearch.Outers", float64(n.Outers), "springs", "1 or more")
	if n.Inner.Convention != n.Grid.Convention {
		f = append(f, fmt.Errorf("%w: the outer grid reckons by convention %v, the inner by %v: want one for both", ErrJob, n.Grid.Convention, n.Inner.Convention))
	}
	return errors.Join(f...)
}

// Run returns the pairs found, judged as nests, in order. Tried and Blocked count
// the coils of all searches that it took; Fitting and Lengths the pairs. Nearest is nil.
func (n *NestSearch) Run() (*Found, error) {
	if err := n.validate(); err != nil {
		return nil, err
	}
	whole := n.Job
	whole.Convention = n.Grid.Convention
	judge := whole.bench()
	var all Found
	for _, share := range n.Shares {
		outer := n.Search
		outer.Progress = nil
		outer.Requirement = n.part(1 - share)
		outer.Effort = 0 // the hand feels both, and is asked at the end
		outer.Keep = n.Outers
		found, err := outer.Run()
		if err != nil {
			return nil, err
		}
		all.count(found)
		for _, o := range found.Best {
			inner := n.Search
			inner.Progress = nil
			inner.Grid = n.Inner
			inner.Staying = append(slices.Clone(n.Staying), o.Parts...)
			found, err := inner.Run()
			if err != nil {
				return nil, err
			}
			all.count(found)
			for _, i := range found.Best {
				c := n.choose(judge, len(all.Best)+1, append(slices.Clone(o.Parts), i.Parts...))
				if c.Verdict.Fits() {
					all.Fitting++
					all.Lengths++
					all.Best = append(all.Best, c)
				}
			}
		}
	}
	n.sort(all.Best)
	all.Best = slices.CompactFunc(all.Best, func(a, b Choice) bool { return a.same(&b) })
	if n.Keep > 0 && len(all.Best) > n.Keep {
		all.Best = all.Best[:n.Keep]
	}
	return &all, nil
}

// same reports whether two choices are the same springs.
func (c *Choice) same(d *Choice) bool {
	return slices.EqualFunc(c.Parts, d.Parts, func(a, b Part) bool { return a.Coil == b.Coil && a.grade() == b.grade() })
}

// part returns a share of the required forces, and of what they may be off by. What
// stays pushes its own, which a search takes off again.
func (j *Job) part(share float64) Requirement {
	r := j.Requirement
	stay := j.Space.Lines(j.Staying)
	lift := r.Stroke - r.Begin
	of := func(whole, stay float64) float64 { return share*(whole-stay) + stay }
	start := of(r.Start(), spring.ForceOf(stay, lift))
	r.Rest = of(r.Rest, spring.ForceOf(stay, 0))
	r.Rate = (start - r.Rest) / lift
	r.Within *= share
	return r
}

// count adds what another search tried.
func (f *Found) count(g *Found) {
	f.Tried += g.Tried
	for c, n := range g.Blocked {
		f.Blocked[c] += n
	}
}
