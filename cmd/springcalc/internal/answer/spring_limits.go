package answer

import (
	"cmp"
	"slices"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/spring"
)

// check is a limit of a spring, and how it is kept.
type check struct {
	of    *springResult
	row   string  // key of the row that it stands on; "" for none
	name  string  // "coil gap"
	by    string  // "EN 13906-1, dynamic duty"
	has   float64 // the row's, or 1 for kept and 0 for exceeded where there is none [SI]
	asked float64 // at least [SI]
	unit  quantity.Display
	digit int
	idle  bool // does not concern the spring at work: pressed solid, say
	plain bool // kept or not: there is no amount of it
}

// left is what is left to the limit, of what is asked for [-].
func (c *check) left() float64 {
	if c.asked == 0 {
		return c.has
	}
	return c.has/c.asked - 1
}

// amount is an amount in the unit of the check.
func (c *check) amount(v float64) report.Amount { return report.Of(v, c.unit, c.digit) }

// full is the name of a check with its spring.
func (c *check) full() string {
	if c.of.name != "" {
		return c.name + " of the " + c.of.name + " spring"
	}
	return c.name
}

// key is the key of a row of a spring.
func (p *springResult) key(row string) string {
	if p.name != "" && row != "" {
		return p.name + "_" + row
	}
	return row
}

// checksOf are the limits of a spring.
func (a *springAnswer) checksOf(p *springResult) (all []check) {
	add := func(c check) {
		if c.of, c.row = p, p.key(c.row); c.row == "" || a.Row(c.row) != nil {
			all = append(all, c)
		}
	}
	if !p.coiled {
		return nil
	}
	add(check{row: "gap_cocked", name: "coil gap", by: "EN", has: p.gaps.Gap, asked: p.gaps.Required, unit: quantity.InMM, digit: 1})
	add(check{row: "clash", name: "clash allowance", by: "Shigley", has: p.clash.Clash, asked: 0.15, unit: quantity.InPercent})
	for i, l := range p.limits {
		by := l.by
		safety := func(m spring.Margin) float64 { n, _ := m.Safety(); return n }
		if l.cocked {
			add(check{row: "safety_cocked_" + l.key, name: "stress cocked", by: by, has: safety(p.margins[i].Cocked), asked: l.asked, digit: 1})
		}
		if l.solid {
			add(check{row: "safety_solid_" + l.key, name: "stress pressed solid", by: by, has: safety(p.margins[i].Solid), asked: l.asked, digit: 1, idle: true})
		}
	}
	add(check{row: "fatigue_safety", name: "fatigue", by: "Goodman, " + surface(a.Peened), has: p.cautious, asked: 1})
	if b := p.straight[spring.FixedFixed]; !a.Guided && !b.Never {
		add(check{row: "buckling", name: "buckling", by: "flat seats", has: b.CriticalDeflection, asked: p.us.Free - p.working.Cocked, unit: quantity.InMM, digit: 1})
	}
	if p.wire != nil && p.hot > 0 && p.wire.ServiceTemp > 0 {
		c := check{name: "service temperature", by: "its wire", has: 1, asked: 1, plain: true}
		if p.hot > p.wire.ServiceTemp {
			c.has = 0
		}
		add(c)
	}
	for _, fit := range []string{"bore", "rod"} {
		if row := a.Row(p.key("play_" + fit)); row != nil {
			add(check{row: "play_" + fit, name: "fit to the " + fit, by: "play", has: row.Value, asked: p.play, unit: quantity.InMM, digit: 1, plain: p.play == 0})
		}
	}
	if row := a.Row(p.key("life_used")); row != nil {
		all = append(all, check{of: p, row: row.Key, name: "fatigue life", by: "Miner", has: 1 / p.used, asked: 1, digit: 1})
	}
	return all
}

// surface is that of a wire in words.
func surface(peened bool) string {
	if peened {
		return "peened"
	}
	return "unpeened"
}

// judge puts a verdict on the row of every limit.
func (a *springAnswer) judge() {
	for _, p := range a.parts {
		of := a.checksOf(p)
		a.shorten(of)
		a.checks = append(a.checks, of...)
	}
	for i := range a.checks {
		c := &a.checks[i]
		row := a.Row(c.row)
		if row == nil || !row.Note.Empty() {
			continue
		}
		if c.left() < 0 && !c.idle && len(a.parts) == 1 {
			row.Short = true
		}
		limit := report.Say("%s ≥ %s", c.by, c.amount(c.asked))
		switch {
		case c.name == "fatigue life":
			row.Note = report.Say("due at 30 to 300 %%")
		case c.left() < 0 && c.unit.Symbol == "":
			row.Note = report.Say("exceeded by %s; %s", report.Of(c.asked/c.has-1, quantity.InPercent, 0), limit)
		case c.left() < 0:
			row.Note = report.Say("exceeded by %s; %s", c.amount(c.asked-c.has), limit)
		case row.Band != nil && row.Band.Low < c.asked:
			row.Note = report.Say("may miss; %s", limit)
		default:
			row.Note = limit
		}
	}
}

// shorten puts the tightest stress of a spring at work into the short answer.
func (a *springAnswer) shorten(checks []check) {
	if len(a.parts) > 1 {
		return
	}
	var worst *check
	for i := range checks {
		if c := &checks[i]; c.name == "stress cocked" && (worst == nil || c.left() < worst.left()) {
			worst = c
		}
	}
	if worst != nil {
		a.Row(worst.row).Short = true
	}
}

// judged says whether the springs are good as they are used, and how much is left.
func (a *springAnswer) judged() (all []report.Sentence) {
	if a.nested() {
		all = append(all, a.fits()...)
	}
	var past, kept []*check
	for i := range a.checks {
		switch c := &a.checks[i]; {
		case c.idle:
		case c.left() < 0:
			past = append(past, c)
		default:
			kept = append(kept, c)
		}
	}
	judged := len(past) + len(kept)
	if judged == 0 {
		return all
	}
	tightestFirst := func(x, y *check) int { return cmp.Compare(x.left(), y.left()) }
	slices.SortStableFunc(past, tightestFirst)
	kept = slices.DeleteFunc(kept, func(c *check) bool { return c.plain })
	slices.SortStableFunc(kept, tightestFirst)
	used := "As it is used it"
	switch {
	case len(all) > 0: // they do not go together
		used = "Otherwise they"
	case len(a.parts) > 1:
		used = "As they are used they"
	}
	named := func(c *check) report.Sentence { return report.Say("%s (%s)", c.full(), c.by) }
	switch {
	case len(past) > 0:
		var names []report.Sentence
		for _, c := range past {
			names = append(names, named(c))
		}
		all = append(all, report.Say("%s exceed%s %d of %d limits: %s.", used, thirdPerson(a.parts), len(past), judged, joinSentences(names)))
	case len(kept) == 0:
	case a.mayMiss(kept[0]):
		all = append(all, report.Say("%s keep%s every limit (%d judged), but may miss one within the 95 %% interval: %s.", used, thirdPerson(a.parts), judged, named(kept[0])))
	default:
		all = append(all, report.Say("%s keep%s every limit (%d judged), the tightest by %s: %s.", used, thirdPerson(a.parts), judged,
			report.Of(kept[0].left(), quantity.InPercent, 0), named(kept[0])))
	}
	return append(all, a.remaining()...)
}

// thirdPerson is the ending of what one spring does.
func thirdPerson(parts []*springResult) string {
	if len(parts) > 1 {
		return ""
	}
	return "s"
}

// mayMiss says whether the interval of a limit's row crosses it.
func (a *springAnswer) mayMiss(c *check) bool {
	row := a.Row(c.row)
	return row != nil && row.Band != nil && row.Band.Low < c.asked
}

// remaining says how much travel and life a spring has left.
func (a *springAnswer) remaining() []report.Sentence {
	p := a.parts[0]
	if !p.coiled || len(a.parts) > 1 {
		return nil
	}
	s := report.Say("Cocked, %s are left until the coils touch", report.Of(p.left(), quantity.InMM, 1))
	if row := a.Row("life"); row != nil {
		s = report.Say("%s; it bears %s pulls", s, row.Text)
		if a.pulls > 0 {
			s = report.Say("%s, and %s are done", s, thousands(int(a.pulls)))
		}
	}
	return []report.Sentence{report.Say("%s.", s)}
}

// fits says whether the inner spring goes into the outer one.
func (a *springAnswer) fits() []report.Sentence {
	outer, inner, room := a.parts[0].us, a.parts[1].us, a.set().room()
	if room.Outer == 1 {
		a.Doubt("the spring under [spring.inner] is the wider one: the room is that of the other inside it")
		outer, inner = inner, outer
	}
	mm := func(v float64) report.Amount { return report.Of(v, quantity.InMM, 2) }
	row := a.Row("room_solid")
	switch {
	case room.Free <= 0:
		row.Note = report.Plain("does not fit")
		return []report.Sentence{report.Say("The inner spring does not fit: it is %s outside, and the outer one is %s inside.", mm(inner.Outer()), mm(outer.Inner()))}
	case !room.Fits():
		row.Note = report.Plain("jams when pressed")
		return []report.Sentence{report.Say("The inner spring goes in but jams when pressed: solid it is %s outside, and the outer one is %s inside.",
			mm(inner.Outer()+inner.Growth().FreeToTurn), mm(outer.Inner()))}
	case room.Solid < room.Usual:
		row.Note = report.Say("half the difference of the wires, %s, is usual (from memory)", mm(room.Usual))
	}
	return nil
}

// remarks are doubts and notes of the springs, the weightiest first: those that hold
// of both stand once.
func (a *springAnswer) remarks() {
	for _, p := range a.parts {
		p.doubts = append(a.warnings(p), p.doubts...)
		p.minor = append(a.caveats(p), p.minor...)
		a.evidence(p)
	}
	all := both(a.parts, func(p *springResult) []report.Sentence { return p.doubts })
	if len(a.parts) > 1 {
		all = append(all, report.Plain(spring.OppositeHands))
	}
	for _, d := range append(all, both(a.parts, func(p *springResult) []report.Sentence { return p.minor })...) {
		if !slices.ContainsFunc(a.Doubts, func(e report.Sentence) bool { return e.String() == d.String() }) { // a whole machine has some of them
			a.Doubts = append(a.Doubts, d)
		}
	}
	a.Notes = append(a.Notes, both(a.parts, func(p *springResult) []report.Sentence { return p.notes })...)
}

// warnings are doubts that follow from the numbers of a spring, the weightiest first.
func (a *springAnswer) warnings(p *springResult) (all []report.Sentence) {
	say := func(yes bool, format string, args ...any) {
		if yes {
			all = append(all, report.Say(format, args...))
		}
	}
	say(p.line.Preload < 0, "The spring is loose at rest: it engages after %s of the stroke.", report.Of(-p.line.Preload/p.line.Rate, quantity.InMM, 1))
	if !p.coiled {
		return all
	}
	if p.wire != nil && p.hot > 0 {
		low := p.wire.ServiceTemp
		say(low > 0 && p.hot > low, "At %s the wire is over its highest service temperature of %s: it loses load with time, more the hotter it is.",
			report.Of(p.hot, quantity.InC, 0), report.Of(low, quantity.InC, 0))
	}
	for i := range a.checks {
		c := &a.checks[i]
		say(c.of == p && c.idle && c.has < 1, "Pressed solid the wire is %s past what it bears (%s): it must not be pressed solid, or takes a set.",
			report.Of(1/c.has-1, quantity.InPercent, 0), c.by)
	}
	if a.Row(p.key("life")) != nil && p.life.Bound != spring.More {
		endless := p.cautious >= 1
		for _, line := range fatigueLines {
			endless = endless && p.fatigue[line].Safety >= 1
		}
		say(endless, "By Zimmerli's limit the life is endless, by the table of finite lives it is not: the sources differ.")
	}
	const wireCounts = "1 % of the wire is 4 % of the rate."
	switch row := a.Row(p.key("rate")); {
	case a.Find.Unknown != "":
	case row.Band == nil:
		say(true, "No ± is stated of the dimensions, so none is given of rate and loads: %s", wireCounts)
	case a.onlyAssumed(row.Key):
		say(true, "No ± is stated of the dimensions, so that of the rate is of the shear modulus alone: %s", wireCounts)
	}
	say(p.thick == 0, "EN 10218-2 has no tolerance for wire of this diameter: solid lengths are those of the nominal wire.")
	return all
}

// caveats are what holds of every spring of a kind.
func (a *springAnswer) caveats(p *springResult) (all []report.Sentence) {
	if !p.coiled {
		return nil
	}
	for i := range a.checks {
		if c := &a.checks[i]; c.of == p && c.idle && c.left() < 0 && c.has >= 1 {
			all = append(all, report.Say("Pressed solid the safety is %s, where %s asks for %s.", report.Of(c.has, c.unit, 2), c.by, c.amount(c.asked)))
		}
	}
	if a.Row(p.key("fatigue_safety")) != nil {
		all = append(all, report.Tolds(p.fatigue[spring.Goodman].Doubts)...)
	}
	if a.Row(p.key("life")) != nil {
		all = append(all, report.Plain(spring.LivesScatter))
	}
	return append(all, report.Tolds(p.us.Growth().Doubts)...)
}

// onlyAssumed says whether nothing that is stated counts in a row.
func (a *springAnswer) onlyAssumed(row string) bool {
	for path, e := range a.m.Entries {
		if e.Quantity.Plus > 0 && a.spread.Share(row, path) != 0 {
			return false
		}
	}
	return true
}

// both joins what is said of the springs: what holds of all once, the rest with the
// name of its spring.
func both(parts []*springResult, of func(*springResult) []report.Sentence) (all []report.Sentence) {
	said := func(p *springResult, s report.Sentence) bool {
		return slices.ContainsFunc(of(p), func(t report.Sentence) bool { return t.String() == s.String() })
	}
	var own []report.Sentence
	for i, p := range parts {
		for _, s := range of(p) {
			switch shared := len(parts) == 1 || said(parts[1-i], s); {
			case shared && i == 0:
				all = append(all, s)
			case !shared:
				own = append(own, report.Say("%s spring: %s", p.name, s))
			}
		}
	}
	return append(own, all...)
}

// evidence names the figures that were not read in print.
func (a *springAnswer) evidence(p *springResult) {
	var names []report.Sentence
	for _, f := range p.figures {
		if f.basis != "printed" && f.basis != string(machine.Stated) {
			names = append(names, report.Say("%s %s (%s)", f.what, f.value, f.basis))
		}
	}
	if len(names) > 0 {
		p.minor = append(p.minor, report.Say("Figures from tables that were not read in print: %s; --full lists each with its source.", joinSentences(names)))
	}
}
