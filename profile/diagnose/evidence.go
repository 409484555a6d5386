package diagnose

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// The numbers of points are a matter of the method, not of the machine: the
// evidence of one, two or three faults comes out within 0.1 in ln against a
// fine grid.
const (
	mostFaults  = 3
	scanPoints  = 12   // of the prior, to start from
	priorPoints = 48   // of the prior, a fault, in the integral
	peakPoints  = 80   // about the best sizes, a fault, in the integral
	freedom     = 5.0  // of Student's t about the best sizes; tail holds for 5 only
	wider       = 1.2  // standard deviations of it over those of the normal peak
	hopeless    = 1e-3 // share that the sets have together which are not integrated
	unlikely    = 0.02 // and those for which the first points will do
	firstPart   = 0.25 // of all points are the first
	strata      = 11   // of the friction of a sound seal
	newtonSteps = 6
	strataLost  = 20 // ln below the best under which a stratum does not count
)

// stratum is a part of the log-normal friction of sound seals, as a normal one.
type stratum struct {
	lnShare float64 // ln of its share
	off, sd float64 // mean off that of all and deviation, in deviations of all
}

// strataOf splits a log-normal quantity where its logarithm is this many
// deviations off its median.
func strataOf(sigma float64) (list [strata]stratum) {
	cuts := [strata + 1]float64{math.Inf(-1), -1.1, -0.2, 0.6, 1.2, 1.8, 2.3, 2.8, 3.3, 3.9, 4.5, math.Inf(1)}
	phi := distuv.UnitNormal.CDF
	mean, sd := logNormal(1, sigma)
	for i := range list {
		a, b := cuts[i], cuts[i+1]
		share := phi(b) - phi(a)
		first := math.Exp(sigma*sigma/2) * (phi(b-sigma) - phi(a-sigma)) / share
		second := math.Exp(2*sigma*sigma) * (phi(b-2*sigma) - phi(a-2*sigma)) / share
		list[i] = stratum{math.Log(share), (first - mean) / sd, math.Sqrt(max(0, second-first*first)) / sd}
	}
	return list
}

// golden are the generalized golden ratios, g^(d+1) = g + 1.
var golden = func() (list [mostFaults + 2]float64) {
	for d := range list {
		list[d] = 1.5
		for range 40 {
			list[d] = math.Pow(1+list[d], 1/float64(d+1))
		}
	}
	return list
}()

// ticks returns the i-th point of the additive recurrence of the generalized
// golden ratio in d dimensions, which fills the unit cube evenly.
func ticks(i, d int, at []float64) {
	a := 1.0
	for j := range d {
		a /= golden[d]
		_, at[j] = math.Modf(0.5 + a*float64(i+1))
	}
}

// students are the fixed points of Student's t in one, two and three dimensions.
var students = sync.OnceValue(func() (list [mostFaults + 1][][mostFaults]float64) {
	chi := distuv.ChiSquared{K: freedom}
	for d := 1; d <= mostFaults; d++ {
		var at [mostFaults + 1]float64
		list[d] = make([][mostFaults]float64, peakPoints*d)
		for i := range list[d] {
			ticks(i, d+1, at[:])
			scale := math.Sqrt(freedom / chi.Quantile(at[d]))
			for j := range d {
				list[d][i][j] = distuv.UnitNormal.Quantile(at[j]) * scale
			}
		}
	}
	return list
})

// tail returns x^(-(freedom + d)/2).
func tail(x float64, d int) float64 {
	x3 := x * x * x
	switch d {
	case 1:
		return 1 / x3
	case 2:
		return 1 / (x3 * math.Sqrt(x))
	}
	return 1 / (x3 * x)
}

// studentNorm is the density of the standard t at its centre.
func studentNorm(d int) float64 {
	a, _ := math.Lgamma((freedom + float64(d)) / 2)
	b, _ := math.Lgamma(freedom / 2)
	return math.Exp(a - b - float64(d)/2*math.Log(freedom*math.Pi))
}

// sharePoints are fixed points of the prior of the shares: exponential each,
// up to ShareMost.
func (p *Priors) sharePoints(d, n int) [][mostFaults]float64 {
	list := make([][mostFaults]float64, n)
	cut := -math.Expm1(-p.ShareMost / p.ShareScale)
	for i := range list {
		at := &list[i]
		ticks(i, d, at[:])
		for j := range d {
			at[j] = -p.ShareScale * math.Log1p(-at[j]*cut)
		}
	}
	return list
}

// shareNorm returns the ln of the density of the shares where they are all 0:
// exponential each, up to ShareMost.
func (p *Priors) shareNorm(d int) float64 {
	return -float64(d) * math.Log(p.ShareScale*-math.Expm1(-p.ShareMost/p.ShareScale))
}

// inquiry is readings of a machine, ready to be explained.
type inquiry struct {
	f    *forward
	p    *Priors
	rows []number  // what was read, and behind it what could be
	n    int       // of them read
	y    []float64 // values read
	own  []float64 // n by n: covariance of the readings' own errors

	strata  [strata]stratum
	sound   seen      // without faults
	renewed partSet   // parts that were put right
	stages  []partSet // of each stage: parts that were not yet put right then; none of the first, which is now
	norm    [mostFaults + 1]float64
	scan    [mostFaults + 1][][mostFaults]float64
	prior   [mostFaults + 1][][mostFaults]float64
	read    kindSet // kinds that were read
	zero    *local
	best    map[partSet][mostFaults]float64 // best sizes of one and two faults

	vec    [2][]float64          // scratch
	slopes [mostFaults][]float64 // scratch
	scene  [3]scene              // scratch
}

// local holds covariance and derivatives at a state.
type local struct {
	chol  []float64 // of C, all nuisances but friction, n by n
	total []float64 // Cholesky factor of C with the friction, n by n
	jf    []float64 // L⁻¹ J_f
	a     float64   // J_fᵀ C⁻¹ J_f
	lnDet float64   // of C
	with  [strata]struct{ ln, off, shrink float64 }
	jac   [nuisances][]float64 // J, in deviations of the nuisances; all rows
	model []float64            // variance of the model's own error, all rows
}

func newInquiry(f *forward, p *Priors, renewed partSet, rows []number, y, own []float64) *inquiry {
	q := &inquiry{f: f, p: p, renewed: renewed, rows: rows, n: len(y), y: y, own: own, strata: strataOf(math.Log(p.Sound.SealFactor)), best: map[partSet][mostFaults]float64{}}
	f.see(&sizesOf{}, &offsets{}, &q.sound)
	q.stages = []partSet{0}
	for i := range rows {
		r := &rows[i]
		if i < q.n {
			q.read |= 1 << r.kind
		}
		if r.stage = slices.Index(q.stages, r.before); r.stage < 0 {
			r.stage = len(q.stages)
			q.stages = append(q.stages, r.before)
		}
	}
	for d := 1; d <= mostFaults; d++ {
		q.norm[d] = p.shareNorm(d)
		q.scan[d] = p.sharePoints(d, scanPoints)
		q.prior[d] = p.sharePoints(d, priorPoints*d)
	}
	for i := range q.vec {
		q.vec[i] = make([]float64, len(rows))
	}
	for i := range q.slopes {
		q.slopes[i] = make([]float64, len(rows))
	}
	q.zero = q.fieldAt(&sizesOf{}, len(rows))
	return q
}

// look sees some kinds of readings of a machine with faults now, and as it was
// before the last repairs. ok is false where it gave no pressure.
func (q *inquiry) look(x *sizesOf, want kindSet, c *scene) (ok bool) {
	c.sound = q.sound
	return q.glance(x, &offsets{}, want, c)
}

func (q *inquiry) glance(x *sizesOf, o *offsets, want kindSet, c *scene) (ok bool) {
	if q.renewed == 0 {
		return q.f.show(x, o, want, &c.at[0])
	}
	ok = true
	for i, still := range q.stages {
		then := q.after(x, still)
		ok = q.f.show(&then, o, want, &c.at[i]) && ok
	}
	return ok
}

// after returns the faults left after all repairs but those of some parts.
func (q *inquiry) after(x *sizesOf, still partSet) sizesOf {
	then := *x
	for _, p := range (q.renewed &^ still).list() {
		then[p] = 0
	}
	return then
}

// deviations are the standard deviations of the nuisances.
func (q *inquiry) deviations() (sd offsets) {
	s := &q.p.Sound
	sd = offsets{
		offFriction: q.f.frictionU, offPerPa: s.SealPressureU, offFree: s.FreeLength, offWire: s.Wire, offCoils: s.Coils,
		offGain: s.Gain, offZero: s.Zero, offAir: s.AirU, offTravel: s.Travel, offBore: s.Bore, offPuck: math.Log(s.Puck),
		offHeadspace: s.Headspace, offLag: math.Log(s.Lag), offOtherGain: s.Gain, offOtherZero: s.Zero,
	}
	return sd
}

// fieldAt works out the covariance of the readings at a state:
//
//	C = J_r Σ J_rᵀ + own + U
//
// and the derivatives of so many rows, those read first.
func (q *inquiry) fieldAt(x *sizesOf, rows int) *local {
	n := q.n
	o := &local{model: make([]float64, rows)}
	sd := q.deviations()
	want := q.read
	if rows > n {
		want = allKinds
	}
	here, up, down := &q.scene[0], &q.scene[1], &q.scene[2]
	q.look(x, want, here)
	all := make([]float64, int(nuisances)*rows)
	for i := range nuisances {
		o.jac[i] = all[int(i)*rows : int(i+1)*rows]
		if i.ofReading() {
			for r := range o.jac[i] {
				o.jac[i][r] = sd[i] * q.rows[r].by(i, here, q.f.peak)
			}
			continue
		}
		var by offsets
		by[i] = sd[i]
		q.glance(x, &by, want, up)
		by[i] = -sd[i]
		q.glance(x, &by, want, down)
		if q.zero == nil { // a sound machine, whose state is always the same
			q.f.show(&sizesOf{}, &by, onlyPeak, &down.sound)
			by[i] = sd[i]
			q.f.show(&sizesOf{}, &by, onlyPeak, &up.sound)
		}
		for r := range o.jac[i] {
			if q.zero != nil && q.rows[r].new {
				o.jac[i][r] = q.zero.jac[i][r]
				continue
			}
			o.jac[i][r] = (q.rows[r].of(up) - q.rows[r].of(down)) / 2
		}
	}
	for r := range o.model {
		o.model[r] = q.p.Model.own(q.rows[r].kind, q.rows[r].of(here), q.rows[r].in(here))
	}
	c := make([]float64, n*n)
	for r := range n {
		for s := range r + 1 {
			c[r*n+s] = o.covariance(r, s, false) + q.own[r*n+s]
		}
	}
	o.total = append([]float64(nil), c...)
	jf := o.jac[offFriction][:n]
	for r := range n {
		for s := range r + 1 {
			o.total[r*n+s] += jf[r] * jf[s]
		}
	}
	cholesky(c, n)
	cholesky(o.total, n)
	o.chol = c
	for r := range n {
		o.lnDet += 2 * math.Log(c[r*n+r])
	}
	o.jf = make([]float64, n)
	copy(o.jf, jf)
	solveLower(c, n, o.jf)
	for _, v := range o.jf {
		o.a += v * v
	}
	for k, s := range q.strata {
		o.with[k].ln = s.lnShare - math.Log1p(s.sd*s.sd*o.a)/2
		o.with[k].off = s.off
		o.with[k].shrink = s.sd * s.sd / (1 + s.sd*s.sd*o.a)
	}
	return o
}

// covariance returns that of two rows by the nuisances and the model's own error.
func (o *local) covariance(r, s int, friction bool) float64 {
	c := 0.0
	for i := range nuisances {
		if i != offFriction || friction {
			c += o.jac[i][r] * o.jac[i][s]
		}
	}
	if r == s {
		c += o.model[r]
	}
	return c
}

// cholesky factorizes a symmetric matrix in place, its lower half.
func cholesky(c []float64, n int) {
	for j := range n {
		d := c[j*n+j]
		for k := range j {
			d -= c[j*n+k] * c[j*n+k]
		}
		d = math.Sqrt(max(d, 1e-300))
		c[j*n+j] = d
		for i := j + 1; i < n; i++ {
			v := c[i*n+j]
			for k := range j {
				v -= c[i*n+k] * c[j*n+k]
			}
			c[i*n+j] = v / d
		}
	}
}

// solveLower solves L x = b in place.
func solveLower(l []float64, n int, b []float64) {
	for i := range n {
		v := b[i]
		for k, x := range b[:i] {
			v -= l[i*n+k] * x
		}
		b[i] = v / l[i*n+i]
	}
}

// solveUpper solves Lᵀ x = b in place.
func solveUpper(l []float64, n int, b []float64) {
	for i := n - 1; i >= 0; i-- {
		v := b[i]
		for k := i + 1; k < n; k++ {
			v -= l[k*n+i] * b[k]
		}
		b[i] = v / l[i*n+i]
	}
}

// likelihood returns ln p(y | x) less n/2 ln 2π from the residuals, which it uses up:
//
//	Σ_k π_k N(r; J_f (f_k - f̄), C + s_k² J_f J_fᵀ)
func (o *local) likelihood(r []float64) float64 {
	n := len(r)
	solveLower(o.chol, n, r)
	q0, b := 0.0, 0.0
	for i, v := range r {
		q0 += v * v
		b += v * o.jf[i]
	}
	var ln [strata]float64
	top := math.Inf(-1)
	for k := range o.with {
		w := &o.with[k]
		c := b - w.off*o.a
		ln[k] = w.ln - (q0-2*w.off*b+w.off*w.off*o.a-w.shrink*c*c)/2
		top = max(top, ln[k])
	}
	sum := 0.0
	for _, v := range ln {
		if v > top-strataLost {
			sum += math.Exp(v - top)
		}
	}
	return top + math.Log(sum) - o.lnDet/2
}

// residual fills in what was read less what a state would show.
func (q *inquiry) residual(v *scene, r []float64) {
	for i := range r {
		r[i] = q.y[i] - q.rows[i].of(v)
	}
}

// hypothesis is a set of parts at fault.
type hypothesis struct {
	set       partSet
	list      []Part
	best      [mostFaults]float64 // coordinates of the best sizes
	precision [9]float64          // of Student's t about them
	at        *local
	around    [mostFaults]float64 // coordinates that it is of
	prior     float64             // ln of its probability before any reading
	evidence  float64             // ln p(y | set), less n/2 ln 2π
	rough     float64             // the same by the normal peak alone
	chi       float64             // χ² at the best sizes
	points    []point
	part      float64 // of the points of the integral that were tried [-]
	tried     float64 // how many
}

// point is a state of a hypothesis.
type point struct {
	hyp    int
	u      [mostFaults]float64
	size   [mostFaults]float64
	weight float64 // of all, adding up to 1
}

// sizes returns all sizes at coordinates.
func (q *inquiry) sizes(h *hypothesis, u *[mostFaults]float64) (x sizesOf) {
	for i, p := range h.list {
		x[p] = q.f.sizeAt(p, u[i])
	}
	return x
}

// white returns the residuals at coordinates, whitened by all scatter, and
// the objective χ²/2 + Σu/scale.
func (q *inquiry) white(h *hypothesis, o *local, u *[mostFaults]float64, r []float64) float64 {
	x := q.sizes(h, u)
	v := &q.scene[0]
	q.look(&x, q.read, v)
	q.residual(v, r)
	solveLower(o.total, q.n, r)
	sum := 0.0
	for _, e := range r {
		sum += e * e / 2
	}
	for i := range h.list {
		sum += u[i] / q.p.ShareScale
	}
	return sum
}

// locate finds the best sizes of a set: from the best of a few points of the
// prior, and of the best sizes of the sets with one part less, by damped
// Gauss-Newton, first with the covariance of a sound machine, then with that at
// what was found.
func (q *inquiry) locate(h *hypothesis) {
	d := len(h.list)
	r := q.vec[0][:q.n]
	if d == 0 {
		h.at = q.zero
		h.chi = 2 * q.white(h, h.at, &h.best, r)
		q.residual(&q.scene[0], r)
		h.rough = h.at.likelihood(r)
		h.evidence = h.rough
		return
	}
	least := math.Inf(1)
	try := func(u [mostFaults]float64) {
		q.p.within(&u, d)
		if g := q.white(h, q.zero, &u, r); g < least {
			least, h.best = g, u
		}
	}
	for _, u := range q.scan[d] {
		try(u)
	}
	for i, p := range h.list {
		fewer, ok := q.best[h.set&^(1<<p)]
		if !ok {
			continue
		}
		var u [mostFaults]float64
		copy(u[:i], fewer[:i])
		copy(u[i+1:], fewer[i:])
		try(u)
		u[i] = q.best[1<<p][0]
		try(u)
		for j := range u {
			u[j] /= 2
		}
		try(u)
	}
	q.descend(h, q.zero)
	h.around = h.best
	x := q.sizes(h, &h.around)
	h.at = q.fieldAt(&x, q.n)
	q.descend(h, h.at)
	if d < mostFaults {
		q.best[h.set] = h.best
	}
}

// descend goes down to the best sizes under one covariance by damped
// Gauss-Newton steps that stay where sizes can be, and keeps the precision there.
func (q *inquiry) descend(h *hypothesis, o *local) {
	d, n := len(h.list), q.n
	const step = 1e-3
	r, moved := q.vec[0][:n], q.vec[1][:n]
	var jac [mostFaults][]float64
	for i := range d {
		jac[i] = q.slopes[i][:n]
	}
	now := q.white(h, o, &h.best, r)
	for damp, k := 1e-3, 0; ; k++ {
		var grad [mostFaults]float64
		var a [9]float64
		for i := range d {
			u, by := h.best, step
			if u[i] > q.p.ShareMost/2 {
				by = -step
			}
			u[i] += by
			q.white(h, o, &u, moved)
			for j := range r {
				jac[i][j] = (moved[j] - r[j]) / by
				grad[i] += jac[i][j] * r[j]
			}
			grad[i] += 1 / q.p.ShareScale
		}
		for i := range d {
			for j := range d {
				a[i*d+j] = dot(jac[i], jac[j])
			}
			a[i*d+i] += 1 / (q.p.ShareScale * q.p.ShareScale)
		}
		h.precision = a
		if k == newtonSteps {
			break
		}
		better := false
		for range 6 {
			u := newton(&a, &grad, &h.best, d, damp)
			q.p.within(&u, d)
			if g := q.white(h, o, &u, moved); g < now {
				better = now-g > 1e-4
				now, h.best = g, u
				copy(r, moved)
				damp /= 10
				break
			}
			damp = max(damp*10, 1e-2)
		}
		if !better {
			k = newtonSteps - 1
			q.white(h, o, &h.best, r)
		}
	}
	h.chi = 2 * now
	for i := range d {
		h.chi -= 2 * h.best[i] / q.p.ShareScale
	}
	// The peak's height times its width: too much where it is at 0, and seldom too little.
	x := q.sizes(h, &h.best)
	v := &q.scene[0]
	q.look(&x, q.read, v)
	q.residual(v, r)
	h.rough = o.likelihood(r) + q.norm[d] + float64(d)/2*math.Log(2*math.Pi)
	l := h.precision
	cholesky(l[:d*d], d)
	for i := range d {
		h.rough -= h.best[i]/q.p.ShareScale + math.Log(l[i*d+i])
	}
}

// within moves coordinates to where they can be.
func (p *Priors) within(u *[mostFaults]float64, d int) {
	for i := range d {
		u[i] = min(max(0, u[i]), p.ShareMost)
	}
}

func dot(a, b []float64) (sum float64) {
	for i, v := range a {
		sum += v * b[i]
	}
	return sum
}

// newton returns the next coordinates: a damped step of those that are not held at 0.
func newton(a *[9]float64, grad, from *[mostFaults]float64, d int, damp float64) [mostFaults]float64 {
	var free []int
	var room [mostFaults]int
	free = room[:0]
	for i := range d {
		if from[i] > 0 || grad[i] < 0 {
			free = append(free, i)
		}
	}
	var m [9]float64
	var b [mostFaults]float64
	n := len(free)
	for i, r := range free {
		for j, c := range free {
			m[i*n+j] = a[r*d+c]
		}
		m[i*n+i] *= 1 + damp
		b[i] = -grad[r]
	}
	cholesky(m[:n*n], n)
	solveLower(m[:], n, b[:n])
	solveUpper(m[:], n, b[:n])
	to := *from
	for i, r := range free {
		to[r] += b[i]
	}
	return to
}

// integrate works out the evidence of a set,
//
//	p(y|S) = ∫ p(u|S) p(y|u) du,
//
// over fixed points of the prior and of a Student's t about the best sizes,
// folded at 0. Each weighs by the mixture of both densities, so that a peak that was missed
// costs variance, not truth.
//
// It goes on from the points that were tried before up to a part of them all.
func (q *inquiry) integrate(h *hypothesis, part float64) {
	d := len(h.list)
	if d == 0 {
		h.points, h.tried = []point{{weight: h.evidence}}, 1
		return
	}
	t := students()[d]
	low := h.precision
	cholesky(low[:d*d], d)
	norm := studentNorm(d) / math.Pow(wider, float64(d))
	for i := range d {
		norm *= low[i*d+i]
	}
	share := float64(len(q.prior[d])) / float64(len(q.prior[d])+len(t))
	add := func(u [mostFaults]float64) {
		sum := 0.0
		for i := range d {
			if u[i] > q.p.ShareMost {
				return
			}
			sum += u[i]
		}
		lnPrior := q.norm[d] - sum/q.p.ShareScale
		near := 0.0
		for mask := range 1 << d {
			z2 := 0.0
			for i := range d { // Lᵀ (u - best)
				z := 0.0
				for j := i; j < d; j++ {
					e := u[j]
					if mask>>j&1 == 1 {
						e = -e
					}
					z += low[j*d+i] * (e - h.best[j])
				}
				z2 += z * z
			}
			near += tail(1+z2/(wider*wider*freedom), d)
		}
		p := math.Exp(lnPrior)
		x := q.sizes(h, &u)
		v := &q.scene[0]
		if !q.look(&x, q.read, v) {
			return // so bad that nothing is brewed: not what is asked about
		}
		r := q.vec[0][:q.n]
		q.residual(v, r)
		one := point{u: u, weight: h.at.likelihood(r) + lnPrior - math.Log(share*p+(1-share)*norm*near)}
		for i, part := range h.list {
			one.size[i] = x[part]
		}
		h.points = append(h.points, one)
	}
	from := func(list [][mostFaults]float64) [][mostFaults]float64 {
		n := float64(len(list))
		return list[int(n*h.part):int(n*part)]
	}
	for _, u := range from(q.prior[d]) {
		add(u)
	}
	for _, z := range from(t) {
		u := h.best
		var e [mostFaults]float64
		copy(e[:], z[:d])
		solveUpper(low[:], d, e[:d]) // L⁻ᵀ z
		for i := range d {
			u[i] = math.Abs(u[i] + wider*e[i])
		}
		add(u)
	}
	h.tried += float64(len(from(q.prior[d])) + len(from(t)))
	h.part = part
	top := math.Inf(-1)
	for i := range h.points {
		top = max(top, h.points[i].weight)
	}
	sum := 0.0
	for i := range h.points {
		sum += math.Exp(h.points[i].weight - top)
	}
	h.evidence = top + math.Log(sum/h.tried)
}

// hypotheses lists all sets of up to most faults that can be: those with a
// prior of 0 cannot, and a spring is not both broken and a wrong one.
func (p *Priors) hypotheses() []hypothesis {
	most := int(p.FaultsMost)
	var list []hypothesis
	for size := range most + 1 {
		for s := range partSet(1) << numParts {
			if bits.OnesCount16(uint16(s)) != size || s.has(PartCoil) && s.has(PartSpring) {
				continue
			}
			possible := true
			for _, i := range s.list() {
				possible = possible && p.Fault[i] > 0
			}
			if possible {
				list = append(list, hypothesis{set: s, list: s.list()})
			}
		}
	}
	return list
}

// lnPrior returns ln Π_{S} π_i Π_{not S} (1 - π_i).
func (p *Priors) lnPrior(s partSet) (ln float64) {
	for i, f := range p.Fault {
		if s.has(Part(i)) {
			ln += math.Log(f)
		} else {
			ln += math.Log1p(-f)
		}
	}
	return ln
}

// shares tells which hypotheses count: all but the unlikeliest, which together have
// less than a share of the probability.
func shares(list []hypothesis, less float64, evidence func(*hypothesis) float64) []bool {
	ln, by := make([]float64, len(list)), make([]int, len(list))
	for i := range list {
		ln[i], by[i] = evidence(&list[i])+list[i].prior, i
	}
	slices.SortStableFunc(by, func(i, j int) int { return cmp.Compare(ln[i], ln[j]) })
	top, sum := slices.Max(ln), 0.0
	for i, v := range ln {
		ln[i] = math.Exp(v - top)
		sum += ln[i]
	}
	count := make([]bool, len(list))
	left := 0.0
	for _, i := range by {
		left += ln[i]
		count[i] = left > less*sum
	}
	return count
}

// weigh works out all hypotheses and returns those that count, their points
// weighted, and the ln of the evidence of all.
func (q *inquiry) weigh() ([]hypothesis, float64) {
	all := q.p.hypotheses()
	for i := range all {
		all[i].prior = q.p.lnPrior(all[i].set)
		q.locate(&all[i])
	}
	count := shares(all, hopeless, func(h *hypothesis) float64 { return h.rough })
	var kept []hypothesis
	for i := range all {
		if count[i] {
			q.integrate(&all[i], firstPart)
			kept = append(kept, all[i])
		}
	}
	evidence := func(h *hypothesis) float64 { return h.evidence }
	all, count = kept, shares(kept, hopeless, evidence)
	kept = kept[:0]
	for i, h := range all {
		if count[i] {
			kept = append(kept, h)
		}
	}
	count = shares(kept, unlikely, evidence)
	top := math.Inf(-1)
	for i := range kept {
		h := &kept[i]
		if count[i] {
			q.integrate(h, 1)
		}
		top = max(top, h.evidence+h.prior)
	}
	sum := 0.0
	for i := range kept {
		h := &kept[i]
		for j := range h.points {
			h.points[j].hyp = i
			h.points[j].weight = math.Exp(h.points[j].weight+h.prior-top) / h.tried
			sum += h.points[j].weight
		}
	}
	for i := range kept {
		for j := range kept[i].points {
			kept[i].points[j].weight /= sum
		}
	}
	return kept, top + math.Log(sum)
}
