package replace

import (
	"math"
	"slices"
)

// Row is a line of a ranking: the best of some springs that differ only in rounding.
type Row struct {
	Choice
	Alike  int  // how many others stand behind it [-]
	Mean   Span // of the first part: mean diameters of all of them [m]
	Active Span // of the first part: active coils of all of them [-]
}

// How far springs of one wire and ends may differ and still be the same but for
// rounding, over the value [-]: of one or two steps of a grid of half
// millimetres and quarter coils.
const (
	sameMean   = 0.025
	sameActive = 0.05
)

// alike reports whether two choices differ only in rounding.
func alike(a, b *Choice) bool {
	if a.Name != b.Name || len(a.Parts) != len(b.Parts) {
		return false
	}
	for i := range a.Parts {
		p, q := &a.Parts[i], &b.Parts[i]
		if !p.dimensioned() || !q.dimensioned() || p.kind() != q.kind() ||
			math.Abs(p.Coil.Mean-q.Coil.Mean) > sameMean*p.Coil.Mean ||
			math.Abs(p.Coil.Active-q.Coil.Active) > sameActive*p.Coil.Active {
			return false
		}
	}
	return true
}

// kind is what a spring is made of and how its ends are.
type kind struct {
	grade string
	wire  float64 // [m]
	ends  int
}

func (p *Part) kind() kind { return kind{p.grade(), p.Coil.Wire, int(p.Coil.Ends)} }

// RowsOf returns at most some rows of a ranking in its order. Springs that differ
// only in rounding are one row, with the range of what they span. Where there are
// more rows than asked for, the best of each kind, wire with ends, come before the
// second best of any, so that rows show a choice and not neighbours.
func RowsOf(ranked []Choice, most int) []Row {
	var rows []Row
next:
	for i := range ranked {
		c := &ranked[i]
		for k := range rows {
			if alike(&rows[k].Choice, c) {
				rows[k].add(c)
				continue next
			}
		}
		coil := &c.Parts[0].Coil
		rows = append(rows, Row{Choice: *c, Mean: Span{coil.Mean, coil.Mean}, Active: Span{coil.Active, coil.Active}})
	}
	if len(rows) <= most {
		return rows
	}
	turn := make([]int, len(rows)) // which of its kind a row is
	seen := map[kind]int{}
	for i := range rows {
		if p := &rows[i].Parts[0]; p.dimensioned() {
			turn[i] = seen[p.kind()]
			seen[p.kind()]++
		}
	}
	order := make([]int, len(rows))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return turn[a] - turn[b] })
	order = order[:most]
	slices.Sort(order)
	picked := make([]Row, most)
	for i, k := range order {
		picked[i] = rows[k]
	}
	return picked
}

// add puts another spring behind a row.
func (r *Row) add(c *Choice) {
	r.Alike++
	coil := &c.Parts[0].Coil
	r.Mean = r.Mean.with(Span{coil.Mean, coil.Mean})
	r.Active = r.Active.with(Span{coil.Active, coil.Active})
	r.Free = r.Free.with(c.Free)
}

// with returns the span of two.
func (s Span) with(t Span) Span { return Span{min(s.Low, t.Low), max(s.High, t.High)} }

// Rows returns rows of what the search found, as [RowsOf] does: of the best, and of
// the best of each kind, which may stand far behind the last of them.
func (s *Search) Rows(f *Found, most int) []Row {
	all := slices.Concat(f.Best, f.Varied)
	s.sort(all)
	all = slices.CompactFunc(all, func(a, b Choice) bool { return a.Row == b.Row })
	return RowsOf(all, most)
}
