package profiles

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// published reads a table of testdata/published as rows by the names of its columns.
func published(t *testing.T, name string) (rows []map[string]string) {
	t.Helper()
	file, err := os.Open("../testdata/published/" + name)
	require.NoError(t, err)
	all, err := csv.NewReader(file).ReadAll()
	require.NoError(t, err)
	require.NoError(t, file.Close())
	for _, fields := range all[1:] {
		row := map[string]string{}
		for k, column := range all[0] {
			row[column] = fields[k]
		}
		rows = append(rows, row)
	}
	return rows
}

func figure(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	value, err := strconv.ParseFloat(row[column], 64)
	require.NoError(t, err, "%s of %v", column, row)
	return value
}

// salt is the electrolyte conductivity of McCleskey, J. Chem. Eng. Data 56 (2011)
// 317: mS/cm from molality in mol/kg, molarity in mol/L and °C.
func salt(t *testing.T, formula string, molality, molarity, celsius float64) float64 {
	t.Helper()
	for _, row := range published(t, "mccleskey_2011_coefficients.csv") {
		if row["formula"] != formula {
			continue
		}
		at := func(p string) float64 {
			return figure(t, row, p+"1")*celsius*celsius + figure(t, row, p+"2")*celsius + figure(t, row, p+"3")
		}
		root := math.Sqrt(molality)
		return (at("c") - at("d")*root/(1+figure(t, row, "B")*root)) * molarity * figure(t, row, "multiplier")
	}
	require.Fail(t, "no such salt", formula)
	return 0
}

// The fit reproduces a worked example of its carrier (CaCl2, 0.848 S/m) and the CRC
// Handbook's KCl standards, so that it may speak for bicarbonate.
func TestConductivityFitAgainstItsOwnExampleAndTheStandards(t *testing.T) {
	assert.InDelta(t, 8.482584585, salt(t, "CaCl2", 0.045053, 0.045053, 20), 1e-4)
	for _, row := range published(t, "kcl_conductivity_standards.csv") {
		molality, celsius := figure(t, row, "molality_mol_kg"), figure(t, row, "temperature_C")
		if molality == 0.1 { // density of water within 1.2 % up to 50 °C
			assert.InEpsilon(t, figure(t, row, "mS_cm"), salt(t, "KCl", molality, molality*0.99, celsius), 0.02, "%v °C", celsius)
		}
	}
}

// The starter baths carry the published conductivities: 2 % sodium bicarbonate by
// the fit above (0.243 mol/kg, 0.241 mol/L), 1 % ammonium sulfate by the CRC table.
func TestBathsCarryPublishedConductivities(t *testing.T) {
	bicarbonate, err := OpenBath("bicarbonate", nil)
	require.NoError(t, err)
	assert.InEpsilon(t, salt(t, "NaHCO3", 0.243, 0.241, 20), float64(bicarbonate.Conductivity), 0.005)
	sulfate, err := OpenBath("ammonium-sulfate", nil)
	require.NoError(t, err)
	found := false
	for _, row := range published(t, "crc_conductivity_20C_mS_cm.csv") {
		if row["solute"] == "Ammonium sulfate" {
			found = true
			assert.InDelta(t, figure(t, row, "1%"), float64(sulfate.Conductivity), 0.05)
		}
	}
	assert.True(t, found)
}
