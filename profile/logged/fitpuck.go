package logged

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"springcalc/profile"
)

// ErrPuck says that no log tells of a puck.
var ErrPuck = errors.New("logged: no log tells of the puck")

// Property is one property of a puck, in the unit of the property. Where the
// logs do not tell it, the estimate is the default with its range.
type Property struct {
	Estimate
	Told bool // the logs narrow it to tellShare of what was known without them, or less
}

// Taught is the puck that logs tell of, for Coffee. Blocking is told for the
// SetBy and Soaking of the setup: leave these where they are, they are in it.
type Taught struct {
	Resistance Property      // R of the extracted bed at AtPressure about which shots of this grind scatter, for the dose and basket of the setup [Pa·s/m³]; always told
	AtPressure float64       // the highest pressure of the logs, for Coffee.AtPressure: there R hangs on nothing but the logs [Pa]
	Blocking   Property      // b_t: size of the transient [-]
	BlockingBy Property      // c: its decay, cup mass over dose [-]
	Unloading  Property      // n_u: exponent of R with falling pressure [-]
	Cov        [4][4]float64 // covariance of Resistance, Blocking, BlockingBy and Unloading [products of their units]

	Used    []int      // indices of the logs that it rests on
	Left    []string   // why others were left out
	Each    []Estimate // R of each of them at AtPressure, all properties free [Pa·s/m³]
	Scatter float64    // standard deviation of R from shot to shot, relative: the default's, and what several logs show [-]
	Misfit  float64    // rms by which the cup strays from the law [kg]
}

// Bed is the standard uncertainty of what a setup says of its coffee before a
// log was read.
type Bed struct {
	Blocking   float64 // of b_t, with what SetBy and Soaking leave open [-]
	BlockingBy float64 // of c, relative [-]
	Unloading  float64 // of n_u [-]
	Loading    float64 // of n [-]
	Threshold  float64 // of P_t [Pa]
	Scatter    float64 // of R from shot to shot at one grind, relative [-]
	Drift      float64 // of a change of R in time that the law does not know (clogging, water that cools), relative [1/s]
}

// UsualBed returns what is known of a coffee that was not measured: twice the
// ranges of the published shots, which are of one coffee (judgement), n_u from 0 to n, and for b_t what the
// pressure that sets it and the soak leave open besides.
func UsualBed(s *profile.Setup) Bed {
	return Bed{
		Blocking: 0.12, BlockingBy: 0.22, Unloading: s.Coffee.Loading / math.Sqrt(12),
		Loading: 0.075, Threshold: 0.2e5, Scatter: 0.07, Drift: 1e-3,
	}
}

const (
	scatterFree = 4       // shots that a stated scatter counts for
	tellShare   = 0.5     // see Property.Told [-]
	knots       = 60      // stretches of a log that the law is held to
	leastKnots  = 12      // fewer tell nothing
	scaleDelay  = 0.1     // s by which a scale is behind, give or take as much
	tare        = 0.1e-3  // standard uncertainty of the cup's zero, dripping included [kg]
	finest      = 0.03e-3 // least noise of a stretch [kg]
	firstTold   = 2e-3    // cup from which the law holds [kg]
	formDecay   = 0.06    // by how much c hangs on the form of the law: half of what a fourth power in place of the cube makes of the published shots [-]
	resistMost  = 0.25    // relative standard uncertainty of a resistance that tells nothing [-]
	strayMost   = 0.03    // share of the cup by which the law may stray (rms) [-]
)

// drained is a log as the puck let it through: stretches from the first gram to
// where the piston rests.
type drained struct {
	t, cup, p, slope []float64 // time [s], cup [kg], pressure smoothed [Pa] and its slope [Pa/s]
	peak, peakU      float64   // highest pressure and its relative standard uncertainty [Pa], [-]
	first, waited    float64   // see profile.Setup.WettedBed [Pa], [s]
	offsetU          float64   // standard uncertainty of the zero of cup [kg]
	pressureU        float64   // of the smoothed pressure, mean [Pa]
	noise            float64   // of a stretch [kg]
}

// drain takes a log apart.
func drain(l Log, s *profile.Setup, o Options) (*drained, *reader, error) {
	r, err := newReader(l, s, o)
	if err != nil {
		return nil, nil, err
	}
	rows, err := r.rows()
	if err != nil {
		return nil, nil, err
	}
	w, ok := newWindow(&rows)
	if !ok {
		return nil, nil, fmt.Errorf("%w: pressure does not fall over the volume", ErrSteady)
	}
	d := &drained{offsetU: tare}
	if r.whole.Wetted == 1 {
		d.first, d.waited = s.Water.Fill, max(0, r.whole.Preinfusion-r.whole.FrontThrough)
	}
	if r.line.ByTravel {
		d.offsetU = math.Hypot(tare, o.Unsure.Uptake*s.Water.Density)
	}
	surely := firstTold + 2*(d.offsetU-tare)
	smooth := series{}
	var slopes []float64
	for i, t := range w.rows.t {
		p := w.base.at(w.p, i)
		cup := w.rows.cup[i]
		if r.line.ByTravel {
			cup = r.d.cup(w.rows.v[i]/r.d.area+r.d.port, p)
		}
		if cup >= surely {
			smooth.add(t, cup, p, cup)
			slopes = append(slopes, w.base.slopeAt(w.p, i))
		}
	}
	few := smooth.thin(knots)
	if len(few.t) < leastKnots {
		return nil, nil, fmt.Errorf("%w: %d of them with pressure and cup, want %d or more", ErrRows, len(few.t), leastKnots)
	}
	d.t, d.cup, d.p = few.t, few.v, few.p
	for b := range d.t {
		i := (b*len(slopes)/len(d.t) + (b+1)*len(slopes)/len(d.t)) / 2
		d.slope = append(d.slope, slopes[min(i, len(slopes)-1)])
	}
	d.pressureU = w.noise / math.Sqrt(float64(len(w.rows.t)))
	top := r.all.smooth()
	d.peak = top.p[peakOf(&top)]
	every := (smooth.t[len(smooth.t)-1] - smooth.t[0]) / float64(len(smooth.t)-1)
	d.peakU = math.Hypot(0.01, math.Abs(d.slope[0])*(2*every+o.Lag)/d.peak)
	return d, r, nil
}

// The unknowns that all logs share, and those of each.
const (
	inBlocking = iota
	inDecay    // ln of c
	inUnloading
	inZero      // of the gauge [Pa]
	inShift     // by which the pressure is read too late [s]
	inLoading   // n
	inThreshold // P_t [Pa]
	shared

	inStart      = iota - shared - 1 // time at the first stretch [s]
	inResistance                     // ln R
	inDrift                          // [1/s]
	inOffset                         // of the cup [kg]
	inPeak                           // relative error of the peak
	inTilt                           // error of the smoothed pressure, opposite at both ends [Pa]
	inBow                            // and the same at both ends [Pa]
	each
)

// puckFit is a fit in the making.
type puckFit struct {
	setup    *profile.Setup
	logs     []*drained
	mean, sd []float64 // of the unknowns before a log was read; sd 0 where nothing was known
	at       float64   // AtPressure [Pa]
}

// residuals returns measured cup less that of the law [kg], log after log:
//
//	t(m) = t_0 + ∫ R/(ρP) dm
//
// from stretch to stretch by two points of Gauss, with the pressure that was
// measured; the difference in time counts times the flow.
func (f *puckFit) residuals(x []float64) []float64 {
	s := *f.setup
	c := &s.Coffee
	c.FoundDose, c.FoundDiameter = 0, 0
	c.AtPressure = f.at
	c.Blocking, c.BlockingBy = max(0, x[inBlocking]), math.Exp(x[inDecay])
	c.Loading, c.Threshold = max(0.1, x[inLoading]), max(0.5e5, x[inThreshold])
	c.Unloading = x[inUnloading]
	var out []float64
	for j, d := range f.logs {
		own := x[shared+j*each:]
		c.Resistance = math.Exp(own[inResistance])
		bed := s.WettedBed(d.peak*(1+own[inPeak])-x[inZero], d.first, d.waited)
		middle := (d.t[0] + d.t[len(d.t)-1]) / 2
		at := d.t[0] + own[inStart]
		for i := range d.t {
			pressure := func(k int) float64 {
				u := (d.t[k] - middle) / (middle - d.t[0])
				return max(0.1e5, d.p[k]+x[inShift]*d.slope[k]-x[inZero]+own[inTilt]*u+own[inBow]*(3*u*u-1)/2)
			}
			p, m := pressure(i), d.cup[i]-own[inOffset]
			if i > 0 {
				p0, m0 := pressure(i-1), d.cup[i-1]-own[inOffset]
				for _, share := range [2]float64{0.21132486540518713, 0.7886751345948129} {
					between := p0 + share*(p-p0)
					at += (m - m0) / 2 * bed.Resistance(between, max(0, m0+share*(m-m0))) / (s.Water.Density * between) *
						(1 + own[inDrift]*(d.t[i]-middle))
				}
			}
			flow := s.Water.Density * p / bed.Resistance(p, max(0, m))
			out = append(out, (at-d.t[i])*flow)
		}
	}
	return out
}

// weights returns one over the noise of each residual.
func (f *puckFit) weights() []float64 {
	var w []float64
	for _, d := range f.logs {
		for range d.t {
			w = append(w, 1/d.noise)
		}
	}
	return w
}

// solve finds the most likely unknowns (Levenberg and Marquardt) and their covariance.
func (f *puckFit) solve(x []float64) ([]float64, *mat.SymDense, bool) {
	weight := f.weights()
	n := len(x)
	cost := func(x, r []float64) (sum float64) {
		for i := range r {
			sum += r[i] * r[i] * weight[i] * weight[i]
		}
		for k := range x {
			if f.sd[k] > 0 {
				u := (x[k] - f.mean[k]) / f.sd[k]
				sum += u * u
			}
		}
		return sum
	}
	r := f.residuals(x)
	now := cost(x, r)
	damp := 1e-3
	const step = 1e-3 // for slopes, of a scale
	var normal mat.SymDense
	for range 40 {
		slope := mat.NewDense(len(r), n, nil)
		for k := range x {
			y := append([]float64(nil), x...)
			y[k] += step * f.scale(k)
			for i, v := range f.residuals(y) {
				slope.Set(i, k, (v-r[i])/step*weight[i])
			}
		}
		normal.Reset()
		normal.SymOuterK(1, slope.T())
		right := make([]float64, n)
		for k := range x {
			for i := range r {
				right[k] -= slope.At(i, k) * r[i] * weight[i]
			}
			if f.sd[k] > 0 {
				normal.SetSym(k, k, normal.At(k, k)+1)
				right[k] -= (x[k] - f.mean[k]) / f.sd[k]
			}
		}
		before := now
		for ; damp < 1e8; damp *= 10 {
			damped := mat.NewSymDense(n, nil)
			damped.CopySym(&normal)
			for k := range n {
				damped.SetSym(k, k, normal.At(k, k)*(1+damp))
			}
			var chol mat.Cholesky
			if !chol.Factorize(damped) {
				continue
			}
			var by mat.VecDense
			if chol.SolveVecTo(&by, mat.NewVecDense(n, right)) != nil {
				continue
			}
			y := append([]float64(nil), x...)
			for k := range y {
				y[k] += by.AtVec(k) * f.scale(k)
			}
			if rr := f.residuals(y); cost(y, rr) < now {
				x, r, now = y, rr, cost(y, rr)
				damp /= 10
				break
			}
		}
		if !(before-now > 1e-6*now) {
			break
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(&normal) {
		return x, nil, false
	}
	var inverse mat.SymDense
	if chol.InverseTo(&inverse) != nil {
		return x, nil, false
	}
	for i := range n {
		for j := range i + 1 {
			inverse.SetSym(i, j, inverse.At(i, j)*f.scale(i)*f.scale(j))
		}
	}
	return x, &inverse, true
}

// scale returns the unit in which an unknown is solved for: what is known of it.
func (f *puckFit) scale(k int) float64 {
	if f.sd[k] > 0 {
		return f.sd[k]
	}
	return 0.1 // of a second, or of ln R
}

// FitPuck fits the law of the bed to logged shots of one coffee, ground the same:
// its resistance, and where the logs tell them size and decay of the transient and
// the exponent of unloading. Only what was measured counts, pressure and cup (or travel):
// neither spring nor stroke is presumed. What the setup says of its coffee is
// known to within b, and is kept where the logs do not narrow it to half.
//
// Each log counts from the first gram on; before it the law is known to be wrong by a factor of up
// to 2. One shot logged twice counts once. The error wraps ErrPuck, or says what
// is wrong with setup or options.
func FitPuck(logs []Log, s *profile.Setup, o Options, b Bed) (*Taught, error) {
	if err := errors.Join(s.Validate(), o.validate(), b.validate()); err != nil {
		return nil, err
	}
	out := &Taught{}
	f := &puckFit{setup: s}
	once := map[int]bool{}
	for _, i := range Distinct(logs) {
		once[i] = true
	}
	for i, l := range logs {
		if !once[i] {
			out.Left = append(out.Left, fmt.Sprintf("log %d is of the same shot as another", i+1))
			continue
		}
		d, _, err := drain(l, s, o)
		if err != nil {
			out.Left = append(out.Left, fmt.Sprintf("log %d: %v", i+1, err))
			continue
		}
		f.logs, out.Used = append(f.logs, d), append(out.Used, i)
		f.at += d.peak
	}
	count := len(f.logs)
	if count == 0 {
		return nil, fmt.Errorf("%w: %v", ErrPuck, out.Left)
	}
	f.at /= float64(count)
	out.AtPressure = f.at
	f.begin(o, b)
	x, cov, ok := f.solve(append([]float64(nil), f.mean...))
	free := f.measureNoise(x)
	if ok {
		x, cov, ok = f.solve(x)
	}
	if !ok {
		return nil, fmt.Errorf("%w: the law of the bed does not fit", ErrPuck)
	}
	out.read(f, x, cov, free, o, b)
	if u := math.Sqrt(out.Cov[0][0]) / out.Resistance.Value; !(u < resistMost) {
		return nil, fmt.Errorf("%w: the resistance would be known to ±%.0f %% only", ErrPuck, 100*twoSided*u)
	}
	if share := out.Misfit / last(f.logs[0].cup); share > strayMost {
		return nil, fmt.Errorf("%w: the cup strays from the law of the bed by %.2g g", ErrPuck, out.Misfit*1e3)
	}
	return out, nil
}

func (b *Bed) validate() error {
	return errors.Join(
		notNegative("Bed.Blocking", b.Blocking, ""), notNegative("Bed.BlockingBy", b.BlockingBy, ""), notNegative("Bed.Unloading", b.Unloading, ""),
		notNegative("Bed.Loading", b.Loading, ""), notNegative("Bed.Threshold", b.Threshold, "Pa"), notNegative("Bed.Scatter", b.Scatter, ""), notNegative("Bed.Drift", b.Drift, "1/s"),
	)
}

// begin sets out what is known before the logs.
func (f *puckFit) begin(o Options, b Bed) {
	c := &f.setup.Coffee
	const tiny = 1e-9 // what is known for sure
	add := func(mean, sd float64) {
		f.mean, f.sd = append(f.mean, mean), append(f.sd, max(sd, tiny*max(1, math.Abs(mean))))
	}
	add(c.Blocking, b.Blocking)
	add(math.Log(c.BlockingBy), b.BlockingBy)
	add(c.Unloading, b.Unloading)
	add(0, o.Unsure.Zero)
	add(o.Lag-scaleDelay, math.Hypot(o.Unsure.Lag, scaleDelay))
	add(c.Loading, b.Loading)
	add(c.Threshold, b.Threshold)
	for _, d := range f.logs {
		d.noise = 0.1e-3
		f.mean, f.sd = append(f.mean, 0, f.guess(d)), append(f.sd, 0, 0)
		add(0, b.Drift)
		add(0, d.offsetU)
		add(0, d.peakU)
		add(0, d.pressureU*math.Sqrt(3)) // as the polynomials of Legendre share it out
		add(0, d.pressureU*math.Sqrt(5))
	}
}

// guess returns ln R by pressure over flow of the second half of a log.
func (f *puckFit) guess(d *drained) float64 {
	n := len(d.t)
	i := n / 2
	flow := (d.cup[n-1] - d.cup[i]) / (d.t[n-1] - d.t[i]) / f.setup.Water.Density
	return math.Log(max(1e8, (d.p[i]+d.p[n-1])/2/max(flow, 1e-12)))
}

// measureNoise works out by how much the stretches of each log scatter, with
// their memory ([Bart]), and returns the degrees of freedom in all.
func (f *puckFit) measureNoise(x []float64) (free float64) {
	r := f.residuals(x)
	for _, d := range f.logs {
		own := r[:len(d.t)]
		r = r[len(d.t):]
		squares := dot(own, own)
		n := float64(len(own))
		sum := 1.0
		for k := 1; k < len(own)/4; k++ {
			rho := 0.0
			for i := k; i < len(own); i++ {
				rho += own[i] * own[i-k]
			}
			if !(rho > 0.02*squares) {
				break
			}
			sum += 2 * rho / squares
		}
		left := max(2, n-each-2)
		d.noise = max(finest, math.Sqrt(squares/left*sum))
		free += max(2, left/sum)
	}
	return free
}

// read turns the unknowns into properties.
func (p *Taught) read(f *puckFit, x []float64, cov *mat.SymDense, free float64, o Options, b Bed) {
	count := float64(len(f.logs))
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(2, free)}.Quantile((1+coverage)/2) / twoSided
	// mean of ln R, b_t, ln c, n_u
	rows := [4][]int{nil, {inBlocking}, {inDecay}, {inUnloading}}
	var lnR []float64
	for j := range f.logs {
		i := shared + j*each + inResistance
		rows[0] = append(rows[0], i)
		lnR = append(lnR, x[i])
	}
	var value [4]float64
	c := mat.NewSymDense(4, nil)
	for i := range rows {
		for _, k := range rows[i] {
			value[i] += x[k] / float64(len(rows[i]))
		}
		for j := range i + 1 {
			sum := 0.0
			for _, k := range rows[i] {
				for _, l := range rows[j] {
					sum += cov.At(k, l)
				}
			}
			c.SetSym(i, j, sum*t*t/float64(len(rows[i])*len(rows[j])))
		}
	}
	among := b.Scatter * b.Scatter
	if count > 1 {
		expected := -count * c.At(0, 0) / (t * t) // variance among logs that the fit knows of
		for _, k := range rows[0] {
			expected += cov.At(k, k)
		}
		seen := max(0, stat.Variance(lnR, nil)-expected/(count-1))
		few := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: scatterFree + count - 1}.Quantile((1+coverage)/2) / twoSided
		among = (scatterFree*among + (count-1)*seen) / (scatterFree + count - 1)
		p.Scatter = math.Sqrt(among)
		among *= few * few
	} else {
		p.Scatter = b.Scatter
	}
	known := [4]float64{math.Inf(1), b.Blocking, b.BlockingBy, b.Unloading}
	start := [4]float64{0, f.mean[inBlocking], f.mean[inDecay], f.mean[inUnloading]}
	told := [4]bool{true}
	var untold []int
	for i := 1; i < 4; i++ {
		if told[i] = math.Sqrt(c.At(i, i)) <= tellShare*known[i]; !told[i] {
			untold = append(untold, i)
		}
	}
	keep(&value, c, untold, start, known)
	for j, k := range rows[0] {
		u := math.Sqrt(cov.At(k, k)*t*t + o.Unsure.Gauge*o.Unsure.Gauge)
		p.Each = append(p.Each, logNormal(lnR[j], u))
	}
	c.SetSym(0, 0, c.At(0, 0)+o.Unsure.Gauge*o.Unsure.Gauge+among/count)
	if told[2] {
		c.SetSym(2, 2, c.At(2, 2)+formDecay*formDecay)
	}

	u := func(i int) float64 { return math.Sqrt(c.At(i, i)) }
	p.Resistance = Property{logNormal(value[0], u(0)), true}
	p.Blocking = Property{truncated(value[1], u(1), 0, 1), told[1]}
	p.BlockingBy = Property{logNormal(value[2], u(2)), told[2]}
	p.Unloading = Property{truncated(value[3], u(3), 0, f.setup.Coffee.Loading), told[3]}
	if !told[3] {
		p.Unloading.Low, p.Unloading.High = 0, f.setup.Coffee.Loading // any of them is as likely
	}
	scale := [4]float64{p.Resistance.Value, 1, p.BlockingBy.Value, 1}
	for i := range 4 {
		for j := range 4 {
			p.Cov[i][j] = c.At(i, j) * scale[i] * scale[j]
		}
	}
	r := f.residuals(x)
	p.Misfit = math.Sqrt(dot(r, r) / float64(len(r)))
}

// logNormal returns the estimate of a value whose logarithm is known.
func logNormal(ln, u float64) Estimate {
	return Estimate{math.Exp(ln), math.Exp(ln - twoSided*u), math.Exp(ln + twoSided*u)}
}

// keep puts the properties i of untold back to what was known of them, and moves
// the others along as they hang on these.
func keep(value *[4]float64, c *mat.SymDense, untold []int, known, u [4]float64) {
	for _, i := range untold {
		v := c.At(i, i)
		shift := known[i] - value[i]
		var gain [4]float64
		for j := range gain {
			gain[j] = c.At(j, i) / v
		}
		for j := range gain {
			value[j] += gain[j] * shift
		}
		next := mat.NewSymDense(4, nil)
		for j := range 4 {
			for k := range j + 1 {
				next.SetSym(j, k, c.At(j, k)+gain[j]*gain[k]*(u[i]*u[i]-v))
			}
		}
		c.CopySym(next)
	}
}

// truncated returns the estimate of a normal value that lies between two bounds:
// mean and quantiles of what is left of the normal distribution.
func truncated(value, u, low, high float64) Estimate {
	d := distuv.Normal{Mu: value, Sigma: max(u, 1e-12)}
	a, b := d.CDF(low), d.CDF(high)
	at := func(share float64) float64 {
		return max(low, min(high, d.Quantile(max(1e-300, min(1-1e-16, a+share*(b-a))))))
	}
	if !(b-a > 1e-12) { // far outside: at the bound
		edge := max(low, min(high, value))
		return Estimate{edge, edge, edge}
	}
	return Estimate{at(0.5), at((1 - coverage) / 2), at((1 + coverage) / 2)}
}
