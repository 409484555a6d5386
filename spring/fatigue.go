package spring

import (
	"errors"
	"fmt"
	"math"
)

// HotWet is the doubt that every fatigue result carries.
const HotWet = "Fatigue limits hold for clean, dry, unmarked wire at room temperature. Hot, wet or rusted wire has no endurance limit: pits start cracks, and a spring may break at any count."

// Line is how the allowed stress amplitude falls with the mean stress.
type Line int

// The lines of [Shigley] chapter 10.
const (
	Goodman Line = iota + 1 // straight, the cautious one
	Gerber                  // parabola
	Sines                   // level: the mean stress of torsion does not matter
)

var lineNames = []string{"Goodman", "Gerber", "Sines"}

func (l Line) String() string { return nameOf("Line", lineNames, l) }
func (l Line) MarshalText() ([]byte, error) {
	return []byte(l.String()), known("fatigue line", lineNames, l)
}
func (l *Line) UnmarshalText(text []byte) (err error) {
	*l, err = named[Line]("fatigue line", lineNames, text)
	return err
}

// Cycle is a shear stress that swings by Amplitude to both sides of Mean.
type Cycle struct {
	Amplitude float64 // τa: half the swing [Pa]
	Mean      float64 // τm: middle [Pa]
}

func (c Cycle) check() error {
	if !(c.Amplitude > 0 && c.Mean >= c.Amplitude*(1-1e-9) && !math.IsInf(c.Mean, 1)) {
		return fmt.Errorf("%w: stress amplitude is %.6g Pa about a mean of %.6g Pa, want 0 < amplitude <= mean", ErrInput, c.Amplitude, c.Mean)
	}
	return nil
}

// cycle returns the stress swing between the working lengths. Sources differ in
// the factors they put on amplitude and mean, so the callers choose.
func (s Compression) cycle(w Working, amplitude, mean Factor) (Cycle, error) {
	rest, cocked, err := s.forces(w)
	if err != nil {
		return Cycle{}, err
	}
	c := Cycle{
		Amplitude: s.Stress((cocked-rest)/2, amplitude),
		Mean:      s.Stress((cocked+rest)/2, mean),
	}
	if !(c.Amplitude > 0) {
		return Cycle{}, fmt.Errorf("%w: the spring is loose at both lengths, so no stress swings", ErrInput)
	}
	return c, nil
}

// Endurance is a stress cycle that wire bears without end. Zimmerli's, whatever
// size (to 10 mm) and steel, is 35 kpsi about 55 kpsi, [Shigley] eq. 10-28.
type Endurance struct {
	Amplitude float64 // Ssa [Pa]
	Mean      float64 // Ssm: mean at which the amplitude was found [Pa]
}

// Reversed returns the amplitude at no mean stress [Pa] that a line through the
// endurance and the ultimate shear strength Ssu [Pa] reaches,
//
//	Goodman  Sse = Ssa/(1 - Ssm/Ssu)      Gerber  Sse = Ssa/(1 - (Ssm/Ssu)²)
//	Sines    Sse = Ssa                    [Shigley] Prob. 10-24 to 10-27
func (e Endurance) Reversed(l Line, ssu float64) (float64, error) {
	if err := known("fatigue line", lineNames, l); err != nil {
		return 0, err
	}
	if !(ssu > e.Mean && ssu <= 1e10) {
		return 0, fmt.Errorf("%w: ultimate shear strength is %.6g Pa, want more than the mean stress of %.6g Pa of the endurance, up to 1e10 Pa", ErrRange, ssu, e.Mean)
	}
	if err := errors.Join(
		quantity{"endurance amplitude", e.Amplitude, "Pa"}.within(1e6, 1e10, ErrInput),
		quantity{"mean stress of the endurance", e.Mean, "Pa"}.within(0, 1e10, ErrInput),
	); err != nil {
		return 0, err
	}
	x := e.Mean / ssu
	switch l {
	case Goodman:
		return e.Amplitude / (1 - x), nil
	case Gerber:
		return e.Amplitude / (1 - x*x), nil
	default: // Sines
		return e.Amplitude, nil
	}
}

// Allowed returns the amplitude [Pa] at which a cycle that grows in proportion,
// with r = τa/τm as in c, meets the line,
//
//	Goodman  r Sse Ssu/(r Ssu + Sse)
//	Gerber   (r² Ssu²/(2 Sse)) (-1 + sqrt(1 + (2 Sse/(r Ssu))²))
//	Sines    Ssa                          [Shigley] Prob. 10-26, 10-27
func (e Endurance) Allowed(l Line, c Cycle, ssu float64) (float64, error) {
	sse, err := e.Reversed(l, ssu)
	if err := errors.Join(err, c.check()); err != nil {
		return 0, err
	}
	r := c.Amplitude / c.Mean
	switch l {
	case Goodman:
		return r * sse * ssu / (r*ssu + sse), nil
	case Gerber:
		q := 2 * sse / (r * ssu)
		return r * ssu / q * (math.Hypot(1, q) - 1), nil
	default: // Sines
		return sse, nil
	}
}

// Strength is what the wire bears under repeated load.
type Strength struct {
	Endurance     Endurance // Ssa, Ssm: such as Zimmerli's for spring wire up to 10 mm
	UltimateShear float64   // Ssu: such as 0.67 of the tensile strength, [Shigley] eq. 10-30 [Pa]
	Line          Line      // Goodman, Gerber or Sines
	Cautious      bool      // do not let the allowed amplitude rise over Ssa at a mean under Ssm; see Fatigue
}

// Fatigue is the margin of a spring against breaking by repetition.
type Fatigue struct {
	Cycle    Cycle   // stress swing with Bergsträsser's factor on both parts
	Reversed float64 // Sse: endurance without mean stress [Pa]
	Allowed  float64 // amplitude the line allows [Pa]
	Safety   float64 // n_f = Allowed/τa [-]
	Doubts   []string
}

// Fatigue returns the factor of safety against fatigue between two lengths, for
// clean wire at room temperature, [Shigley] section 10-9.
//
// Every line passes through (Ssm, Ssa). Under Ssm a weaker wire, by the formula,
// bears more, because its line is the steeper: a least strength then is not on the
// safe side. A Cautious strength keeps to Ssa there, which is the least that any
// strength gives, so that the answer is on the safe side at every mean stress and
// never falls with the strength of the wire.
func (s Compression) Fatigue(w Working, m Strength) (Fatigue, error) {
	c, err := s.cycle(w, Bergstrasser, Bergstrasser)
	if err != nil {
		return Fatigue{}, err
	}
	f := Fatigue{Cycle: c, Doubts: []string{HotWet}}
	if f.Reversed, err = m.Endurance.Reversed(m.Line, m.UltimateShear); err != nil {
		return Fatigue{}, err
	}
	if f.Allowed, err = m.Endurance.Allowed(m.Line, c, m.UltimateShear); err != nil {
		return Fatigue{}, err
	}
	if m.Cautious {
		f.Allowed = min(f.Allowed, m.Endurance.Amplitude)
	}
	f.Safety = f.Allowed / c.Amplitude
	if f.Safety < 1 {
		f.Doubts = append(f.Doubts, "The stress swing is past the endurance limit: the life is finite.")
	}
	if s.Wire > 10e-3 {
		f.Doubts = append(f.Doubts, "Zimmerli tested wire up to 10 mm; this is thicker.")
	}
	return f, nil
}

// Pulsating is wire data of Indian practice: endurance in a swing from zero,
// and yield.
type Pulsating struct {
	Endurance float64 // S'se: highest stress of a swing from zero borne without end [Pa]
	Yield     float64 // Ssy: torsional yield [Pa]
}

// FatiguePulsating returns the factor of safety fs [-] of [Bhandari], with direct
// shear on the mean stress and Wahl's factor on the amplitude:
//
//	τa/(Ssy/fs - τm) = (S'se/2)/(Ssy - S'se/2)
func (s Compression) FatiguePulsating(w Working, p Pulsating) (float64, error) {
	c, err := s.cycle(w, Wahl, DirectShear)
	half := p.Endurance / 2
	if err := errors.Join(err,
		quantity{"torsional yield", p.Yield, "Pa"}.within(1e7, 1e10, ErrInput),
		quantity{"pulsating endurance", p.Endurance, "Pa"}.within(1e6, p.Yield, ErrInput),
	); err != nil {
		return 0, err
	}
	return p.Yield / (c.Mean + c.Amplitude*(p.Yield-half)/half), nil
}

// FromZeroLimit is wire data of [Norton]: endurance as a range, not an amplitude.
type FromZeroLimit struct {
	Range         float64 // S'ew: highest stress, with Wahl's factor, of a swing from zero borne without end; 310 MPa, peened 465 MPa [Pa]
	UltimateShear float64 // Sus: such as 0.67 of the tensile strength [Pa]
}

// FatigueNorton returns Norton's factor of safety Nfs [-] against fatigue, with
// the preload τi kept while the swing grows,
//
//	Nfs = Ses (Sus - τi)/(Ses (τm - τi) + Sus τa), Ses = S'ew Sus/(2 Sus - S'ew)        [Norton] 14.5
//
// with direct shear on τi and τm and Wahl's factor on τa; from memory. His limits of
// 45 and 67.5 kpsi are ranges, Zimmerli's of 35 and 57.5 kpsi amplitudes about a mean:
// one must not be put in the place of the other.
func (s Compression) FatigueNorton(w Working, l FromZeroLimit) (float64, error) {
	c, err := s.cycle(w, Wahl, DirectShear)
	if err := errors.Join(err,
		quantity{"ultimate shear strength", l.UltimateShear, "Pa"}.within(1e7, 1e10, ErrInput),
		quantity{"endurance from zero", l.Range, "Pa"}.within(1e6, l.UltimateShear, ErrInput),
	); err != nil {
		return 0, err
	}
	rest, _, err := s.forces(w)
	if err != nil {
		return 0, err
	}
	initial := s.Stress(rest, DirectShear)
	if !(initial < l.UltimateShear) {
		return 0, fmt.Errorf("%w: stress at rest is %.6g Pa, the wire breaks at %.6g Pa", ErrRange, initial, l.UltimateShear)
	}
	ses := l.Range * l.UltimateShear / (2*l.UltimateShear - l.Range)
	return ses * (l.UltimateShear - initial) / (ses*(c.Mean-initial) + l.UltimateShear*c.Amplitude), nil
}
