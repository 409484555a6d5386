package diagnose

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// StepKind says what sort of step comes next.
type StepKind int

// The sorts of steps.
const (
	StepLeave   StepKind = iota // leave the machine as it is
	StepMeasure                 // measure Step.Measure
	StepRepair                  // do Step.Repair
)

// Step is something that could be done next.
type Step struct {
	Is       StepKind
	Measure  Kind      // of a StepMeasure
	At       float64   // length of a BenchLoad [m]: that of the spring with the piston at rest; else 0
	Repair   Repair    // of a StepRepair
	Effort   float64   // of the step itself, taking the spring out with it [s]
	Expected float64   // effort expected until the machine is right, this step with it [s]
	Sure     float64   // of a repair: probability that a part that it puts right is worth it; of leaving: that the machine is right [-]
	Outcomes []Outcome // of the next step where it measures, where the case asks for them: what it would lead to, the lowest value first
	Again    bool      // take this reading once more: the readings do not go together, and it goes least with the rest
	Rules    *Repair   // the spring repair that this cheap reading may rule out and so comes before; nil where it is the best step anyway
}

// Outcome is a range of values of a measurement, and what to do then.
type Outcome struct {
	Probability float64  // [-]
	Value       float64  // mean [unit of the kind]
	Low, High   float64  // range [unit of the kind]
	Is          StepKind // what to do then; a measurement if Is is StepMeasure
	Measure     Kind
	Repair      Repair
}

// The numbers of states and bins are a matter of the method: more of them
// changed the best step of few machines.
const (
	drawn      = 1536 // states that are drawn for the decision
	bins       = 6    // outcomes of a measurement
	binsSecond = 3    // of one that follows it
	binsTold   = 8    // outcomes that are told, before neighbours are joined
	few        = 128  // states that are sorted rather than picked from all in order
	inBin      = 32   // states of a value that may rule out a repair
	idle       = 1e-3

	leastChance = 0.02 // of a repair that is worth thinking of [-]
)

// decision chooses the next step: the one with the least effort expected until the
// machine is right, two steps ahead.
type decision struct {
	f        *forward
	p        *Priors
	c        *Case
	kinds    []Kind    // that could be measured
	at       []float64 // length of each where it is a bench load [m]
	out      bool      // the spring is out: something was measured on it
	barred   [repairs]bool
	states   []drawnState
	values   [][]float64 // of each kind: what the states would show, tool and scatter with it
	order    [][]int     // of each kind: the states by what they would show
	rank     [][]int     // and of each state its place there
	marked   []bool      // scratch: states of a list
	spare    []int       // scratch
	spareCut [][]int     // scratch
}

// drawnState is one of equally weighted states.
type drawnState struct {
	set    partSet
	list   []Part
	right  [1 << mostFaults]bool // with these of its faults put right
	worth  partSet               // parts worth repairing
	helped uint16                // repairs that put one of them right, one bit each
	cured  [repairs]int          // which of its faults a repair puts right, one bit each
}

const furtherFixed = 2 // rows before those of the measurements: peak now and when sound

func newDecision(f *forward, p *Priors, c *Case, used []Observation) *decision {
	d := &decision{f: f, p: p, c: c}
	var done [kinds]bool
	for i := range used {
		for _, k := range used[i].Kinds {
			done[k] = done[k] || !used[i].New && len(used[i].Before) == 0
			d.out = d.out || onBench(k) && len(used[i].Before) == 0
		}
	}
	for k := range kinds {
		if done[k] || slices.Contains(c.Away, k) || ofSpring(k) && !f.known {
			continue
		}
		at := 0.0
		if k == BenchLoad {
			at = f.free - f.first.Preload/f.first.Rate
		}
		d.kinds, d.at = append(d.kinds, k), append(d.at, at)
	}
	return d
}

// rows are the further rows that a decision needs.
func (d *decision) rows() []number {
	list := []number{{kind: Peak, bare: true}, {kind: Peak, bare: true, new: true}}
	for i, k := range d.kinds {
		list = append(list, number{kind: k, at: d.at[i]})
	}
	return list
}

// decide fills in what to do next.
func (d *decision) decide(b *belief, s *State) {
	d.verdict(s)
	d.draw(b)
	all := make([]int, len(d.states))
	for i := range all {
		all[i] = i
	}
	w := onWay{out: d.out, skip: make([]bool, len(d.kinds))}
	s.Steps = d.steps(all, w)
	if s.Withheld {
		s.Next = d.again(s)
		return
	}
	s.Next = d.choose(s.Steps, all, w)
	if s.Next.Is == StepMeasure && d.c.Outcomes {
		s.Next.Outcomes = d.tell(all, slices.Index(d.kinds, s.Next.Measure))
	}
}

// steps weighs all that could be done next, the least effort expected first.
func (d *decision) steps(list []int, w onWay) []Step {
	all := []Step{d.leave(list)}
	for r := range repairs {
		if !d.barred[r] && d.chance(list, r) > leastChance {
			all = append(all, d.repair(list, r, w))
		}
	}
	for m := range d.kinds {
		if !w.skip[m] {
			all = append(all, d.ask(list, m, w))
		}
	}
	slices.SortStableFunc(all, func(a, b Step) int { return cmp.Compare(a.Expected, b.Expected) })
	return all
}

// verdict works out the shim, and bars it where it does not fit or the wire
// does not bear it.
func (d *decision) verdict(s *State) {
	for i := range s.Parts {
		ps := &s.Parts[i]
		if ps.Part != PartSet || ps.AtFault < idle {
			continue
		}
		now := s.Now.Value
		wanted := now + ps.Size.Value*rateOf(&d.f.base)/(d.f.area+d.f.base.Cylinder.Seal.PerPa)
		if d.c.Wish > now {
			wanted = min(wanted, d.c.Wish)
		}
		shim, err := shimFor(d.c.Machine, ps.Size.Value, now, wanted, d.c.Wire)
		if err != nil {
			continue // nothing to gain by a shim
		}
		s.Shim = shim
		d.barred[RepairShim] = shim.Known && (shim.Binds || shim.Clearance.Gap < shim.Clearance.Required || shim.Strong && shim.Static.Cocked.Used > 1)
	}
	ask := askFor(d.c.Machine, max(d.c.Wish, d.f.soundPeak()), d.f.soundPeak())
	s.Ask = &ask
}

// deviates are fixed standard normal deviates: of each kind one for each state.
var deviates = sync.OnceValue(func() *[kinds][drawn]float64 {
	var list [kinds][drawn]float64
	for m := range list {
		for i := range list[m] {
			_, t := math.Modf(float64(i+1)*goldenRatio + float64(m)*silverRatio)
			list[m][i] = distuv.UnitNormal.Quantile(t)
		}
	}
	return &list
})

// draw takes equally weighted states by systematic resampling.
func (d *decision) draw(b *belief) {
	cum, at := 0.0, -1
	var r []float64
	d.values = make([][]float64, len(d.kinds))
	var x drawnState
	for i := range drawn {
		for next := (float64(i) + 0.5) / drawn; at < 0 || cum < next && at+1 < len(b.points); {
			at++
			cum += b.points[at].weight
			if cum >= next || at+1 == len(b.points) {
				r = b.look(at)
				x = d.state(b, at)
			}
		}
		d.states = append(d.states, x)
		pred := &b.pred[b.points[at].hyp]
		for m, k := range d.kinds {
			v := r[b.q.n+furtherFixed+m] + math.Hypot(pred.sd[furtherFixed+m], d.p.Tool[k])*deviates()[m][i]
			d.values[m] = append(d.values[m], v)
		}
	}
	d.marked, d.spare, d.spareCut = make([]bool, drawn), make([]int, drawn), make([][]int, binsSecond)
	for m := range d.kinds {
		by := make([]int, drawn)
		for i := range by {
			by[i] = i
		}
		slices.SortFunc(by, func(i, j int) int { return cmp.Compare(d.values[m][i], d.values[m][j]) })
		rank := make([]int, drawn)
		for at, i := range by {
			rank[i] = at
		}
		d.order, d.rank = append(d.order, by), append(d.rank, rank)
	}
}

const (
	goldenRatio = 0.6180339887498949
	silverRatio = 0.41421356237309515
)

// state works out what repairs would make of a point.
func (d *decision) state(b *belief, i int) drawnState {
	p, w := &b.points[i], &b.see[i]
	h := &b.hyps[p.hyp]
	s := drawnState{set: h.set, list: h.list}
	sound := b.q.sound.value[Peak]
	wanted := (1 - d.p.Right) * sound
	if d.c.Wish > 0 {
		wanted = min(wanted, d.c.Wish)
	}
	for mask := range 1 << len(h.list) {
		x := w.x
		for j, part := range h.list {
			if mask>>j&1 == 1 {
				x[part] = 0
			}
		}
		var v seen
		d.f.show(&x, &offsets{}, onlyPeak, &v)
		s.right[mask] = v.value[Peak] >= wanted
	}
	for j, part := range h.list {
		if w.gain[j] >= d.p.Worth*b.q.sound.shown {
			s.worth |= 1 << part
		}
	}
	s.helped = helpedBy(s.worth)
	for r := range repairs {
		s.cured[r] = s.mask(cures[r])
	}
	return s
}

// mask returns which of its faults a set of parts put right.
func (s *drawnState) mask(fixed partSet) (m int) {
	for j, part := range s.list {
		if fixed.has(part) {
			m |= 1 << j
		}
	}
	return m
}

// onWay is how far a plan has come.
type onWay struct {
	fixed partSet // parts put right
	out   bool    // the spring is out
	skip  []bool  // measurements made
}

// effortOf returns the effort of a repair [s].
func (d *decision) effortOf(r Repair, out bool) float64 {
	e := d.p.Effort.Repair[r]
	if r.ofSpring() && !out {
		e += d.p.Effort.SpringOut
	}
	return e
}

// effortTo returns the effort of a measurement [s].
func (d *decision) effortTo(k Kind, out bool) float64 {
	e := d.p.Effort.Measure[k]
	if onBench(k) && !out {
		e += d.p.Effort.SpringOut
	}
	return e
}

// chance returns how likely a repair puts right what is worth it.
func (d *decision) chance(list []int, r Repair) float64 {
	n := 0
	for _, i := range list {
		if d.states[i].worth&cures[r] != 0 {
			n++
		}
	}
	return float64(n) / float64(max(1, len(list)))
}

// helping are the repairs that put right what is worth it in a state, one bit each, where
// some parts are put right already.
func (d *decision) helping(i int, fixed partSet) (r uint16) {
	s := &d.states[i]
	if fixed == 0 {
		return s.helped
	}
	return helpedBy(s.worth &^ fixed)
}

func helpedBy(worth partSet) (r uint16) {
	for i, parts := range cures {
		if worth&parts != 0 {
			r |= 1 << i
		}
	}
	return r
}

// onward returns the effort expected without further measurements: the repairs in the
// order of chance over effort until the machine is right, or leaving it. A
// machine that is right already gets the first of them in vain.
func (d *decision) onward(list []int, w onWay) (effort float64, first Repair, leave bool) {
	var order [repairs]Repair
	var worth [repairs]float64
	var count [repairs]int
	for _, i := range list {
		for left := d.helping(i, w.fixed); left != 0; left &= left - 1 {
			count[bits.TrailingZeros16(left)]++
		}
	}
	n := 0
	for r := range repairs {
		if d.barred[r] || count[r] == 0 {
			continue
		}
		v := float64(count[r]) / (d.effortOf(r, w.out) + 1)
		j := n
		for ; j > 0 && worth[j-1] < v; j-- {
			worth[j], order[j] = worth[j-1], order[j-1]
		}
		worth[j], order[j] = v, r
		n++
	}
	walk, left := 0.0, 0.0
	for _, i := range list {
		s := &d.states[i]
		fixed := 0
		if w.fixed != 0 {
			fixed = s.mask(w.fixed)
		}
		if s.right[fixed] {
			if n > 0 {
				walk += d.effortOf(order[0], w.out)
			}
			continue
		}
		left += d.p.Effort.Left
		out, done := w.out, false
		for _, r := range order[:n] {
			walk += d.effortOf(r, out)
			if r.ofSpring() {
				out = false
			}
			fixed |= s.cured[r]
			if s.right[fixed] {
				done = true
				break
			}
		}
		if !done {
			walk += d.p.Effort.Left
		}
	}
	if n == 0 || left <= walk {
		return left, 0, true
	}
	return walk, order[0], false
}

// split cuts a list into equal bins by what a measurement would show.
func (d *decision) split(list []int, m, n int) [][]int {
	return d.splitInto(make([]int, 0, len(list)), make([][]int, 0, n), list, m, n)
}

// splitInto does so into lists that are there.
func (d *decision) splitInto(sorted []int, cut [][]int, list []int, m, n int) [][]int {
	if len(list) < few {
		rank := d.rank[m]
		for _, i := range list {
			sorted = append(sorted, rank[i])
		}
		slices.Sort(sorted)
		for k, at := range sorted {
			sorted[k] = d.order[m][at]
		}
	} else {
		for _, i := range list {
			d.marked[i] = true
		}
		for _, i := range d.order[m] {
			if d.marked[i] {
				sorted = append(sorted, i)
			}
		}
		for _, i := range list {
			d.marked[i] = false
		}
	}
	for k := range n {
		if part := sorted[k*len(sorted)/n : (k+1)*len(sorted)/n]; len(part) > 0 {
			cut = append(cut, part)
		}
	}
	return cut
}

// ahead returns the effort expected with at most one more measurement.
func (d *decision) ahead(list []int, w onWay) (effort float64, then Outcome) {
	effort, r, leave := d.onward(list, w)
	then = Outcome{Is: StepRepair, Repair: r}
	if leave {
		then = Outcome{Is: StepLeave}
	}
	for m, k := range d.kinds {
		e := d.effortTo(k, w.out) * float64(len(list))
		if w.skip[m] || e >= effort {
			continue
		}
		next := w
		next.out = w.out || onBench(k)
		for _, part := range d.splitInto(d.spare[:0], d.spareCut[:0], list, m, binsSecond) {
			if e < effort {
				v, _, _ := d.onward(part, next)
				e += v
			}
		}
		if e < effort {
			effort, then = e, Outcome{Is: StepMeasure, Measure: k}
		}
	}
	return effort, then
}

func (d *decision) leave(all []int) Step {
	right := 0
	for _, i := range all {
		if s := &d.states[i]; s.right[0] {
			right++
		}
	}
	sure := float64(right) / float64(len(all))
	return Step{Is: StepLeave, Expected: (1 - sure) * d.p.Effort.Left, Sure: sure}
}

// repair weighs a repair, after which a shot shows whether the machine is right.
func (d *decision) repair(all []int, r Repair, from onWay) Step {
	s := Step{Is: StepRepair, Repair: r, Effort: d.effortOf(r, from.out), Sure: d.chance(all, r)}
	w := onWay{fixed: cures[r], out: from.out && !r.ofSpring(), skip: from.skip}
	var helped, not []int
	total := 0.0
	for _, i := range all {
		x := &d.states[i]
		switch {
		case x.right[x.mask(w.fixed)] && x.worth&w.fixed != 0:
			// the shot shows that it is right
		case x.worth&w.fixed != 0:
			helped = append(helped, i)
		default:
			not = append(not, i)
		}
	}
	for _, rest := range [][]int{helped, not} { // the shot shows whether it helped
		if len(rest) > 0 {
			v, _ := d.ahead(rest, w)
			total += v
		}
	}
	s.Expected = s.Effort + total/float64(len(all))
	return s
}

// ask weighs a measurement.
func (d *decision) ask(all []int, m int, from onWay) Step {
	s := Step{Is: StepMeasure, Measure: d.kinds[m], At: d.at[m], Effort: d.effortTo(d.kinds[m], from.out)}
	w := d.having(m, from)
	total := 0.0
	for _, part := range d.split(all, m, bins) {
		v, _ := d.ahead(part, w)
		total += v
	}
	s.Expected = s.Effort + total/float64(len(all))
	return s
}

// having is the way with one measurement more.
func (d *decision) having(m int, w onWay) onWay {
	w.out = w.out || onBench(d.kinds[m])
	w.skip = slices.Clone(w.skip)
	w.skip[m] = true
	return w
}

// tell says what each outcome of a measurement would lead to, by the rule that chooses any step.
func (d *decision) tell(all []int, m int) []Outcome {
	w := d.having(m, onWay{out: d.out, skip: make([]bool, len(d.kinds))})
	var told []Outcome
	v := d.values[m]
	for _, part := range d.split(all, m, binsTold) {
		x := d.choose(d.steps(part, w), part, w)
		o := Outcome{Is: x.Is, Measure: x.Measure, Repair: x.Repair, Probability: float64(len(part)) / float64(len(all)), Low: v[part[0]], High: v[part[len(part)-1]]}
		for _, i := range part {
			o.Value += v[i] / float64(len(part))
		}
		if n := len(told) - 1; n >= 0 && told[n].Is == o.Is && told[n].Repair == o.Repair && told[n].Measure == o.Measure {
			a := &told[n]
			a.Value = (a.Value*a.Probability + o.Value*o.Probability) / (a.Probability + o.Probability)
			a.Probability += o.Probability
			a.High = o.High
			continue
		}
		told = append(told, o)
	}
	return told
}

// choose picks the step: the least effort expected, but no repair while the
// readings do not go together, and no repair of the spring that is not sure
// or that a cheap reading, not yet made, may rule out.
func (d *decision) choose(steps []Step, all []int, w onWay) Step {
	// Where a repair is not sure enough the best measurement comes first, as long
	// as it promises more than leaving the machine does and would tell something.
	leave := d.leave(all)
	first := d.surest(steps)
	measure := leave
	for _, x := range steps {
		if x.Is == StepMeasure {
			measure = x
			break
		}
	}
	switch {
	case first.Is != StepRepair:
		return first
	case first.Repair.ofSpring() && first.Sure >= d.p.RepairSure:
		if m, ok := d.rulesOut(all, first.Repair, w); ok {
			for _, y := range steps {
				if y.Is == StepMeasure && y.Measure == d.kinds[m] {
					y.Rules = &first.Repair
					return y
				}
			}
		}
		return first
	case !first.Repair.ofSpring() && (first.Sure >= d.p.RepairLeast || measure.Expected >= min(leave.Expected, first.Expected+(1-first.Sure)*d.p.Effort.Vain)):
		return first
	}
	tells := measure.Expected-measure.Effort < (1-d.p.Tells)*first.Expected
	if (tells || !first.Repair.ofSpring()) && measure.Expected < leave.Expected {
		return measure
	}
	return leave
}

// surest returns the likeliest of the repairs that are sure enough and as good as the best step,
// within what the effort is known to; the best step where there is none.
func (d *decision) surest(steps []Step) Step {
	best := steps[0]
	for _, x := range steps {
		least := d.p.RepairLeast
		if x.Repair.ofSpring() {
			least = d.p.RepairSure
		}
		if x.Is == StepRepair && x.Sure >= least && x.Expected <= (1+d.p.Even)*steps[0].Expected && (best.Is != StepRepair || x.Sure > best.Sure) {
			best = x
		}
	}
	return best
}

// again asks for the reading that goes least with the rest once more.
func (d *decision) again(s *State) Step {
	if s.Worst == nil {
		return Step{Is: StepLeave}
	}
	o := &s.Used[s.Worst.From]
	x := Step{Is: StepMeasure, Measure: s.Worst.Kind, At: o.At, Effort: d.effortTo(s.Worst.Kind, d.out), Again: true}
	x.Expected = x.Effort
	return x
}

// rulesOut returns the cheap measurement that is likeliest, for its effort, to
// show that a repair of the spring is not what is needed.
func (d *decision) rulesOut(all []int, r Repair, w onWay) (best int, ok bool) {
	whole := d.p.Effort.Repair[r] + d.p.Effort.SpringOut
	most := 0.0
	for m, k := range d.kinds {
		effort := d.p.Effort.Measure[k] // with the spring out, as the repair needs it
		if w.skip[m] || effort > d.p.Cheap*whole {
			continue
		}
		out := 0.0
		for _, part := range d.split(all, m, max(1, len(all)/inBin)) {
			if d.chance(part, r) < 0.5 {
				out += float64(len(part)) / float64(len(all))
			}
		}
		if out > d.p.RuleOut && out/(effort+1) > most {
			best, most, ok = m, out/(effort+1), true
		}
	}
	return best, ok
}
