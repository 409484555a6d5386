package spring

import (
	"errors"
	"fmt"
	"math"
)

// LivesScatter is the doubt that every finite life carries.
const LivesScatter = "Lives scatter by a factor of three or more (common practice)."

// LifePoint is a stress that wire bears for a number of cycles.
type LifePoint struct {
	Cycles float64 // N: cycles to fracture [-]
	Share  float64 // highest shear stress of a swing from zero, with Wahl's factor, over the tensile strength [-]
}

// LifeCurve is a table of strength against cycles, such as [Norton] Table 14-8,
// with cycles rising and shares falling. Between its points it is straight in
// lg N.
type LifeCurve []LifePoint

// Validate returns every fault of the table.
func (c LifeCurve) Validate() error {
	if len(c) < 2 {
		return fmt.Errorf("%w: life curve has %d points, want two or more", ErrInput, len(c))
	}
	var faults []error
	for i, p := range c {
		at := fmt.Sprintf("life curve, point %d: ", i+1)
		faults = append(faults,
			quantity{at + "cycles", p.Cycles, ""}.within(1, 1e12, ErrInput),
			quantity{at + "share of tensile strength", p.Share, ""}.within(0.01, 1, ErrInput))
		if i > 0 && !(p.Cycles > c[i-1].Cycles && p.Share < c[i-1].Share) {
			faults = append(faults, fmt.Errorf("%w: %s%.6g cycles at %.6g after %.6g at %.6g, want more cycles at less stress",
				ErrInput, at, p.Cycles, p.Share, c[i-1].Cycles, c[i-1].Share))
		}
	}
	return errors.Join(faults...)
}

// Cycles returns the cycles to fracture [-] at a share of the tensile strength
// [-]; outside the table it returns the nearest end and on which side the life lies.
func (c LifeCurve) Cycles(share float64) (float64, Bound, error) {
	if err := errors.Join(c.Validate(), quantity{"stress over tensile strength", share, ""}.within(0, 10, ErrInput)); err != nil {
		return 0, About, err
	}
	last := len(c) - 1
	switch {
	case share > c[0].Share:
		return c[0].Cycles, Fewer, nil
	case share < c[last].Share:
		return c[last].Cycles, More, nil
	}
	i := 1
	for share < c[i].Share {
		i++
	}
	part := (c[i-1].Share - share) / (c[i-1].Share - c[i].Share)
	return c[i-1].Cycles * math.Pow(c[i].Cycles/c[i-1].Cycles, part), About, nil
}

// Bound says on which side of the printed number a life lies.
type Bound int

// The bounds.
const (
	Fewer Bound = iota - 1 // fewer cycles than that: the stress is above the table
	About                  // within the table
	More                   // more cycles than that: the stress is below the table
)

// Life is how many cycles a spring bears.
type Life struct {
	FromZero float64 // stress of a swing from zero that does as much harm [Pa]
	Share    float64 // FromZero over tensile strength [-]
	Cycles   float64 // N: cycles to fracture [-]
	Bound    Bound   // whether it is fewer, about or more
	Doubts   []string
}

// LifeWire is what a finite life depends on besides the stresses.
type LifeWire struct {
	Tensile       float64   // Sut: tensile strength [Pa]
	UltimateShear float64   // Ssu: such as 0.67 Sut [Pa]
	Curve         LifeCurve // strength against cycles
}

// Life returns the finite life between two lengths. A swing from τ1 to τ2, with
// Wahl's factor and amplitude τa, does as much harm as one from zero to
//
//	2 τa Ssu/(Ssu - τ1)
//
// because both lie on one Goodman line through Ssu. Outside the curve the life
// is a bound, not a number.
func (s Compression) Life(w Working, m LifeWire) (Life, error) {
	fromZero, err := s.FromZero(w, m)
	if err := errors.Join(err, m.Curve.Validate()); err != nil {
		return Life{}, err
	}
	life := Life{FromZero: fromZero, Share: fromZero / m.Tensile}
	life.Doubts = []string{HotWet, LivesScatter}
	life.Cycles, life.Bound, err = m.Curve.Cycles(life.Share)
	return life, err
}

// FromZero returns the stress of a swing from zero [Pa] that does as much harm
// as one between two lengths. It does not use the curve.
func (s Compression) FromZero(w Working, m LifeWire) (float64, error) {
	c, err := s.cycle(w, Wahl, Wahl)
	if err := errors.Join(err,
		quantity{"tensile strength", m.Tensile, "Pa"}.within(1e8, 1e10, ErrInput),
		quantity{"ultimate shear strength", m.UltimateShear, "Pa"}.within(1e7, m.Tensile, ErrInput),
	); err != nil {
		return 0, err
	}
	if high := c.Mean + c.Amplitude; !(high < m.UltimateShear) {
		return 0, fmt.Errorf("%w: stress when cocked is %.6g Pa, the wire breaks at %.6g Pa", ErrRange, high, m.UltimateShear)
	}
	low := c.Mean - c.Amplitude
	return 2 * c.Amplitude * m.UltimateShear / (m.UltimateShear - low), nil
}

// Use is how a lever is pulled over the years.
type Use struct {
	PullsPerDay float64 // pulls of the lever on a day of use [-]
	DaysPerYear float64 // days of use a year [-]
	Years       float64 // years of use [-]
}

// Cycles returns how often the spring was cocked [-].
func (u Use) Cycles() (float64, error) {
	if err := errors.Join(
		quantity{"pulls a day", u.PullsPerDay, ""}.within(0, 1e5, ErrInput),
		quantity{"days a year", u.DaysPerYear, ""}.within(0, 366, ErrInput),
		quantity{"years", u.Years, ""}.within(0, 500, ErrInput),
	); err != nil {
		return 0, err
	}
	return u.PullsPerDay * u.DaysPerYear * u.Years, nil
}

// Block is a number of cycles at one stress.
type Block struct {
	Cycles float64 // n: cycles done [-]
	Life   float64 // N: cycles to fracture at that stress [-]
}

// Miner returns the share of the life used [-], Σ n/N: 1 when, on average,
// fracture is due. Real sums scatter from about 0.3 to 3 (common practice).
func Miner(blocks []Block) (float64, error) {
	sum := 0.0
	for i, b := range blocks {
		if err := errors.Join(
			quantity{fmt.Sprintf("block %d: cycles done", i+1), b.Cycles, ""}.within(0, 1e15, ErrInput),
			quantity{fmt.Sprintf("block %d: life in cycles", i+1), b.Life, ""}.within(1, 1e15, ErrInput),
		); err != nil {
			return 0, err
		}
		sum += b.Cycles / b.Life
	}
	return sum, nil
}
