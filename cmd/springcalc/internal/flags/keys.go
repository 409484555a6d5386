package flags

import (
	"reflect"
	"slices"
	"strings"

	"springcalc/cmd/springcalc/internal/sheet"
	"springcalc/cmd/springcalc/internal/words"
)

// Overrides are the flags of a struct that carry a key of the sheet as a tag, as
// Overrides FLAG: KEY=VALUE of it, so that both are read by the same rules.
func Overrides(flags any) (sets []string) {
	v := reflect.ValueOf(flags).Elem()
	for i := range v.NumField() {
		key, field := v.Type().Field(i).Tag.Get("key"), v.Field(i)
		set := flagName(v.Type().Field(i).Name) + ": " + key + "="
		switch {
		case key == "" || field.IsZero():
		case field.Kind() == reflect.String:
			sets = append(sets, set+field.String())
		default: // a pointer to a flag of a quantity
			sets = append(sets, set+field.Elem().FieldByName("Typed").String())
		}
	}
	return sets
}

// KeysOf are the texts of a struct that carry a key of the sheet as a tag, as
// flags of it.
func KeysOf(flags any) (all []sheet.Flag) {
	v := reflect.ValueOf(flags).Elem()
	for i := range v.NumField() {
		f := v.Type().Field(i)
		all = append(all, sheet.Flag{Name: flagName(f.Name), Path: f.Tag.Get("key"), Text: v.Field(i).String()})
	}
	return all
}

var wordBegin = words.Lazy(`[A-Z]`)

// flagName is a field as kong names its flag.
func flagName(field string) string {
	return "-" + strings.ToLower(wordBegin().ReplaceAllString(field, "-$0"))
}

// AnyGiven says whether one of the flags was given.
func AnyGiven(flags []sheet.Flag) bool {
	return slices.ContainsFunc(flags, func(f sheet.Flag) bool { return f.Text != "" })
}
