package answer

import (
	"math"
	"strconv"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/diagnose"
	"springcalc/tables"
)

// Presumption is a figure of the table diagnosis-priors with another value.
type Presumption struct {
	Flag  string  // that states it
	Typed string  // as it was typed
	Name  string  // of the figure: "fault.seal"
	Value float64 // [SI]
}

// usualPresumptions are the figures of the table.
func usualPresumptions() (diagnose.Priors, error) {
	return diagnose.NewPriors(func(name string) (float64, bool) {
		d, ok := tables.DiagnosisPriorFor(name)
		return d.Value, ok
	})
}

// setPresumptions puts others in their place.
func setPresumptions(p *diagnose.Priors, list []Presumption) error {
	for _, x := range list {
		if err := p.Set(x.Name, x.Value); err != nil {
			return sheet.Usef("%s %q: %s", x.Flag, x.Typed, machine.WithoutPackage(err))
		}
	}
	return nil
}

// presumedIn are the dimensions of the units of the table.
var presumedIn = map[string]*quantity.Dimension{
	"-": nil, "%": quantity.DimRatio, "N": quantity.DimForce, "N/bar": quantity.DimDrag, "mL": quantity.DimVolume, "bar": quantity.DimPressure,
	"mm": quantity.DimLength, "g": quantity.DimMass, "s": quantity.DimTime, "min": quantity.DimTime, "N/mm": quantity.DimRate,
}

// ReadPresumption reads NAME=VALUE of a flag. A name is that of the table, which
// may leave out the group before its point, and write words apart.
func ReadPresumption(flag, group, typed string) (Presumption, error) {
	x := Presumption{Flag: flag, Typed: typed}
	name, value, ok := strings.Cut(typed, "=")
	name, value = strings.ToLower(strings.TrimSpace(name)), strings.TrimSpace(value)
	var known []string
	var found *tables.DiagnosisPrior
	for _, d := range tables.DiagnosisPriors() {
		short, inGroup := strings.CutPrefix(d.Name, group+".")
		if inGroup {
			known = append(known, strings.ReplaceAll(short, "_", " "))
		}
		if d.Name == name || inGroup && short == strings.ReplaceAll(name, " ", "_") {
			found = &d
		}
	}
	if !ok || found == nil {
		return x, sheet.Usef("%s %q: want NAME=VALUE with one of %s, or a name of the table diagnosis-priors", flag, typed, words.OrList(words.Quoted(known)))
	}
	x.Name = found.Name
	dim := presumedIn[found.Unit]
	if v, err := strconv.ParseFloat(value, 64); err == nil && (dim == nil || found.Unit == "min") {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return x, sheet.Usef("%s %q: not a number", flag, typed)
		}
		x.Value = v
		if dim != nil {
			x.Value = v * 60 // an effort is in minutes where no unit says otherwise
		}
		return x, x.notNegative(dim)
	}
	if dim == nil {
		return x, sheet.Usef("%s %q: want a number", flag, typed)
	}
	q, err := quantity.Parse(value, dim)
	if err != nil {
		return x, sheet.Usef("%s %q: %v", flag, typed, err)
	}
	x.Value = q.Value
	return x, x.notNegative(dim)
}

// notNegative refuses what takes less than no time.
func (x *Presumption) notNegative(dim *quantity.Dimension) error {
	if dim == quantity.DimTime && x.Value < 0 {
		return sheet.Usef("%s %q: want 0 min or more", x.Flag, x.Typed)
	}
	return nil
}
