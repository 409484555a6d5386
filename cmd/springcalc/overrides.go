package main

import (
	"reflect"
)

// overrides are the flags of a struct that carry a key of the sheet as a tag, as
// overrides KEY=VALUE of it, so that both are read by the same rules.
func overrides(flags any) (sets []string) {
	v := reflect.ValueOf(flags).Elem()
	for i := range v.NumField() {
		key, field := v.Type().Field(i).Tag.Get("key"), v.Field(i)
		switch {
		case key == "" || field.IsZero():
		case field.Kind() == reflect.String:
			sets = append(sets, key+"="+field.String())
		default: // a pointer to a flag of a quantity
			sets = append(sets, key+"="+field.Elem().FieldByName("Typed").String())
		}
	}
	return sets
}
