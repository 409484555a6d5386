package diagnose

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"

	"springcalc/profile"
)

// Options says how a log is read.
type Options struct {
	From       float64 // start of the window [s]; used where To is not 0
	To         float64 // end of the window [s]; 0 to have it found
	Seed       uint64  // of the random numbers: the same seed gives the same intervals
	Replicates int     // of the bootstrap; 0 for 2000
	Unsure     Unsure  // what the log cannot show
}

// Unsure is the standard uncertainty of what a log is read with. It widens
// the intervals.
type Unsure struct {
	Bore     float64 // of the bore [m]
	Friction float64 // of F_f0 [N]
	PerPa    float64 // of c [N/Pa]
	Uptake   float64 // of the water that the bed took after the release [m³]; not used where travel was read
	Gauge    float64 // of the gauge's scale, relative [-]
}

func (o *Options) validate() error {
	u := &o.Unsure
	faults := []error{
		notNegative("Options.From", o.From, "s"), notNegative("Options.To", o.To, "s"),
		notNegative("Options.Replicates", float64(o.Replicates), ""),
		notNegative("Options.Unsure.Bore", u.Bore, "m"), notNegative("Options.Unsure.Friction", u.Friction, "N"),
		notNegative("Options.Unsure.PerPa", u.PerPa, "N/Pa"), notNegative("Options.Unsure.Uptake", u.Uptake, "m³"),
		notNegative("Options.Unsure.Gauge", u.Gauge, ""),
	}
	if o.To != 0 && !(o.From < o.To) {
		faults = append(faults, fmt.Errorf("%w: it ends at %g s, before its start at %g s", ErrWindow, o.To, o.From))
	}
	return errors.Join(faults...)
}

// Line is what a logged shot says of the spring.
type Line struct {
	Window   Window // part of the log that was used
	ByTravel bool   // travel was read; else worked out from the cup
	Stretch  int    // rows of the log to one that was used: above 1 where it was thinned
	Used     int    // rows that the line goes through
	Wild     int    // rows of the window left out as wild

	Rate   Reading // k = -(dP/dz) (A + c) [N/m]
	Cocked Reading // F_c: spring force with the lever cocked [N]
	Rest   Reading // F_1: spring force with the piston at rest [N]

	Slope     float64 // dP/dV, V = A z [Pa/m³]
	Intercept float64 // P at z = 0 [Pa]
	Scatter   float64 // standard deviation of the rows about the line [Pa]
	Fall      float64 // pressure lost along the window [Pa]
	Bow       Reading // how far the start of the window lies above the line by curvature [Pa]

	Peak     Estimate // highest pressure, smoothed [Pa]
	End      Reading  // pressure at the end of the window, on the line [Pa]
	Yield    float64  // most that was in the cup [kg]; 0 where it was not read
	Duration float64  // from the release to the end of the window [s]

	Puck   Puck     // what the log says of the coffee
	Points []Point  // the window, thinned, for a chart or a table
	Doubts []string // what may be wrong with the reading
}

// Point is a stretch of the window.
type Point struct {
	Time     float64 // t [s]
	Volume   float64 // V = A z: volume swept by the piston from cocked [m³]
	Pressure float64 // P [Pa]
	Fitted   float64 // P of the line [Pa]
}

const (
	usualReplicates = 2000
	mostPoints      = 200
	lastRows        = 5 // that the end of a column is read from
)

// ReadLine reads the spring's rate and forces off a logged shot of a machine.
// Of the setup it uses the cylinder, the water, how the bed was wetted and
// what dissolves, not the springs' forces.
//
// The slope needs only differences of cup mass. The forces need the travel
// itself: the water that the bed took up from the release to the first drop
// is worked out from the setup, and its uncertainty is Options.Unsure.Uptake.
//
// The error says why a log cannot answer: ErrRows, ErrClock, ErrVolume,
// ErrSteady, ErrFall, ErrWindow; ErrInput and profile.ErrSetup for the rest.
func ReadLine(l Log, s *profile.Setup, o Options) (*Line, error) {
	if err := errors.Join(s.Validate(), o.validate()); err != nil {
		return nil, err
	}
	if err := l.check(); err != nil {
		return nil, err
	}
	l, stretch := l.thin()
	whole, err := profile.Summarize(s)
	if err != nil {
		return nil, err
	}
	d := newDisplacement(s, whole.Wetted)
	release := l.release()
	dripped := 0.0
	if whole.Wetted == 1 {
		dripped = d.dripped(l, release)
	}
	all, err := d.series(l)
	if err != nil {
		return nil, err
	}
	if len(all.t) < minRows {
		return nil, fmt.Errorf("%w: %d with both pressure and volume, want %d or more", ErrRows, len(all.t), minRows)
	}

	w := Window{From: o.From, To: o.To, Given: true}
	if o.To == 0 {
		if w, err = findWindow(&all, d.travel(someCup, 0)); err != nil {
			return nil, err
		}
	}
	rows := all.rows(w)
	if err := rows.judge(); err != nil {
		return nil, err
	}
	fit := fitRobust(&rows)
	if !w.Given {
		rows = rows.trim(fit)
		fit = fitRobust(&rows)
	}
	if !(fit.slope < 0) || math.IsInf(fit.slope, 0) {
		return nil, fmt.Errorf("%w: pressure rises with the volume", ErrSteady)
	}

	n := len(rows.t)
	line := &Line{
		Window:   Window{From: rows.t[0], To: rows.t[n-1], Given: w.Given},
		ByTravel: all.byTravel, Stretch: stretch, Used: len(fit.kept.t), Wild: n - len(fit.kept.t),
		Slope: fit.slope / d.area, Intercept: fit.intercept, Scatter: fit.scatter, Fall: fit.fall,
		Duration: rows.t[n-1] - release,
	}
	line.Bow = fit.bow()
	line.estimate(s, o, dripped, last(rows.x), fit)
	line.extremes(&all, l)
	line.Points = fit.points(&rows, d.area)
	line.Puck = readPuck(l, s, line, &d)
	line.doubt(s, o, n)
	return line, nil
}

// machine is what turns a pressure-travel line into forces.
type machine struct{ area, perPa, friction, weight, stroke float64 }

// forces returns rate [N/m] and spring force cocked and at rest [N] for a line
// P = a + b z.
func (m *machine) forces(a, b float64) (rate, cocked, rest float64) {
	force := func(p float64) float64 { return p*(m.area+m.perPa) + m.friction - m.weight }
	return -b * (m.area + m.perPa), force(a), force(a + b*m.stroke)
}

// estimate fills in rate, forces and end pressure with their intervals: each
// replicate is a line through resampled rows, read with a machine as it may be.
func (line *Line) estimate(s *profile.Setup, o Options, dripped, end float64, fit robust) {
	c, u := &s.Cylinder, &o.Unsure
	best := machine{c.Area(), c.Seal.PerPa, c.Seal.Constant, c.Weight, c.Stroke}
	k, fc, f1 := best.forces(fit.intercept, fit.slope)

	n := o.Replicates
	if n == 0 {
		n = usualReplicates
	}
	draws, own := [4][]float64{}, [4][]float64{}
	keep := func(to *[4][]float64, m machine, a, b, last float64) {
		k, fc, f1 := m.forces(a, b)
		for i, v := range [...]float64{k, fc, f1, last} {
			to[i] = append(to[i], v)
		}
	}
	rng := rand.New(rand.NewPCG(o.Seed, 1))
	uptake := math.Hypot(u.Uptake, dripped*fit.memory())
	fit.resample(rng, n, func(a, b float64) {
		keep(&own, best, a, b, a+b*end)
		bore := c.Bore + u.Bore*rng.NormFloat64()
		m := best
		m.area = math.Pi / 4 * bore * bore
		m.perPa += u.PerPa * rng.NormFloat64()
		m.friction += u.Friction * rng.NormFloat64()
		gauge := 1 + u.Gauge*rng.NormFloat64()
		a, b = a*gauge, b*gauge
		last := a + b*end
		if !line.ByTravel { // the cup tells volume: travel below the port goes as 1/A
			port := a + b*c.Port
			b *= m.area / best.area
			a = port - b*(c.Port+uptake*rng.NormFloat64()/m.area)
		}
		keep(&draws, m, a, b, last)
	})
	reading := func(i int, value float64) Reading {
		return Reading{interval(value, draws[i]), interval(value, own[i]).U()}
	}
	line.Rate, line.Cocked, line.Rest = reading(0, k), reading(1, fc), reading(2, f1)
	line.End = reading(3, fit.intercept+fit.slope*end)
}

// extremes fills in peak and yield.
func (line *Line) extremes(all *series, l Log) {
	thin := all.smooth()
	top := thin.p[peakOf(&thin)]
	u := line.Scatter / math.Sqrt(float64(len(all.t))/float64(len(thin.t)))
	line.Peak = Around(top, u)
	var cups []float64
	for _, r := range l {
		if !math.IsNaN(r.Cup) {
			cups = append(cups, r.Cup)
		}
	}
	for i := 0; i+lastRows <= len(cups); i++ {
		line.Yield = max(line.Yield, last(cups[:i+lastRows]))
	}
}

// last returns the median of the last few values.
func last(v []float64) float64 {
	var few [lastRows]float64
	copy(few[:], v[len(v)-lastRows:])
	return median(few[:])
}

// points returns the window of the line, for a chart.
func (l *robust) points(rows *series, area float64) []Point {
	few := rows.thin(mostPoints)
	points := make([]Point, len(few.t))
	for i := range points {
		points[i] = Point{few.t[i], few.x[i] * area, few.p[i], l.intercept + l.slope*few.x[i]}
	}
	return points
}

// bow returns how far a curve h (3u² - 1)/2, u from -1 to 1, lifts both ends
// of the window off the line [Pa]. The outer quarters of such a curve lie 3/4 h above the middle half.
func (l *robust) bow() Reading {
	n := len(l.kept.t)
	var outer, inner, count float64
	for i := range l.kept.t {
		r := l.residual(&l.kept, i)
		if 4*i < n || 4*i >= 3*n {
			outer += r
			count++
		} else {
			inner += r
		}
	}
	rest := float64(n) - count
	u := l.scatter * math.Sqrt(1/count+1/rest) / 0.75
	return Reading{Around((outer/count-inner/rest)/0.75, u), u}
}

// doubt says what may be wrong with the reading.
func (line *Line) doubt(s *profile.Setup, o Options, rows int) {
	add := func(format string, a ...any) { line.Doubts = append(line.Doubts, fmt.Sprintf(format, a...)) }
	if share := float64(line.Wild) / float64(rows); share > 0.05 {
		add("%.0f %% of the rows in the window lie wild and were left out: look at the log", 100*share)
	}
	if bow := line.Bow.Value; math.Abs(bow) > 3*line.Bow.Own && math.Abs(bow) > 0.02*line.Fall {
		add("the line is bent by %.2f bar: air in the chamber, a sticking seal or a wrong guess of what the coffee keeps", bow/1e5)
	}
	if !line.ByTravel && o.Unsure.Uptake == 0 && s.Coffee.Retained > 0 {
		add("the forces rest on the water that the coffee kept (%.2g g per g), which no log shows; the rate does not", s.Coffee.Retained)
	}
	if line.Rate.U() > 0.1*line.Rate.Value || line.Fall < 0.2*line.Peak.Value {
		add("the pressure falls by %.2f bar only, so the rate is known no better than to %.0f %%", line.Fall/1e5, 200*line.Rate.U()/line.Rate.Value)
	}
}
