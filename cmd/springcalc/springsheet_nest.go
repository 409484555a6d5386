package main

import (
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/spring"
)

// nest sets two springs side by side, and says what they do together.
func (r *report) nest(outer, inner *member) {
	summary := springsBeside(outer, inner)
	r.Summary = &summary
	for _, s := range []*member{outer, inner} {
		for _, one := range s.rows {
			one.Key = s.Name + "_" + one.Key
			r.Rows = append(r.Rows, one)
		}
	}
	r.Doubts = both(outer, inner, func(s *member) []string { return s.doubts })
	r.Notes = both(outer, inner, func(s *member) []string { return s.notes })
	r.Tables = slices.Insert(r.Tables, 0, sumOfLoads(outer, inner))
	if outer.dims == nil || inner.dims == nil {
		r.Doubts = append(r.Doubts, spring.OppositeHands)
		return
	}
	o, i := outer.dims.us, inner.dims.us
	r.between("radial_clearance_mm", "room between, free", (o.Inner()-i.Outer())/2)
	r.between("radial_clearance_solid_mm", "room between, solid", (o.Inner()-i.Outer()-i.Growth().FreeToTurn)/2)
	r.Doubts = append(r.Doubts, spring.Nest{o, i}.Doubts()...)
}

// between adds a room between the springs [m], on each side.
func (r *report) between(key, name string, room float64) {
	one := measure(key, name, room, quantity.InMM, 2)
	r.Rows = append(r.Rows, one)
	r.Summary.Data = append(r.Summary.Data, []any{name, one.Unit, nil, one.Cell()})
}

// springsBeside lays out the rows of two springs; either may lack some.
func springsBeside(outer, inner *member) tableData {
	t := tableData{Key: "springs", Columns: []column{
		{Key: "quantity"}, {Key: "unit", Head: "unit"}, {Key: "outer", Head: "outer"}, {Key: "inner", Head: "inner"}}}
	cell := func(s *member, key string) any {
		i := slices.IndexFunc(s.rows, func(r row) bool { return r.Key == key })
		if i < 0 {
			return nil
		}
		return s.rows[i].Cell()
	}
	seen := map[string]bool{}
	for _, one := range slices.Concat(outer.rows, inner.rows) {
		if !one.DataOnly && !seen[one.Key] {
			seen[one.Key] = true
			t.Data = append(t.Data, []any{one.Name, one.Unit, cell(outer, one.Key), cell(inner, one.Key)})
		}
	}
	return t
}

// both joins texts of two springs: those that hold of both once, the others with
// the name of their spring.
func both(outer, inner *member, of func(*member) []string) []string {
	var shared, own []string
	for _, t := range of(outer) {
		if slices.Contains(of(inner), t) {
			shared = append(shared, t)
		} else {
			own = append(own, outer.Name+": "+t)
		}
	}
	for _, t := range of(inner) {
		if !slices.Contains(shared, t) {
			own = append(own, inner.Name+": "+t)
		}
	}
	return append(shared, own...)
}

// sumOfLoads adds the loads of two springs at the same travel.
func sumOfLoads(outer, inner *member) tableData {
	t := tableData{Key: "nest", Title: "Both springs together", Columns: []column{
		{Key: "state", Head: "where"}, {Key: "outer_n", Head: "outer, N"}, {Key: "inner_n", Head: "inner, N"},
		{Key: "sum_n", Head: "sum, N"}, {Key: "sum_plus_n", Head: "± N"}}}
	for _, at := range []struct {
		Name string
		lift float64
		u    float64
	}{
		{"at rest", 0, math.Hypot(outer.preloadU, inner.preloadU)},
		{"cocked", outer.stroke, math.Hypot(outer.cockedU, inner.cockedU)},
	} {
		a, b := outer.Line.Force(at.lift), inner.Line.Force(at.lift)
		t.Data = append(t.Data, []any{at.Name, quantity.InN.Of(a), quantity.InN.Of(b), quantity.InN.Of(a + b), plusOf(at.u)})
	}
	return t
}

// plusOf is the ± of a load as a cell, empty where none is known.
func plusOf(u float64) any {
	if u == 0 {
		return nil
	}
	return quantity.InN.Of(2 * u)
}
