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
