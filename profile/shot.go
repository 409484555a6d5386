package profile

import (
	"math"
	"slices"

	"springcalc/piston"
)

// StallShare is the share of the peak [-] under which a falling pressure
// counts as stalled.
const StallShare = 1e-3

// AirRest is the pressure at which the push of trapped air counts as over: about
// capillary suction, a few drops a second [Pa].
const AirRest = 0.1e5

const (
	giveUp    = 600.0  // time from release after which a shot counts as choked, or the push of air as over [s]
	firstDrop = 0.3e-3 // cup mass that counts as the first drop, as [W26] read it [kg]
	exact     = 1e-12  // relative error of the time at which a stage is broken off [-]
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
	cuts   []float64
	shot   *Shot   // where samples and events go; nil for a summary alone
	now    float64 // time [s]
	base   float64 // water in the bed when the stage began [m³]
	last   Sample  // the last point reached
	drop   Sample  // where the flow out of the bed began in this stage
	volume float64 // water that entered the bed, by quadrature [m³]
	let    float64 // water let in so far [m³]
	above  float64 // water above the bed [m³]
	before float64 // water in the bed when the pull began [m³]
	opened float64 // time at which the pull's port was opened [s]
	asked  int     // how often the integrand was worked out
	sum    Summary
}

// follow runs all pulls of a valid setup.
func follow(s *Setup, shot *Shot) Summary {
	c := course{bed: newBed(s), shot: shot, cuts: whole}
	if shot != nil {
		c.cuts = rows
	}
	c.run(s)
	return c.sum
}

func (c *course) run(s *Setup) {
	for i := range s.Pulls {
		if i == 1 {
			c.bed.soften(s.Coffee.SecondPull)
		}
		c.pull(s, &s.Pulls[i])
	}
	c.settle(s)
}

// pull adds one pull: the boiler wets the bed, then the springs push.
func (c *course) pull(s *Setup, p *Pull) {
	c.note("port opened")
	c.before, c.opened = c.last.Volume, c.now
	release := c.now + p.Preinfusion
	air := s.AirAtClosing(p)
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
	c.fill(s, air)
	c.wash(s, release)
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
		stop := point{start, d.air.PressureIn(d.unmoved(start))}
		c.sum.Peak, c.sum.End = max(c.sum.Peak, stop.pressure), stop.pressure
		c.account(&d, s.Water.Fill, stop, stop)
		c.last.Travel = start
		c.airPush(s, p, &d, stop, release+giveUp)
		c.note("end")
		return
	}
	peak := d.pressure(start)
	c.sum.Peak = max(c.sum.Peak, peak)
	c.note("peak")
	c.sum.Outcome = c.push(&d, start, limits{
		pressure: p.EndPressure, stall: StallShare * peak, cup: p.EndCup, time: release + giveUp, water: c.above,
	})
	c.sum.End = c.last.Pressure
	c.sum.Spring += c.now - release
	if fall := c.drop.Pressure / c.last.Pressure; fall > 1 {
		c.sum.TimeConstant = (c.now - c.drop.Time) / math.Log(fall)
	}
	stop := point{c.last.Travel, c.last.Pressure}
	c.account(&d, s.Water.Fill, point{start, peak}, stop)
	c.above = s.Chamber.Headspace + d.area*(d.cylinder.Stroke-stop.travel) - d.air.VolumeAt(stop.pressure)
	if c.sum.Outcome == StrokeEnded {
		c.airPush(s, p, &d, stop, release+giveUp)
	}
	c.note("end")
}

// fill books the water that is above the bed when the port is closed: the
// chamber less its air [m³].
func (c *course) fill(s *Setup, air float64) {
	above := s.ChamberVolume() - s.Cylinder.Area()*s.Cylinder.Port - air
	c.let += above - c.above + c.last.Volume - c.before
	c.above = max(0, above)
}

// wash lets the blocking coffee go while the wetted bed waits for a release at
// a time [s]: b falls by exp(-k_1 t). It is counted up to the release, where the
// time is known; during the push the cup alone decides, so that time stays a
// sum over volume.
func (c *course) wash(s *Setup, release float64) {
	if c.bed.first == 0 || s.Coffee.Soaking == 0 {
		return
	}
	c.bed.soak(math.Exp(-s.Coffee.Soaking * (release - max(c.sum.FrontThrough, c.opened))))
}

// airPush lets the air of a drive push on after the piston has come to rest at
// stop: until the water above the bed is spent, its pressure is gone, or a limit
// of the pull is met.
func (c *course) airPush(s *Setup, p *Pull, d *drive, stop point, until float64) {
	volume := d.air.VolumeAt(stop.pressure)
	if c.sum.Outcome == AirTookAll {
		volume = d.unmoved(stop.travel)
		c.above = s.Chamber.Headspace - volume
	}
	rest := max(AirRest, p.EndPressure)
	if volume <= 0 || c.above <= 0 || stop.pressure <= rest {
		return
	}
	c.note("piston at rest")
	tail := pocket(piston.Air{Volume: volume, Pressure: stop.pressure, Atmosphere: d.air.Atmosphere})
	to, outcome := c.above, RanDry
	if z := tail.travelAtPressure(rest, 0, to); z < to {
		to, outcome = z, c.sum.Outcome
	}
	if p.EndCup > 0 {
		if z := c.bed.volumeFor(p.EndCup) - c.last.Volume; z < to {
			to, outcome = max(0, z), CupFull
		}
	}
	start, cup, entered := c.now, c.last.Cup, c.last.Volume
	drop := c.drop
	switch {
	case !c.stage(&tail, 0, to, until):
		c.sum.AirGivenUp = true
	case c.sum.Outcome == StrokeEnded:
		c.sum.Outcome = outcome
	}
	c.drop = drop
	gone := c.last.Volume - entered
	c.above -= gone
	c.sum.Energy.Air += d.air.WorkTo(volume+gone) - d.air.WorkTo(volume)
	c.sum.AirPush += c.now - start
	c.sum.AirYield += c.last.Cup - cup
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

// AirAtClosing returns the air [m³] that is under the piston when it has closed
// the port. What a short fill has not filled is gas that lies under the piston
// and leaves by the open port before water does; trapped air stays.
func (s *Setup) AirAtClosing(p *Pull) float64 {
	gas := s.AirAtRelease(p) - s.Chamber.Air
	return s.Chamber.Air + max(0, gas-s.Cylinder.Area()*s.Cylinder.Port)
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
	water    float64 // volume above the bed, more than which cannot leave [m³]
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
	end(d.travelFor(l.water, from, to), RanDry)
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
	c.bed.settle()
	c.sample(d, from, c.now)
	c.flows()
	var room [12]float64
	at := from
	for _, z := range c.events(d, room[:0], from, to) {
		leg := at
		for _, cut := range c.cuts {
			next := leg + cut*(z-leg)
			p := c.panel(d, at, next)
			t := c.now + p.time
			if t > until {
				next, p = c.upTo(d, at, next, until-c.now, p.time)
				t = until
			}
			c.volume += p.volume
			c.sum.Mass.Cup += p.cup
			if d.kind != byBoiler { // the boiler's work is not the springs'
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
	add(d.travelFor(c.bed.drop-c.base, from, to))
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
	if c.last.Volume >= c.bed.retain*(1-nearly) {
		c.bed.through(c.last.Pressure)
	}
	if c.drop.Pressure == 0 && c.last.Volume >= c.bed.retain*(1-nearly) {
		c.drop = c.last
	}
	c.bed.settle()
}

// piece is what a panel adds.
type piece struct{ time, volume, cup, work, friction float64 }

// plus returns the sum with another piece, times a sign.
func (p piece) plus(o piece, sign float64) piece {
	return piece{p.time + sign*o.time, p.volume + sign*o.volume, p.cup + sign*o.cup, p.work + sign*o.work, p.friction + sign*o.friction}
}

// panel integrates over travel between a and b: this is the whole of the
// model's dynamics,
//
//	dt = (dt/dV) (dV/dz) dz
//
// by the shortest rule that spans it. A panel that none spans is split where the longest
// would end that begins, or ends, as near to where the integrand is infinite.
func (c *course) panel(d *drive, a, b float64) (sum piece) {
	pa, pb := d.pressure(a), d.pressure(b)
	front, decays := c.bed.strain(c.base+d.delivered(a, pa), c.base+d.delivered(b, pb))
	back := 0.0
	switch {
	case d.kind == byAir: // infinite where the air has no volume, and where it has no pressure
		front = max(front, (b-a)/(d.air.Volume+a))
		back = (b - a) / (-d.air.Squeezed(0) - b)
	case pb < pa:
		back = (pa - pb) / pb
	}
	r, ok := ruleFor(max(front, back), decays)
	if !ok {
		part := max(1-r.reach/(2*back), 0.5)
		if front > r.reach && front >= back || decays > r.span {
			part = max(least, min(0.5, r.span/decays, r.reach/(2*front)))
		}
		if mid := a + part*(b-a); mid > a && mid < b {
			return c.panel(d, a, mid).plus(c.panel(d, mid, b), 1)
		}
	}
	c.asked += len(r.nodes)
	for _, n := range r.nodes {
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

// least is the least share of a panel that is split off at once [-].
const least = 0.05

// slope returns dt/dz at a travel [s/m].
func (c *course) slope(d *drive, z float64) float64 {
	c.asked++
	p := d.pressure(z)
	slow, _ := c.bed.slowness(p, c.base+max(0, d.delivered(z, p)))
	return slow * d.deliverySlope(z, p)
}

// upTo finds the travel between a and b at which a time [s] has gone since a, all
// being the time to b, and what has happened by then. It starts from the cubic through both ends
// with their slopes, and goes on by Newton's method, adding up what lies between one guess and the next.
func (c *course) upTo(d *drive, a, b, time, all float64) (float64, piece) {
	sa, sb := c.slope(d, a)*(b-a)/all, c.slope(d, b)*(b-a)/all
	z := a + cubicShare(time/all, sa, sb)*(b-a)
	sum := c.panel(d, a, z)
	const far = 0.25 // of the way
	low, high := a, b
	for range 60 {
		miss := time - sum.time
		if math.Abs(miss) <= exact*time {
			break
		}
		if miss > 0 {
			low = z
		} else {
			high = z
		}
		next := z + miss/c.slope(d, z)
		if !(next > low && next < high) {
			next = (low + high) / 2
		}
		if next == z {
			break
		}
		switch {
		case math.Abs(next-z) > far*(next-a):
			sum = c.panel(d, a, next) // a small difference of large sums is worth nothing
		case next > z:
			sum = sum.plus(c.panel(d, z, next), 1)
		default:
			sum = sum.plus(c.panel(d, next, z), -1)
		}
		z = next
	}
	return z, sum
}

// cubicShare is where the cubic from (0, 0) to (1, 1) with these slopes at its ends
// reaches a height, to a few digits: by Newton's method, no further than the ends.
func cubicShare(height, first, last float64) float64 {
	const enough, most = 1e-5, 10
	x, second, third := height, 3-2*first-last, first+last-2
	for range most {
		slope := first + x*(2*second+3*x*third)
		if !(slope > 0) || math.IsInf(slope, 1) {
			return height
		}
		next := min(1, max(0, x-(x*(first+x*(second+x*third))-height)/slope))
		if math.Abs(next-x) < enough {
			return next
		}
		x = next
	}
	return x
}

// sample moves to a travel at a time, and keeps the row.
func (c *course) sample(d *drive, z, t float64) {
	p := d.pressure(z)
	v := c.base + max(0, d.delivered(z, p))
	s := Sample{Time: t, Volume: v, Pressure: p, Cup: c.bed.cup(v)}
	switch d.kind {
	case bySpring:
		s.Travel = z
	case byAir:
		s.Travel = c.last.Travel
	}
	if c.shot != nil {
		if slow, _ := c.bed.slowness(p, v); slow > 0 && !math.IsInf(slow, 1) {
			s.Flow = 1 / slow
		}
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
	closed := d.air.WorkTo(d.air.VolumeAt(start.pressure))
	friction := d.cylinder.Seal.Friction(fill)*d.port +
		d.cylinder.Seal.Constant*(start.travel-d.port) + d.cylinder.Seal.PerPa/d.area*closed
	e.Released += d.energy(0) - d.energy(end.travel)
	e.Returned += returned
	e.Friction += friction
	e.Air += d.air.WorkTo(d.air.VolumeAt(end.pressure))
	e.Release += d.energy(0) - d.energy(start.travel) - returned - friction - closed
}

// point is where the piston is, and under which gauge pressure.
type point struct{ travel, pressure float64 }

// settle closes the accounts.
func (c *course) settle(s *Setup) {
	c.keep(c.last) // a table has a row even where nothing happened
	c.sum.Total, c.sum.Last = c.now, c.last.Pressure
	c.sum.Yield = c.last.Cup
	c.sum.Ratio = c.last.Cup / s.Coffee.Dose
	m := &c.sum.Mass
	water := c.bed.passed(c.last.Volume)
	m.Entered = c.bed.density * c.volume
	m.Retained = c.bed.density * min(c.last.Volume, c.bed.retain)
	m.Dissolved, _ = c.bed.dissolved(water)
	m.Filled, m.Left = c.bed.density*c.let, c.bed.density*c.above
	if m.Filled > 0 {
		m.Residual = (m.Filled + m.Dissolved - m.Retained - m.Cup - m.Left) / m.Filled
	}
	e := &c.sum.Energy
	if e.Released > 0 {
		e.Residual = (e.Released - e.Hydraulic - e.Returned - e.Friction - e.Air - e.Release) / e.Released
	}
}
