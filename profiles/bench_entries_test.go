package profiles

import (
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestEveryDeviceWithAnAddressIsAnEntry: a device that somebody adds to a bench, and forgets in
// the list, would be asked in two languages or on a line of another unseen.
func TestEveryDeviceWithAnAddressIsAnEntry(t *testing.T) {
	var b Bench
	want := map[string]bool{}
	all := reflect.ValueOf(&b).Elem()
	for i := range all.NumField() {
		one := all.Field(i)
		if one.Kind() == reflect.Pointer && one.Type().Elem().Kind() == reflect.Struct {
			one.Set(reflect.New(one.Type().Elem()))
			one = one.Elem()
		}
		if one.Kind() == reflect.Struct && one.FieldByName("Driver").IsValid() && one.FieldByName("Address").IsValid() {
			name := all.Type().Field(i).Name
			one.FieldByName("Address").SetString(name)
			want[name] = true
		}
	}
	listed := map[string]bool{}
	for _, e := range b.entries() {
		listed[e.address] = true
	}
	assert.Equal(t, want, listed)
	assert.Len(t, want, 8)
}
