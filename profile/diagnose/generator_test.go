package diagnose

import (
	"math"
	"math/rand/v2"

	"springcalc/profile"
	"springcalc/spring"
)

// The generator of the study. Each part is at fault by itself as often as the table of
// priors says of machines whose peak is low, with up to three at once. It knows the sheet of a machine and nothing of
// the inference: it steps the shot through time, its tolerances are uniform,
// triangular and skewed, its gauge lags in time, and its logs are read back
// from noisy rows by a fit of its own.

// old is a machine as it is.
type old struct {
	sheet *profile.Setup
	coil  *spring.Compression

	fault [numParts]float64 // sizes
	harsh harshness

	wire, coils, free float64 // of the spring when new [m], [-], [m]
	softness          float64 // factor of the rate by modulus and mean diameter [-]
	sound, soundNew   float64 // friction of the seal in order now and when new [N]
	perPa             float64 // [N/Pa]
	gain, zero        float64 // of the gauge [-], [Pa]
	air               float64 // of a usual fill [m³]
	stroke, bore      float64 // [m]
	puck              float64 // factor of the resistance [-]
	deep              float64 // of the headspace [m]
	lag               float64 // of the gauge [s]
	rng               *rand.Rand
}

// harshness widens the generator's scatter.
type harshness struct{ tolerance, friction, gauge float64 }

func uniform(rng *rand.Rand, half float64) float64 { return half * (2*rng.Float64() - 1) }
func triangular(rng *rand.Rand, half float64) float64 {
	return half * (rng.Float64() + rng.Float64() - 1)
}

// skewed is 0.2 to 3 times the mean or so: the sum of two exponentials.
func skewed(rng *rand.Rand, mean float64) float64 {
	return mean * (0.2 + 0.4*(rng.ExpFloat64()+rng.ExpFloat64()))
}

// anySheet is the sheet of a random machine with its spring.
func anySheet(rng *rand.Rand) *Machine {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	s := cafe()
	s.Cylinder.Bore = between(45, 55) * mm
	s.Cylinder.Stroke = between(21, 30) * mm
	s.Cylinder.Port = between(0, 2) * mm
	s.Basket.Diameter = s.Cylinder.Bore + 1*mm
	peak, rest := between(6.5, 10)*bar, between(0.45, 0.68)
	f := peak * math.Pi / 4 * s.Cylinder.Bore * s.Cylinder.Bore
	k := f * (1 - rest) / s.Cylinder.Stroke
	s.Springs = []spring.Linear{{Rate: k, Preload: f * rest}}
	s.Coffee.Resistance = between(4, 7) * bar / mL
	c := cafeSpring()
	c.Active = 79e9 * math.Pow(c.Wire, 4) / (8 * math.Pow(c.Mean, 3) * k)
	c.Total = c.Active + 2
	c.Free = c.Total*c.Wire + 1.45*f/k
	return &Machine{Setup: *s, Spring: c, GaugeLag: 0.5}
}

// drawOld draws a machine with up to three faults.
func drawOld(m *Machine, rng *rand.Rand, h harshness) *old {
	s := &m.Setup
	o := &old{sheet: s, coil: m.Spring, harsh: h, rng: rng, softness: 1 + triangular(rng, 0.04*h.tolerance),
		wire: m.Spring.Wire * (1 + uniform(rng, 0.0087*h.tolerance)), coils: m.Spring.Active + uniform(rng, 0.26*h.tolerance),
		free: m.Spring.Free * (1 + triangular(rng, 0.0196*h.tolerance)), sound: skewed(rng, 36*h.friction),
		perPa: 4/bar + uniform(rng, 4/bar*h.tolerance), gain: 1 + uniform(rng, 0.0173*h.gauge), zero: triangular(rng, 0.24*bar*h.gauge),
		air: 3 * mL * rng.Float64() * h.tolerance, stroke: s.Cylinder.Stroke + uniform(rng, 0.5*mm*h.tolerance),
		bore: s.Cylinder.Bore * (1 + uniform(rng, 0.0035*h.tolerance)), puck: math.Exp(uniform(rng, 0.45*h.tolerance)),
		deep: uniform(rng, 1.7*mm*h.tolerance), lag: 0.2 + 0.6*rng.Float64()}
	o.perPa = max(0, o.perPa)
	o.soundNew = o.sound * (0.7 + 0.4*rng.Float64())
	often := []float64{PartSet: 38, PartSeal: 22, PartFill: 15, PartGauge: 11, PartHeadspace: 10, PartLever: 9, PartPuck: 8, PartWire: 3, PartSpring: 3, PartCoil: 2}
	for n := 4; n > 3 || o.fault[PartCoil] != 0 && o.fault[PartSpring] != 0; { // each part by itself, so many of 100
		n, o.fault = 0, [numParts]float64{}
		for p, of := range often {
			if 100*rng.Float64() < of {
				o.fault[p] = o.sizeFor(Part(p), min(0.45, 0.19*math.Pow(rng.ExpFloat64(), 0.85)))
				n++
			}
		}
	}
	if o.shot(o.fault, true).top < 0.25*o.shot([numParts]float64{}, true).top {
		return drawOld(m, rng, h) // brews nothing: not what is asked about
	}
	return o
}

// sizeFor returns the size of a fault that takes about a share of the force.
func (o *old) sizeFor(p Part, share float64) float64 {
	l, c := o.sheet.Springs[0], &o.sheet.Cylinder
	force := l.Preload + l.Rate*c.Stroke
	lost := share * force / l.Rate // travel
	area := math.Pi / 4 * c.Bore * c.Bore
	switch p {
	case PartSet:
		return lost
	case PartWire:
		return 1 - math.Pow(1-share, 0.25)
	case PartCoil:
		return min(0.4+4*share, 0.5*o.coil.Active)
	case PartSpring:
		return o.coil.Active * share / (1 - share)
	case PartSeal:
		return share * force
	case PartFill:
		return min(lost*area/0.78, 0.6*area*c.Stroke)
	case PartLever:
		return min(c.Port+lost, 0.7*c.Stroke)
	case PartHeadspace:
		return min(lost, 0.6*c.Stroke) * area
	case PartGauge:
		return share
	default:
		return 1 - math.Exp(-1-9*share)
	}
}

// brew is a shot of the generator.
type brew struct {
	top, end   float64 // what a gauge without error but with lag shows: highest, at the end [Pa]
	cup, time  float64 // [kg], [s]
	rows       []brewRow
	atRelease  float64 // water in the bed at the release [m³]
	firstDrops float64 // [s]
}

type brewRow struct{ time, shown, cup float64 }

// bed returns the resistance of the bed by pressure and cup mass after a highest
// pressure: the published law that the sheet states, in the generator's own words.
func (o *old) bed(most, factor float64) func(p, cup float64) float64 {
	c := &o.sheet.Coffee
	up := func(p float64) float64 { return max(1, p/c.Threshold) }
	atThreshold := c.Resistance * factor / math.Pow(up(c.AtPressure), c.Loading)
	if most < c.Threshold {
		atThreshold *= math.Pow(c.Threshold/most, c.Low)
	}
	narrow := math.Pow(up(most), (c.Unloading-c.Loading)/3) // -1/3 of the power that the cube takes
	blocked, by := c.Blocking*min(most/c.Threshold, 1), c.BlockingBy*c.Dose
	return func(p, cup float64) float64 {
		open := narrow
		if u := up(p); u > 1 {
			open *= math.Pow(u, -c.Unloading/3)
		}
		open -= blocked * math.Exp(-cup/by)
		return atThreshold / (open * open * open)
	}
}

// shot brews with faults, stepping through time. The scatter of one shot from the
// next is in it where calm is false.
func (o *old) shot(x [numParts]float64, calm bool) brew {
	s := o.sheet
	c, w := &s.Coffee, &s.Water
	factor, air := o.puck*(1-x[PartPuck]), o.air
	if !calm {
		factor *= 1 + 0.07*o.rng.NormFloat64()
		air *= 0.8 + 0.4*o.rng.Float64()
	}
	area := math.Pi / 4 * o.bore * o.bore
	rate := s.Springs[0].Rate * o.softness * math.Pow(o.wire/o.coil.Wire*(1-x[PartWire]), 4) * o.coil.Active / (o.coils - x[PartCoil] + x[PartSpring])
	seat := o.coil.Free - s.Springs[0].Preload/s.Springs[0].Rate // length of the spring with the piston at rest
	coilPitch := (o.coil.Free - 2*o.coil.Wire) / o.coil.Active
	free := o.free - x[PartSet] - x[PartCoil]*coilPitch
	friction := o.sound + x[PartSeal]
	pressure := func(z float64) float64 {
		f := rate*max(0, free-seat+o.stroke-z) + s.Cylinder.Weight - friction
		return max(0, f/(area+o.perPa))
	}
	bedArea := math.Pi / 4 * s.Basket.Diameter * s.Basket.Diameter
	depth := c.Dose / (c.BulkDensity * bedArea)
	wet, cup, passed := 0.0, 0.0, 0.0
	full := c.Retained * c.Dose / w.Density
	front := w.Viscosity * depth / (c.DryPerm * bedArea)
	resists := o.bed(w.Fill, factor)
	flow := func(p float64) float64 {
		if wet < full {
			at := max(0.01, wet/full)
			return (p + c.Suction + w.Density*9.81*depth*at) / (front * at * max(1, p/c.Threshold))
		}
		return p / resists(p, cup)
	}
	take := func(v float64) {
		if wet < full {
			wet += v
			return
		}
		before := passed
		passed += v * w.Density
		gone := c.Soluble * c.Dose * (math.Exp(-before/(c.SolubleBy*c.Dose)) - math.Exp(-passed/(c.SolubleBy*c.Dose)))
		cup += passed - before + gone
	}
	var b brew
	dt := 0.02
	for t := 0.0; t < s.Pulls[0].Preinfusion; t += dt {
		take(dt * flow(w.Fill))
	}
	b.atRelease = wet + passed/w.Density
	z := max(s.Cylinder.Port, x[PartLever]) + x[PartHeadspace]/area
	bubble := air + x[PartFill]
	abs := w.Atmosphere
	left := func(p float64) float64 { return bubble * (abs + w.Fill) / (abs + p) }
	for from := z; z < o.stroke && area*(z-from) < bubble-left(pressure(z)); {
		z += 2e-6
	}
	shown := w.Fill
	resists = o.bed(max(w.Fill, pressure(z)), factor) // from now on it falls
	slope := rate / (area + o.perPa)
	next := 0.0
	dt = 0.01
	for t := 0.0; ; t += dt {
		if t > 3 {
			dt = 0.03 // what is left goes by slowly
		}
		p := pressure(z)
		shown += (p - shown) * dt / o.lag
		b.top = max(b.top, shown)
		if t >= next {
			b.rows = append(b.rows, brewRow{t, shown, cup})
			next += 0.25
		}
		above := s.Chamber.Headspace + x[PartHeadspace] + o.deep*bedArea + area*(o.stroke-z) - left(p) // water [m³]
		if z >= o.stroke || above <= 0 || p < 0.02*bar || t > 400 {
			b.end, b.time, b.cup = shown, t, cup
			return b
		}
		v := dt * flow(p)
		if cup == 0 && wet >= full {
			b.firstDrops = t
		}
		give := area + left(p)/(abs+p)*slope
		dz := min(v/give, o.stroke-z+1e-9)
		z += dz
		take(dz * give)
	}
}

// gauge returns what the machine's gauge makes of a pressure, rounded to half a
// tenth of a bar, off by how the eye sees it.
func (o *old) gauge(p, half float64) float64 {
	v := p*(o.gain-o.fault[PartGauge]) + o.zero + uniform(o.rng, half)
	return max(0, math.Round(v/(0.05*bar))*0.05*bar)
}

// whenNew returns the peak that was read when new.
func (o *old) whenNew() Observation {
	was := *o
	was.sound, was.fault = o.soundNew, [numParts]float64{}
	r := Observe(Peak, was.gauge(was.shot(was.fault, false).top, 0.26*bar), 0.15*bar)
	r.New = true
	return r
}

// read makes a measurement with usual tools.
func (o *old) read(k Kind) Observation {
	x, rng := o.fault, o.rng
	area := math.Pi / 4 * o.sheet.Basket.Diameter * o.sheet.Basket.Diameter
	coilPitch := (o.coil.Free - 2*o.coil.Wire) / o.coil.Active
	free := o.free - x[PartSet] - x[PartCoil]*coilPitch
	rate := o.sheet.Springs[0].Rate * o.softness * math.Pow(o.wire/o.coil.Wire*(1-x[PartWire]), 4) * o.coil.Active / (o.coils - x[PartCoil] + x[PartSpring])
	switch k {
	case Peak:
		return Observe(k, o.gauge(o.shot(x, false).top, 0.26*bar), 0.15*bar)
	case EndPress:
		return Observe(k, o.gauge(o.shot(x, false).end, 0.26*bar), 0.15*bar)
	case Yield:
		return Observe(k, max(0, o.shot(x, false).cup+0.5*gram*rng.NormFloat64()), 0.5*gram)
	case ShotTime:
		return Observe(k, max(0, o.shot(x, false).time+0.5*rng.NormFloat64()), 0.5)
	case LongFill:
		x[PartHeadspace], x[PartFill] = 0, x[PartFill]*0.2*rng.Float64()
		return Observe(k, o.gauge(o.shot(x, false).top, 0.26*bar), 0.15*bar)
	case FreeLength:
		return Observe(k, free+uniform(rng, 0.35*mm), 0.2*mm)
	case WireSize:
		return Observe(k, o.wire*(1-x[PartWire])+uniform(rng, 0.035*mm), 0.02*mm)
	case Coils:
		return Observe(k, o.coils-x[PartCoil]+x[PartSpring]+uniform(rng, 0.17), 0.1)
	case BenchLoad:
		at := o.coil.Free - o.sheet.Springs[0].Preload/o.sheet.Springs[0].Rate
		r := Observe(k, max(0, rate*(free-at)+10*rng.NormFloat64()), 10)
		r.At = at
		return r
	case BenchRate:
		return Observe(k, rate+300*rng.NormFloat64(), 300)
	case Drag:
		f := o.sound + x[PartSeal]
		return Observe(k, max(0, f*(2+triangular(rng, 0.4))+8*rng.NormFloat64()), 8)
	case Gauge:
		return Observe(k, o.gain-x[PartGauge]+o.zero/(8*bar)+uniform(rng, 0.026), 0.015)
	case Travel:
		return Observe(k, o.stroke-x[PartLever]+uniform(rng, 0.5*mm), 0.3*mm)
	case Headspace:
		return Observe(k, max(0, (o.sheet.Chamber.Headspace+x[PartHeadspace])/area+o.deep+uniform(rng, 1.2*mm)), 0.7*mm)
	}
	return o.log()
}

// log reads rate, start and bow back from the noisy rows of a shot, by the
// normal equations of a parabola, with the bed's water at the release taken
// from the sheet.
func (o *old) log() Observation {
	s := o.sheet
	b := o.shot(o.fault, false)
	likeSheet := *o
	likeSheet.puck, likeSheet.fault = 1, [numParts]float64{}
	wetted := likeSheet.shot(likeSheet.fault, true).atRelease
	full := s.Coffee.Retained * s.Coffee.Dose / s.Water.Density
	area := math.Pi / 4 * s.Cylinder.Bore * s.Cylinder.Bore
	effect := area + s.Cylinder.Seal.PerPa
	const noise = 0.08 * bar
	start := 0.0 // water in the cup at the release
	if len(b.rows) > 0 {
		start = b.rows[0].cup
	}
	waterOf := func(cup float64) float64 { // mass of water that came with a cup mass
		w := cup
		for range 30 {
			w = cup - s.Coffee.Soluble*s.Coffee.Dose*(1-math.Exp(-w/(s.Coffee.SolubleBy*s.Coffee.Dose)))
		}
		return max(0, w)
	}
	_ = start
	var vs, ps []float64
	for _, r := range b.rows {
		if r.time < 3 || r.cup < 1*gram {
			continue
		}
		v := area*s.Cylinder.Port + full + waterOf(r.cup+0.1*gram*o.rng.NormFloat64())/s.Water.Density - wetted
		vs = append(vs, v)
		ps = append(ps, r.shown*(o.gain-o.fault[PartGauge])+o.zero+noise*o.rng.NormFloat64())
	}
	if len(vs) < 12 {
		return o.read(ShotTime) // too short a shot to log
	}
	mid, half := (vs[0]+vs[len(vs)-1])/2, (vs[len(vs)-1]-vs[0])/2
	var m [3][4]float64
	for i, v := range vs {
		t := (v - mid) / half
		e := [3]float64{1, t, t*t - 1.0/3}
		for r := range 3 {
			for q := range 3 {
				m[r][q] += e[r] * e[q]
			}
			m[r][3] += e[r] * ps[i]
		}
	}
	n := m[0][0]
	uLevel, uSlope, uBow := noise/math.Sqrt(n), noise/math.Sqrt(m[1][1]), noise/math.Sqrt(m[2][2])
	for r := range 3 { // Gauss-Jordan
		d := m[r][r]
		for q := range 4 {
			m[r][q] /= d
		}
		for i := range 3 {
			if i != r {
				f := m[i][r]
				for q := range 4 {
					m[i][q] -= f * m[r][q]
				}
			}
		}
	}
	level, slope, bow := m[0][3], m[1][3]/half, m[2][3]
	uSlope /= half
	uptake := slope * 0.8 * mL
	k := -slope * area * effect
	uk := uSlope * area * effect
	first := level - slope*mid
	return Observation{Kinds: []Kind{LogRate, LogStart, LogBow}, Values: []float64{max(0, k), max(0, first), bow * 2 / 3}, Cov: [][]float64{
		{uk * uk, uSlope * uSlope * mid * area * effect, 0},
		{uSlope * uSlope * mid * area * effect, uLevel*uLevel + uSlope*uSlope*mid*mid + uptake*uptake, 0},
		{0, 0, uBow*uBow*4/9 + 0.02*0.02*bar*bar},
	}}
}

// asStated is the machine of the sheet, as a diagnosis is given it.
func (o *old) asStated() *Machine {
	return &Machine{Setup: *o.sheet, Spring: o.coil, GaugeLag: 0.5}
}

// nominal returns the peak of the machine of the sheet without any tolerance [Pa].
func (o *old) nominal() float64 {
	n := *o
	n.wire, n.coils, n.free, n.softness = o.coil.Wire, o.coil.Active, o.coil.Free, 1
	n.sound, n.perPa, n.air, n.stroke, n.bore, n.puck = 30, 4/bar, 1.5*mL, o.sheet.Cylinder.Stroke, o.sheet.Cylinder.Bore, 1
	return n.shot([numParts]float64{}, true).top
}

// truths are what is so.
type truths struct {
	worth [numParts]bool
	gain  [numParts]float64 // [Pa]
	right bool              // the reading is within 5 % of that of the sound machine
}

// truth says what each repair alone would really bring back.
func (o *old) truth() (t truths) {
	sound := o.shot([numParts]float64{}, true).top
	now := o.shot(o.fault, true).top
	for p, size := range o.fault {
		if size == 0 {
			continue
		}
		x := o.fault
		x[p] = 0
		t.gain[p] = o.shot(x, true).top - now
		if Part(p) == PartGauge {
			t.gain[p] = now * size
		}
		t.worth[p] = t.gain[p] >= 0.03*sound
	}
	t.right = now*(1-o.fault[PartGauge]) >= 0.95*sound
	return t
}
