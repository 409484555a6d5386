package machine

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
	"springcalc/tables"
)

// Readings that tell of the force of the spring without taking it out: peak and end
// pressure off the gauge, pulls of the handle. Where the sheet states the spring
// too, both count by their ±; where it does not, the readings alone tell it.

// reading is one of them.
type reading struct {
	path    string  // of its key
	u       float64 // its standard uncertainty [SI]
	unit    quantity.Display
	what    string                            // in a sentence: "the gauge says"
	predict func(m *Machine) (float64, error) // what it would be with the springs of a setup [SI]
}

// force is what the readings of a gauge speak of: how hard the first spring pushes
// and how much of that the seal takes.
type force struct {
	preload, rate   float64 // [N], [N/m]
	friction, perPa float64 // of the seal [N], [N/Pa]
}

// plus adds a multiple of another.
func (f force) plus(x float64, g force) force {
	return force{f.preload + x*g.preload, f.rate + x*g.rate, f.friction + x*g.friction, f.perPa + x*g.perPa}
}

// forceOf reads the force off a setup, put writes it.
func forceOf(s *profile.Setup) force {
	return force{s.Springs[0].Preload, s.Springs[0].Rate, s.Cylinder.Seal.Constant, s.Cylinder.Seal.PerPa}
}

func (f force) put(s *profile.Setup) {
	s.Springs[0].Preload, s.Springs[0].Rate = f.preload, max(0, f.rate)
	s.Cylinder.Seal.Constant, s.Cylinder.Seal.PerPa = max(0, f.friction), max(0, f.perPa)
}

// tells is what readings are to the springs of a machine. Variants share it.
type tells struct {
	readings []reading
	preload  bool     // nothing but the readings tells the preload
	rate     bool     // nor the rate
	gain     []force  // by reading: what one [SI] more of it adds
	start    force    // where the search for what is unknown begins
	doubts   []string // where readings and springs contradict each other
}

// settled is how near the springs come to the readings that tell them [-].
const settled = 1e-10

// applyReadings puts into the setup what readings tell of its springs.
func (m *Machine) applyReadings() error {
	if m.tells == nil {
		t, err := m.newTells()
		if err != nil {
			return err
		}
		m.tells = t
	}
	t := m.tells
	if len(t.readings) == 0 {
		return nil
	}
	m.stated = forceOf(&m.Setup)
	if t.gain == nil {
		if err := m.weigh(); err != nil {
			return err
		}
		m.stated.put(&m.Setup)
	}
	return m.moveSprings(t)
}

// moveSprings moves the first spring as the readings of a machine want it.
func (m *Machine) moveSprings(t *tells) error {
	at := forceOf(&m.Setup)
	if t.preload {
		at.preload = t.start.preload
	}
	if t.rate {
		at.rate = t.start.rate
	}
	at.put(&m.Setup)
	const most = 40 // what is unknown is nearly straight in the readings
	for range most {
		miss, err := m.misses(t)
		if err != nil {
			return err
		}
		var by force
		for i, g := range t.gain {
			by = by.plus(miss[i], g)
		}
		at = forceOf(&m.Setup).plus(1, by)
		at.put(&m.Setup)
		cocked := math.Abs(at.preload) + at.rate*m.Setup.Cylinder.Stroke
		if !t.preload || math.Abs(by.preload)+math.Abs(by.rate)*m.Setup.Cylinder.Stroke <= settled*cocked || at.rate <= 0 && math.Abs(by.preload) <= settled*math.Abs(at.preload) {
			return nil
		}
	}
	return errors.New(m.Place(t.readings[0].path) + ": no spring gives this with the other readings")
}

// misses are what the readings are more than the setup gives [SI].
func (m *Machine) misses(t *tells) ([]float64, error) {
	miss := make([]float64, len(t.readings))
	for i := range t.readings {
		r := &t.readings[i]
		v, err := r.predict(m)
		if err != nil {
			return nil, fmt.Errorf("%s: %s", m.Place(r.path), WithoutPackage(err))
		}
		miss[i] = m.Value(r.path) - v
	}
	return miss, nil
}

// newTells finds the readings of a sheet.
func (m *Machine) newTells() (*tells, error) {
	t := &tells{preload: m.unknownPreload()}
	t.rate = t.preload && !m.Has("spring.rate") && !m.Has("spring.wire")
	gauge := func(path, tool string, of func(*profile.Setup) float64) {
		if path == "" {
			return
		}
		t.readings = append(t.readings, reading{path: path, u: m.uncertainty(path, ToolU(tool)), unit: quantity.InBar, what: "the gauge says",
			predict: func(m *Machine) (float64, error) { return of(&m.Setup) + m.Value("bench.gauge_error"), nil }})
	}
	gauge(m.gaugeReading("peak"), "peak", (*profile.Setup).PeakPressure)
	if path := "coffee.known.peak"; m.Has("bench.peak") && m.Has(path) && !m.Has("coffee.known.pressure") {
		gauge(path, "peak", (*profile.Setup).PeakPressure)
	}
	gauge(m.gaugeReading("end_pressure"), "end_pressure", (*profile.Setup).EndPressure)
	for i := range m.Several["lever.pull"] {
		table := sheet.Indexed("lever.pull", i+1)
		for _, way := range []struct {
			name string
			back bool
		}{{"force", false}, {"returning_force", true}} {
			path := table + "." + way.name
			if !m.Has(path) {
				continue
			}
			t.readings = append(t.readings, reading{path: path, u: m.uncertainty(path, ToolU("handle_force")), unit: quantity.InN, what: "the scale says",
				predict: func(m *Machine) (float64, error) { return m.handForce(table+".angle", way.back) }})
		}
	}
	if path := m.tried(); path != "" && !t.preload {
		var left []string
		t.readings = slices.DeleteFunc(t.readings, func(r reading) bool {
			if m.Entries[r.path].At.Flag != "" {
				return false
			}
			left = append(left, r.path)
			return true
		})
		if len(left) > 0 && !m.Quiet {
			m.Doubts = append(m.Doubts, fmt.Sprintf("%s tries another spring than that of which %s tell: what was read does not count", m.Entries[path].At.Flag, words.AndList(left)))
		}
	}
	if n := len(t.readings); t.preload && n == 0 || t.rate && n < 2 {
		m.Fault(m.Tables["spring"], "spring.rate", "missing, and work since the readings of the visits has made them out of date; give rate and preload, or peak and end pressure under [bench]")
	}
	return t, m.Faults.Err()
}

// tried is an override that tries another spring, or the same otherwise, "" without
// one. One with a ± is none: it says more of the spring as it is, and counts with the
// readings. Nor is a shim: the readings are of the machine without it.
func (m *Machine) tried() string {
	for _, table := range []string{"spring", "spring.inner"} {
		for _, name := range []string{"rate", "preload", "wire", "coil_diameter", "outside_diameter", "inside_diameter", "active_coils", "total_coils",
			"ends", "grade", "modulus_ratio", "shear_modulus", "free_length", "installed_length"} {
			path := table + "." + name
			if q, _ := m.Quantity(path); m.Has(path) && m.Entries[path].At.Flag != "" && q.Plus == 0 {
				return path
			}
		}
	}
	return ""
}

// tryShim puts a shim of an override under the first spring, or with -1 takes it out:
// the readings of a sheet are of the machine without it.
func (m *Machine) tryShim(sign float64) {
	if path := "spring.shim"; m.Has(path) && m.Entries[path].At.Flag != "" && len(m.Setup.Springs) > 0 {
		s := &m.Setup.Springs[0]
		s.Preload += sign * s.Rate * m.Value(path)
	}
}

// gaugeReading is the path of a reading of the gauge, by the name of its key: of
// [bench], or where nothing else tells the spring that of a known shot or of the
// last visit; "" where there is none.
func (m *Machine) gaugeReading(name string) string {
	if path := "bench." + name; m.Has(path) {
		return path
	}
	if !m.unknownPreload() {
		return ""
	}
	if path := "coffee.known.peak"; name == "peak" && m.Has(path) && !m.Has("coffee.known.pressure") {
		return path
	}
	if t, ok, _ := m.Newest(m.Visits(), name); ok {
		return t.Path
	}
	return ""
}

// uncertainty is the standard uncertainty of a reading [SI]: as stated, or that of
// the usual tool, which then counts as its ±.
func (m *Machine) uncertainty(path string, usual float64) float64 {
	q, _ := m.Quantity(path)
	if q.Plus > 0 {
		return q.Sigma()
	}
	if m.usual == nil {
		m.usual = map[string]float64{}
	}
	m.usual[path] = 2 * usual
	return usual
}

// Uncertain returns a quantity of the sheet with the ± of the usual tool where a
// reading that counts by its ± states none; usual says whether it is that.
func (m *Machine) Uncertain(path string) (q quantity.Quantity, usual bool) {
	q, _ = m.Quantity(path)
	if plus, ok := m.usual[path]; ok && q.Plus == 0 {
		q.Plus = plus
		return q, true
	}
	return q, false
}

// handForce is the force of the hand [N] at an angle from rest, without pressure.
func (m *Machine) handForce(angle string, back bool) (float64, error) {
	l, err := m.Lever()
	if err != nil {
		return 0, err
	}
	load := m.Load()
	load.OpenPressure = 0
	p, err := l.At(load, l.Linkage.Range().From+m.Value(angle))
	if back {
		return p.Returning, err
	}
	return p.Cocking, err
}

// weigh finds by how much each reading moves the springs, so that of springs and
// readings both count by their ± (generalized least squares), and where they
// contradict each other.
func (m *Machine) weigh() error {
	t := m.tells
	n := len(t.readings)
	if t.rate {
		m.guess(t).put(&m.Setup)
	}
	if t.preload {
		if err := m.solveAlone(t); err != nil {
			return err
		}
	}
	t.start = forceOf(&m.Setup)
	shifts, err := m.shifts(t)
	if err != nil {
		return err
	}
	cov := mat.NewSymDense(n, nil)
	for i := range t.readings {
		cov.SetSym(i, i, t.readings[i].u*t.readings[i].u)
	}
	cross := make([]force, n) // what errs together with each reading
	for _, s := range shifts {
		for i := range n {
			for j := i; j < n; j++ {
				cov.SetSym(i, j, cov.At(i, j)+s.reading[i]*s.reading[j])
			}
			cross[i] = cross[i].plus(s.reading[i], s.force)
		}
	}
	var weights mat.Dense
	if err := weights.Inverse(cov); err != nil {
		return fmt.Errorf("%s: two readings of one and the same thing", m.Place(t.readings[0].path))
	}
	if !t.preload {
		miss, err := m.misses(t)
		if err != nil {
			return err
		}
		if m.contradicted(t, miss, cov) {
			t.preload, t.rate = true, n > 1
			return m.weigh()
		}
		t.gain = make([]force, n)
		for i := range n {
			for j := range n {
				t.gain[i] = t.gain[i].plus(weights.At(j, i), cross[j])
			}
		}
		return nil
	}
	slope, err := m.slopes(t)
	if err != nil {
		return err
	}
	t.gain, err = leastSquares(slope, &weights)
	if err != nil {
		return fmt.Errorf("%s: the readings do not tell preload and rate apart", m.Place(t.readings[0].path))
	}
	return m.disagree(t, cov)
}

// shift is what one value that may be off, by one standard deviation, does to the
// force as the sheet has it and to what the readings would be.
type shift struct {
	force
	reading []float64 // [SI]
}

// shifts are those of all values that the readings depend on. Where the readings
// alone tell the springs, these stay.
func (m *Machine) shifts(t *tells) (all []shift, err error) {
	predict := func(values map[string]float64, reads map[string]string) (at force, out []float64, err error) {
		v := m.Variant()
		v.Reads, v.Quiet = reads, true
		v.Renew(values)
		if err := v.assemble(); err != nil {
			return at, nil, err
		}
		at = forceOf(&v.Setup)
		if t.preload {
			at.preload = t.start.preload
		}
		if t.rate {
			at.rate = t.start.rate
		}
		at.put(&v.Setup)
		out = make([]float64, len(t.readings))
		for i := range t.readings {
			if out[i], err = t.readings[i].predict(v); err != nil {
				return at, nil, err
			}
		}
		return at, out, nil
	}
	reads := map[string]string{}
	here, base, err := predict(nil, reads)
	if err != nil {
		return nil, err
	}
	for path, key := range reads {
		by := m.deviation(path, key)
		if by == 0 {
			continue
		}
		vary := path
		if key != "" {
			vary = key
		}
		value := m.Value(path)
		there, out, err := predict(map[string]float64{vary: value + by}, nil)
		if err != nil {
			if there, out, err = predict(map[string]float64{vary: value - by}, nil); err != nil {
				continue // cannot be off either way
			}
		}
		s := shift{there.plus(-1, here), make([]float64, len(out))}
		for i := range out {
			s.reading[i] = out[i] - base[i]
		}
		all = append(all, s)
	}
	return all, nil
}

// deviation is the standard deviation of a value [SI], as stated or by the range of
// its default.
func (m *Machine) deviation(path, key string) float64 {
	if key == "" {
		q, _ := m.Quantity(path)
		return q.Sigma()
	}
	d, _ := m.DefaultFor(key)
	wide := d.High - d.Low
	switch d.Shape {
	case "uniform":
		return wide / math.Sqrt(12)
	case "triangular":
		a, b, c := d.Low, d.High, d.Value
		return math.Sqrt((a*a + b*b + c*c - a*b - a*c - b*c) / 18)
	}
	return wide / 4
}

// guess is a spring to begin the search with: half of the area times the mean of
// the readings of the gauge, or of pulls what they would be by virtual work.
func (m *Machine) guess(t *tells) force {
	const usual = 7e5 // peak of a usual machine [Pa]
	c := &m.Setup.Cylinder
	peak := usual
	if t.readings[0].unit == quantity.InBar {
		peak = m.Value(t.readings[0].path)
	}
	cocked, at := peak*c.Area(), forceOf(&m.Setup)
	at.rate, at.preload = 0.4*cocked/c.Stroke, 0.6*cocked
	return at
}

// solveAlone finds the springs that the readings tell, all weighing by their own ±.
func (m *Machine) solveAlone(t *tells) error {
	const most = 20
	n := len(t.readings)
	weights := mat.NewDense(n, n, nil)
	for i := range n {
		weights.Set(i, i, 1/(t.readings[i].u*t.readings[i].u))
	}
	s := &m.Setup.Springs[0]
	for range most {
		slope, err := m.slopes(t)
		if err != nil {
			return err
		}
		gain, err := leastSquares(slope, weights)
		if err != nil {
			return fmt.Errorf("%s: the readings do not tell preload and rate apart", m.Place(t.readings[0].path))
		}
		miss, err := m.misses(t)
		if err != nil {
			return err
		}
		var by force
		for i, g := range gain {
			by = by.plus(miss[i], g)
		}
		s.Preload, s.Rate = s.Preload+by.preload, s.Rate+by.rate
		if s.Rate < 0 {
			m.FaultOf(t.readings[n-1].path, fmt.Sprintf("a spring that pushes harder the less it is pressed; want it to go with the first reading, %s",
				t.readings[0].unit.Text(m.Value(t.readings[0].path), 1)))
			return m.Faults.Err()
		}
		if math.Abs(by.preload) <= 1e-6*(math.Abs(s.Preload)+s.Rate*m.Setup.Cylinder.Stroke) {
			return nil
		}
	}
	return fmt.Errorf("%s: no spring gives this with the other readings", m.Place(t.readings[0].path))
}

// slopes are by how much each reading grows with the preload [SI per N] and the rate
// [SI per N/m]; the second are nothing where the rate is known.
func (m *Machine) slopes(t *tells) ([][2]float64, error) {
	s := &m.Setup.Springs[0]
	at := *s
	slopes := make([][2]float64, len(t.readings))
	steps := [2]float64{1, 0}
	if t.rate {
		steps[1] = 1 / m.Setup.Cylinder.Stroke
	}
	for k, step := range steps {
		if step == 0 {
			continue
		}
		var two [2]float64
		for i := range t.readings {
			for side, sign := range []float64{-0.5, 0.5} {
				*s = at
				if k == 0 {
					s.Preload += sign * step
				} else {
					s.Rate += sign * step
				}
				var err error
				if two[side], err = t.readings[i].predict(m); err != nil {
					*s = at
					return nil, fmt.Errorf("%s: %s", m.Place(t.readings[i].path), WithoutPackage(err))
				}
			}
			slopes[i][k] = (two[1] - two[0]) / step
		}
	}
	*s = at
	return slopes, nil
}

// leastSquares returns (JᵀWJ)⁻¹JᵀW for slopes J and weights W, by reading.
func leastSquares(slope [][2]float64, w mat.Matrix) ([]force, error) {
	n := len(slope)
	var normal [2][2]float64
	right := make([][2]float64, n) // JᵀW
	for i := range n {
		for j := range n {
			for k := range 2 {
				right[i][k] += slope[j][k] * w.At(j, i)
			}
		}
	}
	rate := false
	for i := range n {
		rate = rate || slope[i][1] != 0
		for k := range 2 {
			for l := range 2 {
				normal[k][l] += right[i][k] * slope[i][l]
			}
		}
	}
	gain := make([]force, n)
	if !rate {
		if !(normal[0][0] > 0) {
			return nil, tables.ErrRange
		}
		for i := range n {
			gain[i].preload = right[i][0] / normal[0][0]
		}
		return gain, nil
	}
	det := normal[0][0]*normal[1][1] - normal[0][1]*normal[1][0]
	if !(det > 1e-9*normal[0][0]*normal[1][1]) {
		return nil, tables.ErrRange
	}
	for i := range n {
		gain[i].preload = (normal[1][1]*right[i][0] - normal[0][1]*right[i][1]) / det
		gain[i].rate = (normal[0][0]*right[i][1] - normal[1][0]*right[i][0]) / det
	}
	return gain, nil
}

const (
	doubtful = 2.0 // standard deviations beyond which two statements contradict each other
	opposed  = 3.0 // and beyond which they are not of one machine
)

// contradicted says where springs and readings are further apart than their ±, and
// returns whether so far that they cannot be of one machine as it is.
func (m *Machine) contradicted(t *tells, miss []float64, cov mat.Matrix) bool {
	far := false
	for i := range t.readings {
		r := &t.readings[i]
		off := math.Abs(miss[i]) / math.Sqrt(cov.At(i, i))
		if !(off > doubtful) {
			continue
		}
		kind, digits := "missing", 1
		if miss[i] > 0 {
			kind = "too many"
		}
		if r.unit == quantity.InN {
			digits = 0
		}
		says := m.Value(r.path)
		t.doubts = append(t.doubts, fmt.Sprintf("Your springs should give %s, %s %s: %s are %s (%s)",
			r.unit.Text(says-miss[i], digits), r.what, r.unit.Text(says, digits), r.unit.Text(math.Abs(miss[i]), digits), kind, r.path))
		far = far || off > opposed
	}
	if far {
		t.doubts = append(t.doubts, "Both cannot be of one machine as it is: the answer goes by the readings; springcalc diagnose tells what is wrong")
	}
	return far
}

// disagree says where readings that tell the springs by themselves are further
// apart than their ±.
func (m *Machine) disagree(t *tells, cov mat.Matrix) error {
	unknown := 1
	if t.rate {
		unknown = 2
	}
	if len(t.readings) <= unknown {
		return nil
	}
	v := m.Variant()
	v.tells = t
	v.Renew(m.Varied)
	if err := v.assemble(); err != nil {
		return err
	}
	if err := v.moveSprings(t); err != nil {
		return err
	}
	miss, err := v.misses(t)
	if err != nil {
		return err
	}
	for i := range t.readings {
		r := &t.readings[i]
		if off := math.Abs(miss[i]) / math.Sqrt(cov.At(i, i)); off > doubtful {
			t.doubts = append(t.doubts, fmt.Sprintf("The other readings want %s where %s %s (%s)",
				r.unit.Text(m.Value(r.path)-miss[i], 1), r.what, r.unit.Text(m.Value(r.path), 1), r.path))
		}
	}
	return nil
}

// unknownPreload says whether nothing but readings tells the preload of the spring.
func (m *Machine) unknownPreload() bool {
	return !m.Has("spring.preload") && !m.Has("spring.installed_length")
}

// gaugeError is the default of what the gauge shows too much: by a check of it, or
// within its class.
func (m *Machine) gaugeError(d tables.Default) tables.Default {
	if !m.Has("bench.gauge_reading") || !m.Has("bench.gauge_true") {
		return d
	}
	reading, _ := m.Quantity("bench.gauge_reading")
	known, _ := m.Quantity("bench.gauge_true")
	plus := math.Hypot(2*max(reading.Sigma(), ToolU("gauge_reading")), 2*max(known.Sigma(), ToolU("gauge_true")))
	d.Value = reading.Value - known.Value
	d.Low, d.High = d.Value-plus, d.Value+plus
	d.Source, d.Grade = "the check of the gauge under [bench]", tables.Derived
	return d
}

// toldBy says which readings tell the spring where nothing else does.
func (m *Machine) toldBy() []string {
	if !m.Told() || !m.tells.preload {
		return nil
	}
	var paths []string
	for _, r := range m.tells.readings {
		paths = append(paths, r.path)
	}
	what := "the force of the spring is"
	if m.tells.rate {
		what = "force and rate of the spring are"
	}
	return []string{what + " told by " + words.AndList(paths)}
}

// reads says whether a key is one of the readings that tell the springs.
func (m *Machine) reads(path string) bool {
	return m.tells != nil && slices.ContainsFunc(m.tells.readings, func(r reading) bool { return r.path == path })
}

// Told says whether readings tell anything of the force of the spring.
func (m *Machine) Told() bool { return m.tells != nil && len(m.tells.readings) > 0 }

// Contradictions are what is to be said before anything else: where what a sheet
// says of the springs and what was read contradict each other.
func (m *Machine) Contradictions() []string {
	if m.tells == nil {
		return nil
	}
	return m.tells.doubts
}
