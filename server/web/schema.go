package web

import (
	"encoding"
	"fmt"
	"maps"
	"path"
	"reflect"
	"slices"
	"strings"

	"tidemark/server/record"
)

// schema is a JSON Schema (2020-12) as OpenAPI 3.1 has it.
type schema map[string]any

// schemas writes the shape that encoding/json gives to values of Go types. Each
// named type is written once, under its name, and referred to from there.
type schemas struct {
	named map[string]any
	types map[string]reflect.Type
}

func newSchemas() *schemas {
	return &schemas{named: map[string]any{}, types: map[string]reflect.Type{}}
}

// of returns the schema of a type. One that has none is our own mistake and ends
// the program at its start.
func (s *schemas) of(t reflect.Type) schema {
	switch t.Kind() {
	case reflect.Pointer:
		return orNull(s.of(t.Elem()))
	case reflect.Interface:
		return s.anyBody(t)
	case reflect.Slice:
		return schema{"type": []string{"array", "null"}, "items": s.of(t.Elem())}
	case reflect.Map:
		return schema{"type": []string{"object", "null"}, "additionalProperties": s.of(t.Elem())}
	}
	if !strings.HasPrefix(t.PkgPath(), "tidemark/") {
		return s.write(t)
	}
	name := s.name(t)
	if s.types[name] == nil {
		s.types[name] = t
		s.named[name] = s.write(t)
	}
	return schema{"$ref": "#/components/schemas/" + name}
}

// name is that of the type, after its package's if another type has it.
func (s *schemas) name(t reflect.Type) string {
	name := t.Name()
	if have := s.types[name]; have != nil && have != t {
		pkg := path.Base(t.PkgPath())
		name = strings.ToUpper(pkg[:1]) + pkg[1:] + name
	}
	return name
}

// write writes the schema of a named type.
func (s *schemas) write(t reflect.Type) schema {
	if known, ok := knownTypes[t]; ok {
		return maps.Clone(known)
	}
	if t.Implements(reflect.TypeFor[encoding.TextMarshaler]()) {
		return schema{"type": "string"}
	}
	if t.Kind() != reflect.Struct {
		return plain(t)
	}
	properties, required := schema{}, []string{}
	for name, f := range jsonFields(t, 0, map[string]jsonField{}) {
		property := s.of(f.of)
		if f.always {
			required = append(required, name)
		} else {
			property = never(property)
		}
		properties[name] = property
	}
	out := schema{"type": "object", "properties": properties}
	if slices.Sort(required); len(required) > 0 {
		out["required"] = required
	}
	return out
}

// anyBody is what a record can say: the shape of any kind.
func (s *schemas) anyBody(t reflect.Type) schema {
	if t != reflect.TypeFor[record.Body]() {
		return schema{}
	}
	kinds := record.Kinds()
	var bodies []schema
	for _, k := range slices.Sorted(maps.Keys(kinds)) {
		bodies = append(bodies, s.of(reflect.TypeOf(kinds[k]).Elem()))
	}
	return schema{"anyOf": bodies, "description": "What the record says; its kind stands beside it."}
}

// jsonField is a field as encoding/json writes it.
type jsonField struct {
	of     reflect.Type
	depth  int
	always bool // written even when empty
}

// jsonFields collects the fields of a struct by their JSON names; those of the
// outer struct hide those of an embedded one.
func jsonFields(t reflect.Type, depth int, into map[string]jsonField) map[string]jsonField {
	for f := range t.Fields() {
		name, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case name == "-" || !f.IsExported():
		case f.Anonymous && name == "":
			jsonFields(f.Type, depth+1, into)
		default:
			if name == "" {
				name = f.Name
			}
			if have, ok := into[name]; !ok || have.depth > depth {
				into[name] = jsonField{f.Type, depth, !strings.Contains(options, "omit")}
			}
		}
	}
	return into
}

func plain(t reflect.Type) schema {
	switch t.Kind() {
	case reflect.Bool:
		return schema{"type": "boolean"}
	case reflect.Int, reflect.Int32, reflect.Int64:
		return schema{"type": "integer"}
	case reflect.Float64:
		return schema{"type": "number"}
	case reflect.String:
		return schema{"type": "string"}
	}
	panic(fmt.Sprintf("web: no schema for %s", t))
}

func orNull(s schema) schema {
	if kind, ok := s["type"].(string); ok {
		s["type"] = []string{kind, "null"}
		return s
	}
	if _, ok := s["type"]; ok {
		return s
	}
	return schema{"anyOf": []schema{s, {"type": "null"}}}
}

// never takes null out again: an empty list that is left out is not null.
func never(s schema) schema {
	if kinds, ok := s["type"].([]string); ok {
		s["type"] = kinds[0]
	}
	if either, ok := s["anyOf"].([]schema); ok && len(either) == 2 && either[1]["type"] == "null" {
		return either[0]
	}
	return s
}
