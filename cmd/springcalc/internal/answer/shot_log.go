package answer

import (
	"fmt"
	"math"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
	"springcalc/profile/logged"
)

// addLog lays a logged shot over the computed one. A log's clock begins where its
// owner started it, so the two are laid together at the release: where the logged
// pressure first passes half of its peak.
func addLog(r *report.Report, m *machine.Machine, shot *profile.Shot, log *NamedLog) error {
	thin, _ := log.Log.Thin()
	peak := 0.0 // [Pa]
	for _, row := range thin {
		if row.Pressure > peak {
			peak = row.Pressure
		}
	}
	rise := math.NaN() // [s]
	for _, row := range thin {
		if row.Pressure >= peak/2 && peak > 0 {
			rise = row.Time
			break
		}
	}
	release := math.NaN() // [s]
	for _, e := range shot.Events {
		if e.Name == "release" {
			release = e.Time
			break
		}
	}
	if math.IsNaN(rise) || math.IsNaN(release) {
		return fmt.Errorf("%s: no rise of the pressure to lay it over the shot by", log.Name)
	}
	shift := release - rise
	pressure, cup := report.Series{Name: log.Name}, report.Series{Name: log.Name}
	for _, row := range thin {
		if t := row.Time + shift; t >= 0 {
			if !math.IsNaN(row.Pressure) {
				pressure.X, pressure.Y = append(pressure.X, t), append(pressure.Y, row.Pressure)
			}
			if !math.IsNaN(row.Cup) {
				cup.X, cup.Y = append(cup.X, t), append(cup.Y, row.Cup)
			}
		}
	}
	for key, s := range map[string]report.Series{"pressure": pressure, "cup": cup} {
		if c := r.Chart(key); len(s.X) > 1 {
			c.Series = append(c.Series, s)
		}
	}
	r.Note("the curve of %s is moved by %s, so that its rise of the pressure is at the release; what the shot says goes by the sheet alone",
		log.Name, report.Amount{Value: shift, Unit: quantity.InS, Digits: 1, Plus: true})
	return against(r, m, shot, log)
}

// held is one thing that was logged and computed.
type held struct {
	logged.Pair
	row *report.Row
}

var heldCols = []report.Col[held]{
	{Column: report.Column{Key: "what", Head: ""}, Of: func(h *held) any { return h.row.Name }},
	{Column: report.Column{Key: "logged", Head: "logged"}, Of: func(h *held) any { return h.cell(h.Measured.Value, false) }},
	{Column: report.Column{Key: "computed", Head: "computed"}, Of: func(h *held) any { return h.cell(h.Computed, false) }},
	{Column: report.Column{Key: "difference", Head: "difference"}, Of: func(h *held) any { return h.cell(h.Difference, true) }},
	{Column: report.Column{Key: "unit", DataOnly: true}, Of: func(h *held) any { return report.Symbol{Unit: h.row.Unit} }},
	{Column: report.Column{Key: "within", Head: "within both intervals"}, Of: func(h *held) any { return h.within() }},
}

func (h *held) cell(v float64, step bool) report.Shown {
	return report.Shown{Value: v, Unit: h.row.Unit, Text: report.Say("%s", report.Amount{Value: v, Unit: h.row.Unit, Digits: h.row.Digits, Plus: step, Step: step})}
}

// within says whether the difference lies within the 95 % intervals of both.
func (h *held) within() string {
	computed := logged.Around(h.Computed, 0)
	if b := h.row.Band; b != nil {
		computed = logged.Estimate{Value: h.Computed, Low: b.Low, High: b.High}
	}
	if _, agree := h.Off(computed); agree {
		return "yes"
	}
	return "no"
}

// against sets what a log shows beside what was computed.
func against(r *report.Report, m *machine.Machine, shot *profile.Shot, log *NamedLog) error {
	o := logged.Options{Handle: logged.UsualHandle(m.Setup.Cylinder.Stroke), Unsure: logged.UsualUnsure(&m.Setup)}
	c, err := logged.Against(log.Log, shot, &m.Setup, o)
	if err != nil {
		r.Doubt("%s is laid over the curves, but not held against the numbers: %s", log.Name, machine.WithoutPackage(err))
		return nil
	}
	if c.Missed != "" {
		r.Note("%s tells no end and no flow time: %s", log.Name, c.Missed)
	}
	var list []held
	for _, p := range []struct {
		key string
		logged.Pair
	}{{"peak", c.Peak}, {"end", c.End}, {"flow_time", c.Time}, {"yield", c.Yield}} {
		if p.Known {
			row := r.Row(p.key)
			row.Short = false // it stands in the table
			list = append(list, held{p.Pair, row})
		}
	}
	r.Tables = append(r.Tables, report.Fill(report.Table{Key: "against", Title: "The logged shot against the computed one", Short: true}, heldCols, list))
	var off []string
	for i := range list {
		if list[i].within() == "no" {
			off = append(off, list[i].row.Name)
		}
	}
	if len(off) > 0 {
		r.Doubt("%s differs from what was computed by more than both can be off: %s", log.Name, words.AndList(off))
	}
	return nil
}
