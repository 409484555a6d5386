package logged

import (
	"fmt"
	"math"
)

const (
	tailRows = 6      // least number of rows that a tail is read from
	tailFlow = 2e-6   // least volume that runs along it [m³]
	tailSure = 0.2    // relative standard uncertainty of the air above which it is not read [-]
	tailSlip = 0.3e-6 // by how much the place of the break may be off at best [m³]
)

// Tail is what the log shows after the piston came to rest.
type Tail struct {
	Seen bool    // the line breaks into a steeper one before the log ends
	Read bool    // and falls as air that expands does
	Air  Reading // V_a: air in the chamber at the fill pressure, by the tail [m³]
	Flow float64 // water that ran along the tail [m³]
}

// readTail reads the air off what follows the break, by Boyle's law:
//
//	V = V_0 + C/(P + P_atm),  V_a = C/(P_fill + P_atm)
//
// with the water V that has left and the amount of air C. Pressure carries
// noise, so its polynomial in time stands in for it ([Wald]).
func (r *reader) readTail() bool {
	line, s := r.line, r.setup
	line.Tail.Seen = true
	rows := r.all.rows(Window{From: line.Ended, To: math.Inf(1)})
	end := len(rows.t)
	for i, p := range rows.p {
		if p-line.Zero.Value < 0.05*rows.p[0] { // no more than drips
			end = i
			break
		}
	}
	rows = rows.part(0, end)
	n := len(rows.t)
	if n < tailRows || !(rows.t[n-1] > rows.t[0]) {
		return false
	}
	base := newBasis(rows.t, min(4, n/3))
	p := base.project(rows.p)
	x, v := make([]float64, n), make([]float64, n)
	for i := range x {
		smooth := max(0, base.at(p, i)-line.Zero.Value)
		x[i] = 1 / (smooth + s.Water.Atmosphere)
		v[i] = r.d.swept(rows.cup[i], 0) // the water alone
		if r.d.air > 0 {
			v[i] -= r.d.air * r.d.airShare(0)
		}
	}
	line.Tail.Flow = max(0, last(v)-median(append([]float64(nil), v[:lastRows]...)))
	f := fitStraight(x, x, v)
	fill := s.Water.Fill + s.Water.Atmosphere
	if line.Tail.Flow < tailFlow || !(f.slope > 0) || !(f.slopeError < tailSure*f.slope) {
		return false
	}
	air := f.slope / fill
	if room := s.ChamberVolume(); air > room*1.2 {
		return false
	}
	// the gauge's zero and scale, and how well Boyle's law holds in a wet chamber
	u := math.Hypot(2*f.slopeError/fill, 0.05*air)
	line.Tail.Read, line.Tail.Air = true, Reading{Around(air, u), 2 * f.slopeError / fill}
	r.d.air, r.unsure.Air = air, u
	return true
}

// anchor puts the end of the stroke where the line broke, as far as the water
// that the coffee took up leaves it open:
//
//	δ = (V_stroke - V_break) u²/(u² + u_break²)
func (r *reader) anchor() {
	line, c := r.line, &r.setup.Cylinder
	i := 0
	for i+1 < len(r.all.t) && r.all.t[i] < line.Ended {
		i++
	}
	from, to := max(0, i-2), min(len(r.all.t), i+3)
	at := median(append([]float64(nil), r.all.v[from:to]...))
	step := (r.all.v[to-1] - r.all.v[from]) / 4
	breaks := math.Hypot(tailSlip, step)
	share := line.Tail.Air.U() * r.d.airShare(line.End.Value)
	up := r.unsure.Uptake
	off := (c.Stroke-c.Port)*c.Area() - at
	if all := math.Sqrt(up*up + breaks*breaks + share*share); math.Abs(off) > 5*all+0.5e-6 {
		line.Doubts = append(line.Doubts, fmt.Sprintf("where the pressure breaks, the piston would be %.2g mL from the end of its stroke", off*1e6))
		return
	}
	if !(up > 0) {
		return
	}
	weight := up * up / (up*up + breaks*breaks + share*share)
	r.d.taken += weight * off
	r.unsure.Uptake = up * math.Sqrt(1-weight)
	for j := range r.all.v {
		r.all.v[j] += weight * off
	}
}
