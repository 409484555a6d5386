package main

import (
	"fmt"
	"strings"

	"springcalc/profile/replace"
	"springcalc/spring"
	"springcalc/tables"
)

// task is a machine with the wishes for its next spring.
type task struct {
	m         *machine
	job       replace.Job
	wishes    replace.Wishes
	conflicts []replace.Conflict // only those with the hand: others are errors
	grades    []string
	installed string // key of the length that the next spring is fitted at
	doubts    []string
}

// Values of wishes and space that a sheet does not state.
var wishDefaults = map[string]tables.Default{
	"wish.within":           fixedDefault(0.25e5, "a fresh gauge reads no better", tables.CommonPractice),
	"wish.life":             fixedDefault(10*365.25*86400, "a wish", tables.CommonPractice),
	"wish.pulls":            fixedDefault(30/86400.0, "a wish", tables.CommonPractice),
	"space.rod":             fixedDefault(0, "not stated: no rod", tables.CommonPractice),
	"space.play":            fixedDefault(1e-3, "play of a spring in its bore", tables.CommonPractice),
	"space.solid_clearance": fixedDefault(0, "what EN 13906-1 asks is enough", tables.FromMemory),
	"space.temperature":     fixedDefault(273.15+70, "spring above the group", tables.CommonPractice),
}

func fixedDefault(si float64, source string, grade tables.Grade) tables.Default {
	return tables.Default{Value: si, Low: si, High: si, Source: source, Grade: grade}
}

// defaultGrades are common grades for springs that are loaded often: a patented
// drawn, an oil tempered and a stainless one.
const defaultGrades = "EN 10270-1 DH, EN 10270-2 VDSiCr, EN 10270-3 1.4310"

// wished returns the value of a key of [wish] or [space] [SI], stated or by default.
func (m *machine) wished(path string) float64 {
	if m.has(path) {
		return m.value(path)
	}
	d, ok := wishDefaults[path]
	if !ok {
		panic("replace: no default for " + path)
	}
	d.Key = path
	m.assume(d)
	return d.Value
}

// newTask joins machine, wishes and space. Its error says what is missing, or
// how the wishes contradict each other.
func newTask(m *machine) (*task, error) {
	installed := "space.installed_length"
	if !m.has(installed) && m.has("spring.installed_length") {
		installed = "spring.installed_length"
	}
	m.sheet.need("wish", "peak")
	m.sheet.need("space", "bore")
	if installed == "space.installed_length" {
		m.sheet.need("space", "installed_length")
	}
	if err := m.faults.err(); err != nil {
		return nil, err
	}
	t := &task{m: m, grades: splitList(defaultGrades), installed: installed}
	if text := m.text("wish.grade"); text != "" {
		t.grades = splitList(text)
	}
	hand, err := t.hand()
	if err != nil {
		return nil, err
	}
	t.wishes = replace.Wishes{Peak: m.value("wish.peak"), Within: m.wished("wish.within"), Effort: m.valueOr("wish.effort", 0)}
	if err := t.setEnd(); err != nil {
		return nil, err
	}
	required, conflicts, err := replace.Require(&m.Setup, t.wishes, hand)
	if err != nil {
		return nil, err
	}
	if required.Rate == 0 {
		return nil, contradiction(conflicts)
	}
	t.conflicts = conflicts
	seating := spring.FixedFixed
	if text := m.text("space.seating"); text != "" {
		if err := seating.UnmarshalText([]byte(text)); err != nil {
			return nil, err
		}
	}
	t.job = replace.Job{
		Space:  replace.Space{Support: spring.Support{Seating: seating, Guided: m.text("space.guided") == "yes"}},
		Limits: replace.UsualLimits(),
		Hand:   hand,
	}
	t.job = t.jobFor(m, required)
	return t, nil
}

// jobFor is the job with the values of a machine: of the task's, or of one that is
// drawn from what may be off.
func (t *task) jobFor(m *machine, required replace.Requirement) replace.Job {
	j := t.job
	j.Requirement = required
	j.Space.Bore, j.Space.Rod, j.Space.Slack = m.value("space.bore"), m.wished("space.rod"), m.wished("space.play")
	j.Space.Installed, j.Space.Solid = m.value(t.installed), m.wished("space.solid_clearance")
	j.Space.Celsius = inC.of(m.springTemperature())
	j.Effort = m.valueOr("wish.effort", j.Effort)
	j.Use = spring.Use{PullsPerDay: m.wished("wish.pulls") * 86400, DaysPerYear: 365.25, Years: inYears.of(m.wished("wish.life"))}
	return j
}

// springTemperature is that of the spring at work [K].
func (m *machine) springTemperature() float64 {
	if path := "spring.temperature"; m.has(path) && !m.has("space.temperature") {
		return m.value(path)
	}
	return m.wished("space.temperature")
}

// wishedEnd is the wished end pressure, or that of a spring of today's rate
// that gives a peak [Pa].
func (m *machine) wishedEnd(peak float64) float64 {
	if m.has("wish.end") {
		return m.value("wish.end")
	}
	return replace.EndAtRate(&m.Setup, peak, stiffness(m.Setup.Springs))
}

// stiffness is the rate of springs together [N/m].
func stiffness(springs []spring.Linear) (rate float64) {
	for _, s := range springs {
		rate += s.Rate
	}
	return rate
}

// setEnd keeps the wished end pressure.
func (t *task) setEnd() error {
	m := t.m
	t.wishes.End = m.wishedEnd(t.wishes.Peak)
	if m.has("wish.end") {
		return nil
	}
	if t.wishes.End < 0 {
		return fmt.Errorf("a fresh spring of today's rate would be spent before the end of the stroke: state the wished end pressure")
	}
	d := fixedDefault(t.wishes.End, "a fresh spring of today's rate", tables.Derived)
	d.Key = "wish.end"
	m.assume(d)
	return nil
}

// hand returns what cocking asks of the hand: by the lever of the sheet, or from
// a force measured today, which is taken to grow as the force of the cocked
// spring. It is nil where the sheet has neither.
func (t *task) hand() (replace.Hand, error) {
	m := t.m
	switch {
	case m.hasTable("lever"):
		lever, err := m.lever()
		if err != nil {
			return nil, err
		}
		return replace.NewHand(lever, m.load())
	case m.has("wish.effort_today"):
		stroke := m.Setup.Cylinder.Stroke
		t.doubts = append(t.doubts, "The force of the hand is taken to grow as the force of the cocked spring, from what was measured today.")
		return replace.Hand{{Lift: stroke, Gain: m.value("wish.effort_today") / spring.ForceOf(m.Setup.Springs, stroke)}}, nil
	case m.has("wish.effort"):
		t.doubts = append(t.doubts, "The effort cannot be judged: describe the lever under [lever], or state wish.effort_today, the force of the hand with today's spring.")
	}
	return nil, nil
}

// contradiction words wishes that cannot be fulfilled together.
func contradiction(conflicts []replace.Conflict) error {
	var b strings.Builder
	b.WriteString("the wishes contradict each other or the machine")
	for _, c := range conflicts {
		b.WriteString("\n" + conflictText(c))
	}
	return fmt.Errorf("%s", b.String())
}

// conflictText is a conflict in a sentence, with the ways out of it.
func conflictText(c replace.Conflict) string {
	ways := make([]string, len(c.Ways))
	for i, w := range c.Ways {
		ways[i] = w.Text
	}
	return c.Why + "; possible: " + orList(ways)
}
