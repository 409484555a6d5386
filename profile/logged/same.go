package logged

import (
	"math"
	"sort"
)

const (
	leastShared = 0.6   // share of the shorter log's rows that must be found in the other [-]
	sameTime    = 2e-3  // difference of times, after the shift, that counts as none [s]
	leastTold   = 5     // different readings that a log must hold to be recognised by
	mostSought  = 4000  // rows of a log that are looked for in the other
	sameValue   = 1e-6  // relative difference of values that counts as none [-]
	sameFloor   = 1e-12 // and absolute, for values near 0
)

// Same reports whether two logs are of one shot: the same file twice, the same
// rows, some of the rows, or rows shifted in time.
//
// The rule: the rows of the shorter log are looked for in the longer one under
// one shift of time. A row is found where the longer log has a row at that
// time (to 2 ms) with the same pressure, cup mass and travel (to one part in a
// million), as far as both have them. Three rows of five found are one shot. Two
// shots of one machine never meet this: the noise of a logger is not the same
// twice. The same shot written by two loggers is not recognised, nor one whose
// rows were worked over (averaged, or rounded anew). Logs with fewer than five
// different rows are never the same, as too little tells.
func Same(a, b Log) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	rows := a.told()
	if len(rows) < leastTold {
		return false
	}
	for _, shift := range shifts(rows, b) {
		found := 0
		for i := range rows {
			if b.holds(rows[i], shift) {
				found++
			}
		}
		if float64(found) >= leastShared*float64(len(rows)) {
			return true
		}
	}
	return false
}

// Distinct returns the indices of logs that are each of a shot of its own: of
// those that are the Same, the one with most rows, the first of equals.
func Distinct(logs []Log) []int {
	order := make([]int, len(logs))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return len(logs[order[i]]) > len(logs[order[j]]) })
	var keep []int
	for _, i := range order {
		one := true
		for _, k := range keep {
			one = one && !Same(logs[i], logs[k])
		}
		if one {
			keep = append(keep, i)
		}
	}
	sort.Ints(keep)
	return keep
}

// told returns the rows that differ from the row before, in what they read, and
// hold a pressure: a few thousand spread over the log, in runs.
func (l Log) told() Log {
	var out Log
	for i := range l {
		if i > 0 && equalRow(&l[i], &l[i-1]) || math.IsNaN(l[i].Pressure) {
			continue
		}
		out = append(out, l[i])
	}
	if n := len(out); n > mostSought {
		few := make(Log, 0, mostSought)
		for i := range mostSought {
			few = append(few, out[i*n/mostSought])
		}
		return few
	}
	return out
}

// shifts returns the shifts of time that some rows of a, spread over it, suggest.
func shifts(rows Log, b Log) []float64 {
	const tried, most = 12, 400
	var out []float64
	for k := range tried {
		r := &rows[(2*k+1)*len(rows)/(2*tried)]
		n := 0
		for i := range b {
			if b[i].Pressure == b[i].Pressure && equalRow(r, &b[i]) {
				out = append(out, b[i].Time-r.Time)
				if n++; n >= most/tried {
					break
				}
			}
		}
	}
	return out
}

// holds reports whether the log has a row, at its time and a shift.
func (l Log) holds(r Row, shift float64) bool {
	at := r.Time + shift
	i := sort.Search(len(l), func(i int) bool { return l[i].Time >= at-sameTime })
	for ; i < len(l) && l[i].Time <= at+sameTime; i++ {
		if equalRow(&r, &l[i]) {
			return true
		}
	}
	return false
}

// equalRow reports whether two rows read the same, as far as both have it.
func equalRow(a, b *Row) bool {
	p, q := a.columns(), b.columns()
	shared := 0
	for i := range p {
		if p[i] != p[i] || q[i] != q[i] {
			continue
		}
		if math.Abs(p[i]-q[i]) > sameValue*max(math.Abs(p[i]), math.Abs(q[i]))+sameFloor {
			return false
		}
		shared++
	}
	return shared > 0
}
