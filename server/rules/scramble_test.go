package rules_test

import (
	"fmt"
	"reflect"

	"pgregory.net/rapid"

	"tidemark/server/record"
)

// scramble gives every field of a body a small random value that a line can hold.
func scramble(t *rapid.T, body record.Body, ids []record.ID) {
	scrambleValue(t, reflect.ValueOf(body).Elem(), ids, "body")
}

func scrambleValue(t *rapid.T, v reflect.Value, ids []record.ID, name string) {
	switch at := v.Addr().Interface().(type) {
	case *record.ID:
		*at = rapid.SampledFrom(ids).Draw(t, name)
		return
	case *record.Date:
		*at = record.Date(rapid.IntRange(0, 30000).Draw(t, name))
		return
	case *record.Time:
		*at = record.Time(rapid.IntRange(0, 1<<40).Draw(t, name))
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(rapid.SampledFrom([]string{"", "a", "pass", "fail", "not-valid", "left", "7"}).Draw(t, name))
	case reflect.Bool:
		v.SetBool(rapid.Bool().Draw(t, name))
	case reflect.Int, reflect.Int64, reflect.Int32:
		v.SetInt(int64(rapid.IntRange(0, 3).Draw(t, name)))
	case reflect.Pointer:
		if rapid.Bool().Draw(t, name) {
			v.Set(reflect.New(v.Type().Elem()))
			scrambleValue(t, v.Elem(), ids, name)
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), rapid.IntRange(0, 2).Draw(t, name), 2))
		for i := range v.Len() {
			scrambleValue(t, v.Index(i), ids, fmt.Sprintf("%s[%d]", name, i))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			scrambleValue(t, v.Field(i), ids, v.Type().Field(i).Name)
		}
	default:
		t.Fatalf("no value for %s", v.Type())
	}
}
