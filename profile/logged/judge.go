package logged

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// withhold takes the numbers away where the line is bent or leaves rows
// unexplained, and reports whether it did. What is left over is Sargan's test
// ([Sarg]) with the nuisances among the unknowns.
func (r *reader) withhold(w *window, f *fitted) bool {
	line := r.line
	bow := line.Raw.Bow
	if b := bow.Value; math.Abs(b) > bowSure*bow.U() && math.Abs(b) > bowMost*w.fall {
		line.withhold(fmt.Sprintf("the line is bent by %.2f bar over a fall of %.2f bar: air in the chamber, a sticking seal, or a wrong guess of what the coffee keeps", b/1e5, w.fall/1e5))
		return true
	}
	chance := distuv.ChiSquared{K: float64(max(1, f.free))}.Survival(f.squares)
	if f.misfit > missMost*w.fall && f.free > 0 && chance < missSure {
		line.withhold(fmt.Sprintf("the rows stray from any line by %.2f bar, more than they scatter: the lever was held, or the seal sticks", f.misfit/1e5))
		return true
	}
	if share := float64(line.Wild) / float64(line.Wild+line.Used); share > 0.2 {
		line.withhold(fmt.Sprintf("%.0f %% of the rows in the window lie wild", 100*share))
		return true
	}
	return false
}

// presume says what the forces rest on and the log does not show.
func (line *Line) presume(r *reader) {
	if line.Withheld != "" {
		return
	}
	add := func(format string, a ...any) { line.Presumes = append(line.Presumes, fmt.Sprintf(format, a...)) }
	c := &r.setup.Cylinder
	add("the seal drags as the sheet says: %.3g N and %.3g N/bar", c.Seal.Constant, c.Seal.PerPa*1e5)
	switch {
	case line.ByTravel:
	case line.Tail.Read:
		add("the air is what the tail of the log shows: %.3g mL", line.Tail.Air.Value*1e6)
	default:
		add("the chamber was filled as the sheet says, with %.3g mL of air", r.d.air*1e6)
	}
	if line.ZeroRead {
		add("the gauge reads true but for its zero, which the log shows")
	} else {
		add("the gauge reads true, its zero too")
	}
	if !line.ByTravel {
		add("the coffee took up as much water after the release as the sheet says: %.3g mL", r.d.taken*1e6)
	}
	if r.o.Handle.Force == nil {
		add("the handle weighs nothing")
	}
}

// doubt says what else may be wrong with the reading.
func (line *Line) doubt(rows int) {
	add := func(format string, a ...any) { line.Doubts = append(line.Doubts, fmt.Sprintf(format, a...)) }
	if share := float64(line.Wild) / float64(rows); share > 0.05 {
		add("%.0f %% of the rows in the window lie wild and were left out: look at the log", 100*share)
	}
	if line.Tail.Read {
		add("%.2g mL of air went on pushing %.2g mL of water after the piston came to rest; what is read of the spring allows for it", line.Tail.Air.Value*1e6, line.Tail.Flow*1e6)
	}
	if line.Withheld == "" && line.Rate.U() > 0.1*line.Rate.Value {
		add("the pressure falls by %.2f bar only, so the rate is known no better than to %.0f %%", line.Fall/1e5, 100*twoSided*line.Rate.U()/line.Rate.Value)
	}
}

// extremes fills in peak and yield. A gauge that is late by a time [s] and a stretch
// of rows miss some of a pressure that falls with a slope [Pa/s].
func (line *Line) extremes(all *series, l Log, late, slope float64) {
	thin := all.smooth()
	top := thin.p[peakOf(&thin)]
	u := line.Scatter / math.Sqrt(max(1, float64(len(all.t))/float64(len(thin.t))))
	every := (all.t[len(all.t)-1] - all.t[0]) / float64(len(all.t))
	line.Peak = Around(top, hypot(u, l.step()/math.Sqrt(12), slope*(late+every*stretch/2)/math.Sqrt(3)))
	var cups []float64
	before := 0 // rows more than two seconds before the end
	for _, r := range l {
		if !math.IsNaN(r.Cup) {
			cups = append(cups, r.Cup)
			if r.Time < l[len(l)-1].Time-2 {
				before = len(cups)
			}
		}
	}
	const still = 0.5e-3 // that a cup may gain in that time [kg]
	line.Settled = before > 0 && last(cups)-last(cups[:before]) < still
	for i := 0; i+lastRows <= len(cups); i++ {
		line.Yield = max(line.Yield, last(cups[:i+lastRows]))
	}
}

// last returns the median of the last few values, one or more.
func last(v []float64) float64 {
	var few [lastRows]float64
	n := copy(few[:], v[max(0, len(v)-lastRows):])
	return median(few[:n])
}

// points fills in the window, for a chart.
func (line *Line) points(rows *series) {
	few := rows.thin(mostPoints)
	line.Points = make([]Point, len(few.t))
	for i := range line.Points {
		p := Point{few.t[i], few.v[i], few.p[i], math.NaN()}
		if line.Withheld == "" {
			p.Fitted, _ = line.Raw.At(p.Volume)
		}
		line.Points[i] = p
	}
}
