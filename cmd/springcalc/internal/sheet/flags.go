package sheet

import (
	"slices"
	"strconv"
	"strings"
)

// Flag is a flag that stands for a key of the sheet; its text is "" where it was
// not given.
type Flag struct{ Name, Path, Text string }

// ToFind is the flag in whose name a key stands that is to be found.
const ToFind = "--find"

// ReadSpringSheet reads a sheet of which only the springs and the stroke need be
// stated, and the flags that stand for keys of it; without data they are all there
// is. Of the keys to be found, which say one thing in different ways, none need be
// stated: the first then gets a value to begin with. Overrides KEY=VALUE that are last
// go over the flags too.
func ReadSpringSheet(name string, data []byte, sets []string, flags []Flag, find []string, last ...string) (*Sheet, error) {
	s, err := Parse(name, data, sets)
	if err != nil {
		return nil, err
	}
	if err := s.putFlags(flags); err != nil {
		return nil, err
	}
	for _, set := range last {
		if err := s.override(set); err != nil {
			return nil, err
		}
	}
	if len(find) > 0 && !slices.ContainsFunc(find, s.Has) {
		k := FindKey(find[0])
		s.Set(find[0], Entry{Key: k, Shown: find[0], At: Place{Flag: ToFind}}, k.Example)
	}
	s.checkSprings(0)
	s.Need("piston", "stroke")
	err = s.Faults.Err()
	if err != nil && data == nil {
		s.nameFlags(flags)
		err = Usef("%v", s.Faults.Err())
	}
	return s, err
}

// putFlags puts flags in place of what a sheet says. One that cannot be read is
// wrong use.
func (s *Sheet) putFlags(flags []Flag) error {
	before := len(s.Faults)
	for _, f := range flags {
		if f.Text == "" {
			continue
		}
		s.Forget(f.Path)
		e := Entry{Key: FindKey(f.Path), Shown: f.Path, At: Place{Flag: f.Name}, raw: strconv.Quote(f.Text)}
		s.Entries[f.Path] = e // even if it is faulty: it is not missing
		s.Set(f.Path, e, f.Text)
	}
	if len(s.Faults) > 0 && before == 0 {
		return Usef("%v", s.Faults.Err())
	}
	return nil
}

// nameFlags makes the faults of a sheet that is flags only speak of the flags.
func (s *Sheet) nameFlags(flags []Flag) {
	var words []string
	names := map[string]string{}
	for _, f := range flags {
		_, key := SplitPath(f.Path)
		words = append(words, key, f.Name)
		names[f.Path] = f.Name
	}
	toFlags := strings.NewReplacer(words...)
	for i := range s.Faults {
		f := &s.Faults[i]
		if flag := names[f.Key]; flag != "" && f.At.Line == 0 {
			f.At.Flag = flag
			if choice, ok := strings.CutPrefix(f.Text, "missing; give one of "); ok {
				f.Text = "missing; give one of " + toFlags.Replace(choice)
			}
		}
	}
}
