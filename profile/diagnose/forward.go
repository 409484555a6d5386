package diagnose

import (
	"errors"
	"fmt"
	"math"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// nuisance is what differs between sound machines.
type nuisance int

const (
	offFriction  nuisance = iota // friction of the seal without pressure, off its mean [N]
	offPerPa                     // friction by pressure [N/Pa]
	offFree                      // free length [-]
	offWire                      // wire [-]
	offCoils                     // active coils [-]
	offGain                      // gain of the machine's gauge [-]
	offZero                      // its zero [Pa]
	offAir                       // air of the fill [m³]
	offTravel                    // travel of the piston [m]
	offBore                      // bore [-]
	offPuck                      // ln of the puck's resistance [-]
	offHeadspace                 // depth of the headspace [m]
	offLag                       // ln of the time constant of the gauge [-]
	offOtherGain                 // gain of a sensor other than the machine's gauge [-]
	offOtherZero                 // its zero [Pa]
	nuisances
)

// ofReading reports whether it is in the reading, not in the machine.
func (i nuisance) ofReading() bool { return i == offGain || i == offZero || i > offLag }

// sizesOf are the sizes of all faults; 0 for a part in order.
type sizesOf [numParts]float64

// offsets are the nuisances off their means.
type offsets [nuisances]float64

// seen is what readings of a machine in one state would be, and the pressures
// behind them.
type seen struct {
	value [kinds]float64 // as the machine's gauge shows it [unit of the kind]
	other [kinds]float64 // pressures as a sound sensor shows them [unit of the kind]
	rate  float64        // of the first spring [N/m]
	free  float64        // its free length [m]; below 0 where it is not known
	peak  float64        // true peak, no gauge between [Pa]
	end   float64        // true end pressure [Pa]
	shown float64        // peak that a sound gauge shows [Pa]
	part  float64        // share of the sound machine's water that goes through [-]
	late  float64        // what a sound gauge shows more at the end, and more so of a shot too short for it, for the model's error of it [Pa]
	whole float64        // yield with what trapped air pushed through after the stroke [kg]
}

// forward computes readings of a machine in any state.
//
// Peak and end pressure, line, travel and dimensions are closed forms; how
// the puck's resistance bears on the lag of the gauge, on time and on yield
// comes from tables that the shot's own engine fills for the machine as new.
type forward struct {
	machine *Machine
	prior   *Priors
	base    profile.Setup // as new, with the friction and the air of a sound machine

	first, rest spring.Linear // the first spring and those beside it
	area        float64       // A [m²]
	bed         float64       // of the bed [m²]
	coils       float64       // active [-]
	pitch       float64       // deflection of one coil to solid and its wire, of the first spring [m]
	free        float64       // free length, or one of common proportions [m]
	wire        float64       // [m]; 0 where it is not known
	known       bool          // dimensions of the spring are known
	air         float64       // mean air at release [m³]
	weight      float64       // W, the handle's with it [N]
	friction    float64       // mean friction [N]
	frictionU   float64       // its standard deviation [N]
	lag         float64       // time constant of the gauge [s]

	water    float64 // delivered by the spring when sound [m³]
	slope    float64 // -dP/dw at the start when sound [Pa/m³]
	peak     float64 // true peak when sound [Pa]
	end      float64 // true end pressure when sound [Pa]
	yield    float64 // at the end of the stroke when sound [kg]
	startNew float64 // ln of the resistance at the peak when sound [Pa·s/m³]

	byOpen   table1 // ln of the resistance's factor -> shown, ln of the time, yield, behind at the end
	byPeak   table1 // ln of a peak -> ln of the resistance at the peak and on the way down from it
	byVolume table1 // water missing [m³] -> yield, ln of the time
	shares   [numParts]table1
	reach    [numParts]float64 // most share that a fault can take, over ShareMost [-]
}

// Proportions of a spring whose dimensions are not known.
const usualFree = 1.6 // free length over deflection when cocked [-]

var errSound = errors.New("the machine as new gives no shot")

// newForward prepares a machine.
func newForward(m *Machine, p *Priors) (*forward, error) {
	f := &forward{machine: m, prior: p, base: m.Setup, area: m.Setup.Cylinder.Area(), bed: m.Setup.Basket.Area(), lag: m.GaugeLag}
	if f.lag == 0 {
		f.lag = usualLag
	}
	s := &f.base
	s.Springs = append([]spring.Linear(nil), s.Springs...)
	s.Pulls = append([]profile.Pull(nil), s.Pulls...)
	f.air = s.AirAtRelease(&s.Pulls[0])
	if f.air == 0 {
		f.air = p.Sound.Air
	}
	for i := range s.Pulls { // the readings are of whole strokes
		s.Pulls[i].EndCup, s.Pulls[i].EndPressure, s.Pulls[i].FillTime = 0, 0, 0
	}
	s.Chamber.Air = f.air
	f.friction, f.frictionU = logNormal(p.Sound.Seal, math.Log(p.Sound.SealFactor))
	s.Cylinder.Seal.Constant, s.Cylinder.Seal.PerPa = f.friction, p.Sound.SealPressure

	f.weight = s.Cylinder.Weight + s.Handle.Force(s.Cylinder.Stroke/2)
	f.first = s.Springs[0]
	for _, l := range s.Springs[1:] {
		f.rest.Rate += l.Rate
		f.rest.Preload += l.Preload
	}
	cocked := f.first.Preload/f.first.Rate + s.Cylinder.Stroke
	f.coils, f.pitch, f.free = usualCoils, cocked*usualPitch/usualCoils*usualWire, cocked*usualFree
	if m.Spring != nil {
		f.known = true
		f.coils, f.pitch, f.wire, f.free = m.Spring.Active, m.Spring.Pitch(), m.Spring.Wire, m.Spring.Free
	}
	if err := f.calibrate(); err != nil {
		return nil, err
	}
	return f, f.tabulate()
}

// logNormal returns mean and standard deviation of a log-normal quantity.
func logNormal(median, sigma float64) (mean, sd float64) {
	mean = median * math.Exp(sigma*sigma/2)
	return mean, mean * math.Sqrt(math.Expm1(sigma*sigma))
}

const (
	openSteps   = 28   // of the table over the resistance
	openLeast   = -6.0 // ln of its least factor [-]
	openMost    = 1.5  // and of its greatest [-]
	volumeSteps = 16   // of the table over the water missing
	peakSteps   = 20   // of the table over the peak
	midSteps    = 6    // and on the way down from it
	midSpan     = 1.6  // ln of the peak over the lowest pressure of it [-]
	shareSteps  = 25   // sizes of a fault
	leastShare  = 0.05 // share of the peak that an end pressure counts as at least, near a stall [-]
	leastPeak   = 0.02 // share of the sound peak under which a machine gives no pressure [-]
	leftByFill  = 0.1  // share of the air that a long fill leaves [-]
)

// calibrate fills the tables that the engine knows.
func (f *forward) calibrate() error {
	f.byOpen = newTable1(openLeast, openMost, openSteps, 4)
	s := f.base
	var shot profile.Shot
	for i := range openSteps {
		s.Coffee = f.base.Coffee
		s.Coffee.Resistance *= math.Exp(f.byOpen.at(i))
		if err := profile.Trace(&s, &shot); err != nil {
			return fmt.Errorf("%w: %w: %w", ErrInput, errSound, err)
		}
		if !(shot.Peak > 0) || shot.Outcome == profile.AirTookAll || shot.Outcome == profile.NoPressure {
			return fmt.Errorf("%w: %w", ErrInput, errSound)
		}
		most, behind := gauged(&shot, f.lag)
		f.byOpen.set(i, most, math.Log(max(shot.Spring, 1e-3)), shot.Yield-shot.AirYield, behind)
	}
	s.Coffee = f.base.Coffee
	sum, err := profile.Summarize(&s)
	if err != nil {
		return err
	}
	f.peak, f.end, f.yield = sum.Peak, sum.End, sum.Yield-sum.AirYield
	if !(f.peak > 0 && f.end > 0) {
		return fmt.Errorf("%w: %w", ErrInput, errSound)
	}
	f.byPeak = newTable1(math.Log(leastPeak*f.peak), math.Log(2*f.peak), peakSteps, midSteps)
	for i := range peakSteps {
		peak := math.Exp(f.byPeak.at(i))
		var ln [midSteps]float64
		for j := range ln {
			at := profile.Sample{Pressure: peak * math.Exp(-midSpan*float64(j)/(midSteps-1)), Cup: f.yield / 2}
			ln[j] = math.Log(s.BedResistance(at, peak))
		}
		f.byPeak.set(i, ln[:]...)
	}
	var b body
	f.body(&sizesOf{}, &offsets{}, &b)
	b.shoot()
	f.water, f.slope, f.startNew = b.water, b.slope(), f.resists(f.peak, f.peak)
	stroke := s.Cylinder.Stroke - s.Cylinder.Port
	f.byVolume = newTable1(-0.1*stroke*f.area, 0.98*stroke*f.area, volumeSteps, 2)
	for i := range volumeSteps {
		less := f.byVolume.at(i) / f.area
		s.Cylinder.Stroke = f.base.Cylinder.Stroke - less
		s.Springs = append([]spring.Linear(nil), f.base.Springs...)
		for j := range s.Springs {
			s.Springs[j].Preload += s.Springs[j].Rate * less // the same force with the lever cocked
		}
		sum, err := profile.Summarize(&s)
		if err != nil {
			return err
		}
		f.byVolume.set(i, sum.Yield-sum.AirYield, math.Log(max(sum.Spring, 1e-3)))
	}
	return nil
}

// resists returns ln of the bed's resistance at a pressure under a peak [Pa].
func (f *forward) resists(peak, p float64) float64 {
	y := min(max(math.Log(peak/p), 0), midSpan) / midSpan * (midSteps - 1)
	j := min(int(y), midSteps-2)
	x := math.Log(peak)
	a, b := f.byPeak.get(j, x), f.byPeak.get(j+1, x)
	return a + (y-float64(j))*(b-a)
}

// gauged returns what a gauge with a time constant [s] shows of a shot: its
// highest reading over the highest pressure, and how far it is behind at the end
// of the stroke, over what the pressure has fallen by then. It is the exact answer
// of a first-order gauge, from the fill pressure at the release, to pressure
// that runs straight between rows,
//
//	L dr/dt = P - r,   r = P - s L + (r_a - P_a + s L) e^(-t/L),   s = dP/dt
//
// which is highest where it meets the pressure.
func gauged(shot *profile.Shot, lag float64) (most, behind float64) {
	reading, best, end := 0.0, 0.0, shot.Peak
	rest, started := math.Inf(1), false
	for i := 1; i < len(shot.Samples); i++ {
		a, b := &shot.Samples[i-1], &shot.Samples[i]
		if !started {
			started, reading, rest = b.Pressure >= 0.999*shot.Peak, a.Pressure, b.Time+shot.Spring
			continue
		}
		span := b.Time - a.Time
		if b.Time > rest+span/2 {
			break
		}
		if span <= 0 {
			continue
		}
		ahead := (b.Pressure - a.Pressure) / span * lag // s L
		apart := reading - a.Pressure + ahead
		if reading < a.Pressure && ahead < 0 {
			if t := -lag * math.Log(ahead/apart); t < span {
				best = max(best, a.Pressure+ahead*t/lag)
			}
		}
		reading, end = b.Pressure-ahead+apart*math.Exp(-span/lag), b.Pressure
		best = max(best, reading)
	}
	if end < shot.Peak {
		behind = (reading - end) / (shot.Peak - end)
	}
	return best / shot.Peak, behind
}

// body is a machine in one state, as numbers.
type body struct {
	area, effect  float64       // A, A + c [m²]
	first, rest   spring.Linear // springs
	weight        float64       // W [N]
	friction      float64       // [N]
	stroke, start float64       // end of the stroke, start of pressure, from fully cocked [m]
	air           piston.Air
	free, wire    float64 // of the first spring [m]
	coils         float64 // [-]

	peak, end float64 // true pressures [Pa]
	water     float64 // delivered while the spring pushes [m³]
	pushed    float64 // and by the air after that [m³]
	headspace float64 // room above the bed with the piston at rest [m³]
	from, to  float64 // travel at the peak and at the end [m]
}

// body sets up a machine in one state.
func (f *forward) body(x *sizesOf, o *offsets, b *body) {
	c := &f.base.Cylinder
	bore := 1 + o[offBore]
	b.area = f.area * bore * bore
	b.effect = b.area + max(0, c.Seal.PerPa+o[offPerPa])
	thin := (1 + o[offWire]) * (1 - x[PartWire])
	softer := thin * thin * thin * thin
	b.coils = max(0.1, f.coils+o[offCoils]-x[PartCoil]+x[PartSpring])
	shorter := x[PartSet] - o[offFree]*f.free
	b.first.Rate = f.first.Rate * softer * f.coils / b.coils
	b.first.Preload = b.first.Rate * (f.first.Preload/f.first.Rate - shorter - x[PartCoil]*f.pitch)
	if f.rest.Rate > 0 {
		b.rest.Rate = f.rest.Rate * softer
		b.rest.Preload = softer * (f.rest.Preload - f.rest.Rate*shorter)
	}
	b.free, b.wire = f.free-shorter-x[PartCoil]*f.pitch, f.wire*thin
	b.weight, b.friction = f.weight, max(0, f.friction+o[offFriction]+x[PartSeal])
	b.stroke = c.Stroke + o[offTravel]
	b.start = max(c.Port, x[PartLever]) + x[PartHeadspace]/b.area
	b.air = f.base.Water.Air(max(0, f.air+o[offAir]+x[PartFill]))
	b.headspace = max(0, f.base.Chamber.Headspace+x[PartHeadspace]+o[offHeadspace]*f.bed)
}

// pressure returns the true pressure [Pa] at a travel [m].
func (b *body) pressure(z float64) float64 {
	lift := b.stroke - z
	force := b.weight + max(0, b.first.Preload+b.first.Rate*lift) + max(0, b.rest.Preload+b.rest.Rate*lift)
	return max(0, (force-b.friction)/b.effect)
}

// shoot works out peak, end and water:
//
//	A D = V_a (1 - (P_atm + P_fill)/(P_atm + P_0 - κ D)), κ = k/(A + c)
//
// for the travel D on which the air is compressed, the smaller root.
func (b *body) shoot() {
	b.to = b.stroke
	if b.start >= b.to {
		b.from, b.peak, b.end, b.water, b.pushed = b.to, 0, 0, 0, 0
		return
	}
	p0 := b.pressure(b.start)
	kappa := (b.first.Rate + b.rest.Rate) / b.effect
	b.from = b.start
	if air := b.air; air.Volume > 0 && p0 > air.Pressure {
		h := b.area*(air.Atmosphere+p0) + air.Volume*kappa
		root := h*h - 4*b.area*kappa*air.Volume*(p0-air.Pressure)
		if root < 0 {
			b.from = b.to
		} else {
			b.from = min(b.to, b.start+(h-math.Sqrt(root))/(2*b.area*kappa))
		}
	}
	b.peak, b.end = b.pressure(b.from), b.pressure(b.to)
	if b.end == 0 && b.peak > 0 { // stalls before the end of the stroke
		b.to = b.from + b.peak/kappa
	}
	b.runDry(kappa)
	b.water = max(0, b.area*(b.to-b.start)-b.air.Squeezed(b.end))
	b.pushed = max(0, min(b.air.VolumeAt(profile.AirRest), b.headspace-b.area*(b.to-b.stroke))-b.air.VolumeAt(b.end))
}

// runDry ends the push of the spring where the water is spent: there is no more
// of it than the chamber held beside the air. There the air, whose p V is c, fills
// what room is left above the bed, on a travel y past the peak:
//
//	(p_atm + P_peak - κ y) (V_h + A (s - z_peak - y)) = c
func (b *body) runDry(kappa float64) {
	room := b.headspace + b.area*(b.stroke-b.from) // at the peak
	if b.air.Volume == 0 || b.end == 0 || b.air.VolumeAt(b.end) <= room-b.area*(b.to-b.from) {
		return
	}
	p := b.air.Atmosphere + b.peak
	c := b.air.VolumeAt(b.peak) * p
	half := (b.area*p + kappa*room) / 2
	y := (p*room - c) / (half + math.Sqrt(max(0, half*half-b.area*kappa*(p*room-c)))) // the smaller root
	b.to = b.from + max(0, y)
	b.end = b.peak - kappa*(b.to-b.from)
}

// slope returns -dP/dw at the peak [Pa/m³]: κ over the area and what the air gives.
func (b *body) slope() float64 {
	kappa := (b.first.Rate + b.rest.Rate) / b.effect
	return kappa / (b.area + b.air.Give(b.peak)*kappa)
}

// see works out every reading of a machine in a state. ok is false where it
// gives no pressure.
func (f *forward) see(x *sizesOf, o *offsets, v *seen) (ok bool) { return f.show(x, o, allKinds, v) }

// show works out the readings of some kinds, with the peak and what behind it costs nothing.
func (f *forward) show(x *sizesOf, o *offsets, want kindSet, v *seen) (ok bool) {
	var b body
	f.body(x, o, &b)
	b.shoot()
	c := &f.base.Cylinder
	ok = b.peak > leastPeak*f.peak && b.water > 0
	peak, end := max(b.peak, leastPeak*f.peak), b.end
	gain := 1 + o[offGain] - x[PartGauge]
	v.peak, v.end, v.rate = b.peak, b.end, b.first.Rate
	v.free = -1
	if f.known {
		v.free = b.free
	}
	both := func(k Kind, true float64) {
		v.value[k] = gain*true + o[offZero]
		v.other[k] = (1+o[offOtherGain])*true + o[offOtherZero]
	}
	puck := o[offPuck]
	if x[PartPuck] > 0 {
		puck += math.Log(1 - min(x[PartPuck], 1-tinySpread))
	}
	steep := b.slope()
	start := f.byPeak.get(0, math.Log(peak))
	// How far a gauge falls short hangs on the time in which the pressure falls over its own.
	scaled := puck + start - f.startNew + math.Log(f.slope/steep) - o[offLag]
	v.shown = peak * f.byOpen.get(0, scaled)
	both(Peak, v.shown)
	v.part = min(1, b.water/f.water)
	less := f.water - b.water
	late := 0.0   // how far a lagging gauge is behind on the way, over the pressure
	behind := 0.0 // and at the end [Pa]
	if want&ofTime != 0 {
		low := min(max(end, leastShare*peak), (1-tinySpread)*peak)
		fall := math.Log(peak / low)
		lowNew := min(max(f.peak-f.slope*b.water, leastShare*f.peak), (1-tinySpread)*f.peak)
		mid, midNew := (peak-low)/fall, (f.peak-lowNew)/math.Log(f.peak/lowNew)
		time := math.Exp(f.byOpen.get(1, puck)-f.byOpen.get(1, 0)+f.byVolume.get(1, less)+f.resists(peak, mid)-f.resists(f.peak, midNew)) * midNew / mid
		lag := f.lag
		if o[offLag] != 0 {
			lag *= math.Exp(o[offLag])
		}
		late = lag * fall / max(time, lag)
		v.value[ShotTime] = time
		behind = max(0, peak-end) * f.byOpen.get(3, scaled)
		v.late = behind * (1 + 2*lag/max(time, lag))
	}
	both(EndPress, end+behind)
	if want.has(Yield) {
		other := f.byOpen.get(2, puck) - f.yield
		v.value[Yield] = max(0, f.byVolume.get(0, less)+other)
		v.whole = max(0, f.byVolume.get(0, less-b.pushed)+other)
	}
	if want&ofLog != 0 {
		chord := 0.0
		if b.water > 0 {
			chord = (b.peak - end) / b.water
		}
		rated := chord * f.area * (f.area + c.Seal.PerPa)
		v.value[LogRate], v.other[LogRate] = gain*rated, (1+o[offOtherGain])*rated
		both(LogStart, b.peak*(1+late)+chord*f.area*c.Port)
		bow := b.bow()
		v.value[LogBow], v.other[LogBow] = gain*bow, (1+o[offOtherGain])*bow
	}
	v.value[FreeLength], v.value[WireSize], v.value[Coils], v.value[BenchRate] = b.free, b.wire, b.coils, b.first.Rate
	v.value[Drag] = 2 * b.friction
	v.value[Gauge] = gain + o[offZero]/f.peak
	v.value[Travel] = b.stroke - x[PartLever]
	v.value[Headspace] = (f.base.Chamber.Headspace+x[PartHeadspace])/f.bed + o[offHeadspace]
	if want.has(LongFill) {
		b.start = max(c.Port, x[PartLever])
		b.air.Volume = max(0, f.air+o[offAir]+leftByFill*x[PartFill])
		b.shoot()
		after := f.byPeak.get(0, math.Log(max(b.peak, peak)))
		both(LongFill, b.peak*f.byOpen.get(0, scaled+after-start+math.Log(steep/b.slope())))
	}
	return ok
}

// kindSet is a set of kinds, one bit each.
type kindSet uint32

const (
	allKinds kindSet = 1<<kinds - 1
	ofTime   kindSet = 1<<EndPress | 1<<LogStart | 1<<ShotTime // those that hang on how long the shot takes
	ofLog    kindSet = 1<<LogRate | 1<<LogStart | 1<<LogBow
	onlyPeak kindSet = 1 << Peak
)

func (s kindSet) has(k Kind) bool { return s>>k&1 == 1 }

// bow returns how far air bends the line of pressure against water: how far the
// ends of the parabola h(3u² - 1)/2, u from -1 to 1, lie over its mean. In the
// middle it lies 3/2 h under its chord.
func (b *body) bow() float64 {
	if b.air.Volume == 0 || b.water == 0 {
		return 0
	}
	mid := (b.peak + b.end) / 2
	half := b.area*(b.to-b.from)/2 + b.air.VolumeAt(mid) - b.air.VolumeAt(b.peak)
	chord := b.peak - (b.peak-b.end)*half/b.water
	return -(mid - chord) / 1.5
}

// tabulate fills the sizes against the share of the peak that each fault takes alone.
func (f *forward) tabulate() error {
	for p := range numParts {
		most := f.mostSize(p)
		// Finer steps where the share rises: sizes go with the square of the step.
		var share, size []float64
		var sound seen
		f.show(&sizesOf{}, &offsets{}, onlyPeak, &sound)
		top := 0.0
		for i := range 8 * shareSteps {
			t := float64(i) / (8*shareSteps - 1)
			x := sizesOf{}
			x[p] = most * t
			var v seen
			if !f.show(&x, &offsets{}, onlyPeak, &v) {
				break
			}
			s := 1 - v.value[Peak]/sound.value[Peak]
			if s < top || s > f.prior.ShareMost {
				continue
			}
			if i > 0 && s <= top+1e-9 {
				if len(size) > 0 {
					size[len(size)-1] = x[p] // nothing is lost yet: the fault begins here
				}
				continue
			}
			top = s
			share, size = append(share, s), append(size, x[p])
		}
		if len(share) < 2 { // takes nothing: a part that cannot be told
			share, size = []float64{0, 1e-6}, []float64{0, most}
			top = 1e-6
		}
		f.reach[p] = top / f.prior.ShareMost
		f.shares[p] = newTable1(0, top, shareSteps, 1)
		for i := range shareSteps {
			f.shares[p].set(i, lookup(share, size, f.shares[p].at(i)))
		}
	}
	return nil
}

// soundPeak returns the peak that the gauge shows of the machine when sound [Pa].
func (f *forward) soundPeak() float64 { return f.peak * f.byOpen.get(0, 0) }

// mostSize returns the greatest size of a fault.
func (f *forward) mostSize(p Part) float64 {
	s := &f.base
	force, k := f.weight, f.first.Rate+f.rest.Rate
	for _, l := range s.Springs {
		force += l.Force(s.Cylinder.Stroke)
	}
	travel := 0.95 * (s.Cylinder.Stroke - s.Cylinder.Port)
	switch p {
	case PartSet:
		return force / k
	case PartWire:
		return 1 - math.Pow(1-f.prior.ShareMost, 0.25)
	case PartCoil:
		return 0.7 * f.coils
	case PartSpring:
		return 3 * f.coils
	case PartSeal:
		return force
	case PartFill:
		return 0.95 * max(0, s.ChamberVolume()-f.air)
	case PartLever:
		return travel
	case PartHeadspace:
		return travel * f.area
	case PartGauge:
		return f.prior.ShareMost
	default:
		return -math.Expm1(openLeast)
	}
}

// sizeAt returns the size of a fault for its coordinate u: the share of the
// peak that it takes alone, times what it can take over ShareMost.
func (f *forward) sizeAt(p Part, u float64) float64 { return f.shares[p].get(0, u*f.reach[p]) }

// table1 is functions of one variable in equal steps, straight between them,
// and the last value beyond the ends.
type table1 struct {
	from, step float64
	n, width   int
	rows       []float64
}

func newTable1(from, to float64, n, width int) table1 {
	return table1{from, (to - from) / float64(n-1), n, width, make([]float64, n*width)}
}

func (t *table1) at(i int) float64             { return t.from + t.step*float64(i) }
func (t *table1) set(i int, values ...float64) { copy(t.rows[i*t.width:], values) }

func (t *table1) get(column int, x float64) float64 {
	y := (x - t.from) / t.step
	i := min(max(int(y), 0), t.n-2)
	y = min(max(y-float64(i), 0), 1)
	a, b := t.rows[i*t.width+column], t.rows[(i+1)*t.width+column]
	return a + y*(b-a)
}

// lookup returns y at x on straight pieces through rising points.
func lookup(xs, ys []float64, x float64) float64 {
	for i := 1; i < len(xs); i++ {
		if x <= xs[i] || i == len(xs)-1 {
			t := min(max((x-xs[i-1])/(xs[i]-xs[i-1]), 0), 1)
			return ys[i-1] + t*(ys[i]-ys[i-1])
		}
	}
	return ys[0]
}
