package logged

import (
	"math/rand/v2"
	"os"
	"strconv"
	"testing"
)

// machines is the number of machines of a study in the gate; LOGGED_MACHINES
// draws more.
func machines(n int) int {
	if v, err := strconv.Atoi(os.Getenv("LOGGED_MACHINES")); err == nil {
		return v
	}
	return n
}

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
	for j, name := range []string{"rate", "cocked", "rest"} {
		t.Logf("%-6s held %.1f %%, wide %.1f %% of %.0f; u %.2f %%, mean error %.2f %%", name, 100*c.held[j]/told, 100*c.wide[j]/told, told, 100*c.width[j]/told, 100*c.off[j]/told)
	}
	t.Logf("withheld %.1f %%, not read %.1f %%", 100*c.withheld/c.n, 100*c.failed/c.n)
	return told
}

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
		c.log(t)
	}
}

// faulty gives a sound machine a fault that its sheet does not know.
var faulty = []struct {
	name string
	do   func(m *truth, rng *rand.Rand)
}{
	{"drag", func(m *truth, rng *rand.Rand) { m.friction += between(rng, 80, min(250, 0.5*m.rest)) }},
	{"drag with pressure", func(m *truth, rng *rand.Rand) { m.perPa += between(rng, 3, 10) / bar }},
	{"air", func(m *truth, rng *rand.Rand) { m.air += between(rng, 5, 15) * mL }},
	{"gauge", func(m *truth, rng *rand.Rand) { m.gain *= between(rng, 0.75, 0.95) }},
	{"zero", func(m *truth, rng *rand.Rand) { m.zero += between(rng, 0.1, 0.3) * bar }},
}

func TestFaultyMachines(t *testing.T) {
	for _, c := range faulty {
		rng := rand.New(rand.NewPCG(12, 9))
		var all tally
		t.Log(c.name)
		tails := 0
		for i := range machines(100) {
			m, s, o := sound(rng)
			c.do(m, rng)
			line, err := ReadLine(m.log(rng), s, o)
			all.add(t, i, m, line, err)
			if err == nil && line.Tail.Read {
				tails++
			}
		}
		all.log(t)
		t.Logf("tails read %d", tails)
	}
}

func TestAirTails(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 9))
	var all tally
	tails := 0
	var stiff, soft int
	for i := range machines(100) {
		m, s, o := sound(rng)
		s.Chamber.Headspace = between(rng, 15, 35) * mL
		m.headspace = s.Chamber.Headspace
		m.air = between(rng, 10, 29) * mL
		m.air = min(m.air, 0.7*(m.headspace+m.area()*(m.stroke-m.port)))
		m.after = 3
		line, err := ReadLine(m.log(rng), s, o)
		all.add(t, i, m, line, err)
		if err != nil || line.Withheld != "" {
			continue
		}
		if line.Tail.Read {
			tails++
			if a := line.Tail.Air; !a.Holds(m.air) {
				t.Logf("%d air %.2f want %.2f", i, a.Value/mL, m.air/mL)
			}
		}
		if line.Rate.Low > m.rate {
			stiff++
			t.Logf("%d stiff: %.3f ± %.3f tail %v %v, ended %.1f, window %.1f %.1f", i, line.Rate.Value/m.rate, line.Rate.U()/m.rate, line.Tail.Seen, line.Tail.Read, line.Ended, line.Window.From, line.Window.To)
		}
		if line.Rate.High < m.rate {
			soft++
			t.Logf("%d soft: %.3f ± %.3f tail %v %v, ended %.1f, window %.1f %.1f", i, line.Rate.Value/m.rate, line.Rate.U()/m.rate, line.Tail.Seen, line.Tail.Read, line.Ended, line.Window.From, line.Window.To)
		}
	}
	all.log(t)
	t.Logf("tails read %d stiff %d soft %d", tails, stiff, soft)
}
