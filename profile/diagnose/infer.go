package diagnose

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mathext"
)

// Range is a value with the interval that holds it with 95 %.
type Range struct {
	Value float64 // median [unit of what it is of]
	Low   float64 // 2.5 % of the probability lie below [likewise]
	High  float64 // 2.5 % lie above [likewise]
}

// State is what readings tell of all parts of a machine together.
type State struct {
	Parts        []PartState     // all parts that could be at fault, the likeliest first
	NothingWrong float64         // probability that no part is worth repairing [-]
	Now          Range           // peak that a sound gauge would show now [Pa]
	Sound        Range           // and with every part put right [Pa]
	Explains     float64         // p: probability that readings go together as badly as these, were the best sets of faults right [-]
	Withheld     bool            // no set of faults explains the readings: no repair is advised
	Worst        *Misfit         // the reading that goes least with the rest; where Withheld only
	Against      []Contradiction // statements of one thing that contradict each other: say them first
	Used         []Observation   // the readings as they were weighed, several of one thing made one
	Evidence     float64         // ln of the probability density of the readings [-]
	Shim         *Shim           // verdict on a shim for the set there may be; nil where there is none
	Ask          *Ask            // the spring to ask for, should it have to be replaced
	Next         Step            // what to do next
	Steps        []Step          // all that could be done next, the least expected effort first
	Doubts       []string
}

// PartState is what readings tell of a part.
type PartState struct {
	Part        Part
	Prior       float64  // probability that it is at fault, before the readings [-]
	Probability float64  // that it is worth repairing: putting it right alone brings back Priors.Worth of the sound peak [-]
	AtFault     float64  // that it is at fault at all, however little [-]
	Size        Range    // of its fault, if it is at fault [SI unit of the part]
	Gain        Range    // pressure that putting it right alone would bring back, 0 where it is in order [Pa]; of a gauge, what it would show more
	For         []Weight // readings that speak for its being at fault, the strongest first
	Against     []Weight // readings that speak against it, the strongest first
}

// Weight is what one reading says of one part, with all other readings known.
type Weight struct {
	Kind     Kind
	From     int     // index into State.Used
	Measured float64 // [unit of the kind]
	Sound    float64 // expected if the part is in order [unit of the kind]
	Fault    float64 // expected if it is at fault [unit of the kind]
	U        float64 // standard deviation of what is expected, the reading's own uncertainty with it [unit of the kind]
	Ln       float64 // ln of the factor by which the reading changes the odds of a fault [-]
}

// Misfit is a reading that does not go with the rest.
type Misfit struct {
	Kind     Kind
	From     int     // index into State.Used
	Measured float64 // [unit of the kind]
	Expected float64 // by the rest [unit of the kind]
	U        float64 // standard deviation of their difference [unit of the kind]
}

// Course is what peaks over the years say of the way in which pressure was
// lost: the ln of the factor by which they change the odds of each law against scatter.
type Course struct {
	SetOdds  float64 // of the log-time law: the spring sets [-]
	WearOdds float64 // of the linear law: the seal and the wire wear [-]
	StepOdds float64 // of a step: a coil broke, the gauge was hit [-]
}

// apply returns the priors with the odds of each part changed by the course,
//
//	π/(1-π) → π/(1-π) B^power
//
// tempered by the power, because the way from a law to a part is loose.
func (p Priors) apply(c *Course) Priors {
	ln := [numParts]float64{PartSet: c.SetOdds, PartSeal: c.WearOdds, PartWire: c.WearOdds, PartCoil: c.StepOdds, PartGauge: c.StepOdds}
	for i, b := range ln {
		if f := p.Fault[i]; f > 0 && b != 0 {
			p.Fault[i] = min(1-tinySpread, 1/(1+(1-f)/f*math.Exp(-p.CoursePower*b)))
		}
	}
	return p
}

// Case is a machine with all that is known of it.
type Case struct {
	Machine  *Machine
	Readings []Observation
	Priors   Priors
	Course   Course  // zero where there are no peaks over the years
	Renewed  []Part  // parts that were put right, beside those that the readings tell of: not at fault now
	Wish     float64 // peak wanted [Pa]; 0 for that of the sound machine
	Wire     *Wire   // strength of the wire; nil where it is not known
	Away     []Kind  // kinds that cannot be measured
	Outcomes bool    // say what each outcome of the measurement to be made next would lead to
}

const (
	speaksFrom = 0.4 // ln from which a reading is said to speak for or against a part: a factor of 1.5 [-]
	// The numbers of points that are kept are a matter of the method.
	kept        = 2000
	keptAtLeast = 6
	blur        = 3 // values that stand for the scatter of one point
)

// Infer infers the state of all parts of a machine at once.
//
// The state is a set S of up to three parts at fault, with the size of each
// fault, and what differs between sound machines: the spring's dimensions,
// the friction of a sound seal, the gauge, the air of a usual fill, the
// puck. The latter move several readings together:
//
//	y = h(x, θ0) + J (θ - θ0) + e,   e ~ N(0, own + U)
//	p(y|S) = ∫ p(u|S) Σ_k π_k N(y; h(x(u)) + J_f (f_k - f̄), C + s_k² J_f J_fᵀ) du
//	P(S|y) ∝ p(y|S) Π_{i in S} π_i Π_{i not in S} (1 - π_i)
//
// u are the shares of the peak that each fault alone takes, before any
// reading exponential and none above Priors.ShareMost; a machine that gives no
// pressure at all is not what is asked about. The peak when
// new is one more reading, with no fault. The points of the integrals are
// fixed, so the answer is repeatable.
func Infer(c *Case) (*State, error) {
	if c.Machine == nil {
		return nil, fmt.Errorf("%w: no machine is given", ErrInput)
	}
	if err := c.validate(); err != nil {
		return nil, err
	}
	used, against := merge(slices.Clone(c.Readings))
	used, old := recent(used)
	p, renewed, told := c.Priors.apply(&c.Course), setOf(c.Renewed...), partSet(0)
	for i := range c.Readings {
		renewed |= setOf(c.Readings[i].Before...)
	}
	for i := range used {
		told |= setOf(used[i].Before...)
	}
	p = p.Without((renewed &^ told).list()...) // nothing tells of what they were
	f, err := newForward(c.Machine, &p)
	if err != nil {
		return nil, err
	}
	rows, y, own := rowsOf(used, -1)
	d := newDecision(f, &p, c, used)
	q := newInquiry(f, &p, renewed, append(rows, d.rows()...), y, own)
	hyps, ln := q.weigh()
	s := &State{Against: against, Used: used, Evidence: ln - float64(len(y))/2*math.Log(2*math.Pi)}
	b := newBelief(q, hyps)
	b.describe(s)
	b.explain(s)
	if s.Explains < p.Doubt {
		s.Withheld = true
		s.Worst = worst(f, &p, renewed, used, b.odd)
	}
	d.decide(b, s)
	s.doubt(f, old)
	return s, nil
}

func (c *Case) validate() error {
	faults := []error{c.Machine.Validate(), c.Priors.validate()}
	if !(c.Wish >= 0) || math.IsInf(c.Wish, 1) {
		faults = append(faults, fmt.Errorf("%w: wanted peak is %g Pa, want 0 or more", ErrInput, c.Wish))
	}
	for i := range c.Readings {
		faults = append(faults, c.Readings[i].validate(c.Machine.Spring != nil))
	}
	for _, v := range []float64{c.Course.SetOdds, c.Course.WearOdds, c.Course.StepOdds} {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			faults = append(faults, fmt.Errorf("%w: a ln of odds of the course of peaks is %g, want a number", ErrInput, v))
		}
	}
	for _, p := range c.Renewed {
		if p < 0 || p >= numParts {
			faults = append(faults, fmt.Errorf("%w: unknown part %d was renewed", ErrInput, p))
		}
	}
	return errors.Join(faults...)
}

// rowsOf lays the readings out in rows, but for one of them.
func rowsOf(used []Observation, but int) (rows []number, y, own []float64) {
	for i := range used {
		if i == but {
			continue
		}
		for j, k := range used[i].Kinds {
			rows = append(rows, number{kind: k, at: used[i].At, new: used[i].New, before: setOf(used[i].Before...), other: used[i].Other, whole: used[i].Whole, from: i})
			y = append(y, used[i].Values[j])
		}
	}
	n := len(rows)
	own = make([]float64, n*n)
	at := 0
	for i := range used {
		if i == but {
			continue
		}
		for r, line := range used[i].Cov {
			for s, v := range line {
				own[(at+r)*n+at+s] = v
			}
		}
		at += len(used[i].Kinds)
	}
	return rows, y, own
}

// belief is the weighted states that are left after the readings.
type belief struct {
	q      *inquiry
	hyps   []hypothesis
	points []point
	see    []view // of each point
	pred   []predictor
	odd    []float64 // of each row read: probability that it is as far from what the others want
	seen   []float64 // of each point: its residuals and, behind them, what it expects of the further rows
}

// view is what a point means.
type view struct {
	x      sizesOf             // of the faults that are left now
	shown  float64             // peak that a sound gauge shows [Pa]
	gain   [mostFaults]float64 // of putting each of its faults right alone [Pa]
	unsure [mostFaults]float64 // standard deviation of that [Pa]
}

// predictor predicts rows that were not read from those that were, under a hypothesis.
type predictor struct {
	inverse []float64   // of the total covariance, n by n
	gain    [][]float64 // C_eyᵀ C⁻¹ of each further row
	sd      []float64   // of each further row, its own error left out [unit of the row]
}

func newBelief(q *inquiry, hyps []hypothesis) *belief {
	b := &belief{q: q, hyps: hyps, pred: make([]predictor, len(hyps))}
	for i := range hyps {
		b.points = append(b.points, thinned(hyps[i].points)...)
		hyps[i].points = nil
	}
	b.see = make([]view, len(b.points))
	for i := range b.points {
		p := &b.points[i]
		b.see[i] = q.view(&hyps[p.hyp], p)
	}
	gains := make([]gainer, len(hyps))
	for i := range hyps {
		x := q.sizes(&hyps[i], &hyps[i].around)
		o := q.fieldAt(&x, len(q.rows))
		b.pred[i] = q.predictor(o)
		gains[i] = q.gainer(&hyps[i], o, b.pred[i].inverse)
	}
	b.seen = make([]float64, len(b.points)*len(q.rows))
	for i := range b.points {
		r := b.look(i)
		b.fill(i, r)
		b.see[i].learn(&gains[b.points[i].hyp], r[:q.n])
	}
	return b
}

// thinned replaces the points of a hypothesis by fewer, drawn systematically with
// equal weights: kept in all, and a few where the hypothesis hardly counts.
func thinned(points []point) []point {
	sum := 0.0
	for i := range points {
		sum += points[i].weight
	}
	n := int(math.Ceil(kept*sum)) + keptAtLeast
	if sum == 0 || n >= len(points) {
		return points
	}
	few := make([]point, 0, n)
	each := sum / float64(n)
	cum, drawn := 0.0, 0
	for _, p := range points {
		before := drawn
		for cum += p.weight; drawn < n && cum > each*(float64(drawn)+0.5); {
			drawn++
		}
		if drawn > before {
			p.weight = each * float64(drawn-before)
			few = append(few, p)
		}
	}
	return few
}

// sizesOf returns all sizes of a point.
func (q *inquiry) sizesOf(h *hypothesis, p *point) (x sizesOf) {
	for i, part := range h.list {
		x[part] = p.size[i]
	}
	return x
}

// view works out what a point means.
func (q *inquiry) view(h *hypothesis, p *point) (w view) {
	x := q.sizesOf(h, p)
	w.x = q.after(&x, 0)
	var v, without seen
	q.f.show(&w.x, &offsets{}, onlyPeak, &v)
	w.shown = v.shown
	for i, part := range h.list {
		w.gain[i] = q.gain(&w.x, part, &offsets{}, &v, &without)
		short := v.peak - v.shown - (without.peak - without.shown)
		w.unsure[i] = math.Hypot(q.p.Model.Peak*w.gain[i], q.p.Model.Short*short)
	}
	return w
}

// gain is what putting a part right brings, of what a machine in a state shows.
func (q *inquiry) gain(x *sizesOf, part Part, o *offsets, now, without *seen) float64 {
	then := *x
	then[part] = 0
	q.f.show(&then, o, onlyPeak, without)
	if part == PartGauge {
		return without.value[Peak] - now.value[Peak]
	}
	return without.shown - now.shown
}

// gainer predicts from the readings by how much more a repair brings on this
// machine than on one whose sound parts are all at their means.
type gainer struct {
	by [mostFaults][]float64 // C_gyᵀ C⁻¹ of each fault
	sd [mostFaults]float64   // what is left unknown [Pa]
}

// gainer works with the derivatives at the best sizes of a set and the inverse
// of the total covariance.
func (q *inquiry) gainer(h *hypothesis, o *local, inverse []float64) (g gainer) {
	n, d := q.n, len(h.list)
	x := q.sizes(h, &h.around)
	x = q.after(&x, 0)
	sd := q.deviations()
	var now, without seen
	var jac [mostFaults][nuisances]float64
	for i := range nuisances {
		if i.ofReading() {
			continue
		}
		for _, sign := range []float64{1, -1} {
			var by offsets
			by[i] = sign * sd[i]
			q.f.show(&x, &by, onlyPeak, &now)
			for j, part := range h.list {
				jac[j][i] += sign / 2 * q.gain(&x, part, &by, &now, &without)
			}
		}
	}
	c := make([]float64, n)
	for j := range d {
		v := 0.0
		for r := range n {
			c[r] = 0
			for i := range nuisances {
				c[r] += jac[j][i] * o.jac[i][r]
			}
		}
		for i := range nuisances {
			v += jac[j][i] * jac[j][i]
		}
		g.by[j] = make([]float64, n)
		for r := range n {
			g.by[j][r] = dot(inverse[r*n:r*n+n], c)
		}
		g.sd[j] = math.Sqrt(max(0, v-dot(g.by[j], c)))
	}
	return g
}

// learn puts what the residuals tell of the gains into them.
func (w *view) learn(g *gainer, r []float64) {
	for j, by := range g.by {
		if by != nil && w.gain[j] > 0 {
			w.gain[j] += dot(by, r)
		}
	}
	for j, sd := range g.sd {
		w.unsure[j] = math.Hypot(w.unsure[j], sd)
	}
}

func (q *inquiry) predictor(o *local) (p predictor) {
	n, all := q.n, len(q.rows)
	p.inverse = make([]float64, n*n)
	for j := range n {
		e := p.inverse[j*n : j*n+n]
		e[j] = 1
		solveLower(o.total, n, e)
		solveUpper(o.total, n, e)
	}
	for r := n; r < all; r++ {
		g := make([]float64, n)
		c := make([]float64, n)
		for s := range n {
			c[s] = o.covariance(r, s, true)
		}
		for s := range n {
			g[s] = dot(p.inverse[s*n:s*n+n], c)
		}
		v := o.covariance(r, r, true) - dot(g, c)
		p.gain = append(p.gain, g)
		p.sd = append(p.sd, math.Sqrt(max(0, v)))
	}
	return p
}

// look returns the residuals of a point and, behind them, what it expects of
// the further rows.
func (b *belief) look(i int) []float64 { return b.seen[i*len(b.q.rows):][:len(b.q.rows)] }

func (b *belief) fill(i int, r []float64) {
	q := b.q
	v := &q.scene[0]
	x := q.sizesOf(&b.hyps[b.points[i].hyp], &b.points[i])
	q.look(&x, allKinds, v)
	q.residual(v, r[:q.n])
	p := &b.pred[b.points[i].hyp]
	for e := range p.gain {
		r[q.n+e] = q.rows[q.n+e].of(v) + dot(p.gain[e], r[:q.n])
	}
}

// explain works out whether the readings go together: the probability, over
// the states left, of a χ² as great as theirs.
func (b *belief) explain(s *State) {
	n := b.q.n
	if n == 0 {
		s.Explains = 1
		return
	}
	for i := range b.points {
		r := b.look(i)
		inv := b.pred[b.points[i].hyp].inverse
		chi := 0.0
		for j := range n {
			chi += r[j] * dot(inv[j*n:j*n+n], r[:n])
		}
		s.Explains += b.points[i].weight * mathext.GammaIncRegComp(float64(n)/2, max(0, chi)/2)
	}
	s.Explains = min(1, s.Explains)
}

// describe fills in what is told of each part.
func (b *belief) describe(s *State) {
	q := b.q
	sound := q.sound.shown
	var atFault, worth [numParts]float64
	var sizes, gains [numParts][]weighted
	for i := range b.points {
		p, w := &b.points[i], &b.see[i]
		list := b.hyps[p.hyp].list
		for j, part := range list {
			atFault[part] += p.weight
			sizes[part] = append(sizes[part], weighted{p.size[j], p.weight})
		}
		each := p.weight / blur
		for k := range blur {
			any := false
			for j, part := range list {
				_, t := math.Modf(goldenRatio*float64(i+1) + silverRatio*float64(j))
				gain := max(0, w.gain[j]+w.unsure[j]*math.Sqrt2*math.Erfinv(2*(float64(k)+t)/blur-1))
				gains[part] = append(gains[part], weighted{gain, each})
				if gain >= q.p.Worth*sound {
					worth[part] += each
					any = true
				}
			}
			if !any {
				s.NothingWrong += each
			}
		}
	}
	weights := b.weights()
	for part := range numParts {
		if q.p.Fault[part] == 0 || q.renewed.has(part) {
			continue
		}
		ps := PartState{Part: part, Prior: q.p.Fault[part], Probability: min(1, worth[part]), AtFault: min(1, atFault[part])}
		ps.Size = rangeOf(sizes[part])
		ps.Gain = rangeOf(append(gains[part], weighted{0, max(0, 1-atFault[part])}))
		for _, w := range weights[part] {
			switch {
			case w.Ln > speaksFrom:
				ps.For = append(ps.For, w)
			case w.Ln < -speaksFrom:
				ps.Against = append(ps.Against, w)
			}
		}
		strongest := func(a, b Weight) int { return cmp.Compare(math.Abs(b.Ln), math.Abs(a.Ln)) }
		slices.SortStableFunc(ps.For, strongest)
		slices.SortStableFunc(ps.Against, strongest)
		s.Parts = append(s.Parts, ps)
	}
	slices.SortStableFunc(s.Parts, func(a, b PartState) int { return cmp.Compare(b.Probability, a.Probability) })
	s.Now, s.Sound = b.predict(0), b.predict(1)
}

// weighted is a value with its weight.
type weighted struct{ value, weight float64 }

// rangeOf returns median and 95 % of weighted values.
func rangeOf(list []weighted) Range {
	slices.SortFunc(list, func(a, b weighted) int { return cmp.Compare(a.value, b.value) })
	total := 0.0
	for _, w := range list {
		total += w.weight
	}
	if total == 0 {
		return Range{}
	}
	// Half of a value's weight lies below it; straight between values. A lump, such
	// as that of no gain at all, stays what it is.
	const lump = 0.02
	at := func(p float64) float64 {
		sum, below := 0.0, -1.0
		for i, w := range list {
			if w.weight > lump*total && p*total >= sum && p*total <= sum+w.weight {
				return w.value
			}
			mid := sum + w.weight/2
			if mid >= p*total && w.weight > 0 {
				if i == 0 || below < 0 {
					return w.value
				}
				a := list[i-1].value
				return a + (w.value-a)*(p*total-below)/(mid-below)
			}
			sum += w.weight
			below = mid
		}
		return list[len(list)-1].value
	}
	return Range{at(0.5), at(0.025), at(0.975)}
}

// predict returns what the states left expect of a further row.
func (b *belief) predict(e int) Range {
	list := make([]weighted, 0, blur*len(b.points))
	for i := range b.points {
		r := b.look(i)
		sd := b.pred[b.points[i].hyp].sd[e]
		for k := range blur {
			_, t := math.Modf(goldenRatio * float64(i+1))
			z := math.Sqrt2 * math.Erfinv(2*(float64(k)+t)/blur-1)
			list = append(list, weighted{max(0, r[b.q.n+e]+sd*z), b.points[i].weight / blur})
		}
	}
	return rangeOf(list)
}

// weights works out what each reading says of each part: the change of the ln
// of the odds when it is left out. A state i without the reading j weighs
//
//	w_i / N(e_j; 0, v_j),   e_j = (C⁻¹r)_j/(C⁻¹)_jj,   v_j = 1/(C⁻¹)_jj
//
// and expects y_j - e_j of it, all other readings known.
func (b *belief) weights() (list [numParts][]Weight) {
	q, n := b.q, b.q.n
	var odds [numParts]float64
	for i := range b.points {
		for _, part := range b.hyps[b.points[i].hyp].list {
			odds[part] += b.points[i].weight
		}
	}
	m := len(b.points)
	ln, mean, sd := make([]float64, n*m), make([]float64, n*m), make([]float64, n*m)
	for i := range b.points {
		r := b.look(i)
		inv := b.pred[b.points[i].hyp].inverse
		for j := range n {
			c := inv[j*n+j]
			e := dot(inv[j*n:j*n+n], r[:n]) / c
			ln[j*m+i] = math.Log(b.points[i].weight) + min(e*e*c/2, 30) - math.Log(c)/2
			mean[j*m+i], sd[j*m+i] = q.y[j]-e, 1/c
		}
	}
	for j := range n {
		top := slices.Max(ln[j*m : j*m+m])
		var with, withMean, withSd [numParts]float64
		all, allMean, allSd, beyond := 0.0, 0.0, 0.0, 0.0
		for i := range b.points {
			w := math.Exp(ln[j*m+i] - top)
			all, allMean, allSd = all+w, allMean+w*mean[j*m+i], allSd+w*sd[j*m+i]
			if w > idle*idle {
				beyond += w * math.Erfc(math.Abs(q.y[j]-mean[j*m+i])/math.Sqrt(2*sd[j*m+i]))
			}
			for _, part := range b.hyps[b.points[i].hyp].list {
				with[part] += w
				withMean[part] += w * mean[j*m+i]
				withSd[part] += w * sd[j*m+i]
			}
		}
		b.odd = append(b.odd, beyond/all)
		for part := range numParts {
			out := all - with[part]
			if with[part] <= 0 || out <= 1e-12*all || odds[part] <= 0 {
				continue
			}
			list[part] = append(list[part], Weight{
				Kind: q.rows[j].kind, From: q.rows[j].from, Measured: q.y[j],
				Sound: (allMean - withMean[part]) / out, Fault: withMean[part] / with[part],
				U:  math.Sqrt(allSd / all),
				Ln: math.Log(odds[part]/max(1e-12, 1-odds[part])) - math.Log(with[part]/out),
			})
		}
	}
	return list
}

// worst returns the reading without which the rest goes together best. Those
// that seem furthest off come first, so that for the others few sets could do better.
func worst(f *forward, p *Priors, renewed partSet, used []Observation, odd []float64) *Misfit {
	if len(used) < 2 {
		return nil
	}
	best := math.Inf(-1)
	var m *Misfit
	order, least := make([]int, len(used)), make([]float64, len(used))
	for i := range used {
		n := len(used[i].Kinds)
		order[i], least[i] = i, slices.Min(odd[:n])
		odd = odd[n:]
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(least[i], least[j]) })
	for _, i := range order {
		rows, y, own := rowsOf(used, i)
		left := len(rows)
		for _, k := range used[i].Kinds {
			rows = append(rows, number{kind: k, at: used[i].At, new: used[i].New, before: setOf(used[i].Before...), other: used[i].Other, whole: used[i].Whole, from: i})
		}
		q := newInquiry(f, p, renewed, rows, y, own)
		for _, h := range q.p.hypotheses() {
			if p.lnPrior(h.set) <= best {
				continue // however well it fits
			}
			q.locate(&h)
			g := p.lnPrior(h.set) - h.chi/2
			if g <= best {
				continue
			}
			best = g
			x, around := q.sizes(&h, &h.best), q.sizes(&h, &h.around)
			var v scene
			q.look(&x, allKinds, &v)
			r := make([]float64, left)
			q.residual(&v, r)
			pred := q.predictor(q.fieldAt(&around, len(rows)))
			m = &Misfit{Kind: used[i].Kinds[0], From: i}
			most := -1.0
			for j, k := range used[i].Kinds { // of a log, the row that is furthest off
				want := rows[left+j].of(&v) + dot(pred.gain[j], r)
				u := math.Hypot(pred.sd[j], math.Sqrt(used[i].Cov[j][j]))
				if z := math.Abs(used[i].Values[j]-want) / u; z > most {
					most = z
					m.Kind, m.Measured, m.Expected, m.U = k, used[i].Values[j], want, u
				}
			}
		}
	}
	return m
}

// doubt says where the answer is weak; so many readings were too old.
func (s *State) doubt(f *forward, old int) {
	add := func(format string, a ...any) { s.Doubts = append(s.Doubts, fmt.Sprintf(format, a...)) }
	if s.Withheld {
		add("the readings do not go together, whatever is wrong (p = %.2g): one of them, or the machine as new, is not what it was taken for", s.Explains)
	}
	if !f.known {
		add("the spring's dimensions as new are not known: free length, wire and coils cannot be compared")
	}
	rows := 0
	for i := range s.Used {
		rows += len(s.Used[i].Kinds)
	}
	if rows < 3 {
		add("with so few readings the answer is mostly what old machines usually have")
	}
	add("how often parts fail is judgement, not data")
	if old > 0 {
		add("%d readings from before the last %d repairs are left out", old, mostStages-1)
	}
}
