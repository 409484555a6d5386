package replace

import (
	"fmt"
	"math"

	"springcalc/spring"
)

// Part is one spring as it can be made or bought, at 20 °C. What is not known
// of it is 0, and not judged.
type Part struct {
	Rate  float64            // R: rate [N/m]
	Free  float64            // L0: free length [m]
	Solid float64            // L_s: solid length [m]
	Outer float64            // D_e: outside diameter [m]
	Inner float64            // D_i: inside diameter [m]
	Coil  spring.Compression // dimensions; zero where only rate and lengths are known
	Wire  *Wire              // its wire; nil where that is not known
}

// PartOf returns the spring of dimensions and a wire.
func PartOf(coil spring.Compression, wire *Wire) Part {
	return Part{
		Rate: coil.Rate(), Free: coil.Free, Solid: coil.SolidLength(),
		Outer: coil.Outer(), Inner: coil.Inner(), Coil: coil, Wire: wire,
	}
}

// dimensioned reports whether the dimensions are known.
func (p *Part) dimensioned() bool { return p.Coil.Wire > 0 }

// soft returns what is left of the moduli of a wire at a temperature [-]. Wire that
// is not known counts as carbon steel.
func (w *Wire) soft(celsius float64) float64 {
	r := spring.SofteningCarbonEN
	if w != nil {
		r = w.Softening
	}
	return 1 - r*(celsius-20)
}

// Line returns the part as a piston feels it at work in a space.
func (s *Space) Line(p *Part) spring.Linear {
	rate := p.Rate * p.Wire.soft(s.Celsius)
	return spring.Linear{Rate: rate, Preload: rate * (p.Free - s.Installed)}
}

// Lines returns each part of a nest as the piston feels it.
func (s *Space) Lines(parts []Part) []spring.Linear {
	lines := make([]spring.Linear, len(parts))
	for i := range parts {
		lines[i] = s.Line(&parts[i])
	}
	return lines
}

// bench judges one spring or nest after another.
type bench struct {
	*Job
	cycles float64         // N: of the wished life [-]
	years  float64         // wished life [s]
	parts  []Part          // what is judged
	lines  []spring.Linear // as the piston feels it
	v      Verdict

	endures map[*Wire]float64 // stress borne for the wished cycles [Pa]
}

func (j *Job) bench() *bench {
	cycles, err := j.Use.Cycles()
	must(err)
	const year = 365.25 * 86400 // Julian year [s]
	return &bench{Job: j, cycles: cycles, years: j.Use.Years * year, endures: map[*Wire]float64{}}
}

// must panics where package spring refuses what was validated before.
func must(err error) {
	if err != nil {
		panic(fmt.Sprintf("replace: judged without being validated: %v", err))
	}
}

// steps judge the constraints in their order.
var steps = []func(*bench){
	(*bench).pressures, (*bench).index, (*bench).bore, (*bench).rod, (*bench).nest, (*bench).gaps,
	(*bench).stress, (*bench).buckling, (*bench).fatigue, (*bench).relaxation, (*bench).effort,
}

// judge returns the verdict on a spring or nest. It is judged no further once it
// is clear that it falls short by more than most.
func (b *bench) judge(parts []Part, most float64) Verdict {
	b.parts = parts
	b.lines = b.lines[:0]
	for i := range parts {
		b.lines = append(b.lines, b.Space.Line(&parts[i]))
	}
	b.v = Verdict{Least: 1}
	for _, step := range steps {
		step(b)
		if b.v.Short > most {
			break
		}
	}
	return b.v
}

func (b *bench) pressures() {
	b.v.put(EndPressure, b.Within, math.Abs(spring.ForceOf(b.lines, 0)-b.Rest))
	b.v.put(PeakPressure, b.Within, math.Abs(spring.ForceOf(b.lines, b.Stroke-b.Begin)-b.Start()))
}

func (b *bench) index() {
	for i := range b.parts {
		if p := &b.parts[i]; p.dimensioned() {
			c := p.Coil.Index()
			b.v.put(Index, c, b.Limits.IndexMin)
			b.v.put(Index, b.Limits.IndexMax, c)
		}
	}
}

// grown returns the outside diameter [m] of a part when it is solid.
func (p *Part) grown() float64 {
	if !p.dimensioned() {
		return p.Outer
	}
	return p.Outer + p.Coil.Growth().FreeToTurn
}

func (b *bench) bore() {
	for i := range b.parts {
		if p := &b.parts[i]; p.Outer > 0 {
			b.v.put(InBore, b.Space.Bore-p.grown(), b.Space.Slack)
		}
	}
}

func (b *bench) rod() {
	if b.Space.Rod == 0 {
		return
	}
	for i := range b.parts {
		if p := &b.parts[i]; p.Inner > 0 {
			b.v.put(OverRod, p.Inner-b.Space.Rod, b.Space.Slack)
		}
	}
}

func (b *bench) nest() {
	for i := range b.parts {
		for k := range b.parts {
			out, in := &b.parts[i], &b.parts[k]
			if out.Inner > 0 && in.Outer > 0 && out.Outer > in.Outer {
				b.v.put(InNest, out.Inner-in.grown(), b.Space.Slack)
			}
		}
	}
}

// cocked returns L_2, the length of the spring with the lever cocked [m].
func (b *bench) cocked() float64 { return b.Space.Installed - b.Stroke }

// staticCycles is how many load cycles [EN 13906] still counts as static.
const staticCycles = 1e4

func (b *bench) gaps() {
	duty := spring.Static
	if b.cycles > staticCycles {
		duty = spring.Dynamic
	}
	for i := range b.parts {
		p := &b.parts[i]
		if p.Solid == 0 {
			continue
		}
		need := math.Max(b.Space.Solid, 1e-3*b.Stroke)
		if p.dimensioned() {
			c, err := p.Coil.Clearance(max(p.Free, p.Solid), duty)
			must(err)
			need = math.Max(need, c.Required)
		}
		b.v.put(Clearance, b.cocked()-p.Solid, need)
	}
}

// working returns the lengths between which the spring works.
func (b *bench) working() spring.Working {
	return spring.Working{Rest: b.Space.Installed, Cocked: b.cocked()}
}

// works reports whether a part bears at all when cocked and is not solid before:
// beyond that its stresses are anybody's guess.
func (b *bench) works(p *Part) bool { return p.Solid <= b.cocked() && p.Free > b.cocked() }

// each calls f for every part of known dimensions and wire that works, hot as at work.
func (b *bench) each(f func(hot spring.Compression, w *Wire)) {
	for i := range b.parts {
		p := &b.parts[i]
		if !p.dimensioned() || p.Wire == nil || !b.works(p) {
			continue
		}
		hot := p.Coil
		hot.G *= p.Wire.soft(b.Space.Celsius)
		hot.E *= p.Wire.soft(b.Space.Celsius)
		f(hot, p.Wire)
	}
}

func (b *bench) stress() {
	b.each(func(hot spring.Compression, w *Wire) {
		used := func(a Allowed) spring.Margins {
			m, err := hot.Check(a.Criterion, spring.Loading{Working: b.working(), Tensile: w.Tensile})
			must(err)
			return m
		}
		cocked, solid := used(w.Cocked).Cocked, used(w.Solid).Solid
		b.v.put(StressCocked, cocked.Allowable, w.Cocked.Safety*cocked.Stress)
		b.v.put(StressSolid, solid.Allowable, w.Solid.Safety*solid.Stress)
	})
}

func (b *bench) buckling() {
	if b.Space.Support.Guided {
		return
	}
	for i := range b.parts {
		p := &b.parts[i]
		if !p.dimensioned() || !b.works(p) {
			continue
		}
		k, err := p.Coil.Buckling(b.Space.Support)
		must(err)
		need := b.Limits.Buckling * (p.Free - b.cocked())
		if k.Never {
			need = 0
		}
		b.v.put(Buckling, k.CriticalDeflection, need)
	}
}

// fatigue compares the stress of a swing from zero that does the same harm with
// the stress that the wire bears for the wished cycles. Where the wire has no
// curve, or the curve ends before, its endurance decides.
func (b *bench) fatigue() {
	if b.cycles == 0 {
		return
	}
	b.each(func(hot spring.Compression, w *Wire) {
		if w.Life != nil && b.cycles <= w.Life[len(w.Life)-1].Cycles {
			m := spring.LifeWire{Tensile: w.Tensile, UltimateShear: w.Endurance.UltimateShear}
			if fromZero, err := hot.FromZero(b.working(), m); err == nil {
				b.v.put(Fatigue, b.borne(w), b.Limits.Fatigue*fromZero)
			} else { // the wire would break at once
				b.v.put(Fatigue, 0, b.borne(w))
			}
			return
		}
		if w.Endurance != (spring.Strength{}) {
			f, err := hot.Fatigue(b.working(), w.Endurance)
			must(err)
			b.v.put(Fatigue, f.Allowed, b.Limits.Fatigue*f.Cycle.Amplitude)
		}
	})
}

// borne returns the stress of a swing from zero [Pa] that a wire bears for the
// wished cycles, or for those at which its curve begins if that is more.
func (b *bench) borne(w *Wire) float64 {
	if s, ok := b.endures[w]; ok {
		return s
	}
	first, last := w.Life[0], w.Life[len(w.Life)-1]
	share := first.Share
	if b.cycles > first.Cycles {
		share = crossing(func(share float64) float64 {
			n, _, err := w.Life.Cycles(share)
			must(err)
			return b.cycles - n
		}, last.Share, first.Share)
	}
	b.endures[w] = share * w.Tensile
	return b.endures[w]
}

// relaxation forecasts the force lost at rest, where the spring spends its
// life, from the reference point of its wire. How the loss grows with stress is
// known no better than as its square to its cube; the worse of the two is taken.
func (b *bench) relaxation() {
	if b.years == 0 {
		return
	}
	b.each(func(hot spring.Compression, w *Wire) {
		ref := w.Relaxation
		if ref.Stress == 0 {
			return
		}
		force := hot.Rate() * math.Max(0, hot.Free-b.Space.Installed)
		x := hot.Stress(force, spring.Wahl) / ref.Stress
		loss, err := ref.Law.Loss(b.years)
		if err != nil { // past its meaning: all is lost
			loss = 1
		}
		b.v.put(Relaxation, b.Limits.Relaxation, math.Min(1, loss*math.Max(x*x, x*x*x)))
	})
}

func (b *bench) effort() {
	if b.Effort > 0 && b.Hand != nil {
		b.v.put(Effort, b.Effort, b.Hand.Effort(b.lines...))
	}
}
