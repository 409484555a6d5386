package answer

import (
	"fmt"
	"math"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/profile"
)

// addLog lays a logged shot over the computed one. A log's clock begins where its
// owner started it, so the two are laid together at the release: where the logged
// pressure first passes half of its peak.
func addLog(r *report.Report, shot *profile.Shot, log *NamedLog) error {
	peak := 0.0 // [Pa]
	for _, row := range log.Log {
		if row.Pressure > peak {
			peak = row.Pressure
		}
	}
	rise := math.NaN() // [s]
	for _, row := range log.Log {
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
	for _, row := range log.Log {
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
	return nil
}
