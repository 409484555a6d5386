package diagnose

import (
	"errors"
	"fmt"
	"math"

	"springcalc/piston"
	"springcalc/profile"
	"springcalc/spring"
)

// Action is what to do.
type Action string

// The actions.
const (
	Keep        Action = "keep"
	MeasureOne  Action = "measure first"
	ShimIt      Action = "shim"
	ServiceSeal Action = "service the seal"
	FixFill     Action = "fix the fill"
	CockFully   Action = "cock the lever fully"
	FixPuck     Action = "grind finer"
	CheckGauge  Action = "check the gauge"
	Replace     Action = "replace the spring"
)

// remedy is what helps against each cause. Set is shimmed where there is room.
var remedy = [causes]Action{
	Set: ShimIt, ThinWire: Replace, WrongCoils: Replace, SealDrag: ServiceSeal, AirInFill: FixFill,
	ShortCock: CockFully, DryPuck: FixFill, GaugeLow: CheckGauge, OpenPuck: FixPuck,
}

// sure is the likelihood from which a remedy is advised without one more
// measurement [-].
const sure = 0.75

// Wish is what is wanted of the machine.
type Wish struct {
	Peak float64 // peak wanted after a repair [Pa]; 0 for as new
	Keep float64 // peak down to which the machine is left as it is [Pa]; 0 for none
	Wire *Wire   // strength of the wire; nil where it is not known
}

// Advice is what to do about a low peak.
type Advice struct {
	Action   Action
	Why      string
	Shim     *Shim      // where set is among the likely causes
	Ask      *Ask       // where the spring may have to be replaced
	Next     *Candidate // the measurement that would tell most; nil where none is left
	Cautions []string   // before a hand is laid on the machine
	Doubts   []string   // never empty
}

// Advise turns a ranking and the peak now [Pa] into advice.
func Advise(m *Machine, r *Ranking, now float64, w Wish) (*Advice, error) {
	if err := errors.Join(m.Validate(), w.validate()); err != nil {
		return nil, err
	}
	if !(now > 0) || math.IsInf(now, 1) {
		return nil, fmt.Errorf("%w: peak now is %g Pa, want more than 0", ErrInput, now)
	}
	g, err := m.fresh()
	if err != nil {
		return nil, err
	}
	wanted := w.Peak
	if wanted == 0 {
		wanted = g
	}
	a := &Advice{Doubts: append([]string(nil), r.Doubts...)}
	if len(r.Next) > 0 {
		a.Next = &r.Next[0]
	}
	likely := r.likelihoods()
	action, share := r.best()
	lead := r.Causes[0]

	if wanted > now && likely[Set] > 0.1 {
		set := 0.0
		for _, c := range r.Causes {
			if c.Cause == Set {
				set = c.Size
			}
		}
		if a.Shim, err = shimFor(m, set, now, wanted, w.Wire); err != nil {
			return nil, err
		}
	}
	switch {
	case w.Keep > 0 && now >= w.Keep && likely[WrongCoils] < 0.3 && likely[ThinWire] < 0.3:
		a.Action, a.Why = Keep, fmt.Sprintf("the peak of %.1f bar is still above the %.1f bar that are wanted", now/1e5, w.Keep/1e5)
	case r.DropU > 0 && r.Drop < 2*r.DropU:
		a.Action, a.Why = Keep, "the peak is within what readings and machines scatter"
	case share < sure && a.Next != nil && a.Next.Bits > 0.05:
		a.Action = MeasureOne
		a.Why = fmt.Sprintf("%v is the likeliest cause, but with %s only; the %v tells most", lead.Cause, percent(lead.Likelihood), a.Next.Kind)
	default:
		a.Action, a.Why = action, fmt.Sprintf("the likeliest cause is %v (%s)", lead.Cause, percent(lead.Likelihood))
	}
	if a.Action == ShimIt {
		a.shimOrReplace()
	}
	if a.Action == Replace || likely[ThinWire]+likely[WrongCoils] > 0.3 {
		ask := askFor(m, wanted, g)
		a.Ask = &ask
	}
	a.caution()
	return a, nil
}

// percent words a likelihood; nothing is certain.
func percent(p float64) string {
	if p > 0.99 {
		return "more than 99 %"
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// likelihoods returns the likelihood of each cause.
func (r *Ranking) likelihoods() (l [causes]float64) {
	for _, c := range r.Causes {
		l[c.Cause] = c.Likelihood
	}
	return l
}

// best returns the action that helps with the greatest likelihood.
func (r *Ranking) best() (Action, float64) {
	share := map[Action]float64{}
	for _, c := range r.Causes {
		share[remedy[c.Cause]] += c.Likelihood
	}
	best := remedy[r.Causes[0].Cause]
	for _, c := range r.Causes {
		if a := remedy[c.Cause]; share[a] > share[best] {
			best = a
		}
	}
	return best, share[best]
}

// shimOrReplace turns the advice to replacing where a shim does not do.
func (a *Advice) shimOrReplace() {
	s := a.Shim
	switch {
	case s == nil || !s.Known:
		return
	case s.Binds:
		a.Action = Replace
		a.Why += fmt.Sprintf("; it cannot be shimmed: the coils would bind at a shim of %.1f mm, %.1f mm are needed", s.Most*1e3, s.Thickness*1e3)
	case s.Clearance.Gap < s.Clearance.Required:
		a.Action = Replace
		a.Why += fmt.Sprintf("; a shim of %.1f mm would leave %.1f mm between all coils when cocked, %.1f mm are asked for", s.Thickness*1e3, s.Clearance.Gap*1e3, s.Clearance.Required*1e3)
	case s.Strong && s.Static.Cocked.Used > 1:
		a.Action = Replace
		a.Why += "; with a shim the wire would yield when cocked"
	}
}

// caution adds what to mind before touching the machine.
func (a *Advice) caution() {
	switch a.Action {
	case ShimIt, Replace:
		a.Cautions = append(profile.RemovalCautions(), spring.CautionStiffer)
	case ServiceSeal:
		a.Cautions = append(profile.RemovalCautions(), piston.CautionFood)
	default:
		a.Cautions = []string{piston.CautionCocked, piston.CautionUnloaded, piston.CautionPressure}
	}
}

func (w *Wish) validate() error {
	return errors.Join(notNegative("Wish.Peak", w.Peak, "Pa"), notNegative("Wish.Keep", w.Keep, "Pa"))
}

// fresh returns the peak as new [Pa], as the gauge showed it.
func (m *Machine) fresh() (float64, error) {
	if m.Fresh > 0 {
		return m.Fresh, nil
	}
	p, err := m.predict(Set, 0)
	if err != nil {
		return 0, fmt.Errorf("%w: the machine as new gives no shot", ErrInput)
	}
	return p.value[Peak], nil
}
