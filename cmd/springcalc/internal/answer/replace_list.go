package answer

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
	"springcalc/profile/replace"
	"springcalc/spring"
)

// judgeList judges the springs of a list.
func (t *task) judgeList(o *ReplaceOptions) (*choices, error) {
	list, left := candidatesOf(o.Candidates, o.wire(t))
	ranked, err := t.job.Rank(list, o.order())
	if err != nil {
		return nil, err
	}
	for _, b := range ranked.Bad {
		left = append(left, sheet.LeftOut{Line: b.Row, Why: sheet.OneLine(plainErr(b.Err))})
	}
	slices.SortStableFunc(left, func(a, b sheet.LeftOut) int { return cmp.Compare(a.Line, b.Line) })
	c := &choices{listed: true, misses: ranked.Missing, fitting: len(ranked.Fitting), leftOut: left, order: o.order()}
	for _, choice := range ranked.Fitting {
		c.best = append(c.best, replace.RowsOf([]replace.Choice{choice}, 1)...)
	}
	c.tried = len(ranked.Fitting) + len(ranked.Missing)
	c.blocked = make([]int, len(replace.Constraints()))
	for i := range ranked.Missing {
		c.blocked[ranked.Missing[i].Verdict.Blocked()[0]]++
	}
	return c, nil
}

// candidatesOf makes springs and nests of the lines of a list. Lines that are no
// springs are left out and named, and with one all others of its nest.
func candidatesOf(l *sheet.SpringList, o machine.WireOptions) (list []replace.Candidate, left []sheet.LeftOut) {
	left = slices.Clone(l.LeftOut)
	nests := map[string]*listedNest{}
	nestOf := func(name string) *listedNest {
		if nests[name] == nil {
			nests[name] = &listedNest{name: name}
		}
		return nests[name]
	}
	for _, b := range l.LeftOut {
		if b.Nest != "" {
			nestOf(b.Nest).spoilt = true
		}
	}
	for i := range l.Springs {
		s := &l.Springs[i]
		part, err := partOf(s, o)
		c := replace.Candidate{Name: s.Name, Row: s.Line, Price: s.Price, Parts: []replace.Part{part}}
		if err != nil {
			left = append(left, sheet.LeftOut{Line: s.Line, Why: sheet.OneLine(err), Nest: s.Nest})
		}
		switch {
		case s.Nest != "":
			nestOf(s.Nest).add(c, err == nil)
		case err == nil:
			list = append(list, c)
		}
	}
	for _, n := range nests {
		if !n.spoilt {
			list = append(list, n.whole)
			continue
		}
		for _, line := range n.lines {
			left = append(left, sheet.LeftOut{Line: line, Why: fmt.Sprintf("another spring of the nest %q was left out", n.name)})
		}
	}
	slices.SortFunc(list, func(a, b replace.Candidate) int { return cmp.Compare(a.Row, b.Row) })
	return list, left
}

// listedNest gathers the springs of a nest.
type listedNest struct {
	name   string
	whole  replace.Candidate
	lines  []int // of those that are springs
	spoilt bool  // one is none
}

func (n *listedNest) add(c replace.Candidate, ok bool) {
	switch {
	case !ok:
		n.spoilt = true
		return
	case n.lines == nil:
		n.whole = c
	default:
		n.whole.Parts = append(n.whole.Parts, c.Parts...)
		n.whole.Price += c.Price
	}
	n.lines = append(n.lines, c.Row)
}

// partOf is the spring of a line: by its dimensions where the list has all of
// them, else by rate, loads and lengths.
func partOf(s *sheet.SoldSpring, o machine.WireOptions) (replace.Part, error) {
	missing := missingDimensions(s)
	if len(missing) == 0 {
		return wound(s, o)
	}
	if len(s.Loads()) == 0 && !(s.Has("rate") && s.Has("free_length")) {
		if s.Has("wire") && !s.Has("rate") {
			return replace.Part{}, fmt.Errorf("wire without %s, and neither rate nor a load at a length beside it", words.AndList(missing))
		}
		return replace.Part{}, errors.New("want rate and free_length, or loads at two lengths, or wire, a coil diameter, coils, ends, grade and free_length")
	}
	sold := replace.Sold{
		Rate: s.Value("rate"), Free: s.Value("free_length"), Solid: s.Value("solid_length"), Wire: s.Value("wire"),
		Outer: s.Value("outside_diameter"), Inner: s.Value("inside_diameter"), Loads: s.Loads(), LoadBy: s.Value("load_tolerance"),
	}
	if s.Has("coil_diameter") && sold.Wire > 0 && sold.Outer == 0 && sold.Inner == 0 {
		sold.Outer = s.Value("coil_diameter") + sold.Wire
	}
	if sold.Wire > 0 && s.Has("grade") && (sold.Outer > 0 || sold.Inner > 0) {
		return woundFromRate(s, &sold, o)
	}
	part, err := sold.Part()
	return part, plainErr(err)
}

// woundFromRate is a spring of known wire, grade and diameter with as many coils as
// its rate needs. Ends that the list does not state are closed and ground, as those
// of stock springs of such wire mostly are (common practice); they touch the total
// of the coils and the solid length alone.
func woundFromRate(s *sheet.SoldSpring, sold *replace.Sold, o machine.WireOptions) (replace.Part, error) {
	wire, err := wireOf(s, o)
	if err != nil {
		return replace.Part{}, err
	}
	ends := spring.ClosedGround
	if s.Has("ends") {
		ends = machine.EndsOf(s.Text("ends"))
	}
	convention := spring.EN
	if _, ok := convention.DeadCoils(ends); !ok {
		convention = spring.US
	}
	part, err := sold.Wound(&wire, ends, convention)
	return part, plainErr(err)
}

// wireOf is the wire of a line, made as the line says, or as the options say.
func wireOf(s *sheet.SoldSpring, o machine.WireOptions) (replace.Wire, error) {
	known, err := machine.WireOf(s.Text("grade"))
	if err != nil {
		return replace.Wire{}, plainErr(err)
	}
	if text := s.Text("preset"); text != "" {
		o.Preset = text == "yes"
	}
	if text := s.Text("peened"); text != "" {
		o.Peened = text == "yes"
	}
	wire, err := machine.WireFor(known, s.Value("wire"), o)
	return wire, plainErr(err)
}

// missingDimensions are what a list does not say of the dimensions of a spring.
func missingDimensions(s *sheet.SoldSpring) (missing []string) {
	for _, want := range [][]string{{"wire"}, {"coil_diameter", "outside_diameter", "inside_diameter"}, {"active_coils", "total_coils"}, {"ends"}, {"grade"}, {"free_length"}} {
		if !s.HasAny(want...) {
			missing = append(missing, words.OrList(want))
		}
	}
	return missing
}

// agreeing is how far what a list says twice may be apart, over the value [-]:
// makers round, and print tolerances of about as much (common practice).
const agreeing = 0.1

// wound is the spring of a line that has all its dimensions. What else the list
// says of it must agree with them.
func wound(s *sheet.SoldSpring, o machine.WireOptions) (replace.Part, error) {
	wire, err := wireOf(s, o)
	if err != nil {
		return replace.Part{}, err
	}
	coil := machine.CoilOf(s)
	coil.WireMax, coil.G, coil.E, coil.Density = wire.Most, wire.G, wire.E, wire.Density
	if err := coil.Validate(); err != nil {
		return replace.Part{}, plainErr(err)
	}
	p := replace.PartOf(coil, &wire)
	p.Printed, p.LoadBy = s.Value("solid_length"), s.Value("load_tolerance")
	var faults []error
	agree := func(name string, stated, follows, by float64) {
		if math.Abs(stated-follows) > by {
			faults = append(faults, fmt.Errorf("%s does not go with the dimensions: stated is %.4g times what follows from them", name, stated/follows))
		}
	}
	for _, c := range []struct {
		name    string
		follows float64
	}{{"rate", p.Rate}, {"outside_diameter", p.Outer}, {"inside_diameter", p.Inner}, {"coil_diameter", coil.Mean}} {
		if s.Has(c.name) {
			agree(c.name, s.Value(c.name), c.follows, agreeing*c.follows)
		}
	}
	for i, l := range s.Loads() {
		force := p.Rate * (p.Free - l.Length)
		agree(fmt.Sprintf("load %d", i+1), l.Load, force, agreeing*max(l.Load, force))
	}
	return p, errors.Join(faults...)
}

// plainErr is an error without the names of packages, in units of the trade; nil
// stays nil.
func plainErr(err error) error {
	if err == nil {
		return nil
	}
	return errors.New(strings.ReplaceAll(machine.WithoutPackage(err), "impossible task: ", ""))
}
