package answer

import (
	"errors"
	"fmt"

	"springcalc/cmd/springcalc/internal/machine"
	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/report"
	"springcalc/spring"
	"springcalc/tables"
)

// member is one of the springs of a machine, with all that does not follow from the
// values of the sheet: what the tables know of its wire, and what can be said of it.
type member struct {
	table     string // of the sheet: "spring" or "spring.inner"
	name      string // "outer" or "inner"; "" where it is the only one
	by        *SpringOptions
	wire      *tables.Wire // nil where the grade is not stated
	moduli    tables.Moduli
	rm        tables.Strength // tensile strength; zero where it is not known
	limits    []limit         // of the stress
	curve     spring.LifeCurve
	pulsating tables.Pulsating // what Bhandari takes of the wire
	pulsates  bool             // whether he has it
	coiled    bool             // its dimensions are stated, not only rate and preload
	thick     float64          // what EN 10218-2 grants the wire [m]; 0 where it has nothing
	lacks     map[string]bool
	known     bool // the value of the sheet is known: what has no answer then is left out
	figures   []figure
	notes     []report.Sentence
	doubts    []report.Sentence
	minor     []report.Sentence // doubts that hardly change the answer
}

// figure is a figure from a table or a certificate that an answer rests on.
type figure struct {
	what   string
	value  report.Sentence
	basis  string
	source string
}

// limit is a shear stress that a source allows.
type limit struct {
	spring.Criterion
	key    string // in keys of rows: "shigley_after"
	en     bool   // goes with the solid length of EN 13906-1
	cocked bool   // it speaks of a spring at work
	solid  bool   // it speaks of a spring pressed solid
	by     string // whose it is, short enough for a row
	asked  float64
}

// publishedLimits are the published limits, in keys of rows and in words of rows.
var publishedLimits = map[string][2]string{
	"before set removal": {"shigley_before", "Shigley, not preset"}, "after set removal": {"shigley_after", "Shigley, preset"},
	"at solid, preset": {"en_solid", "EN, preset"}, "working load, static": {"en_static", "EN, static"},
}

// springResult is what the rows of one spring are made from: at 20 °C, with the
// values of the sheet or of a draw.
type springResult struct {
	*member
	line     spring.Linear // as the piston feels it
	stroke   float64       // travel from rest to cocked [m]
	us, en   spring.Compression
	working  spring.Working
	sut      float64 // tensile strength [Pa]; 0 where it is not known
	soft     float64 // fall of the moduli with temperature [1/K]
	hot      float64 // temperature at work [K]; 0 where it is not stated
	warm     float64 // rate at work over that at 20 °C, by the table of the wire [-]
	warmUS   float64 // the same by US makers [-]
	bore     float64 // of what it works in [m]; 0 where that is not stated, or another spring is between
	rod      float64 // through it [m]; likewise
	play     float64 // wanted to both, in diameter [m]
	clash    spring.Clearance
	gaps     spring.Clearance
	margins  []spring.Margins // by limit
	fatigue  map[spring.Line]spring.Fatigue
	cautious float64 // safety against fatigue that the answer is judged by [-]
	norton   float64
	bhandari float64
	life     spring.Life
	used     float64 // share of the life [-]
	straight map[spring.Seating]spring.Buckling
}

// newMember finds what the tables have of a spring. What is impossible is noted in
// the machine.
func newMember(m *machine.Machine, o *SpringOptions, table, name string) *springResult {
	s := &member{table: table, name: name, by: o, lacks: map[string]bool{}, known: true, coiled: m.Has(table + ".wire")}
	r := &springResult{member: s}
	before := len(m.Faults)
	if s.coiled {
		if c, _, ok := m.Coil(table); ok {
			s.lookUp(m, &c)
		}
	}
	if len(m.Faults) > before {
		return r
	}
	if err := r.fill(m); err != nil && len(m.Faults) == before {
		m.FaultFrom(table, err)
	}
	s.known = false
	if s.coiled && len(m.Faults) == before {
		s.doubts = append(report.Tolds(r.us.Doubts()), s.doubts...)
	}
	return r
}

func (s *member) doubt(format string, args ...any) {
	s.doubts = append(s.doubts, report.Say(format, args...))
}

// rests notes a figure that the answer rests on.
func (s *member) rests(what string, value report.Sentence, basis tables.Grade, source string) {
	s.figures = append(s.figures, figure{what, value, string(basis), source})
}

// lookUp finds wire, strength and limits of a spring.
func (s *member) lookUp(m *machine.Machine, c *spring.Compression) {
	if path := s.table + ".grade"; m.Has(path) {
		wire, err := machine.WireOf(m.Text(path))
		if err == nil {
			s.moduli, err = wire.Moduli(c.Wire)
		}
		switch {
		case err == nil:
			s.wire = &wire
			s.rests("shear modulus G", amount(s.moduli.G, quantity.InMPa, 0), s.moduli.Grade, s.moduli.Source)
			s.rests("density", amount(c.Density, quantity.InGPerCM3, 2), wire.Grade, wire.Source)
		case errors.Is(err, machine.ErrSeveral):
			s.doubt("The grade leaves open which wire it is, so nothing is said of its strength, fatigue and relaxation by tables.")
		case errors.Is(err, tables.ErrRange):
			s.doubt("Neither moduli nor strength of %s wire of this size are published, so nothing is said of its stress, fatigue and relaxation by tables.", wire.Name)
		default:
			m.FaultFrom(path, err)
			return
		}
	}
	if t, err := tables.WireTolerance("EN 10218-2", c.Wire); err == nil {
		s.thick = t.Value
	}
	var err error
	switch s.rm, err = m.Strength(s.table, s.wire, c.Wire); {
	case err == nil:
		s.rests("tensile strength Rm", report.Say("at least %s", report.Of(s.rm.Min, quantity.InMPa, 0)), s.rm.Grade, s.rm.Source)
		if s.rm.Note != "" {
			s.minor = append(s.minor, report.Say("Tensile strength: %s.", report.Told(s.rm.Note)))
		}
	case s.wire != nil:
		s.doubt("No strength is known: %s.", machine.WithoutPackage(err))
	case !m.Has(s.table + ".grade"):
		s.doubt("The grade of the wire is not stated, so nothing is said of strength, fatigue and relaxation.")
	}
	s.findLimits(m)
	if s.rm.Min > 0 && s.wire != nil {
		s.findCurve()
		if s.pulsating, s.pulsates = s.wire.Pulsating(); s.by.Peened { // the book has none for peened wire
			s.pulsates = false
		}
	}
}

// findLimits finds the allowable stresses: the one that the sheet states, or
// those of the methods that are asked for.
func (s *member) findLimits(m *machine.Machine) {
	if path := s.table + ".allowable_stress"; m.Has(path) {
		if s.rm.Min == 0 {
			s.rm.Min = m.Value(path) // the share is 1
			defer func() { s.rm.Min = 0 }()
		}
		if c, ok := m.OwnAllowable(s.table, s.rm.Min); ok {
			s.limits = []limit{{Criterion: c, key: "own", by: "own limit", cocked: true, solid: true, asked: 1}}
			s.rests("allowable stress", amount(m.Value(path), quantity.InMPa, 0), machine.Stated, path)
		}
		return
	}
	if s.rm.Min == 0 || s.wire == nil {
		return
	}
	for _, method := range []string{machine.Shigley, machine.EN} {
		if s.by.Method != "" && s.by.Method != method {
			continue
		}
		like, ok := machine.WireIn(*s.wire, method == machine.EN)
		published := like.Allowables()
		switch {
		case !ok || len(published) == 0:
			s.doubt("%s has no allowable stress for %s wire.", method, s.wire.Name)
			continue
		case like.Name != s.wire.Name:
			s.doubt("%s has no allowable stress for %s wire: the share of its strength that %s wire bears is taken.", method, s.wire.Name, like.Name)
		}
		for _, a := range published {
			s.addLimit(method, a)
		}
	}
}

// addLimit adds a published allowable stress, unless it is for a spring that is
// made otherwise.
func (s *member) addLimit(method string, a tables.Allowable) {
	_, asked := machine.MethodOf(a)
	if method == machine.Shigley && s.by.Preset && !machine.AfterPresetting(a) {
		return
	}
	words := publishedLimits[a.Condition]
	l := limit{Criterion: machine.CriterionOf(method, a), key: words[0], by: words[1], en: method == machine.EN, asked: asked}
	for _, state := range machine.StatesOf(a) {
		l.cocked = l.cocked || state == "cocked"
		l.solid = l.solid || state == "solid"
	}
	s.limits = append(s.limits, l)
	share := report.Say("%s", report.Of(a.Low, quantity.InPercent, 0))
	if a.High > a.Low {
		share = report.Say("%s (to %s)", share, report.Of(a.High, quantity.InPercent, 0))
	}
	s.rests("allowed share of it, "+l.Name(), share, a.Grade, a.Source)
}

// findCurve finds how many pulls the wire bears.
func (s *member) findCurve() {
	curve, million, err := machine.LifeCurve(*s.wire, s.by.Peened)
	if err != nil {
		s.doubt("No finite life is published for %s wire.", s.wire.Name)
		return
	}
	s.curve = curve
	s.rests("stress for 1e6 pulls from zero, over Rm", amount(million.Value, quantity.InPercent, 0), million.Grade, million.Source)
}

// amount is an amount as a sentence of its own.
func amount(si float64, unit quantity.Display, digits int) report.Sentence {
	return report.Say("%s", report.Of(si, unit, digits))
}

// part works out a part of the answer. What has no answer with the values of the
// sheet is a doubt, and left out of every draw; in a draw it is an error.
func (s *member) part(name, none string, err error) error {
	switch {
	case err == nil || s.lacks[name]:
		return nil
	case !s.known:
		return err
	}
	s.lacks[name] = true
	s.doubt("%s: %s.", none, machine.WithoutPackage(err))
	return nil
}

// fill works a spring out with the values of a machine. What the physics finds
// impossible is noted in the machine.
func (r *springResult) fill(m *machine.Machine) error {
	t := r.table
	before := len(m.Faults)
	r.stroke = m.Value("piston.stroke")
	if !r.coiled {
		r.line = m.Measured(t)
		return nil
	}
	var ok bool
	if r.us, r.soft, ok = m.AtRoom(t); !ok {
		return m.Faults.Err()
	}
	if r.line = m.Installed(t, r.us); len(m.Faults) > before {
		return m.Faults.Err()
	}
	r.working.Rest = m.Rest(t)
	r.working.Cocked = r.working.Rest - r.stroke
	if !(r.line.Force(r.stroke) > 0) {
		m.FaultOf(m.RestKey(t), "with this the spring is loose even when cocked")
		return m.Faults.Err()
	}
	r.hot = m.ValueOr(t+".temperature", 0)
	r.space(m)
	return errors.Join(r.byEN(), r.stresses(m), r.pulls(), r.standing(), r.heated())
}

// space finds what the spring works in and over.
func (r *springResult) space(m *machine.Machine) {
	if r.name != "inner" {
		r.bore = m.ValueOr("space.bore", 0)
	}
	if r.name != "outer" {
		r.rod = m.ValueOr("space.rod", 0)
	}
	if r.bore > 0 || r.rod > 0 {
		r.play = m.Wished("space.play")
	}
}

// byEN counts the ends as EN 13906-1 does, with the thickest wire that EN 10218-2
// lets pass for this diameter, and finds how far the coils stay apart.
func (r *springResult) byEN() (err error) {
	r.clash, err = r.us.Clearance(r.working.Cocked, spring.Static)
	if err := r.part("clash", "No clash allowance", err); err != nil {
		return err
	}
	r.en = r.us
	r.en.Convention = spring.EN
	if _, known := r.en.Convention.DeadCoils(r.en.Ends); !known {
		return r.part("en", "The rules of EN 13906-1 are left out", fmt.Errorf("it knows closed ends only"))
	}
	if r.thick > 0 {
		r.en.WireMax = r.en.Wire + r.thick
	}
	r.gaps, err = r.en.Clearance(r.working.Cocked, r.by.duty())
	if err = errors.Join(r.en.Validate(), err); err != nil && r.known {
		r.lacks["en"] = true
		r.doubt("By EN 13906-1 the coils touch at %s, before the spring is cocked, so its rules are left out.", report.Of(r.en.SolidLength(), quantity.InMM, 1))
		return nil
	}
	return r.part("en", "", err)
}

// stresses compares the stress with each limit.
func (r *springResult) stresses(m *machine.Machine) error {
	r.sut = m.ValueOr(r.table+".tensile_strength", r.rm.Min) // by the tables that of the nominal size, whatever the wire is drawn as
	r.margins = make([]spring.Margins, len(r.limits))
	for i, l := range r.limits {
		c, criterion, rm := r.us, l.Criterion, r.sut
		if l.en {
			if r.lacks["en"] {
				continue
			}
			c = r.en
		}
		if l.key == "own" {
			if rm == 0 {
				rm = m.Value(r.table + ".allowable_stress")
			}
			criterion, _ = m.OwnAllowable(r.table, rm)
		}
		var err error
		r.margins[i], err = c.Check(criterion, spring.Loading{Working: r.working, Tensile: rm})
		if err := r.part(l.key, "No safety by "+l.Name(), err); err != nil {
			return err
		}
	}
	return nil
}

// pulls finds whether the wire breaks by repetition, and when.
func (r *springResult) pulls() error {
	if r.sut == 0 {
		return nil
	}
	strength := machine.EnduranceOf(r.sut, r.by.Peened)
	r.fatigue = map[spring.Line]spring.Fatigue{}
	var all error
	for _, strength.Line = range fatigueLines {
		f, err := r.us.Fatigue(r.working, strength)
		r.fatigue[strength.Line], all = f, errors.Join(all, err)
	}
	strength.Line, strength.Cautious = spring.Goodman, true
	cautious, err := r.us.Fatigue(r.working, strength)
	r.cautious = cautious.Safety
	if err := r.part("fatigue", "No fatigue limit", inWordsOf(errors.Join(all, err), "the wire is weaker than Zimmerli's limit presumes")); err != nil {
		return err
	}
	if r.pulsates {
		r.bhandari, err = r.us.FatiguePulsating(r.working, spring.Pulsating{Endurance: r.pulsating.Endurance * r.sut, Yield: r.pulsating.Yield * r.sut})
		if err := r.part("bhandari", "No safety by Bhandari", err); err != nil {
			return err
		}
	}
	limit := spring.FromZeroLimit{Range: tables.NortonEndurance(r.by.Peened).Range, UltimateShear: strength.UltimateShear}
	r.norton, err = r.us.FatigueNorton(r.working, limit)
	if err := r.part("norton", "No safety by Norton", inWordsOf(err, "at rest the stress is past what breaks the wire")); err != nil || r.curve == nil {
		return err
	}
	if r.life, err = r.us.Life(r.working, spring.LifeWire{Tensile: r.sut, UltimateShear: strength.UltimateShear, Curve: r.curve}); err == nil && r.by.pulls > 0 {
		r.used, err = spring.Miner([]spring.Block{{Cycles: r.by.pulls, Life: r.life.Cycles}})
	}
	return r.part("life", "No finite life", inWordsOf(err, "cocked, the stress is past what breaks the wire"))
}

// inWordsOf words an error for a value outside the range of its source.
func inWordsOf(err error, words string) error {
	if errors.Is(err, spring.ErrRange) {
		return errors.New(words)
	}
	return err
}

// fatigueLines are the lines of fatigue, the one that judges first.
var fatigueLines = []spring.Line{spring.Goodman, spring.Gerber, spring.Sines}

// seatings are the ways in which a spring may stand, in words.
var seatings = []struct {
	of   spring.Seating
	name string
}{{spring.FixedFixed, "both flat"}, {spring.FixedHinged, "flat and tilting"}, {spring.HingedHinged, "both tilting"}}

// standing finds when the spring buckles.
func (r *springResult) standing() (all error) {
	r.straight = map[spring.Seating]spring.Buckling{}
	for _, s := range seatings {
		b, err := r.us.Buckling(spring.Support{Seating: s.of, Guided: r.by.Guided})
		r.straight[s.of], all = b, errors.Join(all, err)
	}
	return all
}

// heated finds what warmth does to the rate, by the table and by US makers.
func (r *springResult) heated() error {
	if r.hot == 0 {
		return nil
	}
	at := func(softening float64) (float64, error) {
		c, err := r.us.At(spring.Heat{Celsius: quantity.InC.Of(r.hot), Softening: softening})
		return c.Rate() / r.us.Rate(), err
	}
	var errs [2]error
	r.warm, errs[0] = at(r.soft)
	r.warmUS, errs[1] = at(spring.SofteningUS)
	return r.part("hot", "No figures at that temperature", errors.Join(errs[:]...))
}
