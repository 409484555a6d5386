package main

import (
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/piston"
	"springcalc/profile"
)

const oRings = "[piston.o_ring]\ncord = \"5.33 mm\"\nsqueeze = 0.1\nhardness = 75\nrings = 2\n"

// leversOf are sheets of every kind of lever.
var leversOf = map[string]string{
	"rack and pinion": "pinion_diameter = \"34 mm\"\n",
	"slot in the rod": "pin_radius = \"20 mm\"\nstart_angle = \"30°\"\n",
	"slot in the lever": "pin_distance = \"30 mm\"\nstart_angle = \"-35°\"\nefficiency = 0.9\n" +
		"handle_mass = \"500 g\"\nmoving_mass = \"700 g\"\n",
	"link": "pin_radius = \"14 mm\"\nlink_length = \"60 mm\"\nstart_angle = \"25°\"\noffset = \"2 mm\"\nswing = \"110°\"\n",
	"measured": "point = [{angle = \"5°\", lift = \"1 mm\"}, {angle = \"40°\", lift = \"12 mm\"}, " +
		"{angle = \"70°\", lift = \"20 mm\"}, {angle = \"95°\", lift = \"25 mm\"}]\n",
}

func leverSheet(kind string) string {
	return testsheet.Minimal + oRings + "[lever]\nhandle_length = \"260 mm\"\nkind = \"" + kind + "\"\n" + leversOf[kind]
}

// reportOf is the report of a machine's lever.
func reportOf(t testing.TB, m *machine.Machine) *report {
	t.Helper()
	lever, err := m.Lever()
	if err != nil {
		t.Fatal(err)
	}
	r, err := leverReport(m, lever, nil)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestEveryKindLiftsTheStroke: without a swing each kind goes as far as the
// piston does, and the energy of one cocking is the spring's, whatever the kind.
func TestEveryKindLiftsTheStroke(t *testing.T) {
	for kind := range leversOf {
		m := testsheet.Build(t, leverSheet(kind))
		lever, err := m.Lever()
		if err != nil {
			t.Fatal(err)
		}
		lift := lever.Linkage.Lift(lever.Linkage.Range().To)
		if kind != "link" && math.Abs(lift-0.024) > 1e-12 { // the link has a swing
			t.Errorf("%s lifts %g m, want the stroke, 0.024", kind, lift)
		}
		want := (700 + 27e3*lift/2) * lift
		if e, err := lever.Effort(m.Load(), 2); err != nil || math.Abs(e.Energy.Stored-want) > 1e-9 {
			t.Errorf("%s: %g J to the spring, want %g (%v)", kind, e.Energy.Stored, want, err)
		}
	}
}

// TestEveryKeyOfALeverMatters varies each key of every kind.
func TestEveryKeyOfALeverMatters(t *testing.T) {
	matters := map[string]bool{}
	for kind := range leversOf {
		m := testsheet.Build(t, leverSheet(kind))
		before := reportOf(t, m)
		for path, e := range m.Entries {
			if parent, _ := sheet.SplitPath(path); e.Key.Dim == nil || !testsheet.OfTheLever(sheet.Unnumbered(parent)) {
				continue
			}
			value := 1.01 * e.Quantity.Value
			if path == "piston.o_ring.rings" {
				value = 3
			}
			other, err := m.Vary(map[string]float64{path: value})
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(before.Rows, reportOf(t, other).Rows) {
				matters[sheet.Unnumbered(path)] = true
			}
		}
	}
	for _, table := range sheet.Schema {
		for _, k := range table.Keys {
			if path := table.Path + "." + k.Name; testsheet.OfTheLever(table.Path) && k.Dim != nil && !matters[path] {
				t.Errorf("%s changes nothing", path)
			}
		}
	}
}

// TestLossesLeaveThePeakOfTheShot: what is left after all losses is the peak of
// the shot, which another package follows, and the list adds up.
func TestLossesLeaveThePeakOfTheShot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		s, err := sheet.ReadSheet("test.toml", []byte(leverSheet("rack and pinion")+"[pull]\nfill_time = \"1 s\"\n"), nil)
		if err != nil {
			t.Fatal(err)
		}
		m := &machine.Machine{Sheet: s, Varied: map[string]float64{
			"piston.port_travel": draw("port", 0, 5e-3), "piston.friction": draw("friction", 0, 60),
			"piston.friction_per_pressure": draw("drag", 0, 8e-5), "piston.mass": draw("mass", 0, 1),
			"chamber.air": draw("air", 0, 5e-6), "chamber.headspace": draw("headspace", 0, 20e-6),
			"pull.fill_time": draw("fill time", 2, 8), "pull[1].fill_time": draw("fill time 1", 2, 8),
			"pull.preinfusion": draw("pre-infusion", 5, 9),
		}}
		if err := m.Build(); err != nil {
			t.Fatal(err)
		}
		shot, err := profile.Summarize(&m.Setup)
		if err != nil {
			t.Fatal(err)
		}
		all, err := lossesOf(m)
		if err != nil {
			t.Fatal(err)
		}
		if left := all.left().Pressure; math.Abs(left-shot.Peak) > 1e-6*shot.Peak {
			t.Errorf("%g Pa left, the shot peaks at %g Pa", left, shot.Peak)
		}
		stroke, pressure := all.list[0].Stroke, all.list[0].Pressure
		for _, l := range all.list[1:] {
			if l.Stroke < -1e-12 || l.Pressure < -1e-6 {
				t.Errorf("%s gives: %+v", l.cause, l)
			}
			stroke, pressure = stroke-l.Stroke, pressure-l.Pressure
		}
		if math.Abs(stroke) > 1e-12 || math.Abs(pressure) > 1e-6 {
			t.Errorf("%g m and %g Pa unaccounted for", stroke, pressure)
		}
	})
}

// TestPairOfForces: what the hand feels both ways, as flags, gives back the friction and
// the spring of the sheet, at the handle and at the piston.
func TestPairOfForces(t *testing.T) {
	for kind := range leversOf {
		m := testsheet.Build(t, strings.Replace(leverSheet(kind), "[basket]", "friction = \"30 N\"\n[basket]", 1))
		lever, err := m.Lever()
		if err != nil {
			t.Fatal(err)
		}
		dry := m.Load()
		dry.OpenPressure = 0
		turned := 0.5
		f, err := lever.Forces(dry, lever.Linkage.Range().From+turned)
		if err != nil {
			t.Fatal(err)
		}
		force := func(v float64) *quantity.ForceFlag { return &quantity.ForceFlag{Quantity: quantity.Quantity{Value: v}} }
		flags := sealFlags{Raising: force(f.Cocking), Lowering: force(f.Returning), Turned: &quantity.AngleFlag{Quantity: quantity.Quantity{Value: turned}}}
		p, err := flags.pair(m, lever)
		if err != nil {
			t.Fatal(err)
		}
		balance := dry.Spring(p.lift)
		if math.Abs(p.friction-30) > 1e-9 || math.Abs(p.balance-balance) > 1e-9 || !(p.low <= p.friction && p.friction <= p.high) {
			t.Errorf("%s: %+v, want 30 N and %g N", kind, p, balance)
		}
		flags = sealFlags{Raising: force(balance + 30), Lowering: force(balance - 30), AtPiston: true}
		if p, err := flags.pair(m, lever); err != nil || math.Abs(p.friction-30) > 1e-9 || math.Abs(p.balance-balance) > 1e-9 || !math.IsNaN(p.lift) {
			t.Errorf("%s at the piston: %+v, %v", kind, p, err)
		}
	}
}

// TestPairInPlaceOfTheSheet: the pair's friction lowers the peak and raises the
// effort, once each, and a spring that is not the sheet's is doubted.
func TestPairInPlaceOfTheSheet(t *testing.T) {
	var out strings.Builder
	one := func(args ...string) string {
		out.Reset()
		if status := run(append([]string{"lever", "--csv"}, args...), strings.NewReader(""), &out, &out); status != answered {
			t.Fatal(out.String())
		}
		return out.String()
	}
	sheet := one("--set", "piston.friction=40 N")
	if pair := one("--raising", "1240 N", "--lowering", "1160 N", "--at-piston"); pair != sheet {
		t.Error("40 N measured at the piston are not the 40 N of the sheet")
	}
	out.Reset()
	run([]string{"lever", "--raising", "1240 N", "--lowering", "1160 N", "--at-piston", "--turned", "10°"}, strings.NewReader(""), &out, &out)
	m, err := machineFlags{}.Load(&console{}, "")
	if err != nil {
		t.Fatal(err)
	}
	const pinion = 17e-3 // radius, in the demo sheet [m]
	stated := m.Setup.Springs[0].Force(pinion * 10 * math.Pi / 180)
	want := fmt.Sprintf("show spring and weight at 1200 N, %+.0f %% off the %.0f N of the sheet", 100*(1200/stated-1), stated)
	if !strings.Contains(strings.Join(strings.Fields(out.String()), " "), want) {
		t.Errorf("no %q in %s", want, out.String())
	}
}

// TestRecoilBand: lighter masses strike faster, and a stated mass has the band of its ±.
func TestRecoilBand(t *testing.T) {
	recoil := func(more string) recoilAnswer {
		m := testsheet.Build(t, leverSheet("rack and pinion")+more)
		lever, err := m.Lever()
		if err != nil {
			t.Fatal(err)
		}
		r, err := recoil(m, lever, m.Load())
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	r := recoil("")
	if !(r.slow < r.StrikeSpeed && r.StrikeSpeed < r.fast) {
		t.Errorf("%g to %g m/s around %g", r.slow, r.fast, r.StrikeSpeed)
	}
	// By hand: all of ½ (m_h L²/3 + m r²) ω² is the spring's energy, v = L ω.
	const handle, moving, length, radius, energy = 0.5, 0.7, 0.26, 0.017, (700 + 27e3*0.012) * 0.024
	want := length * math.Sqrt(2*energy/(handle*length*length/3+moving*radius*radius))
	if r := recoil("handle_mass = \"500 g\"\nmoving_mass = \"700 g\"\n"); math.Abs(r.StrikeSpeed-want) > 1e-9 || r.slow != r.fast {
		t.Errorf("%g m/s, by hand %g; band %g to %g", r.StrikeSpeed, want, r.slow, r.fast)
	}
	if text := r.caution(); !strings.HasPrefix(text, piston.CautionUnloaded) || !strings.Contains(text, fmt.Sprintf("%.0f to", r.slow)) {
		t.Error(text)
	}
}

// TestGuidance: the bands of package tables in order, and more than one source beside them.
func TestGuidance(t *testing.T) {
	g, err := oneArm()
	if err != nil || g.Validate() != nil || len(g.Bands) != 3 || !strings.Contains(g.Beyond, "two hands") {
		t.Errorf("%+v, %v", g, err)
	}
	table, err := guidanceTable(-150)
	if err != nil {
		t.Fatal(err)
	}
	sources := map[any]bool{}
	for _, row := range table.Data {
		sources[row[4]] = true
		if low, share := row[1].(float64), row[3].(float64); math.Abs(low*share/100-150) > 1e-9 {
			t.Errorf("%v", row)
		}
	}
	if len(sources) != 2 {
		t.Errorf("sources %v", sources)
	}
}
