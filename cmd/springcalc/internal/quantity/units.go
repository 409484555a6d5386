// Package quantity is the one place where units are read and printed. Everything
// behind it is SI: m, N, Pa, s, kg, m³, K, rad.
//
// A quantity is a number and a unit, "58 mm", "1 3/8 in", "12.5 N/mm", and may
// carry what it may be off by, "4.00 mm ± 0.02 mm", "4.00 ± 0.02 mm",
// "9 bar ± 2 %". The ± is the half-width of an interval that holds 95 % of what
// the value could be, normally distributed, so two standard deviations; after it
// "(uniform)" or "(triangular)" says that the ± is a hard bound instead, as a
// caliper's resolution is.
//
// It knows no sheet and no machine: only what a dimension is and how it is written.
package quantity

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"springcalc/cmd/springcalc/internal/words"
)

func Finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// exponents are the powers of m, kg, s, K and rad that make up a dimension.
// Radians are kept, so that an angle cannot pass for a ratio.
type exponents [5]int8

// Dimension is what a quantity measures. Two dimensions may have the same
// exponents (a stress and a pressure); they differ in the units they offer.
type Dimension struct {
	Name  string // with its article: "a length"
	Exps  exponents
	Units []string // what a message offers; the first is the one to print in
}

var (
	DimLength       = &Dimension{"a length", exponents{1}, []string{"mm", "cm", "m", "in", "ft"}}
	DimForce        = &Dimension{"a force", exponents{1, 1, -2}, []string{"N", "kN", "lbf", "kgf"}}
	DimPressure     = &Dimension{"a pressure", exponents{-1, 1, -2}, []string{"bar", "mbar", "kPa", "MPa", "psi"}}
	DimStress       = &Dimension{"a stress", exponents{-1, 1, -2}, []string{"MPa", "GPa", "N/mm²", "ksi", "Mpsi"}}
	DimRate         = &Dimension{"a rate", exponents{0, 1, -2}, []string{"N/mm", "N/m", "lbf/in", "kgf/mm"}}
	DimVolume       = &Dimension{"a volume", exponents{3}, []string{"mL", "L", "cm³", "fl oz"}}
	DimMass         = &Dimension{"a mass", exponents{0, 1}, []string{"g", "kg", "oz", "lb"}}
	DimTime         = &Dimension{"a time", exponents{0, 0, 1}, []string{"s", "min", "h", "days", "years"}}
	DimTemperature  = &Dimension{"a temperature", exponents{0, 0, 0, 1}, []string{"°C", "°F", "K"}}
	dimTempDiff     = &Dimension{"a temperature difference", exponents{0, 0, 0, 1}, []string{"K", "°C", "°F"}}
	DimResistance   = &Dimension{"a flow resistance", exponents{-4, 1, -1}, []string{"bar·s/mL", "Pa·s/m³"}}
	DimPermeability = &Dimension{"a permeability", exponents{2}, []string{"m²", "µm²", "darcy"}}
	dimFlow         = &Dimension{"a flow", exponents{3, 0, -1}, []string{"mL/s", "L/min"}}
	dimMassFlow     = &Dimension{"a flow of mass", exponents{0, 1, -1}, []string{"g/s", "kg/min"}}
	dimEnergy       = &Dimension{"an energy", exponents{2, 1, -2}, []string{"J", "N·m", "ft·lbf"}}
	dimTorque       = &Dimension{"a torque", exponents{2, 1, -2}, []string{"N·m", "N·mm", "lbf·in", "lbf·ft"}}
	DimAngle        = &Dimension{"an angle", exponents{0, 0, 0, 0, 1}, []string{"°", "deg", "rad"}}
	DimDrag         = &Dimension{"a force per pressure", exponents{2}, []string{"N/bar", "lbf/psi"}}
	DimDensity      = &Dimension{"a density", exponents{-3, 1}, []string{"g/cm³", "kg/m³", "g/mL"}}
	dimViscosity    = &Dimension{"a viscosity", exponents{-1, 1, -1}, []string{"mPa·s", "Pa·s", "cP"}}
	dimSpeed        = &Dimension{"a speed", exponents{1, 0, -1}, []string{"m/s"}}
	DimFrequency    = &Dimension{"a number per time", exponents{0, 0, -1}, []string{"/day", "/h", "/min", "Hz"}}
	DimRatio        = &Dimension{"a ratio", exponents{}, []string{"g/g", "%"}}
	DimNumber       = &Dimension{"a number", exponents{}, nil} // the one that stands bare
)

// Scale is a unit or a product of units: value in SI = (x + Zero) · Num / Den.
// Whole numbers in Num and Den keep whole values exact: 9 mm is 9/1000 m.
type Scale struct {
	Num, Den float64 // [SI unit per this unit], as a fraction
	Zero     float64 // [this unit] of a temperature scale; such a unit stands alone
	Exps     exponents
}

// unitTable has every unit by itself. Factors: BIPM, The International System
// of Units, 9th ed. 2019; inch, pound and gallon: NIST SP 811, appendix B.8
// (1 in = 25.4 mm, 1 lb = 0.453 592 37 kg, g_n = 9.806 65 m/s², exact).
var unitTable = func() map[string]Scale {
	const lb, gn, in = 0.45359237, 9.80665, 0.0254
	t := map[string]Scale{}
	add := func(exps exponents, num, den float64, symbols ...string) {
		for _, s := range symbols {
			t[s] = Scale{Num: num, Den: den, Exps: exps}
		}
	}
	length := exponents{1}
	add(length, 1, 1, "m", "metre", "metres", "meter", "meters")
	add(length, 1, 100, "cm")
	add(length, 1, 1000, "mm", "millimetre", "millimetres", "millimeter", "millimeters")
	add(length, 1, 1e6, "µm", "um")
	add(length, 254, 1e4, "in", `"`, "inch", "inches")
	add(length, 254, 1e7, "thou")
	add(length, 3048, 1e4, "ft", "'", "foot", "feet")

	force := exponents{1, 1, -2}
	add(force, 1, 1, "N", "newton", "newtons")
	add(force, 1, 1000, "mN")
	add(force, 1000, 1, "kN")
	add(force, lb*gn, 1, "lbf", "lbsf")
	add(force, lb*gn, 16, "ozf")
	add(force, 980665, 1e5, "kgf")
	add(force, 980665, 1e8, "gf")

	pressure := exponents{-1, 1, -2}
	add(pressure, 1, 1000, "mPa")
	add(pressure, 1, 1, "Pa")
	add(pressure, 100, 1, "hPa", "mbar")
	add(pressure, 1000, 1, "kPa")
	add(pressure, 1e5, 1, "bar")
	add(pressure, 1e6, 1, "MPa")
	add(pressure, 1e9, 1, "GPa")
	add(pressure, 101325, 1, "atm")
	add(pressure, lb*gn, in*in, "psi", "psig")
	add(pressure, 1000*lb*gn, in*in, "ksi", "kpsi")
	add(pressure, 1e6*lb*gn, in*in, "Mpsi")

	volume := exponents{3}
	add(volume, 1, 1000, "L", "l", "litre", "litres", "liter", "liters")
	add(volume, 1, 1e5, "cL", "cl")
	add(volume, 1, 1e6, "mL", "ml", "cc")
	add(volume, 29.5735295625, 1e6, "floz")

	mass := exponents{0, 1}
	add(mass, 1, 1, "kg", "kilo", "kilos", "kilogram", "kilograms")
	add(mass, 1, 1000, "g", "gr", "gram", "grams")
	add(mass, 1, 1e6, "mg")
	add(mass, lb, 1, "lb", "lbs", "pound", "pounds")
	add(mass, lb, 16, "oz")

	time := exponents{0, 0, 1}
	add(time, 1, 1, "s", "sec", "secs", "second", "seconds")
	add(time, 1, 1000, "ms")
	add(time, 60, 1, "min", "mins", "minute", "minutes")
	add(time, 3600, 1, "h", "hr", "hrs", "hour", "hours")
	add(time, 86400, 1, "d", "day", "days")
	add(time, 7*86400, 1, "week", "weeks")
	add(time, 365.25*86400/12, 1, "month", "months")
	add(time, 365.25*86400, 1, "year", "years", "yr", "yrs")
	add(exponents{0, 0, -1}, 1, 1, "Hz")

	temperature := exponents{0, 0, 0, 1}
	add(temperature, 1, 1, "K")
	for _, s := range []string{"°C", "degC", "C"} {
		t[s] = Scale{Num: 1, Den: 1, Zero: 273.15, Exps: temperature}
	}
	for _, s := range []string{"°F", "degF", "F"} {
		t[s] = Scale{Num: 5, Den: 9, Zero: 459.67, Exps: temperature}
	}

	angle := exponents{0, 0, 0, 0, 1}
	add(angle, 1, 1, "rad")
	add(angle, math.Pi, 180, "°", "deg", "degree", "degrees")

	energy := exponents{2, 1, -2}
	add(energy, 1, 1, "J", "Nm")
	add(energy, 1, 1000, "mJ")
	add(energy, 1000, 1, "kJ")

	add(exponents{-1, 1, -1}, 1, 1000, "cP")
	add(exponents{2}, 9.869233e-13, 1, "darcy") // cP·cm/(s·atm), to the seven digits in use
	add(exponents{}, 1, 100, "%")
	return t
}()

// anyCase has the units by their symbol in lower case, as people type them: "Bar",
// "MM", "Kg". A milli that could be a mega is left out, "MPA" and "mpa" are MPa, and
// the newton metre that could be a nanometre.
var anyCase = func() map[string]Scale {
	t := map[string]Scale{}
	for symbol, sc := range unitTable {
		if !slices.Contains([]string{"mPa", "mN", "mJ", "Nm"}, symbol) {
			t[strings.ToLower(symbol)] = sc
		}
	}
	return t
}()

// shape is the distribution that a ± stands for.
type shape int

const (
	normal     shape = iota // ± is two standard deviations
	Uniform                 // ± is a hard bound, all between equally likely
	Triangular              // ± is a hard bound, the middle likelier
)

var shapeNames = []string{"normal", "uniform", "triangular"}

func (s shape) String() string { return shapeNames[s] }

// Quantity is a value with what it may be off by, both in SI.
type Quantity struct {
	Value float64 // in the SI unit of its dimension [SI]
	Plus  float64 // half-width of the ±, 0 where none is stated [SI]
	Shape shape
}

// Sigma returns the standard deviation that the ± stands for, in SI.
func (q Quantity) Sigma() float64 {
	switch q.Shape {
	case Uniform:
		return q.Plus / math.Sqrt(3)
	case Triangular:
		return q.Plus / math.Sqrt(6)
	}
	return q.Plus / 2
}

// Parse reads a quantity of a dimension from text. Its errors say what
// would be right, but not the text itself: the caller knows where it stands.
func Parse(text string, dim *Dimension) (Quantity, error) {
	s, shape, err := cutShape(Tidy(text))
	if err != nil {
		return Quantity{}, err
	}
	for _, sign := range []string{"+/-", "+-"} {
		s = strings.Replace(s, sign, "±", 1)
	}
	left, right, plus := strings.Cut(s, "±")
	if !plus {
		if shape >= 0 {
			return Quantity{}, fmt.Errorf(`"(%s)" says how a ± is spread, and there is no ±`, shape)
		}
		v, err := parseValue(left, dim)
		return Quantity{Value: v}, err
	}
	q := Quantity{Shape: max(shape, normal)}
	if q.Value, q.Plus, err = parsePlus(left, right, dim); err != nil {
		return Quantity{}, err
	}
	if q.Plus == 0 {
		q.Shape = normal
	}
	return q, nil
}

// cutShape takes "(uniform)" and its like off the end; -1 where there is none.
func cutShape(s string) (string, shape, error) {
	open := strings.LastIndexByte(s, '(')
	if open < 0 || !strings.HasSuffix(s, ")") {
		return s, -1, nil
	}
	name := strings.TrimSpace(s[open+1 : len(s)-1])
	i := slices.Index(shapeNames, name)
	if i < 0 {
		return "", 0, fmt.Errorf(`unknown "(%s)"; a ± may be (%s)`, name, strings.Join(shapeNames, "), ("))
	}
	return strings.TrimSpace(s[:open]), shape(i), nil
}

// parsePlus reads the two sides of a ±. The left may leave its unit to the
// right ("4.00 ± 0.02 mm"); the right may be a percentage of the left.
func parsePlus(left, right string, dim *Dimension) (value, plus float64, err error) {
	off, rest, err := ScanNumber(right)
	if err != nil {
		return 0, 0, fmt.Errorf("after ±: %w", err)
	}
	if off < 0 {
		return 0, 0, errors.New("after ±: want no sign")
	}
	if rest == "%" {
		if dim == DimRatio || dim == DimTemperature || dim == dimTempDiff {
			return 0, 0, fmt.Errorf(`± in %% of %s can be read two ways; write it in %s`, dim.Name, dim.Units[0])
		}
		value, err = parseValue(left, dim)
		return value, math.Abs(value) * off / 100, err
	}
	if _, unit, err := ScanNumber(left); err == nil && unit == "" {
		left += " " + rest
	} else if rest == "" && dim != DimNumber {
		return 0, 0, errors.New(`the ± has no unit; write it with one, or in %`)
	}
	if value, err = parseValue(left, dim); err != nil {
		return 0, 0, err
	}
	if dim == DimTemperature {
		dim = dimTempDiff // a ± is a difference: 2 °C are 2 K
	}
	if plus, err = parseValue(right, dim); err != nil {
		return 0, 0, fmt.Errorf("after ±: %w", err)
	}
	return value, plus, nil
}

// parseValue reads one number with its unit and returns it in SI.
func parseValue(s string, dim *Dimension) (float64, error) {
	v, unit, err := ScanNumber(s)
	if err != nil {
		return 0, err
	}
	switch {
	case dim == DimNumber && unit == "":
		return v, nil
	case dim == DimNumber:
		return 0, fmt.Errorf("want a plain number, without %q", unit)
	case unit == "":
		return 0, fmt.Errorf("has no unit; write it as \"%s %s\"", strings.TrimSpace(s), dim.Units[0])
	}
	sc, err := UnitFor(unit, dim)
	if err != nil {
		return 0, err
	}
	if dim == dimTempDiff {
		sc.Zero = 0
	}
	v = (v + sc.Zero) * sc.Num / sc.Den
	if math.IsInf(v, 0) {
		return 0, errors.New("too large a number")
	}
	return v, nil
}

// UnitFor reads a unit of a dimension. A unit of mass where one of force is
// wanted, as on a spring scale, stands for the weight of that mass: kg for kgf,
// lb/in for lbf/in.
func UnitFor(unit string, dim *Dimension) (Scale, error) {
	sc, err := ParseUnit(unit, dim)
	switch {
	case err != nil:
		return Scale{}, err
	case sc.Exps == dim.Exps:
		return sc, nil
	case isWeight(sc, dim):
		sc.Num, sc.Den, sc.Exps = sc.Num*980665, sc.Den*1e5, dim.Exps
		return sc.reduced(), nil
	}
	return Scale{}, fmt.Errorf("%q is not the unit of %s, which takes %s", unit, dim.Name, words.OrList(dim.Units))
}

// isWeight says whether a unit is one of mass where a force is wanted.
func isWeight(sc Scale, dim *Dimension) bool {
	sc.Exps[0]++
	sc.Exps[2] -= 2
	return sc.Exps == dim.Exps
}

// Remark says in which way a text was read that can be read otherwise by somebody
// else: a mass on a spring scale as the force that it is; "" where there is
// nothing to say.
func Remark(text string, dim *Dimension) string {
	if dim == nil || dim == DimNumber {
		return ""
	}
	text = Tidy(text)
	if left, right, ok := strings.Cut(text, "±"); ok {
		if _, unit, err := ScanNumber(left); err == nil && unit == "" {
			left = right
		}
		text = left
	}
	_, unit, err := ScanNumber(text)
	if err != nil || unit == "" {
		return ""
	}
	if sc, err := ParseUnit(unit, dim); err != nil || sc.Exps == dim.Exps || !isWeight(sc, dim) {
		return ""
	}
	as := unit
	for _, mass := range []string{"kg", "lb", "oz", "g"} {
		if rest, ok := strings.CutPrefix(unit, mass); ok {
			as = mass + "f" + strings.TrimPrefix(rest, "s")
			break
		}
	}
	return fmt.Sprintf("%s read as %s, the weight of that mass", unit, as)
}

// LooksLike returns the unit in which the number of a text would be a usual value,
// between two [SI], and that value in the first unit of the dimension; "" where
// there is none. Of several units it is the one that comes nearest to the middle.
func LooksLike(text string, dim *Dimension, low, high float64) (unit, as string) {
	left, _, _ := strings.Cut(Tidy(text), "±")
	v, typed, err := ScanNumber(left)
	if err != nil || v <= 0 || dim == DimNumber {
		return "", ""
	}
	middle := math.Sqrt(max(low, high/100) * high)
	best := math.Inf(1)
	for _, symbol := range append(slices.Clone(dim.Units), confused[dim]...) {
		si, err := parseValue(fmt.Sprintf("%v %s", v, symbol), dim)
		if err != nil || symbol == typed || si < low || si > high {
			continue
		}
		off := math.Abs(math.Log(si / middle))
		if dim == DimTemperature {
			off = math.Abs(si - (low+high)/2)
		}
		if off < best {
			best, unit, as = off, symbol, Brief(si, si, dim)
		}
	}
	return unit, as
}

// confused are units that values are typed in by mistake, beside those of the dimension.
var confused = map[*Dimension][]string{
	DimPressure: {"ksi"}, DimStress: {"Pa", "kPa", "psi"}, DimRate: {"lbf/ft", "N/cm"}, DimVolume: {"cL"}, DimForce: {"kgf"},
}

// ScanNumber reads the number at the start of s by hand (strconv would take
// hex, "1_0" and "inf") and returns what follows it, trimmed. Fractions as
// on an inch rule are numbers too: "1/8", "1 3/8", "1-3/8"; so are "9,5" and
// "1 372" and "1,372.5". What can be read in two ways, "1,372", is an error.
func ScanNumber(s string) (v float64, rest string, err error) {
	s = strings.TrimSpace(s)
	negative := strings.HasPrefix(s, "-")
	if negative || strings.HasPrefix(s, "+") {
		s = s[1:]
	}
	if plain, after, found, err := separated(s); err != nil {
		return 0, "", err
	} else if found {
		s = plain + after
	}
	n := numberLength(s)
	if n == 0 {
		return 0, "", errors.New("want a number first")
	}
	whole, rest := s[:n], s[n:]
	if v, err = strconv.ParseFloat(whole, 64); err != nil {
		return 0, "", errors.New("too large a number")
	}
	if digits(whole) == n { // a whole number: a fraction may follow or be it
		if f, after, ok := scanFraction(strings.TrimLeft(rest, " -")); ok && rest != "" {
			v, rest = v+f, after
		} else if f, after, ok := scanFraction(s); ok {
			v, rest = f, after
		}
	}
	if negative {
		v = -v
	}
	return v, strings.TrimSpace(rest), nil
}

// separated takes commas, and points or spaces between thousands, out of the number
// at the start of s; found is false where it has none.
func separated(s string) (plain, rest string, found bool, err error) {
	n := strings.IndexFunc(s, func(r rune) bool { return (r < '0' || r > '9') && r != ',' && r != '.' })
	if n < 0 {
		n = len(s)
	}
	n = len(strings.TrimRight(s[:n], ",."))
	number, rest := s[:n], s[n:]
	commas, points := strings.Count(number, ","), strings.Count(number, ".")
	switch {
	case commas == 0 && points <= 1:
		return spaced(s)
	case commas == 1 && points == 0:
		before, after, _ := strings.Cut(number, ",")
		if len(after) == 3 && len(before) >= 1 && len(before) <= 3 && before[0] != '0' {
			return "", "", false, fmt.Errorf("can be read as %s.%s%s or as %s%s%s; write it without the comma", before, after, rest, before, after, rest)
		}
		return before + "." + after, rest, before != "", nil
	case commas > 0 && points > 0 && strings.LastIndexByte(number, ',') > strings.LastIndexByte(number, '.'):
		number = strings.NewReplacer(",", ".", ".", ",").Replace(number) // "1.234,5"
	case commas == 0:
		number = strings.ReplaceAll(number, ".", ",") // "1.234.567"
	}
	whole, fraction, decimal := strings.Cut(number, ",")
	groups := []string{whole}
	for decimal {
		whole, fraction, decimal = strings.Cut(fraction, ",")
		groups = append(groups, whole)
	}
	last := &groups[len(groups)-1]
	digitsOfLast, _, _ := strings.Cut(*last, ".")
	if !grouped(groups[:len(groups)-1], digitsOfLast) || strings.Count(strings.Join(groups, ""), ".") > 1 {
		return "", "", false, fmt.Errorf("cannot tell the decimals of %q; write a number with one point and no commas", s[:n])
	}
	return strings.Join(groups, ""), rest, true, nil
}

// grouped says whether digits stand in groups as thousands do.
func grouped(groups []string, last string) bool {
	for i, g := range append(slices.Clone(groups), last) {
		if digits(g) != len(g) || i == 0 && (len(g) < 1 || len(g) > 3) || i > 0 && len(g) != 3 {
			return false
		}
	}
	return true
}

// spaced is separated for thousands with a space between, "1 372".
func spaced(s string) (plain, rest string, found bool, err error) {
	n := digits(s)
	if n < 1 || n > 3 {
		return "", "", false, nil
	}
	plain, rest = s[:n], s[n:]
	for strings.HasPrefix(rest, " ") && digits(rest[1:]) == 3 && !strings.HasPrefix(rest[4:], "/") {
		plain, rest, found = plain+rest[1:4], rest[4:], true
	}
	return plain, rest, found, nil
}

// numberLength returns the bytes of the decimal number at the start of s.
func numberLength(s string) int {
	n := digits(s)
	if n < len(s) && s[n] == '.' {
		if after := digits(s[n+1:]); n+after > 0 {
			n += 1 + after
		}
	}
	if n > 0 && n < len(s) && (s[n] == 'e' || s[n] == 'E') {
		e := n + 1
		if e < len(s) && (s[e] == '+' || s[e] == '-') {
			e++
		}
		if d := digits(s[e:]); d > 0 {
			n = e + d
		}
	}
	return n
}

// scanFraction reads "3/8".
func scanFraction(s string) (v float64, rest string, ok bool) {
	n := digits(s)
	if n == 0 || n > 4 || n == len(s) || s[n] != '/' {
		return 0, "", false
	}
	d := digits(s[n+1:])
	if d == 0 || d > 4 {
		return 0, "", false
	}
	top, _ := strconv.Atoi(s[:n])
	bottom, _ := strconv.Atoi(s[n+1 : n+1+d])
	if bottom == 0 {
		return 0, "", false
	}
	return float64(top) / float64(bottom), s[n+1+d:], true
}

// digits counts the ASCII digits at the start of s.
func digits(s string) int {
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return i
		}
	}
	return len(s)
}

// Tidy brings the many ways to type the same sign to one.
var Tidy = func() func(string) string {
	r := strings.NewReplacer(
		"\u03bc", "µ", "⋅", "·", "*", "·", "℃", "°C", "℉", "°F", "″", `"`, "′", "'", "\u2212", "-",
		"\u00a0", " ", "\u202f", " ", "fl oz", "floz", "fl.oz", "floz",
		"½", " 1/2", "¼", " 1/4", "¾", " 3/4", "⅛", " 1/8", "⅜", " 3/8", "⅝", " 5/8", "⅞", " 7/8")
	return func(s string) string { return strings.TrimSpace(r.Replace(s)) }
}()

// ParseUnit reads a product or quotient of units, "bar·s/mL", "ft lbf",
// "kg/m³", "1/day", "/day". The dimension only serves the hints in its errors.
func ParseUnit(s string, dim *Dimension) (Scale, error) {
	if f, ok := unitTable[s]; ok {
		return f, nil
	}
	const most = 8 // factors; more is no unit, and would overflow the exponents
	product := Scale{Num: 1, Den: 1}
	rest := s
	if strings.HasPrefix(s, "1/") {
		rest = s[1:]
	}
	for range most {
		sign := int8(1)
		if after, ok := strings.CutPrefix(rest, "/"); ok {
			rest, sign = after, -1
		} else if len(rest) < len(s) {
			rest = strings.TrimPrefix(rest, "·")
		}
		factor, power, after, err := scanFactor(strings.TrimLeft(rest, " "), dim)
		if err != nil {
			return Scale{}, err
		}
		if factor.Zero != 0 {
			return Scale{}, errors.New("a temperature in a product is a difference: write K")
		}
		product.times(factor, power*sign)
		if rest = strings.TrimLeft(after, " "); rest == "" {
			return product.reduced(), nil
		}
	}
	return Scale{}, errors.New("too long a unit")
}

// scanFactor reads one unit and its power at the start of s.
func scanFactor(s string, dim *Dimension) (f Scale, power int8, rest string, err error) {
	n := strings.IndexFunc(s, func(r rune) bool {
		return !unicode.IsLetter(r) && !strings.ContainsRune("°%\"'", r)
	})
	if n < 0 {
		n = len(s)
	}
	symbol := s[:n]
	f, ok := unitTable[symbol]
	if !ok {
		f, ok = anyCase[strings.ToLower(symbol)]
	}
	if !ok {
		return Scale{}, 0, "", unknownUnit(symbol, s, dim)
	}
	power, rest, err = scanPower(s[n:])
	return f, power, rest, err
}

// scanPower reads "²", "^2", "^-1" or "2" behind a unit; 1 where there is none.
func scanPower(s string) (power int8, rest string, err error) {
	for _, p := range []struct {
		Text  string
		power int8
	}{{"²", 2}, {"³", 3}, {"⁻¹", -1}, {"^-1", -1}, {"^2", 2}, {"^3", 3}, {"2", 2}, {"3", 3}} {
		if after, ok := strings.CutPrefix(s, p.Text); ok {
			if digits(after) > 0 {
				break
			}
			return p.power, after, nil
		}
	}
	if s != "" && (s[0] == '^' || digits(s) > 0) {
		return 0, "", fmt.Errorf("power %q of a unit; known are ², ³ and ^-1", s)
	}
	return 1, s, nil
}

// times multiplies a scale by a power of another.
func (p *Scale) times(f Scale, power int8) {
	for i := range p.Exps {
		p.Exps[i] += power * f.Exps[i]
	}
	if power < 0 {
		f.Num, f.Den, power = f.Den, f.Num, -power
	}
	for range power {
		p.Num *= f.Num
		p.Den *= f.Den
	}
}

// reduced returns the same scale with a whole factor where it is one, so that
// "g/g" does not round.
func (p Scale) reduced() Scale {
	if q := p.Num / p.Den; q == math.Trunc(q) && q*p.Den == p.Num {
		p.Num, p.Den = q, 1
	} else if q := p.Den / p.Num; q == math.Trunc(q) && q*p.Num == p.Den {
		p.Num, p.Den = 1, q
	}
	return p
}

func unknownUnit(symbol, s string, dim *Dimension) error {
	if symbol == "" {
		r, _ := utf8.DecodeRuneInString(s)
		if r == utf8.RuneError {
			return fmt.Errorf("the unit breaks off; %s takes %s", dim.Name, words.OrList(dim.Units))
		}
		return fmt.Errorf("cannot read the unit at %q; %s takes %s", s, dim.Name, words.OrList(dim.Units))
	}
	var near []string // the single units that make up what the dimension takes
	for _, u := range dim.Units {
		near = append(near, strings.FieldsFunc(u, func(r rune) bool { return strings.ContainsRune("/·²³", r) })...)
	}
	return fmt.Errorf("unknown unit %q%s; %s takes %s", symbol, words.DidYouMean(symbol, near), dim.Name, words.OrList(dim.Units))
}

// Flags of a command that are quantities have one of these types: kong reads
// them with UnmarshalText. A flag that may be left out is a pointer to one.
type (
	LengthFlag      struct{ FlagValue }
	ForceFlag       struct{ FlagValue }
	PressureFlag    struct{ FlagValue }
	TimeFlag        struct{ FlagValue }
	TemperatureFlag struct{ FlagValue }
	AngleFlag       struct{ FlagValue }
	RateFlag        struct{ FlagValue }
	StressFlag      struct{ FlagValue }
)

// FlagValue is a quantity as a flag gives it.
type FlagValue struct {
	Quantity
	Typed string // as it was given
}

func (f *LengthFlag) UnmarshalText(b []byte) error      { return f.read(b, DimLength) }
func (f *ForceFlag) UnmarshalText(b []byte) error       { return f.read(b, DimForce) }
func (f *PressureFlag) UnmarshalText(b []byte) error    { return f.read(b, DimPressure) }
func (f *TimeFlag) UnmarshalText(b []byte) error        { return f.read(b, DimTime) }
func (f *TemperatureFlag) UnmarshalText(b []byte) error { return f.read(b, DimTemperature) }
func (f *AngleFlag) UnmarshalText(b []byte) error       { return f.read(b, DimAngle) }
func (f *RateFlag) UnmarshalText(b []byte) error        { return f.read(b, DimRate) }
func (f *StressFlag) UnmarshalText(b []byte) error      { return f.read(b, DimStress) }

// read is parseQuantity with the text in the error, as a flag needs it.
func (f *FlagValue) read(b []byte, dim *Dimension) (err error) {
	f.Typed = string(b)
	if f.Quantity, err = Parse(f.Typed, dim); err != nil {
		return fmt.Errorf("%q: %w", b, err)
	}
	return nil
}

// Display is a unit to print in.
type Display struct {
	Symbol string
	Dim    *Dimension
	scale  Scale
}

// displayIn returns the display of a unit of a dimension; a mistake in it is
// one of the program.
func displayIn(symbol string, dim *Dimension) Display {
	sc, err := ParseUnit(Tidy(symbol), dim)
	if err != nil || sc.Exps != dim.Exps {
		panic(fmt.Sprintf("units: %q is not %s", symbol, dim.Name))
	}
	if dim == dimTempDiff {
		sc.Zero = 0
	}
	return Display{symbol, dim, sc}
}

// The units that reports print in.
var (
	InMM         = displayIn("mm", DimLength)
	InN          = displayIn("N", DimForce)
	InBar        = displayIn("bar", DimPressure)
	InMPa        = displayIn("MPa", DimStress)
	InNPerMM     = displayIn("N/mm", DimRate)
	InML         = displayIn("mL", DimVolume)
	InCM3        = displayIn("cm³", DimVolume)
	InG          = displayIn("g", DimMass)
	InS          = displayIn("s", DimTime)
	InMin        = displayIn("min", DimTime)
	InYears      = displayIn("years", DimTime)
	InC          = displayIn("°C", DimTemperature)
	InBarSPerML  = displayIn("bar·s/mL", DimResistance)
	InMLPerS     = displayIn("mL/s", dimFlow)
	InGPerS      = displayIn("g/s", dimMassFlow)
	InJ          = displayIn("J", dimEnergy)
	InNM         = displayIn("N·m", dimTorque)
	InDeg        = displayIn("°", DimAngle)
	InNPerBar    = displayIn("N/bar", DimDrag)
	InGPerCM3    = displayIn("g/cm³", DimDensity)
	InMPaS       = displayIn("mPa·s", dimViscosity)
	InRatio      = unnamed(displayIn("g/g", DimRatio))
	InPercent    = displayIn("%", DimRatio)
	InMPerS      = displayIn("m/s", dimSpeed)
	InHz         = displayIn("Hz", DimFrequency)
	InSquareUM   = displayIn("µm²", DimPermeability)
	InDifference = displayIn("K", dimTempDiff)
)

// unnamed leaves the unit out where it says nothing: "3.09", not "3.09 g/g".
func unnamed(d Display) Display {
	d.Symbol = ""
	return d
}

// Of returns a value in SI as a number of the unit.
func (d Display) Of(si float64) float64 {
	if d.scale.Num == 0 {
		return si // the zero value, of plain numbers
	}
	return si*d.scale.Den/d.scale.Num - d.scale.Zero
}

// Text prints a value in SI with digits after the point and the unit: "6.50 bar".
func (d Display) Text(si float64, digits int) string {
	return strconv.FormatFloat(d.Of(si), 'f', digits, 64) + " " + d.Symbol
}

// Format prints a quantity so that parseQuantity reads the same back,
// with no more digits than that takes.
func Format(q Quantity, dim *Dimension) string {
	units := dim.Units
	if dim == DimRatio && q.Plus != 0 {
		units = units[:1] // a ± in % would be one of the value
	}
	s, unit := formatValue(q.Value, dim, units)
	if q.Plus != 0 {
		if dim == DimTemperature {
			dim, unit, units = dimTempDiff, "K", dimTempDiff.Units
		}
		plus, _ := formatValue(q.Plus, dim, append([]string{unit}, units...))
		s += " ± " + plus
		if q.Shape != normal {
			s += " (" + q.Shape.String() + ")"
		}
	}
	return s
}

// asTyped is how many digits a person types at most; a unit that takes more for
// a value is not the one that it was typed in.
const asTyped = 6

// handyDigits is how many digits a number has that reads well: 10 years are no
// 3652.5 days.
const handyDigits = 4

// inchFraction prints a length as on an inch rule, "1 3/8 in", where it is a whole
// number of 64ths that reads back the same; "" where it is not.
func inchFraction(si float64) string {
	parts := math.Abs(si) / 0.0254 * 64
	n := int(math.Round(parts))
	if parts > 64*40 || math.Abs(parts-float64(n)) > 1e-9*parts || n == 0 || n%64 == 0 {
		return ""
	}
	top, bottom := n%64, 64
	for top%2 == 0 {
		top, bottom = top/2, bottom/2
	}
	s := fmt.Sprintf("%d/%d in", top, bottom)
	if n > 64 {
		s = fmt.Sprintf("%d %s", n/64, s)
	}
	if si < 0 {
		s = "-" + s
	}
	if back, err := parseValue(s, DimLength); err != nil || back != si {
		return ""
	}
	return s
}

// formatValue prints a value in the first of the units that gives a handy
// number and reads back the same, and returns that unit: a value typed in
// inches need not be a decimal number of millimetres. Last comes SI, which
// always does.
func formatValue(si float64, dim *Dimension, units []string) (text, unit string) {
	if dim == DimNumber {
		return plain(si, -1), ""
	}
	for _, look := range []struct {
		handy bool
		most  int // digits
	}{{true, handyDigits}, {true, asTyped}, {false, asTyped}, {true, 17}, {false, 17}} {
		if look.most == asTyped && look.handy && dim == DimLength {
			if s := inchFraction(si); s != "" {
				return s, "in"
			}
		}
		for _, unit := range units {
			v := displayIn(unit, dim).Of(si)
			if look.handy && !isHandy(v) {
				continue
			}
			for digits := 1; digits <= look.most; digits++ {
				s := plain(v, digits) + " " + unit
				if back, err := parseValue(Tidy(s), dim); err == nil && back == si {
					return s, unit
				}
			}
		}
	}
	unit = baseUnit(dim.Exps)
	return plain(si, -1) + " " + unit, unit
}

// plain prints a number with some significant digits, or with as many as it
// takes for -1, and with an exponent only where it is very large or small.
func plain(v float64, digits int) string {
	s := strconv.FormatFloat(v, 'g', digits, 64)
	if size := math.Abs(v); size < 1e-4 || size >= 1e9 || !strings.Contains(s, "e") {
		return s
	}
	rounded, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return s
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}

// baseUnit spells exponents in SI base units.
func baseUnit(e exponents) string {
	above, below := "1", ""
	for i, name := range []string{"m", "kg", "s", "K", "rad"} {
		above += strings.Repeat("·"+name, int(max(e[i], 0)))
		below += strings.Repeat("/"+name, int(max(-e[i], 0)))
	}
	return strings.TrimPrefix(above, "1·") + below
}

// isHandy says whether a number reads well.
func isHandy(v float64) bool { return v == 0 || math.Abs(v) >= 0.1 && math.Abs(v) < 1e4 }

// handyUnit returns the first unit of a dimension that gives a handy number,
// or the first of all.
func handyUnit(si float64, dim *Dimension) Display {
	for _, symbol := range dim.Units {
		if d := displayIn(symbol, dim); isHandy(d.Of(si)) {
			return d
		}
	}
	return displayIn(dim.Units[0], dim)
}

// Brief prints a value for reading with four digits, in a unit that is handy
// for another value [SI] of its kind.
func Brief(si, kind float64, dim *Dimension) string {
	if dim == DimNumber {
		return plain(si, 4)
	}
	unit := handyUnit(kind, dim)
	return plain(unit.Of(si), 4) + " " + unit.Symbol
}

// bare are units in which the packages behind speak of a value, with the unit of
// the trade for it and the value from which on the first is kept.
var bare = map[string]struct {
	unit Display
	keep float64
}{
	"m": {InMM, 10}, "Pa": {InBar, 1e7}, "N/m": {InNPerMM, math.Inf(1)}, "m³": {InML, math.Inf(1)}, "kg": {InG, 1}, "rad": {InDeg, math.Inf(1)},
	"N/Pa": {InNPerBar, math.Inf(1)}, "Pa·s/m³": {InBarSPerML, math.Inf(1)}, "kg/m³": {InGPerCM3, math.Inf(1)},
}

var inSI = words.Lazy(`(-?\d[\d.]*(?:e[-+]?\d+)?) (Pa·s/m³|kg/m³|N/Pa|N/m|m³|Pa|kg|rad|m)($|[^\pL\pN²³/·])`)

// Readable puts units of the trade in place of those of SI in a message of a
// package behind: "0.006 m" is "6 mm", "2e+05 Pa" is "2 bar".
func Readable(message string) string {
	return inSI().ReplaceAllStringFunc(message, func(text string) string {
		m := inSI().FindStringSubmatch(text)
		v, err := strconv.ParseFloat(m[1], 64)
		as := bare[m[2]]
		switch {
		case err != nil:
			return text
		case m[2] == "Pa" && math.Abs(v) >= as.keep:
			return plain(InMPa.Of(v), 4) + " MPa" + m[3]
		case math.Abs(v) >= as.keep:
			return text
		}
		return plain(as.unit.Of(v), 4) + " " + as.unit.Symbol + m[3]
	})
}

// BriefRange is brief for the two ends [SI] of a range: "1 to 3 mL".
func BriefRange(low, high, kind float64, dim *Dimension) string {
	from, to := Brief(low, kind, dim), Brief(high, kind, dim)
	if _, unit, ok := strings.Cut(to, " "); ok {
		from = strings.TrimSuffix(from, " "+unit)
	}
	return from + " to " + to
}
