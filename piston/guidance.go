package piston

import (
	"errors"
	"fmt"
)

// GuidanceNote goes with every verdict on a hand's effort.
const GuidanceNote = "guidance, not a limit"

// Guidance is a published grading of one-arm forces.
type Guidance struct {
	Bands  []Band // from the lightest up
	Beyond string // what to say above the last band
	Source string // where the numbers are from
}

// Band is one grade of effort.
type Band struct {
	UpTo float64 // greatest force of the band [N]
	Says string  // what to say of it
}

// Verdict is an effort held against a Guidance.
type Verdict struct {
	Band int     // index of the band; the number of bands if the effort is beyond all of them
	Says string  // what the guidance says, with GuidanceNote and the source
	Over float64 // force above the last band [N], 0 within the bands
}

// Verdict grades a force of the hand [N]. A force below zero, which pulls the
// handle away from the hand, is graded by its size.
func (g Guidance) Verdict(effort float64) (Verdict, error) {
	if err := errors.Join(g.Validate(), between("effort", effort, -maxForce, maxForce, "N")); err != nil {
		return Verdict{}, err
	}
	effort = max(effort, -effort)
	v := Verdict{Says: g.Beyond, Band: len(g.Bands), Over: max(0, effort-g.Bands[len(g.Bands)-1].UpTo)}
	for i, b := range g.Bands {
		if effort <= b.UpTo {
			v.Band, v.Says = i, b.Says
			break
		}
	}
	v.Says = fmt.Sprintf("%s (%s; %s)", v.Says, GuidanceNote, g.Source)
	return v, nil
}

// Validate reports every fault of the grading.
func (g Guidance) Validate() error {
	if len(g.Bands) == 0 {
		return fmt.Errorf("%w: guidance without bands", ErrValue)
	}
	var errs []error
	below := 0.0
	for i, b := range g.Bands {
		if !(b.UpTo > below && b.UpTo <= maxForce) {
			errs = append(errs, fmt.Errorf("%w: guidance band %d ends at %.4g N, want above %.4g N", ErrValue, i+1, b.UpTo, below))
		}
		below = b.UpTo
	}
	return errors.Join(errs...)
}
