package main

import (
	"fmt"
	"os"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// replaceCmd chooses the next spring of a machine.
type replaceCmd struct {
	Sheet string `arg:"" optional:"" help:"Machine sheet; \"-\" for standard input; none for the demo machine."`
	wishFlags
	gridFlags
	Candidates string `placeholder:"FILE.csv" help:"Judge the springs of this list instead of every size that can be wound."`
	Rank       string `placeholder:"ORDER" help:"What decides among springs that fit: \"effort,stress\" for one after the other, \"stress=3,effort=1\" for a weighted sum; of stress, fatigue, relaxation, effort, clearance, pressure, price. Without it stress, fatigue, relaxation, effort, clearance, one after the other."`
	Top        int    `default:"10" placeholder:"N" help:"How many of the best to show; 10 where not given."`
	Order      bool   `help:"Print the order sheet of the best spring, for a spring winder."`
	Pick       int    `default:"1" placeholder:"N" help:"Order the Nth of the ranking instead of the best."`
	Quality    int    `default:"2" enum:"1,2,3" placeholder:"1|2|3" help:"Tolerances of the new spring by EN 15800: 1 fine, 2 (the default), 3 coarse."`
	machineFlags
	spreadFlags
	output
}

// wishFlags are keys of the tables [wish] and [space] as flags.
type wishFlags struct {
	Peak            *quantity.PressureFlag    `group:"Wishes" placeholder:"PRESSURE" help:"Peak pressure."`
	End             *quantity.PressureFlag    `group:"Wishes" placeholder:"PRESSURE" help:"Pressure at the end of the stroke; else that of a fresh spring of today's rate."`
	Within          *quantity.PressureFlag    `group:"Wishes" placeholder:"PRESSURE" help:"What both may be off by."`
	Effort          *quantity.ForceFlag       `group:"Wishes" placeholder:"FORCE" help:"Force of the hand at most."`
	Life            *quantity.TimeFlag        `group:"Wishes" placeholder:"TIME" help:"How long it should last, as \"10 years\"."`
	Pulls           string                    `group:"Wishes" placeholder:"NUMBER" help:"How often the lever is pulled, as \"30 /day\"."`
	Grade           string                    `group:"Wishes" placeholder:"GRADES" help:"Grades of wire, with commas between."`
	Bore            *quantity.LengthFlag      `group:"Space" placeholder:"LENGTH" help:"Inside diameter of what the spring works in."`
	Rod             *quantity.LengthFlag      `group:"Space" placeholder:"LENGTH" help:"Diameter of the rod through it."`
	Play            *quantity.LengthFlag      `group:"Space" placeholder:"LENGTH" help:"Least play in diameter to both."`
	InstalledLength *quantity.LengthFlag      `group:"Space" placeholder:"LENGTH" help:"Length of the spring with the piston at rest."`
	SolidClearance  *quantity.LengthFlag      `group:"Space" placeholder:"LENGTH" help:"Room wanted between cocked and solid."`
	Temperature     *quantity.TemperatureFlag `group:"Space" placeholder:"TEMPERATURE" help:"Temperature of the spring at work."`
}

// gridFlags say what springs the search may make up.
type gridFlags struct {
	Sizes      string               `group:"Search" default:"metric" placeholder:"SERIES" help:"Series of wire diameters: metric (the default), \"EN 10270-1\" or \"DIN 2098\"."`
	MeanStep   *quantity.LengthFlag `group:"Search" placeholder:"LENGTH" help:"Step of the mean diameter; 0.5 mm where not given."`
	LengthStep *quantity.LengthFlag `group:"Search" placeholder:"LENGTH" help:"Step of the free length; 0.5 mm where not given."`
	MaxCoils   float64              `group:"Search" default:"30" placeholder:"N" help:"Active coils at most; 30 where not given."` // [-]
	Preset     bool                 `group:"Search" help:"The maker presses the spring solid until it sets no further; it may then bear more. EN grades presume it."`
	Peened     bool                 `group:"Search" help:"The maker shot peens the spring; it may then bear more cycles."`
}

// sets are the flags as overrides of the sheet, so that both are read by the same rules.
func (f *wishFlags) sets() []string {
	var sets []string
	add := func(key string, q *quantity.Quantity, dim *quantity.Dimension) {
		sets = append(sets, key+"="+quantity.FormatQuantity(*q, dim))
	}
	for key, p := range map[string]*quantity.PressureFlag{"wish.peak": f.Peak, "wish.end": f.End, "wish.within": f.Within} {
		if p != nil {
			add(key, &p.Quantity, quantity.DimPressure)
		}
	}
	for key, l := range map[string]*quantity.LengthFlag{
		"space.bore": f.Bore, "space.rod": f.Rod, "space.play": f.Play,
		"space.installed_length": f.InstalledLength, "space.solid_clearance": f.SolidClearance,
	} {
		if l != nil {
			add(key, &l.Quantity, quantity.DimLength)
		}
	}
	if f.Effort != nil {
		add("wish.effort", &f.Effort.Quantity, quantity.DimForce)
	}
	if f.Life != nil {
		add("wish.life", &f.Life.Quantity, quantity.DimTime)
	}
	if f.Temperature != nil {
		add("space.temperature", &f.Temperature.Quantity, quantity.DimTemperature)
	}
	for key, text := range map[string]string{"wish.pulls": f.Pulls, "wish.grade": f.Grade} {
		if text != "" {
			sets = append(sets, key+"="+text)
		}
	}
	return sets
}

// Help is printed below the summary of the flags.
func (replaceCmd) Help() string {
	return "The force at rest and when cocked follow from the wished peak and end pressure. Every spring of the preferred wire sizes " +
		"that gives them is then judged: fit, coil clearance, stress, buckling, fatigue, relaxation, effort. " +
		"Wishes and space stand in the tables [wish] and [space] of the sheet, or in flags."
}

// Run answers with a ranking or with an order sheet.
func (c *replaceCmd) Run(con *console) error {
	order, err := c.rank()
	if err != nil {
		return err
	}
	if c.Top < 1 || c.Pick < 1 || !(c.MaxCoils >= 2 && c.MaxCoils <= 100) {
		return sheet.Usef("--top and --pick: want 1 or more; --max-coils: want 2 to 100")
	}
	m, err := machineFlags{Set: append(c.sets(), c.Set...)}.Load(con, c.Sheet)
	if err != nil {
		return err
	}
	task, err := newTask(m)
	if err != nil {
		return err
	}
	result, err := c.find(task, order)
	if err != nil {
		return err
	}
	r, err := c.report(task, result)
	if err != nil {
		return err
	}
	return c.write(con.out, r)
}

// rank reads --rank.
func (c *replaceCmd) rank() (replace.Order, error) {
	if c.Rank == "" {
		return replace.DefaultOrder(), nil
	}
	order, err := replace.ParseOrder(c.Rank)
	if err != nil {
		return order, sheet.Usef("--rank: %s", machine.WithoutPackage(err))
	}
	return order, nil
}

func (c *replaceCmd) report(t *task, result *choices) (*report, error) {
	if !c.Order {
		r, err := replaceReport(t, result, c.Top)
		if err != nil {
			return nil, err
		}
		return r, c.addSpread(r, t, result.first())
	}
	if len(result.best) < c.Pick {
		return nil, fmt.Errorf("nothing to order: %d springs fit; springcalc replace without --order says what blocks the others", len(result.best))
	}
	return orderReport(t, &result.best[c.Pick-1], spring.Grade(c.Quality))
}

// choices are what was found, by the search or in a list.
type choices struct {
	listed  bool             // in a list of found springs
	best    []replace.Choice // those that fit, in order
	misses  []replace.Choice // those that do not, the nearest first
	tried   int
	fitting int
	blocked []int // by constraint
	order   replace.Order
	bad     []badRow // lines of the list that were left out
}

// first is the best choice, or the nearest miss; nil where there is neither.
func (c *choices) first() *replace.Choice {
	for _, list := range [][]replace.Choice{c.best, c.misses} {
		if len(list) > 0 {
			return &list[0]
		}
	}
	return nil
}

// find searches, or judges a list.
func (c *replaceCmd) find(t *task, order replace.Order) (*choices, error) {
	options := wireOptions{Preset: c.Preset, Peened: c.Peened, Celsius: t.job.Space.Celsius}
	if c.Candidates != "" {
		return judgeList(t, c.Candidates, options, order)
	}
	wires, err := wiresOf(t.grades, c.Sizes, options)
	if err != nil {
		return nil, err
	}
	step := func(f *quantity.LengthFlag) float64 {
		if f == nil {
			return 0.5e-3
		}
		return f.Value
	}
	if !(step(c.MeanStep) >= 1e-5 && step(c.LengthStep) >= 0) {
		return nil, sheet.Usef("--mean-step: want 0.01 mm or more; --length-step: want 0 mm or more")
	}
	p := newProgress(os.Stderr, "judging springs")
	defer p.done()
	search := replace.Search{
		Job: t.job,
		Grid: replace.Grid{
			Wires: wires, Means: t.job.Space.MeansBetween(step(c.MeanStep)), Coils: replace.Quarters(2, c.MaxCoils),
			Ends: []spring.Ends{spring.ClosedGround, spring.Closed}, Convention: spring.EN, FreeStep: step(c.LengthStep),
		},
		Order: order, Keep: max(c.Top, c.Pick), Progress: p.show,
	}
	found, err := search.Run()
	if err != nil {
		return nil, err
	}
	r := &choices{best: found.Best, tried: found.Tried, fitting: found.Fitting, blocked: found.Blocked[:], order: order}
	if found.Nearest != nil {
		r.misses = []replace.Choice{*found.Nearest}
	}
	return r, nil
}

// shotWith returns the shot of the machine with other springs.
func (t *task) shotWith(springs []spring.Linear) (*profile.Shot, error) {
	s := t.m.Setup
	s.Springs = springs
	return profile.Run(&s)
}

// splitList cuts a text at its commas.
func splitList(text string) []string {
	var words []string
	for _, w := range strings.Split(text, ",") {
		if w = strings.TrimSpace(w); w != "" {
			words = append(words, w)
		}
	}
	return words
}
