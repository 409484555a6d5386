package tables

import (
	"math"
	"slices"
)

// HandForce is a published capacity of hand or arm.
type HandForce struct {
	Action string  // posture and direction
	Use    string  // "professional" or "domestic"
	Force  float64 // F_B: basic force capacity, that 85 % of adults reach [N]
	Source string  // standard
	Grade  Grade   // grade of evidence
}

// HandForces returns the capacities of EN 1005-3: a guide, not a limit.
func HandForces() []HandForce {
	t := get("hand-force-en-1005-3")
	list := make([]HandForce, len(t.Rows))
	for row := range list {
		list[row] = HandForce{
			Action: t.text(row, "action"), Use: t.text(row, "use"), Force: t.number(row, "force_N"),
			Source: t.Source, Grade: t.grade(row),
		}
	}
	return list
}

// ArmForce is a range of what one arm of a seated man can do.
type ArmForce struct {
	Low    float64 // weakest elbow angle and arm listed [N]
	High   float64 // strongest [N]
	Source string  // standard
	Grade  Grade   // grade of evidence
}

// ArmForceOf returns the force that 95 % of men reach with one arm in a
// direction, "pull", "push", "up", "down", "in" or "out", by the table of MIL-STD-1472: from
// the weakest to the strongest of elbow angles and arms.
func ArmForceOf(action string) (ArmForce, error) {
	t := get("hand-force-mil-1472")
	f := ArmForce{Low: math.Inf(1), Source: t.Source}
	var actions []string
	for row := range t.Rows {
		if name := t.text(row, "action"); name != action {
			actions = append(actions, name)
			continue
		}
		left, right := t.number(row, "left_N"), t.number(row, "right_N")
		f.Low, f.High, f.Grade = min(f.Low, left, right), max(f.High, left, right), t.grade(row)
	}
	if f.High == 0 {
		slices.Sort(actions)
		return ArmForce{}, unknown("direction", action, slices.Compact(actions))
	}
	return f, nil
}

// Effort is a band of forces at a one-arm lever, and what it feels like.
type Effort struct {
	Over   float64 // low end [N]
	To     float64 // high end [N]; +Inf in the last band
	Words  string  // "comfortable for most", ...
	Source string  // where the bands come from
	Grade  Grade   // grade of evidence
}

// EffortOf returns the band of a force [N] of 0 or more at a one-arm lever.
func EffortOf(force float64) (Effort, error) {
	t := get("hand-force-bands")
	for row := range t.Rows {
		over, to := t.number(row, "over_N"), math.Inf(1)
		if t.text(row, "to_N") != "" {
			to = t.number(row, "to_N")
		}
		if force >= over && force <= to && !math.IsInf(force, 1) {
			return Effort{Over: over, To: to, Words: t.text(row, "effort"), Source: t.Source, Grade: t.grade(row)}, nil
		}
	}
	return Effort{}, outside("hand force", force, "N", 0, math.Inf(1))
}

// SealFriction is a range of friction coefficients.
type SealFriction struct {
	Pair   string  // seal, lubricant
	Low    float64 // µ: low end of the running coefficient [-]
	High   float64 // µ: high end of the running coefficient [-]
	Source string  // handbook
	Grade  Grade   // grade of evidence
}

// SealFrictions returns the running friction coefficients of piston seals. Break-out
// after a rest is up to three times as much.
func SealFrictions() []SealFriction {
	t := get("seal-friction")
	list := make([]SealFriction, len(t.Rows))
	for row := range list {
		list[row] = SealFriction{
			Pair: t.text(row, "pair"), Low: t.number(row, "low"), High: t.number(row, "high"),
			Source: t.Source, Grade: t.grade(row),
		}
	}
	return list
}

// Scald is a time in which water burns the skin of an adult to the third degree.
type Scald struct {
	Temp   float64 // T: temperature of the water, listed [K]
	Time   float64 // t: time of contact [s]
	Source string  // study
	Grade  Grade   // grade of evidence
}

// ScaldTime returns the time to a third-degree burn by water of temperature t [K]
// from 45 °C to 69 °C. Between listed temperatures it is the time of the next
// hotter one, the shorter.
func ScaldTime(t float64) (Scald, error) {
	table := get("scald-times")
	low, high := table.si(0, "water_C"), table.si(len(table.Rows)-1, "water_C")
	for row := range table.Rows {
		if temp := table.si(row, "water_C"); t >= low && t <= temp {
			seconds := map[string]float64{"s": 1, "min": 60, "h": 3600}[table.text(row, "unit")]
			return Scald{
				Temp: temp, Time: table.number(row, "third_degree") * seconds,
				Source: table.text(row, "source"), Grade: table.grade(row),
			}, nil
		}
	}
	return Scald{}, outside("water", t-celsius, "°C", low-celsius, high-celsius)
}

// BasketDiameters returns the common diameters [m] of filter baskets, rising.
func BasketDiameters() []float64 { return column("basket-diameters", "d_mm") }
