package spread

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/uncertain"
)

// AddTo puts the spread into a report: a band on each row of the question and
// what would narrow it, what to measure better, how it was found and what is
// weak in it. A nil spread adds nothing.
func (s *Spread) AddTo(r *report.Report) {
	if s == nil {
		return
	}
	r.Rows = append(r.Rows, s.facts...)
	r.Doubts = append(r.Doubts, report.Plains(s.doubts)...)
	if len(s.results) == 0 {
		return
	}
	var outside []string
	for i, o := range s.outcomes {
		row := r.Row(o.key)
		if row == nil {
			panic("spread: the report has no row " + o.key)
		}
		res := s.results[i]
		if row.Band = res.band(row); row.Band == nil {
			continue
		}
		if len(res.shares) > 0 {
			row.Narrow = s.bestWay(res.shares)
		}
		if row.Value < row.Band.Low || row.Value > row.Band.High {
			outside = append(outside, row.Name)
		}
	}
	if len(outside) > 0 {
		r.Doubt("outside its own interval: %s; %s", words.AndList(outside), s.oneSided())
	}
	if t := s.improveTable(); len(t.Data) > 0 {
		r.Tables = append(r.Tables, t)
		r.Note("%s", s.advice())
	}
	r.Notes = append(r.Notes, report.Plains(s.notes)...)
	if len(s.sameInstrument()) > 0 {
		r.Note("lengths of a spring with the same ± are taken as measured with the same instrument, so that half of the variance is common to them")
	}
}

// band is the band of a row, with the digits that it leaves known; nil for a
// row that is exact.
func (s result) band(r *report.Row) *report.Band {
	if !(s.std > 0) {
		return nil
	}
	known := uncertain.Decimals(math.Abs(r.Unit.Step(s.std)))
	return &report.Band{Low: s.Low, High: s.High, Std: s.std, Known: max(0, min(r.Digits, known))}
}

// oneSided says why a value can lie outside its interval: it takes what is not
// stated at an end of its range.
func (s *Spread) oneSided() string {
	var keys []string
	for _, d := range s.Defaults {
		if d.Low < d.High && (d.Value == d.Low || d.Value == d.High) {
			keys = append(keys, d.Key)
		}
	}
	if len(keys) == 0 {
		return "the answer bends within what may be off"
	}
	return "not stated, assumed zero, and any of it moves the answer one way: " + words.AndList(keys)
}

// shown is the share of variance from which an input is listed by itself [-].
const shown = 0.02

// mainOutcomes are the places of the outcomes that the table of shares is for.
func (s *Spread) mainOutcomes() (list []int) {
	for i, o := range s.outcomes {
		if o.head != "" && s.results[i].std > 0 {
			list = append(list, i)
		}
	}
	return list
}

// largestShare is the largest share that a source has in a main outcome [-].
func (s *Spread) largestShare(name string) (share float64) {
	for _, i := range s.mainOutcomes() {
		share = max(share, math.Abs(s.results[i].shares[name]))
	}
	return share
}

// improveTable tells which input makes how much of the variance of the main
// outcomes, the largest first and the small ones summed.
func (s *Spread) improveTable() report.Table {
	main := s.mainOutcomes()
	t := report.Table{Key: "improve", Title: "What to measure better (share of the uncertainty, %)",
		Columns: []report.Column{{Key: "input", Head: "what"}, {Key: "known", Head: "stated or assumed"}}}
	for _, i := range main {
		t.Columns = append(t.Columns, report.Column{Key: s.outcomes[i].key + "_share", Head: s.outcomes[i].head, Unit: quantity.InPercent})
	}
	if len(main) == 0 {
		return t
	}
	sources := slices.Clone(s.sources)
	slices.SortStableFunc(sources, func(a, b source) int { return cmp.Compare(s.largestShare(b.Name), s.largestShare(a.Name)) })
	rest, small := make([]float64, len(main)), 0
	for _, src := range sources {
		line := []any{src.Name, report.Told(src.known)}
		for _, i := range main {
			line = append(line, s.results[i].shares[src.Name])
		}
		switch largest := s.largestShare(src.Name); {
		case largest == 0:
			continue
		case largest < shown:
			small++
			for j, i := range main {
				rest[j] += s.results[i].shares[src.Name]
			}
			continue
		}
		t.Data = append(t.Data, line)
	}
	if small > 0 {
		line := []any{others(small), ""}
		for _, share := range rest {
			line = append(line, share)
		}
		t.Data = append(t.Data, line)
	}
	return t
}

// others names the inputs that are summed.
func others(n int) string {
	if n == 1 {
		return "1 other input"
	}
	return fmt.Sprintf("%d other inputs together", n)
}

// advice names what would narrow the main outcomes most: the way to better
// values that the largest part of the variance goes with.
func (s *Spread) advice() string {
	var ways []string
	helps := map[string][]string{}
	for _, i := range s.mainOutcomes() {
		way := s.bestWay(s.results[i].shares)
		if helps[way] == nil {
			ways = append(ways, way)
		}
		helps[way] = append(helps[way], s.outcomes[i].head)
	}
	if len(ways) == 1 {
		return "what would narrow the intervals most: " + ways[0]
	}
	for i, way := range ways {
		ways[i] = way + " for the " + words.AndList(helps[way])
	}
	return "what would narrow the intervals most: " + strings.Join(ways, "; ")
}

// bestWay adds up shares by the way to better values.
func (s *Spread) bestWay(shares map[string]float64) (best string) {
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

// Inputs of an answer that are not in the sheet.
const (
	GaugeScale = "scale of the gauge"
	PeakDrop   = "scatter of the readings"
	ReadingNow = "reading of the peak now"
	NewSpring  = "tolerance of the new spring" // how far the spring that is made or bought may be off its loads

	ForceRaising  = "force raising" // two forces measured at one place of the lever
	ForceLowering = "force lowering"
	ForcesAt      = "place of the two forces"
)

// betterWays are what gets a value more closely than is usual.
var betterWays = map[string]string{
	"spring.wire":                  "micrometer on the wire",
	"spring.rate":                  "bench test of the spring",
	"spring.preload":               "bench test of the spring",
	"spring.grade":                 "bench test of the spring",
	"spring.shear_modulus":         "bench test of the spring",
	"spring.modulus_ratio":         "bench test of the spring",
	"piston.friction":              "friction test of the seals",
	"piston.friction_per_pressure": "friction test of the seals",
	"spring.active_coils":          "closer count of the coils",
	"spring.total_coils":           "closer count of the coils",
	"coffee.dose":                  "finer scale for the dose",
	"bench.peak":                   "closer reading of the gauge",
	"bench.end_pressure":           "closer reading of the gauge",
	"coffee.known.peak":            "closer reading of the gauge",
	"bench.gauge_error":            "check of the gauge",
	"lever.pull[1].force":          "closer reading of the pulls",
	"lever.pull[2].force":          "closer reading of the pulls",
	GaugeScale:                     "check of the gauge",
	PeakDrop:                       "more readings of the peak",
	ReadingNow:                     "closer reading of the peak",
	NewSpring:                      "order a closer tolerance",
	"visit.peak":                   "closer reading of the peak",
	"shot-to-shot scatter":         "more even grind and tamp",
	ForceRaising:                   "closer reading of the two forces",
	ForceLowering:                  "closer reading of the two forces",
	ForcesAt:                       "closer reading of the two forces",
	"coffee.unloading_exponent":    "a logged shot",
}

// better says how a source could be known better. What is assumed of the coffee
// is better told by a shot that somebody has weighed.
func (s *Spread) better(src source) string {
	if src.assumed && strings.HasPrefix(src.Name, "coffee.") && !s.HasTable("coffee.known") {
		return "one weighed and timed shot"
	}
	if way, ok := betterWays[strings.Replace(sheet.Unnumbered(src.Name), "spring.inner", "spring", 1)]; ok {
		return way
	}
	switch {
	case src.key == nil:
		return "less " + src.Name
	case src.assumed:
		return "stating " + src.Name
	}
	return "closer measurement of " + src.Name
}
