package machine

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/profile/logged"
	"springcalc/profile/uncertain"
)

// knownLog is the key that names the logs which tell of the puck.
const knownLog = "coffee.known.log"

// ReadTaught is ReadMachine for a sheet whose puck logged shots may tell of: they
// are read by open, and what they tell of resistance, transient and unloading
// stands in place of the defaults, each with its ±.
func ReadTaught(name string, data []byte, sets []string, open func(file string) ([]byte, error)) (*Machine, error) {
	s, err := sheet.ReadSheet(name, data, sets)
	if err != nil || !s.Has(knownLog) {
		if err != nil {
			return nil, err
		}
		return NewMachine(s)
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
			text := quantity.FormatQuantity(q, sheet.FindKey(known).Dim)
			plain = append(plain, known+"=", keys[1]+"="+text)
			found = append(found, known+"=", keys[0]+"="+text)
		}
	}
	as, err := ReadMachine(name, data, found)
	if err != nil {
		return nil, err
	}
	o := logged.Options{Handle: logged.UsualHandle(as.Setup.Cylinder.Stroke), Unsure: logged.UsualUnsure(&as.Setup)}
	taught, err := logged.FitPuck(logs, &as.Setup, o, logged.UsualBed(&as.Setup))
	if err != nil {
		return nil, sheet.Faults{{At: s.Entries[knownLog].At, Key: knownLog, Text: WithoutPackage(err)}}
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
		plain = append(plain, p.key+"="+quantity.FormatQuantity(quantity.Quantity{Value: value, Plus: 2 * p.U()}, sheet.FindKey(p.key).Dim))
	}
	const at = "coffee.resistance_at"
	plain = append(plain, at+"="+quantity.FormatQuantity(quantity.Quantity{Value: taught.AtPressure}, sheet.FindKey(at).Dim))
	m, err := ReadMachine(name, data, plain)
	if err != nil {
		return nil, err
	}
	for _, key := range append(set, at) {
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
	m.Remarks = append(m.Remarks, taughtRemarks(names, set, kept, taught)...)
	return m, nil
}

// logsOf reads the logs that a sheet names.
func logsOf(s *sheet.Sheet, open func(file string) ([]byte, error)) (logs []logged.Log, names []string, err error) {
	for file := range strings.SplitSeq(s.Text(knownLog), ",") {
		file = strings.TrimSpace(file)
		data, err := open(file)
		if err != nil {
			return nil, nil, sheet.Faults{{At: s.Entries[knownLog].At, Key: knownLog, Text: err.Error()}}
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
