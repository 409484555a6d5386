package tables

import (
	"slices"
	"sync"
)

// DiagnosisPrior is one figure that a diagnosis presumes. All of them are
// judgement, for there are no data of how lever groups fail.
type DiagnosisPrior struct {
	Name  string  // "fault.seal"
	Kind  string  // "prior" (how likely), "spread" (how far sound parts and tools scatter) or "effort" (what a job takes)
	Value float64 // SI value [unit of Unit in SI base units]; an effort in s
	Unit  string  // unit as printed in the file
	Basis string  // what it means and where it comes from
	Grade Grade   // grade of evidence
}

// DiagnosisPriors returns all of them in the order of the file.
func DiagnosisPriors() []DiagnosisPrior { return slices.Clone(diagnosisPriors()) }

// DiagnosisPriorFor returns the one with a name.
func DiagnosisPriorFor(name string) (DiagnosisPrior, bool) {
	list := diagnosisPriors()
	i := slices.IndexFunc(list, func(p DiagnosisPrior) bool { return p.Name == name })
	if i < 0 {
		return DiagnosisPrior{}, false
	}
	return list[i], true
}

var diagnosisPriors = sync.OnceValue(func() []DiagnosisPrior {
	t := get("diagnosis-priors")
	list := make([]DiagnosisPrior, len(t.Rows))
	for i := range list {
		unit := t.text(i, "unit")
		list[i] = DiagnosisPrior{
			Name: t.text(i, "name"), Kind: t.text(i, "kind"), Value: toSI(t.number(i, "value"), unit),
			Unit: unit, Basis: t.text(i, "basis"), Grade: t.grade(i),
		}
	}
	return list
})
