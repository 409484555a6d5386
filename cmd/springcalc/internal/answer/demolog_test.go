package answer

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"springcalc/cmd/springcalc/internal/demo"
	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/testsheet"
	"springcalc/profile"
	"springcalc/profile/logged"
)

// noisyLog logs a shot of a machine as a logger would: every so many seconds,
// with noise of 0.1 bar and 0.3 g.
func noisyLog(t testing.TB, m *machine.Machine, every float64) []byte {
	t.Helper()
	shot, err := profile.Run(&m.Setup)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	b.WriteString("time_s,pressure_bar,cup_g\n")
	rng := rand.New(rand.NewPCG(1986, 2026))
	for i := 0; float64(i)*every <= shot.Total; i++ {
		at := float64(i) * every
		p := shot.At(at)
		fmt.Fprintf(&b, "%.7g,%.2f,%.1f\n", at, quantity.InBar.Of(p.Pressure)+0.1*rng.NormFloat64(), quantity.InG.Of(p.Cup)+0.3*rng.NormFloat64())
	}
	return b.Bytes()
}

// TestDemoLog: the log of the demo could be a shot of the demo machine: its
// spring and its peak are read off it.
func TestDemoLog(t *testing.T) {
	m := testsheet.Build(t, string(demo.Sheet))
	log, err := sheet.ReadLog("log.csv", demo.Log)
	if err != nil {
		t.Fatal(err)
	}
	line, err := logged.ReadLine(log, &m.Setup, logged.Options{Unsure: logged.UsualUnsure(&m.Setup)})
	if err != nil {
		t.Fatal(err)
	}
	shot, err := profile.Summarize(&m.Setup)
	if err != nil {
		t.Fatal(err)
	}
	k := m.Setup.Springs[0].Rate
	if math.Abs(line.Rate.Value/k-1) > 0.03 || math.Abs(line.Peak.Value-shot.Peak) > 0.2e5 {
		t.Errorf("the log shows %.4g N/m and %.3g Pa, the sheet %.4g and %.3g", line.Rate.Value, line.Peak.Value, k, shot.Peak)
	}
}

// BenchmarkMillionRows reads a log of a million rows and fits it.
func BenchmarkMillionRows(b *testing.B) {
	m := testsheet.Build(b, string(demo.Sheet))
	data := noisyLog(b, m, 49.2e-6)
	b.ReportAllocs()
	rows := 0
	for b.Loop() {
		log, err := sheet.ReadLog("log.csv", data)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := logged.ReadLine(log, &m.Setup, logged.Options{}); err != nil {
			b.Fatal(err)
		}
		rows += len(log)
	}
	b.ReportMetric(float64(rows)/b.Elapsed().Seconds(), "rows/s")
	b.SetBytes(int64(len(data)))
}
