package spread_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
)

const measuredSpring = `
[spring]
wire = "%s"
outside_diameter = "%s"
active_coils = "12 ± 0.2"
ends = "closed and ground"
shear_modulus = "79 GPa ± 2 GPa"
free_length = "168.5 mm ± 0.3 mm"
installed_length = "143 mm ± 0.4 mm"
` + "[piston]\nbore = \"50 mm\"\nstroke = \"24 mm\"\n[basket]\ndiameter = \"51 mm\"\n[coffee]\ndose = \"14 g\"\n"

var rateDefs = []report.Def[float64]{{Key: "rate", Unit: quantity.InNPerMM, Digits: 2, Head: "rate", Of: func(k *float64) float64 { return *k }}}

// TestRateByDimensions: the rate of a spring is as uncertain as the closed form
// says, to first order and by draws; lengths with the same ± err together.
//
//	(u_k/k)² = c_d² + c_OD² + 2 r c_d c_OD + (u_n/n)² + (u_G/G)²,
//	c_d = (4/d + 3/D) u_d,  c_OD = -3/D u_OD
func TestRateByDimensions(t *testing.T) {
	q := spread.Of(rateDefs, func() spread.Finder[float64] {
		return func(m *machine.Machine, k *float64, _ []float64) error { *k = m.Setup.Springs[0].Rate; return nil }
	})
	for _, c := range []struct {
		wire, outside string
		ud, uo, r     float64 // [m], [m], [-]
	}{
		{"7.00 mm ± 0.02 mm", "49 mm ± 0.2 mm (uniform)", 1e-5, 2e-4 / math.Sqrt(3), 0},
		{"7.00 mm ± 0.10 mm", "49 mm ± 0.1 mm", 5e-5, 5e-5, 0.5}, // the same caliper
	} {
		m := testsheet.Build(t, fmt.Sprintf(measuredSpring, c.wire, c.outside))
		s, err := spread.FirstOrder(m, q)
		if err != nil {
			t.Fatal(err)
		}
		k := m.Setup.Springs[0].Rate
		cd, co := (4/0.007+3/0.042)*c.ud, -3/0.042*c.uo
		rel := math.Sqrt(cd*cd + co*co + 2*c.r*cd*co + 0.1/12*0.1/12 + 1./79/79)
		if got := s.Std("rate"); math.Abs(got/(k*rel)-1) > 1e-5 {
			t.Errorf("%s: u = %g, want %g", c.wire, got, k*rel)
		}
		drawn, err := spread.Draw(m, q, spread.Options{Draws: 20_000, Seed: 2})
		if err != nil {
			t.Fatal(err)
		}
		if got := drawn.Std("rate"); math.Abs(got/(k*rel)-1) > 4/math.Sqrt(2*20_000) {
			t.Errorf("%s: u = %g by draws, want %g", c.wire, got, k*rel)
		}
		if want := (cd*cd + c.r*cd*co) / (rel * rel); math.Abs(s.Share("rate", "spring.wire")-want) > 1e-5 {
			t.Errorf("%s: share of the wire %g, want %g", c.wire, s.Share("rate", "spring.wire"), want)
		}
	}
}

// TestRateByInstrument: the uncertainty of the rate of a spring of 4 mm wire, D 36 mm,
// n 7.5 ± 0.1, G 70 GPa ± 2 % (standard), in percent, as 200 000 draws of the closed
// form give it. Instrument limits a are a/√3. With the mean diameter known by itself it is
// 2.42, 2.67 and 3.76 %; measured over the coils, where the error of the wire enters
// twice, a caliper gives 2.71 and 3.95 % instead of 2.67 and 3.76 %.
func TestRateByInstrument(t *testing.T) {
	q := spread.Of(rateDefs, func() spread.Finder[float64] {
		return func(m *machine.Machine, k *float64, _ []float64) error { *k = m.Setup.Springs[0].Rate; return nil }
	})
	for _, c := range []struct {
		across, coil       string
		wireLimit, coilLim float64 // [mm]
		percent            string
	}{
		{"coil_diameter", "36", 4e-3, 30e-3, "2.42"},
		{"coil_diameter", "36", 20e-3, 20e-3, "2.67"},
		{"coil_diameter", "36", 50e-3, 50e-3, "3.76"},
		{"outside_diameter", "40", 4e-3, 30e-3, "2.42"},
		{"outside_diameter", "40", 20e-3, 20e-3, "2.71"},
		{"outside_diameter", "40", 50e-3, 50e-3, "3.95"},
		{"inside_diameter", "32", 20e-3, 20e-3, "2.63"},
	} {
		// Another shape is another instrument: the errors do not go together.
		text := fmt.Sprintf(measuredSpring, fmt.Sprintf("4 mm ± %g mm (uniform)", c.wireLimit), fmt.Sprintf("%s mm ± %.9g mm", c.coil, 2*c.coilLim/math.Sqrt(3)))
		text = strings.NewReplacer("outside_diameter", c.across, "12 ± 0.2", "7.5 ± 0.2", "79 GPa ± 2 GPa", "70 GPa ± 2.8 GPa").Replace(text)
		m := testsheet.Build(t, text)
		s, err := spread.FirstOrder(m, q)
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprintf("%.2f", 100*s.Std("rate")/m.Setup.Springs[0].Rate); got != c.percent {
			t.Errorf("%s, %g and %g mm: %s %%, want %s %%", c.across, c.wireLimit, c.coilLim, got, c.percent)
		}
	}
}
