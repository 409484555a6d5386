package flags

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"

	"github.com/alecthomas/kong"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
)

// Check finds what was given on the command line and says nothing: an empty
// text, no number. A flag with a tag range has the range of that key of the sheet.
func Check(ctx *kong.Context) error {
	for _, p := range ctx.Path {
		var err error
		switch {
		case p.Flag != nil:
			err = checkValue("--"+p.Flag.Name, p.Flag.Value)
		case p.Positional != nil:
			err = checkValue("<"+p.Positional.Name+">", p.Positional)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// checkValue checks one value that was given.
func checkValue(name string, v *kong.Value) error {
	target := v.Target
	switch target.Kind() {
	case reflect.String:
		if strings.TrimSpace(target.String()) == "" {
			return sheet.Usef("%s: empty; leave it out where there is nothing to say", name)
		}
	case reflect.Slice:
		if list, ok := target.Interface().([]string); ok && slices.Contains(list, "") {
			return sheet.Usef("%s: empty; leave it out where there is nothing to say", name)
		}
	case reflect.Float64:
		if x := target.Float(); math.IsNaN(x) || math.IsInf(x, 0) {
			return sheet.Usef("%s: %v is not a number", name, x)
		}
	case reflect.Int:
		if name == "--draws" && target.Int() == 0 {
			return sheet.Usef("--draws: 0 draws; --no-spread skips them")
		}
	case reflect.Pointer:
		key := v.Tag.Get("range")
		if key == "" {
			return nil
		}
		q := target.Elem().FieldByName("Quantity").Interface().(quantity.Quantity)
		if err := sheet.FindKey(key).Within(q); err != nil {
			return sheet.Usef("%s: %q: %v", name, fmt.Sprint(target.Elem().FieldByName("Typed")), err)
		}
	}
	return nil
}
