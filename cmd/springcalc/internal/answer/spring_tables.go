package answer

import (
	"fmt"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/spring"
	"springcalc/tables"
)

// ofSpring is the column with the name of the spring, of a nest only.
func ofSpring[T any](a *springAnswer, part func(*T) *springResult, cols []report.Col[T]) []report.Col[T] {
	if len(a.parts) < 2 {
		return cols
	}
	name := report.Col[T]{Column: report.Column{Key: "spring", Head: "spring"}, Of: func(t *T) any { return part(t).name }}
	return append([]report.Col[T]{name}, cols...)
}

// tables are the accounts of the springs, line by line.
func (a *springAnswer) tables() {
	if len(a.parts) > 1 {
		a.Tables = append([]report.Table{a.sideBySide()}, a.Tables...)
	}
	a.Tables = append(a.Tables, a.loadTable(), a.stressTable(), a.correctionTable(), a.fatigueTable(), a.bucklingTable(),
		a.toleranceTable(), a.relaxationTable(), a.figureTable())
	for _, p := range a.parts {
		a.meritRow(p)
		a.hotBands(p)
	}
	a.rowNotes()
}

// loadLine is a state of a spring and its load.
type loadLine struct {
	*springResult
	state      string
	length     any
	deflection float64
	load       float64
	row        *report.Row // that says how far the load may be off; nil for none
}

var loadCols = []report.Col[loadLine]{
	{Column: report.Column{Key: "state", Head: "where"}, Of: func(l *loadLine) any { return l.state }},
	{Column: unitColumn("length", "length L", quantity.InMM, 1), Of: func(l *loadLine) any { return l.length }},
	{Column: unitColumn("deflection", "deflection s", quantity.InMM, 1), Of: func(l *loadLine) any { return l.deflection }},
	{Column: unitColumn("load", "load F", quantity.InN, 0), Of: func(l *loadLine) any { return l.load }},
	{Column: unitColumn("load_plus", "±", quantity.InN, 0), Of: func(l *loadLine) any {
		if l.row == nil || l.row.Band == nil {
			return nil
		}
		return (l.row.Band.High - l.row.Band.Low) / 2
	}},
	{Column: unitColumn("energy", "energy held", quantity.InJ, 1), Of: func(l *loadLine) any { return l.load * l.deflection / 2 }},
}

// loadTable says what the springs bear, from rest to solid.
func (a *springAnswer) loadTable() report.Table {
	var lines []loadLine
	for _, p := range a.parts {
		add := func(state string, length any, load float64, row string) {
			lines = append(lines, loadLine{p, state, length, load / p.line.Rate, load, a.Row(p.key(row))})
		}
		if !p.coiled {
			add("at rest", nil, p.line.Force(0), "load_rest")
			add("cocked", nil, p.line.Force(p.stroke), "load_cocked")
			continue
		}
		add("at rest", p.working.Rest, p.line.Force(0), "load_rest")
		add("cocked", p.working.Cocked, p.line.Force(p.stroke), "load_cocked")
		add("solid (US)", p.us.SolidLength(), p.us.SolidForce(), "")
		if !p.lacks["en"] {
			add("solid (EN)", p.en.SolidLength(), p.en.SolidForce(), "")
		}
	}
	return report.Fill(report.Table{Key: "loads", Title: "Loads at 20 °C"}, ofSpring(a, func(l *loadLine) *springResult { return l.springResult }, loadCols), lines)
}

// stressLine is a stress beside its limit.
type stressLine struct {
	*springResult
	*limit
	state string
	spring.Margin
}

var stressCols = []report.Col[stressLine]{
	{Column: report.Column{Key: "method", Head: "by"}, Of: func(l *stressLine) any { return l.Name() }},
	{Column: report.Column{Key: "factor", Head: "correction"}, Of: func(l *stressLine) any { return machine.FactorWord(l.Factor()) }},
	{Column: unitColumn("k", "K", quantity.Display{}, 3), Of: func(l *stressLine) any { return l.Factor().K(l.us.Index()) }},
	{Column: report.Column{Key: "state", Head: "where"}, Of: func(l *stressLine) any { return l.state }},
	{Column: unitColumn("stress", "stress", quantity.InMPa, 0), Of: func(l *stressLine) any { return l.Stress }},
	{Column: unitColumn("allowable", "limit", quantity.InMPa, 0), Of: func(l *stressLine) any { return l.Margin.Allowable }},
	{Column: unitColumn("safety", "safety", quantity.Display{}, 2), Of: func(l *stressLine) any {
		if n, ok := l.Safety(); ok {
			return n
		}
		return nil
	}},
	{Column: unitColumn("asked", "asked", quantity.Display{}, 1), Of: func(l *stressLine) any { return l.asked }},
}

// stressTable lists each stress beside the limit of its own method.
func (a *springAnswer) stressTable() report.Table {
	var lines []stressLine
	for _, p := range a.parts {
		for i := range p.limits {
			l, m := &p.limits[i], p.margins
			if p.lacks[l.key] || l.en && p.lacks["en"] {
				continue
			}
			if l.cocked {
				lines = append(lines, stressLine{p, l, "at rest", m[i].Rest}, stressLine{p, l, "cocked", m[i].Cocked})
			}
			if l.solid {
				lines = append(lines, stressLine{p, l, "solid", m[i].Solid})
			}
		}
	}
	t := report.Fill(report.Table{Key: "stress", Title: "Stress, each beside the limit of its own method"}, ofSpring(a, func(l *stressLine) *springResult { return l.springResult }, stressCols), lines)
	if slices.ContainsFunc(lines, func(l stressLine) bool { return l.limit.key != "own" }) {
		a.Note("\"before presetting\" is for a spring as it was coiled; \"after presetting\", \"preset\" and \"static\" are for one that its maker pressed solid until it shortened no further; where that is not known (--preset), the lower safety counts")
		a.Note("safety is the limit over the stress; Shigley asks for 1.2, EN 13906-1 for no more than its limit")
	}
	return t
}

// corrected is a stress correction, and the stresses with it.
type corrected struct {
	*springResult
	factor spring.Factor
	wanted string
}

// corrections are the stress corrections, and what wants each.
var corrections = []corrected{
	{nil, spring.NoCorrection, "EN 13906-1, static"},
	{nil, spring.DirectShear, "Shigley after presetting; mean of Norton and Bhandari"},
	{nil, spring.Wahl, "finite life, relaxation; amplitude of Norton and Bhandari"},
	{nil, spring.Bergstrasser, "Shigley before presetting; Zimmerli"},
}

func stressAt(of func(*springResult) float64) func(*corrected) any {
	return func(c *corrected) any { return c.us.Stress(of(c.springResult), c.factor) }
}

var correctedCols = []report.Col[corrected]{
	{Column: report.Column{Key: "factor", Head: "correction"}, Of: func(c *corrected) any { return machine.FactorWord(c.factor) }},
	{Column: unitColumn("k", "K", quantity.Display{}, 3), Of: func(c *corrected) any { return c.factor.K(c.us.Index()) }},
	{Column: unitColumn("rest", "at rest τ1", quantity.InMPa, 0), Of: stressAt(func(s *springResult) float64 { return s.line.Force(0) })},
	{Column: unitColumn("cocked", "cocked τ2", quantity.InMPa, 0), Of: stressAt(func(s *springResult) float64 { return s.line.Force(s.stroke) })},
	{Column: unitColumn("solid", "solid τc", quantity.InMPa, 0), Of: stressAt(func(s *springResult) float64 { return s.us.SolidForce() })},
	{Column: report.Column{Key: "wanted", Head: "wanted by"}, Of: func(c *corrected) any { return c.wanted }},
}

// correctionTable lists the stresses with each correction.
func (a *springAnswer) correctionTable() report.Table {
	var lines []corrected
	for _, p := range a.parts {
		for _, c := range corrections {
			if c.springResult = p; p.coiled {
				lines = append(lines, c)
			}
		}
	}
	return report.Fill(report.Table{Key: "corrections", Title: "Stress with each correction"}, ofSpring(a, func(c *corrected) *springResult { return c.springResult }, correctedCols), lines)
}

// fatigueLine is a criterion of fatigue.
type fatigueLine struct {
	*springResult
	by                  string
	limit               report.Sentence
	amplitude, mean     float64
	allowed             any
	safety              float64
	amplitudeK, meanFor spring.Factor
}

var fatigueCols = []report.Col[fatigueLine]{
	{Column: report.Column{Key: "criterion", Head: "by"}, Of: func(l *fatigueLine) any { return l.by }},
	{Column: report.Column{Key: "limit", Head: "limit of the wire"}, Of: func(l *fatigueLine) any { return l.limit }},
	{Column: report.Column{Key: "corrections", Head: "correction"}, Of: func(l *fatigueLine) any {
		if l.amplitudeK == l.meanFor {
			return machine.FactorWord(l.meanFor)
		}
		return machine.FactorWord(l.amplitudeK) + ", mean " + machine.FactorWord(l.meanFor)
	}},
	{Column: unitColumn("amplitude", "τa", quantity.InMPa, 0), Of: func(l *fatigueLine) any { return l.amplitude }},
	{Column: unitColumn("mean", "τm", quantity.InMPa, 0), Of: func(l *fatigueLine) any { return l.mean }},
	{Column: unitColumn("allowed", "allowed τa", quantity.InMPa, 0), Of: func(l *fatigueLine) any { return l.allowed }},
	{Column: unitColumn("safety", "safety", quantity.Display{}, 2), Of: func(l *fatigueLine) any { return l.safety }},
}

// fatigueTable lists the criteria of fatigue by name.
func (a *springAnswer) fatigueTable() report.Table {
	var lines []fatigueLine
	z, from := tables.Zimmerli(a.Peened), tables.NortonEndurance(a.Peened)
	used := func(p *springResult) {
		share := tables.UltimateShear()[0]
		p.rests("Zimmerli's limit, "+surface(a.Peened), report.Say("%s about %s", report.Of(z.Amplitude, quantity.InMPa, 0), report.Of(z.Mean, quantity.InMPa, 0)), z.Grade, z.Source)
		p.rests("Norton's limit from zero, "+surface(a.Peened), amount(from.Range, quantity.InMPa, 0), from.Grade, from.Source)
		p.rests("ultimate shear over tensile strength", report.Say("%.2f", share.Value), share.Grade, share.Source)
	}
	for _, p := range a.parts {
		if a.Row(p.key("fatigue_safety")) == nil {
			continue
		}
		used(p)
		limit := report.Say("%s about %s", report.Of(z.Amplitude, quantity.InMPa, 0), report.Of(z.Mean, quantity.InMPa, 0))
		for _, line := range fatigueLines {
			f := p.fatigue[line]
			lines = append(lines, fatigueLine{p, line.String(), limit, f.Cycle.Amplitude, f.Cycle.Mean, f.Allowed, f.Safety, spring.Bergstrasser, spring.Bergstrasser})
		}
		half := (p.line.Force(p.stroke) - p.line.Force(0)) / 2
		swing := func(by string, limit float64, safety float64) {
			lines = append(lines, fatigueLine{p, by, report.Say("0 to %s", report.Of(limit, quantity.InMPa, 0)), p.us.Stress(half, spring.Wahl),
				p.us.Stress(half+p.line.Force(0), spring.DirectShear), nil, safety, spring.Wahl, spring.DirectShear})
		}
		if a.Row(p.key("fatigue_norton")) != nil {
			swing("Norton", from.Range, p.norton)
		}
		if a.Row(p.key("fatigue_bhandari")) != nil {
			s := p.pulsating
			swing("Bhandari", s.Endurance*p.sut, p.bhandari)
			p.rests("Bhandari's limit from zero, and yield in torsion, over Rm", report.Say("%.2f and %.2f", s.Endurance, s.Yield), s.Grade, s.Source)
		}
	}
	if len(lines) > 0 {
		a.Note("the safety against fatigue that is judged is that of Goodman, and below the mean stress of Zimmerli's limit that of Sines, which is the lower there; Gerber is bolder, Norton's keeps the preload while the swing grows, and Bhandari's line ends at the yield in torsion")
	}
	return report.Fill(report.Table{Key: "fatigue", Title: "Fatigue"}, ofSpring(a, func(l *fatigueLine) *springResult { return l.springResult }, fatigueCols), lines)
}

// bucklingLine is how a spring stands on some seats.
type bucklingLine struct {
	*springResult
	seats string
	spring.Buckling
}

// cockedBy is the deflection from free to cocked [m].
func (p *springResult) cockedBy() float64 { return p.us.Free - p.working.Cocked }

var bucklingCols = []report.Col[bucklingLine]{
	{Column: report.Column{Key: "seats", Head: "seats"}, Of: func(l *bucklingLine) any { return l.seats }},
	{Column: unitColumn("critical_free_length", "critical free length", quantity.InMM, 1), Of: func(l *bucklingLine) any { return l.CriticalFree }},
	{Column: unitColumn("deflection", "buckles at sK", quantity.InMM, 1), Of: func(l *bucklingLine) any {
		if l.Never {
			return nil
		}
		return l.CriticalDeflection
	}},
	{Column: unitColumn("cocked", "cocked at", quantity.InMM, 1), Of: func(l *bucklingLine) any { return l.cockedBy() }},
	{Column: report.Column{Key: "verdict", Head: "verdict"}, Of: func(l *bucklingLine) any {
		switch {
		case l.Never:
			return "never buckles"
		case l.CriticalDeflection >= l.cockedBy():
			return "stays straight"
		case l.by.Guided:
			return "leans on its guide"
		}
		return "buckles unguided"
	}},
}

// bucklingTable says on which seats the springs buckle.
func (a *springAnswer) bucklingTable() report.Table {
	var lines []bucklingLine
	for _, p := range a.parts {
		for _, s := range seatings {
			if p.coiled {
				lines = append(lines, bucklingLine{p, s.name, p.straight[s.of]})
			}
		}
	}
	return report.Fill(report.Table{Key: "buckling", Title: "Buckling, by deflection"}, ofSpring(a, func(l *bucklingLine) *springResult { return l.springResult }, bucklingCols), lines)
}

// toleranceLine is what a quality of EN 15800 grants a new spring.
type toleranceLine struct {
	*springResult
	quality int
	spring.Tolerance
}

var toleranceCols = []report.Col[toleranceLine]{
	{Column: unitColumn("quality", "quality", quantity.Display{}, 0), Of: func(l *toleranceLine) any { return float64(l.quality) }},
	{Column: unitColumn("free", "L0 ±", quantity.InMM, 1), Of: func(l *toleranceLine) any { return l.Tolerance.Free }},
	{Column: unitColumn("rest", "F1 ±", quantity.InN, 0), Of: func(l *toleranceLine) any { return l.Load(l.line.Force(0)) }},
	{Column: unitColumn("cocked", "F2 ±", quantity.InN, 0), Of: func(l *toleranceLine) any { return l.Load(l.line.Force(l.stroke)) }},
	{Column: unitColumn("rate", "R ±", quantity.InPercent, 1), Of: func(l *toleranceLine) any { return l.Tolerance.Rate }},
	{Column: unitColumn("outside", "De ±", quantity.InMM, 2), Of: func(l *toleranceLine) any {
		c, err := tables.CoilTolerance(tables.Coil{Class: l.quality, Diameter: l.us.Outer(), Index: l.us.Index()})
		if err != nil {
			return nil
		}
		return c.Value
	}},
	{Column: unitColumn("square", "e1", quantity.InMM, 1), Of: func(l *toleranceLine) any { return unlessZero(l.Square) }},
	{Column: unitColumn("level", "e2", quantity.InMM, 2), Of: func(l *toleranceLine) any { return unlessZero(l.Level) }},
}

// toleranceTable says what EN 15800 lets a new spring differ by.
func (a *springAnswer) toleranceTable() report.Table {
	var lines []toleranceLine
	for _, p := range a.parts {
		for quality := 1; quality <= 3 && p.coiled; quality++ {
			t, err := p.us.Tolerance(spring.Grade(quality))
			if err != nil {
				p.minor = append(p.minor, report.Told(spring.BeyondEN15800))
				break
			}
			lines = append(lines, toleranceLine{p, quality, t})
			if quality == 3 {
				p.minor = append(p.minor, report.Tolds(t.Doubts)...)
			}
		}
	}
	return report.Fill(report.Table{Key: "tolerances", Title: "What a new spring may differ by, EN 15800"}, ofSpring(a, func(l *toleranceLine) *springResult { return l.springResult }, toleranceCols), lines)
}

// relaxationLine is a loss of load with time.
type relaxationLine struct {
	*springResult
	after      string
	loss       float64 // [-]
	slow, fast float64 // with time constants ten times less and more [-]
}

var relaxationCols = []report.Col[relaxationLine]{
	{Column: report.Column{Key: "after", Head: "held for"}, Of: func(l *relaxationLine) any { return l.after }},
	{Column: unitColumn("loss", "loss up to", quantity.InPercent, 1), Of: func(l *relaxationLine) any { return l.loss }},
	{Column: unitColumn("low", "from", quantity.InPercent, 1), Of: func(l *relaxationLine) any { return l.slow }},
	{Column: unitColumn("high", "to", quantity.InPercent, 1), Of: func(l *relaxationLine) any { return l.fast }},
	{Column: unitColumn("rest", "of the load at rest", quantity.InN, 0), Of: func(l *relaxationLine) any { return l.loss * l.line.Force(0) }},
}

// relaxationTable forecasts the loss of load of a spring that just meets the
// screening limit of the handbook, by the log-time law.
func (a *springAnswer) relaxationTable() report.Table {
	law := machine.ScreenLaw
	slow, fast := law, law
	slow.T0, fast.T0 = law.T0/10, law.T0*10
	var lines []relaxationLine
	for _, p := range a.parts {
		if p.wire == nil {
			continue
		}
		screen, ok := p.wire.Relaxation()
		if !ok {
			p.doubt("No limit of relaxation is known for this wire.")
			continue
		}
		p.rests("relaxation, under 5 % in 48 h", report.Say("%s at %s", report.Of(screen.Stress, quantity.InMPa, 0), report.Of(screen.Temp, quantity.InC, 0)), screen.Grade, screen.Source)
		for _, after := range []struct {
			name string
			age  float64
		}{{"48 h", law.RefTime}, {"1 year", sheet.YearLength}, {"10 years", 10 * sheet.YearLength}, {"30 years", 30 * sheet.YearLength}} {
			l := relaxationLine{springResult: p, after: after.name}
			for _, of := range []struct {
				spring.Relaxation
				loss *float64
			}{{law, &l.loss}, {slow, &l.slow}, {fast, &l.fast}} {
				var err error
				if *of.loss, err = of.Loss(after.age); err != nil {
					panic(err) // the law is wrong
				}
			}
			lines = append(lines, l)
		}
		rest, cocked := p.us.Stress(p.line.Force(0), spring.Wahl), p.us.Stress(p.line.Force(p.stroke), spring.Wahl)
		p.notes = append(p.notes, relaxationWords(screen, rest, cocked, p.hot))
	}
	return report.Fill(report.Table{Key: "relaxation", Title: "Loss of load by relaxation (indicative, see notes)"},
		ofSpring(a, func(l *relaxationLine) *springResult { return l.springResult }, relaxationCols), lines)
}

// relaxationWords set a spring beside the limit for which losses are given [Pa, K].
func relaxationWords(limit tables.Screen, rest, cocked, hot float64) report.Sentence {
	stress := func(v float64) report.Amount { return report.Of(v, quantity.InMPa, 0) }
	s := report.Say("relaxation is given for %s (Wahl) at %s, where the handbook allows 5 %% in 48 h; the range is for time constants of 0.01 to 1 h", stress(limit.Stress), report.Of(limit.Temp, quantity.InC, 0))
	const less = "it should lose less, and a greater loss is yielding, wear or a wrong reading"
	switch {
	case rest > limit.Stress || hot > limit.Temp:
		s = report.Say("%s; this spring, at %s at rest, is past that limit: it may lose more", s, stress(rest))
	case cocked > limit.Stress:
		s = report.Say("%s; this spring rests at %s, under it, and is over it only while cocked, at %s: %s", s, stress(rest), stress(cocked), less)
	default:
		s = report.Say("%s; this spring rests at %s and is under it even cocked: %s", s, stress(rest), less)
	}
	if hot == 0 {
		s = report.Say("%s; its temperature is not stated (spring.temperature)", s)
	}
	return s
}

// usedFigure is a figure that a spring rests on.
type usedFigure struct {
	*springResult
	figure
}

var figureCols = []report.Col[usedFigure]{
	{Column: report.Column{Key: "what", Head: "what"}, Of: func(f *usedFigure) any { return f.what }},
	{Column: report.Column{Key: "value", Head: "value"}, Of: func(f *usedFigure) any { return f.value }},
	{Column: report.Column{Key: "basis", Head: "basis"}, Of: func(f *usedFigure) any { return f.basis }},
	{Column: report.Column{Key: "source", Head: "source"}, Of: func(f *usedFigure) any { return f.source }},
}

// figureTable lists the figures that the answer rests on, with their sources.
func (a *springAnswer) figureTable() report.Table {
	var lines []usedFigure
	for _, p := range a.parts {
		for _, f := range p.figures {
			lines = append(lines, usedFigure{p, f})
		}
	}
	return report.Fill(report.Table{Key: "figures", Title: "Figures from tables and certificates"}, ofSpring(a, func(f *usedFigure) *springResult { return f.springResult }, figureCols), lines)
}

// meritRow adds Shigley's figure of merit of a spring.
func (a *springAnswer) meritRow(p *springResult) {
	if p.wire == nil {
		return
	}
	like, ok := machine.WireIn(*p.wire, false)
	if !ok {
		return
	}
	cost, ok := like.Cost()
	if !ok {
		return
	}
	row := report.Row{Key: p.key("figure_of_merit"), Name: p.named("figure of merit"), Value: p.us.FigureOfMerit(cost.Low), Unit: quantity.InCM3, Digits: 2}
	note := fmt.Sprintf("Shigley, relative cost %.3g", cost.Low)
	if cost.High > cost.Low {
		row.Band = &report.Band{Low: p.us.FigureOfMerit(cost.High), High: row.Value, Known: row.Digits}
		note = fmt.Sprintf("Shigley, relative cost %.3g to %.3g", cost.Low, cost.High)
	}
	if like.Name != p.wire.Name {
		note += " of " + like.Name
	}
	row.Note = report.Plain(note)
	a.Rows = append(a.Rows, row)
}

// named is a name of a row of a spring.
func (p *springResult) named(name string) string {
	if p.name != "" {
		return p.name + ": " + name
	}
	return name
}

// hotBands puts on what the spring does at work the range from the coefficient of its
// table to that of US makers.
func (a *springAnswer) hotBands(p *springResult) {
	for _, key := range []string{"rate_hot", "load_rest_hot", "load_cocked_hot"} {
		row := a.Row(p.key(key))
		if row == nil {
			continue
		}
		row.Note = report.Say("at %s; by US makers %s", report.Of(p.hot, quantity.InC, 0), report.Of(row.Value*p.warmUS/p.warm, row.Unit, row.Digits))
	}
}

// rowNotes say by whom or for what a number is.
func (a *springAnswer) rowNotes() {
	for _, p := range a.parts {
		note := func(key, format string, args ...any) {
			if row := a.Row(p.key(key)); row != nil && row.Note.Empty() {
				row.Note = report.Say(format, args...)
			}
		}
		note("stress_mean", "Bergsträsser")
		note("surge", "both ends seated")
		note("gap_required", "EN 13906-1, %v duty", a.duty())
		note("shortest", "EN 13906-1")
		note("rate_per_10_k", "US makers: %s", report.Of(-10*spring.SofteningUS, quantity.InPercent, 2))
		if input, _ := a.spread.Largest(p.key("rate")); p.coiled && input != "" {
			_, name := sheet.SplitPath(input)
			note("rate", "%s; ± by %s", report.Of(293.15, quantity.InC, 0), strings.ReplaceAll(name, "_", " "))
		} else if p.coiled {
			note("rate", "at %s", report.Of(293.15, quantity.InC, 0))
		}
		note("critical_free_length", "shorter ones never buckle")
		if p.thick > 0 {
			note("solid_length_en", "with wire of %s", report.Of(p.en.WireMax, quantity.InMM, 3))
		} else {
			note("solid_length_en", "with the nominal wire")
		}
		if p.rm.Min > 0 {
			note("tensile_strength", "%s (%s)", p.rm.Source, p.rm.Grade)
		}
		if p.wire != nil && p.wire.ServiceTemp > 0 {
			a.serviceRow(p)
		}
	}
}

// serviceRow adds the temperature that a wire serves up to.
func (a *springAnswer) serviceRow(p *springResult) {
	low, high := p.wire.ServiceTemp, p.wire.ServiceTempHigh
	row := report.Row{Key: p.key("service_temperature"), Name: p.named("wire serves up to"), Value: low, Unit: quantity.InC}
	if high > low {
		row.Band = &report.Band{Low: low, High: high}
	}
	a.Rows = append(a.Rows, row)
}
