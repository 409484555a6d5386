package answer

import (
	"context"
	"fmt"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/profile"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// ReplaceOptions say what spring is looked for, and where.
type ReplaceOptions struct {
	Candidates *sheet.SpringList // judge these instead of every size that can be wound; nil for the search
	Order      replace.Order     // what decides among springs that fit; zero for the usual
	Top        int               // how many rows to show; 0 for 10
	Pick       int               // row that is ordered, or drawn beside today; 0 for the first
	Sheet      bool              // the order sheet of that row instead of the ranking
	Copy       Copy              // the spring that is there, as new, instead of another
	Quality    spring.Grade      // tolerances of the new spring by EN 15800; 0 for 2
	Sizes      string            // series of wire diameters; "" for metric
	MeanStep   float64           // step of the mean diameter [m]; 0 for 0.5 mm, of nests 2 mm
	LengthStep *float64          // step of the free length [m]; nil for 0.5 mm, of nests 1 mm
	MaxCoils   float64           // active coils at most [-]; 0 for 30, of nests 15
	Preset     bool              // pressed solid by the maker until it sets no further
	Peened     bool              // shot peened by the maker
	Nests      bool              // look for two springs, one inside the other
	Spread     spread.Options
	Progress   func(done, total int) // called while springs are judged; may be nil
}

// Copy says which springs of the machine are copied.
type Copy string

// The copies: of a nest all, or one by itself while the other stays.
const (
	NoCopy    Copy = ""
	CopyAll   Copy = "all"
	CopyOuter Copy = "outer"
	CopyInner Copy = "inner"
)

// usual fills in what is not said, and reports wrong use.
func (o ReplaceOptions) usual() (ReplaceOptions, error) {
	or := func(v *int, usual int) {
		if *v == 0 {
			*v = usual
		}
	}
	or(&o.Top, 10)
	or(&o.Pick, 1)
	if o.Quality == 0 {
		o.Quality = 2
	}
	if o.Sizes == "" {
		o.Sizes = "metric"
	}
	mean, length, coils := 0.5e-3, 0.5e-3, 30.0
	if o.Nests { // pairs are many
		mean, length, coils = 2e-3, 1e-3, 15
	}
	if o.MeanStep == 0 {
		o.MeanStep = mean
	}
	if o.LengthStep == nil {
		o.LengthStep = &length
	}
	if o.MaxCoils == 0 {
		o.MaxCoils = coils
	}
	switch {
	case o.Top < 1 || o.Pick < 1:
		return o, NoRow("the rows of a ranking count from 1")
	case !(o.MaxCoils >= 2 && o.MaxCoils <= 100):
		return o, sheet.Usef("--max-coils: want 2 to 100")
	case !(o.MeanStep >= 1e-5 && *o.LengthStep >= 0):
		return o, sheet.Usef("--mean-step: want 0.01 mm or more; --length-step: want 0 mm or more")
	case o.Copy != NoCopy && (o.Candidates != nil || o.Nests):
		return o, sheet.Usef("--copy orders the spring that is there; without it --candidates and --nest look for another")
	case o.Copy != NoCopy && o.Pick > 1:
		return o, sheet.Usef("--pick: --copy has one row only")
	case o.Nests && o.Candidates != nil:
		return o, sheet.Usef("--nest: with --candidates the column \"nest\" of the list says which springs go inside each other")
	case o.Quality < 1 || o.Quality > 3:
		return o, sheet.Usef("--quality: want 1, 2 or 3")
	}
	return o, nil
}

func (o *ReplaceOptions) order() replace.Order {
	if o.Order.Keys == nil {
		return replace.DefaultOrder()
	}
	return o.Order
}

// wire says what is made of the wire of a new spring.
func (o *ReplaceOptions) wire(t *task) machine.WireOptions {
	return machine.WireOptions{Preset: o.Preset, Peened: o.Peened, Celsius: t.job.Space.Celsius}
}

// Replace chooses the next spring of a machine: it answers with a ranking, with the
// order sheet of one of it, or with that of the spring that is there as new.
func Replace(ctx context.Context, m *machine.Machine, o ReplaceOptions) (*report.Report, error) {
	o, err := o.usual()
	if err != nil {
		return nil, err
	}
	if o.Copy != NoCopy {
		return copySpring(m, &o)
	}
	t, err := newTask(m, &o)
	if err != nil {
		return nil, err
	}
	found, err := t.find(ctx, &o)
	if err != nil {
		return nil, err
	}
	if !o.Sheet {
		return t.ranking(found, &o)
	}
	if len(found.best) < o.Pick {
		return nil, NoRow(fmt.Sprintf("nothing to order as no. %d: %d springs fit; springcalc replace without --order says what blocks the others", o.Pick, len(found.best)))
	}
	return t.orderSheet(&found.best[o.Pick-1].Choice, o.Quality)
}

// NoRow is the error where the ranking has no row as the one that was picked. What it
// says is for page and command line alike; the latter knows what to call the choice.
type NoRow string

func (n NoRow) Error() string { return string(n) }

// choices are what was found, by the search or in a list.
type choices struct {
	listed  bool             // in a list of springs
	best    []replace.Row    // those that fit, in order
	misses  []replace.Choice // those that do not, the nearest first
	tried   int
	fitting int
	blocked []int // by limit
	order   replace.Order
	leftOut []sheet.LeftOut // lines of the list
}

// first is the best choice, or the nearest miss; nil where there is neither.
func (c *choices) first() *replace.Choice { return c.row(1) }

// row is row n of the ranking, counted from 1: of those that fit, or of the misses
// where nothing does; nil where it has fewer.
func (c *choices) row(n int) *replace.Choice {
	switch {
	case n <= len(c.best):
		return &c.best[n-1].Choice
	case len(c.best) == 0 && n <= len(c.misses):
		return &c.misses[n-1]
	}
	return nil
}

// find searches, or judges a list.
func (t *task) find(ctx context.Context, o *ReplaceOptions) (*choices, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if o.Candidates != nil {
		return t.judgeList(o)
	}
	wires, err := machine.WiresOf(t.grades, o.Sizes, o.wire(t))
	if err != nil {
		return nil, err
	}
	if len(wires) == 0 {
		return nil, fmt.Errorf("wish.grade: none of the grades is drawn in a size of the series %q", o.Sizes)
	}
	means := t.job.Space.MeansBetween(o.MeanStep)
	if len(means) == 0 {
		return nil, sheet.Usef("--mean-step: no mean diameter between rod and bore in steps of %s", quantity.InMM.Text(o.MeanStep, 2))
	}
	search := replace.Search{
		Job: t.job,
		Grid: replace.Grid{
			Wires: wires, Means: means, Coils: replace.Quarters(2, o.MaxCoils),
			Ends: []spring.Ends{spring.ClosedGround, spring.Closed}, Convention: spring.EN, FreeStep: *o.LengthStep,
		},
		Order: o.order(), Keep: keptFor(o), Progress: o.Progress,
	}
	if o.Nests {
		return t.findNests(search, o)
	}
	found, err := search.Run()
	if err != nil {
		return nil, err
	}
	c := &choices{best: search.Rows(found, max(o.Top, o.Pick)), tried: found.Tried, fitting: found.Fitting, blocked: found.Blocked[:], order: o.order()}
	if found.Nearest != nil {
		c.misses = []replace.Choice{*found.Nearest}
	}
	return c, nil
}

// keptFor is how many of the best a search keeps: enough for some rows of springs
// that differ by more than rounding.
func keptFor(o *ReplaceOptions) int { return 20 * max(o.Top, o.Pick) }

// nestShares are the shares of the force that the inner spring of a nest may take: less
// is not worth a second spring, more does not go into the outer one.
var nestShares = []float64{0.25, 0.35}

// findNests looks for two springs, one inside the other.
func (t *task) findNests(outer replace.Search, o *ReplaceOptions) (*choices, error) {
	const outers = 1 // of each share: every inner spring is tried with each
	n := replace.NestSearch{Search: outer, Inner: outer.Grid, Shares: nestShares, Outers: outers}
	n.Keep = keptFor(o)
	found, err := n.Run()
	if err != nil {
		return nil, err
	}
	return &choices{best: replace.RowsOf(found.Best, max(o.Top, o.Pick)), tried: found.Tried, fitting: found.Fitting, blocked: found.Blocked[:], order: o.order()}, nil
}

// pressureSeries is the pressure of a shot over time.
func pressureSeries(name string, shot *profile.Shot) report.Series {
	s := report.Series{Name: name}
	for _, at := range shot.Samples {
		s.X, s.Y = append(s.X, at.Time), append(s.Y, at.Pressure)
	}
	return s
}

// pressureChart compares the pressure of a shot with that of today's, dashed.
func pressureChart(name string, next, today *profile.Shot) report.Chart {
	now := pressureSeries("today", today)
	now.Dashed = true
	return report.Chart{Key: "pressure", Name: "pressure above the puck", Unit: quantity.InBar, XName: "time", XUnit: quantity.InS,
		Series: []report.Series{pressureSeries(name, next), now}, Zero: true}
}
