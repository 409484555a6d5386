package tables

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// The laws that the figures of a table obey among themselves. identities_test.go
// holds the data to them; mutation_test.go proves that a slip of a digit breaks them.

// check reports every row of a table that breaks a law.
type check func(Table) error

// checks are the laws of each table. A table without an entry has none beyond
// its head.
var checks = map[string]check{
	"if97-region1":            checkRegion1,
	"if97-region4":            checkRegion4,
	"iapws-viscosity":         checkViscosity,
	"astm-a227":               checkTwoClasses,
	"astm-a229":               checkTwoClasses,
	"astm-a228":               both(rising("d_in"), falling("min_ksi", "max_ksi"), smooth("d_in", "min_ksi", 0.8), smooth("d_in", "max_ksi", 0.8)),
	"astm-a231-inch":          both(rising("d_in"), falling("min_ksi", "max_ksi"), checkA231Width, agreesWith("astm-a231-metric", 0.02)),
	"astm-a231-metric":        both(rising("d_mm"), falling("min_MPa", "max_MPa"), agreesWith("astm-a231-inch", 0.02)),
	"astm-a401":               both(rising("d_in"), falling("min_ksi", "max_ksi"), width("min_ksi", "max_ksi", 23, 25)),
	"astm-a313-302":           both(bandsMeet("over_in", "to_in"), falling("min_ksi", "max_ksi"), width("min_ksi", "max_ksi", 27, 30)),
	"astm-b159":               both(bandsMeet("over_in", "to_in"), falling("min_ksi")),
	"en-10270-1":              both(rising("d_mm"), checkEN10270_1),
	"en-10270-1-dh":           both(rising("d_mm"), falling("min_MPa", "max_MPa")),
	"en-10270-2":              checkEN10270_2,
	"en-10270-3-1.4310-ns":    both(bandsMeet("over_mm", "to_mm"), falling("min_MPa"), checkStrengthSteps("en-10270-3-1.4310-hs", "min_MPa", "min_MPa", step{2.00, 150}, step{10, 100})),
	"en-10270-3-1.4310-hs":    both(bandsMeet("over_mm", "to_mm"), falling("min_MPa"), checkStrengthSteps("en-10270-3-1.4310-ns", "min_MPa", "min_MPa", step{2.00, -150}, step{10, -100})),
	"en-10270-3-1.4401":       both(bandsMeet("over_mm", "to_mm"), falling("min_MPa"), multiple("min_MPa", 25)),
	"en-10270-3-1.4568":       both(bandsMeet("over_mm", "to_mm"), falling("drawn_min_MPa", "aged_min_MPa"), checkStrengthSteps("", "drawn_min_MPa", "aged_min_MPa", step{5.00, 300}, step{8.5, 250})),
	"shigley-sut":             both(twoUnits("A_kpsi", "A_MPa", ksi/mpa, 0.002), checkRanges),
	"norton-sut":              twoUnits("A_psi", "A_MPa", ksi/mpa/1000, 0.0002),
	"shigley-moduli":          both(rounded("E_Mpsi", "E_GPa", ksi/mpa), rounded("G_Mpsi", "G_GPa", ksi/mpa)),
	"norton-endurance":        near("Sew_kpsi", "Sew_MPa", ksi/mpa, 0.0012),
	"bhandari-pulsating":      both(rising("endurance_pct"), rising("yield_pct")),
	"zimmerli":                both(near("Ssa_kpsi", "Ssa_MPa", ksi/mpa, 0.0045), near("Ssm_kpsi", "Ssm_MPa", ksi/mpa, 0.0012)),
	"wires":                   near("density_lb_in3", "density_g_cm3", 27.6799, 0.0025),
	"finite-life":             both(rising2("wire", "cycles"), pairFalls("unpeened_pct", "peened_pct")),
	"gauge-music-wire":        rising("d_in"),
	"gauge-steel-wire":        falling("d_in"),
	"sizes-metric":            rising("d_mm"),
	"sizes-en-10270-1":        rising("d_mm"),
	"sizes-din-2098":          both(rising("d_mm"), checkR10),
	"tolerance-en-10218-2":    both(rising("from_mm"), rising("to_mm"), rising("tolerance_mm")),
	"tolerance-astm-a228":     both(rising("to_in"), rising("tolerance_in")),
	"tolerance-coil-diameter": both(bandsMeet("over_mm", "to_mm"), checkCoilTolerance),
	"oring-squeeze-friction":  checkORingSqueeze,
	"oring-pressure-friction": checkORingPressure,
	"gauge-classes":           same("class", "error_pct"),
	"relaxation-screening":    rising("temperature_F"),
	"basket-diameters":        rising("d_mm"),
	"scald-times":             both(rising("water_C"), checkScald),
	"contact-burns":           falling("low_C", "high_C"),
	"seal-friction":           checkFriction,
	"length-instruments":      checkInstruments,
	"scale-classes":           both(bandsMeet("over_e", "to_e"), rising("error_e")),
}

func both(all ...check) check {
	return func(t Table) error {
		var errs []error
		for _, c := range all {
			errs = append(errs, c(t))
		}
		return errors.Join(errs...)
	}
}

// eachRow collects what f says of every row.
func eachRow(t Table, f func(row int) error) error {
	var errs []error
	for row := range t.Rows {
		if err := f(row); err != nil {
			errs = append(errs, fmt.Errorf("%s, row %d (%s): %w", t.Name, row+1, t.Rows[row][0], err))
		}
	}
	return errors.Join(errs...)
}

// rising: a column of sizes rises from row to row.
func rising(column string) check { return ordered(column, func(a, b float64) bool { return b > a }) }

// falling: strength does not rise with diameter.
func falling(columns ...string) check {
	var all []check
	for _, c := range columns {
		all = append(all, ordered(c, func(a, b float64) bool { return b <= a }))
	}
	return both(all...)
}

func ordered(column string, fine func(a, b float64) bool) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			if row > 0 && !fine(t.number(row-1, column), t.number(row, column)) {
				return fmt.Errorf("%s %s after %s", column, t.text(row, column), t.text(row-1, column))
			}
			return nil
		})
	}
}

// rising2: a column rises among the rows of one group.
func rising2(group, column string) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			if row > 0 && t.text(row, group) == t.text(row-1, group) && !(t.number(row, column) > t.number(row-1, column)) {
				return fmt.Errorf("%s does not rise", column)
			}
			return nil
		})
	}
}

// bandsMeet: each band begins where the one before it ends.
func bandsMeet(over, to string) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			if !(t.number(row, to) > t.number(row, over)) {
				return errors.New("empty band")
			}
			if row > 0 && t.number(row, over) != t.number(row-1, to) {
				return fmt.Errorf("begins at %s, the band before ends at %s", t.text(row, over), t.text(row-1, to))
			}
			return nil
		})
	}
}

// smooth: a strength lies within a limit of the line in log d between its
// neighbours.
func smooth(size, column string, limit float64) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			// The neighbours of an end are the next two rows on one side.
			a, b := row-1, row+1
			if row == 0 {
				a, b = 1, 2
			} else if row == len(t.Rows)-1 {
				a, b = row-2, row-1
			}
			x := func(i int) float64 { return math.Log(t.number(i, size)) }
			y := func(i int) float64 { return t.number(i, column) }
			want := y(a) + (y(b)-y(a))*(x(row)-x(a))/(x(b)-x(a))
			// Three roundings to a whole unit, and the curvature over the step.
			slack := limit + 1.5*math.Abs(x(b)-x(a))*math.Abs(x(row)-x(a))*math.Abs(y(row))
			if !(math.Abs(y(row)-want) <= slack) {
				return fmt.Errorf("%s %g, its neighbours say %.1f", column, y(row), want)
			}
			return nil
		})
	}
}

// width: maximum less minimum lies between two limits.
func width(min, max string, low, high float64) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			if w := t.number(row, max) - t.number(row, min); !(w >= low && w <= high) {
				return fmt.Errorf("max - min = %g, want %g to %g", w, low, high)
			}
			return nil
		})
	}
}

// near: two columns are one figure in two units, within a relative error.
func near(a, b string, factor, rel float64) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			if t.text(row, a) == "" {
				return nil
			}
			if x := t.number(row, a) * factor / t.number(row, b); !(math.Abs(x-1) <= rel) {
				return fmt.Errorf("%s %s is not %s %s", a, t.text(row, a), b, t.text(row, b))
			}
			return nil
		})
	}
}

// rounded: column b is column a in another unit, rounded to the digits of b.
func rounded(a, b string, factor float64) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			if t.text(row, a) == "10" && t.text(row, b) == "69.0" { // 68.9: an erratum of the book
				return nil
			}
			return sameDigits(t.number(row, a)*factor, t.text(row, b))
		})
	}
}

// twoUnits: A of A/d^m in inches and in millimetres.
func twoUnits(inch, metric string, factor, rel float64) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			got := t.number(row, inch) * factor * math.Pow(25.4, t.number(row, "m"))
			if !(math.Abs(got/t.number(row, metric)-1) <= rel) {
				return fmt.Errorf("%s %s is %.5g, not %s", inch, t.text(row, inch), got, t.text(row, metric))
			}
			return nil
		})
	}
}

// checkRanges: the ranges of Shigley's fits in inch and in mm, which the book
// rounds by up to 7 %, and 10 % at the thin end.
func checkRanges(t Table) error {
	return both(near("dmax_in", "dmax_mm", 25.4, 0.075), func(t Table) error {
		return eachRow(t, func(row int) error {
			if !(t.number(row, "dmin_in") < t.number(row, "dmax_in") && t.number(row, "dmin_mm") < t.number(row, "dmax_mm")) {
				return errors.New("empty range")
			}
			if x := t.number(row, "dmin_in") * 25.4 / t.number(row, "dmin_mm"); !(math.Abs(x-1) <= 0.11) {
				return fmt.Errorf("from %s in is not %s mm", t.text(row, "dmin_in"), t.text(row, "dmin_mm"))
			}
			return nil
		})
	})(t)
}

// checkTwoClasses: class II begins one ksi over class I and is as wide.
func checkTwoClasses(t Table) error {
	return both(rising("d_in"), falling("I_min_ksi", "I_max_ksi", "II_min_ksi", "II_max_ksi"), func(t Table) error {
		return eachRow(t, func(row int) error {
			n := func(column string) float64 { return t.number(row, column) }
			if n("II_min_ksi") != n("I_max_ksi")+1 {
				return errors.New("class II does not begin 1 ksi over class I")
			}
			if n("II_max_ksi")-n("II_min_ksi") != n("I_max_ksi")-n("I_min_ksi") {
				return errors.New("the classes are not equally wide")
			}
			return nil
		})
	})(t)
}

// checkA231Width: 25 ksi to 0.062 in, 20 ksi above.
func checkA231Width(t Table) error {
	return eachRow(t, func(row int) error {
		want := 20.0
		if t.number(row, "d_in") <= 0.062 {
			want = 25
		}
		if w := t.number(row, "max_ksi") - t.number(row, "min_ksi"); w != want {
			return fmt.Errorf("max - min = %g ksi, want %g", w, want)
		}
		return nil
	})
}

// agreesWith: the same wire is listed in another table, in other units and sizes.
func agreesWith(other string, rel float64) check {
	read := func(t Table) listed {
		if t.Name == "astm-a231-inch" {
			return readList(t, columns{size: "d_in", min: "min_ksi", max: "max_ksi"}, true)
		}
		return readList(t, columns{size: "d_mm", min: "min_MPa", max: "max_MPa"}, true)
	}
	return func(t Table) error {
		o := read(get(other))
		low, high := o.sizes()
		rows := read(t).rows
		return eachRow(t, func(row int) error {
			r := rows[row]
			if !(r.to >= low && r.to <= high) {
				return nil
			}
			want := o.at(r.to)
			if !(math.Abs(r.min/want.Min-1) <= rel && math.Abs(r.max/want.Max-1) <= rel) {
				return fmt.Errorf("%.0f to %.0f MPa, %s has %.0f to %.0f", r.min/mpa, r.max/mpa, other, want.Min/mpa, want.Max/mpa)
			}
			return nil
		})
	}
}

// checkEN10270_1: the strength classes follow each other by 10 MPa, fall with the
// size and follow their closed forms: Roloff/Matek for SL and SM, a fit for SH.
func checkEN10270_1(t Table) error {
	// values are the size and the six strengths of a row, NaN where there is none.
	// Every law below holds of NaN, since no comparison with NaN is true.
	values := func(row int) (v [7]float64) {
		for i := range v {
			v[i] = math.NaN()
			if cell := t.Rows[row][i]; cell != "" {
				v[i] = mustParse(cell)
			}
		}
		return v
	}
	const slMin, slMax, smMin, smMax, shMin = 1, 2, 3, 4, 5
	above := [7]float64{}
	return eachRow(t, func(row int) error {
		v := values(row)
		var errs []error
		if math.Abs(v[smMin]-v[slMax]-10) > 0 {
			errs = append(errs, errors.New("SM does not begin 10 MPa over SL"))
		}
		if math.Abs(v[shMin]-v[smMax]-10) > 0 {
			errs = append(errs, errors.New("SH does not begin 10 MPa over SM"))
		}
		lg := math.Log10(v[0])
		forms := [7]float64{slMin: 1720 - 660*lg, smMin: 1980 - 740*lg, shMin: 2231 - 821.5*lg}
		for i := slMin; i < len(v); i++ {
			// The weak row of 1.25 mm lies 12 MPa under the form of SH.
			if forms[i] != 0 && math.Abs(v[i]-forms[i]) > 6.5 && t.grade(row) != Weak {
				errs = append(errs, fmt.Errorf("%s %g, closed form %.1f", t.Header[i], v[i], forms[i]))
			}
			if math.Mod(v[i], 10) > 0 {
				errs = append(errs, fmt.Errorf("%s %g is not a multiple of 10", t.Header[i], v[i]))
			}
			if row > 0 && v[i] > above[i] {
				errs = append(errs, fmt.Errorf("%s rises", t.Header[i]))
			}
		}
		above = v
		return errors.Join(errs...)
	})
}

// checkEN10270_2: within each wire the bands meet and the strength falls.
func checkEN10270_2(t Table) error {
	return eachRow(t, func(row int) error {
		if w := t.number(row, "max_MPa") - t.number(row, "min_MPa"); w != 100 && w != 150 && w != 200 {
			return fmt.Errorf("max - min = %g MPa, want 100, 150 or 200", w)
		}
		if !(t.number(row, "to_mm") > t.number(row, "over_mm")) {
			return errors.New("empty band")
		}
		if row == 0 || t.text(row, "wire") != t.text(row-1, "wire") {
			return nil
		}
		if t.number(row, "over_mm") != t.number(row-1, "to_mm") {
			return errors.New("does not begin where the band before it ends")
		}
		if !(t.number(row, "min_MPa") <= t.number(row-1, "min_MPa")) {
			return errors.New("strength rises")
		}
		return nil
	})
}

// step is a difference that holds up to a size [mm].
type step struct{ to, difference float64 }

// checkStrengthSteps: two columns of EN 10270-3 differ by a fixed step, larger for
// thin wire. The second column is in the other table, or in this one.
func checkStrengthSteps(other, a, b string, steps ...step) check {
	return func(t Table) error {
		second := t
		if other != "" {
			second = get(other)
		}
		return eachRow(t, func(row int) error {
			i := slices.IndexFunc(steps, func(s step) bool { return t.number(row, "to_mm") <= s.to })
			if i < 0 {
				return errors.New("size beyond the last step")
			}
			if d := second.number(row, b) - t.number(row, a); d != steps[i].difference {
				return fmt.Errorf("differs by %g MPa, want %g", d, steps[i].difference)
			}
			return nil
		})
	}
}

func multiple(column string, of float64) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			if math.Mod(t.number(row, column), of) != 0 {
				return fmt.Errorf("%s is no multiple of %g", t.text(row, column), of)
			}
			return nil
		})
	}
}

func same(a, b string) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			if t.text(row, a) != t.text(row, b) {
				return fmt.Errorf("%s is not %s", t.text(row, a), t.text(row, b))
			}
			return nil
		})
	}
}

// pairFalls: stress falls with the life, and peening raises it.
func pairFalls(low, high string) check {
	return func(t Table) error {
		return eachRow(t, func(row int) error {
			if !(t.number(row, high) > t.number(row, low)) {
				return errors.New("peening does not help")
			}
			if row > 0 && t.text(row, "wire") == t.text(row-1, "wire") &&
				!(t.number(row, low) < t.number(row-1, low) && t.number(row, high) < t.number(row-1, high)) {
				return errors.New("stress rises with life")
			}
			return nil
		})
	}
}

// checkR10: the sizes are the series R10 of ISO 3, every second or third of it at
// the thin end, rounded by less than 2 %.
func checkR10(t Table) error {
	return eachRow(t, func(row int) error {
		steps := 10 * math.Log10(t.number(row, "d_mm"))
		if d := steps - math.Round(steps); !(math.Abs(d) <= 0.06) {
			return fmt.Errorf("%s is not in the series R10", t.text(row, "d_mm"))
		}
		return nil
	})
}

// checkCoilTolerance: the tolerance grows with class, index and diameter.
func checkCoilTolerance(t Table) error {
	return eachRow(t, func(row int) error {
		for i, column := range t.Header[2:11] {
			x := t.number(row, column)
			if i%3 > 0 && !(x >= t.number(row, t.Header[1+i])*0.999) {
				return fmt.Errorf("%s falls with the index", column)
			}
			if i >= 3 && !(x > t.number(row, t.Header[i-1])) {
				return fmt.Errorf("%s is not wider than the class before", column)
			}
			if row > 0 && !(x >= t.number(row-1, column)) {
				return fmt.Errorf("%s falls with the diameter", column)
			}
		}
		return nil
	})
}

// checkScald: hotter water burns sooner, and to the second degree before the third.
func checkScald(t Table) error {
	before := math.Inf(1)
	return eachRow(t, func(row int) error {
		unit, ok := map[string]float64{"s": 1, "min": 60, "h": 3600}[t.text(row, "unit")]
		third := t.number(row, "third_degree") * unit
		if !ok || !(third < before) {
			return fmt.Errorf("%g s, after %g s", third, before)
		}
		before = third
		if t.text(row, "second_degree") != "" && !(t.number(row, "second_degree")*unit < third) {
			return errors.New("the second degree after the third")
		}
		return nil
	})
}

// checkFriction: a range of coefficients, greater without lubricant.
func checkFriction(t Table) error {
	return eachRow(t, func(row int) error {
		low, high := t.number(row, "low"), t.number(row, "high")
		if !(low > 0 && low < high && high <= 1) || row > 0 && !(high < t.number(0, "low")) {
			return fmt.Errorf("from %g to %g", low, high)
		}
		return nil
	})
}

// checkInstruments: inside and depth measurement adds 20 µm to a caliper.
func checkInstruments(t Table) error {
	return eachRow(t, func(row int) error {
		if t.text(row, "inside_um") != "" && t.number(row, "inside_um") != t.number(row, "error_um")+20 {
			return errors.New("inside measurement does not add 20 µm")
		}
		if !(t.number(row, "error_um") > 0 && t.number(row, "error_um") <= 50 && t.number(row, "to_mm") >= 25) {
			return errors.New("no such instrument")
		}
		return nil
	})
}

// checkORingSqueeze and checkORingPressure: the regressions of Al-Ghathian and
// Tarawneh, Am. J. Appl. Sci. 2 (2005) 626, to the printed digits.
func checkORingSqueeze(t Table) error {
	return eachRow(t, func(row int) error {
		h := t.number(row, "shore_A")
		want := (-0.884 + 0.0206*h - 0.0001*h*h) * t.number(row, "squeeze_pct")
		return sameDigits(want, t.text(row, "friction_lbf_per_in"))
	})
}

func checkORingPressure(t Table) error {
	return eachRow(t, func(row int) error {
		want := 0.545 * math.Pow(t.number(row, "pressure_psi"), 0.61)
		return errors.Join(sameDigits(want, t.text(row, "friction_psi")), sameDigits(want*ksi/1e6, t.text(row, "friction_kPa")))
	})
}

// sameDigits: x rounded to the digits of the printed figure is that figure. A
// figure may carry an exponent, as "0.353658941e-2" does.
func sameDigits(x float64, figure string) error {
	mantissa, exponent, _ := strings.Cut(figure, "e")
	_, decimals, _ := strings.Cut(mantissa, ".")
	power := 0.0
	if exponent != "" {
		power = mustParse(exponent)
	}
	scale := math.Pow(10, float64(len(decimals))-power)
	if math.Round(x*scale) != math.Round(mustParse(figure)*scale) {
		return fmt.Errorf("got %.10g, printed %s", x, figure)
	}
	return nil
}

// checkRegion4, checkRegion1 and checkViscosity: the check values of the releases.
func checkRegion4(t Table) error {
	var errs []error
	for _, c := range saturationRows {
		errs = append(errs, sameDigits(saturation(t.fromOne("n"), c.kelvin)/mpa, c.book))
	}
	return errors.Join(errs...)
}

// checkRegion1 looks at the specific volume, the enthalpy and the heat capacity:
// the terms with I = 0 have no part in the volume.
func checkRegion1(t Table) error {
	terms := t.terms("I", "J", "n")
	const r = 0.461526 // [kJ/(kg K)]
	var errs []error
	for _, c := range liquidRows {
		pi, tau := c.pressure/16.53e6, 1386/c.kelvin
		gammaTau, gammaTauTau := 0.0, 0.0
		for _, x := range terms {
			i, j := float64(x.i), float64(x.j)
			g := x.n * math.Pow(7.1-pi, i) * j * math.Pow(tau-1.222, j-1)
			gammaTau += g
			gammaTauTau += g * (j - 1) / (tau - 1.222)
		}
		errs = append(errs,
			sameDigits(1/liquidDensity(terms, c.kelvin, c.pressure), c.volume),
			sameDigits(r*1386*gammaTau, c.enthalpy),
			sameDigits(-r*tau*tau*gammaTauTau, c.heatCapacity),
		)
	}
	return errors.Join(errs...)
}

func checkViscosity(t Table) error {
	var errs []error
	for _, c := range viscosityRows {
		errs = append(errs, sameDigits(viscosityOf(t.terms("i", "j", "H"), c.kelvin, c.density)/microPas, c.book))
	}
	return errors.Join(errs...)
}

func mustParse(s string) float64 {
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(err)
	}
	return x
}
