package spring

// Ends is how the last coils of a spring are made. The zero value is no answer
// and is rejected by Validate.
type Ends int

// The four kinds of ends.
const (
	Plain        Ends = iota + 1 // cut off, pitch unchanged
	PlainGround                  // cut off and ground flat
	Closed                       // last coil laid on its neighbour ("squared")
	ClosedGround                 // closed and ground flat
)

var endNames = []string{"plain", "plain-ground", "closed", "closed-ground"}

func (e Ends) String() string               { return nameOf("Ends", endNames, e) }
func (e Ends) MarshalText() ([]byte, error) { return []byte(e.String()), known("ends", endNames, e) }
func (e *Ends) UnmarshalText(text []byte) (err error) {
	*e, err = named[Ends]("ends", endNames, text)
	return err
}

// Convention is the practice by which coils at the ends are counted and the
// solid length is reckoned. The zero value is rejected by Validate.
type Convention int

// The conventions. EN knows closed ends only.
const (
	US    Convention = iota + 1 // [Shigley] Table 10-1, [MH] Table 3
	EN                          // [EN 13906] 9.8 and 9.10, cold coiled, from memory
	ENHot                       // [EN 13906], hot coiled, from memory
)

var conventionNames = []string{"US", "EN", "EN-hot"}

func (c Convention) String() string { return nameOf("Convention", conventionNames, c) }
func (c Convention) MarshalText() ([]byte, error) {
	return []byte(c.String()), known("convention", conventionNames, c)
}
func (c *Convention) UnmarshalText(text []byte) (err error) {
	*c, err = named[Convention]("convention", conventionNames, text)
	return err
}

// endRule is what ends and convention decide together.
type endRule struct {
	dead  float64 // end coils n_t - n_a that do not work [-]
	solid float64 // solid length over wire diameter, less n_t [-]
}

// endRules has no entry where the convention does not know the ends.
var endRules = map[Convention]map[Ends]endRule{
	US:    {Plain: {0, 1}, PlainGround: {1, 0}, Closed: {2, 1}, ClosedGround: {2, 0}},
	EN:    {Closed: {2, 1.5}, ClosedGround: {2, 0}},
	ENHot: {Closed: {1.5, 1.1}, ClosedGround: {1.5, -0.3}},
}

// DeadCoils returns the end coils n_t - n_a [-] that the convention counts as
// not working: 0, 1, 2 and 2 in US practice for plain, plain ground, closed,
// closed and ground; 2 by EN cold coiled, 1.5 hot coiled.
// The answer is false where the convention does not know such ends.
func (c Convention) DeadCoils(e Ends) (dead float64, ok bool) {
	rule, ok := endRules[c][e]
	return rule.dead, ok
}
