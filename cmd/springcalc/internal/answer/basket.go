package answer

import (
	"context"
	"math"
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/spread"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile"
)

// BasketOptions are what may be asked of another basket.
type BasketOptions struct {
	Other  *sheet.Sheet // states the other basket and dose; what it leaves out stays as it is
	Spread spread.Options
}

// basketResult is what the rows of a shot in a basket are made from.
type basketResult struct {
	setup *profile.Setup
	shotResult
}

// basketOwn are the results of a basket beside those of its shot.
var basketOwn = []report.Def[basketResult]{
	{Key: "basket_diameter", Name: "basket diameter", Unit: quantity.InMM, Digits: 1, Short: true,
		Of: func(b *basketResult) float64 { return b.setup.Basket.Diameter }},
	{Key: "dose", Name: "dose", Unit: quantity.InG, Digits: 1, Short: true,
		Of: func(b *basketResult) float64 { return b.setup.Coffee.Dose }},
	{Key: "bed_depth", Name: "bed depth, dry", Unit: quantity.InMM, Digits: 1,
		Of: func(b *basketResult) float64 { return b.setup.BedDepth() }},
	{Key: "room", Name: "room above the bed", Unit: quantity.InMM, Digits: 1, Short: true,
		Of: func(b *basketResult) float64 { room, _ := b.setup.Room(); return room }},
	{Key: "filling", Name: "basket is filled",
		Text: func(b *basketResult) string { _, filling := b.setup.Room(); return string(filling) }},
	{Key: "resistance", Name: "puck resistance", Unit: quantity.InBarSPerML, Digits: 2,
		Of: func(b *basketResult) float64 { return b.setup.Coffee.Resistance }},
	{Key: "first_drop", Name: "first drop", Unit: quantity.InS, Digits: 1,
		Of: func(b *basketResult) float64 { return b.FirstDrop }},
	{Key: "mean_flow", Name: "mean flow into the cup", Unit: quantity.InGPerS, Digits: 2,
		Of: func(b *basketResult) float64 {
			if pours := b.Total - b.FirstDrop; b.FirstDrop > 0 && pours > 0 {
				return b.Yield / pours
			}
			return 0
		}},
}

// basketRows are the results of a shot in a basket of these sizes.
var basketRows = slices.Concat(basketOwn, report.Lift(shotRows, func(b *basketResult) *shotResult { return &b.shotResult },
	"outcome", "peak", "end", "total_time", "flow_time", "yield", "brew_ratio", "wetted"))

// bedKeys are the keys in which another basket may differ.
var bedKeys = []string{"basket.diameter", "basket.depth", "coffee.dose"}

// toBasket changes a setup to the basket and dose that a sheet states.
func toBasket(other *sheet.Sheet) func(*profile.Setup) *profile.Setup {
	return func(s *profile.Setup) *profile.Setup {
		b, dose := s.Basket, s.Coffee.Dose
		for i, value := range []*float64{&b.Diameter, &b.Depth, &dose} {
			if q, ok := other.Quantity(bedKeys[i]); ok {
				*value = q.Value
			}
		}
		return s.InBasket(b, dose)
	}
}

// Basket sets the shot in another basket beside today's, and says what would
// bring today's total time back.
func Basket(ctx context.Context, today *machine.Machine, o BasketOptions) (*report.Report, error) {
	change := toBasket(o.Other)
	now, next := &today.Setup, change(&today.Setup)
	before, err := profile.Run(now)
	if err != nil {
		return nil, err
	}
	after, err := profile.Run(next)
	if err != nil {
		return nil, err
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	r := newReport("basket", today)
	r.Beside, r.Head, r.Caution = "today", "other", cautionLever
	defs := basketRows
	if now.Basket.Depth == 0 || next.Basket.Depth == 0 {
		defs = slices.DeleteFunc(slices.Clone(defs), func(d report.Def[basketResult]) bool { return d.Key == "room" })
		r.Note("the depth of a basket is not stated, so nothing is said of the room above the bed")
	}
	r.Rows = report.RowsBeside(defs, &basketResult{next, shotResult{Summary: after.Summary}}, &basketResult{now, shotResult{Summary: before.Summary}})
	r.Charts = besides(shotCharts(after), shotCharts(before), r.Head, r.Beside)
	r.Doubts = append(r.Doubts, report.Tolds(after.Doubts)...)
	for _, d := range before.Doubts {
		if !slices.Contains(after.Doubts, d) {
			r.Doubt("today's basket: %s", report.Told(d))
		}
	}
	if keys := unused(today.Sheet, o.Other); len(keys) > 0 {
		r.Doubt("of the second sheet only basket and dose are used; it differs in %s too", words.AndList(keys))
	}
	if !today.KnowsPuck() {
		r.Doubt("no known shot was stated: the puck's resistance is assumed, and so are both total times; the step from one basket to the other is not")
	}
	ends := finished(before.Outcome) && finished(after.Outcome)
	if ends {
		if err := basketSpread(r, today, change, defs, o.Spread); err != nil {
			return nil, err
		}
		r.Next = waysBack(r, next, before.Total)
	} else {
		r.Note("one of the two shots does not come to its end, so there is no time to bring back")
	}
	r.Note("a puck's resistance belongs to the dose and basket that it was found with: it is taken to the other bed by its depth and area")
	r.Answer = append(contradictions(today), basketSentences(r)...)
	return r, nil
}

// unused are the keys that a second sheet states otherwise and that are not read from it.
func unused(today, other *sheet.Sheet) (keys []string) {
	for _, path := range other.InOrder() {
		if q, ok := other.Quantity(path); ok && !slices.Contains(bedKeys, path) {
			if p, ok := today.Quantity(path); ok && p.Value != q.Value {
				keys = append(keys, path)
			}
		}
	}
	return keys
}

// besides lays the charts of what this is set beside under those of a result.
func besides(charts, others []report.Chart, name, other string) []report.Chart {
	for i := range charts {
		s := others[i].Series[0]
		charts[i].Series[0].Name = name
		s.Name, s.Dashed = other, true
		charts[i].Series = append(charts[i].Series, s)
	}
	return charts
}

// basketSpread says how far the other shot, one of many like it, may be off: by
// draws, or where they are not wanted by what is not known of the bed.
func basketSpread(r *report.Report, today *machine.Machine, change func(*profile.Setup) *profile.Setup, defs []report.Def[basketResult], o spread.Options) error {
	if o.Skip {
		return basketRange(r, today, change)
	}
	scatter := shotScatter()
	q := spread.Of(defs, func() spread.Finder[basketResult] {
		return func(m *machine.Machine, b *basketResult, _ []float64) (err error) {
			b.setup = change(&m.Setup)
			if b.Summary, err = profile.Summarize(b.setup); err != nil {
				return err
			}
			longer := (m.Value(scatter.Name) - 1) * b.Spring
			b.Spring += longer
			b.Total += longer
			return unfinished(b.Outcome)
		}
	})
	q.Others = []spread.Other{scatter}
	s, err := spread.Draw(today, q, o)
	if err != nil {
		return err
	}
	s.AddTo(r)
	return nil
}

// basketRange puts on the total time the range of what is not known of the bed,
// each end calibrated on the known shot for itself.
func basketRange(r *report.Report, today *machine.Machine, change func(*profile.Setup) *profile.Setup) error {
	if today.Has("coffee.unloading_exponent") {
		return nil
	}
	row := r.Row("total_time")
	band := &report.Band{Low: math.Inf(1), High: math.Inf(-1), Known: row.Digits}
	for _, unloading := range []float64{0, today.Setup.Coffee.Loading} {
		m, err := today.Vary(map[string]float64{"coffee.unloading_exponent": unloading})
		if err != nil {
			return err
		}
		s, err := profile.Summarize(change(&m.Setup))
		if err != nil {
			return err
		}
		band.Low, band.High = min(band.Low, s.Total), max(band.High, s.Total)
	}
	row.Band = band
	r.Note("the range of the total time is from a bed that springs back as the pressure falls to one that stays compacted, each calibrated on the known shot for itself")
	return nil
}

// basketSentences say what the other basket gives.
func basketSentences(r *report.Report) []report.Sentence {
	of := func(key string) report.Amount { return shown(r.Row(key)) }
	was := func(key string, digits int) report.Amount {
		row := r.Row(key).Beside
		return report.Of(row.Value, row.Unit, digits)
	}
	time := of("total_time")
	time.Digits = 0
	s := []report.Sentence{report.Say("In the other basket %s in, %s out in %s, at a peak of %s; today %s in, %s out in %s.",
		of("dose"), of("yield"), time, of("peak"), was("dose", 1), was("yield", 1), was("total_time", 0))}
	if text := r.Row("filling").Text; text == string(profile.TooFull) || text == string(profile.TooEmpty) {
		s = append(s, report.Say("The other basket is %s for this dose.", text))
	}
	return s
}

// waysBack says in words and rows how to bring a total time [s] back.
func waysBack(r *report.Report, next *profile.Setup, total float64) []report.Sentence {
	to := report.Of(total, quantity.InS, 0)
	grind, err := next.GrindFor(total)
	var way report.Sentence
	switch {
	case err != nil:
		way = report.Say("no grind brings %s (%s)", to, machine.WithoutPackage(err))
	case grind >= 1:
		way = report.Say("for %s again grind finer, to %s more resistance", to, report.Of(grind-1, quantity.InPercent, 0))
	default:
		way = report.Say("for %s again grind coarser, to %s less resistance", to, report.Of(1-grind, quantity.InPercent, 0))
	}
	if err == nil {
		r.Rows = append(r.Rows, report.Row{Key: "grind_change", Name: "grind: change of resistance", Value: grind - 1, Unit: quantity.InPercent})
	}
	dose, err := next.DoseFor(total)
	if err != nil {
		return []report.Sentence{report.Say("%s; no dose does with this grind.", way)}
	}
	r.Rows = append(r.Rows, report.Row{Key: "dose_for_time", Name: "or by dose", Value: dose, Unit: quantity.InG, Digits: 1})
	all := []report.Sentence{report.Say("%s, or dose %s with the grind as it is.", way, report.Of(dose, quantity.InG, 1))}
	if room, filling := next.InBasket(next.Basket, dose).Room(); filling == profile.TooFull || filling == profile.TooEmpty {
		all = append(all, report.Say("With that dose the basket would be %s, with %s above the bed.", string(filling), report.Of(room, quantity.InMM, 1)))
	}
	return all
}
