package web

import (
	"reflect"
	"strings"

	"anodized/controller/fault"
	"anodized/controller/record"
)

// codes are the words that a field or a type may have, from the one table of faults.
type codes struct {
	name  string            // of the schema
	words []string          // in their order
	texts map[string]string // cause, next action and look-alikes; nil where a word says enough
}

// enumerated are the fields with codes, by schema and JSON name.
var enumerated = map[string]codes{
	"record.Trip.code":   tripCodes(),
	"record.Trip.also":   tripCodes(),
	"fault.Finding.code": findingCodes(),
	"fault.Finding.severity": {"fault.Severity", []string{string(fault.Record), string(fault.Warning), string(fault.Fault)}, map[string]string{
		string(fault.Record): "kept, not announced", string(fault.Warning): "somebody should look", string(fault.Fault): "the result is not what was planned"}},
}

// enumeratedTypes are codes wherever they stand.
var enumeratedTypes = map[reflect.Type]codes{
	reflect.TypeFor[record.Outcome](): {name: "record.Outcome", words: []string{string(record.Complete), string(record.TimeRanOut),
		string(record.Stopped), string(record.Tripped), string(record.Interrupted), string(record.Refused)}},
}

func tripCodes() codes {
	list := codes{name: "fault.TripCode", texts: map[string]string{}}
	for _, trip := range fault.Trips() {
		list.add(trip.Code, trip.Message+" "+trip.Action, trip.Confused)
	}
	return list
}

// findingCodes: a trip stands on the record as a finding, too.
func findingCodes() codes {
	list := codes{name: "fault.FindingCode", texts: map[string]string{}}
	for _, kind := range fault.Kinds() {
		list.add(kind.Code, string(kind.Severity)+". "+kind.Action, kind.Confused)
	}
	for _, trip := range fault.Trips() {
		if _, known := fault.KindByCode(trip.Code); !known {
			list.add(trip.Code, trip.Message+" "+trip.Action, trip.Confused)
		}
	}
	return list
}

func (c *codes) add(code fault.Code, text string, confused []string) {
	if len(confused) > 0 {
		text += " Could be taken for: " + strings.Join(confused, "; ") + "."
	}
	c.words = append(c.words, string(code))
	c.texts[string(code)] = text
}

// listed is the list as a named schema; the texts stand beside it, as many readers of
// such descriptions show them.
func (s *shapes) listed(c codes) node {
	list := node{"type": "string", "enum": c.words}
	if c.texts != nil {
		list["x-enumDescriptions"] = c.texts
	}
	s.named[c.name] = list
	return node{"$ref": "#/components/schemas/" + c.name}
}

// field is the shape of a field: codes where it has some.
func (s *shapes) field(owner reflect.Type, name string, t reflect.Type) node {
	list, some := enumerated[schemaName(owner)+"."+name]
	switch {
	case !some:
		return s.shape(t)
	case t.Kind() == reflect.Slice:
		return node{"type": []string{"array", "null"}, "items": s.listed(list)}
	}
	return s.listed(list)
}
