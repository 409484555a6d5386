package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/uncertain"
)

// addTo puts the spread into a report: a band on each row, what to measure
// better, how it was found and what is weak in it. A nil spread adds nothing.
func (s *spread) addTo(r *report) {
	if s == nil {
		return
	}
	r.Rows = append(r.Rows, s.facts...)
	r.Doubts = append(r.Doubts, s.doubts...)
	if len(s.results) == 0 {
		return
	}
	var outside []string
	for i, o := range s.Outcomes {
		row := r.row(o.Key)
		if row == nil {
			panic("uncertainty: the report has no row " + o.Key)
		}
		s.results[i].band(row, o.Unit)
		if b := row.Band; b != nil && (row.Value < b.Low || row.Value > b.High) {
			outside = append(outside, row.Name)
		}
	}
	if !slices.ContainsFunc(r.Rows, func(r row) bool { return r.Band != nil && r.Band.Std == 0 }) {
		r.BandHead = "95 % interval"
	}
	if r.Summary != nil {
		r.Notes = append(r.Notes, s.intervals(r))
	}
	if len(outside) > 0 {
		r.Doubts = append(r.Doubts, fmt.Sprintf("outside its own interval: %s; %s", words.AndList(outside), s.oneSided()))
	}
	s.addShares(r)
}

// addShares adds what to measure better, and how that was found.
func (s *spread) addShares(r *report) {
	if s == nil || len(s.results) == 0 {
		return
	}
	if t := s.improveTable(); len(t.Data) > 0 {
		r.Tables = append(r.Tables, t)
		r.Notes = append(r.Notes, s.advice())
	}
	r.Notes = append(r.Notes, s.notes...)
	if len(s.sameInstrument()) > 0 {
		r.Notes = append(r.Notes, "lengths of a spring with the same ± are taken as measured with the same instrument, so that half of the variance is common to them")
	}
}

// intervals says the bands where a summary stands in place of the rows.
func (s *spread) intervals(r *report) string {
	var texts []string
	for _, o := range s.Outcomes {
		if row := r.row(o.Key); row.Band != nil {
			texts = append(texts, strings.TrimSpace(fmt.Sprintf("%s %s %s", row.Name, row.band(), row.Unit)))
		}
	}
	return "95 % interval: " + strings.Join(texts, "; ")
}

// band puts a spread on a row, and takes the digits that it leaves unknown.
func (s result) band(r *row, unit quantity.Display) {
	if !(s.std > 0) {
		r.Band = nil
		return
	}
	low, high, std := unit.Of(s.Low), unit.Of(s.High), unit.Of(s.std)-unit.Of(0)
	r.Band = &band{Low: low, High: high, Std: std, Coarser: max(0, r.Digits-uncertain.Decimals(std))}
}

// oneSided says why a value can lie outside its interval: it takes what is not
// stated at an end of its range.
func (s *spread) oneSided() string {
	var keys []string
	for _, d := range s.Defaults {
		if d.Low < d.High && (d.Value == d.Low || d.Value == d.High) {
			keys = append(keys, d.Key)
		}
	}
	if len(keys) == 0 {
		return "the answer bends within what may be off"
	}
	return "what is not stated is taken as none, and any of it moves the answer one way: " + words.AndList(keys)
}

// anyStated tells whether anything that is stated with ± counts in an outcome.
func (s *spread) anyStated(outcome int) bool {
	return slices.ContainsFunc(s.sources, func(src source) bool { return !src.assumed && s.results[outcome].shares[src.Name] != 0 })
}

// shown is the share of variance from which an input is listed by itself [-].
const shown = 0.02

// mainOutcomes are the places of the outcomes that the table of shares is for.
func (s *spread) mainOutcomes() (list []int) {
	for i, o := range s.Outcomes {
		if o.Head != "" && s.results[i].std > 0 {
			list = append(list, i)
		}
	}
	return list
}

// largestShare is the largest share that a source has in a main outcome [-].
func (s *spread) largestShare(name string) (share float64) {
	for _, i := range s.mainOutcomes() {
		share = max(share, math.Abs(s.results[i].shares[name]))
	}
	return share
}

// improveTable tells which input makes how much of the variance of the main
// outcomes, the largest first and the small ones summed.
func (s *spread) improveTable() tableData {
	main := s.mainOutcomes()
	t := tableData{Key: "improve", Title: "Which measurement to improve: share of the variance",
		Columns: []column{{Key: "input", Head: "what"}, {Key: "known", Head: "known to"}}}
	for _, i := range main {
		t.Columns = append(t.Columns, column{Key: s.Outcomes[i].Key + "_share_percent", Head: s.Outcomes[i].Head + ", %"})
	}
	if len(main) == 0 {
		return t
	}
	largest := func(src source) float64 { return s.largestShare(src.Name) }
	sources := slices.Clone(s.sources)
	slices.SortStableFunc(sources, func(a, b source) int { return cmp.Compare(largest(b), largest(a)) })
	rest, small := make([]float64, len(main)), 0
	for _, src := range sources {
		line := []any{src.Name, src.Known}
		for j, i := range main {
			share := s.results[i].shares[src.Name]
			line = append(line, quantity.InPercent.Of(share))
			if largest(src) < shown {
				rest[j] += share
			}
		}
		switch {
		case largest(src) == 0:
			continue
		case largest(src) < shown:
			small++
			continue
		}
		t.Data = append(t.Data, line)
	}
	if small > 0 {
		line := []any{fmt.Sprintf("%d others together", small), ""}
		for _, share := range rest {
			line = append(line, quantity.InPercent.Of(share))
		}
		t.Data = append(t.Data, line)
	}
	return t
}

// advice names what would narrow the main outcomes most: the way to better
// values that the largest part of the variance goes with.
func (s *spread) advice() string {
	var ways []string
	helps := map[string][]string{}
	for _, i := range s.mainOutcomes() {
		way := s.bestWay(s.results[i].shares)
		if helps[way] == nil {
			ways = append(ways, way)
		}
		helps[way] = append(helps[way], s.Outcomes[i].Head)
	}
	if len(ways) == 1 {
		return ways[0] + " would help most"
	}
	for i, way := range ways {
		ways[i] = way + " would help most for the " + words.AndList(helps[way])
	}
	return strings.Join(ways, "; ")
}

// bestWay adds up shares by the way to better values.
func (s *spread) bestWay(shares map[string]float64) (best string) {
	sums := map[string]float64{}
	for _, src := range s.sources {
		way := s.better(src)
		sums[way] += shares[src.Name]
		if best == "" || sums[way] > sums[best] {
			best = way
		}
	}
	return best
}

// betterWays are what gets a value more closely than is usual.
var betterWays = map[string]string{
	"spring.wire":                  "a micrometer on the wire",
	"spring.rate":                  "a bench test of the spring",
	"spring.preload":               "a bench test of the spring",
	"spring.grade":                 "a bench test of the spring",
	"spring.shear_modulus":         "a bench test of the spring",
	"spring.modulus_ratio":         "a bench test of the spring",
	"piston.friction":              "a test of the seals' friction, with pressure and without,",
	"piston.friction_per_pressure": "a test of the seals' friction, with pressure and without,",
	"spring.active_coils":          "a closer count of the coils",
	"spring.total_coils":           "a closer count of the coils",
	"coffee.dose":                  "a finer scale for the dose",
	gaugeScale:                     "a check of the gauge",
	peakDrop:                       "more readings of the peak",
	readingNow:                     "a closer reading of the peak",
	newSpring:                      "a new spring made to a closer tolerance",
	"coffee.unloading_exponent":    "knowing how the bed springs back (coffee.unloading_exponent), which nobody has published,",
}

// better says how a source could be known better. What is assumed of the coffee
// is better told by a shot that somebody has weighed.
func (s *spread) better(src source) string {
	if way, ok := betterWays[strings.Replace(src.Name, "spring.inner", "spring", 1)]; ok {
		return way
	}
	switch {
	case src.Key == nil:
		return "less " + src.Name
	case src.assumed && strings.HasPrefix(src.Name, "coffee.") && !s.HasTable("coffee.known"):
		return "a known shot (coffee.known)"
	case src.assumed:
		return "stating " + src.Name
	}
	return "a closer measurement of " + src.Name
}
