package quantity

import (
	"fmt"
	"strconv"
	"strings"
)

// Family is a family of units to print in. A value stays in SI until it is
// printed, so that a family costs nothing anywhere else.
type Family int

// The families. Coffee and water are weighed and measured in grams, millilitres
// and seconds in both.
const (
	Metric Family = iota
	Inch
)

var familyNames = []string{"metric", "inch"}

func (f Family) String() string { return familyNames[f] }

// UnmarshalText reads the name of a family.
func (f *Family) UnmarshalText(b []byte) error {
	for i, name := range familyNames {
		if string(b) == name {
			*f = Family(i)
			return nil
		}
	}
	return fmt.Errorf("%q: want metric or inch", b)
}

// inch pairs a metric unit with that of the inch family, and says how many
// digits more after the point keep the resolution.
var inch = map[string]struct {
	symbol string
	digits int
}{
	"mm":    {"in", 2},
	"N":     {"lbf", 1},
	"bar":   {"psi", -1},
	"MPa":   {"ksi", 1},
	"N/mm":  {"lbf/in", -1},
	"°C":    {"°F", 0},
	"K":     {"°F", 0},
	"J":     {"ft·lbf", 0},
	"N·m":   {"lbf·in", -1},
	"N/bar": {"lbf/psi", 2},
	"m/s":   {"ft/s", 0},
	"cm³":   {"in³", 1},
}

// inchDisplays are the displays of the inch family, by metric symbol.
var inchDisplays = map[string]Display{}

func init() {
	for _, d := range []Display{InMM, InN, InBar, InMPa, InNPerMM, InC, InJ, InNM, InNPerBar, InMPerS, InDifference, InCM3} {
		inchDisplays[d.Symbol] = displayIn(inch[d.Symbol].symbol, d.Dim)
	}
}

// In returns the display of a family for what a metric display shows, and the
// digits after the point that show as much as the given ones do there.
func (d Display) In(f Family, digits int) (Display, int) {
	other, ok := inchDisplays[d.Symbol]
	if f == Metric || !ok {
		return d, digits
	}
	if other.Dim.Exps == DimPressure.Exps && other.Symbol == "psi" && digits >= 2 {
		return other, digits - 1
	}
	return other, max(0, digits+inch[d.Symbol].digits)
}

// Unit is the unit that a person of a family writes a dimension in; "" for plain
// numbers.
func (d *Dimension) Unit(f Family) string {
	if d == nil || len(d.Units) == 0 {
		return ""
	}
	for _, other := range inchDisplays {
		if f == Inch && other.Dim == d {
			return other.Symbol
		}
	}
	return d.Units[0]
}

// Suffix is the unit in the name of a column or of a value in JSON: "n_per_mm";
// "" where it has none.
func (d Display) Suffix() string { return suffixes.Replace(d.Symbol) }

var suffixes = strings.NewReplacer(
	"N/mm", "n_per_mm", "N·m", "nm", "N/bar", "n_per_bar", "bar·s/mL", "bar_s_per_ml", "mL/s", "ml_s", "g/s", "g_s",
	"g/cm³", "g_per_cm3", "mPa·s", "mpa_s", "m/s", "m_s", "µm²", "um2", "lbf/in", "lbf_per_in", "lbf/psi", "lbf_per_psi",
	"ft·lbf", "ft_lbf", "lbf·in", "lbf_in", "ft/s", "ft_s", "cm³", "cm3", "in³", "in3",
	"/day", "per_day", "m²", "m2", "°C", "c", "°F", "f", "°", "deg", "%", "percent", "MPa", "mpa", "Hz", "hz", "mm", "mm", "mL", "ml", "N", "n", "J", "j", "K", "k")

// Number prints a value in SI as a number of the unit, with digits after the
// point; one that rounds to nothing has no sign.
func (d Display) Number(si float64, digits int) string {
	s := strconv.FormatFloat(d.Of(si), 'f', digits, 64)
	if strings.Trim(s, "-0.") == "" {
		s = strings.TrimPrefix(s, "-")
	}
	return s
}

// Step is a difference of two values [SI] as a number of the unit, without the
// zero of a temperature scale.
func (d Display) Step(si float64) float64 { return d.Of(si) - d.Of(0) }

// Zero is the value [SI] that the unit counts from: 273.15 K for °C, 0 for all
// that is no temperature.
func (d Display) Zero() float64 {
	if d.scale.Den == 0 {
		return 0
	}
	return -d.Of(0) * d.scale.Num / d.scale.Den
}

// BriefIn is Brief in a family of units: four digits, in a unit of the family
// that is handy for another value [SI] of its kind.
func BriefIn(f Family, si, kind float64, dim *Dimension) string {
	if f == Metric || dim == DimNumber {
		return Brief(si, kind, dim)
	}
	for _, d := range inchDisplays {
		if d.Dim == dim {
			return plain(d.Of(si), 4) + " " + d.Symbol
		}
	}
	return Brief(si, kind, dim)
}

// CutSuffix takes a unit off a heading as [Display.Suffix] writes it there:
// "rate_n_per_mm" is "rate" in N/mm. It knows the units of a dimension that
// answers are printed in.
func CutSuffix(heading string, dim *Dimension) (name, symbol string, ok bool) {
	longest := ""
	try := func(d Display) {
		suffix := "_" + d.Suffix()
		if d.Dim.Exps == dim.Exps && len(suffix) > len(longest) && len(heading) > len(suffix) && strings.HasSuffix(strings.ToLower(heading), suffix) {
			longest, symbol = suffix, d.Symbol
		}
	}
	for _, d := range []Display{InMM, InN, InNPerMM, InPercent} {
		try(d)
		if other, known := inchDisplays[d.Symbol]; known {
			try(other)
		}
	}
	return strings.TrimSuffix(heading, heading[len(heading)-len(longest):]), symbol, longest != ""
}
