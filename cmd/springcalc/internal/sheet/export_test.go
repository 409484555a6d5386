package sheet

import "springcalc/spring"

// What the tests see of the inside.

const (
	MostFaults      = mostFaults
	MostSheetFaults = mostSheetFaults
	Required        = required
	Alternative     = alternative
)

func (k *Key) Check(si float64) error { return k.check(si) }
func (p Place) Column() int           { return p.column }
func (e *Entry) Raw() string          { return e.raw }

// ParseBench reads readings on a bench with usual headings.
func ParseBench(name string, data []byte) ([]spring.Point, error) {
	return new(Reading).Bench(name, data)
}
