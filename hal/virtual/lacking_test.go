package virtual

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A fault that could do nothing would show a load in which nothing is wrong.
func TestFaultOfWhatIsNotThereIsRefused(t *testing.T) {
	for _, k := range Kinds() {
		_, err := New(Setup{Parts: spacers(), Faults: []Fault{{ID: k.ID}}})
		if k.Needs == "" {
			assert.NoError(t, err, k.ID)
			continue
		}
		var lacks *Lacking
		require.ErrorAs(t, err, &lacks, k.ID)
		assert.Equal(t, k.Needs, lacks.Needs)
		_, err = New(Setup{Parts: spacers(), Chain: k.Needs == Chain, Voltmeter: k.Needs == Voltmeter, Ventilation: k.Needs == Airflow, Faults: []Fault{{ID: k.ID}}})
		assert.NoError(t, err, k.ID)
	}
	needs := map[string]string{}
	for _, k := range Kinds() {
		needs[k.ID] = k.Needs
	}
	for id, want := range map[string]string{"emergency-stop": Chain, "contactor-welded": Chain, "meter-silent": Voltmeter, "ventilation-lost": Airflow, "ventilation-gone": Airflow, "interlock-open": "", "thermometer-silent": ""} {
		assert.Equal(t, want, needs[id], id)
	}
}

func TestFaultOfAPartThatDoesNotHangIsRefused(t *testing.T) {
	for text, says := range map[string]string{
		"contact-lost@35V,part=9":       "parts 1 to 8",
		"contact-lost@35V,part=8":       "",
		"interlock-disagrees@1s,part=3": "channels are 1 and 2",
		"interlock-disagrees@1s,part=2": "",
		"leak@1s":                       "",
	} {
		fault, err := ParseFault(text)
		require.NoError(t, err)
		_, err = New(Setup{Parts: spacers(), Faults: []Fault{fault}})
		if says == "" {
			assert.NoError(t, err, text)
			continue
		}
		assert.ErrorContains(t, err, says, text)
	}
	_, err := New(Setup{Dummy: 100, Faults: []Fault{{ID: "part-missing"}}})
	assert.ErrorContains(t, err, "no part hangs")
	_, err = New(Setup{Dummy: 100, Faults: []Fault{{ID: "current-offset"}}})
	assert.NoError(t, err)
}
