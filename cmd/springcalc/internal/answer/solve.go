package answer

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
)

// Goal is a result that is wanted, and the key of the sheet that is to bring it.
type Goal struct {
	row, want string // "yield", "30 g"
	path      string // "coffee.dose"
	key       *sheet.Key
	low, high float64 // where to look [SI]; the same where nobody says
}

// ParseGoal reads ROW=VALUE, and KEY or KEY=FROM:TO.
func ParseGoal(solve, by string) (g Goal, err error) {
	row, want, ok := strings.Cut(solve, "=")
	if g.row, g.want = strings.TrimSpace(row), strings.TrimSpace(want); !ok || g.row == "" || g.want == "" {
		return g, sheet.Usef("--solve %q: want RESULT=VALUE, such as \"yield=30 g\"", solve)
	}
	path, within, bounded := strings.Cut(by, "=")
	g.path = strings.TrimSpace(path)
	if g.key, err = numericKey("--by", g.path); err != nil || !bounded {
		return g, err
	}
	ends := strings.Split(within, ":")
	if len(ends) != 2 {
		return g, sheet.Usef("--by %q: want KEY or KEY=FROM:TO, such as \"coffee.dose=10 g:20 g\"", by)
	}
	for i, to := range []*float64{&g.low, &g.high} {
		q, err := quantity.Parse(ends[i], g.key.Dim)
		if err != nil {
			return g, sheet.Usef("--by %s: %q: %v", g.path, strings.TrimSpace(ends[i]), err)
		}
		*to = q.Value
	}
	if !(g.low < g.high) {
		return g, sheet.Usef("--by %s: %q: want the lower end first", g.path, within)
	}
	return g, nil
}

// tried is an answer at one value of the key.
type tried struct {
	at, value float64 // of the key, of the row [SI]
	ok        bool    // there was an answer, with such a row
}

// solver looks for the values of a key that bring a row of an answer to a target.
type solver struct {
	Goal
	ctx      context.Context
	ask      Ask
	progress func(done, total int)
	asked    int
	target   float64     // [SI]
	row      *report.Row // of the first answer that has it
	known    []string    // rows that are numbers
	err      error       // of the first point without an answer
}

// How many points are looked at first, and in each of how many closer looks around
// the best of them: the last of these are a hundred thousandth of the range apart.
const (
	looks    = 33
	closer   = 17
	closings = 4
)

// Solve answers with a value of the key that brings the row to what is wanted, within
// what is usual for the key. Of several the one nearest to what the sheet has. Where it
// is not reached so, the error says how far the row goes, and what in all the range of
// the key would do.
func Solve(ctx context.Context, g Goal, ask Ask, progress func(done, total int)) (*report.Report, error) {
	s := &solver{Goal: g, ctx: ctx, ask: ask, progress: progress}
	from := math.NaN()
	if now, err := ask(nil, true); err == nil { // a sheet may want the key to have an answer
		from = valueIn(now, g.path, g.key)
		if err := s.aim(now); err != nil {
			return nil, err
		}
	}
	ranges := g.key.Ranges()
	if g.low < g.high {
		ranges = [][2]float64{{g.low, g.high}}
	}
	ranges = slices.DeleteFunc(ranges, func(r [2]float64) bool { return !quantity.Finite(r[0]) || !quantity.Finite(r[1]) })
	if len(ranges) == 0 {
		return nil, sheet.Usef("--by %s: has no range to look in; give one, as %s=FROM:TO", g.path, g.path)
	}
	all, found, jump := s.search(ranges[0][0], ranges[0][1])
	none := !slices.ContainsFunc(all, func(t tried) bool { return t.ok })
	var beyond []float64
	if len(found) == 0 && len(ranges) > 1 {
		more, roots, over := s.search(ranges[1][0], ranges[1][1])
		beyond = roots
		if none { // the usual range has no answer at all
			all, found, jump = more, roots, over
			none = !slices.ContainsFunc(all, func(t tried) bool { return t.ok })
		}
	}
	switch {
	case ctx.Err() != nil:
		return nil, ctx.Err()
	case none && s.err != nil:
		return nil, s.err
	case none:
		return nil, fmt.Errorf("%s has no number where %s is changed", s.Goal.row, s.path)
	case len(found) == 0:
		return nil, s.unreached(all, jump, beyond)
	}
	slices.SortFunc(found, func(a, b float64) int {
		if quantity.Finite(from) && math.Abs(a-from) != math.Abs(b-from) {
			return cmp.Compare(math.Abs(a-from), math.Abs(b-from))
		}
		return cmp.Compare(a, b)
	})
	return s.answer(found)
}

// aim finds the row in an answer, and reads the target in its unit.
func (s *solver) aim(r *report.Report) error {
	s.known = s.known[:0]
	for i := range r.Rows {
		if row := r.Rows[i]; row.Text == "" {
			s.known = append(s.known, row.Key)
			if row.Key == s.Goal.row {
				s.row = &r.Rows[i]
			}
		}
	}
	if s.row == nil {
		hint := words.DidYouMean(s.Goal.row, s.known)
		if hint == "" {
			hint = "; it has " + words.AndList(s.known)
		}
		return sheet.Usef("--solve %s: no such result in this answer%s", s.Goal.row, hint)
	}
	q, err := s.row.Unit.Parse(s.want)
	switch {
	case err != nil:
		return sheet.Usef("--solve %s: %q: %v", s.Goal.row, s.want, err)
	case q.Plus != 0:
		return sheet.Usef("--solve %s: %q: a target has no ±", s.Goal.row, s.want)
	}
	s.target = q.Value
	return nil
}

// valueIn is what an answer had of a key [SI]: as stated, as assumed, or NaN.
func valueIn(r *report.Report, path string, k *sheet.Key) float64 {
	for _, in := range r.Input {
		if sheet.Unnumbered(in.Key) == sheet.Unnumbered(path) {
			if q, err := quantity.Parse(in.Text, k.Dim); err == nil {
				return q.Value
			}
		}
	}
	for _, a := range r.Assumed {
		if a.Key == path {
			return a.Value
		}
	}
	return math.NaN()
}

// set puts a value in place of that of the key.
func (s *solver) set(value string) string {
	return fmt.Sprintf("--by %s: %s=%s", s.path, s.path, value)
}

// try asks at one value of the key.
func (s *solver) try(at float64) tried {
	t := tried{at: at}
	if s.ctx.Err() != nil {
		return t
	}
	s.asked++
	s.progress(s.asked, looks+closings*closer)
	r, err := s.ask([]string{s.set(quantity.Format(quantity.Quantity{Value: at}, s.key.Dim))}, true)
	if err == nil && s.row == nil {
		err = s.aim(r)
	}
	if err != nil {
		if s.err == nil {
			s.err = err
		}
		return t
	}
	if row := r.Row(s.Goal.row); row != nil && row.Text == "" && quantity.Finite(row.Value) {
		t.value, t.ok = row.Value, true
	}
	return t
}

// search looks between two values, closer and closer where the row comes nearest to
// the target, until there are two neighbours with the target between them. It returns
// what it tried, the roots, and where the row jumps over the target.
func (s *solver) search(low, high float64) (all []tried, roots []float64, jump *[2]tried) {
	n := looks
	for range 1 + closings {
		list := make([]tried, n)
		for i := range list {
			list[i] = s.try(along(low, high, float64(i)/float64(n-1)))
		}
		all = append(all, list...)
		best := -1
		for i, t := range list {
			if !t.ok {
				continue
			}
			if best < 0 || math.Abs(t.value-s.target) < math.Abs(list[best].value-s.target) {
				best = i
			}
			if t.value == s.target {
				roots = append(roots, t.at)
				continue
			}
			if i == 0 || !list[i-1].ok || list[i-1].value == s.target || (t.value > s.target) == (list[i-1].value > s.target) {
				continue
			}
			if at, ok := s.root(list[i-1], t); ok {
				roots = append(roots, at)
			} else {
				jump = &[2]tried{list[i-1], t}
			}
		}
		if len(roots) > 0 || jump != nil || best < 0 {
			return all, roots, jump
		}
		low, high, n = list[max(0, best-1)].at, list[min(n-1, best+1)].at, closer
	}
	return all, nil, nil
}

// along is a share of the way from one value to another: by equal factors where the
// range is wide.
func along(low, high, share float64) float64 {
	const wide = 100
	switch {
	case share == 1:
		return high
	case low > 0 && high/low > wide:
		return low * math.Pow(high/low, share)
	}
	return low + share*(high-low)
}

// root closes in on the target between two neighbours; ok is false where the row jumps
// over it.
func (s *solver) root(a, b tried) (at float64, ok bool) {
	sign := 1.0
	if b.value < a.value {
		sign = -1
	}
	failed := false
	at = profile.Root(func(x float64) float64 {
		t := s.try(x)
		failed = failed || !t.ok
		return sign * (t.value - s.target)
	}, a.at, b.at)
	t := s.try(at)
	const close = 1e-6 // of the size of the target, or of the step between the neighbours
	return at, !failed && t.ok && math.Abs(t.value-s.target) <= close*max(math.Abs(s.target), math.Abs(b.value-a.value))
}

// unreached says how far the row goes, and what would do beyond what is usual.
func (s *solver) unreached(all []tried, jump *[2]tried, beyond []float64) error {
	family := quantity.Metric
	if inch, _ := s.row.Unit.In(quantity.Inch, 0); inch.Symbol != s.row.Unit.Symbol && strings.HasSuffix(s.want, inch.Symbol) {
		family = quantity.Inch
	}
	key := func(v float64) string { return quantity.BriefIn(family, v, v, s.key.Dim) }
	row := func(v float64) string { return report.Of(v, s.row.Unit, s.row.Digits).In(family) }
	if jump != nil {
		return fmt.Errorf("%s=%s cannot be reached by %s: it jumps from %s to %s between %s and %s",
			s.Goal.row, s.want, s.path, row(jump[0].value), row(jump[1].value), key(jump[0].at), key(jump[1].at))
	}
	var best *tried
	low, high, least, most := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i, t := range all {
		low, high = min(low, t.at), max(high, t.at)
		if t.ok {
			least, most = min(least, t.value), max(most, t.value)
		}
		if t.ok && (best == nil || math.Abs(t.value-s.target) < math.Abs(best.value-s.target)) {
			best = &all[i]
		}
	}
	const rounding = 1e-9 // [-]
	if most-least <= rounding*math.Abs(most) {
		return fmt.Errorf("%s=%s cannot be reached by %s, which does not change it: it is %s", s.Goal.row, s.want, s.path, row(most))
	}
	word := "at most"
	if best.value > s.target {
		word = "at least"
	}
	text := fmt.Sprintf("%s=%s cannot be reached by %s between %s and %s: %s %s, at %s",
		s.Goal.row, s.want, s.path, key(low), key(high), word, row(best.value), key(best.at))
	if len(beyond) > 0 {
		text += fmt.Sprintf("; beyond what is usual %s would do, and --by %s=FROM:TO looks there", key(beyond[0]), s.path)
	}
	return errors.New(text)
}

// answer asks once more, in full, with the first of the values that do, as a person
// would type it.
func (s *solver) answer(found []float64) (*report.Report, error) {
	const digits, after = 6, 3 // in all, and after the point
	value := quantity.Rounded(found[0], digits, s.key.Dim)
	q, err := quantity.Parse(value, s.key.Dim)
	if err != nil {
		return nil, err
	}
	r, err := s.ask([]string{s.set(value)}, false)
	if err != nil {
		return nil, err
	}
	r.Answer = append([]report.Sentence{report.Say("%s of %s brings: %s %s.", s.path, value, s.row.Name, report.Of(s.target, s.row.Unit, s.row.Digits))}, r.Answer...)
	r.Rows = append([]report.Row{{Key: s.path, Name: s.path, Value: q.Value, Unit: s.key.Dim.Display(), Digits: after, Short: true}}, r.Rows...)
	if len(found) > 1 {
		var others []string
		for _, v := range found[1:] {
			others = append(others, quantity.Brief(v, v, s.key.Dim))
		}
		r.Note("%s also is %s with %s of %s", s.row.Name, s.want, s.path, words.AndList(others))
	}
	return r, nil
}
