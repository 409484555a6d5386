package replace

import (
	"math"

	"springcalc/spring"
)

// Band is an interval of 95 % for a margin, for what the maker may be off by.
type Band struct {
	Low  float64 // lower end of the margin [-]
	High float64 // upper end of the margin [-]
}

// Bands are the bands of all constraints; that of one not judged is zero.
type Bands [constraints]Band

// wide is half the 95 % interval of a value anywhere within ± 1: 1.96 standard
// deviations of 1/√3 each (GUM 4.3.7).
const wide = 1.96 / 1.7320508075688772

// errors of making, in the order in which they are tried.
const (
	wireOff  = iota // d, the outside diameter kept
	outerOff        // D_e, the wire kept
	freeOff         // L0
	shearOff        // G
	loadOff         // the loads, where only they are known
	offs
)

// offs returns the tolerances of a part, plus or minus: m, m, m, a share, a share.
func (b *bench) offs(p *Part) (by [offs]float64) {
	by[loadOff] = p.LoadBy
	if b.Making == nil || !p.dimensioned() {
		return by
	}
	if by[loadOff] > 0 { // its maker answers for the loads, whatever the wire
		return by
	}
	by[wireOff] = max(p.Coil.WireMax-p.Coil.Wire, 0)
	by[outerOff] = b.coilBy(p)
	by[shearOff] = b.Making.Shear
	if t, err := p.Coil.Tolerance(b.Making.Quality); err == nil {
		by[freeOff] = t.Free
	}
	return by
}

// off returns a part as made with one error.
func (p Part) off(kind int, by float64) Part {
	c := p.Coil
	switch kind {
	case wireOff:
		c.Wire += by
		c.Mean -= by
	case outerOff:
		c.Mean += by
	case freeOff:
		c.Free += by
	case shearOff:
		c.G *= 1 + by
		c.E *= 1 + by
	default:
		p.Rate *= 1 + by
		c.G *= 1 + by
		c.E *= 1 + by
	}
	if !p.dimensioned() {
		return p
	}
	made := p
	made.Rate, made.Free = c.Rate(), c.Free
	made.Outer, made.Inner = c.Outer(), c.Inner()
	made.Coil, made.Solid = c, c.SolidLength()
	return made
}

// fixed are judged with the tolerance of the diameter used up: they have no band.
var fixed = [constraints]bool{InBore: true, OverRod: true, InNest: true}

// bands returns the bands of a verdict on parts, to first order:
//
//	margin ± sqrt(Σ Δ²), Δ the change by an error of 1.96/√3 of its tolerance
//
// for wire, outside diameter, free length and shear modulus of each part, all
// anywhere within their tolerances and independent. Each error is tried to both
// sides, and what lowers a margin counts for the lower end only, so that a limit
// with two sides is met on either. Coils are the maker's to adjust and have none.
func (b *bench) bands(parts []Part, v *Verdict) Bands {
	var fall, rise [constraints]float64
	b.near = true
	defer func() { b.near = false }()
	b.varied = append(b.varied[:0], parts...)
	for i := range parts {
		for kind, by := range b.offs(&parts[i]) {
			if by == 0 {
				continue
			}
			var least, most [constraints]float64
			for _, side := range []float64{-wide, wide} {
				b.varied[i] = parts[i].off(kind, side*by)
				w := b.judge(b.varied, math.Inf(1))
				for c := range constraints {
					d := w.change(v, c)
					least[c], most[c] = min(least[c], d), max(most[c], d)
				}
			}
			b.varied[i] = parts[i]
			for c := range constraints {
				fall[c] += least[c] * least[c]
				rise[c] += most[c] * most[c]
			}
		}
	}
	var out Bands
	for c := range constraints {
		if m, known := v.Margin(c); known {
			out[c] = Band{m, m}
			if !fixed[c] {
				out[c] = Band{m - math.Sqrt(fall[c]), min(1, m+math.Sqrt(rise[c]))}
			}
		}
	}
	return out
}

// change returns by how much a margin differs from that of another verdict; 0 where
// either was not judged.
func (v *Verdict) change(from *Verdict, c Constraint) float64 {
	a, known := v.Margin(c)
	m, before := from.Margin(c)
	switch {
	case !before:
		return 0
	case !known: // past solid, where no stress can be told: the limit itself
		return min(0, -m)
	}
	return a - m
}

// weakest returns the least lower end among the sound constraints and the one
// that has it. What was asked for and could not be judged counts as being at its limit.
func (j *Job) weakest(c *Choice) (low float64, binding Constraint) {
	low = math.Inf(1)
	for _, k := range sound {
		switch {
		case c.Verdict.Checks[k].Known:
			if c.Bands[k].Low < low {
				low, binding = c.Bands[k].Low, k
			}
		case low > 0 && j.asks(k, len(c.Parts)):
			low, binding = 0, k
		}
	}
	return low, binding
}

// Crosses returns the constraints that the spring keeps as drawn, and may break as
// made: those whose band reaches below 0 from above. Pressures are among them: a
// load tolerance wider than the wish is theirs to say.
func (c *Choice) Crosses() []Constraint {
	var all []Constraint
	for k := range constraints {
		if m, known := c.Verdict.Margin(k); known && m >= 0 && c.Bands[k].Low < 0 {
			all = append(all, k)
		}
	}
	return all
}

// Excess is a limit that a spring breaks.
type Excess struct {
	Of   Constraint
	Have float64 // what there is or is allowed [unit of the constraint]
	Need float64 // what is needed or used of that [unit of the constraint]
	Over float64 // need over have, less 1 [-]: by how much the limit is passed; +Inf where there is nothing
}

// Exceeded returns every limit that a verdict finds broken, in their order.
func (v *Verdict) Exceeded() []Excess {
	var all []Excess
	for _, c := range v.Blocked() {
		k := v.Checks[c]
		over := math.Inf(1)
		if k.Have > 0 {
			over = k.Need/k.Have - 1
		}
		all = append(all, Excess{Of: c, Have: k.Have, Need: k.Need, Over: over})
	}
	return all
}

// LikeForLike judges the springs that were in a machine, as new, against the limits
// of today: their own force is the wish, so that only what could harm them, their
// fit and the hand is judged. The choice can be drawn and ordered whatever it
// breaks; [Verdict.Exceeded] says which limits and by how much.
func (j *Job) LikeForLike(parts []Part) (Choice, error) {
	own := *j
	c := Candidate{Parts: parts}
	if err := c.Validate(); err != nil {
		return Choice{}, err
	}
	lines := append(j.Space.Lines(parts), j.Space.Lines(j.Staying)...)
	own.Rest = spring.ForceOf(lines, 0)
	own.Rate = (spring.ForceOf(lines, j.Stroke-j.Begin) - own.Rest) / (j.Stroke - j.Begin)
	if err := own.Validate(); err != nil {
		return Choice{}, err
	}
	return own.choose(own.bench(), 0, own.settle(parts)), nil
}

// choose judges parts in full, with their bands.
func (j *Job) choose(b *bench, row int, parts []Part) Choice {
	c := Choice{Row: row, Parts: parts, Verdict: b.judge(parts, math.Inf(1)), Effort: b.hand()}
	c.finish(b)
	return c
}

// finish fills in what follows from the verdict of a choice.
func (c *Choice) finish(b *bench) {
	c.Bands = b.bands(c.Parts, &c.Verdict) // next to where b.hand was last asked for c.Effort
	c.Weakest, c.WeakestOf = b.weakest(c)
	c.Free = Span{c.Parts[0].Free, c.Parts[0].Free}
	c.Lengths = 1
	c.score(math.Inf(1), b.Job)
}
