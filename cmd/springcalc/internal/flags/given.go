package flags

import (
	"encoding"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"

	"springcalc/cmd/springcalc/internal/quantity"
	"springcalc/cmd/springcalc/internal/sheet"
)

// Check finds what was given on the command line and says nothing: an empty
// text, no number. A flag with a tag range has the range of that key of the sheet; a
// number or quantity with a tag limits, as limits:"0 to 500", lies within them.
func Check(ctx *kong.Context) error {
	var errs []error
	given := map[*kong.Flag]bool{} // once, though it may stand several times
	for _, p := range ctx.Path {
		switch {
		case p.Flag != nil && !given[p.Flag]:
			given[p.Flag] = true
			errs = append(errs, checkValue("--"+p.Flag.Name, p.Flag.Value, ctx.Args))
		case p.Positional != nil:
			errs = append(errs, checkValue("<"+p.Positional.Name+">", p.Positional, nil))
		}
	}
	return errors.Join(errs...)
}

// checkValue checks one value that was given in the arguments.
func checkValue(name string, v *kong.Value, args []string) error {
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
		return withinLimits(name, typedAs(name, target.Float(), args), v)
	case reflect.Int:
		if name == "--draws" && target.Int() == 0 {
			return sheet.Usef("--draws: 0 draws; --no-spread skips them")
		}
		return withinLimits(name, typedAs(name, float64(target.Int()), args), v)
	case reflect.Pointer:
		typed := fmt.Sprint(target.Elem().FieldByName("Typed"))
		if key := v.Tag.Get("range"); key != "" {
			q := target.Elem().FieldByName("Quantity").Interface().(quantity.Quantity)
			if err := sheet.FindKey(key).Within(q); err != nil {
				return sheet.Usef("%s: %q: %v", name, typed, err)
			}
		}
		return withinLimits(name, typed, v)
	}
	return nil
}

// withinLimits holds what was typed for a flag to its tag limits.
func withinLimits(name, typed string, v *kong.Value) error {
	limits := v.Tag.Get("limits")
	if limits == "" {
		return nil
	}
	least, most, _ := strings.Cut(limits, " to ")
	if x := read(v, typed); x >= read(v, least) && x <= read(v, most) {
		return nil
	}
	return sheet.Usef("%s: %q: want %s", name, typed, limits)
}

// read reads a number or quantity as kong read the flag, which took one like it.
func read(v *kong.Value, text string) float64 {
	if v.Target.Kind() != reflect.Pointer {
		x, err := strconv.ParseFloat(text, 64)
		if err != nil {
			panic(err)
		}
		return x
	}
	q := reflect.New(v.Target.Type().Elem())
	if err := q.Interface().(encoding.TextUnmarshaler).UnmarshalText([]byte(text)); err != nil {
		panic(err)
	}
	return q.Elem().FieldByName("Value").Float()
}

// typedAs is a number as it was typed for a flag.
func typedAs(name string, x float64, args []string) string {
	for i, arg := range slices.Backward(args) {
		text, ok := strings.CutPrefix(arg, name+"=")
		if arg == name && i+1 < len(args) {
			text, ok = args[i+1], true
		}
		if y, err := strconv.ParseFloat(text, 64); ok && err == nil && x == y {
			return text
		}
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}
