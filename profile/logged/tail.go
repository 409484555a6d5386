package logged

import (
	"fmt"
	"math"
)

const (
	tailRows   = 6      // least number of rows that a tail is read from
	tailFlow   = 2e-6   // least volume that runs along it [m³]
	tailSure   = 0.4    // relative standard uncertainty of the air above which it is not read [-]
	tailLaw    = 0.25   // how well Boyle's law holds in a hot, wet chamber and a short tail, relative [-]
	tailAny    = 25e-6  // standard uncertainty of air that shows and whose tail is too short [m³]
	tailSettle = 0.5    // left out after the break [s]
	tailSlip   = 0.5e-6 // by how much the place of the break may be off at best [m³]
)

// Tail is what the log shows after the piston came to rest.
type Tail struct {
	Seen bool    // water ran on under pressure after the spring's part was over
	Read bool    // and the air was worked out from it
	Air  Reading // V_a: air in the chamber at the fill pressure, by the tail and the place of the break [m³]
	Flow float64 // water that ran along the tail [m³]
}

// running returns the rows of a tail along which water still runs: from a
// moment after the break, which the gauge smears, to where it is spent.
func (s *series) running(zero float64) series {
	n := len(s.t)
	if n < tailRows {
		return series{}
	}
	most, first := last(s.v), median(append([]float64(nil), s.v[:lastRows]...))
	spent := most - max(0.5e-6, 0.1*(most-first))
	i, end := 0, n
	for i < n && s.t[i] < s.t[0]+tailSettle {
		i++
	}
	for j := range s.t {
		if s.p[j]-zero < 0.05*s.p[0] || j+2 < n && s.v[j] > spent && s.v[j+1] > spent && s.v[j+2] > spent {
			end = j
			break
		}
	}
	return s.part(min(i, end), end)
}

// settle works out from what follows the spring's part how much air there is,
// and reports whether the volumes have changed by it.
//
// Where water runs on under pressure after the break, the piston has come to
// rest: the volume swept is that of the stroke, which ties air and uptake,
//
//	V_stroke - V_break = (V_a - V_sheet) g(P_e) + ΔV_uptake
//
// and the fall of the tail tells the air besides. Where the pressure is gone
// with less than the stroke swept, the lever was lifted or there is air that
// nothing tells: half of what is missing is taken for air, give or take 80 %.
func (r *reader) settle() bool {
	line, c := r.line, &r.setup.Cylinder
	after := r.all.rows(Window{From: line.Ended, To: math.Inf(1)})
	pe := line.Points[len(line.Points)-1].Pressure - line.Zero.Value
	line.Tail.Flow = after.flow(line.Zero.Value + lowShare*pe)
	at, step := r.all.near(line.Ended)
	off := (c.Stroke-c.Port)*c.Area() - at
	g := r.d.airShare(pe)
	breaks := math.Hypot(tailSlip, step)
	up := r.unsure.Uptake
	if line.Tail.Flow < tailFlow {
		gone := len(after.t) > 0 && last(after.p)-line.Zero.Value < lowShare*pe
		if gone && off > 2*math.Hypot(up, breaks)+g*r.unsure.Air {
			r.d.air += 0.5 * off / g
			r.unsure.Air = math.Hypot(r.unsure.Air, 0.4*off/g)
			line.Doubts = append(line.Doubts, fmt.Sprintf("the pressure was gone with %.2g mL of the stroke not swept: the lever was lifted, or there was air in the chamber, which widens the intervals", off*1e6))
			return true
		}
		return false
	}
	line.Tail.Seen = true
	air, u, ok := r.boyle(&after)
	if !ok {
		air, u = r.d.air, tailAny
	}
	s := g*g*u*u + up*up + breaks*breaks
	left := off - g*(air-r.d.air)
	if left*left > 25*s {
		r.strange = fmt.Sprintf("the pressure breaks %.2g mL from the end of the stroke, which the air in the chamber does not explain", off*1e6)
		return false
	}
	air = max(0, air+u*u*g/s*left)
	u *= math.Sqrt(1 - g*g*u*u/s)
	line.Tail.Read, line.Tail.Air = true, Reading{Around(air, u), u}
	r.d.air, r.unsure.Air = air, u
	r.d.taken += up * up / s * left
	r.unsure.Uptake = up * math.Sqrt(1-up*up/s)
	return true
}

// flow returns the volume that runs while the pressure is above a limit [Pa].
func (s *series) flow(limit float64) float64 {
	n := 0
	for n < len(s.t) && s.p[n] > limit {
		n++
	}
	if n < lastRows {
		return 0
	}
	return max(0, last(s.v[:n])-median(append([]float64(nil), s.v[:min(n, 3)]...)))
}

// near returns the volume at a time, and how far it goes from row to row.
func (s *series) near(t float64) (v, step float64) {
	i := 0
	for i+1 < len(s.t) && s.t[i] < t {
		i++
	}
	from, to := max(0, i-2), min(len(s.t), i+3)
	v = median(append([]float64(nil), s.v[from:to]...))
	return v, math.Abs(s.v[to-1]-s.v[from]) / 4
}

// boyle reads the air off what follows the break, with its standard
// uncertainty [m³], by Boyle's law:
//
//	V = V_0 + V_a (P_fill + P_atm)/(P + P_atm)
//
// with the water V that has left. Pressure carries noise, so its polynomial in time
// stands in for it ([Wald]).
func (r *reader) boyle(after *series) (air, u float64, ok bool) {
	line, s := r.line, r.setup
	rows := after.running(line.Zero.Value)
	n := len(rows.t)
	if n < tailRows || !(rows.t[n-1] > rows.t[0]) {
		return 0, 0, false
	}
	base := newBasis(rows.t, min(5, n/3))
	p := base.project(rows.p)
	x, v := make([]float64, n), make([]float64, n)
	for i := range x {
		smooth := max(0, base.at(p, i)+r.o.Lag*base.slopeAt(p, i)-line.Zero.Value)
		x[i] = s.Water.Air(1).VolumeAt(smooth)
		v[i] = rows.v[i] // the water alone
		if r.d.air > 0 {
			v[i] -= r.d.air * r.d.airShare(rows.p[i])
		}
	}
	f := fitStraight(x, x, v)
	air = f.slope
	u = hypot(2*f.slopeError, tailLaw*air, tailSlip)
	ok = air > 0 && u < tailSure*air && air < 1.2*s.ChamberVolume()
	return air, u, ok
}
