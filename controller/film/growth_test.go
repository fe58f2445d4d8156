package film_test

import (
	"encoding/csv"
	"os"
	"strconv"
	"strings"
	"testing"

	"anodized/controller/film"
	"anodized/hal/unit"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func table(t *testing.T, name string) (rows []map[string]string) {
	t.Helper()
	file, err := os.Open("../../testdata/published/" + name)
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

// TestCentralLawAgainstPublishedGrowth states the residuals as they are; nothing was
// tuned to a single source. The central set is fitted to 1.97 nm/V at 0.5 mA/cm².
func TestCentralLawAgainstPublishedGrowth(t *testing.T) {
	law := film.New(6e-14, 4.5e-6, film.ChargeFactor(79.866, 4, 3.90), 1)
	residual := map[string]float64{ // ours over theirs, less one
		"G01": -0.105, // Ti-26 at% Al, 5 mA/cm², TEM: 2.0 nm/V
		"G02": -0.005, // Ti-38 at% Al, 5 mA/cm², TEM: about 1.8
		"G03": -0.058, // Ti-32 at% Al, 5 mA/cm², TEM: 1.9
		"G07": -0.083, // titanium in bicarbonate, 9.7 mA/cm², cell volts: the middle of 1.8 to 2.0
		"G08": -0.303, // titanium in acetic acid, 9.7 mA/cm²: another bath, another law
	}
	for _, row := range table(t, "growth_constants.csv") {
		want, named := residual[row["id"]]
		if !named {
			continue
		}
		density, err := strconv.ParseFloat(row["j_mA_cm2"], 64)
		require.NoError(t, err)
		ours := law.NMPerVolt(unit.CurrentDensity(density))
		assert.InDelta(t, want, ours/middle(t, row["nm_per_V"])-1, 0.002, row["id"])
		delete(residual, row["id"])
	}
	assert.Empty(t, residual, "rows that the table does not have")
}

func middle(t *testing.T, text string) float64 {
	t.Helper()
	sum, parts := 0.0, strings.Split(text, "-")
	for _, part := range parts {
		value, err := strconv.ParseFloat(part, 64)
		require.NoError(t, err)
		sum += value
	}
	return sum / float64(len(parts))
}

// TestValveMetalsAgainstAPractitionersTable: niobium and tantalum as they start
// here, at 1 mA/cm², against constants of the capacitor trade.
func TestValveMetalsAgainstAPractitionersTable(t *testing.T) {
	ours := map[string]float64{
		"Nb": film.New(1.0e-24, 1.209e-5, 1, 1).NMPerVolt(1),
		"Ta": film.New(1.0e-24, 7.98e-6, 1, 1).NMPerVolt(1),
	}
	residual := map[string]float64{"Nb": -0.042, "Ta": -0.083}
	for _, row := range table(t, "valve_metal_properties.csv") {
		if nm, named := ours[row["metal"]]; named {
			assert.InDelta(t, residual[row["metal"]], nm/middle(t, row["nm_per_V"])-1, 0.002, row["metal"])
			delete(ours, row["metal"])
		}
	}
	assert.Empty(t, ours)
}
