package logged

import "math"

// Forces is what a line says of the spring.
type Forces struct {
	Rate   Reading       // k = -(dP/dV) A (A + c) [N/m]
	Cocked Reading       // F_c: spring force with the lever cocked [N]
	Rest   Reading       // F_1: spring force with the piston at rest [N]
	Cov    [3][3]float64 // covariance of Rate, Cocked and Rest [products of N/m, N and N]
}

// presumed is what turns a line into forces.
type presumed struct{ a, b, bore, perPa, friction, zero, gain, uptake float64 }

// forces fits the line without the handle's part and reads it with a machine
// known to within u.
func (r *reader) forces(w *window, y []float64, base []nuisance, air []float64, u Unsure) Forces {
	extra := append([]nuisance(nil), base...)
	if u.Air > 0 && air != nil {
		extra = append(extra, nuisance{"air", scaled(air, w.slope*u.Air)})
	}
	c := &r.setup.Cylinder
	if h := &r.o.Handle; h.Force != nil {
		hold := w.column(r.handle(w))
		rest := w.column(func(i int) float64 {
			return (w.smooth[i]/c.Area() + c.Port) / c.Stroke / (c.Area() + c.Seal.PerPa)
		})
		y = append([]float64(nil), y...)
		for j := range y {
			y[j] -= hold[j]
		}
		extra = append(extra, nuisance{"handle", scaled(hold, h.U)}, nuisance{"handle at rest", scaled(rest, h.RestU)})
	}
	f, ok := w.fit(y, extra)
	if !ok {
		return Forces{}
	}
	return r.derive(&f, u)
}

// derive propagates the covariance of the line and the uncertainty of the
// machine through
//
//	F(z) = gain (P(z) - zero) (A + c) + F_f0 - W,  P(z) = a + b A (z - s_p)
//
// to the first order ([GUM] 5.1).
func (r *reader) derive(f *fitted, u Unsure) Forces {
	c := &r.setup.Cylinder
	byTravel := r.line.ByTravel
	at := func(m presumed) [3]float64 {
		area := math.Pi / 4 * m.bore * m.bore
		swept := area
		if byTravel { // what was read is travel, so the bore has no part in it
			swept = c.Area()
		}
		effect := area + m.perPa
		force := func(z float64) float64 {
			p := m.a + m.b*(swept*(z-c.Port)-m.uptake)
			return m.gain*(p-m.zero)*effect + m.friction - c.Weight
		}
		return [3]float64{-m.gain * m.b * swept * effect, force(0), force(c.Stroke)}
	}
	best := presumed{f.a, f.b, c.Bore, c.Seal.PerPa, c.Seal.Constant, r.line.Zero.Value, 1, 0}
	value := at(best)
	slope := func(move func(m *presumed, by float64), step float64) (d [3]float64) {
		up, down := best, best
		move(&up, step)
		move(&down, -step)
		hi, lo := at(up), at(down)
		for i := range d {
			d[i] = (hi[i] - lo[i]) / (2 * step)
		}
		return d
	}
	da := slope(func(m *presumed, by float64) { m.a += by }, math.Abs(f.a)*1e-4+1)
	db := slope(func(m *presumed, by float64) { m.b += by }, math.Abs(f.b)*1e-4)
	var own, cov [3][3]float64
	for i := range 3 {
		for j := range 3 {
			both := func(c *[2][2]float64) float64 {
				return da[i]*(c[0][0]*da[j]+c[0][1]*db[j]) + db[i]*(c[1][0]*da[j]+c[1][1]*db[j])
			}
			own[i][j], cov[i][j] = both(&f.own), both(&f.cov)
		}
	}
	for _, p := range []struct {
		u    float64
		move func(m *presumed, by float64)
	}{
		{u.Bore, func(m *presumed, by float64) { m.bore += by }},
		{u.PerPa, func(m *presumed, by float64) { m.perPa += by }},
		{u.Friction, func(m *presumed, by float64) { m.friction += by }},
		{u.Zero, func(m *presumed, by float64) { m.zero += by }},
		{u.Gauge, func(m *presumed, by float64) { m.gain += by }},
		{u.Uptake, func(m *presumed, by float64) { m.uptake += by }},
	} {
		if p.u == 0 {
			continue
		}
		d := slope(p.move, p.u*0.1)
		for i := range 3 {
			for j := range 3 {
				cov[i][j] += d[i] * d[j] * p.u * p.u
			}
		}
	}
	reading := func(i int) Reading {
		return Reading{Around(value[i], math.Sqrt(max(0, cov[i][i]))), math.Sqrt(max(0, own[i][i]))}
	}
	return Forces{Rate: reading(0), Cocked: reading(1), Rest: reading(2), Cov: cov}
}
