package main

import (
	"encoding/json"
	"springcalc/cmd/springcalc/internal/testsheet"
	"strings"
	"testing"
)

// TestBooksOnTheCommandLine: worked examples of books typed as flags, as somebody with
// the book in hand would, and read from --json in the units of the book. The printed
// digits are the tolerance. Their other numbers are held in package answer.
//
//   - Shigley, 8th to 10th ed., Problems 10-3, 10-6 and 10-16: music wire, oil-tempered
//     wire and phosphor bronze; the strengths are those of the book's fits
//   - Mott, Machine Elements in Mechanical Design, 4th ed., section 19-6
//   - Machinery's Handbook, 31st ed., pp. 318-319
//   - Bhandari, Design of Machine Elements, Example 10.7, as a companion recomputes it
//   - Wright, notes on springs, problem 2
func TestBooksOnTheCommandLine(t *testing.T) {
	for _, c := range []struct {
		name  string
		flags string            // --NAME=VALUE, with | between
		book  map[string]string // by key in JSON
	}{
		{"Shigley 10-3", "--wire=2.5 mm|--outside-diameter=31 mm|--total-coils=14|--ends=plain and ground|--grade=A228|--tensile-strength=1936 MPa|--free-length=162.8 mm|--installed-length=162.8 mm|--stroke=98.9 mm",
			map[string]string{"active_coils": "13", "mean_diameter_mm": "28.5", "index": "11.4", "rate_n_per_mm": "1.314", "solid_length_us_mm": "35", "load_cocked_n": "130", "safety_cocked_shigley_before": "1.29"}},
		{"Shigley 10-6", "--wire=4 mm|--coil-diameter=40 mm|--ends=plain|--grade=A229|--tensile-strength=1431 MPa|--free-length=80 mm|--installed-length=80 mm|--stroke=15 mm|--find=coils|--rate=3.33333333 N/mm",
			map[string]string{"active_coils": "11.6", "rate_n_per_mm": "3.333", "outside_diameter_mm": "44", "load_cocked_n": "50.0"}},
		{"Shigley 10-16", "--wire=3.7 mm|--outside-diameter=25.4 mm|--total-coils=13|--ends=closed and ground|--grade=B159|--tensile-strength=857.1 MPa|--free-length=95.3 mm|--installed-length=90 mm|--stroke=10 mm",
			map[string]string{"mean_diameter_mm": "21.7", "index": "5.865", "rate_n_per_mm": "8.629", "solid_length_us_mm": "48.1"}},
		{"Mott 19-6", "--wire=0.0625 in|--coil-diameter=0.60 in|--ends=closed and ground|--shear-modulus=11200 ksi|--free-length=2.75 in|--installed-length=2.75 in|--stroke=1.5 in|--find=coils|--rate=8 lbf/in",
			map[string]string{"index": "9.60", "active_coils": "12.36", "solid_length_us_in": "0.898", "outside_diameter_in": "0.663", "inside_diameter_in": "0.538", "load_cocked_lbf": "12.0"}},
		{"Machinery's Handbook", "--wire=0.0915 in|--outside-diameter=13/16 in|--ends=closed and ground|--shear-modulus=11200 ksi|--free-length=2.5 in|--installed-length=2.5 in|--stroke=1.25 in|--find=coils|--rate=28.8 lbf/in",
			map[string]string{"active_coils": "9.1", "load_cocked_lbf": "36.0"}},
		{"Bhandari 10.7", "--wire=7 mm|--coil-diameter=42 mm|--ends=closed and ground|--shear-modulus=81370 MPa|--free-length=109.337611 mm|--installed-length=109 mm|--stroke=10 mm|--find=coils|--rate=41.6666667 N/mm",
			map[string]string{"active_coils": "7.911"}},
		{"Wright 2", "--wire=12.5 mm|--coil-diameter=76 mm|--active-coils=5|--ends=closed and ground|--shear-modulus=79 GPa|--free-length=140 mm|--installed-length=140 mm|--stroke=20 mm",
			map[string]string{"rate_n_per_mm": "110"}},
	} {
		status, said := ran(t, append([]string{"spring", "--json"}, strings.Split(c.flags, "|")...)...)
		var got map[string]any
		if err := json.Unmarshal([]byte(said), &got); status != answered || err != nil {
			t.Errorf("%s: status %d, %v: %s", c.name, status, err, said)
			continue
		}
		for key, book := range c.book {
			v, ok := got[key].(float64)
			if !ok {
				t.Errorf("%s: %s is %v, the book prints %s", c.name, key, got[key], book)
				continue
			}
			testsheet.AsPrinted(t, c.name+": "+key, v, book)
		}
	}
}
