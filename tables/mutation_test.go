package tables

import (
	"slices"
	"testing"
)

// slips returns every figure that one mistyped digit makes of a figure, in the
// order of the digits from the left: nine for each.
func slips(figure string) [][]string {
	var all [][]string
	for i, c := range figure {
		if c < '0' || c > '9' {
			continue
		}
		var digit []string
		for d := '0'; d <= '9'; d++ {
			if d != c {
				digit = append(digit, figure[:i]+string(d)+figure[i+1:])
			}
		}
		all = append(all, digit)
	}
	return all
}

// withCell returns the table with one cell changed.
func withCell(t Table, row, column int, figure string) Table {
	t.Rows = slices.Clone(t.Rows)
	t.Rows[row] = slices.Clone(t.Rows[row])
	t.Rows[row][column] = figure
	return t
}

// around keeps only a row and its neighbours, all that most laws look at.
func around(t Table, row int) Table {
	t.Rows = t.Rows[max(row-1, 0):min(row+2, len(t.Rows))]
	return t
}

// TestASlipOfADigitIsCaught mistypes every digit of every figure in the columns
// that have redundancy, nine ways each, and asks the laws of checks_test.go. In the
// columns of the first part each slip must be caught; in those of the second part
// each one but in the last digit, except for a few in a hundred, because
// the other column has fewer digits or the law is not exact.
func TestASlipOfADigitIsCaught(t *testing.T) {
	// The large tables whose laws look at neighbours only.
	local := map[string]bool{"astm-a227": true, "astm-a229": true, "en-10270-1": true, "en-10270-2": true}
	for name := range local {
		for row := range get(name).Rows {
			if err := checks[name](around(get(name), row)); err != nil {
				t.Fatal(err) // or every slip would seem to be caught
			}
		}
	}
	for _, c := range []struct {
		table   string
		columns []string
		share   float64 // that must be caught
		butLast bool    // the last digit does not count
		because string
	}{
		{"astm-a227", []string{"I_min_ksi", "I_max_ksi", "II_min_ksi", "II_max_ksi"}, 1, false, "class II follows from class I"},
		{"astm-a229", []string{"I_min_ksi", "I_max_ksi", "II_min_ksi", "II_max_ksi"}, 1, false, "class II follows from class I"},
		{"astm-a231-inch", []string{"min_ksi", "max_ksi"}, 1, false, "fixed difference"},
		{"en-10270-1", []string{"SL_max_MPa", "SM_max_MPa", "SH_min_MPa"}, 1, false, "grades follow each other"},
		{"en-10270-3-1.4310-ns", []string{"over_mm", "to_mm", "min_MPa"}, 1, false, "NS and HS differ by steps"},
		{"en-10270-3-1.4310-hs", []string{"over_mm", "to_mm", "min_MPa"}, 1, false, "NS and HS differ by steps"},
		{"en-10270-3-1.4568", []string{"over_mm", "drawn_min_MPa", "aged_min_MPa"}, 1, false, "aging adds a step"},
		{"astm-a313-302", []string{"over_in"}, 1, false, "bands meet"},
		{"astm-b159", []string{"over_in"}, 1, false, "bands meet"},
		{"shigley-moduli", []string{"E_Mpsi", "E_GPa", "G_Mpsi", "G_GPa"}, 1, false, "two units"},
		{"shigley-sut", []string{"A_kpsi"}, 1, false, "two units"},
		{"norton-sut", []string{"m"}, 1, false, "two units"},
		{"oring-squeeze-friction", []string{"shore_A", "squeeze_pct", "friction_lbf_per_in"}, 1, false, "regression"},
		{"oring-pressure-friction", []string{"friction_psi", "friction_kPa"}, 1, false, "regression, two units"},
		{"gauge-classes", []string{"class", "error_pct"}, 1, false, "the class is the error"},
		{"iapws-viscosity", []string{"i", "j", "H"}, 1, false, "eleven check values"},
		{"if97-region1", []string{"I", "J"}, 1, false, "check values"},

		{"shigley-sut", []string{"m", "A_MPa"}, 1, true, "two units"},
		{"norton-sut", []string{"A_MPa"}, 1, true, "two units"},
		{"norton-endurance", []string{"Sew_kpsi", "Sew_MPa"}, 1, true, "two units"},
		{"zimmerli", []string{"Ssa_kpsi", "Ssa_MPa", "Ssm_kpsi", "Ssm_MPa"}, 1, true, "two units"},
		{"astm-a228", []string{"min_ksi", "max_ksi"}, 0.99, true, "smooth"},
		{"astm-a313-302", []string{"min_ksi", "max_ksi"}, 1, true, "difference 27 to 30 ksi"},
		{"astm-a401", []string{"min_ksi", "max_ksi"}, 1, true, "difference 23 to 25 ksi"},
		{"en-10270-1", []string{"SL_min_MPa", "SM_min_MPa"}, 0.98, true, "closed form"},
		{"en-10270-2", []string{"min_MPa", "max_MPa"}, 0.95, true, "difference 100, 150 or 200 MPa"},
	} {
		table := get(c.table)
		for _, column := range c.columns {
			total, caught := 0, 0
			i := slices.Index(table.Header, column)
			for row := range table.Rows {
				digits := slips(table.Rows[row][i])
				if c.butLast && len(digits) > 0 {
					digits = digits[:len(digits)-1]
				}
				for _, figure := range slices.Concat(digits...) {
					total++
					mistyped := withCell(table, row, i, figure)
					if local[c.table] {
						mistyped = around(mistyped, row)
					}
					if checks[c.table](mistyped) != nil {
						caught++
					}
				}
			}
			share := float64(caught) / float64(total)
			t.Logf("%s, %s: %d of %d slips caught, %.1f %% (%s)", c.table, column, caught, total, 100*share, c.because)
			if !(share >= c.share) {
				t.Errorf("%s, %s: %.1f %% of the slips caught, want %.0f %%", c.table, column, 100*share, 100*c.share)
			}
		}
	}
}
