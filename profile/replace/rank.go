package replace

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// ErrOrder marks an order that cannot be read.
var ErrOrder = errors.New("replace: unknown order")

// Criterion is what springs that fit are ranked by. Each is a score, more being better.
type Criterion int

// The criteria.
const (
	ByMargin    Criterion = iota // the weakest margin: the least lower end of its 95 % bands, the pressures aside
	ByStress                     // the smaller margin of stress, cocked and solid
	ByFatigue                    // margin of fatigue
	ByEffort                     // 1 less the hand's effort over what the required force, or the limit, asks of it
	ByClearance                  // margin of the gaps between the coils
	ByPressure                   // the smaller margin of peak and end pressure
	ByPrice                      // price of the cheapest over the price
	criteria
)

var criterionNames = [criteria]string{"margin", "stress", "fatigue", "effort", "clearance", "pressure", "price"}

func (c Criterion) String() string { return criterionNames[c] }

// Key is a criterion with its weight.
type Key struct {
	By     Criterion
	Weight float64 // [-]; 0 in an order that goes by one criterion after the other
}

// Order is how springs that fit are ranked. Where the keys have weights the sum
// of weight times score decides. Where they have none the first key decides;
// scores less than Step apart count as equal and leave it to the next key.
type Order struct {
	Keys []Key
	Step float64 // [-]
}

// DefaultOrder puts first the spring whose weakest margin is the largest, as it may
// be made, and of those whose weakest margins lie in the same 1 % the one that
// asks least of the hand.
func DefaultOrder() Order {
	return Order{Keys: []Key{{By: ByMargin}, {By: ByEffort}}, Step: 0.01}
}

// ParseOrder reads an order: "effort,stress" for one criterion after the other,
// "stress=3,effort=1" for a weighted sum.
func ParseOrder(text string) (Order, error) {
	o := Order{Step: DefaultOrder().Step}
	weighted := 0
	for _, field := range strings.Split(text, ",") {
		name, weight, has := strings.Cut(strings.TrimSpace(field), "=")
		by := slices.Index(criterionNames[:], strings.TrimSpace(name))
		if by < 0 {
			return Order{}, fmt.Errorf("%w: %q, want some of %s", ErrOrder, name, strings.Join(criterionNames[:], ", "))
		}
		if slices.ContainsFunc(o.Keys, func(k Key) bool { return k.By == Criterion(by) }) {
			return Order{}, fmt.Errorf("%w: %s stands twice", ErrOrder, criterionNames[by])
		}
		key := Key{By: Criterion(by)}
		if has {
			w, err := strconv.ParseFloat(strings.TrimSpace(weight), 64)
			if err != nil || !(w > 0 && w <= 1e6) {
				return Order{}, fmt.Errorf("%w: weight of %s is %q, want a number above 0, up to 1e6", ErrOrder, name, weight)
			}
			key.Weight = w
			weighted++
		}
		o.Keys = append(o.Keys, key)
	}
	if weighted != 0 && weighted != len(o.Keys) {
		return Order{}, fmt.Errorf("%w: %q, want a weight for every criterion or for none", ErrOrder, text)
	}
	return o, nil
}

// String writes the order as ParseOrder reads it.
func (o Order) String() string {
	var b strings.Builder
	for i, k := range o.Keys {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(k.By.String())
		if k.Weight > 0 {
			fmt.Fprintf(&b, "=%g", k.Weight)
		}
	}
	return b.String()
}

// Choice is a spring or nest with its judgement.
type Choice struct {
	Name    string  // what its seller calls it; empty for a design
	Row     int     // where it stands in the list or grid, to tell equals apart
	Price   float64 // [currency of the list]; 0 where unknown
	Parts   []Part  // one spring, or a nest
	Verdict Verdict

	Bands     Bands      // of the margins, 95 %, for what the maker may be off by
	Weakest   float64    // the least lower end of the bands, the pressures aside [-]
	WeakestOf Constraint // the constraint that has it
	Effort    float64    // greatest force of the hand [N]; 0 where the lever is not known
	Free      Span       // of the first part: free lengths with which the same coil fits [m]
	Lengths   int        // how many free lengths of the grid those are [-]

	scores [criteria]float64 // [-]
}

// Span is a range of lengths [m] or of coils [-].
type Span struct {
	Low  float64 // the least [m, or -]
	High float64 // the greatest [m, or -]
}

// score fills in the scores. What could not be judged counts as being at its limit.
func (c *Choice) score(cheapest float64, j *Job) {
	v := &c.Verdict
	margin := func(of ...Constraint) float64 {
		least := math.Inf(1)
		for _, k := range of {
			m, _ := v.Margin(k)
			least = min(least, m)
		}
		return least
	}
	pressure := margin(EndPressure, PeakPressure)
	if j.AnyEnd {
		pressure = margin(PeakPressure)
	}
	c.scores = [criteria]float64{
		ByMargin:    c.Weakest,
		ByStress:    margin(StressCocked, StressSolid),
		ByFatigue:   margin(Fatigue),
		ByClearance: margin(Clearance),
		ByPressure:  pressure,
	}
	if most := j.mostEffort(); most > 0 {
		c.scores[ByEffort] = 1 - c.Effort/most
	}
	if c.Price > 0 {
		c.scores[ByPrice] = cheapest / c.Price
	}
}

// mostEffort returns the force of the hand that efforts are compared with [N]:
// the limit, or without one what the required spring asks; 0 without a lever.
func (j *Job) mostEffort() float64 {
	if j.Effort > 0 || j.Hand == nil {
		return j.Effort
	}
	return j.Hand.Effort(j.Linear())
}

// compare puts the better of two choices first. A choice that is as good as another
// in every margin and in effort, and better in one, always comes before it where
// the order is by margin or by effort. Equal ones go by price, and then by what they are
// and not by where they stand, so that the ranking depends neither on the order
// of a list nor on how the search was divided.
func (o *Order) compare(a, b *Choice) int {
	if weighted := o.Keys[0].Weight > 0; weighted {
		var x, y float64
		for _, k := range o.Keys {
			x += k.Weight * a.scores[k.By]
			y += k.Weight * b.scores[k.By]
		}
		if d := cmp.Compare(y, x); d != 0 {
			return d
		}
		return a.tie(b)
	}
	step := func(s float64) float64 { return math.Floor(s / o.Step) }
	for _, k := range o.Keys {
		if d := cmp.Compare(step(b.scores[k.By]), step(a.scores[k.By])); d != 0 {
			return d
		}
	}
	for _, k := range o.Keys { // all equal by steps: then the finer differences
		if d := cmp.Compare(b.scores[k.By], a.scores[k.By]); d != 0 {
			return d
		}
	}
	return a.tie(b)
}

// tie orders choices that an order leaves equal: by the next weaker margins, the
// effort, the price, the name, the dimensions and at last the row.
func (a *Choice) tie(b *Choice) int {
	x, y := a.lows(), b.lows()
	if d := slices.Compare(y[:], x[:]); d != 0 {
		return d
	}
	d := cmp.Or(
		cmp.Compare(a.Effort, b.Effort), cmp.Compare(a.Price, b.Price), cmp.Compare(a.Name, b.Name),
		cmp.Compare(len(a.Parts), len(b.Parts)),
	)
	for i := 0; d == 0 && i < len(a.Parts); i++ {
		p, q := &a.Parts[i], &b.Parts[i]
		d = cmp.Or(cmp.Compare(p.Coil.Wire, q.Coil.Wire), cmp.Compare(p.Coil.Mean, q.Coil.Mean), cmp.Compare(p.Rate, q.Rate),
			cmp.Compare(p.Free, q.Free), cmp.Compare(p.Solid, q.Solid), cmp.Compare(p.Coil.Ends, q.Coil.Ends), cmp.Compare(p.grade(), q.grade()))
	}
	return cmp.Or(d, cmp.Compare(a.Row, b.Row))
}

// lows returns the lower ends of all sound margins, rising; one not judged is at its limit.
func (c *Choice) lows() (all [len(soundOnes)]float64) {
	for i, k := range sound {
		all[i] = c.Bands[k].Low
	}
	slices.Sort(all[:])
	return all
}

// grade returns the grade of the wire of a part; empty where that is not known.
func (p *Part) grade() string {
	if p.Wire == nil {
		return ""
	}
	return p.Wire.Grade
}

// Dominates reports whether a choice is at least as good as another in the lower end
// of every sound margin and in effort, and better in one of them.
func (c *Choice) Dominates(other *Choice) bool {
	better := c.Effort < other.Effort
	for _, k := range sound {
		if c.Bands[k].Low < other.Bands[k].Low {
			return false
		}
		better = better || c.Bands[k].Low > other.Bands[k].Low
	}
	return better && c.Effort <= other.Effort
}

// validate reports an order that ranks nothing.
func (o *Order) validate() error {
	if len(o.Keys) == 0 {
		return fmt.Errorf("%w: no criterion, want some of %s", ErrOrder, strings.Join(criterionNames[:], ", "))
	}
	if !(o.Step > 0) && o.Keys[0].Weight == 0 {
		return fmt.Errorf("%w: step is %g, want more than 0", ErrOrder, o.Step)
	}
	return nil
}
