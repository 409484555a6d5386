package logged

import (
	"math"
	"math/rand/v2"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// The simulation of this file shares nothing with the engine or the reading: it
// steps in time, with a bed, a gauge, a hand and tolerances of its own. All
// figures are invented.

const (
	bar  = 1e5
	mm   = 1e-3
	mL   = 1e-6
	gram = 1e-3
)

var missing = math.NaN()

// truth is a simulated machine, its coffee, hand and logger.
type truth struct {
	bore, stroke, port, weight   float64
	rate, cocked, rest           float64 // of the spring
	friction, perPa              float64
	fill, atmosphere             float64
	headspace, air               float64
	dose, soluble, solubleBy     float64
	drink                        float64 // water that the bed keeps of the stroke [m³]
	resistance, start, by, power float64 // of the bed
	before, soak, slow           float64 // [s]: log before the port opens, preinfusion, letting the lever up
	drips                        float64 // [s]: dripping before the release, where the bed is wet
	handle, from, to             float64 // weight of the handle at the piston [N], angles [rad]

	every, lag, delay      float64 // [s]: logger, gauge, scale
	gain, zero             float64
	noiseP, noiseM, noiseZ float64
	stepP, stepM           float64
	memory                 float64
	after                  float64 // [s] logged after the end
	byTravel               bool
	wildEvery              int

	tail float64 // what ran after the piston came to rest, filled in by log [m³]
	ran  ran     // what really happened, filled in by log
	bed  *poured // the bed by the law of pores instead; nil for the one above
}

// ran is what really happened in a simulated shot.
type ran struct{ peak, end, time, cup float64 } // [Pa], [Pa], from the release to the piston's rest [s], [kg]

// poured is a bed of pores that compaction and undissolved coffee narrow, in a
// hand of its own, with what the law leaves out: a drift in time, and a first gram
// that resists more.
type poured struct {
	r9, n, nu, threshold, low float64 // R at 9 bar [Pa·s/m³], exponents, threshold [Pa]
	blocked, by               float64 // share of the opening that is blocked, decay over the dose
	drift, gram               float64 // [1/s]; share by which the first drop resists more
	top, since                float64 // highest pressure [Pa], time since the release [s]
}

// loaded returns R of the washed bed under the highest pressure that it has seen.
func (b *poured) loaded(p float64) float64 {
	if p < b.threshold {
		return b.r9 * math.Pow(9*bar/b.threshold, -b.n) * math.Pow(b.threshold/p, b.low)
	}
	return b.r9 * math.Pow(p/(9*bar), b.n)
}

func (b *poured) resistance(p, cup, dose float64) float64 {
	b.top = max(b.top, p)
	high := max(b.top, b.threshold)
	open := math.Pow(high/b.threshold, -b.n/3)
	now := open * math.Pow(max(p, b.threshold)/high, -b.nu/3)
	narrow := math.Pow(open/max(0.02, now-b.blocked*math.Exp(-cup/(b.by*dose))), 3)
	return b.loaded(b.top) * narrow * (1 + b.drift*(b.since-15)) * (1 + b.gram*math.Exp(-cup/(0.4*gram)))
}

func between(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

// rough returns an error with a standard deviation: uniform, not normal.
func rough(rng *rand.Rand, sd float64) float64 { return sd * math.Sqrt(3) * (2*rng.Float64() - 1) }

func (m *truth) area() float64 { return math.Pi / 4 * m.bore * m.bore }

// pressure returns what springs, seal and handle hold at a travel, times the
// share that the hand has let go.
func (m *truth) pressure(z, share float64) float64 {
	h := -m.handle * math.Sin(m.from+(m.to-m.from)*z/m.stroke)
	f := m.cocked - m.rate*z + m.weight + h - m.friction
	return max(m.fill*(1-share), share*f/(m.area()+m.perPa))
}

// log steps the shot in time and writes the rows down.
func (m *truth) log(rng *rand.Rand) Log {
	const dt = 0.002
	a := m.area()
	full := a*(m.stroke-m.port) + m.headspace - m.air // water in the chamber at the release
	free := m.air * (m.fill + m.atmosphere)           // amount of air
	var l Log
	gauge, out, drunk, passed := 0.0, 0.0, 0.0, 0.0
	z, next, ended := m.port, 0.0, math.Inf(1)
	scale, rested := 0.0, 0.0
	m.ran = ran{}
	var ep, em, ez float64
	release := m.before + m.soak
	for t := 0.0; t < release+400; t += dt {
		p, travel := 0.0, 0.0
		switch {
		case t < m.before:
		case t < release:
			p = m.fill * min(1, (t-m.before)/0.2)
		default:
			share := 1.0
			if m.slow > 0 {
				share = min(1, 0.02+(t-release)/m.slow)
			}
			for range 30 { // where piston, air and water meet
				p = max(m.pressure(z, share), 0)
				vol := 0.0
				if m.air > 0 {
					vol = free / (p + m.atmosphere)
				}
				miss := a*(z-m.port) - m.air + vol - out
				if math.Abs(miss) < 1e-13 {
					break
				}
				z -= miss / (a + vol/(p+m.atmosphere)*m.rate/(a+m.perPa))
			}
			m.ran.peak = max(m.ran.peak, p)
			if z < m.stroke {
				m.ran.end = p
			} else {
				if m.ran.time == 0 {
					m.ran.time = t - release
				}
				z = m.stroke
				p = 0
				if m.air > 0 {
					if left := out - a*(m.stroke-m.port) + m.air; left > 0 {
						p = max(0, free/left-m.atmosphere)
					}
				}
				if m.air == 0 || p < 0.05*bar || out >= full {
					p = 0
				}
			}
			if z >= m.stroke && rested == 0 {
				rested = out
			}
			if out >= full { // the air blows out through the bed
				p = 0
			}
			if p == 0 && t > release+1 && math.IsInf(ended, 1) {
				ended = t
			}
			travel = z
		}
		flow := 0.0
		if t >= release && p > 0 && out < full {
			r := m.resistance * (1 + m.start*math.Exp(-passed/(m.by*m.dose))) * math.Pow(max(p, 0.5*bar)/(6*bar), m.power)
			if b := m.bed; b != nil {
				b.since = t - release
				cup := passed + m.soluble*m.dose*(1-math.Exp(-passed/(m.solubleBy*m.dose)))
				strength := m.soluble / m.solubleBy * math.Exp(-passed/(m.solubleBy*m.dose))
				r = b.resistance(p, cup, m.dose) * (1 + strength)
			}
			if drunk < m.drink {
				r *= 0.15 + 0.85*drunk/m.drink
			}
			flow = p / r
			out += flow * dt
		} else if t >= release-m.drips && t < release && m.drips > 0 {
			flow = 0.1 * mL * m.fill / bar
		}
		if drunk < m.drink {
			drunk += flow * dt
		} else {
			passed += flow * dt * 965
		}
		cup := passed + m.soluble*m.dose*(1-math.Exp(-passed/(m.solubleBy*m.dose)))
		if m.lag > 0 {
			gauge += (p - gauge) * (1 - math.Exp(-dt/m.lag))
		} else {
			gauge = p
		}
		m.ran.cup = cup
		scale += (cup - scale) * min(1, dt/max(dt, m.delay))
		if t >= next {
			next += m.every
			mix := math.Sqrt(1 - m.memory*m.memory)
			ep = m.memory*ep + mix*rng.NormFloat64()
			em = m.memory*em + mix*rng.NormFloat64()
			ez = m.memory*ez + mix*rng.NormFloat64()
			row := Row{t, quantised(gauge*m.gain+m.zero+m.noiseP*ep, m.stepP), quantised(scale+m.noiseM*em, m.stepM), missing}
			if m.byTravel {
				row.Travel = travel + m.noiseZ*ez
				row.Cup = missing
			}
			if m.wildEvery > 0 && len(l)%m.wildEvery == m.wildEvery-1 {
				row.Pressure += 3 * bar * rng.NormFloat64()
			}
			l = append(l, row)
		}
		if t > ended+m.after {
			break
		}
	}
	m.tail = 0
	if rested > 0 {
		m.tail = out - rested
	}
	return l
}

func quantised(v, step float64) float64 {
	if step == 0 {
		return v
	}
	return math.Round(v/step) * step
}

// sheetOf is an invented group, as its owner would describe it.
func sheetOf(rng *rand.Rand) *profile.Setup {
	s := &profile.Setup{
		Springs:  []spring.Linear{{Rate: 32e3, Preload: 1019}}, // not used in a reading
		Cylinder: piston.Cylinder{Bore: between(rng, 42, 58) * mm, Stroke: between(rng, 20, 32) * mm, Port: between(rng, 0, 3) * mm, Weight: between(rng, 0, 10), Seal: piston.Seal{Constant: between(rng, 20, 60), PerPa: between(rng, 3, 8) / bar}},
		Chamber:  profile.Chamber{Headspace: between(rng, 6, 20) * mL, Air: between(rng, 0, 3) * mL},
		Basket:   profile.Basket{Diameter: 51 * mm, Depth: 24 * mm},
		Coffee: profile.Coffee{
			Dose: between(rng, 8, 16) * gram, BulkDensity: 450, Resistance: 5 * bar / mL, AtPressure: 9 * bar,
			Loading: 1.1, Unloading: 0.55, Threshold: 4 * bar, Low: 0.67, Blocking: 0.386, BlockingBy: 0.385,
			Retained: 1.1, DryPerm: 1.8e-14, Suction: 0.1 * bar, Soluble: 0.20, SolubleBy: 0.60, SecondPull: 0.6,
		},
		Water: profile.Water{Viscosity: 3.15e-4, Density: 965, Fill: between(rng, 0.7, 1.3) * bar, Atmosphere: 1.01325 * bar},
		Pulls: []profile.Pull{{Preinfusion: between(rng, 3, 20)}},
	}
	return s
}

// sound draws a machine in order, the sheet of which states it to within u, and
// the options that say so.
func sound(rng *rand.Rand) (*truth, *profile.Setup, Options) {
	s := sheetOf(rng)
	u := UsualUnsure(s)
	o := Options{Lag: 0.3, Handle: UsualHandle(s.Cylinder.Stroke), Unsure: u}
	c := &s.Cylinder
	taken := 0.0
	wet, err := profile.Summarize(s) // what the sheet says; how far it is off is drawn below
	if err != nil {
		panic(err)
	}
	taken = (1 - wet.Wetted) * s.Coffee.Retained * s.Coffee.Dose / s.Water.Density
	m := &truth{
		bore: c.Bore + rough(rng, u.Bore), stroke: c.Stroke, port: c.Port, weight: c.Weight,
		friction: max(0, c.Seal.Constant+u.Friction*rng.NormFloat64()), perPa: max(0, c.Seal.PerPa+u.PerPa*rng.NormFloat64()),
		fill: s.Water.Fill, atmosphere: s.Water.Atmosphere,
		headspace: s.Chamber.Headspace, air: max(0, s.Chamber.Air+rough(rng, u.Air)),
		dose: s.Coffee.Dose, soluble: s.Coffee.Soluble * (1 + u.Dissolved*rng.NormFloat64()), solubleBy: s.Coffee.SolubleBy,
		resistance: between(rng, 3, 9) * bar / mL, start: between(rng, 1, 5), by: between(rng, 0.2, 0.5), power: between(rng, 0, 0.8),
		soak: between(rng, 3, 10), slow: between(rng, 0, 2),
		handle: max(0, 35+rough(rng, 20)), from: between(rng, 90, 110) * math.Pi / 180, to: between(rng, 20, 50) * math.Pi / 180,
		every: math.Exp(between(rng, math.Log(0.05), 0)), lag: max(0, o.Lag+rough(rng, u.Lag)), delay: between(rng, 0, 0.2),
		gain: 1 + u.Gauge*rng.NormFloat64(), zero: rough(rng, u.Zero),
		noiseP: between(rng, 0.01, 0.1) * bar, noiseM: between(rng, 0.05, 0.3) * gram, noiseZ: between(rng, 0.05, 0.15) * mm,
		stepM: 0.1 * gram, after: 5, memory: between(rng, 0, 0.5),
	}
	if rng.IntN(3) == 0 {
		m.stepP = 0.1 * bar
	}
	if rng.IntN(2) == 0 {
		m.before = 3
	}
	if rng.IntN(4) == 0 {
		m.wildEvery = 25
	}
	m.drink = max(0, taken+u.Uptake*rng.NormFloat64())
	if taken == 0 {
		m.drink, m.drips = 0, min(2.9, m.soak)
	}
	a := c.Area()
	peak, rest := between(rng, 4, 10)*bar, between(rng, 0.35, 0.75)
	m.cocked = peak * a
	m.rest = m.cocked * rest
	m.rate = (m.cocked - m.rest) / m.stroke
	return m, s, o
}

// soundPuck draws a sound machine with a bed by the law of pores, all of whose
// numbers are off from the sheet's by what UsualBed says or, for n_u, anywhere from 0 to n.
func soundPuck(rng *rand.Rand) (*truth, *profile.Setup, Options) {
	m, s, o := sound(rng)
	s.Coffee.SetBy, s.Coffee.Soaking = 0.5, 0.05
	u := UsualBed(s)
	peak := (m.cocked - m.rate*m.port) / m.area()
	for {
		b := &poured{
			r9: between(rng, 3, 9) * bar / mL, n: s.Coffee.Loading + rough(rng, u.Loading), nu: between(rng, 0, s.Coffee.Loading),
			threshold: s.Coffee.Threshold + rough(rng, u.Threshold), low: between(rng, 0.4, 0.85),
			by: s.Coffee.BlockingBy * math.Exp(rough(rng, u.BlockingBy)), drift: rough(rng, u.Drift), gram: between(rng, 0, 1),
		}
		b.blocked = (s.Coffee.Blocking + rough(rng, u.Blocking)) * share(s, peak)
		if b.blocked > 0.05 && b.blocked < math.Pow(max(1, peak/b.threshold), -b.n/3)-0.1 {
			m.bed = b
			return m, s, o
		}
	}
}

// share returns how much of Blocking a bed of the sheet has at a peak [Pa].
func share(s *profile.Setup, peak float64) float64 {
	whole, err := profile.Summarize(s)
	if err != nil {
		panic(err)
	}
	first, waited := 0.0, 0.0
	if whole.Wetted == 1 {
		first, waited = s.Water.Fill, whole.Preinfusion-whole.FrontThrough
	}
	bed := s.WettedBed(peak, first, waited)
	return bed.Blocked() / s.Coffee.Blocking
}
