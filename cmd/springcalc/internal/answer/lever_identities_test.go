package answer

import (
	"context"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
)

const oRings = "[piston.o_ring]\ncord = \"5.33 mm\"\nsqueeze = 0.1\nhardness = 75\nrings = 2\n"

// leversOf are sheets of every kind of lever.
var leversOf = map[string]string{
	"rack and pinion": "pinion_diameter = \"34 mm\"\n",
	"slot in the rod": "pin_radius = \"20 mm\"\nstart_angle = \"30°\"\n",
	"slot in the lever": "pin_distance = \"30 mm\"\nstart_angle = \"-35°\"\nefficiency = 0.9\nslot_friction = 0.08\n" +
		"handle_mass = \"500 g\"\nhandle_centre = \"140 mm\"\nhandle_lean = \"20°\"\nmoving_mass = \"700 g\"\n",
	"link": "pin_radius = \"14 mm\"\nlink_length = \"60 mm\"\nstart_angle = \"25°\"\noffset = \"2 mm\"\nswing = \"110°\"\n",
	"measured": "point = [{angle = \"5°\", lift = \"1 mm\"}, {angle = \"40°\", lift = \"12 mm\"}, " +
		"{angle = \"70°\", lift = \"20 mm\"}, {angle = \"95°\", lift = \"25 mm\"}]\n",
}

// leverSheet is a machine with a lever of a kind, without friction, weight of the
// piston or air.
func leverSheet(kind string) string {
	return testsheet.Lossless + oRings + "[lever]\nhandle_length = \"260 mm\"\nkind = \"" + kind + "\"\n" + leversOf[kind]
}

// askLever asks for the lever of a machine.
func askLever(t testing.TB, m *machine.Machine, o LeverOptions) *report.Report {
	t.Helper()
	r, err := Lever(context.Background(), m, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// q is a quantity in SI with its ±.
func q(value, plus float64) *quantity.Quantity { return &quantity.Quantity{Value: value, Plus: plus} }

// TestEveryKindLiftsTheStroke: without a swing each kind goes as far as the
// piston does, and the energy of one cocking is the spring's, whatever the kind.
func TestEveryKindLiftsTheStroke(t *testing.T) {
	for kind := range leversOf {
		r := askLever(t, testsheet.Build(t, leverSheet(kind)), LeverOptions{})
		lift := r.Row("lift").Value
		if kind != "link" && math.Abs(lift-0.024) > 1e-12 { // the link has a swing
			t.Errorf("%s lifts %g m, want the stroke, 0.024", kind, lift)
		}
		if got, want := r.Row("recoil").Value, (700+27e3*lift/2)*lift; math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: let go %g J are set free, want %g", kind, got, want)
		}
		for _, list := range [][]report.Sentence{r.Answer, r.Next, r.Notes, r.Doubts} {
			for _, s := range list {
				if strings.Contains(s.String(), "%!") {
					t.Errorf("%q", s)
				}
			}
		}
	}
}

// TestEveryKeyOfALeverMatters varies each key of every kind.
func TestEveryKeyOfALeverMatters(t *testing.T) {
	rows := func(m *machine.Machine) []report.Row {
		var a leverAnswer
		if err := a.follow(m, &LeverOptions{}); err != nil {
			t.Fatal(err)
		}
		return a.rows()
	}
	matters := map[string]bool{}
	for kind := range leversOf {
		m := testsheet.Build(t, leverSheet(kind))
		before := rows(m)
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
			if !reflect.DeepEqual(before, rows(other)) {
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

// TestForcesOfARack: over a rack the hand's forces are those on the piston times
// r/(L η). Hot, the peak is where the port opens or at the top, where the boiler
// pushes; cold it is at the top; over a wet puck the piston draws until the water boils, at
// 70.2 kPa for 90 °C (steam tables, from memory), up to the port.
func TestForcesOfARack(t *testing.T) {
	const friction, port, stroke, fill, eta = 30, 2e-3, 24e-3, 1e5, 0.9
	text := strings.NewReplacer("stroke = \"24 mm\"\nfriction = \"0 N\"", "stroke = \"24 mm\"\nport_travel = \"2 mm\"\nfriction = \"30 N\"", "[lever]", "[lever]\nefficiency = 0.9").
		Replace(leverSheet("rack and pinion")) + "[water]\nboiler_pressure = \"1 bar\"\nbrew_temperature = \"90 °C\"\naltitude = \"0 m\"\n[pull]\nfill_time = \"30 s\"\npreinfusion = \"30 s\"\n"
	r := askLever(t, testsheet.Build(t, text), LeverOptions{})
	area, ratio := math.Pi/4*0.05*0.05, 0.017/0.26/eta
	spring := func(lift float64) float64 { return 700 + 27e3*lift }
	for key, want := range map[string]float64{
		"peak_effort": max(spring(stroke-port)+friction, spring(stroke)+friction-fill*area) * ratio,
		"peak_cold":   (spring(stroke) + friction) * ratio,
		"peak_sealed": (spring(stroke-port) + friction + (101325-70.2e3)*area) * ratio,
		"seal_effort": friction * ratio,
		"lost_stroke": port,
		"peak":        (spring(stroke-port) - 25 - friction) / area, // 25 N of a handle's weight by default
		"energy_in":   ((700+27e3*stroke/2+friction)*stroke - fill*area*port) / eta,

		"peak_hand_travel": 0.26 / 0.017,
	} {
		if got := r.Row(key).Value; math.Abs(got/want-1) > 2e-4 {
			t.Errorf("%s: %g, want %g", key, got, want)
		}
	}
	account := r.Table("energy_parts").Data // two ways in, three ways out, and what comes back
	balance := 0.0
	for i, sign := range []float64{1, 1, -1, -1, -1, 0} {
		energy, share := account[i][1].(float64), account[i][2].(float64)
		balance += sign * energy
		if math.Abs(share*r.Row("energy_in").Value-energy) > 1e-9 {
			t.Errorf("%v", account[i])
		}
	}
	if math.Abs(balance) > 1e-9 || account[5][1] != r.Row("energy_back").Value {
		t.Errorf("%g J unaccounted for in %v", balance, account)
	}
}

// TestSealUnderPressure: what the pressure adds to the friction of the seal, by the
// sheet and by the O-rings. Of one ring of 5.33 mm, squeezed by 10 %, 70 Shore A, in a bore of 50 mm a
// hand computation in inches gives 18.7 N and 1.0559 in² under pressure.
func TestSealUnderPressure(t *testing.T) {
	text := strings.NewReplacer("hardness = 75", "hardness = 70", "rings = 2", "rings = 1").Replace(leverSheet("rack and pinion"))
	r := askLever(t, testsheet.Build(t, text, "piston.friction=30 N", "piston.friction_per_pressure=5 N/bar"), LeverOptions{})
	peak := r.Row("peak").Value
	const psi, lbf = 6894.757, 4.4482216
	for key, want := range map[string]float64{
		"seal_friction": 30, "seal_friction_at_peak": 30 + 5e-5*peak,
		"o_ring": 18.7, "o_ring_at_peak": 18.7 + 0.545*math.Pow(peak/psi, 0.61)*1.0559*lbf,
	} {
		if got := r.Row(key).Value; math.Abs(got-want) > 0.05 {
			t.Errorf("%s: %g N, want %g", key, got, want)
		}
	}
	// Measured as nearly twice what the rings may have, the friction is doubted.
	odd := askLever(t, testsheet.Build(t, text, "piston.friction=50 N", "piston.friction_per_pressure=5 N/bar"), LeverOptions{})
	for doubted, r := range map[bool]*report.Report{false: r, true: odd} {
		if strings.Contains(joinSentences(r.Doubts).String(), "At 0.0 bar the friction of the seal, 50 N, is outside the O-ring estimate, 9 to 28 N") != doubted {
			t.Errorf("%s", joinSentences(r.Doubts))
		}
	}
}

// TestPairOfForces: what the hand feels both ways gives back the friction and the
// spring of the sheet, at the handle and at the piston.
func TestPairOfForces(t *testing.T) {
	for kind := range leversOf {
		m := testsheet.Build(t, leverSheet(kind), "piston.friction=30 N", "piston.mass=500 g")
		lever, err := m.Lever()
		if err != nil {
			t.Fatal(err)
		}
		dry := m.Load()
		dry.OpenPressure = 0
		const turned = 0.5 // [rad]
		at, err := lever.At(dry, lever.Linkage.Range().From+turned)
		if err != nil {
			t.Fatal(err)
		}
		balance, stated := dry.Spring(at.Lift)+0.5*9.80665, askLever(t, m, LeverOptions{})
		for place, o := range map[string]LeverOptions{
			"handle": {Raising: q(at.Cocking, 0), Lowering: q(at.Returning, 0), Turned: q(turned, 0)},
			"piston": {Raising: q(balance+30, 0), Lowering: q(balance-30, 0), AtPiston: true},
		} {
			other := testsheet.Build(t, leverSheet(kind), "piston.mass=500 g") // has no friction
			r := askLever(t, other, o)
			if got := r.Row("seal_friction").Value; math.Abs(got-30) > 1e-9 {
				t.Errorf("%s, at the %s: friction %g N, want 30", kind, place, got)
			}
			if got := r.Row("balance").Value; math.Abs(got-balance) > 1e-9 {
				t.Errorf("%s, at the %s: spring and weight %g N, want %g", kind, place, got, balance)
			}
			// The friction of the pair counts as one stated in the sheet does, once.
			for _, key := range []string{"peak_effort", "energy_in", "energy_back", "peak", "seal_effort"} {
				if got, want := r.Row(key).Value, stated.Row(key).Value; math.Abs(got/want-1) > 1e-9 {
					t.Errorf("%s, at the %s: %s %g, with the friction in the sheet %g", kind, place, key, got, want)
				}
			}
			if sheet := r.Row("balance_sheet"); (sheet != nil) != (place == "handle") || sheet != nil && math.Abs(sheet.Value/balance-1) > 1e-9 {
				t.Errorf("%s, at the %s: by the sheet %+v", kind, place, sheet)
			}
			if other.Setup.Cylinder.Seal.Constant != 0 {
				t.Error("the machine that was asked about is another one afterwards")
			}
		}
	}
}

// TestPairUncertainty: the friction by two forces is as uncertain as the closed form
// says, f = (R η - W/η) L/(2 s) with the travel of the piston per turn s.
func TestPairUncertainty(t *testing.T) {
	const eta, off, raise, lower, plus = 0.9, 0.02, 90, 50, 3.0 // ± of efficiency and forces
	text := strings.Replace(leverSheet("rack and pinion"), "[lever]", fmt.Sprintf("[lever]\nefficiency = \"%g ± %g\"", eta, off), 1)
	r := askLever(t, testsheet.Build(t, text), LeverOptions{Raising: q(raise, plus), Lowering: q(lower, plus), Turned: q(0.6, 0)})
	arm := 0.26 / 0.017 / 2
	want := arm * math.Sqrt(math.Pow(eta*plus, 2)+math.Pow(plus/eta, 2)+math.Pow((raise+lower/(eta*eta))*off, 2)) / 2
	row := r.Row("seal_friction")
	if row.Band == nil || math.Abs(row.Band.Std/want-1) > 1e-4 || math.Abs(row.Value-arm*(raise*eta-lower/eta)) > 1e-9 {
		t.Errorf("%+v, want a standard uncertainty of %g N", row, want)
	}
	if len(r.Input) == 0 || r.Input[len(r.Input)-3].Text != "90 N ± 3 N" {
		t.Errorf("stated %+v", r.Input)
	}
	// A friction may be nothing, but not less.
	wide := askLever(t, demoMachine(t), LeverOptions{Raising: q(76, 1), Lowering: q(64, 1), Turned: q(0.7, 0)}).Row("seal_friction")
	if wide.Band.Low != 0 || !(wide.Band.High > wide.Value) {
		t.Errorf("%+v", wide.Band)
	}
}

// TestPairOfAnotherSpring: a spring that is not the sheet's is doubted, first of all.
func TestPairOfAnotherSpring(t *testing.T) {
	m := demoMachine(t)
	r := askLever(t, m, LeverOptions{Raising: q(1240, 0), Lowering: q(1160, 0), Turned: q(math.Pi/18, 0), AtPiston: true})
	const pinion = 17e-3 // radius, in the demo sheet [m]
	stated := m.Setup.Springs[0].Force(pinion*math.Pi/18) + m.Setup.Cylinder.Weight
	want := fmt.Sprintf("show spring and weight at 1200 N, %+.0f %% off the %.0f N of the sheet", 100*(1200/stated-1), stated)
	if got := r.Doubts[0].String(); !strings.Contains(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestRecoilBand: lighter masses strike faster, and stated masses leave no range. By
// hand all of ½ (m_h L²/3 + m r²) ω² is the spring's energy, v = L ω.
func TestRecoilBand(t *testing.T) {
	ask := func(more string, sets ...string) (*report.Row, string) {
		r := askLever(t, testsheet.Build(t, leverSheet("rack and pinion")+more, sets...), LeverOptions{})
		return r.Row("recoil_hand"), r.Answer[1].String()
	}
	row, says := ask("")
	if row.Band == nil || !(row.Band.Low < row.Value && row.Value < row.Band.High) || !strings.Contains(says, fmt.Sprintf("(%.0f to %.0f m/s", row.Band.Low, row.Band.High)) {
		t.Errorf("%+v: %s", row, says)
	}
	const handle, moving, length, radius, energy = 0.5, 0.7, 0.26, 0.017, (700 + 27e3*0.012) * 0.024
	want := length * math.Sqrt(2*energy/(handle*length*length/3+moving*radius*radius))
	if row, _ := ask("handle_mass = \"500 g\"\nhandle_centre = \"140 mm\"\nhandle_lean = \"20°\"\nmoving_mass = \"700 g\"\n"); math.Abs(row.Value-want) > 1e-9 || row.Band != nil {
		t.Errorf("%+v, by hand %g m/s", row, want)
	}
	// What moves is not less than the piston alone, which also falls.
	const heavy = 2.0
	want = length * math.Sqrt(2*(energy+heavy*9.80665*0.024)/(handle*length*length/3+heavy*radius*radius))
	if row, _ := ask("handle_mass = \"500 g\"\nhandle_centre = \"140 mm\"\nhandle_lean = \"20°\"\nmoving_mass = \"700 g\"\n", "piston.mass=2 kg"); math.Abs(row.Value-want) > 1e-9 {
		t.Errorf("%g m/s, by hand %g m/s", row.Value, want)
	}
}

// TestGuidance: the bands of package tables in order, the verdict that goes with each,
// and more than one source beside them.
func TestGuidance(t *testing.T) {
	g, err := oneArm()
	if err != nil || g.Validate() != nil || len(g.Bands) != 3 || !strings.Contains(g.Beyond, "two hands") {
		t.Errorf("%+v, %v", g, err)
	}
	for length, want := range map[string]string{"400 mm": "One hand can", "185 mm": "One hand can", "150 mm": "One strong hand can", "60 mm": "One hand is not enough"} {
		r := askLever(t, demoMachine(t, "lever.handle_length="+length), LeverOptions{})
		force := r.Row("peak_effort")
		v, err := g.Verdict(force.Value)
		if crosses := force.Band.High > g.Bands[min(v.Band, 2)].UpTo && v.Band < 3; crosses != strings.Contains(report.Say("%s", joinSentences(r.Doubts)).String(), "next band") {
			t.Errorf("%s: up to %g N, %q", length, force.Band.High, r.Doubts)
		}
		if err != nil || !strings.HasPrefix(v.Says, force.Note.String()) || !strings.HasPrefix(r.Answer[0].String(), want) {
			t.Errorf("%s: %g N, %q, %q (%v)", length, force.Value, force.Note, r.Answer[0], err)
		}
	}
	table, err := guidanceTable(-150)
	if err != nil {
		t.Fatal(err)
	}
	sources := map[any]bool{}
	for _, row := range table.Data {
		sources[row[4]] = true
		if low, share := row[1].(float64), row[3].(float64); math.Abs(low*share-150) > 1e-9 {
			t.Errorf("%v", row)
		}
	}
	if len(sources) != 2 {
		t.Errorf("sources %v", sources)
	}
}

// TestLetGo: what a handle does that is let go goes by its dead centre and by what
// holds the piston.
func TestLetGo(t *testing.T) {
	weak := "\nboiler_pressure = \"1.5 bar\"\n"
	for _, c := range []struct{ name, text, says string }{
		{"back by itself", leverSheet("rack and pinion"), "the handle comes back by itself; with no water"},
		{"beyond the dead centre", pastSheet("27 N/mm", "700 N"), "Let go beyond its dead centre, 90 ° from rest, the handle stays; "},
		{"pushed back to the dead centre by the boiler", pastSheet("2 N/mm", "60 N"), "the handle stands at its dead centre"},
		{"at the dead centre", testsheet.Minimal + "[lever]\nhandle_length = \"260 mm\"\nkind = \"slot in the rod\"\npin_radius = \"14 mm\"\nstart_angle = \"30°\"\nswing = \"150°\"\n",
			"the handle stands at its dead centre"},
		{"held by the boiler", strings.NewReplacer("700 N", "50 N", "27 N/mm", "1 N/mm", "stroke = \"24 mm\"", "stroke = \"24 mm\"\nport_travel = \"3 mm\"").Replace(leverSheet("rack and pinion")) + "[water]" + weak,
			"held by pressure and friction"},
	} {
		r := askLever(t, testsheet.Build(t, c.text), LeverOptions{})
		if got := r.Answer[1].String(); !strings.Contains(got, c.says) {
			t.Errorf("%s: %q, want %q", c.name, got, c.says)
		}
	}
}

// pastSheet is a cam that goes beyond its dead centre at 90° and drops the piston there.
func pastSheet(rate, preload string) string {
	return strings.NewReplacer("27 N/mm", rate, "700 N", preload, "stroke = \"24 mm\"", "stroke = \"24 mm\"\nport_travel = \"12 mm\"").Replace(testsheet.Minimal) +
		"[lever]\nhandle_length = \"260 mm\"\nkind = \"measured\"\npoint = [{angle = \"0°\", lift = \"0 mm\"}, {angle = \"30°\", lift = \"7 mm\"}, " +
		"{angle = \"60°\", lift = \"18 mm\"}, {angle = \"90°\", lift = \"24 mm\"}, {angle = \"105°\", lift = \"15 mm\"}]\n"
}

// TestWrongPairs: what does not go together is wrong use, and what cannot be names its flag.
func TestWrongPairs(t *testing.T) {
	for _, c := range []struct {
		o    LeverOptions
		want string
	}{
		{LeverOptions{Raising: q(76, 0)}, "--raising and --lowering go together"},
		{LeverOptions{Raising: q(76, 0), Lowering: q(64, 0)}, "need --turned"},
		{LeverOptions{Turned: q(0.5, 0)}, "--turned and --at-piston say where"},
		{LeverOptions{AtPiston: true}, "--turned and --at-piston say where"},
		{LeverOptions{Raising: q(76, 0), Lowering: q(80, 0), AtPiston: true}, "--raising, --lowering: impossible value: force lowering 80 N"},
		{LeverOptions{Raising: q(76, 0), Lowering: q(64, 0), Turned: q(2, 0)}, "--turned: 114.6 °: want from 0 to 67.4 °"},
		{LeverOptions{Raising: q(76, 0), Lowering: q(64, 0), Turned: q(math.NaN(), 0)}, "--turned: NaN"},
	} {
		if _, err := Lever(context.Background(), demoMachine(t), c.o); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%v, want %q", err, c.want)
		}
	}
}

// TestLeverWithoutSpread: a sheet with no answer at the means of its defaults keeps
// its answer: an exponent that is that of loading, and above the mean of its range.
func TestLeverWithoutSpread(t *testing.T) {
	r := askLever(t, demoMachine(t, "coffee.unloading_exponent=1.1"), LeverOptions{})
	if last := r.Doubts[len(r.Doubts)-1].String(); !strings.HasPrefix(last, "how far handle force, energy and peak pressure may be off") || r.Row("peak_effort").Band != nil {
		t.Errorf("%q", last)
	}
}

// TestCancelled: an answer that nobody waits for is not given.
func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Lever(ctx, demoMachine(t), LeverOptions{}); err != context.Canceled {
		t.Error(err)
	}
}

// TestSlotLosesBySideForce: the balance of the pin by itself. A lever at θ from
// square pushes it with N across the slot and, as it slides, with μN along it; the
// rod guide takes the side force and rubs by μ of it. What moves the rod is
// F = N cos θ - μN sin θ - μ(N sin θ + μN cos θ), what the hand feels N b/cos θ over
// its arm. Without a word the friction is 0.1, and it joins the ±; an efficiency
// that is stated alone is the whole of the linkage's.
func TestSlotLosesBySideForce(t *testing.T) {
	const b, arm, stroke, from = 30e-3, 260e-3, 24e-3, 20 * math.Pi / 180
	hand := func(friction, rest float64) float64 { // at the top, where it is hardest [N]
		θ := math.Atan(math.Tan(from) + stroke/b)
		sin, cos := math.Sincos(θ)
		n := (700 + 27e3*stroke) / (cos - friction*sin - friction*(sin+friction*cos))
		return n * b / (cos * arm) / rest
	}
	sheet := testsheet.Lossless + "[water]\nboiler_pressure = \"0 bar\"\n[lever]\nhandle_length = \"260 mm\"\nkind = \"slot in the lever\"\n" +
		"pin_distance = \"30 mm\"\nstart_angle = \"20°\"\n"
	for _, c := range []struct {
		more string
		want float64
	}{
		{"", hand(0.1, 0.98)},
		{"slot_friction = 0.05\n", hand(0.05, 0.98)},
		{"efficiency = 0.9\n", hand(0, 0.9)},
		{"efficiency = 0.9\nslot_friction = 0.16\n", hand(0.16, 0.9)},
	} {
		r := askLever(t, testsheet.Build(t, sheet+c.more), LeverOptions{})
		peak := r.Row("peak_effort")
		if math.Abs(peak.Value/c.want-1) > 1e-9 {
			t.Errorf("%q: %g N, by the balance of the pin %g N", c.more, peak.Value, c.want)
		}
		wide := 0.0
		if b := peak.Band; b != nil {
			wide = b.High - b.Low
		}
		if (wide > 0.2*c.want) != (c.more == "") { // without a word about ± 0.05·2 tan θ
			t.Errorf("%q: %g N wide of %g N", c.more, wide, peak.Value)
		}
	}
}
