package tables

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
)

// WiresCalled returns the wires that a name of the trade stands for: a designation,
// the title of a wire, or a name of the table wire-names. There are several where
// the name does not tell which, as "stainless". An unknown name is [ErrName].
func WiresCalled(name string) ([]Wire, error) {
	if w, err := WireByName(name); err == nil {
		return []Wire{w}, nil
	}
	list, ok := wireNames()[plainName(name)]
	if !ok {
		var known []string
		for _, w := range wires() {
			known = append(known, w.Name)
		}
		return nil, fmt.Errorf("%w: wire %q; known are %s, and their names in the trade", ErrName, name, strings.Join(known, ", "))
	}
	return slices.Clone(list), nil
}

// wireNames are the wires by the plain form of each name.
var wireNames = sync.OnceValue(func() map[string][]Wire {
	byName := map[string][]Wire{}
	for _, w := range wires() {
		byName[plainName(w.Name)] = []Wire{w}
		byName[plainName(w.Title)] = []Wire{w}
	}
	t := get("wire-names")
	for row := range t.Rows {
		var list []Wire
		for _, name := range strings.Split(t.text(row, "wires"), ";") {
			if kind, ok := strings.CutPrefix(name, "kind "); ok {
				list = append(list, wiresOfKind(kind)...)
				continue
			}
			w, err := WireByName(name)
			if err != nil {
				panic(err)
			}
			list = append(list, w)
		}
		byName[plainName(t.text(row, "name"))] = list
	}
	return byName
})

// plainName is a name without all that people write in different ways.
func plainName(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return strings.ContainsRune(" -_./,()\"'", r) })
	words = slices.DeleteFunc(words, func(w string) bool { return slices.Contains([]string{"astm", "en", "wire", "type", "grade"}, w) })
	plain := strings.Join(words, "")
	plain = strings.TrimPrefix(strings.TrimPrefix(plain, "astm"), "en")
	return strings.TrimSuffix(plain, "wire")
}

// Kind is the sort of metal of a wire: "steel", "stainless" or "bronze".
func (w Wire) Kind() string {
	switch {
	case strings.HasPrefix(w.enWire, "1."):
		return "stainless"
	case strings.HasPrefix(w.enWire, "Cu"):
		return "bronze"
	}
	return "steel"
}

func wiresOfKind(kind string) []Wire {
	return slices.DeleteFunc(Wires(), func(w Wire) bool { return w.Kind() != kind })
}

// ModuliRange is what the published tables say of wires of which it is not known
// which one it is.
type ModuliRange struct {
	Moduli            // the middle
	Low, High float64 // ends of G [Pa]
	Beyond    bool    // no source covers the diameter for these wires; all of their kind that do are taken
}

// ModuliAmong returns the range of the moduli of some wires at a diameter d [m], over
// those whose source covers it. Where none does, it is that of all wires of the
// kind of the first.
func ModuliAmong(list []Wire, d float64) (ModuliRange, error) {
	r := ModuliRange{Low: math.Inf(1)}
	leastE, mostE := math.Inf(1), 0.0
	take := func(list []Wire) error {
		for _, w := range list {
			m, err := w.Moduli(d)
			if errors.Is(err, ErrRange) && d > 0 {
				continue
			}
			if err != nil {
				return err
			}
			r.Low, r.High = min(r.Low, m.G), max(r.High, m.G)
			leastE, mostE = min(leastE, m.E), max(mostE, m.E)
			r.Source, r.Grade = m.Source, m.Grade
		}
		return nil
	}
	if err := take(list); err != nil {
		return r, err
	}
	if mostE == 0 {
		r.Beyond = true
		if err := take(wiresOfKind(list[0].Kind())); err != nil {
			return r, err
		}
	}
	if mostE == 0 {
		return r, fmt.Errorf("%w: no wire of %.4g mm has published moduli", ErrRange, d/mm)
	}
	r.G, r.E = (r.Low+r.High)/2, (leastE+mostE)/2
	return r, nil
}
