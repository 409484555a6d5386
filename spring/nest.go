package spring

import (
	"cmp"
	"fmt"
	"slices"
)

// Nest is a set of springs side by side or inside each other between the same
// two seats: they share the length and add their forces. Springs with a longer
// free length engage first, so the force is a line with kinks. The order does
// not matter.
type Nest []Compression

// Free returns the length at which the first spring engages [m].
func (n Nest) Free() float64 {
	free := 0.0
	for _, s := range n {
		free = max(free, s.Free)
	}
	return free
}

// SolidLength returns the length at which the first spring is solid [m].
func (n Nest) SolidLength() float64 {
	solid := 0.0
	for _, s := range n {
		solid = max(solid, s.SolidLength())
	}
	return solid
}

// Force returns the sum of the forces at a length [m], F = Σ R_i max(0, L0_i - L) [N].
func (n Nest) Force(length float64) (float64, error) {
	sum := 0.0
	for i, s := range n {
		f, err := s.Force(length)
		if err != nil {
			return 0, fmt.Errorf("spring %d: %w", i+1, err)
		}
		sum += f
	}
	return sum, nil
}

// OppositeHands is the doubt that every nest carries.
const OppositeHands = "Springs inside each other must be wound in opposite hands, or their coils lock."

// Room is the play between two springs of a nest of which one is inside the other.
type Room struct {
	Outer int     // place in the nest of the spring outside
	Inner int     // place in the nest of the spring inside it
	Free  float64 // (Di - De)/2: room on each side, both free [m]; below 0 where the inner one does not go in
	Solid float64 // the same with the inner one grown as when solid, ends free to turn; the outer one's growth is not counted on [m]
	Usual float64 // (d1 - d2)/2, usual on each side (from memory), 0 where the inner wire is the thicker [m]
}

// Fits reports whether the inner spring goes into the outer one and stays free of it.
func (r Room) Fits() bool { return r.Solid > 0 }

// Rooms returns the room between each spring and the next smaller one, the widest first.
func (n Nest) Rooms() []Room {
	order := make([]int, len(n))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(n[b].Mean, n[a].Mean) })
	var rooms []Room
	for i := range len(order) - 1 {
		out, in := n[order[i]], n[order[i+1]]
		free := out.Inner() - in.Outer()
		rooms = append(rooms, Room{
			Outer: order[i], Inner: order[i+1],
			Free: free / 2, Solid: (free - in.Growth().FreeToTurn) / 2, Usual: max(out.Wire-in.Wire, 0) / 2,
		})
	}
	return rooms
}

// Doubts returns what may go wrong between the springs of a nest inside each
// other: one that does not go into the other, too little room, or a coil that
// can fall into another.
func (n Nest) Doubts() []string {
	var doubts []string
	for _, r := range n.Rooms() {
		out, in := n[r.Outer], n[r.Inner]
		switch {
		case r.Free <= 0:
			doubts = append(doubts, fmt.Sprintf("The inner spring does not fit: it is %.4g mm outside, and the outer one is %.4g mm inside.", 1e3*in.Outer(), 1e3*out.Inner()))
		case r.Solid <= 0:
			doubts = append(doubts, fmt.Sprintf("The inner spring goes in, but jams when pressed: solid it is %.4g mm outside, and the outer one is %.4g mm inside.", 1e3*(out.Inner()-2*r.Solid), 1e3*out.Inner()))
		case r.Solid < r.Usual:
			doubts = append(doubts, fmt.Sprintf("Springs of %.4g and %.4g mm mean diameter have %.3g mm of room on each side when solid; (d1 - d2)/2, here %.3g mm, is usual (from memory).", 1e3*out.Mean, 1e3*in.Mean, 1e3*r.Solid, 1e3*r.Usual))
		}
	}
	if len(n) > 1 {
		doubts = append(doubts, OppositeHands)
	}
	return doubts
}
