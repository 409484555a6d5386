package replace

import (
	"fmt"
	"math"
	"slices"

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

	Printed float64 // L_c: solid length that its maker prints or somebody measured [m]; it counts where it is more than Solid; 0 where unknown
	LoadBy  float64 // ±: what its loads may be off by, as its maker prints it, over the load [-]; 0 where unknown
}

// solid returns the solid length to reckon with [m], 0 where none is known.
func (p *Part) solid() float64 { return math.Max(p.Solid, p.Printed) }

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
	stay   []spring.Linear // springs that stay in the machine, as the piston feels them
	parts  []Part          // what is judged
	lines  []spring.Linear // as the piston feels it
	all    []spring.Linear // those and the ones that stay
	v      Verdict
	top    int  // where the hand has to push hardest, in the table of its effort
	near   bool // the effort is wanted there only: enough to first order

	bears  map[*Wire]spring.Strength // strength for the wished cycles
	varied []Part                    // parts with an error of making
	granted
}

// granted is the tolerance of the last coil diameter asked for, because a search
// asks for the same one again and again.
type granted struct{ outer, wire, by float64 }

func (j *Job) bench() *bench {
	cycles, err := j.Use.Cycles()
	must(err)
	const year = 365.25 * 86400 // Julian year [s]
	return &bench{
		Job: j, cycles: cycles, years: j.Use.Years * year,
		stay: j.Space.Lines(j.Staying), bears: map[*Wire]spring.Strength{},
	}
}

// settle returns parts with their solid length by the convention of the task, if
// it names one that knows their ends.
func (j *Job) settle(parts []Part) []Part {
	settled := slices.Clone(parts)
	for i := range settled {
		p := &settled[i]
		if _, ok := j.Convention.DeadCoils(p.Coil.Ends); ok && p.dimensioned() {
			p.Coil.Convention = j.Convention
			p.Solid = p.Coil.SolidLength()
		}
	}
	return settled
}

// coilBy returns the tolerance of the outside diameter of a part that the order
// grants its maker [m], 0 where none is known.
func (b *bench) coilBy(p *Part) float64 {
	if b.Making == nil || b.Making.Coil == nil || !p.dimensioned() {
		return 0
	}
	if b.granted.outer != p.Outer || b.granted.wire != p.Coil.Wire {
		b.granted = granted{p.Outer, p.Coil.Wire, b.Making.Coil(p.Outer, p.Coil.Index())}
	}
	return b.granted.by
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
	force := func(lift float64) float64 { return spring.ForceOf(b.lines, lift) + spring.ForceOf(b.stay, lift) }
	if !b.AnyEnd {
		b.v.put(EndPressure, b.Within, math.Abs(force(0)-b.Rest))
	}
	b.v.put(PeakPressure, b.Within, math.Abs(force(b.Stroke-b.Begin)-b.Start()))
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
			b.v.put(InBore, b.Space.Bore-p.grown()-b.coilBy(p), b.Space.Slack)
		}
	}
}

func (b *bench) rod() {
	if b.Space.Rod == 0 {
		return
	}
	for i := range b.parts {
		if p := &b.parts[i]; p.Inner > 0 {
			b.v.put(OverRod, p.Inner-b.coilBy(p)-b.Space.Rod, b.Space.Slack)
		}
	}
}

// nest judges the room between the springs, those that stay among them. Of two
// springs the one of the larger mean diameter is the outer one, so that two as
// wide as each other do not pass for a nest.
func (b *bench) nest() {
	if len(b.parts)+len(b.Staying) < 2 {
		return
	}
	for i := range b.parts {
		for k := range i {
			b.between(&b.parts[i], &b.parts[k])
		}
		for k := range b.Staying {
			b.between(&b.parts[i], &b.Staying[k])
		}
	}
}

// between judges the room between two springs, tolerances of both used up.
func (b *bench) between(out, in *Part) {
	if out.Inner+out.Outer < in.Inner+in.Outer {
		out, in = in, out
	}
	if out.Inner > 0 && in.Outer > 0 {
		b.v.put(InNest, out.Inner-b.coilBy(out)-in.grown()-b.coilBy(in), b.Space.Slack)
	}
}

// cocked returns L_2, the length of the spring with the lever cocked [m].
func (b *bench) cocked() float64 { return b.Space.Installed - b.Stroke }

// staticCycles is how many load cycles [EN 13906] still counts as static.
const staticCycles = 1e4

// duty returns the duty of the wished life.
func (b *bench) duty() spring.Duty {
	if b.cycles > staticCycles {
		return spring.Dynamic
	}
	return spring.Static
}

func (b *bench) gaps() {
	duty := b.duty()
	for i := range b.parts {
		p := &b.parts[i]
		if p.solid() == 0 {
			continue
		}
		need := math.Max(b.Space.Solid, 1e-3*b.Stroke)
		if p.dimensioned() {
			c, err := p.Coil.Clearance(max(p.Free, p.Coil.SolidLength()), duty)
			must(err)
			need = math.Max(need, c.Required)
		}
		b.v.put(Clearance, b.cocked()-p.solid(), need)
	}
}

// working returns the lengths between which the spring works.
func (b *bench) working() spring.Working {
	return spring.Working{Rest: b.Space.Installed, Cocked: b.cocked()}
}

// works reports whether a part bears at all when cocked and is not solid before:
// beyond that its stresses are anybody's guess.
func (b *bench) works(p *Part) bool { return p.solid() <= b.cocked() && p.Free > b.cocked() }

// each calls f for every part of known dimensions and wire that works, hot as at
// work and cold as at 20 °C.
func (b *bench) each(f func(hot, cold spring.Compression, w *Wire)) {
	for i := range b.parts {
		p := &b.parts[i]
		if !p.dimensioned() || p.Wire == nil || !b.works(p) {
			continue
		}
		hot := p.Coil
		hot.G *= p.Wire.soft(b.Space.Celsius)
		hot.E *= p.Wire.soft(b.Space.Celsius)
		f(hot, p.Coil, p.Wire)
	}
}

// stress judges the wire cocked, at work, and pressed solid, at 20 °C: that is where
// a spring is preset, and where it is stiffest.
func (b *bench) stress() {
	b.each(func(hot, cold spring.Compression, w *Wire) {
		put := func(c Constraint, s spring.Compression, force float64, a *Allowed) {
			b.v.put(c, a.Criterion.Allowable(w.Tensile), a.Safety*s.Stress(force, a.Criterion.Factor()))
		}
		put(StressCocked, hot, hot.Rate()*(hot.Free-b.cocked()), &w.Cocked)
		put(StressSolid, cold, cold.SolidForce(), &w.Solid)
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
		b.v.put(Buckling, k.Reach, b.Limits.Buckling*(p.Free-b.cocked()))
	}
}

// fatigue judges every wire on one scale: the amplitude that Goodman's line
// allows on the ray through the origin, because what a made spring is off by in rate
// and wire scales the load at rest and cocked alike; cautious under the mean stress
// of the source. The endurance decides, whatever the wished life; where only a
// curve of lives is known, its swing from zero for the wished cycles takes its place.
func (b *bench) fatigue() {
	if b.cycles == 0 {
		return
	}
	b.each(func(hot, _ spring.Compression, w *Wire) {
		m := b.strength(w)
		if m.Endurance.Amplitude == 0 {
			return
		}
		f, err := hot.Fatigue(b.working(), m)
		must(err)
		b.v.put(Fatigue, f.Allowed, b.Limits.Fatigue*f.Cycle.Amplitude)
	})
}

// strength returns what a wire bears for the wished cycles; zero where that is not known.
func (b *bench) strength(w *Wire) spring.Strength {
	if s, ok := b.bears[w]; ok {
		return s
	}
	s := w.Endurance
	s.Cautious = true
	if s.Endurance.Amplitude == 0 && w.Life != nil && b.cycles <= w.Life[len(w.Life)-1].Cycles {
		half := w.borne(b.cycles) / 2
		s.Endurance = spring.Endurance{Amplitude: half, Mean: half}
		s.Line = spring.Goodman
	}
	b.bears[w] = s
	return s
}

// borne returns the stress of a swing from zero [Pa] that a wire bears for a number
// of cycles, or for those at which its curve begins if that is more.
func (w *Wire) borne(cycles float64) float64 {
	first, last := w.Life[0], w.Life[len(w.Life)-1]
	share := first.Share
	if cycles > first.Cycles {
		share = crossing(func(share float64) float64 {
			n, _, err := w.Life.Cycles(share)
			must(err)
			return cycles - n
		}, last.Share, first.Share)
	}
	return share * w.Tensile
}

// relaxation forecasts, where a limit is set to it, the force lost at rest, where the
// spring spends its life, from the reference point of its wire. How the loss grows
// with stress is known no better than as its square to its cube; the worse of the two
// is taken. How it grows with temperature is not known at all, and reference points
// of different wires are at different ones: so no spring is ranked by it.
func (b *bench) relaxation() {
	if b.years == 0 || b.Limits.Relaxation == 0 {
		return
	}
	b.each(func(hot, _ spring.Compression, w *Wire) {
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
		b.v.put(Effort, b.Effort, b.hand())
	}
}

// hand returns the force that cocking what is judged asks of the hand [N].
func (b *bench) hand() float64 {
	b.all = append(append(b.all[:0], b.lines...), b.stay...)
	if b.near {
		if b.top < 0 {
			return 0
		}
		return max(0, b.Hand[b.top].force(b.all))
	}
	most, at := b.Hand.hardest(b.all)
	b.top = at
	return most
}
