package machine

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
	"springcalc/profile/logged"
	"springcalc/profile/uncertain"
	"springcalc/spring"
)

// knownLog is the key that names the logs which tell of the puck.
const knownLog = "coffee.known.log"

// ReadTaught is Read for a sheet whose puck logged shots may tell of: they
// are read by open, and what they tell of resistance, transient and unloading
// stands in place of the defaults, each with its ±. Where the sheet leaves the force
// of the spring open, they tell peak and end pressure too.
func ReadTaught(name string, data []byte, sets []string, open func(file string) ([]byte, error)) (*Machine, error) {
	s, err := sheet.Read(name, data, sets)
	if err != nil || !s.Has(knownLog) {
		if err != nil {
			return nil, err
		}
		return New(s)
	}
	logs, names, err := logsOf(s, open)
	if err != nil {
		return nil, err
	}
	// The machine without them, with the dose and basket of the logged shots.
	plain := append(slices.Clone(sets), knownLog+"=")
	found := plain
	for known, keys := range map[string][2]string{
		"coffee.known.dose":            {"coffee.dose", "coffee.resistance_dose"},
		"coffee.known.basket_diameter": {"basket.diameter", "coffee.resistance_basket"},
	} {
		if q, ok := s.Quantity(known); ok {
			text := quantity.Format(q, sheet.FindKey(known).Dim)
			plain = append(plain, known+"=", keys[1]+"="+text)
			found = append(found, known+"=", keys[0]+"="+text)
		}
	}
	fault := func(err error) error {
		s.Fault(s.Entries[knownLog].At, knownLog, WithoutPackage(err))
		return s.Faults.Err()
	}
	var ends toldEnds
	if open := openEnds(s); len(open) > 0 {
		read := func(sets []string) (*Machine, error) { return Read(name, data, slices.Concat(found, sets)) }
		if ends, err = endsOf(logs, open, read); err != nil {
			return nil, fault(err)
		}
		plain, found = append(plain, ends.sets...), append(found, ends.sets...)
	}
	as, err := Read(name, data, found)
	if err != nil {
		return nil, err
	}
	o := logged.Options{Handle: logged.UsualHandle(as.Setup.Cylinder.Stroke), Unsure: logged.UsualUnsure(&as.Setup)}
	taught, err := logged.FitPuck(logs, &as.Setup, o, logged.UsualBed(&as.Setup))
	if err != nil {
		return nil, fault(err)
	}
	told := []struct {
		key string
		logged.Property
	}{{"coffee.resistance", taught.Resistance}, {"coffee.blocking", taught.Blocking}, {"coffee.blocking_decay", taught.BlockingBy}, {"coffee.unloading_exponent", taught.Unloading}}
	var kept, set []string
	for i, p := range told {
		if !p.Told {
			kept = append(kept, p.key)
			continue
		}
		// What is not told keeps its value: given that, the rest is a little otherwise.
		value := p.Value
		for j, other := range told {
			if v := taught.Cov[j][j]; !other.Told && v > 0 {
				value += taught.Cov[i][j] / v * (as.Value(other.key) - other.Value)
			}
		}
		set = append(set, p.key)
		plain = append(plain, p.key+"="+quantity.Format(quantity.Quantity{Value: value, Plus: 2 * p.U()}, sheet.FindKey(p.key).Dim))
	}
	const at = "coffee.resistance_at"
	plain = append(plain, at+"="+quantity.Format(quantity.Quantity{Value: taught.AtPressure}, sheet.FindKey(at).Dim))
	m, err := Read(name, data, plain)
	if err != nil {
		return nil, err
	}
	for _, key := range slices.Concat(set, []string{at}, ends.keys) {
		e := m.Entries[key]
		e.At.Flag = knownLog
		m.Entries[key] = e
	}
	for i := range told {
		for j := range i {
			if u := math.Sqrt(taught.Cov[i][i] * taught.Cov[j][j]); u > 0 {
				m.Together = append(m.Together, uncertain.Correlation{A: told[j].key, B: told[i].key, R: taught.Cov[i][j] / u})
			}
		}
	}
	if len(ends.keys) > 0 {
		m.Together = append(m.Together, ends.together...)
		m.Remarks = append(m.Remarks, fmt.Sprintf("%s tells %s, and so the spring, if seal, fill and gauge are as the sheet says", strings.Join(names, ", "), words.AndList(ends.keys)))
	}
	m.Remarks = append(m.Remarks, taughtRemarks(names, set, kept, taught)...)
	return m, nil
}

// logsOf reads the logs that a sheet names.
func logsOf(s *sheet.Sheet, open func(file string) ([]byte, error)) (logs []logged.Log, names []string, err error) {
	for file := range strings.SplitSeq(s.Text(knownLog), ",") {
		file = strings.TrimSpace(file)
		data, err := open(file)
		if err != nil {
			s.Fault(s.Entries[knownLog].At, knownLog, err.Error())
			return nil, nil, s.Faults.Err()
		}
		log, err := sheet.ReadLog(file, data)
		if err != nil {
			return nil, nil, err
		}
		logs, names = append(logs, log), append(names, file)
	}
	return logs, names, nil
}

// taughtRemarks say what logs tell of the puck, and what they leave open.
func taughtRemarks(names, told, kept []string, t *logged.Taught) []string {
	all := []string{fmt.Sprintf("%s tells %s; the cup strays from the law by %s", strings.Join(names, ", "), strings.Join(told, ", "), quantity.InG.Text(t.Misfit, 2))}
	if len(kept) > 0 {
		all = append(all, strings.Join(names, ", ")+" does not tell "+strings.Join(kept, ", ")+": the defaults stay")
	}
	for _, why := range t.Left {
		all = append(all, "a log is left out: "+why)
	}
	return all
}

// toldEnds are peak and end pressure as logs tell them, to be set in a sheet.
type toldEnds struct {
	sets, keys []string
	together   []uncertain.Correlation
}

// gaugeEnds are the keys of what a gauge shows at both ends of the stroke, with what
// a setup has there.
var gaugeEnds = []struct {
	name string
	of   func(*profile.Setup) float64
}{{"peak", (*profile.Setup).PeakPressure}, {"end_pressure", (*profile.Setup).EndPressure}}

// openEnds are the keys of the pressures that nothing else in a sheet tells, where it
// leaves the force of the spring open.
func openEnds(s *sheet.Sheet) (keys []string) {
	m := &Machine{Sheet: s}
	if !m.unknownPreload() {
		return nil
	}
	for _, e := range gaugeEnds {
		if m.gaugeReading(e.name) == "" {
			keys = append(keys, "bench."+e.name)
		}
	}
	return keys
}

// endsOf reads the open pressures off the lines of logs, as a true gauge would show
// them: of the machine with the spring that a line tells. read makes the machine of the
// sheet with more set. How much of its water the bed has taken hangs a little on the
// spring, so the lines are read twice.
func endsOf(logs []logged.Log, open []string, read func(sets []string) (*Machine, error)) (t toldEnds, err error) {
	usual := map[string]float64{"bench.peak": 7e5, "bench.end_pressure": 4e5} // to begin with [Pa]
	dim := sheet.FindKey(open[0]).Dim
	for _, key := range open {
		t.sets = append(t.sets, key+"="+quantity.Format(quantity.Quantity{Value: usual[key]}, dim))
	}
	for range 2 {
		m, err := read(t.sets)
		if err != nil {
			return t, err
		}
		t = toldEnds{}
		ends, r, err := m.logEnds(logs)
		if err != nil {
			return t, err
		}
		for i, e := range gaugeEnds {
			if key := "bench." + e.name; slices.Contains(open, key) {
				t.keys = append(t.keys, key)
				t.sets = append(t.sets, key+"="+quantity.Format(quantity.Quantity{Value: ends[i].Value, Plus: 2 * ends[i].U()}, dim))
			}
		}
		if len(t.keys) == 2 {
			t.together = []uncertain.Correlation{{A: t.keys[0], B: t.keys[1], R: r}}
		}
	}
	return t, nil
}

// logEnds are the pressures at both ends of the stroke [Pa] as logs tell them
// together, and how far they err together [-].
func (m *Machine) logEnds(logs []logged.Log) (ends [2]logged.Estimate, r float64, err error) {
	u := logged.UsualUnsure(&m.Setup)
	o := logged.Options{Handle: logged.Handle{Force: func(z float64) float64 { return m.Setup.Handle.Force(m.Setup.Cylinder.Stroke - z) }}, Unsure: u}
	var all [2][]logged.Reading
	var both float64 // covariance of the first log [Pa²]
	for i, j := range logged.Distinct(logs) {
		line, err := logged.ReadLine(logs[j], &m.Setup, o)
		if err == nil && line.Withheld != "" {
			err = errors.New("does not tell the spring: " + line.Withheld)
		}
		if err != nil {
			return ends, 0, err
		}
		s := m.Setup
		s.Springs = slices.Clone(s.Springs)
		s.Springs[0] = spring.Linear{Rate: line.Rate.Value, Preload: line.Rest.Value}
		for _, inner := range s.Springs[1:] {
			s.Springs[0].Rate -= inner.Rate
			s.Springs[0].Preload -= inner.Preload
		}
		raw, c := &line.Raw, &line.Raw.Cov
		var v, off [2]float64 // volume that the piston has swept [m³]; what air and water taken up move together [Pa]
		var shift [2][2]float64
		for k, e := range gaugeEnds {
			p := e.of(&s)
			v[k] = (p - raw.Intercept.Value) / raw.Slope.Value
			_, own := raw.At(v[k])
			shift[k] = [2]float64{u.Air * (raw.PerAir[0] + v[k]*raw.PerAir[1]), u.Uptake * (raw.PerUptake[0] + v[k]*raw.PerUptake[1])}
			off[k] = math.Sqrt(own*own + shift[k][0]*shift[k][0] + shift[k][1]*shift[k][1])
			all[k] = append(all[k], logged.Reading{Estimate: logged.Around(p, off[k]), Own: own})
		}
		if i == 0 {
			both = c[0][0] + (v[0]+v[1])*c[0][1] + v[0]*v[1]*c[1][1] + shift[0][0]*shift[1][0] + shift[0][1]*shift[1][1]
			r = both / (off[0] * off[1])
		}
	}
	for k := range ends {
		ends[k] = logged.Together(all[k]).Estimate
	}
	return ends, min(1, max(-1, r)), nil
}
