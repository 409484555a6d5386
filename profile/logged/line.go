package logged

import (
	"errors"
	"fmt"
	"math"

	"springcalc/profile"
)

// Line is what a logged shot says of the spring.
type Line struct {
	Window   Window // part of the log that was used
	ByTravel bool   // travel was read; else worked out from the cup
	Stretch  int    // rows of the log to one that was used: above 1 where it was thinned
	Used     int    // rows that the line goes through
	Wild     int    // rows of the window left out as wild

	// Withheld is the reason why no line and no force is told, empty where they
	// are. Raw, Forces and Wide are then zero, but for Raw.Bow.
	Withheld string

	Raw Raw // the line itself, which presumes neither seal, bore, gauge nor handle

	Forces            // what it comes to if what Presumes lists holds
	Wide     Forces   // the same where seal, fill and gauge may each be out of order (Unsure.Faulty)
	Presumes []string // what Forces rests on and the log does not show

	Scatter float64 // standard deviation of the rows about the line [Pa]
	Fall    float64 // pressure lost along the window [Pa]

	Release   float64  // time at which the pressure of the spring came on [s]
	Ended     float64  // time at which the spring's part was over: stroke, break or end of the log [s]
	Duration  float64  // from the middle of the release to Ended [s]
	DurationU float64  // its standard uncertainty [s]
	CutOff    bool     // the log stops before the spring's part was over
	Peak      Estimate // highest pressure, smoothed, as the gauge reads [Pa]
	End       Reading  // pressure at Ended, as the gauge reads [Pa]
	Yield     float64  // most that was in the cup [kg]; 0 where it was not read
	Settled   bool     // the cup had stopped filling where the log ends
	Zero      Reading  // what the gauge read before there was pressure [Pa]
	ZeroRead  bool     // Zero was read; else it is 0 and its ± is Unsure.Zero
	Tail      Tail     // air that went on pushing after the piston came to rest

	Puck   Puck     // what the log says of the coffee
	Points []Point  // the window, thinned, for a chart or a table
	Doubts []string // what else may be wrong with the reading
}

// Raw is the pressure over the volume that the piston has swept since the port,
// V = A (z - s_p), as the gauge reads:
//
//	P = Intercept + Slope V
//
// Its covariance holds noise, lag, bow and dissolved solids. What air and uptake
// that differ from the sheet's would shift stands beside it, to be used together
// with other readings that know of them.
type Raw struct {
	Intercept Reading       // P at V = 0 [Pa]
	Slope     Reading       // dP/dV, below 0 [Pa/m³]
	Cov       [2][2]float64 // covariance of Intercept and Slope [Pa², Pa²/m³, Pa²/m⁶]
	PerAir    [2]float64    // what air beyond the sheet's does to Intercept [Pa/m³] and Slope [Pa/m⁶], by its volume at the fill pressure; 0 where travel or a tail was read
	PerUptake [2]float64    // what water taken up beyond the sheet's does to Intercept [Pa/m³] and Slope; 0 where travel was read
	Handle    [2]float64    // part of Intercept [Pa] and Slope [Pa/m³] that Options.Handle puts there
	HandleU   [2]float64    // standard uncertainty of that part, fully correlated [Pa], [Pa/m³]
	Bow       Reading       // h: how far a curve h (3u² - 1)/2, u from -1 to 1 over the window, lifts its ends [Pa]
	From, To  float64       // V at the ends of the window [m³]
}

// At returns the pressure of the line at a volume [m³] and its standard
// uncertainty, both in Pa.
func (r *Raw) At(v float64) (p, u float64) {
	c := &r.Cov
	return r.Intercept.Value + r.Slope.Value*v, math.Sqrt(max(0, c[0][0]+2*v*c[0][1]+v*v*c[1][1]))
}

// Point is a stretch of the window.
type Point struct {
	Time     float64 // t [s]
	Volume   float64 // V = A (z - s_p): volume swept by the piston since the port [m³]
	Pressure float64 // P [Pa]
	Fitted   float64 // P of the line [Pa]; NaN where it is withheld
}

const (
	mostPoints = 200
	lastRows   = 5     // that the end of a column is read from
	bowSure    = 3.0   // standard uncertainties from which a bow is one [-]
	bowMost    = 0.03  // share of the fall from which it matters [-]
	missMost   = 0.015 // share of the fall that may stay unexplained (rms) [-]
	missSure   = 1e-4  // probability below which it is not noise [-]
	tellMost   = 0.25  // relative standard uncertainty of a rate that tells nothing [-]
)

// ReadLine reads the spring's rate and forces off a logged shot of a machine.
// Of the setup it uses the cylinder, the water, the air, how the bed was wetted
// and what dissolves, not the springs' forces. A log that holds a fall but no
// line gives a Line whose numbers are withheld.
//
// The slope needs only differences of cup mass. The forces need the volume
// itself: the water that the bed took up from the release to the first drop
// is worked out from the setup, and its uncertainty is Options.Unsure.Uptake. A
// longer log is thinned to 4000 rows, and nothing more of it is kept.
//
// The error says why a log cannot answer: ErrRows, ErrClock, ErrVolume,
// ErrSteady, ErrFall, ErrWindow; ErrInput and profile.ErrSetup for the rest.
func ReadLine(l Log, s *profile.Setup, o Options) (*Line, error) {
	r, err := newReader(l, s, o)
	if err != nil {
		return nil, err
	}
	if err := r.read(); err != nil {
		return nil, err
	}
	return r.line, nil
}

// reader is a reading in the making.
type reader struct {
	log     Log
	setup   *profile.Setup
	o       Options
	unsure  Unsure // as the log leaves it
	strange string // why what follows the spring's part goes with no machine
	d       displacement
	all     series
	line    *Line
	whole   profile.Summary // of the setup
}

// newReader checks a log and finds its release.
func newReader(l Log, s *profile.Setup, o Options) (*reader, error) {
	if err := errors.Join(s.Validate(), o.validate()); err != nil {
		return nil, err
	}
	if err := l.check(); err != nil {
		return nil, err
	}
	l, size := l.Thin()
	whole, err := profile.Summarize(s)
	if err != nil {
		return nil, err
	}
	r := &reader{log: l, setup: s, o: o, d: newDisplacement(s, whole.Wetted), unsure: o.Unsure, whole: whole}
	r.line = &Line{Stretch: size, Release: l.release()}
	if whole.Wetted == 1 {
		r.unsure.Uptake = math.Hypot(r.unsure.Uptake, r.d.dripped(l, r.line.Release))
	}
	return r, nil
}

// rows returns the rows that the spring alone shaped.
func (r *reader) rows() (rows series, err error) {
	if r.all, r.line.ByTravel, err = r.d.series(r.log); err != nil {
		return rows, err
	}
	if r.line.ByTravel {
		r.unsure.Air, r.unsure.Uptake, r.unsure.Dissolved = 0, 0, 0
	}
	r.readZero()
	return r.window()
}

func (r *reader) read() error {
	line := r.line
	rows, err := r.rows()
	if err != nil {
		return err
	}
	line.points(&rows)
	if line.Ended == 0 {
		line.Ended = line.Window.To
	}
	if !line.ByTravel && !line.Window.Given && r.settle() { // the air is now known: the volumes too
		if r.all, _, err = r.d.series(r.log); err != nil {
			return err
		}
		rows = r.all.rows(line.Window)
	}
	if !line.Window.Given {
		rows = rows.trim()
	}
	n := len(rows.t)
	line.Window.From, line.Window.To = rows.t[0], rows.t[n-1]
	w, ok := newWindow(&rows)
	if !ok {
		return fmt.Errorf("%w: pressure does not fall over the volume", ErrSteady)
	}
	line.Used, line.Wild = len(w.rows.t), w.wild
	line.Scatter, line.Fall = w.scatter, w.fall
	line.extremes(&r.all, r.log, r.o.Lag+r.unsure.Lag, w.base.slopeAt(w.p, 0))
	r.rest(w)
	r.fits(w)
	line.points(&rows)
	line.Puck = readPuck(r.log, r.setup, line, &r.d)
	line.presume(r)
	line.doubt(n)
	return nil
}

// readZero reads the gauge's zero off rows before there was pressure: where the
// log begins without any though water is pushed in with more than that.
func (r *reader) readZero() {
	const most, fill = 0.35e5, 0.6e5
	r.line.Zero = Reading{Estimate: Around(0, r.unsure.Zero)}
	if r.setup.Water.Fill < fill {
		return
	}
	var p []float64
	end := r.log[0].Time
	for i := range r.log {
		if r.log[i].Time >= r.line.Release || r.log[i].Pressure > fill {
			break
		}
		if v := r.log[i].Pressure; v == v {
			p, end = append(p, v), r.log[i].Time
		}
	}
	rise := 3 * (r.o.Lag + 2*r.unsure.Lag) // so long a gauge takes to come up by itself
	if len(p) < lastRows || end-r.log[0].Time < rise {
		return
	}
	p = p[:len(p)-len(p)/4] // the last may have felt the port open
	m := median(append([]float64(nil), p...))
	if math.Abs(m) > most {
		return
	}
	for i := range p {
		p[i] -= m
	}
	own := spread(p) / math.Sqrt(float64(len(p)))
	const drift = 0.03e5 // a gauge does not come back to its zero better than that [Pa]
	own = math.Hypot(own, r.log.step()/math.Sqrt(12))
	r.line.Zero, r.line.ZeroRead = Reading{Around(m, math.Hypot(own, drift)), own}, true
	r.unsure.Zero = r.line.Zero.U()
}

// window finds the rows that the spring alone shaped.
func (r *reader) window() (series, error) {
	line := r.line
	if r.o.To != 0 {
		line.Window = Window{From: r.o.From, To: r.o.To, Given: true}
		rows := r.all.rows(line.Window)
		return rows, rows.judge()
	}
	drips, c := math.Inf(-1), &r.setup.Cylinder
	stroke := (c.Stroke - c.Port) * c.Area()
	if line.ByTravel {
		stroke *= 0.99
	} else {
		few := r.all.smooth()
		drips = r.d.swept(someCup, few.p[peakOf(&few)])
		stroke += twoSided * r.unsure.Uptake
	}
	w, err := findWindow(&r.all, drips, 2*(r.o.Lag+r.unsure.Lag))
	if err != nil {
		return series{}, err
	}
	line.Window = w
	rows := r.all.rows(w)
	rows = rows.moving()
	short := rows.before(stroke)
	if len(short.t) >= minRows && len(short.t) < len(rows.t) {
		rows = short
		line.Ended = rows.t[len(rows.t)-1]
	}
	few := rows.smooth()
	if at, ok := few.kink(); ok {
		line.Ended = (few.t[at-1] + few.t[at]) / 2
		line.Window.To = few.t[at-2] // the point before the break may hold rows of either line
		rows = rows.rows(Window{From: rows.t[0], To: line.Window.To})
	}
	if len(rows.t) > 0 {
		line.Window.To = rows.t[len(rows.t)-1]
	}
	return rows, rows.judge()
}

// fits fills in line, forces and bow, or why they are withheld.
func (r *reader) fits(w *window) {
	line := r.line
	lag, bow := w.lag(), w.bow()
	y := append([]float64(nil), w.p...)
	for j := range y { // P = P_g + τ dP_g/dt, with the gauge's best estimate
		y[j] -= r.o.Lag * lag[j]
	}
	base := []nuisance{{"bow", scaled(bow, bowShare*w.fall)}, {"lag", scaled(lag, r.unsure.Lag)}}
	slope := w.slope
	if r.unsure.Dissolved > 0 {
		solids := w.column(func(i int) float64 { return -r.d.solids(w.rows.cup[i]) / r.d.density })
		base = append(base, nuisance{"dissolved", scaled(solids, slope*r.unsure.Dissolved)})
	}
	var air []float64
	if !line.ByTravel {
		air = w.column(func(i int) float64 { return r.d.airShare(w.base.at(w.p, i)) })
	}

	// the bow, seen with nothing held against it
	free := append([]nuisance{{"bow", scaled(bow, 10*w.fall)}}, base[1:]...)
	f, ok := w.fit(y, free)
	if ok {
		u := f.uncertainty[0] * 10 * w.fall
		line.Raw.Bow = Reading{Around(f.nuisance[0]*10*w.fall, u), u}
	}
	raw, fine := w.fit(y, base)
	if !ok || !fine {
		line.withhold("no line falls through the rows")
		return
	}
	if r.strange != "" {
		line.withhold(r.strange)
		return
	}
	if r.withhold(w, &raw) {
		return
	}
	line.Raw = Raw{
		Intercept: Reading{Around(raw.a, math.Sqrt(raw.cov[0][0])), math.Sqrt(raw.own[0][0])},
		Slope:     Reading{Around(raw.b, math.Sqrt(raw.cov[1][1])), math.Sqrt(raw.own[1][1])},
		Cov:       raw.cov, Bow: line.Raw.Bow,
		From: w.middle - w.half, To: w.middle + w.half,
	}
	if !line.ByTravel {
		line.Raw.PerUptake = [2]float64{raw.b, 0}
		if !line.Tail.Read {
			for i := range 2 { // more air than reckoned with makes the swept volume larger than it seems
				line.Raw.PerAir[i] = raw.b * dot(raw.gain[i], air)
			}
		}
	}
	line.Forces = r.forces(w, y, base, air, r.unsure)
	if h := &r.o.Handle; h.Force != nil {
		hold := w.column(r.handle(w))
		for i := range 2 {
			line.Raw.Handle[i] = dot(raw.gain[i], hold)
			line.Raw.HandleU[i] = h.U * math.Abs(line.Raw.Handle[i])
		}
	}
	wide := r.unsure.Faulty()
	if line.ByTravel {
		wide.Air = 0
	}
	if line.Tail.Read {
		wide.Air = r.unsure.Air
	}
	if line.ZeroRead {
		wide.Zero = r.unsure.Zero
	}
	line.Wide = r.forces(w, y, base, air, wide)
	if u := line.Rate.U(); !(u < tellMost*line.Rate.Value) {
		line.withhold(fmt.Sprintf("the rate would be known to ±%.0f %% only", 100*twoSided*u/line.Rate.Value))
	}
}

// handle returns the pressure [Pa] that the handle's weight puts on each row.
func (r *reader) handle(w *window) func(i int) float64 {
	c := &r.setup.Cylinder
	return func(i int) float64 {
		z := c.Port + w.smooth[i]/c.Area()
		return r.o.Handle.Force(max(0, min(c.Stroke, z))) / (c.Area() + c.Seal.PerPa)
	}
}

// withhold takes every number away that rests on the line, and says why.
func (line *Line) withhold(why string) {
	line.Withheld = why
	line.Raw = Raw{Bow: line.Raw.Bow}
	line.Forces, line.Wide = Forces{}, Forces{}
}
