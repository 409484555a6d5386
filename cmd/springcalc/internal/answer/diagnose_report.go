package answer

import (
	"fmt"
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
	"springcalc/profile/course"
	"springcalc/profile/diagnose"
	"springcalc/profile/logged"
	"springcalc/spring"
)

// peakOf is the peak of a shot [Pa].
func peakOf(s *profile.Setup) (float64, error) {
	shot, err := profile.Summarize(s)
	return shot.Peak, err
}

// report puts what was found together.
func (d *diagnosis) report() *report.Report {
	r := newReport("diagnose", d.m)
	r.Main = "parts"
	r.Answer, r.Next = d.sentences(), d.next()
	r.Caution = cautionHot
	if d.springOut() {
		r.Caution = cautionSpring
	}
	r.Rows = slices.Concat(d.stateRows(), d.lostRows(), d.lineRows(), d.wearRows(), shimRows(d.state.Shim), askRows(d.state.Ask))
	if d.state.Withheld { // shares of a belief that does not hold are not for the first screen
		for i := range r.Rows {
			r.Rows[i].Short = false
		}
	}
	r.Charts = slices.Concat(d.courseCharts(), d.lineCharts())
	r.Tables = slices.Concat([]report.Table{partsTable(d.state), nextTable(d.state), outcomesTable(d.state), d.speaksTable(), stepsTable(d.state)},
		d.courseTables(), d.logTables())
	r.Next = append(r.Next, d.courseSentences()...)
	d.doubts(r)
	d.notes(r)
	return r
}

// banded is a row with a 95 % interval.
func banded(row report.Row, v, low, high float64) report.Row {
	row.Value = v
	if low < high {
		row.Band = &report.Band{Low: low, High: high, Std: (high - low) / 4, Known: row.Digits}
	}
	return row
}

// stateRows are the state of the machine as a whole.
func (d *diagnosis) stateRows() []report.Row {
	s := d.state
	likeliest := s.Parts[0]
	rows := []report.Row{
		{Key: "likeliest", Name: "likeliest to be worth repairing", Text: likeliest.Part.String()},
		{Key: "nothing_wrong", Name: "nothing is wrong (probability)", Value: s.NothingWrong, Unit: quantity.InRatio, Digits: 2},
		{Key: "explains", Name: "how well the best faults explain it (p)", Value: s.Explains, Unit: quantity.InRatio, Digits: 2},
		banded(report.Row{Key: "peak_now", Name: "peak now, by a sound gauge", Unit: quantity.InBar, Digits: 2}, s.Now.Value, s.Now.Low, s.Now.High),
		banded(report.Row{Key: "peak_sound", Name: "peak with every part right", Unit: quantity.InBar, Digits: 2}, s.Sound.Value, s.Sound.Low, s.Sound.High),
	}
	if d.fresh.Peak > 0 {
		rows = append(rows, report.Row{Key: "peak_new", Name: "peak when new", Value: d.fresh.Peak, Unit: quantity.InBar, Digits: 2})
	}
	if c := d.fresh.Spring; c != nil && d.fresh.Guessed {
		u := d.tool(diagnose.Peak) * d.fresh.Setup.Cylinder.Area() / d.fresh.Setup.Springs[0].Rate
		rows = append(rows, banded(report.Row{Key: "free_length_new", Name: "free length when new, by its peak", Unit: quantity.InMM, Digits: 0}, c.Free, c.Free-2*u, c.Free+2*u))
	}
	return rows
}

// partsTable is each part with what putting it right alone would bring back.
func partsTable(s *diagnose.State) report.Table {
	gain := func(v float64) report.Amount { return bare(report.Of(v, quantity.InBar, 1)) }
	cols := []report.Col[diagnose.PartState]{
		{Column: report.Column{Key: "part", Head: "part"}, Of: func(p *diagnose.PartState) any { return p.Part.String() }},
		{Column: report.Column{Key: "probability", Head: "worth repairing"}, Of: func(p *diagnose.PartState) any {
			return report.Shown{Value: p.Probability, Text: report.Plain(percentText(p.Probability))}
		}},
		{Column: report.Column{Key: "gain", Head: "brings back", Unit: quantity.InBar, Digits: 1}, Of: func(p *diagnose.PartState) any {
			return report.Shown{Value: p.Gain.Value, Text: report.Say("%s (%s to %s)", gain(p.Gain.Value), gain(p.Gain.Low), gain(p.Gain.High))}
		}},
		{Column: report.Column{Key: "gain_low", Unit: quantity.InBar, DataOnly: true}, Of: func(p *diagnose.PartState) any { return p.Gain.Low }},
		{Column: report.Column{Key: "gain_high", Unit: quantity.InBar, DataOnly: true}, Of: func(p *diagnose.PartState) any { return p.Gain.High }},
		{Column: report.Column{Key: "size", Head: "size, if at fault"}, Of: func(p *diagnose.PartState) any {
			in := sizes[p.Part]
			return report.Shown{Value: p.Size.Value, Unit: in.Display, Text: report.Say("%s", in.of(p.Size.Value))}
		}},
		{Column: report.Column{Key: "size_interval", Head: "95 % interval", Full: true}, Of: func(p *diagnose.PartState) any {
			in := sizes[p.Part]
			return report.Say("%s to %s", bare(in.of(p.Size.Low)), bare(in.of(p.Size.High)))
		}},
		{Column: report.Column{Key: "size_low", DataOnly: true}, Of: func(p *diagnose.PartState) any {
			return report.Shown{Value: p.Size.Low, Unit: sizes[p.Part].Display}
		}},
		{Column: report.Column{Key: "size_high", DataOnly: true}, Of: func(p *diagnose.PartState) any {
			return report.Shown{Value: p.Size.High, Unit: sizes[p.Part].Display}
		}},
		{Column: report.Column{Key: "unit", DataOnly: true}, Of: func(p *diagnose.PartState) any { return report.Symbol{Unit: sizes[p.Part].Display} }},
		{Column: report.Column{Key: "at_fault", Head: "at fault at all", Full: true}, Of: func(p *diagnose.PartState) any {
			return report.Shown{Value: p.AtFault, Text: report.Plain(percentText(p.AtFault))}
		}},
		{Column: report.Column{Key: "prior", Head: "before the readings", Full: true}, Of: func(p *diagnose.PartState) any {
			return report.Shown{Value: p.Prior, Text: report.Plain(percentText(p.Prior))}
		}},
	}
	t := report.Fill(report.Table{Key: "parts", Title: "Parts", Short: !s.Withheld}, cols, s.Parts)
	t.Top = 3
	for t.Top < len(s.Parts) && t.Top < 5 && s.Parts[t.Top].Probability > 0.05 {
		t.Top++
	}
	return t
}

// nextTable is the next step for programs.
func nextTable(s *diagnose.State) report.Table {
	t := report.Fill(report.Table{Key: "next", DataOnly: true, Single: true}, stepCols, []diagnose.Step{s.Next})
	return t
}

// outcomesTable is what the measurement asked for next would lead to, for programs.
func outcomesTable(s *diagnose.State) report.Table {
	in := kindsIn[s.Next.Measure]
	of := func(v func(*diagnose.Outcome) float64) func(*diagnose.Outcome) any {
		return func(o *diagnose.Outcome) any { return report.Shown{Value: v(o), Unit: in.Display} }
	}
	cols := []report.Col[diagnose.Outcome]{
		{Column: report.Column{Key: "about"}, Of: of(func(o *diagnose.Outcome) float64 { return o.Value })},
		{Column: report.Column{Key: "low"}, Of: of(func(o *diagnose.Outcome) float64 { return o.Low })},
		{Column: report.Column{Key: "high"}, Of: of(func(o *diagnose.Outcome) float64 { return o.High })},
		{Column: report.Column{Key: "unit"}, Of: func(*diagnose.Outcome) any { return report.Symbol{Unit: in.Display} }},
		{Column: report.Column{Key: "probability"}, Of: func(o *diagnose.Outcome) any { return o.Probability }},
		{Column: report.Column{Key: "then"}, Of: func(o *diagnose.Outcome) any {
			return stepText(&diagnose.Step{Is: o.Is, Measure: o.Measure, Repair: o.Repair})
		}},
	}
	return report.Fill(report.Table{Key: "outcomes", DataOnly: true}, cols, s.Next.Outcomes)
}

// stepCols are the columns of what could be done next.
var stepCols = []report.Col[diagnose.Step]{
	{Column: report.Column{Key: "step", Head: "step"}, Of: func(x *diagnose.Step) any { return stepText(x) }},
	{Column: report.Column{Key: "effort", Head: "takes", Unit: quantity.InMin}, Of: func(x *diagnose.Step) any { return x.Effort }},
	{Column: report.Column{Key: "expected", Head: "expected until right", Unit: quantity.InMin}, Of: func(x *diagnose.Step) any { return x.Expected }},
	{Column: report.Column{Key: "sure", Head: "needed"}, Of: func(x *diagnose.Step) any {
		if x.Is == diagnose.StepMeasure {
			return nil
		}
		return report.Shown{Value: x.Sure, Text: report.Plain(percentText(x.Sure))}
	}},
	{Column: report.Column{Key: "leads_to", Head: "outcomes"}, Of: func(x *diagnose.Step) any { return leads(*x) }},
}

func stepText(x *diagnose.Step) string {
	switch x.Is {
	case diagnose.StepMeasure:
		return "measure the " + x.Measure.String()
	case diagnose.StepRepair:
		return x.Repair.String()
	}
	return "leave it as it is"
}

// stepsTable is all that could be done next, the least effort first.
func stepsTable(s *diagnose.State) report.Table {
	const most = 12
	return report.Fill(report.Table{Key: "steps", Title: "What to do next, by the effort expected until the machine is right"}, stepCols, s.Steps[:min(most, len(s.Steps))])
}

// speech is what a reading says of a part.
type speech struct {
	part diagnose.Part
	diagnose.Weight
	ofNew bool // read when the machine was new
}

var speechCols = []report.Col[speech]{
	{Column: report.Column{Key: "part", Head: "part"}, Of: func(s *speech) any { return s.part.String() }},
	{Column: report.Column{Key: "reading", Head: "reading"}, Of: func(s *speech) any {
		if s.ofNew {
			return s.Kind.String() + " when new"
		}
		return s.Kind.String()
	}},
	{Column: report.Column{Key: "measured", Head: "measured"}, Of: func(s *speech) any { return s.shown(s.Measured) }},
	{Column: report.Column{Key: "if_sound", Head: "in order"}, Of: func(s *speech) any { return s.shown(s.Sound) }},
	{Column: report.Column{Key: "if_at_fault", Head: "at fault"}, Of: func(s *speech) any { return s.shown(s.Fault) }},
	{Column: report.Column{Key: "unit", DataOnly: true}, Of: func(s *speech) any { return report.Symbol{Unit: kindsIn[s.Kind].Display} }},
	{Column: report.Column{Key: "odds_factor", Head: "speaks"}, Of: func(s *speech) any {
		side, factor := "for", math.Exp(s.Ln)
		if s.Ln < 0 {
			side, factor = "against", math.Exp(-s.Ln)
		}
		text := report.Say("%s, × %.1f", side, factor)
		if factor > 100 {
			text = report.Say("%s, × over 100", side)
		}
		return report.Shown{Value: math.Exp(math.Max(-700, math.Min(700, s.Ln))), Text: text}
	}},
}

func (s *speech) shown(v float64) report.Shown {
	in := kindsIn[s.Kind]
	return report.Shown{Value: v, Unit: in.Display, Text: report.Say("%s", in.of(v))}
}

// speaksTable is what speaks for and against the parts that may be at fault.
func (d *diagnosis) speaksTable() report.Table {
	var list []speech
	for i, p := range d.state.Parts {
		if i > 2 && p.Probability < 0.05 {
			break
		}
		for _, w := range slices.Concat(p.For, p.Against) {
			list = append(list, speech{p.Part, w, d.state.Used[w.From].New})
		}
	}
	return report.Fill(report.Table{Key: "speaks", Title: "What speaks for and against (how much a reading changes the odds)"}, speechCols, list)
}

// lostRows are what set took over the years.
func (d *diagnosis) lostRows() []report.Row {
	if d.course == nil {
		return nil
	}
	l := d.course.Lost
	row := banded(report.Row{Key: "lost_to_set", Name: "pressure lost to set, by the years", Unit: quantity.InBar, Digits: 1}, l.Set.Value, l.Set.Low, l.Set.High)
	if l.Extrapolated {
		row.Note = report.Say("most of it before the first reading: by the law, not by readings")
	}
	return []report.Row{row}
}

// lineRows are the spring as the logs show it together.
func (d *diagnosis) lineRows() []report.Row {
	told := slices.DeleteFunc(slices.Clone(d.logs), func(l readLog) bool { return l.Withheld != "" })
	if len(told) == 0 {
		return nil
	}
	wide := d.doubted()
	var rows []report.Row
	add := func(key, name string, in display, of func(*logged.Forces) logged.Reading) {
		var all []logged.Reading
		for _, l := range told {
			f := &l.Forces
			if wide != "" {
				f = &l.Wide
			}
			all = append(all, of(f))
		}
		v := logged.Together(all)
		row := banded(report.Row{Key: key, Name: name, Unit: in.Display, Digits: in.digits}, v.Value, v.Low, v.High)
		row.Note = report.Say("if seal, fill and gauge are in order")
		if wide != "" {
			row.Note = report.Say("wide, as this may be at fault: %s", wide)
		}
		rows = append(rows, row)
	}
	add("rate", "rate, from the log", display{quantity.InNPerMM, 2}, func(f *logged.Forces) logged.Reading { return f.Rate })
	add("cocked_force", "force cocked, from the log", display{quantity.InN, 0}, func(f *logged.Forces) logged.Reading { return f.Cocked })
	add("rest_force", "force at rest, from the log", display{quantity.InN, 0}, func(f *logged.Forces) logged.Reading { return f.Rest })
	var lines []*logged.Line
	for _, l := range told {
		lines = append(lines, l.Line)
	}
	if p := logged.PucksTogether(lines); p.Resistance > 0 {
		row := report.Row{Key: "puck_resistance", Name: "puck resistance, from the log", Value: p.Resistance, Unit: quantity.InBarSPerML, Digits: 2,
			Band: &report.Band{Low: p.Low, High: p.High, Known: 2}, Note: report.Say("for coffee.resistance at %s", report.Of(p.AtPressure, quantity.InBar, 0))}
		rows = append(rows, row)
	}
	return rows
}

// doubted names a likely fault that shifts what a log says of the spring; "" for none.
func (d *diagnosis) doubted() string {
	for _, p := range d.state.Parts {
		switch p.Part {
		case diagnose.PartSeal, diagnose.PartFill, diagnose.PartHeadspace, diagnose.PartGauge:
			if p.Probability > 0.5 {
				return p.Part.String()
			}
		}
	}
	return ""
}

// wearRows are the cycles used.
func (d *diagnosis) wearRows() []report.Row {
	w := d.wear
	if w == nil {
		return nil
	}
	share := report.Row{Key: "life_used", Name: "fatigue life used", Value: w.Share, Unit: quantity.InPercent}
	switch w.Bound {
	case spring.More:
		share.Note = report.Say("less than that: the stress is below the published lives")
	case spring.Fewer:
		share.Note = report.Say("more than that: the stress is above the published lives")
	}
	return []report.Row{{Key: "pulls", Name: "pulls so far", Value: w.Cycles, Unit: quantity.InRatio}, share}
}

// shimRows are the shim for the set that there may be, its verdict beside it.
func shimRows(s *diagnose.Shim) []report.Row {
	if s == nil {
		return nil
	}
	mm := func(key, name string, v float64) report.Row {
		return report.Row{Key: key, Name: name, Value: v, Unit: quantity.InMM, Digits: 1, Indent: true}
	}
	first := mm("shim", "shim for what has set", s.Thickness)
	first.Indent = false
	first.Note, first.Short = shimVerdict(s), true
	rows := []report.Row{first,
		{Key: "shim_peak", Indent: true, Name: "peak with it", Value: s.Peak, Unit: quantity.InBar, Digits: 2},
		{Key: "shim_cocked_force", Indent: true, Name: "force cocked with it", Value: s.Cocked, Unit: quantity.InN},
		{Key: "shim_handle_force", Indent: true, Name: "handle force with it, against today's", Value: s.Effort, Unit: quantity.InPercent}}
	if !s.Known {
		return rows
	}
	rows = append(rows, mm("shim_most", "thickest before the coils touch", s.Most), mm("solid_length", "solid length", s.SolidLength), mm("shim_cocked_length", "length cocked with it", s.CockedLength))
	if s.Binds {
		return rows
	}
	gap := mm("shim_coil_gap", "coil gap with it, all together", s.Clearance.Gap)
	gap.Note = report.Say("EN 13906-1 (from memory) asks for %s", report.Of(s.Clearance.Required, quantity.InMM, 1))
	rows = append(rows, gap)
	if !s.Strong {
		return rows
	}
	stress := report.Row{Key: "shim_stress", Indent: true, Name: "stress cocked with it", Value: s.Static.Cocked.Stress, Unit: quantity.InMPa}
	stress.Note = report.Say("%.0f %% of what is permitted, %s", 100*s.Static.Cocked.Used, s.Static.Criterion.Name())
	return append(rows, stress,
		report.Row{Key: "fatigue_safety", Indent: true, Name: "safety against fatigue today", Value: s.Safety[0], Unit: quantity.InRatio, Digits: 2},
		report.Row{Key: "shim_fatigue_safety", Indent: true, Name: "safety against fatigue with it", Value: s.Safety[1], Unit: quantity.InRatio, Digits: 2})
}

// askRows are the spring to ask for, should it have to be replaced.
func askRows(a *diagnose.Ask) []report.Row {
	if a == nil {
		return nil
	}
	rows := []report.Row{
		{Key: "ask_rate", Name: "a new spring: rate", Value: a.Rate, Unit: quantity.InNPerMM, Digits: 2},
		{Key: "ask_rest_force", Name: "a new spring: force at rest", Value: a.Rest, Unit: quantity.InN},
		{Key: "ask_cocked_force", Name: "a new spring: force cocked", Value: a.Cocked, Unit: quantity.InN},
	}
	if a.Free > 0 {
		rows[1].Note = report.Say("at %s", report.Of(a.Length, quantity.InMM, 1))
		rows = append(rows, report.Row{Key: "ask_free_length", Name: "a new spring: free length", Value: a.Free, Unit: quantity.InMM, Digits: 1})
	}
	return rows
}

// courseCharts are the peaks over the years with the course through them.
func (d *diagnosis) courseCharts() []report.Chart {
	if d.course == nil {
		return nil
	}
	from, readings := d.life.Readings[0].Time, d.life.Readings
	since := from
	if d.life.NewKnown {
		since = d.life.New
	}
	last := readings[len(readings)-1].Time
	const steps = 60
	times := make([]float64, steps+1)
	for i := range times {
		times[i] = from + (last-from)*1.25*float64(i)/steps
	}
	at, err := d.course.At(times...)
	if err != nil {
		return nil
	}
	law, points := report.Series{Name: "course"}, report.Series{Name: "readings", Points: true}
	band := &report.Area{Name: "95 % interval of the course"}
	for _, f := range at {
		x := f.Time - since
		law.X, law.Y = append(law.X, x), append(law.Y, f.Course.Value)
		band.X, band.Low, band.High = append(band.X, x), append(band.Low, f.Course.Low), append(band.High, f.Course.High)
	}
	for _, r := range readings {
		points.X, points.Y = append(points.X, r.Time-since), append(points.Y, r.Value)
	}
	c := report.Chart{Key: "years", Name: "peak pressure", Unit: quantity.InBar, XName: "age of the spring", XUnit: quantity.InYears, Series: []report.Series{law, points}, Band: band}
	for _, w := range d.life.Repairs {
		c.Marks = append(c.Marks, report.Mark{Name: w.Kind.String(), X: w.Time - since})
	}
	return []report.Chart{c}
}

// lineCharts are the pressure of each log over the water, with its line.
func (d *diagnosis) lineCharts() (charts []report.Chart) {
	for i, l := range d.logs {
		read, line := report.Series{Name: l.Name, Points: true}, report.Series{Name: "line", Dashed: true}
		for _, p := range l.Points {
			read.X, read.Y = append(read.X, p.Volume), append(read.Y, p.Pressure)
			if !math.IsNaN(p.Fitted) {
				line.X, line.Y = append(line.X, p.Volume), append(line.Y, p.Fitted)
			}
		}
		c := report.Chart{Key: fmt.Sprintf("line_%d", i+1), Name: "pressure", Unit: quantity.InBar, XName: "volume swept", XUnit: quantity.InML, Series: []report.Series{read}}
		if len(line.X) > 0 {
			c.Series = append(c.Series, line)
		}
		charts = append(charts, c)
	}
	return charts
}

// courseTables are the laws of the years with their weights, what repairs
// brought, and the forecast.
func (d *diagnosis) courseTables() []report.Table {
	if d.course == nil {
		return nil
	}
	laws := []report.Col[course.Fit]{
		{Column: report.Column{Key: "law", Head: "the peak follows"}, Of: func(f *course.Fit) any { return lawText(f.Law) }},
		{Column: report.Column{Key: "weight", Head: "probability"}, Of: func(f *course.Fit) any {
			return report.Shown{Value: f.Weight, Text: report.Plain(percentText(f.Weight))}
		}},
	}
	return []report.Table{report.Fill(report.Table{Key: "laws", Title: "Over the years"}, laws, d.course.Fits)}
}

// logTables say what was read off each log, and where.
func (d *diagnosis) logTables() []report.Table {
	if len(d.logs) == 0 {
		return nil
	}
	number := func(in display, head, key string, of func(*readLog) float64) report.Col[readLog] {
		return report.Col[readLog]{Column: report.Column{Key: key, Head: head, Unit: in.Display, Digits: in.digits}, Of: func(l *readLog) any {
			if l.Withheld != "" {
				return nil
			}
			return of(l)
		}}
	}
	logs := []report.Col[readLog]{
		{Column: report.Column{Key: "log", Head: "log"}, Of: func(l *readLog) any { return l.Name }},
		number(display{quantity.InS, 1}, "from", "from", func(l *readLog) float64 { return l.Window.From }),
		number(display{quantity.InS, 1}, "to", "to", func(l *readLog) float64 { return l.Window.To }),
		number(display{quantity.InRatio, 0}, "rows", "rows", func(l *readLog) float64 { return float64(l.Used) }),
		number(display{quantity.InRatio, 0}, "left out", "left_out", func(l *readLog) float64 { return float64(l.Wild) }),
		number(display{quantity.InNPerMM, 2}, "rate", "rate", func(l *readLog) float64 { return l.Rate.Value }),
		number(display{quantity.InN, 0}, "cocked", "cocked_force", func(l *readLog) float64 { return l.Cocked.Value }),
		number(display{quantity.InN, 0}, "at rest", "rest_force", func(l *readLog) float64 { return l.Rest.Value }),
		number(display{quantity.InBar, 2}, "scatter", "scatter", func(l *readLog) float64 { return l.Scatter }),
		{Column: report.Column{Key: "withheld", Head: "withheld because"}, Of: func(l *readLog) any {
			if l.Withheld == "" {
				return nil
			}
			return l.Withheld
		}},
	}
	type point struct {
		log string
		logged.Point
	}
	var points []point
	for _, l := range d.logs {
		for _, p := range l.Points {
			points = append(points, point{l.Name, p})
		}
	}
	fitted := []report.Col[point]{
		{Column: report.Column{Key: "log"}, Of: func(p *point) any { return p.log }},
		{Column: report.Column{Key: "t", Unit: quantity.InS}, Of: func(p *point) any { return p.Time }},
		{Column: report.Column{Key: "volume", Unit: quantity.InML}, Of: func(p *point) any { return p.Volume }},
		{Column: report.Column{Key: "pressure", Unit: quantity.InBar}, Of: func(p *point) any { return p.Pressure }},
		{Column: report.Column{Key: "fitted", Unit: quantity.InBar}, Of: func(p *point) any {
			if math.IsNaN(p.Fitted) {
				return nil
			}
			return p.Fitted
		}},
	}
	return []report.Table{report.Fill(report.Table{Key: "logs", Title: "Logged shots"}, logs, d.logs),
		report.Fill(report.Table{Key: "fitted", DataOnly: true}, fitted, points)}
}

// doubts are what may be wrong with the answer, the weightiest first.
func (d *diagnosis) doubts(r *report.Report) {
	var list []report.Sentence
	for _, l := range d.logs {
		if l.Withheld != "" {
			list = append(list, report.Say("%s: what it says of the spring is withheld: %s", l.Name, report.Told(l.Withheld)))
		}
		for _, t := range l.Doubts {
			list = append(list, report.Say("%s: %s", l.Name, report.Told(t)))
		}
	}
	if d.course != nil {
		for _, o := range d.course.StandsOff {
			reading := d.life.Readings[o.Reading]
			since := reading.Time
			if d.life.NewKnown {
				since -= d.life.New
			}
			list = append(list, report.Say("the reading of %s at %s stands off the rest by %s", report.Of(reading.Value, quantity.InBar, 2), report.Of(since, quantity.InYears, 1), report.Of(o.Off.Value, quantity.InBar, 2)))
		}
	}
	if d.fresh.Guessed && d.fresh.Spring != nil {
		list = append(list, report.Say("spring.free_length is taken as measured today; if it is that of the new spring, state it as new.free_length"))
	}
	general := len(d.state.Doubts) - 1 // the last holds for any machine
	list = append(list, report.Tolds(d.state.Doubts[:general])...)
	if d.state.Shim != nil {
		list = append(list, report.Tolds(d.state.Shim.Doubts)...)
	}
	if d.course != nil {
		list = append(list, report.Tolds(d.course.Doubts)...)
	}
	if d.noWire != "" {
		list = append(list, report.Plain(d.noWire))
	}
	r.Doubts = append(append(list, r.Doubts...), report.Plain(d.state.Doubts[general]))
}

// notes are what to know about the answer.
func (d *diagnosis) notes(r *report.Report) {
	if n := len(d.Logs) - len(d.logs); n > 0 {
		r.Note("of %d logs %d are of a shot that another has too, and left out", len(d.Logs), n)
	}
	if d.fresh.Guessed {
		r.Note("how much preload the spring had when new is not stated; it follows from the peak when new, and what the sheet states of it counts as a reading of today")
	}
	for _, l := range d.logs {
		if l.Withheld == "" && len(l.Presumes) > 0 {
			r.Note("what %s says of rate and forces presumes: %s", l.Name, words.AndList(l.Presumes))
		}
	}
	r.Note("worth repairing is what brings back %.0f %% of the sound peak or more; how often parts fail, how far sound parts scatter and what a job takes are judgement (tables diagnosis-priors), changed by --prior and --effort", 100*d.priors.Worth)
	r.Note("the intervals hold 95 %% of the probability, all parts and their tolerances weighed together")
}
