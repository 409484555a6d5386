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
	ByStress     Criterion = iota // the smaller margin of stress, cocked and solid
	ByFatigue                     // margin of fatigue
	ByRelaxation                  // margin of relaxation, indicative
	ByEffort                      // margin of the hand's effort
	ByClearance                   // margin of the gaps between the coils
	ByPressure                    // the smaller margin of peak and end pressure
	ByPrice                       // price of the cheapest over the price
	criteria
)

var criterionNames = [criteria]string{"stress", "fatigue", "relaxation", "effort", "clearance", "pressure", "price"}

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

// DefaultOrder ranks by stress, fatigue, relaxation, effort and clearance, one
// after the other, in steps of 5 %: what keeps a spring whole comes before what
// makes it pleasant.
func DefaultOrder() Order {
	return Order{Keys: []Key{{By: ByStress}, {By: ByFatigue}, {By: ByRelaxation}, {By: ByEffort}, {By: ByClearance}}, Step: 0.05}
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

	scores [criteria]float64 // [-]
}

// score fills in the scores. What could not be judged counts as being at its limit.
func (c *Choice) score(cheapest float64) {
	v := &c.Verdict
	margin := func(of ...Constraint) float64 {
		least := math.Inf(1)
		for _, k := range of {
			m, _ := v.Margin(k)
			least = min(least, m)
		}
		return least
	}
	c.scores = [criteria]float64{
		ByStress:     margin(StressCocked, StressSolid),
		ByFatigue:    margin(Fatigue),
		ByRelaxation: margin(Relaxation),
		ByEffort:     margin(Effort),
		ByClearance:  margin(Clearance),
		ByPressure:   margin(EndPressure, PeakPressure),
	}
	if c.Price > 0 {
		c.scores[ByPrice] = cheapest / c.Price
	}
}

// compare puts the better of two choices first. Equal ones keep their place in
// the grid, so that the ranking does not depend on how the search was divided.
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
		return cmp.Compare(a.Row, b.Row)
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
	return cmp.Compare(a.Row, b.Row)
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
