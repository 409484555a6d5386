package main

import (
	"fmt"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/profile"
	"springcalc/profile/replace"
	"springcalc/spring"
	"springcalc/tables"
)

// orderReport is the order sheet of a spring: what its winder needs.
func orderReport(t *task, c *replace.Choice, quality spring.Grade) (*report, error) {
	if len(c.Parts) > 1 {
		return nil, fmt.Errorf("an order sheet is for one spring, and this is a nest of %d: order them by their own sheets", len(c.Parts))
	}
	d, err := t.job.Draw(&c.Parts[0], quality)
	if err != nil {
		return nil, err
	}
	r := &report{
		Title:  "Compression spring, order sheet",
		Rows:   drawingRows(d),
		Doubts: append(d.Doubts, t.doubts...),
		Notes:  d.Notes,
		Cautions: append([]string{
			"The buyer answers for what the spring is fitted to: check latch, pivots and housing for its load.",
		}, profile.RemovalCautions()...),
	}
	addDefaults(t.m, r)
	r.Defaults = nil // the winder has no use for them; a program finds them
	return r, nil
}

func drawingRows(d *replace.Drawing) []row {
	c := &d.Coil
	rows := []row{
		{Key: "grade", Name: "wire", Text: d.Wire.Grade},
		measure("wire_mm", "wire diameter d", c.Wire, quantity.InMM, 2),
		measure("tensile_mpa", "tensile strength of the wire at least", d.Wire.Tensile, quantity.InMPa, 0),
		measure("outside_mm", "outside diameter De", d.Outer, quantity.InMM, 2),
		measure("mean_mm", "mean diameter D", c.Mean, quantity.InMM, 2),
		measure("inside_mm", "inside diameter Di", d.Inner, quantity.InMM, 2),
		measure("grown_mm", "outside diameter when solid, to allow for", d.Grown, quantity.InMM, 2),
		{Key: "active_coils", Name: "active coils", Value: c.Active, Digits: 2},
		{Key: "total_coils", Name: "coils in all", Value: c.Total, Digits: 2},
		{Key: "ends", Name: "ends", Text: c.Ends.String()},
		measure("free_mm", "free length L0", c.Free, quantity.InMM, 1),
		measure("rate_n_per_mm", "rate R", d.Rate, quantity.InNPerMM, 2),
		measure("rest_mm", "length at rest L1", d.Rest.Length, quantity.InMM, 1),
		measure("rest_n", "load at L1", d.Rest.Force, quantity.InN, 0),
		measure("cocked_mm", "length cocked L2", d.Cocked.Length, quantity.InMM, 1),
		measure("cocked_n", "load at L2", d.Cocked.Force, quantity.InN, 0),
		measure("solid_mm", "solid length at most", d.Solid.Length, quantity.InMM, 1),
		measure("solid_n", "load pressed solid, by the rate", d.Solid.Force, quantity.InN, 0),
		measure("rest_mpa", "stress at L1, uncorrected", d.Rest.Stress, quantity.InMPa, 0),
		measure("cocked_mpa", "stress at L2, uncorrected", d.Cocked.Stress, quantity.InMPa, 0),
		measure("solid_mpa", "stress pressed solid, uncorrected", d.Solid.Stress, quantity.InMPa, 0),
		measure("mass_g", "mass", d.Mass, quantity.InG, 0),
		{Key: "quality", Name: "quality grade of EN 15800", Value: float64(d.Quality)},
	}
	tolerate := func(key string, within float64, unit quantity.Display, digits int) {
		if within == 0 {
			return
		}
		for i := range rows {
			if rows[i].Key == key {
				rows[i] = rows[i].noted("± %s", unit.Text(within, digits))
				rows[i].Band = &band{Low: rows[i].Value - unit.Of(within), High: rows[i].Value + unit.Of(within)}
			}
		}
	}
	wire, err := tables.WireTolerance("EN 10218-2", c.Wire)
	if err == nil {
		tolerate("wire_mm", wire.Value, quantity.InMM, 3)
	}
	coil, err := tables.CoilTolerance(tables.Coil{Class: int(d.Quality), Diameter: d.Outer, Index: c.Index()})
	if err == nil {
		tolerate("outside_mm", coil.Value, quantity.InMM, 2)
	}
	tolerate("free_mm", d.Length, quantity.InMM, 1)
	tolerate("rate_n_per_mm", d.RateBy*d.Rate, quantity.InNPerMM, 2)
	tolerate("rest_n", d.Rest.Within, quantity.InN, 0)
	tolerate("cocked_n", d.Cocked.Within, quantity.InN, 0)
	return rows
}
