package answer

import (
	"errors"
	"fmt"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
	"springcalc/profile/replace"
	"springcalc/spring"
	"springcalc/tables"
)

// task is a machine with the wishes for its next spring.
type task struct {
	m         *machine.Machine
	job       replace.Job
	wishes    replace.Wishes
	conflicts []replace.Conflict // only those with the hand: others are errors
	grades    []string
	installed string // key of the length that the next spring is fitted at
	doubts    []string
}

// defaultGrades are common grades for springs that are loaded often: a patented
// drawn, an oil tempered and a stainless one.
const defaultGrades = "EN 10270-1 DH, EN 10270-2 VDSiCr, EN 10270-3 1.4310"

// newTask joins machine, wishes and space; for springs that are listed, an end
// pressure that nobody asked for rejects none. Its error says what is missing, or
// how the wishes contradict each other.
func newTask(m *machine.Machine, o *ReplaceOptions) (*task, error) {
	m.Sheet.Need("wish", "peak")
	t, err := roomFor(m, o)
	if err != nil {
		return nil, err
	}
	t.wishes = replace.Wishes{Peak: m.Value("wish.peak"), Within: m.Wished("wish.within"), Effort: m.ValueOr("wish.effort", 0),
		AnyEnd: o.Candidates != nil && !m.Has("wish.end")}
	if err := t.setEnd(); err != nil {
		return nil, err
	}
	required, conflicts, err := replace.Require(&m.Setup, t.wishes, t.job.Hand)
	if err != nil {
		return nil, err
	}
	if required.Rate == 0 {
		return nil, contradiction(conflicts, m.Family())
	}
	t.conflicts = conflicts
	t.job = t.jobFor(m, required)
	return t, nil
}

// roomFor is a task without its wishes: the space, the hand, the life and what a
// maker may be off by.
func roomFor(m *machine.Machine, o *ReplaceOptions) (*task, error) {
	t := &task{m: m, installed: "space.installed_length", grades: splitList(defaultGrades)}
	if !m.Has(t.installed) && m.Has("spring.installed_length") {
		t.installed = "spring.installed_length"
	}
	m.Sheet.Need("space", "bore")
	if t.installed == "space.installed_length" {
		m.Sheet.Need("space", "installed_length")
	}
	if err := m.Faults.Err(); err != nil {
		return nil, err
	}
	if text := m.Text("wish.grade"); text != "" {
		t.grades = splitList(text)
	}
	hand, err := t.hand()
	if err != nil {
		return nil, err
	}
	seating := spring.FixedFixed
	if text := m.Text("space.seating"); text != "" {
		if err := seating.UnmarshalText([]byte(text)); err != nil {
			return nil, err
		}
	}
	t.job = replace.Job{
		Space:      replace.Space{Support: spring.Support{Seating: seating, Guided: m.Text("space.guided") == "yes"}},
		Limits:     replace.UsualLimits(),
		Hand:       hand,
		Convention: spring.EN,
		Making:     machine.Making(o.Quality),
	}
	t.job = t.jobFor(m, replace.Requirement{})
	return t, t.roomFaults()
}

// roomFaults finds a room that no spring goes into.
func (t *task) roomFaults() error {
	m, s, stroke := t.m, &t.job.Space, t.m.Setup.Cylinder.Stroke
	if !(s.Rod < s.Bore) {
		path := "space.rod"
		if !m.Has(path) {
			path = "space.bore"
		}
		m.FaultOf(path, fmt.Sprintf("want a rod thinner than the bore; they are %s and %s", quantity.InMM.Text(s.Rod, 1), quantity.InMM.Text(s.Bore, 1)))
	} else if len(s.MeansBetween(1e-3)) == 0 {
		m.FaultOf("space.bore", "no coil goes between a rod of "+quantity.InMM.Text(s.Rod, 1)+" and this bore with the play wanted")
	}
	if !(s.Installed > stroke) {
		m.FaultOf(t.installed, "want more than the stroke, "+quantity.InMM.Text(stroke, 1))
	}
	return m.Faults.Err()
}

// jobFor is the job with the values of a machine: of the task's, or of one that is
// drawn from what may be off.
func (t *task) jobFor(m *machine.Machine, required replace.Requirement) replace.Job {
	j := t.job
	j.Requirement = required
	j.Space.Bore, j.Space.Rod, j.Space.Slack = m.Value("space.bore"), m.Wished("space.rod"), m.Wished("space.play")
	j.Space.Solid = m.Wished("space.solid_clearance")
	if t.installed == "space.installed_length" {
		j.Space.Installed = m.Value(t.installed)
	} else {
		j.Space.Installed = m.Seat("spring")
	}
	j.Space.Celsius = quantity.InC.Of(m.SpringTemperature())
	j.Effort = m.ValueOr("wish.effort", j.Effort)
	j.Use = spring.Use{PullsPerDay: m.Wished("wish.pulls") * 86400, DaysPerYear: 365.25, Years: quantity.InYears.Of(m.Wished("wish.life"))}
	return j
}

// setEnd keeps the target of the end pressure.
func (t *task) setEnd() error {
	m := t.m
	t.wishes.End = m.WishedEnd(t.wishes.Peak)
	if m.Has("wish.end") {
		return nil
	}
	if t.wishes.End < 0 {
		return errors.New("a fresh spring of today's rate would be spent before the end of the stroke: state the end pressure that you want")
	}
	d := machine.FixedDefault(t.wishes.End, "a fresh spring of today's rate", tables.Derived)
	d.Key = "wish.end"
	m.Assume(d)
	return nil
}

// hand returns what cocking asks of the hand: by the lever of the sheet, or from
// a force measured today, which is taken to grow as the force of the cocked
// spring. It is nil where the sheet has neither.
func (t *task) hand() (replace.Hand, error) {
	m := t.m
	switch {
	case m.HasTable("lever"):
		lever, err := m.Lever()
		if err != nil {
			return nil, err
		}
		return replace.NewHand(lever, m.Load())
	case m.Has("wish.effort_today"):
		stroke := m.Setup.Cylinder.Stroke
		t.doubts = append(t.doubts, "The handle force is taken to grow as the force of the cocked spring, from what was measured today.")
		return replace.Hand{{Lift: stroke, Gain: m.Value("wish.effort_today") / spring.ForceOf(m.Setup.Springs, stroke)}}, nil
	case m.Has("wish.effort"):
		t.doubts = append(t.doubts, "The handle force cannot be judged: describe the lever under [lever], or state wish.effort_today, the force with today's spring.")
	}
	return nil, nil
}

// contradiction words wishes that cannot be fulfilled together, in the units typed.
func contradiction(conflicts []replace.Conflict, f quantity.Family) error {
	lines := []string{"wish.peak, wish.end: the targets contradict each other or the machine"}
	for _, c := range conflicts {
		lines = append(lines, conflictText(c).In(f))
	}
	return errors.New(strings.Join(lines, "\n"))
}

// conflictText is a conflict in a sentence, with the ways out of it.
func conflictText(c replace.Conflict) report.Sentence {
	ways := make([]string, len(c.Ways))
	for i, w := range c.Ways {
		ways[i] = w.Text
	}
	return report.Told(c.Why + "; possible: " + words.OrList(ways))
}

// shotWith follows the shot of the machine with other springs.
func (t *task) shotWith(springs []spring.Linear) (*profile.Shot, error) {
	s := t.m.Setup
	s.Springs = springs
	return profile.Run(&s)
}

// lines are the parts of a choice, and what stays, as the piston feels them at work.
func (t *task) lines(c *replace.Choice) []spring.Linear {
	return append(t.job.Space.Lines(c.Parts), t.job.Space.Lines(t.job.Staying)...)
}

// summary is the shot with a choice, in short.
func (t *task) summary(c *replace.Choice) (profile.Summary, error) {
	s := t.m.Setup
	s.Springs = t.lines(c)
	return profile.Summarize(&s)
}

// addDoubts adds what the task cannot know.
func (t *task) addDoubts(r *report.Report) {
	for _, c := range t.conflicts {
		r.Doubts = append(r.Doubts, report.Say("%s.", conflictText(c)))
	}
	r.Doubts = append(r.Doubts, report.Plains(t.doubts)...)
}

// splitList cuts a text at its commas.
func splitList(text string) []string {
	var all []string
	for _, w := range strings.Split(text, ",") {
		if w = strings.TrimSpace(w); w != "" {
			all = append(all, w)
		}
	}
	return all
}
