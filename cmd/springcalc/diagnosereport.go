package main

import (
	"fmt"
	"math"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/diagnose"
	"springcalc/profile/uncertain"
	"springcalc/spring"
)

// diagnosis describes what was found.
func diagnosis(e *evidence, f *findings) *report {
	r := &report{Title: "Diagnosis of " + e.m.Name(), Main: "fitted"}
	r.Rows = append(r.Rows, verdictRows(e, f)...)
	r.Rows = append(r.Rows, lossRows(e, f)...)
	r.Rows = append(r.Rows, lineRows(e)...)
	r.Rows = append(r.Rows, wearRows(e, f)...)
	if f.advice != nil {
		r.Rows = append(r.Rows, shimRows(f.advice.Shim)...)
		r.Rows = append(r.Rows, askRows(f.advice.Ask)...)
	}
	r.Charts = append(lossCharts(e, f.loss), residualCharts(e)...)
	r.Tables = append(r.Tables, causeTable(f.ranking), evidenceTable(f.ranking), nextTable(f.ranking))
	if f.loss != nil {
		r.Tables = append(r.Tables, forecastTable(f.loss))
	}
	r.Tables = append(r.Tables, logTable(e), fittedTable(e), courseTable(e))
	if len(e.lines) == 0 {
		r.Main = "causes"
	}
	r.Doubts = doubts(e, f)
	r.Notes = append(append(verdictNotes(f), e.notes...), "Of one cause, every drop of the peak up to 60 % is held equally likely beforehand; how likely the causes are beforehand is a judgement, which --prior changes.")
	r.Cautions = shotCautions
	if f.advice != nil {
		r.Cautions = f.advice.Cautions
	}
	addDefaults(e.m, r)
	return r
}

// verdictRows say what to do and what most likely is wrong.
func verdictRows(e *evidence, f *findings) []row {
	first := f.ranking.Causes[0]
	rows := []row{{Key: "likeliest_cause", Name: "likeliest cause", Text: first.Cause.String(),
		Note: percentText(first.Likelihood) + ", " + sizeText(first)}}
	if a := f.advice; a != nil {
		rows = append(rows, row{Key: "advice", Name: "advice", Text: string(a.Action)},
			row{Key: "advice_because", Text: a.Why, DataOnly: true})
	}
	if len(f.ranking.Next) > 0 {
		n := f.ranking.Next[0]
		r := row{Key: "next_measurement", Name: "measure next", Text: n.Kind.String()}
		if n.Bits < tellsLittle {
			r.Note = "would tell little more"
		}
		rows = append(rows, r)
	}
	if e.now > 0 {
		rows = append(rows, measure("peak_bar", "peak now", e.now, quantity.InBar, 2))
	}
	if e.fresh.Fresh > 0 {
		rows = append(rows, measure("new_peak_bar", "peak when new", e.fresh.Fresh, quantity.InBar, 2))
	}
	return rows
}

// tellsLittle is the information below which a measurement is hardly worth its
// while [bit].
const tellsLittle = 0.02

// verdictNotes say why, in sentences.
func verdictNotes(f *findings) []string {
	var notes []string
	if a := f.advice; a != nil {
		notes = append(notes, fmt.Sprintf("Advice: %s, because %s.", a.Action, a.Why))
	}
	if len(f.ranking.Next) > 0 && f.ranking.Next[0].Bits >= tellsLittle {
		n := f.ranking.Next[0]
		notes = append(notes, fmt.Sprintf("Measure next the %v: %s.", n.Kind, expectations(n)))
	}
	return notes
}

// expectations is what a measurement would be under the leading causes.
func expectations(c diagnose.Candidate) string {
	var parts []string
	for _, x := range c.Expect {
		parts = append(parts, fmt.Sprintf("%s for %v", kindText(c.Kind, x.Value), x.Cause))
	}
	text := "expect " + strings.Join(parts, ", ")
	if c.At > 0 {
		text = "at " + quantity.InMM.Text(c.At, 1) + " " + text
	}
	return text
}

// lossRows say how much force is gone, and when the wanted peak is passed.
func lossRows(e *evidence, f *findings) []row {
	l := f.loss
	if l == nil {
		return nil
	}
	force := measure("force_lost_n", "force lost", l.Force.Value, quantity.InN, 0).within(l.Force.Low, l.Force.High, quantity.InN)
	force.Note = fmt.Sprintf("%.0f %% of the force cocked when new", 100*l.Share)
	set := measure("equivalent_set_mm", "equivalent set", l.Set.Value, quantity.InMM, 1).within(l.Set.Low, l.Set.High, quantity.InMM)
	law := row{Key: "law", Name: "log-time law", Text: "fitted", Note: fmt.Sprintf("through %d readings, which stand off it by %s", len(e.peaks), quantity.InN.Text(l.Decline.Scatter, 0))}
	if l.Decline.Assumed {
		law.Text, law.Note = "assumed", "two readings cannot test it"
	}
	rows := []row{force, set, law}
	if l.Passes.Asked {
		rows = append(rows, passRow(e, l))
	}
	return rows
}

// passRow says when the peak passes the one that is wanted.
func passRow(e *evidence, l *diagnose.Loss) row {
	p, last := l.Passes, e.peaks[len(e.peaks)-1].Age
	r := row{Key: "kept_for", Name: "stays above what is wanted", DataOnly: false}
	in := func(age float64) string { return fmt.Sprintf("%.0f years", quantity.InYears.Of(age-last)) }
	switch {
	case p.Passed:
		r.Text = "no longer"
	case p.Never:
		r.Text = "not below it within 50 years"
	default:
		r.Text = "for " + in(p.Age)
	}
	switch {
	case p.Passed:
	case p.Early > 0 && p.Late > 0:
		r.Note = fmt.Sprintf("band %s to %s", in(p.Early), in(p.Late))
	case p.Early > 0:
		r.Note = fmt.Sprintf("band from %s on", in(p.Early))
	}
	return r
}

// lineRows are the spring as the logs show it together; what each shows is in the table.
func lineRows(e *evidence) []row {
	if len(e.lines) == 0 {
		return nil
	}
	from := ", from the log"
	if n := len(e.lines); n > 1 {
		from = fmt.Sprintf(", from %d logs", n)
	}
	estimate := func(key, name string, v diagnose.Reading, unit quantity.Display, digits int) row {
		r := measure(key, name+from, v.Value, unit, digits)
		newResult(uncertain.Interval{Low: v.Low, High: v.High}, v.U()).band(&r, unit)
		return r
	}
	rows := []row{
		estimate("rate_n_per_mm", "rate", e.rate, quantity.InNPerMM, 2),
		estimate("cocked_force_n", "force cocked", e.cocked, quantity.InN, 0),
		estimate("rest_force_n", "force at rest", e.rest, quantity.InN, 0),
	}
	if p := diagnose.PucksTogether(e.lines); p.Resistance > 0 {
		rows = append(rows, measure("coffee_resistance_bar_s_per_ml", "resistance of the puck", p.Resistance, quantity.InBarSPerML, 2).
			within(p.Low, p.High, quantity.InBarSPerML).noted("coffee.resistance at coffee.resistance_at = %s", quantity.InBar.Text(p.AtPressure, 0)))
	}
	return rows
}

// logNote says what the bands of lineRows are.
func logNote(e *evidence, seed uint64) string {
	return fmt.Sprintf("the band of rate and forces from a log holds the truth in 95 of 100 cases: its rows are resampled (--seed %d), read with "+
		"bore, seals, piston, kept water and dose as far off as their ± and the ranges of the defaults say, and the gauge's scale by %s",
		seed, quantity.InPercent.Text(2*e.gaugeU(), 1))
}

// wearRows are the cycles used.
func wearRows(e *evidence, f *findings) []row {
	w := f.wear
	if w == nil {
		return nil
	}
	share := measure("life_used_percent", "fatigue life used", w.Share, quantity.InPercent, 0)
	switch w.Bound {
	case spring.More:
		share.Note = "less than that: the stress is below the published lives"
	case spring.Fewer:
		share.Note = "more than that: the stress is above the published lives"
	}
	return []row{{Key: "cycles", Name: "pulls so far", Value: w.Cycles, Note: fmt.Sprintf("over %.0f years", quantity.InYears.Of(e.peaks[len(e.peaks)-1].Age))}, share}
}

// shimRows are the shim that would restore the peak.
func shimRows(s *diagnose.Shim) []row {
	if s == nil {
		return nil
	}
	rows := []row{
		measure("shim_mm", "shim to restore the peak", s.Thickness, quantity.InMM, 1).noted("to %s", quantity.InBar.Text(s.Peak, 2)),
		measure("shim_cocked_force_n", "force cocked, shimmed", s.Cocked, quantity.InN, 0),
		measure("shim_effort_percent", "pull on the handle, shimmed, of now", s.Effort, quantity.InPercent, 0),
	}
	if !s.Known {
		return rows
	}
	rows = append(rows, measure("shim_most_mm", "thickest before the coils touch", s.Most, quantity.InMM, 1),
		measure("solid_length_mm", "solid length", s.SolidLength, quantity.InMM, 1),
		measure("shim_cocked_length_mm", "length cocked, shimmed", s.CockedLength, quantity.InMM, 1))
	if s.Binds {
		return append(rows, row{Key: "shim_binds", Name: "shim", Text: "cannot be shimmed", Note: fmt.Sprintf("would bind at %s", quantity.InMM.Text(s.Most, 1))})
	}
	rows = append(rows, measure("shim_clearance_mm", "room between the coils, shimmed", s.Clearance.Gap, quantity.InMM, 1).
		noted("EN 13906-1 (from memory) asks for %s", quantity.InMM.Text(s.Clearance.Required, 1)))
	if !s.Strong {
		return rows
	}
	stress := s.Static.Cocked
	return append(rows,
		measure("shim_stress_mpa", "stress cocked, shimmed", stress.Stress, quantity.InMPa, 0).noted("%.0f %% of the allowed, %s", 100*stress.Used, s.Static.Criterion.Name()),
		row{Key: "fatigue_safety", Name: "safety against fatigue now", Value: s.Safety[0], Digits: 2},
		row{Key: "shim_fatigue_safety", Name: "the same, shimmed", Value: s.Safety[1], Digits: 2})
}

// askRows are the spring to ask for.
func askRows(a *diagnose.Ask) []row {
	if a == nil {
		return nil
	}
	rows := []row{
		measure("ask_rate_n_per_mm", "a new spring: rate", a.Rate, quantity.InNPerMM, 2),
		measure("ask_rest_force_n", "a new spring: force at rest", a.Rest, quantity.InN, 0),
		measure("ask_cocked_force_n", "a new spring: force cocked", a.Cocked, quantity.InN, 0),
	}
	if a.Free > 0 {
		rows[1].Note = "at " + quantity.InMM.Text(a.Length, 1)
		rows = append(rows, measure("ask_free_length_mm", "a new spring: free length", a.Free, quantity.InMM, 1))
	}
	return rows
}

// lossCharts are the forecast of the peak and the readings that it rests on.
func lossCharts(e *evidence, l *diagnose.Loss) []chart {
	if l == nil {
		return nil
	}
	forecast, readings := series{Name: "law"}, series{Name: "readings"}
	for _, f := range l.Course {
		forecast.X, forecast.Y = append(forecast.X, quantity.InYears.Of(f.Age)), append(forecast.Y, quantity.InBar.Of(f.Peak.Value))
	}
	for _, p := range e.peaks {
		readings.X, readings.Y = append(readings.X, quantity.InYears.Of(p.Age)), append(readings.Y, quantity.InBar.Of(p.Peak))
	}
	return []chart{{Key: "forecast", Title: "peak pressure, bar", XTitle: "age of the spring, years", Series: []series{forecast, readings}}}
}

// residualCharts show how far the logs stand off their lines.
func residualCharts(e *evidence) []chart {
	var charts []chart
	for i, l := range e.lines {
		s := series{Name: e.names[i]}
		for _, p := range l.Points {
			s.X, s.Y = append(s.X, quantity.InS.Of(p.Time-l.Window.From)), append(s.Y, quantity.InBar.Of(p.Pressure-p.Fitted))
		}
		charts = append(charts, chart{Key: fmt.Sprintf("residuals_%d", i+1), Title: e.names[i] + ": pressure off the straight line, bar",
			XTitle: fmt.Sprintf("time from %s on, s", quantity.InS.Text(l.Window.From, 1)), Series: []series{s}})
	}
	return charts
}

func causeTable(r *diagnose.Ranking) tableData {
	t := tableData{Key: "causes", Title: "Causes", Columns: []column{
		{Key: "cause", Head: "cause"}, {Key: "likelihood", Head: "how likely"}, {Key: "prior", Head: "beforehand"}, {Key: "size", Head: "size that explains it"},
		{Key: "for", Head: "for"}, {Key: "against", Head: "against"}}}
	for _, c := range r.Causes {
		t.Data = append(t.Data, []any{c.Cause.String(), figure{c.Likelihood, percentText(c.Likelihood)}, figure{c.Prior, percentText(c.Prior)},
			sizeText(c), kindsOf(c.For), kindsOf(c.Against)})
	}
	return t
}

// percentText never says that anything is certain.
func percentText(p float64) string {
	switch {
	case p < 0.005:
		return "< 1 %"
	case p > 0.995:
		return "> 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

func kindsOf(all []diagnose.Evidence) string {
	var names []string
	for _, e := range all {
		names = append(names, e.Measured.Kind.String())
	}
	return strings.Join(names, ", ")
}

// evidenceTable sets each measurement beside what the leading causes expect.
func evidenceTable(r *diagnose.Ranking) tableData {
	t := tableData{Key: "evidence", Title: "What speaks for and against", Columns: []column{
		{Key: "cause", Head: "cause"}, {Key: "measurement", Head: "measurement"}, {Key: "measured", Head: "measured"}, {Key: "expected", Head: "expected"},
		{Key: "z", Head: "off by, u", Digits: 1}, {Key: "speaks", Head: "speaks"}}}
	const leading = 2
	for _, c := range r.Causes[:leading] {
		for i, list := range [][]diagnose.Evidence{c.For, c.Against} {
			for _, e := range list {
				k := e.Measured.Kind
				t.Data = append(t.Data, []any{c.Cause.String(), k.String(), kindText(k, e.Measured.Value), kindText(k, e.Expected), e.Z, []string{"for", "against"}[i]})
			}
		}
	}
	return t
}

func nextTable(r *diagnose.Ranking) tableData {
	t := tableData{Key: "next", Title: "What would tell more", Columns: []column{
		{Key: "measurement", Head: "measurement"}, {Key: "information_bits", Head: "tells, bit", Digits: 2}, {Key: "expected", Head: "expected"}}}
	const most = 5
	for i, c := range r.Next[:min(most, len(r.Next))] {
		if i > 0 && c.Bits < tellsLittle {
			break
		}
		t.Data = append(t.Data, []any{c.Kind.String(), c.Bits, strings.TrimPrefix(expectations(c), "expect ")})
	}
	return t
}

func forecastTable(l *diagnose.Loss) tableData {
	t := tableData{Key: "forecast", Title: "Forecast of the peak", DataOnly: true, Columns: []column{
		{Key: "age_years", Head: "age, years", Digits: 1}, {Key: "peak_bar", Head: "peak, bar", Digits: 2}, {Key: "low_bar", Head: "low, bar", Digits: 2}, {Key: "high_bar", Head: "high, bar", Digits: 2}}}
	for _, f := range l.Course {
		t.Data = append(t.Data, []any{quantity.InYears.Of(f.Age), quantity.InBar.Of(f.Peak.Value), quantity.InBar.Of(f.Peak.Low), quantity.InBar.Of(f.Peak.High)})
	}
	return t
}

// logTable says what was read off each log, and where.
func logTable(e *evidence) tableData {
	t := tableData{Key: "logs", Title: "Logged shots", Columns: []column{
		{Key: "log", Head: "log"}, {Key: "from_s", Head: "from, s", Digits: 1}, {Key: "to_s", Head: "to, s", Digits: 1}, {Key: "rows", Head: "rows"}, {Key: "wild", Head: "left out"},
		{Key: "rate_n_per_mm", Head: "rate, N/mm", Digits: 2}, {Key: "cocked_force_n", Head: "cocked, N"}, {Key: "rest_force_n", Head: "at rest, N"}, {Key: "scatter_bar", Head: "scatter, bar", Digits: 2}}}
	for i, l := range e.lines {
		t.Data = append(t.Data, []any{e.names[i], quantity.InS.Of(l.Window.From), quantity.InS.Of(l.Window.To), float64(l.Used), float64(l.Wild),
			quantity.InNPerMM.Of(l.Rate.Value), quantity.InN.Of(l.Cocked.Value), quantity.InN.Of(l.Rest.Value), quantity.InBar.Of(l.Scatter)})
	}
	return t
}

func fittedTable(e *evidence) tableData {
	t := tableData{Key: "fitted", Title: "Fitted values", DataOnly: true, Columns: []column{
		{Key: "log"}, {Key: "t_s"}, {Key: "volume_ml"}, {Key: "pressure_bar"}, {Key: "fitted_bar"}, {Key: "residual_bar"}}}
	for i, l := range e.lines {
		for _, p := range l.Points {
			t.Data = append(t.Data, []any{e.names[i], quantity.InS.Of(p.Time), quantity.InML.Of(p.Volume), quantity.InBar.Of(p.Pressure), quantity.InBar.Of(p.Fitted), quantity.InBar.Of(p.Pressure - p.Fitted)})
		}
	}
	return t
}

func courseTable(e *evidence) tableData {
	t := tableData{Key: "resistance", Title: "Resistance over the shot", DataOnly: true, Columns: []column{
		{Key: "log"}, {Key: "t_s"}, {Key: "pressure_bar"}, {Key: "flow_ml_s"}, {Key: "resistance_bar_s_per_ml"}}}
	for i, l := range e.lines {
		for _, h := range l.Puck.Course {
			t.Data = append(t.Data, []any{e.names[i], quantity.InS.Of(h.Time), quantity.InBar.Of(h.Pressure), quantity.InMLPerS.Of(h.Flow), quantity.InBarSPerML.Of(h.Resistance)})
		}
	}
	return t
}

// doubts collects the doubts of everything, each once.
func doubts(e *evidence, f *findings) []string {
	all := append([]string{}, e.m.Doubts...)
	for i, l := range e.lines {
		all = append(all, labelled(e.names[i], l.Doubts)...)
	}
	if f.loss != nil {
		all = append(all, f.loss.Doubts...)
	}
	all = append(all, f.ranking.Doubts...)
	if f.advice != nil && f.advice.Shim != nil {
		all = append(all, f.advice.Shim.Doubts...)
	}
	if f.wear != nil {
		all = append(all, f.wear.Life.Doubts...)
	}
	if f.noWire != "" {
		all = append(all, f.noWire)
	}
	return concat(all)
}

// kindText prints a measurement.
func kindText(k diagnose.Kind, v float64) string {
	switch k {
	case diagnose.Peak, diagnose.EndPress, diagnose.LongFill:
		return quantity.InBar.Text(v, 2)
	case diagnose.LogBow:
		return quantity.InBar.Text(v, 3)
	case diagnose.LogRate, diagnose.BenchRate:
		return quantity.InNPerMM.Text(v, 2)
	case diagnose.Yield:
		return quantity.InG.Text(v, 1)
	case diagnose.ShotTime:
		return quantity.InS.Text(v, 0)
	case diagnose.WireSize:
		return quantity.InMM.Text(v, 2)
	case diagnose.Coils:
		return words.Number(v, 1)
	case diagnose.BenchLoad, diagnose.Drag:
		return quantity.InN.Text(v, 0)
	case diagnose.Gauge:
		return quantity.InPercent.Text(v, 0)
	default: // lengths
		return quantity.InMM.Text(v, 1)
	}
}

// sizeText prints the size of a cause.
func sizeText(c diagnose.Ranked) string {
	in := func(d quantity.Display, digits int, what string) string {
		return fmt.Sprintf("%s ± %s %s", words.Number(d.Of(c.Size), digits), words.Number(d.Of(2*c.SizeU), digits), d.Symbol+what)
	}
	switch c.Cause {
	case diagnose.Set:
		return in(quantity.InMM, 1, " of set")
	case diagnose.ThinWire:
		return in(quantity.InPercent, 1, " of the diameter")
	case diagnose.WrongCoils:
		word := " coils too few"
		if c.Size < 0 {
			word = " coils too many"
		}
		return fmt.Sprintf("%s ± %s%s", words.Number(math.Abs(c.Size), 1), words.Number(2*c.SizeU, 1), word)
	case diagnose.SealDrag:
		return in(quantity.InN, 0, " of drag")
	case diagnose.AirInFill:
		return in(quantity.InML, 0, " of air")
	case diagnose.ShortCock:
		return in(quantity.InMM, 1, " not pulled")
	case diagnose.DryPuck:
		return in(quantity.InML, 0, " of empty room")
	case diagnose.GaugeLow:
		return in(quantity.InPercent, 0, " too low")
	default: // OpenPuck
		return in(quantity.InPercent, 0, " of the resistance gone")
	}
}
