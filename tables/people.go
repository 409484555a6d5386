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
