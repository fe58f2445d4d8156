package film_test

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"anodized/controller/film"
	"anodized/hal/unit"
)

// faradayExample is a worked example of OpenStax, Chemistry 2e (CC BY), the module
// on electrolysis.
type faradayExample struct {
	Name        string  `json:"name"`
	ThicknessMM float64 `json:"thickness_mm"`
	AreaM2      float64 `json:"area_m2"`
	Density     float64 `json:"density_g_cm3"`
	MolarMass   float64 `json:"M"`
	Electrons   float64 `json:"n"`
	Amperes     float64 `json:"I_A"`
	Seconds     float64 `json:"t_s"`
	Minutes     float64 `json:"t_min"`
	Litres      float64 `json:"volume_L"`
}

func faradayExamples(t *testing.T) map[string]faradayExample {
	content, err := os.ReadFile("../../testdata/published/faraday_worked_examples.json")
	require.NoError(t, err)
	var file struct {
		Examples []faradayExample `json:"examples"`
	}
	require.NoError(t, json.Unmarshal(content, &file))
	byName := map[string]faradayExample{}
	for _, example := range file.Examples {
		byName[example.Name] = example
	}
	return byName
}

func TestChargeForThePublishedChromiumLayer(t *testing.T) {
	e, ok := faradayExamples(t)["chromium layer: time from thickness, area, current"]
	require.True(t, ok)
	law := film.New(1, 1, film.ChargeFactor(e.MolarMass, e.Electrons, e.Density), 1)
	charge := law.ChargeFor(0, unit.Nanometres(e.ThicknessMM*1e6), unit.SquareCentimetres(e.AreaM2*1e4))
	assert.InEpsilon(t, e.Seconds, float64(charge)/e.Amperes, 3e-3, "the printed steps are rounded")
}

func TestHydrogenOfThePublishedExample(t *testing.T) {
	e, ok := faradayExamples(t)["hydrogen collected over water"]
	require.True(t, ok)
	charge := unit.Coulombs(e.Amperes * e.Minutes * 60)
	assert.InDelta(t, e.Litres, film.HydrogenML(charge)/1000, 0.005, "printed to two digits")
}
