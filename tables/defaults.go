package tables

import (
	"slices"
	"sync"
)

// Default is the value of a machine sheet that the user did not state, and how far
// the true one may be from it. With v the value, Shape means:
//
//	uniform     Low to High
//	triangular  Low to High, most likely v
//	normal      mean v, Low and High about two standard deviations away
//	lognormal   median v, Low and High about two standard deviations of ln v away
//
// A value with Low = High is a definition, or "none", and does not vary.
type Default struct {
	Key    string  // place in the machine sheet, as "coffee.retained"
	Value  float64 // SI value [unit of Unit in SI base units]
	Low    float64 // low end of the plausible range [as Value]
	High   float64 // high end of the plausible range [as Value]
	Unit   string  // unit as printed in the file
	Shape  string  // shape of the spread: "normal", "uniform", "triangular" or "lognormal"
	Source string  // standard, paper or "common practice"
	Grade  Grade   // grade of evidence
}

// DefaultFor returns the default of one key of the machine sheet.
func DefaultFor(key string) (Default, bool) {
	list := defaults()
	i := slices.IndexFunc(list, func(d Default) bool { return d.Key == key })
	if i < 0 {
		return Default{}, false
	}
	return list[i], true
}

var defaults = sync.OnceValue(func() []Default {
	t := get("defaults")
	list := make([]Default, len(t.Rows))
	for i := range list {
		unit := t.text(i, "unit")
		list[i] = Default{
			Key:    t.text(i, "key"),
			Value:  toSI(t.number(i, "value"), unit),
			Low:    toSI(t.number(i, "low"), unit),
			High:   toSI(t.number(i, "high"), unit),
			Unit:   unit,
			Shape:  t.text(i, "shape"),
			Source: t.text(i, "source"),
			Grade:  t.grade(i),
		}
	}
	return list
})
