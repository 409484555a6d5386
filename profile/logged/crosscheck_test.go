package logged

import (
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	"springcalc/profile"
)

// machines is the number of machines of a study in the gate; LOGGED_MACHINES
// draws more.
func machines(n int) int {
	if v, err := strconv.Atoi(os.Getenv("LOGGED_MACHINES")); err == nil {
		return v
	}
	return n
}

var names = [3]string{"rate", "cocked", "rest"}

// tally counts over the machines of a study.
type tally struct {
	n, withheld, failed    float64
	held, wide, off, width [3]float64
}

func (c *tally) add(t *testing.T, i int, m *truth, line *Line, err error) {
	c.n++
	switch {
	case err != nil:
		c.failed++
		t.Logf("machine %d: %v", i, err)
		return
	case line.Withheld != "":
		c.withheld++
		t.Logf("machine %d: withheld: %s", i, line.Withheld)
		return
	}
	for j, got := range [3][2]Reading{{line.Rate, line.Wide.Rate}, {line.Cocked, line.Wide.Cocked}, {line.Rest, line.Wide.Rest}} {
		want := [3]float64{m.rate, m.cocked, m.rest}[j]
		if got[0].Holds(want) {
			c.held[j]++
		}
		if got[1].Holds(want) {
			c.wide[j]++
		}
		c.off[j] += got[0].Value/want - 1
		c.width[j] += got[0].U() / want
	}
}

func (c *tally) log(t *testing.T) (told float64) {
	told = c.n - c.withheld - c.failed
	for j, name := range names {
		t.Logf("%-6s held %.1f %%, wide %.1f %% of %.0f; u %.2f %%, mean error %.2f %%", name, 100*c.held[j]/told, 100*c.wide[j]/told, told, 100*c.width[j]/told, 100*c.off[j]/told)
	}
	t.Logf("withheld %.1f %%, not read %.1f %%", 100*c.withheld/c.n, 100*c.failed/c.n)
	return told
}

// within reports a share that lies outside bounds, widened by two standard
// errors of a binomial share at the bound for the number of machines.
func within(t *testing.T, what string, held, n, low, high float64) {
	t.Helper()
	slack := func(p float64) float64 { return 2 * math.Sqrt(p*(1-p)/n) }
	if got := held / n; got < low-slack(low) || got > high+slack(high) {
		t.Errorf("%s: held in %.3f of %.0f, want %.2f to %.2f", what, got, n, low, high)
	}
}

// TestSoundMachines reads logs of machines in order, sampled at 1 to 20 Hz, with
// noise that remembers, a third of the gauges in steps of 0.1 bar, lag, zero,
// slow release, the handle's weight, soaking, and a quarter with wild rows: the
// 95 % intervals hold 92 to 98 of 100, and under 5 of 100 are withheld. The gate
// draws 120, to within two standard errors (2.5 and 1.3 of 100 at the bounds); of 400:
// cup 96, 96, 95 held (rate, cocked, rest), travel 96, 95, 95.
func TestSoundMachines(t *testing.T) {
	for _, byTravel := range []bool{false, true} {
		rng := rand.New(rand.NewPCG(11, 7))
		var c tally
		for i := range machines(120) {
			m, s, o := sound(rng)
			m.byTravel = byTravel
			line, err := ReadLine(m.log(rng), s, o)
			c.add(t, i, m, line, err)
		}
		told := c.log(t)
		for j, name := range names {
			within(t, name, c.held[j], told, 0.92, 0.98)
		}
		within(t, "withheld", c.withheld+c.failed, c.n, 0, 0.05)
	}
}

// faults give a sound machine a fault that its sheet does not know.
var faults = []struct {
	name string
	do   func(m *truth, rng *rand.Rand)
}{
	{"drag", func(m *truth, rng *rand.Rand) { m.friction += between(rng, 80, min(250, 0.5*m.rest)) }},
	{"drag with pressure", func(m *truth, rng *rand.Rand) { m.perPa += between(rng, 3, 10) / bar }},
	{"air", func(m *truth, rng *rand.Rand) { m.air += between(rng, 5, 15) * mL }},
	{"gauge", func(m *truth, rng *rand.Rand) { m.gain *= between(rng, 0.75, 0.95) }},
	{"zero", func(m *truth, rng *rand.Rand) { m.zero += between(rng, 0.1, 0.3) * bar }},
}

// TestFaultyMachines: with a cause that the sheet does not know the wide
// intervals, for seal, fill and gauge as they may be, hold in 90 of 100.
func TestFaultyMachines(t *testing.T) {
	for _, c := range faults {
		t.Run(c.name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(12, 9))
			var all tally
			for i := range machines(60) {
				m, s, o := sound(rng)
				c.do(m, rng)
				line, err := ReadLine(m.log(rng), s, o)
				all.add(t, i, m, line, err)
			}
			told := all.log(t)
			for j, name := range names {
				within(t, name, all.wide[j], told, 0.90, 1)
			}
		})
	}
}

// TestRawLine: what the raw line says holds whatever seal, handle and bore are,
// for it is what the gauge reads; the handle apart, it is the pressure of the machine.
func TestRawLine(t *testing.T) {
	for _, fault := range []int{-1, 0, 1} {
		rng := rand.New(rand.NewPCG(14, 9))
		var n, held, slope float64
		for range machines(80) {
			m, s, o := sound(rng)
			if fault >= 0 {
				faults[fault].do(m, rng)
			}
			line, err := ReadLine(m.log(rng), s, o)
			if err != nil || line.Withheld != "" || line.Tail.Read {
				continue
			}
			n++
			mid := (line.Raw.From + line.Raw.To) / 2
			up := o.Unsure.Uptake
			da, ds := line.Raw.PerUptake[0]*up, line.Raw.PerAir[1]*o.Unsure.Air
			got, u := line.Raw.At(mid)
			want := m.pressure(m.port+mid/m.area(), 1)*m.gain + m.zero
			air := (line.Raw.PerAir[0] + mid*line.Raw.PerAir[1]) * o.Unsure.Air
			if math.Abs(got-want) <= twoSided*hypot(u, da, air) {
				held++
			}
			v0, v1 := line.Raw.From, line.Raw.To
			true1 := (m.pressure(m.port+v1/m.area(), 1) - m.pressure(m.port+v0/m.area(), 1)) / (v1 - v0) * m.gain
			if math.Abs(line.Raw.Slope.Value-true1) <= twoSided*hypot(line.Raw.Slope.U(), ds) {
				slope++
			}
		}
		t.Logf("fault %d: pressure held %.1f %%, slope %.1f %% of %.0f", fault, 100*held/n, 100*slope/n, n)
		within(t, "pressure amid the window", held, n, 0.92, 1)
		within(t, "slope", slope, n, 0.90, 1) // the chord of a pressure that the handle bends is not quite its line
	}
}

// TestAirTails: 10 to 29 mL of air that the sheet does not know go on pushing
// 2 mL and more after the piston rests. Of what is told without a word on air, at
// most one log in a hundred may be read as another spring: more than a seventh off
// its rate, beyond its interval. Of 400: 1 of 331 told; two more lay as far off
// beside the word on air. Where the tail is read, rate, cocked and rest held in 89,
// 94 and 96 of 100, the wide intervals in 99.7 to 100.
func TestAirTails(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 9))
	var all, marked tally
	tails, air, broken, none := 0.0, 0.0, 0, 0
	for i := range machines(100) {
		m, s, o := sound(rng)
		s.Chamber.Headspace = between(rng, 15, 35) * mL
		m.headspace = s.Chamber.Headspace
		m.air = between(rng, 10, 29) * mL
		m.air = min(m.air, 0.7*(m.headspace+m.area()*(m.stroke-m.port)))
		line, err := ReadLine(m.log(rng), s, o)
		if m.tail < 2*mL { // no tail to be read as anything
			none++
			continue
		}
		if err == nil && line.Withheld == "" && !line.Tail.Read && len(line.Doubts) > 0 {
			marked.add(t, i, m, line, err)
			continue
		}
		all.add(t, i, m, line, err)
		if err != nil || line.Withheld != "" {
			continue
		}
		if line.Tail.Read {
			tails++
			if line.Tail.Air.Holds(m.air) {
				air++
			}
		}
		if len(line.Doubts) == 0 && !line.Rate.Holds(m.rate) && math.Abs(line.Rate.Value/m.rate-1) > 1.0/7 {
			broken++
			t.Logf("machine %d: rate %.3f of the true one ± %.3f, tail %+v, air %.1f mL, ran %.1f mL, rows every %.2f s, window %v, ended %.1f s", i, line.Rate.Value/m.rate, line.Rate.U()/m.rate, line.Tail, m.air/mL, m.tail/mL, m.every, line.Window, line.Ended)
		}
	}
	told := all.log(t)
	t.Logf("tails read %.0f, their air held %.1f %%; taken for another spring %d; marked %.0f, of which wide held %.0f; without a tail %d", tails, 100*air/tails, broken, marked.n, marked.wide[0], none)
	if float64(broken) > 0.01*told {
		t.Errorf("%d of %.0f were read as another spring", broken, told)
	}
	within(t, "air", air, tails, 0.88, 1)
	for j, name := range names {
		within(t, name, all.held[j], told, 0.90, 1)
		within(t, "wide "+name, all.wide[j], told, 0.92, 1)
	}
}

// TestTogetherHolds reads four logs of each machine with one sheet and one
// gauge that are not quite right: the interval of their mean holds as well.
func TestTogetherHolds(t *testing.T) {
	rng := rand.New(rand.NewPCG(19, 3))
	var held [3]float64
	n := 0.0
	for range machines(50) {
		m, s, o := sound(rng)
		var all [3][]Reading
		for range 4 {
			m.resistance = between(rng, 3, 9) * bar / mL
			m.slow = between(rng, 0, 2)
			line, err := ReadLine(m.log(rng), s, o)
			if err != nil || line.Withheld != "" {
				continue
			}
			for j, r := range []Reading{line.Rate, line.Cocked, line.Rest} {
				all[j] = append(all[j], r)
			}
		}
		if len(all[0]) == 0 {
			continue
		}
		n++
		for j, truth := range []float64{m.rate, m.cocked, m.rest} {
			if Together(all[j]).Holds(truth) {
				held[j]++
			}
		}
	}
	for j, name := range names {
		t.Logf("%s: held %.1f %% of %.0f", name, 100*held[j]/n, n)
		within(t, name, held[j], n, 0.92, 0.98)
	}
}

// TestAgainstHolds: of machines in order the log's figures for peak, end, time and
// yield hold what really ran, in 92 to 98 of 100 (the yield, of which a scale is sure, in
// more). Of 300: peak 94, end 94, time 98. Time counts from the middle of a release that takes 0 to 2 s.
func TestAgainstHolds(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 7))
	names := [4]string{"peak", "end", "time", "yield"}
	var held, n [4]float64
	for range machines(80) {
		m, s, o := sound(rng)
		l := m.log(rng)
		c, err := Against(l, shotOf(t, s), s, o)
		if err != nil {
			t.Log(err)
			continue
		}
		for j, p := range [4]Pair{c.Peak, c.End, c.Time, c.Yield} {
			want := [4]float64{m.ran.peak, m.ran.end, m.ran.time - m.slow/2, m.ran.cup}[j]
			if !p.Known {
				if j < 3 {
					t.Errorf("%s is not known: %s", names[j], c.Missed)
				}
				continue
			}
			n[j]++
			if p.Measured.Holds(want) {
				held[j]++
			}
		}
	}
	for j, name := range names {
		t.Logf("%s held %.1f %% of %.0f", name, 100*held[j]/n[j], n[j])
		within(t, name, held[j], n[j], 0.92, [4]float64{0.98, 0.98, 0.98, 1}[j])
	}
}

func shotOf(t *testing.T, s *profile.Setup) *profile.Shot {
	shot, err := profile.Run(s)
	if err != nil {
		t.Fatal(err)
	}
	return shot
}

// TestBeside: a shot logged without error and computed by the engine from the same
// machine and bed lie on each other, all along.
func TestBeside(t *testing.T) {
	rng := rand.New(rand.NewPCG(32, 7))
	for range 10 {
		m, s, o := exactly(rng)
		b := &poured{r9: 5 * bar / mL, n: 1.1, nu: 0.55, threshold: 4 * bar, low: 0.67, blocked: 0.386, by: 0.385}
		m.bed, m.drink, m.every = b, 0, 0.05
		s.Coffee.Retained, s.Coffee.SetBy, s.Coffee.Soaking = 1e-9, 0, 0 // the front is not what is compared
		s.Coffee.Resistance = b.r9
		c := &s.Cylinder
		s.Springs[0].Rate, s.Springs[0].Preload = m.rate, m.cocked-m.rate*m.stroke
		c.Bore, c.Seal.Constant, c.Seal.PerPa, s.Chamber.Air = m.bore, m.friction, m.perPa, m.air
		s.Water.Fill, s.Pulls[0].Preinfusion = 0.01*bar, 0
		m.fill, m.soak = 0.01*bar, 0.5
		b.blocked *= min(1, shotOf(t, s).Peak/b.threshold)
		got, err := Against(m.log(rng), shotOf(t, s), s, o)
		if err != nil {
			t.Fatal(err)
		}
		compared := 0
		for _, r := range got.Rows {
			if r.Time > 1 && r.Time < got.Time.Computed-1 {
				compared++
				if math.Abs(r.Pressure-r.Computed) > 2e-3*r.Computed || math.Abs(r.Cup-r.InCup) > 2e-3*r.InCup+0.1*gram {
					t.Fatalf("at %.2f s: %.3f bar and %.2f g, computed %.3f bar and %.2f g", r.Time, r.Pressure/bar, r.Cup/gram, r.Computed/bar, r.InCup/gram)
				}
			}
		}
		if compared < 20 {
			t.Errorf("%d rows compared", compared)
		}
		for name, p := range map[string]Pair{"peak": got.Peak, "end": got.End, "time": got.Time, "yield": got.Yield} {
			if math.Abs(p.Difference) > 0.01*p.Computed {
				t.Errorf("%s: measured %.4g, computed %.4g", name, p.Measured.Value, p.Computed)
			}
		}
	}
}

// TestOff: what was measured less what was computed, their intervals together.
func TestOff(t *testing.T) {
	p := Pair{Measured: Reading{Estimate: Estimate{7, 4, 10}}, Computed: 5, Difference: 2, Known: true}
	off, agree := p.Off(Estimate{5, 1, 6})
	if want := (Estimate{2, 2 - math.Hypot(3, 1), 2 + math.Hypot(3, 4)}); off != want || !agree {
		t.Errorf("%+v, %v, want %+v", off, agree, want)
	}
	if _, agree := p.Off(Estimate{3, 2.9, 3.1}); agree {
		t.Error("4 apart, 3 allowed")
	}
}

// TestAgainstAnything: a log without a spring's fall is compared in peak and yield and
// says what it lacks; one cut off tells no end.
func TestAgainstAnything(t *testing.T) {
	rng := rand.New(rand.NewPCG(33, 7))
	m, s, o := quiet(rng)
	l := m.log(rng)
	shot := shotOf(t, s)
	var pump Log
	for i := range l {
		pump = append(pump, Row{l[i].Time, 9 * bar, l[i].Cup, missing})
	}
	c, err := Against(pump, shot, s, o)
	if err != nil {
		t.Fatal(err)
	}
	if c.Missed == "" || c.End.Known || c.Time.Known || !c.Peak.Known || math.Abs(c.Peak.Measured.Value-9*bar) > 1 || !c.Yield.Known {
		t.Errorf("a pump: %+v", c)
	}
	c, err = Against(l[:len(l)*2/3], shot, s, o)
	if err != nil {
		t.Fatal(err)
	}
	if c.Missed == "" || c.End.Known || c.Time.Known || !c.Peak.Known || c.Yield.Known || len(c.Rows) == 0 {
		t.Errorf("cut off: %+v", c)
	}
	if _, err := Against(l[:3], shot, s, o); !errors.Is(err, ErrRows) {
		t.Errorf("three rows: %v", err)
	}
}
