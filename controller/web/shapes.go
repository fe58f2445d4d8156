package web

import (
	"encoding"
	"encoding/json"
	"reflect"
	"strings"
	"time"

	"anodized/controller"
)

// shapes are the JSON schemas of Go values, as encoding/json writes those.
type shapes struct{ named map[string]node }

func newShapes() *shapes { return &shapes{named: map[string]node{}} }

var (
	timeType   = reflect.TypeFor[time.Time]()
	numberType = reflect.TypeFor[controller.Number]()
	textType   = reflect.TypeFor[encoding.TextMarshaler]()
	jsonType   = reflect.TypeFor[json.Marshaler]()
)

func (s *shapes) of(value any) node { return s.shape(reflect.TypeOf(value)) }

func (s *shapes) shape(t reflect.Type) node {
	if list, some := enumeratedTypes[t]; some {
		return s.listed(list)
	}
	switch {
	case t == timeType:
		return node{"type": "string", "format": "date-time"}
	case t == numberType:
		return node{"type": []string{"number", "null"}}
	case t.Implements(jsonType):
		return node{} // it writes itself: anything
	case t.Implements(textType):
		return node{"type": "string"}
	}
	switch t.Kind() {
	case reflect.Pointer:
		return node{"anyOf": []node{s.shape(t.Elem()), {"type": "null"}}}
	case reflect.Struct:
		return s.object(t)
	case reflect.Slice, reflect.Array:
		return node{"type": []string{"array", "null"}, "items": s.shape(t.Elem())}
	case reflect.Map:
		return node{"type": []string{"object", "null"}, "additionalProperties": s.shape(t.Elem())}
	}
	return scalar(t.Kind())
}

func scalar(kind reflect.Kind) node {
	switch kind {
	case reflect.Bool:
		return node{"type": "boolean"}
	case reflect.String:
		return node{"type": "string"}
	case reflect.Float32, reflect.Float64:
		return node{"type": "number"}
	}
	return node{"type": "integer"}
}

// object is a struct, named once and pointed at from then on.
func (s *shapes) object(t reflect.Type) node {
	name := schemaName(t)
	if _, known := s.named[name]; !known {
		s.named[name] = node{} // for one that holds itself
		properties := node{}
		required := s.fields(t, properties)
		s.named[name] = node{"type": "object", "properties": properties, "required": required}
	}
	return node{"$ref": "#/components/schemas/" + name}
}

func schemaName(t reflect.Type) string {
	path := strings.Split(t.PkgPath(), "/")
	return path[len(path)-1] + "." + t.Name()
}

// fields adds the fields of a struct; those that it embeds are its own.
func (s *shapes) fields(t reflect.Type, to node) []string {
	required := []string{}
	for i := range t.NumField() {
		field := t.Field(i)
		name, options, _ := strings.Cut(field.Tag.Get("json"), ",")
		switch {
		case field.Anonymous && name == "":
			required = append(required, s.fields(field.Type, to)...)
			continue
		case !field.IsExported() || name == "-":
			continue
		case name == "":
			name = field.Name
		}
		if _, twice := to[name]; !twice && !strings.Contains(options, "omit") {
			required = append(required, name)
		}
		to[name] = s.field(t, name, field.Type)
	}
	return required
}
