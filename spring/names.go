package spring

import (
	"fmt"
	"strings"
)

// nameOf returns the name of an enumerated value that counts from 1.
func nameOf[T ~int](kind string, names []string, v T) string {
	if v < 1 || int(v) > len(names) {
		return fmt.Sprintf("%s(%d)", kind, int(v))
	}
	return names[v-1]
}

// named is the reverse of nameOf; capitals do not matter.
func named[T ~int](kind string, names []string, text []byte) (T, error) {
	for i, name := range names {
		if strings.EqualFold(name, string(text)) {
			return T(i + 1), nil
		}
	}
	return 0, fmt.Errorf("%w: %s %q, want one of %s", ErrInput, kind, text, strings.Join(names, ", "))
}

// known returns an error unless v is one of the names.
func known[T ~int](kind string, names []string, v T) error {
	if v < 1 || int(v) > len(names) {
		return fmt.Errorf("%w: no %s given, want one of %s", ErrInput, kind, strings.Join(names, ", "))
	}
	return nil
}
