package answer

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/spring"
)

// springMachine reads a sheet of which only the springs are stated.
func springMachine(t testing.TB, find Unknown, text string, sets ...string) *machine.Machine {
	t.Helper()
	s, err := sheet.ReadSpringSheet("test.toml", []byte(text), sets, nil, find.Keys())
	if err != nil {
		t.Fatal(err)
	}
	return machine.SpringsOf(s)
}

// askSpring asks of the springs of a sheet.
func askSpring(t testing.TB, o SpringOptions, text string, sets ...string) *report.Report {
	t.Helper()
	r, err := Spring(t.Context(), springMachine(t, o.Find.Unknown, text, sets...), o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// coil is a sheet of one spring; keys as "wire=2.5 mm", lines apart.
func coil(keys ...string) string {
	text := "[spring]\n"
	for _, k := range keys {
		name, value, _ := strings.Cut(k, "=")
		if name == "stroke" {
			text += "[piston]\n"
		}
		if (strings.HasSuffix(name, "_coils") || name == "modulus_ratio") && !strings.Contains(value, " ") {
			text += name + " = " + value + "\n"
			continue
		}
		text += fmt.Sprintf("%s = %q\n", name, value)
	}
	return text
}

// Units that books print in.
const (
	inInch  = 25.4e-3
	inLbf   = 4.4482216152605
	inKpsi  = 1e3 * inLbf / (inInch * inInch)
	inMM    = 1e-3
	inMPa   = 1e6
	inNewMM = 1e3 // N/mm
	inPlain = 1.0
)

// bookRow is a row of an answer, the unit that a book prints it in, and what it prints.
type bookRow struct {
	key  string
	unit float64
	book string
}

// asInBook compares rows with a book. The printed digits are the tolerance.
func asInBook(t *testing.T, r *report.Report, rows []bookRow) {
	t.Helper()
	for _, b := range rows {
		row := r.Row(b.key)
		if row == nil {
			t.Errorf("no row %s", b.key)
			continue
		}
		testsheet.AsPrinted(t, b.key, row.Value/b.unit, b.book)
	}
}

// cellOf is the number of a table in a row that begins with some texts.
func cellOf(t *testing.T, r *report.Report, table, column string, begins ...any) float64 {
	t.Helper()
	tab := r.Table(table)
	for _, line := range tab.Data {
		same := true
		for i, b := range begins {
			same = same && (b == nil || line[i] == b)
		}
		for i, c := range tab.Columns {
			if v, ok := line[i].(float64); same && ok && c.Key == column {
				return v
			}
		}
	}
	t.Fatalf("%s has no %s beside %v", table, column, begins)
	return 0
}

// TestShigleyThroughTheAnswer: solved problems of Shigley, 8th to 10th ed., asked as a
// user would. The strengths are those of the book's fits, typed as from a certificate.
// Critical free lengths are left out: the book rounds their constant to 2.63 for every
// wire, where the answer takes E and G of the wire.
func TestShigleyThroughTheAnswer(t *testing.T) {
	// Problems 10-3 and 10-4: music wire; cocked it bears 130 N.
	k := 81e9 * math.Pow(2.5e-3, 4) / (8 * math.Pow(28.5e-3, 3) * 13)
	r := askSpring(t, SpringOptions{}, coil("wire=2.5 mm", "outside_diameter=31 mm", "total_coils=14", "ends=plain and ground", "grade=A228", "tensile_strength=1936 MPa",
		"free_length=162.8 mm", "installed_length=162.8 mm", fmt.Sprintf("stroke=%.12g mm", 130/k*1e3)))
	asInBook(t, r, []bookRow{
		{"active_coils", inPlain, "13"}, {"mean_diameter", inMM, "28.5"}, {"index", inPlain, "11.4"}, {"rate", inNewMM, "1.314"},
		{"solid_length_us", inMM, "35"}, {"clash", inPlain, "0.29"}, {"safety_cocked_shigley_before", inPlain, "1.29"},
	})
	testsheet.AsPrinted(t, "KB", cellOf(t, r, "corrections", "k", "Bergsträsser"), "1.117")
	testsheet.AsPrinted(t, "Ssy, MPa", cellOf(t, r, "stress", "allowable", "Shigley, before presetting")/inMPa, "871.2")
	r = askSpring(t, SpringOptions{Find: Find{Unknown: FreeLength, Load: 167.9, Length: 35e-3}}, coil("wire=2.5 mm", "outside_diameter=31 mm", "total_coils=14",
		"ends=plain and ground", "grade=A228", "installed_length=100 mm", "stroke=20 mm"))
	asInBook(t, r, []bookRow{{"free_length", inMM, "162.8"}})

	// Problem 10-6: oil-tempered wire, plain ends; the book goes on with 11.6 coils.
	r = askSpring(t, SpringOptions{Find: Find{Unknown: Coils, Rate: 50 / 15e-3}}, coil("wire=4 mm", "coil_diameter=40 mm", "ends=plain", "grade=A229",
		"tensile_strength=1431 MPa", "free_length=80 mm", "installed_length=80 mm", "stroke=15 mm"))
	asInBook(t, r, []bookRow{{"active_coils", inPlain, "11.6"}, {"rate", inNewMM, "3.333"}, {"outside_diameter", inMM, "44"}, {"load_cocked", inPlain, "50.0"}})
	r = askSpring(t, SpringOptions{}, coil("wire=4 mm", "coil_diameter=40 mm", "active_coils=11.6", "ends=plain", "grade=A229", "free_length=80 mm", "installed_length=80 mm", "stroke=15 mm"))
	asInBook(t, r, []bookRow{{"solid_length_us", inMM, "50.4"}, {"rate", inNewMM, "3.33"}})
	testsheet.AsPrinted(t, "KB", cellOf(t, r, "corrections", "k", "Bergsträsser"), "1.135")
	testsheet.AsPrinted(t, "ys, mm", cellOf(t, r, "loads", "deflection", "solid (US)")/inMM, "29.6")

	// Problem 10-5: hard-drawn wire, plain and ground, safe to solid with 1.2.
	r = askSpring(t, SpringOptions{Find: Find{Unknown: FreeLength, Load: 81.12, Length: 17e-3}}, coil("wire=2 mm", "outside_diameter=22 mm", "total_coils=8.5", "ends=plain and ground",
		"grade=A227", "tensile_strength=1563 MPa", "installed_length=40 mm", "stroke=5 mm"))
	asInBook(t, r, []bookRow{{"free_length", inMM, "47.7"}, {"pitch", inMM, "5.61"}, {"rate", inPlain, "2643"}, {"safety_solid_shigley_before", inPlain, "1.20"}})

	// Problem 10-16: phosphor bronze.
	r = askSpring(t, SpringOptions{}, coil("wire=3.7 mm", "outside_diameter=25.4 mm", "total_coils=13", "ends=closed and ground", "grade=B159", "tensile_strength=857.1 MPa",
		"free_length=95.3 mm", "installed_length=90 mm", "stroke=10 mm"))
	asInBook(t, r, []bookRow{{"mean_diameter", inMM, "21.7"}, {"index", inPlain, "5.865"}, {"rate", inNewMM, "8.629"}, {"solid_length_us", inMM, "48.1"}})
	testsheet.AsPrinted(t, "ys, mm", cellOf(t, r, "loads", "deflection", "solid (US)")/inMM, "47.2")
	testsheet.AsPrinted(t, "KB", cellOf(t, r, "corrections", "k", "Bergsträsser"), "1.244")
	testsheet.AsPrinted(t, "Ssy, MPa", cellOf(t, r, "stress", "allowable", "Shigley, before presetting")/inMPa, "300")
}

// TestShigleyDesignThroughTheAnswer: Shigley, Example 10-2: music wire 0.080 in for 20 lbf
// at 2 in; D as the book's index of 10.5335 gives it. The figure of merit is in cubic inches.
func TestShigleyDesignThroughTheAnswer(t *testing.T) {
	tensile := 201 * math.Pow(0.080, -0.145)
	r := askSpring(t, SpringOptions{Find: Find{Unknown: Coils, Rate: 10 * inLbf / inInch}}, coil("wire=0.080 in", "coil_diameter=0.842679 in", "ends=closed and ground", "grade=A228",
		fmt.Sprintf("tensile_strength=%.9g ksi", tensile), "free_length=3.26429 in", "installed_length=3.26429 in", "stroke=2 in"))
	asInBook(t, r, []bookRow{
		{"active_coils", inPlain, "10.05"}, {"total_coils", inPlain, "12.05"}, {"index", inPlain, "10.53"}, {"outside_diameter", inInch, "0.923"},
		{"solid_length_us", inInch, "0.964"}, {"load_cocked", inLbf, "20.0"}, {"clash", inPlain, "0.15"}, {"safety_solid_shigley_before", inPlain, "1.2"},
		{"figure_of_merit", inInch * inInch * inInch, "-0.417"},
	})
	testsheet.AsPrinted(t, "KB", cellOf(t, r, "corrections", "k", "Bergsträsser"), "1.128")
	testsheet.AsPrinted(t, "τs, psi", cellOf(t, r, "stress", "stress", "Shigley, before presetting", nil, nil, "solid")/inKpsi*1e3, "1.087e5")
}

// TestShigleyFatigueThroughTheAnswer: Shigley 8e, Problems 10-26 and 10-27: music wire
// 0.112 in from 5 to 20 lbf over 1.5 in, by Gerber and by Goodman with Zimmerli's limit.
// The index, of which the book prints five digits, is fed in as its formula gives it, eq. 10-23;
// the book's G is 11.75 Mpsi, which the table has as 81.0 GPa.
func TestShigleyFatigueThroughTheAnswer(t *testing.T) {
	sut := 201 * math.Pow(0.112, -0.145) // [kpsi]
	for _, c := range []struct {
		line spring.Line
		nf   string
		rows []bookRow
	}{
		{spring.Gerber, "fatigue_gerber", []bookRow{
			{"index", inPlain, "13.851"}, {"mean_diameter", inInch, "1.551"}, {"inside_diameter", inInch, "1.439"}, {"outside_diameter", inInch, "1.663"},
			{"active_coils", inPlain, "6.190"}, {"solid_length_us", inInch, "0.917"}, {"free_length", inInch, "3.217"}, {"stress_amplitude", inKpsi, "23.101"},
			{"safety_solid_shigley_before", inPlain, "1.754"}, {"figure_of_merit", inInch * inInch * inInch, "-1.022"},
		}},
		{spring.Goodman, "fatigue_goodman", []bookRow{
			{"index", inPlain, "13.732"}, {"mean_diameter", inInch, "1.538"}, {"active_coils", inPlain, "6.353"}, {"solid_length_us", inInch, "0.936"},
			{"free_length", inInch, "3.236"}, {"stress_amplitude", inKpsi, "22.920"}, {"safety_solid_shigley_before", inPlain, "1.768"},
			{"figure_of_merit", inInch * inInch * inInch, "-1.034"},
		}},
	} {
		z := spring.Endurance{Amplitude: 35 * inKpsi, Mean: 55 * inKpsi}
		allowed, err := z.Allowed(c.line, spring.Cycle{Amplitude: 7.5, Mean: 12.5}, 0.67*sut*inKpsi)
		if err != nil {
			t.Fatal(err)
		}
		alpha, beta := allowed/1.5, spring.Compression{Wire: 0.112 * inInch, Mean: 0.112 * inInch}.Stress(7.5*inLbf, spring.NoCorrection)
		half := (2*alpha - beta) / (4 * beta)
		mean := 0.112 * (half + math.Sqrt(half*half-3*alpha/(4*beta))) // [in]
		free := (11.75e3*math.Pow(0.112, 4)/(8*math.Pow(mean, 3)*10)*1e3+2)*0.112 + 1.15*2
		r := askSpring(t, SpringOptions{Find: Find{Unknown: Coils, Rate: 10 * inLbf / inInch}}, coil("wire=0.112 in", fmt.Sprintf("coil_diameter=%.12g in", mean), "ends=closed and ground", "grade=A228",
			fmt.Sprintf("modulus_ratio=%.9g", 11.75e3*inKpsi/81.0e9), fmt.Sprintf("tensile_strength=%.12g ksi", sut), fmt.Sprintf("free_length=%.12g in", free), fmt.Sprintf("installed_length=%.12g in", free-0.5), "stroke=1.5 in"))
		asInBook(t, r, append(c.rows, bookRow{"load_rest", inLbf, "5.0"}, bookRow{"load_cocked", inLbf, "20.0"}, bookRow{c.nf, inPlain, "1.5"}))
		if c.line == spring.Gerber {
			testsheet.AsPrinted(t, "τs, kpsi", cellOf(t, r, "stress", "stress", "Shigley, before presetting", nil, nil, "solid")/inKpsi, "70.844")
			testsheet.AsPrinted(t, "Ssa, kpsi", cellOf(t, r, "fatigue", "allowed", "Gerber")/inKpsi, "34.652")
		}
	}
}

// TestBhandariFatigueThroughTheAnswer: Bhandari, Examples 10.13 to 10.16 as a companion
// recomputes them: oil hardened wire of a stated strength between two loads.
func TestBhandariFatigueThroughTheAnswer(t *testing.T) {
	for _, c := range []struct{ d, mean, low, high, sut, fs string }{
		{"3", "18", "50", "150", "1430", "1.26"}, {"5", "30", "100", "350", "1440", "1.46"},
		{"4", "32", "30", "130", "1400", "1.85"}, {"3.6", "18", "100", "225.66", "1400", "1.48"},
	} {
		r := askSpring(t, SpringOptions{Find: Find{Unknown: Coils, Rate: (mustFloat(t, c.high) - mustFloat(t, c.low)) / 10e-3}}, coil("wire="+c.d+" mm", "coil_diameter="+c.mean+" mm",
			"ends=closed and ground", "grade=A229", "tensile_strength="+c.sut+" MPa", "free_length=200 mm",
			fmt.Sprintf("installed_length=%.12g mm", 200-10*mustFloat(t, c.low)/(mustFloat(t, c.high)-mustFloat(t, c.low))), "stroke=10 mm"))
		asInBook(t, r, []bookRow{{"load_rest", inPlain, c.low}, {"load_cocked", inPlain, c.high}, {"fatigue_bhandari", inPlain, c.fs}})
	}
	if r := askSpring(t, SpringOptions{Peened: true}, drawnSpring); r.Row("fatigue_bhandari") != nil {
		t.Error("the book has no limit for peened wire")
	}
	if r := askSpring(t, SpringOptions{}, drawnSpring, "spring.grade=A313-302"); r.Row("fatigue_bhandari") != nil || r.Row("fatigue_norton") == nil {
		t.Error("the book has no limit for stainless wire")
	}
}

func mustFloat(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestOtherBooksThroughTheAnswer: Mott 4e, section 19-6; Machinery's Handbook 31e, pp. 318-319;
// Bhandari, Examples 10.1 and 10.7 as a companion recomputes them; Wright, springs, problem 2.
func TestOtherBooksThroughTheAnswer(t *testing.T) {
	r := askSpring(t, SpringOptions{Find: Find{Unknown: Coils, Rate: 8 * inLbf / inInch}}, coil("wire=0.0625 in", "coil_diameter=0.60 in", "ends=closed and ground", "shear_modulus=11200 ksi",
		"free_length=2.75 in", "installed_length=2.75 in", "stroke=1.5 in"))
	asInBook(t, r, []bookRow{{"index", inPlain, "9.60"}, {"active_coils", inPlain, "12.36"}, {"solid_length_us", inInch, "0.898"}, {"outside_diameter", inInch, "0.663"},
		{"inside_diameter", inInch, "0.538"}, {"load_cocked", inLbf, "12.0"}})
	testsheet.AsPrinted(t, "Fs, lb", cellOf(t, r, "loads", "load", "solid (US)")/inLbf, "14.8")

	r = askSpring(t, SpringOptions{Find: Find{Unknown: Coils, Rate: 28.8 * inLbf / inInch}}, coil("wire=0.0915 in", "outside_diameter=13/16 in", "ends=closed and ground", "shear_modulus=11200 ksi",
		"free_length=2.5 in", "installed_length=2.5 in", "stroke=1.25 in"))
	asInBook(t, r, []bookRow{{"active_coils", inPlain, "9.1"}, {"load_cocked", inLbf, "36.0"}})
	testsheet.AsPrinted(t, "stress at 36 lb, psi", cellOf(t, r, "corrections", "cocked", "none")/inKpsi*1e3, "8.63e4")

	const bhandari = "shear_modulus=81370 MPa"
	r = askSpring(t, SpringOptions{Find: Find{Unknown: WireDiameter, Load: 1250, Stress: 545e6, Factor: spring.Wahl}}, coil("coil_diameter=39.750498 mm", "active_coils=8", "ends=closed and ground", bhandari,
		"free_length=109 mm", "installed_length=109 mm", "stroke=10 mm"))
	asInBook(t, r, []bookRow{{"wire", inMM, "6.625083"}})
	r = askSpring(t, SpringOptions{Find: Find{Unknown: Coils, Rate: 1250 / 30e-3}}, coil("wire=7 mm", "coil_diameter=42 mm", "ends=closed and ground", bhandari,
		"free_length=109.337611 mm", "installed_length=109 mm", "stroke=10 mm"))
	asInBook(t, r, []bookRow{{"active_coils", inPlain, "7.911"}})
	r = askSpring(t, SpringOptions{Find: Find{Unknown: WireDiameter, Load: 300, Stress: 417e6, Factor: spring.Wahl}}, coil("coil_diameter=33.325504 mm", "active_coils=5", "ends=closed and ground", bhandari,
		"free_length=56 mm", "installed_length=56 mm", "stroke=5 mm"))
	asInBook(t, r, []bookRow{{"wire", inMM, "4.165688"}})
	r = askSpring(t, SpringOptions{}, coil("wire=5 mm", "coil_diameter=40 mm", "active_coils=5", "ends=closed and ground", bhandari, "free_length=56.101389 mm", "installed_length=56 mm", "stroke=10 mm"))
	asInBook(t, r, []bookRow{{"rate", inNewMM, "19.865723"}})

	r = askSpring(t, SpringOptions{}, coil("wire=12.5 mm", "coil_diameter=76 mm", "active_coils=5", "ends=closed and ground", "shear_modulus=79 GPa", "free_length=140 mm", "installed_length=140 mm", "stroke=20 mm"))
	asInBook(t, r, []bookRow{{"rate", inNewMM, "110"}})
}

// TestConcentricThroughTheAnswer: Bhandari, Examples 10.18 and 10.19, two springs inside
// each other; their free lengths, of which only the difference matters, are left open there.
func TestConcentricThroughTheAnswer(t *testing.T) {
	nest := func(d1, D1, n1, l1, d2, D2, n2, l2, seat, stroke string) *report.Report {
		one := "wire = %q\ncoil_diameter = %q\nactive_coils = %s\nends = \"closed and ground\"\nshear_modulus = \"81370 MPa\"\nfree_length = %q\ninstalled_length = %q\n"
		return askSpring(t, SpringOptions{}, "[spring]\n"+fmt.Sprintf(one, d1, D1, n1, l1, seat)+"[spring.inner]\n"+fmt.Sprintf(one, d2, D2, n2, l2, seat)+"[piston]\nstroke = \""+stroke+"\"\n")
	}
	for _, c := range []struct {
		r              *report.Report
		p1, p2, t1, t2 string
		sum            float64
	}{
		{nest("10 mm", "80 mm", "8", "200 mm", "8 mm", "64 mm", "12", "200 mm", "200 mm", "52.526572 mm"), "1304.348", "695.652", "314.6167", "262.1806", 2000},
		{nest("6 mm", "36 mm", "10", "120 mm", "5 mm", "30 mm", "8", "105 mm", "120 mm", "24.98883914 mm"), "706.0215", "293.9785", "375.3051", "225.0322", 1000},
	} {
		asInBook(t, c.r, []bookRow{{"outer_load_cocked", inPlain, c.p1}, {"inner_load_cocked", inPlain, c.p2}})
		testsheet.AsPrinted(t, "τ1, MPa", cellOf(t, c.r, "corrections", "cocked", "outer", "Wahl")/inMPa, c.t1)
		testsheet.AsPrinted(t, "τ2, MPa", cellOf(t, c.r, "corrections", "cocked", "inner", "Wahl")/inMPa, c.t2)
		if sum := c.r.Row("load_cocked_both").Value; math.Abs(sum-c.sum) > 1e-3 {
			t.Errorf("together %g N, want %g", sum, c.sum)
		}
	}
	// In inches a printed load reads as the book would print it there.
	if got := report.Of(1304.348, quantity.InN, 0).In(quantity.Inch); got != "293.2 lbf" {
		t.Errorf("in inches %s", got)
	}
}
