package profile

import (
	"math"
	"slices"
)

// StallShare is the share of the peak [-] under which a falling pressure
// counts as stalled.
const StallShare = 1e-3

const (
	giveUp    = 600.0  // time from release after which a shot counts as choked [s]
	firstDrop = 0.3e-3 // cup mass that counts as the first drop, as [W26] read it [kg]
	steepest  = 0.7    // a panel is split where the pressure falls below this share of its start [-]
	splitAt   = 0.8    // share of its start at which it is split [-]
	nearly    = 1e-12  // relative rounding allowed when asking whether an event was reached [-]
)

// Run follows a shot. It returns an error where the setup is impossible; a
// shot that cannot end is an Outcome, not an error.
//
// How a bed answers to falling pressure is not known from measurements, so the
// shot carries the band of the two ends, Elastic and Set.
func Run(s *Setup) (*Shot, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	shot := &Shot{Samples: make([]Sample, 0, 128), Events: make([]Event, 0, 8)}
	shot.Summary = follow(s, shot)
	end := *s
	end.Coffee.Unloading = 0
	shot.Set = follow(&end, nil)
	end.Coffee.Unloading = s.Coffee.Loading
	shot.Elastic = follow(&end, nil)
	shot.Doubts = s.doubts(shot)
	return shot, nil
}

// Summarize is Run without table, events, band and doubts, for what loops.
func Summarize(s *Setup) (Summary, error) {
	if err := s.Validate(); err != nil {
		return Summary{}, err
	}
	return follow(s, nil), nil
}

// Trace is Run into the memory of a shot that is no longer needed, for what
// loops over whole curves; without doubts and the band.
func Trace(s *Setup, shot *Shot) error {
	if err := s.Validate(); err != nil {
		return err
	}
	*shot = Shot{Samples: shot.Samples[:0], Events: shot.Events[:0]}
	shot.Summary = follow(s, shot)
	return nil
}

// course is a shot in the making.
type course struct {
	bed    bed
	grid   *grid
	shot   *Shot   // where samples and events go; nil for a summary alone
	now    float64 // time [s]
	base   float64 // water in the bed when the stage began [m³]
	last   Sample  // the last point reached
	drop   Sample  // where the flow out of the bed began in this stage
	volume float64 // water that entered the bed, by quadrature [m³]
	sum    Summary
}

// follow runs all pulls of a valid setup.
func follow(s *Setup, shot *Shot) Summary {
	c := &course{bed: newBed(s), shot: shot, grid: &coarse}
	if shot != nil {
		c.grid = &fine
	}
	for i := range s.Pulls {
		if i == 1 {
			c.bed.soften(s.Coffee.SecondPull)
		}
		c.pull(s, &s.Pulls[i])
	}
	c.settle(s)
	return c.sum
}

// pull adds one pull: the boiler wets the bed, then the springs push.
func (c *course) pull(s *Setup, p *Pull) {
	c.note("port opened")
	release := c.now + p.Preinfusion
	air := s.AirAtRelease(p)
	if p.FillTime > 0 {
		c.rest()
		c.now += min(p.FillTime, p.Preinfusion)
		c.rest()
		if p.FillTime <= p.Preinfusion {
			c.note("chamber full")
		}
	}
	if release > c.now {
		c.soak(s, release)
	}
	c.note("release")
	if p == &s.Pulls[0] {
		c.sum.Preinfusion, c.sum.Wetted = p.Preinfusion, c.bed.wetted(c.last.Volume)
	}

	d := newDrive(s, air)
	if !(d.pressure(d.port) > s.Water.Fill) {
		c.sum.Outcome, c.sum.End = NoPressure, s.Water.Fill
		return
	}
	start, ok := d.closing()
	if !ok {
		c.sum.Outcome = AirTookAll
		stop := point{start, d.airPressure(start)}
		c.sum.Peak, c.sum.End = max(c.sum.Peak, stop.pressure), stop.pressure
		c.account(&d, s.Water.Fill, stop, stop)
		return
	}
	peak := d.pressure(start)
	c.sum.Peak = max(c.sum.Peak, peak)
	c.note("peak")
	c.sum.Outcome = c.push(&d, start, limits{
		pressure: p.EndPressure, stall: StallShare * peak, cup: p.EndCup, time: release + giveUp,
	})
	c.note("end")
	c.sum.End = c.last.Pressure
	c.sum.Spring += c.now - release
	if fall := c.drop.Pressure / c.last.Pressure; fall > 1 {
		c.sum.TimeConstant = (c.now - c.drop.Time) / math.Log(fall)
	}
	c.account(&d, s.Water.Fill, point{start, peak}, point{c.last.Travel, c.last.Pressure})
}

// AirAtRelease returns the air [m³] in the chamber when a pull's lever is let
// go: what the chamber traps, and what a short fill has not filled.
func (s *Setup) AirAtRelease(p *Pull) float64 {
	air := s.Chamber.Air
	if p.FillTime > p.Preinfusion {
		air += (s.ChamberVolume() - air) * (1 - p.Preinfusion/p.FillTime)
	}
	return air
}

// soak lets the boiler push, the piston held up, until a time.
func (c *course) soak(s *Setup, until float64) {
	d := boiler(s.Water.Fill)
	to := 0.0
	if s.Water.Fill+c.bed.suction > 0 {
		to = max(0, c.bed.retain-c.last.Volume) // suction alone wets the bed but presses nothing through it
		if s.Water.Fill > 0 {
			to += s.Water.Fill / c.bed.plateau * (until - c.now) // no flow is faster than through the extracted bed
		}
	}
	c.stage(&d, 0, to, until)
	c.sample(&d, c.last.Volume-c.base, until) // the water waits for the release
}

// limits are what may end the push of the springs before the stroke does.
type limits struct {
	pressure float64 // P_end: gauge pressure that ends the shot [Pa]
	stall    float64 // gauge pressure that counts as stalled [Pa]
	cup      float64 // cup mass that ends the shot [kg], 0 for none
	time     float64 // time at which the shot is given up [s]
}

// push lets the springs push from a travel until something ends it.
func (c *course) push(d *drive, from float64, l limits) Outcome {
	to, outcome := d.cylinder.Stroke, StrokeEnded
	end := func(z float64, o Outcome) {
		if z < to {
			to, outcome = z, o
		}
	}
	end(d.travelAtPressure(l.stall, from, to), Stalled)
	end(d.travelAtPressure(l.pressure, from, to), BelowLimit)
	if l.cup > 0 {
		end(d.travelFor(c.bed.volumeFor(l.cup)-c.last.Volume, from, to), CupFull)
	}
	if !c.stage(d, from, to, l.time) {
		outcome = Choked
	}
	return outcome
}

// stage advances a drive from one travel to another, or until a time; it says
// whether the travel was reached. It walks from event to event: between two,
// the integrand is smooth.
func (c *course) stage(d *drive, from, to, until float64) bool {
	c.base, c.drop = c.last.Volume, Sample{}
	c.bed.compact(d.pressure(from))
	c.sample(d, from, c.now)
	c.flows()
	var room [12]float64
	at := from
	for _, z := range c.events(d, room[:0], from, to) {
		leg := at
		for _, cut := range c.grid.cuts {
			next := leg + cut*(z-leg)
			p := c.panel(d, at, next)
			t := c.now + p.time
			if t > until {
				next = root(func(z float64) float64 { return c.now + c.panel(d, at, z).time - until }, at, next)
				p, t = c.panel(d, at, next), until
			}
			c.volume += p.volume
			c.sum.Mass.Cup += p.cup
			if len(d.springs) > 0 { // the boiler's work is not the springs'
				c.sum.Energy.Hydraulic += p.work
				c.sum.Energy.Friction += p.friction
			}
			c.sample(d, next, t)
			if t == until && next < z {
				return false
			}
			at = next
		}
		c.reached()
	}
	return true
}

// events appends the travels between two at which the integrand bends or the
// shot has an event, in order, the last being the end of the stage.
func (c *course) events(d *drive, zs []float64, from, to float64) []float64 {
	add := func(z float64) {
		if z > from && z < to {
			zs = append(zs, z)
		}
	}
	add(d.travelFor(c.bed.retain-c.base, from, to))
	add(d.travelFor(c.bed.volumeFor(firstDrop)-c.base, from, to))
	add(d.travelAtPressure(c.bed.threshold, from, to))
	for _, s := range d.springs {
		if s.Rate > 0 {
			add(d.cylinder.Stroke + s.Preload/s.Rate) // where this spring goes loose
		}
	}
	slices.Sort(zs)
	if to > from {
		zs = append(zs, to)
	}
	return zs
}

// reached notes the events of the bed that the last point has passed.
func (c *course) reached() {
	if c.sum.FrontThrough == 0 && c.bed.retain > 0 && c.last.Volume >= c.bed.retain*(1-nearly) {
		c.sum.FrontThrough = c.now
		c.note("front through")
	}
	c.flows()
	if c.sum.FirstDrop == 0 && c.last.Cup >= firstDrop*(1-nearly) {
		c.sum.FirstDrop = c.now
		c.note("first drop")
	}
}

// flows keeps the first point of a stage at which water leaves the bed.
func (c *course) flows() {
	if c.drop.Pressure == 0 && c.last.Volume >= c.bed.retain*(1-nearly) {
		c.drop = c.last
	}
}

// piece is what a panel adds.
type piece struct{ time, volume, cup, work, friction float64 }

// panel integrates over travel between a and b: this is the whole of the
// model's dynamics,
//
//	dt = (dt/dV) (dV/dz) dz
//
// The integrand goes as 1/P and with what decays in the bed, so panels over
// which either changes much are split.
func (c *course) panel(d *drive, a, b float64) (sum piece) {
	pa, pb := d.pressure(a), d.pressure(b)
	mid := b
	switch {
	case pb < steepest*pa:
		mid = a + (b-a)*pa*(1-splitAt)/(pa-pb)
	case c.bed.decays(c.base+d.delivered(a, pa), c.base+d.delivered(b, pb)) > c.grid.reach:
		mid = (a + b) / 2
	}
	if mid > a && mid < b {
		x, y := c.panel(d, a, mid), c.panel(d, mid, b)
		return piece{x.time + y.time, x.volume + y.volume, x.cup + y.cup, x.work + y.work, x.friction + y.friction}
	}
	for _, n := range c.grid.rule {
		z := a + n.at*(b-a)
		p := d.pressure(z)
		dv := n.weight * (b - a) * d.deliverySlope(z, p)
		v := c.base + max(0, d.delivered(z, p))
		slow, strength := c.bed.slowness(p, v)
		sum.time += slow * dv
		sum.volume += dv
		sum.cup += strength * c.bed.density * dv
		sum.work += p * dv
		sum.friction += n.weight * (b - a) * d.cylinder.Seal.Friction(p)
	}
	return sum
}

// sample moves to a travel at a time, and keeps the row.
func (c *course) sample(d *drive, z, t float64) {
	p := d.pressure(z)
	v := c.base + max(0, d.delivered(z, p))
	s := Sample{Time: t, Volume: v, Pressure: p, Cup: c.bed.cup(v)}
	if len(d.springs) > 0 {
		s.Travel = z
	}
	if slow, _ := c.bed.slowness(p, v); slow > 0 && !math.IsInf(slow, 1) {
		s.Flow = 1 / slow
	}
	c.now = t
	c.keep(s)
}

// rest is where the water waits while the chamber fills.
func (c *course) rest() { c.keep(Sample{Time: c.now, Volume: c.last.Volume, Cup: c.last.Cup}) }

// keep makes a point the last one reached, and a row of the table.
func (c *course) keep(s Sample) {
	again := s == c.last
	c.last = s
	if c.shot != nil && (!again || len(c.shot.Samples) == 0) {
		c.shot.Samples = append(c.shot.Samples, s)
	}
}

// note keeps an event.
func (c *course) note(name string) {
	if c.shot != nil {
		c.shot.Events = append(c.shot.Events, Event{name, c.now})
	}
}

// account books the energy of a pull's travel: what the springs gave up to
// the end, and what became of it before the water moved, at start. From there
// on hydraulic and friction work were summed along the way.
func (c *course) account(d *drive, fill float64, start, end point) {
	e := &c.sum.Energy
	returned := fill * d.area * d.port
	closed := d.airWork(start.pressure)
	friction := d.cylinder.Seal.Friction(fill)*d.port +
		d.cylinder.Seal.Constant*(start.travel-d.port) + d.cylinder.Seal.PerPa/d.area*closed
	e.Released += d.energy(0) - d.energy(end.travel)
	e.Returned += returned
	e.Friction += friction
	e.Air += d.airWork(end.pressure)
	e.Release += d.energy(0) - d.energy(start.travel) - returned - friction - closed
}

// point is where the piston is, and under which gauge pressure.
type point struct{ travel, pressure float64 }

// settle closes the accounts.
func (c *course) settle(s *Setup) {
	c.keep(c.last) // a table has a row even where nothing happened
	c.sum.Total = c.now
	c.sum.Yield = c.last.Cup
	c.sum.Ratio = c.last.Cup / s.Coffee.Dose
	m := &c.sum.Mass
	water := c.bed.passed(c.last.Volume)
	m.Entered = c.bed.density * c.volume
	m.Retained = c.bed.density * min(c.last.Volume, c.bed.retain)
	m.Dissolved, _ = c.bed.dissolved(water)
	if m.Entered > 0 {
		m.Residual = (m.Entered + m.Dissolved - m.Retained - m.Cup) / m.Entered
	}
	e := &c.sum.Energy
	if e.Released > 0 {
		e.Residual = (e.Released - e.Hydraulic - e.Returned - e.Friction - e.Air - e.Release) / e.Released
	}
}
