package ask

import (
	"fmt"
	"math"
	"math/rand/v2"
	"regexp"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/testsheet"
)

// way is how an owner may describe the spring of a machine that is known to the test:
// in a sheet, before the rest of it, or by answers that are piped in.
type way struct {
	name  string
	text  func(w *wayside) string
	piped bool // the text is answers, a line each
}

// wayside is a machine with its spring, and what that gives.
type wayside struct {
	rate, preload, stroke float64 // [N/m], [N], [m]
	peak, end             float64 // [Pa]
	lever                 string
	grind                 bool       // the rest of the sheet states the resistance, so that no known shot is asked for
	pulls, back           [2]float64 // forces of the hand 20° and 70° from rest, both ways [N]
}

// coil is a spring of that rate: d⁴ = 8 D³ n R/G.
func (w *wayside) coil() (wire, mean, free float64, active float64) {
	const g, installed = 79.35e9, 0.16 // the middle of the published moduli of steel at this size [Pa], [m]
	mean, active = 42e-3, 9
	wire = math.Pow(8*math.Pow(mean, 3)*active*w.rate/g, 0.25)
	return wire, mean, installed + w.preload/w.rate, active
}

var ways = []way{
	{name: "rate and preload", text: func(w *wayside) string {
		return fmt.Sprintf("[spring]\nrate = \"%.3f N/mm ± 2 %%\"\npreload = \"%.1f N ± 20 N\"\n", w.rate/1e3, w.preload)
	}},
	{name: "the same in pounds", text: func(w *wayside) string {
		return fmt.Sprintf("[spring]\nrate = \"%.3f lb/in ± 2 %%\"\npreload = \"%.2f lbs ± 4.5 lbs\"\n", w.rate/175.126835, w.preload/4.4482216)
	}},
	{name: "the same by a spring scale, with commas", text: func(w *wayside) string {
		comma := func(v float64) string { return strings.Replace(fmt.Sprintf("%.4f", v), ".", ",", 1) }
		return fmt.Sprintf("[spring]\nrate = \"%s kg/mm ± 2 %%\"\npreload = \"%s kg ± 2 kg\"\n", comma(w.rate/9806.65), comma(w.preload/9.80665))
	}},
	{name: "dimensions in steel", text: func(w *wayside) string {
		wire, mean, free, active := w.coil()
		return fmt.Sprintf("[spring]\nwire = \"%.4f mm ± 0.02 mm\"\noutside_diameter = \"%.4f mm\"\nactive_coils = \"%.4f\"\nends = \"squared & ground\"\ngrade = \"spring steel\"\nfree_length = \"%.2f mm ± 0.3 mm\"\ninstalled_length = \"160 mm ± 0.3 mm\"\n",
			wire*1e3, (mean+wire)*1e3, active, free*1e3)
	}},
	{name: "dimensions without the installed length, and the gauge", text: func(w *wayside) string {
		wire, mean, free, active := w.coil()
		return fmt.Sprintf("[spring]\nwire = \"%.4f mm\"\ncoil_diameter = \"%.2f mm\"\nactive_coils = \"%.4f\"\nends = \"ground\"\ngrade = \"steel\"\nfree_length = \"%.2f mm\"\n[bench]\npeak = \"%.3f bar\"\n",
			wire*1e3, mean*1e3, active, free*1e3, w.peak/1e5)
	}},
	{name: "the gauge alone", text: func(w *wayside) string {
		return fmt.Sprintf("[bench]\npeak = \"%.3f bar\"\nend_pressure = \"%.3f bar\"\n", w.peak/1e5, w.end/1e5)
	}},
	{name: "the gauge alone in psi", text: func(w *wayside) string {
		return fmt.Sprintf("[bench]\npeak = \"%.2f psi\"\nend_pressure = \"%.2f PSI\"\n", w.peak/6894.757, w.end/6894.757)
	}},
	{name: "rate and the gauge", text: func(w *wayside) string {
		return fmt.Sprintf("[spring]\nrate = \"%.3f N/mm ± 4 %%\"\n[bench]\npeak = \"%.3f bar\"\n", w.rate/1e3, w.peak/1e5)
	}},
	{name: "two pulls of the handle", text: func(w *wayside) string {
		return w.lever + fmt.Sprintf("[[lever.pull]]\nangle = \"20°\"\nforce = \"%.2f N\"\n[[lever.pull]]\nangle = \"70°\"\nforce = \"%.2f N\"\n", w.pulls[0], w.pulls[1])
	}},
	{name: "two pulls by a luggage scale, and the gauge", text: func(w *wayside) string {
		return w.lever + fmt.Sprintf("[[lever.pull]]\nangle = \"20°\"\nforce = \"%.3f kg\"\n[[lever.pull]]\nangle = \"70°\"\nforce = \"%.3f kg\"\n[bench]\npeak = \"%.3f bar\"\n",
			w.pulls[0]/9.80665, w.pulls[1]/9.80665, w.peak/1e5)
	}},
	{name: "rate, preload and the gauge", text: func(w *wayside) string {
		return fmt.Sprintf("[spring]\nrate = \"%.3f N/mm ± 2 %%\"\npreload = \"%.1f N ± 20 N\"\n[bench]\npeak = \"%.3f bar\"\nend_pressure = \"%.3f bar\"\n", w.rate/1e3, w.preload, w.peak/1e5, w.end/1e5)
	}},
	{name: "the peak of a known shot and its end", text: func(w *wayside) string {
		return fmt.Sprintf("[coffee.known]\nyield = \"30 g\"\ntime = \"40 s\"\npeak = \"%.3f bar\"\n[bench]\nend_pressure = \"%.3f bar\"\n", w.peak/1e5, w.end/1e5)
	}},
	{name: "the last visit", text: func(w *wayside) string {
		return fmt.Sprintf("[[visit]]\ndate = \"May 2021\"\npeak = \"%.3f bar\"\n[[visit]]\ndate = \"14.02.2022\"\npeak = \"%.3f bar\"\nend_pressure = \"%.3f bar\"\n", w.peak/1e5+0.3, w.peak/1e5, w.end/1e5)
	}},
	{name: "rate and preload in kN", text: func(w *wayside) string {
		return fmt.Sprintf("[spring]\nrate = \"%.4f kN/m ± 2 %%\"\npreload = \"%.5f kN ± 0.02 kN\"\n", w.rate/1e3, w.preload/1e3)
	}},
	{name: "the gauge alone in MPa and kPa", text: func(w *wayside) string {
		return fmt.Sprintf("[bench]\npeak = \"%.5f MPa\"\nend_pressure = \"%.3f kPa\"\n", w.peak/1e6, w.end/1e3)
	}},
	{name: "dimensions in inches", text: func(w *wayside) string {
		wire, mean, free, active := w.coil()
		return fmt.Sprintf("[spring]\nwire = \"%.6f in ± 0.0008 in\"\ninside_diameter = \"%.5f in\"\ntotal_coils = \"%.4f\"\nends = \"closed/ground\"\ngrade = \"carbon steel\"\nfree_length = '%.4f\" ± 1/64\"'\ninstalled_length = \"%.4f in\"\n",
			wire/0.0254, (mean-wire)/0.0254, active+2, free/0.0254, 0.16/0.0254)
	}},
	{name: "pulls both ways", text: func(w *wayside) string {
		return w.lever + fmt.Sprintf("[[lever.pull]]\nangle = \"20°\"\nforce = \"%.2f N\"\nreturning_force = \"%.2f N\"\n[[lever.pull]]\nangle = \"70°\"\nforce = \"%.2f N\"\nreturning_force = \"%.2f N\"\n",
			w.pulls[0], w.back[0], w.pulls[1], w.back[1])
	}},
	{name: "answers: the gauge alone", piped: true, text: func(w *wayside) string {
		return fmt.Sprintf("kitchen\n\n\n%.3f bar\n%.3f bar\n.\n", w.peak/1e5, w.end/1e5)
	}},
	{name: "answers: the gauge alone in psi, the wrong way round at first", piped: true, text: func(w *wayside) string {
		return fmt.Sprintf("kitchen\n\n\n<\n\n%.2f psi\n%.2f psi\n.\n", w.peak/6894.757, w.end/6894.757)
	}},
	{name: "answers: dimensions and the gauge", piped: true, text: func(w *wayside) string {
		wire, mean, free, active := w.coil()
		open := strings.Repeat("\n", 9)
		if !w.grind {
			open += "\n"
		}
		return fmt.Sprintf("kitchen\n\n\n%.3f bar\n"+open+"%.4f mm\n%.4f mm\n%.4f\nsquared and ground\nspring steel\n%.2f mm\n\n.\n", w.peak/1e5, wire*1e3, (mean+wire)*1e3, active, free*1e3)
	}},
}

// place makes the machine of a text, with a spring that the test knows.
func (w *wayside) place(t *testing.T, text string) {
	m := testsheet.Build(t, fmt.Sprintf("[spring]\nrate = \"%.6f N/mm\"\npreload = \"%.4f N\"\n", w.rate/1e3, w.preload)+text)
	w.grind = strings.Contains(text, "resistance")
	w.stroke, w.peak, w.end = m.Setup.Cylinder.Stroke, m.Setup.PeakPressure(), m.Setup.EndPressure()
	w.lever = fmt.Sprintf("[lever]\nkind = \"rack\"\nhandle_length = \"260 mm\"\npinion_diameter = \"%.4f mm\"\n", 2e3*w.stroke/(80*math.Pi/180))
	m = testsheet.Build(t, fmt.Sprintf("[spring]\nrate = \"%.6f N/mm\"\npreload = \"%.4f N\"\n", w.rate/1e3, w.preload)+text+w.lever)
	l, err := m.Lever()
	if err != nil {
		t.Fatal(err)
	}
	load := m.Load()
	load.OpenPressure = 0
	for i, degrees := range []float64{20, 70} {
		p, err := l.At(load, degrees*math.Pi/180)
		if err != nil {
			t.Fatal(err)
		}
		w.pulls[i], w.back[i] = p.Cocking, p.Returning
	}
}

// springOf asks for peak and end pressure of a machine, with their standard uncertainties.
func springOf(t *testing.T, m *machine.Machine) (peak, end *report.Row) {
	t.Helper()
	type ends struct{ peak, end float64 }
	defs := []report.Def[ends]{{Key: "peak", Of: func(e *ends) float64 { return e.peak }}, {Key: "end", Of: func(e *ends) float64 { return e.end }}}
	e := ends{m.Setup.PeakPressure(), m.Setup.EndPressure()}
	r := &report.Report{Rows: report.Rows(defs, &e)}
	q := spread.Of(defs, func() spread.Finder[ends] {
		return func(m *machine.Machine, e *ends, _ []float64) error {
			*e = ends{m.Setup.PeakPressure(), m.Setup.EndPressure()}
			return nil
		}
	})
	s, err := spread.FirstOrder(m, q)
	if err != nil {
		t.Fatal(err)
	}
	s.AddTo(r)
	return r.Row("peak"), r.Row("end")
}

// TestWaysToDescribe: one machine described in many ways is the same machine within
// the ± of each, and no optional statement is one too many: without it no interval is
// narrower.
func TestWaysToDescribe(t *testing.T) {
	const machines = 20
	rng := rand.New(rand.NewPCG(14, 20))
	known := regexp.MustCompile(`(?m)^(resistance.*\n)+`)
	for n := range machines {
		text, rate, preload := testsheet.Random(rng)
		w := wayside{rate: rate, preload: preload}
		w.place(t, text)
		for _, way := range ways {
			said := way.text(&w)
			rest := text
			if strings.Contains(said, "[coffee.known]") {
				rest = known.ReplaceAllString(text, "")
			}
			if way.piped {
				by := &saved{data: []byte(rest)}
				if heard, err := talk(t, by, false, strings.Split(said, "\n")...); err != nil {
					t.Fatalf("machine %d, %s: %v\n%s", n, way.name, err, heard)
				}
				said, rest = string(by.data), ""
			}
			s, err := machine.Read("test.toml", []byte(said+rest), nil)
			if err != nil {
				if strings.Contains(err.Error(), "coffee.known") {
					continue // no puck of this machine gives that shot
				}
				t.Fatalf("machine %d, %s: %v\n%s", n, way.name, err, said+rest)
			}
			peak, end := springOf(t, s)
			for _, row := range []struct {
				*report.Row
				want float64
			}{{peak, w.peak}, {end, w.end}} {
				if b := row.Band; b == nil || row.want < b.Low || row.want > b.High {
					t.Errorf("machine %d, %s: %s %g (%+v), want %g", n, way.name, row.Key, row.Value, b, row.want)
				}
			}
			if n >= 5 || len(s.Contradictions()) > 0 {
				continue // the next takes long
			}
			for _, path := range s.InOrder() {
				if path == "piston.port_travel" {
					continue // none where it is not stated, by definition: another machine, not one less known
				}
				less, err := machine.Read("test.toml", []byte(said+rest), []string{path + "="})
				if err != nil {
					continue // not optional
				}
				p, e := springOf(t, less)
				for i, rows := range [][2]*report.Row{{peak, p}, {end, e}} {
					if with, without := rows[0].Band.Std, rows[1].Band.Std; without < with*0.99 {
						t.Errorf("machine %d, %s without %s: %s ± %g, with it ± %g", n, way.name, path, []string{"peak", "end"}[i], without, with)
					}
				}
			}
		}
	}
	if len(ways) != 20 {
		t.Errorf("%d ways", len(ways))
	}
}
